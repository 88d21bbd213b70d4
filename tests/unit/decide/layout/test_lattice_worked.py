"""Beds in bays, their lengths and their names, worked by hand.

Bays of 10 m with paths of 2 m across: one each 12 m.
"""

from collections import Counter

import numpy as np
import pytest
import shapely
from made_up import level, surroundings
from shapely.geometry import Point, box

from fieldmap.decide.layout.bays import blocks, few, lattice, lengths, rows, walk
from fieldmap.decide.layout.bays.lattice import Lengths
from fieldmap.decide.layout.bays.rows import Clear
from fieldmap.model.settings import Beds

TEN = Lengths(10.0, 2.0, 4.0)


def clear(*spans):
    """Clear rows from (start, end), one above the other."""
    count = len(spans)
    start, end = np.array(spans, float).reshape(-1, 2).T
    number, none = np.arange(count), np.zeros(count, np.intp)
    return Clear(none, number, none, start, end, 1.2 * number)


# ------------------------------------------------------------------ bays
@pytest.mark.parametrize(
    ("start", "end", "whole", "head_m", "tail_m"),
    [
        # Bays at 0 to 10, 12 to 22, 24 to 34 m.
        (0, 34, 3, None, None),
        (0, 33.9, 2, None, 9.9),
        (0.1, 34, 2, 9.9, None),
        (5, 30, 1, 5.0, 6.0),
        # Within one bay, from one into the next, and over a path alone.
        (2, 8, 0, 6.0, None),
        (5, 17, 0, 5.0, 5.0),
        (10.2, 11.8, 0, None, None),
        (10, 12, 0, None, None),
    ],
)
def test_what_bays_hold_of_a_clear_row(start, end, whole, head_m, tail_m):
    found = lattice.slots(np.array([start]), np.array([end]), 0.0, TEN)
    assert found.whole.tolist() == [whole]
    for here, expected in ((found.head_m[0], head_m), (found.tail_m[0], tail_m)):
        if expected is None:
            assert here <= 1e-9
        else:
            assert here == pytest.approx(expected)


def test_beds_of_all_rows_share_the_ends_of_their_bays():
    """Rows from 0 to 34, 3 to 34 and 0 to 29 m, shorter beds of 6 or 4 m.

    The second row has 7 m of the first bay, a bed of 6 m that ends with it at 10 m; the
    third 5 m of the last one, a bed of 4 m that begins with it at 24 m.
    """
    rows_ = clear((0, 34), (3, 34), (0, 29))
    these = Lengths(10.0, 2.0, 4.0, (4.0, 6.0))
    fit = lattice.best_fit(rows_, these)
    found = lattice.beds(rows_, fit, these)
    spans = np.round(np.stack([found.row, found.start, found.end], axis=1), 6)
    assert spans.tolist() == [
        [0, 0, 10],
        [0, 12, 22],
        [0, 24, 34],
        [1, 4, 10],
        [1, 12, 22],
        [1, 24, 34],
        [2, 0, 10],
        [2, 12, 22],
        [2, 24, 28],
    ]
    assert (found.bay - found.bay.min()).tolist() == [0, 1, 2] * 3
    assert fit.planted_m(these) == pytest.approx(7 * 10 + 6 + 4)


def test_a_bed_before_the_first_bay_leaves_room_for_the_slope():
    """Half a metre of slack in a bay from 0 to 10 m: 5 m clear before its end hold 4.5.

    A bed there is drawn in towards the start of its bay, so it keeps half a metre from
    where the ground begins: from 5.5 m to the end of the bay; and from 2.5 to 7 m where
    the ground lies from 2 to 7 m.
    """
    these = Lengths(10.0, 2.0, 4.0, slack_m=0.5)
    found = lattice.slots(np.array([5.0, 2.0]), np.array([20.0, 7.0]), 0.0, these)
    assert found.head_m == pytest.approx([4.5, 4.5])
    rows_ = clear((5, 20), (2, 7))
    fit = lattice.Fit(0, 0.0, 0.0, 0, np.empty(0))
    laid = lattice.beds(rows_, fit, these)
    spans = np.stack([laid.row, laid.start, laid.end], axis=1)
    assert spans == pytest.approx(np.array([(0, 5.5, 10), (0, 12, 20), (1, 2.5, 7)]))


