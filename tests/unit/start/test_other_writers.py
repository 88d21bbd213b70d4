"""Outlines as other programs' own libraries write them: gpxpy, simplekml, ezdxf and GDAL."""

import io
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import geopandas as gpd
import gpxpy.gpx
import numpy as np
import pyogrio
import pytest
import rasterio
import simplekml
from affine import Affine
from ezdxf.addons.r12writer import r12writer
from shapely.geometry import LineString, MultiLineString, Point, Polygon

from fieldmap.errors import SiteError
from fieldmap.read.door import SiteFile
from fieldmap.read.start.elevation.local import heights_of
from fieldmap.read.start.outline import sort as sorting
from fieldmap.read.start.outline.gather import gather

CORNERS = [(15.0, 46.0), (15.001, 46.0), (15.001, 46.001), (15.0, 46.001)]
SQUARE = Polygon(CORNERS)
RING = [*CORNERS, CORNERS[0]]
HOLE = [(15.0004, 46.0004), (15.0006, 46.0004), (15.0006, 46.0006), (15.0004, 46.0006)]
GATE = Point(15.0012, 46.0005)


def read(path, crs=None):
    return gather(SiteFile(path, path.name), crs)


def sort(things):
    return sorting.sort(things, 3.0, lambda _question: None)


def of_one_plot(things, area=SQUARE.area):
    (plot,) = sort(things).plots
    assert plot.outline.area == pytest.approx(area, rel=1e-6)
    return plot


def written(path, shapes, names=("Long Field",), **how):
    frame = gpd.GeoDataFrame({"name": list(names)}, geometry=shapes, crs=4326)
    pyogrio.write_dataframe(frame, path, **how)
    return path


def test_a_track_of_gpxpy_in_two_segments_with_heights_times_and_extensions(tmp_path):
    """GPX 1.1, schema topografix.com/GPX/1/1: ele, time and extensions in each point."""
    file = gpxpy.gpx.GPX()
    file.creator = "a phone"
    track = gpxpy.gpx.GPXTrack(name="Long Field", description="walked")
    file.tracks.append(track)
    began = datetime(2026, 11, 1, 9, tzinfo=UTC)
    steps = np.linspace(0, 1, 100, endpoint=False)
    way = [
        (np.array(one) + step * (np.array(to) - one)).tolist()
        for one, to in pairwise(RING)
        for step in steps
    ]
    for half in (way[:200], way[200:]):
        segment = gpxpy.gpx.GPXTrackSegment()
        for lon, lat in half:
            at = began + timedelta(seconds=len(segment.points))
            point = gpxpy.gpx.GPXTrackPoint(lat, lon, elevation=200.5, time=at)
            segment.points.append(point)
        track.segments.append(segment)
        began += timedelta(seconds=300)
    path = tmp_path / "walk.gpx"
    path.write_text(file.to_xml("1.1"), "utf-8")
    things = read(path)
    assert all(each.name == "Long Field" for each in things)
    assert all(each.is_walk for each in things)
    found = sort(things)
    (plot,) = found.plots
    assert plot.outline.area == pytest.approx(SQUARE.area, rel=0.02)
    (joined,) = [each for each in found.facts if each.kind == "start_walk_joined"]
    assert joined.values["number"] == 2


def test_two_plots_walked_in_one_track_stay_two(tmp_path):
    """Each piece of the track closes by itself."""
    file = gpxpy.gpx.GPX()
    track = gpxpy.gpx.GPXTrack(name="Both")
    file.tracks.append(track)
    for east in (0.0, 0.002):
        segment = gpxpy.gpx.GPXTrackSegment()
        segment.points = [
            gpxpy.gpx.GPXTrackPoint(*(np.array(one) + s * (np.array(to) - one))[::-1])
            for one, to in pairwise([(x + east, y) for x, y in RING])
            for s in np.linspace(0, 1, 50)
        ]
        track.segments.append(segment)
    path = tmp_path / "both.gpx"
    path.write_text(file.to_xml("1.1"), "utf-8")
    found = sort(read(path))
    assert len(found.plots) == 2
    for plot in found.plots:
        assert plot.outline.area == pytest.approx(SQUARE.area, rel=0.02)


@pytest.mark.parametrize("version", ["1.0", "1.1"])
def test_routes_and_waypoints_of_gpxpy_in_both_versions(tmp_path, version):
    file = gpxpy.gpx.GPX()
    route = gpxpy.gpx.GPXRoute(name="Long Field")
    route.points = [gpxpy.gpx.GPXRoutePoint(lat, lon) for lon, lat in RING]
    file.routes.append(route)
    file.waypoints.append(gpxpy.gpx.GPXWaypoint(GATE.y, GATE.x, name="Gate"))
    path = tmp_path / "route.gpx"
    path.write_text(file.to_xml(version), "utf-8")
    things = read(path)
    assert of_one_plot(things).name == "Long Field"
    assert [each.kind for each in sort(things).around] == ["gate"]


@pytest.mark.parametrize(
    ("layer", "shape"),
    [("routes", LineString(RING)), ("tracks", MultiLineString([RING]))],
)
def test_gpx_of_gdal(tmp_path, layer, shape):
    path = written(tmp_path / "made.gpx", [shape], driver="GPX", layer=layer)
    things = read(path)
    assert things[0].name == "Long Field"
    assert sort(things).plots[0].outline.area == pytest.approx(SQUARE.area, rel=0.05)


def kml_of_simplekml():
    made = simplekml.Kml(name="Hill")
    farm = made.newfolder(name="Farm")
    field = farm.newpolygon(
        name="Lower Field & <Co>", outerboundaryis=RING, innerboundaryis=HOLE
    )
    field.style.polystyle.color = simplekml.Color.changealpha("80", "ff00ff00")
    farm.newlinestring(name="Hedge 3 m", coords=[(15.0, 45.9999), (15.001, 45.9999)])
    farm.newpoint(name="Tap", coords=[(GATE.x, GATE.y, 210.0)])
    return made


