"""Metres on the page are metres on the ground, and heights are those of the elevation."""

import base64

import geopandas as gpd
import numpy as np
import pyproj
import pytest
from made_up import plane
from shapely.geometry import Polygon

from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.serve.ground import MISSING, _rise, frame_around, middle_at


@pytest.mark.parametrize("latitude", [-41.0, 0.0, 46.0, 68.0])
def test_lengths_are_those_of_the_geodesic(latitude):
    middle = middle_at(15.0, latitude)
    geod = pyproj.Geod(ellps="WGS84")  # Karney's algorithm, GeographicLib
    for away_m in ([300.0, 0.0], [0.0, 300.0], [-200.0, 250.0]):
        longitude, to_latitude = middle.degrees([away_m])[0]
        _there, _back, true_m = geod.inv(15.0, latitude, longitude, to_latitude)
        assert true_m == pytest.approx(np.hypot(*away_m), rel=2e-4)


def test_degrees_and_back():
    middle = middle_at(-74.25, 44.05)
    places = np.array([[-74.2512, 44.0524], [-74.2489, 44.0503]])
    assert middle.degrees(middle.metres(places)) == pytest.approx(places, abs=1e-12)


def test_heights_lie_where_they_are():
    ground = plane(east=0.1, north=0.05)  # made-up: rises so many metres a metre
    to_degrees = transformer(ground.crs, WGS84)
    west, south, east, north = ground.bounds
    longitude, latitude = to_degrees.transform((west + east) / 2, (south + north) / 2)
    middle = middle_at(longitude, latitude)
    frame = frame_around(middle, (-60, -60, 60, 60), 2.0)
    packed = frame.packed(frame.read(ground), 0.1)
    whole = np.frombuffer(base64.b64decode(packed["values"]), "<i2")
    heights_m = packed["least"] + 0.1 * whole.reshape(packed["rows"], packed["cols"])
    rise_east = (heights_m[:, -1] - heights_m[:, 0]).mean() / (2.0 * (frame.cols - 1))
    rise_north = (heights_m[0] - heights_m[-1]).mean() / (2.0 * (frame.rows - 1))
    # The middle of UTM zone 33 is 15° east, where grid and true north are the same.
    assert (rise_east, rise_north) == pytest.approx((0.1, 0.05), abs=1e-3)


def test_what_is_missing_is_marked():
    frame = frame_around(middle_at(15.0, 45.0), (0, 0, 4, 4), 2.0)
    packed = frame.packed(np.array([[1.0, np.nan], [2.0, 3.0]]), 0.5)
    whole = np.frombuffer(base64.b64decode(packed["values"]), "<i2")
    assert whole.tolist() == [0, MISSING, 2, 4]


def test_the_ground_falls_as_the_plot_does_and_not_as_what_lies_around():
    """A plane that rises 0.1 to the east; west of the middle it rises 0.3 to the north."""
    frame = frame_around(middle_at(15.0, 45.0), (-60, -60, 60, 60), 2.0)
    north_m = 60 - 2.0 * (np.arange(60) + 0.5)[:, None]
    east_m = -60 + 2.0 * (np.arange(60) + 0.5)[None, :]
    heights_m = np.where(east_m > 0, 0.1 * east_m + 0 * north_m, 0.3 * north_m)
    corners = frame.middle.degrees([(10, -40), (50, -40), (50, 40), (10, 40)])
    plots = gpd.GeoSeries([Polygon(corners)], crs=WGS84)
    assert _rise(frame, heights_m, plots) == pytest.approx((0.1, 0.0), abs=1e-9)
    nowhere = np.full((60, 60), np.nan)
    assert _rise(frame, nowhere, plots) is None
