"""A walk around a plot, as a phone records it, to one clean outline.

A phone's places stray by metres, and slowly: neighbours in time stray together. A walk
has pauses that draw knots, a way to the gate and back, an end that runs past the start,
and rings that cross themselves. Each is taken out where it can be distinguished from
the ground: by how close the walk comes to itself and how little it encloses there.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from scipy.spatial import cKDTree
from shapely.geometry import LineString, Polygon

from fieldmap.read.start.outline.area_error import area_sd_m2

Floats = npt.NDArray[np.float64]

LEAST_STEP_M = 1.5  # a step of a walker; nearer places are a pause
LONGEST_STEP_M = 3.0  # between places that are smoothed
MOST_PLACES = 1200  # of one walk, once it is thinned
WALKING_M_S = 1.2  # where a file has no times (common practice, no source)
# The walk comes back to itself within this number of errors of one place: two of them stray by
# √2 errors along each axis, so 2.5 hold 95 in 100 across (normal law).
BACK_WITHIN_ERRORS = 3.0
# A way out and back encloses a strip of less than this mean width, in errors.
STRIP_ERRORS = 2.0
LONGEST_STRAY_SHARE = 0.45  # of the walk; what is longer is the walk itself
FROM_END_SHARE = 0.3  # of the walk, in which it may have passed its start
HALF_WINDOW = 4  # places to either side that a place is smoothed with


@dataclass(frozen=True)
class Walked:
    """An outline from a walk.

    Attributes
    ----------
    outline
        In the metric CRS of the walk.
    area_sd_m2
        Standard deviation of its area from the error of the places [m²].
    taken_out_m
        Length of what was walked and is no part of the outline.
    crossings
        Places where the ring crossed itself and was mended.
    other_side_m2
        Area of the largest piece that was left out in mending.
    gap_m
        Between the end of the walk and its beginning.
    """

    outline: Polygon
    area_sd_m2: float
    taken_out_m: float
    crossings: tuple[tuple[float, float], ...]
    other_side_m2: float
    gap_m: float


def clean(places_m: Floats, seconds: Floats | None, error_m: float) -> Walked | None:
    """The outline that a walk goes around; None where it encloses nothing.

    Parameters
    ----------
    places_m
        (places, 2) east and north in a metric CRS, finite, in the order of the walk.
    seconds
        When each was recorded, rising; None where that is not known.
    error_m
        Standard deviation of a place along each axis.
    """
    if seconds is None:
        steps_m = np.hypot(*np.diff(places_m, axis=0).T)
        seconds = np.concatenate([[0.0], np.cumsum(steps_m)]) / WALKING_M_S
    kept = thinned(places_m, LEAST_STEP_M)
    ring, times = filled(places_m[kept], seconds[kept])
    ring = smoothed(ring)
    kept = thinned(ring, error_m)
    ring, times = ring[kept], times[kept]
    if len(ring) < 4:
        return None
    walked_m = _length_m(ring)
    ring, times, gap_m = _up_to_start(ring, times, error_m)
    kept = _without_strays(ring, error_m)
    ring, times = ring[kept], times[kept]
    if len(ring) < 4:
        return None
    outline, crossings, other_m2 = mended(ring)
    if outline is None:
        return None
    simple = outline.simplify(error_m / 3)
    outline = simple if isinstance(simple, Polygon) else outline
    return Walked(
        outline=outline,
        area_sd_m2=area_sd_m2(ring, times, error_m),
        taken_out_m=max(0.0, walked_m - float(outline.length)),
        crossings=crossings,
        other_side_m2=other_m2,
        gap_m=gap_m,
    )


def _length_m(places_m: Floats) -> float:
    return float(np.hypot(*np.diff(places_m, axis=0).T).sum())


def thinned(places_m: Floats, step_m: float) -> npt.NDArray[np.intp]:
    """Numbers of places that lie a step or more from the one kept before.

    The step grows until at most `MOST_PLACES` are kept.
    """
    while True:
        kept, last = [0], places_m[0]
        for number, place in enumerate(places_m):
            if np.hypot(*(place - last)) >= step_m:
                kept.append(number)
                last = place
        if len(kept) <= MOST_PLACES:
            return np.asarray(kept)
        step_m *= 1.5


def filled(places_m: Floats, seconds: Floats) -> tuple[Floats, Floats]:
    """The walk with places between those that lie farther apart than `LONGEST_STEP_M`.

    Some phones keep a place every ten metres: without more between them, smoothing would
    cut the corners of a plot away.
    """
    steps_m = np.hypot(*np.diff(places_m, axis=0).T)
    pieces = np.maximum(1, np.ceil(steps_m / LONGEST_STEP_M)).astype(int)
    numbers = np.arange(len(places_m), dtype=float)
    at = [np.arange(count) / count + number for number, count in enumerate(pieces)]
    wanted = np.concatenate([*at, numbers[-1:]])
    east, north = (np.interp(wanted, numbers, axis) for axis in places_m.T)
    return np.column_stack([east, north]), np.interp(wanted, numbers, seconds)


def _up_to_start(
    ring: Floats, times: Floats, error_m: float
) -> tuple[Floats, Floats, float]:
    """The walk until it is back at its start, and how far from it that is [m]."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(ring, axis=0).T))])
    late = np.flatnonzero(along > (1 - FROM_END_SHARE) * along[-1])
    away_m = np.hypot(*(ring[late] - ring[0]).T)
    nearest = int(late[np.argmin(away_m)])
    if away_m.min() > BACK_WITHIN_ERRORS * error_m:
        return ring, times, float(away_m[-1])
    return ring[: nearest + 1], times[: nearest + 1], float(away_m.min())


