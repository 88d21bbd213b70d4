"""The skyline around every cell, and how much of the sky it leaves."""

import math
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

import numba
import numpy as np
import numpy.typing as npt

from layers import _sweep
from layers._grid import Cube, Grid, check_cell_size, check_grid, check_same_shape

NEAR_STEPS = 11  # ground nearer than this is looked at from the cell itself
EARTH_RADIUS_M = 6_371_000.0
REFRACTION = 0.13  # share of the curvature that bent light makes up for
_SERIAL_CELLS = 100_000  # below this, threads cost more than they bring

Window = tuple[slice, slice]
Job = TypeVar("Job", int, slice)


def sector_azimuths_deg(sectors: int) -> npt.NDArray[np.float64]:
    """Middle of each sector [degrees], clockwise from grid north, the first at 0.

    Parameters
    ----------
    sectors
        Their number.

    Raises
    ------
    ValueError
        Unless `sectors` is even and positive: opposite directions are swept together.

    Examples
    --------
    >>> sector_azimuths_deg(4)
    array([  0.,  90., 180., 270.])
    """
    if sectors < 2 or sectors % 2:
        raise ValueError(f"sectors must be even and positive, got {sectors}")
    return np.arange(sectors, dtype=np.float64) * (360.0 / sectors)


def angles_deg(
    ground_m: Grid,
    surface_m: Grid,
    cell_size_m: float,
    sectors: int,
    window: Window,
    first: tuple[int, int] = (0, 0),
) -> Cube:
    """Elevation angle of the skyline above level, in every sector, for each cell.

    The observer stands on the ground at the middle of the cell; what can stand in the
    way is the surface, read bilinearly between the middles of its cells, over the whole
    grid. Beyond the grid nothing stands in the way.

    Parameters
    ----------
    ground_m
        Heights of the ground. An observer on a missing cell gets NaN.
    surface_m
        Heights of ground and solid things on it. Missing cells do not block, nor does
        the ground halfway to them.
    cell_size_m
        Side of a cell.
    sectors
        Number of directions, even: see `sector_azimuths_deg`.
    window
        Rows and columns to answer for; the skyline itself reaches over the whole grid.
    first
        Numbers of the first row and column, 0 or more, in a larger grid of which this
        is a part: parts are then looked over along the lines of the whole, and what
        they see alike is the same.

    Returns
    -------
    Cube
        (sectors, rows, cols of the window) [degrees], 0 to under 90.

    Raises
    ------
    ValueError
        When shapes differ, `sectors` is odd, the window holds no cell of the grid or a
        number is below 0.

    Notes
    -----
    The earth falls away from level by D²(1 − k)/(2R), k = 0.13 for refraction. It is
    taken off at every distance, not from 5 km on, where it first matters (1.7 m): one
    law without a step; nearer it is below 0.02°.

    Examples
    --------
    A wall 10 m high whose top is 20 m to the east:

    >>> ground = np.zeros((1, 4))
    >>> surface = np.array([[0.0, 0.0, 10.0, 0.0]])
    >>> angles_deg(ground, surface, 10.0, 4, (slice(0, 1), slice(0, 1)))[:, 0, 0]
    array([ 0.   , 26.565,  0.   ,  0.   ], dtype=float32)
    """
    ground = check_grid(ground_m, "ground_m")
    surface = check_grid(surface_m, "surface_m")
    check_same_shape(ground_m=ground, surface_m=surface)
    check_cell_size(cell_size_m)
    if min(first) < 0:
        raise ValueError(f"first must be 0 or more, got {first}")
    azimuths = np.radians(sector_azimuths_deg(sectors))
    rows, cols = _inside(window, ground.shape)
    seen = ground[rows, cols]
    level = _middle_height(surface)
    observer = np.where(np.isnan(seen), 0.0, seen - level).astype(np.float32)
    solid = np.where(np.isnan(surface), _sweep.MISSING, surface - level).astype(
        np.float32
    )
    upright = (solid, observer, (rows.start, cols.start))
    lying = (
        np.ascontiguousarray(solid.T),
        np.ascontiguousarray(observer.T),
        (cols.start, rows.start),
    )
    answer = np.empty((sectors, *observer.shape), np.float32)
    half = sectors // 2  # a sweep along its lines looks both ways

    def fill_pair(sector: int) -> None:
        east, south = math.sin(azimuths[sector]), -math.cos(azimuths[sector])
        here, opposite = answer[sector], answer[sector + half]
        # Lines advance by a row a step, so rows must run the way that is nearer to theirs:
        # for east and west those of the grid laid on its side.
        if abs(south) >= abs(east):
            northward, southward = (here, opposite) if south < 0 else (opposite, here)
            way = east / south, first[0]
            _sweep_pair(upright, way, cell_size_m, (northward, southward))
        else:
            westward, eastward = np.empty((2, *lying[1].shape), np.float32)
            way = south / east, first[1]
            _sweep_pair(lying, way, cell_size_m, (westward, eastward))
            _sweep.transpose(eastward, here)
            _sweep.transpose(westward, opposite)

    _for_each(fill_pair, range(half), parallel=surface.size > _SERIAL_CELLS)
    missing = np.isnan(seen)
    if missing.any():
        answer[:, missing] = np.nan
    return answer


