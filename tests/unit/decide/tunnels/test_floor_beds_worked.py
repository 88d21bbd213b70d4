"""Beds on the floor of a walk-in tunnel, laid by hand."""

from types import SimpleNamespace

import pytest
import shapely
from shapely.affinity import rotate
from shapely.geometry import Point

from fieldmap.decide.crop_plan import bed_classes
from fieldmap.decide.layout.beds import seen_from
from fieldmap.decide.tunnels import floor_beds
from fieldmap.model.settings import Beds, TunnelSize

BEDS = Beds(bed_width_m=0.75, path_width_m=0.4)
SIZE = {"length_m": 20.0, "width_m": 6.0, "height_m": 3.0}


def stands(outline=None, name="T1", bearing_deg=90.0, **size):
    return SimpleNamespace(
        name=name,
        plot="Home",
        outline=shapely.box(0, 0, 20, 6) if outline is None else outline,
        bearing_deg=bearing_deg,
        size=TunnelSize(**SIZE | size),
    )


def test_beds_lie_along_the_ridge_in_the_middle_of_the_floor():
    """5 beds of 0.75 m and 4 paths of 0.4 m are 5.35 m of 6: 0.325 m on each side.

    Of 20 m half a metre is left at each end. One bed begins each 1.15 m.
    """
    found = floor_beds(stands(), BEDS)
    assert [bed.name for bed in found] == [f"T1/{number}" for number in range(1, 6)]
    assert {(bed.length_m, bed.width_m) for bed in found} == {(19.0, 0.75)}
    assert {(bed.plot, bed.tunnel, bed.bearing_deg) for bed in found} == {
        ("Home", "T1", 90.0)
    }
    souths = [0.325 + 1.15 * number for number in range(5)]
    laid = sorted((bed.outline.bounds for bed in found), key=lambda each: each[1])
    assert laid == [pytest.approx((0.5, south, 19.5, south + 0.75)) for south in souths]
    # In the order of their numbers they are neighbours.
    middles = [bed.outline.centroid.y for bed in found]
    assert middles in (sorted(middles), sorted(middles, reverse=True))


@pytest.mark.parametrize(("gate", "east"), [((-9, 3), 0.5), ((29, 3), 19.5)])
def test_beds_begin_at_the_end_of_their_tunnel_towards_the_gate(gate, east):
    outline = seen_from(Point(gate), shapely.box(0, 0, 20, 6))
    for bed in floor_beds(stands(outline), BEDS):
        corners = shapely.get_coordinates(bed.outline)
        assert corners[:2, 0] == pytest.approx([east, east])
        assert corners[2:4, 0] == pytest.approx([20 - east] * 2)


def test_beds_turn_with_their_tunnel():
    """A quarter turn about the middle (10, 3): what was 1.15 m north is as far west."""
    turned = rotate(shapely.box(0, 0, 20, 6), 90)
    found = floor_beds(stands(turned, bearing_deg=0.0), BEDS)
    wests = sorted(bed.outline.bounds[0] for bed in found)
    # The floor is from 7 to 13 m east, and from -7 to 13 m north.
    assert wests == pytest.approx([7.325 + 1.15 * number for number in range(5)])
    assert {
        tuple(round(each, 6) for each in bed.outline.bounds[1::2]) for bed in found
    } == {(-6.5, 12.5)}


@pytest.mark.parametrize(
    ("width_m", "count"),
    # n beds take 1.15 n - 0.4 m, and 0.6 m of the sides: 2.5 m for two, 5.95 for five.
    [(2.49, 1), (2.5, 2), (5.94, 4), (5.95, 5)],
)
def test_as_many_beds_as_the_floor_holds(width_m, count):
    outline = shapely.box(0, 0, 20, width_m)
    assert len(floor_beds(stands(outline, width_m=width_m), BEDS)) == count


def test_a_tunnel_that_is_moved_has_no_beds_and_others_keep_their_number():
    """The first is moved, so beds are of tunnel 1, with its light and its fabric."""
    moved = stands(name="T1", positions=2)
    stays = stands(name="T2", inner_fabric="light_fabric")
    light = [[1.0] * 12, [2.0] * 12]
    found = bed_classes.floor_beds([moved, stays], light, BEDS)
    assert [each.bed.name for each in found] == [f"T2/{at}" for at in range(1, 6)]
    assert {each.tunnel for each in found} == {1}
    assert {each.inner_fabric for each in found} == {"light_fabric"}
    assert {each.light.sun_mj_m2_day for each in found} == {(2.0,) * 12}
