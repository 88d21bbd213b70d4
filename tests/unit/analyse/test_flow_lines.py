"""Flow lines: evenly spaced lines down the flow of a made-up night."""

import itertools
from functools import cache

import made_up
import numpy as np
import pytest
from made_up import NOTHING_KEPT, analysis, plane, raster
from shapely.geometry import Point

from fieldmap.analyse.cold_air import flow_lines

CELL_M = 5.0
CELLS_M = np.mgrid[0:80, 0:80] * CELL_M + CELL_M / 2  # southing and easting of cells


def night(east_m2_s, north_m2_s, depth_m=2.0):
    """A night with this flux on 80 x 80 cells of 5 m, and layers of this depth."""
    depth = np.broadcast_to(depth_m, (3, 80, 80)).astype(float)
    return made_up.night(raster(depth, CELL_M), east_m2_s, north_m2_s)


def whole(a_night):
    return a_night.depths_m.bounds


def valley():
    """Flux towards a floor that runs south in the middle, and along it."""
    _, easting = CELLS_M
    aside = (easting - 200.0) / 200.0
    floor = np.exp(-((easting - 200.0) ** 2) / (2 * 15.0**2))
    return night(-np.sign(aside) * np.minimum(1, 4 * abs(aside)), -0.3 - 6 * floor)


@cache
def lines_of_valley():
    carved = valley()
    return flow_lines.along(carved, whole(carved))


def test_on_a_plane_the_lines_run_straight_down_and_fill_the_ground():
    east, north = 0.6, -0.8  # the way down, of length 1
    down = night(2 * east, 2 * north)
    lines = flow_lines.along(down, whole(down))
    assert {line.level for line in lines} == {1, 2, 3}
    for line in lines:
        start, *_, end = np.array(line.line.coords)
        way = (end - start) / np.hypot(*(end - start))
        np.testing.assert_allclose(way, (east, north), atol=1e-9)
        assert line.line.length == pytest.approx(np.hypot(*(end - start)))
        assert line.strength_m2_s == pytest.approx(2.0)
    # No ground that the lines could cover lies farther than the widest spacing off.
    drawn = [line.line for line in lines]
    for east_m, south_m in itertools.product(range(60, 341, 20), repeat=2):
        at = Point(500000 + east_m, 5000200 - south_m)
        assert min(at.distance(line) for line in drawn) <= 20.0 + CELL_M


def test_in_a_valley_the_strongest_line_is_the_floor_and_the_others_run_to_it():
    first, *others = lines_of_valley()
    floor_m = np.array(first.line.coords)[:, 0] - 500000
    np.testing.assert_allclose(floor_m, 200.0, atol=CELL_M)
    assert first.line.length > 380
    assert first.strength_m2_s > max(line.strength_m2_s for line in others)
    for line in others:
        start, *_, end = np.array(line.line.coords)[:, 0] - 500200
        assert abs(end) < abs(start)


@pytest.mark.parametrize(
    ("most_squares", "levels"), [(399, {1, 2}), (401, {1, 2, 3}), (99, {1})]
)
def test_a_large_ground_goes_without_the_closer_levels(
    monkeypatch, most_squares, levels
):
    """400 m by 400 m are 100 squares of 40 m, and 400 of 20 m."""
    monkeypatch.setattr(flow_lines, "MOST_SQUARES", most_squares)
    assert {line.level for line in lines_of_plane()} == levels


def lines_of_plane():
    made = night(0.3, -1.0)
    return flow_lines.along(made, whole(made))


@pytest.mark.parametrize("made", [lines_of_valley, lines_of_plane])
def test_no_two_lines_come_closer_than_half_the_spacing_of_the_finer_one(made):
    lines = made()
    assert len(lines) > 5
    # Between points half a cell apart two lines may come a little closer.
    slack_m = flow_lines.STEP_CELLS * CELL_M
    for one, other in itertools.combinations(lines, 2):
        spacing_m = flow_lines.SPACINGS_M[max(one.level, other.level) - 1]
        assert one.line.distance(other.line) >= spacing_m / 2 - slack_m


