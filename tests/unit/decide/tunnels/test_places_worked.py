"""One place on a plane that rises 3 % to the east and 4 % to the north."""

from dataclasses import replace

import numpy as np
import pytest
from made_up import (
    NORTH,
    WEST,
    analysis,
    plane,
    plot_box,
    site,
    surroundings,
    with_light,
)
from shapely.geometry import Point

from fieldmap.decide.tunnels import describe, search, under_tunnels
from fieldmap.decide.tunnels.model import Found
from fieldmap.decide.tunnels.search import Candidates
from fieldmap.model.estimate import Estimate
from fieldmap.model.season_year import NORTH as NORTHERN
from fieldmap.model.season_year import SOUTH
from fieldmap.model.settings import TunnelSize
from layers import footprint

SIZE = TunnelSize(length_m=20.0, width_m=6.0, height_m=3.0)
GROUND = plane(east=0.03, north=0.04)
MIDDLE = np.array([WEST + 100.0, NORTH - 100.0])


HOME = site(GROUND, {"Home": plot_box(40, 40, 160, 160)})


def grids(season=NORTHERN):
    wet = under_tunnels.wet_ground(HOME.plots, HOME.seen, MONTHS.water_gathers)
    return under_tunnels.grids(MONTHS, season, wet, None)


def by_month(values):
    """One value for each month on the whole ground."""
    full = np.broadcast_to(np.array(values, float)[:, None, None], (12, 200, 200))
    return GROUND.with_values(full)


MONTHS = with_light(
    analysis(GROUND, offset_c=0.4), level_sun_mj_m2_day=by_month(range(12))
)


def candidates(bearing_deg=90.0):
    one = {
        "plot": np.zeros(1, np.intp),
        "centre": MIDDLE[np.newaxis],
        "bearing_deg": np.array([bearing_deg]),
        "along_percent": np.array([3.0]),
        "across_percent": np.array([4.0]),
        "earth_m3": np.array([9.5]),
        "offset_c": np.array([0.2]),
        "cold_c": np.array([-0.3]),
        "sun": np.array([7.0]),
        "wet_share": np.zeros(1),
        "rain_m2": np.zeros(1),
        "storm_share": np.ones(1),
    }
    return Found(Candidates(**one, compared=77), np.zeros((1, 12)))


def described(known=MONTHS, plot=(40, 40, 160, 160), convergence_deg=0.0, **choices):
    gate = surroundings(("gate", Point(MIDDLE + np.array((30, 40))), {}))
    home = site(GROUND, {"Home": plot_box(*plot)}, gate, **choices)
    home = replace(home, convergence_deg=convergence_deg)
    return describe.describe(home, known, SIZE, candidates(), 0, "T1")


def test_all_that_is_known_of_a_place():
    found = described(convergence_deg=2.0)
    assert (found.name, found.plot, found.size) == ("T1", "Home", SIZE)
    assert found.bearing_deg == 92.0
    west, south, east, north = found.outline.bounds
    assert (east - west, north - south) == pytest.approx((20.0, 6.0))
    assert ((west + east) / 2, (south + north) / 2) == pytest.approx(tuple(MIDDLE))
    assert (found.ground.along_percent, found.ground.across_percent) == (3.0, 4.0)
    assert found.offset_c == pytest.approx(Estimate(-0.1, 0.4, 0.9))
    # 3-4-5 to the gate; no water point.
    assert (found.access.gate_m, found.access.water_m) == (pytest.approx(50.0), None)
    # With working space 23 × 9 m.
    assert found.taken_m2 == pytest.approx(207.0)
    assert found.rain.to_deg == pytest.approx(216.87, abs=0.01)
    rooms = {each.kind: each.values for each in found.reasons}
    assert rooms["tunnel_room"] == {"number": 77}


def test_only_ground_of_the_plot_is_taken_from_beds():
    # The plot ends 4 m east of the middle of the tunnel: 11.5 + 4 m of 9.
    assert described(plot=(40, 40, 104, 160)).taken_m2 == pytest.approx(15.5 * 9)