def test_the_phase_that_plants_most_is_taken():
    # One row of 10 m that begins at 3.21 m: only a bay just there is whole.
    fit = lattice.best_fit(clear((3.21, 13.21)), TEN)
    assert (fit.whole, fit.phase_m) == (1, pytest.approx(3.21))


def test_a_leftover_gets_the_longest_length_that_it_holds():
    these = Lengths(10.0, 2.0, 4.0, (4.0, 6.0))
    clear_m = np.array([-3.0, 3.9, 4.0, 5.9, 6.0, 9.9])
    assert these.of_leftovers(clear_m).tolist() == [0, 0, 4, 4, 6, 6]
    # Any length from the shortest on, or none at all.
    assert TEN.of_leftovers(clear_m).tolist() == [0, 0, 4, 5.9, 6, 9.9]
    assert not Lengths(10.0, 2.0, 4.0, ()).of_leftovers(clear_m).any()


# ------------------------------------------------------------------ lengths
@pytest.mark.parametrize(
    ("bed_m", "left_m"),
    # Covers are 2.5 m longer: 5 of 17.5, 4 of 22.5, 3 of 27.5, 3 of 32 m.
    [(15.0, 12.5), (20.0, 10.0), (25.0, 17.5), (29.5, 4.0), (97.5, 0.0), (98.0, 100.0)],
)
def test_what_is_left_of_a_roll(bed_m, left_m):
    assert lengths.roll_left_m(bed_m, 100.0) == pytest.approx(left_m)


def test_the_lengths_that_plant_most_are_those_of_trying_all_pairs():
    drawn = np.random.default_rng(3).uniform(3.0, 15.0, 40)
    grid_m = np.arange(4.0, 15.0, 0.5)

    def planted(*chosen):
        these = Lengths(15.0, 0.0, 4.0, tuple(sorted(chosen)))
        return these.of_leftovers(drawn).sum()

    for count, best in (
        (1, max(planted(one) for one in grid_m)),
        (2, max(planted(one, two) for one in grid_m for two in grid_m if one < two)),
    ):
        found = few.best_shorter(drawn, count, grid_m)
        assert len(found) == count
        assert planted(*found) == pytest.approx(best)


def test_two_lengths_that_make_up_the_most_with_a_few_between():
    """Ten clear lengths of each whole metre from 13 to 20 m, 1320 m in all.

    Two lengths give up too much: 13 and 17 m leave 2 · 10 · (1 + 2 + 3) = 120 m, 9 %.
    The best three, 13, 16 and 19 m, leave 70 m, but 480 + 390 of 1250 m are 70 %. With
    13, 16 and 20 m it is 90 m, 6.8 %, and 390 + 640 of 1230 m are 84 %.
    """
    clear_m = np.repeat(np.arange(13.0, 21.0), 10)
    grid_m = np.arange(4.0, 21.0)
    found = few.uneven_shorter(clear_m, 0.0, grid_m, clear_m.sum())
    of_each = np.array(found)[np.searchsorted(found, clear_m, side="right") - 1]
    metres = [of_each[of_each == one].sum() for one in found]
    assert sum(metres) >= 0.93 * 1320
    assert sum(sorted(metres)[-2:]) >= 0.80 * sum(metres)
    assert few.uneven_shorter(clear_m, 0.0, grid_m, 1.2 * clear_m.sum()) is None


