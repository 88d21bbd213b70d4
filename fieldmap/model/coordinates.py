"""Coordinate reference systems, and the way from one to another."""

import functools
from typing import Any, TypeVar

import geopandas as gpd
import pyproj
import shapely

Shapes = TypeVar("Shapes", gpd.GeoDataFrame, gpd.GeoSeries)

WGS84 = pyproj.CRS.from_epsg(4326)
WEB_MERCATOR = pyproj.CRS.from_epsg(3857)  # of maps in browsers


@functools.cache  # a transformer takes milliseconds to find and serves any number of points
def transformer(start: pyproj.CRS, end: pyproj.CRS) -> pyproj.Transformer:
    """From one CRS to another; east or longitude comes first in both.

    Examples
    --------
    >>> to_utm = transformer(WGS84, pyproj.CRS.from_epsg(32633))
    >>> east, north = to_utm.transform(15.0, 0.0)
    >>> round(east), round(north)
    (500000, 0)
    """
    return pyproj.Transformer.from_crs(start, end, always_xy=True)


def in_crs(shapes: Shapes, crs: pyproj.CRS) -> Shapes:
    """Shapes, or a table of them, in another CRS; missing shapes stay missing.

    `to_crs` of the library looks for the way anew each time, which takes seconds for a
    CRS whose datum bears no number.

    Examples
    --------
    >>> points = gpd.GeoSeries([shapely.Point(15.0, 0.0)], crs=WGS84)
    >>> round(in_crs(points, pyproj.CRS(32633)).x[0])
    500000
    """
    if shapes.crs.is_exact_same(crs):
        return shapes
    way: Any = transformer(shapes.crs, crs)
    shaped = shapes.geometry.to_numpy()
    moved = shapely.transform(shaped, way.transform, interleaved=False)
    if isinstance(shapes, gpd.GeoDataFrame):
        return shapes.set_geometry(moved, crs=crs)
    return gpd.GeoSeries(moved, index=shapes.index, crs=crs)
