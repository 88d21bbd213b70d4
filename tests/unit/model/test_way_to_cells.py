"""How far it is from some places to the nearest of some cells of a grid."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as of_numpy
from scipy import ndimage

from fieldmap.model.site import _cells_to

SHAPES = of_numpy.array_shapes(min_dims=2, max_dims=2, min_side=1, max_side=9)


@pytest.mark.parametrize(
    "plot_m",
    [
        (250, 450, 350, 550),
        (250, 50, 350, 150),
        (50, 250, 150, 350),
        (450, 250, 550, 350),
    ],
    ids=["north", "south", "west", "east"],
)
def test_the_margin_is_the_way_to_the_nearest_edge_of_the_elevation(
    site_folder, plot_m
):
    # A square of 600 m: 50 m are left on one side and 250 m or more on the others. Ways
    # are counted between cells of 10 m.
    site_folder.plots([site_folder.box(*plot_m)])
    site = site_folder.read()
    assert site.margin_m == pytest.approx(50.0, abs=10.0)
    assert site.edge_m == site.margin_m


def test_the_nearest_of_a_wide_hole_is_at_its_rim():
    hole = np.zeros((20, 20), bool)
    hole[8:16, 9:19] = True
    # From row 5, column 6 to row 8, column 9: 3 down and 3 right.
    assert _cells_to(hole, np.array([[5, 6], [0, 0]])) == np.hypot(3, 3)


def test_a_place_on_such_a_cell_has_no_way_to_go():
    assert _cells_to(np.ones((3, 4), bool), np.array([[1, 1]])) == 0


def test_without_such_cells_the_way_is_endless():
    assert _cells_to(np.zeros((3, 4), bool), np.array([[1, 1]])) == np.inf


@given(SHAPES.flatmap(lambda shape: of_numpy.arrays(bool, shape)), st.data())
def test_it_is_the_distance_transform_of_scipy(cells, data):
    rows, cols = cells.shape
    place = st.tuples(st.integers(0, rows - 1), st.integers(0, cols - 1))
    places = np.array(data.draw(st.lists(place, min_size=1, max_size=5)))
    if not cells.any():
        return
    distance = ndimage.distance_transform_edt(~cells)
    assert _cells_to(cells, places) == distance[*places.T].min()