def _without_strays(ring: Floats, error_m: float) -> npt.NDArray[np.intp]:
    """Numbers of places of a closed walk without ways out and back, and knots."""
    kept = np.arange(len(ring))
    while len(kept) > 4:
        found = _longest_stray(ring[kept], error_m)
        if found is None:
            break
        first, last = found
        count = len(kept)
        if last < count:
            kept = np.delete(kept, np.arange(first + 1, last))
        else:  # across the place where the ring closes
            kept = kept[(last - count) : first + 1]
    return kept


def _longest_stray(ring: Floats, error_m: float) -> tuple[int, int] | None:
    """First and last place of the longest way out and back, counted on past the end."""
    count = len(ring)
    near = cKDTree(ring).query_pairs(
        BACK_WITHIN_ERRORS * error_m, output_type="ndarray"
    )
    if not len(near):
        return None
    near = near[np.lexsort(near.T[::-1])]
    # From the one to the other, and on from the other past the end to the one.
    first = np.concatenate([near[:, 0], near[:, 1]])
    last = np.concatenate([near[:, 1], near[:, 0] + count])
    twice = np.vstack([ring, ring])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(twice, axis=0).T))])
    swept = np.concatenate([[0.0], np.cumsum(_cross(twice[:-1], twice[1:]))])
    way_m = along[last] - along[first]
    away_m = np.hypot(*(twice[last] - twice[first]).T)
    closed = _cross(twice[last], twice[first])
    area_m2 = 0.5 * np.abs(swept[last] - swept[first] + closed)
    is_stray = (
        (way_m < LONGEST_STRAY_SHARE * along[count])
        & (way_m > 2.5 * np.maximum(away_m, error_m))
        & (2.0 * area_m2 < STRIP_ERRORS * error_m * way_m)
    )
    if not is_stray.any():
        return None
    # The longest way that was walked for nothing: there and back, less what it leaves.
    longest = int(np.argmax(np.where(is_stray, way_m - 2.0 * away_m, -np.inf)))
    return int(first[longest]), int(last[longest])


def _cross(one: Floats, other: Floats) -> Floats:
    return np.asarray(one[:, 0] * other[:, 1] - other[:, 0] * one[:, 1])


def smoothed(places_m: Floats) -> Floats:
    """Each place as a mean of its neighbours on the walk, with less weight farther off."""
    half = min(HALF_WINDOW, (len(places_m) - 1) // 2)
    weights = np.hanning(2 * half + 3)[1:-1]
    weights /= weights.sum()
    padded = np.pad(places_m, ((half, half), (0, 0)), mode="edge")
    return np.column_stack([np.convolve(axis, weights, "valid") for axis in padded.T])


def mended(
    ring: Floats,
) -> tuple[Polygon | None, tuple[tuple[float, float], ...], float]:
    """A closed ring as one area, where it crossed itself, and the largest piece left out.

    Of a ring that crosses itself all ground counts that it goes around, in either sense,
    and of ground in several pieces the largest.
    """
    plain = Polygon(ring)
    if plain.is_valid:
        return (plain, (), 0.0) if plain.area > 0 else (None, (), 0.0)
    line = LineString(np.vstack([ring, ring[:1]]))
    whole = shapely.union_all(
        [
            face
            for face in shapely.polygonize([shapely.node(line)]).geoms
            if isinstance(face, Polygon) and _winding(ring, face) != 0
        ]
    )
    parts = [part for part in shapely.get_parts(whole) if isinstance(part, Polygon)]
    pieces = sorted((each for each in parts if each.area > 0), key=lambda p: -p.area)
    if not pieces:
        return None, (), 0.0
    largest = Polygon(pieces[0].exterior)
    return largest, _crossings(line), pieces[1].area if len(pieces) > 1 else 0.0


def _winding(ring: Floats, face: Polygon) -> int:
    """How often a ring goes around a face."""
    middle = face.representative_point()
    angle = np.arctan2(ring[:, 1] - middle.y, ring[:, 0] - middle.x)
    turn = np.diff(np.append(angle, angle[0]))
    turn = (turn + np.pi) % (2 * np.pi) - np.pi
    return round(float(turn.sum()) / (2 * np.pi))


def _crossings(line: LineString) -> tuple[tuple[float, float], ...]:
    """Places where a line meets itself, but for its own corners."""
    corners = {tuple(place) for place in shapely.get_coordinates(line).tolist()}
    nodes = shapely.get_coordinates(shapely.node(line)).tolist()
    met = dict.fromkeys(tuple(place) for place in nodes)
    return tuple(place for place in met if place not in corners)
