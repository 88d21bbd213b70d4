"""Ground at one bearing -> blocks of beds in walking order, and their names."""

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Point, Polygon
from shapely.geometry.base import BaseGeometry

from fieldmap.decide.layout.bays import lattice, rows, walk
from fieldmap.decide.layout.bays.lattice import Fit, Lengths
from fieldmap.decide.layout.bays.rows import Clear, Frame, Rows
from fieldmap.decide.layout.beds import Bed, true_deg
from fieldmap.model.settings import Beds

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.intp]
Rises = Callable[[Floats, Floats], tuple[Floats, Floats]]

# Points of a bed at which its ground is read, and the steepest of a piece of ground
# for which room is left.
POINTS_ALONG, STEEPEST_OF = 11, 0.95


class Piece(NamedTuple):
    """Ground of one field with one bearing.

    Attributes
    ----------
    clear
        Its clear rows, for all starts that are tried.
    slack_share
        By how much less than along the ground a bed may be on the map, 0-1.
    """

    ground: BaseGeometry
    grid_deg: float
    frame: Frame
    clear: Clear
    slack_share: float


def piece(ground: BaseGeometry, grid_deg: float, along: Floats, choices: Beds) -> Piece:
    """Ground made ready for beds.

    Parameters
    ----------
    ground
        Free ground of one part of a plot, in the site's CRS; may be empty.
    grid_deg
        Bearing of its beds, clockwise from grid north.
    along
        (points,) rise of the ground per metre along the bearing [m/m]; none where the
        ground is not known, which is then taken for level.
    choices
        Widths of beds, paths and lanes, the headland and the shortest bed.
    """
    middle = ground.envelope.centroid
    centre = (0.0, 0.0) if ground.is_empty else (middle.x, middle.y)
    frame = rows.frame(centre, grid_deg)
    clear = rows.clear(rows.edges(ground, frame), choices)
    # A metre along the ground is as long on the map as the cosine of its slope.
    steep = float(np.quantile(along**2, STEEPEST_OF)) if len(along) else 0.0
    return Piece(ground, grid_deg, frame, clear, 1.0 - 1.0 / np.sqrt(1.0 + steep))


@dataclass(frozen=True)
class Block:
    """Beds side by side in one bay, in the order in which one meets them.

    Attributes
    ----------
    grid_deg
        Bearing of the beds from grid north.
    corners
        (beds, 4, 2) easting and northing, in the order of `Bed.outline`.
    length_m
        Of each bed, along the ground.
    part
        Number of the ground that they fill, from 1.
    """

    grid_deg: float
    corners: Floats
    length_m: Floats
    part: int


def lay_blocks(
    pieces: Sequence[Piece],
    lengths: Lengths,
    choices: Beds,
    start: Point,
    rises: Rises,
) -> list[Block]:
    """Blocks of beds on the parts of a plot, in walking order from where one enters.

    Parameters
    ----------
    pieces
        Parts of the plot, each with its bearing and clear rows.
    lengths
        Lengths that beds may have, without the slack of any ground.
    choices
        Widths of beds: here the whole width of one.
    start
        Where one enters the plot, in the site's CRS.
    rises
        Easting and northing -> rise of the ground per metre towards each [m/m]; NaN
        where the ground is not known, which is then taken for level.
    """
    found = []
    walked = walk.nearest_first([each.ground for each in pieces], start)
    for part in walked:
        here = pieces[part]
        its = lengths.with_slack(here.slack_share)
        fit = lattice.best_fit(here.clear, its)
        if fit is None or not fit.worth_m:
            continue
        laid = lattice.beds(here.clear, fit, its)
        number = rows.blocks(laid)
        stretch = _stretch(laid, number, here, choices.width_m, rises)
        start_m, end_m, length_m = _on_the_map(laid, fit, its, stretch)
        corners = _corners(laid, start_m, end_m, here.frame, choices.width_m, start)
        found += [
            Block(here.grid_deg, corners[mine], length_m[mine], part + 1)
            for mine in walk.from_gate(laid, number, here.frame, start)
        ]
    return found


