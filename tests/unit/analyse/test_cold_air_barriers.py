"""Barriers: what cold air stands behind, on made-up planes and layers."""

from dataclasses import replace

import numpy as np
import pytest
from made_up import (
    analysed_in_the_dark,
    analysis,
    night,
    plane,
    plot_box,
    site,
    surroundings,
    with_cold_air,
)
from shapely.geometry import box

from fieldmap.analyse.cold_air import barriers, pockets
from fieldmap.show.text.site.analysis import named_pockets

# Falls 5 % to the south over 400 m; the plot lies in its middle.
GROUND = plane(rows=200, cols=200, north=0.05, cell_size_m=2.0)
PLOT = {"Home": plot_box(180, -40, 220, 40)}
HEDGE = {"height_m": 3.0, "porosity": 0.2, "clear_stem_m": 0.0, "leaf": "evergreen"}
ACROSS, ALONG = plot_box(160, -44, 240, -42), plot_box(199, -80, 201, 40)


def found(outline, kind="hedge", **more):
    made = site(GROUND, PLOT, surroundings((kind, outline, HEDGE | more)))
    shown = analysed_in_the_dark(made)
    return holding(made, shown), cold_pockets(made, shown)


def holding(made, shown):
    return barriers.find(made.surroundings, shown, made.convergence_deg)


def cold_pockets(made, shown):
    found = pockets.find(
        made.plots.geometry, made.surroundings, shown, holding(made, shown)
    )
    return named_pockets(found)


def test_a_hedge_across_the_slope_holds_air_on_its_upper_side():
    (barrier,), held = found(ACROSS, name="Long Hedge")
    assert (barrier.name, barrier.kind, barrier.side_deg) == ("Long Hedge", "hedge", 0)
    assert (
        barriers.DEEPER_M <= barrier.deeper_m <= 3.0
    )  # no deeper than the hedge is high
    assert barriers.LENGTH_M <= barrier.length_m <= 84
    assert barrier.edge.distance(plot_box(160, -42, 240, -41)) == 0
    assert "Long Hedge" in set(held["behind"])


def test_a_pocket_stands_behind_the_nearest_of_what_is_near_and_the_coldest_is_first():
    """Pockets of 20 m by 20 m: 1 °C colder with hedges 4 m and 8 m to the south, 2 °C
    colder with one 12 m to the south, which is over 10 m away.
    """
    made, offset_c = site(GROUND, PLOT), np.zeros((200, 200))
    offset_c[100:110, 50:60], offset_c[100:110, 150:160] = -1.0, -2.0
    shown = analysis(GROUND, offset_c=offset_c)
    # Rows 100 to 109 of 2 m lie 0 m to -20 m from the corner, columns 50 to 59 at 100 m.
    strips = [("Near", 100, -24), ("Far", 100, -28), ("Off", 300, -32)]
    held = [
        barriers.Barrier(
            *(name, "hedge", 0.0, 20.0, 1.0, -0.5),
            edge=plot_box(west, south, west + 20, south + 0.0001),
        )
        for name, west, south in strips
    ]
    for things in (held, held[::-1]):
        found = pockets.find(
            made.plots.geometry, made.surroundings, shown, tuple(things)
        )
        assert found["behind"].tolist() == ["", "Near"]
        assert found["offset_central_c"].tolist() == [-2.0, -1.0]
        assert found["area_m2"].tolist() == [400.0, 400.0]
        assert not found["cut_off"].any()


def test_a_hedge_along_the_slope_does_not():
    held_back, held = found(ALONG)
    assert held_back == ()
    assert set(held["behind"]) <= {""}


@pytest.mark.parametrize(
    ("kind", "more"),
    [("trees", {"clear_stem_m": 2.0}), ("road", {}), ("hedge", {"height_m": 0.3})],
    ids=["on clear stems", "lies flat", "lower than what counts"],
)
def test_what_leaves_the_ground_free_is_no_barrier(kind, more):
    assert found(ACROSS, kind, **more)[0] == ()


def layered(depth_m, thing, ground=GROUND, **choices):
    """What holds back a given layer: no flow is run."""
    made = site(ground, PLOT, thing, **choices)
    a_night = night(ground.with_values(np.stack([depth_m] * 3)))
    return made, with_cold_air(analysis(ground), night=a_night)


def step(inside_m, outside_m, box_m):
    """A layer that is `inside_m` deep in a box and `outside_m` elsewhere."""
    west, south, east, north = box_m
    row, col = np.mgrid[0:200, 0:200] * 2.0 + 1.0
    inside = (west < col) & (col < east) & (200 - north < row) & (row < 200 - south)
    return np.where(inside, inside_m, outside_m)


