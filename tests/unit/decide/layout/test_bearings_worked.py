"""The bearing of beds, their names and how they lie, worked by hand.

Limits of falls are those of USDA NRCS Conservation Practice Standard 330: at most 2 %
along rows, and half the fall of the ground, where that falls 2 % or more.
"""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from made_up import beds_in, level, surroundings
from shapely.geometry import LineString, Point, Polygon, box

from fieldmap.decide.layout import (
    bearings,
    beds,
    cautions,
    fill,
    free_ground,
    hints,
)
from fieldmap.decide.layout.bays import blocks, lattice
from fieldmap.decide.layout.bays.lattice import Lengths
from fieldmap.decide.layout.bays.lengths import Standard
from fieldmap.decide.layout.bearings import Candidate, Falls, Remaining
from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.layout.choose import Layout
from fieldmap.decide.layout.fill import Filled
from fieldmap.model.fact import Fact
from fieldmap.model.settings import Beds, Settings
from fieldmap.model.site import OwnBed

ANY = Lengths(lattice.ENDLESS_M, 0.0, 4.0)


def fall(east, north):
    return Falls(np.atleast_1d(east).astype(float), np.atleast_1d(north).astype(float))


# ------------------------------------------------------------------ falls
def test_a_fall_along_a_bearing_has_no_sign():
    """3 % up to the east and 4 % to the north: 5 % in all, all of it towards 36.87°."""
    ground = fall(0.03, 0.04)
    assert ground.slope == pytest.approx([0.05])
    for grid_deg, along in ((0, 0.04), (90, 0.03), (180, 0.04), (36.8699, 0.05)):
        assert ground.along(grid_deg) == pytest.approx([along], abs=1e-7)
    assert ground.along(126.8699) == pytest.approx([0.0], abs=1e-7)
    assert ground.contour_deg() == pytest.approx(126.8699)
    # Downhill the other way has the same contour.
    assert fall(-0.03, -0.04).contour_deg() == pytest.approx(126.8699)


def test_ground_that_falls_under_half_a_per_cent_has_no_contour():
    assert fall(0.0, 0.005).contour_deg() == 90.0
    assert fall(0.0, 0.0049).contour_deg() is None
    # What rises and falls again is level in the mean.
    assert fall([0.0, 0.0], [0.1, -0.1]).contour_deg() is None


def test_ground_that_is_known_nowhere_has_no_contour():
    assert fall([], []).contour_deg() is None
    tried = bearings.bearings_to_try(box(0, 0, 30, 10), fall([], []))
    assert "contour" not in {kind for _grid_deg, kind in tried}


@pytest.mark.parametrize(
    ("slope", "along", "steep"),
    [
        # Under 2 % rows may run as they like.
        (0.0199, 0.0199, False),
        # From there at most half of it.
        (0.02, 0.01, False),
        (0.02, 0.0101, True),
        (0.03, 0.015, False),
        (0.03, 0.0151, True),
        # And never over 2 %.
        (0.10, 0.02, False),
        (0.10, 0.0201, True),
    ],
)
def test_rows_fall_half_as_much_as_the_ground_and_at_most_two_per_cent(
    slope, along, steep
):
    assert bearings.too_steep(np.array([slope]), np.array([along])).tolist() == [steep]


def test_falls_are_read_at_points_a_fixed_way_apart():
    """100 × 20 m: √(2000 / 2000) = 1 m apart, from half a metre in."""
    ground = box(1000, 2000, 1100, 2020)
    found = bearings.falls(ground, lambda x, y: x, lambda x, y: y)
    assert len(found.east) == 2000
    assert (found.east.min(), found.east.max()) == (1000.5, 1099.5)
    assert (found.north.min(), found.north.max()) == (2000.5, 2019.5)
    # Never closer than half a metre: 4 · 4 points on 2 × 2 m.
    small = bearings.falls(box(0, 0, 2, 2), lambda x, y: x, lambda x, y: y)
    assert len(small.east) == 16
    # A sliver that no point meets is read in its middle.
    sliver = bearings.falls(box(0, 0, 0.1, 0.1), lambda x, y: x, lambda x, y: y)
    assert (sliver.east.tolist(), sliver.north.tolist()) == ([0.05], [0.05])


