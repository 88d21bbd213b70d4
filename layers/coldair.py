"""Cold air on clear calm nights: where it lies, and how many degrees that is worth.

The order of places is better known than the degrees: those rest on rates measured in
other valleys until thermometers have hung on the spot.
"""

import numba
import numpy as np
import numpy.typing as npt
from scipy import ndimage

from layers._grid import Grid, check_cell_size, check_grid, check_same_shape

Mask = npt.NDArray[np.bool_]
Cells = npt.NDArray[np.float64]  # any shape

# Warming with height above the basin floor, low, central, high [°C per 100 m]. Central:
# Hočevar & Martsolf 1971, Agric. Meteorol. 8:371-383; high: Young 1921, Mon. Wea. Rev.
HEIGHT_RATES_C_100M = (2.0, 6.2, 22.7)
# Cooling with depth in the cold layer [°C per m]: the same valleys per metre.
DEPTH_RATES_C_M = (0.03, 0.06, 0.23)
# Further than this nobody should believe it before it was measured on the spot.
COLDEST_C, WARMEST_C = -4.0, 1.5
HOLLOW_COUNTS_TO_M = 10.0
HEIGHT_COUNTS_TO_M = 50.0
# Each m/s of wind at 2 m takes this off an offset (after the rise of a valley's minimum
# with wind, Y = 2 X + 0.4, read in the abstract of a Korean study).
WIND_TAKES_C_PER_M_S = 2.0
# Flatter ground than this, in metres or in errors of its elevation, tells nothing.
RELIEF_FROM_M, RELIEF_FROM_ERRORS = 3.0, 3.0

COLD, NO_SIGNAL, NOT_COLD = 1.0, 0.0, -1.0


def stopgap_offset_c(zeta_m: Grid, hollow_depth_m: Grid, reference: Mask) -> Cells:
    """Offset from relative height and depth of hollows, without letting the air flow.

    Per rate, f is the rate times the relative height (limited to ±50 m), and in a
    hollow the lesser of that rate times the unlimited relative height and of minus the
    rate of depth times the depth (limited to 10 m). The offset is f of the cell less
    the median of f over the reference.

    Parameters
    ----------
    zeta_m
        (rows, cols) height above the median of the ground around.
    hollow_depth_m
        Depth under the spill, 0 outside hollows, same shape. Hollows shallower than the
        elevation's error should come as 0: they are noise, and would put every cell
        that has one at or below the middle of its surroundings.
    reference
        Cells whose median stands for offset 0: the weather station's cell, or the plots.

    Returns
    -------
    offset
        (3, rows, cols) [°C], low, central, high, for a clear calm night. Low is the
        coldest and high the warmest of the answers of three pairs of rates, central
        that of the central pair, so low <= central <= high everywhere; limited to -4
        and +1.5. NaN where height or depth is missing.

    Raises
    ------
    ValueError
        When shapes differ or the reference holds no cell with a value.

    Examples
    --------
    >>> zeta, hollow = np.array([[0.0, -10, 10]]), np.zeros((1, 3))
    >>> low, central, high = stopgap_offset_c(zeta, hollow, zeta == 0)
    >>> low.tolist(), central.tolist(), high.tolist()
    ([[0.0, -2.27, 0.2]], [[0.0, -0.62, 0.62]], [[0.0, -0.2, 1.5]])
    """
    zeta = check_grid(zeta_m, "zeta_m")
    hollow = check_grid(hollow_depth_m, "hollow_depth_m")
    check_same_shape(zeta_m=zeta, hollow_depth_m=hollow)
    answers = []
    rates = zip(HEIGHT_RATES_C_100M, DEPTH_RATES_C_M, strict=True)
    for height_rate, depth_rate in rates:
        open_c = np.clip(zeta, -HEIGHT_COUNTS_TO_M, HEIGHT_COUNTS_TO_M)
        open_c *= height_rate / 100
        hollow_c = np.minimum(
            zeta * height_rate / 100,
            -depth_rate * np.minimum(hollow, HOLLOW_COUNTS_TO_M),
        )
        f_c = np.where(hollow > 0, hollow_c, open_c)
        f_c[np.isnan(hollow)] = np.nan
        answers.append(f_c - reference_median(f_c, reference))
    return _range_c(answers)


def depth_offset_c(cold_air_m: Grid, reference_m: float) -> Cells:
    """Offset from the depth of the cold layer: deeper than the reference is colder.

    Parameters
    ----------
    cold_air_m
        (rows, cols) depth of cold air; NaN stays NaN.
    reference_m
        Depth at the reference (see `reference_median`).

    Returns
    -------
    offset
        (3, rows, cols) [°C], low, central, high, as in `stopgap_offset_c`.

    Raises
    ------
    ValueError
        When the reference is not a finite depth.

    Examples
    --------
    >>> depth_offset_c(np.array([[2.0, 12.0]]), 2.0)[:, 0, 1].tolist()
    [-2.3, -0.6, -0.3]
    """
    depth = check_grid(cold_air_m, "cold_air_m")
    if not np.isfinite(reference_m):
        raise ValueError(f"reference_m must be a depth, got {reference_m}")
    return _range_c([-rate * (depth - reference_m) for rate in DEPTH_RATES_C_M])


