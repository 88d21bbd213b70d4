"""Files by other programs' own writers, and what their shapes are taken for."""

import io
import json
import zipfile

import ezdxf
import geopandas as gpd
import gpxpy.gpx
import numpy as np
import pytest
from made_up_walks import gpx, walk
from shapely.geometry import LineString, Point, Polygon

from fieldmap.errors import SiteError
from fieldmap.read.door import SiteFile
from fieldmap.read.start.outline import sort as sorting
from fieldmap.read.start.outline.gather import gather
from fieldmap.read.start.outline.things import Thing, facts_in, kind_of

SQUARE = Polygon([(15.0, 46.0), (15.001, 46.0), (15.001, 46.001), (15.0, 46.001)])
KML = """<?xml version="1.0" encoding="UTF-8"?>
<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Folder><name>Farm</name>
<Placemark><name>Lower Field</name><Polygon><outerBoundaryIs><LinearRing><coordinates>
15.0,46.0,0 15.001,46.0,0 15.001,46.001,0 15.0,46.001,0 15.0,46.0,0
</coordinates></LinearRing></outerBoundaryIs><innerBoundaryIs><LinearRing><coordinates>
15.0004,46.0004 15.0006,46.0004 15.0006,46.0006 15.0004,46.0006 15.0004,46.0004
</coordinates></LinearRing></innerBoundaryIs></Polygon></Placemark>
<Placemark><name>Grifo</name><Point><coordinates>15.0012,46.0005,0</coordinates></Point>
</Placemark></Folder></Document></kml>"""


@pytest.fixture
def read(tmp_path):
    def read_as(name, content, crs=None):
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return gather(SiteFile(path, name), crs)

    return read_as


def sort(things, answers=None):
    """Sorted by what the user says, in turn; nobody is there without answers."""
    said = iter(answers or ())
    return sorting.sort(things, 3.0, lambda _question: next(said, None))


def test_a_track_of_gpx_1_1_is_a_walk_with_its_times(read):
    places, seconds = walk([(0, 0), (90, 0), (90, 80), (0, 80)], 0)
    text = gpx(
        places + np.array([520000, 5100000]),
        seconds,
        waypoints=[(520095, 5100000, "Gate")],
    )
    things = read("walk.gpx", text)
    (track,) = [each for each in things if each.is_walk]
    assert track.name == "Long Field"
    assert np.array_equal(track.seconds, seconds)
    found = sort(things)
    assert [plot.name for plot in found.plots] == ["Long Field"]
    assert [each.kind for each in found.around] == ["gate"]
    assert found.aside == ()


def test_gpx_as_gpxpy_writes_it_with_a_route_and_waypoints(read):
    file = gpxpy.gpx.GPX()
    route = gpxpy.gpx.GPXRoute(name="Huerta baja")
    for lon, lat in SQUARE.exterior.coords:
        route.points.append(gpxpy.gpx.GPXRoutePoint(lat, lon))
    file.routes.append(route)
    file.waypoints.append(gpxpy.gpx.GPXWaypoint(46.0, 15.0, name="Portón"))
    found = sort(read("route.gpx", file.to_xml("1.1")))
    assert found.plots[0].name == "Huerta baja"
    assert found.plots[0].outline.equals_exact(SQUARE, 1e-7) or np.isclose(
        found.plots[0].outline.area, SQUARE.area
    )
    assert [each.kind for each in found.around] == ["gate"]


def test_waypoints_alone_are_corners(read):
    file = gpxpy.gpx.GPX()
    for lon, lat in SQUARE.exterior.coords[:-1]:
        file.waypoints.append(gpxpy.gpx.GPXWaypoint(lat, lon, name="A"))
    (plot,) = sort(read("corners.gpx", file.to_xml("1.1"))).plots
    assert plot.outline.area == pytest.approx(SQUARE.area)


def test_kml_2_2_keeps_names_and_holes(read):
    found = sort(read("farm.kml", KML))
    (plot,) = found.plots
    assert plot.name == "Lower Field"
    # A fifth of a side each way: 1/25 of the area is left out.
    assert plot.outline.area == pytest.approx(SQUARE.area * 24 / 25, rel=1e-6)
    assert [each.kind for each in found.around] == ["water point"]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_kml_in_utf_16_is_read_by_its_mark(read, encoding):
    named = KML.replace("Lower Field", "Prado de Muñoz")
    said = named.replace("UTF-8", encoding.upper()).encode(encoding)
    (plot,) = sort(read("field.kml", said)).plots
    assert plot.name == "Prado de Muñoz"


