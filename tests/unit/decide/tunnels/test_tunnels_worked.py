"""Room, shade, rank and facts of walk-in tunnels, worked by hand."""

from dataclasses import replace
from datetime import date
from types import SimpleNamespace

import numpy as np
import pytest
from made_up import CRS, NORTH, WEST, plane, plot_box, site, surroundings
from shapely.geometry import LineString, Point, box

from fieldmap.decide.tunnels import describe, light, rank, room, search
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
from fieldmap.decide.tunnels.standing import standing, working_space
from fieldmap.decide.tunnels.tunnel_sets import gains, tunnel_sets
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import NORTH as NORTHERN
from fieldmap.model.season_year import SOUTH
from fieldmap.model.settings import Sun, TunnelSize, Wind

SIZE = TunnelSize(length_m=20.0, width_m=6.0, height_m=3.0)


# ------------------------------------------------------------------ the sun
def test_a_tunnel_is_used_in_all_but_the_three_darkest_months():
    """February to October; August to April in the south."""
    assert room.months_of_use(SIZE, NORTHERN) == (2, 10)
    assert room.months_of_use(SIZE, SOUTH) == (8, 4)
    own = SIZE.model_copy(update={"first_month": 3, "last_month": 12})
    assert room.months_of_use(own, NORTHERN) == (3, 12)
    assert search.dark_months(NORTHERN) == [10, 11, 0]
    assert search.dark_months(SOUTH) == [4, 5, 6]


def test_the_sun_stands_over_the_equator_on_day_81_and_highest_on_day_172():
    # 284 + 81 = 365: sin 360°. 284 + 172 = 456: sin 449.75°.
    assert room.declination_deg(81) == pytest.approx(0.0, abs=1e-9)
    assert room.declination_deg(172) == pytest.approx(23.45, abs=0.001)


@pytest.mark.parametrize(
    ("height_m", "latitude", "declination", "hours", "shadow"),
    [
        # At noon of an equinox the sun stands 90° less the latitude high.
        (1.0, 45.0, 0.0, 0.0, (0.0, 1.0)),
        (2.0, 45.0, 0.0, 0.0, (0.0, 2.0)),
        (2.0, -45.0, 0.0, 0.0, (0.0, -2.0)),
        (1.0, 30.0, 0.0, 0.0, (0.0, np.tan(np.radians(30.0)))),
        # On the equator it has gone 45° west by three, and shadows fall east.
        (1.0, 0.0, 0.0, 3.0, (1.0, 0.0)),
        (1.0, 0.0, 0.0, -3.0, (-1.0, 0.0)),
        # At 60° in December it stands 6.55° high, and counts as 10.
        (1.0, 60.0, -23.45, 0.0, (0.0, 5.6713)),
        (1.0, 0.0, 0.0, 0.0, (0.0, 0.0)),
    ],
)
def test_shadows_fall_away_from_the_sun(height_m, latitude, declination, hours, shadow):
    found = room.shadow_m(height_m, latitude, declination, hours)
    assert found == pytest.approx(shadow, abs=1e-4)


def test_months_begin_on_the_days_of_a_common_year():
    firsts = [date(2001, month, 1).timetuple().tm_yday for month in range(1, 13)]
    assert (*firsts, 366) == room.FIRSTS


def test_shadows_are_those_of_the_first_and_last_day_of_use():
    """1 February is day 32 and 31 October day 304, both with the sun in the south.

    23.45° · sin(360° · 316 / 365) = -17.52°; sin(360° · 588 / 365) gives -15.06°.
    """
    found = room.shadows_m(1.0, (2, 10), 45.0)
    assert len(found) == 6
    assert found[1] == pytest.approx((0.0, np.tan(np.radians(62.52))), abs=2e-3)
    assert found[4] == pytest.approx((0.0, np.tan(np.radians(60.06))), abs=2e-3)
    # In the morning they fall west, in the afternoon east, and as long.
    assert found[0][0] == pytest.approx(-found[2][0])
    assert found[0][0] < 0
    assert found[3][0] < 0
    assert found[5][0] > 0
    # 31 December is day 365: 23.45° · sin(360° · 649 / 365) = -23.09°.
    last = room.shadows_m(1.0, (12, 12), 30.0)[4]
    assert last == pytest.approx((0.0, np.tan(np.radians(53.09))), abs=2e-3)


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


