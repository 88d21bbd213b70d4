"""What may come in: regular files of known kinds inside the site folder, and no others."""

import json
import os
import zipfile
from pathlib import Path

import pytest
from campaign.attempt import Watch

from fieldmap.errors import SiteError
from fieldmap.read import door, read_site
from fieldmap.read.door import open_file

VRT = """<OGRVRTDataSource><OGRVRTLayer name="plots">
<SrcDataSource>{path}</SrcDataSource></OGRVRTLayer></OGRVRTDataSource>"""
WFS = """<OGRWFSDataSource><URL>http://127.0.0.1:9/wfs</URL></OGRWFSDataSource>"""
RASTER_VRT = """<VRTDataset rasterXSize="9" rasterYSize="9"><VRTRasterBand dataType="Float32"
band="1"><SimpleSource><SourceFilename>{path}</SourceFilename></SimpleSource>
</VRTRasterBand></VRTDataset>"""
WMS = """<GDAL_WMS><Service name="TMS"><ServerUrl>http://127.0.0.1:9/</ServerUrl></Service>
</GDAL_WMS>"""


@pytest.fixture
def outside(tmp_path_factory):
    """A weather record that is nobody's business."""
    path = tmp_path_factory.mktemp("outside") / "secret.csv"
    path.write_text("secret,words\n1,2\n")
    return path


@pytest.mark.parametrize("content", [VRT, WFS], ids=["vrt", "wfs"])
def test_outlines_that_point_elsewhere_are_refused(site_folder, says, content):
    plots = site_folder.path / "plots.geojson"
    plots.rename(site_folder.path / "true.geojson")
    plots.write_text(content.format(path=site_folder.path / "true.geojson"))
    says(site_folder.problem(), "plots.geojson cannot be read as outlines")


@pytest.mark.parametrize("ending", ["gpkg", "shp", "zip"])
def test_no_ending_lets_a_list_of_other_files_in(site_folder, ending):
    name = f"plots.{ending}"
    site_folder.toml(f'name = "a"\n[files]\nplots = "{name}"\n')
    text = VRT.format(path=site_folder.path / "plots.geojson")
    for beside in (".shx", ".dbf", ".prj"):
        (site_folder.path / f"plots{beside}").write_text("")
    if ending == "zip":
        with zipfile.ZipFile(site_folder.path / name, "w") as archive:
            archive.writestr("plots.geojson", text)
    else:
        (site_folder.path / name).write_text(text)
    assert "cannot be read as outlines" in site_folder.problem()


@pytest.mark.parametrize("content", [RASTER_VRT, WMS], ids=["vrt", "wms"])
def test_heights_that_lie_elsewhere_are_refused(site_folder, says, content):
    heights = site_folder.path / "elevation.tif"
    heights.rename(site_folder.path / "true.tif")
    heights.write_text(content.format(path=site_folder.path / "true.tif"))
    says(site_folder.problem(), "elevation.tif cannot be read as an elevation grid")


@pytest.mark.parametrize(
    ("crs", "key", "kind"),
    [
        ("crs", "type", "link"),
        ("crs", "type", "url"),
        # GDAL reads these keys and values in any case.
        ("CRS", "type", "link"),
        ("Crs", "TYPE", "URL"),
        ("crs", "Type", "Link"),
    ],
)
def test_a_crs_to_be_fetched_is_refused(site_folder, says, crs, key, kind):
    path = site_folder.path / "plots.geojson"
    drawn = json.loads(path.read_text())
    drawn.pop("crs", None)
    href = {"href": "http://127.0.0.1:9/crs", "url": "http://127.0.0.1:9/crs"}
    drawn[crs] = {key: kind, "properties": href}
    path.write_text(json.dumps(drawn))
    says(site_folder.problem(), "plots.geojson", "fetched from elsewhere", "EPSG:4326")


@pytest.mark.parametrize("name", ["{path}", "../{folder}/secret.csv"])
def test_a_station_file_outside_the_folder_is_refused(site_folder, outside, says, name):
    named = name.format(path=outside, folder=outside.parent.name)
    site_folder.toml(f'name = "a"\n[[other_stations]]\nweather = "{named}"\n')
    problem = site_folder.problem()
    says(problem, "weather in [[other_stations]] number 1", "inside the site folder")
    assert "secret,words" not in problem


def test_a_link_out_of_the_folder_is_refused(site_folder, outside, says):
    (site_folder.path / "weather.csv").unlink()
    (site_folder.path / "weather.csv").symlink_to(outside)
    says(site_folder.problem(), "weather.csv is a link that leads out")


def test_a_link_beside_the_elevation_is_looked_at_too(site_folder, outside, says):
    (site_folder.path / "elevation.tif.aux.xml").symlink_to(outside)
    says(site_folder.problem(), "elevation.tif.aux.xml is a link that leads out")


def test_a_folder_behind_a_link_is_outside_too(site_folder, outside, says):
    (site_folder.path / "maps").symlink_to(outside.parent)
    site_folder.toml('name = "a"\n[files]\nweather = "maps/secret.csv"\n')
    says(site_folder.problem(), "maps/secret.csv is a link that leads out")


def test_a_link_inside_the_folder_is_followed(site_folder):
    weather = site_folder.path / "weather.csv"
    weather.rename(site_folder.path / "station.csv")
    weather.symlink_to("station.csv")
    assert len(site_folder.read().weather.days) == 731