@pytest.mark.parametrize(("of_eight", "found"), [(5, (4.0, 8.0, 10.0)), (4, None)])
def test_four_fifths_of_all_bed_in_two_lengths_are_enough(of_eight, found):
    """5 of 4 m, 5 of 8 and 4 of 10 m: 20 + 40 + 40 m, of which two lengths are 80.

    Nothing can be left out: without 4 m 20 m are lost, without 8 m five times 4 and without
    10 m four times 2, of which each is over 7.5 in 100. With 4 of 8 m two lengths are 72 of
    92 m, and the same are lost.
    """
    clear_m = np.repeat([4.0, 8.0, 10.0], [5, of_eight, 4])
    grid_m = np.arange(4.0, 11.0)
    assert few.uneven_shorter(clear_m, 0.0, grid_m, clear_m.sum()) == found


def test_a_length_that_is_left_out_gives_its_ground_to_the_next_shorter_one():
    """2 beds of 4 m, 3 of 6, 1 of 9, and 18 m in whole beds: 53 m.

    Without 4 m those two are lost: 45 m, of which 18 + 18 are of two lengths. Without 6 m
    there are five of 4: 20 + 9 + 18 m. Without 9 m four of 6: 8 + 24 + 18 m.
    """
    kept, held = np.array([4.0, 6.0, 9.0]), np.array([2.0, 3.0, 1.0])
    metres, share = few._without_each(kept, held, 18.0)
    assert metres.tolist() == [45.0, 47.0, 50.0]
    assert share == pytest.approx([36 / 45, 38 / 47, 42 / 50])


@pytest.mark.parametrize(
    ("units", "choices", "bays_m"),
    [
        ("metric", {}, [15.0, 20.0, 25.0, 29.5]),
        ("metric", {"tape_m": 20.0}, [15.0]),
        # 50 and 98 ft.
        ("us", {}, [15.24, 29.8704]),
        # 50 m only where it is asked for.
        ("metric", {"tape_m": 50.0}, [15.0, 20.0, 25.0, 29.5]),
        ("metric", {"length_m": 50.0, "tape_m": 50.0}, [50.0]),
    ],
)
def test_which_lengths_are_tried(units, choices, bays_m):
    found = lengths.wished(Beds(**choices), units)
    assert [each.bay_m for each in found] == pytest.approx(bays_m)
    assert {each.across_m for each in found} == {1.5}


def test_rows_that_hold_one_usual_length_get_that_and_no_other():
    """20 m: one bed of 20, where 15 m would give a quarter of the ground away."""
    found = lengths.choose([clear(*[(0, 20)] * 8)], Beds(), "metric")
    assert (found.lengths.bay_m, found.lengths.shorter_m) == (20.0, ())
    assert (found.lost_share, found.standard_share) == (0.0, 1.0)
    assert found.roll_left_m == 10.0


def test_a_length_and_a_second_one_that_the_grower_chose_are_the_only_ones():
    choices = Beds(length_m=10.0, second_length_m=5.0, headland_m=2.0)
    found = lengths.choose([clear((0, 33), (0, 31), (0, 26))], choices, "metric")
    assert (found.lengths.bay_m, found.lengths.shorter_m) == (10.0, (5.0,))
    # Bays from 0 m hold 10 + 10 + 9, 10 + 10 + 7 and 10 + 10 m: the odd ones get 5.
    # From -2 m, of any length, 8 + 10 + 10, 8 + 10 + 9 and 8 + 10 + 4 m.
    assert found.lost_share == pytest.approx(1 - (60 + 10) / (28 + 27 + 22))


def test_rows_of_any_length_stay_whole_where_no_two_are_alike():
    """Six rows of 8 to 23 m: the two commonest lengths are 43 of 93 m, under 80 %."""
    rows_m = clear(*[(0, length_m) for length_m in (8, 11, 14, 17, 20, 23)])
    found = lengths.choose([rows_m], Beds(any_length=True), "metric")
    assert (found.lost_share, found.standard_share) == (0.0, pytest.approx(43 / 93))
    fit = lattice.best_fit(rows_m, found.lengths)
    laid = lattice.beds(rows_m, fit, found.lengths)
    assert laid.length_m == pytest.approx([8, 11, 14, 17, 20, 23])


