"""Ground between coarse heights: interpolated around the plots, and how far out it may be."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt
from rasterio.transform import from_origin
from scipy import ndimage

from fieldmap.model.raster import Raster, grown
from fieldmap.model.site import COARSE_FROM_M, Site

# Cells of the ground between, and how far around the plots it goes (choices).
FINE_M = 2.0
FINE_AROUND_M = 600.0
PAD = 10  # cells by which heights go on as they end, so that a spline has no edge
# How far out heights may be where `site.toml` does not say. Every 10 m or so: 1.5 m
# (RMSE of the national model of the USA against benchmarks, Gesch et al. 2014, USGS
# OFR 2014-1008; from memory). From satellites, every 30 m: 2 m between places near each
# other (Copernicus DEM handbook, relative error of nine in ten; from memory). Whole
# metres may hide a metre.
ERROR_M = 1.5
SATELLITE_FROM_M, SATELLITE_ERROR_M = 20.0, 2.0
WHOLE_METRE_ERROR_M = 1.0


def with_near_ground(site: Site) -> Site:
    """The site with heights no coarser than 2 m around its plots.

    Coarser ones are interpolated there by a cubic spline, and stay as they are farther
    off, as wider ground. Where nothing says how far the heights may be out, that follows
    from their kind.
    """
    given = site.elevation
    ground = site.settings.ground
    if ground.elevation_error_m is None:
        error_m = usual_error_m(given)
        ground = ground.model_copy(update={"elevation_error_m": error_m})
    settings = site.settings.model_copy(update={"ground": ground})
    if given.cell_size_m < COARSE_FROM_M:
        return replace(site, settings=settings)
    window = given.window(grown(site.plots.total_bounds, FINE_AROUND_M))
    return replace(
        site,
        settings=settings,
        elevation=_between(given.clip(window)),
        wide_elevation=given if site.wide_elevation is None else site.wide_elevation,
        heights_every_m=given.cell_size_m,
    )


def usual_error_m(heights: Raster) -> float | None:
    """How far heights of their kind may be out; None for fine ones, where surveys differ."""
    known = heights.values[np.isfinite(heights.values)]
    whole = WHOLE_METRE_ERROR_M if bool((known == np.round(known)).all()) else 0.0
    of_cell = 0.0
    if heights.cell_size_m >= COARSE_FROM_M:
        of_satellite = heights.cell_size_m >= SATELLITE_FROM_M
        of_cell = SATELLITE_ERROR_M if of_satellite else ERROR_M
    is_level = np.ptp(known) == 0 if known.size else True
    return max(of_cell, 0.0 if is_level else whole) or None


def _between(coarse: Raster) -> Raster:
    """Heights on cells of 2 m or less within the same bounds; missing ones stay so."""
    times = math.ceil(coarse.cell_size_m / FINE_M)
    size_m = coarse.cell_size_m / times
    rows, cols = (count * times for count in coarse.shape)
    west, _, _, north = coarse.bounds
    at = np.meshgrid(
        *((np.arange(count) + 0.5) / times - 0.5 for count in (rows, cols)),
        indexing="ij",
    )
    values = _spline(coarse.carried_on().values, at)
    missing = np.isnan(coarse.values).repeat(times, axis=0).repeat(times, axis=1)
    values[missing] = np.nan
    return Raster(values, from_origin(west, north, size_m, size_m), coarse.crs)


def _spline(
    heights: npt.NDArray[np.float64], at: Sequence[npt.NDArray[np.float64]]
) -> npt.NDArray[np.float64]:
    """Cubic spline through heights, which go on beyond the border as they end there."""
    pad = min(PAD, min(heights.shape) - 1)
    on = np.pad(heights, pad, mode="reflect", reflect_type="odd") if pad else heights
    row, col = (each + pad for each in at)
    return np.asarray(ndimage.map_coordinates(on, [row, col], order=3, mode="nearest"))
