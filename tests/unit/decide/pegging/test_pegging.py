"""Pegs by two tapes: geometry worked by hand, and a crew that sees only the numbers."""

import itertools
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from blindfold import TrueGround, misses_m
from fields_to_peg import at, deep, narrow, pegged, rough, row_of_beds, wide
from made_up import plot_box, surroundings
from shapely import affinity, union_all
from shapely.geometry import LineString, Point, Polygon, box

from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.pegging import bays, landmarks, tape
from fieldmap.decide.pegging.bay_pegs import Target, _helper, _serves, peg_bay
from fieldmap.decide.pegging.crew import SPREADS, Crew, _marks_beside
from fieldmap.decide.pegging.field_pegs import Tunnel
from fieldmap.decide.pegging.model import Check, Landmark, Peg
from fieldmap.decide.pegging.network import Fix, Network, tape_error_m
from fieldmap.decide.pegging.tape import Ground


def level(east, north):
    return np.zeros(np.shape(east))


def lines_of(field):
    """(start, end, length) of everything that is measured, landmarks by themselves."""
    pegs = field.pegs

    def place(of):
        return of if isinstance(of, Landmark) else pegs[of]

    for step in field.steps:
        if isinstance(step, Check):
            yield place(step.start), place(step.end), step.length_m
        else:
            for tie in step.ties:
                yield place(tie.of), step, tie.length_m


# ------------------------------------------------------------------ the blindfold
@pytest.mark.parametrize("lay_out", [narrow, wide, deep])
@pytest.mark.parametrize("fall", [(0.0, 0.0), (0.15, 0.0), (-0.1, 0.11)])
def test_a_crew_that_sees_only_the_numbers_pegs_within_10_cm(lay_out, fall):
    """On ground with a swell of decimetres and up to 15 %: 95 of 100 corners."""
    height = rough(1, *fall)
    plot, beds = lay_out(height)
    field = pegged(plot, beds, height)
    assert field.untied == ()
    found = [misses_m(field, beds, TrueGround(height), seed) for seed in range(3)]
    assert np.mean(np.concatenate(found) <= 0.10) >= 0.95


def test_heights_that_are_smooth_on_the_map_still_peg_rough_ground():
    """The plan knows means over squares of 5 m, as its elevation is smoothed."""
    true = rough(3, 0.05, 0.1)
    plot, beds = deep(true)
    ways = [(east, north) for east in (-2, -1, 0, 1, 2) for north in (-2, -1, 0, 1, 2)]

    def smooth(easting, northing):
        return np.mean([true(easting + a, northing + b) for a, b in ways], axis=0)

    field = pegged(plot, beds, smooth)
    found = [misses_m(field, beds, TrueGround(true), seed) for seed in range(3)]
    assert np.mean(np.concatenate(found) <= 0.10) >= 0.95


# ------------------------------------------------------------------ what must hold
@pytest.mark.parametrize("lay_out", [narrow, wide, deep])
@pytest.mark.parametrize("tape_m", [30.0, 50.0])
def test_nothing_is_outside_nor_longer_than_the_tape(lay_out, tape_m):
    height = rough(2, 0.05, 0.05)
    plot, beds = lay_out(height)
    field = pegged(plot, beds, height, tape_m=tape_m)
    assert all(plot.buffer(0.06).covers(Point(peg.at)) for peg in field.pegs.values())
    for start, end, length_m in lines_of(field):
        assert 0 < length_m <= tape_m
        assert np.hypot(*np.subtract(start.at, end.at)) <= length_m + 1e-9
        assert plot.buffer(0.06).covers(LineString([start.at, end.at]))


def test_tapes_meet_at_45_to_135_degrees():
    height = rough(2, 0.05, 0.05)
    field = pegged(*wide(height), height)
    pegs = field.pegs
    two = [peg for peg in pegs.values() if len(peg.ties) == 2]
    assert len(two) > 4
    for peg in two:
        ways = [
            np.subtract(
                peg.at,
                tie.of.at if isinstance(tie.of, Landmark) else pegs[tie.of].at,
            )
            for tie in peg.ties
        ]
        cosine = ways[0] @ ways[1] / np.prod([np.hypot(*way) for way in ways])
        assert 44.9 <= np.degrees(np.arccos(cosine)) <= 135.1


@pytest.mark.parametrize("kind", ["hedge", "wall", "water"])
def test_ties_go_round_what_no_tape_crosses(kind):
    """A hedge of 20 m stands between the beds and two corners of the plot."""
    height = rough(1)
    plot, beds = narrow(height)
    there = box(*at(51, 51.5), *at(71, 52.0))
    with_it = pegged(plot, beds, height, [(kind, there, {})])
    assert with_it.untied == ()
    for start, end, _length in lines_of(with_it):
        assert not LineString([start.at, end.at]).intersects(there.buffer(-0.01))
    without = pegged(plot, beds, height)
    assert any(
        LineString([start.at, end.at]).intersects(there)
        for start, end, _length in lines_of(without)
    )


