"""Days of the season-year counted on a wall calendar, in both hemispheres.

Last days of the months of a common year, from 1 January and from 1 July:

    Jan  Feb  Mar  Apr  May  Jun  Jul  Aug  Sep  Oct  Nov  Dec
     31   59   90  120  151  181  212  243  273  304  334  365
    215  243  274  304  335  365   31   62   92  123  153  184
"""

from datetime import date

import numpy as np
import pytest

from fieldmap.model.season_year import (
    DAYS,
    NORTH,
    SOUTH,
    WEEKS,
    daily_of_months,
    monday_of,
    nearest_date,
    next_date,
    week_of,
)


@pytest.mark.parametrize(
    ("month", "day", "north", "south"),
    [
        (1, 1, 1, 185),
        (2, 28, 59, 243),
        (2, 29, 59, 243),  # shares the number of the 28th
        (3, 1, 60, 244),
        (6, 30, 181, 365),
        (7, 1, 182, 1),
        (12, 31, 365, 184),
    ],
)
def test_a_day_has_the_number_that_a_wall_calendar_gives_it(month, day, north, south):
    assert NORTH.day_of(month, day) == north
    assert SOUTH.day_of(month, day) == south


def test_months_are_named_without_a_day_by_their_first():
    assert NORTH.day_of(4) == 91
    assert SOUTH.day_of(4) == 275


def test_the_seasons_begin_in_january_and_july():
    assert not NORTH.southern
    assert SOUTH.southern
    assert (NORTH.first_month, SOUTH.first_month) == (1, 7)


def test_months_stand_in_the_order_of_the_season():
    assert NORTH.months == (1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12)
    assert SOUTH.months == (7, 8, 9, 10, 11, 12, 1, 2, 3, 4, 5, 6)


@pytest.mark.parametrize(
    ("northern", "southern"), [(1, 7), (6, 12), (7, 1), (12, 6)], ids=str
)
def test_a_month_of_the_south_is_six_after_that_of_the_north(northern, southern):
    assert SOUTH.local_month(northern) == southern
    assert SOUTH.month_index(northern) == southern - 1
    assert NORTH.month_index(northern) == northern - 1


@pytest.mark.parametrize(
    ("number", "early", "late", "whole"),
    [
        # An early date is safe on the next whole day, a late one on the day before.
        (100.0, (4, 10), (4, 9), (4, 10)),
        (100.1, (4, 11), (4, 10), (4, 10)),
        (100.9, (4, 11), (4, 10), (4, 10)),
        (1.0, (1, 1), (1, 1), (1, 1)),  # no day lies before the first
        (365.0, (12, 31), (12, 30), (12, 31)),
        # 366 is the edge of the year: its last day, and the last day before it.
        (365.5, (12, 31), (12, 31), (12, 31)),
        (366.0, (12, 31), (12, 31), (12, 31)),
        (366.5, None, (12, 31), (12, 31)),
        (367.5, None, None, None),
        (-np.inf, (1, 1), (1, 1), (1, 1)),
        (np.inf, None, None, None),
        (np.nan, None, None, None),
    ],
)
def test_dates_are_rounded_to_the_safe_side_and_end_with_the_year(
    number, early, late, whole
):
    assert NORTH.early_date(number) == early
    assert NORTH.late_date(number) == late
    assert NORTH.date(number) == whole


def test_in_the_south_day_100_is_the_eighth_of_october():
    # 31 July, 31 August, 30 September: 92. 100 - 92 = 8.
    assert SOUTH.early_date(99.2) == SOUTH.date(100.0) == (10, 8)


@pytest.mark.parametrize(
    ("number", "north", "south"),
    [
        (0, (12, 31), (6, 30)),
        (-364, (1, 1), (7, 1)),
        (-365, (12, 31), (6, 30)),
        (366, (1, 1), (7, 1)),
        (365, (12, 31), (6, 30)),
        (730, (12, 31), (6, 30)),
        (731, (1, 1), (7, 1)),
    ],
)
def test_a_number_beyond_the_year_is_a_day_of_the_next_or_the_last(
    number, north, south
):
    assert NORTH.month_day_of_any_year(number) == north
    assert SOUTH.month_day_of_any_year(number) == south


