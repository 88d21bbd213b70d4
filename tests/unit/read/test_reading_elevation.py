"""Elevation files of every make come out as metres on square, north-up cells."""

import numpy as np
import pyproj
import pytest
import rasterio
from affine import Affine
from made_up import say_all
from matplotlib import cbook
from shapely.geometry import box
from site_folder import plane_m

from fieldmap.read.elevation import grid
from fieldmap.show.text.sentence import say

FOOT_M = 0.3048  # the international foot, by definition
SURVEY_FOOT_M = 1200 / 3937  # the US survey foot, by definition


def assert_is_the_plane(folder, site, within_m=0.01, least_known=0.4):
    """Heights of the site at its own cells are those of the plane, wherever known."""
    ground = site.elevation
    rows, cols = np.indices(ground.shape)
    size = ground.cell_size_m
    east = ground.transform.c + (cols + 0.5) * size
    north = ground.transform.f - (rows + 0.5) * size
    to_folder = pyproj.Transformer.from_crs(site.crs, folder.crs, always_xy=True)
    east, north = to_folder.transform(east, north)
    expected_m = plane_m(east - folder.west, north - folder.south)
    known = np.isfinite(ground.values)
    assert known.mean() > least_known
    assert np.abs(ground.values - expected_m)[known].max() < within_m


def test_a_metric_north_up_grid_is_kept_cell_by_cell(site_folder):
    site = site_folder.read()
    assert site.elevation.crs == pyproj.CRS(site_folder.crs)
    assert site.elevation.cell_size_m == 10.0
    assert site.elevation.transform == Affine(10, 0, 520000, 0, -10, 5100600)
    np.testing.assert_array_equal(
        site.elevation.values, site_folder.plane().astype("float32")
    )


@pytest.mark.parametrize(
    ("unit", "metres"),
    [
        ("m", 1.0),
        ("metre", 1.0),
        ("Meters", 1.0),
        ("ft", FOOT_M),
        ("US survey foot", SURVEY_FOOT_M),
    ],
    ids=str,
)
def test_heights_are_metres_whatever_unit_the_band_names(site_folder, unit, metres):
    site_folder.elevation(np.full((60, 60), 1000.0), unit=unit)
    values = site_folder.read().elevation.values
    np.testing.assert_allclose(values, 1000.0 * metres, rtol=1e-12)


def test_site_toml_says_feet_where_the_file_is_silent(site_folder):
    site_folder.elevation(np.full((60, 60), 1000.0), unit=None)
    site_folder.toml('name = "a"\n[ground]\nheight_unit = "ft"\n')
    assert site_folder.read().elevation.values[0, 0] == pytest.approx(304.8)


def test_a_vertical_crs_says_the_unit_of_heights(empty_site_folder):
    # EPSG:7415: Dutch grid with heights above NAP in metres.
    folder = empty_site_folder(28992, 150000.0, 450000.0).plain()
    folder.elevation(crs="EPSG:7415", unit=None)
    site = folder.read()
    assert site.crs == pyproj.CRS(28992)
    assert_is_the_plane(folder, site)


def test_no_unit_on_a_grid_of_metres_is_metres_and_said(site_folder, says):
    site_folder.elevation(unit=None)
    site = site_folder.read()
    assert_is_the_plane(site_folder, site)
    (said,) = (fact for fact in site.remarks if fact.kind == "metres_taken")
    says(say(said, "metric"), "elevation.tif", "in metres too", 'height_unit = "ft"')


def test_a_unit_that_is_given_is_no_remark(site_folder):
    site_folder.elevation(unit=None)
    site_folder.toml('name = "a"\n[ground]\nheight_unit = "m"\n')
    assert "metres_taken" not in {fact.kind for fact in site_folder.read().remarks}


