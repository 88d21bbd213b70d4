"""Compiled loops of `drainage`: how far water stands, and where it runs."""

from math import sqrt

import numba
import numpy as np
import numpy.typing as npt

from layers._grid import Grid

Ways = npt.NDArray[np.uint8]

ROW_STEP = np.array([0, 1, 0, -1, 1, 1, -1, -1])
COL_STEP = np.array([1, 0, -1, 0, 1, -1, -1, 1])
_PER_DIAGONAL = sqrt(0.5)
# Ways of water: a number of these steps, or
LEAVES, NOWHERE = np.uint8(8), np.uint8(9)
_FIRST = np.uint8(16)
_HEARD = np.uint8(255)
UNKNOWN = np.uint8(2)
_FAR = np.int32(2**31 - 1)
# While a pair of scans changes more than one cell in this number, another pair is cheaper
# than a queue.
_SCANS_PAY_FROM = 20
# Length of contour that a cell gives across to its neighbour, per side of a cell, over
# the length of the way there: half a side over one, half a diagonal's share over √2.
_ACROSS_PER_WAY = np.array([0.5, 0.5, 0.5, 0.5, 0.25, 0.25, 0.25, 0.25])


@numba.njit(cache=True, nogil=True)
def open_outlets(ground: Grid, surface: Grid) -> None:
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


@numba.njit(cache=True, nogil=True)
def lower_to_spill(ground: Grid, surface: Grid) -> None:
    """Lower `surface` in place as far as the ground and its neighbours let it."""
    changed = surface.size
    while changed > surface.size // _SCANS_PAY_FROM:
        changed = _scan(ground, surface)
        # Upside down and back to front, the same scan runs the other way.
        changed += _scan(ground[::-1, ::-1], surface[::-1, ::-1])
    _lower_by_queue(ground, surface)


@numba.njit(cache=True, nogil=True)
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


@numba.njit(cache=True, nogil=True)
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
    steps = ROW_STEP * cols + COL_STEP
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


@numba.njit(cache=True, nogil=True)
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


@numba.njit(cache=True, nogil=True)
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


@numba.njit(cache=True, nogil=True)
def point_down(filled: Grid, way: Ways) -> None:
    """Point every cell to the neighbour with the most drop per metre of way, if any."""
    rows, cols = filled.shape
    for row in range(1, rows - 1):
        above, here, below = filled[row - 1], filled[row], filled[row + 1]
        for col in range(cols - 2):
            height = here[col + 1]
            best, steepest = NOWHERE, 0.0
            # In the order of ROW_STEP and COL_STEP.
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


@numba.njit(cache=True, nogil=True)
def _steeper(way: int, drop: float, best: int, steepest: float) -> tuple[int, float]:
    return (way, drop) if drop > steepest else (best, steepest)


@numba.njit(cache=True, nogil=True)
def point_over_level_ground(filled: Grid, way: Ways) -> None:
    """Point cells without a lower neighbour along the fewest steps to one with a way."""
    rows, cols = filled.shape
    queue = np.empty(1024, np.int64)
    head = count = 0
    for row in range(1, rows - 1):
        for col in range(1, cols - 1):
            if way[row, col] == NOWHERE:
                way[row, col] = _first_way(filled, way, row, col)
                if way[row, col] != NOWHERE:
                    queue, head, count = _push(queue, head, count, row * cols + col)
    flat, height = way.reshape(-1), filled.reshape(-1)
    steps = ROW_STEP * cols + COL_STEP
    for n in range(count):
        flat[queue[n]] %= _FIRST
    while count > 0:
        cell = queue[head]
        head = (head + 1) & (queue.size - 1)
        count -= 1
        for k in range(8):
            to = cell - steps[k]
            if flat[to] == NOWHERE and height[to] == height[cell]:
                flat[to] = k
                queue, head, count = _push(queue, head, count, to)


@numba.njit(cache=True, nogil=True)
def _first_way(filled: Grid, way: Ways, row: int, col: int) -> np.uint8:
    """Way of a cell without a lower neighbour, as far as it is known at once.

    Off the grid beside a wall, else to a neighbour as high that has a lower one. Marked
    by `_FIRST`: others must not yet take it for a cell that had its way before.
    """
    first = NOWHERE
    for k in range(8):
        to_row, to_col = row + ROW_STEP[k], col + COL_STEP[k]
        if filled[to_row, to_col] == np.inf:
            return np.uint8(_FIRST + LEAVES)
        is_level = filled[to_row, to_col] == filled[row, col]
        if is_level and first == NOWHERE and way[to_row, to_col] < LEAVES:
            first = np.uint8(_FIRST + k)
    return first