def _stretch(
    laid: Rows, block: Whole, here: Piece, width_m: float, rises: Rises
) -> Floats:
    """Way along the ground for each metre on the map, the mean of each bed's block."""
    share = (np.arange(POINTS_ALONG) + 0.5) / POINTS_ALONG
    along = laid.start[:, np.newaxis] + laid.length_m[:, np.newaxis] * share
    up = np.broadcast_to(laid.low[:, np.newaxis] + width_m / 2, along.shape)
    points = here.frame.to_ground(along, up)
    rise = np.stack(rises(points[..., 0].ravel(), points[..., 1].ravel()), axis=1)
    # Where the ground is not known it is taken for level.
    slope = np.where(np.isfinite(rise).all(axis=1), rise @ here.frame.along, 0.0)
    of_bed = np.hypot(1.0, slope).reshape(along.shape).mean(axis=1)
    # One for all beds of a block, so that their ends stay on one line.
    of_block = np.bincount(block, of_bed) / np.bincount(block)
    return np.asarray(of_block[block])


def _on_the_map(
    laid: Rows, fit: Fit, lengths: Lengths, stretch: Floats
) -> tuple[Floats, Floats, Floats]:
    """Start and end on the map, and the length along the ground, of each bed.

    Beds of standard length are drawn in towards the start of their bay; where rows are
    not cut they are as long as their ground.
    """
    if lengths.bay_m >= lattice.ENDLESS_M:
        return laid.start, laid.end, laid.length_m * stretch
    begin = fit.phase_m + laid.bay * lengths.pitch_m
    # Never by more than was kept free for it, where a block is steeper than that.
    shrink = np.maximum(1.0 / stretch, 1.0 - lengths.slack_m / lengths.bay_m)
    start = begin + (laid.start - begin) * shrink
    return start, start + laid.length_m * shrink, laid.length_m


def _corners(
    laid: Rows,
    start_m: Floats,
    end_m: Floats,
    frame: Frame,
    width_m: float,
    entry: Point,
) -> Floats:
    """(beds, 4, 2) in the order of `Bed.outline`."""
    back, down = walk.from_far_side(laid, frame, entry)
    near, far = (end_m, start_m) if back else (start_m, end_m)
    high = laid.low + width_m
    first, second = (high, laid.low) if down else (laid.low, high)
    along = np.stack([near, near, far, far], axis=1)
    up = np.stack([first, second, second, first], axis=1)
    return frame.to_ground(along, up)


def name_beds(
    plot_name: str,
    field: str,
    blocks: Sequence[Block],
    choices: Beds,
    convergence_deg: float,
) -> list[Bed]:
    """The beds of a plot by field and number, counted as one walks from the gate.

    Parameters
    ----------
    plot_name
        Name of the plot.
    field
        Letter, or short name, of the plot, that its beds begin with.
    blocks
        Its blocks, in walking order.
    choices
        Widths of beds, and of the path between the two strips under one hoop.
    convergence_deg
        Bearing of grid north, clockwise from true north.
    """
    number = itertools.count(1)
    return [
        Bed(
            name=f"{field}{next(number)}",
            plot=plot_name,
            outline=outline,
            length_m=float(length_m),
            width_m=choices.width_m,
            bearing_deg=true_deg(block.grid_deg, convergence_deg),
            path_within_m=choices.path_within_m,
            field=field,
            part=block.part,
            block=nth,
            number=in_block,
        )
        for nth, block in enumerate(blocks, start=1)
        for in_block, (outline, length_m) in enumerate(
            zip(_outlines(block), block.length_m, strict=True), start=1
        )
    ]


def _outlines(block: Block) -> list[Polygon]:
    made: npt.NDArray[np.object_] = np.array(shapely.polygons(block.corners))
    return list(made)
