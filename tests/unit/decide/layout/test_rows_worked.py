"""Rows of beds on ground measured along and up, counted on paper.

Beds 0.75 m wide with paths of 0.45 m: one each 1.2 m.
"""

import numpy as np
import pytest
import shapely
from shapely.geometry import box

from fieldmap.decide.layout import rows
from fieldmap.decide.layout.rows import Rows
from fieldmap.model.settings import Beds

PLAIN = {"headland_m": 0.0, "setback_m": 0.0}


def choices(**more):
    return Beds(**{**PLAIN, **more})


def laid(ground, **more):
    """Rows along the east on ground given in metres from the middle."""
    frame = rows.frame((0.0, 0.0), 90.0)
    return rows.lay(rows.edges(ground, frame), choices(**more))


# ------------------------------------------------------------------ along and up
@pytest.mark.parametrize(
    ("grid_deg", "along", "up"),
    [
        (0.0, (0, 1), (-1, 0)),
        (90.0, (1, 0), (0, 1)),
        # 3-4-5: sin = 0.6, cos = 0.8.
        (36.8698976, (0.6, 0.8), (-0.8, 0.6)),
    ],
)
def test_up_is_left_as_one_looks_along(grid_deg, along, up):
    frame = rows.frame((10.0, 20.0), grid_deg)
    assert frame.along == pytest.approx(along, abs=1e-8)
    assert frame.up == pytest.approx(up, abs=1e-8)
    # 2 m along and 3 m up from the middle.
    there = frame.to_ground(np.array([2.0]), np.array([3.0]))
    expected = np.array([10.0, 20.0]) + 2 * np.array(along) + 3 * np.array(up)
    assert there == pytest.approx(expected[np.newaxis], abs=1e-7)


def test_edges_of_all_rings_and_none_between_them():
    ground = box(0, 0, 10, 4).difference(box(4, 1, 6, 2))
    found = rows.edges(ground, rows.frame((5.0, 2.0), 90.0))
    assert found.shape == (8, 2, 2)
    # The outline is 28 m round, the hole 6 m.
    assert np.hypot(*(found[:, 1] - found[:, 0]).T).sum() == pytest.approx(34.0)
    assert found[..., 0].min() == -5.0
    assert found[..., 1].max() == pytest.approx(2.0)


# ------------------------------------------------------------------ strips
def test_three_beds_fill_3_15_m():
    """3 · 0.75 + 2 · 0.45 = 3.15 m."""
    found = laid(box(-15, -1.575, 15, 1.575))
    assert found.low == pytest.approx([-1.575, -0.375, 0.825])
    assert found.row.tolist() == [0, 1, 2]
    assert found.group.tolist() == [0, 0, 0]
    assert found.length_m == pytest.approx([30.0] * 3)


def test_what_is_left_over_lies_alike_on_both_sides():
    # 4 m less 3.15 m: 0.425 m on either side.
    found = laid(box(-15, -2, 15, 2))
    assert found.low == pytest.approx([-1.575, -0.375, 0.825])


@pytest.mark.parametrize(
    ("height_m", "beds"), [(0.74, 0), (0.75, 1), (1.94, 1), (1.95, 2)]
)
def test_a_bed_fits_or_it_does_not(height_m, beds):
    """0.75 m holds one, 0.75 + 0.45 + 0.75 = 1.95 m holds two."""
    assert len(laid(box(0, 0, 30, height_m)).low) == beds


def test_headlands_are_left_at_both_ends():
    found = laid(box(0, 0, 30, 0.75), headland_m=1.5)
    assert (found.start.tolist(), found.end.tolist()) == ([1.5], [28.5])


@pytest.mark.parametrize(("length_m", "beds"), [(7.0, 1), (6.99, 0)])
def test_a_bed_is_four_metres_long_or_none(length_m, beds):
    # 7 m less two headlands of 1.5 m are 4 m.
    assert len(laid(box(0, 0, length_m, 0.75), headland_m=1.5).low) == beds