@numba.njit(cache=True, nogil=True)
def gathered(way: Ways) -> Grid:
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
    steps = ROW_STEP * cols + COL_STEP
    for start in range(cols + 1, way.size - cols - 1):
        cell = start
        # Follow the water down as long as this was the last giver to be heard.
        while waiting[cell] == 0:
            waiting[cell] = _HEARD
            if ways[cell] >= LEAVES:
                break
            below = cell + steps[ways[cell]]
            through[below] += through[cell]
            waiting[below] -= 1
            cell = below
    return through.reshape(way.shape)


@numba.njit(cache=True, nogil=True)
def follow(way: Ways, answer: Ways) -> None:
    """Give every cell of unknown answer that of the first cell below it that has one."""
    cols = way.shape[1]
    ways, answers = way.reshape(-1), answer.reshape(-1)
    steps = ROW_STEP * cols + COL_STEP
    for start in range(cols + 1, way.size - cols - 1):
        cell = start
        while answers[cell] == UNKNOWN and ways[cell] < LEAVES:
            cell += steps[ways[cell]]
        found = np.uint8(answers[cell] == 1)
        cell = start
        while answers[cell] == UNKNOWN:
            answers[cell] = found
            if ways[cell] < LEAVES:
                cell += steps[ways[cell]]


@numba.njit(cache=True, nogil=True)
def spread(filled: Grid, rain: Grid) -> tuple[Grid, Grid]:
    """Sum the rain that runs through each cell when water spreads as it runs.

    A cell shares its water among all lower neighbours by the drop to each and the
    contour across; without a lower one, evenly among those on the shortest ways over
    level ground to a cell that has one.

    Returns
    -------
    through
        Rain of all cells that drain through each, its own included.
    fall_m
        Drop per metre of way times contour across, summed over the lower neighbours.
    """
    steps = ROW_STEP * filled.shape[1] + COL_STEP
    height = filled.reshape(-1)
    shares, fall_m = _shares(height, _steps_over_level(height, steps), steps)
    through = _poured(shares, rain.reshape(-1), steps)
    return through.reshape(filled.shape), fall_m.reshape(filled.shape)


@numba.njit(cache=True, nogil=True)
def _steps_over_level(
    height: Grid, steps: npt.NDArray[np.int64]
) -> npt.NDArray[np.int32]:
    """Fewest steps over ground as high to a cell with a lower neighbour or an outlet."""
    away = np.full(height.size, _FAR, np.int32)
    ready = np.empty(height.size, np.int64)
    ended = 0
    for cell in np.flatnonzero(height < np.inf):
        for k in range(8):
            beside = height[cell + steps[k]]
            if beside < height[cell] or beside == np.inf:
                away[cell] = 0
        if away[cell] == 0:
            ready[ended] = cell
            ended += 1
    begun = 0
    while begun < ended:
        cell = ready[begun]
        begun += 1
        for k in range(8):
            to = cell + steps[k]
            if height[to] == height[cell] and away[to] == _FAR:
                away[to] = away[cell] + 1
                ready[ended] = to
                ended += 1
    return away


@numba.njit(cache=True, nogil=True)
def _shares(
    height: Grid, away: npt.NDArray[np.int32], steps: npt.NDArray[np.int64]
) -> tuple[Grid, Grid]:
    """Part of its water that each cell hands to each neighbour, and the fall."""
    shares = np.zeros((height.size, 8))
    fall_m = np.zeros(height.size)
    for cell in np.flatnonzero(height < np.inf):
        for k in range(8):
            drop_m = max(0.0, height[cell] - height[cell + steps[k]])
            shares[cell, k] = drop_m * _ACROSS_PER_WAY[k]
        fall_m[cell] = shares[cell].sum()
        if fall_m[cell] == 0 and away[cell] > 0:
            for k in range(8):
                to = cell + steps[k]
                nearer = height[to] == height[cell] and away[to] < away[cell]
                shares[cell, k] = 1.0 if nearer else 0.0
        total = shares[cell].sum()
        if total > 0:
            shares[cell] /= total
    return shares, fall_m


@numba.njit(cache=True, nogil=True)
def _poured(shares: Grid, rain: Grid, steps: npt.NDArray[np.int64]) -> Grid:
    """What runs through each cell of what rains on all, givers first."""
    waiting = np.zeros(len(shares), np.uint8)
    for cell, k in zip(*np.nonzero(shares)):  # noqa: B905 - not known to the compiler
        waiting[cell + steps[k]] += 1
    through = rain.copy()
    ready = np.empty(len(shares), np.int64)
    begun, ended = 0, 0
    for cell in np.flatnonzero(waiting == 0):
        ready[ended] = cell
        ended += 1
    while begun < ended:
        cell = ready[begun]
        begun += 1
        for k in np.flatnonzero(shares[cell]):
            to = cell + steps[k]
            through[to] += shares[cell, k] * through[cell]
            waiting[to] -= 1
            if waiting[to] == 0:
                ready[ended] = to
                ended += 1
    return through
