"""Places for walk-in tunnels, and which way beds run."""

from collections.abc import Sequence

from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.show.text import names, quantities
from fieldmap.show.text.language import _, later, plural
from fieldmap.show.text.map import labels
from fieldmap.show.text.quantities import Units

CAUTIONS = (
    later(
        "Before a post is driven, have buried lines marked; private water, power and drains "
        "are not marked by the public services, so ask the owner."
    ),
    later(
        "Keep the longest pipe plus the legal clearance away from overhead lines; the owner "
        "of the line decides."
    ),
    later(
        "Keep off ground that floods and off the drift of sprays from fields near by: draw "
        "it as 'keep off' and plan again."
    ),
    later(
        "Think how the longest pipe gets in: by which gate, round which bend, through the deer "
        "fence."
    ),
    later(
        "Before wind close and lash every door and side, or take the film off the day before; "
        "never go in under a load of snow."
    ),
    later(
        "A closed tunnel in sun overheats: open it in time. No unvented heater and no engine "
        "in a closed tunnel."
    ),
    later(
        "In the United States the conservation practice standard NRCS 325, High Tunnel "
        "System, rules where support is asked for: its own text decides."
    ),
    later(
        "Nothing here is a structural design. Wind and snow loads are for the maker's engineer; permits and distances to "
        "boundaries are for the local code."
    ),
)

NOT_ON_MAP = later("not on the map")

SIXTEENTHS = (
    later("north"),
    later("north-north-east"),
    later("north-east"),
    later("east-north-east"),
    later("east"),
    later("east-south-east"),
    later("south-east"),
    later("south-south-east"),
)


def size(tunnel: TunnelPlace, units: Units) -> str:
    """Length, width and height."""
    return _("{length} long, {width} wide, {height} high").format(
        length=quantities.length(tunnel.size.length_m, units),
        width=quantities.length(tunnel.size.width_m, units),
        height=quantities.length(tunnel.size.height_m, units),
    )


def slope(tunnel: TunnelPlace, units: Units) -> str:
    """Slopes along and across."""
    return _("{along} along, {across} across").format(
        along=quantities.fall(tunnel.ground.along_percent, units),
        across=quantities.fall(tunnel.ground.across_percent, units),
    )


def earth(tunnel: TunnelPlace, units: Units) -> str:
    """Earth to move for a level pad."""
    return _("level pad: cut and fill {volume} each").format(
        volume=quantities.volume(tunnel.ground.level_pad_m3, units)
    )


def to_gate_and_water(tunnel: TunnelPlace, units: Units) -> str:
    """Straight ways to gate and water."""
    gate, water = (
        _(NOT_ON_MAP) if way_m is None else quantities.length(round(way_m), units)
        for way_m in tunnel.access
    )
    return _("gate: {gate}; water: {water}").format(gate=gate, water=water)


def points(bearing_deg: float) -> str:
    """Which way a tunnel points."""
    sixteenth = _(SIXTEENTHS[round(bearing_deg / 22.5) % 8])
    return _("points {way} ({degrees}°)").format(
        way=sixteenth, degrees=f"{bearing_deg:.0f}"
    )


def bearing(bearing_deg: float, *, is_planned: bool) -> str:
    """Which way a tunnel could point, and whether it does."""
    told = points(bearing_deg)
    return _("{way} (as planned)").format(way=told) if is_planned else told


def choice(letter: str, said: str, *, taken: bool) -> str:
    """One set of places for all tunnels."""
    text_ = (
        _("Choice {letter} (in this plan): {said}")
        if taken
        else _("Choice {letter}: {said}")
    )
    return text_.format(letter=letter, said=said)


def light_heading(name: str) -> str:
    """Heading of the table of light by bearing."""
    return _("{tunnel}: light under the cover, by the way it points").format(
        tunnel=name
    )


def light_share(low: float, central: float, high: float) -> str:
    """Light under a cover in per cent of that outside."""
    return _("{likely} % ({low} to {high})").format(
        likely=f"{central:.0f}", low=f"{low:.0f}", high=f"{high:.0f}"
    )


def light_of_day(mol_m2: float) -> str:
    """Light that plants use, of one day."""
    return _("{light} mol/m² a day").format(light=f"{mol_m2:.0f}")


def layout_part(plot: str, part: int, parts: int) -> str:
    """A plot, or one part of a bent one."""
    if parts == 1:
        return plot
    return _("{plot}, part {part} of {parts}").format(plot=plot, part=part, parts=parts)


def layout_beds(blocks: Sequence[str], beds: int, area: str) -> str:
    """How many beds, in which blocks."""
    named = plural(
        "block {names}", "blocks {names}", len(blocks), names=names.listed(blocks)
    )
    return ", ".join((labels.bed_count(beds), *((named,) if blocks else ()), area))
