"""Gradient, slope and aspect of the ground, and how high a place stands in it."""

import math
from typing import Literal

import numba
import numpy as np
import numpy.typing as npt
from scipy import ndimage

from layers._grid import (
    Grid,
    block_means,
    check_cell_size,
    check_grid,
    in_row_blocks,
)

Row = npt.NDArray[np.float64]

_BLOCK_CELLS = 100_000  # worked on by one thread at a time


def gradient(elevation_m: Grid, cell_size_m: float) -> tuple[Grid, Grid]:
    """Rise of the ground per metre towards the east and towards the north.

    Horn's weighted differences over the 3 × 3 neighbours.

    Parameters
    ----------
    elevation_m
        (rows, cols), row 0 in the north. A cell next to a missing one, and the
        outermost ring, have no full window: NaN.
    cell_size_m
        Side of a cell.

    Returns
    -------
    east, north
        [m/m], same shape.

    Raises
    ------
    ValueError
        When the grid is not two-dimensional or the cell size not positive.

    Notes
    -----
    Horn, B.K.P. 1981, Hill shading and the reflectance map, Proc. IEEE 69(1):14-47.

    Examples
    --------
    >>> plane = np.add.outer(-0.2 * np.arange(3.0), 0.1 * np.arange(3.0))
    >>> east, north = gradient(plane, 1.0)
    >>> float(east[1, 1]), float(north[1, 1])
    (0.1, 0.2)
    """
    z = check_grid(elevation_m, "elevation_m")
    check_cell_size(cell_size_m)
    east = np.full(z.shape, np.nan)
    north = np.full(z.shape, np.nan)
    if min(z.shape) < 3:
        return east, north
    west_side, east_side = z[:, :-2], z[:, 2:]
    across = east_side - west_side
    east[1:-1, 1:-1] = (across[:-2] + 2 * across[1:-1] + across[2:]) / (8 * cell_size_m)
    up = z[:-2, :] - z[2:, :]
    north[1:-1, 1:-1] = (up[:, :-2] + 2 * up[:, 1:-1] + up[:, 2:]) / (8 * cell_size_m)
    missing = np.isnan(east) | np.isnan(north) | np.isnan(z)
    east[missing] = np.nan
    north[missing] = np.nan
    return east, north


def slope_and_aspect_deg(elevation_m: Grid, cell_size_m: float) -> tuple[Grid, Grid]:
    """Angle of the ground above level, and its downhill bearing, in one pass.

    Parameters
    ----------
    elevation_m, cell_size_m
        As for `gradient`; missing where it is.

    Returns
    -------
    slope, aspect
        [degrees], same shape; aspect clockwise from grid north, 0 to under 360, and
        NaN where level.

    Raises
    ------
    ValueError
        When the grid is not two-dimensional or the cell size not positive.

    Notes
    -----
    Horn's differences, as in `gradient`.

    Examples
    --------
    >>> plane = np.add.outer(-0.2 * np.arange(3.0), 0.1 * np.arange(3.0))
    >>> slope, aspect = slope_and_aspect_deg(plane, 1.0)
    >>> float(slope[1, 1]), float(aspect[1, 1])
    (12.6044, 206.565)
    """
    z = check_grid(elevation_m, "elevation_m")
    check_cell_size(cell_size_m)
    slope, aspect = np.empty(z.shape), np.empty(z.shape)
    for side in (slope, aspect):  # what has no full window
        side[[0, -1]] = np.nan
        side[:, [0, -1]] = np.nan
    if min(z.shape) >= 3:

        def fill(first: int, last: int) -> None:
            rows = (max(first, 1), min(last, len(z) - 1))
            _slopes_of_rows(z, cell_size_m, rows, slope, aspect)

        in_row_blocks(fill, _BLOCK_CELLS, *z.shape)
    return slope, aspect


