"""A bed, and how it lies on the ground."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple, TypeVar

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Point, Polygon

Floats = npt.NDArray[np.float64]

LEVEL = 0.005  # rise per metre under which ground is shown as level
# Of a bed: where it starts and ends, from the gate end [m].
Stretch = tuple[float, float]
Number = TypeVar("Number", int, float)


def joined(
    spans: Iterable[tuple[Number, Number]], touch: float
) -> list[tuple[Number, Number]]:
    """Spans of one bed, of its metres or of its days, those that touch as one.

    Parameters
    ----------
    spans
        In any order; they may overlap.
    touch
        Gap up to which two touch, in their unit.

    Examples
    --------
    >>> joined([(6.0, 12.0), (0.0, 6.0), (13.0, 15.0)], touch=0.1)
    [(0.0, 12.0), (13.0, 15.0)]
    """
    found: list[tuple[Number, Number]] = []
    for start, end in sorted(spans):
        if found and start <= found[-1][1] + touch:
            found[-1] = found[-1][0], max(found[-1][1], end)
        else:
            found.append((start, end))
    return found


@dataclass(frozen=True)
class Bed:
    """A straight strip that is planted.

    Attributes
    ----------
    name
        Its field and its number there, counted from the gate: A12.
    outline
        A rectangle in the site's CRS, as seen from above. The first two corners are its
        end towards the gate, the first of them on the side that is nearer to the gate,
        and the last corner is across from the first. One that was drawn and taped begins
        as it was drawn.
    length_m
        Along the ground, as a tape reads that lies on it.
    bearing_deg
        Of the long side, clockwise from true north, 0 to under 180.
    exists
        Whether it lies there already, as the grower drew it.
    path_within_m
        Between the two strips of a bed under one hoop, part of its width; else 0.
    field
        Letter, or short name, of its plot.
    part
        Which part of its plot it lies on, counted from 1: those of a part run one way
        and lie in one set of bays.
    block, number
        Its block, counted in the field, and its place in it, both from 1 as one walks
        from the gate; 0 where it exists.
    tunnel
        Walk-in tunnel in which it lies; empty outdoors.
    """

    name: str
    plot: str
    outline: Polygon
    length_m: float
    width_m: float
    bearing_deg: float
    exists: bool = False
    path_within_m: float = 0.0
    field: str = ""
    part: int = 1
    block: int = 0
    number: int = 0
    tunnel: str = ""

    @property
    def block_name(self) -> str:
        """Of its block: A/2, or its plot where it exists."""
        return self.plot if self.exists else f"{self.field}/{self.block}"

    @property
    def area_m2(self) -> float:
        """Planted area."""
        return self.length_m * (self.width_m - self.path_within_m)


def long_side_deg(outline: Polygon) -> float:
    """Grid bearing of the long side of the smallest rectangle around an outline.

    Examples
    --------
    >>> long_side_deg(shapely.box(0, 0, 30, 10))
    90.0
    """
    corners = shapely.get_coordinates(shapely.oriented_envelope(outline))
    sides = np.diff(corners[:3], axis=0)
    east, north = sides[np.argmax(np.hypot(*sides.T))]
    # Rounded, so that the last bit of a float does not turn 0 into 180.
    return float(np.round(np.degrees(np.arctan2(east, north)), 6) % 180.0)


def true_deg(grid_deg: float, convergence_deg: float) -> float:
    """Bearing of a long thing from true north, 0 to under 180.

    Parameters
    ----------
    convergence_deg
        Grid north from true north.

    Examples
    --------
    >>> true_deg(179.0, 1.5), true_deg(0.0, -1e-9)
    (0.5, 0.0)
    """
    # Rounded, so that the last bit of a float does not turn 0 into 180.
    return float(np.round(grid_deg + convergence_deg, 6) % 180.0)


def seen_from(start: Point, outline: Polygon) -> Polygon:
    """A rectangle with its corners in the order of `Bed.outline`.

    Parameters
    ----------
    start
        Where one enters its plot.

    Examples
    --------
    From the north-east the northern end is first, and of that the eastern corner:

    >>> seen_from(Point(9, 14), shapely.box(0, 0, 1, 10)).wkt
    'POLYGON ((1 10, 0 10, 0 0, 1 0, 1 10))'
    """
    corners = _short_side_first(outline)
    middles = shapely.points([corners[:2].mean(axis=0), corners[2:].mean(axis=0)])
    if np.diff(shapely.distance(middles, start))[0] < 0:
        corners = np.roll(corners, 2, axis=0)
    if np.diff(shapely.distance(shapely.points(corners[:2]), start))[0] < 0:
        corners = corners[[1, 0, 3, 2]]
    return Polygon(corners)


def middle_line(bed: Bed) -> tuple[Floats, Floats]:
    """Middles of the short sides of a bed, in its CRS, that towards the gate first."""
    corners = _short_side_first(bed.outline)
    return corners[:2].mean(axis=0), corners[2:].mean(axis=0)


def _short_side_first(outline: Polygon) -> Floats:
    """(4, 2) corners of a rectangle, the first two of them along a short side."""
    corners = np.asarray(shapely.get_coordinates(outline)[:4])
    first, second = np.hypot(*np.diff(corners[:3], axis=0).T)
    return corners if first <= second else np.roll(corners, -1, axis=0)


def on_middle_line(bed: Bed, places_m: Sequence[float]) -> Floats:
    """(places, 2) eastings and northings of places on the middle line of a bed.

    Parameters
    ----------
    places_m
        From the end of `middle_line` that comes first, as a tape on the ground reads.
    """
    near, far = middle_line(bed)
    shares = np.asarray(places_m, float)[:, None] / bed.length_m
    return np.asarray(near + shares * (far - near))


@lru_cache(maxsize=20_000)  # every raster is read at the same points of a bed
def points_in(bed: Bed, spacing_m: float) -> npt.NDArray[np.float64]:
    """Evenly spread points inside a bed, no farther apart than asked.

    Returns
    -------
    (n, 2) array
        Easting and northing; each stands for the same area.
    """
    corners = shapely.get_coordinates(bed.outline)[:4]
    origin, first, second = corners[0], corners[1] - corners[0], corners[3] - corners[0]
    along, across = (
        (np.arange(count) + 0.5) / count
        for count in (
            max(1, int(np.ceil(np.hypot(*side) / spacing_m)))
            for side in (first, second)
        )
    )
    shares = np.stack(np.meshgrid(along, across), axis=-1).reshape(-1, 2)
    return np.asarray(origin + shares @ np.stack([first, second]))


class Lie(NamedTuple):
    """How a bed lies on the ground.

    Attributes
    ----------
    along_percent, across_percent
        Fall along the long side and across it, without a sign.
    faces_deg
        Direction in which the ground falls, from true north; NaN where it is level.
    """

    along_percent: float
    across_percent: float
    faces_deg: float


def lies(
    east: Floats, north: Floats, beds: Sequence[Bed], convergence_deg: float
) -> list[Lie]:
    """How beds lie on the smoothed ground, by the means of its rise over each.

    Parameters
    ----------
    east
        (beds,) mean rise of the smoothed ground to the east [m/m]; NaN where the ground
        is not known.
    north
        (beds,) mean rise to the north [m/m], likewise.
    beds
        The beds, in the same order.
    convergence_deg
        Bearing of grid north, clockwise from true north.

    Returns
    -------
    lies
        In the order of `beds`; NaN on unknown ground.
    """
    angle = np.radians([bed.bearing_deg - convergence_deg for bed in beds])
    along = east * np.sin(angle) + north * np.cos(angle)
    across = east * np.cos(angle) - north * np.sin(angle)
    falls_deg = (np.degrees(np.arctan2(-east, -north)) + convergence_deg) % 360.0
    level = np.hypot(east, north) < LEVEL
    columns = (
        100 * np.abs(along),
        100 * np.abs(across),
        np.where(level, np.nan, falls_deg),
    )
    return [Lie(*values) for values in np.stack(columns, axis=1).tolist()]
