"""Tunnels go where there is room and the ground is level, and keep their distances."""

import re
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up import (
    IN_MEMORY,
    NORTH,
    WEST,
    analysis,
    plane,
    plot_box,
    quietly,
    raster,
    site,
    surroundings,
)
from shapely import affinity
from shapely.geometry import LineString, Point

from fieldmap.decide import tunnels
from fieldmap.decide.tunnels import light, rank, room, search
from fieldmap.decide.tunnels.criteria import SAME
from fieldmap.model.settings import TunnelSize
from fieldmap.model.site import OwnBed
from fieldmap.model.surroundings import PIPE_AND_CLEARANCE_M
from fieldmap.show.text.sentence import say, say_all
from layers import footprint

SIZE = {"length_m": 20.0, "width_m": 6.0, "height_m": 3.0}


@pytest.fixture(autouse=True)
def fewer_bearings(monkeypatch):
    """Every 15° and those of the beds, which is quicker, and light every 15°."""
    monkeypatch.setattr(search, "BEARING_STEP_DEG", 15.0)
    monkeypatch.setattr(light, "BEARINGS_DEG", tuple(np.arange(0.0, 180.0, 15.0)))


def place(ground, plots, around=None, sizes=(SIZE,), latitude=45.0, **more):
    choices = {key: more.pop(key) for key in ("wind",) if key in more}
    made_up = site(
        ground, plots, around, latitude=latitude, tunnels=tuple(sizes), **choices
    )
    found = tunnels.find(made_up, analysis(ground, **more), IN_MEMORY, quietly)
    usual = found.sets[0].places if found.sets else ()
    return list(usual), say_all(found.warnings, "metric")


def hillside_with_a_shelf():
    """A 12 % hillside facing south with a level shelf 14 m wide, 90 to 104 m north."""
    northing = 199.5 - np.arange(200)
    height = 100 + 0.12 * (np.minimum(northing, 90) + np.maximum(northing - 104, 0))
    return raster(np.broadcast_to(height[:, None], (200, 200)))


def test_on_a_hillside_with_one_level_shelf_the_tunnel_stands_on_it():
    (found,), warnings = place(
        hillside_with_a_shelf(), {"Hill": plot_box(60, 60, 140, 140)}
    )
    assert warnings == []
    south = 5000200.0 - 200
    assert found.outline.bounds[1] >= south + 89
    assert found.outline.bounds[3] <= south + 105
    assert found.ground.across_percent < 1
    assert found.bearing_deg == pytest.approx(90, abs=10)


def test_slopes_along_and_across_are_those_of_the_plane_underneath():
    ground = plane(east=0.03, north=0.04)
    (found,), _ = place(ground, {"Home": plot_box(75, 75, 125, 125)})
    # Whatever the bearing, both falls together are the plane's 5 %.
    both = np.hypot(found.ground.along_percent, found.ground.across_percent)
    assert both == pytest.approx(5.0, abs=1e-6)
    angle = np.radians(found.bearing_deg)
    along = abs(3 * np.sin(angle) + 4 * np.cos(angle))
    assert found.ground.along_percent == pytest.approx(along, abs=1e-6)


def test_the_lighter_half_of_a_level_plot_is_chosen():
    light = np.full((200, 200), 5.0)
    light[:, 100:] = 4.0
    (found,), _ = place(plane(), {"Home": plot_box(75, 75, 125, 125)}, sun=light)
    assert found.outline.bounds[2] <= 500100.0


def test_the_warmer_half_of_a_level_plot_is_chosen():
    warmth = np.zeros((200, 200))
    warmth[:, :100] = -1.0
    (found,), _ = place(plane(), {"Home": plot_box(75, 75, 125, 125)}, offset_c=warmth)
    # A quarter of a degree counts as no difference: at most a quarter lies in the cold.
    warm = found.outline.intersection(plot_box(100, 0, 200, 200))
    assert warm.area >= 0.74 * found.outline.area


@pytest.mark.parametrize(("storm_from_deg", "bearing_deg"), [(280.0, 90), (350.0, 0)])
def test_the_end_turns_towards_the_storm_where_nothing_else_decides(
    storm_from_deg, bearing_deg
):
    wind = {"storm_from_deg": storm_from_deg}
    (found,), _ = place(plane(), {"Home": plot_box(75, 75, 125, 125)}, wind=wind)
    assert found.bearing_deg == pytest.approx(bearing_deg)


def test_a_tunnel_on_level_ground_lies_with_the_beds():
    plot = affinity.rotate(plot_box(50, 60, 150, 130), 25)
    (found,), _ = place(plane(), {"Home": plot}, wind={"storm_from_deg": 300.0})
    # The beds run along the long side, 90° turned counter-clockwise by 25°.
    assert (found.bearing_deg - 65.0) % 90 == pytest.approx(0.0, abs=1e-3)


