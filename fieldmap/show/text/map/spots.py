"""What a finger on the map reads, spot by spot."""

from fieldmap.decide import daylight
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _, later
from fieldmap.show.text.quantities import Units

HALF_DAYS = {1: later("mostly morning sun"), -1: later("mostly afternoon sun"), 0: ""}


def depth(metres: float, units: Units) -> str:
    """Depth of cold air."""
    if units == "us":
        return _("{number} ft").format(
            number=f"{metres * quantities.FEET_PER_METRE:.1f}"
        )
    return f"{metres:.1f} m"


def cold_air(metres: float, units: Units) -> str:
    """Depth of cold air at one spot."""
    if metres < 0.05:
        return _("no cold air lies here")
    return _("cold air {depth} deep").format(depth=depth(metres, units))


def depth_change(metres: float, units: Units) -> str:
    """How much deeper cold air would lie at one spot, shallower if negative."""
    if abs(metres) < 0.05:
        return _("cold air as deep as now")
    said = (
        _("cold air {depth} deeper than now")
        if metres > 0
        else _("cold air {depth} shallower than now")
    )
    return said.format(depth=depth(abs(metres), units))


def likely(offset_c: float, units: Units) -> str:
    """The likely offset at one spot."""
    return _("likely {difference}").format(
        difference=quantities.difference(offset_c, units)
    )


def at_worst(offset_c: float, units: Units) -> str:
    """The coldest plausible offset at one spot."""
    return _("at worst {difference}").format(
        difference=quantities.difference(offset_c, units)
    )


def hours(direct_hours: float) -> str:
    """Hours of direct sun, in half hours."""
    return _("{hours} h of direct sun").format(
        hours=f"{daylight.half_hours(direct_hours):g}"
    )


def light(mj_m2: float) -> str:
    """Light on the ground."""
    return f"{mj_m2:.1f} MJ/m²"


def sun_of_day(direct_hours: float, mj_m2: float) -> str:
    """Sun of a day, hours first."""
    return _("{hours} a day, {light}").format(
        hours=hours(direct_hours), light=light(mj_m2)
    )


def half_day(half: float) -> str:
    """When most sun comes; nothing where it is even."""
    return _(HALF_DAYS[int(half)])


def in_month(month: str) -> str:
    """Start of what is read for one month."""
    return _("In {month}:").format(month=month)
