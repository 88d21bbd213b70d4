"""Mistakes that once ended in a traceback, a hang or a read elsewhere: each one sentence."""

import json
import math
import os
import sqlite3
import struct
import sys
import zipfile

import numpy as np
import pyogrio
import pytest
from affine import Affine
from campaign.attempt import Watch

from fieldmap.errors import SiteError
from fieldmap.read import door
from fieldmap.read.sky import read_typical_year
from fieldmap.read.start.outline.gather import gather
from fieldmap.read.weather.files import read_weather

NAME = 'name = "Hill Farm"\n'
CROP = '[[crops]]\nname = "tomato"\n'


@pytest.mark.parametrize(
    ("toml", "parts"),
    [
        (f'{NAME}order_for = "sqash"\n{CROP}', ("site.toml: order_for is 'sqash'", "tomato")),
        (f'{NAME}[[crops]]\nname = "tomato"\nbeds = "6"\n', ("beds in [[crops]]", "'6'")),
        (
            f'{NAME}order_for = "tomato"\n[[crops]]\nname = "tomato"\nbeds = "6"\n',
            ("beds in [[crops]]", "'6'"),
        ),
        ("a = " + "[" * 2000 + "]" * 2000, ("site.toml", "more than 12 tables")),
        ("a = " + "{a=" * 2000 + "1" + "}" * 2000, ("site.toml", "more than 12 tables")),
        (".".join("a" * 50_000) + " = 1", ("site.toml", "more than 12 tables")),
        ("[" + ".".join("a" * 50_000) + "]", ("site.toml", "more than 12 tables")),
        (f"{NAME}a = {'9' * 5000}", ("site.toml", "at most 19 digits")),
        (f"{NAME}a = 0x{'f' * 50_000}", ("site.toml", "at most 19 fit")),
        (
            f"{NAME}[materials]\nroll_widths_m = []\n",
            ("roll_widths_m in [materials] is []", "a list of at least 1"),
        ),
        (
            NAME + "".join(f'[[what_if]]\nname = "{n}"\n' for n in range(21)),
            ("what_if is", "a list of at most 20"),
        ),
        ('name = "Hill\\u202eFarm"', ("name", "U+202E", "delete it")),
        (f"{NAME}x = {'y' * 9}", ("site.toml", "cannot be read")),
        ('"a\u2066b" = "\\u202e"', ("a<U+2066>b",)),
    ],
    ids=[
        "order", "beds", "order and beds", "brackets", "tables", "key", "line", "digits",
        "hexadecimal", "no rolls", "what-ifs", "direction", "no quotes", "key turned round",
    ],
)  # fmt: skip
def test_a_slip_in_the_choices_is_one_sentence(site_folder, says, toml, parts):
    site_folder.toml(toml)
    says(" ".join(site_folder.problems()), *parts)


def test_thousands_of_wrong_keys_are_not_all_listed(site_folder):
    site_folder.toml(NAME + "\n".join(f"k{n} = {n}" for n in range(3000)))
    problems = site_folder.problems()
    assert len(problems) == 51
    assert problems[-1] == "site.toml: 2950 more of this kind."


@pytest.mark.parametrize("file", ["crops.toml", "observed.toml"])
@pytest.mark.parametrize("text", ["a = " + "[" * 2000, "a = " + "9" * 5000])
def test_other_tables_are_bounded_too(site_folder, says, file, text):
    (site_folder.path / file).write_text(text)
    says(site_folder.problem(), file)


def test_what_was_learnt_may_be_no_folder(site_folder, says):
    (site_folder.path / "observed.toml").mkdir()
    says(site_folder.problem(), "observed.toml is a folder")


def test_a_pipe_of_what_was_learnt_is_not_waited_for(site_folder, says):
    os.mkfifo(site_folder.path / "observed.toml")
    says(site_folder.problem(), "observed.toml is not a regular file")


def test_a_file_that_may_not_be_read_is_reported(site_folder, says, monkeypatch):
    opens = door.Path.open

    def refused(path, *how, **more):
        if path.name == "weather.csv":
            raise PermissionError(13, "Permission denied")
        return opens(path, *how, **more)

    monkeypatch.setattr(door.Path, "open", refused)
    says(site_folder.problem(), "weather.csv cannot be read (Permission denied)")


