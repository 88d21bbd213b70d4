"""Lines of equal height, for drawings."""

from collections.abc import Iterator
from typing import NamedTuple

import contourpy
import numpy as np
import numpy.typing as npt
from shapely.geometry import LineString

from fieldmap.model.raster import Raster

STEPS_M = (0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0)
MOST = 12  # steps over the heights that are shown


class Contour(NamedTuple):
    """A line of one height, in the CRS of the heights."""

    height_m: float
    line: LineString


def step_m(low_m: float, high_m: float) -> float:
    """The smallest round step that cuts a range of heights at most a dozen times.

    Examples
    --------
    >>> step_m(408.2, 414.9), step_m(100.0, 100.2), step_m(0.0, 5000.0)
    (1.0, 0.25, 50.0)
    """
    return next(
        (step for step in STEPS_M if high_m - low_m <= MOST * step), STEPS_M[-1]
    )


def contours(heights: Raster, every_m: float) -> Iterator[Contour]:
    """Every line of a whole multiple of a step, the lowest first; none over missing cells.

    Lines run between the middles of cells, in straight pieces.
    """
    if not np.isfinite(heights.values).any():
        return
    lowest, highest = (
        int(np.floor(end(heights.values) / every_m)) for end in (np.nanmin, np.nanmax)
    )
    for step in range(lowest + 1, highest + 1):
        for points in lines_at(heights, step * every_m):
            if len(points) > 1:
                yield Contour(step * every_m, LineString(points))


def lines_at(heights: Raster, level: float) -> list[npt.NDArray[np.float64]]:
    """Lines of one value, (points, 2) in the raster's CRS; higher cells on the left."""
    west, south, east, north = heights.bounds
    half_m = heights.cell_size_m / 2
    rows, cols = heights.shape
    made = contourpy.contour_generator(
        np.linspace(west + half_m, east - half_m, cols),
        np.linspace(north - half_m, south + half_m, rows),
        np.ma.masked_invalid(heights.values),
        name="serial",
    )
    # The library has higher cells on the left where rows run north; here they run south.
    return [np.asarray(line, float)[::-1] for line in made.lines(level)]