def reference_median(values: Grid, reference: Mask) -> float:
    """Median over the cells of the reference, missing ones left out.

    Raises
    ------
    ValueError
        When shapes differ or the reference holds no cell with a value.

    Examples
    --------
    >>> reference_median(np.array([[1.0, 3.0, np.nan]]), np.array([[True, True, True]]))
    2.0
    """
    if reference.shape != values.shape:
        raise ValueError(
            f"grids must have one shape, got {values.shape} and {reference.shape}"
        )
    chosen = values[reference.astype(bool)]
    chosen = chosen[~np.isnan(chosen)]
    if chosen.size == 0:
        raise ValueError("the reference holds no cell with a value")
    return float(np.median(chosen))


def _range_c(answers: list[Grid]) -> Cells:
    """Low, central and high of three answers, the second of them being the central."""
    stack = np.stack([np.min(answers, axis=0), answers[1], np.max(answers, axis=0)])
    return np.asarray(np.clip(stack, COLDEST_C, WARMEST_C))


def wind_reduced_c(offset_c: Cells, wind_m_s: npt.ArrayLike) -> Cells:
    """Offset that is left when wind stirs the air: nearer to 0, never past it.

    Parameters
    ----------
    offset_c
        Any shape; NaN stays NaN.
    wind_m_s
        At 2 m, 0 or more; a number, or an array that fits `offset_c`. On a clear calm
        night without a record of wind, give 0.

    Raises
    ------
    ValueError
        When a wind is negative or missing.

    Examples
    --------
    >>> wind_reduced_c(np.array([-3.0, -1.0, 1.5]), 0.5).tolist()
    [-2.0, 0.0, 0.5]
    """
    wind = np.asarray(wind_m_s, dtype=np.float64)
    if not (wind >= 0).all():
        raise ValueError(f"wind_m_s must be 0 or more, got {wind.min()}")
    left = np.maximum(0.0, np.abs(offset_c) - WIND_TAKES_C_PER_M_S * wind)
    # Adding 0.0 turns the -0.0 of a vanished negative offset into 0.0.
    return np.copysign(left, offset_c) + 0.0


def lowness_rank(elevation_m: Grid, cell_size_m: float, radius_m: float) -> Grid:
    """Share of the ground in a square window that lies lower than the cell.

    Parameters
    ----------
    elevation_m
        (rows, cols); missing cells are left out of every window and stay missing.
    cell_size_m
        Side of a cell.
    radius_m
        Half the side of the window: half the way from ridge to ridge. On a farm tens
        to hundreds of metres; try several. Cut off at the border of the grid.

    Returns
    -------
    rank
        0 (a pit) to 1 (a peak); about 0.5 on a plane; NaN where nothing else is near.
        Where the radius is over 16 cells the window is filled with means of square
        blocks of cells, which changes a rank by about a block's share of the window.

    Raises
    ------
    ValueError
        When the cell size is not positive or the radius is under one cell.

    Notes
    -----
    Step 3 of Lundquist, Pepin & Rochford 2008, J. Geophys. Res. 113:D22107.
    """
    ground = check_grid(elevation_m, "elevation_m")
    check_cell_size(cell_size_m)
    if not radius_m >= cell_size_m:
        raise ValueError(f"radius_m must be one cell or more, got {radius_m}")
    side = max(1, int(np.ceil(radius_m / cell_size_m / 16)))
    blocks = _block_means(ground, side)
    reach = round(radius_m / cell_size_m / side)
    return np.asarray(_rank_among(ground, blocks, side, reach))


