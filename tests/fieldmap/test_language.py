"""Texts, plurals and dates in another language, against CLDR's rules as Babel has them."""

import ast
import io
import json
import re
import shutil
import subprocess
import sys
from datetime import date
from html.parser import HTMLParser
from pathlib import Path
from typing import get_args

import numpy as np
import pypdf
import pytest
from babel.messages.pofile import read_po
from browser import PHONE, Page, choose
from made_up import plane, plot_box, site, surroundings

from fieldmap import read as reading
from fieldmap.cache import Store
from fieldmap.decide.layout import bearings
from fieldmap.decide.ranking.groups import GROUPS
from fieldmap.decide.tonight import evenings
from fieldmap.decide.tonight.evening_round import evening_round
from fieldmap.errors import SiteError
from fieldmap.model.surroundings import KINDS
from fieldmap.plan import make_plan
from fieldmap.show.map import map_html
from fieldmap.show.print import wall
from fieldmap.show.print.paper import Sheet, pdf
from fieldmap.show.text import language, names
from fieldmap.show.text.language import _, plural, spoken
from layers.cover import COVERS

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "fieldmap"

# Polish has three forms; the rule is CLDR's (one, few, many).
POLISH = r"""
msgid ""
msgstr ""
"Plural-Forms: nplurals=3; plural=(n==1 ? 0 : n%10>=2 && n%10<=4 && "
"(n%100<12 || n%100>14) ? 1 : 2);\n"

msgid "bed"
msgstr "zagon"

msgid "path"
msgstr ""

#, fuzzy
msgid "tunnel"
msgstr "tunelek"

msgid "one bed"
msgid_plural "{number} beds"
msgstr[0] "jeden zagon"
msgstr[1] "{number} zagony"
msgstr[2] "{number} zagonów"
"""


@pytest.fixture
def polish():
    catalogue = read_po(io.BytesIO(POLISH.encode()), locale="pl")
    return language.of_catalogue("pl_PL", catalogue)


def test_texts_are_translated_and_what_is_not_stays_english(polish):
    with spoken(polish):
        assert [_("bed"), _("path"), _("tunnel"), _("new")] == [
            "zagon",
            "path",
            "tunnel",
            "new",
        ]
    assert _("bed") == "bed"


@pytest.mark.parametrize(
    ("number", "said"),
    [
        (1, "jeden zagon"),
        (3, "3 zagony"),
        (5, "5 zagonów"),
        (12, "12 zagonów"),
        (22, "22 zagony"),
    ],
)
def test_plurals_follow_the_rules_of_the_language(polish, number, said):
    with spoken(polish):
        assert plural("one bed", "{number} beds", number) == said


def test_dates_are_written_as_in_the_locale():
    # Forms of CLDR: day before month in Britain, after it in the United States.
    with spoken(language.language("en", "GB")):
        assert language.day(5, 24) == "24 May"
        assert language.date_in_words(date(2027, 4, 5)) == "5 April 2027"
    with spoken(language.language("en", "US")):
        assert language.day(5, 24) == "May 24"
        assert language.date_in_words(date(2027, 4, 5)) == "April 5, 2027"
    with spoken(language.Language("es", "es_ES")):
        assert language.day(5, 24) == "24 de mayo"
        assert language.month_name(3) == "marzo"


def test_places_beside_the_number_are_filled_in_every_form(polish):
    forms = {"one bed": ("{number} {what}", "{number} x {what}", "{number} y {what}")}
    counted = language.Language("pl", "pl_PL", forms=forms, form=polish.form)
    with spoken(counted):
        told = [plural("one bed", "{number} beds", n, what="a") for n in (1, 2, 5)]
    assert told == ["1 a", "2 x a", "5 y a"]


def test_lines_run_from_right_to_left_where_the_script_does():
    assert language.Language("ar", "ar_EG").right_to_left
    assert not language.Language("es", "es_ES").right_to_left


def test_a_language_that_is_not_there_is_refused_with_those_that_are():
    with pytest.raises(ValueError, match="no language 'xx'; there are en"):
        language.language("xx", "XX")


def test_a_site_speaks_its_language_and_an_unknown_one_is_refused(site_folder, says):
    site_folder.toml('name = "Hill Farm"\nlanguage = "es"\n')
    asked = reading.language_and_units(site_folder.path)
    assert language.of_site(*asked).code == "es"
    site_folder.toml('name = "Hill Farm"\nlanguage = "xx"\n')
    with pytest.raises(SiteError) as refused:
        reading.read_site(site_folder.path, language.codes())
    (sentence,) = refused.value.problems
    says(str(sentence), "site.toml", "language", "'xx'", *language.codes())
    asked = reading.language_and_units(site_folder.path)
    assert language.of_site(*asked).code == "en"


