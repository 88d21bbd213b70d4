"""The sun and its light against published examples, pvlib's own sums, and exact steps."""

import dataclasses
import datetime as dt
import math
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest

from layers import sunlight
from layers.sunlight import Place

YEAR = 2025
OPEN = np.zeros((36, 1, 1), np.float32)
FLAT = np.zeros((1, 1))
SEES_ALL = np.ones((1, 1))
MIDDLE = Place(45.0, 15.0, 300.0, 0.0)


@pytest.fixture(autouse=True, scope="module")
def the_sun_is_asked_once():
    """pvlib is asked once where the sun stands at the same times over one place."""
    ask, known = sunlight.sun_position, {}

    def position(times, place):
        key = times.asi8.tobytes(), times.tz, place
        if key not in known:
            known[key] = ask(times, place)
        return known[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sunlight, "sun_position", position)
        yield


@cache
def table_at(latitude):
    """Light of a year at the height and longitude of `MIDDLE`."""
    place = dataclasses.replace(MIDDLE, latitude_deg=latitude)
    return sunlight.sun_table(place, 36, YEAR)


@pytest.fixture
def table():
    return table_at(MIDDLE.latitude_deg)


def skyline(angle_of_azimuth, sectors=36):
    angles = [
        angle_of_azimuth(azimuth) for azimuth in np.arange(sectors) * 360 / sectors
    ]
    return np.array(angles, np.float32).reshape(sectors, 1, 1)


def light(table, east=0.0, north=0.0, horizon_deg=OPEN, sky_view=None, albedo=0.2):
    """Light on one cell; its sky view is that of an open slope unless given."""
    if sky_view is None:
        sky_view = (1 + np.cos(np.arctan(np.hypot(east, north)))) / 2
    return sunlight.by_month(
        table,
        FLAT + east,
        FLAT + north,
        horizon_deg,
        SEES_ALL * sky_view,
        ground_albedo=albedo,
    )


def rise(tilt_deg, azimuth_deg):
    """East and north gradient of a plane that faces an azimuth."""
    steep, azimuth = math.tan(math.radians(tilt_deg)), math.radians(azimuth_deg)
    return {"east": -steep * math.sin(azimuth), "north": -steep * math.cos(azimuth)}


# --- The sun's place ------------------------------------------------------------------
def test_the_sun_stands_where_the_printed_example_has_it():
    # Reda & Andreas 2004 / NREL TP-560-34302, Table A5.1: zenith 50.11162°, azimuth
    # 194.34024° on 17 October 2003, 12:30:30 at UTC-7.
    time = pd.DatetimeIndex(["2003-10-17 19:30:30"], tz="UTC")
    golden = Place(39.742476, -105.1786, 1830.14, 0.0)
    position = sunlight.sun_position(time, golden).iloc[0]
    assert 90 - position["apparent_elevation"] == pytest.approx(50.11162, abs=1e-3)
    assert position["azimuth"] == pytest.approx(194.34024, abs=1e-3)


def test_solar_noon_splits_the_day_where_the_printed_example_has_it():
    # The same example: transit at 11:46:04.97 by a clock at UTC-7.
    golden = Place(39.742476, -105.1786, 1830.14, 0.0)
    path = sunlight.sun_path([dt.date(2003, 10, 17)], golden, step_minutes=1)
    noon = path.times_utc[0] + pd.Timedelta(minutes=float(path.before_noon.sum()) - 0.5)
    expected = pd.Timestamp("2003-10-17 18:46:05", tz="UTC")
    assert abs(noon - expected) < pd.Timedelta(seconds=30)


def test_first_and_last_sun_on_level_ground_are_the_printed_sunrise_and_sunset():
    # The same example: sunrise 06:12:43, sunset 17:20:19 at UTC-7, when the sun's upper
    # limb shows, lifted by 0.5667°: centre at -0.8333°. The sunset is that of day 17 in
    # UTC, so of the evening of the 16th. Ours is the centre, lifted by the 0.44° of the
    # thinner air there: 0.40° later in a sky that turns by 0.188° a minute, 2.1 minutes.
    golden = Place(39.742476, -105.1786, 1830.14, 0.0)
    days = [dt.date(2003, 10, 16), dt.date(2003, 10, 17)]
    path = sunlight.sun_path(days, golden, step_minutes=0.5)
    in_sun = sunlight.in_direct_sun(path, OPEN[:, :, 0], 0.0)[0]
    turns = np.flatnonzero(np.diff(in_sun.astype(int)))
    assert len(turns) == 4  # two days without a gap
    half = pd.Timedelta("15s")
    sunset, sunrise = path.times_utc[turns[1:3]] + half
    late = sunrise - pd.Timestamp("2003-10-17 13:12:43", tz="UTC")
    early = pd.Timestamp("2003-10-17 00:20:19", tz="UTC") - sunset
    for minutes in (late / pd.Timedelta("1min"), early / pd.Timedelta("1min")):
        assert minutes == pytest.approx(2.1, abs=0.4)


