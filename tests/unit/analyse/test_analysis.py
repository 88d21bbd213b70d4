"""What holds of the whole analysis: one grid, true north, more around means more shade."""

from dataclasses import is_dataclass, replace

import numpy as np
import pytest
from made_up import (
    IN_MEMORY,
    analysed,
    analysed_in_the_dark,
    plane,
    plot_box,
    quietly,
    site,
    surroundings,
)

from fieldmap.analyse import with_more_around
from fieldmap.analyse.light.standing_things import standing_things
from fieldmap.model.raster import Raster

PLOT = {"Home": plot_box(80, 80, 120, 120)}


def test_aspect_is_from_true_north():
    # The plane falls to grid south; grid north lies 10° east of true north.
    turned = replace(site(plane(north=0.1), PLOT), convergence_deg=10.0)
    aspect = analysed_in_the_dark(turned).terrain.aspect_deg.values
    np.testing.assert_allclose(aspect, 190.0)


def test_slope_is_that_of_the_ground_as_it_is_and_not_smoothed():
    bumpy = plane(north=0.1)
    bumpy.values[90, 100] += 1.0
    slope = analysed_in_the_dark(site(bumpy, PLOT)).terrain.slope_deg
    row, col = slope.cell_of([500100.5], [5000200.0 - 90.5])
    beside = slope.values[row[0], col[0] - 1]
    # Horn beside a spike of 1 m: 2 of 8 weights towards it, east; 0.1 to the north.
    assert beside == pytest.approx(np.degrees(np.arctan(np.hypot(0.25, 0.1))), abs=1e-6)


def test_every_raster_lies_on_the_same_cells():
    shown = analysed(site(plane(north=0.1), PLOT))
    parts = [
        vars(shown),
        *(vars(part) for part in vars(shown).values() if is_dataclass(part)),
    ]
    rasters = [
        value for part in parts for value in part.values() if isinstance(value, Raster)
    ]
    assert len(rasters) >= 12
    assert len({(raster.transform, raster.shape) for raster in rasters}) == 1
    assert np.isfinite(shown.light.sun_mj_m2_day.values).all()


def test_a_tunnel_dims_the_beds_beside_it_and_nothing_far_off():
    bare = site(plane(), PLOT)
    tunnel = {"height_m": 3.0, "porosity": 0.64, "leaf": "none"}
    around = surroundings(("fence", plot_box(90, 95, 110, 101), tunnel))
    more = standing_things(around, southern=False)
    before = analysed(bare)
    reach = plot_box(30, 35, 170, 161).bounds  # 60 m around it
    after = with_more_around(before, more, reach, IN_MEMORY, quietly)
    sun = {
        name: each.light.sun_mj_m2_day for name, each in (("b", before), ("a", after))
    }
    north_of_it, far = ([500100.5], [5000102.5]), ([500100.5], [5000150.5])
    december = 11
    assert (
        sun["a"].sample(*north_of_it)[december]
        < 0.95 * sun["b"].sample(*north_of_it)[december]
    )
    assert sun["a"].sample(*far)[december] == pytest.approx(
        sun["b"].sample(*far)[december], rel=0.02
    )
    np.testing.assert_array_equal(
        after.cold_air.offset_c.values, before.cold_air.offset_c.values
    )
    # As if the tunnel had stood there from the first: beyond reach it takes next to
    # nothing, under 3° of a film's third.
    whole = analysed(replace(bare, surroundings=around)).light.sun_mj_m2_day
    np.testing.assert_allclose(sun["a"].values, whole.values, atol=0.02)


def test_wind_is_given_from_true_north_and_turned_to_the_grid_once():
    # Grid north lies 90° clockwise from true north, so a true south wind comes from the
    # east of the grid; a wall stands there.
    wall = {"height_m": 4.0, "porosity": 0.0, "leaf": "none"}
    around = surroundings(("wall", plot_box(120, 0, 122, 200), wall))
    turned = replace(
        site(
            plane(north=0.05),
            {"Home": plot_box(80, 80, 118, 120)},
            around,
            wind={"prevailing_from_deg": 180.0},
        ),
        convergence_deg=90.0,
    )
    share = analysed_in_the_dark(turned).wind_share
    at = [500000.0 + 110, 500000.0 + 135], [5000000.0 + 100] * 2
    lee, windward = share.sample(*at)[0]
    assert lee < 0.5  # a solid wall leaves a quarter at five heights (EC1763)
    assert windward == 1.0
