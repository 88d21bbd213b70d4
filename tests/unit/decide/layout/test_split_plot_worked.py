"""A bent plot is cut where that wins growing ground: areas worked by hand."""

import pytest
import shapely
from shapely.geometry import Polygon, box

from fieldmap.decide.layout import split_plot

# 40 × 20 m without its upper right quarter: 600 m², in a hull of 700.
L_SHAPE = Polygon([(0, 0), (40, 0), (40, 10), (20, 10), (20, 20), (0, 20)])
LANE_M = 2.0


def straight_alone(ground):
    """Beds find half of bent ground, and all of what fills nine tenths of its hull."""
    if ground.is_empty:
        return 0.0
    return ground.area * (1.0 if ground.area >= 0.9 * ground.convex_hull.area else 0.5)


def areas(found):
    return [round(each.area, 1) for each in found]


def test_an_l_is_cut_from_its_inward_corner_across_the_shorter_way():
    """Straight down from (20, 10), a lane of 2 m from 2 m above the corner to the edge.

    Left: 20 × 20 less 1 × 12 m of lane, 388 m²; right: 19 × 10, 190. Straight left: 40 ×
    10 less 22 × 1, and 20 × 9: 558 in all. Askew, between the two: under 575.
    """
    found = split_plot.parts(L_SHAPE, LANE_M, straight_alone)
    assert areas(found) == [388.0, 190.0]
    west, east = found
    assert west.bounds == pytest.approx((0, 0, 20, 20))
    assert east.bounds == pytest.approx((21, 0, 40, 10))


def test_ground_that_fills_nine_tenths_of_its_hull_is_not_bent():
    for ground in (box(0, 0, 40, 20), Polygon()):
        assert split_plot.parts(ground, LANE_M, straight_alone) == [ground]
    # A corner of 4 × 20 m² off 800: 720 of a hull of 760.
    notched = box(0, 0, 40, 20).difference(
        box(36, 0, 40, 20).intersection(box(36, 10, 40, 20))
    )
    assert split_plot.parts(notched, LANE_M, straight_alone) == [notched]


@pytest.mark.parametrize(("whole", "parts"), [(550.0, 2), (551.0, 1)])
def test_a_cut_must_win_a_twentieth(whole, parts):
    """578 m² in two parts: over 1.05 · 550 = 577.5, under 1.05 · 551 = 578.6."""

    def planted(ground):
        return whole if ground is L_SHAPE else straight_alone(ground)

    assert len(split_plot.parts(L_SHAPE, LANE_M, planted)) == parts


@pytest.mark.parametrize(("reach_m", "cut"), [(10.1, True), (9.9, False)])
def test_a_part_holds_a_tenth_of_the_ground_or_more(reach_m, cut):
    """An arm 5 m wide out of a square of 20 m, cut off behind a lane: its first metre.

    5 · 9.1 = 45.5 of 450.5 m² are a tenth; 5 · 8.9 = 44.5 of 449.5 are not, and other
    cuts leave a part of the square on the arm's side.
    """
    ground = shapely.union_all([box(0, 0, 20, 20), box(20, 0, 20 + reach_m, 5)])
    arm = box(21, 0, 20 + reach_m, 5)

    def planted(piece):
        if piece.symmetric_difference(arm).area < 0.1:
            return 1000.0
        return 1.0 if piece is ground else 0.4

    found = split_plot.parts(ground, LANE_M, planted)
    assert (len(found) == 2) == cut


def test_a_wobble_of_the_pen_is_no_corner():
    # 1.9 m off the straight edge is no corner; what stands out 3 m is one.
    for depth_m, cuts in ((1.9, 0), (6.0, 3)):
        bent = Polygon([(0, 0), (40, 0), (40, 20), (20, 20 - depth_m), (0, 20)])
        assert len(list(split_plot._cuts(bent))) == cuts


def test_a_corner_turns_in_by_fifteen_degrees_or_more():
    """Two edges of 20 m that meet 2.4 or 2.9 m deep turn by 2 · 6.8 or 2 · 8.3 degrees."""
    for depth_m, cuts in ((2.4, 0), (2.9, 3)):
        bent = Polygon([(0, 0), (40, 0), (40, 20), (20, 20 - depth_m), (0, 20)])
        assert len(list(split_plot._cuts(bent))) == cuts


def test_no_plot_is_cut_into_more_than_four():
    """A comb of six teeth, where each cut is worth it."""
    teeth = [box(10 * at, 0, 10 * at + 5, 30) for at in range(6)]
    comb = shapely.union_all([box(0, 0, 55, 5), *teeth])
    found = split_plot.parts(comb, 1.0, lambda _: 1.0)
    assert len(found) == 4
    assert areas(found) == sorted(areas(found), reverse=True)
