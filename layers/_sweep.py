"""The kernels behind `layers.horizon`: a sweep along parallel lines, and a ray march.

Rows here are steps along the *major* axis of a direction (the axis it is closest to),
columns the *minor* one: directions near north and south sweep the grid itself, those
near east and west its transpose. A direction advances by one row and `shear` columns.

The skyline splits in two. The nearest `near_steps - 1` rows are looked at one by one
from the cell itself. All further ones come from sheared lines that are shared by the
cells along them: each line keeps the upper convex hull of what lies at least
`near_steps` behind, and every cell asks the line that passes it by at most half a cell
for the tangent from its own true height. So the work per cell and direction does not
grow with the grid. (Hull per line: Dozier & Frew 1990, IEEE Transactions on Geoscience
and Remote Sensing 28(5):963-969; they start it at the cell itself, where half a cell of
shift spoils the angle, hence the delay.)

A `View` is the heights of what can stand in the way; the heights of the observers, a
window of that grid; and the window's first row and column. A `Way` is the shear, `near_steps`, and by how much the earth
falls away per squared step.

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
Way = tuple[float, int, float]

MISSING = np.float32(-1e30)  # stays far below ground under any weight of 1e-6 or more
_PRESENT = np.float32(-1e20)
_SNAP = 1e-6  # [cells] a line this close to a cell's centre runs through it
_LANES = 16  # lines swept together: one cache line of heights per row
_TILE = 32


@numba.njit(cache=True, nogil=True, error_model="numpy")
def atan(tangent):  # type: ignore[no-untyped-def]  # compiled for float32 and float64
    """Angle [radians] of a tangent >= 0 to 2e-9, in a form that compilers vectorise."""
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
def _stations(shear: float, steps: int) -> tuple[Table, Float]:
    """Where the line from the middle of cell (0, 0) crosses a grid line, in order.

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
    known = 0
    for step in range(steps + 1):
        aside = abs(shear) * step
        whole = math.floor(aside + _SNAP)
        share = aside - whole
        beyond = whole + 1
        if share < _SNAP:
            share, beyond = 0.0, whole
        cells[known] = (step, side * whole, step, side * beyond)
        places[known] = (share, float(step))
        known += 1
        # Before the next row it may cross one line between columns.
        if step < steps and abs(shear) * (step + 1) > whole + 1 + _SNAP:
            place = (whole + 1) / abs(shear)
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
    cells: Table,
    places: Float,
    drop: Single,
    lines: Single,
) -> tuple[int, int]:
    """Heights at all stations of `_LANES` lines; returns which stations are on the grid.

    Line i runs through column i of row 0. `drop` is taken off station by station.
    """
    first, last = len(cells), 0
    for station in range(len(cells)):
        row, column, row2, column2 = cells[station]
        column, column2 = column + number, column2 + number
        low, high = _overlap(column, column2, _LANES, ground.shape[1])
        if low == high:
            continue
        first, last = min(first, station), station + 1
        if high - low < _LANES:
            lines[station] = MISSING
        share = np.float32(places[station, 0])
        rest = np.float32(1.0) - share
        here = ground[row, column + low : column + high]
        beyond = ground[row2, column2 + low : column2 + high]
        part = lines[station, low:high]
        for lane in range(part.size):
            part[lane] = here[lane] * rest + beyond[lane] * share - drop[station]
    return first, last


