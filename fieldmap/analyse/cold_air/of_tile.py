"""Cold air of one tile of a region: how deep it lies, and how wet the ground is.

A tile is run on fine cells with little ground around it. What lies farther off, where a
valley fills, is run before on coarser cells with much ground around; along the edge of
the fine cells the depth of the air is then that of the coarser ones all night long
(one-way nesting, as in models of the weather: Davies 1976, Q. J. R. Meteorol. Soc.
102:405-418, without his band of relaxation).
"""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import shapely
from rasterio.transform import from_origin

from fieldmap.analyse.cold_air import flow
from fieldmap.analyse.cold_air.ground import FlowGround, Heights, ground_around
from fieldmap.analyse.cold_air.offset import LIKELIEST, drawn
from fieldmap.model.raster import Bounds, Raster, Window, grown
from layers import coldair, coldness, drainage, scatter

Floats = npt.NDArray[np.float64]

# Fine cells around a tile; of them the outermost have the depth that coarser ones give.
FINE_CELLS, HELD_CELLS = 64, 8
# Coarse cells around as many tiles as share a run of them, and fine ones for their water.
# How far off answers then are: `benchmarks/validation/region_seams.py`.
WIDE_CELLS, WATER_CELLS = 600, 400
# Coarse cells beside the held ones that reading between cells and a grade need.
BESIDE_CELLS = 3
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

    @property
    def frames_h(self) -> tuple[float, ...]:
        """Hours after sunset at which coarse cells say how deep the air lies."""
        return (*(hour for hour in flow.FRAMES_H if hour < self.hours), self.hours)


class Frame(NamedTuple):
    """Cold air on coarse cells along the edge of the fine ones of a tile.

    Attributes
    ----------
    hours
        (hours,) after sunset.
    depth_m
        (runs, hours, cells) of a thin, the central and a deep layer.
    ground_m
        (cells,) height of the coarse cells.
    at
        (cells,) which cells of the raster these are, counted row after row.
    lie
        West, north, cell size [m], rows and columns of that raster.
    """

    hours: Floats
    depth_m: npt.NDArray[np.float32]
    ground_m: Floats
    at: npt.NDArray[np.int64]
    lie: Floats

    def spread(self, of_cells: Floats, like: Raster) -> Raster:
        """Values of the cells, (..., cells), as a raster in the CRS of another."""
        west, north, size, *shape = self.lie.tolist()
        rows, cols = map(round, shape)
        values = np.full((*of_cells.shape[:-1], rows * cols), np.nan)
        values[..., self.at] = of_cells
        lie = from_origin(west, north, size, size)
        return Raster(values.reshape(*of_cells.shape[:-1], rows, cols), lie, like.crs)


def frames(
    coarse: Raster, cell_m: float, tiles: Sequence[Bounds], night: Night
) -> list[Frame]:
    """What a night over much ground says of the surroundings of some tiles.

    Parameters
    ----------
    coarse
        Heights on coarse cells, `WIDE_CELLS` of them around all the tiles, or as far as
        any are known.
    cell_m
        Side of a fine cell.
    tiles
        Bounds of each tile.
    night
        Parcels, surroundings and hours of the night.
    """
    ground = _ground(coarse, night)
    cells = [_around(coarse, cell_m, bounds) for bounds in tiles]
    watched = np.zeros(coarse.shape, bool)
    hours = night.frames_h
    nights = [coldair.Night(night.hours, hours, watched)] * len(flow.RUNS)
    depths: list[list[npt.NDArray[np.float32]]] = [[] for _ in tiles]
    for air in _runs(ground, night, nights):
        for found, (window, at) in zip(depths, cells, strict=True):
            part = air.frames_m[:, *window]
            found.append(part.reshape(len(part), -1)[:, at])
    return [
        Frame(
            np.array(hours),
            np.stack(depth_m),
            part.values.ravel()[at],
            at,
            np.array(
                [part.transform.c, part.transform.f, part.cell_size_m, *part.shape]
            ),
        )
        for depth_m, (window, at) in zip(depths, cells, strict=True)
        for part in [coarse.clip(window)]
    ]


def _around(
    coarse: Raster, cell_m: float, tile: Bounds
) -> tuple[Window, npt.NDArray[np.int64]]:
    """Coarse cells along the edge of the fine ones of a tile: a window, and which of it."""
    beside_m = BESIDE_CELLS * coarse.cell_size_m
    edge = grown(tile, FINE_CELLS * cell_m)
    window = coarse.window(grown(edge, beside_m))
    inner = grown(edge, -(HELD_CELLS * cell_m + beside_m))
    return window, np.flatnonzero(_outside(coarse.clip(window), inner))


