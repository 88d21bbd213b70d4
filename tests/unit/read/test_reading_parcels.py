"""Parcels from a file of outlines: who they are, and one sentence for each mistake."""

import json

import geopandas as gpd
import pytest
from shapely.geometry import MultiPolygon, Point, Polygon, box

from fieldmap.errors import SiteError
from fieldmap.read import door
from fieldmap.read.outlines.parcels import off_the_ground, read_parcels

SQUARES = [
    box(500000 + 300 * at, 5000000, 500200 + 300 * at, 5000200) for at in range(9)
]


def read(tmp_path, shapes, file="parcels.geojson", crs=32633, **columns):
    frame = gpd.GeoDataFrame(columns, geometry=list(shapes), crs=crs)
    frame.to_file(tmp_path / file)
    return again(tmp_path, file)


def again(tmp_path, name="parcels.geojson"):
    return read_parcels(door.open_file(tmp_path, name, door.MOST_BYTES_OF_OUTLINES))


def refusals(tmp_path, *given, **columns):
    with pytest.raises(SiteError) as refused:
        read(tmp_path, *given, **columns)
    return [str(each) for each in refused.value.problems]


@pytest.mark.parametrize("name", ["parcels.geojson", "parcels.gpkg", "parcels.shp"])
def test_ids_and_names_are_kept_from_every_format(tmp_path, name):
    columns = {"id": ["7/1", "7/2"], "name": ["Home field", "Long acre"]}
    found = read(tmp_path, SQUARES[:2], name, **columns).frame
    assert found["id"].tolist() == columns["id"]
    assert found["name"].tolist() == columns["name"]
    assert found.crs.to_epsg() == 32633
    assert found.area.tolist() == pytest.approx([40_000, 40_000], rel=1e-3)


def test_numbers_are_ids_and_stand_in_for_names(tmp_path):
    found = read(tmp_path, SQUARES[:2], "parcels.gpkg", id=[12, 140]).frame
    assert found["id"].tolist() == ["12", "140"] == found["name"].tolist()


def test_without_both_a_parcel_goes_by_its_number(tmp_path):
    assert read(tmp_path, SQUARES[:3]).frame["id"].tolist() == ["1", "2", "3"]


def test_one_name_of_several_parcels_is_shown_with_the_id(tmp_path):
    columns = {"id": ["1", "2", "3"], "name": ["Home", "home", "Bank"]}
    found = read(tmp_path, SQUARES[:3], **columns).frame
    assert found["name"].tolist() == ["Home (1)", "home (2)", "Bank"]


def test_a_parcel_may_lie_in_pieces_and_on_another(tmp_path):
    pieces = MultiPolygon([SQUARES[0], SQUARES[2]])
    found = read(tmp_path, [pieces, SQUARES[0].buffer(20)], file="p.gpkg").frame
    assert found.area.tolist()[0] == pytest.approx(80_000)


def test_an_id_that_stands_twice_is_refused(tmp_path):
    assert refusals(tmp_path, SQUARES[:3], id=["A", "b", "a"]) == [
        "parcels.geojson: 2 parcels have the id 'A'; give each its own id, or its own"
        " name where there are no ids."
    ]


def test_an_outline_that_stands_twice_is_refused(tmp_path):
    turned = Polygon(list(SQUARES[0].exterior.coords)[1:])
    shapes = [SQUARES[0], SQUARES[1], turned]
    assert refusals(tmp_path, shapes, note=["x", "y", "z"]) == [
        "parcels.geojson: parcels '1' and '3' have one and the same outline; delete one"
        " of them."
    ]


def test_shapes_that_are_no_ground_are_refused_one_by_one(tmp_path):
    bow_tie = Polygon(
        [(500000, 5e6), (500200, 5000200), (500200, 5e6), (500000, 5000200)]
    )
    shapes = [Point(500000, 5e6), bow_tie, box(500000, 5e6, 500005, 5000005), *SQUARES]
    said = refusals(tmp_path, shapes, file="parcels.gpkg", id=list(map(str, range(12))))
    assert said[0] == (
        "parcels.gpkg: parcel 1 of 12 is not a closed area; draw it as a Polygon."
    )
    assert "crosses or touches itself" in said[1]
    assert said[2] == (
        "parcels.gpkg: parcel 3 of 12 covers 25 m²; a parcel needs at least 100 m²."
    )
    assert len(said) == 3


def test_a_misplaced_corner_is_refused(tmp_path):
    wide = box(500000, 5e6, 530000, 5000200)
    (said,) = refusals(tmp_path, [wide, *SQUARES])
    assert "is 30 km across; a parcel can be up to 10 km" in said


@pytest.mark.filterwarnings("ignore:'crs' was not provided")
def test_a_file_without_a_crs_is_refused(tmp_path):
    (said,) = refusals(tmp_path, SQUARES[:2], "parcels.gpkg", None)
    assert said.startswith("parcels.gpkg does not say its coordinate system")


@pytest.mark.parametrize("name", ["x\u202ey", "a" * 201, "  "])
def test_a_name_that_hides_something_is_refused(tmp_path, name):
    feature = {
        "type": "Feature",
        "properties": {"name": name},
        "geometry": {
            "type": "Polygon",
            "coordinates": [[[15, 45], [15.01, 45], [15.01, 45.01], [15, 45]]],
        },
    }
    collection = {"type": "FeatureCollection", "features": [feature]}
    (tmp_path / "parcels.geojson").write_text(json.dumps(collection))
    if not name.strip():
        assert again(tmp_path).frame["name"].tolist() == ["?"]
        return
    with pytest.raises(SiteError, match="the name of shape 1"):
        again(tmp_path)


def test_parcels_off_the_elevation_are_named(tmp_path):
    found = read(tmp_path, SQUARES[:3], id=["A", "B", "C"])
    known = box(500000, 5000000, 500350, 5000500)
    (said,) = off_the_ground(found.frame, known)
    assert (said["number"], said["names"]) == (1, ["C"])
    assert off_the_ground(found.frame, known.buffer(5000)) == []
