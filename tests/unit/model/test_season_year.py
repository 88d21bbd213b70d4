"""Days of the season-year against the calendar itself, in both hemispheres."""

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldmap.model.season_year import (
    NORTH,
    SOUTH,
    monday_of,
    nearest_date,
    next_date,
    week_of,
)
from layers import freeze

BOTH = pytest.mark.parametrize("season", [NORTH, SOUTH], ids=["north", "south"])


@BOTH
def test_month_and_day_of_a_number_are_those_of_a_common_year(season):
    days = pd.date_range("2018-07-01" if season.southern else "2019-01-01", periods=365)
    shown = [season.month_day(number) for number in range(1, 366)]
    assert shown == list(zip(days.month, days.day, strict=True))
    assert [season.day_of(*each) for each in shown] == list(range(1, 366))


@BOTH
def test_a_day_of_any_year_has_one_number_and_is_read_back_as_itself(season):
    days = pd.date_range("2019-01-01", "2026-12-31")
    numbers = season.numbers(days)
    expected = [
        (day.month, min(day.day, 28) if day.month == 2 else day.day) for day in days
    ]
    assert [season.month_day(number) for number in numbers] == expected
    assert [season.day_of(day.month, day.day) for day in days] == numbers.tolist()


@BOTH
def test_freeze_dates_are_counted_by_the_same_numbers(season):
    days = np.arange("2019-03-01", "2025-03-01", dtype="datetime64[D]")
    calendar = freeze.calendar(days, southern=season.southern)
    assert calendar.day_number.tolist() == season.numbers(days).tolist()


@pytest.mark.parametrize(
    ("season", "number"), [(NORTH, 274), (SOUTH, 93)], ids=["north", "south"]
)
def test_the_first_of_october_is_itself_after_a_29th_of_february(season, number):
    for year in (2023, 2024):
        assert season.numbers([np.datetime64(f"{year}-10-01")]).tolist() == [number]
    assert season.month_day(number) == (10, 1)


def test_numbers_off_the_year_are_its_ends_or_those_of_another_year():
    assert NORTH.month_day(-5) == (1, 1)
    assert NORTH.month_day(366) == (12, 31)
    assert SOUTH.month_day(400) == (6, 30)
    assert NORTH.month_day_of_any_year(0) == (12, 31)
    assert NORTH.month_day_of_any_year(366) == (1, 1)
    assert SOUTH.month_day_of_any_year(366) == (7, 1)


def test_dates_are_rounded_to_the_safe_side():
    assert NORTH.early_date(105.2) == (4, 16)  # after day 105, 15 April
    assert NORTH.late_date(288.9) == (10, 15)
    assert NORTH.date(105.9) == (4, 15)
    assert NORTH.early_date(-np.inf) == (1, 1)
    for shown in (NORTH.early_date, NORTH.late_date, NORTH.date):
        assert shown(np.inf) is None
        assert shown(np.nan) is None


def test_months_of_the_south_are_those_half_a_year_later():
    assert NORTH.months == tuple(range(1, 13))
    assert SOUTH.months == (7, 8, 9, 10, 11, 12, 1, 2, 3, 4, 5, 6)
    assert [SOUTH.local_month(month) for month in (3, 7, 10)] == [9, 1, 4]
    assert [NORTH.month_index(month) for month in (3, 7)] == [2, 6]


@BOTH
def test_a_year_from_january_on_is_put_in_the_order_of_the_season(season):
    days = pd.date_range("2019-01-01", "2019-12-31")
    assert days[season.from_january(np.arange(365))[0]].month == season.first_month
    assert season.numbers(days)[season.from_january(np.arange(365))].tolist() == list(
        range(1, 366)
    )


def test_the_29th_of_february_counts_as_the_28th_in_a_common_year():
    assert next_date((2, 29), date(2023, 3, 1)) == date(2024, 2, 28)
    assert nearest_date((2, 29), date(2023, 3, 1)) == date(2023, 2, 28)


DAYS = st.dates(date(1990, 1, 1), date(2050, 1, 1))
OF_YEAR = st.tuples(st.integers(1, 12), st.integers(1, 28))


@given(DAYS, OF_YEAR)
def test_the_next_date_lies_within_a_year_and_the_nearest_within_half_of_one(when, day):
    following, nearest = next_date(day, when), nearest_date(day, when)
    assert timedelta(0) <= following - when < timedelta(366)
    assert abs(nearest - when) <= timedelta(183)
    assert (following.month, following.day) == (nearest.month, nearest.day) == day


def test_weeks_begin_on_mondays_and_on_the_first_day_of_the_season_year():
    assert monday_of(date(2027, 1, 1)) == date(2026, 12, 28)
    assert monday_of(date(2026, 12, 28)) == date(2026, 12, 28)
    assert [week_of(day) for day in (1, 7, 8, 365)] == [0, 0, 1, 52]
