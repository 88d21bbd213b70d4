"""The hand-over is written whole or not at all, and other tools can read it."""

import csv
import json
import re
import shutil
import subprocess
import sys
import zipfile
from xml.etree import ElementTree

import geopandas as gpd
import jsonschema
import numpy as np
import pyogrio
import pytest
import rasterio
from made_up import plane, plot_box, site
from small_farm import TODAY

from fieldmap.errors import PlanError
from fieldmap.plan import make_plan
from fieldmap.show import files
from fieldmap.show.files import overview, plan_json
from fieldmap.show.files import styles as gis_styles
from fieldmap.show.files.overview import FILES
from fieldmap.show.files.styles import layer_styles
from fieldmap.show.files.tables import beds as bed_table
from fieldmap.show.text.files import contents as words

DRAWN = {"map.html": "<html>map</html>", "sheets/crew.pdf": b"%PDF-1.7 pages"}
HOSTILE = '=HYPERLINK("x")<script>'


def made_plan(store, name="Home"):
    ground = plane(east=0.02, north=0.05)
    made_up = site(
        ground,
        {name: plot_box(60, 60, 140, 140)},
        tunnels=({"length_m": 12.0, "width_m": 4.5, "height_m": 2.4},),
    )
    return make_plan(made_up, store, lambda step: None)


@pytest.fixture(scope="module")
def plan(kept):
    return made_plan(kept)


@pytest.fixture(scope="module")
def hostile(kept):
    """The same with a name that wants to be a formula and a script."""
    return made_plan(kept, HOSTILE)


@pytest.fixture(scope="module")
def folder(plan, tmp_path_factory):
    """The plan as it was written; to be read, not changed."""
    out = tmp_path_factory.mktemp("written") / "out"
    files.write(plan, out, DRAWN)
    return out


@pytest.fixture
def own_folder(folder, tmp_path):
    """The same for one test, which may change it."""
    return shutil.copytree(folder, tmp_path / "out")


def contents(folder):
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_the_folder_holds_what_the_contract_names(folder):
    layers = (
        *("slope_deg", "aspect_deg", "sky_view", "cold_air_m", "offset_c"),
        *("sun_mj_m2_day", "sun_beam_mj_m2_day", "sun_sky_mj_m2_day"),
        *("sun_reflected_mj_m2_day", "sun_hours", "sun_morning_share"),
        *(
            "light_integral_mol_m2_day",
            "hollow_depth_m",
            "cold_pool_class",
            "wind_share",
            "wetness_index",
        ),
    )
    assert set(contents(folder)) == {
        "map.html",
        "plan.json",
        "plan.gpkg",
        "beds.csv",
        "dates.csv",
        "dates.ics",
        "what_where.csv",
        "sheets/crew.pdf",
        "plan.kml",
        "tunnel_choices.csv",
        "materials.csv",
        "materials.xlsx",
        "stakes.csv",
        "stakes.gpx",
        "index.html",
        "to_mail.zip",
        *(f"layers/{name}.tif" for name in layers),
    }


def test_plan_json_obeys_its_schema(folder):
    document = json.loads((folder / "plan.json").read_text())
    jsonschema.Draft202012Validator.check_schema(plan_json.schema())
    jsonschema.validate(document, plan_json.schema())
    assert document["format"] == 2
    assert document["beds"]
    assert document["tunnels"]


def test_the_schema_refuses_a_key_that_it_does_not_name(folder):
    document = json.loads((folder / "plan.json").read_text())
    document["beds"][0]["bearing"] = "north"
    with pytest.raises(jsonschema.ValidationError, match="bearing"):
        jsonschema.validate(document, plan_json.schema())


def test_the_schema_refuses_a_plan_without_a_bearing(folder):
    document = json.loads((folder / "plan.json").read_text())
    del document["beds"][0]["bearing_deg"]
    with pytest.raises(jsonschema.ValidationError, match="bearing_deg"):
        jsonschema.validate(document, plan_json.schema())