# ---- Texts stand in show/text, inside a mark

MARKS = ("_", "plural", "later", "problem", "Problem", "site_error")
# Errors are written where they are found, in the raise or as a problem.
ERRORS = ("problem", "Problem", "site_error")
# What the command's help is made with; it is read before any language is known.
HELP = ("Typer", "Option", "Argument", "command", "callback")
# Literals of four words and more outside show/text that nobody reads as a sentence, by
# module: how they begin, and what they are.
NOT_SENTENCES = {
    "show/layer_styles.py": (":root {",),  # a rule of a style sheet
}
# What data is called, in files and in code; people read another word for it.
DATA_NAMES = {
    *KINDS,
    *GROUPS,
    *get_args(bearings.Kind),
    "set out",
    "covers all",
    "shade cloth",
}
# Modules of show/text that no one reads in a language of their own.
FOR_MACHINES = {
    "show/text/files/bands.py"
}  # GIS programs find a band by its description
# How strings of the page's script begin that are names of its own: what is looked for
# in the page, of which class things are, what the map and the browser tell of.
SCRIPT_NAMES = (
    "use strict",
    "#",
    ".",
    "(",
    "input[",
    "tbody tr",
    "name of-",
    "zoomend",
    "drain edge",
)
WORD = re.compile(r"(?<!\S)[^\w\s]*[^\W\d_]{2,}[^\w\s]*(?!\S)")
TWO_WORDS = re.compile(r"[^\W\d_]{2,}\W*\s\W*[^\W\d_]{2,}")
NOT_READ = re.compile(
    r"<(style|script|pattern)\b.*?</\1>|\{[{%].*?[%}]\}"  # style, scripts, templates
    r"|<[^>]*>?|[\w:-]+=\"[^\"]*\"",  # tags, also cut off, and attributes
    re.DOTALL,
)


def literals(node, skipped):
    """Line and text of every literal outside what is skipped; `{}` stands for values."""
    if skipped(node):
        return
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
        return  # a docstring
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.lineno, node.value
    elif isinstance(node, ast.JoinedStr):
        parts = [getattr(part, "value", None) for part in node.values]
        yield (
            node.lineno,
            "".join(part if isinstance(part, str) else "{}" for part in parts),
        )
        for part in node.values:
            if isinstance(part, ast.FormattedValue):
                yield from literals(part.value, skipped)
    else:
        for child in ast.iter_child_nodes(node):
            yield from literals(child, skipped)


def calls(node, names):
    """Whether this is a call of one of these functions."""
    if not isinstance(node, ast.Call):
        return False
    return getattr(node.func, "id", getattr(node.func, "attr", "")) in names


def is_error_or_help(node):
    return isinstance(node, ast.Raise) or calls(node, (*ERRORS, *HELP))


def is_marked(node):
    return isinstance(node, ast.Raise) or calls(node, MARKS)


def sentences_of(source):
    """Texts of four words or more that are neither errors nor help."""
    for _line, text in literals(ast.parse(source), is_error_or_help):
        read = re.sub(r"\{[^{}]*\}", " ", NOT_READ.sub(" ", text))
        if len(WORD.findall(read)) >= 4:
            yield text


def unmarked_of(source):
    """Texts of two words or more outside a mark."""
    for _line, text in literals(ast.parse(source), is_marked):
        if TWO_WORDS.search(NOT_READ.sub(" ", text)) and text not in DATA_NAMES:
            yield text


def left_of(name, source):
    """Sentences of a module that are no exemptions."""
    allowed = NOT_SENTENCES.get(name, ())
    return [text for text in sentences_of(source) if not text.startswith(allowed)]


MODULES = {
    path.relative_to(PACKAGE).as_posix(): path.read_text("utf-8")
    for path in sorted(PACKAGE.rglob("*.py"))
}


def test_no_sentence_stands_outside_show_text_but_errors_and_help():
    left = {
        name: found
        for name, source in MODULES.items()
        if not name.startswith("show/text/") and (found := left_of(name, source))
    }
    assert left == {}


def test_every_text_in_show_text_is_marked():
    left = {
        name: found
        for name, source in MODULES.items()
        if name.startswith("show/text/")
        and name not in FOR_MACHINES
        and (found := list(unmarked_of(source)))
    }
    assert left == {}