@pytest.mark.parametrize(
    ("time_zone", "latitude_deg", "longitude_deg"),
    [
        ("Europe/Lisbon", 38.7, -9.1),
        ("Pacific/Auckland", -38.7, 178.0),  # Gisborne
        ("Asia/Anadyr", 64.7, 177.5),
        ("Pacific/Chatham", -44.0, -176.5),
        ("America/Adak", 51.9, -176.6),
        ("Pacific/Kiritimati", 1.9, -157.4),  # 14 h ahead, 24 h ahead of Honolulu
    ],
)
def test_the_sun_rises_and_sets_on_the_day_that_was_asked_for(
    time_zone, latitude_deg, longitude_deg
):
    # East and west of 180° it stands highest about midnight of UTC.
    days = [day.date() for day in pd.date_range("2024-01-01", "2024-12-31")]
    sun = sunlight.rise_and_set(days, latitude_deg, longitude_deg, time_zone)
    place = Place(latitude_deg, longitude_deg, 0.0, 0.0)
    for name in ("sunrise", "sunset"):
        at = pd.DatetimeIndex(sun[name])
        assert [each.date() for each in at] == days
        # The upper limb, lifted by 34': the centre stands at -50'. A day's change of the
        # hour is under 0.5° of height.
        seen = sunlight.sun_position(at.tz_convert("UTC"), place)["elevation"]
        assert seen.to_numpy() == pytest.approx(-50 / 60, abs=0.5)


def test_on_no_days_the_sun_neither_rises_nor_sets():
    sun = sunlight.rise_and_set([], 39.7, -105.2, "America/Denver")
    assert len(sun) == 0
    assert str(pd.DatetimeIndex(sun["sunset"]).tz) == "America/Denver"


def one_hour(latitude, declination_deg, hour_angle_deg, year_day=1):
    """A path of a single step of an hour with the sun where a textbook has it."""
    hour = handbook_path(year_day, latitude, [hour_angle_deg], declination_deg)
    return dataclasses.replace(hour, step_hours=1.0)


def test_light_on_a_tilted_plane_follows_duffie_and_beckman_1_6_1():
    # Solar Engineering of Thermal Processes, example 1.6.1: 43° N, declination -14°,
    # hour angle -22.5°, 45° tilt facing 15° west of south: cosine of incidence 0.817.
    path = one_hour(43.0, -14.0, -22.5)
    beam = np.array([1000.0])
    day = sunlight.tabulate(path, sunlight.SkyLight(beam, 0 * beam, 0 * beam), 36, 0.0)
    on_plane = light(day, **rise(45.0, 195.0)).beam_mj_m2_day[0, 0, 0]
    assert on_plane / 3.6 == pytest.approx(0.817, abs=0.0015)


def test_an_hour_on_a_steep_plane_is_duffie_and_beckman_2_15_and_2_16():
    # The same book, examples 2.15.1 and 2.16.1: 40° N, 20 February, 9 to 10 h, 60° tilt
    # to the south, albedo 0.6; beam 0.244, sky 0.796, without air 2.34 MJ/m² on the
    # level. On the plane 1.17 under an even sky; 1.25 after Hay and Davies (its
    # formula with the book's inputs; the book prints the first).
    path = one_hour(40.0, -11.6, -37.5)
    up = np.sin(np.radians(path.altitude_deg))
    beam, sky = 0.244 / 0.0036 / up, np.array([0.796 / 0.0036])
    for around_sun, expected in ((0.0, 1.17), (0.244 / 2.34, 1.25)):
        given = sunlight.SkyLight(beam, sky, sky * around_sun / up)
        hour = sunlight.tabulate(path, given, 36, 0.0)
        total = light(hour, **rise(60.0, 180.0), albedo=0.6).total_mj_m2_day[0, 0, 0]
        assert total == pytest.approx(expected, abs=0.007)


def handbook_path(day_of_year, latitude, hour_angle_deg=None, declination_deg=None):
    """The sun of FAO-56 (its declination, eq. 24) over one day in 2-minute steps."""
    declination = 0.409 * np.sin(2 * np.pi * day_of_year / 365 - 1.39)
    if declination_deg is not None:
        declination = np.radians(declination_deg)
    phi = np.radians(latitude)
    if hour_angle_deg is None:
        hour_angle_deg = (np.arange(720) + 0.5) / 2 - 180
    hour = np.radians(hour_angle_deg)
    steps = len(hour)
    up = np.sin(phi) * np.sin(declination)
    up = up + np.cos(phi) * np.cos(declination) * np.cos(hour)
    east = -np.cos(declination) * np.sin(hour)
    north = np.cos(phi) * np.sin(declination)
    north = north - np.sin(phi) * np.cos(declination) * np.cos(hour)
    return sunlight.SunPath(
        times_utc=pd.date_range("2025-01-01", periods=steps, freq="2min", tz="UTC"),
        altitude_deg=np.degrees(np.arcsin(up)),
        azimuth_deg=np.degrees(np.arctan2(east, north)) % 360,
        before_noon=(hour < 0).astype(float),
        month=np.zeros(steps, np.intp),
        step_hours=1 / 30,
        days=np.array([1.0] + [0.0] * 11),
    )


