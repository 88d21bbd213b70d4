"""Ties, places and groups of a handful of beds, in days and in light that add up."""

import numpy as np
import pytest

from fieldmap.decide.ranking import by_days, by_night
from fieldmap.decide.ranking.groups import BETWEEN, FIRST, LAST, SAME, name_groups
from fieldmap.model.estimate import Estimate

# Of eleven draws in order the second, sixth and tenth are the 10th, 50th and 90th
# percentile.
STEADY = np.zeros(11)
SPREAD = np.arange(-5.0, 6.0)


def days(*beds, spread=STEADY):
    """The day of each bed, and what all its draws share."""
    return np.array(beds, float)[:, np.newaxis] + spread


# ------------------------------------------------------------------ by days
@pytest.mark.parametrize(
    ("beds", "places"),
    [
        ([100.0], [1]),
        ([100.0, 100.0], [1, 1]),
        # 1.9 days are no difference, 2 are one.
        ([100.0, 101.9], [1, 1]),
        ([100.0, 102.0], [1, 2]),
        # 101.9 shares the first place; 102 and 103.9 the third; 104 is the fifth.
        ([100.0, 101.9, 102.0, 103.9, 104.0], [1, 1, 3, 3, 5]),
        # The first of a place counts, not the one before: 1.5 and 3 are two places.
        ([100.0, 101.5, 103.0, 104.5], [1, 1, 3, 3]),
        # Beds stand in no order.
        ([110.0, 100.0, 101.0], [3, 1, 1]),
        # Never is a day, and later than any other.
        ([np.inf, 100.0, np.inf], [2, 1, 2]),
        ([np.inf, np.inf], [1, 1]),
        # Who never has a frost is not later than another that has none.
        ([-np.inf, -np.inf, 5.0], [1, 1, 3]),
        # What is not known comes last.
        ([np.nan, 100.0], [2, 1]),
    ],
    ids=str,
)
def test_beds_within_two_days_of_the_first_of_a_place_share_it(beds, places):
    assert by_days.ranks(days(*beds)).tolist() == places
    # What all share of what is not known makes no tie.
    assert by_days.ranks(days(*beds, spread=10 * SPREAD)).tolist() == places


def test_a_difference_that_may_go_either_way_is_a_tie_however_large_its_middle():
    # Five days later in the middle, with draws from -5 to 15: the second is -3.
    early, late = days(100.0), 105.0 + 2 * SPREAD
    assert by_days.ranks(np.vstack([early, late])).tolist() == [1, 1]
    # From 0 to 10 the second is 1: later in nine of ten draws.
    assert by_days.ranks(np.vstack([early, 105.0 + SPREAD])).tolist() == [1, 2]


def test_a_difference_that_begins_or_ends_at_none_goes_one_way():
    # Ten draws of none and more later ones: low is 0, which is not earlier.
    later = np.array([0.0] * 5 + [4.0] * 6)
    assert by_days.ranks(np.vstack([days(100.0), 100.0 + later])).tolist() == [1, 2]
    # With two draws a day earlier the second is -1.
    either = np.array([-1.0] * 2 + [4.0] * 9)
    assert by_days.ranks(np.vstack([days(100.0), 100.0 + either])).tolist() == [1, 1]
    # The central day of the first is the earlier one: from the other side high is 0.
    never_later = np.array([-4.0] * 6 + [0.0] * 5)
    assert by_days.ranks(np.vstack([days(100.0), 100.0 + never_later])).tolist() == [
        2,
        1,
    ]


def test_a_place_ends_with_the_first_bed_that_does_not_tie():
    # The second is three days later for sure; the third four, or six earlier: it ties
    # with the first, but the place has ended, and it shares that of the second.
    third = 104.0 + 2 * SPREAD
    found = by_days.ranks(np.vstack([days(100.0), days(103.0), third]))
    assert found.tolist() == [1, 2, 2]


def test_the_order_is_that_of_the_middle_draw_and_else_as_beds_were_given():
    two_late = np.array([90.0] * 5 + [110.0] * 6)
    beds = np.vstack([two_late, days(100.0), days(100.0), days(np.nan)])
    assert by_days.order(beds).tolist() == [1, 2, 0, 3]


def test_of_many_alike_beds_the_order_is_that_in_which_they_were_given():
    # 64 beds in turn early and late.
    turns = days(*[100.0, 110.0] * 32)
    assert by_days.order(turns).tolist() == [*range(0, 64, 2), *range(1, 64, 2)]


