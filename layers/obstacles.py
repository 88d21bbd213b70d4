"""What hedges, walls, barns and trees hide of the sky, from their own outlines.

A thing that stands is an upright prism on the ground: an outline, the height of its top
above the ground, and of its underside where it stands on clear stems. A ray that leaves
a point level enters and leaves an outline at exact distances; between them the thing
fills the sky from its underside, seen past its far side, to its top, seen over its near
side. Every thing keeps a band of its own, so that the sky between two of them, and under
clear stems, stays open. No cells are involved but those of the ground's heights.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from numba import njit

from layers._grid import Grid

Floats = npt.NDArray[np.float64]
Single = npt.NDArray[np.float32]
Whole = npt.NDArray[np.int32]

FACINGS = 36  # directions into which the sides of things are sorted
UNDERNEATH = -1  # no side: the point lies within the outline
# A thing whose top stands less than 1° above level is left out: no sun to speak of comes
# from there.
LEAST_TANGENT = math.tan(math.radians(1.0))
GROUND_STEP_M = 5.0  # ground under a wide thing is looked at this often along a ray
_CROSSINGS = 24  # of one outline that a ray may have; more are left out
_BANDS = 12  # along one ray; what stands farther off is left out


class Ground(NamedTuple):
    """Heights of the ground on square cells.

    Attributes
    ----------
    heights_m
        (rows, cols), row 0 in the north; read in straight lines between cell middles,
        as at the outermost ones beyond them. NaN counts as level with the observer.
    west, north
        Of the corner of cell (0, 0) [m].
    cell_size_m
        Side of a cell.
    """

    heights_m: Grid
    west: float
    north: float
    cell_size_m: float


@dataclass(frozen=True)
class Prisms:
    """Things that stand upright on the ground.

    Attributes
    ----------
    first
        (things + 1,): where the sides of each thing begin in `sides`.
    sides
        (sides, 4): easting and northing of both ends [m].
    facing
        (sides,): which of `FACINGS` directions, clockwise from grid north, a side looks
        to on its left hand.
    bottom_m, top_m
        (things,): heights above the ground of underside and top; a thing without clear
        stems has 0 and reaches down into the ground.
    """

    first: Whole
    sides: Floats
    facing: Whole
    bottom_m: Floats
    top_m: Floats

    @classmethod
    def of(
        cls,
        outlines: Sequence[Sequence[Floats]],
        bottom_m: npt.ArrayLike,
        top_m: npt.ArrayLike,
    ) -> "Prisms":
        """Prisms over outlines: each a list of closed rings of (points, 2), holes too.

        Parameters
        ----------
        outlines
            Of each thing its closed rings of (points, 2): easting and northing [m].
        bottom_m, top_m
            (things,) underside and top above the ground.

        Raises
        ------
        ValueError
            When a top is not above its underside, or the numbers of things differ.
        """
        bottom = np.asarray(bottom_m, np.float64)
        top = np.asarray(top_m, np.float64)
        if not len(outlines) == bottom.size == top.size:
            raise ValueError(
                f"every outline needs a bottom and a top, got {len(outlines)} outlines, "
                f"{bottom.size} bottoms and {top.size} tops"
            )
        if not ((bottom >= 0) & (top > bottom)).all():
            raise ValueError("every thing needs a bottom of 0 or more and a higher top")
        of_things = [
            np.concatenate([np.hstack([ring[:-1], ring[1:]]) for ring in rings])
            for rings in outlines
        ]
        first = np.cumsum([0, *map(len, of_things)])
        sides = np.concatenate([np.empty((0, 4)), *of_things])
        along = np.arctan2(sides[:, 2] - sides[:, 0], sides[:, 3] - sides[:, 1])
        left = np.round((along / (2 * np.pi) - 0.25) * FACINGS) % FACINGS
        return cls(first.astype(np.int32), sides, left.astype(np.int32), bottom, top)

    def __len__(self) -> int:
        """Number of things."""
        return len(self.top_m)


class Bands(NamedTuple):
    """Bands of sky that things fill, ray by ray.

    Attributes
    ----------
    point, sector
        (rays,): of which point, and toward which sector, a ray that meets anything goes.
    start
        (rays + 1,): where the bands of each ray begin in the rest, nearest first.
    low_deg, high_deg
        (bands,): from where to where above level; -90 for what reaches into the ground.
    thing
        (bands,): number of the thing.
    facing
        (bands,): direction that the side which is seen looks to, or `UNDERNEATH`.
    """

    point: Whole
    sector: Whole
    start: Whole
    low_deg: Single
    high_deg: Single
    thing: Whole
    facing: Whole


def bands(prisms: Prisms, ground: Ground, points: Floats, sectors: int) -> Bands:
    """What things fill of the sky over points on the ground, toward every sector.

    Parameters
    ----------
    prisms
        What stands.
    ground
        Heights of the ground around the points.
    points
        (points, 2): easting and northing [m].
    sectors
        Rays go toward i·360/sectors degrees clockwise from grid north.

    Raises
    ------
    ValueError
        When there are fewer than four sectors.

    Notes
    -----
    Top and underside follow the ground at a constant height above it. On a plane the
    band is exact; over other ground under a wide thing the top is looked at every 5 m.

    Examples
    --------
    A wall 2 m high and 1 m thick whose near side is 4 m north of the point:

    >>> wall = np.array([[-50.0, 4], [50, 4], [50, 5], [-50, 5], [-50, 4]])
    >>> level = Ground(np.zeros((2, 2)), -60.0, 60.0, 60.0)
    >>> seen = bands(Prisms.of([[wall]], [0.0], [2.0]), level, np.zeros((1, 2)), 4)
    >>> seen.sector, seen.high_deg
    (array([0], dtype=int32), array([26.565052], dtype=float32))
    """
    if sectors < 4:
        raise ValueError(f"sectors must be at least 4, got {sectors}")
    bearing = np.arange(sectors) * (2 * np.pi / sectors)
    toward = np.stack([np.sin(bearing), np.cos(bearing)], axis=1)
    return Bands(*_all_bands(_Things.of(prisms, ground), ground, points, toward))


def passing(
    prisms: Prisms,
    transmission: Floats,
    ground: Ground,
    points: Floats,
    sun: tuple[Floats, Floats],
) -> Floats:
    """Part of the beam that passes all things, at each point and time.

    Parameters
    ----------
    prisms
        What stands.
    transmission
        (things, times): part of the light that each thing lets through.
    ground
        Heights of the ground around the points.
    points
        (points, 2): easting and northing [m].
    sun
        Altitude above level, and azimuth from grid north [deg], (times,) each.

    Returns
    -------
    Floats
        (points, times), 0 to 1; 1 for a sun that is not up.
    """
    altitude_deg, azimuth_deg = sun
    up = np.flatnonzero(altitude_deg > 0)
    part = np.ones((len(points), len(altitude_deg)))
    if not len(prisms):
        return part
    azimuth = np.radians(azimuth_deg[up])
    toward = np.stack([np.sin(azimuth), np.cos(azimuth)], axis=1)
    tangent = np.tan(np.radians(altitude_deg[up]))
    through = np.ascontiguousarray(transmission[:, up], np.float64)
    things = _Things.of(prisms, ground)
    part[:, up] = _all_passing(things, ground, points, toward, tangent, through)
    return part


# ------------------------------------------------------------------------- the kernels
class _Things(NamedTuple):
    """Prisms as the kernels read them.

    `around` is (things, 4): middle of the outline, its radius, and the highest ground on
    its rim.
    """

    first: Whole
    sides: Floats
    facing: Whole
    bottom_m: Floats
    top_m: Floats
    around: Floats

    @classmethod
    def of(cls, prisms: Prisms, ground: Ground) -> "_Things":
        around = np.empty((len(prisms), 4))
        for thing in range(len(prisms)):
            at = slice(prisms.first[thing], prisms.first[thing + 1])
            corners = prisms.sides[at, :2]
            middle = (corners.min(axis=0) + corners.max(axis=0)) / 2
            radius = np.hypot(*(corners - middle).T).max()
            heights = [_height(ground, *corner, -np.inf) for corner in corners]
            around[thing] = *middle, radius, max(heights)
        return cls(
            prisms.first,
            prisms.sides,
            prisms.facing,
            prisms.bottom_m,
            prisms.top_m,
            around,
        )


@njit(cache=True, nogil=True)
def _height(ground: Ground, east: float, north: float, missing: float) -> float:
    """Ground height between cell middles."""
    rows, cols = ground.heights_m.shape
    x = (east - ground.west) / ground.cell_size_m - 0.5
    y = (ground.north - north) / ground.cell_size_m - 0.5
    x, y = min(max(x, 0.0), cols - 1.0), min(max(y, 0.0), rows - 1.0)
    col, row = min(int(x), max(cols - 2, 0)), min(int(y), max(rows - 2, 0))
    right, down = min(col + 1, cols - 1), min(row + 1, rows - 1)
    x, y = x - col, y - row
    z = ground.heights_m
    above = z[row, col] * (1 - x) + z[row, right] * x
    below = z[down, col] * (1 - x) + z[down, right] * x
    height = above * (1 - y) + below * y
    return missing if math.isnan(height) else height


@njit(cache=True, nogil=True)
def _is_in_sight(
    things: _Things, thing: int, east: float, north: float, eye: float
) -> bool:
    """Whether a thing may stand high enough above level to count."""
    middle_east, middle_north, radius, foot = things.around[thing]
    away = math.hypot(middle_east - east, middle_north - north) - radius
    # From where it stands highest: no more than that can be seen of it.
    rise = things.top_m[thing] + max(foot - eye, 0.0)
    return bool(away <= 0 or rise > LEAST_TANGENT * away)


@njit(cache=True, nogil=True)
def _band(
    things: _Things,
    thing: int,
    ground: Ground,
    observer: tuple[float, float, float],
    way: tuple[float, float],
    between: tuple[float, float],
) -> tuple[float, float]:
    """Tangents of the lowest and highest ray that a thing stops between two distances."""
    east, north, eye = observer
    near, far = between
    bottom, top = things.bottom_m[thing], things.top_m[thing]
    low, high = (-np.inf, -np.inf) if bottom == 0 else (np.inf, -np.inf)
    if near <= 0:
        high = np.inf
    steps = 1 + int((far - near) / GROUND_STEP_M)
    for step in range(steps + 1):
        away = near + (far - near) * step / steps
        if away <= 0:
            continue
        foot = _height(ground, east + way[0] * away, north + way[1] * away, eye) - eye
        high = max(high, (foot + top) / away)
        low = min(low, (foot + bottom) / away)
    return low, high


@njit(cache=True, nogil=True)
def _crossing(
    side: Floats, east: float, north: float, way: tuple[float, float]
) -> float:
    """How far along a ray it crosses the line of a side."""
    from_east, from_north = side[0] - east, side[1] - north
    along_east, along_north = side[2] - side[0], side[3] - side[1]
    across = way[0] * along_north - way[1] * along_east
    if across == 0:
        return 0.0
    far: float = (from_east * along_north - from_north * along_east) / across
    return max(far, 0.0)


@njit(cache=True, nogil=True)
def _sort_in(
    distances: Floats, marks: Whole, count: int, far: float, mark: int
) -> None:
    """Put a distance and its mark among `count` sorted ones."""
    at = count
    while at > 0 and distances[at - 1] > far:
        distances[at], marks[at] = distances[at - 1], marks[at - 1]
        at -= 1
    distances[at], marks[at] = far, mark


@njit(cache=True, nogil=True)
def _cross_sides(
    things: _Things,
    thing: int,
    east: float,
    north: float,
    toward: Floats,
    room: tuple[Floats, Whole, Whole],
) -> None:
    """Distances at which the rays of a point cross a thing's sides, sorted by ray.

    Sectors are whole numbers, so the rays between the two ends of a side are counted
    without rounding: an outline is left as often as it is entered, unless the point
    lies within it.
    """
    distances, marks, counts = room
    sectors = len(toward)
    per_radian = sectors / (2 * math.pi)
    counts[:] = 0
    e1 = n1 = np.nan
    last_end = 0
    for at in range(things.first[thing], things.first[thing + 1]):
        side = things.sides[at]
        e0, n0 = side[0] - east, side[1] - north
        first = last_end  # most sides begin where the one before ended
        if not (e0 == e1 and n0 == n1):
            first = math.ceil(math.atan2(e0, n0) * per_radian)
        e1, n1 = side[2] - east, side[3] - north
        last = math.ceil(math.atan2(e1, n1) * per_radian)
        last_end = last
        clockwise = e1 * n0 - e0 * n1 > 0  # then its right hand is seen
        if not clockwise:
            first, last = last, first
        seen = things.facing[at]
        if clockwise:
            seen = (seen + FACINGS // 2) % FACINGS
        for step in range((last - first) % sectors):
            ray = (first + step) % sectors
            if counts[ray] == _CROSSINGS:
                continue
            far = _crossing(side, east, north, (toward[ray, 0], toward[ray, 1]))
            _sort_in(distances[ray], marks[ray], counts[ray], far, seen)
            counts[ray] += 1


@njit(cache=True, nogil=True)
def _larger(values, size):  # type: ignore[no-untyped-def]  # of any kind of number
    grown = np.empty(size, values.dtype)
    grown[: len(values)] = values
    return grown


class _Held(NamedTuple):
    """Bands that a point has met: by ray their distances and numbers, and by number."""

    distances: Floats
    numbers: Whole
    counts: Whole
    angles_deg: Floats
    marks: Whole
    total: Whole


@njit(cache=True, nogil=True)
def _all_bands(
    things: _Things, ground: Ground, points: Floats, toward: Floats
) -> tuple[Whole, Whole, Whole, Single, Single, Whole, Whole]:
    """See `Bands`."""
    sectors = len(toward)
    room = (
        np.empty((sectors, _CROSSINGS + 1)),
        np.empty((sectors, _CROSSINGS + 1), np.int32),
        np.zeros(sectors, np.int32),
    )
    held = _Held(
        np.empty((sectors, _BANDS + 1)),
        np.empty((sectors, _BANDS + 1), np.int32),
        np.zeros(sectors, np.int32),
        np.empty((sectors * _BANDS, 2)),
        np.empty((sectors * _BANDS, 2), np.int32),
        np.zeros(1, np.int32),
    )
    ray_point, ray_sector, start = np.empty((3, 1024), np.int32)
    low_deg, high_deg = np.empty((2, 1024), np.float32)
    thing_of, facing_of = np.empty((2, 1024), np.int32)
    rays = filled = 0
    for point in range(len(points)):
        east, north = points[point]
        eye = _height(ground, east, north, np.nan)
        held.counts[:] = 0
        held.total[0] = 0
        for thing in range(len(things.top_m)):
            if not _is_in_sight(things, thing, east, north, eye):
                continue
            _cross_sides(things, thing, east, north, toward, room)
            observer = (east, north, eye)
            _keep(things, thing, ground, observer, toward, room, held)
        total = held.total[0]
        if rays + sectors + 1 > len(start):
            size = 2 * len(start) + sectors
            ray_point, ray_sector = _larger(ray_point, size), _larger(ray_sector, size)
            start = _larger(start, size)
        if filled + total > len(thing_of):
            size = 2 * len(thing_of) + total
            low_deg, high_deg = _larger(low_deg, size), _larger(high_deg, size)
            thing_of, facing_of = _larger(thing_of, size), _larger(facing_of, size)
        for ray in range(sectors):
            if held.counts[ray] == 0:
                continue
            ray_point[rays], ray_sector[rays], start[rays] = point, ray, filled
            rays += 1
            for number in held.numbers[ray, : held.counts[ray]]:
                low_deg[filled], high_deg[filled] = held.angles_deg[number]
                thing_of[filled], facing_of[filled] = held.marks[number]
                filled += 1
    start[rays] = filled
    return (
        ray_point[:rays],
        ray_sector[:rays],
        start[: rays + 1],
        low_deg[:filled],
        high_deg[:filled],
        thing_of[:filled],
        facing_of[:filled],
    )


@njit(cache=True, nogil=True)
def _keep(
    things: _Things,
    thing: int,
    ground: Ground,
    observer: tuple[float, float, float],
    toward: Floats,
    room: tuple[Floats, Whole, Whole],
    held: _Held,
) -> None:
    """Turn the crossings of one thing into bands, kept ray by ray, nearest first."""
    distances, marks, counts = room
    to_deg = 180.0 / math.pi
    for ray in range(len(toward)):
        count = counts[ray]
        within = count % 2
        if within:
            _sort_in(distances[ray], marks[ray], count, 0.0, UNDERNEATH)
        way = (toward[ray, 0], toward[ray, 1])
        for pair in range(0, count + within - 1, 2):
            if held.counts[ray] == _BANDS:
                break
            near, far = distances[ray, pair], distances[ray, pair + 1]
            low, high = _band(things, thing, ground, observer, way, (near, far))
            if not high > max(low, 0.0):
                continue
            number = held.total[0]
            held.angles_deg[number, 0] = math.atan(low) * to_deg
            held.angles_deg[number, 1] = math.atan(high) * to_deg
            held.marks[number, 0] = thing
            held.marks[number, 1] = marks[ray, pair]
            _sort_in(
                held.distances[ray], held.numbers[ray], held.counts[ray], near, number
            )
            held.counts[ray] += 1
            held.total[0] += 1


@njit(cache=True, nogil=True)
def _all_passing(
    things: _Things,
    ground: Ground,
    points: Floats,
    toward: Floats,
    tangent: Floats,
    through: Floats,
) -> Floats:
    """See `passing`."""
    part = np.ones((len(points), len(toward)))
    distances, marks = np.empty(_CROSSINGS + 1), np.empty(_CROSSINGS + 1, np.int32)
    for point in range(len(points)):
        east, north = points[point]
        observer = (east, north, _height(ground, east, north, np.nan))
        for thing in range(len(things.top_m)):
            if not _is_in_sight(things, thing, east, north, observer[2]):
                continue
            ahead, aside = (
                things.around[thing, 0] - east,
                things.around[thing, 1] - north,
            )
            radius = things.around[thing, 2] + 0.01  # more than is lost by rounding
            for time in range(len(toward)):
                way = (toward[time, 0], toward[time, 1])
                # A ray that misses the circle around a thing misses the thing.
                if (
                    abs(way[1] * ahead - way[0] * aside) > radius
                    or way[0] * ahead + way[1] * aside < -radius
                ):
                    continue
                count = _cross_along(
                    things, thing, (east, north), way, distances, marks
                )
                if count % 2:
                    _sort_in(distances, marks, count, 0.0, UNDERNEATH)
                    count += 1
                for pair in range(0, count, 2):
                    between = (distances[pair], distances[pair + 1])
                    low, high = _band(things, thing, ground, observer, way, between)
                    if low < tangent[time] < high:
                        part[point, time] *= through[thing, time]
    return part


@njit(cache=True, nogil=True)
def _cross_along(
    things: _Things,
    thing: int,
    place: tuple[float, float],
    way: tuple[float, float],
    distances: Floats,
    marks: Whole,
) -> int:
    """Sorted distances at which one ray crosses a thing's sides, and their number."""
    east, north = place
    count = 0
    for at in range(things.first[thing], things.first[thing + 1]):
        side = things.sides[at]
        # On which hand of the ray the ends lie; an end on the ray lies right of it.
        start = way[0] * (side[1] - north) - way[1] * (side[0] - east) > 0
        end = way[0] * (side[3] - north) - way[1] * (side[2] - east) > 0
        if start == end or count == _CROSSINGS:
            continue
        from_east, from_north = side[0] - east, side[1] - north
        along_east, along_north = side[2] - side[0], side[3] - side[1]
        across = way[0] * along_north - way[1] * along_east
        far = (from_east * along_north - from_north * along_east) / across
        if far > 0:
            _sort_in(distances, marks, count, far, 0)
            count += 1
    return count
