"""The float grid that every layer takes and gives, and what must hold of it.

Arrays are (rows, cols) with row 0 in the north and column 0 in the west, on square
cells. Missing cells are NaN; what touches a missing cell is NaN unless a function says
otherwise.
"""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import numba
import numpy as np
import numpy.typing as npt

Grid = npt.NDArray[np.float64]
Cube = npt.NDArray[np.float32]  # (sectors or months, rows, cols): large, so single
_APART = 1040  # floats: no multiple of a page or of what caches repeat by


def check_grid(values: npt.ArrayLike, name: str) -> Grid:
    """Return `values` as a two-dimensional float64 grid.

    Raises
    ------
    ValueError
        When it is not two-dimensional or has no cell.
    """
    grid = np.asarray(values, dtype=np.float64)
    if grid.ndim != 2 or grid.size == 0:
        raise ValueError(
            f"{name} must be a grid of rows and columns, got shape {grid.shape}"
        )
    return grid


def check_same_shape(**grids: npt.NDArray[np.float64]) -> None:
    """Raise ValueError unless all named grids have one shape."""
    shapes = {name: grid.shape[-2:] for name, grid in grids.items()}
    if len(set(shapes.values())) > 1:
        raise ValueError(f"grids must have one shape, got {shapes}")


def check_cell_size(cell_size_m: float) -> None:
    """Raise ValueError unless the side of a cell is a positive number of metres."""
    if not (np.isfinite(cell_size_m) and cell_size_m > 0):
        raise ValueError(f"cell_size_m must be positive, got {cell_size_m}")


def block_means(grid: Grid, side: int) -> Grid:
    """Mean of the present cells of each block of `side` × `side` cells.

    Blocks are counted from the north-west corner; the last ones may be cut. NaN where
    all cells of a block are missing.

    Examples
    --------
    >>> block_means(np.array([[1.0, 3.0, np.nan]]), 2).tolist()
    [[2.0, nan]]
    """
    rows, cols = (-(-size // side) for size in grid.shape)
    padded = np.full((rows * side, cols * side), np.nan)
    padded[: grid.shape[0], : grid.shape[1]] = grid
    blocks = padded.reshape(rows, side, cols, side)
    present = (~np.isnan(blocks)).sum(axis=(1, 3))
    total = np.nansum(blocks, axis=(1, 3))
    return np.where(present > 0, total / np.maximum(present, 1), np.nan)


def in_row_blocks(
    work: Callable[[int, int], None], block_cells: int, rows: int, cols: int
) -> None:
    """Do the work for all rows, each call from a first row to before a last.

    On all threads where the grid holds more than one block: on less, they cost more
    than they bring. The work must let go of the interpreter.
    """
    size = max(1, block_cells // cols)
    if rows <= size:
        work(0, rows)
        return
    firsts = range(0, rows, size)
    with ThreadPoolExecutor(numba.get_num_threads()) as pool:
        list(pool.map(lambda first: work(first, min(first + size, rows)), firsts))


def empty_planes(*shape: int) -> npt.NDArray[np.float32]:
    """Room for (..., rows, cols) single floats, the planes an odd way apart in memory.

    Planes that are a power of two apart fall on the same places of caches and banks;
    work that touches all planes of one cell at a time is then up to three times slower.
    """
    *planes, rows, cols = shape
    room = np.empty((*planes, rows * cols + _APART), np.float32)
    return room[..., : rows * cols].reshape(shape)
