"""Sunlight by month on tilted ground under a skyline, and the sun's hours on one day.

The sun's path does not depend on the ground, so it is added up once for a place: for
every month, compass sector and step of skyline, the light that comes from above that
skyline, as a vector (toward the sector, up). The light on a cell is then a sum over
sectors of that vector times the cell's normal; the cost no longer depends on the time
step.
Positions, clear sky and turbidity come from pvlib, which takes long to load and is loaded
where it is first asked.
"""

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd
from numba import njit

from layers._grid import (
    Cube,
    Grid,
    check_grid,
    check_same_shape,
    empty_planes,
    in_row_blocks,
)

Array = npt.NDArray[np.float64]
Single = npt.NDArray[np.float32]
Flags = npt.NDArray[np.bool_]
Whole = npt.NDArray[np.int32]

STEP_MINUTES = 10
BINS_PER_DEG = 4
EDGES = 90 * BINS_PER_DEG + 1
MONTHS = 12
SUMS = 2 * MONTHS  # kept for a cell: light and hours of every month
ENTRY = 2 * SUMS  # numbers in the kernels' table for one skyline edge
GOLDEN_SHARE = 0.6180339887  # its multiples fill a circle evenly
MJ_M2_PER_WH_M2 = 0.0036
# Photons that plants use per light of all colours, the middle of two usual factors, and
# the part of it by which either differs: 0.45 of the energy at 4.57 µmol/J is 2.06
# (McCree 1972, Agric. Meteorol. 10:443; Thimijan & Heins 1983, HortScience 18:818; from
# memory), 0.50 (Szeicz 1974, J. Appl. Ecol. 11:617; from memory) at 4.6 is 2.30.
MOL_PER_MJ = 2.18
LIGHT_INTEGRAL_BAND = 0.06
# Part of the light that open ground throws back: short green crops, by FAO-56 0.23, dry
# soil less.
GROUND_ALBEDO = 0.2
BLOCK_CELLS = 20_000  # worked on by one thread at a time
TILE = 128  # cells whose running sums stay in the nearest cache


@dataclass(frozen=True)
class Place:
    """Where the ground lies, and how its grid is turned.

    `convergence_deg` is the true bearing of grid north: true bearing = grid bearing +
    convergence. It enters here and nowhere else.
    """

    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    convergence_deg: float

    def __post_init__(self) -> None:
        """Raise ValueError for a place that is not on the globe."""
        if not abs(self.latitude_deg) <= 90:
            raise ValueError(
                f"latitude_deg must lie in -90 to 90, got {self.latitude_deg}"
            )
        if not abs(self.longitude_deg) <= 180:
            raise ValueError(
                f"longitude_deg must lie in -180 to 180, got {self.longitude_deg}"
            )
        if not np.isfinite(self.elevation_m):
            raise ValueError(f"elevation_m must be a number, got {self.elevation_m}")
        if not np.isfinite(self.convergence_deg):
            raise ValueError(
                f"convergence_deg must be a number, got {self.convergence_deg}"
            )


@dataclass(frozen=True)
class SunPath:
    """Where the sun stands at evenly spaced times.

    Attributes
    ----------
    times_utc
        Middles of the steps, with time zone.
    altitude_deg
        Angle of the sun's centre above level, lifted by refraction.
    azimuth_deg
        Clockwise from true north.
    before_noon
        Part of each step that lies before true solar noon, 0-1.
    month
        0 for January; of the local mean solar day.
    step_hours
        Length of one step.
    days
        Number of days of each month in the path, (12,).
    """

    times_utc: pd.DatetimeIndex
    altitude_deg: Array
    azimuth_deg: Array
    before_noon: Array
    month: npt.NDArray[np.intp]
    step_hours: float
    days: Array


@dataclass(frozen=True)
class SkyLight:
    """Irradiance at the times of a path [W/m²].

    `circumsolar_w_m2` is the part of the sky light that comes from around the sun, on a
    plane facing it (zeros for an isotropic sky); `dhi_w_m2` holds all of the sky light.
    """

    dni_w_m2: Array
    dhi_w_m2: Array
    circumsolar_w_m2: Array


@dataclass(frozen=True)
class SunTable:
    """Light of a mean day of each month, by where it comes from.

    Attributes
    ----------
    beam, circumsolar
        (2, sectors, edges, 2, 12): before and after solar noon; sector i centred on
        i·360/sectors clockwise from grid north; light from above skyline edge
        j/`BINS_PER_DEG` degrees; up, and level toward the sector; January first.
        [MJ/m²/day]
    hours
        (2, sectors, edges, 12): hours of sun above that edge.
    sky_mj_m2_day, global_mj_m2_day
        (12,): sky light (circumsolar included) and all light on open level ground.
    """

    beam: Single
    circumsolar: Single
    hours: Single
    sky_mj_m2_day: Array
    global_mj_m2_day: Array

    @property
    def sectors(self) -> int:
        """Number of compass sectors."""
        return int(self.beam.shape[1])

    @property
    def isotropic_mj_m2_day(self) -> Array:
        """Sky light on open level ground without the circumsolar part, (12,)."""
        return self.sky_mj_m2_day - _level(self.circumsolar)


@dataclass(frozen=True)
class Sunlight:
    """Light on each square metre of the sloping ground, on a mean day of each month.

    Attributes
    ----------
    beam_mj_m2_day
        Straight from the sun; with a Hay-Davies sky, from around it too.
    sky_mj_m2_day
        From the rest of the sky.
    reflected_mj_m2_day
        From the ground around.
    direct_hours
        Hours a day with the sun above the skyline and in front of the slope; hours
        behind a crown count by its transmission.
    morning_share
        Part of the beam that comes before solar noon, 0-1; NaN in a month without beam.

    All (12, rows, cols), January first; NaN where an input is missing.
    """

    beam_mj_m2_day: Cube
    sky_mj_m2_day: Cube
    reflected_mj_m2_day: Cube
    direct_hours: Cube
    morning_share: Cube

    @property
    def total_mj_m2_day(self) -> Cube:
        """Beam, sky and reflected light together."""
        return self.beam_mj_m2_day + self.sky_mj_m2_day + self.reflected_mj_m2_day


