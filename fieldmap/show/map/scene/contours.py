"""Lines of equal height, with the steps that a closer look takes."""

from collections.abc import Mapping, Sequence
from typing import NamedTuple, TypedDict

import numpy as np
import numpy.typing as npt
import shapely
from scipy import ndimage
from shapely.geometry.base import BaseGeometry

from fieldmap.model.raster import Raster
from fieldmap.show.contours import lines_at
from fieldmap.show.map.scene.frame import Frame
from fieldmap.show.map.scene.packed import Lines, lines, packed
from fieldmap.show.text.quantities import FEET_PER_METRE, Units

Floats = npt.NDArray[np.float64]

SMOOTHED_M = 4.0  # standard deviation; so that lines tell of the ground, not of furrows
# An error under this share of the ground between two lines is not seen.
WITHIN = 0.06
SHORTEST_M = 6.0
NEAR_PLOTS_M = 80.0
MOST_POINTS = 150_000


class Step(NamedTuple):
    """From line to line, in whole steps of the finest, and how often one is strong."""

    steps: int
    index_every: int


class Ladder(NamedTuple):
    """The finest step [m] and those that are drawn, the finest first."""

    finest_m: float
    steps: tuple[Step, ...]


LADDERS: dict[Units, Ladder] = {
    # 0.25, 0.5, 1, 2, 5 and 10 m
    "metric": Ladder(
        0.25,
        (Step(1, 4), Step(2, 4), Step(4, 5), Step(8, 5), Step(20, 2), Step(40, 5)),
    ),
    # 1, 2, 5, 10, 20 and 50 ft
    "us": Ladder(
        1 / FEET_PER_METRE,
        (Step(1, 5), Step(2, 5), Step(5, 4), Step(10, 5), Step(20, 5), Step(50, 2)),
    ),
}
# Over many kilometres: 2, 5, 10, 20, 50 and 100 m; 10, 20, 50, 100, 200 and 500 ft.
WIDE_LADDERS: dict[Units, Ladder] = {
    "metric": Ladder(
        1.0,
        (Step(2, 5), Step(5, 4), Step(10, 5), Step(20, 5), Step(50, 2), Step(100, 5)),
    ),
    "us": Ladder(
        1 / FEET_PER_METRE,
        (
            *(Step(10, 5), Step(20, 5), Step(50, 4), Step(100, 5)),
            *(Step(200, 5), Step(500, 2)),
        ),
    ),
}
WHOLE_PLACE_FROM = 1  # steps of a ladder that are drawn beyond the plots too


class Contours(TypedDict):
    """Lines of the page: the height of each in whole steps of the finest.

    Higher ground lies to the left of each line, as one goes along it.
    """

    lines: Lines
    heights: str
    finest_m: float
    per_unit: float
    steps: list[list[int]]
    slope: float


def smoothed(heights_m: Raster, within_m: float = SMOOTHED_M) -> Raster:
    """Heights without furrows and noise; missing cells stay missing."""
    missing = np.isnan(heights_m.values)
    cells = within_m / heights_m.cell_size_m
    share = ndimage.gaussian_filter((~missing).astype(float), cells)
    summed = ndimage.gaussian_filter(
        np.nan_to_num(heights_m.values.astype(float)), cells
    )
    with np.errstate(invalid="ignore", divide="ignore"):
        return heights_m.with_values(np.where(missing, np.nan, summed / share))


def median_slope(heights_m: Raster, plots: BaseGeometry) -> float:
    """Rise per metre in the middle of all cells of the plots; 0 where none is known."""
    north, east = np.gradient(heights_m.values, heights_m.cell_size_m)
    shapely.prepare(plots)
    rise = np.hypot(east, north)[shapely.contains_xy(plots, *heights_m.middles)]
    return float(np.nanmedian(rise)) if np.isfinite(rise).any() else 0.0


def contours(
    heights_m: Raster,
    plots: BaseGeometry,
    frame: Frame,
    units: Units,
    ladders: Mapping[Units, Ladder] = LADDERS,
) -> Contours:
    """Lines of equal height for every look that is near enough to need them.

    Parameters
    ----------
    heights_m
        Missing cells have no lines.
    plots
        Fine lines are drawn on these and near them.
    frame
        Frame of the page, in which the lines are given.
    units
        "metric" for steps in metres, "us" for steps in feet.
    ladders
        Steps to choose from.
    """
    ground, ladder = smoothed(heights_m), ladders[units]
    slope = median_slope(ground, plots)
    near = plots.buffer(NEAR_PLOTS_M)
    shapely.prepare(near)
    found: list[tuple[int, Floats]] = []
    points = 0
    drawn: list[Step] = []
    # From the coarsest on, until there are too many.
    for place in reversed(range(len(ladder.steps))):
        step = ladder.steps[place]
        region = near if place < WHOLE_PLACE_FROM else None
        new = [
            (level, line)
            for level in _levels(ground, ladder.finest_m, step.steps, drawn)
            for line in _drawn_at(ground, level, ladder.finest_m, region, step.steps)
        ]
        points += sum(len(line) for _level, line in new)
        if points > MOST_POINTS:
            break
        found += new
        drawn.append(step)
    return Contours(
        lines=lines([frame.points(line, heights_m.crs) for _level, line in found]),
        heights=packed([level for level, _line in found], "<i4"),
        finest_m=ladder.finest_m,
        per_unit=FEET_PER_METRE if units == "us" else 1.0,
        steps=[list(step) for step in reversed(drawn)],
        slope=round(slope, 4),
    )


def _levels(
    ground: Raster, finest_m: float, step: int, drawn: Sequence[Step]
) -> list[int]:
    """Heights of a step, in whole finest steps, that no coarser step has drawn."""
    if not np.isfinite(ground.values).any():
        return []
    low, high = np.nanmin(ground.values), np.nanmax(ground.values)
    first = int(np.ceil(low / (finest_m * step)))
    last = int(np.floor(high / (finest_m * step)))
    every = (number * step for number in range(first, last + 1))
    return [
        level
        for level in every
        if not any(level % coarser.steps == 0 for coarser in drawn)
    ]


def _drawn_at(
    ground: Raster,
    level: int,
    finest_m: float,
    region: BaseGeometry | None,
    step: int,
) -> list[Floats]:
    """Lines at a height, cut to a region, without points that change nothing."""
    found: list[Floats] = []
    for points in lines_at(ground, level * finest_m):
        line: BaseGeometry = shapely.LineString(points)
        if region is not None:
            line = line.intersection(region)
        line = shapely.line_merge(line).simplify(WITHIN * max(1.0, step * finest_m))
        found += [
            shapely.get_coordinates(part)
            for part in shapely.get_parts(line)
            if part.length >= SHORTEST_M
        ]
    return found
