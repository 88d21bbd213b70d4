"""Meanings of the colours in a legend."""

from collections.abc import Sequence

from fieldmap.decide import daylight
from fieldmap.model.estimate import rounded_c
from fieldmap.show.text import quantities
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


def depth_class(
    low_m: float | None, high_m: float | None, offset_c: float, units: Units
) -> str:
    """A class of cold-air depth, and what it likely means."""
    ends_m = [low_m or 0.0] if high_m is None else [low_m or 0.0, high_m]
    said = phrase("depth_class", depth=_between(ends_m, 3, units))
    return (
        said if rounded_c(offset_c) == 0 else f"{said}, {spots.likely(offset_c, units)}"
    )


def change_class(low_m: float | None, high_m: float | None, units: Units) -> str:
    """A class of how much deeper or shallower the cold air would be."""
    ends_m = [end for end in (low_m, high_m) if end is not None and abs(end) < 1e9]
    kind = "shallower_class" if ends_m[0] < 0 else "deeper_class"
    return phrase(kind, depth=_between(sorted(map(abs, ends_m)), 2, units))


def _between(ends_m: Sequence[float], figures: int, units: Units) -> str:
    """From one depth to another, or over one, to so many figures."""
    per_metre = quantities.FEET_PER_METRE if units == "us" else 1.0
    low, *high = [f"{end * per_metre:.{figures}g}" for end in ends_m]
    if high:
        return phrase(f"between_depths_{units}", low=low, high=high[0])
    return phrase(f"over_depth_{units}", number=low)


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