def test_kmz_is_the_kml_in_it(read):
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("doc.kml", KML)
        archive.writestr("files/picture.png", b"no picture")
    assert len(read("farm.kmz", packed.getvalue())) == len(read("farm.kml", KML))


def test_geojson_of_rfc_7946_of_any_shape(read):
    """Its section 1.5: a point, a line and an area, each with properties."""
    text = json.dumps(
        {
            "type": "FeatureCollection",
            "features": [
                {
                    "type": "Feature",
                    "geometry": {"type": "Point", "coordinates": [102.0, 0.5]},
                    "properties": {"prop0": "value0"},
                },
                {
                    "type": "Feature",
                    "geometry": {
                        "type": "LineString",
                        "coordinates": [[102, 0], [103, 1], [104, 0], [105, 1]],
                    },
                    "properties": {"prop0": "value0", "prop1": 0.0},
                },
                {
                    "type": "Feature",
                    "geometry": {
                        "type": "Polygon",
                        "coordinates": [
                            [[100, 0], [101, 0], [101, 1], [100, 1], [100, 0]]
                        ],
                    },
                    "properties": {"prop0": "value0", "prop1": {"this": "that"}},
                },
            ],
        }
    )
    kinds = [each.shape.geom_type for each in read("rfc.geojson", text)]
    assert kinds == ["Point", "LineString", "Polygon"]


@pytest.mark.parametrize("name", ["farm.gpkg", "farm.zip"])
def test_geopackage_and_shapefile_in_a_zip(read, tmp_path, name):
    frame = gpd.GeoDataFrame({"name": ["West"]}, geometry=[SQUARE], crs=4326)
    if name.endswith(".gpkg"):
        frame.to_file(tmp_path / "own.gpkg")
        content = (tmp_path / "own.gpkg").read_bytes()
    else:
        folder = tmp_path / "shp"
        folder.mkdir()
        frame.to_file(folder / "west.shp")
        with zipfile.ZipFile(tmp_path / "own.zip", "w") as archive:
            for part in folder.iterdir():
                archive.write(part, f"inner/{part.name}")
        content = (tmp_path / "own.zip").read_bytes()
    (plot,) = sort(read(name, content)).plots
    assert plot.name == "West"
    assert plot.outline.area == pytest.approx(SQUARE.area)


def test_dxf_of_ezdxf_with_a_stated_crs(read):
    drawing = ezdxf.new()
    corners = [
        (520000, 5100000),
        (520100, 5100000),
        (520100, 5100080),
        (520000, 5100080),
    ]
    drawing.modelspace().add_lwpolyline(
        corners, close=True, dxfattribs={"layer": "PLOT"}
    )
    text = io.StringIO()
    drawing.write(text)
    (plot,) = sort(read("survey.dxf", text.getvalue(), "EPSG:32633")).plots
    in_metres = gpd.GeoSeries([plot.outline], crs=4326).to_crs(32633)
    assert in_metres.area[0] == pytest.approx(8000.0, rel=1e-6)


def test_a_drawing_without_a_stated_crs_is_refused(read):
    text = io.StringIO()
    drawing = ezdxf.new()
    drawing.modelspace().add_lwpolyline([(0, 0), (9, 0), (9, 9)], close=True)
    drawing.write(text)
    with pytest.raises(SiteError, match="--crs"):
        read("survey.dxf", text.getvalue())


@pytest.mark.parametrize(
    "text",
    [
        "plot,longitude,latitude\nA,15.0,46.0\nA,15.001,46.0\nA,15.001,46.001\nA,15,46.001\n",
        "parcela;latitud;longitud\nA;46,0;15,0\nA;46,0;15,001\nA;46,001;15,001\nA;46,001;15\n",
    ],
)
def test_corners_in_degrees_with_points_or_commas(read, text):
    (plot,) = sort(read("corners.csv", text)).plots
    assert plot.name == "A"
    assert plot.outline.area == pytest.approx(SQUARE.area)


