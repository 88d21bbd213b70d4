"""Hollows of the ground, and the way water takes downhill over it.

Neighbours are the eight cells around a cell. The border of the grid, and every cell
beside a missing one, is an outlet: what lies beyond is not known, so nothing is held
back there. Take elevation with a margin around the ground that matters.
"""

from dataclasses import dataclass
from math import sqrt

import numba
import numpy as np
import numpy.typing as npt
from scipy import ndimage

from layers._grid import Grid, check_cell_size, check_grid

Mask = npt.NDArray[np.bool_]
Ways = npt.NDArray[np.uint8]

_ROW_STEP = np.array([0, 1, 0, -1, 1, 1, -1, -1])
_COL_STEP = np.array([1, 0, -1, 0, 1, -1, -1, 1])
_PER_DIAGONAL = sqrt(0.5)
# Ways of water: a number of these steps, or
_LEAVES, _NOWHERE = np.uint8(8), np.uint8(9)
_FIRST = np.uint8(16)
_HEARD = np.uint8(255)
_UNKNOWN = np.uint8(2)
# While a pair of scans changes more than one cell in so many, another pair is cheaper
# than a queue.
_SCANS_PAY_FROM = 20


@dataclass(frozen=True)
class Hollows:
    """Connected hollows, numbered 1, 2, … in `label`; entry k - 1 describes hollow k.

    Attributes
    ----------
    label
        (rows, cols) int32; 0 outside every hollow and where missing.
    depth_m
        Greatest depth under the spill.
    spill_m
        Height at which the hollow runs over.
    area_m2, volume_m3
        Of the hollow filled to its spill.
    deepest
        (hollows, 2) row and column of the (first) deepest cell.
    """

    label: npt.NDArray[np.int32]
    depth_m: npt.NDArray[np.float64]
    spill_m: npt.NDArray[np.float64]
    area_m2: npt.NDArray[np.float64]
    volume_m3: npt.NDArray[np.float64]
    deepest: npt.NDArray[np.intp]


def filled_m(elevation_m: Grid) -> Grid:
    """Height of the ground with every hollow filled to its spill.

    The lowest surface that lies nowhere under the ground and from which water leaves
    by a path that never rises: per cell, the least height that a path over the eight
    neighbours must climb on its way to an outlet.

    Parameters
    ----------
    elevation_m
        (rows, cols). Missing cells stay missing; cells beside them are outlets, as is
        the border.

    Returns
    -------
    filled
        [m], same shape; every value is one of the heights given.

    Notes
    -----
    What it computes is the fill of Barnes, Lehman & Mulla 2014, Computers &
    Geosciences 62:117-127; how (raster scans, then a queue) follows the hybrid
    greyscale reconstruction of Vincent 1993, IEEE Trans. Image Process. 2:176-201, with
    scans repeated as long as they still do most of the work.

    Examples
    --------
    >>> cup = np.array([[5.0, 5, 5, 5], [5, 1, 2, 4], [5, 5, 5, 5]])
    >>> filled_m(cup)[1].tolist()
    [5.0, 4.0, 4.0, 4.0]
    """
    ground = check_grid(elevation_m, "elevation_m")
    missing = np.isnan(ground)
    filled = _filled_within_walls(ground, missing)[1:-1, 1:-1].copy()
    filled[missing] = np.nan
    return filled


def hollow_depth_m(elevation_m: Grid) -> Grid:
    """Depth of the ground under the spill of the hollow it lies in; 0 outside hollows.

    Parameters
    ----------
    elevation_m
        (rows, cols); NaN stays NaN. Outlets as in `filled_m`.

    Examples
    --------
    >>> cup = np.array([[5.0, 5, 5, 5], [5, 1, 2, 4], [5, 5, 5, 5]])
    >>> hollow_depth_m(cup)[1].tolist()
    [0.0, 3.0, 2.0, 0.0]
    """
    return filled_m(elevation_m) - check_grid(elevation_m, "elevation_m")