def test_earth_for_a_level_pad_and_for_one_that_keeps_the_fall():
    """0.3 m up and down along 20 m, 0.12 m across 6 m.

    The mean of |U + V| of two even spreads of ±c and ±d, c ≥ d, is c / 2 + d² / 6c:
    0.158 m, half of it to be cut on 120 m²: 9.48 m³. Across alone 0.06 / 2 · 120 = 3.6.
    """
    ground = described().ground
    assert ground.level_pad_m3 == pytest.approx(9.48, rel=0.005)
    assert ground.sloping_pad_m3 == pytest.approx(3.6, rel=0.01)


def test_winter_and_spring_are_those_of_the_hemisphere():
    """Month m, January 0, has m MJ: November to January 7, March to May 3.

    In the south May to July 5 (4, 5, 6), September to November 9 (8, 9, 10).
    """
    light = described().light
    assert (light.winter_mj_m2_day, light.spring_mj_m2_day) == pytest.approx((7.0, 3.0))
    light = described(latitude=-45.0).light
    assert (light.winter_mj_m2_day, light.spring_mj_m2_day) == pytest.approx((5.0, 9.0))


def test_the_storm_there_is_the_second_of_the_winds():
    shares = GROUND.with_values(
        np.broadcast_to(np.array([0.2, 0.6, 0.9])[:, None, None], (3, 200, 200))
    )
    known = replace(MONTHS, wind_share=shares)
    assert described(known).wind.storm_share == pytest.approx(0.6)
    known = replace(MONTHS, wind_share=shares.with_values(shares.values * np.nan))
    assert described(known).wind.storm_share is None


@pytest.mark.parametrize(("cells", "cell_size_m"), [(200, 1.0), (80, 2.5)])
def test_water_comes_from_the_ground_above_and_not_from_below(cells, cell_size_m):
    """Rising to the north alone: 100 m above the tunnel drain over its 20 m.

    To a cell on each side, which the outline only touches.
    """
    ground = plane(cells, cells, north=0.04, cell_size_m=cell_size_m)
    home = site(ground, {"Home": plot_box(40, 40, 160, 160)})
    found = describe.describe(home, analysis(ground), SIZE, candidates(), 0, "T1")
    assert found.rain.to_deg == pytest.approx(180.0)
    assert found.rain.from_m2 == pytest.approx(20 * 97, rel=0.06 + 0.06 * cell_size_m)


def test_where_hardly_any_water_comes_no_drain_is_dug():
    """On level ground only cells beside it may drain there, far from 200 m²."""
    level = plane()
    home = site(level, {"Home": plot_box(40, 40, 160, 160)})
    found = describe.describe(home, analysis(level), SIZE, candidates(), 0, "T1")
    assert found.rain.from_m2 < 200.0
    assert found.rain.drain_m == 0.0


@pytest.mark.parametrize(("grid_deg", "drain_m"), [(36.87, 6.0), (126.87, 20.0)])
def test_the_drain_is_as_long_as_the_side_that_faces_uphill(grid_deg, drain_m):
    """Water runs to 216.87°: along a ridge at 36.87°, onto the long side at 126.87°."""
    there = candidates(grid_deg)
    found = describe.describe(HOME, MONTHS, SIZE, there, 0, "T1")
    assert found.rain.from_m2 >= 200.0
    assert found.rain.drain_m == drain_m


@pytest.mark.parametrize(("error_m", "is_step"), [(0.4, 1.0), (0.5, 0.0)])
def test_an_error_of_heights_makes_less_of_a_grade_over_larger_cells(error_m, is_step):
    """30 % more than the smoothed ground, on cells of 2 m.

    Three errors of Horn's grade: 3 · 0.433 · 0.4 / 2 = 0.26, and 0.325 for 0.5 m.
    """
    level = plane(9, 9, cell_size_m=2.0)
    known = analysis(level).terrain
    steep = replace(known, elevation_m=plane(9, 9, east=0.3, cell_size_m=2.0))
    assert (under_tunnels.steps(steep, error_m).values[1:-1, 1:-1] == is_step).all()