def test_a_name_of_a_file_that_is_too_long_is_refused(site_folder, says):
    site_folder.toml(f'{NAME}[files]\nplots = "{"x" * 190}/{"y" * 9}"\n')
    says(site_folder.problem(), "is missing")


@pytest.mark.parametrize("column", ["name", "wet_in_march", "ground", "bearing_deg"])
@pytest.mark.parametrize("value", [["a", "b"], [], {"a": 1}, [[1]], 10**400])
def test_a_list_where_a_word_belongs_is_refused(site_folder, column, value):
    path = site_folder.path / "plots.geojson"
    drawn = json.loads(path.read_text())
    drawn["features"][0]["properties"][column] = value
    path.write_text(json.dumps(drawn))
    if column == "name":  # any words will do as a name
        assert len(site_folder.read().plots) == 1
    else:
        assert all("plots.geojson" in each for each in site_folder.problems())


@pytest.mark.parametrize(
    "name",
    ["/etc/passwd", "http://127.0.0.1:9/crs", "+proj=longlat +nadgrids=/etc/passwd"],
)
def test_a_crs_is_named_by_an_authority_or_not_at_all(site_folder, says, name):
    path = site_folder.path / "plots.geojson"
    drawn = json.loads(path.read_text())
    drawn["crs"] = {"type": "name", "properties": {"name": name}}
    path.write_text(json.dumps(drawn))
    says(site_folder.problem(), "plots.geojson", "in no way that is known")


def test_a_shift_by_a_file_anywhere_is_no_crs_of_ours(site_folder, says):
    site_folder.plots(file="plots.shp")
    (site_folder.path / "plots.prj").write_text(
        'GEOGCS["a",DATUM["b",SPHEROID["c",6378137,298.257],'
        'EXTENSION["PROJ4_GRIDS","/etc/passwd"]],PRIMEM["Greenwich",0],'
        'UNIT["degree",0.0174532925199433]]'
    )
    site_folder.toml(f'{NAME}[files]\nplots = "plots.shp"\n')
    says(site_folder.problem(), "plots.shp", "coordinate system")


@pytest.mark.parametrize(
    "prj", ['PROJCS["', "", 'LOCAL_CS["a",UNIT["metre",1]]', "\0" * 50]
)
def test_a_damaged_prj_is_refused(site_folder, says, prj):
    site_folder.plots(file="plots.shp")
    (site_folder.path / "plots.prj").write_text(prj)
    site_folder.toml(f'{NAME}[files]\nplots = "plots.shp"\n')
    says(
        site_folder.problem(),
        "plots.shp",
        "coordinate system" if prj[:6] != "PROJCS" else "damaged",
    )


def heights(site_folder, **how):
    site_folder.elevation(**how)
    return site_folder.problem()


def test_heights_in_a_crs_of_their_own_are_refused(site_folder, says):
    local = 'LOCAL_CS["ours",UNIT["metre",1]]'
    says(heights(site_folder, crs=local), "elevation.tif", "where on earth")


@pytest.mark.parametrize("west", [math.nan, math.inf])
def test_an_origin_that_is_no_number_is_refused(site_folder, says, west):
    transform = Affine(10, 0, west, 0, -10, site_folder.south + 600)
    says(heights(site_folder, transform=transform), "where on earth it lies")


def test_cells_far_from_square_are_refused(site_folder, says):
    """60 cells of 1e300 m by 100 m: squares of their area are 1e151 m, one row of 6e150."""
    path = site_folder.path
    transform = Affine(1e300, 0, site_folder.west, 0, -100, site_folder.south + 3000)
    site_folder.elevation(transform=transform)
    (path / "elevation.tif").rename(path / "far.tif")
    site_folder.elevation()
    site_folder.toml('name = "x"\n[files]\nwide_elevation = "far.tif"\n')
    says(site_folder.problem(), "far.tif", "square")


def test_one_cell_is_no_grid(site_folder, says):
    says(heights(site_folder, values=np.ones((1, 1), "float32")), "1 by 1 cells")


def test_complex_heights_are_refused(site_folder, says):
    says(
        heights(site_folder, values=site_folder.plane().astype("complex64")),
        "complex numbers",
    )


def test_a_picture_with_a_palette_is_refused(site_folder, says):
    values = np.ones((60, 60), "uint8")
    says(
        heights(site_folder, values=values, photometric="palette"), "palette of colours"
    )