class Hidden(NamedTuple):
    """Rays from points on the ground that meet what stands on it, band by band.

    As `obstacles.bands` finds them.

    Attributes
    ----------
    point, sector
        (rays,): of which point, and toward which sector of the table, a ray goes.
    start
        (rays + 1,): where the bands of each ray begin in the rest, nearest first.
    low_deg, high_deg
        (bands,): from where to where above level.
    thing, facing
        (bands,): number of the thing, and of the direction that its side looks to;
        negative where it is seen from underneath.
    """

    point: Whole
    sector: Whole
    start: Whole
    low_deg: Single
    high_deg: Single
    thing: Whole
    facing: Whole


class Things(NamedTuple):
    """What things make of the light.

    Attributes
    ----------
    transmission
        (things, 12): part of the light that passes, 0-1, January first.
    sent_back_mj_m2_day
        (things, facings, 12): light that a square metre of each side sends back, were
        none let through; see `on_sides_mj_m2_day`.
    """

    transmission: Single
    sent_back_mj_m2_day: Single


class Kept(NamedTuple):
    """What things take from the light of points, and send them, each (points, 12).

    Attributes
    ----------
    morning, afternoon
        Beam that is kept back before and after solar noon [MJ/m²/day].
    hours
        Hours of sun kept back; behind leaves by the part of the light kept back.
    sky_share, sky
        Cosine-weighted part of an even sky that is kept back, and its light
        [MJ/m²/day].
    sent
        Light that the things send to the point [MJ/m²/day].
    level
        Beam and sky kept back, less light sent, on a level surface there [MJ/m²/day].
    """

    morning: Single
    afternoon: Single
    hours: Single
    sky_share: Single
    sky: Single
    sent: Single
    level: Single


# ------------------------------------------------------------------ the sun's path
def sun_position(times_utc: pd.DatetimeIndex, place: Place) -> pd.DataFrame:
    """Where the sun stands, and how far the sundial is ahead of mean solar time.

    Parameters
    ----------
    times_utc
        With their time zone.
    place
        Where the sun is seen from.

    Returns
    -------
    DataFrame
        Columns of pvlib, of which this module uses `apparent_elevation` (of the sun's
        centre above level, lifted by refraction) [deg], `azimuth` (clockwise from
        true north) [deg] and `equation_of_time` [minutes].

    Raises
    ------
    ValueError
        When the times have no time zone.

    Notes
    -----
    Reda & Andreas 2004, Solar Energy 76:577-589, as in pvlib; pressure of the standard
    atmosphere at the place's elevation, 12 °C.
    """
    import pvlib

    if times_utc.tz is None:
        raise ValueError("times_utc must carry a time zone")
    position: pd.DataFrame = pvlib.solarposition.get_solarposition(
        times_utc, place.latitude_deg, place.longitude_deg, place.elevation_m
    )
    return position


def rise_and_set(
    days: Sequence[dt.date], latitude_deg: float, longitude_deg: float, time_zone: str
) -> pd.DataFrame:
    """When the sun rises and sets on days of the calendar of a time zone.

    Parameters
    ----------
    days
        Days of the calendar.
    latitude_deg, longitude_deg
        Of the place, north and east positive.
    time_zone
        Its name in the IANA database.

    Returns
    -------
    DataFrame
        One row a day, columns `sunrise` and `sunset`, in the time zone; missing on days
        without one.

    Notes
    -----
    Upper limb with 34' of refraction, level skyline: Reda & Andreas 2004, Solar Energy
    76:577-589, as in pvlib.

    Examples
    --------
    >>> at = rise_and_set([dt.date(2024, 6, 20)], 80.0, 0.0, "UTC")
    >>> at["sunset"].isna().tolist()
    [True]
    """
    import pvlib

    if not days:  # of no times pandas does not know that they are some
        none = pd.DatetimeIndex([], tz=time_zone)
        return pd.DataFrame({"sunrise": none, "sunset": none})
    # Noon, as a clock may be put on at midnight.
    noons = pd.DatetimeIndex(list(days)) + pd.Timedelta(hours=12)
    noons = asked = noons.tz_localize(time_zone)
    one_day = pd.Timedelta(days=1)
    # pvlib reads the date as one of UTC. Near 180° the sun may be highest on another date
    # there, so ask once more for that one. When the moment crosses midnight of UTC, one
    # date has it twice and another never: there the next day's times serve.
    for _ in range(2):
        found = pvlib.solarposition.sun_rise_set_transit_spa(
            asked, latitude_deg, longitude_deg
        )
        highest = pd.DatetimeIndex(found["transit"], tz=noons.tz)
        off = np.rint((highest - noons) / one_day)
        if not off.any():
            return found[["sunrise", "sunset"]].reset_index(drop=True)
        asked = asked - pd.to_timedelta(off, unit="D")
    by = pd.to_timedelta(off, unit="D").to_numpy()
    return pd.DataFrame(
        {name: found[name].array - by for name in ("sunrise", "sunset")}
    )


def sun_path(
    days: Sequence[dt.date], place: Place, step_minutes: float = STEP_MINUTES
) -> SunPath:
    """Sun's positions over whole days, midnight to midnight in local mean solar time.

    Within half a step: the days after the first are looked at at other minutes.

    Parameters
    ----------
    days
        Days of the calendar.
    place
        Where the path is seen from.
    step_minutes
        Between positions; it must divide a day.

    Raises
    ------
    ValueError
        When there is no day, or the step does not divide a day.

    Examples
    --------
    At an equinox the noon sun stands at 90° less the latitude.

    >>> place = Place(45.0, 15.0, 200.0, 0.0)
    >>> path = sun_path([dt.date(2025, 3, 20)], place)
    >>> round(float(path.altitude_deg.max()))
    45
    """
    steps = round(24 * 60 / step_minutes)
    if not len(days) or abs(steps * step_minutes - 24 * 60) > 1e-9:
        raise ValueError(
            "a path needs a day and a step that divides it, got "
            f"{len(days)} days and {step_minutes} minutes"
        )
    midnights = pd.DatetimeIndex(list(days)).as_unit("ns")
    minutes = (np.arange(steps) + 0.5) * step_minutes
    # Each day but the first is looked at some minutes later or earlier, or the sun of a
    # month in which it keeps its path would only ever stand in the same few places.
    later = (np.arange(len(days)) * GOLDEN_SHARE + 0.5) % 1.0 - 0.5
    minutes = np.add.outer(later * step_minutes, minutes).ravel()
    middles = pd.to_timedelta(minutes, unit="min").to_numpy()
    solar = pd.DatetimeIndex(np.repeat(midnights.to_numpy(), steps) + middles)
    times = (solar - pd.Timedelta(hours=place.longitude_deg / 15)).tz_localize("UTC")
    sun = sun_position(times, place)
    past_noon = minutes + sun["equation_of_time"] - 12 * 60
    return SunPath(
        times_utc=times,
        altitude_deg=np.asarray(sun["apparent_elevation"]),
        azimuth_deg=np.asarray(sun["azimuth"]),
        before_noon=np.asarray(np.clip(0.5 - past_noon / step_minutes, 0, 1)),
        month=np.repeat(np.asarray(midnights.month - 1, dtype=np.intp), steps),
        step_hours=step_minutes / 60,
        days=np.bincount(midnights.month - 1, minlength=MONTHS).astype(np.float64),
    )


