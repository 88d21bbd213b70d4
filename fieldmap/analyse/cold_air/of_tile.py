"""Cold air of one tile of a region: how deep it lies, and how wet the ground is."""

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import shapely

from fieldmap.analyse.cold_air import flow
from fieldmap.analyse.cold_air.ground import WIDE_REACH_M, Heights, ground_around
from fieldmap.analyse.cold_air.offset import LIKELIEST, drawn
from fieldmap.model.raster import Bounds, Raster
from layers import coldair, coldness, scatter

Floats = npt.NDArray[np.float64]

FINE_HALO_M = 200.0  # of fine heights around a tile; twice what keeps .1 °C
REACH_M = WIDE_REACH_M  # as far as coarser heights are looked at


def night_over(
    heights: Heights,
    tile: Bounds,
    parcels: gpd.GeoDataFrame,
    surroundings: gpd.GeoDataFrame,
    hours: float,
    *,
    on_card: bool = False,
) -> Raster:
    """Depth of a thin, the central and a deep layer [m], and wetness, on a tile's cells.

    The air runs for a fixed time over all that drains onto the tile within `REACH_M`,
    and 400 m around it, as over the ground of a single site.

    Parameters
    ----------
    heights
        The tile with `FINE_HALO_M` around it, and coarser heights as far as `REACH_M`.
    parcels
        With `ground`, those near the tile; they are no water, however level.
    on_card
        Whether a graphics card computes the flow.

    Returns
    -------
    raster
        (4, rows, cols); NaN where the ground is missing or wide water.
    """
    box = shapely.box(*tile)
    ground = ground_around(
        heights,
        [box],
        surroundings,
        [shapely.box(*heights.fine.bounds)],
        most_cells=2**62,
        land=parcels.geometry,
    )
    drain = coldair.drain_on_card if on_card else coldair.drain
    depths = flow.depths_m(ground, parcels, surroundings, hours, drain)
    values = np.concatenate([depths.values, ground.wetness.values[np.newaxis]])
    whole = depths.with_values(values)
    return whole.clip(whole.window(tile))


def coldness_c(night: Floats) -> Floats:
    """How cold a night makes places, (answers, ...), of what `night_over` gives.

    As `offset.coldness_at`: run by run, weights within.
    """
    wetness = night[3]
    return np.concatenate(
        [coldness.coldness_c(depth_m, wetness) for depth_m in night[:3]]
    )


def offset_c(cold_c: Floats, reference_c: Floats) -> Floats:
    """Offset of places against the reference of a region: low, central, high.

    Parameters
    ----------
    cold_c
        (answers, ...) as `coldness_c` gives it.
    reference_c
        (answers,).

    Returns
    -------
    offset
        (3, ...) [°C], as for the plots of one site. A place is compared with the middle
        of many that lie far off, so all that terrain does not tell of it is in the range.
    """
    limits_c = coldness.COLDEST_C, coldness.WARMEST_C
    answers_c = np.clip(coldness.offsets_c(cold_c, reference_c), *limits_c)
    astray_c = scatter.Scatter().place_c
    range_c = coldness.range_c(answers_c, LIKELIEST, drawn(None), astray_c)
    return np.clip(range_c, *limits_c)
