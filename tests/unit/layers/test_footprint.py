"""Means and planes under turned rectangles, against closed forms and point by point."""

import hypothesis
import numpy as np
import pytest
import shapely
from hypothesis import strategies as st

from layers import footprint

SPACING_M = 0.5


def on_lattice(bearing_deg, *heights):
    """A lattice over 60 m, and functions of east and north sampled on it."""
    corners = [(-30, -30), (30, -30), (30, 30), (-30, 30)]
    made = footprint.lattice(corners, bearing_deg, SPACING_M)
    east, north = made.points()
    return made, np.stack([height(east, north) + 0.0 * east for height in heights])


def middle_of(made):
    return np.array(
        [[int(np.abs(line).argmin()) for line in (made.along_m, made.across_m)]]
    )


@hypothesis.given(
    st.floats(0, 180),
    st.floats(-0.3, 0.3),
    st.floats(-0.3, 0.3),
    # Ends on points, or between them, where points count in part.
    st.sampled_from([(20.0, 6.0), (7.3, 3.4)]),
)
@hypothesis.settings(deadline=None, max_examples=40)
def test_a_plane_has_its_own_slopes_whatever_the_bearing(
    bearing_deg, east, north, size_m
):
    made, values = on_lattice(bearing_deg, lambda x, y: 50 + east * x + north * y)
    found = footprint.under(
        footprint.summed(values, SPACING_M), middle_of(made), size_m
    )
    angle = np.radians(bearing_deg)
    assert found.along[0] == pytest.approx(
        east * np.sin(angle) + north * np.cos(angle), abs=1e-6
    )
    assert found.across[0] == pytest.approx(
        east * np.cos(angle) - north * np.sin(angle), abs=1e-6
    )
    assert found.means[0, 0] == pytest.approx(50.0, abs=1e-9)


@pytest.mark.parametrize("size_m", [(20.0, 6.0), (12.0, 4.5), (7.3, 3.3)])
def test_means_are_those_of_the_points_underneath(size_m):
    rng = np.random.default_rng(5)
    values = rng.normal(size=(2, 120, 120))
    at = np.array([[60, 60], [40, 77]])
    found = footprint.under(footprint.summed(values, SPACING_M), at, size_m)
    for place, (row, col) in enumerate(at):
        # Each point is a square of the spacing; those on the rim count in part.
        rows, cols = (
            np.clip(
                np.minimum(np.arange(120) + 0.5, middle + side / SPACING_M / 2)
                - np.maximum(np.arange(120) - 0.5, middle - side / SPACING_M / 2),
                0,
                1,
            )
            for middle, side in zip((row, col), size_m, strict=True)
        )
        weights = rows[:, None] * cols[None, :]
        expected = (values * weights).sum(axis=(1, 2)) / weights.sum()
        np.testing.assert_allclose(found.means[:, place], expected, rtol=1e-9)


def test_a_missing_point_underneath_leaves_a_place_unknown_and_no_other():
    values = np.ones((1, 100, 100))
    values[0, 50, 50] = np.nan
    found = footprint.under(
        footprint.summed(values, 0.5), np.array([[50, 55], [50, 80]]), (6.0, 6.0)
    )
    assert np.isnan(found.means[0]).tolist() == [True, False]
    assert np.isnan(found.along).tolist() == [True, False]


def test_a_rectangle_that_leaves_the_lattice_is_unknown():
    found = footprint.under(
        footprint.summed(np.ones((1, 30, 30)), 0.5), np.array([[2, 15]]), (6.0, 3.0)
    )
    assert np.isnan(found.means[0, 0])


