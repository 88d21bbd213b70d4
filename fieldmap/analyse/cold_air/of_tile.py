"""Cold air of one tile of a region: how deep it lies, and how wet the ground is.

Each tile runs on fine cells with some of its neighbours' around it. After a spell of the
night, so short that nothing comes through the cells around, it takes there what its
neighbours have (overlapping subdomains: Smith, Bjørstad & Gropp 1996, Domain
Decomposition, from memory). So all tiles together answer as the ground in one piece.
Beyond the tiles of a region coarse cells are run before; along the edge of the fine ones
the air is then as deep as on those all night long (one-way nesting, as in models of the
weather: Davies 1976, Q. J. R. Meteorol. Soc. 102:405-418, without his band of
relaxation).
"""

import math
from collections.abc import Sequence
from typing import NamedTuple, Self

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import pyproj
import shapely
from rasterio.transform import from_origin

from fieldmap.analyse.cold_air import flow
from fieldmap.analyse.cold_air.ground import FlowGround, Heights, ground_around
from fieldmap.analyse.cold_air.offset import LIKELIEST, drawn
from fieldmap.model.raster import Bounds, Raster, Window, grown
from layers import coldair, coldness, drainage, scatter

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]
Flags = npt.NDArray[np.bool_]

# Fine cells around a tile; of the outermost of them others know the depth.
FINE_CELLS, HELD_CELLS = 64, 4
# Seconds of a spell for each metre of a cell: in two minutes on cells of 5 m waves in
# a pool of 40 m come through all cells around, and they change little there. How far
# off answers then are: `benchmarks/validation/region_seams.py`.
SPELL_S_PER_M = 24.0
# Coarse cells around as many tiles as share a run of them, and fine ones for their water.
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


def spells_s(night_hours: float, cell_m: float) -> tuple[float, ...]:
    """Seconds after sunset at which spells begin on cells of a size [m], and the end.

    Examples
    --------
    >>> spells_s(0.1, 5.0)
    (0.0, 120.0, 240.0, 360.0)
    """
    all_s = night_hours * 3600
    count = max(1, math.ceil(all_s / (SPELL_S_PER_M * cell_m)))
    return tuple(all_s * number / count for number in range(count + 1))


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
    depth_m: Singles
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
    whole = coldair.Night(night.hours, hours, watched)
    drain = coldair.drain_on_card if night.on_card else coldair.drain
    depths: list[list[Singles]] = [[] for _ in tiles]
    for air in flow.runs(ground, night.parcels, night.surroundings, whole, drain):
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


class Part(NamedTuple):
    """What the air of a tile, and around it, meets all night long.

    Attributes
    ----------
    land_m
        (rows, cols): heights of fine cells; NaN where these are missing or wide water.
    production
        (rows, cols): share of what open ground under an open sky makes.
    east_sill_m, east_covered, north_sill_m, north_covered
        As in `coldair.Barriers`.
    lie
        West, north and size of a cell [m].
    beside
        (rows, cols): cells along the edge that belong to tiles of the region.
    beyond
        (rows, cols): cells along the edge that belong to none, and coarse ones know.
    hours
        (hours,) after sunset, from 0 on.
    beyond_m
        (runs, hours, cells): depth there.
    """

    land_m: Floats
    production: Floats
    east_sill_m: Floats
    east_covered: Floats
    north_sill_m: Floats
    north_covered: Floats
    lie: Floats
    beside: Flags
    beyond: Flags
    hours: Floats
    beyond_m: Floats


