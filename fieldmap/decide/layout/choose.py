"""For each plot: which way its beds run, and what else would do."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import geopandas as gpd
import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.fields import Analysis
from fieldmap.decide.layout import bearings, beds, free_ground, split_plot
from fieldmap.decide.layout.bays import lengths
from fieldmap.decide.layout.bays.lattice import Lengths
from fieldmap.decide.layout.bearings import SERVES_TO, Candidate, Falls, Kind, Remaining
from fieldmap.model.settings import Beds
from fieldmap.model.site import PlotToLay, Site

# Bearings tried for each cut of a bent plot are so far apart.
COARSE_DEG = 15.0


@dataclass(frozen=True)
class Layout:
    """How beds run on one part of a plot.

    Attributes
    ----------
    part, parts
        Which of how many; a bent plot has several.
    ground
        What is free for beds before tunnels are placed, in the site's CRS.
    kept, other
        The bearing of the beds and what it comes to before tunnels are placed; the best
        that a person would call another, None where there is none.
    compared
        How many bearings were compared.
    remaining
        How many of them each question left.
    erodes
        Whether most of the ground falls so much that no bearing alone holds the soil.
    field
        Letter, or short name, that its beds begin with.
    blocks
        Its blocks in walking order, each by its first and last bed: A1-A12.
    beds
        Names of their beds, tunnels left out.
    short
        How many of them are under 10 m.
    area_m2
        That these beds plant.
    too_steep
        Names of the beds that fall more than the standard has it.
    steep_m2
        Of the plot, left without beds for being too steep; with its first part.
    """

    plot: str
    part: int
    parts: int
    ground: BaseGeometry
    kept: Candidate
    other: Candidate | None
    compared: int
    remaining: tuple[Remaining, ...]
    erodes: bool
    field: str = ""
    blocks: tuple[str, ...] = ()
    short: int = 0
    beds: tuple[str, ...] = ()
    area_m2: float = 0.0
    too_steep: tuple[str, ...] = ()
    steep_m2: float = 0.0

    @property
    def bearing_deg(self) -> float:
        """Of its beds, from true north, 0 to under 180."""
        return self.kept.bearing_deg


def choose_layouts(site: Site, analysis: Analysis) -> tuple[Layout, ...]:
    """How beds run on every plot that has none drawn and room for one.

    Tunnels do not count: they are placed after, and move no bed of another plot.
    """
    choices = site.settings.beds
    turn_deg = site.convergence_deg
    bays = lengths.wished(choices, site.settings.units)
    standing = free_ground.standing(site.surroundings, choices.setback_m)
    steep = free_ground.too_steep(analysis.terrain.slope_deg, choices.steepest_percent)
    off, plots = standing.union(steep), site.plots_to_lay
    tiny = plots_without_room(plots, site.surroundings, choices, turn_deg)
    east, north = analysis.terrain.east, analysis.terrain.north
    found = []
    for name, outline, true_deg in plots:
        if name in tiny:
            continue
        free = free_ground.within_setback(outline, choices).difference(off)
        grounds = _parts(free, choices, bays) if true_deg is None else [free]
        for part, ground in enumerate(grounds, start=1):
            # Without free ground the plot still gets a bearing, by which tunnels turn.
            fall = bearings.falls(
                outline if ground.is_empty else ground,
                east.interpolate,
                north.interpolate,
            )
            # A whole plot has its own sides, not those of what trees leave of it.
            shape = outline if len(grounds) == 1 else _largest(ground)
            layout = _layout(ground, shape, fall, true_deg, choices, turn_deg, bays)
            steep_m2 = outline.intersection(steep).area if part == 1 else 0.0
            layout = replace(layout, plot=name, part=part, parts=len(grounds))
            found.append(replace(layout, steep_m2=steep_m2))
    return tuple(found)


def plots_without_room(
    plots: Sequence[PlotToLay],
    surroundings: gpd.GeoDataFrame,
    choices: Beds,
    convergence_deg: float,
) -> list[str]:
    """Names of the plots too small or thin for a bed, whatever way it runs.

    By their outline, their keep-clear strip and what stands on them alone, so that it
    can be said before anything is computed.

    Parameters
    ----------
    plots
        Name and outline of each plot, and the bearing of its beds from true north; None
        where the grower chose none.
    surroundings
        What lies around: `kind` and outline of each thing.
    choices
        Setback, headland, width of beds and the shortest bed.
    convergence_deg
        Bearing of grid north, clockwise from true north.
    """
    standing = free_ground.standing(surroundings, choices.setback_m)
    found = []
    for name, outline, true_deg in plots:
        free = free_ground.within_setback(outline, choices).difference(standing)
        fixed_deg = None if true_deg is None else true_deg - convergence_deg
        if not bearings.has_room(free, outline, fixed_deg, choices):
            found.append(name)
    return found


def _parts(
    free: BaseGeometry, choices: Beds, bays: Sequence[Lengths]
) -> list[BaseGeometry]:
    """Ground cut where it bends, if that plants more."""
    if free.is_empty:
        return [free]
    return split_plot.parts(
        free, choices.lane_m, lambda part: _most_planted_m2(part, choices, bays)
    )


def _largest(ground: BaseGeometry) -> Polygon:
    """The piece that shows which way a part lies."""
    parts: list[Polygon] = shapely.get_parts(ground).tolist()
    return max(parts, key=lambda each: each.area)


def _most_planted_m2(
    ground: BaseGeometry, choices: Beds, bays: Sequence[Lengths]
) -> float:
    """Growing ground at the best of few bearings, on level ground with the first bays."""
    if ground.is_empty:
        return 0.0
    long_deg = beds.long_side_deg(_largest(ground))
    coarse: list[tuple[float, Kind]] = [
        ((long_deg + step) % 180.0, "step") for step in np.arange(0, 180, COARSE_DEG)
    ]
    level = Falls(np.zeros(1), np.zeros(1))
    found = bearings.compare(ground, coarse, long_deg, level, choices, 0.0, bays[:1])
    return max(one.area_m2 for one in found)


def _layout(
    ground: BaseGeometry,
    shape: Polygon,
    fall: Falls,
    fixed_deg: float | None,
    choices: Beds,
    convergence_deg: float,
    bays: Sequence[Lengths],
) -> Layout:
    """The bearing kept on one part of a plot, and the runner-up.

    Parameters
    ----------
    fixed_deg
        The bearing from true north that the grower chose, if one was.
    """
    long_deg = beds.long_side_deg(shape)

    def compare(tried: Sequence[tuple[float, Kind]]) -> list[Candidate]:
        return bearings.compare(
            ground, tried, long_deg, fall, choices, convergence_deg, bays
        )

    found = compare(bearings.bearings_to_try(shape, fall))
    tall = choices.tall_crops
    kept, remaining = bearings.best(found, tall_crops=tall)
    if fixed_deg is not None:
        (kept,) = compare([((fixed_deg - convergence_deg) % 180.0, "fixed")])
    others = [
        one
        for one in found
        if bearings.apart_deg(one.grid_deg, kept.grid_deg) >= bearings.OTHER_DEG
        and one.beds
    ]
    return Layout(
        plot="",
        part=1,
        parts=1,
        ground=ground,
        kept=kept,
        other=bearings.best(others, tall_crops=tall)[0] if others else None,
        compared=len(found),
        remaining=remaining,
        erodes=bool(len(fall.east) and np.median(fall.slope) > SERVES_TO),
    )


def as_tunnels_see_it(site: Site, layouts: Sequence[Layout]) -> Site:
    """The site with the bearings of its beds, those that stay among them."""
    first: dict[str, float] = {}
    for bed in site.own_beds:
        grid_deg = beds.long_side_deg(bed.outline)
        first.setdefault(bed.plot, beds.true_deg(grid_deg, site.convergence_deg))
    # Of the largest part of each plot.
    first |= {each.plot: each.bearing_deg for each in layouts if each.part == 1}
    bearings = [
        first.get(name, site.bed_bearing_deg(number))
        for number, name in enumerate(site.plots["name"])
    ]
    return replace(site, plots=site.plots.assign(bearing_deg=bearings))