def hollows(elevation_m: Grid, cell_size_m: float) -> Hollows:
    """Tell the hollows apart, each with its depth, spill, area and volume.

    Cells under a spill that touch, also by a corner, are one hollow; they always share
    one spill.

    Parameters
    ----------
    elevation_m
        (rows, cols); missing cells belong to no hollow.
    cell_size_m
        Side of a cell.

    Raises
    ------
    ValueError
        When the grid is not two-dimensional or the cell size not positive.

    Examples
    --------
    >>> cup = np.array([[5.0, 5, 5, 5], [5, 1, 2, 4], [5, 5, 5, 5]])
    >>> found = hollows(cup, 10.0)
    >>> found.spill_m.tolist(), found.area_m2.tolist(), found.volume_m3.tolist()
    ([4.0], [200.0], [500.0])
    """
    check_cell_size(cell_size_m)
    ground = check_grid(elevation_m, "elevation_m")
    filled = filled_m(ground)
    depth = np.where(np.isnan(ground), 0.0, filled - ground)
    label, count = ndimage.label(depth > 0, structure=np.ones((3, 3)))
    cell_m2 = np.full(label.size, cell_size_m**2)
    volume_m3 = depth.ravel() * cell_m2
    numbers = np.arange(1, count + 1)
    deepest = np.array(
        ndimage.maximum_position(depth, label, numbers), dtype=np.intp
    ).reshape(count, 2)
    row, col = deepest.T
    return Hollows(
        label=label.astype(np.int32),
        depth_m=depth[row, col],
        spill_m=filled[row, col],
        area_m2=_sums(cell_m2, label, count),
        volume_m3=_sums(volume_m3, label, count),
        deepest=deepest,
    )


def _sums(
    values: npt.NDArray[np.float64], label: npt.NDArray[np.int32], count: int
) -> npt.NDArray[np.float64]:
    """Sum of the values of every label from 1 to `count`."""
    sums = np.bincount(label.ravel(), values, minlength=count + 1)[1:]
    return sums.astype(np.float64)


def catchment_m2(elevation_m: Grid, cell_size_m: float) -> Grid:
    """Area that drains through a cell, its own included, by steepest descent.

    Every cell hands all its water to the one of its eight neighbours that lies lowest
    per metre of way over the filled ground (ties: a fixed order). Over the level fill
    of a hollow the water takes the fewest steps to the spill; at an outlet that has no
    lower neighbour it leaves the grid.

    Parameters
    ----------
    elevation_m
        (rows, cols); NaN stays NaN.
    cell_size_m
        Side of a cell.

    Returns
    -------
    catchment
        [m²], same shape, at least one cell.

    Raises
    ------
    ValueError
        When the grid is not two-dimensional or the cell size not positive.

    Notes
    -----
    O'Callaghan & Mark 1984, Comput. Vision Graph. 28:323-344 ("D8").

    Examples
    --------
    >>> slope = np.array([[3.0, 3], [2, 2], [1, 1]])
    >>> catchment_m2(slope, 10.0)[:, 0].tolist()
    [100.0, 200.0, 300.0]
    """
    check_cell_size(cell_size_m)
    ground = check_grid(elevation_m, "elevation_m")
    catchment: Grid = _gathered(_ways(ground))[1:-1, 1:-1] * cell_size_m**2
    catchment[np.isnan(ground)] = np.nan
    return catchment


def upstream(elevation_m: Grid, place: Mask) -> Mask:
    """Cells whose water runs through a place, the place itself included.

    Parameters
    ----------
    elevation_m
        (rows, cols), as for `catchment_m2`, whose ways are followed.
    place
        (rows, cols).

    Returns
    -------
    upstream
        (rows, cols); False where the elevation is missing, but for the place.

    Raises
    ------
    ValueError
        When the grid is not two-dimensional or the shapes differ.

    Examples
    --------
    >>> slope = np.array([[3.0, 3], [2, 2], [1, 1]])
    >>> upstream(slope, slope == np.array([9.0, 2.0]))[:, 1].tolist()
    [True, True, False]
    """
    ground = check_grid(elevation_m, "elevation_m")
    if place.shape != ground.shape:
        raise ValueError(f"place must have shape {ground.shape}, got {place.shape}")
    way = _ways(ground)
    runs_through = np.full(way.shape, _UNKNOWN)
    runs_through[1:-1, 1:-1][np.isnan(ground)] = False
    runs_through[1:-1, 1:-1][place] = True
    _follow(way, runs_through)
    return np.asarray(runs_through[1:-1, 1:-1] == 1)


def _ways(ground: Grid) -> Ways:
    """Way of the water out of every cell, within a ring of cells that have none."""
    missing = np.isnan(ground)
    filled = _filled_within_walls(ground, missing)
    way = np.full(filled.shape, _NOWHERE)
    _point_down(filled, way)
    way[1:-1, 1:-1][missing] = _LEAVES
    _point_over_level_ground(filled, way)
    return way


def _filled_within_walls(ground: Grid, missing: Mask) -> Grid:
    """Filled ground with a ring of infinite height, which missing cells have too."""
    # Padding keeps the order of a turned grid; the loops want rows one after another.
    walled = np.ascontiguousarray(np.pad(ground, 1, constant_values=np.inf))
    if missing.any():
        walled[1:-1, 1:-1][missing] = np.inf
    surface = np.empty(walled.shape)
    _open_outlets(walled, surface)
    _lower_to_spill(walled, surface)
    return surface


