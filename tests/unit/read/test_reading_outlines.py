"""Plots and surroundings from every format, and what is refused in them."""

import itertools
import json
import math
import zipfile

import geopandas as gpd
import pytest
import shapely
from made_up import say_all
from shapely.geometry import (
    GeometryCollection,
    LineString,
    MultiPolygon,
    Point,
    Polygon,
    box,
)

from fieldmap.read.outlines import files

HEDGE = {"height_m": 3.0, "porosity": 0.4, "leaf": "deciduous"}
TREE = {**HEDGE, "clear_stem_m": 1.5}


def plots_file(folder, name):
    """Name another file of plots in site.toml and take the usual one away."""
    folder.toml(f'name = "a"\n[files]\nplots = "{name}"\n')
    (folder.path / "plots.geojson").unlink(missing_ok=True)


def zipped(folder, inner, name="plots.zip", part=""):
    """A zip of a file and what belongs to it, at a place inside the zip."""
    with zipfile.ZipFile(folder.path / name, "w") as archive:
        for path in folder.path.glob(f"{inner}.*"):
            archive.write(path, f"{part}{path.name}")
            path.unlink()


def geojson(folder, *features):
    """Write plots as text, for shapes that no library would write."""
    collection = {"type": "FeatureCollection", "features": list(features)}
    (folder.path / "plots.geojson").write_text(json.dumps(collection))


def feature(coordinates, kind="Polygon", **facts):
    geometry = {"type": kind, "coordinates": coordinates}
    return {"type": "Feature", "properties": facts, "geometry": geometry}


def assert_is_the_plain_plot(site):
    """100 m by 60 m at 250 m east and 270 m north of the corner."""
    assert site.plots.crs == site.crs
    assert site.plots["name"].tolist() == ["Plot 1"]
    expected = box(520250, 5100270, 520350, 5100330)
    shape = site.plots.geometry.iloc[0]
    assert shape.symmetric_difference(expected).area < 0.1


# Formats


def test_geojson_is_read(site_folder):
    assert_is_the_plain_plot(site_folder.read())


def test_a_geopackage_is_read(site_folder):
    site_folder.plots(file="p.gpkg", crs="EPSG:3794")
    plots_file(site_folder, "p.gpkg")
    assert_is_the_plain_plot(site_folder.read())


def test_the_layer_called_plots_is_taken_from_several(site_folder, says):
    path = site_folder.path / "all.gpkg"
    site_folder.outlines("all.gpkg", {"name": ["x"]}, [Point(0, 0)], layer="trees")
    frame = gpd.read_file(site_folder.path / "plots.geojson")
    frame.to_file(path, layer="fields")
    plots_file(site_folder, "all.gpkg")
    says(site_folder.problem(), "all.gpkg", "trees or fields", "'plots'", "rename")
    frame.to_file(path, layer="plots")
    assert_is_the_plain_plot(site_folder.read())


@pytest.mark.parametrize("name", ["p.shp", "P.SHP"])
def test_a_shapefile_is_read_with_its_cut_column_names(site_folder, name):
    with pytest.warns((UserWarning, RuntimeWarning), match="10 char|laundered"):
        site_folder.plots(file="p.shp", wet_in_march=["yes"], soil=["Clay"])
    for path in site_folder.path.glob("p.*"):
        ending = path.suffix.upper() if name.isupper() else path.suffix
        path.rename(path.with_name(name[0] + ending))
    plots_file(site_folder, name)
    site = site_folder.read()
    assert_is_the_plain_plot(site)
    assert site.plots["wet_in_march"].tolist() == [True]
    assert site.plots["soil"].tolist() == ["clay"]
    assert {name[0] + ".dbf", name[0] + ".prj"} <= {
        key.replace(".DBF", ".dbf").replace(".PRJ", ".prj") for key in site.input_hashes
    }


@pytest.mark.parametrize("part", ["", "deep/inside/"], ids=["root", "sub-folder"])
def test_a_zipped_shapefile_is_read_wherever_it_lies_in_the_zip(site_folder, part):
    site_folder.plots(file="p.shp")
    zipped(site_folder, "p", part=part)
    plots_file(site_folder, "plots.zip")
    site = site_folder.read()
    assert_is_the_plain_plot(site)
    assert "plots.zip" in site.input_hashes


