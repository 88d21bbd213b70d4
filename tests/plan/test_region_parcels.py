"""A made region to its parcels' files, and one of them to a site that can be read."""

import csv
import io
import json
import shutil

import geopandas as gpd
import made_region
import numpy as np
import pytest

from fieldmap.errors import PlanError
from fieldmap.read import read_site
from fieldmap.read.region import read_region
from fieldmap.region import run
from fieldmap.region.parcels import as_site, files
from fieldmap.region.parcels.describe import describe
from fieldmap.region.tiles import Place
from fieldmap.show.text.sentence import say_all

NAMES = ["=1+1", "<script>alert(1)</script>", '"; drop', "Home", "Home", "é", "g", "h"]


@pytest.fixture(scope="module")
def made(made_valley, tmp_path_factory):
    folder = tmp_path_factory.mktemp("region") / "region"
    # What hangs neither on the parcels nor on the station stays as it was made.
    shutil.copytree(made_valley / "region", folder)
    made_region.write_region(
        folder,
        **made_region.VALLEY,
        station="{latitude = 44.05, longitude = -74.25, elevation_m = 240}",
    )
    parcels = made_region.parcels(640.0)
    parcels["name"] = [*NAMES, "off"]
    parcels["id"] = [f"{at}/7" for at in range(9)]
    far = parcels.geometry.iloc[8]
    parcels.loc[8, "geometry"] = gpd.GeoSeries([far]).translate(5000).iloc[0]
    parcels.to_file(folder / "parcels.geojson", driver="GeoJSON")
    region, heights = read_region(folder)
    place = run.make_layers(region, heights, run.in_process)
    described = describe(region, place)
    page = files.write(described, region, place)
    return region, place, described, page


def test_a_parcel_off_the_elevation_is_named_and_has_no_place(made):
    region, _, described, _ = made
    said = " ".join(say_all(described.remarks, region.settings.units))
    assert (
        "1 parcel lies where no heights are known, so nothing is known of it: off."
        in said
    )
    assert described.chosen.ranks[8] is None
    assert all(rank is not None for rank in described.chosen.ranks[:8])


def test_the_table_has_units_in_its_head_and_no_formula(made):
    _, place, _, _ = made
    text = (place.out / files.TABLE).read_text("utf-8")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert {row["id"] for row in rows} == {f"{at}/7" for at in range(9)}
    assert not any(
        cell.startswith(("=", "+", "@")) for row in rows for cell in row.values()
    )
    assert "'=1+1" in text
    heads = {"area_ha", "slope_p90_percent", "still_night_offset_low_c"}
    assert heads <= set(rows[0])
    assert float(rows[0]["area_ha"]) == pytest.approx(0.81)  # 90 by 90 m


def test_the_geopackage_holds_the_same_in_the_region_s_crs(made):
    region, place, described, _ = made
    layer = gpd.read_file(place.out / files.LAYERS_OF_GIS)
    assert len(layer) == 9
    assert layer.crs == region.crs
    assert layer["rank"].tolist()[0] == 1
    best = layer["name"].tolist()[0]
    assert best == described.chosen.frame["name"].iloc[described.chosen.order[0]]


def test_the_page_shows_names_as_text_and_asks_for_nothing(made):
    *_, page = made
    text = page.read_text("utf-8")
    assert "<script>alert" not in text
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in text
    assert "http://" not in text.replace("http://www.w3.org", "")
    assert "default-src &#39;none&#39;" in text or "default-src 'none'" in text


def test_the_same_region_gives_the_same_bytes(made):
    region, place, _described, _page = made
    names = (files.PAGE, files.TABLE, files.LAYERS_OF_GIS)
    before = [(place.out / name).read_bytes() for name in names]
    files.write(describe(region, place), region, place)
    assert [(place.out / name).read_bytes() for name in names] == before


def test_a_parcel_becomes_a_site_that_states_its_shift(made):
    region, place, described, _ = made
    parcel = as_site.find(region.parcels, "5/7")
    offset_c = described.chosen.facts.offset_c[:, parcel.at]
    folder = as_site.write(region, place, parcel, offset_c)
    site = read_site(folder)
    assert site.settings.name == "é, Made valley"
    assert site.plots.area.sum() == pytest.approx(8100, rel=1e-3)
    said = " ".join(say_all(site.remarks, "metric"))
    assert "In Made valley such a spot is likely" in said
    assert site.settings.region.offset_c == pytest.approx(offset_c[1], abs=0.005)
    middle = site.plots.geometry.iloc[0].centroid
    there = made_region.heights_m(np.array([middle.x]), np.array([middle.y]))
    assert site.elevation.sample([middle.x], [middle.y]) == pytest.approx(there, abs=1)
    assert site.settings.station.elevation_m == 240


def test_a_parcel_is_found_by_id_before_name_and_refused_where_it_is_two(made):
    region, *_ = made
    assert as_site.find(region.parcels, "3/7").name == "Home (3/7)"
    assert as_site.find(region.parcels, "G").id == "6/7"
    with pytest.raises(
        PlanError, match="no parcel is called 'nobody'; name one of the 9"
    ):
        as_site.find(region.parcels, "nobody")


def test_a_parcel_off_the_elevation_cannot_be_planned(made):
    region, place, described, _ = made
    parcel = as_site.find(region.parcels, "off")
    with pytest.raises(PlanError, match="no heights are known at 'off'"):
        as_site.write(region, place, parcel, described.chosen.facts.offset_c[:, 8])


def test_names_of_folders_lead_nowhere_else(made):
    _, place, *_ = made
    shape = None
    for name in ("../../etc", "a/b", "..", "=x", "é"):
        folder = as_site.folder_of(place, as_site.Parcel(3, "3", name, shape))
        assert folder.parent == place.out / as_site.PLANS
        assert folder.name.startswith("4")


def test_shapes_of_the_page_lie_where_the_parcels_do(made):
    *_, page = made
    text = page.read_text("utf-8")
    begin = text.index('id="fieldmap-data">') + len('id="fieldmap-data">')
    data = json.loads(text[begin : text.index("</script>", begin)])
    assert sorted(set(data["outlines"]["of"])) == list(range(9))
    assert Place.read(page.parents[1]).bounds