@pytest.mark.parametrize("crs", ["EPSG:4326", "EPSG:2263"], ids=["degrees", "feet"])
def test_no_unit_on_another_grid_is_refused_rather_than_guessed(site_folder, says, crs):
    site_folder.elevation(unit=None, crs=crs)
    says(
        site_folder.problem(),
        "elevation.tif",
        "metres or feet",
        'height_unit = "m"',
        "[ground]",
        "site.toml",
    )


def test_two_units_that_differ_are_refused(site_folder, says):
    site_folder.elevation(unit="metre")
    site_folder.toml('name = "a"\n[ground]\nheight_unit = "ft"\n')
    says(site_folder.problem(), "elevation.tif", "'metre'", "'ft'", "correct the one")


def test_a_survey_foot_and_a_foot_do_not_contradict(site_folder):
    site_folder.elevation(np.full((60, 60), 1000.0), unit="US survey foot")
    site_folder.toml('name = "a"\n[ground]\nheight_unit = "ft"\n')
    values = site_folder.read().elevation.values
    assert values[0, 0] == pytest.approx(1000 * SURVEY_FOOT_M, abs=1e-9)


def test_an_unknown_unit_is_refused(site_folder, says):
    site_folder.elevation(unit="dm")
    says(site_folder.problem(), "elevation.tif", "'dm'", "metres or feet")


def test_scale_and_offset_of_the_band_are_applied(site_folder):
    stored = np.round((site_folder.plane() - 100.0) / 0.1).astype("int16")
    site_folder.elevation(stored)
    with rasterio.open(site_folder.path / "elevation.tif", "r+") as target:
        target.scales, target.offsets = (0.1,), (100.0,)
    assert_is_the_plane(site_folder, site_folder.read(), within_m=0.06)


def test_rows_from_the_south_are_turned_over(site_folder):
    turned = site_folder.plane()[::-1]
    transform = Affine(10, 0, site_folder.west, 0, 10, site_folder.south)
    site_folder.elevation(turned, transform)
    site = site_folder.read()
    assert site.elevation.transform == Affine(10, 0, 520000, 0, -10, 5100600)
    np.testing.assert_array_equal(site.elevation.values, site_folder.plane())


def test_a_turned_grid_is_laid_north_up(site_folder):
    middle = site_folder.west + 300, site_folder.south + 300
    transform = (
        Affine.translation(*middle) @ Affine.rotation(30) @ Affine.scale(10, -10)
    ) @ Affine.translation(-40, -40)
    rows, cols = np.indices((80, 80))
    east, north = transform @ (cols + 0.5, rows + 0.5)
    site_folder.elevation(
        plane_m(east - site_folder.west, north - site_folder.south), transform
    )
    site = site_folder.read()
    assert site.elevation.cell_size_m == 10.0
    assert np.isnan(site.elevation.values).any()  # the corners that were not covered
    assert_is_the_plane(site_folder, site)


def test_cells_that_are_not_square_become_square_of_the_same_size(site_folder):
    transform = Affine(20, 0, site_folder.west, 0, -5, site_folder.south + 600)
    rows, cols = np.indices((120, 30))
    values = plane_m((cols + 0.5) * 20, 600 - (rows + 0.5) * 5)
    site_folder.elevation(values, transform)
    site = site_folder.read()
    assert site.elevation.cell_size_m == 10.0  # sqrt(20 x 5)
    assert_is_the_plane(site_folder, site)


def test_a_grid_in_survey_feet_goes_to_the_plots_crs(empty_site_folder):
    # EPSG:2264, North Carolina in US survey feet; EPSG:32119, the same in metres.
    folder = empty_site_folder(32119, 600000.0, 200000.0).plain()
    feet = 1 / SURVEY_FOOT_M
    folder.plots(crs="EPSG:32119", file="plots.gpkg")
    folder.toml('name = "a"\n[files]\nplots = "plots.gpkg"\n')
    transform = Affine(10 * feet, 0, 600000 * feet, 0, -10 * feet, 200600 * feet)
    folder.elevation(folder.plane() * feet, transform, "EPSG:2264", "US survey foot")
    site = folder.read()
    assert site.crs == pyproj.CRS(32119)
    assert site.elevation.cell_size_m == pytest.approx(10.0)
    assert_is_the_plane(folder, site)