def test_a_zip_of_two_shapefiles_is_refused(site_folder, says):
    for name in ("p.shp", "q.shp"):
        site_folder.plots(file=name)
    zipped(site_folder, "[pq]")
    plots_file(site_folder, "plots.zip")
    says(site_folder.problem(), "plots.zip", "2 (", "p.shp", "zip one alone")


def test_what_only_ends_in_zip_is_refused(site_folder, says):
    (site_folder.path / "plots.zip").write_text("no zip")
    plots_file(site_folder, "plots.zip")
    says(site_folder.problem(), "plots.zip", "not a zip file", "zip it again")


@pytest.mark.parametrize(
    ("ending", "parts"),
    [
        (".prj", ("coordinate system", "p.prj")),
        (".dbf", (".dbf", "copy all files")),
        (".shx", (".shx", "copy all files")),
    ],
)
def test_a_shapefile_without_its_companions_is_refused(
    site_folder, says, ending, parts
):
    site_folder.plots(file="p.shp")
    (site_folder.path / f"p{ending}").unlink()
    plots_file(site_folder, "p.shp")
    says(site_folder.problem(), "p.shp", *parts)


def test_a_folder_in_place_of_a_prj_says_no_crs(site_folder, says):
    site_folder.plots(file="p.shp")
    (site_folder.path / "p.prj").unlink()
    (site_folder.path / "p.prj").mkdir()
    plots_file(site_folder, "p.shp")
    says(site_folder.problem(), "p.shp", "coordinate system")


def test_degrees_of_a_unit_of_their_own_are_no_place_on_earth(site_folder, says):
    site_folder.plots(file="p.shp")
    prj = site_folder.path / "p.prj"
    written = prj.read_text()
    prj.write_text(
        'GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,'
        '298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",-9223372036854775809]]'
    )
    assert written.startswith(("GEOGCS", "PROJCS"))
    plots_file(site_folder, "p.shp")
    says(site_folder.problem(), "p.shp", "outside the reach of its CRS")


def test_a_geopackage_without_crs_is_refused(site_folder, says):
    frame = gpd.GeoDataFrame({"name": ["a"]}, geometry=[box(0, 0, 9, 9)])
    with pytest.warns(UserWarning, match="crs"):
        frame.to_file(site_folder.path / "p.gpkg")
    plots_file(site_folder, "p.gpkg")
    says(site_folder.problem(), "p.gpkg", "CRS", "EPSG:4326")


@pytest.mark.parametrize(
    ("name", "content", "part"),
    [
        ("plots.geojson", b"", "is empty (0 bytes)"),
        ("plots.geojson", b"{nonsense", "cannot be read as outlines"),
        ("plots.gpkg", b"nonsense", "cannot be read as outlines"),
        (
            "plots.geojson",
            b'{"type": "FeatureCollection", "features": []}',
            "holds no outline",
        ),
        ("plots.kml", b"<kml/>", "'.kml', which fieldmap cannot read"),
    ],
    ids=["empty", "broken-json", "broken-gpkg", "no-feature", "other-format"],
)
def test_a_file_without_outlines_is_refused(site_folder, says, name, content, part):
    plots_file(site_folder, name)
    (site_folder.path / name).write_bytes(content)
    says(site_folder.problem(), name, part)


# Plots: what is given of them


def test_what_is_given_of_a_plot_is_kept_and_the_rest_stays_unknown(site_folder):
    shapes = [site_folder.box(200, y, 300, y + 30) for y in (200, 250, 300, 350)]
    site_folder.plots(
        shapes,
        ground=["Grass", None, "arable", ""],
        soil=["loam", None, None, "sand"],
        wet_in_march=[True, False, None, None],
    )
    plots = site_folder.read().plots
    assert plots["ground"].tolist() == ["grass", None, "arable", None]
    assert plots["soil"].tolist() == ["loam", None, None, "sand"]
    assert plots["wet_in_march"].tolist() == [True, False, None, None]


@pytest.mark.parametrize(
    ("given", "meant"),
    [("yes", True), ("No", False), ("TRUE", True), ("false", False), (1, True), (0, 0)],
)
def test_wet_in_march_is_yes_or_no_in_every_spelling(site_folder, given, meant):
    site_folder.plots(wet_in_march=[given])
    assert site_folder.read().plots["wet_in_march"].tolist() == [bool(meant)]