def test_a_small_plot_beside_a_large_one_does_not_stay_empty():
    """100 rows of 29.5 m and one plot of two rows of 8 m: those 16 m are 0.5 % of all."""
    large, small = clear(*[(0, 29.5)] * 100), clear((0, 8), (0, 8))
    found = lengths.choose([large, small], Beds(), "metric")
    assert (found.lengths.bay_m, found.lengths.shorter_m) == (29.5, (8.0,))
    assert lengths.choose([large], Beds(), "metric").lengths.shorter_m == ()


def test_lengths_of_small_plots_are_kept_rising():
    """Four rows of 8 m and two of 5: 8 m plants 32, 5 m only 30; then 5 m the last two."""
    large, eight, five = (
        clear(*[(0, end)] * rows) for end, rows in ((29.5, 100), (8, 4), (5, 2))
    )
    found = lengths.choose([large, eight, five], Beds(), "metric")
    assert (found.lengths.bay_m, found.lengths.shorter_m) == (29.5, (5.0, 8.0))


def test_every_whole_metre_is_tried_where_no_usual_length_does():
    """Rows of 4, 5, 6, 7, 8 and 9 m, 39 in all, with a tape of 10 m: bays up to 9 m.

    Bays of 7 m with 4 and 5 m, or 4 and 6, hold 35 of the 36 m that they could, 21 + 10
    or 21 + 8 in two lengths: 10 % of 39 m are given up. Bays of 8 m or more need more
    lengths: with 4 and 6 m 16 + 12 of 36 m are 78 % in two. Bays of 6 m, with one of 4,
    give up 18 %, of 5 m 26 %, of 4 m 38 %.
    """
    ground = clear(*((0, end) for end in range(4, 10)))
    found = lengths.choose([ground], Beds(tape_m=10.0), "metric")
    assert found.lengths.bay_m == 7.0
    assert found.lost_share == pytest.approx(1 / 36)


# ------------------------------------------------------------------ ground that falls
def test_beds_are_standard_along_the_ground():
    """A rise of 3 in 4 along the beds: 10 m of tape are 8 m on the map."""
    choices = Beds(headland_m=0.0, length_m=10.0)
    here = blocks.piece(box(0, 0, 30, 1.95), 90.0, np.full(5, 0.75), choices)
    these = Lengths(10.0, 0.45, 4.0, ())

    def rises(east, north):
        return np.full_like(east, 0.75), np.zeros_like(north)

    laid = blocks.lay_blocks([here], these, choices, Point(0, 0), rises)
    found = blocks.name_beds("Home", "A", laid, choices, 0.0)
    assert {bed.length_m for bed in found} == {10.0}
    for bed in found:
        west, _, east, _ = bed.outline.bounds
        assert east - west == pytest.approx(8.0)


def test_a_bed_that_ends_with_its_bay_keeps_its_headland_where_the_ground_falls():
    """3 in 4 again: a bay of 10 m is 8 m on the map, and its end moves in by 2 m.

    The second row begins at 3 m: a bed of 4 m along the ground is 3.2 m on the map and
    ends with the others at 8 m, from 4.8 m on. One of 6 m would begin at 3.2 m.
    """
    choices = Beds(headland_m=0.0, length_m=10.0)
    ground = box(0, 0, 10, 1.0).union(box(3, 0, 10, 1.95))
    here = blocks.piece(ground, 90.0, np.full(5, 0.75), choices)
    these = Lengths(10.0, 0.45, 4.0, (4.0, 6.0))

    def rises(east, north):
        return np.full_like(east, 0.75), np.zeros_like(north)

    laid = blocks.lay_blocks([here], these, choices, Point(0, 0), rises)
    for bed in blocks.name_beds("Home", "A", laid, choices, 0.0):
        assert ground.buffer(0.002).covers(bed.outline)


