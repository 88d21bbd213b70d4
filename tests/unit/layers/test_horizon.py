"""The skyline against closed forms and against rays traced point by point."""

import numpy as np
import pytest
from matplotlib import cbook
from scipy import ndimage

from layers import _sweep, horizon, terrain

WHOLE = (slice(None), slice(None))


def skyline(z, cell_size_m=1.0, sectors=36, window=WHOLE):
    return horizon.angles_deg(z, z, cell_size_m, sectors, window)


def rough_ground(size=64, seed=3):
    """Hills of many sizes, seeded."""
    noise = np.random.default_rng(seed).normal(size=(size, size))
    return sum(
        ndimage.gaussian_filter(noise, scale, mode="wrap") * scale**1.6 * 2
        for scale in (4, 8, 16)
    )


def traced_deg(z, cell_size_m, sectors, every=0.1):
    """Highest angle over points a tenth of a cell apart, on the bilinear surface.

    Every point of every ray, in double precision and on a flat earth; rays count from
    the first grid line they cross, as those of every bilinear skyline.
    """
    rows, cols = z.shape
    reach = max(rows, cols)
    ring = np.pad(z, reach + 1, constant_values=np.nan)
    best = np.zeros((sectors, rows, cols))
    for number, azimuth in enumerate(np.radians(np.arange(sectors) * 360 / sectors)):
        # Rounded, or a ray along an edge would leave the grid by a last bit.
        south, east = np.round([-np.cos(azimuth), np.sin(azimuth)], 12)
        first = 1 / max(abs(south), abs(east))
        highest = np.zeros(z.shape)
        for distance in np.arange(first, reach * first, every):
            height = shifted(
                ring, reach + 1, distance * south, distance * east, z.shape
            )
            np.fmax(highest, (height - z) / distance, out=highest)
        best[number] = np.degrees(np.arctan(highest / cell_size_m))
    return best


def shifted(ring, border, south, east, shape):
    """Bilinear heights at one offset from every cell."""
    total = 0.0
    top, left = int(np.floor(south)), int(np.floor(east))
    for row, down in ((top, 1 - (south - top)), (top + 1, south - top)):
        for col, right in ((left, 1 - (east - left)), (left + 1, east - left)):
            if down * right:  # what has no weight may be missing
                at = np.s_[border + row :, border + col :]
                total = total + down * right * ring[at][: shape[0], : shape[1]]
    return total


# --- Closed forms of the sky view (view-factor algebra; crossed strings) -------------
# A skyline is kept in single precision, which is 2e-8 of the sky.
def ridge(angle_deg, side_cos):
    """Skyline of a long straight edge: tan h = tan(angle) · cos(azimuth from it)."""
    return np.degrees(
        np.arctan(np.tan(np.radians(angle_deg)) * np.maximum(side_cos, 0))
    ).astype(np.float32)


@pytest.mark.parametrize("sectors", [36, 72])
@pytest.mark.parametrize("angle", [10.0, 20.0, 30.0, 45.0, 60.0])
def test_sky_view_of_simple_skylines_is_the_closed_form(angle, sectors):
    cos = np.cos(np.radians(angle))
    toward = np.cos(np.radians(horizon.sector_azimuths_deg(sectors)))[:, None, None]
    wall = horizon.sky_view(ridge(angle, toward))
    valley = horizon.sky_view(ridge(angle, np.abs(toward)))
    ring = horizon.sky_view(np.full((sectors, 1, 1), angle, np.float32))
    assert wall[0, 0] == pytest.approx((1 + cos) / 2, abs=1e-7)
    assert valley[0, 0] == pytest.approx(cos, abs=1e-7)
    assert ring[0, 0] == pytest.approx(cos**2, abs=1e-7)


@pytest.mark.parametrize("aspect_deg", [0.0, 17.0, 90.0, 200.0])
@pytest.mark.parametrize("angle", [10.0, 20.0, 30.0, 45.0, 60.0])
def test_an_open_slope_of_any_aspect_sees_the_closed_form(angle, aspect_deg):
    rise, up = np.tan(np.radians(angle)), np.radians(aspect_deg)
    gradient = [np.full((1, 1), rise * side) for side in (np.sin(up), np.cos(up))]
    open_sky = np.zeros((36, 1, 1), np.float32)
    seen = horizon.sky_view_tilted(open_sky, *gradient)[0, 0]
    assert seen == pytest.approx((1 + np.cos(np.radians(angle))) / 2, abs=1e-7)