def test_a_long_tunnel_and_long_beds_are_pegged_in_pieces():
    """A tunnel of 40 m and beds of 60 m with a tape of 30 m."""
    height = rough(1, 0.03)
    plot = plot_box(50, 50, 90, 130)
    beds = row_of_beds(height, 6, 54, 55, length_m=60.0)
    frame = box(*at(70, 60), *at(76, 100))
    tunnel = Tunnel("T1", frame, 40.0, 6.0, 0.0, 1.5)
    field = pegged(plot, beds, height, tunnels=[tunnel])
    assert field.untied == ()
    assert max(length_m for *_ends, length_m in lines_of(field)) <= 30.0
    (stands,) = field.tunnels
    assert [len(row) for row in field.bays[0].rows] == [2, 2, 2, 2]
    places = [np.array(field.pegs[number].at) for number in stands.corners]
    true = TrueGround(height)
    sides = [true.tape(a, b) for a, b in itertools.pairwise(places)]
    assert sides == pytest.approx([40.0, 6.0, 40.0], abs=0.03)
    # Bows stand evenly, no more than 1.5 m apart: 40 / 1.5 = 26.7, so 27 gaps.
    assert len(stands.bows_m) == 28
    # It falls 3 cm in each metre to the west, so not at all from south to north.
    assert abs(stands.drop_m) < 0.3


@pytest.mark.parametrize(("gate", "drop_m"), [((60, 50), -0.9987), ((60, 82), 0.9987)])
def test_a_tunnel_falls_from_its_end_towards_the_gate(gate, drop_m):
    """5 % up to the north: 20 m by tape are 20 / √1.0025 = 19.975 m on the map, and rise
    0.9987 m; seen from the north it falls by as much.
    """
    frame = box(*at(60, 56), *at(66, 76))
    tunnel = Tunnel("T1", frame, 20.0, 6.0, 0.0, 1.5)
    field = pegged(
        plot_box(50, 50, 72, 82), [], rough(1, 0, 0.05, 0), tunnels=[tunnel], gate=gate
    )
    assert field.tunnels[0].drop_m == pytest.approx(drop_m, abs=0.001)
    assert field.uphill_deg == pytest.approx(0.0, abs=0.1)


@pytest.mark.parametrize(
    ("rises", "uphill_deg"),
    [
        ((0.04, -0.03), 126.87),
        ((-0.03, -0.04), 216.87),
        ((-0.04, 0.03), 306.87),
        # A centimetre in 10 m each way is level.
        ((0.001, 0.001), None),
    ],
)
def test_uphill_is_where_the_ground_rises_to(rises, uphill_deg):
    """4 % east and 3 % south: the arctangent of 4 / 3 from the south, 180 - 53.13°."""
    height = rough(1, *rises, swell_m=0.0)
    plot, beds = plot_box(50, 50, 72, 82), row_of_beds(height, 1, 60, 54)
    found = pegged(plot, beds, height).uphill_deg
    assert found == (uphill_deg and pytest.approx(uphill_deg, abs=0.01))


def test_a_tunnel_across_a_slope_is_as_wide_by_tape_as_its_frame():
    """30 % across: 6 m by tape are 6 / √1.09 = 5.747 m on the map; 20 m along are 20."""
    frame = box(*at(60, 56), *at(66, 76))
    tunnel = Tunnel("T1", frame, 20.0, 6.0, 0.0, 1.5)
    ground = rough(1, 0.3, 0, 0)
    field = pegged(plot_box(50, 50, 72, 82), [], ground, tunnels=[tunnel])
    first, far, across, beside = (
        np.array(field.pegs[number].at) for number in field.tunnels[0].corners
    )
    assert np.hypot(*(beside - first)) == pytest.approx(5.747, abs=0.001)
    assert np.hypot(*(across - far)) == pytest.approx(5.747, abs=0.001)
    assert np.hypot(*(far - first)) == pytest.approx(20.0, abs=0.001)


def test_beds_that_no_tape_reaches_are_said():
    """A tape of 10 m in the middle of a field of 200 m."""
    plot = plot_box(0, 0, 200, 200)
    beds = row_of_beds(level, 3, 100, 100, length_m=8.0)
    field = pegged(plot, beds, level, tape_m=10.0)
    assert field.untied == ("A1", "A2", "A3")
    assert field.bays == ()


# ------------------------------------------------------------------ errors, by hand
def test_errors_are_carried_as_geometry_has_it():
    """Two exact places, 10 m and 10 m away at a right angle: each way one tape's error.

    A third peg straight on from it, 10 m along a string and taped from it, adds its own
    along the string.
    """
    net = Network()
    west = net.add_landmark((0.0, 10.0), 0.0)
    south = net.add_landmark((10.0, 0.0), 0.0)
    peg = net.add_taped((10.0, 10.0), west, south)
    one = tape_error_m(10.0)
    assert net.off_m(peg) == pytest.approx(one)
    last = net.add_on_string((20.0, 10.0), west, peg, peg)
    assert net.off_m(last) == pytest.approx(np.hypot(2 * one, 0.005), rel=0.3)