def test_heights_of_scale_nought_are_refused(site_folder, says):
    import rasterio

    site_folder.elevation()
    with rasterio.open(site_folder.path / "elevation.tif", "r+") as grid:
        grid.scales = (0.0,)
    says(site_folder.problem(), "scale 0")


@pytest.mark.parametrize("ending", ["tif.msk", "tif.ovr", "aux", "TIF.MSK"])
def test_a_mask_that_lists_other_files_is_refused(site_folder, says, ending):
    name = f"elevation.{ending}"
    (site_folder.path / name).write_text("<VRTDataset></VRTDataset>")
    says(site_folder.problem(), f"{name} is not a GeoTIFF")


SHIFT = (
    'GEOGCS["a",DATUM["b",SPHEROID["c",6378137,298.257],EXTENSION["PROJ4_GRIDS",'
    '"{path}"]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433]]'
)


@pytest.mark.skipif(sys.platform != "linux", reason="asks the system")
@pytest.mark.parametrize("place", ["elevation.tif.aux.xml", "plots.shp", "plots.gpkg"])
def test_a_crs_opens_no_file_to_shift_by(site_folder, tmp_path_factory, says, place):
    watch = Watch(tmp_path_factory.mktemp("outside") / "secrets")
    crs = SHIFT.format(path=watch.outside / "secret.csv")
    if place == "elevation.tif.aux.xml":
        sidecar = f"<PAMDataset><SRS>{crs}</SRS></PAMDataset>"
        (site_folder.path / place).write_text(sidecar)
    elif place == "plots.shp":
        site_folder.plots(file=place)
        (site_folder.path / "plots.prj").write_text(crs)
    else:
        geopackage(site_folder)
        with sqlite3.connect(site_folder.path / place) as base:
            base.execute("UPDATE gpkg_spatial_ref_sys SET definition = ?", (crs,))
    if place.startswith("plots"):
        site_folder.toml(f'{NAME}[files]\nplots = "{place}"\n')
    watch.reads()
    says(" ".join(site_folder.problems()), "coordinate system")
    assert watch.reads() == []


def test_the_words_of_a_grid_are_read_before_the_library_reads_them(site_folder, says):
    """The CRS's name is written among the words, where a whole CRS may stand instead."""
    named = SHIFT.replace('EXTENSION["PROJ4_GRIDS","{path}"]', "").replace(
        "98.257],", "98.257]"
    )
    site_folder.elevation(crs=named.replace('["a"', f'["{"x" * 300}"'))
    path = site_folder.path / "elevation.tif"
    content = path.read_bytes()
    crs = b"ESRI PE String = " + SHIFT.replace("{path}", "/etc/passwd").encode()
    assert content.count(b"x" * 300) == 2  # of the whole CRS and of its degrees
    path.write_bytes(content.replace(b"x" * 300, crs.ljust(300, b"x")))
    says(site_folder.problem(), "elevation.tif", "coordinate system")


def with_more_tags(content, more, kind=2, words=b""):
    """A little-endian TIFF whose directory is written anew at its end, with more tags.

    Further tags are one short each, and stand before the words of the CRS (34737).
    """
    (first,) = struct.unpack_from("<I", content, 4)
    (count,) = struct.unpack_from("<H", content, first)
    tags = [content[first + 2 + 12 * at :][:12] for at in range(count)]
    tags = [each for each in tags if struct.unpack_from("<H", each)[0] != 34737]
    tags += [struct.pack("<HHII", 1000 + at, 3, 1, 0) for at in range(more)]
    size = len(words) // {2: 1, 4: 4}[kind]
    tags.append(struct.pack("<HHII", 34737, kind, size, len(content)))
    tags.sort(key=lambda each: struct.unpack_from("<H", each)[0])
    directory = struct.pack("<H", len(tags)) + b"".join(tags) + bytes(4)
    at = struct.pack("<I", len(content) + len(words))
    return content[:4] + at + content[8:] + words + directory


SHIFTED = (
    b"ESRI PE String = " + SHIFT.replace("{path}", "/etc/passwd").encode() + b"|\0"
)


