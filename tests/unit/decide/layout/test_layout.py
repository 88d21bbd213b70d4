"""Which way beds run: planes, turned ground and bent plots have answers of their own."""

import itertools
from collections import Counter

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up import NORTH, WEST, analysis, plane, plot_box, site
from pydantic import ValidationError
from shapely import affinity
from shapely.geometry import MultiPoint, Polygon

from fieldmap.decide.layout import bearings
from fieldmap.decide.layout.choose import choose_layouts
from fieldmap.decide.layout.fill import fill_plots
from fieldmap.model.settings import Beds
from fieldmap.model.site import OwnBed
from fieldmap.show.text.decide import layout as text
from layers import hoop

MIDDLE = (WEST + 100, NORTH - 100)
ROOM = {"setback_m": 0.0, "headland_m": 0.0, "any_length": True}


def laid(ground, plots, obstacles=(), own_beds=(), bearing_deg_of=None, **choices):
    """Beds and layouts of a site on made-up ground."""
    there = site(ground, plots, beds=ROOM | choices)
    if own_beds:
        object.__setattr__(there, "own_beds", tuple(own_beds))
    if bearing_deg_of:
        there.plots["bearing_deg"] = bearing_deg_of
    analysed = analysis(ground)
    chosen = choose_layouts(there, analysed)
    return fill_plots(there, analysed, chosen, list(obstacles))[:2]


def falls_along(bed, ground):
    """Fall along a bed by the heights at its ends."""
    (one, other) = (
        np.mean(pair, axis=0)
        for pair in np.split(shapely.get_coordinates(bed.outline)[[0, 3, 1, 2]], 2)
    )
    heights = ground.interpolate(*np.stack([one, other], 1))
    return abs(heights[1] - heights[0]) / bed.length_m


def square(size_m=60.0, turn_deg=0.0):
    half = size_m / 2
    outline = plot_box(100 - half, 100 - half, 100 + half, 100 + half)
    return affinity.rotate(outline, turn_deg, origin=MIDDLE)


# USDA NRCS practice standard 330: rows fall at most 2 %, and at most half the fall of
# the ground (3 % of 6 %, so the 2 % rule).
@pytest.mark.parametrize("towards_deg", [0, 30, 77, 135, 171])
def test_on_ground_that_falls_6_percent_no_row_falls_over_2(towards_deg):
    turn = np.radians(towards_deg)
    ground = plane(east=0.06 * np.sin(turn), north=0.06 * np.cos(turn))
    beds, layouts = laid(ground, {"Home": square()})
    assert beds
    assert max(falls_along(bed, ground) for bed in beds) <= 0.02
    assert layouts[0].too_steep == ()


def test_rows_straight_down_a_slope_are_reported_and_not_forbidden():
    beds, layouts = laid(plane(north=0.06), {"Home": square()}, bearing_deg=0.0)
    assert {bed.bearing_deg for bed in beds} == {0.0}
    assert set(layouts[0].too_steep) == {bed.name for bed in beds}
    assert any("too steep" in reason for reason in text.reasons(layouts[0], "metric"))
    assert bearings.apart_deg(layouts[0].other.grid_deg, 90.0) <= 20


@settings(max_examples=6, deadline=None)
@given(turn_deg=st.floats(0, 360), fall=st.floats(0.0, 0.12))
def test_a_turned_plot_on_turned_ground_gets_turned_beds(turn_deg, fall):
    def turned(by_deg):
        outline = affinity.rotate(plot_box(60, 80, 140, 115), -by_deg, origin=MIDDLE)
        way = np.radians(20 + by_deg)
        ground = plane(east=fall * np.sin(way), north=fall * np.cos(way))
        return laid(ground, {"Home": outline})

    beds, layouts = turned(0.0)
    there, its = turned(turn_deg)
    away = (its[0].bearing_deg - layouts[0].bearing_deg - turn_deg) % 180
    assert min(away, 180 - away) < 0.01
    # Bearings are found to a thousandth of a degree; of two ways to cut the rows that
    # are worth the same to half a percent of bed, a turn may take the other.
    assert sum(bed.area_m2 for bed in there) == pytest.approx(
        sum(bed.area_m2 for bed in beds), rel=0.01
    )


def test_on_level_ground_a_long_plot_has_beds_along_its_long_side():
    beds, layouts = laid(plane(), {"Home": plot_box(40, 80, 160, 110)})
    assert {bed.bearing_deg for bed in beds} == {90.0}
    # floor((30 + 0.45) / (0.75 + 0.45)) = 25 beds of 120 m
    assert len(beds) == 25
    assert layouts[0].area_m2 == pytest.approx(25 * 120 * 0.75, abs=1e-6)
    assert "level" in " ".join(text.reasons(layouts[0], "metric"))


def test_the_runner_up_is_another_way_and_no_better_in_what_decided():
    _, (layout,) = laid(plane(north=0.06), {"Home": plot_box(40, 80, 160, 110)})
    apart = bearings.apart_deg(layout.kept.grid_deg, layout.other.grid_deg)
    assert apart >= bearings.OTHER_DEG
    assert layout.other.over_share >= layout.kept.over_share
    assert text.runner_up(layout, "metric").startswith("The second choice is")