def turned_by(angle_deg):
    """Places turned about the origin, against the clock."""
    angle = np.radians(angle_deg)
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    return lambda east_m, north_m: tuple((np.array([east_m, north_m]) @ turn).tolist())


@pytest.mark.parametrize("turned_deg", [0.0, 30.0, 75.0, 135.0, 250.0])
def test_a_mark_on_a_string_is_as_sure_as_its_tape_along_and_as_its_ends_across(
    turned_deg,
):
    """A string of 20 m from an exact post to one that is 0.4 m off, and 5 mm crooked.

    A mark at 5 m, taped from the exact post: a quarter of 0.4 m across. Taped from the
    other, over 15 m, it is off along the string by all of it. Whichever way it runs.
    """
    net, to = Network(), turned_by(turned_deg)
    sure, unsure = net.add_landmark(to(0, 0), 0.0), net.add_landmark(to(20, 0), 0.4)
    from_sure = net.add_on_string(to(5, 0), sure, unsure, sure)
    assert net.off_m(from_sure) == pytest.approx(np.hypot(0.1, 0.005))
    from_unsure = net.add_on_string(to(5, 0), sure, unsure, unsure)
    assert net.off_m(from_unsure) == pytest.approx(np.hypot(0.4, tape_error_m(15.0)))
    # Between exact posts there is the tape along the string, and less than that across.
    other = net.add_landmark(to(20, 0), 0.0)
    mark = net.add_on_string(to(10, 0), sure, other, sure)
    assert net.off_m(mark) == pytest.approx(tape_error_m(10.0))
    # Square to the string two tapes of 5 m: a peg is as sure as one of them, each way.
    aside = net.add_landmark(to(10, 10), 0.0)
    origin = net.add_landmark(to(5, 5), 0.0)
    peg = net.add_taped(to(10, 5), origin, aside)
    assert net.off_m(peg) == pytest.approx(tape_error_m(5.0))


def test_what_two_pegs_share_does_not_make_their_distance_unsure():
    """A landmark 1 m off moves the pegs that hang on it by as much."""
    net = Network()
    one, other = net.add_landmark((0, 0), 1.0), net.add_landmark((8, 0), 0.0)
    assert net.off_m(one) == 1.0
    first = net.add_taped((4, 4), one, other)
    # A right angle: all of the landmark's error towards the peg, none across.
    assert net.off_m(first) == pytest.approx(1.0, rel=0.001)


def test_tapes_that_meet_at_a_sharp_angle_are_not_taken():
    """0 and 10 m apart, 45° is met at (5, 12.07): 2 atan(5 / 12.07) = 45°."""
    net = Network()
    pair = net.add_landmark((0, 0), 0.0), net.add_landmark((10, 0), 0.0)
    assert net.crosses_well((5, 12.0), *pair)
    assert not net.crosses_well((5, 12.2), *pair)
    # 135° from below: 2 atan(5 / 2.07) = 135°.
    assert net.crosses_well((5, 2.1), *pair)
    assert not net.crosses_well((5, 2.0), *pair)
    assert net.best_fix((5, 30.0), pair) is None


# ------------------------------------------------------------------ ground and bays
def test_a_tape_lies_on_the_ground_and_spans_hollows():
    """1 m up in 10 m: the root of 101; a ditch on the way adds nothing."""

    def slope(east, north):
        ditch = np.where(np.abs(np.asarray(east) - 5) < 0.6, -0.5, 0.0)
        return 0.1 * np.asarray(east) + ditch

    ground = Ground(slope, box(0, 0, 20, 20), Point(), 30.0)
    assert ground.length_m((0, 0), (10, 0)) == pytest.approx(np.sqrt(101))
    assert ground.length_m((10, 0), (0, 0)) == pytest.approx(np.sqrt(101))


@pytest.mark.parametrize(("flat_m", "points"), [(10.0, 21), (10.1, 22), (0.3, 2)])
def test_the_ground_under_a_tape_is_read_each_half_metre(flat_m, points):
    """10 m are 20 steps between 21 points; a little more takes one step more."""
    read = []

    def height(east, north):
        read.append(len(east))
        return level(east, north)

    ground = Ground(height, box(-50, -50, 50, 50), Point(), 30.0)
    assert ground.length_m((0.0, 0.0), (flat_m, 0.0)) == pytest.approx(flat_m)
    assert read == [points]


def test_beds_side_by_side_make_a_bay_and_a_gap_ends_it():
    beds = row_of_beds(level, 4, 60, 60) + row_of_beds(level, 3, 70, 60, "B")
    found = bays.runs(beds, at(60, 50))
    assert [[bed.name for bed in run.beds] for run in found] == [
        ["A1", "A2", "A3", "A4"],
        ["B1", "B2", "B3"],
    ]
    assert found[0].hand == "right"
    assert found[0].near[0, 0].tolist() == list(at(60, 60))
    assert found[0].far[-1, 1].tolist() == list(at(64.35, 85))
    # From the other corner they are met the other way round.
    back = bays.runs(beds, at(80, 100))
    assert [bed.name for bed in back[0].beds] == ["B3", "B2", "B1"]
    assert back[0].near[0, 0].tolist() == list(at(73.15, 85))
    assert back[0].hand == "right"