def test_snow_wants_three_metres_all_round():
    found = room.around(box(0, 0, 20, 6), (0.01, 0.01), (6, 6), 45.0, 0.0)
    assert found.bounds == pytest.approx((-3, -3, 23, 9), abs=1e-6)


def test_its_shade_falls_north_and_that_of_the_tallest_comes_from_the_south():
    """2 m tall, the tallest wanted 5 m; noon of 1 December at 45°: 22.1° up, -22.9°."""
    months = (12, 12)
    reach = max(north for _, north in room.shadows_m(1.0, months, 45.0))
    _, south, _, north = room.around(
        box(0, 0, 20, 6), (2.0, 5.0), months, 45.0, 0
    ).bounds
    assert north == pytest.approx(6 + 2 * reach)
    assert south == pytest.approx(-5 * reach)


def test_true_north_lies_left_of_grid_north_where_that_lies_east():
    """A grid turned by a quarter: what falls north on the ground falls west on it."""
    outline, months = box(0, 0, 2, 2), (3, 3)
    plain = room.around(outline, (10.0, 0.0001), months, 45.0, 0.0)
    turned = room.around(outline, (10.0, 0.0001), months, 45.0, 90.0)
    assert turned.bounds[0] == pytest.approx(-(plain.bounds[3] - 2), abs=1e-6)


def test_a_footprint_is_the_tunnel_and_its_working_space_about_the_origin():
    assert room.footprint(SIZE, 0.0, 1.5).bounds == pytest.approx(
        (-4.5, -11.5, 4.5, 11.5)
    )
    assert room.footprint(SIZE, 90.0, 0.0).bounds == pytest.approx((-10, -3, 10, 3))
    # 3-4-5: the end of the ridge lies at 10 · (0.6, 0.8).
    turned = room.footprint(SIZE, 36.8698976, 0.0)
    assert turned.covers(Point(5.99, 7.99))
    assert not turned.covers(Point(-5.99, 7.99))


def test_a_tunnel_takes_its_working_space_from_beds():
    assert working_space(box(0, 0, 20, 6)).bounds == (-1.5, -1.5, 21.5, 7.5)


def test_tunnels_stand_among_the_surroundings_as_boxes_that_dim():
    around = surroundings(("tree", Point(WEST, NORTH), {"height_m": 4.0}))
    home = site(plane(20, 20), {"Home": plot_box(0, 180, 20, 200)}, around)
    outline = box(WEST, NORTH - 9, WEST + 20, NORTH - 3)
    place = SimpleNamespace(name="T1", size=SIZE, outline=outline)
    found = standing(home, [place]).surroundings
    assert list(found["kind"]) == ["tree", "fence"]
    last = found.iloc[1]
    assert (last["name"], last["height_m"], last["porosity"]) == ("T1", 3.0, 0.64)
    assert (last["clear_stem_m"], last["leaf"]) == (0.0, "none")
    assert last.geometry.equals(outline)
    assert standing(home, []) is home
    bare = site(plane(20, 20), {"Home": plot_box(0, 180, 20, 200)})
    alone = standing(bare, [place]).surroundings
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
        "sun": np.full(n, 5.0),
    }
    given = {name: np.asarray(values, float) for name, values in columns.items()}
    return Candidates(**plain | given, compared=n)


NO_STORM = Directions((0.0,), None)


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
        wind={"storm_from_deg": 1.0},
    )
    assert search.directions(home) == Directions((90.0, 0.0), 1.0)
    turned = replace(home, convergence_deg=2.0)
    assert search.directions(turned) == Directions((90.0, 0.0), -1.0)
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


# ------------------------------------------------------------------ rank
@pytest.mark.parametrize(
    ("ridge", "beds", "askew"),
    [(0, 0, 0), (90, 0, 0), (30, 0, 30), (60, 0, 30), (170, 10, 20), (10, 170, 20)],
)
def test_a_ridge_along_or_square_to_beds_is_not_askew(ridge, beds, askew):
    found = rank.askew_deg(places(bearing_deg=[ridge]), Directions((beds,), None))
    assert found == pytest.approx([askew])


