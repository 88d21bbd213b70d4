"""How much of the open wind is left in the lee of hedges, trees and walls.

The wind follows the ground: only height above the foot of a barrier counts, and what
hills and hollows do to the wind is left out, for want of a rule with a source that holds
on any farm. The windward side counts as open: Brandle & Finch write that the wind slackens
2 to 5 heights ahead of a windbreak and give no share.
"""

from itertools import groupby
from math import cos, radians, tan

import numba
import numpy as np
import numpy.typing as npt

from layers._grid import Grid, check_cell_size, check_grid, check_same_shape

Columns = npt.NDArray[np.int64]

# Share of the open wind at distances in heights of the barrier, for windbreaks of one
# row of leafy trees, one row of conifers, several rows of conifers, and a solid wall;
# the density of each is the middle of the range in the table. Brandle & Finch, How
# Windbreaks Work, University of Nebraska Extension EC1763; the table from memory (medium
# confidence), the reach of 30 heights as printed. Nearer than 5 heights the table says
# nothing: there the wind is taken as at 5 (common practice, no source).
_HEIGHTS = np.array([5.0, 10.0, 15.0, 20.0, 30.0])
_DENSITY = np.array([0.0, 0.30, 0.50, 0.70, 1.0])
_SHARE = np.array(
    [
        [1.00, 1.00, 1.00, 1.00, 1.00],  # no barrier, no shelter
        [0.50, 0.65, 0.80, 0.85, 1.00],
        [0.30, 0.50, 0.60, 0.75, 0.95],
        [0.25, 0.35, 0.65, 0.85, 0.95],
        [0.25, 0.70, 0.90, 0.95, 1.00],
    ]
)
REACH_HEIGHTS = 30.0
# Wind turns to and fro within minutes; a lee tapers from its ends by about this angle
# (common practice, no source). This number of lines leaves no stripes behind a lone tree.
_SWING_DEG = 15.0
_LINES = 13
# Distances are counted in cells; 60 steps of 0.1 m must still be 6 m.
_ROUNDING = 1e-9


def share_of_open_wind(
    barrier_height_m: Grid, density: Grid, cell_size_m: float, from_deg: float
) -> Grid:
    """Share of the open wind's speed that is left at every cell.

    A barrier shelters up to 30 of its heights downwind, less with distance. Where
    several do, the one that leaves least wind counts, and it alone. The mean is taken
    over lines up to 15° to either side of the wind, so that the lee of a short barrier
    tapers from its ends and a gap lets the wind in. Distances run along the wind.

    Parameters
    ----------
    barrier_height_m
        (rows, cols) height above the ground, 0 where nothing stands. A missing cell
        stays missing and gives no shelter.
    density
        Same shape: the share of a barrier's face that stops the view through the whole
        of it (1 - porosity); 1 is a wall. Counts only where something stands.
    cell_size_m
        Side of a cell.
    from_deg
        Where the wind comes from, clockwise from grid north.

    Returns
    -------
    share
        From 0.25 to 1, same shape; 1 is open wind. Under a barrier it is that of its
        own near lee. Beyond the grid nothing stands: take it with a margin upwind.

    Raises
    ------
    ValueError
        When the grids are not two-dimensional or differ in shape, the cell size is not
        positive, a height is negative or infinite, a density is not from 0 to 1, or the
        bearing is no number.

    Notes
    -----
    Brandle & Finch, EC1763, between their distances and densities linearly. Theirs are
    long windbreaks at right angles to the wind on level ground.

    Examples
    --------
    A wall of 2 m, wind from the west, cells of 10 m: 5, 10, 15 and 20 heights behind.

    >>> height = np.zeros((9, 5))
    >>> height[:, 0] = 2.0
    >>> share = share_of_open_wind(height, np.ones((9, 5)), 10.0, 270.0)
    >>> share[4].round(3).tolist()
    [0.25, 0.25, 0.7, 0.9, 0.95]
    """
    check_cell_size(cell_size_m)
    heights = check_grid(barrier_height_m, "barrier_height_m")
    dense = check_grid(density, "density")
    check_same_shape(barrier_height_m=heights, density=dense)
    _check_values(heights, dense, from_deg)
    total = np.zeros(heights.shape)
    asides_deg = np.linspace(-_SWING_DEG, _SWING_DEG, _LINES)
    for turns, alike_deg in groupby(asides_deg, lambda deg: _turns(from_deg + deg)):
        # Copied once for all lines that look alike: a copy costs what a line does.
        high, thick, turned = (
            np.ascontiguousarray(np.rot90(grid, turns))
            for grid in (heights, dense, total)
        )
        left = np.empty(turned.shape)
        for aside_deg in alike_deg:
            slant = radians((from_deg + aside_deg) % 360.0 - 90.0 * turns - 270.0)
            step_m = cell_size_m * cos(radians(aside_deg)) / cos(slant)
            _along_lines(high, thick, step_m, tan(slant), left)
            turned += left
        total = np.rot90(turned, -turns)
    share: Grid = np.ascontiguousarray(total) / _LINES
    share[np.isnan(heights)] = np.nan
    return share