@pytest.mark.parametrize(
    ("more", "kind", "words", "part"),
    [
        (5000, 2, SHIFTED, "more than 4096 tags"),
        (3000, 2, SHIFTED, "coordinate system"),
        (0, 4, b"".join(bytes([c, 0, 0, 0]) for c in SHIFTED), "coordinate system"),
    ],
    ids=["more than are read", "behind many", "a number for each letter"],
)
def test_words_of_a_crs_are_read_wherever_they_lie(
    site_folder, says, more, kind, words, part
):
    path = site_folder.path / "elevation.tif"
    path.write_bytes(with_more_tags(path.read_bytes(), more, kind, words))
    says(site_folder.problem(), "elevation.tif", part)


def test_a_tiff_whose_tags_are_cut_is_damaged(site_folder, says):
    path = site_folder.path / "elevation.tif"
    whole = with_more_tags(path.read_bytes(), 0)
    path.write_bytes(whole[:-30])
    says(site_folder.problem(), "elevation.tif is a damaged TIFF")


def test_directories_that_lead_in_a_circle_are_read_once(site_folder):
    path = site_folder.path / "elevation.tif"
    content = path.read_bytes()
    (first,) = struct.unpack_from("<I", content, 4)
    (count,) = struct.unpack_from("<H", content, first)
    end = first + 2 + 12 * count
    path.write_bytes(content[:end] + content[4:8] + content[end + 4 :])
    assert site_folder.read()


def geopackage(site_folder, *statements):
    site_folder.plots(file="plots.gpkg")
    with sqlite3.connect(site_folder.path / "plots.gpkg") as base:
        for each in statements:
            base.execute(each)
    site_folder.toml(f'{NAME}[files]\nplots = "plots.gpkg"\n')


def test_a_geopackage_of_plain_tables_is_read(site_folder):
    geopackage(site_folder)
    assert len(site_folder.read().plots) == 1


@pytest.mark.parametrize(
    "statement",
    [
        "CREATE VIEW endless AS WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i FROM n)"
        " SELECT i FROM n",
        "CREATE TABLE t (a INTEGER, b BLOB GENERATED ALWAYS AS (zeroblob(1000000000)))",
        "CREATE VIRTUAL TABLE words USING fts5(a)",
    ],
    ids=["view", "computed", "virtual"],
)
def test_a_geopackage_that_computes_is_refused(site_folder, says, statement):
    geopackage(site_folder, statement)
    says(site_folder.problem(), "plots.gpkg", "a view or a computed table")


def test_names_in_a_zip_lead_nowhere(site_folder, tmp_path):
    with zipfile.ZipFile(site_folder.path / "plots.zip", "w") as archive:
        archive.write(site_folder.path / "plots.geojson", "../../../evil.geojson")
    site_folder.toml(f'{NAME}[files]\nplots = "plots.zip"\n')
    assert len(site_folder.read().plots) == 1


GHCN = "USC00012345,20160101,TMAX,{value},,,7,0700{more}\n"


@pytest.mark.parametrize(
    ("value", "more"), [("50", ",one too many"), ("9" * 30, ""), ("50", "\0")]
)
def test_a_row_of_an_archive_that_is_none_is_refused(tmp_path, says, value, more):
    path = tmp_path / "weather.csv"
    lines = [GHCN.format(value=50, more=""), GHCN.format(value=value, more=more)]
    path.write_text("".join(lines * 2))
    with pytest.raises(SiteError) as refused:
        read_weather(door.SiteFile(path, "weather.csv"))
    says(str(refused.value), "weather.csv")


def test_an_archive_without_a_day_is_refused(tmp_path, says):
    path = tmp_path / "weather.csv"
    path.write_text(
        "STATION,DATE,LATITUDE,LONGITUDE,ELEVATION,NAME,"
        "TMAX,TMAX_ATTRIBUTES,TMIN,TMIN_ATTRIBUTES\n"
    )
    with pytest.raises(SiteError) as refused:
        read_weather(door.SiteFile(path, "weather.csv"))
    says(str(refused.value), "weather.csv has no TMIN and no TMAX")


@pytest.mark.parametrize("mark", ["\u202e", "\x1b", "\u2028", "\u200b"])
def test_what_is_not_seen_is_refused_in_names_and_tables(site_folder, says, mark):
    site_folder.plots(name=[f"Nor{mark}th"])
    (site_folder.path / "last_year.csv").write_text(f"bed,crop\nA1,ka{mark}le\n")
    one, other = site_folder.problems()
    says(one, "plots.geojson", f"U+{ord(mark):04X}")
    says(other, "last_year.csv: line 2", f"U+{ord(mark):04X}")


