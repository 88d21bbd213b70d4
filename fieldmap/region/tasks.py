"""What is computed of one tile: pure functions of the tile and files around it.

Each writes its files whole, with the key of all that went into them, and gives back
nothing but the name of its tile. Nothing here knows who calls, nor how often.
"""

from typing import NamedTuple

import geopandas as gpd
import numpy as np
import numpy.typing as npt
from rasterio.transform import from_origin

from fieldmap.analyse.cold_air import of_tile
from fieldmap.analyse.cold_air.ground import Heights
from fieldmap.analyse.light import nested_skyline
from fieldmap.analyse.light.sky import Sky
from fieldmap.model.raster import Bounds, Raster, grown
from fieldmap.model.region import COARSER, Tile
from fieldmap.model.site import LAPSE_C_PER_M
from fieldmap.read.elevation.tiles import HeightTiles
from fieldmap.region import files, layers
from fieldmap.region.season import SeasonTable
from fieldmap.region.tiles import GROUND, LAYERS, Place
from layers import drainage, horizon, sunlight, terrain, tiled_fill
from layers._grid import block_means

Floats = npt.NDArray[np.float64]

# Cells of each level around a tile that are looked at before the next coarser one
# takes over: on rough made ground (slopes of 10°) 99 of 100 angles are then within .02°
# of those of fine cells all over (benchmarks/bench_region.py).
HALO_CELLS = 512
# Ground around a tile whose water is counted: a stream from farther off counts as wet by
# then (1.3 km on cells of 5 m), and how much wetter it is, is left open.
WATER_CELLS = 256


def heights(place: Place, tile: Tile, tiles: HeightTiles, key: str) -> str:
    """Ground of one tile, from the files of the elevation."""
    layer = LAYERS[GROUND[0]]
    ground = tiles.read(place.lattice(layer).bounds(tile))
    files.write(place.file(layer, tile), ground, layer, key)
    return tile.name


def coarser(
    place: Place, tile: Tile, level: int, tiles: HeightTiles | None, key: str
) -> str:
    """Ground of one tile of a coarser level: means of the cells of the finer one.

    Parameters
    ----------
    tiles
        Of the elevation, for the first of the coarser levels; others are made of the
        tiles of the level before.
    """
    layer, before = LAYERS[GROUND[level]], LAYERS[GROUND[level - 1]]
    lattice, finer = place.lattice(layer), place.lattice(before)
    west, _, _, north = lattice.bounds(tile)
    transform = from_origin(west, north, lattice.cell_m, lattice.cell_m)
    ground = np.full((lattice.side, lattice.side), np.nan)
    for child in finer.touching(grown(lattice.bounds(tile), -lattice.cell_m)):
        bounds = finer.bounds(child)
        if tiles is None:
            fine = layers.read(place, before, bounds)
        else:
            fine = tiles.read(bounds)
        size = lattice.side // COARSER
        col = round((bounds[0] - west) / lattice.cell_m)
        row = round((north - bounds[3]) / lattice.cell_m)
        part = block_means(fine.values, COARSER)
        ground[row : row + size, col : col + size] = part
    files.write(
        place.file(layer, tile), Raster(ground, transform, place.crs), layer, key
    )
    return tile.name


def night_ground(place: Place, tile: Tile, tiles: HeightTiles, key: str) -> str:
    """Ground of one tile on the cells of the night: means of cells."""
    layer = LAYERS["elevation_night_m"]
    lattice = place.lattice(layer)
    fine = tiles.read(lattice.bounds(tile))
    means = block_means(fine.values, round(lattice.cell_m / fine.cell_size_m))
    transform = from_origin(
        fine.transform.c, fine.transform.f, lattice.cell_m, lattice.cell_m
    )
    files.write(
        place.file(layer, tile), Raster(means, transform, place.crs), layer, key
    )
    return tile.name


def rim(place: Place, tile: Tile, key: str) -> str:
    """What the outermost cells of one tile have to do with each other."""
    layer = LAYERS["elevation_night_m"]
    ground = layers.read(place, layer, place.lattice(layer).bounds(tile))
    found = tiled_fill.rim_of(ground.values)
    files.write_arrays(place.rim_file(tile), found._asdict(), key)
    return tile.name


def fill(place: Place, tile: Tile, spill_m: Floats, key: str) -> str:
    """Ground of one tile with its hollows filled, also those that go on beyond it."""
    layer = LAYERS["elevation_night_m"]
    ground = layers.read(place, layer, place.lattice(layer).bounds(tile))
    filled = tiled_fill.filled_m(ground.values, rim_of(place, tile), spill_m)
    into = LAYERS["filled_m"]
    files.write(place.file(into, tile), ground.with_values(filled), into, key)
    return tile.name


def rim_of(place: Place, tile: Tile) -> tiled_fill.Rim:
    """What `rim` found."""
    kept = files.read_arrays(place.rim_file(tile)) or {}
    return tiled_fill.Rim(*(kept[name] for name in tiled_fill.Rim._fields))