def test_sampling_is_straight_between_cells_and_missing_outside():
    rows, cols = np.mgrid[0:20, 0:30].astype(float)
    grids = np.stack([2 * cols + 3 * rows])
    found = footprint.sampled(
        grids, np.array([[4.25, 29.0, 29.5]]), np.array([[7.5, 19, 3]])
    )
    assert found[0, 0, :2].tolist() == [2 * 4.25 + 3 * 7.5, 2 * 29 + 3 * 19]
    assert np.isnan(found[0, 0, 2])
    # A cell that is missing on the far side leaves the last column and row as they are.
    grids[0, :, 0] = grids[0, 0] = np.nan
    last = footprint.sampled(grids, np.array([[29.0, 4.5]]), np.array([[7.5, 19.0]]))
    assert last[0, 0].tolist() == [2 * 29 + 3 * 7.5, 2 * 4.5 + 3 * 19]


def test_earth_on_a_plane_is_that_of_the_closed_form():
    # Cut = fill = slope·w²/8 for each metre, across alone and along alone.
    assert footprint.earth_moved_m3(0.0, 0.05, 30.0, 8.0) == pytest.approx(
        30 * 0.05 * 8
    )
    assert footprint.earth_moved_m3(0.05, 0.0, 30.0, 8.0) == pytest.approx(
        8 * 0.05 * 900 / 8
    )
    # Both ways, summed over small squares.
    x, y = np.meshgrid(np.linspace(-15, 15, 3001), np.linspace(-4, 4, 801))
    cut = np.maximum(0.03 * x + 0.07 * y, 0).mean() * 240
    assert footprint.earth_moved_m3(0.03, -0.07, 30.0, 8.0) == pytest.approx(
        cut, rel=1e-3
    )


def test_what_cannot_be_is_refused():
    with pytest.raises(ValueError, match="spacing_m must be over 0"):
        footprint.lattice([(0, 0), (1, 1)], 0.0, 0.0)
    with pytest.raises(ValueError, match="two spacings or more"):
        footprint.under(
            footprint.summed(np.ones((1, 9, 9)), 0.5), np.array([[4, 4]]), (0.5, 3.0)
        )


@hypothesis.given(
    st.floats(0, 180), st.floats(1.5, 12), st.floats(1.5, 12), st.integers(0, 2**16)
)
@hypothesis.settings(deadline=None, max_examples=40)
def test_there_is_room_where_shapely_lays_the_rectangle_inside(
    bearing_deg, long_m, wide_m, seed
):
    """Ground of many corners with a hole, by the overlay of another library."""
    drawn = np.random.default_rng(seed)
    angles = np.linspace(0, 2 * np.pi, 12, endpoint=False)
    around = np.stack([np.sin(angles), np.cos(angles)], axis=1)
    outer, hole = drawn.uniform(12, 30, (12, 1)) * around, 4.0 * around + [2.0, 1.0]
    ground = shapely.Polygon(outer, [hole])
    rings = [shapely.get_coordinates(each) for each in shapely.get_rings(ground)]
    edges = np.concatenate([np.stack([r[:-1], r[1:]], axis=1) for r in rings])
    made = footprint.lattice(outer, bearing_deg, 2.0)
    room = footprint.with_room(edges, made, (long_m, wide_m))
    forward, right = made.axes
    ends = np.array([(-1, -1), (-1, 1), (1, 1), (1, -1)]) / 2 * (long_m, wide_m)
    corners = ends @ np.stack([forward, right])
    middles = np.stack(made.points(), axis=-1)
    inside = shapely.contains(
        ground, shapely.polygons(middles[:, :, np.newaxis] + corners)
    )
    assert (room == inside).all()


def test_a_rectangle_that_touches_an_edge_has_no_room():
    corners = np.array([(0.0, 0), (6, 0), (6, 6), (0, 6), (0, 0)])
    edges = np.stack([corners[:-1], corners[1:]], axis=1)
    made = footprint.lattice(corners, 0.0, 1.0)
    assert not footprint.with_room(edges, made, (6.0, 2.0)).any()
    along, across = footprint.with_room(edges, made, (5.0, 2.0)).nonzero()
    assert set(along) == {3}
    assert set(across) == {2, 3, 4}