def beside(beds, *, pegged=False):
    """Where a tunnel stands in a plot of 60 m by 40 m with beds that stay."""
    home = site(plane(), {"Home": plot_box(70, 80, 130, 120)}, tunnels=(SIZE,))
    own = tuple(OwnBed(f"Old {n}", "Home", bed, pegged) for n, bed in enumerate(beds))
    home = replace(home, own_beds=own)
    return tunnels.find(home, analysis(plane()), IN_MEMORY, quietly)


def test_beds_that_were_laid_around_a_tunnel_and_kept_do_not_move_it():
    """They begin right at its working space, a tenth of a millimetre within it."""
    (first,), _ = place(plane(), {"Home": plot_box(70, 80, 130, 120)})
    around = tunnels.working_space(first.outline)
    west, south, east, north = around.buffer(-0.0001, join_style="mitre").bounds
    ends = plot_box(70, 80, 130, 120).bounds
    kept = [
        shapely.box(ends[0], south, west, north),
        shapely.box(east, south, ends[2], north),
        shapely.box(west, north, east, ends[3]),
    ]
    found = beside(kept)
    assert found.sets[0].places[0].outline.equals(first.outline)
    assert [each.letter for each in found.sets] == ["A"]
    for each in found.nondominated:
        centre = Point(each.easting, each.northing)
        assert all(bed.distance(centre) >= 3.0 + 1.5 - 0.011 for bed in kept)


@pytest.mark.parametrize("pegged", [True, False])
def test_a_tunnel_gives_way_to_a_bed_that_lies_where_it_would_stand(pegged):
    """It keeps its working space of 1.5 m and half a metre from the bed."""
    (first,), _ = place(plane(), {"Home": plot_box(70, 80, 130, 120)})
    middle = first.outline.centroid
    bed = middle.buffer(1.0, cap_style="square")
    found = beside([bed], pegged=pegged)
    (stands,) = found.sets[0].places
    assert stands.outline.distance(bed) >= 2.0 - 1e-6


def test_a_tunnel_without_room_is_said_to_have_none():
    found, warnings = place(plane(), {"Strip": plot_box(40, 40, 160, 47)})
    assert found == []
    assert len(warnings) == 1
    assert "20 m by 6 m" in warnings[0]


@settings(max_examples=2, deadline=None)
@given(
    trees=st.lists(
        st.tuples(st.floats(50, 150), st.floats(50, 150), st.floats(2, 9)), max_size=4
    ),
    line=st.floats(60, 140),
)
def test_all_places_are_inside_apart_and_clear_of_what_is_around(trees, line):
    plot = plot_box(60, 60, 140, 140)
    west, south = 500000.0, 5000000.0
    things = [
        ("tree", Point(west + x, south + y).buffer(2), {"height_m": height})
        for x, y, height in trees
    ]
    wire = LineString([(west, south + line), (west + 200, south + line)])
    around = surroundings(*things, ("overhead line", wire, {"height_m": 7.0}))
    found, warnings = place(
        plane(),
        {"Home": plot},
        around,
        sizes=[SIZE, SIZE, {**SIZE, "length_m": 12.0, "height_m": 4.5}],
    )
    assert len(found) + len(warnings) == 3
    for place_ in found:
        whole = place_.outline.buffer(
            tunnels.WORKING_SPACE_M - 1e-6, join_style="mitre"
        )
        assert plot.contains(whole)
        assert place_.outline.distance(wire) >= PIPE_AND_CLEARANCE_M - 0.1
        for _, crown, more in things:
            # A round clearance is drawn with straight pieces: a hand's breadth less.
            assert place_.outline.distance(crown) >= more["height_m"] * 0.98
    for index, one in enumerate(found):
        for other in found[index + 1 :]:
            assert one.outline.distance(other.outline) >= room.SNOW_GAP_M * 0.98


CANDIDATE_SIZE = TunnelSize(length_m=12.3, width_m=4.6, height_m=2.4)


@settings(max_examples=8, deadline=None)
@given(
    turn=st.floats(0, 180),
    bearing=st.sampled_from([0.0, 5.0, 45.0, 90.0, 130.0, 175.0]),
    hole=st.tuples(st.floats(70, 130), st.floats(70, 130), st.floats(2, 8)),
)
def test_room_is_that_of_a_plain_overlay_of_outlines(turn, bearing, hole):
    west, south = 500000.0, 5000000.0
    pond = Point(west + hole[0], south + hole[1]).buffer(hole[2])
    free = affinity.rotate(plot_box(50, 60, 150, 130), turn).difference(pond)
    lattice = footprint.lattice(
        shapely.get_coordinates(free.convex_hull), bearing, search.STEP_M
    )
    has_room = room.has_room(free, CANDIDATE_SIZE, lattice)
    east, north = lattice.points()
    rng = np.random.default_rng(11)
    rows = rng.integers(0, has_room.size, 400)
    upright = room.footprint(CANDIDATE_SIZE, bearing, room.WORKING_SPACE_M)
    for row in rows:
        at = np.unravel_index(row, has_room.shape)
        rectangle = affinity.translate(upright, east[at], north[at])
        # A hair's breadth on either side of an edge may go either way.
        if free.buffer(-1e-6).contains(rectangle):
            assert has_room[at]
        elif not free.buffer(1e-6).contains(rectangle):
            assert not has_room[at]