@pytest.mark.parametrize(
    ("ridge", "storm", "off"),
    [(0, 0, 0), (90, 0, 90), (0, 180, 0), (10, 350, 20), (170, 10, 20), (100, 280, 0)],
)
def test_a_ridge_along_the_storm_is_not_off_it(ridge, storm, off):
    there = places(bearing_deg=[ridge])
    assert rank.off_storm_deg(there, Directions((0.0,), storm)) == pytest.approx([off])
    assert rank.off_storm_deg(there, NO_STORM).tolist() == [0.0]


def best(directions=NO_STORM, goal="all in all", **columns):
    """Row of the best of two places; the second wins where nothing tells them apart but
    what is given."""
    return rank.best(places(2, **columns), directions, goal)


@pytest.mark.parametrize(
    ("worse", "alike"),
    [
        # Fall beyond what a frame takes: a quarter of a per cent. Light: 3 %. Warmth: a
        # quarter of a degree. Fall: half a per cent, along counted half.
        ({"along_percent": [5.3, 5.0]}, {"along_percent": [5.2, 5.0]}),
        ({"sun": [4.84, 5.0]}, {"sun": [4.86, 5.0]}),
        ({"offset_c": [-0.26, 0.0]}, {"offset_c": [-0.24, 0.0]}),
        ({"across_percent": [0.6, 0.0]}, {"across_percent": [0.4, 0.0]}),
        ({"along_percent": [1.1, 0.0]}, {"along_percent": [0.9, 0.0]}),
        ({"bearing_deg": [1.0, 0.0]}, {"bearing_deg": [90.0, 0.0]}),
    ],
)
def test_a_real_difference_decides(worse, alike):
    # Of places that are alike the most level and then the southernmost is taken.
    favoured = {"centre": [(0.0, 0.0), (0.0, 9.0)]}
    assert best(**worse, **favoured) == 1
    level = "bearing_deg" in alike or "sun" in alike or "offset_c" in alike
    assert best(**alike, **favoured) == (0 if level else 1)


def test_questions_are_asked_in_turn():
    """Grade before light, light before warmth, warmth before level ground."""
    assert best(along_percent=[6.0, 0.0], sun=[9.0, 5.0]) == 1
    assert best(sun=[4.0, 5.0], offset_c=[2.0, 0.0]) == 1
    assert best(offset_c=[-1.0, 0.0], across_percent=[0.0, 2.0]) == 1
    # Across the beds before off the storm.
    storm = Directions((0.0,), 30.0)
    assert best(storm, bearing_deg=[30.0, 0.0]) == 1
    assert best(storm, bearing_deg=[90.0, 0.0]) == 1
    assert best(Directions((0.0,), 100.0), bearing_deg=[90.0, 0.0]) == 0


def test_a_fall_along_counts_half_and_a_quarter_of_a_per_cent_too_much_is_none():
    # 0.9 % along is 0.45 of fall: the beds then decide; 1.1 % is 0.55.
    assert best(along_percent=[0.9, 0.0], bearing_deg=[0.0, 1.0]) == 0
    assert best(along_percent=[1.1, 0.0], bearing_deg=[0.0, 1.0]) == 1
    # 5.2 % is 0.2 over what a frame takes: light decides; 5.3 % is 0.3.
    assert best(along_percent=[5.2, 5.0], sun=[5.0, 4.0]) == 0
    assert best(along_percent=[5.3, 5.0], sun=[5.0, 4.0]) == 1


def test_each_goal_asks_first_for_what_it_is_for():
    earth = {"earth_m3": [9.4, 10.0], "sun": [4.0, 5.0]}
    assert best(**earth) == 1
    assert best(goal="least earth", **earth) == 0
    # Half a cubic metre is no difference.
    assert best(goal="least earth", earth_m3=[9.5, 10.0], sun=[4.0, 5.0]) == 1
    sunny = {"sun": [5.05, 5.0], "along_percent": [9.0, 0.0]}
    assert best(**sunny) == 1
    assert best(goal="most light", **sunny) == 0
    # 0.02 of 5.02 is under half a per cent.
    assert best(goal="most light", sun=[5.02, 5.0], along_percent=[9.0, 0.0]) == 1
    warm = {"offset_c": [0.06, 0.0], "along_percent": [9.0, 0.0]}
    assert best(**warm) == 1
    assert best(goal="warmest", **warm) == 0
    assert best(goal="warmest", offset_c=[0.04, 0.0], along_percent=[9.0, 0.0]) == 1


