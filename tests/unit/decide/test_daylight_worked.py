"""Light of a day by hand: enough for tomatoes, the sunnier half, and half hours."""

import pytest

from fieldmap.decide import daylight


@pytest.mark.parametrize(
    ("mol", "band", "enough"),
    [
        # 20 mol are wanted; with a tenth either way 22.3 is surely over, 18.2 may be.
        (25.0, 0.2, "yes"),  # 25 x .8 is just 20
        (24.9, 0.2, "just"),
        (16.0, 0.25, "just"),  # 16 x 1.25 is just 20
        (15.9, 0.25, "no"),
        (20.0, 0.0, "yes"),
        (19.9, 0.0, "no"),
    ],
)
def test_light_is_enough_for_tomatoes_for_sure_or_just(mol, band, enough):
    assert daylight.enough_for_tomatoes(mol, band) == enough


@pytest.mark.parametrize(
    ("morning", "half"),
    [
        (0.61, 1),
        (0.6, 0),
        (0.5, 0),
        (0.41, 0),
        (0.4, 0),
        (0.39, -1),
        (1.0, 1),
        (0.0, -1),
    ],
)
def test_the_sunnier_half_of_a_day_has_more_than_six_tenths(morning, half):
    assert daylight.sunnier_half(morning) == half


@pytest.mark.parametrize(
    ("hours", "shown"), [(8.2, 8.0), (8.3, 8.5), (8.7, 8.5), (8.8, 9.0), (0.1, 0.0)]
)
def test_hours_of_sun_are_shown_in_halves(hours, shown):
    assert daylight.half_hours(hours) == shown