def test_corners_in_degrees_stay_so_where_a_crs_is_stated_for_another_file(read):
    text = "plot,longitude,latitude\nA,15,46\nA,15.001,46\nA,15.001,46.001\n"
    (found,) = read("corners.csv", text, "EPSG:32633")
    assert found.shape.bounds == (15.0, 46.0, 15.001, 46.001)


def test_corners_in_metres_with_a_stated_crs(read):
    text = (
        "east,north\n520000,5100000\n520100,5100000\n520100,5100080\n520000,5100080\n"
    )
    (plot,) = sort(read("corners.csv", text, "32633")).plots
    in_metres = gpd.GeoSeries([plot.outline], crs=4326).to_crs(32633)
    assert in_metres.area[0] == pytest.approx(8000.0, rel=1e-6)
    with pytest.raises(SiteError, match="--crs"):
        read("corners.csv", text)


def test_a_closed_line_is_an_area_and_an_open_one_is_left_aside():
    ring = LineString(SQUARE.exterior.coords)
    open_line = LineString([(15.002, 46.0), (15.003, 46.0), (15.004, 46.0)])
    found = sort([Thing("a", "Field", "Field", ring), Thing("a", "?", "?", open_line)])
    assert [plot.name for plot in found.plots] == ["Field"]
    assert [each.missing for each in found.aside] == [("kind",)]


def test_a_plot_within_another_is_ground_not_planted_and_neighbours_share_none():
    inner = SQUARE.buffer(-0.0003)
    beside = Polygon(
        [(15.0009, 46.0), (15.002, 46.0), (15.002, 46.001), (15.0009, 46.001)]
    )
    things = [Thing("a", str(n), "", s) for n, s in enumerate([SQUARE, inner, beside])]
    found = sort(things)
    first, second = (plot.outline for plot in found.plots)
    assert first.intersection(second).area < 1e-12
    assert not first.contains(Point(15.0005, 46.0005))
    assert {"start_taken_as_hole", "start_overlap_cut"} <= {f.kind for f in found.facts}


def test_the_user_is_asked_what_a_thing_is_and_how_tall():
    place = Point(15.0, 46.002)
    things = [Thing("a", "Field", "Field", SQUARE), Thing("a", "X", "X", place)]
    found = sort(things, ["barn", "4 m", "20 ft"])
    (barn,) = found.around
    assert barn.kind == "building"
    assert barn.attributes == {"height_m": 4.0, "width_m": 6.1}


@pytest.mark.parametrize(
    ("name", "shape", "kind"),
    [
        ("Barn Field", SQUARE, "plot"),
        ("Field gate", Point(0, 0), "gate"),
        ("Brook Meadow", SQUARE, "plot"),
        ("Campo del granero", SQUARE, "plot"),
        ("Seto norte", LineString([(0, 0), (1, 1)]), "hedge"),
        ("Power line", LineString([(0, 0), (1, 1)]), "overhead line"),
        ("Gatehouse Lane", Point(0, 0), "road"),
        ("Waypoint 7", Point(0, 0), None),
    ],
)
def test_words_in_names_say_what_a_thing_is(name, shape, kind):
    assert kind_of(Thing("a", name, name, shape)) == kind


def test_columns_that_only_plots_have_make_a_plot_whatever_its_name():
    assert kind_of(Thing("a", "Brook", "Brook", SQUARE)) == "water"
    known = Thing("a", "Brook", "Brook", SQUARE, attributes={"soil": None})
    assert kind_of(known) == "plot"


def test_names_may_say_height_and_leaves():
    thing = Thing("a", "", "Hedge, 10 ft tall, leafless in winter", Point(0, 0))
    assert facts_in(thing) == {"height_m": 3.05, "leaf": "deciduous"}


def test_a_plot_that_is_drawn_twice_is_one_plot():
    """And no ground within itself that is not planted, which would leave nothing."""
    drawn = [Thing("a.kml", name, "", SQUARE) for name in ("A", "B")]
    found = sorting.sort(drawn, 3.0, lambda _question: None)
    assert [plot.name for plot in found.plots] == ["A"]
    assert [fact.kind for fact in found.facts] == ["start_overlap_cut"]