@pytest.mark.parametrize(
    ("epsg", "west", "south", "zone_epsg"),
    [
        pytest.param(32632, 597000.0, 6652000.0, 32632, id="60-north"),
        pytest.param(32760, 300000.0, 5915000.0, 32760, id="37-south"),
    ],
)
def test_degrees_go_to_utm_in_the_far_north_and_in_the_south(
    empty_site_folder, epsg, west, south, zone_epsg
):
    folder = empty_site_folder(epsg, west, south).plain()
    to_degrees = pyproj.Transformer.from_crs(epsg, 4326, always_xy=True)
    around = to_degrees.transform_bounds(
        west - 100, south - 100, west + 700, south + 700
    )
    cell_deg = 1e-4
    cols = int((around[2] - around[0]) / cell_deg)
    rows = int((around[3] - around[1]) / cell_deg)
    transform = Affine(cell_deg, 0, around[0], 0, -cell_deg, around[3])
    row, col = np.indices((rows, cols))
    longitude, latitude = transform @ (col + 0.5, row + 0.5)
    east, north = to_degrees.transform(longitude, latitude, direction="INVERSE")
    folder.elevation(plane_m(east - west, north - south), transform, "EPSG:4326")
    site = folder.read()
    assert site.crs == pyproj.CRS(zone_epsg)
    assert site.season.southern is (epsg == 32760)
    assert_is_the_plane(folder, site)


def test_jacksboro_stays_in_place_when_degrees_become_metres(empty_site_folder):
    # A real elevation model (USGS SRTM, 3 arc seconds) that comes with matplotlib.
    sample = cbook.get_sample_data("jacksboro_fault_dem.npz")
    heights = sample["elevation"]
    # Its "ymin" is the northern edge: 36.733 > "ymax" 36.446.
    west, north = float(sample["xmin"]), float(sample["ymin"])
    cell_deg = 1 / 1200
    transform = Affine(cell_deg, 0, west, 0, -cell_deg, north)
    folder = empty_site_folder(4326, west, north)
    folder.toml()
    folder.weather()
    plot = box(-84.25, 36.59, -84.245, 36.594)
    folder.plots([plot])
    folder.elevation(heights, transform, "EPSG:4326", "metre")
    site = folder.read()
    assert site.crs == pyproj.CRS(32616)
    # 1/1200° at 36.6°N: 92.5 m north-south, 74.5 m east-west.
    assert site.elevation.cell_size_m == pytest.approx((92.5 * 74.5) ** 0.5, rel=0.005)

    to_degrees = pyproj.Transformer.from_crs(site.crs, 4326, always_xy=True)
    rows, cols = site.elevation.shape
    row, col = np.mgrid[20 : rows - 20 : 17, 20 : cols - 20 : 19]
    longitude, latitude = to_degrees.transform(
        *(site.elevation.transform @ (col + 0.5, row + 0.5))
    )
    found_m = site.elevation.values[row, col]
    known_m = bilinear(heights, *(~transform @ (longitude, latitude)))
    assert np.abs(found_m - known_m).max() < 0.01
    # A shift by one cell, or upside down, would not pass.
    shifted_m = bilinear(heights, *(~transform @ (longitude + cell_deg, latitude)))
    assert np.abs(found_m - shifted_m).mean() > 5.0

    top_row, top_col = np.unravel_index(np.argmax(heights), heights.shape)
    summit = transform @ (top_col + 0.5, top_row + 0.5)
    east, north_m = to_degrees.transform(*summit, direction="INVERSE")
    found_row, found_col = np.unravel_index(
        np.nanargmax(site.elevation.values), site.elevation.shape
    )
    found = site.elevation.transform @ (found_col + 0.5, found_row + 0.5)
    assert np.hypot(found[0] - east, found[1] - north_m) < 100