def _block_means(ground: Grid, side: int) -> Grid:
    """Mean of the present cells of each square block; NaN where all are missing."""
    rows, cols = (-(-size // side) for size in ground.shape)
    padded = np.full((rows * side, cols * side), np.nan)
    padded[: ground.shape[0], : ground.shape[1]] = ground
    blocks = padded.reshape(rows, side, cols, side)
    present = (~np.isnan(blocks)).sum(axis=(1, 3))
    total = np.nansum(blocks, axis=(1, 3))
    return np.where(present > 0, total / np.maximum(present, 1), np.nan)


@numba.njit(cache=True)
def _rank_among(ground: Grid, blocks: Grid, side: int, reach: int) -> Grid:
    rows, cols = ground.shape
    rank = np.full((rows, cols), np.nan)
    for row in range(rows):
        top, bottom = max(0, row // side - reach), row // side + reach + 1
        for col in range(cols):
            left, right = max(0, col // side - reach), col // side + reach + 1
            lower = present = 0
            for line in blocks[top:bottom]:
                for height in line[left:right]:
                    lower += height < ground[row, col]
                    present += height == height  # noqa: PLR0124 (false for NaN)
            # The cell's own block is not its neighbour.
            if present > 1 and not np.isnan(ground[row, col]):
                own = blocks[row // side, col // side] < ground[row, col]
                rank[row, col] = (lower - own) / (present - 1)
    return rank


def curvature_over(elevation_m: Grid, cell_size_m: float, radius_m: float) -> Grid:
    """Hollow (negative) or crest (positive) shape of the ground over a radius.

    Parameters
    ----------
    elevation_m
        (rows, cols).
    cell_size_m
        Side of a cell.
    radius_m
        Way to the eight points compared with, to the nearest cell.

    Returns
    -------
    curvature
        [m/m], NaN where the cell or one of the eight points is missing or off the grid.

    Raises
    ------
    ValueError
        When the cell size is not positive or the radius is under one cell.

    Notes
    -----
    Step 4 of Lundquist, Pepin & Rochford 2008. The floor of a V-shaped valley with
    sides of slope S reads -0.30178 tan S, a bowl z = c r² reads -0.60355 c r.
    """
    ground = check_grid(elevation_m, "elevation_m")
    check_cell_size(cell_size_m)
    if not radius_m >= cell_size_m:
        raise ValueError(f"radius_m must be one cell or more, got {radius_m}")
    reach = round(radius_m / cell_size_m)
    way_m = reach * cell_size_m
    rows, cols = ground.shape
    around = np.pad(ground, reach, constant_values=np.nan)

    def shifted(down: int, right: int) -> Grid:
        top, left = reach * (1 + down), reach * (1 + right)
        return around[top : top + rows, left : left + cols]

    cross = shifted(-1, 0) + shifted(1, 0) + shifted(0, -1) + shifted(0, 1)
    corners = shifted(-1, -1) + shifted(-1, 1) + shifted(1, -1) + shifted(1, 1)
    straight = (2 * ground - cross / 2) / (2 * way_m)
    diagonal = (2 * ground - corners / 2) / (2 * np.sqrt(2) * way_m)
    return np.asarray((straight + diagonal) / 4)


def cold_pool_class(slope_deg: Grid, rank: Grid, curvature: Grid) -> Grid:
    """Say whether a cell's shape makes it collect cold air, shed it, or tells nothing.

    Parameters
    ----------
    slope_deg
        (rows, cols) angle above level.
    rank, curvature
        From `lowness_rank` and `curvature_over`, same shape, one radius.

    Returns
    -------
    class
        1 collects cold air, 0 no signal, -1 does not; NaN where any input is missing.

    Raises
    ------
    ValueError
        When shapes differ.

    Notes
    -----
    Step 5 of Lundquist, Pepin & Rochford 2008 with the constants of two independent
    re-implementations. On flat ground the rank is noise: read the class only where
    `tells_something` says so.

    Examples
    --------
    >>> slope = np.array([[15.0, 15.0, 31.0]])
    >>> rank = np.array([[0.24, 0.26, 0.0]])
    >>> cold_pool_class(slope, rank, np.full((1, 3), -0.01)).tolist()
    [[1.0, 0.0, -1.0]]
    """
    check_same_shape(slope_deg=slope_deg, rank=rank, curvature=curvature)
    kind = np.where(rank < 0.5 - slope_deg / 60, COLD, NO_SIGNAL)
    kind[(slope_deg > 30) | (curvature > 0)] = NOT_COLD
    kind[np.isnan(slope_deg) | np.isnan(rank) | np.isnan(curvature)] = np.nan
    return kind


def tells_something(
    elevation_m: Grid,
    hollow_depth_m: Grid,
    cell_size_m: float,
    radius_m: float,
    elevation_error_m: float,
) -> Mask:
    """Tell where relief or a hollow is large enough for cold air to take sides.

    Parameters
    ----------
    elevation_m
        (rows, cols).
    hollow_depth_m
        Depth under the spill, same shape; one no deeper than the elevation's error
        counts as none.
    cell_size_m
        Side of a cell.
    radius_m
        Half the side of the square in which highest and lowest ground are compared.
    elevation_error_m
        Standard error of the elevation.

    Returns
    -------
    tells
        False where the relief is under 3 m or three errors and there is no hollow, and
        where the elevation is missing.

    Raises
    ------
    ValueError
        When shapes differ, the cell size is not positive or the error negative.
    """
    ground = check_grid(elevation_m, "elevation_m")
    check_same_shape(elevation_m=ground, hollow_depth_m=hollow_depth_m)
    check_cell_size(cell_size_m)
    if not elevation_error_m >= 0:
        raise ValueError(
            f"elevation_error_m must be 0 or more, got {elevation_error_m}"
        )
    missing = np.isnan(ground)
    window = 2 * max(1, round(radius_m / cell_size_m)) + 1
    highest = ndimage.maximum_filter(np.where(missing, -np.inf, ground), window)
    lowest = ndimage.minimum_filter(np.where(missing, np.inf, ground), window)
    enough_m = max(RELIEF_FROM_M, RELIEF_FROM_ERRORS * elevation_error_m)
    has_relief = (highest - lowest >= enough_m) & ~missing
    in_hollow = np.asarray(hollow_depth_m) > elevation_error_m
    return np.asarray(has_relief | in_hollow, dtype=np.bool_)