def test_ground_that_is_not_known_says_nothing():
    def unknown_in_the_west(x, y):
        return np.where(x < 50, np.nan, 1.0)

    found = bearings.falls(box(0, 0, 100, 20), unknown_in_the_west, lambda x, y: y)
    assert len(found.east) == len(found.north) == 1000


# ------------------------------------------------------------------ which are tried
@pytest.mark.parametrize(
    ("one", "other", "apart"),
    [(10, 30, 20), (175, 5, 10), (0, 90, 90), (1, 92, 89), (0, 180, 0), (5, 175, 10)],
)
def test_bearings_of_long_things_are_at_most_ninety_degrees_apart(one, other, apart):
    assert bearings.apart_deg(one, other) == pytest.approx(apart)


def test_the_sides_come_first_then_the_contour_then_each_five_degrees():
    """40 × 10 m, long side at 90°: 0°, the short side, is a quarter of the long one.

    The contour of ground that rises to 30° runs at 120°, and is a step too: of 36
    bearings each 5° from 90° none is new twice.
    """
    rises = fall(0.1 * np.sin(np.radians(30)), 0.1 * np.cos(np.radians(30)))
    found = bearings.bearings_to_try(box(0, 0, 40, 10), rises)
    assert found[0] == (90.0, "long side")
    assert found[1] == (pytest.approx(0.0), "side")
    assert found[2] == (pytest.approx(120.0), "contour")
    assert found[3:6] == [(95.0, "step"), (100.0, "step"), (105.0, "step")]
    assert len(found) == 36
    assert sorted(round(deg) for deg, _ in found) == list(range(0, 180, 5))


def test_a_side_of_under_a_quarter_of_the_longest_is_none():
    kinds = [
        kind for _, kind in bearings.bearings_to_try(box(0, 0, 40, 9.9), fall(0, 0))
    ]
    assert "side" not in kinds
    assert "contour" not in kinds


def test_a_wobble_of_under_a_metre_gives_a_side_no_second_bearing():
    # 0.9 m out of a side of 40 m: by its halves it would run at 87.4° and 92.6°.
    for depth_m, sides in ((0.9, 1), (3.0, 3)):
        corners = [(0, 0), (20, -depth_m), (40, 0), (40, 12), (0, 12)]
        found = bearings.bearings_to_try(Polygon(corners), fall(0, 0))
        assert [kind for _, kind in found].count("side") == sides


def test_bearings_half_a_degree_apart_are_one():
    # The contour at 90.5° is the long side, at 90.6° another.
    for away, count in ((0.5, 36), (0.6, 37)):
        angle = np.radians(0.0 + away)
        rises = fall(0.1 * np.sin(angle), 0.1 * np.cos(angle))
        assert len(bearings.bearings_to_try(box(0, 0, 40, 10), rises)) == count


# ------------------------------------------------------------------ what they come to
def test_what_a_bearing_comes_to_on_a_plain_rectangle():
    """30 × 3.15 m: three beds of 30 m along it; 25 of 3.15 m across are too short.

    With a shortest of 3 m they are 25 · 3.15 m, all under 10 m. Ground of 3 % to the
    east and 4 % to the north: beds to the east fall 3 % along, over half of 5 %.
    """
    ground = box(0, 0, 30, 3.15)
    choices = Beds(headland_m=0.0, shortest_m=3.0, path_width_m=0.45, bed_width_m=0.75)
    along, across = bearings.compare(
        ground,
        [(90.0, "long side"), (0.0, "side")],
        90.0,
        fall(0.03, 0.04),
        choices,
        2.0,
        [replace(ANY, shortest_m=3.0)],
    )
    assert (along.bearing_deg, along.grid_deg, along.away_deg) == (92.0, 90.0, 0.0)
    assert (along.beds, along.short) == (3, 0)
    assert along.area_m2 == pytest.approx(3 * 30 * 0.75)
    assert along.along_percent == pytest.approx(3.0)
    assert along.across_percent == pytest.approx(4.0)
    assert along.over_share == 1.0
    assert (across.bearing_deg, across.away_deg, across.kind) == (2.0, 90.0, "side")
    assert (across.beds, across.short) == (25, 25)
    assert across.area_m2 == pytest.approx(25 * 3.15 * 0.75)
    assert across.along_percent == pytest.approx(4.0)


