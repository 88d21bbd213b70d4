"""The sheet for the shed wall says in each box what lies where, and when to open it."""

from datetime import date
from types import SimpleNamespace

import pytest

from fieldmap.decide.tonight.matrix import Block, Cell, Laid, Line, Matrix
from fieldmap.show.print import wall

BEDS = ("B1", "B2", "B3")


def sheet(cells, beds=BEDS, owned="light_fabric", units="metric"):
    line = Line(("kale",), beds, cells)
    used = SimpleNamespace(kind=owned, used_m=10.0, owned_m=60.0)
    matrix = Matrix(
        day=date(2026, 4, 15),
        lows=tuple(range(len(cells))),
        blocks=(Block("Shelf", 6.0, 0.0, (line,)),),
        covers=tuple((used,) for _ in cells),
        minutes=(0,) * len(cells),
        hours=(),
        plan_order=beds,
    )
    return wall.blocks(matrix, units)[0]


def boxes(*cells, beds=BEDS):
    return sheet(cells, beds).matrix["blocks"][0]["lines"][0]["cells"]


def laid(beds, is_all=False):
    return Laid("light_fabric", 17.4, beds, is_all, "likely")


def test_a_cover_over_some_beds_names_them_and_what_the_rest_gets():
    (box,) = boxes(Cell("odds", (laid(("B1", "B2")),)))
    assert box["laid"][0]["length"] == "17 m"
    assert box["laid"][0]["beds"] == "B1 and B2"
    assert box["word"] == "the rest: likely safe"


def test_a_cover_over_a_part_of_the_only_bed_says_so():
    (box,) = boxes(Cell("short", (laid(("B1",)),)), beds=("B1",))
    assert box["laid"][0]["beds"] == "a part of B1"
    assert box["word"] == "the rest: no cover left"


def test_a_cover_over_all_beds_names_none_and_there_is_no_rest():
    (box,) = boxes(Cell("cover", (laid(BEDS, is_all=True),)))
    assert box["laid"][0]["beds"] == ""
    assert box["word"] == ""


def test_where_nothing_is_laid_one_word_says_it():
    (box,) = boxes(Cell("leave", ()))
    assert (box["laid"], box["word"]) == ([], "no cover")


@pytest.mark.parametrize(
    ("owned", "units", "is_said"),
    [
        # 90 °F, a trade page on perforated film, as on the sheet that builds its tunnel.
        ("slitted_film", "metric", "Take slitted film off before it is 32 °C outside."),
        ("slitted_film", "us", "Take slitted film off before it is 90 °F outside."),
        ("clear_film", "metric", ""),
    ],
)
def test_slitted_film_has_its_own_limit_where_it_is_owned(owned, units, is_said):
    (opens,) = sheet((Cell("leave", ()),), owned=owned, units=units).tomorrow.items
    assert opens.endswith(is_said)
    assert ("slitted" in opens) == bool(is_said)
