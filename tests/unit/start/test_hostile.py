"""Files that would harm are refused in one sentence, at once and in little memory."""

import io
import struct
import time
import tracemalloc
import zipfile
from types import SimpleNamespace

import laspy
import numpy as np
import pytest
from shapely.geometry import box

from fieldmap.errors import SiteError
from fieldmap.read import region
from fieldmap.read.door import SiteFile
from fieldmap.read.start.elevation import local, points
from fieldmap.read.start.given import opened, what_is
from fieldmap.read.start.outline import xml_check
from fieldmap.read.start.outline.gather import gather
from fieldmap.read.start.outline.sort import sort
from fieldmap.read.start.outline.things import Thing

HEAD = '<?xml version="1.0"?>'
GPX = '<gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1">'
BOMB = (
    HEAD
    + '<!DOCTYPE lolz [<!ENTITY a "aaaaaaaaaa">'
    + "".join(f'<!ENTITY {chr(98 + n)} "{f"&{chr(97 + n)};" * 10}">' for n in range(12))
    + f"]>{GPX}<wpt lat='1' lon='1'><name>&m;</name></wpt></gpx>"
)
OUTSIDE = (
    HEAD
    + '<!DOCTYPE gpx [<!ENTITY x SYSTEM "file:///etc/hostname">]>'
    + f"{GPX}<wpt lat='1' lon='1'><name>&x;</name></wpt></gpx>"
)
DEEP = HEAD + "<kml>" + "<Folder>" * 5000 + "</Folder>" * 5000 + "</kml>"
NAN = HEAD + GPX + '<wpt lat="nan" lon="1"><name>Gate</name></wpt></gpx>'
SWAPPED = HEAD + GPX + '<wpt lat="144" lon="46"><name>Gate</name></wpt></gpx>'


def zipped(names, size=10):
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in names:
            archive.writestr(name, b" " * size)
    return packed.getvalue()


@pytest.fixture
def refused(tmp_path):
    def refusal(name, content):
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        began = time.monotonic()
        with pytest.raises(SiteError) as error:
            gather(opened(path), None)
        assert time.monotonic() - began < 20
        assert len(error.value.problems) == 1
        return str(error.value)

    return refusal


@pytest.mark.parametrize("text", [BOMB, OUTSIDE])
@pytest.mark.parametrize("name", ["walk.gpx", "walk.kml"])
def test_entities_are_refused(refused, text, name):
    text = text if name.endswith(".gpx") else text.replace("gpx", "kml")
    assert "entities" in refused(name, text)


def test_folders_in_folders_are_refused(refused):
    assert "deep" in refused("deep.kml", DEEP)


def test_places_that_are_no_numbers_or_no_places_are_refused(refused):
    assert "walk.gpx" in refused("walk.gpx", NAN)
    assert "not a place on earth" in refused("walk.gpx", SWAPPED)


def test_a_zip_that_leads_out_of_its_folder_writes_nothing(refused, tmp_path):
    refused("a.zip", zipped(["../../evil.geojson"]))
    refused("b.kmz", zipped(["../../evil.kml"]))
    assert not list(tmp_path.parent.parent.glob("evil*"))


def test_a_zip_whose_names_are_not_the_text_they_claim_to_be_is_refused(refused):
    """Bit 11 of the flags says UTF-8 (the zip format's own notes, 4.4.4); the name is not."""
    packed = bytearray(zipped(["dôc.kml"]))
    at = packed.index("dôc.kml".encode())  # of the head that stands with the content
    packed[at + 1] = 0x8D
    assert "a.kmz is not a zip file that can be opened" in refused(
        "a.kmz", bytes(packed)
    )


def test_a_zip_of_much_air_is_refused_before_it_is_unpacked(refused):
    packed = zipped(["doc.kml"], 50_000_000)
    tracemalloc.start()
    assert "bytes" in refused("a.kmz", packed)
    assert tracemalloc.get_traced_memory()[1] < 10_000_000
    tracemalloc.stop()


def test_more_places_than_a_walk_has_are_refused(refused, monkeypatch):
    monkeypatch.setattr(xml_check, "MOST_PLACES", 99)
    points = "<trkpt lat='46.0' lon='15.0'/>" * 100
    text = f"{HEAD}{GPX}<trk><trkseg>{points}</trkseg></trk></gpx>"
    assert "100 places" in refused("long.gpx", text)