def test_a_slope_of_30_degrees_sees_93_percent_and_a_valley_of_30_degrees_87():
    # 0.9330127 and 0.8660254, to their seven digits (Dozier & Frew 1990, eq. 7b).
    rise = np.full((1, 1), np.tan(np.radians(30.0)))
    open_sky = np.zeros((36, 1, 1), np.float32)
    slope = horizon.sky_view_tilted(open_sky, rise, 0 * rise)[0, 0]
    toward = np.cos(np.radians(horizon.sector_azimuths_deg(36)))[:, None, None]
    valley = horizon.sky_view(ridge(30.0, np.abs(toward)))[0, 0]
    assert slope == pytest.approx(0.9330127, abs=1e-7)
    assert valley == pytest.approx(0.8660254, abs=1e-7)


def test_sky_view_is_cosine_weighted_and_not_the_solid_angle():
    # A ring of 30°: 0.75 cosine-weighted; 0.50 by solid angle (Zakšek et al. 2011).
    ring = np.full((36, 1, 1), 30.0, np.float32)
    assert horizon.sky_view(ring)[0, 0] == pytest.approx(0.75, abs=1e-7)


def test_a_valley_of_unequal_sides_sees_the_mean_of_the_cosines():
    toward = np.cos(np.radians(horizon.sector_azimuths_deg(72)))[:, None, None]
    sides = np.maximum(ridge(20.0, toward), ridge(50.0, -toward))
    expected = (np.cos(np.radians(20)) + np.cos(np.radians(50))) / 2
    assert horizon.sky_view(sides)[0, 0] == pytest.approx(expected, abs=1e-7)


def test_a_missing_skyline_or_gradient_leaves_the_sky_missing():
    ring = np.full((36, 1, 3), 30.0, np.float32)
    ring[5, 0, 0] = np.nan
    east = np.array([[0.0, np.nan, 0.0]])
    seen = horizon.sky_view_tilted(ring, east, np.zeros((1, 3)))
    np.testing.assert_array_equal(np.isnan(seen), [[True, True, False]])


# --- Closed forms on grids ------------------------------------------------------------
def test_any_point_of_a_spherical_cap_sees_the_same_sky():
    # a² / (a² + d²) for rim radius a and depth d: 0.9615 for 50 m and 10 m.
    rim_m, depth_m, cell = 50.0, 10.0, 0.5
    radius = (rim_m**2 + depth_m**2) / (2 * depth_m)
    east = (np.arange(221) - 110) * cell
    r2 = east[None, :] ** 2 + east[:, None] ** 2
    cap = radius - depth_m - np.sqrt(np.maximum(radius**2 - r2, 0))
    z = np.where(r2 <= rim_m**2, cap, 0.0)
    window = (slice(110, 111), slice(20, 201))  # up to 45 m from the middle
    angles = skyline(z, cell, 72, window)
    gradient = [side[window] for side in terrain.gradient(z, cell)]
    seen = horizon.sky_view_tilted(angles, *gradient)
    np.testing.assert_allclose(seen, 50**2 / (50**2 + 10**2), atol=1e-3)


@pytest.mark.parametrize("turns", [0, 1, 2, 3])
def test_a_wall_stands_as_high_as_its_height_over_its_distance(turns):
    z = np.zeros((9, 60))
    z[:, 40] = 6.0
    distance_m = (40 - np.arange(40)) * 2.0
    # Towards the east when not turned; each turn is counter-clockwise.
    angles = np.rot90(skyline(np.rot90(z, turns), 2.0, 4), -turns, axes=(1, 2))
    facing, along = angles[(1 - turns) % 4], angles[(0 - turns) % 4]
    expected = np.degrees(np.arctan(6.0 / distance_m))
    np.testing.assert_allclose(facing[4, :40], expected, atol=1e-3)
    np.testing.assert_allclose(along[4, :40], 0.0, atol=1e-6)


def test_behind_a_long_wall_of_2_m_at_4_m_the_sky_is_the_closed_form():
    # H = 26.565°: (1 + cos H) / 2 = 0.9472.
    z = np.zeros((4001, 12))
    z[:, 9] = 2.0
    window = (slice(2000, 2001), slice(5, 6))
    seen = horizon.sky_view(skyline(z, 1.0, 36, window))[0, 0]
    assert seen == pytest.approx((1 + np.cos(np.arctan(0.5))) / 2, abs=1e-4)