def test_what_lies_under_a_place_is_what_a_plain_overlay_finds():
    rng = np.random.default_rng(2)
    rough = raster(100 + np.cumsum(rng.normal(0, 0.02, (200, 200)), axis=1))
    made_up = site(rough, {"Home": plot_box(75, 75, 125, 125)}, tunnels=(SIZE,))
    known = analysis(rough, sun=5 + rng.random((200, 200)))
    size = made_up.settings.tunnels[0]
    (found,) = search.search(made_up, known, [size], IN_MEMORY, quietly)
    for row in rng.integers(0, len(found), 60):
        outline = affinity.translate(
            room.footprint(size, float(found.bearing_deg[row]), 0.0), *found.centre[row]
        )
        west, south, east, north = outline.bounds
        x, y = np.meshgrid(np.arange(west, east, 0.1), np.arange(south, north, 0.1))
        inside = shapely.contains_xy(outline, x, y)
        sun = known.light.level_sun_mj_m2_day.interpolate(x[inside], y[inside])
        assert found.sun[row] == pytest.approx(sun[[10, 11, 0]].mean(), rel=0.003)


def test_a_place_that_another_beats_in_everything_is_not_kept():
    rng = np.random.default_rng(4)
    amounts = rng.random((500, 12)) * 3 * np.array(SAME)
    centre = rng.random((500, 2)) * 100
    kept = rank.nondominated(amounts, centre, np.zeros(500))
    steps = np.floor((amounts - amounts.min(axis=0)) / np.array(SAME))
    for row in range(500):
        beats = (steps <= steps[row]).all(axis=1) & (steps < steps[row]).any(axis=1)
        if row in kept:
            assert not beats.any()
        elif len(kept) < rank.MOST_KEPT and not beats.any():
            # One alike in every step stands for it.
            assert (steps[kept] == steps[row]).all(axis=1).any()


def test_choices_that_differ_are_shown_with_what_they_give_and_give_up():
    # The lighter western half is far from the gate.
    light = np.full((200, 200), 5.0)
    light[:, :100] = 6.0
    gate = surroundings(("gate", Point(WEST + 190, NORTH - 100), {}))
    made_up = site(plane(), {"Home": plot_box(60, 80, 160, 120)}, gate, tunnels=(SIZE,))
    known = analysis(plane(), sun=light)
    early, near = tunnels.find(made_up, known, IN_MEMORY, quietly).sets
    assert [early.letter, near.letter] == ["A", "B"]
    assert [early.goal, near.goal] == ["early", "near"]
    assert early.places[0].light.winter_mj_m2_day == pytest.approx(6.0, abs=0.1)
    assert near.places[0].light.winter_mj_m2_day == pytest.approx(5.0, abs=0.1)
    said = say(near.comparison, "metric")
    assert said.startswith("This choice is best for a short way to gate and water.")
    assert "The walk to gate and water is" in said
    # About 70 of 100 in the light, a sixth less in the dark: 12 points.
    assert re.search(
        r"Worse than the first place: The floor gets less light, by 1[0-2] % of the light on open ground\.",
        said,
    )
    assert "tunnels_first" in say(early.comparison, "metric")
    asked = replace(
        made_up, settings=made_up.settings.model_copy(update={"tunnels_first": "near"})
    )
    first, other = tunnels.find(asked, known, IN_MEMORY, quietly).sets
    assert (first.goal, other.goal) == ("near", "early")
    assert first.places[0].outline.equals(near.places[0].outline)


def test_of_two_tunnels_with_room_for_one_it_is_said_that_one_is_placed():
    found, warnings = place(
        plane(), {"Strip": plot_box(40, 40, 66, 52)}, sizes=[{**SIZE, "count": 2}]
    )
    assert len(found) == 1
    assert warnings == [
        "Only 1 of 2 walk-in tunnels of 20 m by 6 m have enough room here, with free space around them."
    ]


def test_earth_for_a_level_pad_is_that_of_the_plane():
    (found,), _ = place(
        plane(east=0.03, north=0.04), {"Home": plot_box(75, 75, 125, 125)}
    )
    expected = footprint.earth_moved_m3(
        found.ground.along_percent / 100, found.ground.across_percent / 100, 20.0, 6.0
    )
    assert found.ground.level_pad_m3 == pytest.approx(float(expected), rel=0.02)
    across = found.ground.across_percent / 100
    assert found.ground.sloping_pad_m3 == pytest.approx(20 * across * 36 / 8, rel=0.03)


def test_ground_taken_from_beds_is_the_tunnel_with_its_working_space():
    (found,), _ = place(plane(), {"Home": plot_box(75, 75, 125, 125)})
    taken = tunnels.working_space(found.outline)
    assert taken.area == pytest.approx(23 * 9, abs=1e-6)
    assert shapely.oriented_envelope(taken).area == pytest.approx(taken.area)
