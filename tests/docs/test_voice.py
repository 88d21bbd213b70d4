"""The voice: words that nobody who grows would say are in no text, and sentences are short."""

import re

import pytest
from pages import pages
from texts import forms, marked_texts
from typer.testing import CliRunner

from fieldmap.cli import app

NOT_OURS = re.compile(r"\b(told|reckoned|minded|so many)\b", re.I)
# The name of a column before it was changed.
OLD_NAMES = re.compile(r"^\| `[\w.]+` \| `[\w.]+` \|$", re.M)


def test_no_text_has_a_word_that_is_not_ours():
    said = {form for text in marked_texts() for form in forms(text)}
    plain = {re.sub(r"\{[^{}]*\}", "", form) for form in said}
    assert len(plain) > 1000
    assert sorted(text for text in plain if NOT_OURS.search(text)) == []


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
