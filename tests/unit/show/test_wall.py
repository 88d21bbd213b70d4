"""The sheet for the shed wall says in each box what lies where, and when to open it."""

from datetime import UTC, date, datetime
from types import SimpleNamespace

import pytest

from fieldmap.decide.tonight.advice import NOTHING_HELD, Held
from fieldmap.decide.tonight.matrix import Block, Cell, Laid, Line, Matrix
from fieldmap.decide.tonight.work import NightHours
from fieldmap.show.print import wall
from fieldmap.show.text.language import of_site, spoken

BEDS = ("B1", "B2", "B3")


def sheet(
    cells,
    beds=BEDS,
    owned="light_fabric",
    units="metric",
    tunnels=True,
    held=None,
    counted=99,
):
    line = Line(("kale",), ("",), beds, cells)
    used = SimpleNamespace(kind=owned, used_m=10.0, owned_m=60.0)
    matrix = Matrix(
        day=date(2026, 4, 15),
        until=date(2026, 4, 18),
        lows=tuple(range(len(cells))),
        blocks=(Block("Shelf", 6.0, 0.0, (line,)),),
        covers=tuple((used,) for _ in cells),
        held=held or (NOTHING_HELD,) * len(cells),
        minutes=(0,) * len(cells),
        night=NightHours(
            date(2026, 4, 15), datetime(2026, 4, 15, 19, 40, tzinfo=UTC), None
        ),
        plan_order=beds,
        has_tunnels=tunnels,
    )
    return wall.blocks(matrix, counted, units)[0]


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


@pytest.mark.parametrize(
    ("parts_m", "said"),
    [
        # Two pieces that meet are one stretch of the bed.
        (((6.0, 12.0), (0.0, 6.0)), "B1: 0 to 12 m"),
        (((0.0, 6.0), (9.0, 14.5)), "B1: 0 to 6 m and 9 to 14.5 m"),
    ],
)
def test_a_cover_over_a_part_of_the_only_bed_says_over_which_metres(parts_m, said):
    over = laid(("B1",) * 2)._replace(parts_m=tuple(("B1", *m) for m in parts_m))
    (box,) = boxes(Cell("short", (over,)), beds=("B1", "B1"))
    assert box["laid"][0]["beds"] == said


def test_a_cover_over_all_beds_names_none_and_there_is_no_rest():
    (box,) = boxes(Cell("cover", (laid(BEDS, is_all=True),)))
    assert box["laid"][0]["beds"] == ""
    assert box["word"] == ""


def test_where_nothing_is_laid_one_word_says_it_and_a_dash_that_nothing_is_needed():
    dash, word = boxes(Cell("leave", ()), Cell("short", ()))
    assert (dash["laid"], dash["word"]) == ([], "–")
    assert (word["laid"], word["word"]) == ([], "no cover left")


def test_the_sheet_says_for_which_evenings_it_holds_and_by_when_work_is_done():
    """Done an hour before a sunset at 19:40."""
    filled = sheet((Cell("leave", ()),)).matrix
    assert "from 15 April 2026 to 18 April 2026" in filled["holds_for"]
    assert filled["done_by"] == "Be done by 18:40."


@pytest.mark.parametrize(
    ("metres", "units", "printed", "carried"),
    [
        # 17.4 + 97.0 = 114.4: nothing changes.
        ((17.4, 97.0), "metric", ("17 m", "97 m"), "114 m"),
        # 16.55 + 97.7 = 114.25: 17 and 98 are one too many, and 16.55 is changed more.
        ((16.55, 97.7), "metric", ("16 m", "98 m"), "114 m"),
        # 1.4 + 2.45 + 3.4 = 7.25: 1, 2 and 3 are one too few, and 2.45 is changed most.
        ((1.4, 2.45, 3.4), "metric", ("1 m", "3 m", "3 m"), "7 m"),
        # 5 m are 16.404 ft, twice 32.81, so 33: one of the two is 17.
        ((5.0, 5.0), "us", ("17 ft", "16 ft"), "33 ft"),
    ],
)
def test_what_is_carried_is_the_sum_of_what_the_boxes_say(
    metres, units, printed, carried
):
    beds = ("B1", "B2", "B3")
    pieces = tuple(
        Laid("light_fabric", length_m, (name,), False, "likely")
        for name, length_m in zip(beds, metres, strict=False)
    )
    made = sheet((Cell("short", pieces),), beds, units=units).matrix
    (box,) = made["blocks"][0]["lines"][0]["cells"]
    assert tuple(laid["length"] for laid in box["laid"]) == printed
    assert made["carry"][0][1] == carried


