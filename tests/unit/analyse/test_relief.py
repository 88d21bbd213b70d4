"""How hilly the land around the plots is, by the heights that are known."""

from dataclasses import replace

import numpy as np
import pytest
from made_up import NORTH, WEST, plane, plot_box, raster, say_all, site

from fieldmap.analyse.relief import around_plots

HOME = {"Home": plot_box(40, 40, 160, 160)}


def test_a_small_tile_does_not_tell_whether_there_is_a_valley():
    """200 m of a plane that rises .1 m per m: 19.9 m between the middles of its cells."""
    found = around_plots(site(plane(north=0.1), HOME))
    assert found.height_m == pytest.approx(19.9)
    assert not found.is_all_known
    (said,) = say_all(found.remarks())
    assert "does not know if they lie in a valley" in said


def wide(rise):
    """Heights on cells of 50 m, 5 km each way around the small tile."""
    y, _ = np.mgrid[0:200, 0:200] * 50.0
    ground = raster(1000.0 - rise * y, 50.0)
    move = ground.transform.translation(-4900.0 / 50, -4900.0 / 50)
    return replace(ground, transform=ground.transform * move)


@pytest.mark.parametrize(("rise", "valley"), [(0.03, False), (0.05, True)])
def test_the_wide_heights_tell(rise, valley):
    """Across 4 km, .03 m per m make 120 m and .05 make 200."""
    made = replace(site(plane(), HOME), wide_elevation=wide(rise))
    made = replace(made, elevation=plane().with_values(np.full((200, 200), 850.0)))
    assert made.wide_elevation.bounds[0] < WEST - 2000
    assert made.wide_elevation.bounds[3] > NORTH + 2000
    found = around_plots(made)
    assert found.is_all_known
    assert found.height_m == pytest.approx(4000 * rise, abs=50 * rise + 1)
    said = say_all(found.remarks())
    assert [("valley" in each) for each in said] == [True, True] * valley
    # No place is taken to differ by more than 4 °C, which a deep valley may well do.
    assert [("more than 4 °C" in each) for each in said] == [False, True] * valley


def test_a_step_between_two_elevations_makes_no_valley():
    """Heights above the ellipsoid and above the sea differ by some 50 m: 120 m stay 120."""
    far = wide(0.03)
    far = far.with_values(far.values + 50.0)
    made = replace(site(plane(), HOME), wide_elevation=far)
    middle_m = float(np.median(wide(0.03).values))
    made = replace(made, elevation=plane().with_values(np.full((200, 200), middle_m)))
    assert around_plots(made).height_m == pytest.approx(120, abs=2.5)