def airless(day_of_year, latitude):
    """A table of one day without air: the beam is the solar constant of FAO-56."""
    path = handbook_path(day_of_year, latitude)
    distance = 1 + 0.033 * np.cos(2 * np.pi * day_of_year / 365)  # eq. 23
    beam = np.full(720, 0.0820e6 / 60 * distance)
    sky = sunlight.SkyLight(beam, 0 * beam, 0 * beam)
    return sunlight.tabulate(path, sky, 36, 0.0)


@cache
def extraterrestrial(day_of_year, latitude):
    """Ra of FAO-56 (eq. 21) [MJ/m²] through the table and the light on a level cell, and hours."""
    found = light(airless(day_of_year, latitude))
    return found.beam_mj_m2_day[0, 0, 0], found.direct_hours[0, 0, 0]


def test_a_day_without_air_is_fao_56_examples_8_and_9():
    # 3 September (J = 246) at 20° S: Ra 32.2 MJ/m²/day, daylight 11.7 h.
    ra_mj_m2, hours = extraterrestrial(246, -20.0)
    assert ra_mj_m2 == pytest.approx(32.2, abs=0.05)
    assert hours == pytest.approx(11.7, abs=0.05)


# FAO-56 Annex 2 Table 2.6, 15th of the month (computed from its eq. 21, and within ±0.1
# of the printed table from memory).
ANNEX_2 = {
    0: (36.2, 37.4, 37.9, 36.8, 34.8, 33.4, 33.9, 35.6, 37.2, 37.3, 36.3, 35.6),
    40: (15.0, 20.4, 27.2, 34.7, 39.7, 41.8, 40.8, 36.7, 29.9, 22.5, 16.3, 13.6),
    50: (8.9, 14.4, 22.2, 31.5, 38.5, 41.7, 40.2, 34.3, 25.6, 16.8, 10.2, 7.5),
    60: (3.3, 8.3, 16.6, 27.5, 36.7, 41.2, 39.1, 31.3, 20.5, 10.8, 4.4, 2.2),
}
# Table 2.7, hours from sunrise to sunset without refraction; the same days.
ANNEX_2_HOURS = {
    40: (9.5, 10.5, 11.7, 13.1, 14.2, 14.8, 14.6, 13.6, 12.2, 10.9, 9.7, 9.2),
    50: (8.3, 9.8, 11.6, 13.5, 15.2, 16.1, 15.7, 14.3, 12.3, 10.4, 8.7, 7.9),
    60: (6.4, 8.8, 11.4, 14.2, 16.8, 18.4, 17.7, 15.3, 12.5, 9.7, 7.1, 5.6),
}
MIDDLES = [15, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349]


@pytest.mark.parametrize("latitude", ANNEX_2)
def test_days_without_air_are_those_of_the_fao_56_table(latitude):
    found = [extraterrestrial(day, latitude)[0] for day in MIDDLES]
    np.testing.assert_allclose(found, ANNEX_2[latitude], atol=0.15)


@pytest.mark.parametrize("latitude", ANNEX_2_HOURS)
def test_day_lengths_are_those_of_the_fao_56_table(latitude):
    found = [extraterrestrial(day, latitude)[1] for day in MIDDLES]
    # Half of the last printed digit, and a step of two minutes at either end.
    np.testing.assert_allclose(found, ANNEX_2_HOURS[latitude], atol=0.05 + 4 / 60)


def test_the_sun_of_the_polar_summer_never_sets_and_that_of_the_winter_never_rises():
    # At 75° N the sun at its lowest stands at its declination less 15°: above 7° in June
    # (declination at least 22°); at its highest below -6.5° in December.
    arctic = light(sunlight.sun_table(Place(75.0, 15.0, 0.0, 0.0), 36, YEAR))
    assert arctic.direct_hours[5, 0, 0] == pytest.approx(24.0, abs=1e-3)
    assert arctic.direct_hours[11, 0, 0] == 0
    assert arctic.total_mj_m2_day[11, 0, 0] == 0
    assert np.isnan(arctic.morning_share[11, 0, 0])


# --- Light on the ground ----------------------------------------------------------------
@pytest.mark.filterwarnings("ignore:DatetimeIndex.dayofyear")  # of pvlib, to itself
@pytest.mark.parametrize("latitude", [45.0, 60.0, -35.0])
def test_an_open_level_plane_gets_pvlib_s_own_daily_sum(latitude):
    found = light(table_at(latitude)).total_mj_m2_day[:, 0, 0]
    times = pd.date_range("2025-01-01", "2026-01-01", freq="30min", tz="Etc/GMT-1")[:-1]
    location = pvlib.location.Location(latitude, 15.0, altitude=300.0)
    ghi = location.get_clearsky(times + pd.Timedelta(minutes=15), model="ineichen")[
        "ghi"
    ]
    daily = ghi.groupby(ghi.index.month).sum() * 1800e-6
    daily /= pd.date_range("2025-01-01", periods=12, freq="MS").days_in_month
    # Our turbidity passes from one month's middle to the next as pvlib's does.
    np.testing.assert_allclose(found, daily, rtol=0.005)