@numba.njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def _slopes_of_rows(
    z: Grid, cell_size_m: float, rows: tuple[int, int], slope: Grid, aspect: Grid
) -> None:
    """Fill the rows from the first to before the last, but for their ends."""
    east, north = np.empty(z.shape[1] - 2), np.empty(z.shape[1] - 2)
    per_m = 1 / (8 * cell_size_m)
    for row in range(rows[0], rows[1]):
        _gradient_of_row(z[row - 1], z[row], z[row + 1], per_m, east, north)
        _slope_of_row(east, north, slope[row])
        _aspect_of_row(east, north, aspect[row])


# Plain loops over a row, without a branch: what compilers turn into vector instructions.
@numba.njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def _gradient_of_row(
    above: Row, here: Row, below: Row, per_m: float, east: Row, north: Row
) -> None:
    """Horn's differences along the middle one of three rows; missing ones make NaN."""
    for i in range(east.size):
        nw, ne, sw, se = above[i], above[i + 2], below[i], below[i + 2]
        nothing = here[i + 1] - here[i + 1]  # or NaN where the middle is missing
        across = (ne - nw) + (se - sw) + 2 * (here[i + 2] - here[i])
        up = (nw - sw) + (ne - se) + 2 * (above[i + 1] - below[i + 1])
        east[i] = across * per_m + nothing
        north[i] = up * per_m + nothing


@numba.njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def _arctan_deg(low: float, high: float) -> float:
    """Angle [degrees] of the tangent low / high, 0 <= low <= high, to 2e-7.

    A series, as the library's function is several times slower; NaN for 0 / 0.
    """
    # From 22.5° on, 45° less the angle of (high - low) / (high + low).
    over = low > 0.41421356237309503 * high
    top = low - high if over else low
    bottom = low + high if over else high
    u = top / bottom
    v = u * u
    series = 1 / 13 + v * (-1 / 15 + v / 17)
    series = 1 / 9 + v * (-1 / 11 + v * series)
    series = 1 / 5 + v * (-1 / 7 + v * series)
    series = 1.0 + v * (-1 / 3 + v * series)
    return math.degrees(1.0) * u * series + (45.0 if over else 0.0)


@numba.njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def _slope_of_row(east: Row, north: Row, slope: Row) -> None:
    """Angle above level."""
    for i in range(east.size):
        rise = math.sqrt(east[i] * east[i] + north[i] * north[i])
        over = rise > 1.0
        angle = _arctan_deg(1.0 if over else rise, rise if over else 1.0)
        slope[i + 1] = 90.0 - angle if over else angle


@numba.njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})
def _aspect_of_row(east: Row, north: Row, aspect: Row) -> None:
    """Downhill bearing: its angle from the north-south line, then the side it is on."""
    for i in range(east.size):
        e, n = abs(east[i]), abs(north[i])
        over = e > n
        bearing = _arctan_deg(n if over else e, e if over else n)
        bearing = 90.0 - bearing if over else bearing
        bearing = 180.0 - bearing if north[i] > 0.0 else bearing
        bearing = 360.0 - bearing if east[i] > 0.0 else bearing
        aspect[i + 1] = 0.0 if bearing == 360.0 else bearing