def _turns(line_deg: float) -> int:
    """Quarter turns of the grid until wind comes within 45° of west, along its rows."""
    return int((line_deg % 360.0 - 225.0) // 90.0)


def _check_values(heights: Grid, dense: Grid, from_deg: float) -> None:
    if not np.isfinite(from_deg):
        raise ValueError(f"from_deg must be a number of degrees, got {from_deg}")
    wrong = (heights < 0) | np.isinf(heights)
    if wrong.any():
        raise ValueError(f"barrier_height_m must be 0 or more, got {heights[wrong][0]}")
    wrong = (heights > 0) & ~((dense >= 0) & (dense <= 1))
    if wrong.any():
        raise ValueError(
            f"density must be from 0 to 1 where something stands, got {dense[wrong][0]}"
        )


@numba.njit(cache=True, nogil=True)
def _along_lines(
    heights: Grid, dense: Grid, step_m: float, slope: float, left: Grid
) -> None:
    """Fill in the share of the wind that is left along one set of parallel lines.

    Each line goes a column at a time from the west, `slope` rows down and `step_m`
    along the wind; together the lines meet every cell once.
    """
    rows, cols = heights.shape
    left[:] = 1.0
    shift = np.rint(np.arange(cols) * slope).astype(np.int64)
    # Barriers upwind that may still shelter: where, height, shares of the wind.
    places = np.empty((2 * cols, 2))
    shares = np.empty((2 * cols, _HEIGHTS.size))
    # Most of the ground is open: before the first barrier of a line, and past the reach
    # of the last one, there is nothing to work out.
    first, last = _ends_of_barriers(heights, shift)
    for line in range(-shift.max(), rows - shift.min()):
        count, number = 0, line + shift.max()
        for col in range(first[number], cols):
            if count == 0 and col > last[number]:
                break
            row = line + shift[col]
            if row < 0 or row >= rows:
                continue
            before = line + shift[max(col - 1, 0)]
            if before != row and 0 <= before < rows:
                # Between two cells that touch by a corner no wind slips through.
                one, other = heights[before, col], heights[row, col - 1]
                height = min(one, other)
                if height > 0.0:
                    density = min(dense[before, col], dense[row, col - 1])
                    barrier = (col - 0.5, height, density)
                    count = _with_barrier(barrier, places, shares, count)
            if heights[row, col] > 0.0:
                barrier = (float(col), heights[row, col], dense[row, col])
                count = _with_barrier(barrier, places, shares, count)
            if count > 0:
                left[row, col], count = _least(col, step_m, places, shares, count)


@numba.njit(cache=True, nogil=True)
def _ends_of_barriers(heights: Grid, shift: Columns) -> tuple[Columns, Columns]:
    """First and last column of each line that may meet a barrier.

    A line meets the cells that it runs through and, where it steps to the next row, passes
    by the corner of one beside it.
    """
    rows, cols = heights.shape
    lines, most = rows - shift.min() + shift.max(), shift.max()
    first, last = np.full(lines, cols), np.full(lines, -1)
    for row in range(rows):
        for col in range(cols):
            if heights[row, col] > 0.0:
                through = row - shift[col] + most
                past = through + shift[col] - shift[max(col - 1, 0)]
                for number in (through, past):
                    if 0 <= number < lines:
                        first[number] = min(first[number], col)
                        last[number] = max(last[number], col)
    return first, last


@numba.njit(cache=True, nogil=True)
def _with_barrier(
    barrier: tuple[float, float, float],
    places: npt.NDArray[np.float64],
    shares: npt.NDArray[np.float64],
    count: int,
) -> int:
    """Put a barrier to those upwind, in place of any that it outdoes for good."""
    _, height, density = barrier
    own = shares[count]
    above = 1
    while _DENSITY[above] < density:
        above += 1
    part = (density - _DENSITY[above - 1]) / (_DENSITY[above] - _DENSITY[above - 1])
    for k in range(own.size):
        own[k] = _SHARE[above - 1, k] + part * (_SHARE[above, k] - _SHARE[above - 1, k])
    kept = 0
    for k in range(count):
        # The new one is nearer to all that lies downwind.
        if places[k, 1] > height or _leaves_more(own, shares[k]):
            places[kept] = places[k]
            shares[kept] = shares[k]
            kept += 1
    places[kept, 0], places[kept, 1] = barrier[0], height
    shares[kept] = own
    return kept + 1


@numba.njit(cache=True, nogil=True)
def _leaves_more(
    shares: npt.NDArray[np.float64], others: npt.NDArray[np.float64]
) -> bool:
    """Whether one barrier leaves more of the wind than another at some distance."""
    found = False
    for k in range(shares.size):
        found |= shares[k] > others[k]
    return found


@numba.njit(cache=True, nogil=True)
def _least(
    col: int,
    step_m: float,
    places: npt.NDArray[np.float64],
    shares: npt.NDArray[np.float64],
    count: int,
) -> tuple[float, int]:
    """Least share of the wind that a barrier upwind leaves; those out of reach go."""
    least = 1.0
    kept = 0
    for k in range(count):
        away = (col - places[k, 0]) * step_m / places[k, 1]
        if away > REACH_HEIGHTS + _ROUNDING:
            continue
        if kept < k:
            places[kept] = places[k]
            shares[kept] = shares[k]
        least = min(least, _share_at(away, shares[kept]))
        kept += 1
    return least, kept


@numba.njit(cache=True, nogil=True)
def _share_at(away_heights: float, shares: npt.NDArray[np.float64]) -> float:
    """Share between the distances of the table."""
    if away_heights <= _HEIGHTS[0]:
        return float(shares[0])
    after = 1
    while after < _HEIGHTS.size - 1 and _HEIGHTS[after] < away_heights:
        after += 1
    part = (away_heights - _HEIGHTS[after - 1]) / (
        _HEIGHTS[after] - _HEIGHTS[after - 1]
    )
    return float(
        shares[after - 1] + min(part, 1.0) * (shares[after] - shares[after - 1])
    )