def test_klein_s_single_days_stand_for_their_months_within_two_per_cent():
    # Klein 1977, Solar Energy 19:325-329: days of year (from memory); without air, up to
    # 50° north, a single day is within 2 % of the month.
    klein = (17, 47, 75, 105, 135, 162, 198, 228, 258, 288, 318, 344)
    days = [day.date() for day in pd.date_range("2025-01-01", "2025-12-31")]
    path = sunlight.sun_path(days, MIDDLE)
    when = np.asarray(path.times_utc.day_of_year)
    beam = 1366.7 * (1 + 0.033 * np.cos(2 * np.pi * when / 365))
    sky = sunlight.SkyLight(beam, 0 * beam, 0 * beam)
    whole = light(sunlight.tabulate(path, sky, 36, 0.0)).beam_mj_m2_day[:, 0, 0]
    firsts = np.searchsorted(when, klein)
    single = []
    for first in firsts:
        one = sunlight.sun_path([days[when[first] - 1]], MIDDLE)
        flat = np.full(len(one.altitude_deg), beam[first])
        table = sunlight.tabulate(
            one, sunlight.SkyLight(flat, 0 * flat, 0 * flat), 36, 0.0
        )
        single.append(light(table).beam_mj_m2_day.max())
    assert np.abs(np.array(single) / whole - 1).max() < 0.02


def test_a_south_slope_gets_more_beam_in_march_and_in_the_south_a_north_slope(table):
    falls_south = light(table, north=0.2).beam_mj_m2_day[2, 0, 0]
    falls_north = light(table, north=-0.2).beam_mj_m2_day[2, 0, 0]
    assert falls_south > 1.2 * falls_north
    southern = sunlight.sun_table(Place(-45.0, 15.0, 300.0, 0.0), 36, YEAR)
    assert (
        light(southern, north=-0.2).beam_mj_m2_day[8, 0, 0]
        > 1.2 * light(southern, north=0.2).beam_mj_m2_day[8, 0, 0]
    )


def test_a_ten_degree_south_slope_gets_liu_and_jordan_s_share_of_beam():
    # Liu & Jordan 1962 (Duffie & Beckman eq. 2.19.3a): a slope to the south has the sun
    # of the latitude less its tilt, but not before it rises there. Day 75, no air.
    declination, phi = 0.409 * math.sin(2 * math.pi * 75 / 365 - 1.39), math.pi / 4

    def day_at(latitude, until):
        level = math.cos(latitude) * math.cos(declination) * math.sin(until)
        return level + until * math.sin(latitude) * math.sin(declination)

    def sunset(latitude):
        return math.acos(-math.tan(latitude) * math.tan(declination))

    tilted = phi - math.radians(10.0)
    expected = day_at(tilted, min(sunset(tilted), sunset(phi)))
    expected /= day_at(phi, sunset(phi))
    day = airless(75, 45.0)
    on_slope = light(day, **rise(10.0, 180.0)).beam_mj_m2_day[0, 0, 0]
    ratio = on_slope / light(day).beam_mj_m2_day[0, 0, 0]
    assert ratio == pytest.approx(expected, rel=5e-4)


def test_mornings_and_afternoons_mirror_each_other(table):
    falls_east, falls_west = light(table, east=-0.2), light(table, east=0.2)
    np.testing.assert_allclose(
        falls_east.beam_mj_m2_day, falls_west.beam_mj_m2_day, rtol=0.01
    )
    np.testing.assert_allclose(
        falls_east.morning_share, 1 - falls_west.morning_share, atol=0.01
    )
    assert (falls_east.morning_share > 0.5).all()


def test_turned_ground_under_a_turned_grid_gets_the_same_light(table):
    turned = sunlight.sun_table(Place(45.0, 15.0, 300.0, 30.0), 36, YEAR)
    true_deg = 150.0  # the downhill bearing
    hill = skyline(lambda azimuth: 25.0 if 80 <= azimuth <= 110 else 0.0)
    here = light(
        table,
        -0.2 * np.sin(np.radians(true_deg)),
        -0.2 * np.cos(np.radians(true_deg)),
        hill,
    )
    grid_deg = true_deg - 30.0
    there = light(
        turned,
        -0.2 * np.sin(np.radians(grid_deg)),
        -0.2 * np.cos(np.radians(grid_deg)),
        np.roll(hill, -3, axis=0),
    )
    np.testing.assert_allclose(there.total_mj_m2_day, here.total_mj_m2_day, rtol=2e-3)


