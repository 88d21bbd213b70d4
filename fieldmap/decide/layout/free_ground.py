"""Where beds may lie: off edges, things that stand, and ground that is too steep."""

import geopandas as gpd
import numpy as np
import shapely
from rasterio import features
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from fieldmap.model.raster import Raster
from fieldmap.model.settings import Beds

# Ground that is steep on less than this is a bump, or noise of the heights (a choice).
LEAST_STEEP_M2 = 4.0


def within_setback(outline: Polygon, choices: Beds) -> BaseGeometry:
    """A plot within its keep-clear strip; empty where that leaves nothing."""
    return outline.buffer(-choices.setback_m, join_style="mitre")


def standing(surroundings: gpd.GeoDataFrame, setback_m: float) -> BaseGeometry:
    """Ground that no bed may touch: what stands or lies there, with the setback.

    An overhead line is no hindrance to a bed.
    """
    in_the_way = surroundings[surroundings["kind"] != "overhead line"]
    return shapely.union_all(list(in_the_way.geometry.buffer(setback_m)))


def too_steep(slope_deg: Raster, steepest_percent: float) -> BaseGeometry:
    """Ground that falls more than is stated: banks, ditch sides, risers of terraces.

    By whole cells of the ground as it was measured, not smoothed; missing cells are
    none.
    """
    values = slope_deg.values
    steep = values > np.degrees(np.arctan(steepest_percent / 100))
    found = features.shapes(
        steep.astype(np.uint8), mask=steep, transform=slope_deg.transform
    )
    shapes = [shapely.geometry.shape(each) for each, _value in found]
    return shapely.union_all([each for each in shapes if each.area >= LEAST_STEEP_M2])