@pytest.mark.parametrize("turned_deg", [0.0, 30.0, 60.0, 120.0, 150.0])
@pytest.mark.parametrize(
    ("gate", "first", "hand"),
    [
        # South-west of beds to the north, then south-east of them, then beyond them.
        (at(55, 50), "A1", "right"),
        (at(70, 50), "A4", "left"),
        (at(55, 95), "A1", "left"),
        (at(70, 95), "A4", "right"),
    ],
)
def test_the_next_bed_lies_to_the_same_hand_however_the_field_is_turned(
    turned_deg, gate, first, hand
):
    """Beds and gate turned together about the corner of the first bed."""

    def turned(shape):
        return affinity.rotate(shape, -turned_deg, origin=at(60, 60))

    beds = [
        replace(bed, outline=turned(bed.outline), bearing_deg=turned_deg)
        for bed in row_of_beds(level, 4, 60, 60)
    ]
    start = turned(Point(gate))
    (run,) = bays.runs(beds, (start.x, start.y))
    assert (run.beds[0].name, run.hand) == (first, hand)


def test_one_goes_from_each_bay_to_the_one_that_begins_nearest_to_it():
    """From the gate at (60, 50) 10 m to A, 15.1 m to C at (75, 52) and 16 m to B.

    From A at (60, 60) it is 6 m on to B at (60, 66), and 17 m to C.
    """
    places = {"C": (75, 52), "B": (60, 66), "A": (60, 60)}
    beds = [
        bed
        for letter, place in places.items()
        for bed in row_of_beds(level, 2, *place, letter, length_m=5.0)
    ]
    found = bays.runs(beds, at(60, 50))
    assert [run.beds[0].name for run in found] == ["A1", "B1", "C1"]


@pytest.mark.parametrize(
    ("length_m", "pieces_m"),
    # 99 of 100 of a tape of 30 m is 29.7 m; else pieces of up to 80 of 100, 24 m.
    [(29.7, [29.7]), (29.8, [14.9] * 2), (48.0, [24.0] * 2), (48.6, [16.2] * 3)],
)
def test_a_bed_longer_than_the_tape_is_cut_into_equal_pieces(length_m, pieces_m):
    (run,) = bays.runs(row_of_beds(level, 2, 60, 60, length_m=length_m), at(60, 50))
    cut = bays.pieces(run, 30.0)
    assert [each.beds[0].length_m for each in cut] == pytest.approx(pieces_m)
    # They lie one behind the other from the near end to the far one.
    ends = [each.near[0, 0, 1] for each in cut] + [cut[-1].far[0, 0, 1]]
    assert np.diff(ends) == pytest.approx(pieces_m)


@pytest.mark.parametrize("numbers", [(4, 5, 6, 1, 2, 3), (6, 5, 4, 3, 2, 1)])
def test_of_one_block_the_bay_with_the_lowest_number_is_pegged_first(numbers):
    """Of a block that a wide path parts in two, though the gate is nearer to the other."""
    beds = row_of_beds(level, 3, 60, 60) + row_of_beds(level, 3, 70, 60, "B")
    named = [
        replace(bed, block=1, number=number)
        for bed, number in zip(beds, numbers, strict=True)
    ]
    found = bays.runs(named, at(60, 50))
    assert [run.beds[0].number for run in found] == [1, 4]


@pytest.mark.parametrize(
    ("count", "tape_m", "begins"),
    [
        # Beds of 25 m: √(29.7² - 25²) = 16.03 m, so up to 13 beds of 1.2 m.
        (12, 30.0, (0,)),
        (13, 30.0, (0,)),
        # Sections are half a tape, 15 m: 12 beds, and with 14.4 m just as many.
        (14, 30.0, (0, 7)),
        (26, 30.0, (0, 9, 18)),
        (24, 28.8, (0, 12)),
        (36, 30.0, (0, 12, 24)),
        # √(49.5² - 25²) = 42.7 m, but not wider than long: 25 / 1.2 = 20 beds.
        (20, 50.0, (0,)),
        (36, 50.0, (0, 18)),
    ],
)
def test_a_bay_is_one_section_where_the_tape_spans_it(count, tape_m, begins):
    (run,) = bays.runs(row_of_beds(level, count, 60, 60), at(60, 50))
    assert bays.sections(run, tape_m) == begins


def test_knots_are_the_edges_of_beds_and_one_line_serves_bays_alike():
    height = rough(1, swell_m=0.0)
    field = pegged(*deep(height), height)
    assert [bay.line for bay in field.bays] == [0, 0, 0]
    assert field.lines_m[0] == pytest.approx([1.2 * number for number in range(10)])
    assert field.bays[0].sections == (0, 10)
    assert field.bays[0].checked[:2] == ("A4", "A8")