def bilinear(values, col, row):
    """Heights between the middles of four cells."""
    col, row = col - 0.5, row - 0.5
    left, top = np.floor(col).astype(int), np.floor(row).astype(int)
    across, down = col - left, row - top
    upper = values[top, left] * (1 - across) + values[top, left + 1] * across
    lower = values[top + 1, left] * (1 - across) + values[top + 1, left + 1] * across
    return upper * (1 - down) + lower * down


def test_cells_marked_as_missing_are_nan(site_folder):
    heights = site_folder.plane().astype("float32")
    heights[2:8, 3:9] = -9999  # 3,600 m²: too large a gap to fill
    site_folder.elevation(heights, nodata=-9999)
    found = site_folder.read().elevation.values
    assert np.isnan(found[2:8, 3:9]).all()
    assert np.isnan(found).sum() == 36


def test_missing_cells_stay_missing_when_degrees_become_metres(site_folder):
    # rasterio's issue 3320: the no-data value must not turn up among the heights.
    to_degrees = pyproj.Transformer.from_crs(site_folder.crs, 4326, always_xy=True)
    around = to_degrees.transform_bounds(519900, 5099900, 520700, 5100700)
    transform = Affine(1e-4, 0, around[0], 0, -1e-4, around[3])
    rows = int((around[3] - around[1]) / 1e-4)
    cols = int((around[2] - around[0]) / 1e-4)
    heights = np.full((rows, cols), 250, "int16")
    heights[5:15, 5:15] = -32768
    site_folder.elevation(heights, transform, "EPSG:4326", nodata=-32768)
    ground = site_folder.read().elevation
    known = np.isfinite(ground.values)
    assert np.abs(ground.values[known] - 250).max() < 1e-9
    hole = to_degrees.transform(
        *(transform @ (10, 10)), direction="INVERSE"
    )  # its middle
    assert np.isnan(ground.sample([hole[0]], [hole[1]])[0])
    # Half a cell around it has a missing neighbour, and no more goes with it.
    cells = (~known[5:-5, 5:-5]).sum() * ground.cell_size_m**2 / (1e-4**2)
    degree_m2 = 111_170 * 111_320 * np.cos(np.radians(46.05))
    assert 10**2 < cells / degree_m2 < 12**2


def test_a_hole_under_a_plot_is_refused_with_cells_and_place(site_folder, says):
    heights = site_folder.plane().astype("float32")
    heights[29:31, 30:33] = -9999  # six cells around 315 m east, 300 m north
    site_folder.elevation(heights, nodata=-9999)
    to_degrees = pyproj.Transformer.from_crs(site_folder.crs, 4326, always_xy=True)
    longitude, latitude = to_degrees.transform(520315, 5100300)
    says(
        site_folder.problem(),
        "elevation.tif",
        "6 of",
        "plot 'Plot 1'",
        f"latitude {latitude:.5f}, longitude {longitude:.5f}",
        "fill the hole",
    )


def test_a_mark_for_missing_that_is_not_declared_is_refused(site_folder, says):
    heights = site_folder.plane()
    heights[0, 0:4] = -9999
    site_folder.elevation(heights)
    says(site_folder.problem(), "elevation.tif", "4 cells", "-9999", "-a_nodata -9999")


def test_an_elevation_that_knows_nothing_is_refused(site_folder, says):
    site_folder.elevation(np.full((60, 60), np.nan))
    says(site_folder.problem(), "elevation.tif", "all 3600 cells", "missing")


def test_no_crs_is_refused(site_folder, says):
    site_folder.elevation(crs=False)
    says(site_folder.problem(), "elevation.tif", "CRS", "gdal_edit.py -a_srs")


def test_no_place_on_the_ground_is_refused(site_folder, says):
    with pytest.warns(rasterio.errors.NotGeoreferencedWarning):
        site_folder.elevation(transform=Affine.identity())
    says(site_folder.problem(), "elevation.tif", "where on earth", "georeferenced")