def test_a_million_places_are_refused(refused):
    """As walks and drawings write them they have over 20 bytes each."""
    line = ",".join(["[15.12345678,46.12345678]"] * 1_000_000)
    text = f'{{"type": "LineString", "coordinates": [{line}]}}'
    assert "bytes" in refused("long.geojson", text)


def test_a_file_of_another_kind_is_refused(refused):
    assert "walk.gpx" in refused("walk.gpx", HEAD + "<svg/>")
    assert "walk.gpx" in refused("walk.gpx", b"\x00" * 1000)
    assert "survey.dxf" in refused("survey.dxf", b"AutoCAD Binary DXF\r\n\x1a\x00")


def test_a_network_link_in_a_drawing_is_not_followed(refused):
    link = (
        "<NetworkLink><Link><href>http://127.0.0.1:9/x.kml</href></Link></NetworkLink>"
    )
    refused("link.kml", f"{HEAD}<kml><Document>{link}</Document></kml>")


def test_endings_that_are_not_read_are_named(tmp_path):
    path = tmp_path / "photo.jpg"
    path.write_bytes(b"x")
    with pytest.raises(SiteError, match="GPX"):
        what_is(opened(path))
    with pytest.raises(SiteError, match="is a folder; name the files in it"):
        opened(tmp_path)
    (tmp_path / "empty.csv").touch()
    with pytest.raises(SiteError, match=r"empty\.csv is empty"):
        opened(tmp_path / "empty.csv")
    with pytest.raises(SiteError, match="does not exist"):
        opened(tmp_path / "nothing.gpx")


BOUNDS = (15.2617, 46.0554, 15.2635, 46.0570)


def refuses_heights(path, match):
    with pytest.raises(SiteError, match=match):
        local.heights_of(SiteFile(path, path.name), BOUNDS, None, None)


def test_a_grid_that_claims_more_than_it_holds_is_refused(tmp_path):
    path = tmp_path / "huge.asc"
    path.write_text(
        "ncols 900000000\nnrows 900000000\nxllcorner 0\nyllcorner 0\ncellsize 1\n1 2 3\n"
    )
    refuses_heights(path, r"huge\.asc")


def test_a_point_cloud_that_claims_more_than_it_holds_is_refused(tmp_path):
    header = laspy.LasHeader(point_format=6, version="1.4")
    cloud = laspy.LasData(header)
    cloud.x, cloud.y, cloud.z = (np.arange(10.0) for _ in range(3))
    path = tmp_path / "points.las"
    cloud.write(path)
    content = bytearray(path.read_bytes())
    struct.pack_into("<Q", content, 247, 2_000_000_000)  # LAS 1.4: number of points
    path.write_bytes(content)
    with pytest.raises(SiteError, match="2,000,000,000"):
        local.heights_of(SiteFile(path, path.name), BOUNDS, _utm(), None)


def packed_cloud(path):
    """A sound LAZ of LAS 1.4 and where its points begin."""
    cloud = laspy.LasData(laspy.LasHeader(point_format=6, version="1.4"))
    cloud.x, cloud.y, cloud.z = (np.arange(10.0) for _ in range(3))
    cloud.write(path)
    content = bytearray(path.read_bytes())
    return content, struct.unpack_from("<I", content, 96)[0]


def refuses_packed(path, content):
    path.write_bytes(content)
    with pytest.raises(SiteError, match=r"points\.laz.*copy it again"):
        local.heights_of(SiteFile(path, path.name), BOUNDS, _utm(), None)


def test_packed_points_that_claim_more_chunks_than_there_are_points_are_refused(
    tmp_path,
):
    """The library would make room for 32 GB and end the process."""
    content, begin = packed_cloud(tmp_path / "points.laz")
    (table,) = struct.unpack_from("<q", content, begin)
    struct.pack_into("<I", content, table + 4, 2_000_000_000)
    refuses_packed(tmp_path / "points.laz", content)


@pytest.mark.parametrize("table", [-5, 0, 2**40])
def test_packed_points_whose_chunk_table_lies_nowhere_are_refused(tmp_path, table):
    content, begin = packed_cloud(tmp_path / "points.laz")
    struct.pack_into("<q", content, begin, table)
    refuses_packed(tmp_path / "points.laz", content)


@pytest.mark.parametrize("layer", [0, 8])
@pytest.mark.parametrize("more", [1, 4_000_000_000])
def test_packed_points_whose_layers_are_longer_than_their_chunk_are_refused(
    tmp_path, layer, more
):
    """LASzip: offset of the table, the first point (30 bytes), a count, nine sizes."""
    content, begin = packed_cloud(tmp_path / "points.laz")
    at = begin + 8 + 30 + 4 + 4 * layer
    struct.pack_into("<I", content, at, struct.unpack_from("<I", content, at)[0] + more)
    refuses_packed(tmp_path / "points.laz", content)