@pytest.mark.parametrize(
    ("column", "value", "parts"),
    [
        ("soil", "lome", ("soil 'lome'", "sand, loam or clay", "'loam'")),
        ("ground", "lawn", ("ground 'lawn'", "grass, arable, bare, wood or sealed")),
        ("wet_in_march", "maybe", ("wet_in_march 'maybe'", "true or false")),
        ("wet_in_march", 2, ("wet_in_march 2", "true or false")),
    ],
)
def test_an_unknown_word_is_refused_with_the_right_ones(
    site_folder, says, column, value, parts
):
    site_folder.plots(**{column: [value]})
    says(site_folder.problem(), "plots.geojson", "plot 'Plot 1'", *parts)


def test_a_column_that_is_nearly_right_is_remarked(site_folder, says):
    site_folder.plots(wet_march=["yes"], owner=["me"])
    remarks = [
        line for line in say_all(site_folder.read().remarks) if "plots.geojson" in line
    ]
    (remark,) = remarks
    says(remark, "'wet_march'", "'wet_in_march'")


def test_two_columns_for_one_fact_are_refused(site_folder, says):
    site_folder.plots(SOIL=["sand"], soil=["clay"])
    says(site_folder.problem(), "plots.geojson", "'SOIL'", "'soil'", "keep one")


def test_plots_without_a_name_are_lettered_past_those_that_have_one(site_folder):
    shapes = [site_folder.box(200, y, 300, y + 30) for y in (200, 250, 300)]
    site_folder.outlines("plots.geojson", {"name": [None, "a", ""]}, shapes)
    assert site_folder.read().plots["name"].tolist() == ["B", "a", "C"]


def test_numbers_are_names_too(site_folder):
    shapes = [site_folder.box(200, y, 300, y + 30) for y in (200, 250)]
    site_folder.outlines("plots.geojson", {"name": [7, None]}, shapes)
    assert site_folder.read().plots["name"].tolist() == ["7", "A"]


def test_two_plots_of_one_name_are_refused(site_folder, says):
    shapes = [site_folder.box(200, y, 300, y + 30) for y in (200, 250)]
    site_folder.outlines("plots.geojson", {"name": ["Top", "top"]}, shapes)
    says(site_folder.problem(), "plots.geojson", "2 plots", "'Top'", "its own name")


def test_markup_in_a_name_stays_as_it_is(site_folder):
    name = "<script>alert(1)</script> & 'co' \"x\""
    site_folder.outlines(
        "plots.geojson", {"name": [name]}, [site_folder.box(9, 9, 99, 99)]
    )
    assert site_folder.read().plots["name"].tolist() == [name]


@pytest.mark.parametrize(
    ("name", "parts"),
    [
        ("x" * 201, ("201 characters", "at most 200")),
        ("a\nb", ("'a\\nb'", "control character")),
    ],
    ids=["long", "line-break"],
)
def test_a_name_that_cannot_be_printed_is_refused(site_folder, says, name, parts):
    site_folder.outlines(
        "plots.geojson", {"name": [name]}, [site_folder.box(9, 9, 99, 99)]
    )
    says(site_folder.problem(), "plots.geojson", "shape 1", *parts)


# Plots: their shape


def test_a_plot_in_two_pieces_becomes_two_numbered_plots(site_folder, says):
    pieces = [site_folder.box(200, 200, 300, 250), site_folder.box(200, 300, 300, 350)]
    site_folder.plots([MultiPolygon(pieces)], soil=["clay"])
    site = site_folder.read()
    assert site.plots["name"].tolist() == ["Plot 1 1", "Plot 1 2"]
    assert site.plots["soil"].tolist() == ["clay", "clay"]
    assert set(site.plots.geom_type) == {"Polygon"}
    (remark,) = (line for line in say_all(site.remarks) if "plots.geojson" in line)
    says(remark, "'Plot 1'", "2 pieces")


def test_a_multipolygon_of_one_piece_is_a_plain_plot(site_folder):
    site_folder.plots([MultiPolygon([site_folder.box(250, 270, 350, 330)])])
    assert_is_the_plain_plot(site_folder.read())


def test_heights_of_corners_are_dropped(site_folder):
    flat = site_folder.box(250, 270, 350, 330)
    site_folder.plots([Polygon([(*corner, 77.0) for corner in flat.exterior.coords])])
    site = site_folder.read()
    assert not site.plots.has_z.any()
    assert_is_the_plain_plot(site)