@numba.njit(cache=True, nogil=True, error_model="numpy", fastmath=True)
def _look_back(
    line: Single,
    place: Single,
    eyes: Single,
    delay: int,
    asked: tuple[int, int],
    hull: Single,
    tangent: Single,
) -> None:
    """Steepest rise per step from each observer to what lies `delay` or more behind.

    `line` holds heights at the rising `place` [rows], `eyes` one height per row. The
    rows from `asked[0]` to before `asked[1]` want an answer. `tangent` receives it and
    may be `eyes` itself; `hull` is room for three numbers per place.
    """
    step_of, height_of, rise_to = hull[0], hull[1], hull[2]  # rise from the one before
    size = 0
    seen = 0
    following = 0
    for here in range(asked[0], asked[1]):
        at = np.float32(here)
        while following < line.size and place[following] <= at - delay:
            x, z = place[following], line[following]
            following += 1
            if z < _PRESENT:
                continue
            while size > 1 and z >= height_of[size - 1] + rise_to[size - 1] * (
                x - step_of[size - 1]
            ):
                size -= 1
            if size > 0:
                rise_to[size] = (z - height_of[size - 1]) / (x - step_of[size - 1])
            step_of[size] = x
            height_of[size] = z
            size += 1
        if size == 0:
            tangent[here] = MISSING
            continue
        # The tangent point seldom moves far from one cell to the next: start there.
        seen = min(seen, size - 1)
        eye = eyes[here]
        while seen > 0 and eye > height_of[seen] + rise_to[seen] * (at - step_of[seen]):
            seen -= 1
        while seen < size - 1 and eye <= height_of[seen + 1] + rise_to[seen + 1] * (
            at - step_of[seen + 1]
        ):
            seen += 1
        tangent[here] = (height_of[seen] - eye) / (at - step_of[seen])


@numba.njit(cache=True, nogil=True)
def _lanes(first: int, columns: int) -> tuple[int, int]:
    """Lanes that fall on the columns when lane 0 falls on column `first`."""
    return _overlap(first, first, _LANES, columns)


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
    shear, near_steps, fall = way
    rows = ground.shape[0]
    tall, wide = observer.shape
    cells, places = _stations(shear, rows - 1)
    place = places[:, 1].astype(np.float32)
    mirrored = (rows - 1 - places[:, 1]).astype(np.float32)
    # With z - fall * x^2 for z, what the curve takes off is the observer's own matter.
    middle = 0.5 * (rows - 1)
    drop = (fall * (places[:, 1] - middle) ** 2).astype(np.float32)
    shift = np.empty(tall, np.int64)  # from a line's number to its column in the window
    for row in range(tall):
        shift[row] = math.floor(shear * (corner[0] + row) + 0.5) - corner[1]
    lines = np.empty((len(cells), _LANES), np.float32)
    hull = np.empty((3, len(cells)), np.float32)
    back = np.empty((rows, _LANES), np.float32)
    forth = np.zeros((rows, _LANES), np.float32)
    for number in range(-shift.max(), wide - shift.min(), _LANES):
        start, stop = rows, 0  # rows of the window that these lines meet
        for row in range(tall):
            first, last = _lanes(number + shift[row], wide)
            here = corner[0] + row
            eye_drop = np.float32(fall * (here - middle) ** 2)
            for lane in range(first, last):
                forth[here, lane] = observer[row, number + shift[row] + lane] - eye_drop
            if first < last:
                start, stop = min(start, here), max(stop, here + 1)
        low, high = _sample_lines(ground, number, cells, places, drop, lines)
        turned = (rows - stop, rows - start)
        for lane in range(_LANES):
            line, eyes = lines[low:high, lane], forth[:, lane]
            _look_back(
                line,
                place[low:high],
                eyes,
                near_steps,
                (start, stop),
                hull,
                back[:, lane],
            )
            eyes = eyes[::-1]
            _look_back(
                line[::-1],
                mirrored[low:high][::-1],
                eyes,
                near_steps,
                turned,
                hull,
                eyes,
            )
        for row in range(tall):
            first, last = _lanes(number + shift[row], wide)
            here = corner[0] + row
            own = np.float32(2.0 * fall * (here - middle))
            for lane in range(first, last):
                column = number + shift[row] + lane
                behind[row, column] = back[here, lane] - own
                ahead[row, column] = forth[here, lane] + own


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
def raise_by_near(
    view: View, way: Way, step_m: float, behind: Single, ahead: Single
) -> None:
    """Turn far tangents per step into skyline angles [degrees], near ground included."""
    ground, observer, corner = view
    rows, columns = ground.shape
    wide = observer.shape[1]
    cells, places = _stations(way[0], way[1])
    spare = np.empty((2, wide), np.float32)
    for row in range(observer.shape[0]):
        for ahead_of in (-1, 1):
            result = behind[row] if ahead_of < 0 else ahead[row]
            known, now = spare[0], spare[1]
            known[:] = result
            for station in range(1, len(cells) - 1):  # neither own place nor row K
                row1, column, row2, column2 = ahead_of * cells[station]
                row1, row2 = row1 + corner[0] + row, row2 + corner[0] + row
                if min(row1, row2) < 0 or max(row1, row2) >= rows:
                    break
                column, column2 = column + corner[1], column2 + corner[1]
                first, last = _overlap(column, column2, wide, columns)
                share, steps = places[station]
                now[:first] = known[:first]
                now[last:] = known[last:]
                _rise_past(
                    ground[row1, column + first : column + last],
                    ground[row2, column2 + first : column2 + last],
                    observer[row, first:last],
                    (share, steps, way[2] * steps),
                    known[first:last],
                    now[first:last],
                )
                known, now = now, known
            for cell in range(wide):
                rise = max(np.float64(known[cell]), 0.0) / step_m
                result[cell] = math.degrees(1.0) * atan(rise)