def test_sites_share_a_file_in_a_folder_that_the_user_names(
    site_folder, tmp_path_factory, monkeypatch, says
):
    shared = tmp_path_factory.mktemp("shared")
    (site_folder.path / "elevation.tif").rename(shared / "region.tif")
    site_folder.toml(f'{NAME}[files]\nelevation = "{shared / "region.tif"}"\n')
    says(site_folder.problem(), "inside the site folder")
    monkeypatch.setenv(door.SHARED, str(shared))
    site_folder.read()
    site_folder.toml()
    (site_folder.path / "elevation.tif").symlink_to(shared / "region.tif")
    site_folder.read()
    monkeypatch.delenv(door.SHARED)
    says(site_folder.problem(), "a link that leads out")


def test_a_crowded_table_is_refused_before_it_is_read(site_folder, says):
    with (site_folder.path / "weather.csv").open("a") as file:
        file.write(",\n" * 2_500_001)
    says(site_folder.problem(), "weather.csv has 5,00", "at most 5,000,000")


def test_a_line_of_thousands_of_fields_is_refused(site_folder, says):
    with (site_folder.path / "weather.csv").open("a") as file:
        file.write("," * 500)
    says(site_folder.problem(), "weather.csv has a line of 501 fields")


def test_a_typical_year_of_a_crowded_line_is_refused_before_it_is_read(tmp_path):
    """Over columns of one name a library takes a second for each 30,000 of them."""
    head = '703165,"SAND POINT",AK,-9.0,55.317,-160.517,7\n'
    (tmp_path / "year.csv").write_text(head + "1," * 300_000)
    with pytest.raises(SiteError, match=r"year\.csv has a line of 300,001 fields"):
        read_typical_year(door.SiteFile(tmp_path / "year.csv", "year.csv"))


def test_gdal_is_set_to_stay_off_the_network(site_folder):
    site_folder.read()
    allowed = pyogrio.get_gdal_config_option("CPL_VSIL_CURL_ALLOWED_EXTENSIONS")
    assert allowed == "{nothing}"


def polygon(places):
    return f'{{"type":"Polygon","coordinates":[[{places}]]}}'


@pytest.mark.parametrize(
    ("drawn", "part"),
    [
        (
            json.dumps({"type": "FeatureCollection", "features": [{}] * 50_001}),
            "holds over 50,000 shapes",
        ),
        (
            json.dumps({"type": "Feature", "properties": dict.fromkeys(range(501))}),
            "holds over 500 columns",
        ),
        (polygon("[1,1]," * 600_000 + "[1,1]"), "over 300,000 corners in all"),
        (
            polygon("[15.2,46],[15.2,46.1]," * 10_000 + "[15.2,46]"),
            "a shape of 20,001 corners",
        ),
    ],
    ids=["shapes", "columns", "corners in all", "corners of a shape"],
)
def test_more_than_anyone_draws_is_refused_before_it_takes_long(
    site_folder, says, drawn, part
):
    (site_folder.path / "plots.geojson").write_text(drawn)
    says(site_folder.problem(), "plots.geojson", part)


def test_columns_of_any_file_of_outlines_are_counted(site_folder, says):
    names = {f"c{number}": [1] for number in range(501)}
    site_folder.plots(file="plots.gpkg", **names)
    site_folder.toml(f'{NAME}[files]\nplots = "plots.gpkg"\n')
    says(site_folder.problem(), "plots.gpkg holds over 500 columns")


def test_a_corner_of_endless_text_is_refused(tmp_path, says):
    path = tmp_path / "corners.csv"
    path.write_text(f"plot,longitude,latitude\nhome,{'9' * 200_000},46.05\n")
    with pytest.raises(SiteError) as refused:
        gather(door.SiteFile(path, path.name), None)
    says(str(refused.value), "corners.csv: line 2 cannot be read as CSV")


def test_an_entity_in_a_walk_is_not_unfolded(tmp_path, says):
    path = tmp_path / "walk.kml"
    path.write_text('<!DOCTYPE kml [<!ENTITY a "aaaa">]><kml>&a;</kml>')
    with pytest.raises(SiteError) as refused:
        gather(door.SiteFile(path, path.name), None)
    says(str(refused.value), "walk.kml declares a document type or entities")