def test_a_self_crossing_outline_is_refused_with_the_place_of_the_crossing(
    site_folder, says
):
    bow_tie = [[15.262, 46.053], [15.264, 46.055], [15.264, 46.053], [15.262, 46.055]]
    geojson(site_folder, feature([[*bow_tie, bow_tie[0]]], name="North"))
    says(
        site_folder.problem(),
        "plots.geojson",
        "plot 'North'",
        "crosses or touches itself at 15.263, 46.054",
        "move the corners",
    )


@pytest.mark.parametrize(
    "corners",
    [
        pytest.param([[15.262, 46.053], [15.263, 46.053], [15.264, 46.053]], id="line"),
        pytest.param([[15.262, 46.053]] * 3, id="point"),
        pytest.param(
            [[15.262, 46.053], [15.262005, 46.053], [15.262, 46.053005]], id="speck"
        ),
    ],
)
def test_a_plot_without_area_is_refused(site_folder, says, corners):
    geojson(site_folder, feature([[*corners, corners[0]]], name="North"))
    says(site_folder.problem(), "plots.geojson", "plot 'North'", "m²", "three or more")


def test_a_corner_on_another_continent_is_refused(site_folder, says):
    # The outline is sound in degrees and crosses itself in metres.
    ring = [[15.262, 46.053], [15.264, 46.053], [15.264, 46.055], [100.0, 46.0]]
    geojson(site_folder, feature([[*ring, ring[0]]], name="North"))
    says(site_folder.problem(), "plots.geojson", "'North'", "km across", "corner")


def test_text_that_is_not_utf8_is_refused(site_folder, says):
    path = site_folder.path / "plots.geojson"
    path.write_bytes(path.read_bytes().replace(b"Plot 1", b"Caf\xe9"))
    says(site_folder.problem(), "plots.geojson", "Caf", "not UTF-8")


def test_an_outline_that_does_not_close_is_refused(site_folder, says):
    corners = [[15.262, 46.053], [15.264, 46.053], [15.264, 46.055]]
    geojson(site_folder, feature([corners], name="North"))
    says(
        site_folder.problem(), "plots.geojson", "cannot be built", "ends where it began"
    )


@pytest.mark.parametrize(
    ("shape", "part"),
    [
        (LineString([(520200, 5100200), (520300, 5100300)]), "LineString"),
        (Point(520300, 5100300), "Point"),
        (GeometryCollection([Point(520300, 5100300)]), "GeometryCollection"),
    ],
    ids=["line", "point", "collection"],
)
def test_a_plot_that_is_not_drawn_as_an_area_is_refused(site_folder, says, shape, part):
    site_folder.plots([shape])
    says(site_folder.problem(), "plots.geojson", "'Plot 1'", part, "closed area")


def test_a_row_without_outline_is_refused(site_folder, says):
    site_folder.plots([site_folder.box(250, 270, 350, 330), None])
    says(site_folder.problem(), "plots.geojson", "'Plot 2'", "no outline", "delete")


def test_overlapping_plots_are_refused_with_the_area_in_common(site_folder, says):
    site_folder.plots(
        [site_folder.box(200, 200, 300, 300), site_folder.box(290, 200, 400, 300)]
    )
    says(
        site_folder.problem(),
        "plots.geojson",
        "'Plot 1' and 'Plot 2'",
        "1000 m²",
        "edge once",
    )


def test_more_plots_than_a_plan_is_made_of_are_refused(site_folder, says):
    """Each is looked at beside each other; two thousand on one place took minutes."""
    site_folder.plots([site_folder.box(250, 270, 350, 330)] * 501)
    says(site_folder.problem(), "plots.geojson holds 501 plots", "at most 500")


def test_pieces_of_a_plot_count_too(site_folder, says):
    boxes = [site_folder.box(n * 2, 0, n * 2 + 1, 1) for n in range(501)]
    site_folder.plots([MultiPolygon(boxes)])
    says(site_folder.problem(), "holds 501 plots")