@numba.njit(cache=True)
def _open_outlets(ground: Grid, surface: Grid) -> None:
    """Set `surface` to the ground where water leaves, beside walls, else to no end."""
    rows, cols = ground.shape
    surface[0], surface[-1], surface[:, 0], surface[:, -1] = (
        np.inf,
        np.inf,
        np.inf,
        np.inf,
    )
    for row in range(1, rows - 1):
        above, here, below = ground[row - 1], ground[row], ground[row + 1]
        out = surface[row]
        for col in range(cols - 2):
            highest = max(here[col], here[col + 2])
            highest = max(highest, above[col], above[col + 1], above[col + 2])
            highest = max(highest, below[col], below[col + 1], below[col + 2])
            out[col + 1] = here[col + 1] if highest == np.inf else np.inf


@numba.njit(cache=True)
def _lower_to_spill(ground: Grid, surface: Grid) -> None:
    """Lower `surface` in place as far as the ground and its neighbours let it."""
    changed = surface.size
    while changed > surface.size // _SCANS_PAY_FROM:
        changed = _scan(ground, surface)
        # Upside down and back to front, the same scan runs the other way.
        changed += _scan(ground[::-1, ::-1], surface[::-1, ::-1])
    _lower_by_queue(ground, surface)


@numba.njit(cache=True)
def _scan(ground: Grid, surface: Grid) -> int:
    """Lower `surface` row by row, from its start on; returns how many cells changed."""
    rows, cols = ground.shape
    lowest_above = np.empty(cols)
    changed = 0
    for row in range(1, rows - 1):
        above, floor, here = surface[row - 1], ground[row], surface[row]
        for col in range(cols - 2):
            lowest = min(above[col], above[col + 1])
            lowest_above[col + 1] = min(lowest, above[col + 2])
        level = here[0]
        for col in range(1, cols - 1):
            lowest = min(lowest_above[col], here[col])
            level = max(min(lowest, level), floor[col])
            changed += level != here[col]
            here[col] = level
    return changed


@numba.njit(cache=True)
def _lower_by_queue(ground: Grid, surface: Grid) -> None:
    """Finish what scans left: the cells that a neighbour still lets come down."""
    rows, cols = ground.shape
    # A ring buffer with a power of two of places; it doubles when full.
    queue = np.empty(1024, np.int64)
    head = count = 0
    level = np.empty(cols)
    for row in range(1, rows - 1):
        if _levels(ground, surface, row, level) > 0:
            for col in range(1, cols - 1):
                if surface[row, col] > level[col]:
                    surface[row, col] = level[col]
                    queue, head, count = _push(queue, head, count, row * cols + col)
    flat, floor = surface.reshape(-1), ground.reshape(-1)
    steps = _ROW_STEP * cols + _COL_STEP
    while count > 0:
        cell = queue[head]
        head = (head + 1) & (queue.size - 1)
        count -= 1
        for k in range(8):
            to = cell + steps[k]
            lower = max(flat[cell], floor[to])
            if flat[to] > lower:
                flat[to] = lower
                queue, head, count = _push(queue, head, count, to)


@numba.njit(cache=True)
def _levels(
    ground: Grid, surface: Grid, row: int, level: npt.NDArray[np.float64]
) -> int:
    """Heights to which the neighbours let a row come down; returns how many do."""
    above, here, below = surface[row - 1], surface[row], surface[row + 1]
    floor = ground[row]
    count = 0
    for col in range(here.size - 2):
        lowest = min(here[col], here[col + 1], here[col + 2])
        lowest = min(lowest, above[col], above[col + 1], above[col + 2])
        lowest = min(lowest, below[col], below[col + 1], below[col + 2])
        level[col + 1] = max(lowest, floor[col + 1])
        count += here[col + 1] > level[col + 1]
    return count


@numba.njit(cache=True)
def _push(
    queue: npt.NDArray[np.int64], head: int, count: int, cell: int
) -> tuple[npt.NDArray[np.int64], int, int]:
    if count == queue.size:
        longer = np.empty(2 * queue.size, np.int64)
        for k in range(count):
            longer[k] = queue[(head + k) & (queue.size - 1)]
        queue, head = longer, 0
    queue[(head + count) & (queue.size - 1)] = cell
    return queue, head, count + 1