@pytest.mark.parametrize(
    ("beds", "groups"),
    [
        ([100.0], [SAME]),
        ([100.0, 101.0], [SAME, SAME]),
        ([100.0, 110.0], [FIRST, LAST]),
        ([100.0, 105.0, 110.0], [FIRST, BETWEEN, LAST]),
        # 108.1 is less than two days before the last, 108 is not.
        ([100.0, 108.1, 110.0], [FIRST, LAST, LAST]),
        ([100.0, 108.0, 110.0], [FIRST, BETWEEN, LAST]),
        ([101.9, 100.0, 110.0], [FIRST, FIRST, LAST]),
        # 101 ties with the first and with the last.
        ([100.0, 101.0, 102.5], [FIRST, SAME, LAST]),
        ([100.0, np.inf], [FIRST, LAST]),
        ([np.inf, np.inf], [SAME, SAME]),
        # The last is the last whose days are known.
        ([100.0, 110.0, np.nan], [FIRST, LAST, BETWEEN]),
    ],
    ids=str,
)
def test_groups_are_who_ties_with_the_first_and_who_with_the_last(beds, groups):
    assert by_days.groups(days(*beds)) == groups


def test_a_bed_that_is_never_later_than_the_last_is_not_one_of_the_last():
    # Ten days earlier in six draws, as late in five: the tenth in order is none.
    early = np.array([[100.0] * 6 + [110.0] * 5])
    assert by_days.groups(np.vstack([early, days(110.0)])) == [FIRST, LAST]
    # Half a day later in two draws it may go either way.
    either = np.array([[100.0] * 6 + [110.0] * 3 + [110.5] * 2])
    assert by_days.groups(np.vstack([either, days(110.0)])) == [SAME, SAME]


def test_with_no_day_known_of_any_bed_there_are_still_groups():
    assert by_days.groups(days(np.nan, np.nan)) == [FIRST, BETWEEN]


def test_groups_have_one_name_for_each_of_four_cases():
    first, last = np.array([1, 1, 0, 0], bool), np.array([1, 0, 1, 0], bool)
    assert name_groups(first, last) == [SAME, FIRST, LAST, BETWEEN]


def test_days_after_the_first_bed_are_taken_draw_by_draw():
    # Both share a spread of 50 days; the second is 3 to 7 later: of 3, 3.4 ... 7 the
    # second is 3.4, the sixth 5, the tenth 6.6.
    shared = 10 * SPREAD
    beds = np.vstack([120.0 + shared, 125.0 + shared + 0.4 * SPREAD])
    first, second = by_days.days_after_first(beds)
    assert first == Estimate(0.0, 0.0, 0.0)
    assert second == pytest.approx((3.4, 5.0, 6.6))
    # The first bed need not stand first.
    swapped = by_days.days_after_first(beds[::-1])
    assert swapped == [pytest.approx((3.4, 5.0, 6.6)), (0.0, 0.0, 0.0)]


def test_days_after_the_first_are_not_known_of_a_bed_that_may_never_be_planted():
    never_in_some = np.array([110.0] * 9 + [np.inf] * 2)
    assert by_days.days_after_first(np.vstack([days(100.0), never_in_some]))[1] is None
    assert by_days.days_after_first(days(100.0, np.nan))[1] is None
    # Nor of one that goes out where the first of all may never: two of eleven draws.
    leader = np.array([100.0] * 9 + [np.inf] * 2)
    assert by_days.days_after_first(np.vstack([leader, days(110.0)]))[1] is None
    assert by_days.days_after_first(days(np.inf, np.inf)) == [(0.0, 0.0, 0.0)] * 2


def test_a_fifth_of_the_beds_is_among_the_first_and_ties_count():
    # A fifth of 10 beds is 2, of 8 beds 1.6, which is 2, of 7 beds 1.4, which is 1.
    for count, first in ((10, 2), (8, 2), (7, 1), (5, 1), (2, 1), (1, 1)):
        shares = by_days.among_first_share(days(*range(count)))
        assert shares.tolist() == [1.0] * first + [0.0] * (count - first)
    # Of five beds one is first, with it all that are as early.
    assert by_days.among_first_share(days(1, 1, 2, 3, 4)).tolist() == [1, 1, 0, 0, 0]


def test_the_share_of_first_draws_is_counted_draw_by_draw():
    # The first bed is earliest in 8 of 11 draws, and alike in one of them.
    one = days(100.0)
    other = np.array([[105.0] * 7 + [100.0] + [95.0] * 3])
    shares = by_days.among_first_share(np.vstack([one, other]))
    assert shares == pytest.approx([8 / 11, 4 / 11])


