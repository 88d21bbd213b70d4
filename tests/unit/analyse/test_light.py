"""Light of a site: far hills, a measured skyline, cloud, and the hours of one day."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pvlib
import pytest
from made_up import (
    CRS,
    NORTH,
    WEST,
    analysed,
    analysed_in_the_dark,
    beds_in,
    plane,
    plot_box,
    say_all,
    site,
    surroundings,
)
from rasterio.transform import from_origin

from fieldmap.decide.calendar import direct_sun
from fieldmap.model.raster import Raster
from fieldmap.model.site import MeasuredSkyline
from fieldmap.read.door import SiteFile
from fieldmap.read.sky import read_typical_year

PLOT = {"Home": plot_box(80, 80, 120, 120)}
MIDDLE = (slice(None), 60, 60)


@pytest.fixture
def level_site():
    return site(plane(), PLOT)


def test_a_measured_ring_of_hills_leaves_its_share_of_the_sky(level_site):
    # cos²(20°) = 0.883 for a ring of 20° (closed form).
    azimuths = np.arange(0.0, 360.0, 45.0)
    ringed = replace(level_site, skyline=MeasuredSkyline(azimuths, np.full(8, 20.0)))
    shown = analysed(ringed)
    assert shown.light.sky_view.values[60, 60] == pytest.approx(0.883, abs=1e-3)
    open_sky = analysed(level_site)
    assert open_sky.light.sky_view.values[60, 60] == pytest.approx(1.0, abs=1e-3)
    # In December at 45° north the noon sun stands at 21.6°: hardly any hour is left.
    assert shown.light.direct_hours.values[11, 60, 60] < 3
    assert open_sky.light.direct_hours.values[11, 60, 60] > 8


def test_a_measured_skyline_is_from_true_north(level_site):
    azimuths = np.array([0.0, 80.0, 90.0, 100.0])
    heights = np.array([0.0, 0.0, 40.0, 0.0])
    turned = replace(
        level_site, skyline=MeasuredSkyline(azimuths, heights), convergence_deg=10.0
    )
    skyline = analysed_in_the_dark(turned).light.shade.skyline_deg.values[:, 60, 60]
    # The peak at 90° true stands at 80° from grid north: sector 8 of 36.
    assert np.argmax(skyline) == 8
    assert skyline[8] == pytest.approx(40.0, abs=0.1)


def test_a_far_ridge_on_the_wider_elevation_stands_over_level_plots(level_site):
    # A ridge 300 m high and 3 km east of the plots: atan(300 / 3000) = 5.7°.
    heights = np.full((120, 130), 100.0)
    cell = 50.0
    wide = Raster(heights, from_origin(WEST - 2950, NORTH + 2950, cell, cell), CRS)
    col = int((WEST + 100 + 3000 - wide.transform.c) // cell)
    heights[:, col] += 300.0
    shown = analysed_in_the_dark(replace(level_site, wide_elevation=wide))
    east = shown.light.shade.skyline_deg.values[9, 60, 60]
    assert east == pytest.approx(np.degrees(np.arctan(300 / 3000)), abs=0.15)
    assert shown.light.shade.skyline_deg.values[27, 60, 60] == pytest.approx(
        0.0, abs=0.05
    )


def test_monthly_means_come_back_on_level_open_ground():
    whole = [5.0, 8, 12, 16, 20, 22, 22, 19, 14, 9, 5, 4]
    part = [3.0, 4, 6, 8, 9, 10, 10, 9, 7, 5, 3, 2.5]
    means = {"global_mj_m2_day": tuple(whole), "diffuse_mj_m2_day": tuple(part)}
    shown = analysed(site(plane(), PLOT, sun=means))
    assert shown.light.sky == "typical sky"
    np.testing.assert_allclose(
        shown.light.sun_mj_m2_day.values[MIDDLE], whole, rtol=0.01
    )
    np.testing.assert_allclose(
        shown.light.sky_mj_m2_day.values[MIDDLE], part, rtol=0.01
    )


def test_a_typical_year_brings_its_own_cloud():
    """Greensboro's own monthly sums come back on level open ground in Greensboro."""
    name = "723170TYA.CSV"
    year = read_typical_year(
        SiteFile(Path(pvlib.__file__).parent / "data" / name, name)
    )
    there = site(plane(), PLOT, latitude=year.latitude)
    there = replace(there, longitude=year.longitude, typical_year=year)
    shown = analysed(there)
    light = year.hours["ghi"] * 3600e-6
    daily = light.groupby(light.index.month).sum() / [
        *(31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    ]
    # The clear sky of the made-up hill, 100 m up, differs a little from Greensboro's.
    np.testing.assert_allclose(
        shown.light.sun_mj_m2_day.values[MIDDLE], daily, rtol=0.03
    )
    assert "knows no clouds" not in " ".join(say_all(shown.remarks))


def test_without_cloud_the_light_is_said_to_be_of_clear_sky(level_site):
    shown = analysed(level_site)
    assert shown.light.sky == "clear sky"
    assert any(
        "does not know the clouds" in remark for remark in say_all(shown.remarks)
    )


def test_parts_of_the_light_add_up_and_mornings_mirror_afternoons(level_site):
    shown = analysed(level_site)
    np.testing.assert_allclose(shown.light.morning_share.values[MIDDLE], 0.5, atol=0.01)
    np.testing.assert_allclose(
        shown.light.sun_mj_m2_day.values,
        shown.light.beam_mj_m2_day.values
        + shown.light.sky_mj_m2_day.values
        + shown.light.reflected_mj_m2_day.values,
    )


def minutes(clock):
    hours, rest = clock.split(":")
    return 60 * int(hours) + int(rest)


def hours_on(made_up, day):
    (bed, *_) = beds_in(PLOT["Home"])
    shown = analysed(made_up)
    (spells,) = direct_sun.spells(made_up, shown, [bed], day)
    return [(minutes(start), minutes(end)) for start, end in spells]


def test_the_day_of_the_equinox_is_twelve_hours_long_on_open_ground(level_site):
    ((start, end),) = hours_on(level_site, date(2026, 3, 20))
    # At 15° east the clock of Vienna shows solar time, 7 minutes late on that day;
    # refraction adds some minutes.
    assert end - start == pytest.approx(12 * 60, abs=12)
    assert (start + end) / 2 == pytest.approx(12 * 60 + 7, abs=3)


def test_a_barn_in_the_east_takes_the_morning_and_leaves_the_evening():
    barn = {"height_m": 12.0, "leaf": "none", "porosity": 0.0}
    around = surroundings(("building", plot_box(130, 40, 140, 160), barn))
    open_day = hours_on(site(plane(), PLOT), date(2026, 6, 21))
    with_barn = hours_on(site(plane(), PLOT, around), date(2026, 6, 21))
    assert with_barn[0][0] > open_day[0][0] + 60
    assert with_barn[-1][1] == open_day[-1][1]


def test_bare_trees_are_no_shade_and_leaves_are():
    trees = {
        "height_m": 12.0,
        "leaf": "deciduous",
        "porosity": 0.5,
        "clear_stem_m": 0.0,
    }
    around = surroundings(("trees", plot_box(130, 40, 140, 160), trees))
    made_up = site(plane(), PLOT, around)
    march = hours_on(made_up, date(2026, 3, 20))
    september = hours_on(made_up, date(2026, 9, 23))
    assert march[0][0] < 6 * 60 + 30
    assert september[0][0] > 7 * 60 + 30