def test_a_six_metre_pole_throws_a_shadow_of_six_metres_at_noon_on_the_equinox():
    # At 45° N the sun stands 45° high then (refraction lifts it by a minute of arc): a
    # place 5.9 m north of the pole lies in its shadow, one 6.1 m away does not.
    place = Place(45.0, 0.0, 0.0, 0.0)
    path = sunlight.sun_path([dt.date(2025, 3, 20)], place, step_minutes=1)
    noon = int(np.argmax(path.altitude_deg))
    away_m = np.array([3.0, 5.9, 6.1, 9.0])
    pole = np.zeros((36, 4), np.float32)
    pole[18] = np.degrees(np.arctan(6.0 / away_m))
    seen = sunlight.in_direct_sun(path, pole, 0.0)[:, noon]
    assert seen.tolist() == [False, False, True, True]


def test_a_closed_skyline_leaves_no_beam_and_no_hour(table):
    walled = light(table, horizon_deg=OPEN + 90, sky_view=0.0)
    assert walled.beam_mj_m2_day.max() == 0
    assert walled.direct_hours.max() == 0
    assert walled.sky_mj_m2_day.max() == 0


def test_hay_davies_takes_from_the_sky_what_it_gives_around_the_sun(table):
    bright = sunlight.sun_table(MIDDLE, 36, YEAR, "hay-davies")
    even = table
    # On level open ground both hold all the light there is.
    np.testing.assert_allclose(
        light(bright).total_mj_m2_day, light(even).total_mj_m2_day, rtol=0.01
    )
    # On a 20° slope to the south the circumsolar light counts as beam: some per cent
    # more in the low sun of December (Duffie & Beckman, ch. 2, the same direction).
    steep = np.tan(np.radians(20.0))
    more = (
        light(bright, north=steep).total_mj_m2_day
        / light(even, north=steep).total_mj_m2_day
    )
    assert 1.01 < more[11, 0, 0] < 1.08


def test_light_from_the_ground_is_the_albedo_times_what_is_no_sky(table):
    tilted = light(table, north=1.0)  # 45°: (1 - cos 45°) / 2 = 0.1464 of the ground
    expected = 0.2 * table.global_mj_m2_day * 0.1464
    np.testing.assert_allclose(tilted.reflected_mj_m2_day[:, 0, 0], expected, rtol=1e-3)


def test_missing_ground_has_no_light(table):
    hole = sunlight.by_month(table, FLAT + np.nan, FLAT, OPEN, SEES_ALL)
    assert np.isnan(hole.total_mj_m2_day).all()
    assert np.isnan(hole.direct_hours).all()


@pytest.mark.parametrize("what", ["ground", "skyline", "sky view"])
def test_a_hole_in_any_input_is_a_hole_in_every_output_and_in_no_other_cell(
    table, what
):
    east, sky_view = np.zeros((1, 3)), np.ones((1, 3))
    horizon_deg = np.zeros((36, 1, 3), np.float32)
    holed = {"ground": east, "skyline": horizon_deg[7], "sky view": sky_view}
    holed[what][0, 1] = np.nan
    found = sunlight.by_month(table, east, np.zeros((1, 3)), horizon_deg, sky_view)
    whole = light(table)
    for name in ("total_mj_m2_day", "direct_hours", "morning_share"):
        values = getattr(found, name)[:, 0]
        assert np.isnan(values[:, 1]).all()
        expected = getattr(whole, name)[:, 0, [0, 0]]
        np.testing.assert_allclose(values[:, [0, 2]], expected, rtol=1e-5)


def test_a_place_under_an_unknown_skyline_is_never_said_to_be_in_the_sun():
    path = sunlight.sun_path([dt.date(2025, 6, 21)], MIDDLE, step_minutes=10)
    unknown = np.full((36, 1), np.nan, np.float32)
    assert not sunlight.in_direct_sun(path, unknown, 0.0).any()


# --- What stands on the ground ------------------------------------------------------------
def ring(*bands, sends=0.0, facing=0):
    """Rings of one height all round a point: (from, to, what passes) each, and light.

    `sends`: what a square metre of each ring's side sends, were none let through.
    """
    count = len(bands)
    hidden = sunlight.Hidden(
        point=np.zeros(36, np.int32),
        sector=np.arange(36, dtype=np.int32),
        start=np.arange(0, 36 * count + 1, count, dtype=np.int32),
        low_deg=np.tile(np.float32([band[0] for band in bands]), 36),
        high_deg=np.tile(np.float32([band[1] for band in bands]), 36),
        thing=np.tile(np.arange(count, dtype=np.int32), 36),
        facing=np.full(36 * count, facing, np.int32),
    )
    passing = np.float32([[band[2]] * 12 for band in bands])
    return hidden, sunlight.Things(passing, np.full((count, 1, 12), sends, np.float32))


