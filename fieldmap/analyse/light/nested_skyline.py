"""Skyline of a tile of a region: fine ground near by, coarser ground farther off."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from fieldmap.analyse.light.skyline import SECTORS
from fieldmap.model.raster import Bounds, Raster, Window, grown
from layers import horizon

Cube = npt.NDArray[np.float32]
Weights = npt.NDArray[np.float32]

# Ground within this number of cells of the finer level is left to it: a coarse cell that holds
# the edge of the finer ground is looked at by both.
OVERLAP_CELLS = 1.0
# Easting and northing of every place are nearer to 0 than this, a multiple of all cells.
FARTHEST_M = 2.0**26


def skyline_deg(levels: Sequence[Raster], window: Window) -> Raster:
    """Elevation angle of the skyline in 36 sectors, for cells of the finest ground.

    Parameters
    ----------
    levels
        Heights, the finest first; each coarser one reaches farther. Ground within a
        level is looked at there and in no coarser one.
    window
        Rows and columns of the finest ground to answer for.

    Returns
    -------
    raster
        (sectors, rows, cols) [degrees], as `horizon.angles_deg`; NaN where the ground
        is missing.

    Notes
    -----
    An observer is put on the coarse cells for what coarse ground hides, and read
    between them in straight lines: heights then differ from the fine ones by what bends
    within a coarse cell, a share of a thousandth of the way to where coarse ground
    begins.
    """
    fine = levels[0]
    shown = fine.clip(window)
    hidden_deg = horizon.angles_deg(
        fine.values, fine.values, fine.cell_size_m, SECTORS, window, _first(fine)
    )
    if len(levels) > 1:
        beyond = _beyond(levels[1:], fine.bounds, shown.bounds)
        _raise_to(hidden_deg, beyond, shown)
    return shown.with_values(hidden_deg)


def _beyond(levels: Sequence[Raster], near: Bounds, shown: Bounds) -> Raster:
    """What ground beyond bounds hides, on cells of the first level around others."""
    wide = levels[0]
    rows, cols = wide.window(_left_to_finer(near, wide))
    beyond = wide.values.copy()
    beyond[rows, cols] = np.nan
    seen = wide.window(grown(shown, 2 * wide.cell_size_m))
    place = wide.clip(seen)
    hidden_deg = horizon.angles_deg(
        wide.values, beyond, wide.cell_size_m, SECTORS, seen, _first(wide)
    )
    np.nan_to_num(hidden_deg, copy=False)  # where no ground is known, none hides
    if len(levels) > 1:
        _raise_to(hidden_deg, _beyond(levels[1:], wide.bounds, place.bounds), place)
    return place.with_values(hidden_deg)


def _left_to_finer(near: Bounds, wide: Raster) -> Bounds:
    """Bounds of finer ground, less the overlap on sides where the wider goes on."""
    size = wide.cell_size_m
    outward = np.array([-1.0, -1.0, 1.0, 1.0])  # west, south, east, north
    goes_on = outward * (np.array(wide.bounds) - np.array(near)) > size
    west, south, east, north = near - outward * OVERLAP_CELLS * size * goes_on
    return west, south, east, north


def _first(ground: Raster) -> tuple[int, int]:
    """Row and column of its first cell in a grid of the whole earth of its CRS."""
    size = ground.cell_size_m
    corner = (FARTHEST_M - ground.transform.f, ground.transform.c + FARTHEST_M)
    return round(corner[0] / size), round(corner[1] / size)


def _raise_to(hidden_deg: Cube, coarse: Raster, place: Raster) -> None:
    """Raise angles on the cells of a place to those of coarser cells, in place."""
    east, north = place.middle_of(*(np.arange(size) for size in place.shape))
    down = _shares(
        (coarse.transform.f - north) / coarse.cell_size_m - 0.5, coarse.shape[0]
    )
    right = _shares(
        (east - coarse.transform.c) / coarse.cell_size_m - 0.5, coarse.shape[1]
    )
    for sector, angles in enumerate(coarse.values):
        between = down @ angles @ right.T
        np.maximum(hidden_deg[sector], between, out=hidden_deg[sector])


def _shares(at: npt.NDArray[np.float64], count: int) -> Weights:
    """Shares of the cells before and after each place on a line, (places, cells)."""
    at = np.clip(at, 0.0, count - 1.0)
    before = np.minimum(at.astype(np.intp), max(0, count - 2))
    shares = np.zeros((len(at), count), np.float32)
    place = np.arange(len(at))
    shares[place, before] = 1.0 - (at - before)
    shares[place, np.minimum(before + 1, count - 1)] += at - before
    return shares