def test_straight_across_a_thing_is_its_far_side():
    """Through a slab 2 m thick and 60 m long, and along it."""
    slab, top = box(100, 0, 160, 2), np.array([[130.0, 2.0], [101.0, 2.0]])
    up = np.array([[0.0, 1.0]] * 2)
    assert barriers._right_across(slab, top, up).tolist() == [[130, 0], [101, 0]]
    end, east = np.array([[160.0, 1.0]]), np.array([[1.0, 0.0]])
    assert barriers._right_across(slab, end, east).tolist() == [[100, 1]]


def test_depth_and_length_are_those_of_the_layer():
    thing = surroundings(("wall", plot_box(100, 0, 160, 2), {"name": "Stone"}))
    made, shown = layered(step(1.7, 0.5, (120, 2, 150, 60)), thing)
    (barrier,) = holding(made, shown)
    assert barrier.deeper_m == pytest.approx(1.2)
    assert barrier.length_m == pytest.approx(30, abs=2)
    assert barrier.side_deg == 0


@pytest.mark.parametrize(
    ("inside_m", "long_m"), [(0.9, 30), (1.7, 8)], ids=["shallow", "short"]
)
def test_a_shallow_or_short_step_is_no_barrier(inside_m, long_m):
    thing = surroundings(("wall", plot_box(100, 0, 160, 2), {}))
    made, shown = layered(step(inside_m, 0.5, (120, 2, 120 + long_m, 60)), thing)
    assert holding(made, shown) == ()


def test_a_thing_in_deep_air_on_both_sides_holds_nothing():
    thing = surroundings(("building", plot_box(150, 0, 170, 15), {}))
    made, shown = layered(np.full((200, 200), 5.0), thing)
    assert holding(made, shown) == ()


def test_sides_are_named_from_true_north():
    """Grid north 30° west of true north: what is grid north is north-north-west."""
    thing = surroundings(("wall", plot_box(100, 0, 160, 2), {}))
    made, shown = layered(step(1.7, 0.5, (100, 2, 160, 60)), thing)
    turned = replace(made, convergence_deg=-30.0)
    assert holding(turned, shown)[0].side_deg == 315


def test_both_sides_of_a_zigzag_are_named():
    thing = surroundings(("wall", plot_box(100, 0, 160, 2), {"name": "Zag"}))
    upper = step(1.7, 0.0, (102, 2, 130, 60))
    lower = step(1.9, 0.0, (130, -60, 158, 0))
    made, shown = layered(upper + lower, thing)
    assert [each.side_deg for each in holding(made, shown)] == [
        180,
        0,
    ]


def test_a_hedge_off_the_shown_ground_is_not_reported():
    thing = surroundings(("wall", plot_box(100, 0, 160, 2), {}))
    made, shown = layered(step(1.7, 0.5, (100, 2, 160, 60)), thing)
    north = GROUND.clip((slice(0, 50), slice(0, 200)))
    far = replace(shown, terrain=replace(shown.terrain, elevation_m=north))
    assert holding(made, far) == ()


def test_a_pocket_near_a_nameless_barrier_names_its_kind_and_a_far_one_nothing():
    thing = surroundings(("wall", plot_box(150, 0, 210, 2), {"name": None}))
    depth = step(3.0, 0.5, (150, 2, 210, 30)) + step(3.0, 0.0, (190, -120, 210, -60))
    made, shown = layered(depth, thing)
    colder_c = GROUND.with_values(np.stack([-0.6 * np.sqrt(depth)] * 3))
    shown = with_cold_air(shown, depth_m=GROUND.with_values(depth), offset_c=colder_c)
    pockets = cold_pockets(made, shown)
    at = {
        name: outline.centroid.y
        for name, outline in zip(pockets["behind"], pockets.geometry, strict=True)
    }
    assert set(at) == {"wall", ""}
    assert at["wall"] > 5000000 > at[""]


@pytest.mark.parametrize(
    ("south_m", "cut_off"), [(-200, True), (-190, False)], ids=["at the edge", "inside"]
)
def test_a_pocket_that_goes_on_beyond_the_shown_ground_says_so(south_m, cut_off):
    # The cells end 200 m south of the corner that boxes are counted from.
    made = site(GROUND, PLOT)
    depth = step(3.0, 0.5, (90, south_m, 130, -60))
    shown = with_cold_air(
        analysis(GROUND),
        depth_m=GROUND.with_values(depth),
        offset_c=GROUND.with_values(np.stack([-0.6 * np.sqrt(depth)] * 3)),
    )
    pockets = cold_pockets(made, shown)
    assert list(pockets["cut_off"]) == [cut_off]


def test_without_a_night_nothing_is_held_back():
    thing = surroundings(("wall", plot_box(100, 0, 160, 2), {}))
    made = site(GROUND, PLOT, thing)
    assert holding(made, analysis(GROUND)) == ()
