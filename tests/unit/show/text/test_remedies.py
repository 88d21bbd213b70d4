"""What texts tell people to do can be done by who has the command and nothing else."""

import re
from importlib import resources

import typer.main
from babel.messages.pofile import read_po

from fieldmap.cli import app
from fieldmap.show.text import languages

COMMANDS = typer.main.get_command(app).commands
# After the program's name in a sentence about it, which no one is to type.
WHAT_IT_DOES = {
    *("itself", "to", "and", "can", "cannot", "may", "is", "does", "runs", "needs"),
    *("reads", "asks", "downloads", "replaces"),
}


def every_text():
    """Each text that is said, as the catalogue of translations gathers them."""
    with resources.files(languages).joinpath("es.po").open("rb") as file:
        for message in read_po(file, locale="es"):
            if message.id:
                yield from [message.id] if isinstance(message.id, str) else message.id


def test_no_text_names_a_page_that_comes_with_the_sources_alone():
    named = [text for text in every_text() if re.search(r"\bdocs/|\.md\b|README", text)]
    assert named == []


def test_each_command_that_a_text_names_is_there_with_its_options():
    for text in every_text():
        for name, rest in re.findall(r"\bfieldmap ([a-z]+)\b([^.;:]*)", text):
            if name in WHAT_IT_DOES:
                continue
            assert name in COMMANDS, text
            there = {each for made in COMMANDS[name].params for each in made.opts}
            assert set(re.findall(r"--[a-z-]+", rest)) <= there, text