def clear_sky(
    path: SunPath, place: Place, sky_light: Literal["isotropic", "hay-davies"]
) -> SkyLight:
    """Irradiance of a cloudless sky along a path.

    Parameters
    ----------
    path
        Positions of the sun, from `sun_path`.
    place
        Where the path is seen from; its height thins the air.
    sky_light
        "isotropic": the sky is equally bright everywhere. "hay-davies": a part of its
        light, as large as the part of the beam that crosses the air, comes from around
        the sun.

    Raises
    ------
    ValueError
        When the sky light is neither.

    Notes
    -----
    Ineichen & Perez 2002, Solar Energy 73:151-157, with the monthly Linke turbidity
    that pvlib ships, interpolated between the middles of months; Hay & Davies 1980. As
    in pvlib, the circumsolar light of a sun under 1° is not divided by less than the
    sine of 1°.

    Examples
    --------
    >>> place = Place(45.0, 15.0, 200.0, 0.0)
    >>> path = sun_path([dt.date(2025, 6, 21)], place)
    >>> sky = clear_sky(path, place, "isotropic")
    >>> bool((sky.dni_w_m2[path.altitude_deg < 0] == 0).all())
    True
    """
    import pvlib

    if sky_light not in ("isotropic", "hay-davies"):
        raise ValueError(
            f'sky_light must be "isotropic" or "hay-davies", got {sky_light!r}'
        )
    up = path.altitude_deg > 0
    altitude, day = path.altitude_deg[up], np.asarray(path.times_utc.day_of_year)[up]
    extra = pvlib.irradiance.get_extra_radiation(day)
    airmass = pvlib.atmosphere.get_absolute_airmass(
        pvlib.atmosphere.get_relative_airmass(90 - altitude),
        pvlib.atmosphere.alt2pres(place.elevation_m),
    )
    turbidity = _linke_turbidity(day, place)
    sky = pvlib.clearsky.ineichen(
        90 - altitude, airmass, turbidity, place.elevation_m, extra
    )
    dni, dhi, circumsolar = np.zeros((3, path.altitude_deg.size))
    dni[up], dhi[up] = sky["dni"], sky["dhi"]
    if sky_light == "hay-davies":
        rise = np.sin(np.radians(np.maximum(altitude, 1)))
        circumsolar[up] = sky["dhi"] * (sky["dni"] / extra) / rise
    return SkyLight(dni, dhi, circumsolar)


def _linke_turbidity(day_of_year: npt.NDArray[np.intp], place: Place) -> Array:
    import pvlib

    firsts = pd.date_range("2025-01-01", periods=MONTHS, freq="MS")
    monthly = pvlib.clearsky.lookup_linke_turbidity(
        firsts, place.latitude_deg, place.longitude_deg, interp_turbidity=False
    )
    middles = firsts.day_of_year - 1 + firsts.days_in_month / 2
    turbidity: Array = np.interp(day_of_year, middles, monthly, period=365)
    return turbidity


# ------------------------------------------------------------------------ the table
def sun_table(
    place: Place,
    sectors: int,
    year: int,
    sky_light: Literal["isotropic", "hay-davies"] = "isotropic",
) -> SunTable:
    """Clear-sky light of every day of a year, averaged by month.

    Parameters
    ----------
    place
        Where the sky is seen from.
    sectors
        As many as the skylines have.
    year
        Any year serves; the sun's path hardly differs.
    sky_light
        As in `clear_sky`.

    Raises
    ------
    ValueError
        When there are fewer than four sectors, or the sky light is unknown.

    Examples
    --------
    >>> table = sun_table(Place(45.0, 15.0, 300.0, 0.0), sectors=36, year=2025)
    >>> bool(table.global_mj_m2_day[5] > 4 * table.global_mj_m2_day[11])
    True
    """
    path, sky = clear_year(place, year, sky_light)
    return tabulate(path, sky, sectors, place.convergence_deg)


def clear_year(
    place: Place,
    year: int,
    sky_light: Literal["isotropic", "hay-davies"] = "isotropic",
) -> tuple[SunPath, SkyLight]:
    """Sun's positions over a year, and what a cloudless sky sends: tables are made of it.

    Parameters
    ----------
    place
        Where the sky is seen from.
    year
        Any year serves; the sun's path hardly differs.
    sky_light
        As in `clear_sky`.

    Raises
    ------
    ValueError
        When the sky light is unknown.
    """
    days = pd.date_range(f"{year}-01-01", f"{year}-12-31")
    path = sun_path([day.date() for day in days], place)
    return path, clear_sky(path, place, sky_light)