def test_points_of_large_records_are_unpacked_a_few_at_a_time(tmp_path, monkeypatch):
    """20,000 points of 1.9 kB pack into little, and unpacked at once they take 39 MB."""
    header = laspy.LasHeader(point_format=6, version="1.4")
    header.scales, header.offsets = [0.01] * 3, [520000, 5100000, 0]
    header.add_crs(_utm())
    header.add_extra_dims([laspy.ExtraBytesParams(f"d{n}", "3f8") for n in range(80)])
    cloud = laspy.LasData(header)
    row, col = np.divmod(np.arange(20_000), 200)
    cloud.x, cloud.y = 520000.5 + col, 5100000.5 + row
    cloud.z = np.full(20_000, 250.0)
    cloud.classification = np.full(20_000, 2, "uint8")
    path = tmp_path / "points.laz"
    cloud.write(path)
    del cloud
    assert path.stat().st_size < 4_000_000
    monkeypatch.setattr(points, "BYTES_AT_ONCE", 2_000_000)
    tracemalloc.start()
    found = local.heights_of(
        SiteFile(path, path.name), (15.2585, 46.0530, 15.2605, 46.0540), None, None
    )
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert float(np.nanmean(found.values)) == pytest.approx(250.0)
    assert peak < 15_000_000


def _utm():
    import pyproj

    return pyproj.CRS(32633)


def test_a_list_of_files_is_no_grid(tmp_path):
    path = tmp_path / "list.tif"
    path.write_text('<VRTDataset rasterXSize="1" rasterYSize="1"/>')
    refuses_heights(path, r"list\.tif")


def test_a_block_that_is_repeated_without_end_is_refused(refused):
    """DXF reference: 70 and 71 of INSERT are columns and rows."""
    block = [
        "0",
        "INSERT",
        "2",
        "A",
        "10",
        "0",
        "20",
        "0",
        "70",
        "32767",
        "71",
        "32767",
    ]
    lines = ["0", "SECTION", "2", "ENTITIES", *block, "0", "ENDSEC", "0", "EOF"]
    assert "more than 1000 times" in refused("a.dxf", "\n".join(lines))


def test_a_walk_in_thousands_of_pieces_is_refused(refused):
    places = '<trkpt lat="46" lon="15"/><trkpt lat="46.001" lon="15"/>'
    pieces = f"<trkseg>{places}</trkseg>" * 501
    walk = f"{HEAD}{GPX}<trk>{pieces}</trk></gpx>"
    assert "501 pieces of walks" in refused("walk.gpx", walk)


def test_thousands_of_areas_are_refused_and_not_cut_from_each_other():
    areas = [
        Thing("a.kml", f"Field {n}", "", box(15, 46, 15.001, 46.001))
        for n in range(501)
    ]
    with pytest.raises(SiteError, match="501 areas may be plots"):
        sort(areas, 3.0, lambda _question: None)


def test_twenty_thousand_named_corners_are_sorted_at_once(tmp_path):
    """Rows are looked at once each, and not once for each name."""
    table = tmp_path / "corners.csv"
    lines = [
        f"n{row // 3},{15 + row % 3 / 1e4},{46 + row % 2 / 1e4}"
        for row in range(19_998)
    ]
    table.write_text("plot,longitude,latitude\n" + "\n".join(lines))
    began = time.process_time()
    assert len(gather(opened(table), None)) == 6666
    assert time.process_time() - began < 6


def test_what_is_fetched_for_a_region_is_not_written_through_a_link(tmp_path):
    address, heights = "https://example.org/a.tif", b"II*\0 heights"
    web = SimpleNamespace(whole=lambda _address, _most: heights)
    name = region._fetched(tmp_path / "ours", web, address)
    assert (tmp_path / "ours" / name).read_bytes() == heights
    outside = tmp_path / "outside.txt"
    outside.write_text("ours", "utf-8")
    link = (tmp_path / "theirs" / name).with_suffix(".part")
    link.parent.mkdir(parents=True)
    link.symlink_to(outside)
    assert region._fetched(tmp_path / "theirs", web, address) == name
    assert outside.read_text("utf-8") == "ours"
    assert (tmp_path / "theirs" / name).read_bytes() == heights