def test_low_is_never_above_central_nor_central_above_high(folder):
    document = json.loads((folder / "plan.json").read_text())
    for thing in document["beds"] + document["tunnels"] + document["cold_pockets"]:
        offset = thing["offset_c"]
        assert offset["low"] <= offset["central"] <= offset["high"]


def test_layers_share_one_metric_grid_and_carry_units(folder):
    profiles = []
    for path in sorted((folder / "layers").glob("*.tif")):
        with rasterio.open(path) as dataset:
            profiles.append((dataset.crs, dataset.transform, dataset.shape))
            assert dataset.crs.is_projected
            assert dataset.compression.name == "zstd"
            assert dataset.tags(ns="IMAGE_STRUCTURE")["LAYOUT"] == "COG"
            assert np.isnan(dataset.nodata)
            assert all(dataset.units)
            assert all(dataset.descriptions)
    assert len(set(profiles)) == 1
    with rasterio.open(folder / "layers/sun_mj_m2_day.tif") as dataset:
        assert dataset.count == 12
        assert dataset.descriptions[0].endswith("January")
    with rasterio.open(folder / "layers/offset_c.tif") as dataset:
        low, central, high = dataset.read()
        known = ~np.isnan(low)
        assert (low <= central)[known].all()
        assert (central <= high)[known].all()


def test_gdal_reads_every_layer_of_the_geopackage(folder):
    listing = subprocess.run(
        ["ogrinfo", "-so", "-al", folder / "plan.gpkg"],
        check=True,
        capture_output=True,
        text=True,
    )
    assert listing.stderr == ""
    for layer in ("plots", "beds", "tunnels", "cold_pockets"):
        assert f"Layer name: {layer}" in listing.stdout
    beds = gpd.read_file(folder / "plan.gpkg", layer="beds")
    document = json.loads((folder / "plan.json").read_text())
    assert list(beds["name"]) == [bed["name"] for bed in document["beds"]]
    np.testing.assert_allclose(beds.area, beds["area_m2"], atol=0.01)


def test_equal_plans_are_written_in_equal_bytes(plan, folder, tmp_path):
    files.write(plan, tmp_path / "again", DRAWN)
    assert contents(tmp_path / "again") == contents(folder)


def test_text_cannot_become_a_formula_in_a_spreadsheet(hostile):
    text = bed_table.csv(hostile.beds, hostile.dates, "metric")
    rows = list(csv.DictReader(text.splitlines()))
    assert rows[0]["plot"] == "'" + HOSTILE
    assert float(rows[0]["offset_low_c"]) <= 0  # numbers stay numbers


def test_an_earlier_plan_is_replaced(plan, own_folder):
    (own_folder / "beds.csv").write_text("old")
    files.write(plan, own_folder, DRAWN | {"map.html": "<html>new</html>"})
    assert (own_folder / "map.html").read_text() == "<html>new</html>"
    assert (own_folder / "beds.csv").read_text() != "old"
    assert [path.name for path in own_folder.parent.iterdir()] == ["out"]


def test_a_folder_with_a_file_of_someone_else_is_refused_and_left_alone(
    plan, own_folder
):
    (own_folder / "notes.txt").write_text("mine")
    before = contents(own_folder)
    with pytest.raises(PlanError, match=r"notes\.txt.*--out"):
        files.write(plan, own_folder, DRAWN | {"map.html": "<html>new</html>"})
    assert contents(own_folder) == before


def test_a_place_that_is_a_file_is_refused(plan, tmp_path):
    (tmp_path / "out").write_text("a file")
    with pytest.raises(PlanError, match="is a file"):
        files.write(plan, tmp_path / "out", DRAWN)


def test_nothing_is_left_behind_when_writing_fails(plan, tmp_path, monkeypatch):
    def no_space(*args):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(files.geopackage, "write", no_space)
    with pytest.raises(PlanError, match="No space left on device"):
        files.write(plan, tmp_path / "out", DRAWN)
    assert list(tmp_path.iterdir()) == []


