"""All layers of a region: what is to do, stage by stage.

A stage has rounds of tasks; those of a round hang on no other of it. What is done is
seen from its files and the key in them, so a run that was stopped goes on where it was.
"""

import shutil
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import chain, pairwise
from pathlib import Path
from typing import Any, NamedTuple

import geopandas as gpd
import numpy as np

from fieldmap.analyse.cold_air import of_tile
from fieldmap.analyse.light.sky import Sky
from fieldmap.cache import key
from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.raster import Bounds, grown
from fieldmap.model.region import LEVELS, Lattice, Region, Tile, wide_of
from fieldmap.read.elevation.tiles import HeightTiles
from fieldmap.region import files, layers, reference, tasks
from fieldmap.region.season import SeasonTable, season_table
from fieldmap.region.tiles import GROUND, LAYERS, MANIFEST, WATER, Place
from layers import nights, sunlight, tiled_fill

FARTHEST_M = 20_000.0  # hills beyond are left out: 350 m at 20 km stand 1° high
LIGHT = ("slope_deg", "aspect_deg", "sky_view", "sun_mj_m2_day", "skyline_deg")
OFFSETS = ("cold_air_m", "offset_c")

Keys = Mapping[Tile, str]


class Task(NamedTuple):
    """One call of a function of `tasks`, and the files that it writes.

    Attributes
    ----------
    given
        What it is called with, but for the place, its tile and its key.
    key
        Of all that goes into it; it stands in each of its files.
    """

    work: Callable[..., str]
    place: Place
    tile: Tile
    given: Mapping[str, Any]
    files: tuple[Path, ...]
    key: str

    def is_done(self) -> bool:
        """Whether all files lie there, of the same inputs and code."""
        return all(files.key_of(path) == self.key for path in self.files)

    def do(self) -> str:
        """Do the work; the name of the tile."""
        return self.work(self.place, self.tile, **self.given, key=self.key)


Rounds = Sequence[Sequence[Task]]
# Does all tasks of a stage that is called so, round after round; those of one round in
# any order, each at least once.
Workers = Callable[[str, Rounds], None]


def in_process(_stage: str, todo: Rounds) -> None:
    """Do tasks one after the other, here."""
    for task in chain.from_iterable(todo):
        task.do()


def make_layers(region: Region, heights: HeightTiles, workers: Workers) -> Place:
    """All layers of a region, as files; what is done already is left.

    Parameters
    ----------
    region
        What was read of the region.
    heights
        Files of its elevation.
    workers
        Does those tasks of a stage that are not done.

    Returns
    -------
    place
        Where the tiles lie.
    """
    place = Place.of(region)
    files.write_whole(place.out / MANIFEST, place.manifest().encode())

    holds: dict[Path, set[str]] = {}

    def do(stage: str, *rounds: Sequence[Task]) -> None:
        for path in chain.from_iterable(task.files for task in chain(*rounds)):
            holds.setdefault(path.parent, set()).add(path.name)
        _clear(holds)
        workers(
            stage, [[task for task in each if not task.is_done()] for each in rounds]
        )

    work = _Work(region, heights, place)
    ground = [list(work.heights())]
    for level in range(1, LEVELS):
        ground.append(list(work.coarser(level, _keyed(ground[-1]))))
    even = list(work.even("elevation_night_m", of_tile.WATER_CELLS))
    wide = list(work.even("elevation_wide_m", of_tile.WIDE_CELLS))
    do("heights", *ground, [*even, *wide])
    rims = list(work.rims(_keyed(even)))
    do("hollows", rims)
    fills = list(work.fills(_keyed(rims)))
    wet = list(work.wetness(_keyed(even), _keyed(fills), _keyed(wide)))
    do("water", fills, wet)
    do("light", list(work.light([_keyed(each) for each in ground])))
    frames = list(work.frames(_keyed(wide)))
    parts = list(work.parts(_keyed(even), _keyed(frames)))
    spells, nights = work.nights(_keyed(parts), _keyed(wet))
    is_over = all(task.is_done() for task in nights)
    if not is_over:
        do("far_air", frames, parts)
    do("cold_air", *([] if is_over else _left_of(spells)), nights)
    shutil.rmtree(place.air, ignore_errors=True)
    cold_c = reference.coldness_of_parcels_c(place, region.parcels.geometry)
    reference_c = reference.reference_c(cold_c)
    do("offsets", list(work.offsets(_keyed(even), _keyed(nights), reference_c)))
    for folder in (place.out / "layers").iterdir():
        if folder not in holds:
            shutil.rmtree(folder)
    return place


