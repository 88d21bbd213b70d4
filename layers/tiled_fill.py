"""Hollows filled to their spill over ground in tiles, each tile looked at by itself.

What comes out is that of `drainage.filled_m` over all tiles in one piece, bit for bit, as
both take the least of the greatest heights on ways to an outlet, and compute no others.
Of each tile a graph of its outermost cells is made; what all graphs together say of these
cells is worked out at once; and each tile is filled again from its outermost cells.

Barnes 2016, Parallel Priority-Flood depression filling for trillion cell digital
elevation models on desktops or clusters, Computers & Geosciences 96:56-68.
"""

import heapq
from collections.abc import Sequence
from typing import NamedTuple

import numba
import numpy as np
import numpy.typing as npt

from layers import _downhill
from layers._grid import Grid, check_grid

Whole = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]

OUTLET = 0  # node of all that lies outside
_UNKNOWN = -1
_STEPS = ((-1, -1), (-1, 0), (-1, 1), (0, -1), (0, 1), (1, -1), (1, 0), (1, 1))


class Rim(NamedTuple):
    """What the outermost cells of a tile have to do with each other.

    Attributes
    ----------
    row, col
        (cells,) of those that are not missing, within the tile.
    height_m
        (cells,) of the ground.
    one, other
        (links,) cells between which a way leads over the tile, by their place in `row`
        counted from 1; `OUTLET` is beside a missing cell.
    over_m
        (links,) least height that such a way must climb.
    """

    row: Whole
    col: Whole
    height_m: Floats
    one: Whole
    other: Whole
    over_m: Floats


def rim_of(elevation_m: Grid) -> Rim:
    """The graph of a tile's outermost cells.

    Parameters
    ----------
    elevation_m
        (rows, cols) of the tile alone; beside a missing cell water leaves.

    Raises
    ------
    ValueError
        When the grid is not two-dimensional.
    """
    ground = check_grid(elevation_m, "elevation_m")
    label = np.full(ground.shape, _UNKNOWN, np.int64)
    outermost = np.zeros(ground.shape, np.bool_)
    outermost[[0, -1]] = True
    outermost[:, [0, -1]] = True
    row, col = np.nonzero(outermost & ~np.isnan(ground))
    label[row, col] = np.arange(1, len(row) + 1)
    beside = _beside_missing(ground)
    label[beside & (label == _UNKNOWN)] = OUTLET
    one, other, over = _linked(ground, label)
    # Outermost cells beside a missing one of the tile lie at an outlet themselves.
    at_outlet = np.flatnonzero(beside[row, col])
    one = np.concatenate([one, np.full(len(at_outlet), OUTLET)])
    other = np.concatenate([other, at_outlet + 1])
    over = np.concatenate([over, ground[row, col][at_outlet]])
    low, high = np.minimum(one, other), np.maximum(one, other)
    pair, place = np.unique(low * (len(row) + 1) + high, return_inverse=True)
    least = np.full(len(pair), np.inf)
    np.minimum.at(least, place, over)
    return Rim(
        row, col, ground[row, col], pair // (len(row) + 1), pair % (len(row) + 1), least
    )


def _beside_missing(ground: Grid) -> npt.NDArray[np.bool_]:
    """Known cells with a missing one among their neighbours within the tile."""
    missing = np.pad(np.isnan(ground), 1)
    rows, cols = ground.shape
    beside = np.zeros(ground.shape, np.bool_)
    for down, right in _STEPS:
        beside |= missing[1 + down : 1 + down + rows, 1 + right : 1 + right + cols]
    return np.asarray(beside & ~np.isnan(ground))


@numba.njit(cache=True, nogil=True)
def _linked(ground: Grid, label: Whole) -> tuple[Whole, Whole, Floats]:
    """Flood from all labelled cells; where two floods meet, and how high that is."""
    rows, cols = ground.shape
    level = ground.copy()
    waiting = [(0.0, 0, 0)]  # so that the compiler knows what the empty list holds
    waiting.pop()
    for row in range(rows):
        for col in range(cols):
            if label[row, col] != _UNKNOWN:
                waiting.append((ground[row, col], row, col))
    heapq.heapify(waiting)
    one, other, over = [np.int64(0)], [np.int64(0)], [0.0]
    one.pop(), other.pop(), over.pop()
    while len(waiting) > 0:
        height, row, col = heapq.heappop(waiting)
        here = label[row, col]
        for down, right in _STEPS:
            r, c = row + down, col + right
            if r < 0 or c < 0 or r >= rows or c >= cols or np.isnan(ground[r, c]):
                continue
            if label[r, c] == _UNKNOWN:
                label[r, c] = here
                level[r, c] = max(height, ground[r, c])
                heapq.heappush(waiting, (level[r, c], r, c))
            elif label[r, c] != here:
                one.append(here)
                other.append(label[r, c])
                over.append(max(height, level[r, c]))
    return np.array(one), np.array(other), np.array(over)


class Placed(NamedTuple):
    """A tile's rim, and the row and column of its first cell in the whole grid."""

    rim: Rim
    first: tuple[int, int]
    shape: tuple[int, int]