def test_a_ring_of_hills_of_30_degrees_leaves_three_quarters_of_the_sky():
    north, east = np.mgrid[-100:101, -100:101]
    away = np.hypot(north, east)
    z = np.where(away >= 95, away * np.tan(np.radians(30)), 0.0)
    middle = (slice(100, 101), slice(100, 101))
    seen = horizon.sky_view(skyline(z, 1.0, 72, middle))[0, 0]
    assert seen == pytest.approx(0.75, abs=1e-3)


@pytest.mark.parametrize(
    ("west_deg", "east_deg", "within"), [(30, 30, 1e-3), (20, 50, 1.5e-3)]
)
def test_the_floor_of_a_valley_sees_the_mean_cosine_of_its_sides(
    west_deg, east_deg, within
):
    # The tangent is the same at any distance, so the valley need not be long. Far lines
    # may pass half a cell to the side, 11 rows away: the steeper, the more it costs.
    off = np.arange(401) - 200.0
    tangents = np.tan(np.radians([west_deg, east_deg]))
    side = np.abs(off) * np.where(off < 0, *tangents)
    z = np.broadcast_to(side, (401, 401))
    middle = (slice(200, 201), slice(200, 201))
    seen = horizon.sky_view(skyline(z, 1.0, 72, middle))[0, 0]
    expected = np.cos(np.radians([west_deg, east_deg])).mean()
    assert seen == pytest.approx(expected, abs=within)


def test_an_open_plane_sees_the_sky_of_its_tilt():
    z = np.add.outer(-0.2 * np.arange(80.0), 0.1 * np.arange(80.0))
    window = (slice(40, 41), slice(40, 41))
    east, north = (side[window] for side in terrain.gradient(z, 1.0))
    seen = horizon.sky_view_tilted(skyline(z, 1.0, 72, window), east, north)[0, 0]
    tilt = np.arctan(np.hypot(0.1, 0.2))
    assert seen == pytest.approx((1 + np.cos(tilt)) / 2, abs=1e-4)


@pytest.mark.parametrize("away", [6, 30], ids=["near", "beyond the near rows"])
@pytest.mark.parametrize("sector", range(8))
def test_a_pole_of_6_m_stands_at_6_m_over_its_distance(sector, away):
    ground = np.zeros((81, 81))
    surface = ground.copy()
    surface[40, 40] = 6.0
    azimuth = np.radians(45.0 * sector)
    south, east = round(-np.cos(azimuth)), round(np.sin(azimuth))
    angles = horizon.angles_deg(ground, surface, 1.0, 8, WHOLE)
    seen = angles[:, 40 - away * south, 40 - away * east]
    expected = np.degrees(np.arctan(6.0 / (away * np.hypot(south, east))))
    assert seen[sector] == pytest.approx(expected, abs=1e-3)  # 45° at 6 m
    assert np.delete(seen, sector).max() == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("turns", [0, 1, 2, 3])
def test_a_far_hill_sinks_behind_the_curve_of_the_earth(turns):
    # D² (1 - 0.13) / 2R with R = 6371 km: 1.71 m at 5 km, 6.83 m at 10 km.
    z = np.zeros((3, 400))
    z[:, -1] = 100.0
    angles = np.rot90(skyline(np.rot90(z, turns), 50.0, 4), -turns, axes=(1, 2))
    for cells, drop_m in ((100, 1.707), (200, 6.828)):
        expected = np.degrees(np.arctan((100 - drop_m) / (50.0 * cells)))
        seen = angles[(1 - turns) % 4, 1, 399 - cells]
        assert seen == pytest.approx(expected, abs=2e-4)  # the drop is 0.02° and 0.04°


# --- Profiles: along the axes no line is shifted, so all pairs of points are exact ----
def profile(kind, length=400):
    at = np.arange(length, dtype=float)
    rng = np.random.default_rng(11)
    if kind == "wide valleys with knobs":
        # 10 m deep. A knob is lower than both rims, and yet what is seen from the floor:
        # close to its western rim, close to its eastern rim, far from both.
        z = 10 * ((at % 133 - 66) / 66) ** 2
        z[[66 - 56, 133 + 66 + 56]] += 2.0
        z[266 + 66 - 30] += 5.0
        return z
    z = np.cumsum(rng.normal(0, 0.4, length))
    if kind == "rough with gaps":
        for start in (30, 150, 151, 260, 390):
            z[start : start + 25] = np.nan
    return z


