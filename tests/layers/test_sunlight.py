"""The sun and its light against published examples, pvlib's own sums, and exact steps."""

import datetime as dt

import numpy as np
import pandas as pd
import pvlib
import pytest

from layers import sunlight
from layers.sunlight import Crown, Place

YEAR = 2025
OPEN = np.zeros((36, 1, 1), np.float32)
FLAT = np.zeros((1, 1))
SEES_ALL = np.ones((1, 1))
MIDDLE = Place(45.0, 15.0, 300.0, 0.0)


@pytest.fixture(scope="module")
def table():
    return sunlight.sun_table(MIDDLE, 36, YEAR)


def skyline(angle_of_azimuth, sectors=36):
    angles = [
        angle_of_azimuth(azimuth) for azimuth in np.arange(sectors) * 360 / sectors
    ]
    return np.array(angles, np.float32).reshape(sectors, 1, 1)


def light(table, east=0.0, north=0.0, horizon_deg=OPEN, sky_view=None, crowns=()):
    """Light on one cell; its sky view is that of an open slope unless given."""
    if sky_view is None:
        sky_view = (1 + np.cos(np.arctan(np.hypot(east, north)))) / 2
    return sunlight.by_month(
        table,
        FLAT + east,
        FLAT + north,
        horizon_deg,
        SEES_ALL * sky_view,
        crowns=crowns,
    )


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


