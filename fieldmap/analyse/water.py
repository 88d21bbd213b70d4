"""Where rain water gathers, by the shape of the ground."""

import numpy as np
from rasterio.transform import from_origin

from fieldmap.cache import Arrays, Store
from fieldmap.model.raster import Raster
from layers import drainage

# From this wetness index on ground counts as a place where water gathers: what drains
# through a metre of contour comes to 220 m on a grade of one in a hundred (a choice, no
# source; soil and drains decide as much).
GATHERS_FROM = 10.0
DRY_BELOW = 8.0
# The index of a line along which water runs is that of a cell as wide as this: on wider
# cells more ground would count as wet.
CELL_M = 5.0


def wetness_index(heights: Raster, shown: Raster, store: Store) -> Raster:
    """Wetness index on the shown cells, worked out on cells of 5 m whatever is given.

    Parameters
    ----------
    heights
        Ground that drains onto the plots; water from beyond it is not counted.
    shown
        Fine ground of the shown cells.
    store
        Where unchanged results are taken from.
    """
    even = _on_even_cells(heights)

    def compute() -> Arrays:
        return {"index": drainage.wetness_index(even.values, even.cell_size_m)}

    inputs = {"ground": even.values, "cell": even.cell_size_m}
    index = even.with_values(store.reuse("wetness", inputs, compute)["index"])
    return shown.with_values(index.read_on(shown))


def gathers(index: Raster) -> Raster:
    """1 where water gathers, 0 elsewhere, NaN where not known."""
    wet = index.values >= GATHERS_FROM
    return index.with_values(np.where(np.isnan(index.values), np.nan, wet))


def _on_even_cells(heights: Raster) -> Raster:
    """Heights on cells of `CELL_M`, in straight lines between the given ones."""
    if abs(heights.cell_size_m - CELL_M) < 0.1:
        return heights
    west, south, east, north = heights.bounds
    rows, cols = (round((north - south) / CELL_M), round((east - west) / CELL_M))
    shape = max(rows, 3), max(cols, 3)
    transform = from_origin(west, north, CELL_M, CELL_M)
    even = Raster(np.empty(shape), transform, heights.crs)
    return even.with_values(heights.carried_on().interpolate(*even.middles))
