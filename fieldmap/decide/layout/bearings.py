"""The bearings that beds could have on a piece of ground, and which of them is kept."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from fieldmap.decide.layout.bays import lattice, rows
from fieldmap.decide.layout.bays.lattice import Lengths
from fieldmap.decide.layout.beds import long_side_deg, true_deg
from fieldmap.model.settings import Beds

Floats = npt.NDArray[np.float64]
Reader = Callable[[Floats, Floats], Floats]

Kind = Literal["fixed", "long side", "side", "contour", "step"]
ORDER: tuple[Kind, ...] = ("fixed", "long side", "side", "contour", "step")

STEP_DEG = 5.0
SAME_DEG = 0.5  # closer bearings are one
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
# The runner-up is a bearing that a person would call another.
OTHER_DEG = 15.0
# Where the first bed may start while bearings are compared: few, as all are alike in it.
FEW_STARTS = 4
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
        """Bearing square to the mean fall; None where that is under half a per cent.

        None where the fall is known nowhere, too.
        """
        if not len(self.east):
            return None
        east, north = self.east.mean(), self.north.mean()
        if np.hypot(east, north) < SAME_FALL_PERCENT / 100:
            return None
        return float((np.degrees(np.arctan2(east, north)) + 90.0) % 180.0)


def too_steep(slope: Floats, along: Floats) -> npt.NDArray[np.bool_]:
    """Where rows fall more than the standard has it."""
    limit = np.minimum(ROW_LIMIT, ROW_SHARE * slope) + 1e-6
    return np.asarray((slope >= SERVES_FROM) & (along > limit))


@dataclass(frozen=True)
class Candidate:
    """One bearing and what it comes to on a piece of ground.

    Attributes
    ----------
    bearing_deg, grid_deg
        From true and from grid north, 0 to under 180.
    away_deg
        Clockwise from the long side, 0 to under 180.
    short
        Beds under 10 m.
    along_percent, across_percent
        Mean fall along and across the beds, without sign.
    over_share
        Share of the ground on which rows fall more than the standard has it, 0-1.
    """

    bearing_deg: float
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
    """Rise of a piece of ground [m/m] at points a fixed way apart.

    Parameters
    ----------
    ground
        The piece of ground, in the site's CRS, not empty.
    east
        Easting and northing of points -> rise per metre to the east; NaN where the
        ground is not known: such points are left out.
    north
        The same to the north.
    """
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


def has_room(
    ground: BaseGeometry, outline: Polygon, fixed_deg: float | None, choices: Beds
) -> bool:
    """Whether one bed fits on a piece of ground at any bearing that would be tried.

    On level ground; at the fixed bearing from grid north alone where there is one.

    Parameters
    ----------
    ground
        Free ground of the plot, in the site's CRS; an empty one has no room.
    outline
        Outline of the plot, by whose sides bearings are tried.
    fixed_deg
        Bearing from grid north that the grower chose; None to try all.
    choices
        Widths of beds and paths, the headland and the shortest bed.
    """
    if ground.is_empty:
        return False
    # Asked before heights count, so without a contour among the bearings.
    level = Falls(np.zeros(1), np.zeros(1))
    every = [grid_deg for grid_deg, _kind in bearings_to_try(outline, level)]
    middle = ground.centroid
    for grid_deg in every if fixed_deg is None else [fixed_deg % 180.0]:
        frame = rows.frame((middle.x, middle.y), grid_deg)
        clear = rows.clear(rows.edges(ground, frame), choices, FEW_STARTS)
        if len(clear.start):
            return True
    return False


def bearings_to_try(outline: Polygon, ground: Falls) -> list[tuple[float, Kind]]:
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
    # In the order of `ORDER`: of bearings that are one the first gives its kind.
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


def compare(
    ground: BaseGeometry,
    bearings: Sequence[tuple[float, Kind]],
    long_deg: float,
    fall: Falls,
    choices: Beds,
    convergence_deg: float,
    bays: Sequence[Lengths],
) -> list[Candidate]:
    """What each bearing, from grid north, comes to with the best of some bays.

    Parameters
    ----------
    ground
        Free ground of one part of a plot, in the site's CRS; may be empty.
    bearings
        Bearings from grid north to compare, each with what it comes from.
    long_deg
        Bearing of the long side of the ground, from grid north.
    fall
        Rise of the ground at points spread evenly; without points the falls are 0.
    choices
        Widths of beds and paths, the headland and the shortest bed.
    convergence_deg
        Bearing of grid north, clockwise from true north.
    bays
        Lengths of bays to try, of which the one that plants most counts.
    """
    middle = ground.centroid
    slope = fall.slope
    found = []
    for grid_deg, kind in bearings:
        frame = rows.frame((middle.x, middle.y), grid_deg)
        clear = rows.clear(rows.edges(ground, frame), choices, FEW_STARTS)
        length_m = _best_lengths(clear, bays)
        along, across = fall.along(grid_deg), fall.along(grid_deg + 90.0)
        found.append(
            Candidate(
                bearing_deg=true_deg(grid_deg, convergence_deg),
                grid_deg=grid_deg,
                kind=kind,
                away_deg=float(np.round(grid_deg - long_deg, 6) % 180.0),
                area_m2=float(
                    length_m.sum() * (choices.width_m - choices.path_within_m)
                ),
                beds=len(length_m),
                short=int((length_m < SHORT_M).sum()),
                along_percent=100.0 * _mean(along),
                across_percent=100.0 * _mean(across),
                over_share=_mean(too_steep(slope, along).astype(float)),
            )
        )
    return found


def _best_lengths(clear: rows.Clear, bays: Sequence[Lengths]) -> Floats:
    """Lengths of beds in the bays that plant most; shorter ones of any length."""
    # Bays that are longer than all rows come to the same: one of them is enough.
    longest_m = (clear.end - clear.start).max(initial=0.0)
    longer = [bay for bay in bays if bay.bay_m > longest_m]
    here = [bay for bay in bays if bay.bay_m <= longest_m] + longer[:1]
    fits = [(bay, lattice.best_fit(clear, bay)) for bay in here]
    made = [(bay, fit) for bay, fit in fits if fit is not None]
    if not made:
        return np.empty(0)
    bay, fit = max(made, key=lambda each: each[1].worth_m)
    shorter_m = bay.of_leftovers(fit.leftover_m)
    return np.append(np.full(fit.whole, bay.bay_m), shorter_m[shorter_m > 0])


def _mean(values: Floats) -> float:
    return float(values.mean()) if len(values) else 0.0


class Question(NamedTuple):
    """One question of the order of preference.

    Attributes
    ----------
    cost
        A candidate and the largest planted area -> what is better small.
    same
        The difference that is none.
    """

    name: str
    cost: Callable[[Candidate, float], float]
    same: float


# What is asked, in this order; each keeps what is no really worse than the best.
QUESTIONS = (
    Question("steep", lambda one, _most_m2: one.over_share, SAME_OVER),
    Question("area", lambda one, most_m2: -one.area_m2 / most_m2, SAME_AREA),
    Question("short", lambda one, _most_m2: one.short / max(one.beds, 1), SAME_SHORT),
    Question("along", lambda one, _most_m2: one.along_percent, SAME_FALL_PERCENT),
)
OF_TALL_CROPS = Question(
    "north", lambda one, _most_m2: apart_deg(one.bearing_deg, 0.0), SAME_NORTH_DEG
)


class Remaining(NamedTuple):
    """After one question, "" before any: how many candidates are no worse than the best."""

    question: str
    number: int


def best(
    candidates: Sequence[Candidate], *, tall_crops: bool
) -> tuple[Candidate, tuple[Remaining, ...]]:
    """The candidate that is kept, and how many remained after each question.

    Where several remain, the plot's own lines decide: its long side, its other sides,
    the contour, then what lies nearest the long side.
    """
    # Without a bed anywhere there is still a bearing, by which tunnels turn.
    here = [one for one in candidates if one.beds] or list(candidates)
    most_m2 = max((one.area_m2 for one in here), default=0.0) or 1.0
    remaining = [Remaining("", len(here))]
    for question in _questions(tall_crops=tall_crops):
        costs = [round(question.cost(one, most_m2), 6) for one in here]
        limit = min(costs) + question.same + 1e-9
        here = [one for one, cost in zip(here, costs, strict=True) if cost <= limit]
        remaining.append(Remaining(question.name, len(here)))
    return min(here, key=_own_lines_first), tuple(remaining)


def _own_lines_first(one: Candidate) -> tuple[int, float, float]:
    return (
        ORDER.index(one.kind),
        round(min(one.away_deg, 180.0 - one.away_deg), 3),
        one.away_deg,
    )


def real_differences(
    kept: Candidate, other: Candidate, *, tall_crops: bool
) -> tuple[list[str], list[str]]:
    """The questions in which another candidate is really better, and really worse.

    Parameters
    ----------
    kept, other
        The bearing that is kept, and one beside it.
    tall_crops
        Whether north was asked for, as in `best`.
    """
    most_m2 = max(kept.area_m2, other.area_m2, 1.0)
    gains = [
        (round(each.cost(kept, most_m2) - each.cost(other, most_m2), 6), each)
        for each in _questions(tall_crops=tall_crops)
    ]
    better = [each.name for gain, each in gains if gain > each.same]
    worse = [each.name for gain, each in gains if -gain > each.same]
    return better, worse


def _questions(*, tall_crops: bool) -> tuple[Question, ...]:
    return (*QUESTIONS, OF_TALL_CROPS) if tall_crops else QUESTIONS
