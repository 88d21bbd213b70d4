"""Working CRS, grid and true north, time zone: against formulas and the ellipsoid."""

import math

import pyproj
import pytest

from fieldmap.read import place

UTM33 = pyproj.CRS(32633)
CENTRAL_MERIDIAN = 15.0
ELLIPSOID = pyproj.Geod(ellps="WGS84")


@pytest.mark.parametrize(
    ("longitude", "latitude", "sign"),
    [
        pytest.param(16.5, 46.0, 1, id="east-of-the-meridian-north"),
        pytest.param(13.5, 46.0, -1, id="west-of-the-meridian-north"),
        pytest.param(16.5, -33.0, -1, id="east-of-the-meridian-south"),
        pytest.param(17.9, 60.0, 1, id="far-east-60-north"),
    ],
)
def test_convergence_follows_the_formula_of_transverse_mercator(
    longitude, latitude, sign
):
    # tan γ = tan(λ - λ0) sin φ, on the sphere; the ellipsoid adds less than 0.001°.
    crs = pyproj.CRS(32733) if latitude < 0 else UTM33
    known_deg = math.degrees(
        math.atan(
            math.tan(math.radians(longitude - CENTRAL_MERIDIAN))
            * math.sin(math.radians(latitude))
        )
    )
    found_deg = place.convergence_deg(crs, longitude, latitude)
    assert found_deg == pytest.approx(known_deg, abs=0.001)
    assert math.copysign(1, found_deg) == sign


@pytest.mark.parametrize("epsg", [32633, 3794, 31287])
def test_true_bearing_of_a_step_to_grid_north_is_the_convergence(epsg):
    # The ellipsoid itself is asked for the bearing of ten metres towards grid north.
    longitude, latitude = 14.2, 46.1
    crs = pyproj.CRS(epsg)
    to_grid = pyproj.Transformer.from_crs(crs.geodetic_crs, crs, always_xy=True)
    east, north = to_grid.transform(longitude, latitude)
    ahead = to_grid.transform(east, north + 10.0, direction="INVERSE")
    bearing_deg, _, _ = ELLIPSOID.inv(longitude, latitude, *ahead)
    found_deg = place.convergence_deg(crs, longitude, latitude)
    assert found_deg == pytest.approx(bearing_deg, abs=0.001)


def test_scale_on_the_central_meridian_of_utm_is_0_9996():
    # The definition of UTM.
    assert place.scale_error(UTM33, 15.0, 46.0) == pytest.approx(0.0004, abs=1e-7)


def test_scale_of_web_mercator_grows_with_the_secant_of_latitude():
    found = place.scale_error(pyproj.CRS(3857), 15.0, 60.0)
    assert found == pytest.approx(1 / math.cos(math.radians(60)) - 1, rel=0.01)


@pytest.mark.parametrize(
    ("epsg", "longitude", "latitude", "fits"),
    [
        pytest.param(32633, 15.3, 46.0, True, id="utm-in-its-zone"),
        pytest.param(32633, 24.0, 46.0, False, id="utm-two-zones-off"),
        pytest.param(3794, 14.5, 46.0, True, id="national-grid"),
        pytest.param(2193, 174.8, -41.0, True, id="northing-named-first"),
        pytest.param(4326, 15.3, 46.0, False, id="degrees"),
        pytest.param(3857, 15.3, 46.0, False, id="web-mercator"),
        pytest.param(3857, 15.3, 0.0, False, id="web-mercator-on-the-equator"),
        pytest.param(2264, -79.0, 35.5, False, id="survey-feet"),
        pytest.param(2053, 29.0, -29.0, False, id="south-and-west-axes"),
        pytest.param(3035, -9.0, 38.0, False, id="equal-area-far-from-its-middle"),
    ],
)
def test_a_working_crs_is_metric_true_to_scale_and_never_web_mercator(
    epsg, longitude, latitude, fits
):
    assert place.fits(pyproj.CRS(epsg), longitude, latitude) is fits


def test_the_elevations_crs_goes_before_the_plots_and_utm_comes_last():
    grid, utm, degrees = pyproj.CRS(3794), UTM33, pyproj.CRS(4326)
    web = pyproj.CRS(3857)
    assert place.working_crs(grid, utm, 14.5, 46.0) == grid
    assert place.working_crs(degrees, grid, 14.5, 46.0) == grid
    assert place.working_crs(web, degrees, 14.5, 46.0) == utm


def test_utm_zones_south_of_the_equator_and_at_the_date_line():
    # EPSG register: 327xx south, 326xx north, zone 1 from 180°W, zone 60 to 180°E.
    assert place.utm(-180.0, 10.0).to_epsg() == 32601
    assert place.utm(180.0, 10.0).to_epsg() == 32660
    assert place.utm(174.8, -36.9).to_epsg() == 32760


def test_heights_are_taken_off_a_crs():
    # EPSG:7415 is EPSG:28992 with heights above NAP; EPSG:4979 is WGS 84 with heights.
    assert place.horizontal(pyproj.CRS(7415)) == pyproj.CRS(28992)
    assert len(place.horizontal(pyproj.CRS(4979)).axis_info) == 2
    assert place.horizontal(UTM33) == UTM33


@pytest.mark.parametrize(
    ("longitude", "latitude", "zone"),
    [
        (14.5, 46.05, "Europe/Ljubljana"),
        (10.75, 59.91, "Europe/Oslo"),
        (174.76, -36.88, "Pacific/Auckland"),
        (-74.25, 44.05, "America/New_York"),
    ],
    ids=["Ljubljana", "Oslo", "Auckland", "New-York-State"],
)
def test_time_zone_is_that_of_the_city(longitude, latitude, zone):
    # Places and zone names as in the IANA time zone database.
    assert place.time_zone(longitude, latitude) == zone


def test_a_degree_along_the_equator_is_111_km():
    # 2 π 6378.137 km / 360.
    assert place.distance_km(10, 0, 11, 0) == pytest.approx(111.3195, abs=1e-3)