@numba.njit(cache=True, nogil=True)
def transpose(source: Single, target: Single) -> None:
    """Copy `source` turned over its diagonal, tile by tile."""
    rows, columns = source.shape
    for top in range(0, rows, _TILE):
        for start in range(0, columns, _TILE):
            for row in range(top, min(top + _TILE, rows)):
                for column in range(start, min(start + _TILE, columns)):
                    target[column, row] = source[row, column]


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


@numba.njit(cache=True, nogil=True, error_model="numpy")
def march_to_crowns(
    eye: Float,
    corner: tuple[int, int],
    crowns: tuple[Float, Float, Float],
    direction: tuple[float, float],
    reach: float,
    bottom: Single,
    top: Single,
) -> None:
    """Lowest and highest tangent of the crowns each cell meets in one direction.

    Parameters
    ----------
    eye
        Heights of the observers in cells, a window whose first cell is `corner`.
    crowns
        Bottom, top [cells] and the distance of each cell to the nearest crown cell
        [cells]; a crown fills the square of its cell.
    direction
        Rows and columns per cell of distance; its length is 1.
    bottom, top
        Receive the tangents, 0 where no crown is met; `top` is inf overhead.
    """
    south, east = direction
    low, high, away = crowns
    for row in range(eye.shape[0]):
        for col in range(eye.shape[1]):
            least, most = math.inf, 0.0
            here = 0.0
            # A hair beside the middle, so that no ray slips between two crown cells
            # that touch at a corner.
            row0 = corner[0] + row + 1e-4 * east
            col0 = corner[1] + col - 1e-4 * south
            while here < reach:
                r = math.floor(row0 + south * here + 0.5)
                c = math.floor(col0 + east * here + 0.5)
                if not (0 <= r < low.shape[0] and 0 <= c < low.shape[1]):
                    break
                leave_row = (r + math.copysign(0.5, south) - row0) / south
                leave_col = (c + math.copysign(0.5, east) - col0) / east
                leave = min(leave_row, leave_col)
                if away[r, c] == 0.0:
                    rise = high[r, c] - eye[row, col]
                    if rise > 0.0:
                        most = max(most, rise / here if here > 0.0 else math.inf)
                        least = min(least, (low[r, c] - eye[row, col]) / leave)
                here = max(leave + 1e-9, here + away[r, c] - 1.5)
            bottom[row, col] = max(least, 0.0) if most > 0.0 else 0.0
            top[row, col] = most
