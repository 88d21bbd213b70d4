"""Meanings of the colours in a legend."""

from collections.abc import Sequence

from fieldmap.decide import daylight
from fieldmap.model.estimate import STEP_C
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _
from fieldmap.show.text.map import spots
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase

GROUPS = texts(__name__, "groups")

# From dry to wet, and from nearly level to steep.
WATER_CLASSES: Sequence[str] = texts(__name__, "classes")["water"]
TUNNEL_CLASSES: Sequence[str] = texts(__name__, "classes")["tunnels"]


def bed_group(name: str, beds: int) -> str:
    """A group of beds in the order of planting."""
    return f"{_(GROUPS[name])} ({phrase('bed_count', number=beds)})"


def colder_class(low_c: float, high_c: float | None, units: Units) -> str:
    """A class of degrees colder, by the step in its middle; the last one is open.

    Examples
    --------
    >>> colder_class(0.75, 1.25, "metric"), colder_class(3.25, None, "metric")
    ('likely 1 °C colder', 'likely 3.5 °C colder or more')
    """
    if high_c is not None:
        return spots.likely(-(low_c + high_c) / 2, units)
    return phrase("coldest_class", units, difference=-(low_c + STEP_C / 2))


def change_class(low_c: float | None, high_c: float | None, units: Units) -> str:
    """A class of how much colder, or less cold, a place would be.

    Examples
    --------
    >>> change_class(0.25, 0.5, "metric"), change_class(None, -1.0, "us")
    ('0.25 to 0.5 °C colder', 'over 1.8 °F less cold')
    """
    ends_c = [end for end in (low_c, high_c) if end is not None and abs(end) < 1e9]
    side = "warmer" if ends_c[0] < 0 else "colder"
    per_c = 1.8 if units == "us" else 1.0
    low, *high = [f"{end * per_c:.2g}" for end in sorted(map(abs, ends_c))]
    unit = "°F" if units == "us" else "°C"
    if high:
        return phrase(f"{side}_by_class", low=low, high=high[0], unit=unit)
    return phrase(f"{side}_over_class", least=low, unit=unit)


def sun_class(
    low: float | None, high: float | None, direct_hours: float | None = None
) -> str:
    """A class of light as a share of the sunniest, with its hours of direct sun.

    Examples
    --------
    >>> sun_class(0.9, 0.95, 8.6), sun_class(None, 0.5)
    ('90 to 95 % · 8.5 h of sun', 'under 50 %')
    """
    if high is None:
        share = phrase("over_percent", percent=100 * (low or 0))
    elif low is None:
        share = phrase("under_percent", percent=100 * high)
    else:
        share = phrase("between_percent", low=100 * low, high=100 * high)
    if direct_hours is None:
        return share
    sun = phrase("hours_of_sun", hours=daylight.half_hours(direct_hours))
    return f"{share} · {sun}"


def fall_class(low_percent: float | None, units: Units) -> str:
    """A class of steepness by its gentle end."""
    if low_percent is None:
        return phrase("nearly_level")
    return phrase("fall_class", units, fall=low_percent)


def tunnel_class(number: int, low_percent: float | None, units: Units) -> str:
    """A class of steepness, 0 to 2, by what it means for a tunnel."""
    return f"{fall_class(low_percent, units)}: {_(TUNNEL_CLASSES[number])}"


def water_class(at: int) -> str:
    """A class of the wetness index."""
    return _(WATER_CLASSES[at])
