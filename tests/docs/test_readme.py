"""What the README shows is what the project does."""

import re
import runpy
import shutil
import tomllib
from pathlib import Path
from typing import get_args

import pytest
from PIL import Image
from typer.testing import CliRunner

from fieldmap.cli import app
from fieldmap.model.settings import CoverKind, Settings
from fieldmap.model.surroundings import KINDS

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(language):
    return re.findall(rf"```{language}\n(.*?)```", README, re.DOTALL)


CONSOLE_LINES = [
    line.removeprefix("$ ")
    for block in blocks("console")
    for line in block.splitlines()
    if line.startswith("$ ")
]


def test_every_command_is_shown():
    shown = {line.split()[1] for line in CONSOLE_LINES if line.startswith("fieldmap ")}
    assert shown == {
        command.name or command.callback.__name__ for command in app.registered_commands
    }


@pytest.fixture(scope="module")
def folder(planned_demo, tmp_path_factory):
    """A folder with the planned demo site, in which one command after another is run."""
    path = tmp_path_factory.mktemp("readme")
    shutil.copytree(planned_demo, path / "demo_site")
    return path


@pytest.mark.parametrize(
    "line", [line for line in CONSOLE_LINES if line.startswith("fieldmap ")]
)
def test_shown_commands_run(line, folder, monkeypatch):
    monkeypatch.chdir(folder)
    # `open` serves until it is stopped, and opens a browser.
    monkeypatch.setattr("uvicorn.Server.run", lambda server, sockets: None)
    monkeypatch.setattr("webbrowser.open", lambda address: True)
    result = CliRunner().invoke(app, line.split()[1:])
    assert result.exit_code == 0, result.output
    assert result.stdout


@pytest.mark.parametrize(
    "target", [line.split()[1] for line in CONSOLE_LINES if line.startswith("make ")]
)
def test_shown_make_targets_exist(target):
    assert re.search(rf"^{target}:", (ROOT / "Makefile").read_text(), re.MULTILINE)


def keys(model):
    """Every key of a table of choices, and of the tables in it."""
    for name, field in model.model_fields.items():
        yield name
        for inner in (field.annotation, *getattr(field.annotation, "__args__", ())):
            if hasattr(inner, "model_fields"):
                yield from (f"{name}.{key}" for key in keys(inner))


def shown_keys(table):
    for key, values in table.items():
        yield key
        for value in values if isinstance(values, list) else [values]:
            if isinstance(value, dict):
                yield from (f"{key}.{inner}" for inner in shown_keys(value))


def shown_pictures():
    """Path and text of every picture."""
    written = re.findall(r"!\[(.*?)\]\((.*?)\)", README)
    tags = re.findall(r"<img [^>]*>", README)
    return [(path, text) for text, path in written] + [
        (
            re.search(r'src="([^"]*)"', tag)[1],
            (re.search(r'alt="([^"]*)"', tag) or ["", ""])[1],
        )
        for tag in tags
    ]


def test_the_pictures_are_those_that_the_command_makes_and_are_told_in_words():
    script = runpy.run_path(str(ROOT / "demo_site/pictures.py"))
    made = {f"demo_site/pictures/{name}" for name in script["NAMES"]}
    there = {path.relative_to(ROOT).as_posix() for path in script["FOLDER"].iterdir()}
    shown = shown_pictures()
    assert sorted(path for path, _ in shown) == sorted(made)
    assert there == made
    assert all(len(text.split()) > 5 for _, text in shown)


def test_the_pictures_are_small_and_whole():
    sizes = []
    for path, _ in shown_pictures():
        with Image.open(ROOT / path) as picture:
            picture.load()
        sizes.append((ROOT / path).stat().st_size)
    assert max(sizes) < 150_000
    assert sum(sizes) < 600_000


def test_the_shown_site_toml_is_valid_and_names_every_key():
    (text,) = blocks("toml")
    choices = tomllib.loads(text) | {"units": "metric"}
    Settings.model_validate(choices)
    # The names of sheets are keys that a table of languages may have, not choices.
    shown = {
        key for key in shown_keys(choices) if not key.startswith("sheets.languages.")
    }
    assert shown == set(keys(Settings))


def test_defaults_shown_are_the_defaults():
    (text,) = blocks("toml")
    shown = tomllib.loads(text)
    for table in ("beds", "files", "risk"):
        defaults = Settings(name="x").model_dump()[table]
        for key, default in defaults.items():
            assert default in (None, shown[table][key]), key


def test_every_kind_of_surroundings_is_explained():
    for kind in KINDS:
        assert re.search(rf"^\| .*\b{kind}\b.* \|", README, re.MULTILINE), kind


def test_every_kind_of_cover_is_named():
    for kind in get_args(CoverKind):
        assert f"`{kind}`" in README, kind
