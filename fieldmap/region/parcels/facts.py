"""What the layers of a region say of each parcel, with how much it differs on it."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.water import GATHERS_FROM
from fieldmap.model.raster import Bounds, Raster
from fieldmap.region.parcels.zones import Zone

Floats = npt.NDArray[np.float64]
# One layer by its name, over bounds; cells beyond what is known are missing.
Window = Callable[[str, Bounds], Raster]

M2_PER_HA = 10_000.0
ENDS = (0.1, 0.5, 0.9)  # parts of a parcel's ground that ranges of one parcel stand for
# Slopes up to which ground is counted [%].
SLOPES_PERCENT = (2.0, 3.0, 5.0, 8.0, 10.0, 15.0, 20.0, 30.0)
USUAL_SLOPE = SLOPES_PERCENT.index(8.0)
# Ground that falls by less on the whole faces nowhere, and where slopes cancel by more
# than half it faces several ways (choices).
LEVEL_PERCENT, ONE_WAY_SHARE = 1.0, 0.5
# Months that are counted as dark, and light below which ground is shaded in them, as a
# share of that of open level ground (choices).
DARK_MONTHS, SHADED_BELOW = 3, 0.75
LEVEL_IN_SUN_PERCENT = 3.0
_ALONG = tuple(
    np.linspace(0.0, 1.0, 41).tolist()
)  # parts of a parcel in order of its light


@dataclass(frozen=True)
class ParcelFacts:
    """Facts of parcels; the last axis is (parcels,), NaN where too little is known.

    Attributes
    ----------
    place_m
        (parcels, 2) east and north of a point on each.
    area_ha
        Of the outline.
    known_share
        Part of it on which the ground is known.
    height_m
        Mean.
    slope_percent, sun_mj_m2_day, dark_sun_mj_m2_day
        (3, parcels): what a tenth, half and nine tenths of its ground lie below; light of
        a mean day of the year, and of its darkest months.
    dark_months
        Numbers of these, January is 1.
    faces_deg, one_way_share
        Direction in which it falls on the whole, clockwise from true north, NaN where it
        is level; how far its slopes agree, 0 to 1.
    shaded_share
        Part that gets under `SHADED_BELOW` of the light of open level ground in these
        months, be it from hills, hedges, woods or its own slope.
    offset_c
        (3, parcels): low, central and high of a clear calm night, means over it.
    cold_air_m
        Mean depth of the cold layer.
    wet_share
        Part on which rain water gathers, by the shape of the land.
    dry_ha
        (slopes, parcels): ground not steeper than each of `SLOPES_PERCENT` on which rain
        water does not gather.
    """

    place_m: Floats
    area_ha: Floats
    known_share: Floats
    height_m: Floats
    slope_percent: Floats
    faces_deg: Floats
    one_way_share: Floats
    sun_mj_m2_day: Floats
    dark_sun_mj_m2_day: Floats
    dark_months: tuple[int, ...]
    shaded_share: Floats
    offset_c: Floats
    cold_air_m: Floats
    wet_share: Floats
    dry_ha: Floats

    def __len__(self) -> int:
        """Number of parcels."""
        return len(self.area_ha)


class _Ground(NamedTuple):
    """What the fine layers say of one parcel."""

    known_share: float
    height_m: float
    slope_percent: Floats
    fall: tuple[float, float, float]
    year: Floats
    dark: Floats
    level_dark: float
    dry_ha: Floats


class _Night(NamedTuple):
    """What the layers of nights and water say of one parcel."""

    offset_c: Floats
    cold_air_m: float
    wet_share: float


def facts(outlines: Iterable[BaseGeometry], window: Window) -> ParcelFacts:
    """The facts of parcels, each read from the cells under it alone.

    Parameters
    ----------
    outlines
        In the CRS of the layers.
    window
        Gives `elevation_m`, `slope_deg`, `aspect_deg`, `sun_mj_m2_day` (12 months) on one
        grid, and `offset_c` (low, central, high), `cold_air_m`, `wetness_index` on one;
        aspects are from true north, NaN on level ground.
    """
    every = list(outlines)
    dark = _dark_months(every, window)
    ground = [_ground(each, window, dark) for each in every]
    night = [_night(each, window) for each in every]
    fall = np.array([each.fall for each in ground]).reshape(-1, 3)
    along = np.stack([each.dark for each in ground], axis=1)
    open_level = _open_level(ground)
    return ParcelFacts(
        place_m=shapely.get_coordinates(shapely.point_on_surface(every)),
        area_ha=shapely.area(every) / M2_PER_HA,
        known_share=np.array([each.known_share for each in ground]),
        height_m=np.array([each.height_m for each in ground]),
        slope_percent=np.stack([each.slope_percent for each in ground], axis=1),
        faces_deg=_faces_deg(fall),
        one_way_share=_one_way(fall),
        sun_mj_m2_day=np.stack([each.year for each in ground], axis=1),
        dark_sun_mj_m2_day=along[[np.searchsorted(_ALONG, end) for end in ENDS]],
        dark_months=tuple(month + 1 for month in dark),
        shaded_share=_shaded(along, SHADED_BELOW * open_level),
        offset_c=np.stack([each.offset_c for each in night], axis=1),
        cold_air_m=np.array([each.cold_air_m for each in night]),
        wet_share=np.array([each.wet_share for each in night]),
        dry_ha=np.stack([each.dry_ha for each in ground], axis=1),
    )


def _dark_months(outlines: list[BaseGeometry], window: Window) -> list[int]:
    """Indices of the darkest months, by the light of the first parcels that are known."""
    for each in outlines:
        sun = window("sun_mj_m2_day", each.bounds)
        months = np.asarray(sun.values, np.float64).reshape(12, -1)
        known = ~np.isnan(months).any(axis=0)
        if known.any():
            mean = months[:, known].mean(axis=1)
            return _in_a_row(np.argsort(mean)[:DARK_MONTHS].tolist())
    return [10, 11, 0]


def _in_a_row(months: list[int]) -> list[int]:
    """Months of one winter from its first on."""
    first = next((each for each in months if (each - 1) % 12 not in months), months[0])
    return sorted(months, key=lambda each: (each - first) % 12)


def _ground(outline: BaseGeometry, window: Window, dark: list[int]) -> _Ground:
    bounds = outline.bounds
    slopes = window("slope_deg", bounds)
    zone = Zone.under(outline, slopes)
    slope = 100 * np.tan(np.radians(zone.values(slopes.values)))
    aspect = np.radians(zone.values(window("aspect_deg", bounds).values))
    # Level cells face nowhere, which is known of them.
    east, north = (
        np.where(np.isnan(aspect), 0 * slope, slope * side)
        for side in (np.sin(aspect), np.cos(aspect))
    )
    months = zone.values(window("sun_mj_m2_day", bounds).values)
    in_dark = months[dark].mean(axis=0)
    level = in_dark[slope < LEVEL_IN_SUN_PERCENT]
    level = level[~np.isnan(level)]
    return _Ground(
        known_share=zone.known_share(slope),
        height_m=zone.mean(zone.values(window("elevation_m", bounds).values)),
        slope_percent=zone.percentiles(slope, ENDS),
        fall=(zone.mean(east), zone.mean(north), zone.mean(slope)),
        year=zone.percentiles(months.mean(axis=0), ENDS),
        dark=zone.percentiles(in_dark, _ALONG),
        level_dark=float(np.quantile(level, 0.9)) if len(level) else np.nan,
        dry_ha=_dry_ha(outline, slopes, zone, slope, window),
    )


def _dry_ha(
    outline: BaseGeometry, grid: Raster, zone: Zone, slope: Floats, window: Window
) -> Floats:
    """Ground up to each slope on which no water gathers, as `ParcelFacts.dry_ha`."""
    index = window("wetness_index", outline.bounds)
    row, col = np.divmod(zone.cells, grid.shape[1])
    wetness = index.sample(*grid.middle_of(row, col))
    if np.isnan(zone.mean(slope + wetness)):  # too little is known
        return np.full(len(SLOPES_PERCENT), np.nan)
    dry = np.where(wetness < GATHERS_FROM, zone.share, 0.0)
    area_ha = outline.area / M2_PER_HA
    return np.array([area_ha * dry[slope <= most].sum() for most in SLOPES_PERCENT])


def _night(outline: BaseGeometry, window: Window) -> _Night:
    bounds = outline.bounds
    offsets = window("offset_c", bounds)
    zone = Zone.under(outline, offsets)
    cold_air = zone.values(window("cold_air_m", bounds).values)
    wetness = zone.values(window("wetness_index", bounds).values)
    return _Night(
        np.array([zone.mean(band) for band in zone.values(offsets.values)]),
        zone.mean(cold_air),
        1 - zone.part(wetness, below=GATHERS_FROM),
    )


def _open_level(ground: list[_Ground]) -> float:
    """Light of open level ground in the dark months, the middle of what parcels have.

    Without any level ground that of the brightest tenth of each.
    """
    level = np.array([each.level_dark for each in ground])
    if np.isnan(level).all():
        level = np.array([each.dark[np.searchsorted(_ALONG, 0.9)] for each in ground])
    return float("nan") if np.isnan(level).all() else float(np.nanmedian(level))


def _shaded(along: Floats, limit: float) -> Floats:
    """Part of each parcel whose light, (parts, parcels) in order, is under a limit."""
    found = [np.interp(limit, each, _ALONG, left=0.0, right=1.0) for each in along.T]
    return np.where(np.isnan(along[0]), np.nan, np.array(found, np.float64))


def _faces_deg(fall: Floats) -> Floats:
    east, north, _ = fall.T
    bearing = np.degrees(np.arctan2(east, north)) % 360.0
    return np.where(np.hypot(east, north) < LEVEL_PERCENT, np.nan, bearing)


def _one_way(fall: Floats) -> Floats:
    east, north, slope = fall.T
    along = np.hypot(east, north)
    nowhere = np.full(len(fall), np.nan)
    return np.asarray(np.divide(along, slope, out=nowhere, where=slope > 0))