def test_a_hole_cuts_the_strips_it_touches():
    """A shed from 10 to 12 m stands on the first of two beds."""
    ground = box(0, 0, 30, 1.95).difference(box(10, -1, 12, 0.5))
    found = laid(ground)
    assert found.row.tolist() == [0, 0, 1]
    assert found.start == pytest.approx([0.0, 12.0, 0.0])
    assert found.end == pytest.approx([10.0, 30.0, 30.0])


def test_no_ground_has_no_rows():
    assert len(laid(shapely.Polygon()).row) == 0


def test_the_start_that_plants_most_is_taken():
    """3 m high, but the lowest 0.6 m are only 5 m long.

    Two beds in the middle would lie from 0.525 m and be cut by the step; from 0.6 m up
    both are 30 m long, and 2.4 m hold just two (1.95 m).
    """
    ground = shapely.union_all([box(0, 0.6, 30, 3.0), box(0, 0, 5, 0.6)])
    found = laid(ground)
    assert found.length_m == pytest.approx([30.0, 30.0])
    assert found.low.min() >= 0.6 - 0.001


def test_after_so_many_beds_comes_a_drive_lane():
    """Two beds, a lane of 3 m, two beds: 0, 1.2, then 1.2 + 0.75 + 3 = 4.95, 6.15."""
    found = rows._offsets(5, choices(most_per_block=2))
    assert found == pytest.approx([0.0, 1.2, 4.95, 6.15, 9.9])
    assert rows._offsets(3, choices()) == pytest.approx([0.0, 1.2, 2.4])
    # 6.15 + 0.75 m.
    ground = box(0, 0, 30, 6.9)
    found = laid(ground, most_per_block=2)
    assert found.low == pytest.approx([0.0, 1.2, 4.95, 6.15])
    assert found.group.tolist() == [0, 0, 1, 1]


# ------------------------------------------------------------------ cut across
def test_a_lane_between_ends_is_as_wide_as_one_turns_in():
    assert rows.lane_across_m(choices(headland_m=1.5)) == 3.0
    assert rows.lane_across_m(choices(headland_m=4.0)) == 4.0


# Beds of 4 to 10 m, lanes of 3 m.
CUT = {"longest_m": 10.0, "shortest_m": 4.0}


@pytest.mark.parametrize(
    ("length_m", "count", "planted_m"),
    [
        (10.0, 1, 10.0),
        # Two of 4.5 m.
        (12.0, 2, 9.0),
        # Two of just 4 m.
        (11.0, 2, 8.0),
        # Two would be 3.75 m: one full bed instead, and half a metre is left.
        (10.5, 1, 10.0),
        # Two full ones; a decimetre more takes a second lane.
        (23.0, 2, 20.0),
        (23.1, 3, 17.1),
    ],
)
def test_lengths_are_cut_into_beds_that_are_alike(length_m, count, planted_m):
    here = np.array([length_m])
    assert rows.pieces(here, choices(**CUT)).tolist() == [count]
    assert rows.planted_m(here, choices(**CUT)) == pytest.approx([planted_m])
    # As it is then done on the ground.
    found, _ = rows.blocks(laid(box(0, 0, length_m, 0.75), **CUT), choices(**CUT))
    assert len(found.row) == count
    assert found.length_m.sum() == pytest.approx(planted_m)


@pytest.mark.parametrize(
    ("length_m", "count", "planted_m"),
    [
        # Three alike would be (14 - 6) / 3 = 2.67 m: 5, a lane of 3, and 5, 1 m left.
        (14.0, 2, 10.0),
        # 5, 3, 4; with 3.9 m left for it there is no second one.
        (12.0, 2, 9.0),
        (11.5, 2, 8.5),
        (11.0, 2, 8.0),
        (10.9, 1, 5.0),
    ],
)
def test_full_beds_and_a_rest_where_alike_ones_would_be_too_short(
    length_m, count, planted_m
):
    few = {"longest_m": 5.0, "shortest_m": 4.0}
    here = np.array([length_m])
    assert rows.pieces(here, choices(**few)).tolist() == [count]
    assert rows.planted_m(here, choices(**few)) == pytest.approx([planted_m])
    found, _ = rows.blocks(laid(box(0, 0, length_m, 0.75), **few), choices(**few))
    assert found.length_m.sum() == pytest.approx(planted_m)


