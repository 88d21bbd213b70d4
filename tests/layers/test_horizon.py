"""The skyline against closed forms and against rays traced point by point."""

import numpy as np
import pytest
from matplotlib import cbook
from scipy import ndimage

from layers import horizon, terrain

WHOLE = (slice(None), slice(None))


def skyline(z, cell_size_m=1.0, sectors=36, window=WHOLE):
    return horizon.angles_deg(z, z, cell_size_m, sectors, window)


def cube(angle_of_azimuth, sectors=72):
    """A skyline cube of one cell from a formula of the azimuth in degrees."""
    angles = [angle_of_azimuth(a) for a in horizon.sector_azimuths_deg(sectors)]
    return np.array(angles, np.float32).reshape(sectors, 1, 1)


def rough_ground(size=64, seed=3):
    """Hills of many sizes, seeded."""
    noise = np.random.default_rng(seed).normal(size=(size, size))
    return sum(
        ndimage.gaussian_filter(noise, scale, mode="wrap") * scale**1.6 * 2
        for scale in (4, 8, 16)
    )


def traced_deg(z, cell_size_m, sectors, every=0.05):
    """Highest angle over points a twentieth of a cell apart, on the bilinear surface.

    Beyond the first grid line that the ray crosses, as every bilinear skyline is.
    """
    rows, cols = z.shape
    row, col = np.mgrid[0:rows, 0:cols].astype(float)
    best = np.zeros((sectors, rows, cols))
    for number, azimuth in enumerate(np.radians(np.arange(sectors) * 360 / sectors)):
        # Rounded, or a ray along an edge would leave the grid by a last bit.
        south, east = np.round([-np.cos(azimuth), np.sin(azimuth)], 12)
        first = 1 / max(abs(south), abs(east))
        for distance in np.arange(first, np.hypot(rows, cols), every):
            at = [row + south * distance, col + east * distance]
            height = ndimage.map_coordinates(z, at, order=1, cval=np.nan)
            angle = np.degrees(np.arctan((height - z) / (distance * cell_size_m)))
            np.fmax(best[number], angle, out=best[number])
    return best


# --- Closed forms of the sky view (view-factor algebra; crossed strings) -------------
@pytest.mark.parametrize("angle", [10.0, 20.0, 30.0, 45.0, 60.0])
def test_sky_view_of_simple_skylines_is_the_closed_form(angle):
    cos = np.cos(np.radians(angle))
    azimuths = np.radians(horizon.sector_azimuths_deg(72))

    def ridge(side_cos):
        # A long straight edge at elevation `angle` fills tan h = tan(angle) · cos(a).
        return np.degrees(
            np.arctan(np.tan(np.radians(angle)) * np.maximum(side_cos, 0))
        )

    one_wall = ridge(np.cos(azimuths)).astype(np.float32).reshape(-1, 1, 1)
    valley = ridge(np.abs(np.cos(azimuths))).astype(np.float32).reshape(-1, 1, 1)
    assert horizon.sky_view(one_wall)[0, 0] == pytest.approx((1 + cos) / 2, abs=1e-6)
    assert horizon.sky_view(valley)[0, 0] == pytest.approx(cos, abs=1e-6)
    ring = cube(lambda _: angle)
    assert horizon.sky_view(ring)[0, 0] == pytest.approx(cos**2, abs=1e-6)


def test_an_open_slope_of_30_degrees_sees_93_percent_and_a_valley_86_percent():
    # 0.9330127 and 0.8660254 (Dozier & Frew 1990, eq. 7b).
    open_sky = np.zeros((36, 1, 1), np.float32)
    rise = np.full((1, 1), np.tan(np.radians(30.0)))
    for east, north in ((rise, 0 * rise), (0 * rise, -rise)):
        seen = horizon.sky_view_tilted(open_sky, east, north)[0, 0]
        assert seen == pytest.approx(0.9330127, abs=1e-6)


def test_sky_view_is_cosine_weighted_and_not_the_solid_angle():
    # A ring of 30°: 0.75 cosine-weighted; 0.50 by solid angle (Zakšek et al. 2011).
    assert horizon.sky_view(cube(lambda _: 30.0))[0, 0] == pytest.approx(0.75)


def test_a_valley_of_unequal_sides_sees_the_mean_of_the_cosines():
    azimuths = np.radians(horizon.sector_azimuths_deg(720))
    sides = np.where(
        np.cos(azimuths) > 0, np.tan(np.radians(20)), np.tan(np.radians(50))
    )
    angles = np.degrees(np.arctan(sides * np.abs(np.cos(azimuths))))
    seen = horizon.sky_view(angles.astype(np.float32).reshape(-1, 1, 1))[0, 0]
    expected = (np.cos(np.radians(20)) + np.cos(np.radians(50))) / 2
    assert seen == pytest.approx(expected, abs=1e-5)


