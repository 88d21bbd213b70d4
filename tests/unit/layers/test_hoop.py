"""Hoops: arc lengths by closed forms and by adding up chords, counts, wind."""

import math

import hypothesis
import hypothesis.strategies as st
import numpy as np
import pytest

from layers import hoop

CURVES = ["half ellipse", "circular arc", "catenary"]
WIDTHS, HEIGHTS = st.floats(0.5, 12), st.floats(0.1, 6)
# Width, height [m] and lengths in the order of CURVES, from another program (Ramanujan
# 1914 for the ellipse, arcsine for the arc, a root for the catenary).
LENGTHS = {
    (1.0, 0.5): (1.57080, 1.57080, 1.49583),
    (1.2, 0.5): (1.73145, 1.69516, 1.64216),
    (1.5, 0.75): (2.35619, 2.35619, 2.24375),
    (2.0, 1.0): (3.14159, 3.14159, 2.99167),
    (4.5, 2.2): (6.99026, 6.96922, 6.65253),
    (7.3, 3.0): (10.47076, 10.23804, 9.92876),
    (9.0, 3.6): (12.76275, 12.44897, 12.09770),
}


@pytest.mark.parametrize("size", LENGTHS, ids=str)
def test_lengths_are_those_of_another_program(size):
    found = [hoop.arc_m(curve, *size) for curve in CURVES]
    assert found == pytest.approx(LENGTHS[size], abs=2e-5)


@hypothesis.given(WIDTHS, HEIGHTS)
def test_a_half_ellipse_is_as_long_as_its_chords(width, height):
    angle = np.linspace(0, np.pi, 20_001)
    x, z = width / 2 * np.cos(angle), height * np.sin(angle)
    chords = np.hypot(np.diff(x), np.diff(z)).sum()
    assert hoop.arc_m("half ellipse", width, height) == pytest.approx(chords, rel=1e-6)


def test_an_arc_over_half_a_circle_has_the_rest_of_the_circle():
    # Radius 1, the ground 0.5 below its centre: all but a sector of 120 degrees.
    length = hoop.arc_m("circular arc", math.sqrt(3), 1.5)
    assert length == pytest.approx(2 * math.pi * 2 / 3)


@hypothesis.given(st.floats(0.2, 3), st.floats(0.2, 3))
def test_a_catenary_has_its_textbook_length(parameter, half_width):
    # Height a (cosh(w/2a) - 1), length 2a sinh(w/2a).
    height = parameter * (math.cosh(half_width / parameter) - 1)
    hypothesis.assume(0.02 < height < 50)
    expected = 2 * parameter * math.sinh(half_width / parameter)
    found = hoop.arc_m("catenary", 2 * half_width, height)
    assert found == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("curve", CURVES)
@hypothesis.given(width=WIDTHS, height=HEIGHTS)
def test_height_is_found_again_from_pipe_and_width(curve, width, height):
    length = hoop.arc_m(curve, width, height)
    assert hoop.height_m(curve, length, width) == pytest.approx(height, abs=1e-5)


def test_published_low_tunnels_come_out_as_high_as_they_were():
    # Sideman 2014, University of New Hampshire: 10 ft bows, 6 in in the ground on each
    # side, give tunnels 3-5 ft tall and 3.5-6 ft wide.
    foot = 0.3048
    for width_ft in (3.5, 5.0):
        for curve in ("half ellipse", "circular arc"):
            assert 3 <= hoop.height_m(curve, 9 * foot, width_ft * foot) / foot <= 5


def test_hoops_stand_at_both_ends_and_no_farther_apart_than_asked():
    assert hoop.hoop_count(30.0, 1.5) == 21
    assert hoop.hoop_count(31.0, 1.5) == 22
    assert hoop.hoop_count(2.1, 0.7) == 4  # 2.1 / 0.7 is a hair over 3


@pytest.mark.parametrize(("wind", "uplift"), [(15, 132), (20, 235), (25, 368)])
def test_uplift_on_a_low_tunnel_by_hand(wind, uplift):
    # 0.613 V² Pa, 1.2 m wide, coefficient 0.8.
    assert hoop.uplift_n_m(wind, 1.2) == pytest.approx(uplift, abs=1)


def test_bags_let_go_at_the_wind_their_spacing_was_chosen_for():
    # 0.6 x 98 N against half of 132 N/m: 0.9 m.
    spacing = hoop.bag_spacing_m(15.0, 1.2, 10.0)
    assert spacing == pytest.approx(0.89, abs=0.01)
    assert hoop.letting_go_m_s(spacing, 1.2, 10.0) == pytest.approx(15.0)


def test_without_wind_no_bag_is_needed():
    assert hoop.bag_spacing_m(0.0, 1.2, 10.0) == math.inf


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: hoop.arc_m("half ellipse", 0.0, 1.0), "width_m must be"),
        (lambda: hoop.arc_m("catenary", 1.0, math.nan), "height_m must be"),
        (lambda: hoop.arc_m("parabola", 1.0, 1.0), "curve must be one of"),
        (lambda: hoop.height_m("catenary", 1.0, 1.0), "must be longer"),
        (lambda: hoop.hoop_count(10.0, -1.0), "spacing_m must be"),
        (lambda: hoop.uplift_n_m(math.nan, 1.0), "wind_m_s must be"),
        (lambda: hoop.bag_spacing_m(10.0, 1.0, 0.0), "bag_kg must be"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_cannot_be_is_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()
