"""In which order blocks and beds are met, walking from the gate."""

from collections.abc import Sequence

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from fieldmap.decide.layout.bays.rows import Frame, Rows

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.intp]

# Where one comes from, what is there first: through a gate, else from a road.
WAYS_IN = ("gate", "road")


def entry(surroundings: gpd.GeoDataFrame, outline: BaseGeometry) -> Point:
    """Where one enters a plot: its point nearest to a gate, else to a road.

    Without either, its point nearest the north-west corner of the upright rectangle
    around it.
    """
    for kind in WAYS_IN:
        there = surroundings.geometry[surroundings["kind"] == kind]
        if len(there):
            nearest = there.iloc[int(np.argmin(there.distance(outline)))]
            line = shapely.shortest_line(outline, nearest)
            return Point(shapely.get_coordinates(line)[0])
    west, _, _, north = outline.bounds
    line = shapely.shortest_line(outline, Point(west, north))
    return Point(shapely.get_coordinates(line)[0])


def nearest_first(shapes: Sequence[BaseGeometry], start: Point) -> list[int]:
    """Numbers of shapes in the order of a walk that goes on to the nearest one left."""
    left, at, order = list(range(len(shapes))), start, list[int]()
    while left:
        # Rounded: of two that are as near the first stays first.
        way = [round(at.distance(shapes[each]), 3) for each in left]
        order.append(left.pop(int(np.argmin(way))))
        at = shapes[order[-1]].centroid
    return order


def from_gate(rows: Rows, blocks: Whole, frame: Frame, start: Point) -> list[Whole]:
    """Beds of each block in walking order, and blocks in theirs.

    Bay by bay away from the entry, across each bay to and fro; in a block bed by bed
    as one comes along.

    Parameters
    ----------
    rows
        Beds of one piece of ground; without any the list is empty.
    blocks
        (beds,) number of the block that each bed belongs to, as `rows.blocks` gives it.
    frame
        Where along and up are on the ground.
    start
        Where one enters the plot, in the site's CRS.

    Returns
    -------
    order
        For each block the places of its beds in `rows`.
    """
    if not len(rows.row):
        return []
    back, down = from_far_side(rows, frame, start)
    along = rows.start.max() - rows.start if back else rows.start - rows.start.min()
    across = rows.row.max() - rows.row if down else rows.row
    bay = rows.bay.max() - rows.bay if back else rows.bay - rows.bay.min()
    # To and fro by bays that hold a bed: nobody walks an empty one.
    nth = np.searchsorted(np.unique(bay), bay)
    to_and_fro = np.where(nth % 2 == 0, across, -across)
    order = np.lexsort((along, to_and_fro, nth))
    # A block keeps together: it comes where its first bed does.
    firsts = dict.fromkeys(blocks[order].tolist())
    return [order[blocks[order] == each] for each in firsts]


def from_far_side(rows: Rows, frame: Frame, start: Point) -> tuple[bool, bool]:
    """Whether one comes from the far end of rows, and from the upper one of them.

    Parameters
    ----------
    rows
        Beds of one piece of ground, at least one.
    frame
        Where along and up are on the ground.
    start
        Where one enters the plot, in the site's CRS.
    """
    away = np.array([start.x, start.y]) - frame.middle
    along, up = float(away @ frame.along), float(away @ frame.up)
    return _nearer_last(along, rows.start, rows.end), _nearer_last(
        up, rows.low, rows.low
    )


def _nearer_last(at: float, low: Floats, high: Floats) -> bool:
    first, last = float(low.min()), float(high.max())
    # From half way along, by more than the last bit of a float, one begins at the first.
    return abs(at - last) < abs(at - first) - 1e-6