def test_any_point_of_a_spherical_cap_sees_the_same_sky():
    # a² / (a² + d²) for rim radius a and depth d: 0.9615 for 50 m and 10 m.
    rim_m, depth_m, cell = 50.0, 10.0, 0.5
    radius = (rim_m**2 + depth_m**2) / (2 * depth_m)
    east = (np.arange(221) - 110) * cell
    r2 = east[None, :] ** 2 + east[:, None] ** 2
    cap = radius - depth_m - np.sqrt(np.maximum(radius**2 - r2, 0))
    z = np.where(r2 <= rim_m**2, cap, 0.0)
    window = (slice(110, 111), slice(50, 171))
    angles = skyline(z, cell, 72, window)
    gradient = [side[window] for side in terrain.gradient(z, cell)]
    seen = horizon.sky_view_tilted(angles, *gradient)
    np.testing.assert_allclose(seen, 50**2 / (50**2 + 10**2), atol=4e-3)


# --- Closed forms of the skyline on grids ---------------------------------------------
def test_a_wall_stands_as_high_as_its_height_over_its_distance():
    z = np.zeros((9, 60))
    z[:, 40] = 6.0
    angles = skyline(z, 2.0, 4)
    distance_m = (40 - np.arange(40)) * 2.0
    expected = np.degrees(np.arctan(6.0 / distance_m))
    np.testing.assert_allclose(angles[1, 4, :40], expected, atol=1e-3)  # towards east
    np.testing.assert_allclose(angles[0, 4, :40], 0.0, atol=1e-3)  # towards north


def test_a_pole_of_6_m_is_45_degrees_high_6_m_away():
    z = np.zeros((41, 41))
    surface = z.copy()
    surface[20, 20] = 6.0
    angles = horizon.angles_deg(z, surface, 1.0, 8, WHOLE)
    assert angles[0, 26, 20] == pytest.approx(45.0, abs=1e-3)  # from the south
    assert angles[2, 20, 14] == pytest.approx(45.0, abs=1e-3)  # from the west


def test_the_floor_of_a_long_valley_sees_the_cosine_of_its_sides():
    side = np.abs(np.arange(401) - 200.0) * np.tan(np.radians(30.0))
    z = np.broadcast_to(side, (1201, 401)).copy()
    window = (slice(600, 601), slice(200, 201))
    seen = horizon.sky_view(skyline(z, 1.0, 72, window))[0, 0]
    # Its ends are open: along the axis the sides sink to 18° at 2° from it.
    assert seen == pytest.approx(np.cos(np.radians(30)), abs=2e-3)


def test_an_open_plane_sees_the_sky_of_its_tilt():
    z = np.add.outer(-0.2 * np.arange(80.0), 0.1 * np.arange(80.0))
    window = (slice(40, 41), slice(40, 41))
    east, north = (side[window] for side in terrain.gradient(z, 1.0))
    seen = horizon.sky_view_tilted(skyline(z, 1.0, 72, window), east, north)[0, 0]
    tilt = np.arctan(np.hypot(0.1, 0.2))
    assert seen == pytest.approx((1 + np.cos(tilt)) / 2, abs=1e-3)


def test_a_far_hill_sinks_behind_the_curve_of_the_earth():
    # Drop D² (1 - 0.13) / 2R: 1.71 m at 5 km.
    z = np.zeros((3, 400))
    z[:, -1] = 100.0
    angle = skyline(z, 50.0, 4)[1, 1, 399 - 100]
    assert angle == pytest.approx(np.degrees(np.arctan((100 - 1.71) / 5000)), abs=2e-4)


# --- Rays traced point by point -------------------------------------------------------
def test_rough_ground_has_the_skyline_of_traced_rays():
    z = rough_ground()
    sectors = 12
    error = np.abs(skyline(z, 2.0, sectors) - traced_deg(z, 2.0, sectors))
    assert traced_deg(z, 2.0, 4).mean() > 3  # hilly enough to mean something
    assert error.mean() <= 0.04
    assert np.percentile(error, 99) <= 0.5


def test_real_ground_has_the_skyline_of_traced_rays():
    # SRTM heights of a fault in Tennessee (matplotlib's sample data).
    with np.load(
        cbook.get_sample_data("jacksboro_fault_dem.npz", asfileobj=False)
    ) as dem:
        z = dem["elevation"][120:190, 150:220].astype(float)
    sectors = 12
    error = np.abs(skyline(z, 90.0, sectors) - traced_deg(z, 90.0, sectors))
    assert error.mean() <= 0.045
    assert np.percentile(error, 99) <= 0.55


