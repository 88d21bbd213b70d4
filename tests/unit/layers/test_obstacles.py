"""Bands of sky that upright prisms fill, by trigonometry."""

import numpy as np
import pytest

from layers import obstacles
from layers.obstacles import UNDERNEATH, Ground, Prisms, bands, passing

LEVEL = Ground(np.zeros((2, 2)), -500.0, 500.0, 500.0)
HERE = np.zeros((1, 2))


def ring(west, south, east, north):
    corners = [(west, south), (east, south), (east, north), (west, north)]
    return np.array([*corners, corners[0]], float)


def prism(*edges, top=2.0, bottom=0.0):
    return Prisms.of([[ring(*edges)]], [bottom], [top])


def tilted(east=0.0, north=0.0, cell_m=7.0, cells=60):
    """Ground on a plane through the origin."""
    half = cells * cell_m / 2
    y, x = (np.mgrid[0:cells, 0:cells] + 0.5) * cell_m
    return Ground(east * (x - half) + north * (half - y), -half, half, cell_m)


def toward(found, sector, point=0):
    """(low, high, thing, facing) of the bands of one ray, nearest first."""
    rays = np.flatnonzero((found.sector == sector) & (found.point == point))
    assert len(rays) <= 1
    at = [range(found.start[ray], found.start[ray + 1]) for ray in rays]
    return [
        (found.low_deg[i], found.high_deg[i], found.thing[i], found.facing[i])
        for each in at
        for i in each
    ]


def angle(height_m, away_m):
    return np.degrees(np.arctan2(height_m, away_m))


def test_a_box_is_seen_over_its_near_side_and_under_its_far_side():
    # 3 to 12 m up, from 21 to 25 m to the east.
    found = bands(prism(21, -5, 25, 5, top=12, bottom=3), LEVEL, HERE, 36)
    ((low, high, thing, facing),) = toward(found, 9)
    assert low == pytest.approx(angle(3, 25), abs=1e-4)
    assert high == pytest.approx(angle(12, 21), abs=1e-4)
    assert (thing, facing) == (0, 27)  # its west side is seen
    assert toward(found, 27) == []


def test_a_ray_aslant_has_the_longer_way():
    found = bands(prism(-300, 4, 300, 5), LEVEL, HERE, 36)
    for sector in range(-6, 7):
        slant = np.cos(np.radians(10 * sector))
        ((low, high, _, facing),) = toward(found, sector % 36)
        assert high == pytest.approx(angle(2, 4 / slant), abs=1e-4)
        assert (low, facing) == (-90, 18)


def test_every_ray_that_meets_a_far_box_lies_between_its_corners():
    # From 20 to 30 m east and -5 to 10 m north: azimuths from 63.4° to 104.0°.
    found = bands(prism(20, -5, 30, 10, top=9), LEVEL, HERE, 720)
    first, last = np.degrees(np.arctan2([20, 20], [10, -5]))
    assert found.sector.min() == np.ceil(first * 2)
    assert found.sector.max() == np.floor(last * 2)
    assert len(found.sector) == len(set(found.sector.tolist()))


@pytest.mark.parametrize("turn", [0.0, 17.0, 90.0, 211.0])
def test_turning_everything_turns_the_bands(turn):
    angle_ = np.radians(turn)
    matrix = np.array(
        [[np.cos(angle_), -np.sin(angle_)], [np.sin(angle_), np.cos(angle_)]]
    )
    outline = ring(6, 2, 9, 14)
    one = bands(Prisms.of([[outline]], [1.0], [5.0]), LEVEL, HERE, 360)
    turned = Prisms.of([[outline @ matrix]], [1.0], [5.0])
    two = bands(turned, LEVEL, HERE, 360)
    by = round(turn)
    moved = {(s + by) % 360: toward(one, s)[0][:2] for s in one.sector}
    shared = [s for s in moved if toward(two, s)]
    assert len(shared) >= len(moved) - 1  # a corner may fall on either side of a ray
    for sector in shared:
        np.testing.assert_allclose(toward(two, sector)[0][:2], moved[sector], atol=0.02)


def test_who_stands_under_a_crown_has_it_overhead_down_to_its_far_rim():
    found = bands(prism(-5, -4, 8, 6, top=10, bottom=2), LEVEL, HERE, 4)
    for sector, rim_m in enumerate([6, 8, 4, 5]):
        ((low, high, _, facing),) = toward(found, sector)
        assert low == pytest.approx(angle(2, rim_m), abs=1e-4)
        assert (high, facing) == (90, UNDERNEATH)


def test_one_behind_the_other_are_two_bands_nearest_first():
    two = Prisms.of([[ring(-9, 60, 9, 62)], [ring(-9, 3, 9, 8)]], [0, 4], [2, 12])
    near, far = toward(bands(two, LEVEL, HERE, 36), 0)
    assert (near[2], far[2]) == (1, 0)
    assert near[:2] == pytest.approx((angle(4, 8), angle(12, 3)), abs=1e-4)
    assert far[1] == pytest.approx(angle(2, 60), abs=1e-4)


