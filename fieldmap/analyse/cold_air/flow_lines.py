"""Night -> flow lines: where cold air runs on a still night, evenly spaced."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree
from shapely.geometry import LineString

from fieldmap.analyse.cold_air.flow import CentralRun, Night
from fieldmap.analyse.fields import Analysis
from fieldmap.cache import Arrays, Store
from fieldmap.model.raster import Bounds

Floats = npt.NDArray[np.float64]
Point = tuple[float, float]  # east, north

# Between lines of a level, the widest first: each is for a closer look (choices).
SPACINGS_M = (80.0, 40.0, 20.0)
# A level of more lines than these, by the shown area, is left out: it takes long to
# follow and fills the screen with arrows.
MOST_SQUARES = 1200
# Air that carries less than this through each metre across, or is slower, does not run
# (choices, no source): a lake of cold air turns over but goes nowhere, and on a ridge
# the layer is still a film.
LEAST_M2_S = 0.05
SLOWEST_M_S = 0.1
STEP_CELLS = 0.5
# A line that has gone round once within its spacing is an eddy.
ROUND = np.pi


@dataclass(frozen=True)
class FlowLine:
    """Where cold air runs, drawn down the flow.

    Attributes
    ----------
    line
        In the site's CRS; its last point is the lowest of the flow.
    level
        1 for lines of the widest spacing, 3 for those of the narrowest.
    strength_m2_s
        Mean flux along it: m³/s through each metre across.
    """

    line: LineString
    level: int
    strength_m2_s: float


class Stream(NamedTuple):
    """Flux on the cells of the flow, 0 where air does not run, NaN where unknown."""

    east_m2_s: Floats
    north_m2_s: Floats
    west_m: float
    top_m: float
    cell_m: float

    def at(self, east_m: float, north_m: float) -> Point:
        """Flux at a point, in straight lines between middles of cells; NaN outside."""
        col = (east_m - self.west_m) / self.cell_m - 0.5
        row = (self.top_m - north_m) / self.cell_m - 0.5
        left, upper = int(np.floor(col)), int(np.floor(row))
        rows, cols = self.east_m2_s.shape
        if not (0 <= left < cols - 1 and 0 <= upper < rows - 1):
            return np.nan, np.nan
        right, lower = col - left, row - upper
        weights = np.outer((1 - lower, lower), (1 - right, right))
        square = slice(upper, upper + 2), slice(left, left + 2)
        east = float((weights * self.east_m2_s[square]).sum())
        north = float((weights * self.north_m2_s[square]).sum())
        return east, north


def find(analysis: Analysis, store: Store) -> tuple[FlowLine, ...]:
    """Flow lines on the shown ground; none where no air was let run."""
    if analysis.cold_air.night is None:
        return ()
    night, shown = analysis.cold_air.night, analysis.terrain.elevation_m.bounds
    inputs = {
        "flux": np.stack([night.east_m2_s, night.north_m2_s]),
        "depth": night.depth_m.values,
        "place": [*night.depth_m.bounds, night.depth_m.cell_size_m],
        "shown": shown,
    }

    def compute() -> Arrays:
        found = along(night, shown)
        return {
            "corners": np.concatenate(
                [np.empty((0, 2)), *(each.line.coords for each in found)]
            ),
            "count": np.array([len(each.line.coords) for each in found], np.intp),
            "level": np.array([each.level for each in found], np.intp),
            "strength": np.array([each.strength_m2_s for each in found]),
        }

    kept = store.reuse("flow_lines", inputs, compute)
    lines = np.split(kept["corners"], np.cumsum(kept["count"]))[:-1]
    return tuple(
        FlowLine(LineString(line), level, strength)
        for line, level, strength in zip(
            lines, kept["level"].tolist(), kept["strength"].tolist(), strict=True
        )
    )


def along(night: Night, shown: Bounds) -> tuple[FlowLine, ...]:
    """Evenly spaced lines along the flux of a night, the widest spacing first.

    Each begins in the strongest flux that is a spacing away from all lines before it
    and is followed up and down the flow, in steps of half a cell, until the air no
    longer runs, the shown ground ends, or a line of its level or a stronger one lies
    within half a spacing (the even spacing of Jobard & Lefer 1997, "Creating
    evenly-spaced streamlines of arbitrary density"; levels and order are our own).
    Lines shorter than their spacing are left out, and so are the closer levels of a
    large ground.

    Parameters
    ----------
    shown
        Ground that lines are drawn on.

    Returns
    -------
    lines
        Level by level, the strongest beginning first. The same night gives the same.
    """
    stream = running(night)
    seeds_m = _seeds(stream, shown)
    found: list[FlowLine] = []
    drawn_m = np.empty((0, 2))
    west, south, east, north = shown
    area_m2 = (east - west) * (north - south)
    for level, spacing_m in enumerate(SPACINGS_M, start=1):
        if level > 1 and area_m2 > MOST_SQUARES * spacing_m**2:
            break
        free = _clear_of(drawn_m, seeds_m, spacing_m)
        tree = cKDTree(drawn_m) if len(drawn_m) else None
        while free.any():
            first = int(np.argmax(free))
            free[first] = False
            points_m = _both_ways(stream, seeds_m[first], shown, tree, spacing_m)
            line = LineString(points_m) if len(points_m) > 1 else None
            if line is None or line.length < spacing_m:
                continue
            found.append(FlowLine(line, level, _strength(stream, points_m)))
            drawn_m = np.concatenate([drawn_m, points_m])
            tree = cKDTree(drawn_m)
            free[free] = _clear_of(points_m, seeds_m[free], spacing_m)
    return tuple(found)


def running(night: Night | CentralRun) -> Stream:
    """The flux where it counts as running."""
    depth = night.depth_m
    flux = np.hypot(night.east_m2_s, night.north_m2_s)
    runs = (flux >= LEAST_M2_S) & (flux >= SLOWEST_M_S * depth.values)
    known = ~np.isnan(depth.values)
    east, north = (
        np.where(known, np.where(runs, part, 0.0), np.nan)
        for part in (night.east_m2_s, night.north_m2_s)
    )
    return Stream(east, north, depth.transform.c, depth.transform.f, depth.cell_size_m)


def _seeds(stream: Stream, shown: Bounds) -> Floats:
    """Middles of shown cells in which air runs, the strongest flux first."""
    flux = np.nan_to_num(np.hypot(stream.east_m2_s, stream.north_m2_s))
    row, col = np.nonzero(flux)
    order = np.argsort(-flux[row, col], kind="stable")
    east_m = stream.west_m + (col[order] + 0.5) * stream.cell_m
    north_m = stream.top_m - (row[order] + 0.5) * stream.cell_m
    west, south, east, north = shown
    inside = (
        (west <= east_m) & (east_m <= east) & (south <= north_m) & (north_m <= north)
    )
    return np.asarray(np.stack([east_m, north_m], axis=1)[inside], np.float64)


def _clear_of(
    drawn_m: Floats, points_m: Floats, spacing_m: float
) -> npt.NDArray[np.bool_]:
    """Which points lie a spacing or more from all that is drawn."""
    if not len(drawn_m) or not len(points_m):
        return np.ones(len(points_m), bool)
    # Most lie far from all of it: only those beside it are measured.
    beside = (
        (points_m > drawn_m.min(axis=0) - spacing_m)
        & (points_m < drawn_m.max(axis=0) + spacing_m)
    ).all(axis=1)
    nearest_m, _ = cKDTree(drawn_m).query(points_m[beside])
    clear = np.ones(len(points_m), bool)
    clear[beside] = nearest_m >= spacing_m
    return clear


def _both_ways(
    stream: Stream,
    seed_m: Floats,
    shown: Bounds,
    tree: cKDTree | None,
    spacing_m: float,
) -> Floats:
    """Points of the line through a seed, from its upper to its lower end."""
    seed = float(seed_m[0]), float(seed_m[1])
    down = _followed(stream, [seed], shown, tree, spacing_m, 1.0)
    return np.array(_followed(stream, down[::-1], shown, tree, spacing_m, -1.0)[::-1])


def _followed(
    stream: Stream,
    trail: Sequence[Point],
    shown: Bounds,
    tree: cKDTree | None,
    spacing_m: float,
    down: float,
) -> list[Point]:
    """A trail of points followed on from its last, down the flow (1) or up (-1)."""
    step_m = down * STEP_CELLS * stream.cell_m
    back = int(np.ceil(ROUND * spacing_m / 2 / abs(step_m)))
    west, south, east, north = shown
    points = list(trail)
    while True:
        at = _next(stream, points[-1], step_m)
        if at is None or not (west <= at[0] <= east and south <= at[1] <= north):
            return points
        if tree is not None and tree.query(at)[0] < spacing_m / 2:
            return points
        if len(points) > back:
            gap_m = np.subtract(points[:-back], at)
            if np.hypot(gap_m[:, 0], gap_m[:, 1]).min() < spacing_m / 2:
                return points
        points.append(at)


def _next(stream: Stream, at: Point, step_m: float) -> Point | None:
    """A step on along the direction half-way through it (midpoint rule).

    None where the air does not run, here or there.
    """
    here = _direction(stream, at)
    half = here and _direction(stream, _moved(at, here, step_m / 2))
    there = half and _moved(at, half, step_m)
    return there if there and _direction(stream, there) else None


def _moved(at: Point, direction: Point, step_m: float) -> Point:
    return at[0] + direction[0] * step_m, at[1] + direction[1] * step_m


def _direction(stream: Stream, at: Point) -> Point | None:
    """Unit vector of the flux; None where the air does not run."""
    east, north = stream.at(*at)
    flux = float(np.hypot(east, north))
    return (east / flux, north / flux) if flux >= LEAST_M2_S else None


def _strength(stream: Stream, points_m: Floats) -> float:
    flux = [np.hypot(*stream.at(*point)) for point in points_m]
    return float(np.mean(flux))