def test_the_runner_up_of_tall_crops_says_how_far_each_is_from_north():
    """Square and level: its sides are alike but for north, and the grower chose east."""
    plots = {"Home": plot_box(50, 50, 110, 110)}
    chosen = {"bearing_deg": 90.0}
    _, (layout,) = laid(plane(), plots, tall_crops=True, **chosen)
    assert layout.other.bearing_deg == 0.0
    said = text.runner_up(layout, "metric")
    assert "Advantages: Rows in this direction are 0° away from north to south." in said
    assert said.endswith("Rows in the direction that the plan chose are 90° away.")
    _, (layout,) = laid(plane(), plots, **chosen)
    assert text.runner_up(layout, "metric").endswith("There is no real difference.")


# Legs of 15 m: beds across one would lose a fifth of it to turning strips.
BENT = Polygon(
    [(20, 20), (180, 20), (180, 35), (35, 35), (35, 180), (20, 180), (20, 20)]
)


def test_a_bent_plot_is_cut_where_each_leg_has_its_own_way():
    bent = affinity.translate(BENT, WEST, NORTH - 200)
    beds, layouts = laid(plane(), {"Home": bent}, headland_m=1.5)
    assert {round(each.bearing_deg) for each in layouts} == {0, 90}
    assert {bed.block_name for bed in beds} == {"A/1", "A/2"}
    assert all(bent.buffer(1e-6).covers(bed.outline) for bed in beds)
    no_overlap(beds, 0.45)


def no_overlap(beds, path_m):
    """No two beds share ground, and none of a row lies nearer than a path."""
    for one, other in itertools.combinations(beds, 2):
        apart_m = one.outline.distance(other.outline)
        assert apart_m >= min(path_m, 0.45) - 1e-6, (one.name, other.name)


@settings(max_examples=12, deadline=None)
@given(
    data=st.data(),
    path_m=st.floats(0.3, 1.0),
    length_m=st.sampled_from(["any", None, 12.0]),
    most=st.sampled_from([None, 4, 15]),
)
def test_beds_keep_off_edges_holes_and_each_other(data, path_m, length_m, most):
    corners = data.draw(
        st.lists(
            st.tuples(st.floats(40, 160), st.floats(40, 160)), min_size=3, max_size=8
        )
    )
    hull = MultiPoint([(WEST + x, NORTH - 200 + y) for x, y in corners]).convex_hull
    if hull.area < 200 or not isinstance(hull, Polygon):
        return
    middle = hull.centroid
    hole = affinity.scale(hull, 0.2, 0.2, origin=(middle.x, middle.y))
    ground = hull.difference(hole)
    choices = {
        "path_width_m": path_m,
        "setback_m": 1.0,
        "headland_m": 1.0,
        "any_length": length_m == "any",
        "length_m": None if length_m == "any" else length_m,
        "beds_per_block": most,
    }
    if ground.buffer(-1.0).is_empty:
        return
    beds, layouts = laid(plane(north=0.03), {"Home": ground}, **choices)
    # A notch under a millimetre is none.
    kept = ground.buffer(-1.0 + 0.002, join_style="mitre")
    for bed in beds:
        assert kept.covers(bed.outline)
        assert bed.width_m == 0.75
        assert length_m == "any" or bed.length_m <= (length_m or 29.5)
    for one, other in itertools.combinations(beds, 2):
        assert one.outline.distance(other.outline) >= path_m - 1e-6
    assert len({bed.name for bed in beds}) == len(beds)
    assert sum(each.area_m2 for each in layouts) == pytest.approx(
        sum(bed.outline.area for bed in beds), rel=1e-3
    )


def test_rows_are_cut_into_bays_of_one_length_with_paths_across():
    """100 m with headlands of 2 m: 4 · 22.5 m and 3 paths of 2 m are 96 m."""
    beds, _ = laid(
        plane(),
        {"Home": plot_box(50, 90, 150, 98)},
        any_length=False,
        length_m=22.5,
        headland_m=2.0,
        bearing_deg=90.0,
    )
    assert Counter(bed.length_m for bed in beds) == {22.5: 4 * 7}
    wests = sorted({round(bed.outline.bounds[0] - WEST, 6) for bed in beds})
    assert wests == [52.0, 76.5, 101.0, 125.5]
    assert {bed.block for bed in beds} == {1, 2, 3, 4}


def test_a_drive_lane_parts_blocks_of_the_chosen_number():
    beds, _ = laid(
        plane(),
        {"Home": plot_box(50, 80, 150, 110)},
        beds_per_block=5,
        drive_lane_m=4.0,
    )
    assert max(Counter(bed.block for bed in beds).values()) <= 5
    assert len({bed.block for bed in beds}) > 1
    norths = np.sort([bed.outline.centroid.y for bed in beds])
    steps = set(np.round(np.diff(norths), 6))
    assert steps == {1.2, 4.75}


