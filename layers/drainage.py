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

_ROW_STEP = np.array([0, 1, 0, -1, 1, 1, -1, -1])
_COL_STEP = np.array([1, 0, -1, 0, 1, -1, -1, 1])
_STEP_LENGTH = np.array([1.0, 1.0, 1.0, 1.0, sqrt(2), sqrt(2), sqrt(2), sqrt(2)])
_NONE = -2  # drains nowhere yet, or a missing cell
_OUTSIDE = -1  # leaves the grid


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
    Geosciences 62:117-127; how (two raster scans, then a queue) follows the hybrid
    greyscale reconstruction of Vincent 1993, IEEE Trans. Image Process. 2:176-201.

    Examples
    --------
    >>> cup = np.array([[5.0, 5, 5, 5], [5, 1, 2, 4], [5, 5, 5, 5]])
    >>> filled_m(cup)[1].tolist()
    [5.0, 4.0, 4.0, 4.0]
    """
    ground = check_grid(elevation_m, "elevation_m")
    walled = np.full((ground.shape[0] + 2, ground.shape[1] + 2), np.inf)
    walled[1:-1, 1:-1] = np.where(np.isnan(ground), np.inf, ground)
    surface = np.full(walled.shape, np.inf)
    outlet = np.zeros(walled.shape, dtype=np.bool_)
    outlet[1:-1, 1:-1] = _outlets(ground)
    surface[outlet] = walled[outlet]
    _lower_to_spill(walled, surface)
    filled = surface[1:-1, 1:-1].copy()
    filled[np.isnan(ground)] = np.nan
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
    filled = filled_m(elevation_m)
    receiver = _receivers(filled, _outlets(filled))
    catchment: Grid = _accumulate(receiver.ravel()).reshape(filled.shape)
    catchment *= cell_size_m**2
    catchment[np.isnan(filled)] = np.nan
    return catchment


def _outlets(ground: Grid) -> npt.NDArray[np.bool_]:
    """Cells that water leaves by: on the border or beside a missing cell."""
    missing = np.isnan(ground)
    outlet = np.ones(ground.shape, dtype=np.bool_)
    outlet[1:-1, 1:-1] = False
    if missing.any():
        outlet |= ndimage.binary_dilation(missing, structure=np.ones((3, 3)))
    return outlet & ~missing


@numba.njit(cache=True)
def _lower_to_spill(ground: Grid, surface: Grid) -> None:
    """Lower `surface` in place as far as the ground and its neighbours let it.

    Both grids carry a ring of infinite ground.
    """
    rows, cols = ground.shape
    for row in range(1, rows - 1):
        for col in range(1, cols - 1):
            lowest = min(
                surface[row - 1, col - 1],
                surface[row - 1, col],
                surface[row - 1, col + 1],
                surface[row, col - 1],
                surface[row, col],
            )
            surface[row, col] = max(lowest, ground[row, col])
    # A ring buffer of cells whose neighbours may still come down; it doubles if full.
    queue = np.empty(1024, np.int64)
    head = count = 0
    for row in range(rows - 2, 0, -1):
        for col in range(cols - 2, 0, -1):
            lowest = min(
                surface[row + 1, col + 1],
                surface[row + 1, col],
                surface[row + 1, col - 1],
                surface[row, col + 1],
                surface[row, col],
            )
            surface[row, col] = max(lowest, ground[row, col])
            if _holds_up_a_neighbour(ground, surface, row, col):
                queue, head, count = _push(queue, head, count, row * cols + col)
    while count > 0:
        row, col = queue[head] // cols, queue[head] % cols
        head = (head + 1) % queue.size
        count -= 1
        for k in range(8):
            to_row, to_col = row + _ROW_STEP[k], col + _COL_STEP[k]
            level = max(surface[row, col], ground[to_row, to_col])
            if surface[to_row, to_col] > level:
                surface[to_row, to_col] = level
                queue, head, count = _push(queue, head, count, to_row * cols + to_col)


@numba.njit(cache=True)
def _holds_up_a_neighbour(ground: Grid, surface: Grid, row: int, col: int) -> bool:
    """Tell whether a neighbour stands higher than this cell and its ground ask for."""
    for k in range(8):
        to_row, to_col = row + _ROW_STEP[k], col + _COL_STEP[k]
        if surface[to_row, to_col] > max(surface[row, col], ground[to_row, to_col]):
            return True
    return False


@numba.njit(cache=True)
def _push(
    queue: npt.NDArray[np.int64], head: int, count: int, cell: int
) -> tuple[npt.NDArray[np.int64], int, int]:
    if count == queue.size:
        longer = np.empty(2 * queue.size, np.int64)
        for k in range(count):
            longer[k] = queue[(head + k) % queue.size]
        queue, head = longer, 0
    queue[(head + count) % queue.size] = cell
    return queue, head, count + 1


@numba.njit(cache=True)
def _receivers(filled: Grid, outlet: npt.NDArray[np.bool_]) -> npt.NDArray[np.int64]:
    """Find the flat index of the cell that each cell drains to."""
    rows, cols = filled.shape
    receiver = np.full((rows, cols), _NONE)
    queue = np.empty(rows * cols, np.int64)
    tail = 0
    for row in range(rows):
        for col in range(cols):
            receiver[row, col] = _steepest(filled, row, col)
            if receiver[row, col] == _NONE and outlet[row, col]:
                receiver[row, col] = _OUTSIDE
            if receiver[row, col] != _NONE:
                queue[tail] = row * cols + col
                tail += 1
    head = 0
    while head < tail:  # level ground: outwards from the cells that know their way
        row, col = queue[head] // cols, queue[head] % cols
        for k in range(8):
            to_row, to_col = row + _ROW_STEP[k], col + _COL_STEP[k]
            inside = 0 <= to_row < rows and 0 <= to_col < cols
            if (
                inside
                and receiver[to_row, to_col] == _NONE
                and filled[to_row, to_col] == filled[row, col]
            ):
                receiver[to_row, to_col] = queue[head]
                queue[tail] = to_row * cols + to_col
                tail += 1
        head += 1
    return receiver


@numba.njit(cache=True)
def _steepest(filled: Grid, row: int, col: int) -> int:
    """Find the neighbour with the most drop per metre of way; none when all are level.

    A missing cell never drops and is never dropped to: its differences are NaN.
    """
    rows, cols = filled.shape
    receiver = _NONE
    steepest = 0.0
    for k in range(8):
        to_row, to_col = row + _ROW_STEP[k], col + _COL_STEP[k]
        if 0 <= to_row < rows and 0 <= to_col < cols:
            drop = (filled[row, col] - filled[to_row, to_col]) / _STEP_LENGTH[k]
            if drop > steepest:
                steepest = drop
                receiver = to_row * cols + to_col
    return receiver


@numba.njit(cache=True)
def _accumulate(receiver: npt.NDArray[np.int64]) -> npt.NDArray[np.float64]:
    """Count the cells that drain through each cell, itself included."""
    givers = np.zeros(receiver.size, np.int8)
    for cell in range(receiver.size):
        if receiver[cell] >= 0:
            givers[receiver[cell]] += 1
    through = np.ones(receiver.size)
    for start in range(receiver.size):
        cell = start
        # Follow the water down as long as this was the last giver to be heard.
        while givers[cell] == 0:
            givers[cell] = -1
            below = receiver[cell]
            if below < 0:
                break
            through[below] += through[cell]
            givers[below] -= 1
            cell = below
    return through
