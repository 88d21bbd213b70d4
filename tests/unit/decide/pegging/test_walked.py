"""Walked outlines and taped lengths: stretches that are known, by hand."""

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon, box

from fieldmap.decide.pegging import walked
from fieldmap.decide.pegging.walked import correction, correction_of

THREE_FOUR_FIVE = np.array([[4.0, 0.0], [0.0, 3.0], [4.0, -3.0]])


def test_lengths_a_tenth_longer_make_it_a_tenth_larger():
    found = correction(THREE_FOUR_FIVE, np.array([4.4, 3.3, 5.5]))
    assert found.matrix == pytest.approx(1.1 * np.eye(2))
    assert found.stretch == pytest.approx((1.1, 1.1))
    assert found.worst_m == pytest.approx(0.0, abs=1e-9)


def test_under_a_hand_of_difference_an_even_stretch_is_enough():
    """Σ l d / Σ d² = (16.4 + 9 + 25) / 50 = 1.008; then 4.1 is 0.068 off, 5 0.04."""
    found = correction(THREE_FOUR_FIVE, np.array([4.1, 3.0, 5.0]))
    assert found.matrix == pytest.approx(1.008 * np.eye(2))
    assert found.worst_m == pytest.approx(0.068)


def test_three_lengths_stretch_each_way_by_its_own():
    """Wider by a fifth, as long as before: sides 4.8 and 3, so √(23.04 + 9) = 5.660."""
    found = correction(THREE_FOUR_FIVE, np.array([4.8, 3.0, np.sqrt(32.04)]))
    assert found.matrix == pytest.approx(np.diag([1.2, 1.0]))
    assert found.stretch == pytest.approx((1.0, 1.2))


def test_a_stretch_askew_to_the_map_is_found():
    """A tenth along the diagonal, none across: 20 m east become 21 east and 1 north.

    That is √442 m, as are 20 m north; 20 m of both become 22 of both.
    """
    ways = np.array([(20.0, 0.0), (0.0, 20.0), (20.0, 20.0)])
    taped_m = np.array([np.sqrt(442), np.sqrt(442), np.sqrt(968)])
    found = walked.correction(ways, taped_m)
    assert found.matrix == pytest.approx(np.array([[1.05, 0.05], [0.05, 1.05]]))
    assert found.worst_m == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    "taped_m",
    [
        (6.0, 4.5, 7.5),  # half as large again
        (4.0, 3.0, 8.0),  # longer than both sides together
        (4.0, 3.0, 0.9),  # shorter than their difference
    ],
)
def test_lengths_that_no_phone_explains_are_none(taped_m):
    assert correction(THREE_FOUR_FIVE, np.array(taped_m)) is None


def test_an_outline_gets_its_taped_lengths_and_keeps_its_middle():
    """A field of 20 by 28 m, walked 1 m too wide; a slope adds 1 in 200 to each tape."""
    outline = box(0, 0, 21, 28)
    pairs = walked.wanted("Home", outline, 40.0)
    true = {"south": 20.0, "side": 28.0, "diagonal": np.hypot(20, 28)}
    taped = {}
    places = walked.names("Home", outline)
    for pair in pairs:
        east, north = np.abs(np.subtract(places[pair.first], places[pair.second]))
        way = "south" if north == 0 else "side" if east == 0 else "diagonal"
        taped[frozenset(pair)] = true[way] * 1.005
    found = correction_of("Home", outline, pairs, taped, lambda a, b: 1 / 1.005)
    mended = found.of(outline)
    west, south, east, north = mended.bounds
    assert (east - west, north - south) == pytest.approx((20.0, 28.0), abs=1e-6)
    assert shapely.distance(mended.centroid, outline.centroid) < 1e-9


def lengths_m(outline, tape_m):
    names = walked.names("Home", outline)
    return sorted(
        float(np.hypot(*np.subtract(names[pair.first], names[pair.second])))
        for pair in walked.wanted("Home", outline, tape_m)
    )


def test_the_largest_three_corners_within_four_tapes_are_asked_for():
    """Of a square of 20 m any three: 20, 20 and 28.3.

    Of a field of 100 m by 30 with a corner at 20 m along its side, with a tape of 30 m the
    long sides: 100, 30 and their diagonal. With one of 10 m, 40 m in all, the end alone.
    """
    diagonal_m = np.sqrt(800)
    assert lengths_m(box(0, 0, 20, 20), 30.0) == pytest.approx([20, 20, diagonal_m])
    long = Polygon([(0, 0), (100, 0), (100, 30), (20, 30), (20, 20), (0, 20)])
    assert lengths_m(long, 30.0) == pytest.approx([30, 100, np.hypot(100, 30)])
    assert lengths_m(long, 10.0) == pytest.approx([20, 20, diagonal_m])


def test_a_length_never_leaves_the_plot():
    """An L: its two far ends are not asked for."""
    outline = Polygon([(0, 0), (30, 0), (30, 10), (10, 10), (10, 30), (0, 30)])
    names = walked.names("Home", outline)
    for pair in walked.wanted("Home", outline, 40.0):
        line = shapely.LineString([names[pair.first], names[pair.second]])
        assert outline.buffer(0.06).covers(line)