def _clear(holds: Mapping[Path, set[str]]) -> None:
    """Take away tiles that are made no more: who reads a layer takes all that lie there."""
    for folder, names in holds.items():
        for path in folder.glob("*.*"):
            if path.name not in names:
                path.unlink()


def _keyed(made: Iterable[Task]) -> Keys:
    """Keys of tasks by their tiles."""
    return {task.tile: task.key for task in made}


def _left_of(spells: Rounds) -> Rounds:
    """Spells from the first that is not done all over."""
    for number in range(len(spells), 0, -1):
        if all(task.is_done() for task in spells[number - 1]):
            return spells[number:]
    return spells


@dataclass(frozen=True)
class _Work:
    """Tasks of each stage."""

    region: Region
    elevation: HeightTiles
    place: Place

    @cached_property
    def _ground(self) -> tuple[Lattice, ...]:
        return self.place.lattices.ground

    @cached_property
    def _of_night(self) -> tuple[Tile, ...]:
        """Tiles of the night that hold any known ground."""
        return self._mapped("night")

    @cached_property
    def _crs(self) -> str:
        return self.place.crs.to_wkt()

    def _mapped(self, layer: str) -> tuple[Tile, ...]:
        """Tiles of a layer that hold any known ground."""
        lattice = self.place.lattice(LAYERS[layer])
        return tuple(
            tile
            for tile in self.place.tiles(LAYERS[layer])
            if self.elevation.within(lattice.bounds(tile))
        )

    def _task(
        self,
        work: Callable[..., str],
        tile: Tile,
        made: Iterable[str | Path],
        given: Mapping[str, Any],
        inputs: Mapping[str, Any],
    ) -> Task:
        paths = tuple(
            each if isinstance(each, Path) else self.place.file(LAYERS[each], tile)
            for each in made
        )
        named = {
            "work": work.__name__,
            "tile": list(tile),
            "crs": self._crs,
        }
        lattice = [[*map(float, vars(each).values())] for each in self._ground]
        inputs = {**inputs, **named, "lattice": lattice}
        return Task(work, self.place, tile, given, paths, key(inputs))

    def _around(self, layer: str, on: str, around_m: float) -> tuple[Tile, ...]:
        """Tiles of a layer that touch mapped tiles of another, and ground around them."""
        lattice, mapped = (self.place.lattice(LAYERS[name]) for name in (layer, on))
        found = dict[Tile, None]()
        for tile in self._mapped(on):
            found |= dict.fromkeys(
                lattice.touching(grown(mapped.bounds(tile), around_m))
            )
        return tuple(
            tile for tile in found if self.elevation.within(lattice.bounds(tile))
        )

    def heights(self) -> Iterator[Task]:
        """Ground of the cells of the elevation, as far as these are needed."""
        halo_m = tasks.HALO_CELLS * self._ground[0].cell_m
        for tile in self._around(GROUND[0], "slope_deg", halo_m):
            tiles = self.elevation.part(self._ground[0].bounds(tile))
            if tiles is not None:
                given = {"tiles": tiles}
                yield self._task(tasks.heights, tile, GROUND[:1], given, tiles.inputs())

    def coarser(self, level: int, finer: Keys) -> Iterator[Task]:
        """Ground of a coarser level, of the level before or of the elevation."""
        lattice, before = self._ground[level], self._ground[level - 1]
        for tile in lattice.touching(grown(self.place.bounds, FARTHEST_M)):
            tiles = self.elevation.part(lattice.bounds(tile))
            if tiles is None:
                continue
            inputs = tiles.inputs()
            if level > 1:
                tiles = None
                inputs = {"finer": _keys(finer, before, lattice.bounds(tile))}
            yield self._means(tile, GROUND[level], GROUND[level - 1], tiles, inputs)

    def even(self, layer: str, around_cells: int) -> Iterator[Task]:
        """Ground on the cells of the night, or coarser ones, and around mapped tiles."""
        lattice = self.place.lattice(LAYERS[layer])
        around_m = around_cells * lattice.cell_m
        for tile in self._around(layer, "night", around_m):
            tiles = self.elevation.part(lattice.bounds(tile))
            if tiles is not None:
                yield self._means(tile, layer, GROUND[0], tiles, tiles.inputs())

    def _means(
        self,
        tile: Tile,
        into: str,
        of: str,
        tiles: HeightTiles | None,
        inputs: Mapping[str, Any],
    ) -> Task:
        given = {"into": into, "of": of, "tiles": tiles}
        return self._task(tasks.means, tile, [into], given, inputs)

    def rims(self, even: Keys) -> Iterator[Task]:
        """What the outermost cells of tiles have to do with each other."""
        for tile, ground in even.items():
            made = [self.place.rim_file(tile)]
            yield self._task(tasks.rim, tile, made, {}, {"ground": ground})

    def fills(self, rims: Keys) -> Iterator[Task]:
        """Ground with its hollows filled, by all rims together."""
        lattice = self.place.lattices.night
        found = [tasks.rim_of(self.place, tile) for tile in rims]
        shape = lattice.side, lattice.side
        placed = [
            tiled_fill.Placed(
                rim, (-tile.row * lattice.side, tile.column * lattice.side), shape
            )
            for tile, rim in zip(rims, found, strict=True)
        ]
        spills = tiled_fill.spill_of_rims_m(placed)
        for (tile, rim), spill_m in zip(rims.items(), spills, strict=True):
            inputs = {"rim": rim, "spill": spill_m}
            given = {"spill_m": spill_m}
            yield self._task(tasks.fill, tile, ["filled_m"], given, inputs)

    def _by_wide(self) -> dict[Tile, list[Tile]]:
        """Mapped tiles of the night by the wide tile that holds them."""
        found: dict[Tile, list[Tile]] = {}
        for tile in self._of_night:
            found.setdefault(wide_of(tile), []).append(tile)
        return found

    def wetness(self, even: Keys, filled: Keys, wide: Keys) -> Iterator[Task]:
        """Where water gathers."""
        lattice = self.place.lattices.night
        for tile, within in self._by_wide().items():
            bounds = lattice.around(within)
            there = grown(bounds, of_tile.WATER_CELLS * lattice.cell_m)
            over, of_night = self._over(there)
            inputs = {
                "shapes": of_night["shapes"],  # water hangs on no hours
                "ground": _keys(even, lattice, there),
                "filled": _keys(filled, lattice, there),
                "wide": self._wide_keys(wide, bounds),
                "within": within,
            }
            made = [
                self.place.file(LAYERS[name], each) for name in WATER for each in within
            ]
            given = {"tiles": within, "over": over}
            yield self._task(tasks.wetness, tile, made, given, inputs)

    def _wide_keys(self, keys: Keys, bounds: Bounds) -> list[str]:
        """Keys of coarse tiles as far around as they are looked at."""
        lattice = self.place.lattices.wide
        return _keys(keys, lattice, grown(bounds, self._reach_m))

    def light(self, ground: Sequence[Keys]) -> Iterator[Task]:
        """Slope, skyline and light."""
        smoothing_m = self.region.settings.smoothing_m
        height_m = self._middle_height_m()
        for tile in self._mapped("slope_deg"):
            there = self._ground[0].bounds(tile)
            sky = self._sky(there, height_m)
            inputs = {**sky.inputs(), "smoothing": smoothing_m}
            for level, keys in enumerate(ground):
                lattice = self._ground[level]
                there = grown(there, tasks.HALO_CELLS * lattice.cell_m)
                inputs[f"ground {level}"] = _keys(keys, lattice, there)
            given = {"sky": sky, "smoothing_m": smoothing_m}
            yield self._task(tasks.light, tile, LIGHT, given, inputs)

    def _middle_height_m(self) -> float:
        coarse = layers.read(self.place, LAYERS[GROUND[-1]], self.place.bounds)
        return float(np.round(np.nanmedian(coarse.values)))

    def _sky(self, tile: Bounds, height_m: float) -> Sky:
        """The sky over a row of tiles: what a degree of longitude changes is nothing."""
        region = self.region
        west, _, east, _ = self.place.bounds
        middle = (west + east) / 2, (tile[1] + tile[3]) / 2
        _, latitude = transformer(self.place.crs, WGS84).transform(*middle)
        there = sunlight.Place(
            float(latitude), region.longitude, height_m, region.convergence_deg
        )
        return Sky(there, region.settings.sun, region.typical_year)

    def _over(self, bounds: Bounds) -> tuple[of_tile.Night, dict[str, Any]]:
        """What makes the night within bounds, and that as inputs."""
        region, settings = self.region, self.region.settings
        night = of_tile.Night(
            _near(region.parcels, bounds),
            _near(region.surroundings, bounds),
            settings.night_hours,
            on_card=settings.night == "card",
        )
        shapes = [each.to_json() for each in night[:2]]
        return night, {"shapes": shapes, "hours": night.hours, "on": settings.night}

    def frames(self, wide: Keys) -> Iterator[Task]:
        """Cold air on coarse cells where ground goes on beyond mapped tiles."""
        lattice, reach_m = self.place.lattices.night, self._reach_m
        for tile, mapped in self._by_wide().items():
            within = [each for each in mapped if self._goes_on(each)]
            if not within:
                continue
            bounds = lattice.around(within)
            night, inputs = self._over(grown(bounds, reach_m))
            inputs["wide"] = self._wide_keys(wide, bounds)
            inputs["within"] = within
            made = [self.place.frame_file(each) for each in within]
            given = {"tiles": within, "over": night}
            yield self._task(tasks.frames, tile, made, given, inputs)

    @property
    def _reach_m(self) -> float:
        return of_tile.WIDE_CELLS * self.place.lattices.wide.cell_m

    def _beside(self, tile: Tile) -> list[Tile]:
        """Tiles of the night whose ground a tile looks at, itself too."""
        lattice = self.place.lattices.night
        around_m = of_tile.FINE_CELLS * lattice.cell_m
        return list(lattice.touching(grown(lattice.bounds(tile), around_m)))

    def _goes_on(self, tile: Tile) -> bool:
        """Whether there is ground around a tile that belongs to no mapped one."""
        bounds = self.place.lattices.night.bounds
        others = set(self._beside(tile)).difference(self._of_night)
        return any(self.elevation.within(bounds(each)) for each in others)

    def parts(self, even: Keys, framed: Keys) -> Iterator[Task]:
        """What the air of each tile meets."""
        lattice = self.place.lattices.night
        mapped = set(self._of_night)
        for tile in self._of_night:
            there = grown(lattice.bounds(tile), of_tile.FINE_CELLS * lattice.cell_m)
            night, of_night = self._over(there)
            around = [each for each in self._beside(tile) if each in mapped]
            is_framed = self._goes_on(tile)
            inputs = {
                "shapes": of_night["shapes"],  # the run hangs on hours, no tile does
                "ground": _keys(even, lattice, there),
                "framed": framed[wide_of(tile)] if is_framed else "",
                "around": around,
            }
            made = [self.place.part_file(tile)]
            given = {"tiles": around, "over": night, "is_framed": is_framed}
            yield self._task(tasks.part, tile, made, given, inputs)

    def nights(self, parts: Keys, wet: Keys) -> tuple[list[list[Task]], list[Task]]:
        """Cold air before it is compared: spell by spell, and at the end."""
        settings = self.region.settings
        cell_m = self.place.lattices.night.cell_m
        begin_s = of_tile.spells_s(settings.night_hours, cell_m)
        # All tiles hang on each other: one key for all that a spell makes of them.
        together = key({"parts": [*parts.values()]})
        spells: list[list[Task]] = []
        for number, between_s in enumerate(pairwise(begin_s), start=1):
            of = tasks.Spell(number, between_s, settings.night == "card")
            of_spell = key({"parts": together, "spell": of})
            spells.append([self._spell(tile, of, parts, of_spell) for tile in parts])
        ends = [
            self._task(
                tasks.night,
                task.tile,
                ["night"],
                {"number": len(spells)},
                {"ran": task.key, "wet": wet[wide_of(task.tile)]},
            )
            for task in spells[-1]
        ]
        return spells, ends

    def _spell(self, tile: Tile, of: tasks.Spell, parts: Keys, its_key: str) -> Task:
        around = [each for each in self._beside(tile) if each in parts and each != tile]
        made = (self.place.air_file(tile, of.number),)
        given = {"tiles": around, "of": of}
        return Task(tasks.spell, self.place, tile, given, made, its_key)

    def offsets(
        self, even: Keys, ran: Keys, reference_c: tasks.Floats
    ) -> Iterator[Task]:
        """Offsets against the reference, and seasons."""
        season, station_m = self._season()
        for tile in self._of_night:
            inputs = {
                "ran": ran[tile],
                "ground": even[tile],
                "reference": reference_c,
                "station": station_m,
                "season": np.zeros(0) if season is None else season.days,
            }
            made = OFFSETS if season is None else (*OFFSETS, "season_days")
            given = {
                "reference_c": reference_c,
                "season": season,
                "station_m": station_m,
            }
            yield self._task(tasks.offset, tile, made, given, inputs)

    def _season(self) -> tuple[SeasonTable | None, float]:
        """Days of the season, and the height for which the record holds."""
        region = self.region
        _, share, _ = nights.mixed_share(0.0, is_all_known=True)
        table = season_table(
            region.weather,
            region.settings.frost,
            southern=region.latitude < 0,
            mixed_share=share,
        )
        station = region.settings.station or region.weather.station
        height_m = self._middle_height_m() if station is None else station.elevation_m
        return table, height_m


def _keys(keys: Keys, lattice: Lattice, bounds: Bounds) -> list[str]:
    """Keys of all tiles that touch bounds, in their order."""
    return [keys.get(tile, "") for tile in lattice.touching(bounds)]


def _near(shapes: gpd.GeoDataFrame, bounds: Bounds) -> gpd.GeoDataFrame:
    west, south, east, north = bounds
    return shapes.cx[west:east, south:north]