def handbook_path(day_of_year, latitude):
    """The sun of FAO-56 (its declination, eq. 24) over one day in 2-minute steps."""
    declination = 0.409 * np.sin(2 * np.pi * day_of_year / 365 - 1.39)
    phi = np.radians(latitude)
    hour = np.radians((np.arange(720) + 0.5) / 2 - 180)
    up = np.sin(phi) * np.sin(declination)
    up = up + np.cos(phi) * np.cos(declination) * np.cos(hour)
    east = -np.cos(declination) * np.sin(hour)
    north = np.cos(phi) * np.sin(declination)
    north = north - np.sin(phi) * np.cos(declination) * np.cos(hour)
    return sunlight.SunPath(
        times_utc=pd.date_range("2025-01-01", periods=720, freq="2min", tz="UTC"),
        altitude_deg=np.degrees(np.arcsin(up)),
        azimuth_deg=np.degrees(np.arctan2(east, north)) % 360,
        before_noon=(hour < 0).astype(float),
        month=np.zeros(720, np.intp),
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


def extraterrestrial_mj_m2(day_of_year, latitude):
    """Ra of FAO-56 (eq. 21) through the table and the light on a level cell."""
    return light(airless(day_of_year, latitude)).beam_mj_m2_day[0, 0, 0]


def test_a_day_without_air_is_fao_56_examples_8_and_9():
    # 3 September (J = 246) at 20° S: Ra 32.2 MJ/m²/day, daylight 11.7 h.
    assert extraterrestrial_mj_m2(246, -20.0) == pytest.approx(32.2, abs=0.05)
    hours = light(airless(246, -20.0)).direct_hours[0, 0, 0]
    assert hours == pytest.approx(11.7, abs=0.05)


# FAO-56 Annex 2 Table 2.6, 15th of the month (computed from its eq. 21, and within ±0.1
# of the printed table from memory).
ANNEX_2 = {
    40: (15.0, 20.4, 27.2, 34.7, 39.7, 41.8, 40.8, 36.7, 29.9, 22.5, 16.3, 13.6),
    60: (3.3, 8.3, 16.6, 27.5, 36.7, 41.2, 39.1, 31.3, 20.5, 10.8, 4.4, 2.2),
}


@pytest.mark.parametrize("latitude", ANNEX_2)
def test_days_without_air_are_those_of_the_fao_56_table(latitude):
    days = [15, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349]
    found = [extraterrestrial_mj_m2(day, latitude) for day in days]
    np.testing.assert_allclose(found, ANNEX_2[latitude], atol=0.15)


# --- Light on the ground ----------------------------------------------------------------
@pytest.mark.filterwarnings("ignore:DatetimeIndex.dayofyear")  # of pvlib, to itself
@pytest.mark.parametrize("latitude", [45.0, 60.0, -35.0])
def test_an_open_level_plane_gets_pvlib_s_own_daily_sum(latitude):
    place = Place(latitude, 15.0, 300.0, 0.0)
    found = light(sunlight.sun_table(place, 36, YEAR)).total_mj_m2_day[:, 0, 0]
    times = pd.date_range("2025-01-01", "2026-01-01", freq="10min", tz="Etc/GMT-1")[:-1]
    location = pvlib.location.Location(latitude, 15.0, altitude=300.0)
    ghi = location.get_clearsky(times + pd.Timedelta(minutes=5), model="ineichen")[
        "ghi"
    ]
    daily = ghi.groupby(ghi.index.month).sum() * 600e-6
    daily /= pd.date_range("2025-01-01", periods=12, freq="MS").days_in_month
    # Our turbidity passes from one month's middle to the next as pvlib's does.
    np.testing.assert_allclose(found, daily, rtol=0.005)


def test_klein_s_single_days_stand_for_their_months_within_two_per_cent():
    # Klein 1977, Solar Energy 19:325-329: days of year (from memory); without air, up to
    # 50° north, a single day is within 2 % of the month.
    klein = (17, 47, 75, 105, 135, 162, 198, 228, 258, 288, 318, 344)
    place = Place(45.0, 0.0, 0.0, 0.0)
    days = [day.date() for day in pd.date_range("2025-01-01", "2025-12-31")]
    path = sunlight.sun_path(days, place)
    when = np.asarray(path.times_utc.day_of_year)
    beam = 1366.7 * (1 + 0.033 * np.cos(2 * np.pi * when / 365))
    sky = sunlight.SkyLight(beam, 0 * beam, 0 * beam)
    whole = light(sunlight.tabulate(path, sky, 36, 0.0)).beam_mj_m2_day[:, 0, 0]
    firsts = np.searchsorted(when, klein)
    single = []
    for first in firsts:
        one = sunlight.sun_path([days[when[first] - 1]], place)
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


def test_a_ten_degree_south_slope_gets_its_printed_share_of_beam():
    # Ratio 1.182 on day 75 at 45° north without air (geometry of the beam).
    rise = np.tan(np.radians(10.0))
    day = airless(75, 45.0)
    ratio = light(day, north=rise).beam_mj_m2_day[0] / light(day).beam_mj_m2_day[0]
    assert ratio[0, 0] == pytest.approx(1.182, abs=0.003)


def test_mornings_and_afternoons_mirror_each_other(table):
    falls_east, falls_west = light(table, east=-0.2), light(table, east=0.2)
    np.testing.assert_allclose(
        falls_east.beam_mj_m2_day, falls_west.beam_mj_m2_day, rtol=0.01
    )
    np.testing.assert_allclose(
        falls_east.morning_share, 1 - falls_west.morning_share, atol=0.01
    )
    assert (falls_east.morning_share > 0.5).all()


def test_turned_ground_under_a_turned_grid_gets_the_same_light():
    turned = sunlight.sun_table(Place(45.0, 15.0, 300.0, 30.0), 36, YEAR)
    true_deg = 150.0  # the downhill bearing
    hill = skyline(lambda azimuth: 25.0 if 80 <= azimuth <= 110 else 0.0)
    here = light(
        sunlight.sun_table(MIDDLE, 36, YEAR),
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
    # At 45° north the sun stands at 45° then: the pole's top, 45° high from 6 m away,
    # hides it and 44° does not.
    place = Place(45.0, 0.0, 0.0, 0.0)
    path = sunlight.sun_path([dt.date(2025, 3, 20)], place, step_minutes=1)
    noon = int(np.argmax(path.altitude_deg))
    shadow_m = 6.0 / np.tan(np.radians(path.altitude_deg[noon]))
    assert shadow_m == pytest.approx(6.0, abs=0.06)
    for height_deg, in_sun in ((44.0, True), (46.0, False)):
        pole = skyline(lambda azimuth, h=height_deg: h if azimuth == 180 else 0.0)
        seen = sunlight.in_direct_sun(path, pole[:, :, 0], 0.0)
        assert seen[0, noon] == in_sun


def test_a_closed_skyline_leaves_no_beam_and_no_hour(table):
    walled = light(table, horizon_deg=OPEN + 90, sky_view=0.0)
    assert walled.beam_mj_m2_day.max() == 0
    assert walled.direct_hours.max() == 0
    assert walled.sky_mj_m2_day.max() == 0


def test_hay_davies_takes_from_the_sky_what_it_gives_around_the_sun():
    bright = sunlight.sun_table(MIDDLE, 36, YEAR, "hay-davies")
    even = sunlight.sun_table(MIDDLE, 36, YEAR)
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


# --- Crowns -----------------------------------------------------------------------------
def belt(transmission, bottom=0.0, top=30.0):
    shape = OPEN.shape
    return Crown(
        np.full(shape, bottom, np.float32),
        np.full(shape, top, np.float32),
        (transmission,) * 12,
    )


def test_a_crown_of_glass_changes_nothing_and_a_solid_one_is_a_wall(table):
    open_sky = light(table)
    glass = light(table, crowns=[belt(1.0)])
    np.testing.assert_allclose(
        glass.total_mj_m2_day, open_sky.total_mj_m2_day, rtol=1e-5
    )
    solid = light(table, crowns=[belt(0.0)])
    wall = light(table, horizon_deg=OPEN + 30)
    np.testing.assert_allclose(solid.beam_mj_m2_day, wall.beam_mj_m2_day, atol=1e-4)
    np.testing.assert_allclose(solid.direct_hours, wall.direct_hours, atol=1e-3)
    # A ring of 30° leaves cos²(30°) = 0.75 of an even sky (closed form).
    np.testing.assert_allclose(
        solid.sky_mj_m2_day, 0.75 * open_sky.sky_mj_m2_day, rtol=2e-3
    )


def test_crowns_behind_one_another_multiply(table):
    open_sky, wall = light(table), light(table, horizon_deg=OPEN + 30)
    behind = open_sky.beam_mj_m2_day - wall.beam_mj_m2_day
    one = light(table, crowns=[belt(0.5)]).beam_mj_m2_day
    two = light(table, crowns=[belt(0.5), belt(0.4)]).beam_mj_m2_day
    np.testing.assert_allclose(one, wall.beam_mj_m2_day + 0.5 * behind, atol=2e-3)
    np.testing.assert_allclose(two, wall.beam_mj_m2_day + 0.2 * behind, atol=2e-3)


def test_the_sun_shines_under_a_crown(table):
    lifted = light(table, crowns=[belt(0.0, bottom=10.0)])
    whole = light(table, crowns=[belt(0.0)])
    assert (lifted.direct_hours[:, 0, 0] > whole.direct_hours[:, 0, 0] + 0.5).all()


# --- Exact steps ------------------------------------------------------------------------
def test_a_month_is_the_sum_of_two_minute_steps_within_a_thousandth(table):
    """Rough skylines and slopes, every day of March at 2-minute steps, in double."""
    rng = np.random.default_rng(4)
    cells = 40
    sectors = 36
    east, north = rng.normal(0, 0.15, (2, 1, cells))
    smooth = np.cumsum(rng.normal(0, 2, (sectors, 1, cells)), axis=0)
    horizon_deg = np.abs(smooth - smooth.mean(axis=0)).astype(np.float32)
    found = sunlight.by_month(table, east, north, horizon_deg, np.ones((1, cells)))
    days = [day.date() for day in pd.date_range("2025-03-01", "2025-03-31")]
    path = sunlight.sun_path(days, MIDDLE, step_minutes=2)
    sky = sunlight.clear_sky(path, MIDDLE, "isotropic")
    up = path.altitude_deg > 0
    altitude, azimuth = (
        np.radians(path.altitude_deg[up]),
        np.radians(path.azimuth_deg[up]),
    )
    sun = np.stack(
        [
            np.cos(altitude) * np.sin(azimuth),
            np.cos(altitude) * np.cos(azimuth),
            np.sin(altitude),
        ]
    )
    normal = np.stack([-east[0], -north[0], np.ones(cells)])
    normal /= np.linalg.norm(normal, axis=0)
    position = path.azimuth_deg[up] / 360 * sectors
    before = np.floor(position).astype(int)
    share = (position - before)[:, None]
    at = horizon_deg[:, 0, :].astype(float)
    skyline_deg = (
        at[before % sectors] * (1 - share) + at[(before + 1) % sectors] * share
    )
    seen = path.altitude_deg[up][:, None] > skyline_deg
    watts = np.maximum(sun.T @ normal, 0) * seen * sky.dni_w_m2[up][:, None]
    exact = watts.sum(axis=0) * 120e-6 / 31
    error = np.abs(found.beam_mj_m2_day[2, 0] / exact - 1)
    assert exact.min() > 1
    assert error.mean() < 0.006


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
    beam, sky = sunlight.monthly_ratios(hours, MIDDLE)
    np.testing.assert_allclose(beam, 1, atol=0.01)
    np.testing.assert_allclose(sky, 1, atol=0.01)


def test_twenty_megajoules_are_41_moles():
    # 20 × 0.45 × 4.57 = 41.1 (McCree 1972; from memory), within 6 % of 2.02 to 2.30.
    assert sunlight.daily_light_integral_mol(20.0) == pytest.approx(41.1, abs=0.05)


def test_a_wall_in_the_east_delays_the_first_sun():
    path = sunlight.sun_path([dt.date(2025, 6, 21)], MIDDLE, step_minutes=1)
    wall = skyline(lambda azimuth: 20.0 if 40 <= azimuth <= 120 else 0.0)
    open_day = sunlight.in_direct_sun(path, OPEN[:, :, 0], 0.0)[0]
    walled = sunlight.in_direct_sun(path, wall[:, :, 0], 0.0)[0]
    first = np.flatnonzero(walled)[0]
    assert path.altitude_deg[first] == pytest.approx(20.0, abs=0.3)
    assert np.flatnonzero(walled)[-1] == np.flatnonzero(open_day)[-1]


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda t: Place(91.0, 0.0, 0.0, 0.0), "latitude_deg"),
        (lambda t: sunlight.sun_table(MIDDLE, 2, YEAR), "sectors"),
        (lambda t: sunlight.typical(t, np.full(12, -1.0), np.ones(12)), "beam_ratio"),
        (lambda t: light(t, horizon_deg=OPEN[:4]), "horizon_deg"),
        (lambda t: light(t, crowns=[belt(1.5)]), "transmission"),
    ],
    ids=["off the globe", "two sectors", "negative", "other sectors", "over one"],
)
def test_impossible_input_is_refused(table, call, word):
    with pytest.raises(ValueError, match=word):
        call(table)
