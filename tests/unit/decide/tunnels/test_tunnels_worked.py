"""Room, shade, rank and facts of walk-in tunnels, worked by hand."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from made_up import CRS, NORTH, WEST, plane, plot_box, site, surroundings
from shapely.geometry import LineString, Point, box

from fieldmap.decide.tunnels import (
    between,
    criteria,
    describe,
    light,
    rank,
    room,
    search,
    under_tunnels,
)
from fieldmap.decide.tunnels.criteria import SAME, Criteria
from fieldmap.decide.tunnels.find import _no_room
from fieldmap.decide.tunnels.light import Curve
from fieldmap.decide.tunnels.model import (
    Access,
    GroundUnder,
    LightThere,
    RainFromAbove,
    WindThere,
)
from fieldmap.decide.tunnels.search import Candidates, Directions
from fieldmap.decide.tunnels.standing import standing, with_own_beds, working_space
from fieldmap.decide.tunnels.tunnel_sets import Gain, gains, tunnel_sets
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import NORTH as NORTHERN
from fieldmap.model.season_year import SOUTH
from fieldmap.model.settings import Sun, TunnelSize, Wind
from fieldmap.model.site import OwnBed

SIZE = TunnelSize(length_m=20.0, width_m=6.0, height_m=3.0)


# ------------------------------------------------------------------ the sun
def test_a_tunnel_is_used_in_all_but_the_three_darkest_months():
    """February to October; August to April in the south."""
    assert room.months_of_use(SIZE, NORTHERN) == (2, 10)
    assert room.months_of_use(SIZE, SOUTH) == (8, 4)
    own = SIZE.model_copy(update={"first_month": 3, "last_month": 12})
    assert room.months_of_use(own, NORTHERN) == (3, 12)
    assert under_tunnels.dark_months(NORTHERN) == [10, 11, 0]
    assert under_tunnels.dark_months(SOUTH) == [4, 5, 6]


@pytest.mark.parametrize(
    ("latitude", "heights"),
    # Noon shadow at the winter solstice in heights of what stands: cot(90° - latitude -
    # 23.44°), as tabulated for 35 to 55° (solar geometry).
    [(35, 1.63), (40, 2.00), (45, 2.53), (50, 3.36), (55, 4.89), (-45, 2.53)],
)
def test_the_gap_for_the_noon_sun_of_the_shortest_day(latitude, heights):
    gap_m = between.noon_gap_m(3.0, 90.0, float(latitude))
    assert gap_m == pytest.approx(3.0 * heights, abs=0.015)
    # Ridges turned by 30° from north: half of it, sin 30°. Along the sun: none.
    assert between.noon_gap_m(3.0, 30.0, latitude) == pytest.approx(gap_m / 2)
    assert between.noon_gap_m(3.0, 150.0, latitude) == pytest.approx(gap_m / 2)
    assert between.noon_gap_m(3.0, 0.0, latitude) == pytest.approx(0.0)


def test_no_gap_keeps_a_noon_sun_that_does_not_rise():
    # 90° - 66.56° - 23.44° is level.
    assert between.noon_gap_m(3.0, 90.0, 66.56) is None
    assert between.noon_gap_m(3.0, 90.0, -67.0) is None
    assert between.noon_gap_m(3.0, 90.0, 66.0) > 100


# ------------------------------------------------------------------ room
def test_free_ground_keeps_clear_of_each_thing_as_its_kind_asks():
    around = surroundings(
        ("building", box(0, 0, 2, 20), {"height_m": 5.0}),
        ("tree", Point(20, 10), {"height_m": 4.0}),
        ("road", LineString([(0, 30), (40, 30)]), {}),
    )
    (ground,) = room.free_ground([box(-10, -10, 50, 40)], around, 1.0)
    assert ground.bounds == pytest.approx((-9, -9, 49, 39))
    for x, y, free in (
        (4.9, 10, False),  # 3 m off a building
        (5.1, 10, True),
        (16.1, 10, False),  # as far off a tree as it is high
        (15.9, 10, True),
        (30, 28.1, False),  # 2 m off a road
        (30, 27.9, True),
    ):
        assert ground.covers(Point(x, y)) == free


def test_a_footprint_is_the_tunnel_and_its_working_space_about_the_origin():
    assert room.footprint(SIZE, 0.0, 1.5).bounds == pytest.approx(
        (-4.5, -11.5, 4.5, 11.5)
    )
    assert room.footprint(SIZE, 90.0, 0.0).bounds == pytest.approx((-10, -3, 10, 3))
    # 3-4-5: the end of the ridge lies at 10 · (0.6, 0.8).
    turned = room.footprint(SIZE, 36.8698976, 0.0)
    assert turned.covers(Point(5.99, 7.99))
    assert not turned.covers(Point(-5.99, 7.99))


def test_a_tunnel_that_is_moved_takes_the_ground_of_all_its_positions():
    moved = SIZE.model_copy(update={"positions": 3})
    assert room.footprint(moved, 0.0, 1.5).bounds == pytest.approx(
        (-4.5, -31.5, 4.5, 31.5)
    )


def test_a_tunnel_takes_its_working_space_from_beds():
    assert working_space(box(0, 0, 20, 6)).bounds == (-1.5, -1.5, 21.5, 7.5)


def test_beds_that_stay_are_ground_to_keep_off():
    tree = surroundings(("tree", Point(0, 0), {"height_m": 4.0}))
    drawn = OwnBed("North", "Home", box(0, 0, 10, 1))
    off = with_own_beds(tree, [drawn])
    assert list(off["kind"]) == ["tree", "keep off"]
    assert off.geometry.iloc[1].equals(drawn.outline)


def test_tunnels_stand_among_the_surroundings_as_boxes_that_dim():
    around = surroundings(("tree", Point(WEST, NORTH), {"height_m": 4.0}))
    home = site(plane(20, 20), {"Home": plot_box(0, 180, 20, 200)}, around)
    outline = box(WEST, NORTH - 9, WEST + 20, NORTH - 3)
    place = SimpleNamespace(name="T1", size=SIZE, outline=outline)
    found = standing(home.surroundings, [place])
    assert list(found["kind"]) == ["tree", "fence"]
    last = found.iloc[1]
    assert (last["name"], last["height_m"], last["porosity"]) == ("T1", 3.0, 0.64)
    assert (last["clear_stem_m"], last["leaf"]) == (0.0, "none")
    assert last.geometry.equals(outline)
    assert standing(home.surroundings, []) is home.surroundings
    bare = site(plane(20, 20), {"Home": plot_box(0, 180, 20, 200)})
    alone = standing(bare.surroundings, [place])
    assert list(alone["kind"]) == ["fence"]
    assert alone.crs == CRS


# ------------------------------------------------------------------ what is searched
def places(n=1, **columns):
    """Places of a level plot, alike but for what is given."""
    plain = {
        "plot": np.zeros(n, np.intp),
        "centre": np.stack([np.arange(n) * 100.0, np.zeros(n)], axis=1),
        "bearing_deg": np.zeros(n),
        "along_percent": np.zeros(n),
        "across_percent": np.zeros(n),
        "earth_m3": np.full(n, 10.0),
        "offset_c": np.zeros(n),
        "cold_c": np.zeros(n),
        "sun": np.full(n, 5.0),
        "wet_share": np.zeros(n),
        "rain_m2": np.zeros(n),
        "storm_share": np.ones(n),
    }
    given = {name: np.asarray(values, float) for name, values in columns.items()}
    return Candidates(**plain | given, compared=n)


NO_WINDS = Directions((0.0,))


def test_bearings_along_beds_are_the_same_once_these_were_kept_in_a_file():
    """Tenths of a millimetre in 20 m are ten-thousandths of a degree."""
    assert search.bearings_deg(71.5498) == search.bearings_deg(71.5502)
    assert {71.55, 161.55} <= set(search.bearings_deg(71.5498))
    assert search.bearings_deg(179.999) == search.bearings_deg(0.0)


def test_bearings_every_five_degrees_and_those_of_the_beds():
    assert search.bearings_deg(0.0) == [5.0 * step for step in range(36)]
    found = search.bearings_deg(93.0)
    assert len(found) == 38
    assert {93.0, 3.0} <= set(found)
    assert search.bearings_deg(180.0)[0] == 0.0


def test_beds_and_storms_are_compared_on_the_grid():
    home = site(
        plane(20, 20),
        {"Home": plot_box(0, 0, 40, 10), "Hill": plot_box(0, 20, 10, 60)},
        wind={"storm_from_deg": 1.0, "summer_breeze_from_deg": 191.0},
    )
    assert search.directions(home) == Directions((90.0, 0.0), 1.0, 191.0)
    turned = replace(home, convergence_deg=2.0)
    assert search.directions(turned) == Directions((90.0, 0.0), -1.0, 189.0)
    own = replace(turned, plots=turned.plots.assign(bearing_deg=[1.0, 45.0]))
    assert search.directions(own).beds_deg == (179.0, 43.0)


def test_a_frame_takes_five_per_cent_along_and_two_across():
    found = places(4, along_percent=[5, 6, 5, 8], across_percent=[2, 2, 3.5, 4])
    assert found.over_percent.tolist() == [0.0, 1.0, 1.5, 5.0]


def test_the_best_of_each_four_metres_is_kept():
    """Cells of 4 m: 0-4 and 4-8; in one cell what moves least earth."""
    found = places(
        4,
        centre=[(0.0, 0.0), (3.9, 3.9), (4.0, 0.0), (0.0, 4.0)],
        earth_m3=[9.0, 8.0, 20.0, 30.0],
    )
    assert sorted(search._best_of_cells(found).tolist()) == [1, 2, 3]
    assert search._best_of_cells(found.take(np.zeros(4, bool))).tolist() == []


def rain_m2(along, across, catchment_m, size=SIZE):
    there = SimpleNamespace(along=np.array([along]), across=np.array([across]))
    return search._rain_m2(there, np.array([catchment_m]), size).item()


def test_water_from_above_is_what_drains_over_the_width_that_lies_across_the_fall():
    """50 m of ground above a tunnel of 20 by 6 m.

    Across the fall 50 to 56 m drain through a metre of contour, 53 on the mean: 20 · 53
    less half of 120 m² are 20 · 50. Along it 50 to 70, 60 on the mean: 6 · 60 - 60.
    """
    assert rain_m2(0.0, 0.04, 53.0) == pytest.approx(20 * 50)
    assert rain_m2(-0.04, 0.0, 60.0) == pytest.approx(6 * 50)
    # 3-4-5: 20 · 0.8 + 6 · 0.6 = 19.6 m wide.
    assert rain_m2(0.03, -0.04, 10.0) == pytest.approx(196 - 60)
    assert rain_m2(0.0, 0.0, 5.0) == pytest.approx(100 - 60)
    assert rain_m2(0.0, 0.04, 1.0) == 0.0
    moved = SIZE.model_copy(update={"positions": 2})
    assert rain_m2(0.0, 0.04, 53.0, moved) == pytest.approx(40 * 50)


def test_a_tunnel_that_is_moved_gets_a_level_pad_at_each_position():
    """10 % across 6 m: 0.1 · 36 / 8 · 20 m = 9 m³ a pad."""
    across = SimpleNamespace(along=np.zeros(1), across=np.array([0.1]))
    moved = SIZE.model_copy(update={"positions": 2})
    assert search._earth_m3(across, SIZE) == pytest.approx([9.0])
    assert search._earth_m3(across, moved) == pytest.approx([18.0])
    # Two level positions 1 m apart in height need no earth; one pad would cut 60 m³.
    along = np.array([-15.0, -5.0, 5.0, 15.0])
    assert describe._pads_m3(np.array([0.0, 0.0, 1.0, 1.0]), along, moved) == 0.0
    # A step within each: half of 120 m² is cut by 0.5 m, twice.
    assert describe._pads_m3(np.array([0.0, 1.0, 0.0, 1.0]), along, moved) == 60.0


def test_tunnels_keep_clear_of_ground_that_is_taken():
    """20 × 6 m along the north, the middle 3.1 or 2.9 m off the edge of a taken box."""
    taken = box(100, -50, 200, 50)
    there = places(5, centre=[(96.9, 0), (97.1, 0), (80, 0), (60, 0), (150, 0)])
    clear = [True, False, True, True, False]
    assert search.clear_of(there, SIZE, taken).tolist() == clear
    # Across it reaches 10 m.
    across = places(3, centre=[(89.9, 0), (90.1, 0), (80, 0)], bearing_deg=[90.0] * 3)
    assert search.clear_of(across, SIZE, taken).tolist() == [True, False, True]
    assert search.clear_of(there, SIZE, Point()).tolist() == [True] * 5


# ------------------------------------------------------------------ what matters
def amounts(directions=NO_WINDS, size=SIZE, floor=None, around=None, **columns):
    """Criteria of two places, as records."""
    there = places(2, **columns)
    shown = floor or (lambda deg: np.full(len(deg), 70.0))
    around = surroundings() if around is None else around
    judge = criteria.Judge(directions, around)
    found = judge.amounts(there, size, shown(there.bearing_deg))
    return [Criteria(*row) for row in found.tolist()]


def test_places_alike_have_nothing_against_them():
    one, other = amounts(earth_m3=[0.0, 0.0], storm_share=[0.0, 0.0])
    assert one == other == Criteria(*(0.0,) * 12)


def test_light_is_what_the_lightest_place_and_bearing_has_more():
    # 70 of 100 at 5 MJ; 70 · 4 / 5 = 56 at 4 MJ.
    one, other = amounts(sun=[5.0, 4.0])
    assert (one.dark_points, other.dark_points) == pytest.approx((0.0, 14.0))
    # 71 along, 70 across.
    one, other = amounts(bearing_deg=[0.0, 90.0], floor=lambda deg: 71.0 - deg / 90.0)
    assert (one.dark_points, other.dark_points) == pytest.approx((0.0, 1.0))


def test_where_the_dark_months_have_no_light_the_bearing_alone_tells():
    one, other = amounts(
        sun=[0.0, 0.0], bearing_deg=[0.0, 90.0], floor=lambda deg: 71.0 - deg / 90.0
    )
    assert (one.dark_points, other.dark_points) == pytest.approx((0.0, 1.0))


def test_cold_counts_at_worst_and_grade_beyond_what_a_frame_takes():
    one, other = amounts(cold_c=[-0.5, -2.0], offset_c=[-9.0, 0.0])
    assert (one.cold_c, other.cold_c) == (0.0, 1.5)
    one, other = amounts(along_percent=[5.0, 6.0], across_percent=[2.0, 2.5])
    assert (one.steep_percent, other.steep_percent) == (0.0, 1.5)
    one, other = amounts(wet_share=[0.0, 0.4], rain_m2=[0.0, 900.0])
    assert (other.wet_percent, other.rain_m2) == (40.0, 900.0)


def test_both_ways_count_as_far_as_they_are_known():
    around = surroundings(("gate", Point(0, 30), {}), ("water point", Point(0, 40), {}))
    one, other = amounts(around=around)
    # The second stands 100 m east: √(100² + 30²) + √(100² + 40²).
    assert (one.way_m, other.way_m) == pytest.approx(
        (70.0, 104.403 + 107.703), abs=1e-3
    )
    assert amounts()[0].way_m == 0.0


def test_a_line_is_too_near_by_what_the_film_and_its_clearance_reach_beyond_it():
    """20 m of film and 3 m: 23 m. The ridge lies along the north, its side 3 m off it."""
    wire = LineString([(-12.7 - 3, -50), (-12.7 - 3, 50)])
    around = surroundings(("overhead line", wire, {}))
    one, other = amounts(around=around)
    assert (one.line_m, other.line_m) == pytest.approx((23.0 - 12.7, 0.0))
    # Along: 10 m to its end and 20 m beyond, less 3 m of half its width for the end.
    ahead = surroundings(("overhead line", LineString([(-50, 30), (50, 30)]), {}))
    assert amounts(around=ahead)[0].line_m == pytest.approx(23.0 - 17.0)
    moved = SIZE.model_copy(update={"positions": 2})
    assert amounts(around=ahead, size=moved)[0].line_m == pytest.approx(23.0 - 7.0)
    # A line that crosses the ridge is too near by all that the film reaches.
    over = surroundings(("overhead line", LineString([(-50, 0), (50, 0)]), {}))
    assert amounts(around=over)[0].line_m == pytest.approx(23.0)


@pytest.mark.parametrize(
    ("ridge", "beds", "askew"),
    [(0, 0, 0), (90, 0, 0), (30, 0, 30), (60, 0, 30), (170, 10, 20), (10, 170, 20)],
)
def test_a_ridge_along_or_square_to_beds_is_not_askew(ridge, beds, askew):
    found = criteria.askew_deg(places(bearing_deg=[ridge]), Directions((beds,)))
    assert found == pytest.approx([askew])


@pytest.mark.parametrize(
    ("ridge", "storm", "off"),
    [(0, 0, 0), (90, 0, 90), (0, 180, 0), (10, 350, 20), (170, 10, 20), (100, 280, 0)],
)
def test_a_ridge_along_the_storm_is_not_turned_from_it(ridge, storm, off):
    there = np.array([float(ridge)])
    assert criteria.turned_deg(there, storm) == pytest.approx([off])
    assert criteria.turned_deg(there, None).tolist() == [0.0]


def test_winds_count_beyond_thirty_degrees():
    storm = Directions((0.0,), storm_deg=0.0)
    one, other = amounts(storm, bearing_deg=[30.0, 75.0], storm_share=[1.0, 0.6])
    assert (one.storm_deg, other.storm_deg) == (0.0, 45.0)
    assert (one.storm_percent, other.storm_percent) == (100.0, 60.0)
    # Sides face square to the ridge: the breeze from the south meets those of 90° fully.
    breeze = Directions((0.0,), breeze_deg=180.0)
    one, other = amounts(breeze, bearing_deg=[60.0, 10.0])
    assert (one.breeze_deg, other.breeze_deg) == pytest.approx((0.0, 50.0))


# ------------------------------------------------------------------ rank
def table(*places):
    """Amounts of places of which only what is worse is given."""
    blank = Criteria(*(0.0,) * 12)
    return np.array([blank._replace(**worse) for worse in places])


def best(*worse, goal="early"):
    there = table(*worse)
    centre = np.stack([np.arange(len(there)) * 9.0, np.zeros(len(there))], axis=1)
    return rank.best(there, centre, goal)


@pytest.mark.parametrize("name", Criteria._fields)
def test_of_places_alike_in_all_else_the_really_better_one_is_taken(name):
    """By more than what is no real difference; the first wins where nothing decides."""
    same = SAME._asdict()[name]
    for goal in rank.FIRST:
        assert best({name: same * 1.01}, {}, goal=goal) == 1
    # Least earth and least askew break ties, so with these a little decides too.
    if name not in ("earth_m3", "askew_deg"):
        assert best({name: same * 0.99}, {}) == 0


def test_a_difference_that_is_just_none_decides_nothing():
    """25 m more of way is none, so the grade decides next; 25.1 m is one.

    The place on level ground is really colder, so none is better in everything.
    """
    near, level = {"steep_percent": 1.0}, {"cold_c": 1.0}
    assert best(near, level | {"way_m": 25.0}, goal="near") == 1
    assert best(near, level | {"way_m": 25.1}, goal="near") == 0


def test_each_answer_asks_first_for_what_it_is_for():
    far, dark, tossed = {"way_m": 200.0}, {"dark_points": 9.0}, {"storm_deg": 60.0}
    assert best(far, dark, tossed, goal="near") in (1, 2)
    assert best(dark, tossed, far, goal="early") in (1, 2)
    assert best(tossed, far, dark, goal="storm-safe") in (1, 2)
    assert best(far, dark, goal="early") == 0
    assert best(far, dark, goal="near") == 1
    assert best(tossed, far, goal="storm-safe") == 1
    assert best(tossed, far, goal="near") == 0
    assert best({"cold_c": 1.0}, {"earth_m3": 90.0}, goal="early") == 1


def test_light_that_does_not_decide_costs_nothing():
    """71 against 70 points, 42 against 13.5 m³, the storm on the side or the end."""
    lighter = {"earth_m3": 42.0, "storm_deg": 60.0}
    for goal in rank.FIRST:
        assert best(lighter, {"dark_points": 1.0, "earth_m3": 13.5}, goal=goal) == 1
    # Nor does light that a chain of small steps adds up to: it is measured from the best.
    chain = [{"dark_points": 2.5 * n, "earth_m3": 40.0 - 6.0 * n} for n in range(5)]
    assert best(*chain) == 1


def test_a_place_gives_way_to_one_not_worse_in_anything_and_better_in_something():
    # The first is nearest by 20 m, which is no difference, but lies askew in the storm.
    assert (
        best({"storm_deg": 50.0, "askew_deg": 40.0}, {"way_m": 20.0}, goal="near") == 1
    )


def test_a_gain_counts_only_where_nothing_is_really_worse():
    """25 m of way and a quarter of a degree are no real differences, a little more is."""
    one = {"way_m": 60.0, "cold_c": 0.5, "earth_m3": 20.0}
    nearer = {"way_m": 30.0, "cold_c": 0.75, "earth_m3": 20.0}
    colder = {"way_m": 30.0, "cold_c": 0.76, "earth_m3": 20.0}
    twice = {"way_m": 30.0, "cold_c": 0.5, "earth_m3": 10.0}
    just = {"way_m": 35.0, "cold_c": 0.5, "earth_m3": 15.0}  # 25 m and 5 m³, no more
    here = table(one, nearer, colder, twice, just)
    assert rank._gains(here, here[0]).tolist() == [0, 1, 0, 2, 0]


def test_places_that_another_beats_are_left_out():
    def kept(*worse):
        there = table(*worse)
        centre = np.stack([np.arange(len(there)) * 9.0, np.zeros(len(there))], axis=1)
        return rank.nondominated(there, centre, np.zeros(len(there))).tolist()

    for name, same in SAME._asdict().items():
        assert kept({name: same}, {}) == [1]
    # Both stay where each wins something, the least earth first.
    assert kept({"earth_m3": 6.0}, {"way_m": 30.0}) == [1, 0]
    # Of two alike in steps the one that moves less earth stands for both.
    assert kept({"earth_m3": 2.0}, {"earth_m3": 1.0, "dark_points": 2.9}) == [1]
    assert rank.nondominated(np.empty((0, 12)), np.empty((0, 2)), []).tolist() == []
    many = [{"earth_m3": 5.0 * n, "way_m": 25.0 * (250 - n)} for n in range(250)]
    assert kept(*many) == list(range(200))


# ------------------------------------------------------------------ sets
def place(east=0.0, bearing_deg=0.0, **worse):
    return SimpleNamespace(
        outline=box(east, 0, east + 6, 20),
        bearing_deg=bearing_deg,
        criteria=Criteria(*(50.0,) * 12)._replace(**worse),
    )


def given(one, usual=None, count=1):
    return list(gains([one] * count, [usual or place()] * count))


def test_what_a_set_gives_and_gives_up_where_the_difference_is_real():
    assert given(place()) == []
    for name, same in SAME._asdict().items():
        assert given(place(**{name: 50.0 - same})) == []
        # Shares of the open wind are said both; of the rest the difference.
        first = 50.0 if name == "storm_percent" else None
        more, less = Gain(name, -1.5 * same, first), Gain(name, 1.5 * same, first)
        assert given(place(**{name: 50.0 + 1.5 * same})) == [more]
        assert given(place(**{name: 50.0 - 1.5 * same})) == [less]


def test_earth_way_and_water_are_counted_for_all_tunnels_together():
    # 3 m³ less on each of two; light 2 points each is none.
    assert given(place(earth_m3=47.0), count=2) == [Gain("earth_m3", 6.0)]
    assert given(place(earth_m3=47.0)) == []
    assert given(place(dark_points=48.0), count=2) == []
    assert given(place(way_m=37.0), count=2) == [Gain("way_m", 26.0)]
    assert given(place(rain_m2=-960.0), count=2) == [Gain("rain_m2", 2020.0)]


def test_a_gain_is_said_with_its_unit():
    assert Gain("earth_m3", 6.0).fact == Fact("less_earth_m3", amount_m3=6.0)
    assert Gain("rain_m2", 2022.4).fact == Fact("less_rain_m2", amount_m2=2020.0)
    assert Gain("steep_percent", 1.34909).fact["amount_percent"] == 1.3
    assert Gain("storm_percent", 23.0, 80.0).fact == Fact(
        "less_storm_percent", here_percent=57.0, there_percent=80.0
    )
    assert Gain("storm_deg", -30.0).fact == Fact("more_storm_deg", amount_deg=30.0)


def sets(first, **others):
    goals = {"storm": "storm-safe", "near": "near"}
    by_goal = {"early": first} | {goals[name]: of for name, of in others.items()}
    return [(each.letter, each.goal) for each in tunnel_sets(by_goal, is_asked=True)]


def test_a_set_is_shown_where_it_stands_elsewhere_and_gives_what_it_is_for():
    first = [place()]
    alone = [("A", "early")]
    assert sets([]) == []
    assert sets(first) == alone
    near = place(east=10.1, way_m=0.0)
    assert sets(first, near=[near]) == [("A", "early"), ("B", "near")]
    # 10 m off is the same place, 15° the same way.
    assert sets(first, near=[place(east=10.0, way_m=0.0)]) == alone
    assert sets(first, near=[place(bearing_deg=15.0, way_m=0.0)]) == alone
    assert len(sets(first, near=[place(bearing_deg=164.9, way_m=0.0)])) == 2
    # Elsewhere, but no nearer; or with room for fewer tunnels, or for more.
    assert sets(first, near=[place(east=50.0, storm_deg=0.0)]) == alone
    assert sets(first, near=[]) == alone
    assert sets(first, near=[near, place(east=50.0, way_m=0.0)]) == alone
    # Two that stand in the same place are one.
    safe = place(east=11.0, storm_deg=0.0)
    assert sets(first, storm=[safe], near=[near]) == [
        ("A", "early"),
        ("B", "storm-safe"),
    ]
    assert len(sets(first, storm=[safe], near=[place(east=80.0, way_m=0.0)])) == 3


def test_a_set_says_what_it_is_for_and_what_it_gives_up():
    near = place(east=50.0, way_m=0.0, earth_m3=60.0)
    by_goal = {"early": [place()], "near": [near]}
    first, other = tunnel_sets(by_goal, is_asked=False)
    early, nearby = Fact("tunnels_first_early"), Fact("tunnels_first_near")
    assert first.comparison == Fact("tunnel_set_first_unasked", goal=early)
    assert other.comparison == Fact(
        "tunnel_set_gives_up",
        goal=nearby,
        gives=[Fact("less_way_m", amount_m=50.0)],
        gives_up=[Fact("more_earth_m3", amount_m3=10.0)],
    )
    by_goal = {"early": [place()], "near": [place(east=50.0, way_m=0.0)]}
    first, other = tunnel_sets(by_goal, is_asked=True)
    assert first.comparison == Fact("tunnel_set_first", goal=early)
    assert other.comparison.kind == "tunnel_set_gives_up_nothing"


@pytest.mark.parametrize(
    ("season", "latitude", "shortest_day"),
    [(NORTHERN, 45.0, (12, 21)), (SOUTH, -45.0, (6, 21))],
)
def test_shade_of_another_tunnel_is_said_from_one_per_cent_of_a_month_on(
    monkeypatch, season, latitude, shortest_day
):
    """The other is 3 m high: 3 · cot(90° - 45° - 23.44°) = 7.59 m; 4 m lie between."""
    tall, low = (SIZE.model_copy(update={"height_m": each}) for each in (3.0, 2.0))
    mine, other = (
        SimpleNamespace(name=name, size=size, bearing_deg=90.0, outline=outline)
        for name, size, outline in (
            ("T1", low, box(0, 0, 20, 6)),
            ("T2", tall, box(0, -10, 20, -4)),
        )
    )
    lost = np.zeros(12)
    monkeypatch.setattr(between, "lost_percent", lambda *_three: lost)
    here = between.Sky(None, season, latitude)
    lost[:2] = 0.99, 0.5
    assert between.shade_between(here, [mine, other])[0] == ()
    lost[1] = 1.0
    (fact,) = between.shade_between(here, [mine, other])[0]
    assert fact.kind == "tunnel_shaded"
    assert (fact["other"], fact["gap_m"]) == ("T2", 4.0)
    assert fact["noon_gap_m"] == pytest.approx(7.59, abs=0.005)
    assert fact["shortest_day"] == shortest_day
    assert fact["months"] == [Fact("light_lost_in", month=2, percent=1)]


def test_sizes_without_room_are_said_with_how_many_have_some():
    small = SIZE.model_copy(update={"length_m": 10.0})
    assert list(_no_room([SIZE, SIZE, SIZE, small], [SIZE, small])) == [
        Fact("room_for_some_tunnels", placed=2, wanted=3, length_m=20.0, width_m=6.0),
        Fact("no_room_for_tunnel", placed=0, wanted=1, length_m=10.0, width_m=6.0),
    ]
    assert list(_no_room([SIZE], [])) == []


# ------------------------------------------------------------------ what is known of one
def test_points_under_a_tunnel_half_a_metre_apart():
    """3 × 2 m: six along at -1.25 to 1.25 m, four across at -0.75 to 0.75 m."""
    size = TunnelSize(length_m=3.0, width_m=2.0, height_m=2.0)
    east, north, along = describe._points(size, np.array([10.0, 20.0]), 90.0)
    assert len(east) == 24
    assert (along.min(), along.max()) == pytest.approx((-1.25, 1.25))
    assert east == pytest.approx(10.0 + along)
    assert (north.min(), north.max()) == pytest.approx((19.25, 20.75))
    east, north, along = describe._points(size, np.array([10.0, 20.0]), 0.0)
    assert north == pytest.approx(20.0 + along)
    assert (east.min(), east.max()) == pytest.approx((9.25, 10.75))


def test_earth_is_cut_above_the_middle_height_and_fills_what_lies_lower():
    # 1 m above the middle on half of 10 m².
    assert describe._cut_m3(np.array([1.0, 3.0]), 10.0) == 5.0
    assert describe._cut_m3(np.array([0.0, 0.0, 3.0]), 30.0) == 20.0


def test_a_sloping_pad_keeps_the_even_fall_along_the_ridge():
    along = np.array([-2.0, -1.0, 1.0, 2.0])
    found = describe._without_fall(5.0 + 0.1 * along, along)
    assert found == pytest.approx([5.0] * 4)
    # What falls across stays.
    heights = 5.0 + 0.1 * along + np.array([1.0, -1.0, -1.0, 1.0])
    assert describe._without_fall(heights, along) == pytest.approx([6.0, 4.0, 4.0, 6.0])


def test_the_way_to_the_nearest_gate_and_water_point():
    around = surroundings(
        ("gate", Point(3, 4), {}),
        ("gate", Point(0, 90), {}),
        ("water point", Point(0, 12), {}),
    )
    one, other = describe.access(around, np.array([[0.0, 0.0], [0.0, 90.0]]))
    assert one == Access(5.0, 12.0)
    assert one.total_m == 17.0
    assert other == Access(0.0, 78.0)
    (none,) = describe.access(surroundings(), np.array([[0.0, 0.0]]))
    assert none == Access(None, None)
    assert none.total_m == 0.0
    assert Access(None, 4.0).total_m == 4.0


@pytest.mark.parametrize(
    ("grid_deg", "convergence_deg", "breeze_deg", "off"),
    [(0, 0, 90, 0), (0, 0, 0, 90), (0, 0, 270, 0), (0, 10, 100, 0), (90, 0, 60, 60)],
)
def test_sides_face_square_to_the_ridge(grid_deg, convergence_deg, breeze_deg, off):
    wind = Wind(summer_breeze_from_deg=breeze_deg)
    found = describe._off_breeze(float(grid_deg), wind, convergence_deg)
    assert found == pytest.approx(off)
    assert describe._off_breeze(0.0, Wind(), 0.0) is None


def winds(bearing_deg=0.0, share=None, breeze=None, storm=None):
    facts = describe._wind(bearing_deg, WindThere(share, breeze), storm)
    return [(each.kind, *each.values.values()) for each in facts]


def test_what_the_wind_does_to_a_tunnel():
    assert winds() == [("no_storm_wind_given",)]
    assert winds(storm=30.4) == [("tunnel_side_to_storm", 30.4, 30)]
    assert winds(storm=30.0) == [("tunnel_end_to_storm", 30.0, 30)]
    assert winds(storm=190.0) == [("tunnel_end_to_storm", 190.0, 10)]
    assert winds(storm=0.0, share=0.949)[1:] == [("tunnel_sheltered", 95)]
    assert winds(storm=0.0, share=0.95)[1:] == []
    assert winds(breeze=30.0)[1:] == [("tunnel_faces_breeze",)]
    assert winds(breeze=30.1)[1:] == [("tunnel_along_breeze",)]


def reasons(winter=4.0, warmth_c=0.5, turn=0.0, ground=(1.0, 1.0), **known):
    made = SimpleNamespace(
        size=known.pop("size", SIZE),
        access=Access(*known.pop("ways", (30.0, 40.0))),
        line_m=known.pop("to_line_m", None),
        rain=RainFromAbove(*known.pop("rain", (0.0, 100.0, 0.0))),
        criteria=Criteria(*(0.0,) * 12)._replace(**known),
        ground=GroundUnder(*ground, 20.0, 12.0),
        light=LightThere(winter, 9.0),
        offset_c=Estimate(-1.0, warmth_c, 1.0),
        wind=WindThere(None, None),
        bearing_deg=0.0,
    )
    others = places(3, offset_c=[0.0, 0.2, np.nan], sun=[4.0, 5.0, np.nan])
    return {
        each.kind: each.values for each in describe._reasons(made, others, None, turn)
    }


def test_reasons_compare_a_place_with_the_others_that_have_room():
    """4 of 5 MJ is 80 % of the lightest; 0.5 °C is 0.4 over the median of 0.1."""
    found = reasons()
    assert list(found) == [
        "tunnel_slope",
        "tunnel_winter_light",
        "tunnel_way",
        "no_storm_wind_given",
        "tunnel_still_nights_differ",
        "tunnel_earth",
        "tunnel_room",
    ]
    assert found["tunnel_winter_light"] == {"percent": 80}
    assert found["tunnel_still_nights_differ"]["difference_c"] == pytest.approx(0.4)
    assert found["tunnel_earth"] == {"level_m3": 20.0, "sloping_m3": 12.0}
    assert found["tunnel_room"] == {"number": 3}
    assert found["tunnel_slope"] == {"along": 1.0, "across": 1.0}
    assert "tunnel_most_winter_light" in reasons(winter=6.0)
    assert "tunnel_winter_light" not in reasons(winter=6.0)
    # 4.98 of 5 are 99.6 %, which people read as all of it.
    assert "tunnel_most_winter_light" in reasons(winter=4.98)
    assert reasons(winter=4.97)["tunnel_winter_light"] == {"percent": 99}
    # 0.2 °C over the median is shown as no difference.
    assert "tunnel_still_nights_alike" in reasons(warmth_c=0.3)
    # 4.04 of 5 are 80.8 %.
    assert reasons(winter=4.04)["tunnel_winter_light"] == {"percent": 81}


def test_steep_ground_and_water_from_above_are_said():
    assert "tunnel_ground_steep" not in reasons(ground=(5.0, 2.0))
    assert "tunnel_ground_steep" in reasons(ground=(5.01, 1.0))
    assert "tunnel_ground_steep" in reasons(ground=(1.0, 2.01))
    assert "tunnel_rain" not in reasons(rain=(199.9, 100.0, 0.0))
    found = reasons(rain=(204.0, 100.0, 26.0), turn=2.0)["tunnel_rain"]
    assert found == {"ground_m2": 200.0, "way_to_deg": 102.0, "drain_m": 26.0}


def test_wet_ground_a_long_way_and_a_near_line_are_never_silent():
    assert "tunnel_on_wet_ground" not in reasons(wet_percent=4.9)
    found = reasons(wet_percent=5.0)["tunnel_on_wet_ground"]
    assert found == {"percent": 5}
    found = reasons(ways=(100.0, None))
    assert found["tunnel_way"] == {"gate_m": 100.0, "water_m": None}
    assert "tunnel_long_way" not in found
    found = reasons(ways=(None, 100.1))
    assert found["tunnel_long_way"] == {"gate_m": None, "water_m": 100.1}
    assert "tunnel_way" not in found
    assert "tunnel_near_line" not in reasons(to_line_m=23.0)
    found = reasons(to_line_m=12.7, line_m=10.3)["tunnel_near_line"]
    assert found == {"distance_m": 12.7}


def test_a_tunnel_that_is_moved_is_said_to_be():
    assert "tunnel_is_moved" not in reasons()
    moved = SIZE.model_copy(update={"positions": 2})
    found = reasons(size=moved)["tunnel_is_moved"]
    assert found == {"positions": 2, "length_m": 20.0}


# ------------------------------------------------------------------ light by bearing
def test_months_of_use_run_on_over_new_year():
    assert light.months_of((2, 4)) == [1, 2, 3]
    assert light.months_of((11, 2)) == [10, 11, 0, 1]
    assert light.months_of((5, 5)) == [4]
    assert light.months_of((1, 12)) == list(range(12))


def curve(central):
    bearings = tuple(180.0 * at / len(central) for at in range(len(central)))
    return Curve("T1", (2, 10), 30.0, bearings, (0.0,), tuple(central), (0.0,))


def test_light_between_two_bearings_lies_on_the_line_across_north_too():
    # 0°, 45°, 90° and 135°.
    found = curve([60.0, 64.0, 70.0, 62.0])
    assert (found.difference_points, found.best_deg) == (10.0, 90.0)
    assert found.at(67.5) == 67.0
    assert found.at(157.5) == 61.0
    assert found.at(180.0) == 60.0


@pytest.mark.parametrize(
    ("central", "bearing_deg", "kind", "more"),
    [
        # Under three points nothing is decided.
        ([60.0, 62.9], 0.0, "tunnel_light_does_not_decide", {"number": 3}),
        ([60.0, 63.0], 90.0, "tunnel_light_best", {}),
        ([60.0, 63.0], 0.0, "tunnel_light_better", {"number": 3, "bearing": 90.0}),
        # 63 points at 90° and 60 at 0°: 2 less at 30°, just 1 at 60, under 1 at 61.
        ([60.0, 63.0], 30.0, "tunnel_light_better", {"number": 2, "bearing": 90.0}),
        ([60.0, 63.0], 60.0, "tunnel_light_better", {"number": 1, "bearing": 90.0}),
        ([60.0, 63.0], 61.0, "tunnel_light_best", {}),
    ],
)
def test_whether_light_decides_which_way_a_tunnel_points(
    central, bearing_deg, kind, more
):
    found = light.verdict(curve(central), bearing_deg)
    assert found.kind == kind
    values = dict(found.values)
    said = values.pop("light")
    assert values == more
    percent = curve(central).at(bearing_deg)
    assert said == Fact("tunnel_floor_light", percent=round(percent), first=2, last=10)


def test_cloud_is_typical_light_over_clear_month_by_month():
    """Two hours of January at 100 and 200 W/m² of beam and 50 of sky, over two days.

    300 · 0.0036 / 2 = 0.54 MJ and 0.18 MJ a day when clear; typical are 0.99 in all and
    0.36 of sky, so 0.63 of beam: 1.1667 and 2. February has sky alone: 0.36 of 0.18.
    """
    path = SimpleNamespace(
        step_hours=1.0, month=np.array([0, 0, 1]), days=np.full(12, 2)
    )
    beam_w, sky_w = np.array([100.0, 200.0, 0.0]), np.array([50.0, 50.0, 100.0])
    known = Sun(global_mj_m2_day=(0.99,) * 12, diffuse_mj_m2_day=(0.36,) * 12)
    beam, sky = light._cloud(known, path, beam_w, sky_w)
    assert beam[:3] == pytest.approx([0.63 / 0.54, 0.0, 0.0])
    assert sky[:3] == pytest.approx([2.0, 2.0, 0.0])
    beam, sky = light._cloud(Sun(), path, beam_w, sky_w)
    assert (beam.tolist(), sky.tolist()) == ([1.0] * 12, [1.0] * 12)