def test_overlaps_are_looked_for_no_further_than_they_are_asked_for(monkeypatch):
    asked = []
    monkeypatch.setattr(files, "_SHAPES_AT_ONCE", 2)
    tree = shapely.STRtree
    monkeypatch.setattr(shapely, "STRtree", lambda every: Counted(tree(every), asked))
    found = files.overlaps([box(0, 0, 1, 1)] * 9, 0.1)
    assert list(itertools.islice(found, 3)) == [(0, n, 1.0) for n in (1, 2, 3)]
    assert asked == [2]
    assert len([*found]) == 9 * 8 / 2 - 3  # all other pairs of nine


class Counted:
    """A tree that notes how many shapes it is asked for."""

    def __init__(self, tree, asked):
        self._tree, self._asked = tree, asked

    def query(self, shapes, **how):
        self._asked.append(len(shapes))
        return self._tree.query(shapes, **how)


def test_neighbours_that_overlap_by_a_sliver_are_accepted(site_folder):
    site_folder.plots(
        [site_folder.box(200, 200, 300, 300), site_folder.box(299.7, 200, 400, 300)]
    )
    assert len(site_folder.read().plots) == 2


@pytest.mark.parametrize(
    ("corner", "parts"),
    [
        ((46.05, 115.26), ("latitude 115.2", "swapped", "longitude comes first")),
        ((15.26, 95.0), ("latitude 95", "±90", "swapped")),
        ((215.0, 46.05), ("longitude 215", "±180", "-180 to 180")),
        ((520250.0, 5100270.0), ("look like metres", "CRS")),
    ],
    ids=["swapped", "beyond-the-pole", "beyond-180", "metres"],
)
def test_coordinates_that_are_no_place_on_earth_are_refused(
    site_folder, says, corner, parts
):
    west, south = corner
    ring = [[west, south], [west + 0.01, south], [west, south + 0.01], [west, south]]
    geojson(site_folder, feature([ring], name="North"))
    says(site_folder.problem(), "plots.geojson", *parts)


def test_coordinates_out_of_reach_of_their_crs_are_refused(site_folder, says):
    frame = gpd.GeoDataFrame(
        {"name": ["a"]}, geometry=[box(1e9, 1e9, 1e9 + 9, 1e9 + 9)], crs="EPSG:32633"
    )
    frame.to_file(site_folder.path / "p.gpkg")
    plots_file(site_folder, "p.gpkg")
    says(site_folder.problem(), "p.gpkg", "1000000000", "CRS", "UTM zone 33N")


# Surroundings


def around_of(folder, *things):
    folder.surroundings(*things)
    return folder.read().surroundings


def test_lines_and_points_are_widened_and_areas_are_kept(site_folder):
    line = LineString([(520100, 5100100), (520150, 5100100)])
    around = around_of(
        site_folder,
        ("hedge", line, HEDGE | {"width_m": 2.0}),
        ("tree", Point(520100, 5100200), TREE | {"width_m": 6.0}),
        ("building", site_folder.box(400, 400, 420, 410), {"height_m": 6.0}),
    )
    areas = around.geometry.area.tolist()
    assert areas[0] == pytest.approx(100.0, rel=1e-3)  # 50 m by 2 m, ends flat
    assert areas[1] == pytest.approx(math.pi * 9, rel=0.02)  # a crown of 6 m
    assert areas[2] == pytest.approx(200.0, rel=1e-3)
    assert around["kind"].tolist() == ["hedge", "tree", "building"]
    assert around.crs == site_folder.crs


def test_gates_water_points_and_wires_stay_as_drawn(site_folder):
    wire = LineString([(520100, 5100100), (520150, 5100100)])
    around = around_of(
        site_folder,
        ("gate", Point(520100, 5100200), {"width_m": 4.0}),
        ("water point", Point(520110, 5100200), {}),
        ("overhead line", wire, {"height_m": 8.0}),
    )
    assert around.geom_type.tolist() == ["Point", "Point", "LineString"]
    assert around["height_m"].tolist()[2] == 8.0


def test_what_a_word_means_by_itself_is_filled_in_and_nothing_else(site_folder):
    around = around_of(
        site_folder,
        ("Wall", site_folder.box(9, 9, 19, 19), {"height_m": 2.0, "name": "Old"}),
        ("keep_off", site_folder.box(29, 9, 39, 19), {"height_m": 0.0}),
    )
    assert around["kind"].tolist() == ["wall", "keep off"]
    assert around["name"].tolist() == ["Old", "keep off"]
    assert around.loc[0, ["porosity", "clear_stem_m", "leaf"]].tolist() == [
        0,
        0,
        "none",
    ]
    assert math.isnan(around.loc[1, "height_m"])
    assert math.isnan(around.loc[1, "porosity"])


