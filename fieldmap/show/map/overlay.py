"""Rasters as pictures that lie where they belong on a web map.

Web maps stretch a picture in Web Mercator, so the grid is warped to that projection
first: stretching the grid of the site onto its box of longitudes and latitudes would be
metres wrong on a small field.
"""

import io
import math
from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pyproj
from affine import Affine
from PIL import Image
from rasterio.warp import Resampling, calculate_default_transform, reproject

from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.raster import Raster
from fieldmap.show.kept import drawn
from fieldmap.show.map.offline import data_uri
from layers import terrain

WEB_MERCATOR = pyproj.CRS.from_epsg(3857)  # of maps in browsers
OVERSAMPLING = 4
MOST_PIXELS = 1200
# Light from the north-west, as maps of relief are drawn, whatever the sun does.
LIGHT_FROM_DEG, LIGHT_ABOVE_DEG = 315.0, 45.0
GREYS = 40
LIGHTEST, DARKEST = 255, 185
LEAST_CONTRAST = 0.2  # of full light, below which shades are not stretched further

LatLonBounds = tuple[tuple[float, float], tuple[float, float]]


class Overlay(NamedTuple):
    """A picture and its south-west and north-east corners (latitude, longitude)."""

    uri: str
    bounds: LatLonBounds


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

    `most_pixels` of the longer side, or fewer.
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


def classes(raster: Raster, breaks: Sequence[float], colours: Sequence[str]) -> Overlay:
    """Cells coloured by class; below the first break, and where missing, clear.

    Parameters
    ----------
    breaks
        Lower edge of each class, rising; the last class is open above.
    colours
        "#rrggbb", one for each class.
    """
    _cell, bounds = _cells_under(*raster.shape, raster.transform, raster.crs)
    inputs = {
        "place": [*raster.shape, *raster.transform, raster.crs.to_wkt()],
        "values": raster.values.astype(np.float32),
        "breaks": list(breaks),
        "colours": list(colours),
    }
    picture = drawn("classes", inputs, lambda: _classes(raster, breaks, colours))
    return Overlay(data_uri(picture, "image/png"), bounds)


def _classes(raster: Raster, breaks: Sequence[float], colours: Sequence[str]) -> bytes:
    cell, _bounds = _cells_under(*raster.shape, raster.transform, raster.crs)
    values = np.append(raster.values.astype(np.float32), np.float32(np.nan))[cell]
    # Index 0 is clear; NaN is sorted behind the last break, so it is set by hand.
    index = np.searchsorted(np.asarray(breaks), values, side="right")
    index[np.isnan(values)] = 0
    return _paletted(index, ("#000000", *colours))


@lru_cache(maxsize=4)  # all months, frames and changes lie on the same cells
def _cells_under(
    rows: int, cols: int, transform: Affine, crs: pyproj.CRS
) -> tuple[npt.NDArray[np.int32], LatLonBounds]:
    """Number of the cell under each pixel, -1 outside, and the picture's corners."""
    # Single precision tells 16 million cells apart, far more than are ever shown.
    numbers = np.arange(rows * cols, dtype=np.float32).reshape(rows, cols)
    under, bounds = warped(Raster(numbers, transform, crs))
    return np.where(np.isnan(under), -1, under).astype(np.int32), bounds


def relief(ground: Raster) -> Overlay:
    """Light and shade on the ground, grey and light, so that colours read on it."""
    values, bounds = warped(ground.with_values(shading(ground)), Resampling.bilinear)
    index = 1 + np.clip(values * GREYS, 0, GREYS - 1)
    index[np.isnan(values)] = 0
    greys = np.linspace(DARKEST, LIGHTEST, GREYS).round().astype(int)
    colours = [f"#{grey:02x}{grey:02x}{grey:02x}" for grey in greys]
    picture = _paletted(index, ("#000000", *colours))
    return Overlay(data_uri(picture, "image/png"), bounds)


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
    # Gentle ground is drawn steeper, but not so much that noise becomes hills.
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


def _paletted(index: npt.NDArray[np.generic], colours: Sequence[str]) -> bytes:
    """A PNG of numbered colours, the first of them clear."""
    picture = Image.fromarray(index.astype(np.uint8), "P")
    picture.putpalette(bytes.fromhex("".join(colours).replace("#", "")))
    file = io.BytesIO()
    picture.save(file, "PNG", compress_level=7, transparency=0)
    return file.getvalue()
