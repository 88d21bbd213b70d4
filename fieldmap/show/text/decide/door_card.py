"""The card for the tunnel door: when to open and close, by temperatures and signs.

Venting follows the weather and no calendar, so the card has temperatures. They are
experienced growers' practice, no source; where lists differ the safer one is kept.
"""

from collections.abc import Sequence

from fieldmap.decide.calendar.door_months import ALL_YEAR, OPEN_OUTSIDE_C
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _, month_name

GREENS_VENT_C = (18.0, 21.0)  # inside (common practice, no source)
WARM_VENT_C = (27.0, 30.0)  # inside (common practice, no source)
# Photosynthesis of fruiting crops falls fast above 34.4 °C (from extension pages on
# heat); a round figure over it.
TOO_HOT_C = 35.0


def sentences(
    spells: Sequence[tuple[int, int]], units: quantities.Units
) -> tuple[str, ...]:
    """What the card says, most urgent first.

    Parameters
    ----------
    spells
        Months in which the door is watched daily (`door_months`).
    """
    greens, warm = (
        {
            "low": quantities.temperature(low_c, units),
            "high": quantities.temperature(high_c, units),
        }
        for low_c, high_c in (GREENS_VENT_C, WARM_VENT_C)
    )
    return (
        _("More crops are cooked than frozen. When in doubt, open."),
        _(
            "In sun, open once the air outside is about {limit}, even in winter; a bright "
            "sky counts as sun."
        ).format(limit=quantities.temperature(OPEN_OUTSIDE_C, units)),
        _("Inside, winter greens: open at {low} to {high}.").format(**greens),
        _(
            "Inside, warm crops (tomato, pepper, cucumber, melon): open at {low} to {high}."
        ).format(**warm),
        _(
            "Never let it pass {limit} inside: open every door and side, and shade."
        ).format(limit=quantities.temperature(TOO_HOT_C, units)),
        _("Hang the thermometer at plant height and out of the sun."),
        _(
            "Signs to open, without a thermometer: film drips on a bright morning, your "
            "glasses fog at the door, leaves hang before noon."
        ),
        _("Close while it is still warm inside, before the sun is off the film."),
        _(
            "Before wind close and lash every door and side: one open end makes a sail. "
            "Never go in under a load of snow."
        ),
        _("Never run an unvented heater or an engine in a closed tunnel."),
        season(spells),
    )


def season(spells: Sequence[tuple[int, int]]) -> str:
    """Months in which the door is watched daily: usual days reach the outside limit."""
    if ALL_YEAR in spells:
        return _("Watch the door in every month: usual days are warm enough to open.")
    if not spells:
        return _(
            "Usual days stay cool here; watch the door on every sunny day all the same."
        )
    return _(
        "Watch the door daily from {spans}, and on every sunny day in the other months."
    ).format(spans=_(" and from ").join(_spell(*each) for each in spells))


def _spell(first: int, last: int) -> str:
    if first == last:
        return month_name(first)
    return _("{first} to {last}").format(first=month_name(first), last=month_name(last))
