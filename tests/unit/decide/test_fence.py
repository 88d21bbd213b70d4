"""A deer fence counted by hand: a metre beyond the outline, posts every 5 m at most."""

import geopandas as gpd
import pytest
import shapely

from fieldmap.decide.materials.fence import fences

NOTHING = gpd.GeoDataFrame({"kind": []}, geometry=[])


def around(*gates):
    return gpd.GeoDataFrame({"kind": ["gate"] * len(gates)}, geometry=list(gates))


def test_a_rectangle():
    # Wire of 50 by 30 m: 160 m; four corners. On each of four stretches of 40 m on the
    # mean 8 gaps of 5 m, so 7 posts between corners: 28, one of which the gate replaces.
    # Posts: 4 corners, 27, and 2 of the gate.
    (fence,) = fences([("Home", shapely.box(0, 0, 48, 28))], NOTHING)
    assert fence.length_m == pytest.approx(160)
    assert (fence.corner_posts, fence.line_posts, fence.gates) == (4, 27, 1)
    assert fence.posts == 33


def test_corners_that_only_bend_are_no_corners():
    bent = shapely.Polygon([(0, 0), (24, -1), (48, 0), (48, 28), (0, 28)])  # 2 x 2.4°
    (fence,) = fences([("Home", bent)], NOTHING)
    assert fence.corner_posts == 4


def test_gates_count_for_the_plot_they_stand_at():
    plots = [
        ("West", shapely.box(0, 0, 48, 28)),
        ("East", shapely.box(100, 0, 148, 28)),
    ]
    gates = around(shapely.Point(-1, 10), shapely.Point(20, 30), shapely.Point(75, 10))
    west, east = fences(plots, gates)
    assert (west.gates, east.gates) == (2, 1)
    assert west.line_posts == 26


def test_a_hole_in_a_plot_is_not_fenced():
    ring = shapely.box(0, 0, 48, 28).difference(shapely.box(10, 10, 20, 20))
    (fence,) = fences([("Home", ring)], NOTHING)
    assert fence.length_m == pytest.approx(160)
