"""Days under ten hours: when they begin and end at a place, and sun in them."""

import pytest

from fieldmap.decide.daylight import ShortDays, short_days


def test_at_42_and_a_half_degrees_they_begin_and_end_as_geometry_has_it():
    """By the sun's centre, Cooper's declination: lost on day 306, back on day 38.

    That of FAO-56, equation 24, is a day apart at most.
    """
    found = short_days(42.5)
    assert found.first in {(11, 2), (11, 3)}
    assert found.last in {(2, 6), (2, 7)}


def test_in_the_south_they_lie_half_a_year_on():
    found = short_days(-42.5)
    assert found.first[0] == 5
    assert found.last[0] == 8


@pytest.mark.parametrize("latitude_deg", [0.0, 30.0, -25.0])
def test_where_days_stay_longer_there_are_none(latitude_deg):
    assert short_days(latitude_deg) is None


def test_the_nearer_the_pole_the_more_of_them():
    lengths = []
    for latitude_deg in (40.0, 50.0, 60.0, 69.0):
        first, last = short_days(latitude_deg)
        lengths.append((first, last))
    assert [first for first, _ in lengths] == sorted(
        (f for f, _ in lengths), reverse=True
    )
    assert [last for _, last in lengths] == sorted(last for _, last in lengths)


def test_hours_of_sun_are_the_mean_over_these_days_by_month():
    """Ten days of January at 2 h and ten of February at 4: 3 h."""
    months = [2.0, 4.0, *10 * [9.0]]
    assert ShortDays((1, 22), (2, 10)).mean_hours(months) == 3.0
    # Over New Year: 31 days of December at 9 h and as many of January at 2.
    assert ShortDays((12, 1), (1, 31)).mean_hours(months) == 5.5
