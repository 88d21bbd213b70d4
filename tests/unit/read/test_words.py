"""A trainer's words: what is read of them, and every way to be refused."""

import pytest

from fieldmap.errors import SiteError
from fieldmap.read import door
from fieldmap.read.settings import draft_choices
from fieldmap.read.words import read_words


def read(tmp_path, text):
    (tmp_path / "words.toml").write_text(text, encoding="utf-8")
    return read_words(door.open_file(tmp_path, "words.toml", door.MOST_BYTES_OF_TOML))


def test_words_are_read_by_language_in_order(tmp_path):
    text = '[Soomaali]\nhoop = " qaanso "\n\n["Bosanski jezik"]\nbed = "gredica"\n'
    first, second = read(tmp_path, text)
    assert first == ("Soomaali", {"hoop": "qaanso"})
    assert second == ("Bosanski jezik", {"bed": "gredica"})


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ('hoop = "x"', ["words.toml: 'hoop' stands outside a language", "[LANGUAGE]"]),
        ('[A]\nhop = "x"', ["'hop' of 'A' is not a word", "did you mean 'hoop'?"]),
        ('[A]\nroof = "x"', ["'roof' of 'A'", "they are hoop, leg, cover"]),
        ("[A]\nhoop = 3", ["'hoop' of 'A' is 3", "in quotes"]),
        ('[A]\nhoop = ""', ["'hoop' of 'A' is empty"]),
        (f'[A]\nhoop = "{"x" * 31}"', ["has 31 characters; at most 30 fit"]),
        ('[A]\nhoop = "a\\u202eb"', ["direction mark"]),
        (f'["{"x" * 31}"]\nhoop = "a"', ["the language", "31 characters"]),
        ("".join(f"[L{n}]\n" for n in range(4)), ["it has 4 languages; at most 3 fit"]),
        ("[A\n", ["line 1", "cannot be read"]),
    ],
)
def test_what_is_wrong_is_said_in_one_sentence(tmp_path, text, parts):
    with pytest.raises(SiteError) as refused:
        read(tmp_path, text)
    (said,) = map(str, refused.value.problems)
    for part in parts:
        assert part in said
    assert "?." not in said


def folder(tmp_path, text):
    (tmp_path / "site.toml").write_text(f'name = "Hill"\n{text}', encoding="utf-8")
    return tmp_path


def test_each_sheet_may_have_its_language(tmp_path):
    text = '[sheets.languages]\nbuild = ["en", "es"]\nlandowner = ["es"]\n'
    settings, problems = draft_choices(folder(tmp_path, text), ("en", "es"))
    assert problems == []
    assert settings.sheets.languages == {"build": ("en", "es"), "landowner": ("es",)}


@pytest.mark.parametrize(
    ("line", "parts"),
    [
        ('crew = ["en", "es"]', ["crew has two languages", "dawn_walk, walk, build"]),
        ('build = ["xx"]', ["[sheets.languages]: build is 'xx'", "en, es"]),
        ("build = []", ["build", "at least 1"]),
        ('build = ["en", "es", "en"]', ["build", "at most 2"]),
        ('roof = ["en"]', ["roof"]),
        ('build = "en"', ["build"]),
    ],
)
def test_a_wrong_language_of_a_sheet_is_said_in_one_sentence(tmp_path, line, parts):
    site = folder(tmp_path, f"[sheets.languages]\n{line}\n")
    _settings, problems = draft_choices(site, ("en", "es"))
    (said,) = map(str, problems)
    for part in parts:
        assert part in said