@pytest.mark.parametrize("ending", ["kml", "kmz"])
def test_kml_2_2_of_simplekml_with_folders_holes_and_styles(tmp_path, ending):
    path = tmp_path / f"farm.{ending}"
    save = {"kml": kml_of_simplekml().save, "kmz": kml_of_simplekml().savekmz}[ending]
    save(str(path))
    things = read(path)
    # A fifth of a side each way: 1/25 of the area is left out.
    assert of_one_plot(things, SQUARE.area * 24 / 25).name == "Lower Field & <Co>"
    found = sort(things)
    assert [each.kind for each in found.around] == ["water point"]
    # How dense the hedge is nobody said, and nobody was asked.
    assert [(each.kind, each.attributes["height_m"]) for each in found.aside] == [
        ("hedge", 3)
    ]


def test_a_walk_of_kml_as_phones_record_it(tmp_path):
    """gx:Track, with a time beside each place (the extension namespace of KML 2.2)."""
    made = simplekml.Kml()
    track = made.newgxtrack(name="Long Field")
    steps = np.linspace(0, 1, 60, endpoint=False)
    way = [
        (*(np.array(one) + step * (np.array(to) - one)).tolist(), 0.0)
        for one, to in pairwise(RING)
        for step in steps
    ]
    began = datetime(2026, 11, 1, 9, tzinfo=UTC)
    track.newwhen([(began + timedelta(seconds=n)).isoformat() for n in range(len(way))])
    track.newgxcoord(way)
    path = tmp_path / "walk.kml"
    made.save(str(path))
    (plot,) = sort(read(path)).plots
    assert plot.name == "Long Field"
    assert plot.outline.area == pytest.approx(SQUARE.area, rel=0.02)


@pytest.mark.parametrize("driver", ["KML", "LIBKML"])
def test_kml_of_gdal(tmp_path, driver):
    path = tmp_path / "made.kml"
    shapes = [SQUARE, GATE]
    written(path, shapes, ("Long Field", "Gate"), driver=driver)
    things = read(path)
    assert of_one_plot(things).name == "Long Field"
    assert [each.kind for each in sort(things).around] == ["gate"]


def test_geojson_of_gdal_by_the_rfc(tmp_path):
    """RFC 7946: a bounding box, heights as third numbers, rings against the clock."""
    path = tmp_path / "made.geojson"
    deep = Polygon([(x, y, 200.0) for x, y in CORNERS])
    options = {"RFC7946": "YES", "WRITE_BBOX": "YES", "ID_GENERATE": "YES"}
    written(path, [deep], driver="GeoJSON", layer_options=options)
    assert '"bbox"' in path.read_text()
    assert of_one_plot(read(path)).name == "Long Field"


def in_metres(plot):
    return gpd.GeoSeries([plot.outline], crs=4326).to_crs(32633).area[0]


def test_dxf_of_gdal_and_of_the_plainest_writer(tmp_path):
    corners = [(520000, 5100000), (520100, 5100000), (520100, 5100080), (520000, 5100080)]  # fmt: skip
    path = tmp_path / "gdal.dxf"
    frame = gpd.GeoDataFrame(
        {"Layer": ["PLOT"]}, geometry=[Polygon(corners)], crs=32633
    )
    pyogrio.write_dataframe(frame, path, driver="DXF")
    (plot,) = sort(read(path, "EPSG:32633")).plots
    assert in_metres(plot) == pytest.approx(8000.0, rel=1e-6)
    text = io.StringIO()
    with r12writer(text) as drawing:
        drawing.add_polyline_2d(corners, closed=True, layer="PLOT")
    (tmp_path / "r12.dxf").write_text(text.getvalue())
    (plot,) = sort(read(tmp_path / "r12.dxf", "EPSG:32633")).plots
    assert in_metres(plot) == pytest.approx(8000.0, rel=1e-6)


@pytest.mark.parametrize("kind", ["gpx", "kml", "geojson", "dxf"])
def test_latitude_written_first_is_caught_by_where_the_elevation_lies(tmp_path, kind):
    """Each writer is handed latitude and longitude the wrong way round."""
    place = Affine(1e-4, 0, 14.99, 0, -1e-4, 46.02)
    heights = tmp_path / "heights.tif"
    with rasterio.open(
        heights, "w", driver="GTiff", width=300, height=300, count=1,
        dtype="float32", crs="EPSG:4326", transform=place,
    ) as target:  # fmt: skip
        target.write(np.full((1, 300, 300), 200.0, "float32"))
        target.units = ("metre",)
    swapped = [(y, x) for x, y in RING]
    path = tmp_path / f"swapped.{kind}"
    if kind == "gpx":
        written(path, [LineString(swapped)], driver="GPX", layer="routes")
    elif kind == "kml":
        made = simplekml.Kml()
        made.newpolygon(name="Field", outerboundaryis=swapped)
        made.save(str(path))
    elif kind == "geojson":
        written(path, [Polygon(swapped)], driver="GeoJSON")
    else:
        frame = gpd.GeoDataFrame(
            {"Layer": ["PLOT"]}, geometry=[Polygon(swapped)], crs=4326
        )
        pyogrio.write_dataframe(frame, path, driver="DXF")
    (plot,) = sort(read(path, "EPSG:4326" if kind == "dxf" else None)).plots
    with pytest.raises(SiteError, match="look swapped"):
        heights_of(SiteFile(heights, heights.name), plot.outline.bounds, None, None)