def test_days_of_leap_years_and_common_years_have_the_same_numbers():
    days = ["2023-12-31", "2024-02-28", "2024-02-29", "2024-03-01", "2025-03-01"]
    record = np.array(days, "datetime64[D]")
    assert NORTH.numbers(record).tolist() == [365, 59, 59, 60, 60]
    assert SOUTH.numbers(record).tolist() == [184, 243, 243, 244, 244]


def test_a_table_from_january_begins_on_the_first_day_of_the_season():
    numbers = np.arange(1, DAYS + 1)
    assert NORTH.from_january(numbers)[[0, 364]].tolist() == [1, 365]
    # 1 July is day 182 of the calendar; after 31 December comes 1 January.
    assert SOUTH.from_january(numbers)[[0, 183, 184, 364]].tolist() == [
        182,
        365,
        1,
        181,
    ]
    two = SOUTH.from_january(np.stack([numbers, -numbers]))
    assert two[:, 0].tolist() == [182, -182]


# The middle of January is day 365 / 24 = 15.2 from the first moment of the year, each
# next middle 365 / 12 = 30.4 later; on 1 January half of December is left.
#     month    1    2    3 ... 12
#     value   10   20   30     120
#     day 0: (120 + 10) / 2 = 65; 365/24: 10; 365/12: (10 + 20) / 2 = 15
#     a tenth of a month after the middle of March: 30 + 1 = 31
#     the middle of December: 120; half a month later: day 365, 65 again
MONTH = 365 / 12


def test_values_of_days_lie_in_straight_lines_between_the_middles_of_months():
    months = np.array([[10.0 * month for month in range(1, 13)], [7.0] * 12])
    days = np.array([0.0, 0.5, 1.0, 2.6, 11.5, 12.0]) * MONTH
    found = daily_of_months(months, days)
    np.testing.assert_allclose(found[0], [65.0, 10.0, 15.0, 31.0, 120.0, 65.0])
    np.testing.assert_allclose(found[1], 7.0)


def test_weeks_of_seven_days_are_counted_from_0_and_fill_the_year():
    numbers = [-np.inf, 0, 1, 7.9, 8, 14, 15, 364, 365, 366, np.inf]
    # 364 = 52 × 7 is the last day of week 51; day 365 stands alone.
    assert [week_of(day) for day in numbers] == [0, 0, 0, 0, 1, 1, 2, 51, 52, 52, 52]
    assert week_of(DAYS) + 1 == WEEKS


def test_the_next_such_day_may_be_today_and_is_else_within_a_year():
    assert next_date((4, 1), date(2027, 4, 1)) == date(2027, 4, 1)
    assert next_date((3, 31), date(2027, 4, 1)) == date(2028, 3, 31)
    assert next_date((4, 2), date(2027, 4, 1)) == date(2027, 4, 2)
    # Of a leap year, too, it is the 28th, which has gone by on the 29th.
    assert next_date((2, 29), date(2028, 2, 1)) == date(2028, 2, 28)
    assert next_date((2, 28), date(2028, 2, 29)) == date(2029, 2, 28)


@pytest.mark.parametrize(
    ("month_day", "when", "nearest"),
    [
        # 2 January is 3 days after 30 December, 362 before the next.
        ((12, 30), date(2027, 1, 2), date(2026, 12, 30)),
        ((1, 2), date(2026, 12, 30), date(2027, 1, 2)),
        ((6, 1), date(2027, 6, 30), date(2027, 6, 1)),
        # 1 July 2027 lies 181 days after 1 January and 184 before the next; 3 July 183
        # and 182.
        ((1, 1), date(2027, 7, 1), date(2027, 1, 1)),
        ((1, 1), date(2027, 7, 3), date(2028, 1, 1)),
        ((2, 29), date(2028, 2, 29), date(2028, 2, 28)),
    ],
)
def test_the_nearest_such_day_may_lie_in_the_year_before_or_after(
    month_day, when, nearest
):
    assert nearest_date(month_day, when) == nearest


def test_a_week_begins_on_its_monday():
    # 1 March 2027 is a Monday, 29 February 2028 a Tuesday.
    assert monday_of(date(2027, 3, 1)) == date(2027, 3, 1)
    assert monday_of(date(2027, 3, 7)) == date(2027, 3, 1)
    assert monday_of(date(2028, 2, 29)) == date(2028, 2, 28)
    assert monday_of(date(2028, 3, 5)) == date(2028, 2, 28)
