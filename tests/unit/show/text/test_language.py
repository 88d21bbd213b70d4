"""Texts, plurals and dates in another language, against CLDR's rules as Babel has them."""

import ast
import io
import re
from datetime import date
from functools import cache
from pathlib import Path
from typing import get_args

import pypdf
import pytest
from babel.messages.pofile import read_po
from texts import forms, marked_texts

from fieldmap import read as reading
from fieldmap.decide.layout import bearings
from fieldmap.decide.ranking.groups import GROUPS
from fieldmap.errors import SiteError
from fieldmap.model.surroundings import KINDS
from fieldmap.show.print.paper import Sheet, pdf
from fieldmap.show.text import language, names
from fieldmap.show.text.language import _, plural, spoken
from fieldmap.show.text.sentence import fill
from layers.cover import COVERS

ROOT = Path(__file__).parents[4]
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


@pytest.mark.parametrize(
    ("locale", "shown"),
    [
        # Marks of decimals and thousands by CLDR; the minus is U+2212 of Unicode.
        ("en_GB", "−1,234.5"),
        ("es_ES", "−1.234,5"),
        ("es_US", "−1,234.5"),
        ("pl_PL", "−1\xa0234,5"),
    ],
)
def test_numbers_are_written_as_where_one_lives(locale, shown):
    with spoken(language.Language(locale[:2], locale)):
        assert language.written(-1234.5, ",.1f") == shown


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


@pytest.mark.parametrize(
    ("number", "said"), [(1, ": 1 semilla"), (12345, ": 12.345 semillas")]
)
def test_a_number_in_groups_of_three_has_its_plural_form(number, said):
    """Spanish groups digits by a point from five digits on (CLDR)."""
    text = {"one": ": {number} seed", "many": ": {number} seeds", "number": "thousands"}
    with spoken(language.of_site("es", "metric")):
        assert fill(text, "metric", number=number) == said


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
        sentences = [plural("one bed", "{number} beds", n, what="a") for n in (1, 2, 5)]
    assert sentences == ["1 a", "2 x a", "5 y a"]


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
    "cli/__init__.py": ("Dataset has no geotransform",),  # what a library says
    "serve/guard.py": ("default-src",),
    "show/map/offline.py": ("default-src",),  # rules for browsers
    "serve/planning.py": ("from fieldmap.cli",),  # a line of code
    "serve/questions.py": (  # for who reads the code
        "names of files,",
        "written by start,",
        "twelve numbers,",
        "measured on the ground",
        "pictures from the",
        "made on the page",
    ),
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
    "moveend",
    "field-",
    "Source ",
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


@cache
def sentences_of(source):
    """Texts of four words or more that are neither errors nor help."""
    return list(_sentences_of(source))


def _sentences_of(source):
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
        found = sentences_of(MODULES[name])
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
    assert sentences_of(code) == found


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


def test_no_text_stands_in_the_page_and_its_scripts():
    page = (PACKAGE / "show/map/page.html").read_text("utf-8")
    assert not re.search(r"[^\W\d_]{2,}", NOT_READ.sub(" ", page))
    assert not re.search(r'(?:alt|title|aria-label)="(?!\{\{)', page)
    scripts = sorted((PACKAGE / "show/map/scripts").glob("*.js"))
    script = "\n".join(path.read_text("utf-8") for path in scripts)
    script = re.sub(r"^\s*//.*$", "", script, flags=re.MULTILINE)
    script = re.sub(r"\$\{[^{}]*\}", "", script)
    quoted = re.findall(r'"([^"\n]*)"|`([^`]*)`', script)
    said = {text for pair in quoted for text in pair if TWO_WORDS.search(text)}
    said -= DATA_NAMES
    assert {text for text in said if not text.startswith(SCRIPT_NAMES)} == set()


# ---- Catalogues


@cache
def catalogue(code):
    return read_po(
        io.BytesIO((PACKAGE / f"show/text/languages/{code}.po").read_bytes()), code
    )


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


@pytest.mark.parametrize("code", CODES)
def test_a_catalogue_holds_the_texts_of_the_code_and_no_other(code):
    assert {message.id for message in catalogue(code)} - {""} == marked_texts()


def test_names_of_covers_and_of_things_around_are_texts():
    covers = {names.cover_name(kind) for kind in COVERS}
    assert covers | set(KINDS) <= marked_texts()


def test_a_pdf_names_its_language():
    with spoken(language.language("es", "ES")):
        made = pdf(Sheet("Una hoja", "Lugar", "fieldmap", ()), "a4")
    assert pypdf.PdfReader(io.BytesIO(made)).trailer["/Root"]["/Lang"] == "es"
