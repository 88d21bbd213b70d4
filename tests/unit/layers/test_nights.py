"""Clear calm nights against pandas, and what missing readings do."""

import numpy as np
import pandas as pd
import pytest

from layers import nights

START = np.datetime64("2015-01-01")


def record(seed, count=1500):
    rng = np.random.default_rng(seed)
    days = START + np.arange(count)
    low = rng.normal(2, 6, count).round(1)
    high = low + rng.gamma(6, 2, count).round(1)
    wind = rng.gamma(3, 0.7, count).round(1)
    for values in (low, high, wind):
        values[rng.choice(count, 60, replace=False)] = np.nan
    return days, low, high, wind


@pytest.mark.parametrize("seed", range(3))
def test_nights_are_those_that_pandas_finds_by_grouping_months(seed):
    # Reference: pandas' shift by one calendar day and its own group quantiles.
    days, low, high, wind = record(seed)
    frame = pd.DataFrame({"low": low, "high": high, "wind": wind}, index=days)
    fall = frame["high"].shift(freq="D").reindex(frame.index) - frame["low"]
    least = fall.groupby(frame.index.month).transform(lambda part: part.quantile(0.6))
    expected = (fall >= least - 1e-6) & ~(frame["wind"] >= 2.0)
    found = nights.clear_calm(days, low, high, wind)
    assert found.tolist() == expected.tolist()
    assert 0.1 < found.mean() < 0.4


def test_without_wind_about_forty_nights_in_a_hundred_are_clear():
    # By the definition of a 60th percentile, where no two falls are alike.
    rng = np.random.default_rng(4)
    low, high = rng.normal(size=3000), rng.normal(size=3000)
    found = nights.clear_calm(START + np.arange(3000), low, high, None)
    assert found.mean() == pytest.approx(0.4, abs=0.01)


def test_the_order_of_the_days_does_not_matter():
    days, low, high, wind = record(5)
    order = np.random.default_rng(6).permutation(len(days))
    mixed = nights.clear_calm(days[order], low[order], high[order], wind[order])
    assert (mixed == nights.clear_calm(days, low, high, wind)[order]).all()


def test_a_warmer_record_has_the_same_clear_nights():
    # Only the fall counts, so a shift of all readings changes nothing.
    days, low, high, wind = record(7)
    shifted = nights.clear_calm(days, low + 3.7, high + 3.7, wind)
    assert (shifted == nights.clear_calm(days, low, high, wind)).all()


def test_wind_at_the_limit_is_not_calm_and_unknown_wind_does_not_count():
    days = START + np.arange(4)
    low, high = [5.0] * 4, [15.0] * 4
    found = nights.clear_calm(days, low, high, [0.0, 2.0, 1.9, np.nan])
    assert found.tolist() == [False, False, True, True]


def test_the_night_after_a_missing_day_is_not_clear():
    days = START + np.array([0, 1, 3])
    found = nights.clear_calm(days, [0.0] * 3, [10.0, 10.0, 10.0], None)
    assert found.tolist() == [False, True, False]
    assert not nights.clear_calm(days, [np.nan] * 3, [10.0] * 3, None).any()
    assert nights.clear_calm(days[:0], [], [], None).shape == (0,)


def test_a_day_twice_and_lengths_that_differ_are_refused():
    days = START + np.array([0, 1, 1])
    with pytest.raises(ValueError, match="once"):
        nights.clear_calm(days, [0.0] * 3, [9.0] * 3, None)
    with pytest.raises(ValueError, match="one for each"):
        nights.clear_calm(START + np.arange(3), [0.0] * 2, [9.0] * 3, None)
    with pytest.raises(ValueError, match="one for each"):
        nights.clear_calm(START + np.arange(3), [0.0] * 3, [9.0] * 3, [1.0])


def test_wind_at_2_m_is_that_of_the_worked_example():
    # Allen et al. 1998, FAO-56, example 14 (from memory): 3.2 m/s at 10 m are 2.4 at 2 m.
    assert nights.wind_at_2_m(3.2, 10.0) == pytest.approx(2.4, abs=0.05)
    # The equation is made to be 1 at 2 m.
    assert nights.wind_at_2_m(1.0, 2.0) == pytest.approx(1.0, abs=0.001)
    with pytest.raises(ValueError, match=r"height_m must be 0\.5 or more"):
        nights.wind_at_2_m(1.0, 0.1)


# FAO, Frost protection 1 (2005), ch. 5: a night of 15 hours from 0.95 °C two hours after
# sunset to -5.45 °C; the same in °F as printed for getTrend of the R package frost.
@pytest.mark.parametrize(
    ("hours", "start", "sunrise", "printed"),
    [
        ([3, 6, 9, 12, 15], 0.95, -5.45, [-0.825, -2.600, -3.746, -4.663, -5.450]),
        ([3, 7, 9], 33.7, 22.2, [30.510, 26.568, 25.261]),
    ],
    ids=["celsius", "fahrenheit"],
)
def test_a_night_falls_as_in_the_worked_example_of_the_frost_handbook(
    hours, start, sunrise, printed
):
    found = nights.night_trend_c(hours, start, sunrise, 15.0)
    assert found.tolist() == pytest.approx(printed, abs=0.0006)


def test_an_hour_off_the_trend_and_a_night_too_short_are_refused():
    for hour in (1.9, 15.1):
        with pytest.raises(ValueError, match="hours must lie between 2 and"):
            nights.night_trend_c([hour], 1.0, -5.0, 15.0)
    with pytest.raises(ValueError, match="night_hours must be more than 2, got 2"):
        nights.night_trend_c([2.0], 1.0, -5.0, 2.0)
    assert np.isnan(nights.night_trend_c([np.nan], 1.0, -5.0, 15.0)).all()


@pytest.mark.parametrize("missing", [0, 1, 2])
def test_where_a_temperature_is_missing_no_hour_is_known(missing):
    """Nor that it never comes so far, be it the limit, the evening or the morning."""
    given = [1.0, 5.0, -1.0]
    assert nights.hours_to_limit(*given, 11.0) == pytest.approx(6.0)
    given[missing] = np.nan
    assert np.isnan(nights.hours_to_limit(*given, 11.0))


def test_kinds_of_night_are_still_mixed_and_windy():
    """Still stays still; of the others those of 4 m/s and more at 2 m are windy."""
    still = [True, True, False, False, False]
    wind = [1.0, 5.0, 4.0, 3.99, np.nan]
    kinds = nights.kinds(still, wind)
    assert kinds.tolist() == [0, 0, nights.WINDY, nights.MIXED, nights.MIXED]
    assert nights.kinds(still, None).tolist() == [0, 0, 1, 1, 1]
    with pytest.raises(ValueError, match="wind"):
        nights.kinds(still, [1.0])


@pytest.mark.parametrize(
    ("relief_m", "is_all_known", "share"),
    [
        (150.0, True, (0.1, 0.17, 0.24)),
        (150.1, True, (0.35, 0.5, 0.6)),
        (150.1, False, (0.35, 0.5, 0.6)),
        (0.0, False, (0.1, 0.17, 0.6)),
    ],
)
def test_valleys_keep_half_of_an_offset_on_mixed_nights(relief_m, is_all_known, share):
    assert nights.mixed_share(relief_m, is_all_known=is_all_known) == share


def test_no_relief_is_refused():
    with pytest.raises(ValueError, match="relief_m"):
        nights.mixed_share(np.nan, is_all_known=True)


def test_a_table_of_nights_is_no_list_of_them():
    table = np.zeros((4, 2))
    with pytest.raises(ValueError, match="three nights"):
        nights.minimum_line(table, table - 5.0)