@numba.njit(cache=True)
def _point_down(filled: Grid, way: Ways) -> None:
    """Point every cell to the neighbour with the most drop per metre of way, if any."""
    rows, cols = filled.shape
    for row in range(1, rows - 1):
        above, here, below = filled[row - 1], filled[row], filled[row + 1]
        for col in range(cols - 2):
            height = here[col + 1]
            best, steepest = _NOWHERE, 0.0
            # In the order of _ROW_STEP and _COL_STEP.
            best, steepest = _steeper(0, height - here[col + 2], best, steepest)
            best, steepest = _steeper(1, height - below[col + 1], best, steepest)
            best, steepest = _steeper(2, height - here[col], best, steepest)
            best, steepest = _steeper(3, height - above[col + 1], best, steepest)
            best, steepest = _steeper(
                4, (height - below[col + 2]) * _PER_DIAGONAL, best, steepest
            )
            best, steepest = _steeper(
                5, (height - below[col]) * _PER_DIAGONAL, best, steepest
            )
            best, steepest = _steeper(
                6, (height - above[col]) * _PER_DIAGONAL, best, steepest
            )
            best, steepest = _steeper(
                7, (height - above[col + 2]) * _PER_DIAGONAL, best, steepest
            )
            way[row, col + 1] = best


@numba.njit(cache=True)
def _steeper(way: int, drop: float, best: int, steepest: float) -> tuple[int, float]:
    return (way, drop) if drop > steepest else (best, steepest)


@numba.njit(cache=True)
def _point_over_level_ground(filled: Grid, way: Ways) -> None:
    """Point cells without a lower neighbour along the fewest steps to one with a way."""
    rows, cols = filled.shape
    queue = np.empty(1024, np.int64)
    head = count = 0
    for row in range(1, rows - 1):
        for col in range(1, cols - 1):
            if way[row, col] == _NOWHERE:
                way[row, col] = _first_way(filled, way, row, col)
                if way[row, col] != _NOWHERE:
                    queue, head, count = _push(queue, head, count, row * cols + col)
    flat, height = way.reshape(-1), filled.reshape(-1)
    steps = _ROW_STEP * cols + _COL_STEP
    for n in range(count):
        flat[queue[n]] %= _FIRST
    while count > 0:
        cell = queue[head]
        head = (head + 1) & (queue.size - 1)
        count -= 1
        for k in range(8):
            to = cell - steps[k]
            if flat[to] == _NOWHERE and height[to] == height[cell]:
                flat[to] = k
                queue, head, count = _push(queue, head, count, to)


@numba.njit(cache=True)
def _first_way(filled: Grid, way: Ways, row: int, col: int) -> np.uint8:
    """Way of a cell without a lower neighbour, as far as it can be told at once.

    Off the grid beside a wall, else to a neighbour as high that has a lower one. Marked
    by `_FIRST`: others must not yet take it for a cell that had its way before.
    """
    first = _NOWHERE
    for k in range(8):
        to_row, to_col = row + _ROW_STEP[k], col + _COL_STEP[k]
        if filled[to_row, to_col] == np.inf:
            return np.uint8(_FIRST + _LEAVES)
        is_level = filled[to_row, to_col] == filled[row, col]
        if is_level and first == _NOWHERE and way[to_row, to_col] < _LEAVES:
            first = np.uint8(_FIRST + k)
    return first


@numba.njit(cache=True)
def _gathered(way: Ways) -> Grid:
    """Count the cells that drain through each cell, itself included."""
    rows, cols = way.shape
    givers = np.zeros(way.shape, np.uint8)
    for row in range(1, rows - 1):
        above, here, below, out = way[row - 1], way[row], way[row + 1], givers[row]
        for col in range(cols - 2):
            count = np.uint8(here[col] == 0) + np.uint8(here[col + 2] == 2)
            count += np.uint8(above[col] == 4) + np.uint8(above[col + 1] == 1)
            count += np.uint8(above[col + 2] == 5) + np.uint8(below[col] == 7)
            count += np.uint8(below[col + 1] == 3) + np.uint8(below[col + 2] == 6)
            out[col + 1] = count
    through = np.ones(way.size)
    ways, waiting = way.reshape(-1), givers.reshape(-1)
    steps = _ROW_STEP * cols + _COL_STEP
    for start in range(cols + 1, way.size - cols - 1):
        cell = start
        # Follow the water down as long as this was the last giver to be heard.
        while waiting[cell] == 0:
            waiting[cell] = _HEARD
            if ways[cell] >= _LEAVES:
                break
            below = cell + steps[ways[cell]]
            through[below] += through[cell]
            waiting[below] -= 1
            cell = below
    return through.reshape(way.shape)


@numba.njit(cache=True)
def _follow(way: Ways, answer: Ways) -> None:
    """Give every cell of unknown answer that of the first cell below it that has one."""
    cols = way.shape[1]
    ways, answers = way.reshape(-1), answer.reshape(-1)
    steps = _ROW_STEP * cols + _COL_STEP
    for start in range(cols + 1, way.size - cols - 1):
        cell = start
        while answers[cell] == _UNKNOWN and ways[cell] < _LEAVES:
            cell += steps[ways[cell]]
        found = np.uint8(answers[cell] == 1)
        cell = start
        while answers[cell] == _UNKNOWN:
            answers[cell] = found
            if ways[cell] < _LEAVES:
                cell += steps[ways[cell]]