@pytest.mark.parametrize("turns", [0, 1])
@pytest.mark.parametrize(
    "kind", ["wide valleys with knobs", "rough", "rough with gaps"]
)
def test_along_a_profile_the_skyline_is_the_steepest_of_all_pairs(kind, turns):
    z = profile(kind)
    apart = np.arange(z.size)[None, :] - np.arange(z.size)[:, None]
    with np.errstate(divide="ignore", invalid="ignore"):
        rise = (z[None, :] - z[:, None]) / np.abs(apart)
    ground = np.rot90(np.broadcast_to(z, (3, z.size)), turns)
    angles = np.rot90(skyline(ground, 1.0, 4), -turns, axes=(1, 2))
    for sector, side in (((1 - turns) % 4, apart > 0), ((3 - turns) % 4, apart < 0)):
        steepest = np.fmax.reduce(np.where(side, rise, 0.0), axis=1, initial=0.0)
        expected = np.where(np.isnan(z), np.nan, np.degrees(np.arctan(steepest)))
        np.testing.assert_allclose(angles[sector, 1], expected, atol=2e-3)


# --- Rays traced point by point -------------------------------------------------------
def test_rough_ground_has_the_skyline_of_traced_rays():
    z = rough_ground()[:, :50]
    traced = traced_deg(z, 2.0, 36)
    error = np.abs(skyline(z, 2.0) - traced)
    assert traced.mean() > 3  # hilly enough to mean something
    assert error.mean() <= 0.04
    assert np.percentile(error, 99) <= 0.5


def test_real_ground_has_the_skyline_of_traced_rays():
    # SRTM heights of a fault in Tennessee (matplotlib's sample data).
    with np.load(
        cbook.get_sample_data("jacksboro_fault_dem.npz", asfileobj=False)
    ) as dem:
        z = dem["elevation"][130:180, 160:210].astype(float)
    error = np.abs(skyline(z, 90.0) - traced_deg(z, 90.0, 36))
    assert error.mean() <= 0.045
    assert np.percentile(error, 99) <= 0.55


@pytest.mark.parametrize("turns", [1, 2, 3])
def test_turned_ground_has_the_turned_skyline(turns):
    z = ndimage.gaussian_filter(rough_ground(64), 2)[:, :50]
    turned = skyline(np.rot90(z, turns))
    # rot90 turns counter-clockwise: what lay in sector s now lies 9 sectors earlier.
    expected = np.roll(np.rot90(skyline(z), turns, axes=(1, 2)), -9 * turns, axis=0)
    # Lines shared by many cells pass them by up to half a cell, not always on the same
    # side: two answers differ by no more than twice the error of one.
    difference = np.abs(turned - expected)
    assert difference.mean() <= 2 * 0.04
    assert np.percentile(difference, 99) <= 2 * 0.5


def test_lifted_ground_has_the_same_skyline():
    z = rough_ground(48)
    np.testing.assert_allclose(skyline(z + 4321.0), skyline(z), atol=1e-3)


def test_many_threads_answer_as_one_does(monkeypatch):
    z = rough_ground(48)
    one = skyline(z)
    monkeypatch.setattr(horizon, "_SERIAL_CELLS", 0)
    np.testing.assert_array_equal(skyline(z), one)


def test_the_quick_arc_tangent_is_good_to_3e_9():
    # The first term its series leaves out is u^19 / 19 at u = tan(22.5°), 2.8e-9.
    for tangent in np.concatenate([[0.0], np.geomspace(1e-6, 1e6, 2000)]):
        assert abs(_sweep.atan(tangent) - np.arctan(tangent)) <= 3e-9


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


@pytest.mark.parametrize("away", [6, 30], ids=["near", "beyond the near rows"])
def test_a_wall_behind_a_hole_is_seen_over_it(away):
    z = np.zeros((5, 60))
    z[:, 3 : away - 1] = np.nan
    z[:, away] = 6.0
    angle = skyline(z, 1.0, 4)[1, 2, 0]
    assert angle == pytest.approx(np.degrees(np.arctan(6.0 / away)), abs=1e-3)


def test_ground_without_any_height_has_no_skyline():
    assert np.isnan(skyline(np.full((20, 20), np.nan))).all()


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda z: horizon.angles_deg(z, z, 1.0, 7, WHOLE), "sectors"),
        (lambda z: horizon.angles_deg(z, z[:2], 1.0, 8, WHOLE), "shape"),
        (
            lambda z: horizon.angles_deg(z, z, 1.0, 8, (slice(9, 12), slice(0, 2))),
            "window",
        ),
    ],
    ids=["odd sectors", "shapes", "empty window"],
)
def test_impossible_input_is_refused(call, word):
    with pytest.raises(ValueError, match=word):
        call(np.zeros((4, 4)))
