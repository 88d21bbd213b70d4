"""Tonight's list for every low that one may hear, so that the page need not reckon."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, get_args

from fieldmap.decide import tonight
from fieldmap.decide.tonight import Sign, Sky, Wind
from fieldmap.show.map.tables import Row, Table
from fieldmap.show.text import map
from fieldmap.show.text.language import _, translated

if TYPE_CHECKING:
    from fieldmap.plan import Plan

START = {"metric": 0, "us": 32}  # the low that the page shows first
NIGHTS: dict[str, tuple[Sky, Wind]] = {
    "still_night": ("clear", "calm"),
    "cloudy_night": ("cloudy", "calm"),
    "windy_night": ("clear", "windy"),
}
SIGNS: tuple[Sign, ...] = get_args(Sign)
SIGN_DIGITS: dict[str | None, str] = {sign: str(at) for at, sign in enumerate(SIGNS)}
assert {sky for sky, _ in NIGHTS.values()} == set(get_args(Sky))


def lists(plan: Plan) -> dict[str, Any]:
    """The lists by kind of night and low; each sentence stands once.

    `lows` are told as text, the warmest first; `nights` hold, for each low, the numbers
    of the sentences: of the heading, of what holds everywhere, and plot by plot; and a
    digit for each bed in the order of the plan, its place in `signs`, or a dash where
    nothing is told of it.
    """
    units = plan.site.settings.units
    sentences: dict[str, int] = {}

    def number(said: str) -> int:
        return sentences.setdefault(said, len(sentences))

    nights = {}
    for name, (sky, wind) in NIGHTS.items():
        nights[name] = [
            {
                "first": [number(said) for said in evening.tonight.first],
                "plots": [
                    [number(here.plot), *(number(said) for said in here.sentences)]
                    for here in evening.tonight.plots
                ],
                "beds": "".join(
                    SIGN_DIGITS.get(evening.tonight.signs.get(ranked.bed.name), "-")
                    for ranked in plan.beds
                ),
            }
            for evening in tonight.evenings(plan.site, plan.beds, sky, wind)
        ]
    warmest, coldest = tonight.LOWS_TOLD[units]
    return {
        "lows": [map.low(low, units) for low in range(warmest, coldest - 1, -1)],
        "start": warmest - START[units],
        "nights": nights,
        "sentences": list(sentences),
        "signs": [{"sign": sign, "said": _(map.SIGNS_TONIGHT[sign])} for sign in SIGNS],
        "cautions": list(translated(tonight.CAUTIONS)),
    }


def table(plan: Plan) -> Table:
    """What to cover on a clear and calm night, by the low: for paper and still viewers."""
    units = plan.site.settings.units
    every = tonight.evenings(plan.site, plan.beds, *NIGHTS["still_night"])
    rows = []
    for number, (first, last) in enumerate(tonight.spans(every)):
        said = [*first.tonight.first]
        said += [
            f"{here.plot}: {' '.join(here.sentences[1:])}"
            for here in first.tonight.plots
        ]
        rows.append(
            Row(
                f"tonight-{number}",
                (map.lows(first.low, last.low, units), "\n".join(said)),
            )
        )
    return Table(
        "tonight",
        map.text("tonight"),
        translated(map.TONIGHT_COLUMNS),
        tuple(rows),
        "",
        (map.text("tonight_note"), *translated(tonight.CAUTIONS)),
    )
