"""The voice: words that nobody who grows would say are in no text, and sentences are short."""

import re
from pathlib import Path

import pytest
from pages import pages
from texts import forms, marked_texts
from typer.testing import CliRunner

from fieldmap.cli import app

ROOT = Path(__file__).parents[2]
NOT_OURS = re.compile(r"\b(\w*told|reckon\w*|minded|so many)\b", re.I)
# At these strict readers stumbled, a grower and a beginner in a second language.
STUMBLED = re.compile(
    r"\b(lash\w*|locators?|unvented|windward|harden off(?![^.]*\()|slacken\w*|a sail|at dusk\?"
    r"|overheats?|structural design|odds, not|let go|whichever comes first|peg the"
    r"|nor an?|better known|by now|counted from the gate|such places between|strays?"
    r"|give or take|taken (?:as|to)|left aside)\b",
    re.I,
)
# The name of a column before it was changed.
OLD_NAMES = re.compile(r"^\| `[\w.]+` \| `[\w.]+` \|$", re.M)


def test_no_text_has_a_word_that_is_not_ours():
    said = {form for text in marked_texts() for form in forms(text)}
    plain = {re.sub(r"\{[^{}]*\}", "", form) for form in said}
    assert len(plain) > 1000
    assert sorted(text for text in plain if NOT_OURS.search(text)) == []


def test_no_text_has_words_at_which_readers_stumbled():
    said = {form for text in marked_texts() for form in forms(text)}
    assert sorted(text for text in said if STUMBLED.search(text)) == []


@pytest.mark.parametrize("name", pages())
def test_no_page_has_a_word_that_is_not_ours(name):
    text = OLD_NAMES.sub("", pages()[name])
    assert NOT_OURS.findall(re.sub(r"`\w*`", "", text)) == []


def test_help_has_no_word_that_is_not_ours():
    for command in app.registered_commands:
        name = command.name or command.callback.__name__
        assert not NOT_OURS.search(CliRunner().invoke(app, [name, "--help"]).output), (
            name
        )


# ------------------------------------------------------------------ the code
FOLDERS = ("fieldmap", "layers", "tests", "docs", "benchmarks", "demo_site")
KINDS = (".css", ".html", ".js", ".json", ".md", ".po", ".py", ".svg", ".toml", ".typ")
# Between the words of an identifier, and of a comment over several lines.
BETWEEN_WORDS = re.compile(r"(?<=[a-z0-9])(?=[A-Z])|[\s_#*/]+")


def in_words(text):
    """A text whose identifiers are taken apart at underscores and capitals."""
    return BETWEEN_WORDS.sub(" ", OLD_NAMES.sub("", text))


def sources():
    """Every file of the project that people write, but this one and a plan of the demo."""
    made, this = ROOT / "demo_site/plan", Path(__file__).resolve()
    for folder in FOLDERS:
        for path in sorted((ROOT / folder).rglob("*")):
            if path.suffix in KINDS and made not in path.parents and path != this:
                yield path


def test_words_are_found_in_identifiers_and_across_lines():
    for text in ("is_told", "toldUs", "_TOLD", "foretold", "SoMany", "so\n# many"):
        assert NOT_OURS.search(in_words(text)), text
    for text in ("sold", "so, many", "| `seen.reckoned` | `marks.answer` |"):
        assert not NOT_OURS.search(in_words(text)), text


def test_no_name_or_comment_has_a_word_that_is_not_ours():
    texts = {path: path.read_text("utf-8") for path in sources()}
    assert len(texts) > 800
    wrong = {
        path.relative_to(ROOT).as_posix(): NOT_OURS.findall(in_words(text))
        for path, text in texts.items()
        if any(part in text.lower() for part in ("told", "reckon", "minded", "many"))
    }
    assert {name: words for name, words in wrong.items() if words} == {}