def test_every_exemption_is_needed():
    for name, beginnings in NOT_SENTENCES.items():
        found = list(sentences_of(MODULES[name]))
        for beginning in beginnings:
            assert any(text.startswith(beginning) for text in found), beginning


@pytest.mark.parametrize(
    ("code", "found"),
    [
        ('x = "Nothing was found here"', ["Nothing was found here"]),
        ('x = _("Nothing was found here")', ["Nothing was found here"]),
        ('x = f"of {n:.0f} beds {_(y)} there are"', ["of {} beds {} there are"]),
        ('x = "nothing was found"', []),
        ("x = '<p class=\"a b\">{{ say.two }}</p>'", []),
        ('raise SiteError("this is not a number")', []),
        ('x = problem("this is not a number")', []),
        ('def f():\n    """Four words of it."""', []),
    ],
)
def test_sentences_outside_show_text_are_found(code, found):
    assert list(sentences_of(code)) == found


@pytest.mark.parametrize(
    ("code", "found"),
    [
        ('x = "Nothing was found"', ["Nothing was found"]),
        ('x = f"of {n:.0f} beds {_(y)}"', ["of {} beds {}"]),
        ('x = _("Nothing was found")', []),
        ('x = "<b>Nothing was found</b>"', ["<b>Nothing was found</b>"]),
    ],
)
def test_texts_outside_a_mark_are_found(code, found):
    assert list(unmarked_of(code)) == found


def test_no_text_stands_in_the_page_and_its_script():
    page = (PACKAGE / "show/map/page.html").read_text("utf-8")
    assert not re.search(r"[^\W\d_]{2,}", NOT_READ.sub(" ", page))
    assert not re.search(r'(?:alt|title|aria-label)="(?!\{\{)', page)
    script = (PACKAGE / "show/map/map.js").read_text("utf-8")
    script = re.sub(r"^\s*//.*$", "", script, flags=re.MULTILINE)
    script = re.sub(r"\$\{[^{}]*\}", "", script)
    quoted = re.findall(r'"([^"\n]*)"|`([^`]*)`', script)
    said = {text for pair in quoted for text in pair if TWO_WORDS.search(text)}
    assert {text for text in said if not text.startswith(SCRIPT_NAMES)} == set()


# ---- Catalogues


def catalogue(code):
    return read_po(
        io.BytesIO((PACKAGE / f"show/text/languages/{code}.po").read_bytes()), code
    )


def forms(said):
    return (said,) if isinstance(said, str) else tuple(said)


def places(text):
    return sorted(re.findall(r"\{[^}]*\}", text))


CODES = [code for code in language.codes() if code != language.ENGLISH]


@pytest.mark.parametrize("code", CODES)
def test_a_catalogue_is_complete_and_its_places_are_those_of_the_english(code):
    for message in catalogue(code):
        if not message.id:
            continue
        assert not message.fuzzy, message.id
        assert all(forms(message.string)), message.id
        english = forms(message.id)
        for at, said in enumerate(forms(message.string)):
            assert places(said) == places(english[min(at, len(english) - 1)]), said


@pytest.fixture(scope="module")
def extracted(tmp_path_factory):
    """Every marked text, as `make language` finds them."""
    pot = tmp_path_factory.mktemp("texts") / "texts.pot"
    command = Path(sys.executable).with_name("pybabel")
    options = ["--mapping-file", "pyproject.toml", "--output-file", pot, "fieldmap"]
    subprocess.run([command, "-q", "extract", *options], cwd=ROOT, check=True)
    return {message.id for message in read_po(io.BytesIO(pot.read_bytes()))} - {""}


@pytest.mark.parametrize("code", CODES)
def test_a_catalogue_holds_the_texts_of_the_code_and_no_other(code, extracted):
    assert {message.id for message in catalogue(code)} - {""} == extracted


def test_names_of_covers_and_of_things_around_are_texts(extracted):
    covers = {names.cover_name(kind) for kind in COVERS}
    assert covers | set(KINDS) <= extracted


# ---- A plan in Spanish


@pytest.fixture(scope="module")
def spanish(tmp_path_factory):
    """The demo site, its plan and its map in Spanish."""
    folder = tmp_path_factory.mktemp("spanish") / "demo_site"
    ignore = shutil.ignore_patterns("plan", ".fieldmap")
    shutil.copytree(ROOT / "demo_site", folder, ignore=ignore)
    choices = folder / "site.toml"
    told = choices.read_text("utf-8")
    choices.write_text(f'language = "es"\n{told}', encoding="utf-8")
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