def test_a_courtyard_is_open_sky():
    walls = Prisms.of([[ring(-9, -9, 9, 9), ring(-5, -5, 5, 5)]], [0.0], [3.0])
    for sector in range(4):
        ((_, high, _, facing),) = toward(bands(walls, LEVEL, HERE, 4), sector)
        assert high == pytest.approx(angle(3, 5), abs=1e-4)
        assert facing != UNDERNEATH


def test_a_gap_shows_the_sky():
    hedge = Prisms.of([[ring(-40, 4, -2, 6)], [ring(2, 4, 40, 6)]], [0, 0], [3, 3])
    found = bands(hedge, LEVEL, HERE, 360)
    # From the far corners inward: atan(2 / 6) = 18.4° to either side is free.
    free = [s for s in range(-60, 61) if not toward(found, s % 360)]
    assert free == list(range(-18, 19))


@pytest.mark.parametrize("slope", [0.1, -0.1, 0.3])
def test_on_a_plane_a_band_rises_with_the_ground(slope):
    # Uphill to the north: tangents grow by the slope, since top and foot follow it.
    found = bands(prism(-50, 10, 50, 14, top=3, bottom=1), tilted(north=slope), HERE, 4)
    low, high = np.tan(np.radians(toward(found, 0)[0][:2]))
    assert low == pytest.approx(slope + 1 / 14, abs=1e-4)
    assert high == pytest.approx(slope + 3 / 10, abs=1e-4)


@pytest.mark.parametrize("turn", [0, 1, 2, 3])
def test_a_fence_stands_on_the_ground_right_under_it(turn):
    """A bank of 5 m begins 9.5 m to the east, and rises to the middle of the next cell.

    A fence of 3 m at 9.4 m stands at its foot. So it does to the north, west and south.
    """
    heights_m = np.where(np.arange(40) >= 30, 5.0, 0.0) * np.ones((40, 1))
    ground = Ground(np.rot90(heights_m, turn).copy(), -20.0, 20.0, 1.0)
    fence = ring(9.4, -5, 9.5, 5)
    for _quarter in range(turn):  # east to north, as the ground
        fence = np.column_stack([-fence[:, 1], fence[:, 0]])
    found = bands(Prisms.of([[fence]], [0.0], [3.0]), ground, HERE, 4)
    ((_, high, *_), *_rest) = toward(found, (1 - turn) % 4)
    assert high == pytest.approx(angle(3, 9.4), abs=1e-4)


@pytest.mark.parametrize("cell_m", [1.0, 2.0, 10.0, 30.0])
def test_cells_of_the_ground_make_no_difference_on_a_plane(cell_m):
    ground = tilted(0.05, 0.1, cell_m, cells=max(4, round(240 / cell_m)))
    thing = prism(3.3, 4.7, 21.2, 6.2, top=3)
    one = bands(thing, ground, HERE, 36)
    fine = bands(thing, tilted(0.05, 0.1, 3.0, 80), HERE, 36)
    assert one.sector.tolist() == fine.sector.tolist()
    np.testing.assert_allclose(one.high_deg, fine.high_deg, atol=1e-3)


def test_a_thing_below_the_observer_or_under_one_degree_is_left_out():
    below = bands(prism(-50, 40, 50, 44, top=3), tilted(north=-0.3), HERE, 4)
    assert len(below.point) == 0
    far = bands(prism(-2, 100, 2, 104, top=1.7), LEVEL, HERE, 4)  # 0.97°
    assert len(far.point) == 0


@pytest.mark.parametrize(
    ("altitude_deg", "part"), [(1.0, 0.2), (29.0, 0.2), (31.0, 1.0), (-5.0, 1.0)]
)
def test_the_beam_passes_over_and_through(altitude_deg, part):
    hedge = prism(-50, -5, 50, -4, top=4 * np.tan(np.radians(30.0)))
    sun = np.array([altitude_deg]), np.array([180.0])
    through = np.array([[0.2]])
    assert passing(hedge, through, LEVEL, HERE, sun)[0, 0] == part
    away = np.array([altitude_deg]), np.array([0.0])
    assert passing(hedge, through, LEVEL, HERE, away)[0, 0] == 1.0


def test_beams_and_bands_agree():
    things = Prisms.of(
        [[ring(3, 4, 9, 5)], [ring(-8, -2, -3, 9)], [ring(-2, -7, 30, -4)]],
        [0.0, 2.0, 1.0],
        [3.0, 8.0, 5.0],
    )
    found = bands(things, LEVEL, HERE, 360)
    for altitude_deg in (5.0, 20.0, 40.0):
        sun = np.full(360, altitude_deg), np.arange(360.0)
        part = passing(things, np.full((3, 360), 0.5), LEVEL, HERE, sun)[0]
        for sector in range(360):
            hit = sum(
                low < altitude_deg < high for low, high, *_ in toward(found, sector)
            )
            assert part[sector] == 0.5**hit


@pytest.mark.parametrize(
    ("bottom", "top", "word"), [([0], [], "tops"), ([3], [3], "higher top")]
)
def test_what_is_no_prism_is_refused(bottom, top, word):
    with pytest.raises(ValueError, match=word):
        Prisms.of([[ring(0, 0, 1, 1)]], bottom, top)
    with pytest.raises(ValueError, match="sectors"):
        obstacles.bands(prism(3, 3, 4, 4), LEVEL, HERE, 3)
