"""What a finger on the map reads, spot by spot."""

from collections.abc import Iterable

from fieldmap.decide import daylight
from fieldmap.decide.what_if import LEAST_C
from fieldmap.show.text.language import _, later
from fieldmap.show.text.map.questions import THAN
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase

HALF_DAYS = {1: later("mostly morning sun"), -1: later("mostly afternoon sun"), 0: ""}


def change(offset_c: float, units: Units) -> str:
    """How much colder a spot would be than now, less cold if positive."""
    if abs(offset_c) < LEAST_C:
        return phrase("as_cold_as_now")
    kind = "colder_than_now" if offset_c < 0 else "less_cold_than_now"
    return phrase(kind, units, degrees_c=round(abs(offset_c), 1))


def on_still_night(*, by_station: bool) -> str:
    """What offsets are of, and against what: the weather station, or the plots' median."""
    return phrase("on_still_night", than=_than(by_station=by_station))


def night_of_bed(offset_c: float, units: Units, *, by_station: bool) -> str:
    """The likely offset of a bed, and against what it is.

    Examples
    --------
    >>> night_of_bed(-1.0, "metric", by_station=True)
    'Still nights, compared with the weather station: 1 °C colder.'
    >>> night_of_bed(-1.0, "metric", by_station=False).partition(" compared with ")[2]
    'a typical spot in the plots (half of the ground is colder): 1 °C colder.'
    """
    than = _than(by_station=by_station)
    return phrase("night_of_bed", units, difference=offset_c, than=than)


def _than(*, by_station: bool) -> str:
    return _(THAN["station" if by_station else "plots_explained"])


def likely(offset_c: float, units: Units) -> str:
    """The likely offset at one spot."""
    return phrase("likely_here", units, difference=offset_c)


def in_places_like_this(low_c: float, high_c: float, units: Units) -> str:
    """The ends of the offsets of places like this one.

    Parameters
    ----------
    low_c
        The coldest plausible offset [°C].
    high_c
        The warmest plausible offset [°C].
    units
        "metric" or "us", for degrees.
    """
    return phrase("places_like_this", units, low=low_c, high=high_c)


def hours(direct_hours: float) -> str:
    """Hours of direct sun, in half hours."""
    return phrase("hours_of_direct_sun", hours=daylight.half_hours(direct_hours))


def hours_of_all(direct_hours: Iterable[float]) -> str:
    """Hours of direct sun of some places, in half hours, from the least to the most."""
    halves = sorted(map(daylight.half_hours, direct_hours))
    if halves[0] == halves[-1]:
        return hours(halves[0])
    return phrase("hours_of_sun_from_to", low=halves[0], high=halves[-1])


def light(percent: float) -> str:
    """Light on the ground, as a share of that of the sunniest ground.

    Examples
    --------
    >>> light(95.0)
    '95 % of the light on the sunniest ground'
    """
    return phrase("light_of_sunniest", percent=round(percent))


def half_day(half: float) -> str:
    """When most sun comes; nothing where it is even."""
    return _(HALF_DAYS[int(half)])