def test_a_change_on_one_plot_renames_no_bed_of_another():
    first = {"North": plot_box(50, 120, 150, 150), "South": plot_box(50, 50, 150, 80)}
    beds, _ = laid(plane(), first)
    changed = first | {"North": plot_box(50, 120, 110, 170)}
    there, _ = laid(plane(), changed)

    def of_south(found):
        return [(b.name, b.outline.wkb) for b in found if b.plot == "South"]

    assert of_south(there) == of_south(beds)


def test_a_plot_can_fix_its_own_bearing():
    plots = {"North": plot_box(50, 120, 150, 150), "South": plot_box(50, 50, 150, 80)}
    _, layouts = laid(plane(), plots, bearing_deg_of=[20.0, None])
    assert [each.bearing_deg for each in layouts] == [20.0, 90.0]


def test_beds_that_lie_there_are_kept_and_no_others_come():
    lying = plot_box(60, 60, 61, 75)
    plots = {"North": plot_box(50, 120, 150, 150), "South": plot_box(50, 50, 150, 80)}
    beds, layouts = laid(plane(), plots, own_beds=[OwnBed("Old 1", "South", lying)])
    south = [bed for bed in beds if bed.plot == "South"]
    assert [(bed.name, bed.exists) for bed in south] == [("Old 1", True)]
    assert south[0].outline.equals(lying)
    assert (south[0].length_m, south[0].width_m) == pytest.approx((15.0, 1.0))
    assert south[0].bearing_deg == 0.0
    assert {each.plot for each in layouts} == {"North"}


def test_tunnels_that_come_later_take_beds_of_their_own_plot_alone():
    plots = {"North": plot_box(50, 120, 150, 150), "South": plot_box(50, 50, 150, 80)}
    tunnel = plot_box(80, 125, 100, 135)
    beds, _ = laid(plane(), plots, obstacles=[tunnel])
    assert max(bed.outline.intersection(tunnel).area for bed in beds) < 0.1
    without, _ = laid(plane(), plots)
    assert [b.outline.wkb for b in beds if b.plot == "South"] == [
        b.outline.wkb for b in without if b.plot == "South"
    ]


def test_covered_beds_have_paths_that_edges_and_bags_leave_free():
    plots = {"Home": plot_box(50, 80, 150, 110)}
    beds, _ = laid(plane(), plots, covered=True)
    norths = np.sort([bed.outline.centroid.y for bed in beds])
    np.testing.assert_allclose(np.diff(norths), 0.75 + 0.6, atol=1e-6)


# Two strips of 0.75 m with a path of 0.45 m are 1.95 m wide; with 0.6 m beside covers,
# floor((30 + 0.6) / (1.95 + 0.6)) = 12 of them fit on 30 m.
def test_two_strips_under_one_hoop_are_one_bed_with_a_path_within():
    outline = plot_box(20, 80, 140, 110)
    beds, layouts = laid(plane(), {"Home": outline}, bearing_deg=90.0, under_one_hoop=2)
    assert len(beds) == 12
    assert {round(bed.width_m, 6) for bed in beds} == {1.95}
    assert layouts[0].area_m2 == pytest.approx(12 * 120 * 2 * 0.75, abs=1e-6)
    middles = sorted(bed.outline.centroid.y for bed in beds)
    assert np.diff(middles) == pytest.approx(2.55)


def test_a_hoop_over_two_strips_spans_both_and_the_path_within():
    # Half an ellipse with half axes .975 and .5 m: Ramanujan's second formula for its
    # length (from memory), within 1e-4 of the exact one at this shape.
    a, b = 1.95 / 2, 0.5
    h = ((a - b) / (a + b)) ** 2
    half = np.pi * (a + b) * (1 + 3 * h / (10 + np.sqrt(4 - 3 * h))) / 2
    (bed, *_), _ = laid(
        plane(),
        {"Home": plot_box(20, 80, 140, 110)},
        bearing_deg=90.0,
        under_one_hoop=2,
    )
    assert hoop.arc_m("half ellipse", bed.width_m, b) == pytest.approx(half, rel=1e-3)


# An inch is 25.4 mm (international yard and pound agreement of 1959).
def test_widths_may_be_given_in_inches():
    beds = Beds.model_validate({"bed_width_in": 30, "path_width_in": 18})
    assert beds.bed_width_m == pytest.approx(0.762)
    assert beds.path_width_m == pytest.approx(0.4572)


@pytest.mark.parametrize(
    ("choices", "said"),
    [
        ({"bed_width_in": 30, "bed_width_m": 0.75}, "not both"),
        ({"bed_width_in": 3}, "must be"),
        ({"bed_width_in": "30"}, "a number"),
        ({"length_m": 3.0, "shortest_m": 4.0}, "less than shortest_m"),
        ({"length_m": 9.0, "any_length": True}, "not both"),
        ({"second_length_m": 10.0}, "needs a length_m"),
        ({"length_m": 10.0, "second_length_m": 10.0}, "longer"),
        ({"length_m": 10.0, "second_length_m": 3.0}, "shortest_m 4"),
    ],
)
def test_choices_that_cannot_be_are_refused(choices, said):
    with pytest.raises(ValidationError, match=said):
        Beds.model_validate(choices)
