"""Rows of beds on ground measured along and up, counted on paper.

Beds 0.75 m wide with paths of 0.45 m: one each 1.2 m.
"""

import numpy as np
import pytest
import shapely
from shapely.geometry import box

from fieldmap.decide.layout.bays import lattice, rows
from fieldmap.decide.layout.bays.rows import Rows
from fieldmap.model.settings import Beds

PLAIN = {"headland_m": 0.0, "setback_m": 0.0}
ANY = lattice.Lengths(lattice.ENDLESS_M, 0.0, 4.0)


def choices(**more):
    return Beds(**{**PLAIN, **more})


def laid(ground, **more):
    """Rows along the east, as long as the ground, which is in metres from the middle."""
    frame = rows.frame((0.0, 0.0), 90.0)
    clear = rows.clear(rows.edges(ground, frame), choices(**more))
    return lattice.beds(clear, lattice.best_fit(clear, ANY), ANY)


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
    frame = rows.frame((0.0, 0.0), 90.0)
    found = rows.clear(rows.edges(box(0, 0, 30, height_m), frame), choices())
    assert len(found.of(0).low) == beds


def test_headlands_are_left_at_both_ends():
    found = laid(box(0, 0, 30, 0.75), headland_m=1.5)
    assert (found.start.tolist(), found.end.tolist()) == ([1.5], [28.5])


@pytest.mark.parametrize(("length_m", "beds"), [(7.0, 1), (6.99, 0)])
def test_a_bed_is_four_metres_long_or_none(length_m, beds):
    # 7 m less two headlands of 1.5 m are 4 m.
    frame = rows.frame((0.0, 0.0), 90.0)
    ground = rows.edges(box(0, 0, length_m, 0.75), frame)
    assert len(rows.clear(ground, choices(headland_m=1.5)).of(0).low) == beds


def test_a_hole_cuts_the_strips_it_touches():
    """A shed from 10 to 12 m stands on the first of two beds."""
    ground = box(0, 0, 30, 1.95).difference(box(10, -1, 12, 0.5))
    found = laid(ground)
    assert found.row.tolist() == [0, 0, 1]
    assert found.start == pytest.approx([0.0, 12.0, 0.0])
    assert found.end == pytest.approx([10.0, 30.0, 30.0])


def test_no_ground_has_no_rows():
    frame = rows.frame((0.0, 0.0), 90.0)
    found = rows.clear(rows.edges(shapely.Polygon(), frame), choices())
    assert len(found.row) == 0
    assert lattice.best_fit(found, ANY) is None


def test_the_start_that_plants_most_is_taken():
    """3 m high, but the lowest 0.6 m are only 5 m long.

    Two beds in the middle would lie from 0.525 m and be cut by the step; from 0.6 m up
    both are 30 m long, and 2.4 m hold just two (1.95 m).
    """
    ground = shapely.union_all([box(0, 0.6, 30, 3.0), box(0, 0, 5, 0.6)])
    found = laid(ground)
    assert found.length_m == pytest.approx([30.0, 30.0])
    assert found.low.min() >= 0.6 - 0.001


def test_after_a_given_number_of_beds_comes_a_drive_lane():
    """Two beds, a lane of 3 m, two beds: 0, 1.2, then 1.2 + 0.75 + 3 = 4.95, 6.15."""
    found = rows._offsets(5, choices(beds_per_block=2))
    assert found == pytest.approx([0.0, 1.2, 4.95, 6.15, 9.9])
    assert rows._offsets(3, choices()) == pytest.approx([0.0, 1.2, 2.4])
    # 6.15 + 0.75 m.
    ground = box(0, 0, 30, 6.9)
    found = laid(ground, beds_per_block=2)
    assert found.low == pytest.approx([0.0, 1.2, 4.95, 6.15])
    assert found.group.tolist() == [0, 0, 1, 1]


# ------------------------------------------------------------------ blocks
def made(*spans, group=None, bay=None):
    """Rows from (row, start, end)."""
    row, start, end = (np.array(each) for each in zip(*spans, strict=True))
    group, bay = (
        np.zeros(len(row), np.intp) if each is None else np.array(each)
        for each in (group, bay)
    )
    return Rows(row, group, bay, start.astype(float), end.astype(float), 1.2 * row)


def block_of(*spans, group=None, bay=None):
    return rows.blocks(made(*spans, group=group, bay=bay)).tolist()


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


def test_beds_of_two_bays_are_never_one_block():
    assert block_of(*full(*range(10)), bay=[0] * 5 + [1] * 5) == [0] * 5 + [1] * 5


def test_rows_that_only_meet_at_a_point_do_not_lie_beside_each_other():
    few = [(0, 0.0, 10.0), (1, 10.0, 20.0)]
    assert block_of(*few) == [0, 1]


def test_no_rows_are_no_blocks():
    none = np.empty(0)
    empty = np.empty(0, np.intp)
    assert rows.blocks(Rows(empty, empty, empty, none, none, none)).tolist() == []
