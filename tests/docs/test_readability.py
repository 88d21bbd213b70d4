"""How hard pages and texts are to read, by the Automated Readability Index.

The index (Senter & Smith 1967, as textstat computes it) counts letters in words and words
in sentences and gives a school grade of the United States; grade 5 is an age of ten. It
asks no network and no dictionary. It knows nothing of meaning: a short sentence of hard
ideas passes. So these are upper bars and no proof; readers decide.

For Spanish, Fernández Huerta 1959: 60 and more is read by most, at about grade 8 and below.
"""

import re
import tomllib

import pytest
import textstat
from babel.messages.pofile import read_po
from pages import ROOT, pages, prose

TEXTS = ROOT / "fieldmap/show/text"
# Our choices: growers outdoors, and readers of a second language, stumble where it is
# harder. Extension bulletins are written for grades 6 to 8 (from memory).
NINE_YEARS_OLD = 4.0
BULLETIN = 6.0
LONGEST = 25  # words of a sentence on map and sheets
STUDENT = 10.0  # our choice


def said(value):
    """Every English text of a table."""
    match value:
        case str():
            yield value
        case list():
            for each in value:
                yield from said(each)
        case {"text": text}:
            yield text
        case {"many": text}:
            yield text
        case dict():
            for each in value.values():
                yield from said(each)


def sentences(texts):
    """Texts of five words and more, each ended, with one short word in each place."""
    filled = [re.sub(r"\{[^{}]*\}", "ten", text) for text in texts]
    ended = [text if text.endswith((".", "?", "!")) else f"{text}." for text in filled]
    return " ".join(text for text in ended if len(text.split()) >= 5)


def grade(text):
    return textstat.automated_readability_index(text)


def lines(page):
    """The prose of a page; items of lists and cells end as sentences do."""
    plain = re.sub(r"(?m)^\s*(?:[-*]|\d+\.)\s+", "", prose(page))
    return "\n".join(
        line
        if not line.strip() or line.rstrip().endswith((".", ":", "?"))
        else f"{line}."
        for line in plain.splitlines()
    )


@pytest.mark.parametrize("room", ["map", "print", "decide"])
def test_map_and_sheets_are_read_at_about_nine_years(room):
    files = sorted((TEXTS / room).rglob("*.toml"))
    read = [tomllib.loads(path.read_text("utf-8")) for path in files]
    whole = sentences(text for each in read for text in said(each))
    assert len(whole.split()) > 1000
    assert grade(whole) <= NINE_YEARS_OLD
    for path, each in zip(files, read, strict=True):
        text = sentences(said(each))
        assert len(text.split()) < 60 or grade(text) <= BULLETIN, path.name


@pytest.mark.parametrize("room", ["map", "print", "decide"])
def test_no_sentence_of_map_and_sheets_is_long(room):
    read = (
        tomllib.loads(path.read_text("utf-8"))
        for path in (TEXTS / room).rglob("*.toml")
    )
    filled = (
        re.sub(r"\{[^{}]*\}", "ten", text) for each in read for text in said(each)
    )
    single = [one for text in filled for one in re.split(r"(?<=[.?!:;]) ", text)]
    assert len(single) > 300
    assert [one for one in single if len(one.split()) > LONGEST] == []


@pytest.mark.parametrize("room", ["map", "print", "decide"])
def test_no_text_of_map_and_sheets_joins_sentences_by_a_semicolon(room):
    read = {
        path.name: tomllib.loads(path.read_text("utf-8"))
        for path in (TEXTS / room).rglob("*.toml")
    }
    texts = [text for each in read.values() for text in said(each)]
    assert len(texts) > 100
    assert [text for text in texts if ";" in text] == []


def test_the_glossary_is_read_at_about_nine_years():
    words = tomllib.loads((TEXTS / "glossary.toml").read_text("utf-8"))
    assert grade(sentences(said(words))) <= NINE_YEARS_OLD


@pytest.mark.parametrize(
    "name", [name for name in pages() if name.startswith(("docs/guides/", "README"))]
)
def test_guides_read_like_a_bulletin(name):
    assert grade(lines(pages()[name])) <= BULLETIN


@pytest.mark.parametrize("name", [name for name in pages() if "/methods/" in name])
def test_methods_are_a_students(name):
    assert grade(lines(pages()[name])) <= STUDENT


def test_safety_is_read_by_everybody():
    assert grade(lines(pages()["docs/safety.md"])) <= NINE_YEARS_OLD


def test_the_index_knows_easy_from_hard():
    easy = "Open the door. The sun is out. It gets hot in here."
    hard = (
        "Notwithstanding considerable interannual variability, extraordinarily "
        "heterogeneous microclimatological conditions necessitate individualisation."
    )
    assert grade(easy) < 2
    assert grade(hard) > 15


def test_spanish_is_read_by_most():
    with (TEXTS / "languages/es.po").open("rb") as file:
        texts = [
            form
            for each in read_po(file)
            if each.id
            for form in (
                each.string if isinstance(each.string, tuple) else [each.string]
            )
        ]
    textstat.set_lang("es")
    try:
        assert textstat.fernandez_huerta(sentences(texts)) >= 60
    finally:
        textstat.set_lang("en")
