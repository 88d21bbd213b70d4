"""Outlines for map apps, as a plain reader of XML and GDAL read them back."""

from xml.etree import ElementTree

import geopandas as gpd
import pyogrio
import pytest
from made_up import CRS, plot_box
from shapely.geometry import Point

from fieldmap.show.files import kml

NS = {"k": "http://www.opengis.net/kml/2.2"}  # OGC 07-147r2
HOSTILE = 'A<script>alert("1")</script> & B'


def table(shapes, **columns):
    names = [f"A{number}" for number in range(1, len(shapes) + 1)]
    return gpd.GeoDataFrame({"name": names, **columns}, geometry=shapes, crs=CRS)


@pytest.fixture
def written():
    ring = (
        Point(plot_box(50, 50, 60, 60).centroid)
        .buffer(10)
        .difference(Point(plot_box(50, 50, 60, 60).centroid).buffer(5))
    )
    layers = {
        "plots": table([plot_box(0, 0, 100, 100)]).assign(name=[HOSTILE]),
        "beds": table(
            [plot_box(1, 1, 2, 20), plot_box(3, 1, 4, 20)],
            reasons=["warm & dry", HOSTILE],
        ),
        "tunnels": table([]),
        "cold_pockets": table([ring]),
    }
    return kml.document(HOSTILE, layers, [0.0, 1.0])


def test_beds_have_the_colours_of_the_map_and_balloons_say_name_and_reason(written):
    root = ElementTree.fromstring(written)
    fills = {
        style.get("id"): style.find("k:PolyStyle/k:color", NS).text
        for style in root.iterfind(".//k:Style", NS)
    }
    beds = root.findall(".//k:Folder", NS)[1]
    first, last = (each.text[1:] for each in beds.iterfind(".//k:styleUrl", NS))
    # The ramp of dates runs from F4C95D to 37366B; KML writes opacity, blue, green, red.
    assert fills[first][2:] == "5dc9f4"
    assert fills[last][2:] == "6b3637"
    (said,) = {each.text for each in root.iterfind(".//k:BalloonStyle/k:text", NS)}
    assert said == "<b>$[name]</b><br/>$[description]"
    assert "ExtendedData" not in written
    assert "OGR_STYLE" not in written


def test_what_files_say_is_no_markup_in_a_balloon(written):
    root = ElementTree.fromstring(written)
    about = [each.text for each in root.iterfind(".//k:description", NS)]
    # Once more escaped than XML asks: viewers take it as HTML.
    assert about[0] == "warm &amp; dry"
    assert "<script" not in about[1]
    names = [each.text for each in root.iterfind(".//k:name", NS)]
    assert not any("<" in name for name in names)


def test_gdal_reads_layers_places_and_holes(written, tmp_path):
    file = tmp_path / "plan.kml"
    file.write_text(written, encoding="utf-8")
    layers = [name for name, _ in pyogrio.list_layers(file)]
    assert layers == ["Plots", "Beds", "Cold pockets"]
    read = pyogrio.read_dataframe(file, layer="Cold pockets").to_crs(CRS)
    assert len(read.geometry[0].interiors) == 1
    bed = pyogrio.read_dataframe(file, layer="Beds").to_crs(CRS).geometry[0]
    assert bed.hausdorff_distance(plot_box(1, 1, 2, 20)) < 0.001
