"""Lines around ground that a question asks for: where water gathers, where it is steepest."""

from collections.abc import Iterable

import numpy as np
import shapely
from rasterio.features import geometry_mask
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.water import GATHERS_FROM
from fieldmap.model.raster import Raster
from fieldmap.show.contours import lines_at

# By these names a picture asks for them.
WET, STEEPEST = "wet-ground", "steepest-ground"
SAME_PERCENT = 2.0  # falls of plots that differ less are alike (a choice)
SHORTEST_M = 5.0  # of a line that is drawn
SIMPLER_M = 0.15


def around_wet(wetness: Raster, plots: Iterable[BaseGeometry]) -> BaseGeometry:
    """Lines on the plots around ground on which rain water gathers; empty where none does.

    Parameters
    ----------
    wetness
        Wetness index of the ground [ln m]; NaN where it is not known.
    plots
        Outlines of the plots, on the same grid.
    """
    return _lines(wetness, GATHERS_FROM, shapely.union_all(list(plots)))


def around_steepest(
    fall_percent: Raster, plots: Iterable[BaseGeometry]
) -> BaseGeometry:
    """Lines on the plots around ground that is as steep as their steepest.

    Empty where that is half of the plots or more, for then no ground stands out.

    Parameters
    ----------
    fall_percent
        Grade of the smoothed ground [%]; NaN where it is not known.
    plots
        Outlines of the plots, on the same grid.
    """
    planted = shapely.union_all(list(plots))
    inside = geometry_mask(
        [planted], fall_percent.shape, fall_percent.transform, invert=True
    )
    falls = fall_percent.values[inside]
    falls = falls[np.isfinite(falls)]
    if not falls.size:
        return shapely.MultiLineString()
    least = float(falls.max()) - SAME_PERCENT
    if np.mean(falls >= least) >= 0.5:
        return shapely.MultiLineString()
    return _lines(fall_percent, least, planted)


def _lines(values: Raster, level: float, planted: BaseGeometry) -> BaseGeometry:
    """Lines of one value on the plots."""
    found = [
        shapely.LineString(points).simplify(SIMPLER_M).intersection(planted)
        for points in lines_at(values, level)
        if len(points) > 1
    ]
    parts = [
        part
        for line in found
        for part in shapely.get_parts(line)
        if part.geom_type == "LineString" and part.length >= SHORTEST_M
    ]
    return shapely.MultiLineString(parts)