@pytest.mark.parametrize(
    ("start", "end", "is_free"),
    [
        ((4, 4), (14, 10), False),  # through the barn, from corner to corner
        ((4, 4), (14, 4), True),  # along its wall
        ((2, 7), (16, 7), False),  # straight through
        ((2, 2), (16, 2), True),
        ((0, 15), (20, 15), True),  # along the fence
        ((5, 12), (5, 18), False),  # across it
    ],
)
def test_no_string_goes_through_a_building_and_one_may_lie_along_it(
    start, end, is_free
):
    barn, fence = box(4, 4, 14, 10), LineString([(0, 15), (20, 15)])
    ground = Ground(level, box(0, 0, 20, 20), union_all([barn, fence]), 30.0)
    assert ground.is_inside(start, end) is is_free


# ------------------------------------------------------------------ landmarks
def test_a_corner_drawn_twice_is_one_and_a_point_on_a_side_is_none():
    outline = Polygon([(0, 0), (10, 0), (20, 0), (20, 0), (20, 9), (0, 9), (0, 9)])
    found = list(landmarks.corners("plot corner", "Home", outline))
    assert [each.at for each in found] == [(0, 0), (20, 0), (20, 9), (0, 9)]
    assert {each.nth for each in found} == {1}


def test_corners_posts_and_taps_are_found_with_their_side():
    plot = plot_box(50, 50, 72, 82)
    things = surroundings(
        ("building", box(*at(73, 60), *at(79, 66)), {"name": "Barn"}),
        ("gate", LineString([at(55, 50), at(59, 50)]), {"name": "Gate"}),
        ("water point", Point(at(60, 49)), {"name": "Tap"}),
        ("tree", Point(at(150, 150)).buffer(2), {"name": "far off"}),
        ("hedge", box(*at(50, 83), *at(72, 84)), {}),
    )
    found = landmarks.find("Home", plot, things, 30.0)
    names = {(each.kind, each.name, each.side) for each in found}
    places = {(each.kind, each.side): each.at for each in found}
    assert places["gatepost", "west"] == at(55, 50)
    assert places["building corner", "north-east"] == at(79, 66)
    assert places["plot corner", "south-west"] == at(50, 50)
    assert names == {
        ("gatepost", "Gate", "west"),
        ("gatepost", "Gate", "east"),
        ("tap", "Tap", ""),
        *(
            (kind, name, side)
            for kind, name in (("plot corner", "Home"), ("building corner", "Barn"))
            for side in ("north-west", "north-east", "south-east", "south-west")
        ),
    }


def test_gates_that_are_no_line_have_no_posts():
    line = LineString([at(55, 50), at(59, 50)])
    things = surroundings(
        ("gate", line, {}), ("gate", Point(at(9, 9)), {}), ("gate", line.buffer(1), {})
    )
    assert landmarks.gates_without_posts(things) == 2
    assert landmarks.gates_without_posts(things[:1]) == 0
    assert landmarks.gates_without_posts(things[:0]) == 0


def test_first_of_all_two_landmarks_are_compared():
    height = rough(1)
    field = pegged(*narrow(height), height)
    first = field.steps[0]
    assert isinstance(first, Check)
    assert first.kind == "found"
    assert isinstance(field.steps[1], Peg)
    kinds = [check.kind for check in field.checks]
    assert kinds[:2] == ["found", "shape"]


@pytest.mark.parametrize("lay_out", [narrow, wide, deep])
def test_a_bay_is_proved_from_a_landmark_at_the_edge_that_was_pegged_last(lay_out):
    """The first edge hangs on landmarks itself; a fault of all the others ends there."""
    height = rough(1, 0.05)
    field = pegged(*lay_out(height), height)
    last = {row[-1] for bay in field.bays for row in bay.rows}
    proved = [check.end for check in field.checks if check.kind == "place"]
    assert proved
    assert last.issuperset(proved)


@pytest.mark.parametrize("lay_out", [narrow, wide, deep])
@pytest.mark.parametrize("tape_m", [20.0, 30.0])
def test_no_length_is_proved_twice(lay_out, tape_m):
    height = rough(1)
    field = pegged(*lay_out(height), height, tape_m=tape_m)
    checks = [(step.start, step.end) for step in field.steps if isinstance(step, Check)]
    assert len(checks) == len(set(checks))
    assert checks


def test_a_single_bed_has_pegs_along_one_edge_and_the_stick_sets_the_other():
    height = rough(1, 0.05)
    plot, beds = plot_box(50, 50, 72, 82), row_of_beds(height, 1, 60, 54)
    field = pegged(plot, beds, height)
    (bay,) = field.bays
    assert [len(row) for row in bay.rows] == [1, 1]
    assert misses_m(field, beds, TrueGround(height), 0).max() <= 0.10


