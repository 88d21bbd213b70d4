"""What the sheet says before one signs, on beds whose places are known."""

from types import SimpleNamespace

import geopandas as gpd
import pytest
import shapely

from fieldmap.show.print import before_you_sign
from fieldmap.show.text.language import of_site, spoken


def ranked(name, early, slope_percent=2.0, chance=0.5):
    bed = SimpleNamespace(name=name, area_m2=15.0)
    return SimpleNamespace(
        bed=bed,
        ranks=SimpleNamespace(early=early),
        slope_percent=slope_percent,
        earliness=SimpleNamespace(among_first_share=chance),
    )


@pytest.mark.parametrize(
    ("places", "said"),
    [
        # The list is in the order of the ground, and not in that of planting.
        (
            (3, 1, 2),
            "bed B, the first that you can plant. Dig the other hole at bed A, the last that you can plant.",
        ),
        (
            (1, 2, 2),
            "bed A, the first that you can plant. Dig the other hole at bed B, the last that you can plant.",
        ),
        ((1, 1, 1), "bed A and one at bed C."),
    ],
)
def test_holes_are_dug_where_planting_begins_and_ends(places, said):
    beds = [ranked(name, place) for name, place in zip("ABC", places, strict=True)]
    (where,) = (block.text for block in before_you_sign._holes(beds) if _is_text(block))
    assert f"Dig one hole at {said}" in where
    assert where.startswith("Before you dig, call the utility locating service.")


@pytest.mark.parametrize("beds", [(), (ranked("A", 1),)])
def test_without_two_beds_holes_are_dug_far_apart_and_pipes_are_asked_for_first(beds):
    (where,) = (block.text for block in before_you_sign._holes(beds) if _is_text(block))
    assert where.startswith("Before you dig, call the utility locating service.")
    assert "at two places that are far apart" in where


def test_of_beds_that_share_a_place_the_surest_are_dug_at():
    beds = [
        ranked("A", 1, chance=0.5),
        ranked("B", 1, chance=0.9),
        ranked("C", 3, chance=0.2),
        ranked("D", 3, chance=0.1),
    ]
    said = before_you_sign._hole_where(beds)
    dug = "Dig one hole at bed B, the first that you can plant. Dig the other hole at bed D,"
    assert dug in said


def test_the_levellest_and_the_steepest_bed_are_named_by_their_fall():
    """1 % is 10 cm in 10 m, 6 % is 60; three beds of 15 m² are 45 m²."""
    beds = [ranked("A", 1, 3.0), ranked("B", 2, 1.0), ranked("C", 3, 6.0)]
    said = before_you_sign._falls(beds, "metric")
    assert "10 cm in 10 m" in said.split("steepest")[0]
    assert "60 cm in 10 m" in said.split("steepest")[1]
    assert "45 m²" in said


def _is_text(block):
    return type(block).__name__ == "Text"


@pytest.mark.parametrize(
    ("plots", "said"), [(1, "no part of the plot"), (2, "no plot")]
)
def test_where_nothing_comes_first_one_plot_is_not_set_beside_others(plots, said):
    known = SimpleNamespace(first=SimpleNamespace(plots=()), plots=range(plots))
    assert before_you_sign._order(known).endswith(
        f"{said} can be planted before another."
    )


def test_where_no_bed_fits_the_sheet_says_so_and_counts_none_in_cold_air():
    place = SimpleNamespace(behind="", plots=("Home",), beds=())
    known = SimpleNamespace(beds=(), cold=[place])
    order, cold = before_you_sign._says(known, "metric")
    assert order == "No bed fits on these plots."
    assert cold.startswith("On still nights cold air lies")
    assert "beds" not in cold


def test_a_plot_in_grass_has_no_fence_yet_and_the_sheet_says_so():
    plots = gpd.GeoDataFrame(
        {"name": ["Home", "Brook"]},
        geometry=[shapely.box(0, 0, 48, 28), shapely.box(100, 0, 148, 28)],
    )
    none = gpd.GeoDataFrame({"kind": []}, geometry=[])
    known = SimpleNamespace(plots=plots, surroundings=none, in_grass={"Brook": 22})
    _head, table, note = before_you_sign._fence(known, "metric")
    assert [row[0] for row in table.rows] == ["Home"]
    assert "no fence around Brook yet" in note.text
    known.in_grass = {}
    _head, table, note = before_you_sign._fence(known, "metric")
    assert [row[0] for row in table.rows] == ["Home", "Brook"]
    assert "no fence" not in note.text
    assert "It stands 1 m outside the plot." in note.text
    _head, table, note = before_you_sign._fence(known, "us")
    assert "metre" not in note.text  # 1 m is 3 ft 3 in


@pytest.mark.parametrize("language", ["en", "es"])
def test_a_line_above_a_plot_in_grass_is_named_though_its_fence_waits(language):
    """The line is 7 m west of Brook, so 6 m from its fence. Home is 51 m away from it."""
    plots = gpd.GeoDataFrame(
        {"name": ["Home", "Brook"]},
        geometry=[shapely.box(0, 0, 42, 28), shapely.box(100, 0, 148, 28)],
    )
    around = gpd.GeoDataFrame(
        {"kind": ["overhead line"]},
        geometry=[shapely.LineString([(93, -50), (93, 80)])],
    )
    known = SimpleNamespace(plots=plots, surroundings=around, in_grass={"Brook": 22})
    with spoken(of_site(language, "metric")):
        _head, _table, note = before_you_sign._fence(known, "metric")
    line = {
        "en": "An overhead power line lies less than 9 m from a fence around Brook.",
        "es": "Hay una línea eléctrica aérea a menos de 9 m de una cerca alrededor de Brook.",
    }[language]
    assert line in note.text.replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("plots", "heads"),
    [
        (["Shelf"], ["Found"]),
        (["Shelf", "Barn Garden"], ["Shelf", "Barn Garden"]),
        # Names of one long word, or of many plots, leave no room to write in.
        (["Shelf", "Streuobstwiese"], ["Found"]),
        (list("ABCDE"), ["Found"]),
    ],
)
def test_each_plot_has_a_place_for_its_own_sample_of_soil(plots, heads):
    _heading, how, table = before_you_sign._soil(plots)
    assert list(table.head) == ["", *heads, "Limit here"]
    assert {len(row) for row in table.rows} == {len(table.head)} == {len(table.widths)}
    assert sum(table.widths) == pytest.approx(1.0)
    is_copied = len(plots) > 1 and heads == ["Found"]
    assert ("Copy this table for each plot." in how.text) == is_copied
    assert ("In each plot" in how.text) == (len(plots) > 1)