class Airs(NamedTuple):
    """Air of the three runs over a part of the ground: as `coldair.Air`, runs first.

    `lie` is that of the `Part`.
    """

    depth_m: Singles
    deepens_m_s: Singles
    through_east_m2_s: Singles
    through_north_m2_s: Singles
    lie: Floats

    @classmethod
    def of(cls, airs: Sequence[coldair.Air], lie: Floats) -> Self:
        """Of the air of each run."""
        depth, deepens, east, north = (
            np.stack([getattr(air, name) for air in airs]).astype(np.float32)
            for name in cls._fields[:-1]
        )
        return cls(depth, deepens, east, north, lie)

    @property
    def fields(self) -> tuple[Singles, Singles, Singles, Singles]:
        """All but where it lies."""
        return (
            self.depth_m,
            self.deepens_m_s,
            self.through_east_m2_s,
            self.through_north_m2_s,
        )

    def run(self, number: int) -> coldair.Air:
        """Air of one run."""
        return coldair.Air(*(each[number].astype(np.float64) for each in self.fields))

    def depths(self, crs: pyproj.CRS) -> Raster:
        """Depth of the three runs."""
        west, north, size = self.lie.tolist()
        lie = from_origin(west, north, size, size)
        return Raster(self.depth_m.astype(np.float64), lie, crs)

    @property
    def bounds(self) -> Bounds:
        """West, south, east and north of its cells."""
        west, north, size = self.lie.tolist()
        rows, cols = self.depth_m.shape[1:]
        return west, north - rows * size, west + cols * size, north

    def window(self, bounds: Bounds) -> Window:
        """Rows and columns within bounds that lie on edges of its cells."""
        west, north, size = self.lie.tolist()
        rows, cols = (
            slice(round(first / size), round(last / size))
            for first, last in (
                (north - bounds[3], north - bounds[1]),
                (bounds[0] - west, bounds[2] - west),
            )
        )
        return rows, cols

    def take(self, other: Self, bounds: Bounds) -> None:
        """Lay what another has within bounds over what lies there.

        Where that is water to the other, which no air of it lies on, none lies here;
        where it is missing here, it stays so.
        """
        west, south, east, north = zip(self.bounds, other.bounds, bounds, strict=True)
        shared = max(west), max(south), min(east), min(north)
        if shared[0] >= shared[2] or shared[1] >= shared[3]:
            return
        windows = [each.window(shared) for each in (self, other)]
        for mine, its, more in zip(self.fields, other.fields, _MORE, strict=True):
            here, there = (_wider(each, more) for each in windows)
            known = its[:, *there]
            cells = mine[:, *here]
            cells[...] = np.where(np.isnan(known), 0 * cells, known)


# How many more rows and columns than cells each field of `Airs` has.
_MORE = (0, 0), (0, 0), (0, 1), (1, 0)


def _wider(window: Window, more: tuple[int, int]) -> Window:
    rows, cols = (
        slice(part.start, part.stop + one)
        for part, one in zip(window, more, strict=True)
    )
    return rows, cols


def part(
    fine: Raster,
    tile: Bounds,
    tiles: Sequence[Bounds],
    frame: Frame | None,
    night: Night,
) -> Part:
    """What the air of a tile meets.

    Parameters
    ----------
    fine
        Heights of a tile and `FINE_CELLS` around it, or as far as any are known.
    tile
        Its bounds.
    tiles
        Bounds of the region's tiles there, its own among them.
    frame
        What coarse cells say of its surroundings; None where tiles lie all around.
    night
        Parcels and surroundings.
    """
    met = flow.met_by(_ground(fine, night), night.parcels, night.surroundings)
    land = fine.with_values(met.land_m)
    held = _held(land, tile)
    foreign = held & np.all([_outside(land, each) for each in tiles], axis=0)
    beyond, beyond_m = _beyond(land, foreign, frame)
    barriers = met.barriers
    return Part(
        land.values,
        met.production(),
        barriers.east_sill_m,
        barriers.east_covered,
        barriers.north_sill_m,
        barriers.north_covered,
        np.array([land.transform.c, land.transform.f, land.cell_size_m]),
        held & ~foreign,
        beyond,
        np.zeros(1) if frame is None else np.array([0.0, *frame.hours]),
        beyond_m,
    )


