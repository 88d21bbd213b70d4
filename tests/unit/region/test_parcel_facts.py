"""Facts of parcels against closed forms: planes, a cone, a bowl, and what is missing."""

import numpy as np
import pytest
from made_up import NORTH, WEST, plane, raster
from made_up_region import CENTRE, layers, middles
from shapely.geometry import MultiPolygon, Point, box

from fieldmap.region.parcels.facts import SLOPES_PERCENT, facts

HALF = box(WEST + 100, NORTH - 200, WEST + 300, NORTH - 100)  # 200 by 100 m: 2 ha


def test_a_plane_has_one_slope_and_faces_downhill():
    """It rises .03 to the north and .04 to the east: 5 %, falling to the south-west.

    atan2(-.04, -.03) is 233.13° clockwise from north.
    """
    window = layers(plane(1000, 1000, east=0.04, north=0.03))
    found = facts([HALF], window)
    assert found.area_ha == pytest.approx([2.0])
    assert found.slope_percent[:, 0] == pytest.approx([5.0, 5.0, 5.0], abs=1e-3)
    assert found.faces_deg[0] == pytest.approx(233.13, abs=0.01)
    assert found.one_way_share[0] == pytest.approx(1.0)
    # The middle of the parcel lies 200 m east and 150 m south of the corner of the grid.
    assert found.height_m[0] == pytest.approx(
        100 + 0.04 * (200 - 0.5) - 0.03 * (150 - 0.5), abs=0.01
    )


def test_a_cone_is_as_steep_everywhere_and_faces_no_one_way():
    east, north = middles()
    window = layers(raster(200 - 0.1 * np.hypot(east, north), 2.0))
    found = facts([Point(CENTRE).buffer(300, 256)], window)
    assert found.slope_percent[:, 0] == pytest.approx([10, 10, 10], abs=0.05)
    assert np.isnan(found.faces_deg[0])
    assert found.one_way_share[0] == pytest.approx(0.0, abs=1e-3)


def test_slopes_of_a_bowl_have_the_percentiles_of_its_rings():
    """z = a r²: the slope 2 a r is under s on the disc of radius s / 2a.

    On a disc of radius R the part below is (r / R)², so the tenth lies at R √.1. With
    a = .0002 and R = 400 m slopes go to 16 %, and 5 % is at r = 125 m.
    """
    east, north = middles()
    window = layers(raster(0.0002 * (east**2 + north**2), 2.0))
    found = facts([Point(CENTRE).buffer(400, 512)], window)
    expected = 16 * np.sqrt([0.1, 0.5, 0.9])
    assert found.slope_percent[:, 0] == pytest.approx(expected, abs=0.05)
    flat_ha = np.pi * (np.array(SLOPES_PERCENT) / 100 / 0.0004) ** 2 / 1e4
    whole_ha = np.pi * 400**2 / 1e4
    assert found.dry_ha[:, 0] == pytest.approx(np.minimum(flat_ha, whole_ha), abs=0.3)


def test_wet_ground_is_no_dry_ground():
    """A fifth of the parcel, its western 40 m, has a wetness index of 12."""
    wetness = np.full((200, 200), 6.0)
    wetness[:, : int((100 + 40) / 5)] = 12.0
    window = layers(plane(1000, 1000, east=0.01), wetness_index=wetness)
    found = facts([HALF], window)
    assert found.wet_share[0] == pytest.approx(0.2)
    assert found.dry_ha[:, 0] == pytest.approx(1.6, abs=1e-6)


def test_light_is_that_of_the_year_and_of_its_darkest_months():
    """Twelve months of 1 to 18: mean 112 / 12; the darkest are December, January, November

    with 1, 2 and 3, a mean of 2.
    """
    found = facts([HALF], layers(plane(1000, 1000)))
    assert found.dark_months == (11, 12, 1)
    assert found.dark_sun_mj_m2_day[:, 0] == pytest.approx([2, 2, 2])
    assert found.sun_mj_m2_day[:, 0] == pytest.approx([112 / 12] * 3)
    assert found.shaded_share[0] == 0


def test_ground_with_little_light_in_the_dark_months_is_shaded():
    """The southern quarter has half the light; open level ground is the rest."""
    light = np.full((12, 1000, 1000), 4.0)
    light[:, 175:, :] = 2.0
    found = facts([HALF], layers(plane(1000, 1000), sun_mj_m2_day=light))
    assert found.shaded_share[0] == pytest.approx(0.25, abs=0.03)


def test_offsets_are_means_by_area():
    offset = np.stack([np.full((200, 200), each) for each in (-2.0, -1.0, 0.0)])
    offset[:, :, 40:] += 1.0  # from 200 m on, the eastern half
    found = facts([HALF], layers(plane(1000, 1000), offset_c=offset))
    assert found.offset_c[:, 0] == pytest.approx([-1.5, -0.5, 0.5])


def test_a_hole_of_a_twentieth_is_passed_over_and_one_of_a_fifth_is_not():
    small, large = np.full((200, 200), 1.0), np.full((200, 200), 1.0)
    small[20:40, 20:22] = np.nan  # 10 of 200 m
    large[20:40, 20:28] = np.nan  # 40 of 200 m
    window = plane(1000, 1000)
    assert facts([HALF], layers(window, cold_air_m=small)).cold_air_m[0] == (
        pytest.approx(1.0)
    )
    assert np.isnan(facts([HALF], layers(window, cold_air_m=large)).cold_air_m[0])


def test_a_parcel_beyond_the_layers_is_not_known_and_spoils_no_other():
    outside = box(WEST - 500, NORTH - 200, WEST - 300, NORTH - 100)
    astride = box(WEST - 100, NORTH - 200, WEST + 100, NORTH - 100)
    found = facts([outside, HALF, astride], layers(plane(1000, 1000, east=0.05)))
    assert found.known_share == pytest.approx([0, 1, 0.5], abs=0.01)
    assert np.isnan(found.slope_percent[1]).tolist() == [True, False, True]
    assert np.isnan(found.offset_c[1]).tolist() == [True, False, True]
    assert found.area_ha == pytest.approx([2, 2, 2])


def test_a_parcel_in_pieces_is_the_sum_of_them():
    pieces = MultiPolygon([HALF, box(WEST + 600, NORTH - 700, WEST + 700, NORTH - 600)])
    found = facts([pieces], layers(plane(1000, 1000, north=0.01)))
    assert found.area_ha == pytest.approx([3.0])
    assert found.dry_ha[:, 0] == pytest.approx([3.0] * len(SLOPES_PERCENT), abs=1e-6)
