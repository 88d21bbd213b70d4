"""The kernels behind `layers.horizon`: a sweep along parallel lines.

Rows here are steps along the *major* axis of a direction (the axis it is closest to),
columns the *minor* one: directions near north and south sweep the grid itself, those
near east and west its transpose. A direction advances by one row and `shear` columns.

The skyline splits in two. The ground less than `near_steps` rows away is looked at
from the cell itself. All farther ground comes from sheared lines that are shared by the
cells along them: each line keeps the upper convex hull of what lies at least
`near_steps` behind, and every cell asks the line that passes it by at most half a cell
for the tangent from its own true height. So the work per cell and direction does not
grow with the grid. (Hull per line: Dozier & Frew 1990, IEEE Transactions on Geoscience
and Remote Sensing 28(5):963-969; they start it at the cell itself, where half a cell of
shift spoils the angle, hence the delay.)

A `View` is the heights of what can stand in the way; the heights of the observers, a
window of that grid; and the window's first row and column. A `Way` is the shear,
`near_steps`, by how much the earth falls away per squared step, and the number of the
first row, from which it follows where lines run between cells.

No height in here is NaN: what is missing is `MISSING`, far below every ground.
"""

import math

import numba
import numpy as np
import numpy.typing as npt

Single = npt.NDArray[np.float32]
Table = npt.NDArray[np.int64]
Float = npt.NDArray[np.float64]
View = tuple[Single, Single, tuple[int, int]]
Way = tuple[float, int, float, int]

MISSING = np.float32(-1e30)  # stays far below ground under any weight of 1e-6 or more
_PRESENT = np.float32(-1e20)
_SNAP = 1e-6  # [cells] a line this close to a cell's centre runs through it
_STEEP = np.float32(1e30)
_THINNINGS = 4  # more find little more
_LANES = 64  # lines swept together
_TILE = 8  # rows and columns of what is turned over at a time


@numba.njit(cache=True, nogil=True, error_model="numpy")
def atan(tangent):  # type: ignore[no-untyped-def]  # compiled for float32 and float64
    """Angle [radians] of a tangent >= 0 to 3e-9, in a form that compilers vectorise."""
    steep = tangent > 1.0
    t = 1.0 / max(tangent, 1.0) if steep else tangent
    half = t > 0.41421356237309503
    u = (t - 1.0) / (t + 1.0) if half else t
    v = u * u
    series = 1.0 + v * (
        -1 / 3
        + v
        * (
            1 / 5
            + v
            * (
                -1 / 7
                + v * (1 / 9 + v * (-1 / 11 + v * (1 / 13 + v * (-1 / 15 + v / 17))))
            )
        )
    )
    angle = u * series + (0.7853981633974483 if half else 0.0)
    return 1.5707963267948966 - angle if steep else angle


@numba.njit(cache=True, nogil=True)
def _aside(shear: float, rows: int) -> int:
    """Whole columns that a line has gone aside after a number of rows."""
    return math.floor(abs(shear) * rows + 0.5)


@numba.njit(cache=True, nogil=True)
def _stations(shear: float, steps: int, start: int) -> tuple[Table, Float]:
    """Where a line crosses a grid line, in order, from a row with this number on.

    In row 0 it runs through the middle of a cell; here through the first cell of the
    first row, or past it by half a cell at most.

    Returns
    -------
    cells
        (stations, 4) row and column of the two cells it passes between (or twice the
        same cell, when through its middle).
    places
        (stations, 2) share of the way from the first to the second cell; how many rows
        on, up to `steps`.
    """
    cells = np.zeros((2 * steps + 1, 4), np.int64)
    places = np.zeros((2 * steps + 1, 2))
    side = 1 if shear > 0.0 else -1
    before = _aside(shear, start)
    known = 0
    for step in range(steps + 1):
        aside = abs(shear) * (start + step) - before
        whole = math.floor(aside + _SNAP)
        share = aside - whole
        beyond = whole + 1
        if share < _SNAP:
            share, beyond = 0.0, whole
        cells[known] = (step, side * whole, step, side * beyond)
        places[known] = (share, float(step))
        known += 1
        # Before the next row it may cross one line between columns.
        following = abs(shear) * (start + step + 1) - before
        if step < steps and following > whole + 1 + _SNAP:
            place = (before + whole + 1) / abs(shear) - start
            cells[known] = (step, side * (whole + 1), step + 1, side * (whole + 1))
            places[known] = (place - step, place)
            known += 1
    return cells[:known], places[:known]