def test_without_a_longest_bed_nothing_is_cut():
    here = np.array([4.0, 400.0])
    assert rows.pieces(here, choices()).tolist() == [1, 1]
    assert rows.planted_m(here, choices()).tolist() == [4.0, 400.0]


def test_one_straight_lane_cuts_all_rows_of_a_block():
    """Six rows of 23 m: beds from 0 to 10 and from 13 to 23 m, block by block."""
    ground = box(0, 0, 23, 6.75)
    found, block = rows.blocks(laid(ground, **CUT), choices(**CUT))
    assert block.tolist() == [0] * 6 + [1] * 6
    assert found.start == pytest.approx([0.0] * 6 + [13.0] * 6)
    assert found.end == pytest.approx([10.0] * 6 + [23.0] * 6)
    assert found.row.tolist() == [*range(6), *range(6)]


# ------------------------------------------------------------------ blocks
def made(*spans, group=None):
    """Rows from (row, start, end)."""
    row, start, end = (np.array(each) for each in zip(*spans, strict=True))
    same = np.zeros(len(row), np.intp) if group is None else np.array(group)
    return Rows(row, same, start.astype(float), end.astype(float), 1.2 * row)


def block_of(*spans, group=None, **more):
    return rows.blocks(made(*spans, group=group), choices(**more))[1].tolist()


def full(*numbers, start=0.0, end=20.0):
    return [(number, start, end) for number in numbers]


def test_rows_side_by_side_are_one_block():
    assert block_of(*full(*range(6))) == [0] * 6


def test_where_one_row_goes_on_as_two_a_block_begins():
    """Five whole rows, then five that a ditch cuts in two: three blocks."""
    halves = [
        span for row in range(5, 10) for span in ((row, 0.0, 9.0), (row, 11.0, 20.0))
    ]
    assert block_of(*full(*range(5)), *halves) == [0] * 5 + [1, 2] * 5


def test_what_breaks_fewer_than_five_rows_begins_no_block():
    """A tree on four rows."""
    halves = [
        span for row in range(5, 9) for span in ((row, 0.0, 9.0), (row, 11.0, 20.0))
    ]
    assert set(block_of(*full(*range(5)), *halves, *full(*range(9, 14)))) == {0}


@pytest.mark.parametrize(("start", "blocks"), [(10.0, 1), (10.1, 2)])
def test_neighbours_with_less_than_half_in_common_are_two_blocks(start, blocks):
    """Rows of 20 m that share 10 m, or 9.9."""
    shifted = full(*range(5, 10), start=start, end=start + 20.0)
    assert len(set(block_of(*full(*range(5)), *shifted))) == blocks


def test_half_is_of_the_longer_row():
    # 8 m of rows of 8 and of 20 m: under half of 20.
    short_rows = full(*range(5, 10), start=0.0, end=8.0)
    assert len(set(block_of(*full(*range(5)), *short_rows))) == 2
    short_rows = full(*range(5, 10), start=0.0, end=10.0)
    assert len(set(block_of(*full(*range(5)), *short_rows))) == 1


def test_a_drive_lane_or_a_missing_row_parts_blocks():
    assert block_of(*full(*range(10)), group=[0] * 5 + [1] * 5) == [0] * 5 + [1] * 5
    assert block_of(*full(*range(5)), *full(*range(6, 11))) == [0] * 5 + [1] * 5


def test_rows_that_only_meet_at_a_point_do_not_lie_beside_each_other():
    few = [(0, 0.0, 10.0), (1, 10.0, 20.0)]
    assert block_of(*few) == [0, 1]


def test_no_rows_are_no_blocks():
    assert rows.blocks(laid(shapely.Polygon()), choices(**CUT))[1].tolist() == []
