"""Which way the beds of one piece of ground run, and what else is said of it."""

from dataclasses import replace

import numpy as np
import pytest
from made_up import NORTH, WEST, plane, plot_box, site, surroundings
from shapely import affinity
from shapely.geometry import Point, box

from fieldmap.decide.layout import choose
from fieldmap.decide.layout.bays.lattice import ENDLESS_M, Lengths
from fieldmap.decide.layout.bearings import Falls, apart_deg
from fieldmap.model.settings import Beds
from fieldmap.model.site import OwnBed, PlotToLay

GROUND = box(0, 0, 40, 12)
ANY = Lengths(ENDLESS_M, 0.0, 4.0)


def layout(rises=0.0, fixed_deg=None, convergence_deg=0.0, **choices):
    """On ground that rises to the north."""
    fall = Falls(np.zeros(3), np.full(3, rises))
    made = Beds(headland_m=0.0, setback_m=0.0, **choices)
    return choose._layout(GROUND, GROUND, fall, fixed_deg, made, convergence_deg, [ANY])


def test_level_ground_has_beds_along_its_long_side_and_a_real_other_way():
    found = layout()
    assert (found.kept.grid_deg, found.kept.kind) == (90.0, "long side")
    assert found.bearing_deg == 90.0
    # 12.45 / 1.2: ten beds of 40 m.
    assert (found.kept.beds, found.kept.area_m2) == (10, pytest.approx(300.0))
    assert found.compared == 36
    assert apart_deg(found.other.grid_deg, 90.0) >= 15.0
    assert not found.erodes


def test_a_bearing_that_the_grower_chose_is_from_true_north():
    found = layout(fixed_deg=1.0, convergence_deg=2.0)
    assert (found.kept.kind, found.kept.grid_deg, found.bearing_deg) == (
        "fixed",
        179.0,
        1.0,
    )
    # What is best is still said beside it.
    assert found.other.grid_deg == 90.0


@pytest.mark.parametrize(("rises", "erodes"), [(0.10, False), (0.1001, True)])
def test_over_ten_per_cent_no_bearing_alone_holds_the_soil(rises, erodes):
    assert layout(rises).erodes == erodes


def test_ground_without_room_for_another_way_has_no_other():
    """0.75 m: a bed of 40 m along it, and none askew."""
    strip = box(0, 0, 40, 0.75)
    level = Falls(np.zeros(1), np.zeros(1))
    made = Beds(headland_m=0.0, setback_m=0.0)
    found = choose._layout(strip, strip, level, None, made, 0.0, [ANY])
    assert (found.kept.beds, found.other) == (1, None)


def test_empty_ground_plants_nothing():
    assert choose._most_planted_m2(Point(), Beds(), [ANY]) == 0.0
    # Twelve coarse bearings of a 40 × 12 m box: along it, ten beds of 40 m.
    made = Beds(headland_m=0.0)
    assert choose._most_planted_m2(GROUND, made, [ANY]) == pytest.approx(300.0)


def test_tunnels_see_the_bearings_of_largest_parts_and_of_beds_that_stay():
    home = site(
        plane(20, 20),
        {"Home": plot_box(0, 180, 10, 200), "Hill": plot_box(10, 180, 20, 200)},
        surroundings(("tree", Point(0, 0), {"height_m": 4.0})),
    )
    found = layout()
    parts = [
        replace(found, plot="Home", part=1),
        replace(layout(fixed_deg=10.0), plot="Home", part=2),
    ]
    drawn = OwnBed("North", "Hill", box(0, 0, 10, 1))
    kept = replace(home, own_beds=(drawn,), convergence_deg=1.5)
    seen = choose.as_tunnels_see_it(kept, parts)
    assert seen.bed_bearing_deg(0) == 90.0
    # From west to east on the grid, which is turned 1.5° from true north.
    assert seen.bed_bearing_deg(1) == 91.5
    assert choose.as_tunnels_see_it(home, parts).bed_bearing_deg(1) is None


def test_room_at_a_fixed_bearing_is_looked_for_from_true_north():
    """A plot just wide enough, 10° from grid north, which lies 2° east of true north.

    Beds at 12° fit. At 8° they would be askew by 4°: one takes 7 m with its turning
    strips, and over these 0.5 m more across.
    """
    choices = Beds()
    wide_m = choices.width_m + 2 * choices.setback_m + 0.02
    upright = box(WEST, NORTH - 60, WEST + wide_m, NORTH - 20)
    outline = affinity.rotate(upright, -10.0)

    def without_room(true_deg):
        plots = [PlotToLay("Bit", outline, true_deg)]
        return choose.plots_without_room(plots, surroundings(), choices, 2.0)

    assert without_room(12.0) == []
    assert without_room(8.0) == ["Bit"]
