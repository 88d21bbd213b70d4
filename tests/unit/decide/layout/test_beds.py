"""Beds are counted by hand on rectangles and hold their distances on any outline."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up import beds_in
from shapely import affinity
from shapely.geometry import Polygon, box

from fieldmap.decide.layout import beds

CLOSE = {"setback_m": 0.0, "headland_m": 0.0}


def test_thirty_metres_hold_25_beds_of_75_cm_with_paths_of_45_cm():
    # floor((30 + 0.45) / (0.75 + 0.45)) = 25, the last path not needed.
    found = beds_in(box(0, 0, 40, 30), **CLOSE, bearing_deg=90.0)
    assert len(found) == 25
    assert all(bed.length_m == pytest.approx(40, abs=1e-6) for bed in found)
    assert sum(bed.area_m2 for bed in found) == pytest.approx(25 * 40 * 0.75, abs=1e-6)
    # The beds of the first tried start leave the least over, so both edges are met.
    norths = sorted(bed.outline.bounds[1] for bed in found)
    np.testing.assert_allclose(np.diff(norths), 1.2, atol=1e-9)


def test_bed_1_is_the_northernmost_of_beds_that_run_east():
    found = beds_in(box(0, 0, 40, 30), **CLOSE, bearing_deg=90.0)
    assert [bed.name for bed in found[:2]] == ["A1", "A2"]
    assert found[0].outline.centroid.y > found[1].outline.centroid.y


def test_beds_run_along_the_long_side_when_no_bearing_is_chosen():
    outline = affinity.rotate(box(0, 0, 40, 10), -30, origin=(0, 0))
    found = beds_in(outline)
    # The long side pointed east; turned clockwise by 30° it bears 120°.
    assert {round(bed.bearing_deg, 3) for bed in found} == {120.0}


def test_a_chosen_bearing_is_from_true_north():
    found = beds_in(box(0, 0, 40, 30), bearing_deg=90.0, turn_deg=2.0)
    corners = shapely.get_coordinates(found[0].outline)
    sides = np.diff(corners, axis=0)
    east, north = sides[np.argmax(np.hypot(*sides.T))]
    assert np.degrees(np.arctan2(east, north)) % 180 == pytest.approx(88.0)
    assert found[0].bearing_deg == pytest.approx(90.0)


def test_a_shed_in_the_middle_splits_the_beds_it_touches():
    shed = box(18, 10, 22, 14)
    found = beds_in(box(0, 0, 40, 30), [shed], **CLOSE, bearing_deg=90.0)
    assert not any(bed.outline.intersection(shed).area > 1e-6 for bed in found)
    assert {round(bed.length_m, 6) for bed in found} == {18.0, 40.0}


def test_a_setback_that_leaves_nothing_leaves_no_bed():
    assert beds_in(box(0, 0, 3, 3), setback_m=2.0) == []


# Outlines as people walk them: a ring of corners around a middle, perhaps with a hole.
corner_distances = st.lists(st.floats(15, 45), min_size=4, max_size=9)


@settings(max_examples=40, deadline=None)
@given(
    distances=corner_distances,
    hole_m=st.sampled_from([0.0, 4.0]),
    bearing_deg=st.floats(0, 179.9),
    path_width_m=st.floats(0.3, 1.0),
)
def test_no_bed_leaves_its_ground_and_no_path_is_narrower_than_asked(
    distances, hole_m, bearing_deg, path_width_m
):
    angles = np.linspace(0, 2 * np.pi, len(distances), endpoint=False)
    ring = np.stack([np.cos(angles), np.sin(angles)], 1) * np.array(distances)[:, None]
    hole = box(-hole_m, -hole_m, hole_m, hole_m).exterior.coords if hole_m else None
    outline = Polygon(ring, [hole] if hole else [])
    choices = {"setback_m": 1.0, "path_width_m": path_width_m}
    found = beds_in(outline, bearing_deg=bearing_deg, **choices)
    inner = outline.buffer(-1.0, join_style="mitre")
    for bed in found:
        assert bed.outline.difference(inner).area < 0.01
        assert bed.outline.area == pytest.approx(bed.area_m2, abs=1e-6)
        assert bed.length_m >= 4.0 - 1e-9
    tree = shapely.STRtree([bed.outline for bed in found])
    for index, bed in enumerate(found):
        near = tree.query(bed.outline, "dwithin", path_width_m - 1e-6)
        assert set(near) == {index}


@settings(max_examples=20, deadline=None)
@given(turn_deg=st.floats(0, 360))
def test_a_turned_plot_gets_turned_beds(turn_deg):
    outline = Polygon([(0, 0), (50, 4), (55, 25), (20, 40), (-5, 20)])
    plain = beds_in(outline, bearing_deg=40.0)
    turned_outline = affinity.rotate(outline, -turn_deg, origin=(0, 0))
    turned = beds_in(turned_outline, bearing_deg=(40.0 + turn_deg) % 180.0)
    assert len(turned) == len(plain)
    assert sum(b.area_m2 for b in turned) == pytest.approx(
        sum(b.area_m2 for b in plain), abs=1e-6
    )


def test_points_in_a_bed_lie_inside_and_are_close_enough():
    bed = beds_in(affinity.rotate(box(0, 0, 40, 10), 33))[0]
    points = beds.points_in(bed, 0.5)
    assert shapely.contains_xy(bed.outline, *points.T).all()
    nearest = shapely.STRtree(shapely.points(points))
    _, distance = nearest.query_nearest(
        shapely.points(points), exclusive=True, return_distance=True, all_matches=False
    )
    assert distance.max() <= 0.5
    np.testing.assert_allclose(points.mean(0), bed.outline.centroid.coords[0])
