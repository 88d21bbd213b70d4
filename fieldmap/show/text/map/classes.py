"""Meanings of the colours in a legend."""

from fieldmap.decide import daylight
from fieldmap.model.offset import rounded_c
from fieldmap.show.text import quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, later
from fieldmap.show.text.map import labels, spots
from fieldmap.show.text.quantities import Units

# From dry to wet.
WATER_CLASSES = (
    later("Runs off"),
    later("Between the two"),
    later("Gathers"),
    later("Gathers most: look for puddles"),
)

GROUPS = texts(__name__, "groups")


def bed_group(name: str, beds: int) -> str:
    """A group of beds in the order of planting."""
    return f"{_(GROUPS[name])} ({labels.bed_count(beds)})"


def depth_class(
    low_m: float | None, high_m: float | None, offset_c: float, units: Units
) -> str:
    """A class of cold-air depth, and what it likely means."""
    us = units == "us"
    per_metre = quantities.FEET_PER_METRE if us else 1.0
    low = f"{(low_m or 0.0) * per_metre:.3g}"
    if high_m is None:
        between = _over(low, us=us)
    else:
        between = _between(low, f"{high_m * per_metre:.3g}", us=us)
    told = _("{depth} deep").format(depth=between)
    return (
        told if rounded_c(offset_c) == 0 else f"{told}, {spots.likely(offset_c, units)}"
    )


def change_class(low_m: float | None, high_m: float | None, *, us: bool) -> str:
    """A class of how much deeper or shallower the cold air would be."""
    per_metre = quantities.FEET_PER_METRE if us else 1.0
    ends = [end for end in (low_m, high_m) if end is not None and abs(end) < 1e9]
    sizes = sorted(abs(end) * per_metre for end in ends)
    if len(sizes) == 1:
        told = _over(f"{sizes[0]:.2g}", us=us)
    else:
        told = _between(f"{sizes[0]:.2g}", f"{sizes[1]:.2g}", us=us)
    said = _("{depth} shallower") if ends[0] < 0 else _("{depth} deeper")
    return said.format(depth=told)


def _over(number: str, *, us: bool) -> str:
    said = _("over {number} ft") if us else _("over {number} m")
    return said.format(number=number)


def _between(low: str, high: str, *, us: bool) -> str:
    said = _("{low}–{high} ft") if us else _("{low}–{high} m")
    return said.format(low=low, high=high)


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
        share = _("over {percent} %").format(percent=f"{(low or 0) * 100:.0f}")
    elif low is None:
        share = _("under {percent} %").format(percent=f"{high * 100:.0f}")
    else:
        share = _("{low} to {high} %").format(
            low=f"{low * 100:.0f}", high=f"{high * 100:.0f}"
        )
    if direct_hours is None:
        return share
    sun = _("{hours} h of sun").format(hours=f"{daylight.half_hours(direct_hours):g}")
    return f"{share} · {sun}"


def fall_class(low_percent: float | None, units: Units) -> str:
    """A class of steepness by its gentle end."""
    if low_percent is None:
        return _("nearly level")
    return _("{fall} or more").format(fall=quantities.fall(low_percent, units))


def tunnel_class(number: int, low_percent: float | None, units: Units) -> str:
    """A class of steepness, 0 to 2, by what it means for a tunnel."""
    meaning = (
        _("a tunnel can point any way"),
        _("only with its length up and down the slope"),
        _("level the ground first"),
    )[number]
    return f"{fall_class(low_percent, units)}: {meaning}"


def water_class(at: int) -> str:
    """A class of the wetness index."""
    return _(WATER_CLASSES[at])