def tabulate(
    path: SunPath, sky: SkyLight, sectors: int, convergence_deg: float
) -> SunTable:
    """Add up the light along a path by sector, skyline and month.

    A position counts in the two sectors, and at the two skyline edges, next to it,
    by nearness; its level light so that its two parts, each toward a sector, add up to
    it. A month without a day in the path holds zeros.

    Parameters
    ----------
    path
        Positions of the sun, from `sun_path`.
    sky
        Irradiance along the path [W/m²].
    sectors
        Of the table; sector i is centred on i·360/sectors degrees from grid north.
    convergence_deg
        True bearing of grid north.

    Raises
    ------
    ValueError
        When there are fewer than four sectors.
    """
    if sectors < 4:
        raise ValueError(f"sectors must be at least 4, got {sectors}")
    up = path.altitude_deg > 0
    altitude, month = np.radians(path.altitude_deg[up]), path.month[up]
    hours_a_day = path.step_hours / np.maximum(path.days, 1)
    hours = hours_a_day[month]
    share = _Share.of(path, up, sectors, convergence_deg)

    def light(irradiance_w_m2: Array) -> Single:
        mj = irradiance_w_m2[up] * hours * MJ_M2_PER_WH_M2
        upward = share.above(mj * np.sin(altitude), share.weight)
        toward = share.above(mj * np.cos(altitude), share.level_weight)
        return np.stack([upward, toward], axis=-2)

    beam = light(sky.dni_w_m2)
    sky_mj = (
        hours_a_day
        * MJ_M2_PER_WH_M2
        * np.bincount(path.month, sky.dhi_w_m2, minlength=MONTHS)
    )
    return SunTable(
        beam=beam,
        circumsolar=light(sky.circumsolar_w_m2),
        hours=share.above(hours, share.weight),
        sky_mj_m2_day=sky_mj,
        global_mj_m2_day=sky_mj + _level(beam),
    )


def _level(light: Single) -> Array:
    """Light on open level ground, (12,)."""
    return np.asarray(light[:, :, 0, 0].sum(axis=(0, 1), dtype=np.float64))


@dataclass(frozen=True)
class _Share:
    """How sun positions are shared between table entries: (8 × positions,) each."""

    index: npt.NDArray[np.intp]
    weight: Array
    level_weight: Array
    shape: tuple[int, ...]

    @classmethod
    def of(
        cls,
        path: SunPath,
        up: Flags,
        sectors: int,
        convergence_deg: float,
    ) -> "_Share":
        turn = (path.azimuth_deg[up] - convergence_deg) * sectors / 360
        rise = path.altitude_deg[up] * BINS_PER_DEG
        before = path.before_noon[up]
        shape = (2, sectors, EDGES, MONTHS)
        width = 2 * np.pi / sectors
        index, weight, level_weight = [], [], []
        for half, part in ((0, before), (1, 1 - before)):
            for sector, near in _both_sides(turn):
                for edge, close in _both_sides(rise):
                    sky = (sector % sectors, np.minimum(edge, EDGES - 1))
                    entry = (np.full_like(sector, half), *sky, path.month[up])
                    index.append(np.ravel_multi_index(entry, shape))
                    weight.append(part * near * close)
                    aside = np.sin(near * width) / np.sin(width)
                    level_weight.append(part * aside * close)
        entries, weights = np.concatenate(index), np.concatenate(weight)
        return cls(entries, weights, np.concatenate(level_weight), shape)

    def above(self, amount: Array, weight: Array) -> Single:
        """Sum of the amounts, shared by weight, that lie above each skyline edge."""
        shared = weight * np.tile(amount, 8)
        size = int(np.prod(self.shape))
        at = np.bincount(self.index, shared, size).reshape(self.shape)
        total = np.cumsum(at[:, :, ::-1], axis=2)[:, :, ::-1]
        # What is shared to an edge spreads evenly about it: half of it is above.
        # All of it is above a level skyline.
        half = np.concatenate([np.zeros_like(at[:, :, :1]), 0.5 * at[:, :, 1:]], axis=2)
        return np.asarray(total - half, dtype=np.float32)


def _both_sides(position: Array) -> list[tuple[npt.NDArray[np.intp], Array]]:
    """The whole numbers below and above each position, with their nearness."""
    below = np.floor(position).astype(np.intp)
    return [(below, 1 - (position - below)), (below + 1, position - below)]


# ------------------------------------------------------------------ light on the ground
def by_month(
    table: SunTable,
    east: Grid,
    north: Grid,
    horizon_deg: Cube,
    sky_view: Grid,
    ground_albedo: float = GROUND_ALBEDO,
) -> Sunlight:
    """Light on every cell on a mean day of each month.

    Parameters
    ----------
    table
        Clear or typical sky of the place.
    east, north
        Gradient of the ground [m/m], (rows, cols).
    horizon_deg
        (sectors, rows, cols): skyline above level, sector i centred on i·360/sectors
        clockwise from grid north. The ground's own slope need not be in it.
    sky_view
        (rows, cols): cosine-weighted part of the sky that the sloping cell sees, 0-1.
    ground_albedo
        Part of the light that the ground around throws back, 0-1.

    Raises
    ------
    ValueError
        When shapes do not fit, or the albedo is not within 0-1.

    Notes
    -----
    What is not sky is taken to be ground in open light: reflected light is albedo ×
    global light × (1 − sky view). This is the sum of the level ground before an open
    slope, (1 − cos β)/2, and of the terrain that hides sky, (1 + cos β)/2 − sky view.

    Examples
    --------
    >>> table = sun_table(Place(45.0, 15.0, 300.0, 0.0), sectors=36, year=2025)
    >>> level, walled = np.zeros((1, 2)), np.zeros((36, 1, 2), dtype=np.float32)
    >>> walled[:, 0, 1] = 90.0
    >>> light = by_month(table, level, level, walled, np.array([[1.0, 0.0]]))
    >>> light.beam_mj_m2_day[6, 0] > 0
    array([ True, False])
    """
    east, north = check_grid(east, "east"), check_grid(north, "north")
    sky_view = check_grid(sky_view, "sky_view")
    check_same_shape(east=east, north=north, sky_view=sky_view)
    _check_cube(horizon_deg, "horizon_deg", table.sectors, east.shape)
    if not 0 <= ground_albedo <= 1:
        raise ValueError(f"ground_albedo must lie in 0 to 1, got {ground_albedo}")

    skyline = np.ascontiguousarray(horizon_deg, dtype=np.float32)
    tables = Tables.of(table, ground_albedo)
    answer = empty_planes(5, MONTHS, *east.shape)

    def fill(first: int, last: int) -> None:
        rows = slice(first, last)
        here = [east[rows], north[rows], sky_view[rows]]
        _fill_rows(tables, np.array(here, np.float32), skyline, answer, first)

    in_row_blocks(fill, BLOCK_CELLS, *east.shape)
    return Sunlight(*answer)


def _check_cube(cube: Cube, name: str, sectors: int, shape: tuple[int, ...]) -> None:
    if cube.shape != (sectors, *shape):
        raise ValueError(
            f"{name} must have shape {(sectors, *shape)} (sectors, rows, cols), "
            f"got {cube.shape}"
        )