def _beyond(land: Raster, foreign: Flags, frame: Frame | None) -> tuple[Flags, Floats]:
    """Which cells of no tile coarse ones know, and how deep air lies there, from 0 on."""
    if frame is None:
        return np.zeros_like(foreign), np.zeros((len(flow.RUNS), 1, 0))
    east_m, north_m = (side[foreign] for side in land.middles)
    ground = frame.spread(frame.ground_m, land)
    read_m = np.stack(
        [
            _read_on(
                frame.spread(depth_m, land),
                ground,
                (east_m, north_m),
                land.values[foreign],
            )
            for depth_m in frame.depth_m
        ]
    )
    known = np.isfinite(read_m).all(axis=(0, 1))
    beyond = foreign.copy()
    beyond[foreign] = known
    return beyond, np.pad(read_m[..., known], ((0, 0), (1, 0), (0, 0)))


def at_sunset(part: Part) -> Airs:
    """The air before the first spell: none yet."""
    airs = [
        coldair.Air.at_sunset(part.land_m, part.production, run) for run in flow.RUNS
    ]
    return Airs.of(airs, part.lie)


def spell(
    part: Part, airs: Airs, between_s: tuple[float, float], *, on_card: bool
) -> Airs:
    """The air of a tile after a spell of the night.

    Parameters
    ----------
    part
        What it meets.
    airs
        The air before, with that of the tiles around: see `Airs.take`.
    between_s
        When the spell begins and ends, after sunset.
    on_card
        Whether a graphics card computes it.
    """
    run_on = coldair.run_on_card if on_card else coldair.run_on
    barriers = coldair.Barriers(
        part.east_sill_m, part.east_covered, part.north_sill_m, part.north_covered
    )
    cell_m = float(part.lie[2])
    after = []
    for number, run in enumerate(flow.RUNS):
        air = airs.run(number)
        along = _along(part, number, air, between_s)
        after.append(
            run_on(part.land_m, cell_m, part.production, air, along, run, barriers)
        )
    return Airs.of(after, part.lie)


def _along(
    part: Part, number: int, air: coldair.Air, between_s: tuple[float, float]
) -> coldair.Spell:
    """Depths along the edge through a spell: beside tiles they go on as they did."""
    cells = part.beside | part.beyond
    seconds = between_s[1] - between_s[0]
    ends_m = (
        air.depth_m.copy(),
        np.maximum(0.0, air.depth_m + seconds * air.deepens_m_s),
    )
    for depth_m, at_s in zip(ends_m, between_s, strict=True):
        depth_m[part.beyond] = _at(part.hours, part.beyond_m[number], at_s / 3600)
    from_m, to_m = (depth_m[cells] for depth_m in ends_m)
    return coldair.Spell(seconds, cells, from_m, to_m)


def _at(hours: Floats, depth_m: Floats, hour: float) -> Floats:
    """Depth at an hour by that of (hours, cells), evenly in between."""
    if len(hours) == 1:
        return np.asarray(depth_m[0])
    after = int(np.clip(np.searchsorted(hours, hour), 1, len(hours) - 1))
    share = min(1.0, (hour - hours[after - 1]) / (hours[after] - hours[after - 1]))
    return np.asarray(depth_m[after - 1] * (1 - share) + depth_m[after] * share)


def _held(land: Raster, tile: Bounds) -> Flags:
    """Known cells within `HELD_CELLS` of where the fine ones of a tile end."""
    edge = grown(tile, FINE_CELLS * land.cell_size_m)
    inner = grown(edge, -HELD_CELLS * land.cell_size_m)
    return np.asarray(np.isfinite(land.values) & _outside(land, inner))


def _outside(cells: Raster, bounds: Bounds) -> Flags:
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
        (3, ...) [°C], as for the plots of one site. A place is compared with the median
        of many that lie far off, so all that terrain does not tell of it is in the range.
    """
    limits_c = coldness.COLDEST_C, coldness.WARMEST_C
    answers_c = np.clip(coldness.offsets_c(cold_c, reference_c), *limits_c)
    astray_c = scatter.Scatter().place_c
    range_c = coldness.range_c(answers_c, LIKELIEST, drawn(None), astray_c)
    return np.clip(range_c, *limits_c)