@pytest.mark.parametrize(
    "to", ["nowhere.csv", "weather.csv"], ids=["nothing", "itself"]
)
def test_a_link_to_nothing_is_refused(site_folder, says, to):
    (site_folder.path / "weather.csv").unlink()
    (site_folder.path / "weather.csv").symlink_to(to)
    says(site_folder.problem(), "weather.csv is a link that leads nowhere")


@pytest.mark.parametrize(
    "name", ["weather.csv", "plots.geojson", "elevation.tif", "site.toml"]
)
def test_a_pipe_is_refused_and_never_waited_for(site_folder, says, name):
    (site_folder.path / name).unlink()
    os.mkfifo(site_folder.path / name)
    says(site_folder.problem(), f"{name} is not a regular file")


def test_a_folder_in_place_of_a_file_is_refused(site_folder, says):
    (site_folder.path / "weather.csv").unlink()
    (site_folder.path / "weather.csv").mkdir()
    says(site_folder.problem(), "weather.csv is a folder", "[files]")


@pytest.mark.parametrize(
    ("bound", "name"),
    [
        ("MOST_BYTES_OF_TABLE", "weather.csv"),
        ("MOST_BYTES_OF_OUTLINES", "plots.geojson"),
        ("MOST_BYTES_OF_GRID", "elevation.tif"),
        ("MOST_BYTES_OF_TOML", "site.toml"),
    ],
)
def test_a_file_that_is_too_large_is_refused(
    site_folder, says, monkeypatch, bound, name
):
    size = (site_folder.path / name).stat().st_size
    monkeypatch.setattr(door, bound, size)
    site_folder.read()
    monkeypatch.setattr(door, bound, size - 1)
    says(site_folder.problem(), f"{name} has {size:,} bytes", f"at most {size - 1:,}")


def test_a_zip_that_grows_too_large_is_refused(site_folder, says, monkeypatch):
    plots = (site_folder.path / "plots.geojson").read_text()
    with zipfile.ZipFile(
        site_folder.path / "plots.zip", "w", zipfile.ZIP_DEFLATED
    ) as archive:
        archive.writestr("plots.geojson", plots + " " * 100_000)
    site_folder.toml('name = "a"\n[files]\nplots = "plots.zip"\n')
    site_folder.read()
    monkeypatch.setattr(door, "MOST_BYTES_OF_OUTLINES", 50_000)
    says(site_folder.problem(), "plots.zip has 100,", "at most 50,000")


@pytest.mark.parametrize("name", ["/etc/hosts", "../x.csv", "C:\\x.csv", "", "a\nb"])
def test_the_door_itself_knows_a_path_outside(tmp_path, name):
    with pytest.raises(SiteError, match="inside the site folder"):
        open_file(tmp_path, name, 1)


def test_a_name_that_looks_like_an_address_opens_the_file_of_that_name(
    site_folder, outside, says, monkeypatch
):
    """Within the site folder a relative name could be taken for a scheme by GDAL."""
    elsewhere = outside.with_name("plots.geojson")
    (site_folder.path / "plots.geojson").rename(elsewhere)
    name = f"file:{elsewhere}"
    decoy = site_folder.path / name
    decoy.parent.mkdir(parents=True)
    decoy.write_text("{}")
    site_folder.toml(f'name = "a"\n[files]\nplots = "{name}"\n')
    monkeypatch.chdir(site_folder.path)
    with pytest.raises(SiteError) as refused:
        read_site(Path())
    assert "cannot be read as outlines" in str(refused.value)


@pytest.mark.parametrize(
    "packed", [zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA]
)
def test_a_damaged_zip_is_refused_in_one_sentence(site_folder, says, packed):
    path = site_folder.path / "plots.zip"
    with zipfile.ZipFile(path, "w", packed) as archive:
        archive.write(site_folder.path / "plots.geojson", "plots.geojson")
    content = bytearray(path.read_bytes())
    content[60:90] = bytes(30)
    path.write_bytes(content)
    site_folder.toml('name = "a"\n[files]\nplots = "plots.zip"\n')
    says(site_folder.problem(), "plots.zip is not a zip file that can be opened")


def test_what_lies_where_the_command_runs_is_no_part_of_a_geopackage(
    site_folder, tmp_path_factory, monkeypatch
):
    """A library would open proj.db and proj.ini there: a pipe would wait without end."""
    here = tmp_path_factory.mktemp("here")
    watch = Watch(here)
    for name in ("proj.db", "proj.ini"):
        (here / name).touch()
    site_folder.plots(file="plots.gpkg")
    site_folder.toml('name = "a"\n[files]\nplots = "plots.gpkg"\n')
    monkeypatch.chdir(here)
    watch.reads()
    site_folder.read()
    assert watch.reads() == []


def test_a_large_file_that_only_shares_its_name_is_no_matter(site_folder, monkeypatch):
    monkeypatch.setattr(door, "MOST_BYTES_OF_GRID", 1_000_000)
    (site_folder.path / "elevation.mbtiles").write_bytes(bytes(1_000_001))
    site_folder.read()


def test_readings_may_be_named_in_a_folder_that_is_not_there_yet(site_folder):
    site_folder.toml('name = "a"\n[files]\nthermometers = "logs/nights.csv"\n')
    site_folder.read()


def test_hashes_go_by_the_name_that_the_site_gives(site_folder):
    found = door.input_hashes(site_folder.path, ("./weather.csv",))
    assert list(found) == ["./weather.csv"]


def test_a_link_to_a_name_that_no_system_has_is_no_matter(site_folder):
    """Names near to a missing one are looked for among all that lie there."""
    (site_folder.path / "link").symlink_to("a" * 4000)
    (site_folder.path / "weather.csv").unlink()
    site_folder.read()
