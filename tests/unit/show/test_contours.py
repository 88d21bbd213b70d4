"""Contours against planes, whose lines of equal height are known in closed form."""

import numpy as np
import pytest
from made_up import NORTH, WEST, plane, raster

from fieldmap.show.contours import contours, step_m


def test_contours_of_a_plane_run_straight_across_the_fall():
    """Ground of 100 m at the north edge that rises 1 m in 20 m to the east."""
    found = list(contours(plane(rows=50, cols=100, east=0.05), 1.0))
    # Cells are centred half a metre off: heights are 100 + 0.05 (e - WEST - 0.5).
    assert [each.height_m for each in found] == [101.0, 102.0, 103.0, 104.0]
    for each in found:
        east, north = np.array(each.line.coords).T
        assert east == pytest.approx(WEST + 0.5 + 20 * (each.height_m - 100))
        assert north.min() == pytest.approx(NORTH - 49.5)
        assert north.max() == pytest.approx(NORTH - 0.5)


def test_a_cone_has_circles():
    """A cone of 1 in 10: the line 2 m under its top has a radius of 20 m."""
    y, x = np.mgrid[0:101, 0:101] - 50.0
    found = list(contours(raster(50 - np.hypot(x, y) / 10), 1.0))
    ring = next(each.line for each in found if each.height_m == 48.0)
    assert ring.is_closed
    assert ring.length == pytest.approx(2 * np.pi * 20, rel=0.005)


def test_no_line_crosses_missing_cells():
    heights = plane(rows=50, cols=100, east=0.05)
    heights.values[20:30] = np.nan
    missing_north, missing_south = NORTH - 20, NORTH - 30
    for each in contours(heights, 1.0):
        north = np.array(each.line.coords)[:, 1]
        assert (north > missing_north).all() or (north < missing_south).all()


def test_level_and_missing_ground_has_none():
    assert list(contours(plane(10, 10), 1.0)) == []
    assert list(contours(raster(np.full((5, 5), np.nan)), 1.0)) == []


def test_steps_are_round():
    assert step_m(100.0, 112.0) == 1.0
    assert step_m(100.0, 112.5) == 2.0