def test_on_a_full_disk_the_command_ends_with_one_sentence(small_farm, tmp_path):
    """Files may grow to 100 kB only, which stops every writer as a full disk would."""
    site = tmp_path / "site"
    shutil.copytree(small_farm, site, ignore=shutil.ignore_patterns("plan"))
    limited = (
        "import resource, signal, sys;"
        "signal.signal(signal.SIGXFSZ, signal.SIG_IGN);"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000));"
        "from fieldmap import cli;"
        "sys.argv = ['fieldmap', 'plan', *sys.argv[1:]];"
        "cli.main()"
    )
    result = subprocess.run(
        [sys.executable, "-c", limited, site, "--today", TODAY],
        check=False,
        capture_output=True,
        text=True,
    )
    assert result.returncode == 1
    *_, last = result.stderr.strip().splitlines()
    assert "could not be written" in last
    assert "Traceback" not in result.stderr
    left = {path.name for path in site.iterdir()}
    assert "plan" not in left
    assert not any(name.startswith(".plan") for name in left)


def test_gdal_reads_names_and_places_from_the_kml(plan, folder):
    layers = {
        name: pyogrio.read_dataframe(folder / "plan.kml", layer=name).to_crs(
            plan.site.crs
        )
        for name, _ in pyogrio.list_layers(folder / "plan.kml")
    }
    assert {"Plots", "Beds", "Walk-in tunnels"} <= set(layers)
    assert list(layers["Beds"]["Name"]) == [each.bed.name for each in plan.beds]
    for read, each in zip(layers["Beds"].geometry, plan.beds, strict=True):
        assert read.hausdorff_distance(each.bed.outline) < 0.001


def test_a_hostile_name_is_plain_text_in_kml_and_on_the_page_of_the_folder(
    hostile, tmp_path
):
    files.write(hostile, tmp_path / "out", DRAWN)
    read = pyogrio.read_dataframe(tmp_path / "out/plan.kml", layer="Plots")
    assert read["Name"][0] == HOSTILE.replace("<", "‹").replace(">", "›")
    written = (tmp_path / "out/plan.kml").read_text()
    assert "<script" not in written
    page = overview.page(HOSTILE, ["map.html"])
    assert "<script" not in page
    assert "&lt;script&gt;" in page


def test_the_geopackage_carries_a_style_for_each_layer_that_gdal_lists(folder):
    styles = pyogrio.read_dataframe(folder / "plan.gpkg", layer="layer_styles")
    layers = {name for name, _ in pyogrio.list_layers(folder / "plan.gpkg")}
    assert set(styles["f_table_name"]) == layers - {"layer_styles"}
    assert styles["useAsDefault"].all()
    # The columns that QGIS makes and reads (QgsOgrProviderMetadata::saveStyle).
    assert list(styles) == [
        *("f_table_catalog", "f_table_schema", "f_table_name", "f_geometry_column"),
        *("styleName", "styleQML", "styleSLD", "useAsDefault", "description", "owner"),
        *("ui", "update_time"),
    ]
    # OGC 02-070, Styled Layer Descriptor 1.0.0: names of elements and their namespace.
    sld = "{http://www.opengis.net/sld}"
    for text in styles["styleSLD"]:
        root = ElementTree.fromstring(text)
        assert root.tag == f"{sld}StyledLayerDescriptor"
        assert root.get("version") == "1.0.0"
        assert list(root.iter(f"{sld}Stroke"))


def test_asked_as_qgis_asks_each_layer_gets_its_own_qml(folder):
    names = {name for name, _ in pyogrio.list_layers(folder / "plan.gpkg")}
    for layer in names - {"layer_styles"}:
        # What the program asks for (QgsOgrProviderMetadata::loadStyle).
        geometry = pyogrio.read_info(folder / "plan.gpkg", layer=layer)["geometry_name"]
        (text,) = pyogrio.read_dataframe(
            folder / "plan.gpkg",
            layer="layer_styles",
            where=f"f_table_schema='' AND f_table_name='{layer}' "
            f"AND f_geometry_column='{geometry}' AND useAsDefault",
        )["styleQML"]
        assert text.startswith("<!DOCTYPE qgis ")
        root = ElementTree.fromstring(text)
        assert root.tag == "qgis"
        columns = pyogrio.read_info(folder / "plan.gpkg", layer=layer)["fields"]
        named = [each.get("fieldName") for each in root.iter("text-style")]
        assert root.get("labelsEnabled") == str(len(named))
        attribute = root.find("renderer-v2").get("attr")
        assert {*named, *([attribute] if attribute else [])} <= set(columns)