def depths_m(fine: Raster, tile: Bounds, frame: Frame, night: Night) -> Raster:
    """Depth of a thin, the central and a deep layer at the end of a night over a tile.

    Parameters
    ----------
    fine
        Heights of a tile and `FINE_CELLS` around it, or as far as any are known.
    tile
        Its bounds.
    frame
        What coarse cells say of its surroundings.
    night
        Parcels, surroundings and hours of the night.

    Returns
    -------
    raster
        (3, rows, cols) on the cells of the heights; NaN where these are missing or wide
        water.
    """
    ground = _ground(fine, night)
    rims = _rims(ground.land_m, tile, frame)
    watched = np.zeros(fine.shape, bool)
    nights = [coldair.Night(night.hours, (), watched, rim) for rim in rims]
    return fine.with_values(
        np.stack([air.depth_m for air in _runs(ground, night, nights)])
    )


def _runs(
    ground: FlowGround, night: Night, nights: Sequence[coldair.Night]
) -> Iterator[coldair.ColdAir]:
    drain = coldair.drain_on_card if night.on_card else coldair.drain
    return flow.runs(ground, night.parcels, night.surroundings, nights, drain)


def _rims(land: Raster, tile: Bounds, frame: Frame) -> Iterator[coldair.Rim | None]:
    """Depths along the edge of fine ground, for each run; None where nothing is known."""
    held = _held(land, tile)
    east_m, north_m = (side[held] for side in land.middles)
    ground = frame.spread(frame.ground_m, land)
    for depth_m in frame.depth_m:
        coarse_m = frame.spread(depth_m, land)
        read_m = _read_on(coarse_m, ground, (east_m, north_m), land.values[held])
        known = np.isfinite(read_m).all(axis=0)
        cells = held.copy()
        cells[held] = known
        hours = tuple(frame.hours.tolist())
        yield coldair.Rim(cells, hours, read_m[:, known]) if known.any() else None


def _held(land: Raster, tile: Bounds) -> npt.NDArray[np.bool_]:
    """Known cells within `HELD_CELLS` of where the fine ones of a tile end."""
    edge = grown(tile, FINE_CELLS * land.cell_size_m)
    inner = grown(edge, -HELD_CELLS * land.cell_size_m)
    return np.asarray(np.isfinite(land.values) & _outside(land, inner))


def _outside(cells: Raster, bounds: Bounds) -> npt.NDArray[np.bool_]:
    """Cells whose middle does not lie within bounds."""
    west, south, east, north = bounds
    east_m, north_m = cells.middles
    within = (east_m > west) & (east_m < east) & (north_m > south) & (north_m < north)
    return np.asarray(~within)


def _read_on(
    depth_m: Raster, ground: Raster, at: tuple[Floats, Floats], fine_m: Floats
) -> Floats:
    """Depths on fine cells by those on coarse ones, (hours, cells).

    Air that runs down a slope is as deep on fine ground as on coarse; air that stands in
    a pool has one surface. In between, by how much less than the ground its surface
    rises.
    """
    read = []
    for hour_m in depth_m.values:
        rises = [_rise(surface) for surface in (ground.values + hour_m, ground.values)]
        stands = 1.0 - np.minimum(1.0, rises[0] / np.maximum(rises[1], 1e-6))
        here = ground.with_values(np.stack([hour_m, stands, ground.values]))
        depth, share, height_m = here.interpolate(*at)
        read.append(np.maximum(0.0, depth + share * (height_m - fine_m)))
    return np.array(read)


def _rise(surface_m: Floats) -> Floats:
    """Rise of a surface from cell to cell, whichever way; 0 on a single row or column."""
    if min(surface_m.shape) < 2:
        return np.zeros(surface_m.shape)
    return np.asarray(np.hypot(*np.gradient(surface_m)))


def wetness(
    fine: Raster, filled_m: Floats, coarse: Raster, night: Night
) -> tuple[Floats, Floats]:
    """Where water gathers, and the same as the cold of still nights goes with it.

    Parameters
    ----------
    fine
        Heights of some tiles and `WATER_CELLS` around them, or as far as any are known.
    filled_m
        The same with hollows filled as in all of the region.
    coarse
        Heights on coarse cells that reach farther.
    night
        Parcels and surroundings, for what is water.

    Returns
    -------
    wetness, cold_air_wetness
        Of `drainage`, (rows, cols) each.
    """
    arrives = arriving_m2(fine, coarse, coarse.window_on(fine.bounds))
    land_m = _ground(fine, night).land_m.values
    return (
        drainage.wetness_index(fine.values, fine.cell_size_m, filled_m, arrives),
        drainage.cold_air_wetness(
            land_m, fine.cell_size_m, np.fmax(filled_m, land_m), arrives
        ),
    )


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


def coldness_c(night: Floats) -> Floats:
    """How cold a night makes places, (answers, ...), of depths of three runs and wetness.

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
