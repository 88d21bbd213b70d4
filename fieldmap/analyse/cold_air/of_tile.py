"""Cold air of one tile of a region: how deep it lies, and how wet the ground is.

A tile is run on fine cells with some ground around it. What lies farther off, where a
valley fills or a stream comes from, is run on coarse cells with much ground around; and
once more on as little ground as the fine ones have. What the little ground lacks is the
difference of the two, and is added to what the fine cells say.
"""

from typing import NamedTuple

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import shapely

from fieldmap.analyse.cold_air import flow
from fieldmap.analyse.cold_air.ground import FlowGround, Heights, ground_around
from fieldmap.analyse.cold_air.offset import LIKELIEST, drawn
from fieldmap.model.raster import Raster, Window
from layers import coldair, coldness, drainage, scatter

Floats = npt.NDArray[np.float64]

# Fine cells around a tile, and coarse ones around it (multiples of a coarse cell: see
# `model.region.COARSER`). How far off answers then are: `benchmarks/bench_region.py`.
FINE_CELLS, WIDE_CELLS = 100, 400
MOST_CELLS = 2**62  # tiles are as large as they are made


class Night(NamedTuple):
    """What makes the night of a tile, apart from its ground.

    Attributes
    ----------
    parcels
        With `ground`, as `Site.plots`; they are no water, however level.
    surroundings
        As `Site.surroundings`.
    hours
        How long the air runs, the same on all tiles.
    on_card
        Whether a graphics card computes the flow.
    """

    parcels: gpd.GeoDataFrame
    surroundings: gpd.GeoDataFrame
    hours: float
    on_card: bool = False


def depths_m(heights: Raster, night: Night) -> Raster:
    """Depth of a thin, the central and a deep layer after a night over all of the ground.

    Returns
    -------
    raster
        (3, rows, cols) on the cells of the heights; NaN where these are missing or wide
        water.
    """
    drain = coldair.drain_on_card if night.on_card else coldair.drain
    ground = _ground(heights, night)
    return flow.depths_m(ground, night.parcels, night.surroundings, night.hours, drain)


def night_over(
    fine: Raster, filled_m: Floats, coarse: Raster, wide_m: Raster, night: Night
) -> Raster:
    """Depths and wetness on fine cells; what they lack near their rim is added.

    Parameters
    ----------
    fine
        Heights of a tile and `FINE_CELLS` around it.
    filled_m
        The same with hollows filled as in all of the region.
    coarse
        Heights on coarse cells, `WIDE_CELLS` of them around the tile, or as far as any
        are known.
    wide_m
        (3, rows, cols) `depths_m` of coarse heights that reach as far.
    night
        Parcels, surroundings and hours of the night.

    Returns
    -------
    raster
        (4, rows, cols): depth of a thin, the central and a deep layer [m], wetness.
    """
    near = coarse.window_on(fine.bounds)
    little = depths_m(coarse.clip(near), night)
    much = wide_m.clip(wide_m.window_on(little.bounds))
    lacks = little.with_values(_root(much.values) - _root(little.values)).carried_on()
    ran = depths_m(fine, night)
    root = _root(ran.values) + np.nan_to_num(lacks.interpolate(*ran.middles))
    arrives = arriving_m2(fine, coarse, near)
    land_m = _ground(fine, night).land_m.values
    wetness = drainage.cold_air_wetness(
        land_m, fine.cell_size_m, np.fmax(filled_m, land_m), arrives
    )
    values = np.concatenate([np.maximum(root, 0.0) ** 2, wetness[np.newaxis]])
    return ran.with_values(values)


def arriving_m2(fine: Raster, coarse: Raster, near: Window) -> Floats:
    """Ground beyond the fine cells whose water arrives at each of them [m²].

    By the ways over coarse ground, at the lowest fine cell of the coarse one.

    Parameters
    ----------
    fine
        Heights on fine cells [m].
    coarse
        Heights on coarse cells that reach farther; a cell holds a whole number of fine
        ones.
    near
        Coarse cells that the fine ones fill, as rows and columns.
    """
    enters = drainage.arriving_m2(coarse.values, coarse.cell_size_m, near)
    arrives = np.zeros(fine.shape)
    times = round(coarse.cell_size_m / fine.cell_size_m)
    for row, col in zip(*np.nonzero(enters), strict=True):
        block = (
            slice(row * times, (row + 1) * times),
            slice(col * times, (col + 1) * times),
        )
        ground = fine.values[block]
        if np.isnan(ground).all():
            continue
        low = np.unravel_index(np.nanargmin(ground), ground.shape)
        arrives[row * times + low[0], col * times + low[1]] += enters[row, col]
    return arrives


def _ground(heights: Raster, night: Night) -> FlowGround:
    """All of the ground as one that air runs over."""
    whole = [shapely.box(*heights.bounds)]
    return ground_around(
        Heights(heights, None),
        whole,
        night.surroundings,
        most_cells=MOST_CELLS,
        land=night.parcels.geometry,
    )


def _root(depths: Floats) -> Floats:
    return np.asarray(np.sqrt(np.maximum(depths, 0.0)))


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