def rgba(numbers):
    red, green, blue, opacity = (int(number) for number in numbers.split(","))
    return f"#{red:02x}{green:02x}{blue:02x}", opacity / 255


def drawn_by_qml(text):
    """By value: fill and its opacity, line, width, dashes."""
    root = ElementTree.fromstring(text)
    drawn = {}
    for symbol in root.iter("symbol"):
        layers = {
            layer.get("class"): {each.get("k"): each.get("v") for each in layer}
            for layer in symbol
        }
        line = layers["SimpleLine"]
        assert line["line_width_unit"] == "Pixel"
        drawn[symbol.get("name")] = (
            rgba(layers["SimpleFill"]["color"]) if "SimpleFill" in layers else None,
            rgba(line["line_color"])[0],
            float(line["line_width"]),
            line.get("customdash", "").replace(";", " "),
        )
    values = {each.get("symbol"): each.get("value") for each in root.iter("category")}
    return {values.get(name): look for name, look in drawn.items()}


def drawn_by_sld(text):
    """By value: fill and its opacity, line, width, dashes."""
    sld, ogc = "{http://www.opengis.net/sld}", "{http://www.opengis.net/ogc}"
    drawn = {}
    for rule in ElementTree.fromstring(text).iter(f"{sld}Rule"):
        symbol = rule.find(f"{sld}PolygonSymbolizer")
        symbol = rule.find(f"{sld}LineSymbolizer") if symbol is None else symbol
        said = {
            each.get("name"): each.text for each in symbol.iter(f"{sld}CssParameter")
        }
        fill = (said["fill"], float(said["fill-opacity"])) if "fill" in said else None
        drawn[rule.findtext(f".//{ogc}Literal")] = (
            fill and (fill[0], pytest.approx(fill[1], abs=0.5 / 255)),
            said["stroke"],
            float(said["stroke-width"]),
            said.get("stroke-dasharray", ""),
        )
    return drawn


def test_both_forms_of_a_style_draw_the_same():
    for layer, style in layer_styles.styles().items():
        drawn = drawn_by_qml(gis_styles.text("qml", layer, style))
        assert drawn == drawn_by_sld(gis_styles.text("sld", layer, style))
        assert drawn


def test_beds_are_coloured_by_the_groups_that_they_hold(plan):
    drawn = drawn_by_qml(gis_styles.text("qml", "beds", layer_styles.styles()["beds"]))
    assert {each.earliness.group for each in plan.beds} <= set(drawn)


def test_every_file_of_the_folder_is_listed_and_every_link_is_there(folder):
    page = (folder / "index.html").read_text()
    links = set(re.findall(r'href="([^"]+)"', page))
    assert all((folder / link).exists() for link in links)
    for name in contents(folder):
        shown = "layers/" if name.startswith("layers/") else name
        assert shown in links or name == "index.html"


def test_every_file_has_words_that_say_what_it_is_for():
    assert {name for names in FILES.values() for name in names} == set(words.WHAT_FOR)
    assert set(FILES) == set(words.USED_AT)


def test_the_file_to_mail_holds_what_is_for_the_phone_and_the_shop(folder):
    with zipfile.ZipFile(folder / "to_mail.zip") as archive:
        assert archive.testzip() is None
        assert set(archive.namelist()) == {
            "map.html",
            "dates.ics",
            "plan.kml",
            "sheets/crew.pdf",
            "materials.csv",
            "materials.xlsx",
            "stakes.csv",
            "stakes.gpx",
            "index.html",
        }
        # Its page names what lies beside it, and nothing else.
        index = archive.read("index.html").decode()
        listed = set(re.findall(r'href="([^"]+)"', index))
        assert listed == set(archive.namelist()) - {"index.html"}
        assert archive.read("map.html") == (folder / "map.html").read_bytes()
