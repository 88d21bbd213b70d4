"""Beds on the ground of every layout, once tunnels have taken theirs."""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
import shapely
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse import zonal_means
from fieldmap.analyse.fields import Analysis
from fieldmap.decide.layout import bearings, beds
from fieldmap.decide.layout.bays import blocks, lengths, walk
from fieldmap.decide.layout.bays.lengths import Standard
from fieldmap.decide.layout.bearings import SHORT_M, Reader
from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.layout.choose import Layout
from fieldmap.model.settings import ROLL_OVER_PERCENT, Beds
from fieldmap.model.site import OwnBed, Site, field_names


class Filled(NamedTuple):
    """Beds of a site.

    Attributes
    ----------
    layouts, standard
        How they run, and which lengths they have.
    roll_over
        Names of beds across which the ground falls so much that a machine may roll over.
    """

    beds: list[Bed]
    layouts: tuple[Layout, ...]
    standard: Standard
    roll_over: frozenset[str]


def fill_plots(
    site: Site,
    analysis: Analysis,
    layouts: Sequence[Layout],
    obstacles: Sequence[BaseGeometry],
) -> Filled:
    """All beds of a site, plot by plot, their lengths, and the layouts with theirs.

    Parameters
    ----------
    site
        The site: its plots, own beds, surroundings and choices of beds.
    analysis
        The computed ground: here its rise to the east and north.
    layouts
        How beds run on each part of each plot.
    obstacles
        Ground taken since the layout: the working space of tunnels.
    """
    turn_deg, choices = site.convergence_deg, site.settings.beds
    off = shapely.union_all(list(obstacles))
    terrain = analysis.terrain
    rises = terrain.east.interpolate, terrain.north.interpolate
    pieces = [_piece(each, off, rises, choices) for each in layouts]
    standard = lengths.choose(
        [each.clear for each in pieces], choices, site.settings.units
    )
    found: list[Bed] = []
    filled: list[Layout] = []
    names = list(site.plots["name"])
    for name, outline, field in zip(
        names, site.plots.geometry, field_names(names), strict=True
    ):
        mine = [at for at, each in enumerate(layouts) if each.plot == name]
        start = walk.entry(site.surroundings, outline)
        laid = blocks.lay_blocks(
            [pieces[at] for at in mine],
            standard.lengths,
            choices,
            start,
            lambda east, north: (rises[0](east, north), rises[1](east, north)),
        )
        here = blocks.name_beds(str(name), field, laid, choices, turn_deg)
        own = [each for each in site.own_beds if each.plot == name]
        found += [*(_own(each, field, turn_deg, start) for each in own), *here]
        filled += [_with_beds(layouts[at], field, here) for at in mine]
    steep, roll = _too_steep(analysis, found, choices, turn_deg)
    return Filled(
        found,
        tuple(
            replace(each, too_steep=tuple(name for name in each.beds if name in steep))
            for each in filled
        ),
        standard,
        roll,
    )


def _piece(
    layout: Layout, off: BaseGeometry, rises: tuple[Reader, Reader], choices: Beds
) -> blocks.Piece:
    """What is left of the ground of a layout, ready for beds."""
    ground, grid_deg = layout.ground.difference(off), layout.kept.grid_deg
    along = np.empty(0)
    if not ground.is_empty:
        along = bearings.falls(ground, *rises).along(grid_deg)
    return blocks.piece(ground, grid_deg, along, choices)


def _with_beds(layout: Layout, field: str, of_plot: Sequence[Bed]) -> Layout:
    """A layout with the names of its blocks and beds."""
    its = [bed for bed in of_plot if bed.part == layout.part]
    return replace(
        layout,
        field=field,
        blocks=tuple(_first_to_last(its)),
        beds=tuple(bed.name for bed in its),
        short=sum(bed.length_m < SHORT_M for bed in its),
        area_m2=sum(bed.area_m2 for bed in its),
    )


def _first_to_last(beds_: Sequence[Bed]) -> Iterator[str]:
    """What a block is called among people: by its first and its last bed."""
    for _block, here in itertools.groupby(beds_, lambda bed: bed.block):
        first, *others = (bed.name for bed in here)
        yield f"{first}-{others[-1]}" if others else first


def _own(drawn: OwnBed, field: str, convergence_deg: float, start: Point) -> Bed:
    """A bed as it lies, seen from where one enters its plot."""
    # What was kept, and so has a length along the ground, begins as the plan had it.
    outline = drawn.outline
    if drawn.length_m is None:
        outline = beds.seen_from(start, outline)
    corners = shapely.get_coordinates(drawn.outline)[:3]
    sides = np.hypot(*np.diff(corners, axis=0).T)
    grid_deg = beds.long_side_deg(drawn.outline)
    return Bed(
        name=drawn.name,
        plot=drawn.plot,
        outline=outline,
        # A bed that was kept has its length along the ground; on a slope its outline, seen
        # from above, is shorter.
        length_m=drawn.length_m or float(sides.max()),
        width_m=float(sides.min()),
        bearing_deg=beds.true_deg(grid_deg, convergence_deg),
        exists=drawn.pegged,
        path_within_m=drawn.path_within_m,
        field=field,
    )


def _too_steep(
    analysis: Analysis, found: Sequence[Bed], choices: Beds, convergence_deg: float
) -> tuple[set[str], frozenset[str]]:
    """Names of beds too steep along, by the standard, and too steep across, for machines."""
    if not found:
        return set(), frozenset()
    outlines, ground = [bed.outline for bed in found], analysis.terrain
    east, north = (
        zonal_means.means(rise, outlines) for rise in (ground.east, ground.north)
    )
    lies = beds.lies(east, north, found, convergence_deg)
    along, across, _faces = np.transpose(lies) / 100
    steep = bearings.too_steep(np.hypot(along, across), along)
    roll = 100 * across > ROLL_OVER_PERCENT[choices.work]
    names = np.array([bed.name for bed in found], object)
    return set(names[steep]), frozenset(names[roll])
