"""The card for the tunnel door: when to open and close, by temperatures and signs.

Venting follows the weather and no calendar, so the card has temperatures. They are
experienced growers' practice, no source; where lists differ the safer one is kept.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from fieldmap.show.text import quantities
from fieldmap.show.text.language import _, month_name

if TYPE_CHECKING:
    from fieldmap.model.site import Site

OPEN_OUTSIDE_C = 8.0  # in sun, solid film: the air outside (common practice, no source)
GREENS_VENT_C = (18.0, 21.0)  # inside (common practice, no source)
WARM_VENT_C = (27.0, 30.0)  # inside (common practice, no source)
# Photosynthesis of fruiting crops falls fast above 34.4 °C (from extension pages on
# heat); a round figure over it.
TOO_HOT_C = 35.0


def sentences(site: Site) -> tuple[str, ...]:
    """What the card says, in the units of the site, most urgent first."""
    units = site.settings.units
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
        season(site),
    )


def season(site: Site) -> str:
    """Months in which the door is watched daily: usual days reach the outside limit."""
    warm = _watched(site.weather.days)
    if all(warm):
        return _("Watch the door in every month: usual days are warm enough to open.")
    if not any(warm):
        return _(
            "Usual days stay cool here; watch the door on every sunny day all the same."
        )
    starts = [month for month in range(12) if warm[month] and not warm[month - 1]]
    spans = []
    for start in starts:
        end = start
        while warm[(end + 1) % 12]:
            end = (end + 1) % 12
        spans.append((month_name(start + 1), month_name(end + 1)))
    return _(
        "Watch the door daily from {spans}, and on every sunny day in the other months."
    ).format(spans=_(" and from ").join(_span(*each) for each in spans))


def _span(first: str, last: str) -> str:
    if first == last:
        return first
    return _("{first} to {last}").format(first=first, last=last)


def _watched(days: pd.DataFrame) -> list[bool]:
    """For each month, whether its mean maximum reaches the limit; unknown ones do."""
    means = days["tmax_c"].groupby(pd.DatetimeIndex(days.index).month).mean()
    return [
        not means.get(month, OPEN_OUTSIDE_C) < OPEN_OUTSIDE_C for month in range(1, 13)
    ]