def sky_view(horizon_deg: Cube) -> Grid:
    """Share of the sky that level ground sees, weighted by the cosine of incidence.

    The mean over the sectors of cos² of the skyline. This is the share of even sky
    light received; the share of the sky's solid angle (Zakšek, Oštir & Kokalj 2011,
    Remote Sensing 3:398-415) is another number under the same name: a ring of 30°
    leaves 0.75 here, 0.50 there.

    Parameters
    ----------
    horizon_deg
        (sectors, rows, cols) skyline above level [degrees], >= 0. Missing cells stay
        missing.

    Returns
    -------
    Grid
        (rows, cols), 0 to 1.

    Examples
    --------
    >>> float(sky_view(np.full((36, 1, 1), 30.0, np.float32))[0, 0])
    0.75
    """
    level = np.zeros(horizon_deg.shape[1:])
    return sky_view_tilted(horizon_deg, level, level)


def sky_view_tilted(horizon_deg: Cube, east: Grid, north: Grid) -> Grid:
    """Share of even sky light that ground of a given tilt receives under its skyline.

    The ground's own plane counts as a further horizon, so an open plane of slope S
    gives (1 + cos S) / 2.

    Parameters
    ----------
    horizon_deg
        (sectors, rows, cols) skyline above level [degrees], >= 0.
    east, north
        Gradient of the ground [m/m]. A cell missing in any of the three is missing.

    Returns
    -------
    Grid
        (rows, cols), 0 to 1.

    Raises
    ------
    ValueError
        When the shapes do not fit.

    Notes
    -----
    Dozier, J. & Frew, J. 1990, Rapid calculation of terrain parameters for radiation
    modeling from digital elevation data, IEEE Transactions on Geoscience and Remote
    Sensing 28(5):963-969, eq. 7b.

    Examples
    --------
    >>> open_sky = np.zeros((36, 1, 1), np.float32)
    >>> slope_30 = np.full((1, 1), np.tan(np.radians(30.0)))
    >>> float(sky_view_tilted(open_sky, slope_30, np.zeros((1, 1)))[0, 0])
    0.9330127
    """
    east, north = check_grid(east, "east"), check_grid(north, "north")
    if not horizon_deg.shape[1:] == east.shape == north.shape:
        shapes = (horizon_deg.shape, east.shape, north.shape)
        raise ValueError(f"skyline and gradient must have one shape, got {shapes}")
    azimuths = np.radians(sector_azimuths_deg(len(horizon_deg)))
    seen = np.zeros(horizon_deg.shape[1:])

    def add_rows(part: slice) -> None:
        for skyline, azimuth in zip(horizon_deg, azimuths, strict=True):
            _sweep.add_sky(skyline[part], east[part], north[part], azimuth, seen[part])

    _for_each(add_rows, _strips(seen.shape), parallel=seen.size > _SERIAL_CELLS)
    return seen / len(horizon_deg)


def _sweep_pair(
    view: _sweep.View,
    along: tuple[float, int],
    cell_size_m: float,
    answers: tuple[_sweep.Single, _sweep.Single],
) -> None:
    """Fill the skylines of two opposite directions, towards falling and rising rows.

    `along` is the shear and the number of the first row.
    """
    shear, start = along
    step_m = cell_size_m * math.hypot(1.0, shear)
    drop = step_m**2 * (1.0 - REFRACTION) / (2.0 * EARTH_RADIUS_M)
    way = (shear, NEAR_STEPS, drop, start)
    _sweep.far_tangents(view, way, *answers)
    _sweep.raise_by_near(view, way, step_m, *answers)


def _inside(window: Window, shape: tuple[int, ...]) -> Window:
    """Return the window with its ends spelt out."""
    rows, cols = (
        slice(*part.indices(size)) for part, size in zip(window, shape, strict=True)
    )
    if rows.stop <= rows.start or cols.stop <= cols.start:
        raise ValueError(f"window {window} holds no cell of a grid of {shape}")
    if rows.step != 1 or cols.step != 1:
        raise ValueError(f"window {window} must hold every row and column between")
    return rows, cols


def _middle_height(surface: Grid) -> float:
    """Height to count from, so that single precision serves any height above sea."""
    present = surface[np.isfinite(surface)]
    return float(0.5 * (present.min() + present.max())) if present.size else 0.0


def _strips(shape: tuple[int, ...]) -> list[slice]:
    """Cut a grid into strips of rows that stay in a processor's cache."""
    height = max(1, 8192 // shape[1])
    return [slice(top, top + height) for top in range(0, shape[0], height)]


def _for_each(
    work: Callable[[Job], None], jobs: Iterable[Job], *, parallel: bool
) -> None:
    """Do all jobs; the kernels let go of the interpreter, so threads share them."""
    if not parallel:
        for job in jobs:
            work(job)
        return
    with ThreadPoolExecutor(numba.config.NUMBA_NUM_THREADS) as pool:
        for _ in pool.map(work, jobs):
            pass  # asks for the outcome: a failed job raises here