class Tables(NamedTuple):
    """What the kernels read: the table, what is around, and the sectors' bearings.

    Attributes
    ----------
    light
        (2, sectors, edges · 48): edge by edge twelve months each of light up, of
        hours, of light toward the sector, and of nothing.
    lit
        (2, sectors): where there is any.
    even_sky
        (edges, 2): the part of an even sky's light that a sector sends from above an
        edge, up and toward it.
    around
        (2, 12): light of an even sky, and of the ground, if it filled the view
        [MJ/m²/day].
    toward
        (sectors, 2): unit vectors to grid east and north.
    """

    light: Single
    lit: Flags
    even_sky: Single
    around: Single
    toward: Single

    @classmethod
    def of(cls, table: SunTable, ground_albedo: float = GROUND_ALBEDO) -> "Tables":
        """The tables of a sky."""
        bearing = np.radians(np.arange(table.sectors) * 360 / table.sectors)
        toward = np.stack([np.sin(bearing), np.cos(bearing)], axis=1)
        zenith = np.radians(90 - np.arange(EDGES) / BINS_PER_DEG)
        # Integrals over a sector of the unit vector, for a sky of brightness 1/π:
        # the terms of Dozier & Frew 1990, eq. 7b.
        level = zenith - np.sin(zenith) * np.cos(zenith)
        even_sky = np.stack([np.sin(zenith) ** 2, level], axis=1) / table.sectors
        light = np.zeros((2, table.sectors, EDGES, 4, MONTHS), dtype=np.float32)
        light[:, :, :, 0::2] = table.beam + table.circumsolar
        light[:, :, :, 1] = table.hours
        thrown_back = ground_albedo * table.global_mj_m2_day
        return cls(
            light=light.reshape(2, table.sectors, EDGES * ENTRY),
            lit=np.asarray(table.hours[:, :, 0].any(axis=-1)),
            even_sky=even_sky.astype(np.float32),
            around=np.array([table.isotropic_mj_m2_day, thrown_back], np.float32),
            toward=toward.astype(np.float32),
        )


class _Sight(NamedTuple):
    """What a tile of cells sees of each sector, all (sectors, `TILE`).

    Attributes
    ----------
    entry, beyond
        The skyline: where the edge below it begins in a sector of the table, and how
        far it lies beyond that edge, 0-1.
    rise
        Gradient of the ground toward the sector [m/m].
    """

    entry: npt.NDArray[np.uint64]
    beyond: Single
    rise: Single


@njit(cache=True, nogil=True)
def _fill_rows(
    tables: Tables,
    ground: Single,
    horizon_deg: Single,
    answer: Single,
    first: int,
) -> None:
    """Fill the rows of the answer from `first` on, tile by tile; see `Sunlight`.

    `ground` (3, rows, cols) holds the gradient to east and north, and the sky view.
    """
    sectors, _, cols = horizon_deg.shape
    sight = _Sight(
        np.zeros((sectors, TILE), dtype=np.uint64),
        np.zeros((sectors, TILE), dtype=np.float32),
        np.zeros((sectors, TILE), dtype=np.float32),
    )
    held = np.empty((2, TILE, SUMS), dtype=np.float32)
    sums = np.empty((3, MONTHS, TILE), dtype=np.float32)
    seen = np.empty((MONTHS, TILE), dtype=np.float32)
    upright = np.empty(TILE, dtype=np.float32)
    for row in range(ground.shape[1]):
        for start in range(0, cols, TILE):
            stop = min(start + TILE, cols)
            size = stop - start
            east, north = ground[0, row, start:stop], ground[1, row, start:stop]
            sky_view = ground[2, row, start:stop]
            of_tile = sums[:, :, :size], seen[:, :size]
            _stand_upright(east, north, sky_view, upright)
            for sector in range(sectors):
                skyline_deg = horizon_deg[sector, first + row, start:stop]
                toward = tables.toward[sector]
                _look((east, north), toward, skyline_deg, sector, sight, upright)
            _add_sectors(tables, sight, held)
            _project(held, upright, of_tile[0])
            for month in range(MONTHS):
                seen[month, :size] = sky_view
            _write(tables, of_tile, answer[:, :, first + row, start:stop])


@njit(cache=True, nogil=True)
def _stand_upright(
    east: Single, north: Single, sky_view: Single, upright: Single
) -> None:
    """Upward part of the unit normals of a stretch of cells; missing as NaN."""
    for i in range(east.size):
        steep = east[i] * east[i] + north[i] * north[i]
        upright[i] = 1 / math.sqrt(1 + steep) if sky_view[i] == sky_view[i] else np.nan


@njit(cache=True, nogil=True, fastmath={"contract"})
def _look(
    ground: tuple[Single, Single],
    toward: Single,
    horizon_deg: Single,
    sector: int,
    sight: _Sight,
    upright: Single,
) -> None:
    """Fill in one sector: the higher of skyline and the ground's own slope.

    Where the skyline is missing, so becomes `upright`. Written so that every line has
    a vector instruction.
    """
    east, north = ground
    entry, beyond, rise = sight.entry[sector], sight.beyond[sector], sight.rise[sector]
    one, most_deg, missing = np.float32(1), np.float32(90), np.float32(np.nan)
    last_edge = np.float32(EDGES - 2)
    per_deg, to_deg = np.float32(BINS_PER_DEG), np.float32(180 / math.pi)
    c1, c3, c5 = np.float32(0.9998660), np.float32(-0.3302995), np.float32(0.1801410)
    c7, c9 = np.float32(-0.0851330), np.float32(0.0208351)
    for i in range(east.size):
        rise[i] = toward[0] * east[i] + toward[1] * north[i]
    for i in range(east.size):
        up = max(rise[i], np.float32(0))
        # Abramowitz & Stegun 1964, 4.4.49: the arc tangent to 1e-5, without a call.
        x = min(up, one) / max(up, one)
        s = x * x
        own_deg = to_deg * x * (c1 + s * (c3 + s * (c5 + s * (c7 + s * c9))))
        own_deg = most_deg - own_deg if up > one else own_deg
        beyond[i] = min(max(horizon_deg[i], own_deg), most_deg) * per_deg
    for i in range(east.size):
        upright[i] = upright[i] if horizon_deg[i] == horizon_deg[i] else missing
    for i in range(east.size):
        beyond[i] = beyond[i] if upright[i] == upright[i] else np.float32(0)
    for i in range(east.size):
        edge = np.floor(min(beyond[i], last_edge))
        entry[i] = np.uint64(np.int32(edge) * ENTRY)
    for i in range(east.size):
        beyond[i] -= np.floor(min(beyond[i], last_edge))