def beside(table, things, north=0.0, skyline_deg=0.0):
    """Beam, sky light and hours of a point with rings about it, and what they send."""
    skyline = np.full((36, 1), skyline_deg, np.float32)
    tables = sunlight.Tables.of(table)
    kept = sunlight.kept_back(tables, *things, np.zeros(1), np.array([north]), skyline)
    view = np.cos(np.radians(skyline_deg)) ** 2
    whole = light(table, north=north, horizon_deg=OPEN + skyline_deg, sky_view=view)
    beam = whole.beam_mj_m2_day[:, 0, 0] - kept.morning[0] - kept.afternoon[0]
    sky = whole.sky_mj_m2_day[:, 0, 0] - kept.sky[0]
    return beam, sky, whole.direct_hours[:, 0, 0] - kept.hours[0], kept.sent[0]


def test_a_thing_of_glass_takes_nothing_and_a_solid_one_is_a_wall(table):
    open_sky, wall = light(table), light(table, horizon_deg=OPEN + 30)
    beam, sky, hours, _ = beside(table, ring((0, 30, 1.0)))
    np.testing.assert_allclose(beam, open_sky.beam_mj_m2_day[:, 0, 0], rtol=1e-5)
    np.testing.assert_allclose(sky, open_sky.sky_mj_m2_day[:, 0, 0], rtol=1e-5)
    beam, sky, hours, _ = beside(table, ring((-90, 30, 0.0)))
    np.testing.assert_allclose(beam, wall.beam_mj_m2_day[:, 0, 0], atol=1e-4)
    np.testing.assert_allclose(hours, wall.direct_hours[:, 0, 0], atol=1e-3)
    # A ring of 30° leaves cos²(30°) = 0.75 of an even sky (closed form).
    np.testing.assert_allclose(sky, 0.75 * open_sky.sky_mj_m2_day[:, 0, 0], rtol=2e-3)


def test_things_multiply_only_where_one_stands_behind_the_other(table):
    tops = (0, 10, 20, 30)
    beams = [
        light(table, horizon_deg=OPEN + top).beam_mj_m2_day[:, 0, 0] for top in tops
    ]
    first, second, third = -np.diff(beams, axis=0)
    expected = beams[3] + 0.5 * first + 0.5 * 0.4 * second + 0.4 * third
    found, *_ = beside(table, ring((0, 20, 0.5), (10, 30, 0.4)))
    np.testing.assert_allclose(found, expected, atol=2e-3)


def test_between_two_things_and_under_clear_stems_the_sun_comes_through_whole(table):
    tops = (0, 10, 20, 30)
    beams = [
        light(table, horizon_deg=OPEN + top).beam_mj_m2_day[:, 0, 0] for top in tops
    ]
    found, *_ = beside(table, ring((-90, 10, 0.0), (20, 30, 0.0)))
    # What comes from 10 to 20 degrees, and from above 30, is left.
    np.testing.assert_allclose(found, beams[1] - beams[2] + beams[3], atol=2e-3)


def test_a_thing_below_the_hill_behind_it_takes_nothing(table):
    hill = light(table, horizon_deg=OPEN + 30, sky_view=0.75)
    beam, sky, _, sent = beside(
        table, ring((-90, 30, 0.0), sends=5.0), skyline_deg=30.0
    )
    np.testing.assert_allclose(beam, hill.beam_mj_m2_day[:, 0, 0], rtol=1e-6)
    np.testing.assert_allclose(sky, hill.sky_mj_m2_day[:, 0, 0], rtol=1e-6)
    assert (sent == 0).all()


def test_a_slope_keeps_its_own_law_beside_a_wall(table):
    # On a slope to the south a ring of 30° takes what a skyline of 30° takes.
    walled = light(table, north=-0.3, horizon_deg=OPEN + 30)
    beam, _, hours, _ = beside(table, ring((-90, 30, 0.0)), north=-0.3)
    np.testing.assert_allclose(beam, walled.beam_mj_m2_day[:, 0, 0], atol=2e-4)
    np.testing.assert_allclose(hours, walled.direct_hours[:, 0, 0], atol=1e-3)


def test_a_ring_sends_its_share_of_the_view(table):
    # It hides sin²(30°) = 0.25 of the view; what a leaf keeps back it sends in part.
    *_, sent = beside(table, ring((-90, 30, 0.0), sends=4.0))
    np.testing.assert_allclose(sent, 0.25 * 4.0, rtol=1e-3)
    *_, sent = beside(table, ring((-90, 30, 0.6), sends=4.0))
    np.testing.assert_allclose(sent, 0.25 * 0.4 * 4.0, rtol=1e-3)
    # Behind it a second one: seen through the first.
    *_, sent = beside(table, ring((-90, 30, 0.6), (-90, 30, 0.0), sends=4.0))
    np.testing.assert_allclose(sent, 0.25 * (0.4 + 0.6) * 4.0, rtol=1e-3)
    *_, sent = beside(table, ring((-90, 30, 0.0), sends=4.0, facing=-1))
    assert (sent == 0).all()


def test_a_side_gets_half_the_sky_and_the_beam_before_it(table):
    sides = sunlight.on_sides_mj_m2_day(table, 4)
    even = 0.5 * (table.sky_mj_m2_day + 0.2 * table.global_mj_m2_day)
    # In winter no sun comes from the northern half: the north side has no beam.
    np.testing.assert_allclose(sides[0, 11], even[11], rtol=1e-6)
    # East and west are alike through a year of clear skies (symmetry).
    np.testing.assert_allclose(sides[1], sides[3], rtol=0.02)
    # A wall to the south in December, sun 21.6° high at noon, gets more than the ground.
    assert sides[2, 11] > table.global_mj_m2_day[11]


