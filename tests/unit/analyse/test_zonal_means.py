"""Means under outlines count every cell by the area that a geometry library gives it."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up import NORTH, WEST, raster
from shapely import affinity
from shapely.geometry import box

from fieldmap.analyse import zonal_means

ROWS, COLS, SIZE_M = 30, 40, 2.0
VALUES = np.random.default_rng(7).uniform(-5, 20, (ROWS, COLS))


def under(outline, values=VALUES):
    grid = raster(values, SIZE_M)
    return zonal_means.shares((outline,), grid.transform, grid.shape).means(values)


def by_intersection(outline):
    """Mean over a bed, cell by cell."""
    area_m2, total = 0.0, 0.0
    for row in range(ROWS):
        for col in range(COLS):
            west, north = WEST + col * SIZE_M, NORTH - row * SIZE_M
            cell = box(west, north - SIZE_M, west + SIZE_M, north)
            shared = cell.intersection(outline).area
            area_m2, total = area_m2 + shared, total + shared * VALUES[row, col]
    return total / area_m2


def bed(east_m, south_m, turn_deg, length_m=22.0, width_m=0.75):
    flat = box(0, 0, length_m, width_m)
    moved = affinity.translate(flat, WEST + east_m, NORTH - south_m)
    return affinity.rotate(moved, turn_deg, origin="center")


@settings(max_examples=15, deadline=None)
@given(st.floats(20, 40), st.floats(20, 40), st.floats(0, 180))
def test_a_mean_counts_cells_by_the_area_they_share(east_m, south_m, turn_deg):
    outline = bed(east_m, south_m, turn_deg)
    assert under(outline)[0] == pytest.approx(by_intersection(outline), abs=1e-4)


def test_a_bed_that_touches_a_missing_cell_is_missing():
    values = VALUES.copy()
    values[15, 20] = np.nan
    assert np.isnan(under(bed(30, 31, 0), values)[0])
    assert np.isfinite(under(bed(30, 40, 0), values)[0])


def test_a_bed_that_reaches_beyond_the_grid_is_missing():
    assert np.isnan(under(bed(-3, 30, 0))[0])


def test_bands_are_read_at_once():
    outline = bed(30, 31, 20)
    both = under(outline, np.stack([VALUES, 2 * VALUES]))
    assert both.shape == (2, 1)
    assert both[1, 0] == pytest.approx(2 * both[0, 0])