@njit(cache=True, nogil=True)
def _add_sectors(tables: Tables, sight: _Sight, held: Single) -> None:
    """Sum up light and hours of a tile of cells before and after noon."""
    held[:] = 0
    for half in range(2):
        for sector in range(tables.lit.shape[1]):
            if tables.lit[half, sector]:
                _add_above(
                    tables.light[half, sector],
                    sight.entry[sector],
                    sight.beyond[sector],
                    sight.rise[sector],
                    held[half],
                )


@njit(cache=True, nogil=True, fastmath={"contract"})
def _add_above(
    light: Single,
    entry: npt.NDArray[np.uint64],
    beyond: Single,
    rise: Single,
    held: Single,
) -> None:
    """Add to each cell's row of sums what comes from above its skyline in a sector.

    Light per upright part of the normal: what comes down, less rise times what comes
    along. The inner loop is a long plain sum over one stretch of the table, counted
    without a sign: only so it becomes few and wide instructions.
    """
    along, after, along_after = (
        np.uint64(SUMS),
        np.uint64(ENTRY),
        np.uint64(ENTRY + SUMS),
    )
    for i in range(TILE):
        first, far = entry[i], beyond[i]
        near = np.float32(1) - far
        near_rise, far_rise = near * rise[i], far * rise[i]
        for k in range(np.uint64(SUMS)):
            here = first + k
            light_up = near * light[here] + far * light[here + after]
            light_up -= near_rise * light[here + along]
            light_up -= far_rise * light[here + along_after]
            held[i, k] += light_up


@njit(cache=True, nogil=True)
def _project(held: Single, upright: Single, sums: Single) -> None:
    """Light on the cells' planes, and hours, month by month; missing as NaN."""
    for month in range(MONTHS):
        for i in range(sums.shape[2]):
            sums[0, month, i] = upright[i] * held[0, i, month]
            sums[1, month, i] = upright[i] * held[1, i, month]
            hours = held[0, i, MONTHS + month] + held[1, i, MONTHS + month]
            sums[2, month, i] = np.nan if math.isnan(upright[i]) else hours


@njit(cache=True, nogil=True)
def _write(tables: Tables, of_tile: tuple[Single, Single], answer: Single) -> None:
    """Fill the tile's part of the answer; see `Sunlight` for its order."""
    nothing = np.float32(0)
    sums, seen = of_tile
    for month in range(MONTHS):
        even_sky, thrown_back = tables.around[0, month], tables.around[1, month]
        for i in range(seen.shape[1]):
            # Rounding may leave a hair under nothing; what is missing stays so.
            morning = sums[0, month, i]
            morning = nothing if morning < 0 else morning
            afternoon = sums[1, month, i]
            afternoon = nothing if afternoon < 0 else afternoon
            hours = sums[2, month, i]
            hours = nothing if hours < 0 else hours
            view = seen[month, i]
            view = nothing if view < 0 else view
            view = hours if math.isnan(hours) else view
            beam = morning + afternoon
            answer[0, month, i] = beam
            answer[1, month, i] = even_sky * view
            answer[2, month, i] = thrown_back * (1 - view)
            answer[3, month, i] = hours
            answer[4, month, i] = morning / beam if beam > 0 else np.nan


# ----------------------------------------------------------- what stands on the ground
def on_sides_mj_m2_day(
    table: SunTable, facings: int, ground_albedo: float = GROUND_ALBEDO
) -> Array:
    """Light on upright sides that face open ground, (facings, 12), January first.

    Beam that falls on the side, half of an even sky, and half of the light that the
    ground before it throws back.

    Parameters
    ----------
    table
        Light of the place by month.
    facings
        Side i looks to i·360/facings degrees clockwise from grid north.
    ground_albedo
        Share of the light that the ground reflects, 0-1.
    """
    beam = (table.beam + table.circumsolar)[:, :, 0, 1].sum(axis=0, dtype=np.float64)
    toward = np.arange(table.sectors) * (2 * np.pi / table.sectors)
    looks = np.arange(facings) * (2 * np.pi / facings)
    incidence = np.maximum(np.cos(looks[:, None] - toward), 0.0)
    even = table.isotropic_mj_m2_day + ground_albedo * table.global_mj_m2_day
    return np.asarray(incidence @ beam + 0.5 * even)


def kept_back(
    tables: Tables,
    hidden: Hidden,
    things: Things,
    east: Array,
    north: Array,
    horizon_deg: Single,
) -> Kept:
    """What things on the ground take from the light of points, and send them.

    Where bands overlap their transmissions multiply. Sky light loses the
    cosine-weighted part of an even sky that stands behind a band, times what the band
    keeps back; in its place comes what the things send back, seen through those before
    them. Nothing is sent by what is seen from underneath.

    Parameters
    ----------
    tables
        Of the sky of the place, `Tables.of`; made once for many calls.
    hidden
        Rays that meet things, from `obstacles.bands`.
    things
        What each thing transmits and reflects.
    east, north
        Gradient of the ground at the points [m/m], (points,).
    horizon_deg
        (sectors of its own, points): skyline of the ground, under which bands count for
        nothing; read between sectors in straight lines.

    Raises
    ------
    ValueError
        When a transmission is not within 0-1.
    """
    passing = things.transmission
    if not ((passing >= 0) & (passing <= 1)).all():
        raise ValueError(f"transmission must lie in 0 to 1, got {passing}")
    sums = np.zeros((len(east), 3, ENTRY), np.float32)
    skyline = np.ascontiguousarray(horizon_deg.T, np.float32)
    plane = np.stack([east, north], axis=1).astype(np.float32)
    # Sector by sector, so that its part of the table stays in a near cache.
    order = np.argsort(hidden.sector, kind="stable")
    _keep_rays(tables, hidden, order, things, plane, skyline, sums)
    upright = 1 / np.sqrt(1 + (plane**2).sum(axis=1, keepdims=True))
    up, hours, along, _ = np.moveaxis(sums[:, :2].reshape(-1, 2, 4, MONTHS), 2, 0)
    level_sky, level_sent, sky_share, sent = np.moveaxis(
        sums[:, 2].reshape(-1, 4, MONTHS), 1, 0
    )
    even_sky = tables.around[0]
    return Kept(
        morning=upright * (up[:, 0] - along[:, 0]),
        afternoon=upright * (up[:, 1] - along[:, 1]),
        hours=hours.sum(axis=1),
        sky_share=sky_share,
        sky=even_sky * sky_share,
        sent=sent,
        level=up.sum(axis=1) + even_sky * level_sky - level_sent,
    )


