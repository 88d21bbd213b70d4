"""Rasters as pictures that lie where they belong on a web map.

Web maps stretch a picture in Web Mercator, so the grid is warped to that projection
first: stretching the grid of the site onto its box of longitudes and latitudes would be
metres wrong on a small field.
"""

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from affine import Affine
from rasterio.warp import Resampling, calculate_default_transform, reproject

from fieldmap.model.coordinates import WEB_MERCATOR, WGS84, transformer
from fieldmap.model.raster import Raster
from layers import terrain

OVERSAMPLING = 4
MOST_PIXELS = 1200
# Light from the north-west, as maps of relief are drawn, whatever the sun does.
LIGHT_FROM_DEG, LIGHT_ABOVE_DEG = 315.0, 45.0
LEAST_CONTRAST = 0.2  # of full light, below which shades are not stretched further

LatLonBounds = tuple[tuple[float, float], tuple[float, float]]


class Warped(NamedTuple):
    """Values on a Web Mercator grid."""

    values: npt.NDArray[np.float32]
    bounds: LatLonBounds


def warped(
    raster: Raster,
    resampling: Resampling = Resampling.nearest,
    most_pixels: int = MOST_PIXELS,
) -> Warped:
    """A single band in Web Mercator, finer than its cells so that edges stay put.

    Parameters
    ----------
    raster
        One band in the CRS of the site; NaN where there is no value, here and in what
        comes back.
    resampling
        How values between the cells are found.
    most_pixels
        Pixels of the longer side, at most.
    """
    rows, cols = raster.shape
    transform, width, height = calculate_default_transform(
        raster.crs, WEB_MERCATOR, cols, rows, *raster.bounds
    )
    finer = min(OVERSAMPLING, most_pixels / max(width, height))
    size = math.ceil(height * finer), math.ceil(width * finer)
    transform = transform * Affine.scale(1 / finer)
    values = np.full(size, np.nan, np.float32)
    # NaN on both sides: rasterio 1.4 leaves any other missing value as it is.
    reproject(
        raster.values.astype(np.float32),
        values,
        src_transform=raster.transform,
        src_crs=raster.crs,
        src_nodata=np.nan,
        dst_transform=transform,
        dst_crs=WEB_MERCATOR,
        dst_nodata=np.nan,
        resampling=resampling,
    )
    return Warped(values, _lat_lon_bounds(transform, size))


def shading(ground: Raster) -> npt.NDArray[np.float64]:
    """Brightness of the ground, 0 for its darkest and 1 for its brightest slopes."""
    lit = _lambert(ground)
    if not np.isfinite(lit).any():
        return lit
    dark, bright = np.nanpercentile(lit, (1, 99)).tolist()
    # Level ground is of one brightness and stays plain.
    spread = max(bright - dark, LEAST_CONTRAST)
    middle = (bright + dark) / 2
    return np.asarray(np.clip(0.5 + (lit - middle) / spread, 0.0, 1.0))


def _lambert(elevation_m: Raster) -> npt.NDArray[np.float64]:
    """Brightness 0-1 of dull ground lit from one side, heights exaggerated to show."""
    east, north = terrain.gradient(
        elevation_m.values.astype(np.float64), elevation_m.cell_size_m
    )
    steepness = np.hypot(east, north)
    typical = (
        float(np.nanpercentile(steepness, 90)) if np.isfinite(steepness).any() else 0
    )
    # Gentle ground is drawn steeper, but less than would turn noise into hills.
    exaggeration = float(np.clip(0.5 / max(typical, 1e-9), 1.0, 4.0))
    east, north = east * exaggeration, north * exaggeration
    azimuth, above = np.radians(LIGHT_FROM_DEG), np.radians(LIGHT_ABOVE_DEG)
    towards_light = east * np.sin(azimuth) + north * np.cos(azimuth)
    lit = (np.sin(above) - np.cos(above) * towards_light) / np.sqrt(
        1.0 + east**2 + north**2
    )
    return np.asarray(np.clip(lit, 0.0, 1.0))


def _lat_lon_bounds(transform: Affine, size: tuple[int, int]) -> LatLonBounds:
    to_degrees = transformer(WEB_MERCATOR, WGS84)
    rows, cols = size
    west, north = to_degrees.transform(transform.c, transform.f)
    east, south = to_degrees.transform(
        transform.c + cols * transform.a, transform.f + rows * transform.e
    )
    return (south, west), (north, east)
