"""A deer fence counted by hand: a metre beyond the outline, posts every 5 m at most."""

import math

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


def ring(corners, side_m):
    """A regular outline, far from where its coordinates begin."""
    radius_m = side_m / 2 / math.sin(math.pi / corners)
    turns = [2 * math.pi * number / corners for number in range(corners)]
    return shapely.Polygon(
        (100 + radius_m * math.cos(turn), 300 + radius_m * math.sin(turn))
        for turn in turns
    )


def test_six_corners_of_60_degrees():
    # A metre out each side is 2 tan 30° = 1.155 m longer: 21.155 m, 5 gaps, 4 posts; one
    # of 24 is where the gate is.
    (fence,) = fences([("Hive", ring(6, 20.0))], NOTHING)
    assert fence.length_m == pytest.approx(6 * 21.1547, abs=0.01)
    assert (fence.corner_posts, fence.line_posts) == (6, 23)


def test_a_round_plot_has_line_posts_all_the_way():
    # 24 bends of 15°, each side 4 + 2 tan 7.5° = 4.263 m: 102.3 m in 21 gaps have 21
    # posts, one of which the gate replaces.
    (fence,) = fences([("Pond", ring(24, 4.0))], NOTHING)
    assert (fence.corner_posts, fence.line_posts) == (0, 20)
    # 17 bends of 21° are 17 corners: 4 + 2 tan 10.6° = 4.37 m in one gap.
    (fence,) = fences([("Pond", ring(17, 4.0))], NOTHING)
    assert (fence.corner_posts, fence.line_posts) == (17, 0)


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