def kept(way_m=None, **columns):
    there = places(2, **columns)
    return rank.nondominated(there, np.array(way_m or [0.0, 0.0])).tolist()


def test_a_place_that_another_beats_is_left_out():
    # By a step of 5 m³, of 3 % of light, of a quarter of a degree, of 25 m of way.
    assert kept(earth_m3=[4.9, 5.0]) == [0]
    assert kept(sun=[5.0, 4.84], earth_m3=[2.0, 1.0]) == [0]
    assert kept(offset_c=[0.25, 0.0], earth_m3=[2.0, 1.0]) == [0]
    assert kept([24.9, 25.0], earth_m3=[2.0, 1.0]) == [0]
    # Both stay where each wins something, the least earth first.
    assert kept(earth_m3=[6.0, 1.0], sun=[5.0, 4.0]) == [1, 0]
    # Of two alike in steps the one that moves less earth stands for both.
    assert kept(earth_m3=[2.0, 1.0], sun=[5.0, 4.9]) == [1]
    assert rank.nondominated(places(0), np.empty(0)).tolist() == []


def test_no_more_places_are_kept_than_two_hundred():
    count = 250
    many = places(count, earth_m3=5.0 * np.arange(count), sun=[1.0] * count)
    way_m = 25.0 * np.arange(count)[::-1]
    found = rank.nondominated(many, way_m)
    assert found.tolist() == list(range(200))


# ------------------------------------------------------------------ sets
def place(east=0.0, bearing_deg=0.0, winter=4.0, warmth_c=0.0, earth=10.0, **more):
    return SimpleNamespace(
        outline=box(east, 0, east + 6, 20),
        bearing_deg=bearing_deg,
        light=LightThere(winter, 9.0),
        offset_c=Estimate(warmth_c - 1, warmth_c, warmth_c + 1),
        ground=GroundUnder(0.0, 0.0, earth, 5.0),
        access=Access(more.get("gate_m", 0.0), more.get("water_m")),
        rain=RainFromAbove(more.get("rain_m2", 0.0), 0.0),
    )


def given(one, usual=None, count=1):
    found = gains([one] * count, [usual or place()] * count)
    return [(gain.of, round(gain.amount, 6), gain.fact) for gain in found]


def test_what_a_set_gives_and_gives_up_where_the_difference_is_real():
    assert given(place()) == []
    # Light 5 % more, of a mean of both tunnels; 2.9 % is none.
    assert given(place(winter=4.2)) == [("light", 0.05, Fact("more_light", percent=5))]
    assert given(place(winter=3.6)) == [("light", -0.1, Fact("less_light", percent=10))]
    assert given(place(winter=4.116)) == []
    assert given(place(warmth_c=0.25)) == [
        ("warmth", 0.25, Fact("nights", difference_c=0.25))
    ]
    assert given(place(warmth_c=-0.24)) == []


def test_earth_way_and_water_are_counted_for_all_tunnels_together():
    # 3 m³ less on each of two.
    assert given(place(earth=7.0), count=2) == [
        ("earth", 6.0, Fact("less_earth", amount_m3=6.0))
    ]
    assert given(place(earth=7.0)) == []
    assert given(place(earth=15.0)) == [
        ("earth", -5.0, Fact("more_earth", amount_m3=5.0))
    ]
    assert given(place(gate_m=10.0, water_m=15.4)) == [
        ("way", -25.4, Fact("more_way", length_m=25.0))
    ]
    assert given(place(gate_m=24.0)) == []
    assert given(place(), place(rain_m2=504.0)) == [
        ("rain", 504.0, Fact("less_rain", area_m2=500.0))
    ]
    assert given(place(), place(rain_m2=499.0)) == []


def sets(usual, **others):
    goals = {"earth": "least earth", "light": "most light", "warm": "warmest"}
    by_goal = {"all in all": usual} | {goals[name]: of for name, of in others.items()}
    return [(each.letter, each.goal) for each in tunnel_sets(by_goal)]


