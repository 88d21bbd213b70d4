"""What a place is worth on a still night: hollows, voids, seas, level land, two grids."""

from dataclasses import replace

import geopandas as gpd
import numpy as np
import pytest
from made_up import (
    CRS,
    IN_MEMORY,
    NORTH,
    WEST,
    plot_box,
    quietly,
    raster,
    site,
    surroundings,
)

from fieldmap.analyse.cold_air import flow, ground, offset
from fieldmap.analyse.cold_air.ground import Heights
from fieldmap.model.raster import Raster, grown
from layers._grid import block_means

SIDE_M, CELL_M = 800.0, 5.0
# East and north of the middle of the ground, by cell.
EAST_M, NORTH_M = np.meshgrid(
    np.arange(CELL_M / 2, SIDE_M, CELL_M) - SIDE_M / 2,
    SIDE_M / 2 - np.arange(CELL_M / 2, SIDE_M, CELL_M),
)


def at(east_m, north_m):
    return [WEST + SIDE_M / 2 + east_m], [NORTH - SIDE_M / 2 + north_m]


def box_at(west_m, south_m, east_m, north_m):
    """An outline by metres from the middle of the ground."""
    up = 200 - SIDE_M / 2  # `plot_box` counts from the south-west corner of 200 m
    middle = SIDE_M / 2
    return plot_box(middle + west_m, up + south_m, middle + east_m, up + north_m)


def analysed(heights_m, plot, around=None):
    cell_m = SIDE_M / len(heights_m)
    there = site(raster(heights_m, cell_m), {"Home": plot}, around)
    smooth = there.elevation
    return offset.cold_air(
        there,
        smooth,
        smooth.window(grown(there.plots.total_bounds, 60.0)),
        ground.flow_ground(there, smooth),
        IN_MEMORY,
        quietly,
    )[0]


def central_c(air, east_m, north_m):
    return float(air.offset_c.interpolate(*at(east_m, north_m))[1, 0])


def depth_m(air, east_m, north_m):
    return float(air.depth_m.interpolate(*at(east_m, north_m))[0])


HOLLOW_M = 300 + 0.03 * NORTH_M - 6 * np.exp(-(EAST_M**2 + (NORTH_M + 60) ** 2) / 60**2)
PLOT = box_at(-40, -100, 40, 140)


def hollow_colder_c(heights_m):
    air = analysed(heights_m, PLOT)
    return central_c(air, 0, 130) - central_c(air, 0, -58)


def test_a_hollow_is_colder_than_the_slope_above_by_what_loggers_saw():
    # 6 m deep; observed over 5 to 10 m: 1.02 °C (night minima within 500 m, Finland).
    assert 0.5 < hollow_colder_c(HOLLOW_M) < 3.0


@pytest.mark.parametrize("side_m", [25.0, 60.0])
def test_a_void_beside_the_plots_hardly_changes_that(side_m):
    void = (np.abs(EAST_M - 90) < side_m / 2) & (np.abs(NORTH_M) < side_m / 2)
    holed = np.where(void, np.nan, HOLLOW_M)
    whole_c = hollow_colder_c(HOLLOW_M)
    assert hollow_colder_c(holed) == pytest.approx(whole_c, rel=0.25)


def coast_m(tilt):
    """Land that falls to the south by 3 in 100 to a sea that is hardly tilted."""
    shore_m = -60.0
    land_m = 0.03 * (NORTH_M - shore_m)
    return np.where(shore_m < NORTH_M, 5 + land_m, 5 + tilt * (NORTH_M - shore_m))


@pytest.mark.parametrize("tilt", [1e-5, 1e-3])
def test_a_level_sea_and_a_barely_tilted_one_are_the_same(tilt):
    plot = box_at(-40, -50, 40, 60)
    level = analysed(coast_m(0.0), plot)
    tilted = analysed(coast_m(tilt), plot)
    for north_m in (-45, 0, 50):
        assert depth_m(level, 0, north_m) == pytest.approx(
            depth_m(tilted, 0, north_m), abs=2.0
        )
    apart = [central_c(air, 0, -45) - central_c(air, 0, 50) for air in (level, tilted)]
    assert apart[0] == pytest.approx(apart[1], abs=0.3)


def test_cold_air_runs_out_onto_a_lake_that_is_declared_and_not_onto_a_pond():
    # A basin of 12 m; a lake on its floor, 200 m wide, and a pond of 40 m.
    away_m = np.hypot(block_means(EAST_M, 2), block_means(NORTH_M, 2))
    basin = 300 + 12 * np.minimum(away_m / 300, 1.0) ** 2
    plot = box_at(120, -40, 180, 40)

    def depth_with(*water):
        there = site(raster(basin, 10.0), {"Home": plot}, surroundings(*water))
        length_h = flow.night_h(there.weather.days, there.latitude, there.longitude)
        over = ground.flow_ground(there, there.elevation)
        around = there.plots, there.surroundings
        return depth_m(flow.central_run(over, *around, length_h, IN_MEMORY), 150, 0)

    def water(half_m):
        return "water", box_at(-half_m, -half_m, half_m, half_m), {}

    dry_m = depth_with()
    assert depth_with(water(100.0)) < 0.5 * dry_m
    assert depth_with(water(20.0)) == pytest.approx(dry_m, rel=0.05)


def test_a_polder_with_noise_shows_no_difference():
    noise_m = np.random.default_rng(3).normal(0.0, 0.05, EAST_M.shape)
    air = analysed(noise_m, PLOT)
    assert (air.offset_c.values[1] == 0).all()
    assert (air.answers_c.values == 0).all()


def test_a_small_tile_among_coarse_heights_answers_as_a_large_tile():
    # Waves of 60 to 75 m on a slope; the tile is known 100 m around the plot, all else
    # in means of 20 m.
    waves = np.cos(EAST_M / 60) + np.cos(NORTH_M / 75) + 0.3 * np.cos(EAST_M / 17)
    large = raster(6 * waves + 0.02 * NORTH_M + 0.004 * EAST_M, CELL_M)
    outline = box_at(-60, -60, 60, 60)
    tile = large.clip(large.window(outline.buffer(100).bounds))
    coarse = Raster(
        block_means(large.values, 4),
        large.transform * large.transform.scale(4),
        CRS,
    )
    plots = gpd.GeoDataFrame(
        {"ground": [None], "geometry": [outline]}, geometry="geometry", crs=CRS
    )

    def colder_c(heights):
        there = offset.coldness_over(heights, plots, surroundings(), 10.0, IN_MEMORY)
        row, col = there.cell_of(*at(0, 0))
        inside = slice(row[0] - 11, row[0] + 12), slice(col[0] - 11, col[0] + 12)
        likely_c = there.values[offset.LIKELIEST][inside]
        return likely_c - np.median(likely_c)

    apart_c = np.abs(colder_c(Heights(tile, coarse)) - colder_c(Heights(large, None)))
    assert np.quantile(apart_c, 0.99) < 0.2
    cut_c = np.abs(colder_c(Heights(tile, None)) - colder_c(Heights(large, None)))
    assert np.quantile(cut_c, 0.99) > np.quantile(apart_c, 0.99)


def test_heights_in_whole_metres_show_no_sea():
    steps = raster(np.floor(coast_m(0.0)), CELL_M)
    there = site(steps, {"Home": box_at(-40, -50, 40, 60)})
    assert not ground.flow_ground(there, steps).water.any()
    smooth = raster(coast_m(0.0) + 0.01 * (NORTH_M > 0), CELL_M)
    assert ground.flow_ground(replace(there, elevation=smooth), smooth).water.any()