def spill_of_rims_m(tiles: Sequence[Placed]) -> list[Floats]:
    """Filled height of the outermost cells of every tile, in the order of each `Rim`.

    Cells beside what no tile holds are outlets, as at the border of a grid.
    """
    counts = [len(tile.rim.row) for tile in tiles]
    starts = np.concatenate([[0], np.cumsum(counts)]) + 1
    row = np.concatenate([tile.rim.row + tile.first[0] for tile in tiles])
    col = np.concatenate([tile.rim.col + tile.first[1] for tile in tiles])
    height = np.concatenate([tile.rim.height_m for tile in tiles])
    if len(height) == 0:
        return [height] * len(tiles)
    owner = np.repeat(np.arange(len(tiles)), counts)
    one: list[Whole] = []
    other: list[Whole] = []
    over: list[Floats] = []
    for tile, start in zip(tiles, starts[:-1], strict=True):
        for ends, side in ((one, tile.rim.one), (other, tile.rim.other)):
            ends.append(np.where(side == OUTLET, OUTLET, side + start - 1))
        over.append(tile.rim.over_m)
    bounds = np.array([[*tile.first, *tile.shape] for tile in tiles])
    for down, right in _STEPS:
        there, beyond = _neighbours(row, col, owner, bounds, (down, right))
        here = np.flatnonzero(beyond)
        found = there[here]
        one.append(here + 1)
        other.append(found)
        climbed = np.where(found == OUTLET, height[here], height[found - 1])
        over.append(np.maximum(height[here], climbed))
    links = [np.concatenate(part) for part in (one, other, over)]
    spill = _least_climb(len(height) + 1, *links)[1:]
    return np.split(spill, starts[1:-1] - 1)


def _neighbours(
    row: Whole, col: Whole, owner: Whole, bounds: Whole, step: tuple[int, int]
) -> tuple[Whole, npt.NDArray[np.bool_]]:
    """Node beside each outermost cell, and whether it lies beyond the cell's own tile."""
    wide = int(col.max() - col.min()) + 3
    down, right = row + step[0], col + step[1]
    first_row, first_col, rows, cols = bounds[owner].T
    beyond = (down < first_row) | (down >= first_row + rows)
    beyond |= (right < first_col) | (right >= first_col + cols)
    number = (row - row.min() + 1) * wide + (col - col.min() + 1)
    order = np.argsort(number)
    wanted = (down - row.min() + 1) * wide + (right - col.min() + 1)
    at = np.searchsorted(number[order], wanted)
    at = np.minimum(at, len(order) - 1)
    is_there = number[order][at] == wanted
    return np.where(is_there, order[at] + 1, OUTLET), beyond


@numba.njit(cache=True, nogil=True)
def _least_climb(nodes: int, one: Whole, other: Whole, over: Floats) -> Floats:
    """Least of the greatest heights on ways from every node to the outlet."""
    begin = np.zeros(nodes + 1, np.int64)
    for link in range(one.size):
        begin[one[link] + 1] += 1
        begin[other[link] + 1] += 1
    for node in range(nodes):
        begin[node + 1] += begin[node]
    to, climb = np.empty(2 * one.size, np.int64), np.empty(2 * one.size)
    used = begin[:-1].copy()
    for link in range(one.size):
        for here, there in ((one[link], other[link]), (other[link], one[link])):
            to[used[here]], climb[used[here]] = there, over[link]
            used[here] += 1
    # The search for shortest ways, with the greatest height on a way for its length.
    level = np.full(nodes, np.inf)
    level[OUTLET] = -np.inf
    waiting = [(-np.inf, OUTLET)]
    while len(waiting) > 0:
        height, node = heapq.heappop(waiting)
        if height > level[node]:
            continue
        for link in range(begin[node], begin[node + 1]):
            reached = max(height, climb[link])
            if reached < level[to[link]]:
                level[to[link]] = reached
                heapq.heappush(waiting, (reached, to[link]))
    return level


def filled_m(elevation_m: Grid, rim: Rim, spill_m: Floats) -> Grid:
    """Height of a tile's ground with every hollow filled to its spill.

    Parameters
    ----------
    elevation_m
        (rows, cols) of the tile.
    rim, spill_m
        Of the tile, as `rim_of` and `spill_of_rims_m` give them.

    Returns
    -------
    filled
        [m], as `drainage.filled_m`.

    Examples
    --------
    >>> cup = np.array([[5.0, 5, 5, 5], [5, 1, 2, 4], [5, 5, 5, 5]])
    >>> halves = cup[:, :2], cup[:, 2:]
    >>> rims = [rim_of(half) for half in halves]
    >>> placed = [Placed(rims[0], (0, 0), (3, 2)), Placed(rims[1], (0, 2), (3, 2))]
    >>> spills = spill_of_rims_m(placed)
    >>> np.hstack([filled_m(*each) for each in zip(halves, rims, spills)])[1].tolist()
    [5.0, 4.0, 4.0, 4.0]
    """
    ground = check_grid(elevation_m, "elevation_m")
    missing = np.isnan(ground)
    walled = np.ascontiguousarray(np.pad(ground, 1, constant_values=np.inf))
    walled[1:-1, 1:-1][missing] = np.inf
    surface = np.full(walled.shape, np.inf)
    beside = _beside_missing(ground)
    surface[1:-1, 1:-1][beside] = ground[beside]
    inner = surface[1:-1, 1:-1]
    inner[rim.row, rim.col] = spill_m
    _downhill.lower_to_spill(walled, surface)
    filled = surface[1:-1, 1:-1].copy()
    filled[missing] = np.nan
    return filled
