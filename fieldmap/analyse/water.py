"""Where rain water gathers, by the shape of the ground."""

import numpy as np

from fieldmap.cache import Arrays, Store
from fieldmap.model.raster import Raster
from layers import drainage

# From this wetness index on ground counts as a place where water gathers: what drains
# through a metre of contour comes to 220 m on a grade of one in a hundred (a choice, no
# source; soil and drains decide as much).
GATHERS_FROM = 10.0
DRY_BELOW = 8.0


def wetness_index(heights: Raster, shown: Raster, store: Store) -> Raster:
    """Wetness index on the shown cells.

    Parameters
    ----------
    heights
        Ground that drains onto the plots; water from beyond it is not counted.
    shown
        Fine ground of the shown cells.
    """

    def compute() -> Arrays:
        return {"index": drainage.wetness_index(heights.values, heights.cell_size_m)}

    inputs = {"ground": heights.values, "cell": heights.cell_size_m}
    index = heights.with_values(store.reuse("wetness", inputs, compute)["index"])
    return shown.with_values(index.read_on(shown))


def gathers(index: Raster) -> Raster:
    """1 where water gathers, 0 elsewhere, NaN where not known."""
    wet = index.values >= GATHERS_FROM
    return index.with_values(np.where(np.isnan(index.values), np.nan, wet))
