"""A region with layers to its parcels: facts, seasons, order and reasons."""

from functools import partial
from typing import NamedTuple

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.climatology import read_record
from fieldmap.decide.calendar.bed_temperatures import StationAir
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.raster import Bounds, Raster, grown
from fieldmap.model.region import Region
from fieldmap.model.season_year import SeasonYear
from fieldmap.model.settings import Station
from fieldmap.read.crops import choose, packaged_crops
from fieldmap.read.outlines.parcels import off_the_ground
from fieldmap.region import layers
from fieldmap.region.parcels import ranking, season
from fieldmap.region.parcels.facts import ParcelFacts, facts
from fieldmap.region.parcels.tables import Chosen
from fieldmap.region.tiles import GROUND, LAYERS, Place
from layers import nights

MOST_CELLS = 1500  # of the ground of a whole region, along a side


class Described(NamedTuple):
    """Parcels of a region, and what to say of how they came about."""

    chosen: Chosen
    remarks: tuple[Fact, ...]


def describe(region: Region, place: Place) -> Described:
    """All that the layers and the weather record say of the parcels of a region."""
    frame = region.parcels
    found = facts(frame.geometry, partial(_window, place))
    seasons, remarks = _seasons(region, place, found)
    chosen = Chosen(
        frame, found, seasons, ranking.ranks(found, seasons), ranking.reasons(found)
    )
    off = off_the_ground(frame, shapely.box(*region.known))
    return Described(chosen, (*off, *remarks))


def _window(place: Place, name: str, bounds: Bounds) -> Raster:
    return layers.read(place, LAYERS[name], bounds)


def station_of(region: Region) -> Station | None:
    """Where the weather was recorded, as `region.toml` or the record itself says."""
    return region.settings.station or region.weather.station


def _seasons(
    region: Region, place: Place, found: ParcelFacts
) -> tuple[season.Seasons | None, tuple[Fact, ...]]:
    """Seasons of the parcels, or why there are none; what they rest on."""
    settings = region.settings
    record = read_record(
        region.weather,
        settings.weather,
        choose((), packaged_crops()),
        SeasonYear(southern=region.latitude < 0),
    )
    if isinstance(record, Fact):
        return None, (record,)
    known = found.height_m[~np.isnan(found.height_m)]
    if not len(known):
        return None, ()
    station = station_of(region)
    air = StationAir(
        None if station is None else station.elevation_m,
        float(np.median(known)),
        None,
        None,
        None,
    )
    seasons = season.seasons(
        record,
        air,
        found.offset_c,
        (found.place_m, found.height_m),
        _mixed_share(place, region.parcels.geometry),
        season.frost(settings.frost.limit_c),
    )
    return seasons, tuple(air.remarks())


def _mixed_share(place: Place, outlines: list[BaseGeometry]) -> Estimate:
    """What is left of an offset on mixed nights, by the relief around the middle parcel.

    Of the height differences around each parcel, within the distance that makes a valley,
    the median counts; what lies beyond the elevation is taken as no valley.
    """
    heights = coarse_heights(place)
    relief_m = [
        float(np.ptp(there[np.isfinite(there)]))
        for each in outlines
        if np.isfinite(there := _around(heights, each.bounds)).any()
    ]
    height_m = float(np.median(relief_m)) if relief_m else 0.0
    return Estimate(*nights.mixed_share(height_m, is_all_known=True))


def _around(heights: Raster, bounds: Bounds) -> np.ndarray:
    return heights.clip(heights.window(grown(bounds, nights.VALLEY_WITHIN_M))).values


def coarse_heights(place: Place) -> Raster:
    """The ground of a whole region and around it, as fine as many cells allow."""
    around = grown(place.bounds, nights.VALLEY_WITHIN_M)
    side_m = max(around[2] - around[0], around[3] - around[1])
    return level_of(place, around, side_m / MOST_CELLS)


def level_of(place: Place, bounds: Bounds, least_cell_m: float) -> Raster:
    """Heights of the finest level whose cells are no smaller, else of the coarsest.

    Parameters
    ----------
    place
        Where the region's tiles lie.
    bounds
        West, south, east, north in the region's CRS.
    least_cell_m
        Side of the smallest cell that is wanted.

    Returns
    -------
    heights
        Ground [m] of all cells that touch the bounds; NaN where missing.
    """
    sizes = [lattice.cell_m for lattice in place.lattices.ground]
    level = next(
        (at for at, size in enumerate(sizes) if size >= least_cell_m), len(sizes) - 1
    )
    return layers.read(place, LAYERS[GROUND[level]], bounds)