def wetness(place: Place, tile: Tile, key: str) -> str:
    """Where water gathers on one tile, by the ground as far as `WATER_CELLS` around."""
    into = LAYERS["wetness_index"]
    lattice = place.lattice(into)
    bounds = lattice.bounds(tile)
    around = grown(bounds, WATER_CELLS * lattice.cell_m)
    ground = _known(layers.read(place, LAYERS["elevation_night_m"], around), bounds)
    filled = layers.read(place, LAYERS["filled_m"], ground.bounds)
    index = ground.with_values(
        drainage.wetness_index(ground.values, ground.cell_size_m, filled.values)
    )
    made = index.clip(index.window(bounds))
    files.write(place.file(into, tile), made, into, key)
    return tile.name


def light(place: Place, tile: Tile, sky: Sky, smoothing_m: float, key: str) -> str:
    """Slope, aspect, skyline, sky view and light of one tile."""
    bounds = place.lattices.ground[0].bounds(tile)
    ground = _around(place, bounds)
    plain, window = ground[0], ground[0].window(bounds)
    smooth = plain.with_values(
        terrain.smoothed(plain.values, plain.cell_size_m, smoothing_m)
    )
    slope_deg, aspect_deg = (
        side[window]
        for side in terrain.slope_and_aspect_deg(plain.values, plain.cell_size_m)
    )
    east, north = (
        side[window] for side in terrain.gradient(smooth.values, smooth.cell_size_m)
    )
    skyline = nested_skyline.skyline_deg((smooth, *ground[1:]), window)
    hidden_deg = skyline.values
    sky_view = horizon.sky_view_tilted(hidden_deg, east, north)
    lit = sunlight.by_month(
        sky.table(len(hidden_deg)), east, north, hidden_deg, sky_view
    )
    made = {
        "slope_deg": skyline.with_values(slope_deg),
        "aspect_deg": skyline.with_values(
            _bearing(aspect_deg + sky.place.convergence_deg)
        ),
        "sky_view": skyline.with_values(sky_view),
        "sun_mj_m2_day": skyline.with_values(lit.total_mj_m2_day),
        "skyline_deg": _at_middles(skyline, place.lattices.view.cell_m),
    }
    for name, raster in made.items():
        files.write(place.file(LAYERS[name], tile), raster, LAYERS[name], key)
    return tile.name


def _bearing(degrees: Floats) -> Floats:
    """From 0 to under 360, also once it is rounded to hundredths."""
    return np.asarray(np.round(degrees, 2) % 360.0)


def _around(place: Place, bounds: Bounds) -> tuple[Raster, ...]:
    """Ground of a tile and around it, level by level."""
    found, there = [], bounds
    for name in GROUND:
        layer = LAYERS[name]
        there = grown(there, HALO_CELLS * place.lattice(layer).cell_m)
        found.append(_known(layers.read(place, layer, there), bounds))
    return tuple(found)


def _known(ground: Raster, kept: Bounds) -> Raster:
    """Without the outer rows and columns in which nothing is known, off some bounds."""
    is_known = np.isfinite(ground.values)
    is_known[ground.window(kept)] = True
    rows, cols = (np.flatnonzero(is_known.any(axis=axis)) for axis in (1, 0))
    return ground.clip((slice(rows[0], rows[-1] + 1), slice(cols[0], cols[-1] + 1)))


def _at_middles(fine: Raster, cell_m: float) -> Raster:
    """The fine cell at the middle of each coarser one."""
    step = round(cell_m / fine.cell_size_m)
    first = step // 2
    size = fine.cell_size_m * step
    transform = from_origin(fine.transform.c, fine.transform.f, size, size)
    return Raster(fine.values[:, first::step, first::step], transform, fine.crs)


class Around(NamedTuple):
    """Shapes that matter for the cold air of a tile."""

    parcels: gpd.GeoDataFrame
    surroundings: gpd.GeoDataFrame


def night(
    place: Place, tile: Tile, around: Around, hours: float, kernel: str, key: str
) -> str:
    """Depths of cold air on one tile, and how wet the ground is for it."""
    layer = LAYERS["night"]
    bounds = place.lattice(layer).bounds(tile)
    fine = layers.read(place, LAYERS[GROUND[0]], grown(bounds, of_tile.FINE_HALO_M))
    wide = layers.read(place, LAYERS[GROUND[1]], grown(bounds, of_tile.REACH_M))
    made = of_tile.night_over(
        Heights(fine, wide),
        bounds,
        around.parcels,
        around.surroundings,
        hours,
        on_card=kernel == "card",
    )
    files.write(place.file(layer, tile), made, layer, key)
    return tile.name


def offset(
    place: Place,
    tile: Tile,
    reference_c: Floats,
    season: SeasonTable | None,
    station_m: float,
    key: str,
) -> str:
    """Offset, depth of cold air and season of one tile."""
    bounds = place.lattices.night.bounds(tile)
    ran = layers.read(place, LAYERS["night"], bounds)
    offset_c = of_tile.offset_c(of_tile.coldness_c(ran.values), reference_c)
    heights_m = layers.read(place, LAYERS["elevation_night_m"], bounds).values
    made = {
        "cold_air_m": ran.with_values(ran.values[1]),
        "offset_c": ran.with_values(offset_c),
    }
    if season is not None:
        days = season.at(offset_c[1], LAPSE_C_PER_M * (heights_m - station_m))
        made["season_days"] = ran.with_values(days)
    for name, raster in made.items():
        files.write(place.file(LAYERS[name], tile), raster, LAYERS[name], key)
    return tile.name