def test_beds_with_numbers_are_pegged_in_their_order():
    """As one walks: the block of low numbers first, and its beds from 1 on."""
    beds = [
        replace(bed, block=block, number=number)
        for block, row in (
            (2, row_of_beds(level, 3, 60, 60, "B")),
            (1, row_of_beds(level, 3, 70, 60)[::-1]),
        )
        for number, bed in enumerate(row, start=1)
    ]
    found = bays.runs(beds, at(60, 50))
    assert [[bed.name for bed in run.beds] for run in found] == [
        ["A3", "A2", "A1"],
        ["B1", "B2", "B3"],
    ]
    assert [run.hand for run in found] == ["left", "right"]


def crew_on(height, *posts, tape_m=30.0, turn_deg=0.0):
    ground = Ground(height, box(-50, -50, 50, 50), Point(), tape_m)
    marks = [Landmark("post", "", "", post) for post in posts]
    return Crew(ground, marks, turn_deg)


def test_the_tape_must_reach_along_the_slope():
    """On 30 % a metre takes 1.044 m of tape: 28.5 m take 29.75, 29 m take 30.28."""
    crew = crew_on(lambda east, north: 0.3 * np.asarray(east), (0.0, 0.0))
    assert crew.in_reach((28.5, 0.0)) == [0]
    assert crew.in_reach((29.0, 0.0)) == []


def test_a_tape_is_tried_from_the_twelve_nearest_places_alone():
    """Posts 14 m, 13 m and so on to 1 m to the west: the nearest twelve are 1 to 12 m off."""
    crew = crew_on(level, *((float(-away_m), 0.0) for away_m in range(14, 0, -1)))
    assert crew.in_reach((0.0, 0.0)) == [13, 12, 11, 10, 9, 8, 7, 6, 5, 4, 3, 2]


def strings_for(place, *posts):
    """Ends of the strings on which marks are tried for a place."""
    return [
        tuple(end.at for end in ends) for ends in crew_on(level, *posts)._strings(place)
    ]


@pytest.mark.parametrize(
    ("east_m", "begins_at"),
    # Half of 40 m and 5 m more, from either post, and 5 m before it.
    [
        (-5.5, []),
        (-4.5, [0.0]),
        (4.0, [0.0]),
        (15.5, [0.0, 40.0]),
        (24.5, [40.0, 0.0]),
        (25.5, [40.0]),
    ],
)
def test_a_string_is_taped_from_its_nearer_end(east_m, begins_at):
    found = strings_for((east_m, 3.0), (0.0, 0.0), (40.0, 0.0))
    assert [start[0] for start, _end in found] == begins_at


def test_strings_that_pass_near_and_begin_near_are_tried_first():
    """A metre along a string counts as 0.2 m aside, at (2, 6) between four posts.

    From (0, 10) down 2 + 0.2 · 4 = 2.8 m, from (0, 0) up 2 + 0.2 · 6 = 3.2. Along the
    diagonal from (0, 10) the place lies 3.58 m on and 2.68 m aside: 3.4. From (0, 10) east
    4 + 0.2 · 2 = 4.4.
    """
    south_west, south_east = (0.0, 0.0), (20.0, 0.0)
    north_west, north_east = (0.0, 10.0), (20.0, 10.0)
    posts = (south_west, south_east, north_west, north_east)
    assert strings_for((2.0, 6.0), *posts) == [
        (north_west, south_west),
        (south_west, north_west),
        (north_west, south_east),
        (north_west, north_east),
    ]


def test_a_string_along_the_edge_of_the_plot_goes_before_one_across_it():
    """The edge lies at 50 m; across the plot a string counts as 20 m farther away."""
    edge, across = ((0.0, 50.0), (20.0, 50.0)), ((0.0, 35.0), (20.0, 35.0))
    found = strings_for((2.0, 36.0), *edge, *across)
    assert found[0] == edge
    # From 32.5 m it is 17.5 m to the edge, and 2.5 m and 20 to the other.
    assert strings_for((2.0, 32.5), *edge, *across)[0] == edge


def test_marks_beyond_the_tape_hang_on_marks_at_whole_metres():
    """With 30 m of tape each 28 m, 95 of 100 of it: from -40 m at -12 and 16, then at 30."""
    crew = crew_on(level, (-40.0, 0.0), (40.0, 0.0))
    number = crew._mark((30.0, 0.0), tuple(crew.landmarks))
    places = [step.at for step in crew.steps]
    assert places == [(-12.0, 0.0), (16.0, 0.0), (30.0, 0.0)]
    assert crew.at(number) == (30.0, 0.0)


