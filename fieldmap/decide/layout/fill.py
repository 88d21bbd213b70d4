"""Beds on the ground of every layout, once tunnels have taken theirs."""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse import zonal_means
from fieldmap.analyse.fields import Analysis
from fieldmap.decide.layout import bearings, beds
from fieldmap.decide.layout.beds import Bed, Block
from fieldmap.decide.layout.choose import Layout
from fieldmap.model.site import OwnBed, Site, letter


def fill_plots(
    site: Site,
    analysis: Analysis,
    layouts: Sequence[Layout],
    obstacles: Sequence[BaseGeometry],
) -> tuple[list[Bed], tuple[Layout, ...]]:
    """All beds of a site, plot by plot, and the layouts with theirs.

    Parameters
    ----------
    obstacles
        What came after the layout: the working space of tunnels.
    """
    turn_deg = site.convergence_deg
    off = shapely.union_all(list(obstacles))
    found: list[Bed] = []
    filled: list[Layout] = []
    for number, (name, outline) in enumerate(
        zip(site.plots["name"], site.plots.geometry, strict=True)
    ):
        mine = [each for each in layouts if each.plot == name]
        blocks = beds.lay_blocks(
            [(each.ground.difference(off), each.kept.grid_deg) for each in mine],
            outline,
            site.settings.beds,
        )
        here = beds.name_beds(str(name), letter(number), blocks, turn_deg)
        own = [each for each in site.own_beds if each.plot == name]
        found += [*(_own(each, turn_deg) for each in own), *here]
        filled += _with_beds(mine, letter(number), blocks, here)
    steep = _too_steep(analysis, found, turn_deg)
    return found, tuple(
        replace(each, too_steep=tuple(name for name in each.beds if name in steep))
        for each in filled
    )


def _with_beds(
    layouts: Sequence[Layout],
    plot_letter: str,
    blocks: Sequence[Block],
    here: Sequence[Bed],
) -> Iterator[Layout]:
    """The layouts of one plot with the names of their blocks and beds."""
    names = beds.block_names(plot_letter, len(blocks))
    for part, layout in enumerate(layouts):
        mine = tuple(itertools.compress(names, (each.part == part for each in blocks)))
        its = [bed for bed in here if bed.block in mine]
        yield replace(
            layout,
            blocks=mine,
            beds=tuple(bed.name for bed in its),
            area_m2=sum(bed.area_m2 for bed in its),
        )


def _own(drawn: OwnBed, convergence_deg: float) -> Bed:
    """A bed as it lies."""
    corners = shapely.get_coordinates(drawn.outline)[:3]
    sides = np.hypot(*np.diff(corners, axis=0).T)
    grid_deg = beds.long_side_deg(drawn.outline)
    return Bed(
        name=drawn.name,
        plot=drawn.plot,
        outline=drawn.outline,
        length_m=float(sides.max()),
        width_m=float(sides.min()),
        bearing_deg=float(np.round(grid_deg + convergence_deg, 6) % 180.0),
        exists=drawn.pegged,
        path_within_m=drawn.path_within_m,
    )


def _too_steep(
    analysis: Analysis, found: Sequence[Bed], convergence_deg: float
) -> set[str]:
    """Names of the beds that fall more than the standard has it."""
    if not found:
        return set()
    outlines, ground = [bed.outline for bed in found], analysis.terrain
    east, north = (
        zonal_means.means(rise, outlines) for rise in (ground.east, ground.north)
    )
    lies = beds.lies(east, north, found, convergence_deg)
    along, across, _faces = np.transpose(lies) / 100
    steep = bearings.too_steep(np.hypot(along, across), along)
    return {bed.name for bed, over in zip(found, steep, strict=True) if over}