# ------------------------------------------------------------------ the search
def test_grids_under_a_tunnel_are_ground_likely_offset_and_winter_light():
    ground, offset_c, winter = grids().values[[0, 1, 3]]
    assert (ground == GROUND.values).all()
    assert (offset_c == 0.4).all()
    assert winter == pytest.approx(7.0)
    assert grids(SOUTH).values[3] == pytest.approx(5.0)


def lattice(bearing_deg):
    corners = MIDDLE + np.array([(-20, -20), (20, -20), (20, 20), (-20, 20)])
    return footprint.lattice(corners, bearing_deg, 0.5)


@pytest.mark.parametrize("cell_size_m", [1.0, 2.0])
@pytest.mark.parametrize("bearing_deg", [0.0, 30.0, 90.0])
def test_values_on_a_lattice_are_those_of_the_ground_there(bearing_deg, cell_size_m):
    """100 m at the middle of the north-western cell, half a cell from the corner."""
    here = lattice(bearing_deg)
    east, north = here.points()
    ground = plane(east=0.03, north=0.04, cell_size_m=cell_size_m)
    found = search.on_lattice(ground.with_values(ground.values[np.newaxis]), here)[0]
    half_m = cell_size_m / 2
    rises_m = 0.03 * (east - WEST - half_m) + 0.04 * (north - NORTH + half_m)
    assert found == pytest.approx(100 + rises_m, abs=1e-6)


@pytest.mark.parametrize(("bearing_deg", "along", "across"), [(0, 4, 3), (90, 3, 4)])
def test_what_lies_under_a_place_with_room(bearing_deg, along, across):
    here = lattice(float(bearing_deg))
    sums = footprint.summed(search.on_lattice(grids(), here), 0.5)
    every = under_tunnels.Changing(tuple(range(8)), under_tunnels.Under(*[0.0] * 8))
    room = np.zeros((len(here.along_m), len(here.across_m)), bool)
    size = TunnelSize(length_m=10.0, width_m=4.0, height_m=2.0)
    row, col = 40, 50
    room[row, col] = True
    found = search._found((here, sums, every), room, size, 3)
    assert (len(found), found.compared, found.plot.tolist()) == (1, 1, [3])
    assert found.along_percent == pytest.approx([along])
    assert found.across_percent == pytest.approx([across])
    assert found.offset_c == pytest.approx([0.4])
    assert found.sun == pytest.approx([7.0])
    assert found.bearing_deg.tolist() == [bearing_deg]
    east, north = here.points()
    assert found.centre[0] == pytest.approx((east[row, col], north[row, col]))
    # Found again as it was kept.
    kept = search._restored(search._stored([found, found]), 1)
    assert (kept.compared, kept.sun.tolist()) == (1, found.sun.tolist())
    both = search._joined([found, found])
    assert (len(both), both.compared) == (2, 2)
    assert len(search._joined([])) == 0


def test_bands_that_are_the_same_everywhere_are_not_searched_and_come_back():
    values = np.zeros((8, 2, 3))
    values[3] = 7.0
    values[4, 0, 1] = 1.0
    values[6, 1, 2] = np.nan
    found = under_tunnels.Changing.of(values)
    assert found.bands == (0, 4, 6)
    under = found.under(np.array([[1.0, 2.0], [3.0, 4.0], [5.0, 6.0]]))
    assert under.height_m.tolist() == [1.0, 2.0]
    assert under.wet.tolist() == [3.0, 4.0]
    assert under.catchment_m.tolist() == [5.0, 6.0]
    assert under.sun.tolist() == [7.0, 7.0]
    assert under.step.tolist() == [0.0, 0.0]
