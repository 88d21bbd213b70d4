"""Coordinate reference systems, and the way from one to another."""

import functools

import pyproj

WGS84 = pyproj.CRS.from_epsg(4326)


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