def test_a_spanish_map_shows_no_english_text(spanish, extracted):
    page = Visible(spanish[2])
    assert page.attributes == {"lang": "es"}
    shown = "\n".join(page.said)
    assert "¿Qué cubro esta noche?" in shown
    english = {
        piece for id_ in extracted for text in forms(id_) for piece in pieces(text)
    }
    assert [p for p in english if p in shown] == []


def test_nothing_that_is_kept_for_the_next_plan_holds_text(spanish):
    kept = list((spanish[0] / ".fieldmap").rglob("*.npz"))
    assert kept
    for file in kept:
        with np.load(file, allow_pickle=False) as arrays:
            assert not {arrays[name].dtype.kind for name in arrays.files} & set("USO")


def test_the_wall_says_the_same_in_spanish_as_in_english(spanish):
    plan = spanish[1]
    round_ = evening_round(plan.site, plan.beds)
    nights = evenings(round_, "clear", "calm", "metric")
    tables = []
    for code in ("en", "es"):
        with spoken(language.language(code, "GB")):
            tables.append(wall.blocks(nights, "metric")[1].rows)
    english, other = tables
    assert [low for low, _said in english] == [
        low.replace(" a ", " to ") for low, _said in other
    ]
    for (_low, said), (_other_low, told) in zip(english, other, strict=True):
        assert said.count("\n") == told.count("\n")


def test_a_pdf_names_its_language():
    with spoken(language.language("es", "ES")):
        made = pdf(Sheet("Una hoja", "Lugar", "fieldmap", ()), "a4")
    assert pypdf.PdfReader(io.BytesIO(made)).trailer["/Root"]["/Lang"] == "es"


# ---- A made-up language: long, and from right to left


def stretched(text):
    """A text in brackets that show where it was cut, 40 % longer at least."""
    return f"⟦{text}{' more' * -(-len(text) * 4 // 50)}⟧"


@pytest.fixture(scope="module")
def made_up_language(extracted):
    long = {id_: stretched(id_) for id_ in extracted if isinstance(id_, str)}
    counted = {
        id_[0]: tuple(map(stretched, id_))
        for id_ in extracted
        if not isinstance(id_, str)
    }
    return language.Language("ar", "ar", long, counted)


@pytest.fixture(scope="module")
def stretched_map(made_up_language, tmp_path_factory):
    hedge = {"height_m": 3.0, "porosity": 0.4, "clear_stem_m": 0.0, "leaf": "evergreen"}
    around = surroundings(
        ("hedge", plot_box(30, 20, 170, 22), {"name": "Hedge"} | hedge)
    )
    tunnel = {"length_m": 12.0, "width_m": 4.5, "height_m": 2.4}
    plots = {"Home": plot_box(40, 30, 160, 90)}
    folder = tmp_path_factory.mktemp("stretched")
    with spoken(made_up_language):
        made = site(plane(east=0.01, north=0.05), plots, around, tunnels=(tunnel,))
        plan = make_plan(made, Store(folder / "store"), lambda step: None)
        (folder / "map.html").write_text(map_html(plan), encoding="utf-8")
    return folder / "map.html"


def test_long_texts_from_right_to_left_stay_within_a_narrow_phone(
    browser, stretched_map, made_up_language
):
    narrow = PHONE | {"viewport": {"width": 360, "height": 740}}
    opened = Page(browser, stretched_map, **narrow)
    page = opened.page
    root = page.locator("html")
    assert root.get_attribute("dir") == "rtl"
    assert root.get_attribute("lang") == "ar"
    for view in page.locator("input[name=question]").evaluate_all(
        "all => all.map((one) => one.value)"
    ):
        choose(page, view)
        assert page.evaluate("document.documentElement.scrollWidth") <= 360, view
        assert page.evaluate("document.documentElement.scrollLeft") == 0, view
    begins = "element => getComputedStyle(element).textAlign"
    assert page.locator("#beds td").first.evaluate(begins) == "right"
    if not page.locator(".questions").evaluate("element => element.open"):
        page.locator(".questions summary").click()
    asked = page.locator(".questions label")
    assert asked.count() == len(page.locator("input[name=question]").all())
    for label in asked.all():
        box = label.bounding_box()
        assert label.is_visible()
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= 360
    with spoken(made_up_language):
        assert asked.first.inner_text() == _("Which beds can I plant first?")
    assert opened.complaints == []
    opened.close()
