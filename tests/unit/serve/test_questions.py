"""Every choice of a site is a sentence on the page, or it is said why not."""

import re

import pytest
from open_page import feature, written

from fieldmap.errors import SiteError
from fieldmap.model.settings import Settings
from fieldmap.model.surroundings import KINDS
from fieldmap.read.door import SiteFile
from fieldmap.read.outlines.surroundings import read_surroundings
from fieldmap.serve import grammar, questions
from fieldmap.show.text.language import of_site, spoken
from fieldmap.show.text.site import open_page as texts
from fieldmap.show.text.site import open_questions

ASKED = questions.questions(Settings(name="Hill Farm"), (15.0, 46.0))
LINES = [*ASKED["ten"], *(line for group in ASKED["groups"] for line in group["lines"])]


def test_there_are_ten():
    assert len(ASKED["ten"]) == 10


def test_every_choice_is_asked_once_or_it_is_said_why_not():
    asked = [name for line in LINES for name in line["places"]]
    assert len(asked) == len(set(asked))
    left = {
        name
        for name in questions.places()
        if not any(
            name == out or name.startswith(f"{out}_") for out in questions.NOT_ASKED
        )
    }
    assert set(asked) == left


def test_every_blank_of_a_sentence_has_what_may_fill_it():
    for line in LINES:
        assert set(re.findall(r"\{(\w+)\}", line["text"])) == set(line["blanks"])
        for blank in line["blanks"].values():
            if blank["kind"] == "rows":
                inner = set(re.findall(r"\{(\w+)\}", blank["text"]))
                assert inner == set(blank["blanks"])


def test_ends_and_options_are_those_of_the_model():
    blanks = {name: blank for line in LINES for name, blank in line["blanks"].items()}
    assert (blanks["beds_tape_m"]["least"], blanks["beds_tape_m"]["most"]) == (10, 100)
    works = [option["value"] for option in blanks["beds_work"]["options"]]
    assert works == ["hand", "two_wheel_tractor", "tractor"]
    assert blanks["beds_covered"]["options"][0]["value"] is True


@pytest.mark.parametrize("kind", list(KINDS))
def test_a_thing_of_which_all_is_given_that_the_page_asks_is_read(kind, tmp_path):
    said = {"height_m": 5.0, "width_m": 2.0, "clear_stem_m": 1.0, "porosity": 0.4}
    said["leaf"] = "evergreen"
    places = [[15.0, 46.0], [15.001, 46.0], [15.001, 46.001], [15.0, 46.0]]
    drawn = {
        "point": feature("Point", places[0]),
        "line": feature("LineString", places[:3]),
        "area": feature("Polygon", [places]),
    }[grammar.drawn_as(kind)]
    is_area = grammar.drawn_as(kind) == "area"
    needed = [key for key in grammar.needs(kind) if key != "width_m" or not is_area]
    path = tmp_path / "around.geojson"
    properties = {"kind": kind, **{key: said[key] for key in needed}}
    written(path, {**drawn, "properties": properties})
    read_surroundings(SiteFile(path, "around.geojson"))
    for key in needed:
        less = {name: value for name, value in properties.items() if name != key}
        written(path, {**drawn, "properties": less})
        with pytest.raises(SiteError):
            read_surroundings(SiteFile(path, "around.geojson"))


def test_every_kind_has_a_sentence_whose_blanks_hold_what_is_needed():
    kinds, blanks = grammar.kinds(), grammar.blanks()
    assert set(kinds) == {*KINDS, "plot", "bed", "mark", "unknown"}
    for each in kinds.values():
        named = set(re.findall(r"\{(\w+)\}", each["sentence"]))
        assert named <= set(blanks)
        is_area = each["drawn"] == "area"
        assert {
            key for key in each["needs"] if key != "width_m" or not is_area
        } <= named


def test_every_question_that_check_leaves_open_has_its_short_sentence_on_the_page():
    for kind in open_questions.KINDS:
        assert texts.missing(kind, "here")


def test_what_an_open_blank_says_is_said_in_every_language():
    for code in ("en", "es"):
        with spoken(of_site(code, "metric")):
            said = {key: texts.word(key, "open") for key in texts.OPEN}
            if code == "en":
                english = said
    same = {key for key in english if said[key] == english[key]}
    assert same == {"first_month", "last_month"}  # an ellipsis in both
