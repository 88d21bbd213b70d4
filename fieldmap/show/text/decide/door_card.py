"""The card for the tunnel door: when to open and close, by temperatures and signs.

Venting follows the weather and no calendar, so the card has temperatures. They are
experienced growers' practice, no source; where lists differ the safer one is kept.
"""

from collections.abc import Iterator, Sequence

from fieldmap.decide.calendar.in_tunnels import ALL_YEAR
from fieldmap.show.text import names
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, month_name, translated
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import fill
from layers.cover import FILM_OPEN_C

CARD = texts(__name__, "card")
SIGNS = texts(__name__, "signs")
SEASON = texts(__name__, "season")
LIMITS: dict[str, dict[str, float]] = {
    "in_sun": {"limit_c": FILM_OPEN_C},
    "greens": {"low_c": 18.0, "high_c": 21.0},  # inside (common practice, no source)
    "warm_crops": {"low_c": 27.0, "high_c": 30.0},  # likewise
    # Photosynthesis of fruiting crops falls fast above 34.4 °C (from extension pages on
    # heat); a round figure over it.
    "too_hot": {"limit_c": 35.0},
}


def sentences(spells: Sequence[tuple[int, int]], units: Units) -> tuple[str, ...]:
    """What the card says, most urgent first, and what its signs say.

    Parameters
    ----------
    spells
        Months in which the door is watched daily (`door_months`).
    """
    return *when_to_open(units), *translated(SIGNS.values()), season(spells)


def when_to_open(units: Units) -> Iterator[str]:
    """What the card says without its signs, most urgent first."""
    for key, text in CARD.items():
        yield fill(text, units, **LIMITS.get(key, {}))


def season(spells: Sequence[tuple[int, int]]) -> str:
    """Months in which the door is watched daily: usual days reach the outside limit."""
    if ALL_YEAR in spells:
        return _(SEASON["all_year"])
    if not spells:
        return _(SEASON["never"])
    spans = [names.run([month_name(month) for month in spell]) for spell in spells]
    return _(SEASON["spells"]).format(spans=_(SEASON["between"]).join(spans))
