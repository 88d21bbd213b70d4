"""Beds that lie there already: read as drawn, and refused in words."""

from datetime import date

import pytest
from shapely.affinity import rotate
from shapely.geometry import Point, Polygon

from fieldmap.decide.layout.beds import Bed
from fieldmap.model.field_log import PastBed
from fieldmap.read.outlines import own_beds
from fieldmap.show.files import kept_beds

TOML = 'name = "Hill Farm"\n[files]\nbeds = "beds.geojson"\n'


@pytest.fixture
def folder(site_folder):
    site_folder.toml(TOML)
    return site_folder


def strips(folder, count, width_m=1.2, length_m=20.0):
    """Beds side by side on the plot, 2 m from one to the next."""
    return [
        folder.box(260, 280 + 2 * at, 260 + length_m, 280 + 2 * at + width_m)
        for at in range(count)
    ]


def drawn(folder, shapes, names=None, **columns):
    values = {"name": names or [f"Old {at}" for at in range(1, len(shapes) + 1)]}
    folder.outlines("beds.geojson", values | columns, shapes)
    return folder


def says(sentence, *parts):
    for part in parts:
        assert part in sentence


def test_beds_lie_where_they_were_drawn_and_keep_their_names(folder):
    shapes = strips(folder, 2)
    there = drawn(folder, shapes).read()
    assert [bed.name for bed in there.own_beds] == ["Old 1", "Old 2"]
    assert there.plots_with_beds == {"Plot 1"}
    for bed, shape in zip(there.own_beds, shapes, strict=True):
        assert bed.outline.area == pytest.approx(24.0, rel=1e-4)
        assert bed.outline.symmetric_difference(shape).area < 0.01


def test_a_plot_may_be_given_for_some_beds_and_not_for_others(folder):
    there = drawn(folder, strips(folder, 2), plot=["Plot 1", None]).read()
    assert [bed.plot for bed in there.own_beds] == ["Plot 1", "Plot 1"]


def test_a_shaky_hand_still_draws_a_rectangle(folder):
    shaky = rotate(strips(folder, 1)[0], 20).segmentize(2.0)
    wobbly = Polygon(
        [
            (x + 0.02 * (at % 2), y - 0.02 * (at % 2))
            for at, (x, y) in enumerate(shaky.exterior.coords[:-1])
        ]
    )
    (bed,) = drawn(folder, [wobbly]).read().own_beds
    assert len(bed.outline.exterior.coords) == 5
    assert bed.outline.area == pytest.approx(24.0, rel=0.05)


@pytest.mark.parametrize("turn_deg", [0, 20, 45, 110])
def test_a_bed_begins_where_its_outline_does_whichever_way_round_that_goes(
    folder, turn_deg
):
    """So a bed that was kept keeps its end towards the gate, from which its parts count."""
    (strip,) = strips(folder, 1)
    corners = list(rotate(strip, turn_deg).exterior.coords)[:4]
    ways = [
        [*way[at:], *way[:at]] for way in (corners, corners[::-1]) for at in range(4)
    ]
    for way in ways:
        (bed,) = drawn(folder, [Polygon(way)]).read().own_beds
        found = list(bed.outline.exterior.coords)[:4]
        for corner, begun in zip(found, way, strict=True):
            assert Point(corner).distance(Point(begun)) < 0.02


@pytest.mark.parametrize(
    ("columns", "parts"),
    [
        ({"names": ["Old", None]}, ("bed 2 of 2", "no name")),
        ({"names": ["Old", "OLD"]}, ("2 beds", "'Old'", "own name")),
        ({"plot": ["Plot 1", "Plot 9"]}, ("'Old 2'", "'Plot 9'", "Plot 1")),
    ],
)
def test_names_and_plots_that_cannot_be_are_refused(folder, columns, parts):
    says(drawn(folder, strips(folder, 2), **columns).problem(), "beds.geojson", *parts)


def test_beds_of_an_impossible_shape_are_refused(folder):
    corner = (folder.west + 260, folder.south + 280)
    triangle = Polygon(
        [corner, (corner[0] + 20, corner[1]), (corner[0], corner[1] + 5)]
    )
    for shape, words in (
        (triangle, "far from a rectangle"),
        (folder.box(260, 280, 262, 280.1), "0.10 m wide"),
        (folder.box(251, 271, 281, 291), "20.00 m wide"),
        (folder.box(100, 100, 120, 101), "is not inside one plot"),
        (Point(folder.west + 300, folder.south + 300), "not a closed area"),
    ):
        says(drawn(folder, [shape]).problem(), "'Old 1'", words)