@pytest.mark.parametrize(("length_m", "short"), [(10.0, 0), (9.99, 1)])
def test_a_bed_under_ten_metres_is_short(length_m, short):
    choices = Beds(headland_m=0.0)
    ground = box(0, 0, length_m, 0.75)
    (found,) = bearings.compare(
        ground, [(90.0, "side")], 90.0, fall(0, 0), choices, 0.0, [ANY]
    )
    assert (found.beds, found.short) == (1, short)


def test_a_path_under_the_hoop_is_not_planted_and_cut_beds_are_counted():
    """Two strips of 0.75 m with 0.45 m between are 1.95 m wide.

    23 m are two beds of 10 m and a path of 3 m: 20 · 1.5 m² planted, both of 10 m.
    """
    choices = Beds(headland_m=0.0, under_one_hoop=2)
    bays = [Lengths(10.0, 3.0, 4.0)]
    ground, side = box(0, 0, 23, 1.95), [(90.0, "side")]
    (found,) = bearings.compare(ground, side, 90.0, fall(0, 0), choices, 0.0, bays)
    assert (found.beds, found.short) == (2, 0)
    assert found.area_m2 == pytest.approx(30.0)


@pytest.mark.parametrize(
    ("grid_deg", "convergence_deg", "true_deg"),
    [(179.5, 0.0, 179.5), (179.0, 2.0, 1.0), (1.0, -2.0, 179.0)],
)
def test_a_bearing_from_true_north_stays_under_180(grid_deg, convergence_deg, true_deg):
    ground, made = box(0, 0, 9, 40), Beds(headland_m=0.0)
    (found,) = bearings.compare(
        ground, [(grid_deg, "step")], 0.0, fall(0, 0), made, convergence_deg, [ANY]
    )
    assert found.bearing_deg == pytest.approx(true_deg)
    assert found.away_deg == pytest.approx(grid_deg)


# ------------------------------------------------------------------ which is kept
def candidate(deg, kind="step", **more):
    plain = {
        "away_deg": deg,
        "area_m2": 100.0,
        "beds": 10,
        "short": 0,
        "along_percent": 1.0,
        "across_percent": 1.0,
        "over_share": 0.0,
    }
    return Candidate(bearing_deg=deg, grid_deg=deg, kind=kind, **plain | more)


def kept(*candidates, tall_crops=False):
    found, remaining = bearings.best(candidates, tall_crops=tall_crops)
    return found.grid_deg, [each.number for each in remaining]


@pytest.mark.parametrize(
    ("worse", "just_the_same"),
    [
        # A tenth of the ground too steep; 2 % of area; one bed in twenty short; half a
        # per cent of fall.
        ({"over_share": 0.1001}, {"over_share": 0.1}),
        ({"area_m2": 97.9}, {"area_m2": 98.0}),
        ({"beds": 100, "short": 6}, {"beds": 100, "short": 5}),
        ({"along_percent": 1.51}, {"along_percent": 1.5}),
    ],
)
def test_a_real_difference_decides_and_a_smaller_one_leaves_it_to_the_plot(
    worse, just_the_same
):
    other = candidate(40.0)
    assert kept(candidate(0.0, "long side", **worse), other)[0] == 40.0
    assert kept(candidate(0.0, "long side", **just_the_same), other)[0] == 0.0
    better, lost = differences(candidate(0.0, **worse), other)
    assert (len(better), len(lost)) == (1, 0)
    better, lost = differences(other, candidate(0.0, **worse))
    assert (len(better), len(lost)) == (0, 1)
    assert differences(candidate(0.0, **just_the_same), other) == ([], [])


