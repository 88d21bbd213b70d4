"""The ways that beds could run on a piece of ground, and which of them is kept."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np
import shapely

from fieldmap.decide.layout import rows as laying
from fieldmap.decide.layout.beds import long_side_deg

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    import numpy.typing as npt
    from shapely.geometry import Polygon
    from shapely.geometry.base import BaseGeometry

    from fieldmap.model.settings import Beds

    Floats = npt.NDArray[np.float64]
    Reader = Callable[[Floats, Floats], Floats]

Kind = Literal["fixed", "long side", "side", "contour", "step"]
ORDER: tuple[Kind, ...] = ("fixed", "long side", "side", "contour", "step")

STEP_DEG = 5.0
SAME_DEG = 0.5  # closer ways are one
# A side of the plot is an edge of at least this share of its longest, after corners
# that stand out less than a metre are left out.
SIDE_SHARE, SIDE_WITHIN_M = 0.25, 1.0
# USDA NRCS Conservation Practice Standard 330, contour farming: rows fall at most 2 %
# and at most half as much as the ground; it serves ground of 2 to 10 % best.
ROW_LIMIT, ROW_SHARE, SERVES_FROM, SERVES_TO = 0.02, 0.5, 0.02, 0.10
# Under this a bed is short: blocks of 15 to 30 m are usual (common practice, no source).
SHORT_M = 10.0
# What is less than this is no real difference (choices, no source).
SAME_OVER, SAME_AREA, SAME_SHORT, SAME_FALL_PERCENT = 0.10, 0.02, 0.05, 0.5
SAME_NORTH_DEG = 15.0
# The runner-up is a way that a person would call another.
OTHER_DEG = 15.0
# Points at which the fall of a piece of ground is read.
POINTS = 2000


class Falls(NamedTuple):
    """Rise of the ground per metre to the east and north, at points spread evenly."""

    east: Floats
    north: Floats

    @property
    def slope(self) -> Floats:
        """However the ground faces."""
        return np.asarray(np.hypot(self.east, self.north))

    def along(self, grid_deg: float) -> Floats:
        """Without sign, in the direction of a bearing."""
        angle = np.radians(grid_deg)
        return np.asarray(
            np.abs(self.east * np.sin(angle) + self.north * np.cos(angle))
        )

    def contour_deg(self) -> float | None:
        """Bearing square to the mean fall; None where that is under half a per cent."""
        east, north = self.east.mean(), self.north.mean()
        if np.hypot(east, north) < SAME_FALL_PERCENT / 100:
            return None
        return float((np.degrees(np.arctan2(east, north)) + 90.0) % 180.0)


def too_steep(slope: Floats, along: Floats) -> npt.NDArray[np.bool_]:
    """Where rows fall more than the standard has it."""
    limit = np.minimum(ROW_LIMIT, ROW_SHARE * slope) + 1e-6
    return np.asarray((slope >= SERVES_FROM) & (along > limit))


@dataclass(frozen=True)
class Way:
    """One bearing and what it comes to on a piece of ground.

    Attributes
    ----------
    grid_deg
        From grid north, 0 to under 180.
    away_deg
        Clockwise from the long side, 0 to under 180.
    short
        Beds under 10 m.
    along_percent, across_percent
        Mean fall along and across the beds, without sign.
    over_share
        Share of the ground on which rows fall more than the standard has it, 0-1.
    """

    grid_deg: float
    kind: Kind
    away_deg: float
    area_m2: float
    beds: int
    short: int
    along_percent: float
    across_percent: float
    over_share: float


def falls(ground: BaseGeometry, east: Reader, north: Reader) -> Falls:
    """The fall of a piece of ground at points a fixed way apart."""
    spacing_m = max(float(np.sqrt(ground.area / POINTS)), 0.5)
    west, south, right, top = ground.bounds
    x, y = np.meshgrid(
        np.arange(west + spacing_m / 2, right, spacing_m),
        np.arange(south + spacing_m / 2, top, spacing_m),
    )
    inside = shapely.contains_xy(ground, x, y)
    points = np.stack([x[inside], y[inside]])
    if not points.size:
        middle = ground.representative_point()
        points = np.array([[middle.x], [middle.y]])
    rises = np.stack([east(*points), north(*points)])
    return Falls(*rises[:, np.isfinite(rises).all(axis=0)])


def candidates(outline: Polygon, ground: Falls) -> list[tuple[float, Kind]]:
    """Bearings from grid north: the plot's sides, the contour, every 5° from the long side.

    Counted from the long side, so that they turn with the plot.
    """
    long_deg = long_side_deg(outline)
    found: list[tuple[float, Kind]] = []
    for grid_deg, kind in _wished(outline, ground, long_deg):
        if all(apart_deg(grid_deg, other) > SAME_DEG for other, _ in found):
            found.append((grid_deg, kind))
    return found


def _wished(
    outline: Polygon, ground: Falls, long_deg: float
) -> Iterator[tuple[float, Kind]]:
    yield long_deg, "long side"
    corners = shapely.get_coordinates(
        shapely.get_exterior_ring(outline.simplify(SIDE_WITHIN_M))
    )
    sides = np.diff(corners, axis=0)
    lengths = np.hypot(*sides.T)
    for at in np.argsort(-np.round(lengths, 3), kind="stable"):
        if lengths[at] >= SIDE_SHARE * lengths.max():
            yield float(np.degrees(np.arctan2(*sides[at])) % 180.0), "side"
    contour = ground.contour_deg()
    if contour is not None:
        yield contour, "contour"
    for step in np.arange(STEP_DEG, 180.0, STEP_DEG):
        yield float((long_deg + step) % 180.0), "step"


def apart_deg(one: float, other: float) -> float:
    """Between two bearings of long things, 0 to 90.

    Examples
    --------
    >>> apart_deg(175.0, 5.0)
    10.0
    """
    return float(abs((one - other + 90.0) % 180.0 - 90.0))


def weigh(
    ground: BaseGeometry,
    bearings: Sequence[tuple[float, Kind]],
    long_deg: float,
    fall: Falls,
    choices: Beds,
    tried: int = laying.STARTS_TRIED,
) -> list[Way]:
    """What each bearing comes to."""
    middle = ground.centroid
    slope = fall.slope
    ways = []
    for grid_deg, kind in bearings:
        seen = laying.frame((middle.x, middle.y), grid_deg)
        rows = laying.lay(laying.edges(ground, seen), choices, tried)
        count = laying.pieces(rows.length_m, choices)
        planted = laying.planted_m(rows.length_m, choices)
        along, across = fall.along(grid_deg), fall.along(grid_deg + 90.0)
        ways.append(
            Way(
                grid_deg=grid_deg,
                kind=kind,
                away_deg=float(np.round(grid_deg - long_deg, 6) % 180.0),
                area_m2=float(
                    planted.sum() * (choices.width_m - choices.path_within_m)
                ),
                beds=int(count.sum()),
                short=int(count[planted / np.maximum(count, 1) < SHORT_M].sum()),
                along_percent=100.0 * _mean(along),
                across_percent=100.0 * _mean(across),
                over_share=_mean(too_steep(slope, along).astype(float)),
            )
        )
    return ways


def _mean(values: Floats) -> float:
    return float(values.mean()) if len(values) else 0.0


class Step(NamedTuple):
    """One question of the order of preference.

    Attributes
    ----------
    of
        A way -> what is better small.
    same
        The difference that is none.
    """

    name: str
    of: Callable[[Way], float]
    same: float


class Left(NamedTuple):
    """After one question: how many ways are no worse than the best."""

    name: str
    ways: int


def questions(ways: Sequence[Way], choices: Beds, convergence_deg: float) -> list[Step]:
    """What is asked, in this order; each keeps what is no really worse than the best."""
    most_m2 = max((way.area_m2 for way in ways), default=0.0) or 1.0
    asked = [
        Step("steep", lambda way: way.over_share, SAME_OVER),
        Step("area", lambda way: -way.area_m2 / most_m2, SAME_AREA),
        Step("short", lambda way: way.short / max(way.beds, 1), SAME_SHORT),
        Step("along", lambda way: way.along_percent, SAME_FALL_PERCENT),
    ]
    if choices.tall_crops:
        asked.append(
            Step(
                "north",
                lambda way: apart_deg(way.grid_deg + convergence_deg, 0.0),
                SAME_NORTH_DEG,
            )
        )
    return asked


def best(
    ways: Sequence[Way], choices: Beds, convergence_deg: float
) -> tuple[Way, list[Left]]:
    """The way that is kept, and how many were left after each question.

    Where several are left, the plot's own lines decide: its long side, its other sides,
    the contour, then what lies nearest the long side.
    """
    left = [way for way in ways if way.beds] or list(ways)
    told = [Left("", len(left))]
    for step in questions(left, choices, convergence_deg):
        values = [round(step.of(way), 6) for way in left]
        limit = min(values) + step.same
        left = [
            way
            for way, value in zip(left, values, strict=True)
            if value <= limit + 1e-9
        ]
        told.append(Left(step.name, len(left)))
    return min(left, key=_own_lines_first), told


def _own_lines_first(way: Way) -> tuple[int, float, float]:
    return (
        ORDER.index(way.kind),
        round(min(way.away_deg, 180.0 - way.away_deg), 3),
        way.away_deg,
    )