@pytest.mark.parametrize(
    ("owned", "units", "is_said"),
    [
        # 90 °F, a trade page on perforated film, as on the sheet that builds its tunnel.
        (
            "slitted_film",
            "metric",
            "Take slitted film off before the air under it reaches 32 °C. Take it off cool-season crops sooner.",
        ),
        (
            "slitted_film",
            "us",
            "Take slitted film off before the air under it reaches 90 °F. Take it off cool-season crops sooner.",
        ),
        ("clear_film", "metric", ""),
    ],
)
def test_slitted_film_has_its_own_limit_where_it_is_owned(owned, units, is_said):
    (opens,) = sheet((Cell("leave", ()),), owned=owned, units=units).tomorrow.items
    assert opens.endswith(is_said)
    assert ("slitted" in opens) == bool(is_said)


def test_a_crop_that_is_not_up_says_why_it_has_a_dash():
    """Soil keeps a tuber whose shoots are not up yet (common practice, no source)."""
    line = Line(("garlic", "potato"), ("", "seed"), BEDS, (Cell("leave", ()),))
    whole = sheet((Cell("leave", ()),)).matrix
    assert whole["blocks"][0]["lines"][0]["crop"] == "Kale"
    made = wall._block(Block("Shelf", 6.0, 0.0, (line,)), BEDS, [{}], "metric")
    assert made["lines"][0]["crop"] == "Potatoes (not up yet) and garlic"
    assert made["lines"][0]["cells"][0]["word"] == "–"


def test_wind_is_looked_at_before_the_work_and_the_table_says_where_it_ends():
    wind, nothing, _tie, *_others, not_for = sheet((Cell("leave", ()),)).items
    assert wind.startswith("Before you begin")
    assert "forecast" in wind
    assert nothing == "Cover nothing."
    assert "In frost with wind this table is wrong" in not_for
    assert "colder than the last column" in not_for


def test_a_still_frosty_night_has_its_own_step_to_close_all_tunnels():
    without = sheet((Cell("leave", ()),), tunnels=False).items
    assert not [each for each in without if "close every door" in each]
    *_before, closes, _not_for = sheet((Cell("leave", ()),)).items
    assert closes.startswith("Frost? Before sunset, close every door and side")
    assert "still night" in closes


def test_hoops_and_weights_of_the_covers_stand_at_each_low():
    cells = (Cell("leave", ()), Cell("cover", (laid(BEDS, is_all=True),)))
    held = (NOTHING_HELD, Held(30, 64, 10.0, 0))
    assert sheet(cells, held=held).matrix["held"] == [
        ["hoops under these covers", "0", "30"],
        ["weights on their edges (10 kg each)", "0", "64"],
    ]
    enough, too_few = (
        sheet(cells, held=held, counted=number).matrix["held"][1][0]
        for number in (64, 63)
    )
    assert enough == "weights on their edges (10 kg each)"
    assert too_few == "weights on their edges (10 kg each, the plan counts 63)"
    with spoken(of_site("es", "metric")):
        _hoops, (said, *_numbers) = sheet(cells, held=held, counted=63).matrix["held"]
    assert said == "pesos en los bordes (10 kg cada uno, el plan cuenta con 63)"
    in_a_trench = (NOTHING_HELD, Held(30, 0, 0.0, 0))
    (hoops,) = sheet(cells, held=in_a_trench).matrix["held"]
    assert hoops[0] == "hoops under these covers"
    assert sheet(cells).matrix["held"] == []


def test_clips_of_covers_inside_tunnels_have_their_row():
    cells = (Cell("leave", ()), Cell("cover", (laid(BEDS, is_all=True),)))
    held = (NOTHING_HELD, Held(15, 0, 0.0, 30))
    assert sheet(cells, held=held).matrix["held"] == [
        ["hoops under these covers", "0", "15"],
        ["clips inside tunnels", "0", "30"],
    ]
    with spoken(of_site("es", "metric")):
        _hoops, clips = sheet(cells, held=held).matrix["held"]
    assert clips == ["pinzas dentro de los túneles", "0", "30"]


def test_no_words_of_a_sheet_in_feet_are_of_metres():
    """The stretch of a bed that is covered is in feet there too."""
    said = str(sheet((Cell("leave", ()),), units="us"))
    assert "Lengths on a bed begin at its gate end." in said
    assert "metre" not in said