_MOST_BANDS = 32  # along one ray


@njit(cache=True, nogil=True)
def _keep_rays(
    tables: Tables,
    hidden: Hidden,
    order: npt.NDArray[np.intp],
    things: Things,
    plane: Single,
    horizon_deg: Single,
    sums: Single,
) -> None:
    """Add up, point by point, what the bands of all rays take and send."""
    edges = np.empty(2 * _MOST_BANDS)
    change = np.empty(2 * MONTHS, np.float32)  # light kept, light sent
    weight = np.zeros(ENTRY, np.float32)
    for ray in order:
        point, sector = hidden.point[ray], hidden.sector[ray]
        east, north = plane[point, 0], plane[point, 1]
        rise = tables.toward[sector, 0] * east + tables.toward[sector, 1] * north
        upright = 1 / math.sqrt(1 + east * east + north * north)
        floor = _skyline_at(horizon_deg, point, sector, tables.lit.shape[1])
        floor = max(floor, math.atan(rise) * 180 / math.pi) * BINS_PER_DEG
        bands = hidden.start[ray], hidden.start[ray + 1]
        count = _band_edges(hidden, bands, floor, edges)
        for k in range(count - 1):
            low, high = edges[k], edges[k + 1]
            if high > low:
                middle_deg = (low + high) / 2 / BINS_PER_DEG
                _pass_through(hidden, things, bands, middle_deg, change)
                _weigh(change, rise, weight)
                here = sums[point]
                _take_sky(
                    tables.even_sky, (low, high), (upright, rise), change, here[2]
                )
                for half in range(2):
                    if tables.lit[half, sector]:
                        light = tables.light[half, sector]
                        _take_beam(light, (low, high), weight, here[half])


@njit(cache=True, nogil=True)
def _skyline_at(horizon_deg: Single, point: int, sector: int, sectors: int) -> float:
    """Skyline toward a sector of the table, between the skyline's own sectors."""
    own = horizon_deg.shape[1]
    position = sector * own / sectors
    below = int(position)
    share = position - below
    before = horizon_deg[point, below % own]
    after = horizon_deg[point, (below + 1) % own]
    return max(float(before * (1 - share) + after * share), 0.0)


@njit(cache=True, nogil=True)
def _band_edges(
    hidden: Hidden, bands: tuple[int, int], floor: float, edges: Array
) -> int:
    """Sorted table edges at which what hides the sky above `floor` changes, and how many."""
    first, last = bands
    count = 0
    for band in range(first, min(last, first + _MOST_BANDS)):
        low = min(max(hidden.low_deg[band] * BINS_PER_DEG, floor), EDGES - 1.0)
        high = min(hidden.high_deg[band] * BINS_PER_DEG, EDGES - 1.0)
        if high > low:
            for edge in (low, high):
                at = count
                while at > 0 and edges[at - 1] > edge:
                    edges[at] = edges[at - 1]
                    at -= 1
                edges[at] = edge
                count += 1
    return count


@njit(cache=True, nogil=True)
def _pass_through(
    hidden: Hidden,
    things: Things,
    bands: tuple[int, int],
    altitude_deg: float,
    change: Single,
) -> None:
    """Part of the light of one height that bands keep, then what they send instead."""
    one, nothing, months = np.float32(1), np.float32(0), np.uint64(MONTHS)
    for month in range(months):
        change[month] = one  # what is left, until the end
        change[months + month] = nothing
    for band in range(bands[0], bands[1]):
        if hidden.low_deg[band] < altitude_deg < hidden.high_deg[band]:
            thing, facing = hidden.thing[band], hidden.facing[band]
            if facing >= 0:
                for month in range(months):
                    part = change[month] * (one - things.transmission[thing, month])
                    from_side = things.sent_back_mj_m2_day[thing, facing, month]
                    change[months + month] += part * from_side
            for month in range(months):
                change[month] *= things.transmission[thing, month]
    for month in range(months):
        change[month] = one - change[month]


@njit(cache=True, nogil=True)
def _weigh(change: Single, rise: float, weight: Single) -> None:
    """How much of each number of a table's entry is kept: light up, hours, along."""
    slope, months = np.float32(rise), np.uint64(MONTHS)
    for month in range(months):
        weight[month] = change[month]
        weight[months + month] = change[month]
        weight[months + months + month] = change[month] * slope


@njit(cache=True, nogil=True)
def _take_sky(
    even_sky: Single,
    band: tuple[float, float],
    plane: tuple[float, float],
    change: Single,
    sums: Single,
) -> None:
    """Add what a band keeps of an even sky and sends: to level ground, and to sloping."""
    under, over = min(int(band[0]), EDGES - 2), min(int(band[1]), EDGES - 2)
    above, below = np.float32(band[0] - under), np.float32(band[1] - over)
    up = even_sky[under, 0] + above * (even_sky[under + 1, 0] - even_sky[under, 0])
    up -= even_sky[over, 0] + below * (even_sky[over + 1, 0] - even_sky[over, 0])
    along = even_sky[under, 1] + above * (even_sky[under + 1, 1] - even_sky[under, 1])
    along -= even_sky[over, 1] + below * (even_sky[over + 1, 1] - even_sky[over, 1])
    view = np.float32(plane[0] * (up - plane[1] * along))
    for k in range(np.uint64(2 * MONTHS)):
        sums[k] += up * change[k]
    for k in range(np.uint64(2 * MONTHS)):
        sums[np.uint64(2 * MONTHS) + k] += view * change[k]


