"""Answers change their own line of `site.toml`, and every comment stays."""

import tomllib
from pathlib import Path

import pytest

from fieldmap.errors import SiteError
from fieldmap.model.settings import Station
from fieldmap.read.start.choices import with_answers, with_more
from fieldmap.read.start.folder import (
    other_station,
    with_file_named,
    with_station,
    with_walked_outline,
)

DEMO = (Path(__file__).parents[3] / "demo_site/site.toml").read_text("utf-8")
TABLE = tomllib.loads(DEMO)
COMMENTS = [line for line in DEMO.splitlines() if line.startswith("#")]


def test_without_answers_not_a_byte_changes():
    assert with_answers(DEMO, []) == DEMO


def test_an_answer_that_says_the_same_changes_nothing():
    same = [
        (("beds", "path_width_m"), TABLE["beds"]["path_width_m"]),
        (("crops",), TABLE["crops"]),
    ]
    assert with_answers(DEMO, same) == DEMO


@pytest.mark.parametrize(
    "crops",
    [
        [],
        TABLE["crops"][:-1],
        TABLE["crops"][1:],
        [*TABLE["crops"], {"name": "kale", "beds": 2}],
        [{"name": "kale"}],
        [{**TABLE["crops"][0], "beds": 60}, *TABLE["crops"][1:]],
        [{"name": TABLE["crops"][0]["name"]}, *TABLE["crops"][1:]],
    ],
    ids=[
        "none",
        "without the last",
        "without the first",
        "one more",
        "others",
        "changed",
        "key out",
    ],
)
def test_lists_are_replaced_and_all_else_stays(crops):
    text = with_answers(DEMO, [(("crops",), crops)])
    assert [line for line in COMMENTS if line not in text.splitlines()] == []
    assert tomllib.loads(text) == {
        key: value for key, value in (TABLE | {"crops": crops}).items() if value != []
    }


def test_a_comment_on_a_last_line_without_an_end_hides_nothing():
    text = 'name = "Hill"\ncovers = [{ name = "a" }]\n[[crops]]\nname = "kale"\n# ours'
    written = with_answers(text, [(("crops",), [])])
    assert tomllib.loads(written) == {"name": "Hill", "covers": [{"name": "a"}]}
    assert "# ours" in written
    assert with_answers(text, []) == text
    more = with_more(text, "what_if", {"name": "gap"})
    assert tomllib.loads(more)["what_if"] == [{"name": "gap"}]


@pytest.mark.parametrize("left", [[], [{"name": "b"}]])
def test_what_is_said_above_the_next_table_stays_when_the_first_ones_go(left):
    text = (
        'name = "Hill"\n\n[[covers]]\nname = "a"\n\n# The new one.\n[[covers]]\n'
        'name = "b"\n\n# Measured.\n[beds]\ntape_m = 30\n'
    )
    written = with_answers(text, [(("covers",), left)])
    lines = written.splitlines()
    assert lines[lines.index("[beds]") - 1] == "# Measured."
    assert "# The new one." in lines
    if left:
        assert lines[lines.index("[[covers]]") - 1] == "# The new one."
    assert tomllib.loads(written).get("covers", []) == left


def test_a_new_value_stands_with_its_own_and_not_below_the_next_remark():
    text = (
        'name = "Hill"\n\n# How we work.\n[beds]\ntape_m = 30\n\n# Of the crew.\n'
        '[sheets.languages]\ncrew = ["es"]\n\n# What we own.\n[[covers]]\nname = "a"\n'
        "# The end.\n"
    )
    answers = [
        (("units",), "us"),
        (("beds", "roll_m"), 50),
        (("sheets", "languages", "walk"), ["en"]),
        (("wind", "storm_from_deg"), 90.0),
    ]
    written = with_answers(text, answers)
    table = tomllib.loads(text)
    table["sheets"]["languages"]["walk"] = ["en"]
    table["beds"]["roll_m"] = 50
    assert tomllib.loads(written) == table | {
        "units": "us",
        "wind": {"storm_from_deg": 90.0},
    }
    lines = written.splitlines()
    for above, header in (
        ("# How we work.", "[beds]"),
        ("# Of the crew.", "[sheets.languages]"),
        ("# What we own.", "[[covers]]"),
    ):
        assert lines[lines.index(header) - 1] == above
    assert "# The end." in lines


def test_a_remark_at_the_very_end_stays_when_all_tables_go():
    text = 'name = "Hill"\n[[covers]]\nname = "a"\n# To be sold.\n'
    assert with_answers(text, [(("covers",), [])]) == 'name = "Hill"\n# To be sold.\n'


def test_none_takes_a_line_out():
    text = with_answers(
        DEMO, [(("wind", "storm_from_deg"), None), (("no", "such"), None)]
    )
    wind = {
        key: value for key, value in TABLE["wind"].items() if key != "storm_from_deg"
    }
    assert tomllib.loads(text) == TABLE | {"wind": wind}


def test_text_is_written_as_text_whatever_it_says():
    hostile = 'x"\n[beds]\ntape_m = 1 # </script>'
    text = with_answers(DEMO, [(("name",), hostile)])
    assert tomllib.loads(text) == TABLE | {"name": hostile}


def test_one_more_table_comes_after_those_that_are_there():
    row = {"name": "Without the barn", "take_away": ["Barn"]}
    text = with_more(DEMO, "what_if", row)
    assert tomllib.loads(text) == TABLE | {"what_if": [*TABLE["what_if"], row]}
    assert text.startswith(DEMO.rstrip())


def test_a_value_where_a_table_must_be_is_said_and_not_written_over():
    with pytest.raises(SiteError, match=r"site\.toml: beds is '3'.*\[beds\]"):
        with_answers('name = "Hill"\nbeds = 3\n', [(("beds", "tape_m"), 50)])


@pytest.mark.parametrize(
    "files",
    [
        'files.plots = "p.geojson"\n',
        'files = { plots = "p.geojson" }\n',
        '[files]\nplots = "p.geojson"',
        '[ files ]\nplots = "p.geojson"\n\n# Ours.\n[beds]\ntape_m = 30\n',
    ],
    ids=["dotted", "in one line", "last", "with spaces"],
)
def test_a_file_is_named_however_its_table_is_written(files):
    """TOML 1.0 knows all four; a second [files] would be no TOML at all."""
    text = f'name = "Hill"\n{files}'
    named = with_file_named(text, "typical_year", "b.epw")
    table = {"plots": "p.geojson", "typical_year": "b.epw"}
    assert tomllib.loads(named)["files"] == table
    assert with_file_named(named, "typical_year", "c.epw") == named


def test_a_station_joins_those_that_stand_in_one_line():
    text = 'name = "Hill"\nother_stations = [{ weather = "a.csv" }]\n'
    joined = tomllib.loads(other_station(text, "b.csv", (46.0, 15.0, 300.0)))
    place = {"latitude": 46.0, "longitude": 15.0, "elevation_m": 300.0}
    assert joined["other_stations"] == [
        {"weather": "a.csv"},
        {"weather": "b.csv"} | place,
    ]
    station = Station(**place)
    assert tomllib.loads(with_station(text, station))["station"] == place
    known = "station = { latitude = 1.0, longitude = 2.0, elevation_m = 3.0 }\n"
    assert with_station(known, station) == known


def test_nothing_is_added_to_choices_that_cannot_be_read():
    text = 'name = "Hill'
    assert with_file_named(text, "typical_year", "b.epw") == text
    assert other_station(text, "b.csv", (46.0, 15.0, 300.0)) == text
    assert with_walked_outline(text) == text