def test_shapes_of_several_parts_become_several_rows(site_folder):
    parts = MultiPolygon(
        [site_folder.box(9, 9, 19, 19), site_folder.box(29, 9, 39, 19)]
    )
    around = around_of(site_folder, ("building", parts, {"height_m": 5.0}))
    assert around.geom_type.tolist() == ["Polygon", "Polygon"]
    assert around["height_m"].tolist() == [5.0, 5.0]


AREA = box(520400, 5100400, 520420, 5100410)
LINE = LineString([(520100, 5100100), (520150, 5100100)])
SPOT = Point(520100, 5100100)


@pytest.mark.parametrize(
    ("kind", "shape", "facts", "parts"),
    [
        ("hegde", AREA, HEDGE, ("'hegde'", "building, hedge, tree", "'hedge'")),
        (None, AREA, HEDGE, ("no kind", "building, hedge")),
        ("hedge", AREA, HEDGE | {"height_m": None}, ("without height_m", "metres")),
        ("hedge", AREA, HEDGE | {"height_m": 0.0}, ("height_m 0", "more than 0")),
        ("hedge", AREA, HEDGE | {"height_m": 151.0}, ("height_m 151", "at most 150")),
        ("hedge", AREA, HEDGE | {"height_m": "3,5"}, ("height_m '3,5'", "point")),
        ("hedge", AREA, HEDGE | {"porosity": None}, ("without porosity", "0 (dense)")),
        ("fence", AREA, {"height_m": 2.0}, ("without porosity", "1 (open)")),
        ("hedge", AREA, HEDGE | {"porosity": 40.0}, ("porosity 40", "from 0 (dense)")),
        ("hedge", AREA, HEDGE | {"leaf": None}, ("without leaf", "deciduous, ever")),
        ("hedge", AREA, HEDGE | {"leaf": "broad"}, ("leaf 'broad'", "evergreen or")),
        ("trees", AREA, HEDGE, ("without clear_stem_m", "lowest branches")),
        ("trees", AREA, TREE | {"porosity": None}, ("without porosity",)),
        ("tree", AREA, TREE | {"clear_stem_m": 3.0}, ("clear_stem_m 3", "height_m 3")),
        ("tree", AREA, TREE | {"clear_stem_m": -1.0}, ("clear_stem_m -1", "0 or more")),
        ("hedge", LINE, HEDGE, ("LineString without width_m", "as an area")),
        ("tree", SPOT, TREE, ("Point without width_m", "width in metres")),
        ("hedge", LINE, HEDGE | {"width_m": -2.0}, ("width_m -2", "more than 0")),
        ("road", LINE, {}, ("LineString without width_m",)),
        ("overhead line", LINE, {}, ("without height_m", "lowest wire")),
        ("overhead line", AREA, {"height_m": 8.0}, ("Polygon", "draw a line")),
        ("road", AREA, {"height_m": 2.0}, ("lies on the ground", "height_m 2")),
    ],
)
def test_a_fact_that_is_missing_or_impossible_is_refused(
    site_folder, says, kind, shape, facts, parts
):
    site_folder.surroundings((kind, shape, facts | {"name": "Long One"}))
    problem = site_folder.problem()
    says(problem, "surroundings.geojson", "shape 1 ('Long One')", *parts)


def test_every_missing_fact_of_every_shape_is_reported_at_once(site_folder):
    site_folder.surroundings(("hedge", LINE, {}), ("tree", SPOT, {}))
    problems = site_folder.problems()
    # A hedge: width, height, porosity, leaf; a tree: the same and its stem.
    assert len(problems) == 9
    assert sum("shape 1" in problem for problem in problems) == 4


def test_a_self_crossing_building_is_refused(site_folder, says):
    corners = [
        (520400, 5100400),
        (520420, 5100420),
        (520420, 5100400),
        (520400, 5100420),
    ]
    site_folder.surroundings(("building", Polygon(corners), {"height_m": 5.0}))
    says(site_folder.problem(), "surroundings.geojson", "shape 1", "crosses", "15.26")


