"""What a finger on the map reads, spot by spot."""

from fieldmap.decide import daylight
from fieldmap.show.text.language import _, later
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase

HALF_DAYS = {1: later("mostly morning sun"), -1: later("mostly afternoon sun"), 0: ""}
LEAST_DEPTH_M = 0.05  # of cold air that is shown


def cold_air(metres: float, units: Units) -> str:
    """Depth of cold air at one spot."""
    kind = "no_cold_air_here" if metres < LEAST_DEPTH_M else "cold_air_here"
    return phrase(kind, units, depth=metres)


def depth_change(metres: float, units: Units) -> str:
    """How much deeper cold air would lie at one spot, shallower if negative."""
    if abs(metres) < LEAST_DEPTH_M:
        return phrase("cold_air_as_now")
    kind = "cold_air_deeper" if metres > 0 else "cold_air_shallower"
    return phrase(kind, units, depth=abs(metres))


def likely(offset_c: float, units: Units) -> str:
    """The likely offset at one spot."""
    return phrase("likely_here", units, difference=offset_c)


def at_worst(offset_c: float, units: Units) -> str:
    """The coldest plausible offset at one spot."""
    return phrase("at_worst_here", units, difference=offset_c)


def hours(direct_hours: float) -> str:
    """Hours of direct sun, in half hours."""
    return phrase("hours_of_direct_sun", hours=daylight.half_hours(direct_hours))


def light(mj_m2: float) -> str:
    """Light on the ground."""
    return f"{mj_m2:.1f} MJ/m²"


def sun_of_day(direct_hours: float, mj_m2: float) -> str:
    """Sun of a day, hours first."""
    return phrase("sun_of_day", hours=hours(direct_hours), light=light(mj_m2))


def half_day(half: float) -> str:
    """When most sun comes; nothing where it is even."""
    return _(HALF_DAYS[int(half)])
