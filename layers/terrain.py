"""Gradient, slope and aspect of the ground, and how high a place stands in it."""

from typing import Literal

import numba
import numpy as np
from scipy import ndimage

from layers._grid import (
    Grid,
    block_means,
    check_cell_size,
    check_grid,
    check_same_shape,
)


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


def slope_deg(east: Grid, north: Grid) -> Grid:
    """Angle of the ground above level.

    Parameters
    ----------
    east, north
        Gradient [m/m]; NaN stays NaN.

    Examples
    --------
    >>> float(slope_deg(np.array([[0.1]]), np.array([[0.2]]))[0, 0])
    12.6044
    """
    check_same_shape(east=east, north=north)
    return np.degrees(np.arctan(np.hypot(east, north)))


def aspect_deg(east: Grid, north: Grid) -> Grid:
    """Downhill bearing, clockwise from grid north, 0 to under 360; NaN where level.

    Parameters
    ----------
    east, north
        Gradient [m/m]; NaN stays NaN.

    Examples
    --------
    >>> float(aspect_deg(np.array([[0.1]]), np.array([[0.2]]))[0, 0])
    206.565
    """
    check_same_shape(east=east, north=north)
    bearing = np.degrees(np.arctan2(-east, -north)) % 360.0
    bearing[bearing == 360.0] = 0.0
    bearing[(east == 0) & (north == 0)] = np.nan
    return bearing


def smoothed(elevation_m: Grid, cell_size_m: float, scale_m: float) -> Grid:
    """Ground without roughness finer than a stated scale.

    A Gaussian mean whose standard deviation is half the scale. Level and evenly sloping
    ground stays as it is, up to the edge of the grid.

    Parameters
    ----------
    elevation_m
        (rows, cols). Missing cells stay missing and carry no weight, so next to one the
        mean leans towards the side that is known.
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
    medians = _disc_medians(
        block_means(ground, side), radius_m / cell_size_m / side * (1 + 1e-9)
    )
    if side > 1:
        rows, cols = ((np.arange(size) + 0.5) / side - 0.5 for size in ground.shape)
        at = np.meshgrid(rows, cols, indexing="ij")
        medians = ndimage.map_coordinates(medians, at, order=1, mode="nearest")
    return np.asarray(ground - medians)


@numba.njit(cache=True)
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