@pytest.mark.parametrize("turns", [1, 2, 3])
def test_turned_and_lifted_ground_has_the_turned_skyline(turns):
    z = ndimage.gaussian_filter(rough_ground(64), 2)
    plain, turned = skyline(z), skyline(np.rot90(z, turns) + 700.0)
    # rot90 turns counter-clockwise: what lay in sector s now lies 9 sectors earlier.
    expected = np.roll(np.rot90(plain, turns, axes=(1, 2)), -9 * turns, axis=0)
    # Lines shared by many cells pass them by up to half a cell, not always on the same
    # side: two answers differ by no more than twice the error of one.
    difference = np.abs(turned - expected)
    assert difference.mean() <= 2 * 0.04
    assert np.percentile(difference, 99) <= 2 * 0.5


def test_a_window_answers_as_the_whole_does():
    z = rough_ground(48)
    window = (slice(10, 20), slice(5, 40))
    np.testing.assert_array_equal(skyline(z, window=window), skyline(z)[:, 10:20, 5:40])


def test_who_stands_nowhere_sees_nothing_and_holes_do_not_block():
    z = rough_ground(30)
    z[10:13, 10:13] = np.nan
    angles = skyline(z)
    assert np.isnan(angles[:, 11, 11]).all()
    assert np.isfinite(angles[:, 20, 20]).all()
    level = np.zeros((5, 30))
    level[2, 12] = np.nan
    assert skyline(level, 1.0, 4)[1, 2, 0] == 0


# --- Crowns ---------------------------------------------------------------------------
def crown_over(cells, bottom_m, top_m, shape=(21, 41)):
    bottom, top = np.full((2, *shape), np.nan)
    bottom[cells], top[cells] = bottom_m, top_m
    return np.zeros(shape), bottom, top


def test_a_crown_stands_between_its_bottom_and_its_top():
    # A belt of trees from 20 m to 24 m east, crown from 3 to 12 m above level ground:
    # the top is seen over the near side, the bottom past the far side.
    fields = crown_over(np.s_[:, 30:32], 3.0, 12.0)
    low, high = horizon.crown_angles_deg(*fields, 2.0, 4, 100.0, WHOLE)
    near_m, far_m = (30 - 19.5) * 2.0 - 2.0, (32 - 19.5) * 2.0 - 2.0
    assert high[1, 10, 19] == pytest.approx(
        np.degrees(np.arctan(12 / (near_m + 1))), abs=2
    )
    assert low[1, 10, 19] == pytest.approx(
        np.degrees(np.arctan(3 / (far_m + 1))), abs=1
    )
    assert high[3, 10, 19] == 0  # nothing stands in the west


def test_who_stands_under_a_crown_has_it_overhead():
    fields = crown_over(np.s_[5:15, 15:25], 2.0, 10.0)
    low, high = horizon.crown_angles_deg(*fields, 1.0, 8, 50.0, WHOLE)
    assert (high[:, 10, 20] == 90).all()
    assert (low[:, 10, 20] < 45).all()  # its lower rim is seen under the leaves
    assert (low[:, 10, 20] > 0).all()


def test_a_crown_beyond_reach_is_left_out():
    fields = crown_over(np.s_[:, 38:41], 0.0, 10.0)
    _, high = horizon.crown_angles_deg(*fields, 1.0, 4, 20.0, WHOLE)
    assert high[1, 10, 10] == 0
    assert high[1, 10, 30] > 45


def test_a_crown_below_the_observer_hides_no_sky():
    ground, bottom, top = crown_over(np.s_[:, 30:32], -20.0, -5.0)
    low, high = horizon.crown_angles_deg(ground, bottom, top, 1.0, 4, 50.0, WHOLE)
    assert low.max() == high[1, 10, 10] == 0


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda z: horizon.angles_deg(z, z, 1.0, 7, WHOLE), "sectors"),
        (lambda z: horizon.angles_deg(z, z[:2], 1.0, 8, WHOLE), "shape"),
        (
            lambda z: horizon.angles_deg(z, z, 1.0, 8, (slice(9, 12), slice(0, 2))),
            "window",
        ),
        (lambda z: horizon.crown_angles_deg(z, z, z - 1, 1.0, 8, 5.0, WHOLE), "crown"),
        (lambda z: horizon.crown_angles_deg(z, z, z, 1.0, 8, 0.0, WHOLE), "reach_m"),
    ],
    ids=["odd sectors", "shapes", "empty window", "top under bottom", "no reach"],
)
def test_impossible_input_is_refused(call, word):
    with pytest.raises(ValueError, match=word):
        call(np.zeros((4, 4)))
