"""Ground between coarse heights, how far out they may be, and what they cannot say."""

from dataclasses import replace

import numpy as np
import pytest
from made_up import (
    NORTH,
    NOTHING_KEPT,
    WEST,
    analysed_in_the_dark,
    plane,
    raster,
    say_all,
    site,
)
from shapely.geometry import box

from fieldmap.analyse import water, wind
from fieldmap.analyse.near_ground import usual_error_m, with_near_ground
from fieldmap.model.fact import Fact


def coarse(cell_m, half_m=900, **slopes):
    count = round(2 * half_m / cell_m)
    ground = plane(count, count, cell_size_m=cell_m, **slopes)
    west, south = WEST + half_m - 50, NORTH - half_m - 50
    return site(ground, {"Home": box(west, south, west + 100, south + 100)})


@pytest.mark.parametrize("cell_m", [5.0, 10.0, 30.0])
def test_between_heights_on_a_plane_lies_the_plane(cell_m):
    made = coarse(cell_m, east=0.05, north=-0.12)
    near = with_near_ground(made)
    assert near.elevation.cell_size_m <= 2.0
    assert near.wide_elevation is made.elevation
    easting, northing = near.elevation.middles
    # `plane` counts its heights from the middle of the first cell.
    first_east, first_north = made.elevation.middle_of(0, 0)
    exact = 100 + 0.05 * (easting - first_east) - 0.12 * (northing - first_north)
    np.testing.assert_allclose(near.elevation.values, exact, atol=1e-4)


def test_between_heights_a_smooth_hill_is_met_better_than_by_straight_lines():
    made = coarse(30.0)
    easting, northing = made.elevation.middles

    def hill(east, north):
        away = np.hypot(east - WEST - 900, north - NORTH + 900)
        return 40 * np.exp(-((away / 150) ** 2))

    made.elevation.values[:] = hill(easting, northing)
    near = with_near_ground(made).elevation
    exact = hill(*near.middles)
    straight = made.elevation.interpolate(*near.middles)
    out = np.abs(near.values - exact)
    assert out.max() < 0.2 * np.nanmax(np.abs(straight - exact))


def test_a_hole_stays_a_hole():
    made = coarse(10.0)
    made.elevation.values[80, 85] = np.nan
    near = with_near_ground(made).elevation
    assert np.isnan(near.values).sum() == 25


def test_fine_ground_stays_as_it_is():
    made = coarse(2.0)
    assert with_near_ground(made).elevation is made.elevation
    assert made.cold_air_of_beds_known


@pytest.mark.parametrize(
    ("cell_m", "step", "error_m"),
    [(1.0, 0.01, None), (1.0, 1.0, 1.0), (10.0, 0.01, 1.5), (30.0, 1.0, 2.0)],
)
def test_how_far_heights_may_be_out_follows_from_their_kind(cell_m, step, error_m):
    rough = np.random.default_rng(3).uniform(100, 130, (40, 40))
    assert usual_error_m(raster(np.round(rough / step) * step, cell_m)) == error_m


def test_what_the_grower_says_of_the_heights_goes_before():
    made = coarse(30.0)
    ground = made.settings.ground.model_copy(update={"elevation_error_m": 0.7})
    settings = made.settings.model_copy(update={"ground": ground})
    kept = with_near_ground(replace(made, settings=settings))
    assert kept.settings.ground.elevation_error_m == 0.7


def test_heights_every_30_m_tell_no_cold_air_of_single_beds():
    shown = analysed_in_the_dark(coarse(30.0, half_m=240, north=-0.1))
    assert not shown.cold_air.has_signal.values.any()
    known = shown.cold_air.offset_c.values[1]  # what is likely: no difference
    assert np.nanmax(np.abs(known)) == 0
    slope_deg = shown.terrain.slope_deg.values
    np.testing.assert_allclose(slope_deg, np.degrees(np.arctan(0.1)), atol=1e-3)
    (said,) = say_all([Fact("very_coarse_heights", every_m=30.0)])
    assert said == (
        "The plan knows the height of the ground only at points 30 m apart. So slopes are only roughly right, and it does not know hollows and cold air of single beds. Add finer heights: fieldmap start SITE --elevation FILE."
    )


def test_which_way_all_but_level_ground_faces_is_not_said():
    # 0.4° and 0.6°.
    for grade, missing in ((0.00698, True), (0.01047, False)):
        ground = plane(80, 80, north=grade)
        home = box(WEST + 30, NORTH - 50, WEST + 50, NORTH - 30)
        shown = analysed_in_the_dark(site(ground, {"Home": home}))
        assert np.isnan(shown.terrain.aspect_deg.values[40, 40]) == missing


@pytest.mark.parametrize("cell_m", [5.0, 10.0])
def test_the_bed_of_a_valley_is_wet_on_as_wide_a_strip_whatever_the_cells(cell_m):
    # Two sides that fall to a bed along the middle; it falls south by 1 in 50.
    count = round(1000 / cell_m)
    north, east = np.mgrid[0:count, 0:count] * cell_m + cell_m / 2
    valley = raster(0.2 * np.abs(east - 500) - 0.02 * north + 100, cell_m)
    shown = raster(np.zeros((250, 250)), 4.0)
    wet = water.gathers(water.wetness_index(valley, shown, NOTHING_KEPT))
    wide_m = np.nansum(wet.values[200]) * 4.0
    assert 4 <= wide_m <= 16


def test_bare_things_leave_more_of_the_gales_than_of_the_summer_breeze():
    prevailing, storm, breeze = wind.LEAVES
    assert storm < prevailing < breeze == 1.0
    # 65 % of the light passes bare branches, 15 % leaves: (1 - .65) / (1 - .15).
    assert storm == pytest.approx(0.35 / 0.85)
    # By months: five bare, two half (40 %), five in leaf: sums of light kept.
    kept = (5 * 0.35 + 2 * 0.6 + 5 * 0.85) / (12 * 0.85)
    assert prevailing == pytest.approx(kept)
