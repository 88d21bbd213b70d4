"""Wide water, over which cold air runs off and is gone: declared, or as heights show it."""

from collections.abc import Iterable

import geopandas as gpd
import numpy as np
import numpy.typing as npt
from scipy import ndimage
from shapely.geometry.base import BaseGeometry

from fieldmap.model.raster import Raster
from fieldmap.model.site import cells_in

Flags = npt.NDArray[np.bool_]

# Water that is nowhere so wide, a pond or a river, lets the cold air of the land lie over
# it (a choice, no source).
WIDE_M = 100.0
# Heights of a surface of water are flat to so much from cell to cell, and all over it
# (choices: finer than the noise of land that was measured).
FLAT_M, LEVEL_M = 0.012, 0.5


def open_water(
    surroundings: gpd.GeoDataFrame,
    plots: Iterable[BaseGeometry],
    heights: Raster,
    shows_level: Flags,
) -> Flags:
    """Cells of wide water: of the kind "water", or level without a plot on it.

    Parameters
    ----------
    surroundings
        As `Site.surroundings`.
    plots
        Outlines; level ground on which one lies is no water.
    heights
        Ground heights [m]; a cell without one is no water.
    shows_level
        (rows, cols): where heights are fine enough to tell water from level land, see
        `shows_level_ground`.
    """
    declared = surroundings.geometry[surroundings["kind"] == "water"]
    wide = [each for each in declared if not each.buffer(-WIDE_M / 2).is_empty]
    water = cells_in(wide, heights) if wide else np.zeros(heights.shape, bool)
    water |= _level_areas(heights, cells_in(plots, heights), shows_level)
    return np.asarray(water & ~np.isnan(heights.values))


def shows_level_ground(heights: Raster) -> bool:
    """Whether level heights are level ground: where all are whole metres, land has steps."""
    known_m = heights.values[~np.isnan(heights.values)]
    return bool((known_m != np.round(known_m)).any())


def _level_areas(heights: Raster, on_plots: Flags, shows_level: Flags) -> Flags:
    """Wide areas at one height."""
    ground_m = heights.values
    known = ~np.isnan(ground_m)
    highest = ndimage.maximum_filter(np.where(known, ground_m, np.inf), 3)
    lowest = ndimage.minimum_filter(np.where(known, ground_m, -np.inf), 3)
    flat = np.asarray((highest - lowest <= FLAT_M) & shows_level)
    if not flat.any():
        return flat
    label, count = ndimage.label(flat)
    numbers = np.arange(1, count + 1)
    half_m = ndimage.distance_transform_edt(np.pad(flat, 1))[1:-1, 1:-1]
    half_m *= heights.cell_size_m
    rise_m = ndimage.maximum(ground_m, label, numbers) - ndimage.minimum(
        ground_m, label, numbers
    )
    is_water = (
        (np.asarray(ndimage.maximum(half_m, label, numbers)) >= WIDE_M / 2)
        & (np.asarray(rise_m) <= LEVEL_M)
        & (np.asarray(ndimage.maximum(on_plots, label, numbers)) == 0)
    )
    found = np.concatenate([[False], is_water])[label]
    # The cells beside are level with it too, but for the land that they touch.
    return np.asarray(ndimage.binary_dilation(found) & known & (found | ~on_plots))
