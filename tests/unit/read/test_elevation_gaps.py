"""Gaps in heights: small ones go on as the ground around, cliffs are refused."""

from types import SimpleNamespace

import numpy as np
import pytest
from made_up import plane, raster

from fieldmap.errors import SiteError, problem
from fieldmap.read.elevation.gaps import check_no_cliffs, without_small_gaps
from fieldmap.show.text.sentence import say

FILE = SimpleNamespace(
    problem=lambda text, **said: problem(text, file="dem.tif", **said)
)


def with_gap(ground, rows, cols, value=np.nan):
    values = ground.values.copy()
    values[rows, cols] = value
    return ground.with_values(values)


def test_a_gap_in_a_plane_is_filled_with_the_plane():
    whole = plane(rows=60, cols=60, east=0.03, north=-0.05)
    holed = with_gap(whole, slice(20, 44), slice(10, 34))  # 24 m by 24 m
    holed = with_gap(holed, 50, slice(40, 43))
    filled, (gaps,) = without_small_gaps(holed)
    np.testing.assert_allclose(filled.values, whole.values, atol=1e-9)
    assert gaps["number"] == 2
    assert "2 small gaps (up to 576 m²)" in say(gaps, "metric")


def test_large_gaps_and_gaps_at_the_border_stay():
    holed = with_gap(plane(rows=120, cols=120), slice(20, 71), slice(20, 71))
    holed = with_gap(holed, slice(0, 4), slice(90, 94))
    same, said = without_small_gaps(holed)
    assert said == ()
    np.testing.assert_array_equal(same.values, holed.values)


def test_ground_without_gaps_is_left_alone():
    whole = plane()
    assert without_small_gaps(whole) == (whole, ())


def test_a_mark_for_missing_on_a_hill_is_refused_with_its_place_and_value(says):
    ground = plane(rows=60, cols=60)
    hill = ground.with_values(ground.values + 150.0)
    hill = with_gap(hill, 30, slice(30, 33), 0.0)
    with pytest.raises(SiteError) as refused:
        check_no_cliffs(hill, FILE)
    says(
        str(refused.value),
        "dem.tif",
        "0 m and",
        "latitude 45.15",
        "-a_nodata 0 dem.tif",
    )


@pytest.mark.parametrize(("cell_m", "step_m"), [(1.0, 99.0), (90.0, 250.0)])
def test_steep_ground_is_no_mistake(cell_m, step_m):
    # 99 m is less than 100 m; 250 m over 90 m is a slope of 70 degrees.
    check_no_cliffs(raster(np.array([[0.0, step_m], [0.0, step_m]]), cell_m), FILE)
