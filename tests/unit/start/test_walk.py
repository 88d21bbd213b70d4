"""A noisy walk becomes a clean outline, and its area is as sure as is said."""

import itertools

import numpy as np
import pytest
from made_up_walks import walk
from shapely.geometry import Point, Polygon

from fieldmap.read.start.outline.area_error import area_sd_m2
from fieldmap.read.start.outline.sort import GIVE_OR_TAKE_SDS
from fieldmap.read.start.outline.walk import clean, mended

FIELD = [(0, 0), (90, 0), (90, 80), (0, 80)]


def test_95_of_100_walks_hold_the_true_area_within_what_is_said():
    """3 m that last 40 s, a place a second, pauses, the gate and back, past the start."""
    held = 0
    for seed in range(100):
        found = clean(*walk(FIELD, seed), 3.0)
        assert found.outline.is_valid
        held += abs(found.outline.area - 7200.0) <= GIVE_OR_TAKE_SDS * found.area_sd_m2
    assert held >= 95


@pytest.mark.parametrize("lasting_s", [5.0, 150.0])
def test_what_is_said_holds_however_long_errors_last(lasting_s):
    found = [clean(*walk(FIELD, seed, lasting_s=lasting_s), 3.0) for seed in range(40)]
    held = [
        abs(each.outline.area - 7200.0) <= GIVE_OR_TAKE_SDS * each.area_sd_m2
        for each in found
    ]
    assert sum(held) >= 37  # of 40: under 5 in 100 of sets fall lower at 95 of 100


@pytest.mark.parametrize("every_s", [5, 10])
def test_what_is_said_holds_of_phones_that_keep_few_places(every_s):
    held = 0
    for seed in range(40):
        places, seconds = walk(FIELD, seed)
        found = clean(places[::every_s], seconds[::every_s], 3.0)
        held += abs(found.outline.area - 7200.0) <= GIVE_OR_TAKE_SDS * found.area_sd_m2
    assert held >= 37  # of 40, as above


def test_a_true_walk_is_the_field_without_the_way_to_the_gate():
    """Off by corners cut at 4 places, each a triangle of some 3 m: 4 · 9/2 = 18 m²."""
    places, seconds = walk(FIELD, 0, error_m=1e-6)
    found = clean(places, seconds, 1.0)
    assert found.outline.area == pytest.approx(7200.0, abs=30.0)
    assert not found.outline.buffer(1).contains(Point(111, 101))
    assert found.outline.hausdorff_distance(Polygon(FIELD)) < 4.0
    assert found.taken_out_m == pytest.approx(60 + 12, abs=20)


def test_the_way_round_does_not_matter():
    places, seconds = walk(FIELD, 3)
    other = clean(places[::-1].copy(), seconds[-1] - seconds[::-1], 3.0)
    assert other.outline.area == pytest.approx(
        clean(places, seconds, 3.0).outline.area, rel=0.03
    )


def test_a_walk_along_a_line_goes_around_nothing():
    there = np.column_stack([np.arange(100.0), np.zeros(100)])
    assert clean(np.vstack([there, there[::-1]]), None, 3.0) is None


def test_two_places_go_around_nothing():
    assert clean(np.array([[0.0, 0.0], [5.0, 5.0]]), None, 3.0) is None


def test_a_figure_of_eight_is_its_larger_side_and_says_where_it_crosses():
    """Two triangles that meet at (0, 0): 10 · 20 / 2 = 100 and 4 · 8 / 2 = 16 m²."""
    ring = np.array([[-4.0, -4.0], [-4.0, 4.0], [10.0, -10.0], [10.0, 10.0]])
    area, crossings, left_m2 = mended(ring)
    assert area.area == pytest.approx(100.0)
    assert left_m2 == pytest.approx(16.0)
    assert crossings == (pytest.approx((0.0, 0.0), abs=1e-9),)


def test_the_error_of_an_area_is_that_of_trials():
    """A ring of 100 by 80 m at 1 m steps and seconds: errors of 2 m that last 20 s.

    The stated error is the largest over all lasting times, so no less than that of
    20 s: 400 drawn rings must not scatter more than it, but for chance (4 %, and 3 of
    those).
    """
    corners = np.array([[0, 0], [100, 0], [100, 80], [0, 80], [0, 0]], float)
    line = [
        one + (other - one) * at
        for one, other in itertools.pairwise(corners)
        for at in np.arange(0, 1, 1 / np.hypot(*(other - one)))
    ]
    ring, seconds = np.array(line), np.arange(len(line), dtype=float)
    rng = np.random.default_rng(0)
    root = np.linalg.cholesky(
        np.exp(-np.abs(seconds[:, None] - seconds) / 20.0) + 1e-9 * np.eye(len(ring))
    )
    areas = [
        Polygon(ring + 2.0 * root @ rng.normal(size=ring.shape)).area
        for _ in range(400)
    ]
    said = area_sd_m2(ring, seconds, 2.0)
    assert np.std(areas) < said * 1.12
    assert said < 2 * np.std(areas)


def test_one_error_for_the_whole_walk_moves_no_area():
    """The sum of all pulls of a closed ring is nil, so a shift adds nothing."""
    ring = np.array([[0.0, 0.0], [50.0, 0.0], [50.0, 40.0], [0.0, 40.0]])
    at_once = area_sd_m2(ring, np.zeros(4), 3.0)
    assert at_once == pytest.approx(0.0, abs=1e-6)


def test_twice_the_error_is_twice_the_doubt():
    places, seconds = walk(FIELD, 0)
    assert area_sd_m2(places, seconds, 6.0) == pytest.approx(
        2 * area_sd_m2(places, seconds, 3.0)
    )