# --- Exact steps ------------------------------------------------------------------------
def exact_mj_m2_day(east, north, horizon_deg, place, step_minutes=4):
    """Beam of every month, step by step in double precision, (12, cells)."""
    days = [day.date() for day in pd.date_range("2025-01-01", "2025-12-31")]
    path = sunlight.sun_path(days, place, step_minutes)
    beam = sunlight.clear_sky(path, place, "isotropic").dni_w_m2
    up = path.altitude_deg > 0
    altitude_deg, azimuth_deg = path.altitude_deg[up], path.azimuth_deg[up]
    altitude, azimuth = np.radians(altitude_deg), np.radians(azimuth_deg)
    level = np.cos(altitude)
    sun = (level * np.sin(azimuth), level * np.cos(azimuth), np.sin(altitude))
    sectors = np.arange(len(horizon_deg) + 1) * 360 / len(horizon_deg)
    mj = []
    for slope_east, slope_north, skyline_deg in zip(
        east, north, horizon_deg.T, strict=True
    ):
        round_trip = np.append(skyline_deg, skyline_deg[0]).astype(float)
        lit = altitude_deg > np.interp(azimuth_deg, sectors, round_trip)
        facing = -slope_east * sun[0] - slope_north * sun[1] + sun[2]
        facing = np.maximum(facing, 0) / math.hypot(slope_east, slope_north, 1)
        mj.append(np.bincount(path.month[up], lit * facing * beam[up], 12))
    return np.array(mj).T * step_minutes * 60e-6 / path.days[:, np.newaxis]


def test_months_are_the_sums_of_four_minute_steps_within_a_thousandth(table):
    """Slopes near 12°; skylines near 4° that change by 1 to 2° between sectors."""
    rng = np.random.default_rng(4)
    cells = 40
    east, north = rng.normal(0, 0.15, (2, 1, cells))
    smooth = np.cumsum(rng.normal(0, 2, (36, 1, cells)), axis=0)
    horizon_deg = np.abs(smooth - smooth.mean(axis=0)).astype(np.float32)
    found = sunlight.by_month(table, east, north, horizon_deg, np.ones((1, cells)))
    exact = exact_mj_m2_day(east[0], north[0], horizon_deg[:, 0], MIDDLE)
    assert exact.min() > 0.1
    error = np.abs(found.beam_mj_m2_day[:, 0] / exact - 1)
    assert error.mean() < 0.001
    assert error.mean(axis=1).max() < 0.0015  # December, when the sun is low


# --- Cloud, and light for plants -----------------------------------------------------------
def test_half_the_beam_and_twice_the_sky_are_just_that(table):
    hazy = sunlight.typical(table, np.full(12, 0.5), np.full(12, 2.0))
    before, after = light(table), light(hazy)
    np.testing.assert_allclose(
        after.beam_mj_m2_day, 0.5 * before.beam_mj_m2_day, rtol=1e-5
    )
    np.testing.assert_allclose(after.sky_mj_m2_day, 2 * before.sky_mj_m2_day, rtol=1e-5)
    np.testing.assert_allclose(after.direct_hours, before.direct_hours)


@pytest.mark.filterwarnings("ignore:DatetimeIndex.dayofyear")
def test_a_clear_year_has_ratios_of_one():
    times = pd.date_range("2025-01-01", periods=8760, freq="h", tz="Etc/GMT-1")
    location = pvlib.location.Location(45.0, 15.0, altitude=300.0)
    fine = pd.date_range(times[0], periods=8760 * 6, freq="10min") + pd.Timedelta(
        "5min"
    )
    clear = location.get_clearsky(fine, model="ineichen")
    hours = clear.resample("h").mean()
    hours.index = times + pd.Timedelta("30min")
    clear_sky = sunlight.sun_table(MIDDLE, sectors=4, year=2025)
    beam, sky = sunlight.monthly_ratios(hours, clear_sky)
    np.testing.assert_allclose(beam, 1, atol=0.01)
    np.testing.assert_allclose(sky, 1, atol=0.01)


PVLIB_DATA = Path(pvlib.__file__).parent / "data"


