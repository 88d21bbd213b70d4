"""Tunnels go where there is room and the ground is level, and keep their distances."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up import analysis, plane, plot_box, raster, site, surroundings
from shapely import affinity
from shapely.geometry import LineString, Point

from fieldmap import tunnels

SIZE = {"length_m": 20.0, "width_m": 6.0, "height_m": 3.0}


def place(ground, plots, around=None, sizes=(SIZE,), latitude=45.0, **more):
    choices = {key: more.pop(key) for key in ("wind",) if key in more}
    made_up = site(
        ground, plots, around, latitude=latitude, tunnels=tuple(sizes), **choices
    )
    return tunnels.place(made_up, analysis(ground, **more))


def hillside_with_a_shelf():
    """A 12 % hillside facing south with a level shelf 14 m wide, 90 to 104 m north."""
    northing = 199.5 - np.arange(200)
    height = 100 + 0.12 * (np.minimum(northing, 90) + np.maximum(northing - 104, 0))
    return raster(np.broadcast_to(height[:, None], (200, 200)))


def test_on_a_hillside_with_one_level_shelf_the_tunnel_stands_on_it():
    (found,), warnings = place(
        hillside_with_a_shelf(), {"Hill": plot_box(40, 40, 160, 160)}
    )
    assert warnings == []
    south = 5000200.0 - 200
    assert found.outline.bounds[1] >= south + 89
    assert found.outline.bounds[3] <= south + 105
    assert found.slope_across_percent < 1
    assert found.bearing_deg == pytest.approx(90, abs=10)


def test_slopes_along_and_across_are_those_of_the_plane_underneath():
    ground = plane(east=0.03, north=0.04)
    (found,), _ = place(ground, {"Home": plot_box(40, 40, 160, 160)})
    # Whatever the bearing, both falls together are the plane's 5 %.
    both = np.hypot(found.slope_along_percent, found.slope_across_percent)
    assert both == pytest.approx(5.0, abs=1e-6)
    angle = np.radians(found.bearing_deg)
    along = abs(3 * np.sin(angle) + 4 * np.cos(angle))
    assert found.slope_along_percent == pytest.approx(along, abs=1e-6)


def test_the_lighter_half_of_a_level_plot_is_chosen():
    light = np.full((200, 200), 5.0)
    light[:, 100:] = 4.0
    (found,), _ = place(plane(), {"Home": plot_box(40, 40, 160, 160)}, sun=light)
    assert found.outline.bounds[2] <= 500100.0


def test_the_warmer_half_of_a_level_plot_is_chosen():
    warmth = np.zeros((200, 200))
    warmth[:, :100] = -1.0
    (found,), _ = place(plane(), {"Home": plot_box(40, 40, 160, 160)}, offset_c=warmth)
    # A quarter of a degree counts as no difference: at most a quarter lies in the cold.
    warm = found.outline.intersection(plot_box(100, 0, 200, 200))
    assert warm.area >= 0.74 * found.outline.area


@pytest.mark.parametrize(("storm_from_deg", "bearing_deg"), [(280.0, 90), (350.0, 0)])
def test_the_end_turns_towards_the_storm_where_nothing_else_decides(
    storm_from_deg, bearing_deg
):
    wind = {"storm_from_deg": storm_from_deg}
    (found,), _ = place(plane(), {"Home": plot_box(40, 40, 160, 160)}, wind=wind)
    assert found.bearing_deg == pytest.approx(bearing_deg)


def test_a_tunnel_on_level_ground_lies_with_the_beds():
    plot = affinity.rotate(plot_box(50, 60, 150, 130), 25)
    (found,), _ = place(plane(), {"Home": plot}, wind={"storm_from_deg": 300.0})
    # The beds run along the long side, 90° turned counter-clockwise by 25°.
    assert (found.bearing_deg - 65.0) % 90 == pytest.approx(0.0, abs=1e-3)


def test_a_tunnel_without_room_is_said_to_have_none():
    found, warnings = place(plane(), {"Strip": plot_box(40, 40, 160, 47)})
    assert found == []
    assert len(warnings) == 1
    assert "20 × 6 m" in warnings[0]


@settings(max_examples=15, deadline=None)
@given(
    trees=st.lists(
        st.tuples(st.floats(40, 160), st.floats(40, 160), st.floats(2, 9)), max_size=4
    ),
    line=st.floats(60, 140),
)
def test_all_places_are_inside_apart_and_clear_of_what_is_around(trees, line):
    plot = plot_box(40, 40, 160, 160)
    west, south = 500000.0, 5000000.0
    things = [
        ("tree", Point(west + x, south + y).buffer(2), {"height_m": height})
        for x, y, height in trees
    ]
    wire = LineString([(west, south + line), (west + 200, south + line)])
    around = surroundings(*things, ("overhead line", wire, {"height_m": 7.0}))
    found, warnings = place(
        plane(), {"Home": plot}, around, sizes=[SIZE, SIZE, {**SIZE, "length_m": 12.0}]
    )
    assert len(found) + len(warnings) == 3
    for place_ in found:
        room = place_.outline.buffer(tunnels.WORKING_SPACE_M - 1e-6, join_style="mitre")
        assert plot.contains(room)
        assert place_.outline.distance(wire) >= tunnels.PIPE_AND_CLEARANCE_M - 0.1
        for _, crown, more in things:
            # A round clearance is drawn with straight pieces: a hand's breadth less.
            assert place_.outline.distance(crown) >= more["height_m"] * 0.98
    for index, one in enumerate(found):
        for other in found[index + 1 :]:
            assert (
                one.outline.distance(other.outline) >= tunnels.gap_m(3.0, 45.0) * 0.98
            )


def test_the_gap_is_the_noon_shadow_at_the_winter_solstice_and_never_under_that_for_snow():
    # Shadow lengths at noon: 1.63 H at 35°, 2.00 H at 40°, 2.53 H at 45°, 3.36 H at 50°
    # (solar geometry: H / tan(90° - latitude - 23.44°)).
    for latitude, lengths in ((35, 1.63), (40, 2.00), (45, 2.53), (50, 3.36)):
        assert tunnels.gap_m(3.0, latitude) == pytest.approx(3 * lengths, abs=0.02)
        assert tunnels.gap_m(3.0, -latitude) == tunnels.gap_m(3.0, latitude)
    assert tunnels.gap_m(2.0, 0.0) == 3.0


def test_ground_taken_from_beds_is_the_tunnel_with_its_working_space():
    (found,), _ = place(plane(), {"Home": plot_box(40, 40, 160, 160)})
    taken = tunnels.working_space(found)
    assert taken.area == pytest.approx(23 * 9, abs=1e-6)
    assert shapely.oriented_envelope(taken).area == pytest.approx(taken.area)