@pytest.mark.parametrize(
    ("direct_m", "marked_m", "worst_m", "steps"),
    [
        # Marks on a string are set where they are better by over a fifth: by 2 of 10 cm.
        (0.10, 0.079, 9.0, 3),
        (0.10, 0.081, 9.0, 1),
        (0.10, 0.11, 9.0, 1),
        (0.10, None, 9.0, 1),
        (None, 0.5, 9.0, 3),
        # What is known to 5 cm needs none, but where it must be known better.
        (0.05, 0.03, 9.0, 1),
        (0.04, 0.03, 0.035, 3),
        # As well as asked is well enough.
        (0.04, None, 0.04, 1),
        (0.10, None, 0.10, 1),
        (0.10, 0.079, 0.079, 3),
        # Neither is.
        (0.04, 0.03, 0.025, 0),
        (0.10, 0.081, 0.09, 0),
        (0.10, 0.079, 0.07, 0),
        (None, None, 9.0, 0),
    ],
)
def test_marks_on_a_string_are_set_where_they_are_worth_it(
    monkeypatch, direct_m, marked_m, worst_m, steps
):
    """Two marks and the peg are three steps, tapes from two posts one."""
    crew = crew_on(level, (0.0, 0.0), (40.0, 0.0), (10.0, 14.0))
    direct = None if direct_m is None else Fix(0, 2, direct_m)
    string, marks = tuple(crew.landmarks[:2]), [(6.0, 0.0), (14.0, 0.0)]
    marked = None if marked_m is None else (marked_m, string, marks)
    monkeypatch.setattr(crew, "fix", lambda _at: direct)
    monkeypatch.setattr(crew, "_best_marks", lambda _at: marked)
    number = crew.peg_from_landmarks((10.0, 4.0), "corner", worst_m)
    assert len(crew.steps) == steps
    assert number == (steps or None)


def test_a_bearing_leads_from_the_first_tie_to_the_peg():
    """Due east on the grid, which is turned 2° from true north."""
    crew = crew_on(level, (0.0, 0.0), (10.0, -10.0), turn_deg=2.0)
    number = crew.peg((10.0, 0.0), "corner", Fix(0, 1, 0.0))
    (peg,) = (step for step in crew.steps if isinstance(step, Peg))
    assert number == peg.number == 1
    assert peg.bearing_deg == pytest.approx(92.0)
    assert [tie.length_m for tie in peg.ties] == pytest.approx([10.0, 10.0])


def test_only_what_no_tape_has_measured_is_new():
    """A peg taped from a post and from another peg; a third from two posts."""
    crew = crew_on(level, (0.0, 0.0), (10.0, -10.0), (20.0, 0.0))
    first = crew.peg((10.0, 0.0), "corner", Fix(0, 1, 0.0))
    second = crew.peg((10.0, 10.0), "corner", Fix(0, 3, 0.0))
    third = crew.peg((0.0, 10.0), "corner", Fix(0, 1, 0.0))
    assert not crew.is_new(first, second)
    assert not crew.is_new(second, first)
    assert crew.is_new(second, third)
    assert crew.is_new(third, first)


def test_tapes_from_two_marks_cross_as_well_as_said():
    """A mark two distances along the string is seen at the arctangent of 2, and so on."""
    crossing_deg = [np.degrees(np.arctan(b) - np.arctan(a)) for a, b in SPREADS]
    assert np.round(crossing_deg).tolist() == [90, 113, 127, 74, 50, 50, 72, 72]


@pytest.mark.parametrize(
    ("place", "marks_m"),
    [
        # 4 m off and 20 m along: 20 ± 4, ± 6, ± 8, ± 3; + 4.8; - 4.8; -2 + 4; -4 + 2.
        ((20.0, 4.0), [(16, 24), (14, 26), (12, 28), (17, 23), (20, 24.8), (15.2, 20),
                       (18, 24), (16, 22)]),
        # As if 1.5 m off: ± 1.5, ± 2.25, ± 3, ± 1.125, 1.8, and 0.75 with 1.5.
        ((20.0, 0.5), [(18.5, 21.5), (17.8, 22.2), (17, 23), (18.9, 21.1), (20, 21.8),
                       (18.2, 20), (19.2, 21.5), (18.5, 20.8)]),
        # 1 m before the string begins: marks from its end on, over 1 m apart.
        ((-1.0, 2.0), [(0, 2), (0, 3), (0, 1.4)]),
    ],
)  # fmt: skip
def test_marks_lie_to_either_side_of_a_place_by_its_distance(place, marks_m):
    string = tuple(Landmark("post", "", "", at) for at in ((0.0, 0.0), (40.0, 0.0)))
    found = [[mark[0] for mark in pair] for pair in _marks_beside(place, string)]
    assert found == [pytest.approx(list(pair)) for pair in marks_m]


def test_a_bay_between_trees_alone_is_pegged_though_all_of_it_is_unsure():
    """Trees are known to a decimetre, so no peg is known to 5 cm, with a helper or not."""
    marks = [Landmark("tree", "", "", at(*place)) for place in ((50, 66), (75, 66))]
    crew = Crew(Ground(level, plot_box(45, 50, 80, 90), Point(), 30.0), marks, 0.0)
    (run,) = bays.runs(row_of_beds(level, 3, 60, 60), at(60, 50))
    near, far = peg_bay(crew, run)
    corners = [run.edge(end, bed) for end in ("near", "far") for bed in (0, 3)]
    assert [crew.at(number) for number in (*near, *far)] == corners
    assert all(crew.off_m(number) > 0.05 for number in (*near, *far))