@pytest.mark.filterwarnings("ignore::FutureWarning")  # of pvlib's reader, about itself
@pytest.mark.filterwarnings("ignore::pvlib._deprecation.pvlibDeprecationWarning")
@pytest.mark.parametrize("name", ["723170TYA.CSV", "703165TY.csv"])
def test_a_typical_table_holds_the_light_of_the_year_it_comes_from(name):
    # Two TMY3 years (NREL) that pvlib ships, Greensboro NC and Sand Point AK: what was
    # written down as light on level ground, and as beam on a plane that faces the sun.
    hours, about = pvlib.iotools.read_tmy3(PVLIB_DATA / name, map_variables=True)
    hours.index -= pd.Timedelta("30min")  # stamps end their hour
    place = Place(about["latitude"], about["longitude"], about["altitude"], 0.0)
    clear = sunlight.sun_table(place, 36, YEAR)
    ratios = sunlight.monthly_ratios(hours, clear)
    typical = sunlight.typical(clear, *ratios)
    days = pd.date_range("2025-01-01", periods=12, freq="MS").days_in_month.to_numpy()
    month = hours.index.month

    def a_day(light_w_m2):
        return light_w_m2.groupby(month).sum().to_numpy() * 0.0036 / days

    on_level = light(typical)
    np.testing.assert_allclose(
        on_level.total_mj_m2_day[:, 0, 0], a_day(hours["ghi"]), rtol=1e-3
    )
    np.testing.assert_allclose(
        on_level.sky_mj_m2_day[:, 0, 0], a_day(hours["dhi"]), rtol=1e-3
    )
    # The sun stands in the middle of its hour: hours of sunrise and sunset are rough.
    sun = sunlight.sun_position(hours.index, place)
    up = np.sin(np.radians(sun["apparent_elevation"].to_numpy())).clip(0)
    projected = hours["dni"] * up
    beam = on_level.beam_mj_m2_day[:, 0, 0]
    assert beam.sum() == pytest.approx(a_day(projected).sum(), rel=0.02)


def test_the_band_of_the_light_integral_holds_both_usual_factors():
    # 0.45 × 4.57 = 2.06 mol/MJ (McCree 1972; from memory) and 0.50 × 4.6 = 2.30 (Szeicz
    # 1974; from memory).
    middle = sunlight.daily_light_integral_mol(20.0)
    band = sunlight.LIGHT_INTEGRAL_BAND
    assert middle * (1 - band) <= 20 * 2.06 < middle < 20 * 2.30 <= middle * (1 + band)
    assert band <= 0.06


def test_a_wall_in_the_south_east_delays_the_first_sun_and_not_the_last():
    path = sunlight.sun_path([dt.date(2025, 12, 21)], MIDDLE, step_minutes=1)
    wall = skyline(lambda azimuth: 15.0 if 100 <= azimuth <= 170 else 0.0)
    open_day = sunlight.in_direct_sun(path, OPEN[:, :, 0], 0.0)[0]
    walled = sunlight.in_direct_sun(path, wall[:, :, 0], 0.0)[0]
    first = np.flatnonzero(walled)[0]
    # The sun climbs a quarter of a degree in two minutes at most.
    assert path.altitude_deg[first] == pytest.approx(15.0, abs=0.25)
    assert path.altitude_deg[first] > 15.0
    assert np.flatnonzero(walled)[-1] == np.flatnonzero(open_day)[-1]


def test_a_pole_in_the_south_leaves_a_gap_in_the_middle_of_the_day():
    path = sunlight.sun_path([dt.date(2025, 12, 21)], MIDDLE, step_minutes=1)
    pole = skyline(lambda azimuth: 60.0 if azimuth in (170, 180, 190) else 0.0)
    walled = sunlight.in_direct_sun(path, pole[:, :, 0], 0.0)[0]
    gap = np.flatnonzero(np.diff(walled.astype(int)))[1:3] + 1
    # Skylines run in straight lines between sectors: 60° at 170° and 0° at 160°.
    edges_deg = path.azimuth_deg[gap]
    rim = 170 - 10 * (60 - path.altitude_deg[gap[0]]) / 60
    assert edges_deg[0] == pytest.approx(rim, abs=0.3)
    assert edges_deg[0] + edges_deg[1] == pytest.approx(360.0, abs=0.6)


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda t: Place(91.0, 0.0, 0.0, 0.0), "latitude_deg"),
        (lambda t: sunlight.sun_table(MIDDLE, 2, YEAR), "sectors"),
        (lambda t: sunlight.typical(t, np.full(12, -1.0), np.ones(12)), "beam_ratio"),
        (lambda t: light(t, horizon_deg=OPEN[:4]), "horizon_deg"),
        (lambda t: beside(t, ring((0, 30, 1.5))), "transmission"),
    ],
    ids=["off the globe", "two sectors", "negative", "other sectors", "over one"],
)
def test_impossible_input_is_refused(table, call, word):
    with pytest.raises(ValueError, match=word):
        call(table)


def test_months_without_a_clear_sky_have_no_share_of_its_light():
    """At 85°N the sun stays under the horizon from November to January."""
    hours = pd.date_range("2025-01-01 00:30", "2025-12-31 23:30", freq="h", tz="UTC")
    light = pd.DataFrame({"ghi": 0.0, "dhi": 0.0}, index=hours)
    clear = sunlight.sun_table(Place(85.0, 0.0, 0.0, 0.0), sectors=4, year=2025)
    for ratios in sunlight.monthly_ratios(light, clear):
        assert ratios.tolist() == [0.0] * 12
