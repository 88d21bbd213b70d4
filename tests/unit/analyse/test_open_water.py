"""Wide water as heights show it: level, a hundred metres wide, and no plot on it."""

import numpy as np
import pytest
from made_up import plot_box, raster, surroundings

from fieldmap.analyse.cold_air.ground import (
    FlowGround,
    _window_that_matters,
    half_as_wide,
)
from fieldmap.analyse.cold_air.open_water import open_water, shows_level_ground

CELL_M, CELLS = 5.0, 160
row, col = np.mgrid[0:CELLS, 0:CELLS]
NOTHING = surroundings()


def lake(long_m=400, wide_m=300, rise=0.0):
    """A hillside of 5 %, and on it a level place that rises by so much a metre."""
    land = 100.0 + 0.05 * CELL_M * row
    rows, cols = int(wide_m / CELL_M), int(long_m / CELL_M)
    inside = (row >= 40) & (row < 40 + rows) & (col >= 20) & (col < 20 + cols)
    return raster(np.where(inside, 50.0 + rise * CELL_M * col, land), CELL_M)


def wet_in_the_middle(heights, plots=(), *, shows_level=True):
    found = open_water(NOTHING, plots, heights, np.full((CELLS, CELLS), shows_level))
    assert not found[:30].any()  # never on the hillside
    return bool(found[40:].any())


@pytest.mark.parametrize(
    ("long_m", "rise", "wet"),
    # 1 mm a metre is 1 cm over three cells: .4 m over 400 m, and .6 over 600.
    [(400, 0.0, True), (400, 0.001, True), (600, 0.001, False), (400, 0.002, False)],
)
def test_water_is_level_from_cell_to_cell_and_all_over(long_m, rise, wet):
    assert wet_in_the_middle(lake(long_m, rise=rise)) is wet


@pytest.mark.parametrize(("wide_m", "wet"), [(120, True), (90, False)])
def test_a_pond_or_a_river_is_not_wide(wide_m, wet):
    assert wet_in_the_middle(lake(wide_m=wide_m)) is wet


def test_level_ground_with_a_plot_on_it_is_no_water():
    # Row 70 lies 352.5 m south of the top, 152.5 m south of the square of plots.
    plot = plot_box(200, -160, 240, -140)
    assert not wet_in_the_middle(lake(), [plot])
    assert wet_in_the_middle(lake(), [plot_box(200, 100, 240, 140)])


def test_heights_in_whole_metres_tell_no_water_from_land():
    assert not shows_level_ground(raster(np.round(lake().values)))
    assert shows_level_ground(lake())
    assert not wet_in_the_middle(lake(), shows_level=False)


def test_ground_is_halved_on_every_side_of_the_plots():
    """A plot 300 m from the west, 240 from the south, 400 from the east and 200 from the

    north of 800 m: half of each is kept.
    """
    heights = lake()
    west, south, east, north = heights.bounds
    plots = west + 300, south + 240, east - 400, north - 200
    made = FlowGround(heights, np.zeros(heights.shape, bool), heights, None)
    kept = half_as_wide(made, plots).heights_m.bounds
    assert kept == pytest.approx((west + 150, south + 120, east - 200, north - 100))


def test_ground_matters_a_hundred_metres_around_what_drains_onto_the_plots():
    """Cells of 5 m: 20 on every side of rows 50 to 52 and columns 80 to 85."""
    gives = np.zeros((CELLS, CELLS), bool)
    gives[50:53, 80:86] = True
    window = _window_that_matters(lake(), gives, [])
    assert window == (slice(30, 73), slice(60, 106))
