"""What is computed of one tile: pure functions of the tile and files around it.

Each writes its files whole, with the key of all that went into them, and gives back
nothing but the name of its tile. Nothing here knows who calls, nor how often.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from rasterio.transform import from_origin

from fieldmap.analyse.cold_air import of_tile
from fieldmap.analyse.light import nested_skyline
from fieldmap.analyse.light.sky import Sky
from fieldmap.cache import Arrays
from fieldmap.model.raster import Bounds, Raster, grown
from fieldmap.model.region import Lattice, Tile
from fieldmap.model.site import LAPSE_C_PER_M
from fieldmap.read.elevation.tiles import HeightTiles
from fieldmap.region import files, layers
from fieldmap.region.season import SeasonTable
from fieldmap.region.tiles import GROUND, LAYERS, WATER, Place
from layers import horizon, sunlight, terrain, tiled_fill
from layers._grid import block_means

Floats = npt.NDArray[np.float64]

# Cells of each level around a tile that are looked at before the next coarser one
# takes over: on rough made ground (slopes of 10°) 99 of 100 angles are then within .02°
# of those of fine cells all over (benchmarks/bench_region.py).
HALO_CELLS = 512


def _write(place: Place, tile: Tile, name: str, made: Raster, key: str) -> None:
    """Write what of a layer was made, cut to the tile and filled up with missing cells."""
    layer = LAYERS[name]
    lattice = place.lattice(layer)
    west, south, east, north = lattice.bounds(tile)
    size = lattice.cell_m
    part = made.clip(made.window_on((west, south, east, north)))
    col = round((part.transform.c - west) / size)
    row = round((north - part.transform.f) / size)
    rows, cols = part.shape
    shape = *part.values.shape[:-2], lattice.side, lattice.side
    values = np.full(shape, np.nan, part.values.dtype)
    values[..., row : row + rows, col : col + cols] = part.values
    transform = from_origin(west, north, size, size)
    files.write(
        place.file(layer, tile), Raster(values, transform, place.crs), layer, key
    )


def heights(place: Place, tile: Tile, tiles: HeightTiles, key: str) -> str:
    """Ground of one tile, from the files of the elevation.

    Parameters
    ----------
    place
        Where the region's tiles lie.
    tile
        Which tile, on the lattice of the ground.
    tiles
        Files of the elevation that touch it.
    key
        Of all that goes into the file.

    Returns
    -------
    name
        Of the tile.
    """
    layer = LAYERS[GROUND[0]]
    ground = tiles.read(place.lattice(layer).bounds(tile))
    files.write(place.file(layer, tile), ground, layer, key)
    return tile.name


def means(
    place: Place,
    tile: Tile,
    into: str,
    of: str,
    tiles: HeightTiles | None,
    key: str,
) -> str:
    """Ground of one tile on coarser cells: means of finer ones.

    Parameters
    ----------
    place
        Where the region's tiles lie.
    tile
        Which tile, on the lattice of the layer `into`.
    into, of
        Names of the coarser layer that is made, and of the finer one.
    tiles
        Files of the elevation that are read in place of tiles of the layer `of`; None
        reads tiles.
    key
        Of all that goes into the file.

    Returns
    -------
    name
        Of the tile.
    """
    layer = LAYERS[into]
    lattice, finer = place.lattice(layer), place.lattice(LAYERS[of])
    west, south, east, north = lattice.bounds(tile)
    block = round(lattice.cell_m / finer.cell_m)
    ground = np.full((lattice.side, lattice.side), np.nan)
    hair = 0.5 * finer.cell_m
    for child in finer.touching(grown((west, south, east, north), -hair)):
        bounds = finer.bounds(child)
        if tiles is None:
            fine = layers.read(place, LAYERS[of], bounds)
        elif tiles.within(bounds):
            fine = tiles.read(bounds)
        else:
            continue
        size = finer.side // block
        col = round((bounds[0] - west) / lattice.cell_m)
        row = round((north - bounds[3]) / lattice.cell_m)
        part = block_means(fine.values, block)
        ground[row : row + size, col : col + size] = part
    transform = from_origin(west, north, lattice.cell_m, lattice.cell_m)
    files.write(
        place.file(layer, tile), Raster(ground, transform, place.crs), layer, key
    )
    return tile.name


def rim(place: Place, tile: Tile, key: str) -> str:
    """What the outermost cells of one tile have to do with each other.

    Parameters
    ----------
    place
        Where the region's tiles lie.
    tile
        Which tile, on the lattice of the night.
    key
        Of all that goes into the file.

    Returns
    -------
    name
        Of the tile.
    """
    layer = LAYERS["elevation_night_m"]
    ground = layers.read(place, layer, place.lattice(layer).bounds(tile))
    found = tiled_fill.rim_of(ground.values)
    files.write_arrays(place.rim_file(tile), found._asdict(), key)
    return tile.name


def fill(place: Place, tile: Tile, spill_m: Floats, key: str) -> str:
    """Ground of one tile with its hollows filled, also those that go on beyond it.

    Parameters
    ----------
    place
        Where the region's tiles lie.
    tile
        Which tile, on the lattice of the night.
    spill_m
        (cells,): filled height of each outermost cell [m], from the rims of all tiles.
    key
        Of all that goes into the file.

    Returns
    -------
    name
        Of the tile.
    """
    layer = LAYERS["elevation_night_m"]
    ground = layers.read(place, layer, place.lattice(layer).bounds(tile))
    filled = tiled_fill.filled_m(ground.values, rim_of(place, tile), spill_m)
    into = LAYERS["filled_m"]
    files.write(place.file(into, tile), ground.with_values(filled), into, key)
    return tile.name


def rim_of(place: Place, tile: Tile) -> tiled_fill.Rim:
    """What `rim` found."""
    return tiled_fill.Rim(**_kept(place.rim_file(tile), tiled_fill.Rim._fields))


def wetness(
    place: Place, tile: Tile, tiles: Sequence[Tile], over: of_tile.Night, key: str
) -> str:
    """Where water gathers on some tiles, what arrives from far off by coarse ground.

    Parameters
    ----------
    place
        Where the region's tiles lie.
    tile
        Which tile of the wide lattice.
    tiles
        Those of the night in it that are made.
    over
        Parcels and surroundings, for what is water.
    key
        Of all that goes into the files.

    Returns
    -------
    name
        Of the tile.
    """
    bounds = place.lattices.night.around(tiles)
    ground = _by_night(place, bounds, of_tile.WATER_CELLS)
    filled = layers.read(place, LAYERS["filled_m"], ground.bounds)
    coarse = _wide(place, bounds)
    found = of_tile.wetness(ground, filled.values, coarse, over)
    for each in tiles:
        for name, index in zip(WATER, found, strict=True):
            _write(place, each, name, ground.with_values(index), key)
    return tile.name


def _by_night(place: Place, bounds: Bounds, cells: int) -> Raster:
    """Ground on cells of the night within bounds and some cells around."""
    around = grown(bounds, cells * place.lattices.night.cell_m)
    return layers.read(place, LAYERS["elevation_night_m"], around).known(bounds)


def light(place: Place, tile: Tile, sky: Sky, smoothing_m: float, key: str) -> str:
    """Slope, aspect, skyline, sky view and light of one tile.

    Parameters
    ----------
    place
        Where the region's tiles lie.
    tile
        Which tile, on the lattice of the ground.
    sky
        Sun and cloud over the tile.
    smoothing_m
        Scale over which heights are smoothed before they are lit; 0 leaves them.
    key
        Of all that goes into the files.

    Returns
    -------
    name
        Of the tile.
    """
    bounds = place.lattices.ground[0].bounds(tile)
    ground = _around(place, bounds)
    plain = ground[0]
    # The known part of the tile: a region may fill little of it.
    window = plain.window_on(plain.clip(plain.window_on(bounds)).known().bounds)
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
        "skyline_deg": _at_middles(skyline, place.lattices.view, tile),
    }
    for name, raster in made.items():
        _write(place, tile, name, raster, key)
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
        found.append(layers.read(place, layer, there).known(bounds))
    return tuple(found)


def _at_middles(fine: Raster, coarse: Lattice, tile: Tile) -> Raster:
    """The fine cell at the middle of each coarser one."""
    west, _, _, north = coarse.bounds(tile)
    step = round(coarse.cell_m / fine.cell_size_m)
    east_m = west + (np.arange(coarse.side) * step + step // 2 + 0.5) * fine.cell_size_m
    north_m = (
        north - (np.arange(coarse.side) * step + step // 2 + 0.5) * fine.cell_size_m
    )
    at = np.meshgrid(east_m, north_m)
    transform = from_origin(west, north, coarse.cell_m, coarse.cell_m)
    return Raster(fine.sample(*at), transform, fine.crs)


def frames(
    place: Place, tile: Tile, tiles: Sequence[Tile], over: of_tile.Night, key: str
) -> str:
    """Cold air around some tiles all night long, on coarse cells.

    Parameters
    ----------
    place
        Where the region's tiles lie.
    tile
        Which tile of the wide lattice.
    tiles
        Those of the night in it that are made.
    over
        Parcels, surroundings and hours of the night.
    key
        Of all that goes into the files.

    Returns
    -------
    name
        Of the tile.
    """
    lattice = place.lattices.night
    coarse = _wide(place, lattice.around(tiles))
    bounds = [lattice.bounds(each) for each in tiles]
    found = of_tile.frames(coarse, lattice.cell_m, bounds, over)
    for each, frame in zip(tiles, found, strict=True):
        files.write_arrays(place.frame_file(each), frame._asdict(), key)
    return tile.name


def _wide(place: Place, bounds: Bounds) -> Raster:
    """Coarse ground within bounds and around them."""
    layer = LAYERS["elevation_wide_m"]
    around_m = of_tile.WIDE_CELLS * place.lattice(layer).cell_m
    return layers.read(place, layer, grown(bounds, around_m)).known(bounds)


def part(
    place: Place,
    tile: Tile,
    tiles: Sequence[Tile],
    over: of_tile.Night,
    *,
    is_framed: bool,
    key: str,
) -> str:
    """What the air of one tile meets all night long.

    Parameters
    ----------
    place
        Where the region's tiles lie.
    tile
        Which tile, on the lattice of the night.
    tiles
        Those that are made, it and around it.
    over
        Parcels and surroundings.
    is_framed
        Whether coarse cells say how deep air lies where no tiles are.
    key
        Of all that goes into the file.

    Returns
    -------
    name
        Of the tile.
    """
    lattice = place.lattices.night
    bounds = lattice.bounds(tile)
    # No air runs where no ground is known: a region may fill little of its tile.
    fine = _by_night(place, bounds, of_tile.FINE_CELLS).known()
    frame = None
    if is_framed:
        frame = of_tile.Frame(**_kept(place.frame_file(tile), of_tile.Frame._fields))
    around = [lattice.bounds(each) for each in tiles]
    made = of_tile.part(fine, bounds, around, frame, over)
    files.write_arrays(place.part_file(tile), made._asdict(), key)
    return tile.name


class Spell(NamedTuple):
    """A short part of the night.

    Attributes
    ----------
    number
        From 1 on.
    between_s
        When it begins and ends, after sunset.
    on_card
        Whether a graphics card computes it.
    """

    number: int
    between_s: tuple[float, float]
    on_card: bool


def spell(
    place: Place,
    tile: Tile,
    tiles: Sequence[Tile],
    of: Spell,
    key: str,
) -> str:
    """The air of one tile at the end of a spell; what nobody reads any more goes.

    Parameters
    ----------
    place
        Where the region's tiles lie.
    tile
        Which tile, on the lattice of the night.
    tiles
        Those that are made around it.
    of
        Which spell.
    key
        Of all that goes into the file.

    Returns
    -------
    name
        Of the tile.
    """
    part = of_tile.Part(**_kept(place.part_file(tile), of_tile.Part._fields))
    if of.number == 1:
        airs = of_tile.at_sunset(part)
    else:
        airs = _air(place, tile, of.number - 1)
        for each in tiles:
            beside = _air(place, each, of.number - 1)
            airs.take(beside, place.lattices.night.bounds(each))
    after = of_tile.spell(part, airs, of.between_s, on_card=of.on_card)
    files.write_arrays(place.air_file(tile, of.number), after._asdict(), key)
    # All tiles have done the spell before, for which it was kept.
    place.air_file(tile, of.number - 2).unlink(missing_ok=True)
    return tile.name


def _air(place: Place, tile: Tile, number: int) -> of_tile.Airs:
    kept = _kept(place.air_file(tile, number), of_tile.Airs._fields)
    return of_tile.Airs(**kept)


def _kept(path: Path, names: Sequence[str]) -> Arrays:
    """Arrays that a task before wrote."""
    kept = files.read_arrays(path, names)
    if kept is None:
        raise FileNotFoundError(path)
    return kept


def night(place: Place, tile: Tile, number: int, key: str) -> str:
    """Depths of cold air on one tile, and how wet the ground is for it.

    Parameters
    ----------
    place
        Where the region's tiles lie.
    tile
        Which tile, on the lattice of the night.
    number
        Of the last spell.
    key
        Of all that goes into the file.

    Returns
    -------
    name
        Of the tile.
    """
    ran = _air(place, tile, number).depths(place.crs)
    bounds = place.lattices.night.bounds(tile)
    wet = layers.read(place, LAYERS["cold_air_wetness"], bounds)
    depths_m = ran.sample(*wet.middles)
    made = wet.with_values(np.concatenate([depths_m, wet.values[np.newaxis]]))
    _write(place, tile, "night", made, key)
    return tile.name


def offset(
    place: Place,
    tile: Tile,
    reference_c: Floats,
    season: SeasonTable | None,
    station_m: float,
    key: str,
) -> str:
    """Offset, depth of cold air and season of one tile.

    Parameters
    ----------
    place
        Where the region's tiles lie.
    tile
        Which tile, on the lattice of the night.
    reference_c
        (answers,): coldness that offsets are compared with.
    season
        Days of the season by offset and height; None where no record says them, and
        then no such file is written.
    station_m
        Height for which the record holds.
    key
        Of all that goes into the files.

    Returns
    -------
    name
        Of the tile.
    """
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