def smoothed(elevation_m: Grid, cell_size_m: float, scale_m: float) -> Grid:
    """Ground without roughness finer than a stated scale.

    A Gaussian mean whose standard deviation is half the scale. Level and evenly sloping
    ground stays as it is, up to the edge of the grid.

    Parameters
    ----------
    elevation_m
        (rows, cols). Missing cells stay missing and carry no weight, so next to one the
        mean leans towards the side that is known.
    cell_size_m
        Side of a square cell.
    scale_m
        0 leaves the ground as it is; so does a scale of no more than a cell.

    Raises
    ------
    ValueError
        When the scale is negative.

    Notes
    -----
    0.15 m of noise on 1 m cells is 3.7° of slope by Horn's differences: σ √12 / (8 L).

    Examples
    --------
    >>> plane = np.add.outer(0.2 * np.arange(9.0), 0.1 * np.arange(9.0))
    >>> bool(np.allclose(smoothed(plane, 1.0, 5.0), plane))
    True
    """
    z = check_grid(elevation_m, "elevation_m")
    check_cell_size(cell_size_m)
    if scale_m < 0:
        raise ValueError(f"scale_m must not be negative, got {scale_m}")
    if scale_m <= cell_size_m:
        return z.copy()
    sd_cells = scale_m / 2 / cell_size_m
    known = np.isfinite(z)
    # Mirrored about the edge's own height, a slope goes on as the same slope.
    # Beyond four standard deviations a Gaussian weighs under a thousandth of its middle.
    reach = [min(int(np.ceil(4 * sd_cells)), side - 1) for side in z.shape]
    margin = [(cells, cells) for cells in reach]
    # Where cells are missing the mirror of a height may not exist: a plain one serves.
    mirror: Literal["odd", "even"] = "odd" if known.all() else "even"
    filled = np.pad(
        np.where(known, z, 0.0), margin, mode="reflect", reflect_type=mirror
    )
    weight = np.pad(known.astype(float), margin, mode="reflect")
    inside = tuple(
        slice(cells, cells + side) for cells, side in zip(reach, z.shape, strict=True)
    )
    mean = ndimage.gaussian_filter(filled, sd_cells, radius=reach)[inside]
    share = ndimage.gaussian_filter(weight, sd_cells, radius=reach)[inside]
    return np.where(known, mean / np.where(known, share, 1.0), np.nan)


def height_above_median_m(
    elevation_m: Grid, cell_size_m: float, radius_m: float
) -> Grid:
    """Height of the ground above the median of the ground within a radius.

    Parameters
    ----------
    elevation_m
        (rows, cols). Missing cells are left out of every median and stay missing.
    cell_size_m
        Side of a cell.
    radius_m
        Of the disc around the cell. Where the border of the grid cuts the disc, the
        median is of the part that is there: take a margin of one radius around the
        ground that matters.

    Returns
    -------
    height
        [m], same shape; 0 on an even slope one radius inside the border. Where the
        radius is over 16 cells, the median is taken over means of square blocks of
        cells, so that 8 to 16 blocks make a radius, at the blocks' centres, and read
        between them in straight lines; an even slope stays exactly 0.

    Raises
    ------
    ValueError
        When the cell size is not positive or the radius is under one cell.

    Examples
    --------
    >>> hill = np.zeros((5, 5))
    >>> hill[2, 2] = 3.0
    >>> float(height_above_median_m(hill, 10.0, 20.0)[2, 2])
    3.0
    """
    ground = check_grid(elevation_m, "elevation_m")
    check_cell_size(cell_size_m)
    if not radius_m >= cell_size_m:
        raise ValueError(f"radius_m must be one cell or more, got {radius_m}")
    side = max(1, int(np.ceil(radius_m / cell_size_m / 16)))
    # A hair wider, so that a radius of whole cells holds the cells at its end.
    medians = _disc_medians(
        block_means(ground, side), radius_m / cell_size_m / side * (1 + 1e-9)
    )
    if side > 1:
        rows, cols = ((np.arange(size) + 0.5) / side - 0.5 for size in ground.shape)
        at = np.meshgrid(rows, cols, indexing="ij")
        medians = ndimage.map_coordinates(medians, at, order=1, mode="nearest")
    return np.asarray(ground - medians)


@numba.njit(cache=True, nogil=True)
def _disc_medians(ground: Grid, radius_cells: float) -> Grid:
    """Median of the present cells within a disc around every cell, missing or not."""
    rows, cols = ground.shape
    reach = int(radius_cells)
    medians = np.full((rows, cols), np.nan)
    within = np.empty((2 * reach + 1) ** 2)
    for row in range(rows):
        for col in range(cols):
            count = 0
            for down in range(max(-reach, -row), min(reach + 1, rows - row)):
                half = int(np.sqrt(radius_cells**2 - down**2))
                for at in range(max(0, col - half), min(cols, col + half + 1)):
                    if not np.isnan(ground[row + down, at]):
                        within[count] = ground[row + down, at]
                        count += 1
            if count > 0:
                medians[row, col] = np.median(within[:count])
    return medians
