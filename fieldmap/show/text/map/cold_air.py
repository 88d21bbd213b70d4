"""Cold air: what holds it back, and the hours of a night."""

from typing import Any

from fieldmap.analyse.cold_air.barriers import Barrier
from fieldmap.model.estimate import Estimate
from fieldmap.show.text import quantities
from fieldmap.show.text.map import labels, signs
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase

SOON_MINUTES = 10


def night(offset_c: Estimate, units: Units, *, by_station: bool) -> str:
    """An offset range in words, and against what.

    Parameters
    ----------
    offset_c
        Low, central and high offset on a clear calm night [°C].
    units
        "metric" or "us", for degrees.
    by_station
        Whether the offset is against the weather station; else against the median of
        the plots.
    """
    kind = "night_against_station" if by_station else "night_against_plots"
    return phrase(kind, difference=quantities.night(*offset_c, units))


def pocket(found: Any, units: Units, *, by_station: bool) -> str:
    """Why cold air collects in a pocket, and how cold its middle is.

    Parameters
    ----------
    found
        A row of cold pockets with `behind` (empty where nothing holds the air) and the
        low, central and high offset [°C].
    units
        "metric" or "us", for degrees.
    by_station
        Whether offsets are against the weather station; else against the median of the
        plots.
    """
    kind = "pocket_behind" if found.behind else "pocket_in_low_ground"
    offset_c = Estimate(found.offset_low_c, found.offset_central_c, found.offset_high_c)
    return phrase(
        "pocket_and_night",
        why=phrase(kind, thing=found.behind),
        night=night(offset_c, units, by_station=by_station),
    )


def barrier(held: Barrier, units: Units) -> str:
    """What cold air stands behind, on which side, and how much colder it is there."""
    return phrase(
        "behind_named_barrier" if held.name else "behind_barrier",
        units,
        thing=held.name or signs.kind(held.kind),
        side=held.side_deg,
        degrees_c=round(held.colder_c, 1),
    )


def after_sunset(hours_after: float) -> str:
    """A moment of the night; the first minutes in a word, as no evening keeps to them."""
    hours, minutes = divmod(round(hours_after * 60), 60)
    if not hours and 0 < minutes < SOON_MINUTES:
        return phrase("soon_after_sunset")
    if hours and minutes:
        return phrase("after_sunset", hours=hours, minutes=minutes)
    if hours:
        return phrase("hours_after_sunset", number=hours)
    if minutes:
        return phrase("minutes_after_sunset", number=minutes)
    return labels.label("at_sunset")
