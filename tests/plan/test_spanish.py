"""A plan of the demo site in Spanish says all of it in Spanish."""

import dataclasses
import json
import re
import shutil
from html.parser import HTMLParser
from pathlib import Path

import pytest
from texts import forms, marked_texts
from words_on_pages import words_on_pages

from fieldmap import cache
from fieldmap import read as reading
from fieldmap.cache import Store
from fieldmap.plan import make_plan
from fieldmap.show.map import map_html
from fieldmap.show.print import _Sheets, wall
from fieldmap.show.text import language
from fieldmap.show.text.language import spoken

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "fieldmap"

# ---- A plan in Spanish


@pytest.fixture(scope="module")
def spanish(planned_demo, tmp_path_factory):
    """The demo site, its plan and its map in Spanish."""
    folder = tmp_path_factory.mktemp("spanish") / "demo_site"
    shutil.copytree(planned_demo, folder)
    choices = folder / "site.toml"
    given = choices.read_text("utf-8")
    choices.write_text(f'language = "es"\n{given}', encoding="utf-8")
    with spoken(language.of_site("es", "metric")):
        read = reading.read_site(folder)
        plan = make_plan(read, Store(folder / ".fieldmap"), lambda step: None)
        return folder, plan, map_html(plan)


class Visible(HTMLParser):
    """Text of a page that people see or hear, with what its script shows."""

    def __init__(self, page):
        super().__init__()
        self.said = []
        self.attributes = {}
        self.is_data = False
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        if tag == "html":
            self.attributes = found
        self.is_data = found.get("id") == "fieldmap-data"
        self.said += [found.get(name) or "" for name in ("alt", "aria-label", "title")]

    def handle_data(self, data):
        if self.is_data:
            self.said += self.strings(json.loads(data))
            self.is_data = False
        elif self.cdata_elem is None:
            self.said.append(data)

    def strings(self, data):
        if isinstance(data, str):
            return [] if data.startswith("data:") else [data]
        parts = data.values() if isinstance(data, dict) else data
        if not isinstance(data, dict | list):
            return []
        return [said for part in parts for said in self.strings(part)]


def pieces(text):
    """What stands between the places of a text, where it is three words or more."""
    return [
        piece.strip(" ,.:;")
        for piece in re.split(r"\{[^}]*\}", text)
        if len(re.findall(r"[^\W\d_]{2,}", piece)) >= 3
    ]


def test_a_spanish_map_shows_no_english_text(spanish):
    page = Visible(spanish[2])
    assert page.attributes == {"lang": "es"}
    shown = "\n".join(page.said)
    assert "¿Qué cubro esta noche?" in shown
    english = {
        piece for id_ in marked_texts() for text in forms(id_) for piece in pieces(text)
    }
    assert [p for p in english if p in shown] == []


# Words that stand in nearly every English sentence and in no Spanish one.
ENGLISH = re.compile(
    r"\b(the|and|of|with|from|beds?|is|are|not|for|until|which|cover|days?|weeks?|this)\b",
    re.IGNORECASE,
)


def without_names(said, plan):
    """A text without places to be filled in, files, and what the grower named."""
    site = plan.site
    called = [
        *site.plots["name"],
        *site.surroundings["name"].dropna(),
        *(each.name for each in (*site.alternatives, *site.marks)),
        site.settings.name,
    ]
    said = said.replace("\N{NO-BREAK SPACE}", " ")  # of numbers and units in names
    for name in sorted(called, key=len, reverse=True):
        said = said.replace(str(name), "")
    # Keys of what a script looks up, and packed numbers, are without a space.
    said = said if " " in said else ""
    return re.sub(r"\{[^}]*\}|\w+\.\w+", "", said)


def test_no_english_word_stands_in_a_spanish_text(spanish):
    _folder, plan, page = spanish
    said = [without_names(each, plan) for each in Visible(page).said]
    assert [each for each in said if ENGLISH.search(each)] == []


def test_crops_have_their_spanish_names_in_every_sentence(spanish):
    _folder, plan, page = spanish
    with spoken(language.of_site("es", "metric")):
        other = {crop.name: language._(crop.name) for crop in plan.site.crops}
    english = [name for name, there in other.items() if name != there]
    assert len(english) > 5
    sentences = [each for each in Visible(page).said if each not in other]
    words = re.compile(rf"\b({'|'.join(map(re.escape, english))})\b")
    assert [each for each in sentences if words.search(each)] == []


def test_numbers_have_a_decimal_comma(spanish):
    """A point is for thousands; versions are no numbers."""
    _folder, _plan, page = spanish
    point = re.compile(r"(?<![\d.])\d+\.\d{1,2}(?![\d.])")
    said = [each for each in Visible(page).said if not each.startswith("Hecho con")]
    assert [each for each in said if point.search(each)] == []


def test_nothing_that_is_kept_for_the_next_plan_holds_text(spanish):
    # The lines of a plan that stays are kept beside their language and units.
    kept = [
        file
        for file in (spanish[0] / ".fieldmap").rglob("*.npz")
        if not file.name.startswith("hand-over-")
    ]
    assert kept
    for file in kept:
        arrays = cache._read(file)
        assert arrays
        assert not {each.dtype.kind for each in arrays.values()} & set("USO")


def test_the_wall_says_the_same_in_spanish_as_in_english(spanish):
    plan = spanish[1]
    sheets = []
    for code in ("en", "es"):
        with spoken(language.language(code, "GB")):
            (made,) = wall.blocks(plan.tonight, plan.materials.weights, "metric")
            sheets.append(made)
    english, other = sheets
    assert english.words != other.words
    for one, another in zip(
        english.matrix["blocks"], other.matrix["blocks"], strict=True
    ):
        for line, other_line in zip(one["lines"], another["lines"], strict=True):
            for cell, said in zip(line["cells"], other_line["cells"], strict=True):
                assert cell["verdict"] == said["verdict"]
                assert [each["length"] for each in cell["laid"]] == [
                    each["length"] for each in said["laid"]
                ]


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_landowners_pages_stay_two_though_spanish_is_longer(spanish, paper):
    _folder, plan, _page = spanish
    settings = plan.site.settings
    sheets = settings.sheets.model_copy(update={"paper": paper})
    site = dataclasses.replace(
        plan.site, settings=settings.model_copy(update={"sheets": sheets})
    )
    with spoken(language.of_site("es", "metric")):
        drawn = _Sheets(dataclasses.replace(plan, site=site), paper)
        made = drawn.set("landowner", drawn.by_name()["landowner"])
    assert len(words_on_pages(made)) == 2