def test_what_is_never_or_not_known_is_among_no_first():
    assert by_days.among_first_share(days(np.inf, np.nan)).tolist() == [0.0, 0.0]
    assert by_days.among_first_share(days(np.nan, 100.0)).tolist() == [0.0, 1.0]


def test_nights_make_a_bed_later_where_they_decide_at_least_half_of_its_later_draws():
    late = days(100.0, 110.0)

    def decided(by_night, early=late):
        nights = np.zeros((2, 11), bool)
        nights[1, :by_night] = True
        return by_days.nights_make_later(early, nights)

    # It is later in 11 draws: 6 are more than half, 5 are less.
    assert decided(6) == [None, True]
    assert decided(5) == [None, False]
    # Later in the last 10 alone: of these 5 of the first six are just half.
    ten = np.vstack([days(100.0), [90.0] + [110.0] * 10])
    assert decided(6, ten) == [None, True]
    assert decided(5, ten) == [None, False]
    # As early as the first in five draws and later in six: 3 of these are half.
    six = np.vstack([days(100.0), [100.0] * 5 + [110.0] * 6])
    last_three = np.vstack([np.zeros(11, bool), np.arange(11) >= 8])
    assert by_days.nights_make_later(six, last_three) == [None, True]
    # Nights that decide in draws in which it is not later do not count.
    two = np.vstack([days(100.0), [90.0] * 5 + [110.0] * 6])
    assert decided(5, two) == [None, None]  # which ties with the first
    assert decided(11, late - [[0.0], [9.0]]) == [None, None]


# ------------------------------------------------------------------ by night
@pytest.mark.parametrize(
    ("offset_c", "sun", "places"),
    [
        # Half a degree warmer comes first, whatever its light.
        ([0.0, -0.5], [10.0, 20.0], [1, 2]),
        # Shown alike (0.2 and -0.2 are 0): then light.
        ([0.2, -0.2], [10.0, 20.0], [2, 1]),
        # 19 is just a twentieth less than 20, and no less than that.
        ([0.0, 0.0], [20.0, 19.0], [1, 1]),
        ([0.0, 0.0], [20.0, 18.9], [1, 2]),
        # 20 leads 19 and 19.5; 18.9 is the fourth and leads 18; 17.9 is the sixth.
        ([0.0] * 6, [20.0, 19.5, 19.0, 18.9, 18.0, 17.9], [1, 1, 1, 4, 4, 6]),
        # The leader of a place counts for its light: 19 x .95 is 18.05.
        ([0.0, 0.0, 0.0], [20.0, 19.0, 18.5], [1, 1, 3]),
        # Colder beds with more light begin their own place.
        ([0.0, -0.5, -0.5, -1.0], [10.0, 30.0, 29.0, 30.0], [1, 2, 2, 4]),
    ],
    ids=str,
)
def test_the_warmer_bed_comes_first_and_among_alike_ones_the_brighter(
    offset_c, sun, places
):
    steps = by_night.steps_c(np.array(offset_c))
    assert by_night.ranks(steps, np.array(sun)).tolist() == places


def test_with_negative_light_the_darkest_come_first_and_tie_by_the_same_twentieth():
    # 15 leads to 15.75.
    light = -np.array([20.0, 15.0, 15.75, 15.76])
    assert by_night.ranks(np.zeros(4), light).tolist() == [4, 1, 1, 3]


@pytest.mark.parametrize(
    ("steps", "sun", "groups"),
    [
        ([0.0], [10.0], [SAME]),
        ([0.0, 0.0], [10.0, 9.6], [SAME, SAME]),
        ([0.0, -0.5], [10.0, 10.0], [FIRST, LAST]),
        # The worst is the darkest of the coldest: 9.5 is a twentieth under 10.
        ([0.0, -0.5, -0.5], [10.0, 9.5, 10.0], [FIRST, LAST, LAST]),
        ([0.0, -0.5, -0.5], [10.0, 9.4, 10.0], [FIRST, LAST, BETWEEN]),
        # As dark as the worst, and warmer.
        ([0.0, -0.5, -1.0], [9.4, 9.4, 9.4], [FIRST, BETWEEN, LAST]),
        ([0.0, 0.0, 0.0], [20.0, 19.2, 18.5], [FIRST, SAME, LAST]),
    ],
    ids=str,
)
def test_groups_without_dates_are_the_best_and_the_worst_of_a_night(steps, sun, groups):
    assert by_night.groups(np.array(steps), np.array(sun)) == groups
