"""Metres on the page are metres on the ground, and heights are those of the elevation."""

import base64

import geopandas as gpd
import numpy as np
import pyproj
import pytest
from made_up import plane
from shapely.geometry import Polygon

from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.serve.ground import (
    MISSING,
    MOST_TILES,
    _rise,
    frame_around,
    middle_at,
    tiles,
)


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
    ground = plane(east=0.1, north=0.05)  # made-up: grades in metres a metre
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


def slippy(longitude, latitude, zoom):
    """Column and row of a place in tiles (OpenStreetMap wiki, Slippy map tilenames; from memory)."""
    side, phi = 2**zoom, np.radians(latitude)
    row = (1 - np.log(np.tan(phi) + 1 / np.cos(phi)) / np.pi) / 2 * side
    return (longitude + 180) / 360 * side, row


def corner(col, row, zoom):
    """Longitude and latitude of the north-west corner of a tile, by the same page."""
    north = np.degrees(np.arctan(np.sinh(np.pi * (1 - 2 * row / 2**zoom))))
    return col / 2**zoom * 360 - 180, north


def heights_of(side_m, cell_m=2.0):
    """A square of ground around the middle, as `frame_around` frames it."""
    frame = frame_around(middle_at(0, 0), np.array([-1, -1, 1, 1]) * side_m / 2, cell_m)
    return frame.packed(np.zeros((frame.rows, frame.cols)), 0.1)


@pytest.mark.parametrize("place", [(15.26, 46.05), (-70.9, -53.2), (0.0, 0.0)])
def test_tiles_lie_where_the_slippy_map_has_them_and_cover_the_ground(place):
    middle = middle_at(*place)
    found = tiles(middle, heights_of(700.0), 19)
    assert 1 < len(found) <= MOST_TILES
    for tile in found:
        west, south, east, north = tile.box
        there = [
            corner(tile.col, tile.row, tile.zoom),
            corner(tile.col + 1, tile.row + 1, tile.zoom),
        ]
        expected_m = middle.metres(there).ravel()
        assert (west, north, east, south) == pytest.approx(expected_m, abs=0.5)
    (zoom,) = {tile.zoom for tile in found}
    listed = {(tile.col, tile.row) for tile in found}
    for away in ((-350, -350), (-350, 350), (350, -350), (350, 350), (0, 0)):
        col, row = slippy(*middle.degrees([away])[0], zoom)
        assert (int(col), int(row)) in listed


@pytest.mark.parametrize(
    ("side_m", "cell_m", "finest", "expected"),
    [
        # 3100 m outlined on 900 pixels: 3.44 m each, between 2.39 at 16 and 4.78 at 15,
        # and by the factor nearer to the latter, though 64 tiles would do for 16.
        (3600.0, 12.0, 23, 15),
        # 20 m outlined: 2 cm each would be 22; a tile of 19 is 76.4 m wide, so 7 or 8 a
        # side cover the ground, and of 20 twice as many.
        (520.0, 2.0, 23, 19),
        (520.0, 2.0, 14, 14),
    ],
)
def test_cells_of_tiles_are_as_wide_as_a_pixel_of_the_first_view(
    side_m, cell_m, finest, expected
):
    """At the equator a cell is 156543.03 m / 2^zoom wide (same wiki, Zoom levels)."""
    found = tiles(middle_at(0.1, 0.1), heights_of(side_m, cell_m), finest)
    assert {tile.zoom for tile in found} == {expected}
    assert len(found) <= 64
    west, _south, east, _north = found[0].box
    assert east - west == pytest.approx(256 * 156543.03 / 2**expected, rel=1e-3)


def test_a_tile_is_asked_for_by_its_numbers():
    tile = tiles(middle_at(15.26, 46.05), heights_of(600.0), 0)[0]
    assert tile.address("https://a.org/{z}/{y}/{x}.png?k=1") == (
        "https://a.org/0/0/0.png?k=1"
    )
