"""Points that stand for cells and beds: their means, and how close they stand."""

import numpy as np
import pytest
import shapely
from rasterio.transform import from_origin
from shapely.geometry import LineString, Polygon, box

from fieldmap.analyse.light import spread
from fieldmap.model.raster import Raster

WALL = np.array([[0.0, 0.0, 40.0, 0.0]])
NOTHING = np.empty((0, 4))


def apart_m(places):
    """How far the nearest neighbour of any point is."""
    tree = shapely.STRtree(shapely.points(places))
    pairs = tree.query(shapely.points(places), "dwithin", 10.0)
    one, other = pairs[:, pairs[0] != pairs[1]]
    return np.hypot(*(places[one] - places[other]).T).min()


@pytest.mark.parametrize("sides", [WALL, NOTHING])
@pytest.mark.parametrize("turn_deg", [0, 37])
def test_the_mean_of_what_grows_evenly_is_its_value_in_the_middle(sides, turn_deg):
    # A bed that begins at the wall and leads away has points of many spacings.
    bed = shapely.affinity.rotate(box(10, 0.5, 10.75, 60.5), turn_deg, (10, 0.5))
    points = spread.on_outlines([bed, box(5, 3, 25, 3.75)], sides)
    grows = points.places @ [2.0, 3.0]
    middle = np.array([bed.centroid.coords[0], (15.0, 3.375)]) @ [2.0, 3.0]
    np.testing.assert_allclose(points.means(grows), middle, rtol=1e-9)


def test_the_mean_over_a_triangle_is_near_its_centroid():
    wedge = Polygon([(0, 1), (30, 1), (0, 7)])
    points = spread.on_outlines([wedge], WALL)
    east, north = points.means(points.places.T)
    assert (east[0], north[0]) == pytest.approx((10.0, 3.0), abs=0.15)


def test_points_stand_close_beside_a_wall_and_wide_apart_far_off():
    near, far = box(10, 0.5, 20, 1.25), box(10, 80, 20, 80.75)
    points = spread.on_outlines([near, far], WALL)
    places = [points.places[points.of == number] for number in (0, 1)]
    assert apart_m(places[0]) <= 0.25 + 1e-9
    assert apart_m(places[1]) > 2.0
    assert len(places[1]) < len(places[0]) / 8


def test_every_outline_has_a_point_even_one_without_room():
    sliver = LineString([(0, 5), (0, 9)])
    points = spread.on_outlines([box(0, 1, 5, 2), sliver, box(0, 3, 1e-3, 4)], WALL)
    assert set(points.of) == {0, 1, 2}
    np.testing.assert_allclose(np.bincount(points.of, points.weight), 1.0)


def test_means_over_cells_stand_in_the_middle_of_each():
    cells = Raster(np.zeros((6, 5)), from_origin(-3.0, 8.0, 2.0, 2.0), "EPSG:32633")
    points = spread.in_cells(cells, WALL)
    found = points.means(points.places.T).reshape(2, 6, 5)
    np.testing.assert_allclose(found, np.stack(cells.middles), atol=1e-9)
    assert np.bincount(points.of).min() == 1
    assert np.bincount(points.of).max() == 16  # every half metre beside the wall