def test_a_corner_beyond_all_landmarks_is_pegged_over_a_helper_in_the_bay():
    """31 beds of 25 m with a tape of 30 m, and posts along their near ends alone.

    The far corner is 25 m from the near one, over 36 m from the third peg of the line, and
    from the second, 13.2 m along it, tapes would cross at atan(13.2 / 25) = 28°.
    """
    posts = [Landmark("post", "", "", at(east, 58)) for east in (60, 78, 96)]
    crew = Crew(Ground(level, plot_box(0, 0, 199, 199), Point(), 30.0), posts, 0.0)
    (run,) = bays.runs(row_of_beds(level, 31, 60, 60), at(60, 50))
    near, far = peg_bay(crew, run)
    pegs = [step for step in crew.steps if isinstance(step, Peg)]
    (helper,) = [peg for peg in pegs if peg.role == "helper"]
    assert box(*at(60, 60), *at(96.75, 85)).contains(Point(helper.at))
    (corner,) = [peg for peg in pegs if peg.number == far[0]]
    assert [tie.of for tie in corner.ties] == [near[0], helper.number]
    assert [crew.at(number) for number in (far[0], far[-1])] == [
        pytest.approx(at(60, 85)),
        pytest.approx(at(96.75, 85)),
    ]
    assert max(peg.off_m for peg in pegs) <= 0.05


@pytest.mark.parametrize(
    ("helper", "serves"),
    [
        # Seen from (0, 25) a peg at (0, 0) lies due south; 45°, 55°, 125° and 135° from it.
        ((5.0, 20.0), False),
        ((10.0, 18.0), True),
        ((10.0, 32.0), True),
        ((10.0, 35.0), False),
        # Square to it, within nine tenths of the tape or not.
        ((26.0, 25.0), True),
        ((28.0, 25.0), False),
    ],
)
def test_a_helper_serves_where_tapes_cross_well_at_the_corner(helper, serves):
    origin, corner = np.array([0.0, 0.0]), np.array([0.0, 25.0])
    assert _serves(helper, origin, corner, 30.0) is serves


@pytest.mark.parametrize(
    ("second_m", "taken"), [(0.0492, (10.0, 18.75)), (0.0488, (11.5, 18.75))]
)
def test_of_helpers_alike_to_a_millimetre_the_first_is_taken(second_m, taken):
    """Known to 50 mm, and to 49.2 or 48.8 mm; tapes cross at 58° and at 61°."""
    known_m = {(10.0, 18.75): 0.05, (11.5, 18.75): second_m}
    places = [(0.0, 0.0), (20.0, 0.0)]
    crew = SimpleNamespace(
        at=places.__getitem__,
        ground=SimpleNamespace(holds=known_m.__contains__, tape_m=30.0),
        fix=lambda at, _known: Fix(0, 1, known_m[at]),
    )
    fix, at_ = _helper(crew, Target("far", 0, (0.0, 25.0)), [0, 1])
    assert (at_, fix.off_m) == (taken, known_m[taken])


def a_bed(west, south=60.0, north=85.0, length_m=25.0):
    outline = box(*at(west, south), *at(west + 0.75, north))
    return Bed(f"B{west:g}", "Home", outline, length_m, 0.75, 0.0)


@pytest.mark.parametrize(
    ("second", "count"),
    [
        # One end in line to 12 cm is enough.
        (a_bed(61.2, 60.11, 85.13), 1),
        (a_bed(61.2, 60.13, 85.11), 1),
        (a_bed(61.2, 60.13, 85.13), 2),
        # Lengths alike to 6 cm.
        (a_bed(61.2, length_m=25.05), 1),
        (a_bed(61.2, length_m=25.07), 2),
        # From middle to middle up to two widths and 1.5 m: 3 m.
        (a_bed(62.99), 1),
        (a_bed(63.01), 2),
    ],
)
def test_a_bay_goes_on_where_the_next_bed_is_in_line_alike_and_near(second, count):
    assert len(bays.runs([a_bed(60.0), second], at(60, 50))) == count


@pytest.mark.parametrize(("third", "count"), [(62.47, 1), (62.33, 1), (62.49, 2)])
def test_paths_of_a_bay_are_alike_to_eight_centimetres(third, count):
    """After a step of 1.2 m steps of 1.27, 1.13 and 1.29 m."""
    beds = [a_bed(60.0), a_bed(61.2), a_bed(third)]
    assert len(bays.runs(beds, at(60, 50))) == count


def test_a_tape_over_ground_of_unknown_height_is_as_long_as_its_line():
    """From 2 m along to 9 m: 7 m, whatever lies between."""
    away_m, height_m = np.array([2.0, 4.0, 9.0]), np.array([1.0, np.nan, 3.0])
    assert tape.taut_m(away_m, height_m) == 7.0