def test_a_bed_must_not_be_called_as_a_new_one_of_another_plot(folder):
    other = folder.box(400, 270, 440, 330)
    folder.plots([folder.box(250, 270, 350, 330), other])
    drawn(folder, strips(folder, 2), names=["A1", "B2"])
    # The first plot keeps its own beds, so nothing else is called A1 there.
    says(folder.problem(), "'B2'", "'Plot 2'", "another name")


def test_beds_that_lie_over_each_other_are_refused_and_a_hand_is_not(folder):
    first = folder.box(260, 280, 280, 281)
    drawn(folder, [first, folder.box(260, 280.5, 280, 281.5)])
    says(folder.problem(), "'Old 1' and 'Old 2' overlap", "10.0 m²")
    drawn(folder, [first, folder.box(260, 280.95, 280, 281.95)])
    assert len(folder.read().own_beds) == 2


def test_beds_that_were_planned_and_kept_say_that_they_are_not_pegged(folder):
    there = drawn(
        folder,
        strips(folder, 3),
        pegged=["no", "Yes", None],
        path_within_m=[0.3, None, None],
    ).read()
    assert [bed.pegged for bed in there.own_beds] == [False, True, True]
    assert [bed.path_within_m for bed in there.own_beds] == [0.3, 0.0, 0.0]


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("pegged", "soon"),
        ("path_within_m", -0.1),
        ("path_within_m", "wide"),
        ("length_m", 2001.0),
    ],
)
def test_what_is_given_of_a_kept_bed_must_be_right(folder, column, value):
    drawn(folder, strips(folder, 1), **{column: [value]})
    says(folder.problems()[0], "'Old 1'", column, str(value))


def test_beds_are_read_where_their_file_lies_without_being_named(folder):
    folder.toml()  # names no file
    assert len(drawn(folder, strips(folder, 2)).read().own_beds) == 2


def test_kept_beds_come_back_with_names_and_shapes(folder):
    """A bed turned by 20°, to a millimetre; what the grower drew stays as it is."""
    site = drawn(folder, strips(folder, 1)).read()
    outline = rotate(folder.box(300, 290, 301.2, 310), 20)
    planned = Bed("A1", "Plot 1", outline, 20.0, 1.2, 0.0, path_within_m=0.4)
    path = folder.path / "beds.geojson"
    assert kept_beds.write_beds([planned], ["Old 1"], site.crs, path) == 1
    assert kept_beds.write_beds([planned], ["Old 1", "a1"], site.crs, path) == 0
    old, kept = folder.read().own_beds
    assert old == site.own_beds[0]
    assert (kept.name, kept.plot, kept.pegged) == ("A1", "Plot 1", False)
    assert (kept.path_within_m, kept.length_m) == (0.4, 20.0)
    assert kept.outline.hausdorff_distance(outline) < 0.001


def test_the_ground_of_history_comes_back(folder):
    outline = rotate(folder.box(300, 290, 301.2, 310), 20)
    past = [
        PastBed("happened.csv", "A1", date(2025, 5, 1), (), outline),
        PastBed("last_year.csv", "A1", None, ("kale", "snap bean"), outline),
        PastBed(None, "A1", None, (), outline),
    ]
    folder.toml()
    site = folder.read()
    kept_beds.write_past(past, site.crs, folder.path / "past_beds.geojson")
    found = folder.read().past_beds
    assert [each[:4] for each in found] == [each[:4] for each in past]
    assert found[0].outline.hausdorff_distance(outline) < 0.001


def test_the_ground_of_history_must_be_outlines_of_beds(folder):
    shapes = [folder.box(300, 290, 301, 310), Point(folder.west, folder.south)]
    table = {
        "file": ["happened.csv", None],
        "bed": [None, "A1"],
        "until": ["May", None],
    }
    folder.toml()
    folder.outlines("past_beds.geojson", table, shapes)
    found = folder.problems()
    says(found[0], "past_beds.geojson: shape 1", "bed")
    says(found[1], "shape 1", "'May'", "2026-05-14")
    says(found[2], "shape 2", "not a closed area")


def test_more_beds_than_a_plan_holds_are_refused(site_folder, says, monkeypatch):
    monkeypatch.setattr(own_beds, "MOST_BEDS", 1)
    boxes = [site_folder.box(260, y, 280, y + 1) for y in (280, 290)]
    site_folder.outlines("beds.geojson", {"name": ["one", "two"]}, boxes)
    says(site_folder.problem(), "beds.geojson holds 2 beds", "at most 1")


def test_of_many_bad_beds_the_first_are_said_and_the_rest_counted(site_folder):
    thin = [site_folder.box(260, 280, 280, 281).exterior] * 60
    names = [f"old {number}" for number in range(60)]
    site_folder.outlines("beds.geojson", {"name": names}, thin)
    said = site_folder.problems()
    assert len(said) == 51
    assert said[-1] == "beds.geojson: 10 more of this kind."