@numba.njit(cache=True, nogil=True)
def _overlap(first: int, second: int, wide: int, columns: int) -> tuple[int, int]:
    """Which of `wide` neighbours lie on the grid with both of their columns.

    The first of them has the columns `first` and `second`.
    """
    low: int = min(max(0, -min(first, second)), wide)
    return low, max(low, min(wide, columns - max(first, second)))


@numba.njit(cache=True, nogil=True, error_model="numpy", fastmath=True)
def _sample_lines(
    ground: Single,
    number: int,
    stations: tuple[Table, Float],
    drop: Single,
    lines: Single,
) -> tuple[int, int]:
    """Heights at all stations of `_LANES` lines; returns which stations are on the grid.

    Line i runs through column i of row 0. `drop` is taken off station by station.
    """
    cells, places = stations
    first, last = len(cells), 0
    for station in range(len(cells)):
        row, column, row2, column2 = cells[station]
        column, column2 = column + number, column2 + number
        low, high = _overlap(column, column2, _LANES, ground.shape[1])
        if low == high:
            continue
        first, last = min(first, station), station + 1
        if high - low < _LANES:
            lines[:, station] = MISSING
        share = np.float32(places[station, 0])
        rest = np.float32(1.0) - share
        here = ground[row, column + low : column + high]
        beyond = ground[row2, column2 + low : column2 + high]
        part = lines[low:high, station]
        for lane in range(part.size):
            part[lane] = here[lane] * rest + beyond[lane] * share - drop[station]
    return first, last


@numba.njit(cache=True, nogil=True, error_model="numpy", fastmath=True)
def _thin_out(
    heights: Single, places: Single, reach: int, height: Single, place: Single
) -> int:
    """Leave out the points of a line that no observer `reach` or more away can need.

    From everywhere outside the chord between two points, a point below it is hidden
    behind one of them. Where both lie within `reach`, such an observer is outside, and
    looks at both of them too. `height` and `place` receive what is left; returns how
    many that is.
    """
    left = heights.size
    x0 = x1 = z0 = z1 = np.float32(0.0)
    for thinning in range(_THINNINGS):
        again = thinning > 0
        from_place, from_height = (place, height) if again else (places, heights)
        kept = 0
        for following in range(left):
            x2, z2 = from_place[following], from_height[following]
            if following > 0:
                place[kept], height[kept] = x1, z1
                needed = (
                    (following == 1)
                    | ((z1 - z0) * (x2 - x1) > (z2 - z1) * (x1 - x0))
                    | (x2 - x1 > reach)
                    | (x1 - x0 > reach)
                )
                kept += 1 if needed else 0
            x0, z0, x1, z1 = x1, z1, x2, z2
        if left:
            place[kept], height[kept] = x1, z1
            left = kept + 1
    return left


@numba.njit(cache=True, nogil=True, error_model="numpy", fastmath=True)
def _look(
    points: tuple[Single, Single],
    eyes: Single,
    turn: int,
    delay: int,
    rows: tuple[int, int],
    hull: Single,
    rise: Single,
) -> None:
    """Steepest rise per step from each observer to what lies `delay` or more behind.

    `points` are heights and their rising places [rows], `eyes` one height per row.
    Behind are falling rows if `turn` is 1, rising ones if it is -1. The rows from the
    first of `rows` to before the second receive a `rise`. `hull` is room for four
    numbers per point, and for two points more.
    """
    height, place = points
    first = 0 if turn > 0 else place.size - 1
    first_row = rows[0] if turn > 0 else rows[1] - 1
    ahead = np.float32(turn)
    # Corners, and the line to each from the one before: height at place 0, and rise.
    at, top, base, slope = hull[0], hull[1], hull[2], hull[3]
    # Below all corners lies one past which none looks; beyond the last, a line that
    # none reaches. So no loop asks whether it has come to an end.
    at[0], top[0], base[0], slope[0] = np.float32(-1e6), MISSING, _STEEP, 0.0
    base[1], slope[1] = MISSING, 0.0
    one = np.uint64(1)  # an index without a sign needs no look at whether it is below 0
    last = seen = np.uint64(0)
    pushed = 0
    for step in range(rows[1] - rows[0]):
        row = first_row + turn * step
        here = ahead * np.float32(row)
        behind = here - np.float32(delay)
        while pushed < place.size and ahead * place[first + turn * pushed] <= behind:
            x, z = ahead * place[first + turn * pushed], height[first + turn * pushed]
            pushed += 1
            if z < _PRESENT:
                continue
            while z >= base[last] + slope[last] * x:
                last -= one
            rising = (z - top[last]) / (x - at[last])
            last += one
            at[last], top[last] = x, z
            base[last], slope[last] = z - rising * x, rising
            base[last + one], slope[last + one] = MISSING, 0.0
            seen = min(seen, last)
        # The tangent point seldom moves far from one row to the next.
        eye = eyes[row]
        while eye > base[seen] + slope[seen] * here:
            seen -= one
        while eye <= base[seen + one] + slope[seen + one] * here:
            seen += one
        rise[row] = (top[seen] - eye) / (here - at[seen])