def differences(one, other, *, tall_crops=False):
    return bearings.real_differences(one, other, tall_crops=tall_crops)


@pytest.mark.parametrize(
    ("other_deg", "lost"),
    # 170° and 165° are 10° and 15° off north, 164° is 16°.
    [(170.0, []), (165.0, []), (164.0, ["north"]), (90.0, ["north"])],
)
def test_a_direction_farther_from_north_is_really_worse_for_tall_crops(other_deg, lost):
    north, other = candidate(0.0, "side"), candidate(other_deg, "long side")
    assert differences(north, other, tall_crops=True) == ([], lost)
    assert differences(other, north, tall_crops=True) == (lost, [])
    assert differences(north, other) == ([], [])


def test_questions_are_asked_in_turn_and_say_how_many_they_leave():
    """Erosion before area, area before short beds, those before the fall."""
    found, remaining = bearings.best(
        [
            candidate(0.0, over_share=0.5, area_m2=200.0),
            candidate(10.0, area_m2=90.0, along_percent=0.0),
            candidate(20.0, short=5, along_percent=0.0),
            candidate(30.0, along_percent=3.0),
            candidate(40.0, along_percent=2.0),
        ],
        tall_crops=False,
    )
    assert found.grid_deg == 40.0
    assert remaining == (
        Remaining("", 5),
        Remaining("steep", 4),
        # Of 200 m² the best has 100: 90 is 5 % of 200 less, and goes.
        Remaining("area", 3),
        Remaining("short", 2),
        Remaining("along", 1),
    )


def test_tall_crops_ask_for_north_within_fifteen_degrees():
    one, other = candidate(20.0, "long side"), candidate(175.0)
    assert kept(one, other)[0] == 20.0
    # 175° is 5° off north: 20 is just 15 more.
    assert kept(one, other, tall_crops=True) == (20.0, [2, 2, 2, 2, 2, 2])
    assert kept(candidate(20.1, "long side"), other, tall_crops=True)[0] == 175.0


def test_among_equals_the_own_lines_of_the_plot_decide():
    order = ("fixed", "long side", "side", "contour", "step")
    every = [candidate(10.0 * at, kind) for at, kind in enumerate(order)]
    for at in range(5):
        assert kept(*reversed(every[at:]))[0] == 10.0 * at
    # Then what lies nearest the long side, whichever way it is turned.
    assert kept(candidate(20.0), candidate(165.0))[0] == 165.0
    assert kept(candidate(15.0), candidate(165.0))[0] == 15.0


def test_a_bearing_without_a_bed_is_kept_only_where_no_other_has_one():
    empty = candidate(0.0, "long side", beds=0, area_m2=0.0)
    assert kept(empty, candidate(40.0, "step", over_share=0.9))[0] == 40.0
    assert kept(empty)[0] == 0.0


# ------------------------------------------------------------------ beds
def test_the_long_side_of_an_outline():
    assert beds.long_side_deg(box(0, 0, 30, 10)) == 90.0
    assert beds.long_side_deg(box(0, 0, 10, 30)) == 0.0
    # 3-4-5: 10 m towards (6, 8), 2 m across.
    turned = Polygon([(0, 0), (6, 8), (4.4, 9.2), (-1.6, 1.2)])
    assert beds.long_side_deg(turned) == pytest.approx(36.8699)


def test_a_plot_without_its_keep_clear_strip():
    inner = free_ground.within_setback(box(0, 0, 10, 8), Beds(setback_m=1.5))
    assert inner.equals(box(1.5, 1.5, 8.5, 6.5))
    assert free_ground.within_setback(box(0, 0, 10, 8), Beds(setback_m=4.0)).is_empty