def test_a_picture_of_three_bands_is_refused(site_folder, says):
    site_folder.elevation(np.zeros((3, 60, 60), "uint8"))
    says(site_folder.problem(), "elevation.tif", "3 bands", "one band")


@pytest.mark.parametrize(
    ("content", "part"),
    [
        pytest.param(b"", "is empty (0 bytes)", id="empty"),
        pytest.param(b"no grid at all\n", "cannot be read as an elevation", id="text"),
    ],
)
def test_a_file_that_is_no_grid_is_refused(site_folder, says, content, part):
    (site_folder.path / "elevation.tif").write_bytes(content)
    says(site_folder.problem(), "elevation.tif", part)


def test_a_file_that_breaks_off_is_refused(site_folder, says):
    path = site_folder.path / "elevation.tif"
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    says(site_folder.problem(), "elevation.tif", "save it again as a GeoTIFF")


def test_a_file_with_damaged_heights_is_refused(site_folder, says):
    site_folder.elevation(np.random.default_rng(1).random((60, 60)), compress="deflate")
    path = site_folder.path / "elevation.tif"
    content = bytearray(path.read_bytes())
    content[2000:3000] = b"x" * 1000
    path.write_bytes(content)
    says(site_folder.problem(), "elevation.tif", "damaged", "copy it again")


def test_plots_elsewhere_are_refused_with_both_places(site_folder, says):
    site_folder.plots([site_folder.box(50_000, 0, 50_100, 100)])
    sentence = site_folder.problem()
    says(sentence, "plots.geojson", "outside elevation.tif", "latitude 46.0")
    assert "swapped" not in sentence


def test_swapped_latitude_and_longitude_are_recognised(site_folder, says):
    swapped = box(46.0530, 15.2620, 46.0535, 15.2630)
    site_folder.crs = "EPSG:4326"
    site_folder.plots([swapped])
    says(
        site_folder.problem(),
        "plots.geojson",
        "latitude 15.26",
        "latitude 46.0",
        "look swapped",
        "longitude comes first",
    )


def test_a_plot_that_hangs_over_the_edge_is_refused_with_its_share(site_folder, says):
    site_folder.plots([site_folder.box(550, 270, 650, 330)])
    says(
        site_folder.problem(),
        "plots.geojson",
        "50.0 % of plot 'Plot 1'",
        "elevation.tif",
        "larger than the plot",
    )


def test_a_vast_file_is_read_around_the_plots_only(site_folder, monkeypatch, says):
    monkeypatch.setattr(grid, "MOST_CELLS", 1000)
    site = site_folder.read()
    rows, cols = site.elevation.shape
    assert rows * cols <= 1000
    assert site.margin_m > 50
    assert_is_the_plane(site_folder, site)
    (remark,) = (line for line in say_all(site.remarks) if "elevation.tif" in line)
    says(remark, "too large", "m around the plots")


def test_a_turned_strip_is_read_as_far_as_its_square_cells_fit(
    site_folder, monkeypatch, says
):
    # 200 by 20 cells turned by 45 degrees: 4000 cells lie in a square of 156 by 156.
    monkeypatch.setattr(grid, "MOST_CELLS", 4000)
    middle = site_folder.west + 300, site_folder.south + 300
    transform = (
        Affine.translation(*middle) @ Affine.rotation(45) @ Affine.scale(10, -10)
    ) @ Affine.translation(-100, -10)
    rows, cols = np.indices((20, 200))
    east, north = transform @ (cols + 0.5, rows + 0.5)
    site_folder.elevation(
        plane_m(east - site_folder.west, north - site_folder.south), transform
    )
    site = site_folder.read()
    rows, cols = site.elevation.shape
    assert 1000 < rows * cols <= 2.5 * 4000
    assert_is_the_plane(site_folder, site, least_known=0.2)
    (remark,) = (line for line in say_all(site.remarks) if "elevation.tif" in line)
    says(remark, "too large", "m around the plots")