@njit(cache=True, nogil=True, fastmath={"contract"})
def _take_beam(
    light: Single, band: tuple[float, float], weight: Single, sums: Single
) -> None:
    """Add what a band keeps of beam and hours; counted without a sign as `_add_above`."""
    under, over = min(int(band[0]), EDGES - 2), min(int(band[1]), EDGES - 2)
    above, below = np.float32(band[0] - under), np.float32(band[1] - over)
    to_above, to_below = np.float32(1) - above, np.float32(1) - below
    low, high = np.uint64(under * ENTRY), np.uint64(over * ENTRY)
    after = np.uint64(ENTRY)
    for k in range(np.uint64(ENTRY)):
        a, b = low + k, high + k
        between = to_above * light[a] + above * light[a + after]
        between -= to_below * light[b] + below * light[b + after]
        sums[k] += weight[k] * between


# ------------------------------------------------------------------ cloud as it is
def typical(table: SunTable, beam_ratio: Array, sky_ratio: Array) -> SunTable:
    """A table with beam and sky light scaled apart, month by month.

    Hours of sun stay those of a cloudless sky: they say when the sun can shine.

    Parameters
    ----------
    table
        Clear-sky light by month, from `sun_table`.
    beam_ratio, sky_ratio
        (12,), January first: typical light over that of the table, 0 or more; see
        `monthly_ratios`. Circumsolar light goes with the sky light.

    Raises
    ------
    ValueError
        When a ratio is missing or negative, or there are not twelve.

    Examples
    --------
    Cloud that leaves no beam and all light of the sky:

    >>> table = sun_table(Place(45.0, 15.0, 200.0, 0.0), sectors=4, year=2025)
    >>> dull = typical(table, np.zeros(12), np.ones(12))
    >>> bool(np.allclose(dull.global_mj_m2_day, table.sky_mj_m2_day))
    True
    """
    ratios = []
    for name, given in (("beam_ratio", beam_ratio), ("sky_ratio", sky_ratio)):
        ratio = np.asarray(given, dtype=np.float64)
        if ratio.shape != (MONTHS,) or not (ratio >= 0).all():
            raise ValueError(f"{name} must be twelve numbers, 0 or more, got {given}")
        ratios.append(ratio)
    beam, sky = ratios
    sky_mj = table.sky_mj_m2_day * sky
    level_beam = table.global_mj_m2_day - table.sky_mj_m2_day
    return SunTable(
        beam=table.beam * beam.astype(np.float32),
        circumsolar=table.circumsolar * sky.astype(np.float32),
        hours=table.hours,
        sky_mj_m2_day=sky_mj,
        global_mj_m2_day=sky_mj + level_beam * beam,
    )


def monthly_ratios(hours: pd.DataFrame, clear: SunTable) -> tuple[Array, Array]:
    """Beam and sky light of an hourly year over those of a clear sky, by month.

    Parameters
    ----------
    hours
        `ghi` and `dhi` [W/m²], means of the hour around each time of the index, which
        carries a time zone. The year may be put together from several.
    clear
        Clear-sky light where the year was kept, of any number of sectors.

    Returns
    -------
    beam_ratio, sky_ratio
        (12,), January first: of light on level ground; 0 where a clear sky has none.

    Raises
    ------
    ValueError
        When light is missing or a month has no hour.
    """
    light = hours[["ghi", "dhi"]].to_numpy(np.float64)
    if not np.isfinite(light).all():
        raise ValueError("ghi and dhi must be known in every hour")
    month = np.asarray(pd.DatetimeIndex(hours.index).month - 1, dtype=np.intp)
    count = np.bincount(month, minlength=MONTHS)
    if not count.all():
        raise ValueError("every month needs hours")
    days = count / 24.0
    mj = [
        np.bincount(month, part, minlength=MONTHS) * MJ_M2_PER_WH_M2 / days
        for part in (light[:, 0] - light[:, 1], light[:, 1])
    ]
    clear_beam = clear.global_mj_m2_day - clear.sky_mj_m2_day
    return tuple(
        np.divide(typical_mj, clear_mj, out=np.zeros(MONTHS), where=clear_mj > 0)
        for typical_mj, clear_mj in zip(
            mj, (clear_beam, clear.sky_mj_m2_day), strict=True
        )
    )  # type: ignore[return-value]  # a pair


def daily_light_integral_mol(light_mj_m2_day: npt.ArrayLike) -> Array:
    """Photons that plants use, from light of all colours [mol/m²/day].

    Give or take `LIGHT_INTEGRAL_BAND` of it, which holds both usual factors; their
    sources stand beside `MOL_PER_MJ`.

    Parameters
    ----------
    light_mj_m2_day
        Light of all colours [MJ/m² a day], any shape; NaN stays NaN.

    Examples
    --------
    >>> float(daily_light_integral_mol(20.0))
    43.6
    """
    return np.asarray(light_mj_m2_day) * MOL_PER_MJ


# -------------------------------------------------------------------- a single day
def in_direct_sun(path: SunPath, horizon_deg: Single, convergence_deg: float) -> Flags:
    """Tell at which times of a path the sun stands above each place's skyline.

    Parameters
    ----------
    path
        Positions of the sun, from `sun_path`.
    horizon_deg
        (sectors, places): skyline above level, sector i centred on i·360/sectors
        clockwise from grid north; read between sectors in straight lines.
    convergence_deg
        True bearing of grid north.

    Returns
    -------
    Flags
        (places, times); False below the horizon and where a skyline is missing.

    Examples
    --------
    >>> here = Place(45.0, 15.0, 300.0, 0.0)
    >>> day = sun_path([dt.date(2025, 3, 20)], here, step_minutes=1)
    >>> seen = in_direct_sun(day, np.zeros((36, 1), np.float32), 0.0)
    >>> float(seen.sum() / 60)  # twelve hours and the lift by refraction
    12.1
    """
    sectors = len(horizon_deg)
    position = (path.azimuth_deg - convergence_deg) / 360.0 * sectors
    before = np.floor(position).astype(np.intp)
    share = (position - before).astype(np.float32)
    up = np.flatnonzero(path.altitude_deg > 0)
    seen = np.zeros((horizon_deg.shape[1], len(path.altitude_deg)), dtype=np.bool_)
    for time in up:
        here = horizon_deg[before[time] % sectors] * (1 - share[time])
        here += horizon_deg[(before[time] + 1) % sectors] * share[time]
        seen[:, time] = path.altitude_deg[time] > here
    return seen
