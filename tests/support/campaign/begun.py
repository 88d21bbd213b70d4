"""Kinds of input of which `fieldmap start` makes a site: each a folder of files that are given."""

import io
import zipfile
from datetime import UTC, datetime
from pathlib import Path

import ezdxf
import laspy
import numpy as np
from made_up_walks import gpx, walk

from fieldmap.errors import FieldmapError
from fieldmap.read import read_site
from fieldmap.read.start import run
from fieldmap.read.start.given import Given
from fieldmap.show.text.language import codes, problem_in_words
from fieldmap.show.text.sentence import say
from fieldmap.show.text.site.start import comments

GIVEN = "given"  # folder of what is given, beside the site that is made of it
MADE = "made"
CRS = "EPSG:32633"
WEST, SOUTH = 520000, 5100000  # of the square of `SiteFolder`
NOW = datetime(2026, 11, 28, 12, 0, tzinfo=UTC)
KML = """<?xml version="1.0" encoding="UTF-8"?>
<kml xmlns="http://www.opengis.net/kml/2.2"><Document><name>Hill</name><Folder><name>Farm</name>
<Placemark><name>Lower Field</name><ExtendedData><Data name="height_m"><value>3</value></Data></ExtendedData>
<MultiGeometry><Polygon><outerBoundaryIs><LinearRing><coordinates>
15.2614,46.0556,0 15.2622,46.0556,0 15.2622,46.0562,0 15.2614,46.0562,0 15.2614,46.0556,0
</coordinates></LinearRing></outerBoundaryIs><innerBoundaryIs><LinearRing><coordinates>
15.2617,46.0558 15.2619,46.0558 15.2619,46.0560 15.2617,46.0560 15.2617,46.0558
</coordinates></LinearRing></innerBoundaryIs></Polygon></MultiGeometry></Placemark>
<Placemark><name>Hedge 3 m</name><LineString><coordinates>15.2613,46.0555 15.2613,46.0563</coordinates></LineString></Placemark>
<Placemark><name>Tap</name><Point><coordinates>15.2624,46.0557,0</coordinates></Point></Placemark>
</Folder></Document></kml>"""
CORNERS = (
    "plot,longitude,latitude\nField,15.2614,46.0556\nField,15.2622,46.0556\n"
    "Field,15.2622,46.0562\nGate,15.2624,46.0557\n"
)
IN_METRES = "plot;east;north\nField;520260,5;5100270\nField;520340;5100270\nField;520340;5100330\n"


def files(shapefile: dict[str, bytes], aside: Path) -> dict[str, tuple[str, bytes]]:
    """Of each kind its form, and the content of its file, by the file's name."""
    return {
        "walk.gpx": ("xml", _walk().encode()),
        "plot.kml": ("xml", KML.encode()),
        "plot.kmz": ("zip", zipped({"doc.kml": KML.encode()})),
        "plot.zip": ("zip", zipped(shapefile)),
        "plot.dxf": ("text", _dxf()),
        "corners.csv": ("csv", CORNERS.encode()),
        "metres.csv": ("csv", IN_METRES.encode()),
        "heights.asc": ("text", _grid()),
        "heights.xyz": ("csv", _xyz()),
        "heights.las": ("las", _points(aside / "made.las")),
        "heights.laz": ("las", _points(aside / "made.laz")),
    }


def zipped(inside: dict[str, bytes]) -> bytes:
    """A zip file's bytes."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in inside.items():
            archive.writestr(name, content)
    return made.getvalue()


def _walk() -> str:
    places, seconds = walk([(0, 0), (30, 0), (30, 25), (0, 25)], 1)
    marks = [(WEST + 350, SOUTH + 340, "Gate"), (WEST + 300, SOUTH + 200, "Oak 12 m")]
    corner = np.array([WEST + 260, SOUTH + 260])
    return gpx(places + corner, seconds, waypoints=marks)


def _dxf() -> bytes:
    drawing = ezdxf.new("R2000")
    space = drawing.modelspace()
    corners = [(260, 270), (340, 270), (340, 330), (260, 330)]
    on_ground = [(WEST + x, SOUTH + y) for x, y in corners]
    space.add_lwpolyline(on_ground, close=True, dxfattribs={"layer": "Field"})
    space.add_line(on_ground[0], on_ground[1], dxfattribs={"layer": "Fence 1 m"})
    space.add_text("Gate").set_placement(on_ground[2])
    text = io.StringIO()
    drawing.write(text)
    return text.getvalue().encode()


def _cells(size_m: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    across = WEST + np.arange(size_m / 2, 600, size_m)
    up = SOUTH + 600 - np.arange(size_m / 2, 600, size_m)
    east, north = np.meshgrid(across, up)
    return east, north, 200 + 0.1 * (east - WEST) + 0.2 * (north - SOUTH)


def _grid() -> bytes:
    heights = _cells(20)[2]
    head = f"ncols 30\nnrows 30\nxllcorner {WEST}\nyllcorner {SOUTH}\ncellsize 20\nNODATA_value -9999\n"
    rows = "\n".join(" ".join(f"{each:.1f}" for each in row) for row in heights)
    return (head + rows + "\n").encode()


def _xyz() -> bytes:
    lines = zip(*(axis.ravel() for axis in _cells(20)), strict=True)
    return "".join(f"{x:.1f} {y:.1f} {z:.2f}\n" for x, y, z in lines).encode()


def _points(path: Path) -> bytes:
    east, north, height = (axis.ravel() for axis in _cells(10))
    header = laspy.LasHeader(point_format=6, version="1.4")
    header.scales, header.offsets = [0.01] * 3, [WEST, SOUTH, 0]
    cloud = laspy.LasData(header)
    cloud.x, cloud.y, cloud.z = east, north, height
    cloud.classification = np.full(len(height), 2, "uint8")
    cloud.write(path)
    return path.read_bytes()


def begin(folder: Path) -> list[str]:
    """Make a site of what is given; what is said of it, be it wrong or right."""
    made = folder / MADE
    given = Given(
        folder=made,
        files=tuple(sorted((folder / GIVEN).iterdir())),
        now=NOW,
        ask=lambda _question: None,
        say=lambda fact: say(fact, "metric"),
        comments=comments(),
        crs=CRS,
    )
    try:
        said = [say(fact, "metric") for fact in run.start(given)]
    except FieldmapError as error:
        if made.exists() or not error.problems:
            raise AssertionError("half-written, or refused without a word") from error
        return list(map(problem_in_words, error.problems))
    if not (made / "plots.geojson").exists():
        return said
    try:
        read_site(made, codes())
    except FieldmapError as error:
        said += map(problem_in_words, error.problems)
    return said
