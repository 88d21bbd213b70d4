"""Tonight's list for every low that one may hear, so that the page need not compute."""

from collections.abc import Callable, Sequence
from typing import Any, get_args

from fieldmap.decide.ranking import RankedBed
from fieldmap.decide.tonight import LOWS, Evening
from fieldmap.decide.tonight.answer import Sign
from fieldmap.decide.tonight.forecast import Sky, Wind
from fieldmap.show.text.decide import tonight
from fieldmap.show.text.language import _, translated
from fieldmap.show.text.map.tonight import SIGN_LABELS, low
from fieldmap.show.text.quantities import Units

START = {"metric": 0, "us": 32}  # the low that the page shows first
NIGHTS: dict[str, tuple[Sky, Wind]] = {
    "still_night": ("clear", "calm"),
    "cloudy_night": ("cloudy", "calm"),
    "windy_night": ("clear", "windy"),
}
SIGNS: tuple[Sign, ...] = get_args(Sign)
SIGN_DIGITS: dict[str | None, str] = {sign: str(at) for at, sign in enumerate(SIGNS)}
assert {sky for sky, _ in NIGHTS.values()} == set(get_args(Sky))


def lists(
    evenings: Callable[[Sky, Wind], Sequence[Evening]],
    beds: Sequence[RankedBed],
    units: Units,
) -> dict[str, Any]:
    """The lists by kind of night and low; each sentence stands once.

    `lows` are text, the warmest first; `nights` hold, for each low, the numbers of the
    sentences: of the heading, of what holds everywhere, and plot by plot; and a digit for
    each bed in the order of the plan, its place in `signs`, or a dash where nothing is
    known of it.

    Parameters
    ----------
    evenings
        The evenings of one kind of night, the warmest low first.
    """
    sentences: dict[str, int] = {}

    def number(sentence: str) -> int:
        return sentences.setdefault(sentence, len(sentences))

    def of_low(evening: Evening) -> dict[str, Any]:
        advice = evening.advice
        return {
            "first": [
                number(sentence) for sentence in tonight.everywhere(advice, units)
            ],
            "plots": [
                [number(here.plot), *map(number, (here.air, *here.lines))]
                for here in tonight.by_plot(advice, units)
            ],
            "beds": "".join(
                SIGN_DIGITS.get(advice.signs.get(ranked.bed.name), "-")
                for ranked in beds
            ),
        }

    warmest, coldest = LOWS[units]
    nights = {
        name: [of_low(evening) for evening in evenings(sky, wind)]
        for name, (sky, wind) in NIGHTS.items()
    }
    return {
        "lows": [low(degrees, units) for degrees in range(warmest, coldest - 1, -1)],
        "start": warmest - START[units],
        "nights": nights,
        "sentences": list(sentences),
        "signs": [{"sign": sign, "said": _(SIGN_LABELS[sign])} for sign in SIGNS],
        "cautions": list(translated(tonight.CAUTIONS)),
    }