def test_a_set_is_shown_where_it_stands_elsewhere_and_gives_what_it_is_for():
    usual = [place()]
    assert sets([]) == []
    assert sets(usual) == [("A", "all in all")]
    sunny = place(east=10.1, winter=5.0)
    assert sets(usual, light=[sunny]) == [("A", "all in all"), ("B", "most light")]
    # 10 m off is the same place, 15° the same way.
    assert len(sets(usual, light=[place(east=10.0, winter=5.0)])) == 1
    assert len(sets(usual, light=[place(bearing_deg=15.0, winter=5.0)])) == 1
    assert len(sets(usual, light=[place(bearing_deg=164.9, winter=5.0)])) == 2
    # Elsewhere, but with no more light; or with room for fewer tunnels.
    assert len(sets(usual, light=[place(east=50.0, warmth_c=2.0)])) == 1
    assert len(sets(usual, light=[])) == 1
    # Two that stand in the same place are one.
    assert sets(usual, light=[sunny], warm=[place(east=11.0, warmth_c=2.0)]) == [
        ("A", "all in all"),
        ("B", "most light"),
    ]
    assert sets(
        usual,
        earth=[place(east=40.0, earth=1.0)],
        warm=[place(east=80.0, warmth_c=2.0)],
    ) == [("A", "all in all"), ("B", "least earth"), ("C", "warmest")]


def test_a_set_says_what_it_gives_up():
    _, other = tunnel_sets(
        {
            "all in all": [place()],
            "most light": [place(east=50.0, winter=5.0, earth=20.0)],
        }
    )
    assert other.comparison == Fact(
        "tunnel_set_gives_up",
        gives=[Fact("more_light", percent=25)],
        gives_up=[Fact("more_earth", amount_m3=10.0)],
    )
    _, other = tunnel_sets(
        {"all in all": [place()], "most light": [place(east=50.0, winter=5.0)]}
    )
    assert other.comparison.kind == "tunnel_set_gives_up_nothing"


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


def reasons(along=1.0, across=1.0, winter=4.0, warmth_c=0.5, rain_m2=0.0, turn=0.0):
    made = SimpleNamespace(
        ground=GroundUnder(along, across, 20.0, 12.0),
        light=LightThere(winter, 9.0),
        offset_c=Estimate(-1.0, warmth_c, 1.0),
        rain=RainFromAbove(rain_m2, 100.0),
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
        "tunnel_still_night",
        "tunnel_earth",
        "tunnel_room",
        "no_storm_wind_given",
    ]
    assert found["tunnel_winter_light"] == {"percent": 80}
    assert found["tunnel_still_night"]["difference_c"] == pytest.approx(0.4)
    assert found["tunnel_earth"] == {"level_m3": 20.0, "sloping_m3": 12.0}
    assert found["tunnel_room"] == {"number": 3}
    assert found["tunnel_slope"] == {"along": 1.0, "across": 1.0}
    assert reasons(winter=6.0)["tunnel_winter_light"] == {"percent": 100}


def test_steep_ground_and_water_from_above_are_said():
    assert "tunnel_ground_steep" not in reasons(along=5.0, across=2.0)
    assert "tunnel_ground_steep" in reasons(along=5.01)
    assert "tunnel_ground_steep" in reasons(across=2.01)
    assert "tunnel_rain" not in reasons(rain_m2=199.9)
    found = reasons(rain_m2=204.0, turn=2.0)["tunnel_rain"]
    assert found == {"ground_m2": 200.0, "way_to_deg": 102.0}


# ------------------------------------------------------------------ light by bearing
def test_months_of_use_run_on_over_new_year():
    assert light._months((2, 4)) == [1, 2, 3]
    assert light._months((11, 2)) == [10, 11, 0, 1]
    assert light._months((5, 5)) == [4]
    assert light._months((1, 12)) == list(range(12))


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
    # Of 30 mol/m² a day in the open.
    assert said == Fact(
        "tunnel_floor_light",
        percent=round(percent),
        light=round(0.3 * percent),
        first=2,
        last=10,
    )


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