def test_without_a_file_nothing_stands_around_and_that_is_said(site_folder, says):
    site = site_folder.read()
    assert len(site.surroundings) == 0
    assert {"kind", "height_m", "porosity", "clear_stem_m", "leaf", "name"} <= set(
        site.surroundings.columns
    )
    assert site.surroundings.crs == site.crs
    (remark,) = (
        line for line in say_all(site.remarks) if "surroundings.geojson" in line
    )
    says(remark, "no hedge, tree or building")


def test_a_file_that_is_named_must_be_there(site_folder, says):
    site_folder.toml('name = "a"\n[files]\nsurroundings = "around.gpkg"\n')
    says(site_folder.problem(), "around.gpkg is missing", "[files]", "site.toml")


def test_shapes_off_the_elevation_are_remarked_and_all_of_them_refused(
    site_folder, says
):
    far = ("building", site_folder.box(5000, 0, 5010, 10), {"height_m": 5.0})
    near = ("building", site_folder.box(10, 0, 20, 10), {"height_m": 5.0})
    site_folder.surroundings(near, far)
    (remark,) = (
        line for line in say_all(site_folder.read().remarks) if "surround" in line
    )
    says(remark, "1 of 2 shapes", "does not count them")
    site_folder.surroundings(far)
    says(site_folder.problem(), "surroundings.geojson", "none of the 1", "CRS")


@pytest.mark.parametrize(
    ("given", "meant"),
    [("04-10", (4, 10)), ("4-1", (4, 1)), ("02-29", (2, 29)), (None, None)],
)
def test_the_first_day_on_the_ground_is_a_month_and_a_day(site_folder, given, meant):
    site_folder.plots(first_worked=[given])
    assert site_folder.read().plots["first_worked"].tolist() == [meant]


@pytest.mark.parametrize("given", ["10 April", "04-31", "13-01", "-"])
def test_any_other_first_day_is_refused_with_the_right_form(site_folder, says, given):
    site_folder.plots(first_worked=[given])
    says(site_folder.problem(), "plots.geojson", "first_worked", "such as", "04-10")


def test_a_corner_in_another_part_of_the_world_is_refused(site_folder, says):
    corners = [(500, 400), (-700_000, 420), (520, 440), (540, 400)]
    shape = Polygon([(site_folder.west + e, site_folder.south + n) for e, n in corners])
    site_folder.surroundings(
        ("building", shape, {"height_m": 5.0, "name": "Barn"}),
        ("tree", SPOT, TREE | {"width_m": 6.0}),
    )
    problem = site_folder.problem()
    says(problem, "surroundings.geojson", "'Barn' is 701 km across", "up to 100 km")


def test_an_outline_that_crosses_itself_only_once_it_is_in_metres_is_read(site_folder):
    """A parallel of 774 m bends 12 mm off its chord, a notch ends 5 mm from it."""
    south, north, west, east = 46.055, 46.056, 15.26, 15.27
    tip = ((west + east) / 2, south + 0.005 / 111_200)
    notch = [(15.2651, north), tip, (15.2649, north)]
    corners = [(west, south), (east, south), (east, north), *notch, (west, north)]
    shape = Polygon(corners)
    assert shape.is_valid
    table = [{"name": "Barn", "kind": "building", "height_m": 5.0}]
    frame = gpd.GeoDataFrame(table, geometry=[shape], crs=4326)
    assert not frame.to_crs(site_folder.crs).is_valid.all()
    frame.to_file(site_folder.path / "surroundings.geojson")
    assert site_folder.read().surroundings.is_valid.all()


def test_things_out_of_the_reach_of_a_projection_are_outside(site_folder, says):
    """The transverse Mercator projection has no place for a point on the equator 90° off
    its meridian (Snyder 1987, USGS Professional Paper 1395, p. 48)."""
    house = {"name": "Barn", "height_m": 5.0}
    site_folder.surroundings(("building", site_folder.box(230, 280, 240, 300), house))
    path = site_folder.path / "surroundings.geojson"
    table = json.loads(path.read_text())
    edge = [[105, 0], [105.001, 0], [105.001, 0.001], [105, 0]]
    table["features"][0]["geometry"] = {"type": "Polygon", "coordinates": [edge]}
    path.write_text(json.dumps(table))
    says(site_folder.problem(), "none of the 1 shapes lies on the elevation")