NO_EDGES = {"setback_m": 0.0, "headland_m": 0.0}


def laid(outline, grid_deg, **choices):
    return beds_in(outline, bearing_deg=grid_deg, **NO_EDGES | choices)


@pytest.mark.parametrize(
    ("grid_deg", "first"),
    [
        # Beds run east: the first is the northernmost, its middle 0.375 m under the edge.
        (90.0, (6.0, 6.375)),
        # Beds run north: the westernmost.
        (0.0, (0.375, 3.375)),
    ],
)
def test_bed_one_lies_towards_the_north_west(grid_deg, first):
    # 6.75 m hold six beds, 12 m ten and 0.45 m over... of which the first start is flush.
    width_m = 12.0 if grid_deg else 11.55
    found = laid(box(0, 0, width_m, 6.75), grid_deg)
    assert [each.name for each in found[:2]] == ["A1", "A2"]
    middle = found[0].outline.centroid
    assert (middle.x, middle.y) == pytest.approx(
        (first[0] if not grid_deg else width_m / 2, first[1])
    )
    apart = found[1].outline.centroid.distance(middle)
    assert apart == pytest.approx(1.2)


def test_of_two_beds_in_a_row_the_western_one_comes_first():
    tree = box(10, 0.2, 12, 0.4)
    found = laid(box(0, 0, 30, 0.75).difference(tree), 90.0)
    spans = [(each.name, round(each.outline.bounds[0], 6)) for each in found]
    assert spans == [("A1", 0.0), ("A2", 12.0)]


def test_within_a_block_a_broken_row_is_counted_from_the_west():
    """Six rows of 30 m, a post on the northernmost: A1 and A2 there, A3 under them."""
    post = box(10, 6.3, 12, 6.5)
    found = laid(box(0, 0, 30, 6.75).difference(post), 90.0)
    spans = [(each.name, round(each.outline.bounds[0], 6)) for each in found]
    assert spans[:3] == [("A1", 0.0), ("A2", 12.0), ("A3", 0.0)]
    assert len(spans) == 7


def test_a_bed_of_two_strips_plants_less_than_it_covers():
    (found,) = laid(box(0, 0, 20, 1.95), 90.0, under_one_hoop=2)
    assert (found.width_m, found.path_within_m) == (1.95, 0.45)
    assert found.area_m2 == pytest.approx(20 * 1.5)
    assert found.block_name == "A/1"
    own = Bed("North bed 3", "Home", box(0, 0, 5, 1), 5.0, 1.0, 90.0, exists=True)
    assert own.block_name == "Home"


def test_bearings_are_given_from_true_north_and_stay_under_180():
    # 1.5° from true north is 179° from a grid north that lies 2.5° east of it.
    (found, *_) = laid(box(0, 0, 1.4, 20), 1.5, turn_deg=2.5)
    assert found.bearing_deg == 1.5
    first, second = shapely.get_coordinates(found.outline)[[1, 2]]
    east, north = second - first
    assert np.degrees(np.arctan2(east, north)) % 180.0 == pytest.approx(179.0)


def test_nothing_is_planted_within_the_setback_of_what_is_around():
    around = surroundings(
        ("tree", Point(0, 0), {}),
        ("overhead line", LineString([(0, 0), (9, 0)]), {}),
        ("building", box(10, 0, 12, 2), {}),
    )
    off = free_ground.standing(around, 1.5)
    tree, barn = sorted(shapely.get_parts(off), key=lambda each: each.bounds)
    assert tree.bounds == pytest.approx((-1.5, -1.5, 1.5, 1.5))
    assert barn.bounds == pytest.approx((8.5, -1.5, 13.5, 3.5))


