"""Readings and thermometers that cannot be right, by hand."""

import numpy as np
import pytest

from layers import suspects

NIGHTS_C = np.array([-3.0, 0.0, 2.0, -1.0, 4.0, 1.0])


def follows(over_c, station_c=NIGHTS_C):
    """A thermometer that runs as far over the station every night."""
    return np.asarray(station_c) + np.asarray(over_c)


def test_a_reading_far_from_its_others_strays_and_a_cold_night_does_not():
    # Differences -1, -1, -1, -1, -1 and x: the median is -1 and the limit 4 °C.
    for x, is_stray in ((-4.9, False), (-5.1, True), (2.9, False), (3.1, True)):
        low = follows([-1, -1, -1, -1, -1, x])[:, None]
        found = suspects.stray_readings(low, NIGHTS_C)
        assert found[:5].any() == False  # noqa: E712
        assert bool(found[5, 0]) == is_stray
    # Where nights scatter much, five robust deviations: 5 · 1.4826 · 1 = 7.4 °C.
    spread = follows([-1.0, 1.0, -1.0, 1.0, 0.0, 7.0])[:, None]
    assert not suspects.stray_readings(spread, NIGHTS_C).any()
    missing = np.array([[np.nan], [0.0], [np.nan], [0.0], [0.0], [-40.0]])
    assert suspects.stray_readings(missing, np.zeros(6)).ravel().tolist() == [
        *[False] * 5,
        True,
    ]


@pytest.mark.parametrize(
    ("low_c", "is_stuck"),
    [
        (follows(-2.0), False),
        (np.full(6, 1.0), True),
        ([1.0, 1.0, 1.0, 0.0, 3.0, 2.0], True),  # three of six are one number
        ([1.0, 1.0, -2.0, 0.0, 3.0, 2.0], False),
        (1.0 + 0.2 * NIGHTS_C, True),  # moves by a fifth of the station
        (1.0 + 0.3 * NIGHTS_C, False),
        ([1.0, 1.0, 1.0, 1.0, np.nan, np.nan], False),  # four nights tell nothing
    ],
)
def test_a_stuck_thermometer_does_not_follow_the_nights(low_c, is_stuck):
    found = suspects.stuck(np.asarray(low_c, float)[:, None], NIGHTS_C)
    assert found.tolist() == [is_stuck]


def test_one_odd_night_among_like_ones_says_nothing_of_how_a_thermometer_moves():
    # 0, 0, 0, 0 and 5 °C: quartiles 0 and 0, yet a standard deviation of 2 °C.
    station_c = np.array([0.0, 0.0, 0.0, 0.0, 5.0])
    lively_c, dead_c = [0.0, 1.0, 2.0, 3.0, 4.0], [1.0, 1.0, 1.0, 2.0, 3.0]
    found = suspects.stuck(np.transpose([lively_c, dead_c]), station_c)
    assert found.tolist() == [False, True]


def test_nights_that_are_all_alike_leave_no_thermometer_stuck():
    assert not suspects.stuck(np.zeros((9, 1)), np.zeros(9)).any()


@pytest.mark.parametrize(
    ("mean_c", "coldness_c", "off"),
    [
        # On the line of the ground, and one 5 °C warm; that at 2.4 °C may be a place.
        ([0, -1, -2, 2], [0, 1, 2, 3], [0, 0, 0, 1]),
        ([0, -1, -2, -0.6], [0, 1, 2, 3], [0, 0, 0, 0]),
        ([0, -1, -2, -8], [0, 1, 2, 3], [0, 0, 0, 1]),
        # Twice as far apart as the ground says is no outlier.
        ([0, -2, -4, -6], [0, 1, 2, 3], [0, 0, 0, 0]),
        # Two 6 °C apart on alike ground are as far from a third between them, whatever
        # the factor; at that of the ground it lies 2.4 and 3.6 °C from them.
        ([0, 6, 1.4], [0, 0, 1], [0, 1, 0]),
        # Two and two: nothing says which are right.
        ([0, 0, 9, 9], [0, 0, 0, 0], [1, 1, 1, 1]),
        ([0, 3.1], [0, 0], [1, 1]),
        ([0, 2.9], [0, 0], [0, 0]),
        ([0, 2.9], [0, 0.2], [1, 1]),  # and colder ground makes it 3.1
        ([9], [0], [0]),
        ([], [], []),
    ],
)
def test_an_outlier_reads_as_no_other_says(mean_c, coldness_c, off):
    found = suspects.outliers(np.array(mean_c, float), np.array(coldness_c, float))
    assert found.tolist() == [bool(each) for each in off]