def test_lines_are_no_shorter_than_their_spacing():
    for line in lines_of_valley():
        assert line.line.length >= flow_lines.SPACINGS_M[line.level - 1]


def test_a_lake_of_cold_air_has_none():
    """40 m deep air that creeps at 5 cm/s in the middle of a running layer."""
    south, east = CELLS_M
    lake = np.hypot(south - 200, east - 200) < 80
    made = night(0.0, -2.0, depth_m=np.where(lake, 40.0, 2.0))
    lines = flow_lines.along(made, whole(made))
    assert lines
    deep = Point(500200, 5000000).buffer(80 - 2 * CELL_M)
    assert not any(line.line.intersects(deep) for line in lines)


@pytest.mark.parametrize("flux", [0.0, flow_lines.LEAST_M2_S / 2])
def test_still_air_has_none(flux):
    made = night(flux, 0.0)
    assert flow_lines.along(made, whole(made)) == ()


def test_lines_stay_on_the_shown_ground_and_off_what_is_unknown():
    made = night(0.0, -2.0)
    made.depths_m.values[:, 30:50, :] = np.nan
    shown = (500100.0, 4999850.0, 500300.0, 5000150.0)
    lines = flow_lines.along(made, shown)
    assert lines
    for line in lines:
        west, south, east, north = line.line.bounds
        assert 500100 <= west <= east <= 500300
        assert 4999850 <= south <= north <= 5000150
        assert south >= 5000050 or north <= 4999950  # rows 30 to 50 are 100 m of it


def test_an_eddy_ends_after_one_round():
    south, east = CELLS_M
    around = -(200 - south) / 60, (east - 200) / 60
    made = night(*around)
    lines = flow_lines.along(made, whole(made))
    assert lines
    for line in lines:
        middle = Point(500200, 5000000)
        radius_m = middle.distance(Point(line.line.coords[0]))
        assert line.line.length <= 2 * np.pi * radius_m + 80


def test_the_same_night_gives_the_same_lines_and_no_night_none():
    made = valley()
    assert flow_lines.along(made, whole(made)) == lines_of_valley()
    assert flow_lines.find(analysis(plane()), NOTHING_KEPT) == ()


@pytest.mark.parametrize(
    ("east_m", "south_m", "flux"),
    [
        # Middles of cells lie at 5, 15 and 25 m; a cell has its column, and 10 times its row.
        (5.0, 5.0, (0.0, 0.0)),
        (20.0, 10.0, (1.5, 5.0)),
        (24.9, 24.9, (1.99, 19.9)),
        (25.1, 10.0, None),
        (10.0, 25.1, None),
        (4.9, 10.0, None),
        (10.0, 4.9, None),
    ],
)
def test_flux_lies_in_straight_lines_between_the_middles_of_cells(
    east_m, south_m, flux
):
    rows, cols = np.mgrid[0:3, 0:3].astype(float)
    stream = flow_lines.Stream(cols, 10 * rows, 1000.0, 2000.0, 10.0)
    found = stream.at(1000.0 + east_m, 2000.0 - south_m)
    assert found == pytest.approx(flux or (np.nan, np.nan), nan_ok=True)


def test_only_what_lies_a_spacing_or_more_from_a_line_is_clear_of_it():
    """A line 10 m long along the ground; 5 m is wanted."""
    drawn_m = np.array([[0.0, 0.0], [5.0, 0.0], [10.0, 0.0]])
    points_m = np.array(
        [[5.0, 4.9], [5.0, 5.0], [-4.9, 0], [-5.1, 0], [14.9, 0], [5, -4]]
    )
    clear = flow_lines._clear_of(drawn_m, points_m, 5.0)
    assert clear.tolist() == [False, True, False, True, False, False]