def test_points_in_a_bed_stand_for_the_same_area_each():
    """10 × 1 m with points no more than 2.4 m apart: five along, one across."""
    bed = Bed("A1", "Home", box(0, 0, 10, 1), 10.0, 1.0, 90.0)
    found = beds.points_in(bed, 2.4)
    assert sorted(map(tuple, found.round(9))) == [(x, 0.5) for x in (1, 3, 5, 7, 9)]
    assert len(beds.points_in(bed, 0.5)) == 20 * 2


# ------------------------------------------------------------------ how they lie
def a_bed(bearing_deg, name="A1", plot="Home", outline=None, **more):
    outline = box(0, 0, 10, 1) if outline is None else outline
    return Bed(name, plot, outline, 10.0, 1.0, bearing_deg, **more)


@pytest.mark.parametrize(
    ("bearing_deg", "along", "across"),
    [(0.0, 4.0, 3.0), (90.0, 3.0, 4.0), (36.8699, 5.0, 0.0), (126.8699, 0.0, 5.0)],
)
def test_how_a_bed_lies_on_ground_that_rises_three_and_four_per_cent(
    bearing_deg, along, across
):
    """Rising to the north-east at 36.87°, it faces south-west at 216.87°."""
    (lie,) = beds.lies(np.array([0.03]), np.array([0.04]), [a_bed(bearing_deg)], 0.0)
    assert lie.along_percent == pytest.approx(along, abs=1e-4)
    assert lie.across_percent == pytest.approx(across, abs=1e-4)
    assert lie.faces_deg == pytest.approx(216.8699, abs=1e-4)


def test_bearings_from_true_north_are_turned_onto_the_grid_and_back():
    # Grid north 2° east of true: a bed at 92° runs along the grid's east.
    (lie,) = beds.lies(np.array([0.03]), np.array([0.04]), [a_bed(92.0)], 2.0)
    assert (lie.along_percent, lie.across_percent) == pytest.approx((3.0, 4.0))
    assert lie.faces_deg == pytest.approx(218.8699, abs=1e-4)


@pytest.mark.parametrize(("rise", "level"), [(0.0049, True), (0.005, False)])
def test_ground_under_half_a_per_cent_faces_nowhere(rise, level):
    (lie,) = beds.lies(np.array([0.0]), np.array([rise]), [a_bed(0.0)], 0.0)
    assert np.isnan(lie.faces_deg) == level


# ------------------------------------------------------------------ drawn beds, hints
def test_a_bed_that_is_drawn_keeps_its_measures():
    drawn = OwnBed("North", "Home", Polygon([(0, 0), (6, 8), (5.2, 8.6), (-0.8, 0.6)]))
    found = fill._own(drawn, "A", 2.0, Point(0, 0))
    assert (found.length_m, found.width_m) == pytest.approx((10.0, 1.0))
    assert found.bearing_deg == pytest.approx(38.8699)
    assert found.exists
    short_first = OwnBed("S", "Home", Polygon([(0, 0), (1, 0), (1, 10), (0, 10)]))
    found = fill._own(short_first, "A", 0.0, Point(0, 0))
    assert (found.length_m, found.width_m, found.bearing_deg) == (10.0, 1.0, 0.0)


def test_a_drawn_bed_that_was_taped_is_as_long_as_the_tape_says():
    """On a slope the ground is longer than the map: 10.2 m by tape, 10 m from above."""
    drawn = OwnBed("S", "Home", box(0, 0, 1, 10), length_m=10.2)
    assert fill._own(drawn, "A", 0.0, Point(0, 0)).length_m == 10.2


