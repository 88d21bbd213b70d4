"""What the shape of the ground alone says of cold air, without letting it run."""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from fieldmap.cache import Arrays, Store
from fieldmap.model.raster import Raster, Window
from layers import coldair, drainage, terrain

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

# Shallower hollows are noise, where the site does not say how far heights may be out.
HOLLOW_FROM_M = 0.3


class Shape(NamedTuple):
    """What the shape of the ground alone says of cold air.

    Attributes
    ----------
    hollow_m
        (rows, cols) of all of it: depth under the spill.
    has_signal
        The same cells: where the ground says anything at all.
    pool_class
        Of the shown cells alone, by Lundquist et al. 2008: 1 collects cold air, 0 no
        signal, -1 does not.
    """

    hollow_m: Floats
    has_signal: Flags
    pool_class: Floats


def shape_of(
    smooth: Raster, shown: Window, radius_m: float, error_m: float | None, store: Store
) -> Shape:
    """What hollows, heights and bends say, each cell beside those within a radius.

    Parameters
    ----------
    smooth
        Smoothed heights of all known ground [m]; NaN where missing.
    shown
        Rows and columns of the shown cells in it.
    radius_m
        Distance within which a cell is compared with others.
    error_m
        How far heights may be out [m]: shallower hollows are noise. None takes 0.3 m.
    store
        Where the same ground is taken from.
    """
    ground_m, cell_m = smooth.values, smooth.cell_size_m
    shallow_m = HOLLOW_FROM_M if error_m is None else error_m

    def compute() -> Arrays:
        hollow_m = drainage.hollow_depth_m(ground_m)
        hollow_m[hollow_m < shallow_m] = 0.0
        has_signal = coldair.tells_something(
            ground_m, hollow_m, cell_m, radius_m, shallow_m
        )
        slope_deg, _ = terrain.slope_and_aspect_deg(ground_m, cell_m)
        rank = coldair.lowness_rank(ground_m, cell_m, radius_m, shown)
        curvature = coldair.curvature_over(ground_m, cell_m, radius_m)[shown]
        pool_class = coldair.cold_pool_class(slope_deg[shown], rank, curvature)
        pool_class[~has_signal[shown] & ~np.isnan(pool_class)] = coldair.NO_SIGNAL
        return Shape(hollow_m, has_signal, pool_class)._asdict()

    lengths = {"cell": cell_m, "radius": radius_m, "shallow": shallow_m}
    edges = [[part.start, part.stop] for part in shown]
    inputs = {"ground": ground_m, "shown": edges, **lengths}
    return Shape(**store.reuse("hollows", inputs, compute))
