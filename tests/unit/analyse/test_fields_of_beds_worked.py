"""What beds get of an analysis, water and wind, on cells that are counted by hand."""

import numpy as np
import pytest
from made_up import (
    NOTHING_KEPT,
    analysis,
    plane,
    plot_box,
    quietly,
    raster,
    surroundings,
    with_light,
)
from shapely.geometry import box

from fieldmap.analyse import water, wind, zonal_means
from fieldmap.analyse.bed_means import bed_means
from fieldmap.model.settings import Wind

# Cells of 1 m: column c holds the number c, row r of the north 10 r.
GROUND = plane(20, 20)
COLUMNS = np.broadcast_to(np.arange(20.0), (20, 20))


def at(west, south, east, north):
    """An outline in metres from the south-west corner of 20 m of cells."""
    return plot_box(west, 180 + south, east, 180 + north)


def test_half_a_cell_counts_half():
    # Columns 2, 3 and half of 4: (2 + 3 + 0.5 · 4) / 2.5.
    outlines = [at(2, 5, 4.5, 7), at(0, 0, 1, 1)]
    found = zonal_means.means(GROUND.with_values(COLUMNS), outlines)
    assert found == pytest.approx([2.8, 0.0])


def test_rows_are_counted_from_the_north():
    rows = GROUND.with_values(COLUMNS.T.copy())
    assert zonal_means.means(rows, [at(3, 19, 4, 20), at(3, 0, 4, 1)]) == pytest.approx(
        [0.0, 19.0]
    )


def test_no_outlines_have_no_means():
    assert zonal_means.means(GROUND, []).shape == (0,)
    bands = GROUND.with_values(np.stack([COLUMNS, COLUMNS + 1]))
    assert zonal_means.means(bands, [at(2, 5, 3, 6)]).tolist() == [[2.0], [3.0]]


@pytest.mark.parametrize(("beyond_m", "known"), [(0.0, True), (0.001, False)])
def test_a_bed_a_millimetre_beyond_the_grid_is_not_known(beyond_m, known):
    found = zonal_means.means(GROUND, [at(-beyond_m, 5, 5, 5.5)])
    assert np.isfinite(found[0]) == known


def test_the_fields_of_two_beds():
    """Light of column c is c MJ in January, 12 + c in ... every month on level ground."""
    light = np.stack([COLUMNS + month for month in range(12)])
    known = with_light(
        analysis(raster(100 + COLUMNS)),
        beam_mj_m2_day=GROUND.with_values(light),
        level_sun_mj_m2_day=GROUND.with_values(light),
    )
    beds = [at(2, 5, 4, 6), at(10, 5, 11, 9)]
    found = bed_means(known, beds, [at(0, 0, 5, 20), at(8, 0, 20, 20)], NOTHING_KEPT)
    assert found.place_m - (500000.0, 5000180.0) == pytest.approx(
        np.array([[3.0, 5.5], [10.5, 7.0]])
    )
    assert found.height_m == pytest.approx([102.5, 110.0])
    # Ground that rises 1 m in 1 m to the east.
    assert found.east == pytest.approx([1.0, 1.0])
    assert found.north == pytest.approx([0.0, 0.0])
    assert found.sun_mj_m2_day[:, 0] == pytest.approx(2.5 + np.arange(12))
    # The most open cell has 19 MJ more than the month's number.
    assert found.open_sun_mj_m2_day == pytest.approx(19.0 + np.arange(12))
    # Columns 0-4 and 8-19: the ninth of 17 is column 11.
    assert found.middle_height_m == 111.0
    assert found.offset_c.shape == (3, 2)
    assert found.offset_c[:, 0] == pytest.approx([-0.5, 0.0, 0.5])
    assert found.answers_c[:, 1] == pytest.approx([0.5, 0.0, -0.5])
    assert found.central_answer == 1
    assert not found.is_flow_known
    assert found.water_share.tolist() == [0.0, 0.0]


# ------------------------------------------------------------------ water
def test_water_gathers_from_a_wetness_index_of_ten():
    index = GROUND.with_values(np.full((20, 20), 9.99))
    index.values[0, :3] = [10.0, 10.01, np.nan]
    found = water.gathers(index).values
    assert found[0, :2].tolist() == [1.0, 1.0]
    assert np.isnan(found[0, 2])
    assert found[0, 3] == 0.0


# ------------------------------------------------------------------ wind
def test_winds_are_turned_onto_the_grid():
    given = Wind(prevailing_from_deg=1.0, summer_breeze_from_deg=270.0)
    assert wind.bearings_deg(given, 2.0) == [359.0, None, 268.0]
    assert wind.bearings_deg(given, -2.0) == [3.0, None, 272.0]
    assert wind.WINDS == ("prevailing", "storm", "summer_breeze")


def shares(smooth, window, around, from_deg):
    return wind.shares(smooth, window, around, from_deg, NOTHING_KEPT, quietly).values


WALL = {"height_m": 2.0, "porosity": 0.0, "clear_stem_m": 0.0, "leaf": "none"}


def test_nothing_around_leaves_the_open_wind_and_a_wind_not_given_is_not_known():
    smooth = plane(40, 40)
    window = (slice(10, 30), slice(10, 30))
    found = shares(smooth, window, surroundings(), [270.0, None, 90.0])
    assert found.shape == (3, 20, 20)
    assert (found[[0, 2]] == 1.0).all()
    assert np.isnan(found[1]).all()


def test_a_wall_beside_the_shown_cells_shelters_them_from_its_side_alone():
    """A wall 2 m high stands 5 m west of the shown cells: in its lee at 2.5 heights."""
    smooth = plane(60, 60)
    west, south = 500000.0, 5000200.0 - 60
    wall = box(west + 14, south, west + 15, south + 60)
    around = surroundings(("wall", wall, WALL))
    window = (slice(25, 35), slice(20, 50))
    found = shares(smooth, window, around, [270.0, 90.0, None])
    assert found[0, 5, 0] < 0.8
    # Farther off it is windier, and the other way round the wall is behind.
    assert found[0, 5, 29] > found[0, 5, 0]
    assert found[1].min() > found[0, 5, 0]


def test_a_wall_too_far_off_for_its_height_shelters_nothing():
    """Only ground within a fixed number of heights of the tallest thing is looked at."""
    smooth = plane(20, 200)
    west, south = 500000.0, 5000200.0 - 20
    low = surroundings(("wall", box(west, south, west + 1, south + 20), WALL))
    window = (slice(5, 15), slice(150, 160))
    assert (shares(smooth, window, low, [270.0, None, None])[0] == 1.0).all()