@pytest.mark.parametrize(
    ("gate", "first", "second"),
    [
        # From the south-west and the north-east, straight ahead and far aside.
        ((-5, -5), (0, 0), (1, 0)),
        ((9, 14), (1, 10), (0, 10)),
        ((30, 4.9), (1, 0), (0, 0)),
        ((-30, 5.1), (0, 10), (1, 10)),
    ],
)
@pytest.mark.parametrize("begins", range(4))
def test_a_drawn_bed_begins_at_its_end_towards_the_gate_wherever_it_was_begun(
    gate, first, second, begins
):
    corners = np.roll([(0, 0), (1, 0), (1, 10), (0, 10)], begins, axis=0)
    for drawn in (corners, corners[::-1]):
        bed = fill._own(OwnBed("S", "Home", Polygon(drawn)), "A", 0.0, Point(gate))
        found = shapely.get_coordinates(bed.outline)
        assert found[:2].tolist() == [list(first), list(second)]
        # The last corner is across from the first.
        assert found[3].tolist() == [first[0], 10 - first[1]]


def test_a_bed_that_was_kept_begins_where_the_plan_began_it():
    kept = OwnBed("A1", "Home", box(0, 0, 1, 10), pegged=False, length_m=10.0)
    for gate in (Point(0, -5), Point(0, 15)):
        assert fill._own(kept, "A", 0.0, gate).outline.equals_exact(kept.outline)


def test_a_layout_has_the_beds_of_its_own_part_alone():
    """10 m is not short, 9.99 m is. 0.75 · (10 + 9.99 + 12) = 23.9925 m²."""
    made = [
        Bed(name, "Home", box(0, 0, 1, 1), length_m, 0.75, 0.0, part=part, block=block)
        for name, length_m, part, block in (
            ("A1", 10.0, 1, 1),
            ("A2", 9.99, 1, 1),
            ("A3", 12.0, 1, 2),
            ("A4", 5.0, 2, 3),
        )
    ]
    found = fill._with_beds(LAYOUT, "A", made)
    assert (found.beds, found.blocks) == (("A1", "A2", "A3"), ("A1-A2", "A3"))
    assert (found.short, found.area_m2) == (1, pytest.approx(23.9925))


KEPT = Candidate(0.0, 0.0, "side", 0.0, 9.0, 1, 0, 0.0, 0.0, 0.0)
LAYOUT = Layout("Home", 1, 1, box(0, 0, 9, 9), KEPT, None, 1, (), erodes=False)
STANDARD = Standard(ANY, 0.0, 1.0, 0.0)


def hinted(
    plots=("Home",), planted=("Home",), layouts=None, covers=(), roll_over=(), **choices
):
    made = Settings.model_validate(
        {"name": "x", "beds": {"any_length": True} | choices, "covers": covers}
    )
    lying = [a_bed(0.0, plot=plot) for plot in planted]
    # Room there is wherever nothing else is said.
    if layouts is None:
        layouts = [replace(LAYOUT, plot=plot) for plot in plots]
    return list(hints.hints(made, plots, Filled(lying, layouts, STANDARD, roll_over)))


FABRIC = [{"kind": "light_fabric", "width_m": 2.0, "length_m": 9.0}]


def test_a_plot_without_beds_is_named_with_the_shortest_bed():
    assert hinted(("Home", "Hill"), ("Home",), shortest_m=5.0) == [
        Fact("plot_without_beds", plot="Hill", shortest_m=5.0)
    ]
    # Where the grower has chosen two lengths, the second is the shortest there is.
    chosen = {"any_length": False, "length_m": 20.0, "second_length_m": 8.0}
    assert Fact("plot_without_beds", plot="Hill", shortest_m=8.0) in hinted(
        ("Home", "Hill"), ("Home",), shortest_m=5.0, **chosen
    )


def test_a_plot_too_small_for_a_bed_is_named_with_what_one_needs():
    """4 m and twice 1.5 and 1 m are 9 m; 0.75 m and twice 1 m are 2.75 m."""
    assert hinted(("Home", "Bit"), ("Home",), layouts=[]) == [
        Fact("plot_too_small", plot="Bit", length_m=9.0, width_m=2.75)
    ]


