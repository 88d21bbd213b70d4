"""Steps of half a degree, by hand: halves of a step go away from zero."""

import math

import pytest

from fieldmap.model.estimate import Estimate, rounded_c


@pytest.mark.parametrize(
    ("offset_c", "shown"),
    [
        # A step is 0.5 °C, so 0.25, 0.75 and 1.25 are halves of a step.
        (0.0, 0.0),
        (0.24, 0.0),
        (0.25, 0.5),
        (0.74, 0.5),
        (0.75, 1.0),
        (1.24, 1.0),
        (1.25, 1.5),
        (4.0, 4.0),
        (-0.24, 0.0),
        (-0.25, -0.5),
        (-0.75, -1.0),
        (-1.24, -1.0),
        (-3.76, -4.0),
    ],
)
def test_an_offset_is_shown_in_half_degrees_alike_on_both_sides_of_zero(
    offset_c, shown
):
    assert rounded_c(offset_c) == shown


def test_a_little_colder_than_alike_is_no_minus_nothing():
    assert math.copysign(1.0, rounded_c(-0.1)) == 1.0


def test_an_estimate_keeps_its_order_on_another_scale():
    # °C to °F: times 1.8, and 32 more.
    celsius = Estimate(-10.0, 0.0, 5.0)
    assert celsius.map(lambda c: c * 1.8 + 32) == (14.0, 32.0, 41.0)