@numba.njit(cache=True, nogil=True)
def _lane_buffer(length: int) -> Single:
    """Room for `_LANES` rows whose starts fall into different sets of a cache."""
    return np.zeros((_LANES, (length + 31) // 32 * 32 + 16), np.float32)


@numba.njit(cache=True, nogil=True, error_model="numpy", fastmath=True)
def _copy_less(source: Single, less: float, target: Single) -> None:
    """Copy a row of numbers, less a constant."""
    constant = np.float32(less)
    for item in range(source.size):
        target[item] = source[item] - constant


@numba.njit(cache=True, nogil=True, error_model="numpy", fastmath=True)
def far_tangents(view: View, way: Way, behind: Single, ahead: Single) -> None:
    """Steepest rise per step to ground `near_steps` rows or more away, both ways.

    Parameters
    ----------
    view, way
        See the top of the module.
    behind, ahead
        Receive the tangents towards falling and rising rows, of the observers' shape;
        far below 0 where nothing lies there.
    """
    ground, observer, corner = view
    shear, near_steps, fall, start = way
    rows = ground.shape[0]
    tall, wide = observer.shape
    stations = _stations(shear, rows - 1, start)
    before = _aside(shear, start) if shear > 0.0 else -_aside(shear, start)
    count = len(stations[0])
    place = stations[1][:, 1].astype(np.float32)
    # With z - fall * x^2 for z, what the curve takes off is the observer's own matter.
    from_middle = np.arange(corner[0], corner[0] + tall) - 0.5 * (rows - 1)
    drop = (fall * (stations[1][:, 1] - 0.5 * (rows - 1)) ** 2).astype(np.float32)
    shift = np.empty(tall, np.int64)  # from a line's number to its column in the window
    for row in range(tall):
        aside = math.floor(shear * (start + corner[0] + row) + 0.5)
        shift[row] = aside - before - corner[1]
    lines = _lane_buffer(count)
    eyes = _lane_buffer(rows)
    back = _lane_buffer(rows)
    forth = _lane_buffer(rows)
    hull = np.empty((4, count + 2), np.float32)
    kept = np.empty((2, count), np.float32)
    for number in range(-shift.max(), wide - shift.min(), _LANES):
        start, stop = rows, corner[0]  # rows of the window that these lines meet
        for row in range(tall):
            here, column = corner[0] + row, number + shift[row]
            low, high = _overlap(column, column, _LANES, wide)
            if low < high:
                start, stop = min(start, here), max(stop, here + 1)
            fallen = fall * from_middle[row] ** 2
            standing = observer[row, column + low : column + high]
            _copy_less(standing, fallen, eyes[low:high, here])
        low, high = _sample_lines(ground, number, stations, drop, lines)
        for lane in range(_LANES):
            left = _thin_out(
                lines[lane, low:high], place[low:high], near_steps, kept[0], kept[1]
            )
            points, asking = (kept[0, :left], kept[1, :left]), (start, stop)
            _look(points, eyes[lane], 1, near_steps, asking, hull, back[lane])
            _look(points, eyes[lane], -1, near_steps, asking, hull, forth[lane])
        for row in range(tall):
            here, column = corner[0] + row, number + shift[row]
            low, high = _overlap(column, column, _LANES, wide)
            part = slice(column + low, column + high)
            own = 2.0 * fall * from_middle[row]
            _copy_less(back[low:high, here], own, behind[row, part])
            _copy_less(forth[low:high, here], -own, ahead[row, part])


@numba.njit(cache=True, nogil=True, error_model="numpy", fastmath=True)
def _rise_past(
    here: Single,
    beyond: Single,
    eye: Single,
    dials: tuple[float, float, float],
    known: Single,
    now: Single,
) -> None:
    """Rise per step to a row of places between two cells, where steeper than `known`.

    `dials` are the share of the way to the second cell, the steps to the place and the
    fall on the way. In place, stores would become conditional, which some processors
    do slowly; so `now` receives the answer.
    """
    share = np.float32(dials[0])
    rest = np.float32(1.0) - share
    per_step = np.float32(1.0 / dials[1])
    lost = np.float32(dials[2])
    for cell in range(eye.size):
        height = here[cell] * rest + beyond[cell] * share
        now[cell] = max(known[cell], (height - eye[cell]) * per_step - lost)


@numba.njit(cache=True, nogil=True, error_model="numpy", fastmath=True)
def _raise_row(
    ground: Single,
    eye: Single,
    at: tuple[int, int],
    stations: tuple[Table, Float],
    fall: float,
    spare: Single,
    tangent: Single,
) -> None:
    """Raise a row of tangents by what stands at the stations.

    `eye` and `tangent` are a row of cells whose first is `at`.
    """
    cells, places = stations
    known, now = spare[0], spare[1]
    known[:] = tangent
    for station in range(len(cells)):
        row, column, row2, column2 = cells[station]
        row, row2 = row + at[0], row2 + at[0]
        column, column2 = column + at[1], column2 + at[1]
        if min(row, row2) < 0 or max(row, row2) >= ground.shape[0]:
            break
        low, high = _overlap(column, column2, eye.size, ground.shape[1])
        now[:low] = known[:low]
        now[high:] = known[high:]
        _rise_past(
            ground[row, column + low : column + high],
            ground[row2, column2 + low : column2 + high],
            eye[low:high],
            (places[station, 0], places[station, 1], fall * places[station, 1]),
            known[low:high],
            now[low:high],
        )
        known, now = now, known
    tangent[:] = known


@numba.njit(cache=True, nogil=True, error_model="numpy", fastmath=True)
def _to_degrees(tangent: Single, step_m: float) -> None:
    """Turn rises per step into angles above level [degrees], in place."""
    for cell in range(tangent.size):
        rise = max(np.float64(tangent[cell]), 0.0) / step_m
        tangent[cell] = math.degrees(1.0) * atan(rise)


@numba.njit(cache=True, nogil=True, error_model="numpy", fastmath=True)
def raise_by_near(
    view: View, way: Way, step_m: float, behind: Single, ahead: Single
) -> None:
    """Turn far tangents per step into skyline angles [degrees], near ground included."""
    ground, observer, corner = view
    shear, near_steps, fall, _start = way
    cells, places = _stations(shear, near_steps, 0)
    cells, places = cells[1:-1], places[1:-1]  # neither own place nor row K
    spare = np.empty((2, observer.shape[1]), np.float32)
    for row in range(observer.shape[0]):
        at = (corner[0] + row, corner[1])
        for sign, answer in ((-1, behind), (1, ahead)):
            tangent = answer[row]
            stations = (sign * cells, places)
            _raise_row(ground, observer[row], at, stations, fall, spare, tangent)
            _to_degrees(tangent, step_m)


@numba.njit(cache=True, nogil=True)
def transpose(source: Single, target: Single) -> None:
    """Copy `source` turned over its diagonal, tile by tile, writing along rows."""
    rows, columns = source.shape
    for top in range(0, rows, _TILE):
        for start in range(0, columns, _TILE):
            for column in range(start, min(start + _TILE, columns)):
                part = target[column]
                for row in range(top, min(top + _TILE, rows)):
                    part[row] = source[row, column]


@numba.njit(cache=True, nogil=True, error_model="numpy")
def add_sky(
    horizon_deg: Single, east: Float, north: Float, azimuth: float, seen: Float
) -> None:
    """Add one sector's share of the sky over a tilted facet to `seen` (eq. 7b).

    With H the zenith angle of the horizon and h = 90° − H: sin²H = cos²h and
    H − sin H cos H = H − sin(2h)/2. NaN passes through.
    """
    toward_east, toward_north = math.sin(azimuth), math.cos(azimuth)
    for row in range(seen.shape[0]):
        for col in range(seen.shape[1]):
            p, q = east[row, col], north[row, col]
            uphill = p * toward_east + q * toward_north
            above = math.radians(horizon_deg[row, col])
            own = math.atan(uphill) if uphill > 0.0 else 0.0
            if own > above:  # noqa: PLR1730  # max() would lose NaN
                above = own
            cosine = math.cos(above)
            lean = 0.5 * math.pi - above - math.sin(above) * cosine
            upright = 1.0 / math.sqrt(1.0 + p * p + q * q)
            seen[row, col] += upright * (cosine * cosine - uphill * lean)