# ------------------------------------------------------------------ names
def named(gate, ground=None, **more):
    """Six beds in each of two bays of 10 m, 12 m apart, and where they lie."""
    choices = Beds(headland_m=0.0, setback_m=0.0, **more)
    ground = box(0, 0, 22, 6.75) if ground is None else ground
    here = blocks.piece(ground, 90.0, np.zeros(1), choices)
    laid = blocks.lay_blocks([here], TEN, choices, Point(*gate), level)
    return blocks.name_beds("Home", "A", laid, choices, 0.0)


@pytest.mark.parametrize(
    ("gate", "first", "last"),
    [
        # To and fro: out along the bay at the gate, and back along the other.
        ((-1, -1), (0, 0), (12, 0)),
        ((-1, 8), (0, 6), (12, 6)),
        ((25, -1), (12, 0), (0, 0)),
        ((25, 8), (12, 6), (0, 6)),
    ],
)
def test_beds_are_counted_from_the_gate_to_and_fro(gate, first, last):
    found = named(gate)
    assert [bed.name for bed in found] == [f"A{number}" for number in range(1, 13)]
    assert [bed.block for bed in found] == [1] * 6 + [2] * 6
    assert [bed.number for bed in found] == [*range(1, 7)] * 2
    for bed, (west, south) in ((found[0], first), (found[-1], last)):
        assert bed.outline.bounds[:2] == pytest.approx((west, south))
    assert {bed.block_name for bed in found} == {"A/1", "A/2"}


@pytest.mark.parametrize("gate", [(-1, -1), (-1, 8), (25, -1), (25, 8)])
def test_the_first_two_corners_are_the_end_towards_the_gate(gate):
    for bed in named(gate):
        corners = shapely.get_coordinates(bed.outline)[:4]
        away = np.abs(corners - gate).round(6)
        assert away[0, 0] == away[1, 0] < away[2, 0] == away[3, 0]
        assert away[0, 1] == away[3, 1] < away[1, 1] == away[2, 1]


def test_a_layout_by_counts():
    """Three a block: 3 · 0.75 + 2 · 0.45 = 3.15 m, a lane of 3 m, and so on."""
    found = named((-1, -1), box(0, 0, 10, 9.3), beds_per_block=3)
    assert Counter(bed.block for bed in found) == {1: 3, 2: 3}
    souths = [round(bed.outline.bounds[1], 6) for bed in found]
    assert souths == [0.0, 1.2, 2.4, 6.15, 7.35, 8.55]


def test_one_enters_at_the_nearest_gate_else_from_the_road_else_in_the_north_west():
    plot = box(0, 0, 20, 10)
    road = ("road", box(-5, -9, 40, -6), {})
    near, far = ("gate", Point(22, 5), {}), ("gate", Point(10, 90), {})

    def entry(*around):
        return walk.entry(surroundings(*around), plot).coords[0]

    assert entry(road, far, near) == (20.0, 5.0)
    assert entry(road)[1] == 0.0
    assert entry() == (0.0, 10.0)


def test_a_walk_goes_on_to_the_nearest_that_is_left():
    shapes = [box(40, 0, 50, 10), box(0, 0, 10, 10), box(20, 0, 30, 10)]
    assert walk.nearest_first(shapes, Point(0, 5)) == [1, 2, 0]
    assert walk.nearest_first(shapes, Point(60, 5)) == [0, 2, 1]
    # From 12 m into 0 to 10 m; from its middle 20 m are 15 off, and -6 m 11 only.
    about = [box(20, 0, 30, 10), box(0, 0, 10, 10), box(-12, 0, -6, 10)]
    assert walk.nearest_first(about, Point(12, 5)) == [1, 2, 0]


def test_rows_without_a_bed_are_in_no_block():
    empty, none = np.empty(0, np.intp), np.empty(0)
    no_rows = rows.Rows(empty, empty, empty, none, none, none)
    frame = rows.frame((0.0, 0.0), 90.0)
    assert walk.from_gate(no_rows, empty, frame, Point(0, 0)) == []