def test_ground_left_out_for_being_steep_and_beds_where_a_machine_rolls_over():
    layout = replace(LAYOUT, steep_m2=120.4)
    assert hinted(layouts=[layout], roll_over=("A1",), work="tractor") == [
        Fact("steep_ground", plot="Home", area_m2=120, percent=15.0),
        Fact("beds_roll_over", plot="Home", beds=["A1"], percent=12.0, tractor=True),
    ]
    assert hinted(layouts=[replace(LAYOUT, steep_m2=3.9)]) == []
    assert len(hinted(layouts=[replace(LAYOUT, steep_m2=4.0)])) == 1


def test_paths_are_widened_for_covers_or_said_to_be_narrow():
    narrow = Fact("narrow_paths", path_m=0.45, wide_m=0.6, edge_m=0.3)
    assert hinted(covers=FABRIC) == [narrow]
    assert hinted() == []
    assert hinted(covers=FABRIC, path_width_m=0.6) == []
    assert hinted(covers=FABRIC, covered=True) == [
        Fact("wider_paths", path_m=0.6, narrow_m=0.45, edge_m=0.3)
    ]
    assert hinted(covers=FABRIC, covered=True, path_width_m=0.7) == []


def test_two_strips_under_one_hoop_are_said_where_beds_are_laid():
    layout = replace(LAYOUT, plot="Home")
    strips = Fact("two_strips", strip_m=0.75, within_m=0.45, whole_m=1.95)
    wider = Fact("wider_paths", path_m=0.6, narrow_m=0.45, edge_m=0.3)
    assert hinted(layouts=[layout], under_one_hoop=2) == [strips, wider]
    assert hinted(layouts=[], under_one_hoop=2) == [wider]
    assert hinted(layouts=[layout]) == []


def test_beds_that_are_drawn_and_beds_too_steep_are_named():
    layout = replace(LAYOUT, too_steep=("A1", "A2"), plot="Hill")
    made = Settings.model_validate(
        {"name": "x", "files": {"beds": "own.geojson"}, "beds": {"any_length": True}}
    )
    lying = [a_bed(0.0, exists=True), a_bed(0.0, plot="Hill")]
    found = list(
        hints.hints(
            made,
            ["Home", "Hill"],
            Filled(lying, [layout], STANDARD, frozenset()),
        )
    )
    assert found == [
        Fact("plot_keeps_beds", plot="Home", file="own.geojson"),
        Fact("beds_too_steep", plot="Hill", beds=("A1", "A2")),
    ]


# ------------------------------------------------------------------ cautions
@pytest.mark.parametrize(("away_m", "near"), [(8.99, True), (9.0, False)])
def test_a_pipe_of_six_metres_and_three_of_clearance(away_m, near):
    wire = LineString([(-50, 1 + away_m), (50, 1 + away_m)])
    around = surroundings(("overhead line", wire, {}))
    assert cautions.near_overhead_lines(around, [a_bed(90.0)]) == [near]


def test_cautions_of_each_bed_and_of_all():
    three = [a_bed(0.0, "A1"), a_bed(0.0, "A2"), a_bed(0.0, "B1", plot="Hill")]
    line, wet = cautions.NEAR_OVERHEAD_LINE, cautions.WET_IN_MARCH
    flags = ([True, False, True], [True, True, False])
    roll = cautions.MAY_ROLL_OVER
    first = cautions.of_each_bed(*flags, [False, True, True])
    assert first == [(line, wet), (roll, wet), (line, roll)]
    assert list(cautions.of_beds(three, *flags)) == [
        Fact(
            "beds_near_overhead_line",
            beds=["A1", "B1"],
            all_beds=["A1", "A2", "B1"],
            clearance_m=9.0,
        ),
        Fact("plots_wet_in_march", plots=["Home"]),
    ]
    assert list(cautions.of_beds(three, [False] * 3, [False] * 3)) == []


def test_empty_ground_is_cut_by_nothing():
    piece = blocks.piece(shapely.Polygon(), 0.0, np.empty(0), Beds())
    assert blocks.lay_blocks([piece], ANY, Beds(), Point(0, 0), level) == []
