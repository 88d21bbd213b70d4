"""The reference is what the code says: every key, option, file and column, as it is now."""

import csv
import re
import runpy
import sqlite3
import sys
import tomllib
from typing import get_args

import pytest
from openpyxl import load_workbook
from pages import DOCS, blocks, pages
from typer.testing import CliRunner

from fieldmap.cli import app
from fieldmap.model.region import RegionSettings
from fieldmap.model.settings import CoverKind, Settings
from fieldmap.model.site import SEEN
from fieldmap.model.surroundings import KINDS
from fieldmap.show.text.names import glossary

INPUTS = (DOCS / "reference/input_files.md").read_text("utf-8")
EXAMPLE = tomllib.loads((DOCS / "reference/site.toml").read_text("utf-8"))


@pytest.fixture(scope="module")
def written():
    """The pages as `make reference` would write them now."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "path", [str(DOCS / "generate"), *sys.path])
        return runpy.run_path(str(DOCS / "generate"))["pages"]()


def test_the_pages_are_those_that_the_code_gives_now(written):
    stale = [
        name
        for name, text in written.items()
        if (DOCS / name).read_text("utf-8") != text
    ]
    assert stale == [], "run `make reference`"


def keys(model, path=""):
    """Every key of a table of choices, and of the tables in it."""
    for name, field in model.model_fields.items():
        below = f"{path}.{name}" if path else name
        yield below
        for inner in (field.annotation, *getattr(field.annotation, "__args__", ())):
            if hasattr(inner, "model_fields"):
                yield from keys(inner, below)


def shown_keys(table, path=""):
    for key, values in table.items():
        below = f"{path}.{key}" if path else key
        yield below
        for value in values if isinstance(values, list) else [values]:
            if isinstance(value, dict):
                yield from shown_keys(value, below)


@pytest.mark.parametrize(
    ("page", "model"), [("site_toml", Settings), ("region_toml", RegionSettings)]
)
def test_every_key_has_a_row_under_its_table(page, model):
    page = (DOCS / f"reference/{page}.md").read_text("utf-8")
    head, *parts = re.split(r"(?m)^## \[+([\w.]+)\]+$", page)
    tables = {"": head} | dict(zip(parts[::2], parts[1::2], strict=True))
    for key in keys(model):
        table, _, name = key.rpartition(".")
        assert key in tables or f"| `{name}` |" in tables[table], key


@pytest.mark.parametrize("key", ["elevation_ft", "bed_width_in", "path_width_in"])
def test_keys_in_feet_and_inches_are_named(key):
    assert f"`{key}`" in (DOCS / "reference/site_toml.md").read_text("utf-8")


def test_the_example_is_valid_and_names_every_key():
    Settings.model_validate(EXAMPLE)
    # The names of sheets are keys that a table of languages may have, not choices.
    shown = {key for key in shown_keys(EXAMPLE) if key.count("sheets.languages.") == 0}
    assert shown == set(keys(Settings))


def test_the_example_of_a_region_is_valid_and_names_every_key():
    example = tomllib.loads((DOCS / "reference/region.toml").read_text("utf-8"))
    RegionSettings.model_validate(example)
    assert set(shown_keys(example)) == set(keys(RegionSettings))


@pytest.mark.parametrize("table", ["beds", "files", "risk", "materials"])
def test_the_example_has_the_defaults_where_there_are_some(table):
    for key, default in Settings(name="x").model_dump()[table].items():
        if default not in (None, ()) and key not in ("length_m", "on_hand", "prices"):
            shown = EXAMPLE[table][key]
            assert (tuple(shown) if isinstance(shown, list) else shown) == default, key


def test_every_block_of_choices_in_the_guides_is_valid():
    count = 0
    for name, text in pages().items():
        for block in blocks(text, "toml"):
            if name.startswith("docs/guides/") and "[Soomaali]" not in block:
                Settings.model_validate({"name": "x"} | tomllib.loads(block))
                count += 1
    assert count >= 5


def test_every_input_file_has_a_row():
    for default in Settings(name="x").files.model_dump().values():
        assert default is None or f"| `{default}` |" in INPUTS, default


def test_every_command_and_option_has_a_row():
    page = (DOCS / "reference/commands.md").read_text("utf-8")
    for command in app.registered_commands:
        name = command.name or command.callback.__name__
        (part,) = re.findall(rf"(?ms)^## fieldmap {name}$(.*?)(?=^## |\Z)", page)
        assert (command.callback.__doc__ or "").split("\n")[0] in part
        # Typer's own help is another reading of the same functions.
        help_text = CliRunner().invoke(app, [name, "--help"]).output
        options = set(re.findall(r"--[a-z]+(?:-[a-z]+)*", help_text)) - {"--help"}
        assert [each for each in options if f"`{each}`" not in part] == []


def columns_of(page, table):
    (part,) = re.findall(rf"(?ms)^### {re.escape(table)}$(.*?)(?=^##|\Z)", page)
    return {
        re.escape(name).replace(r"\*", "[a-z_]+")
        for name in re.findall(r"(?m)^\| `(.*?)`", part)
    }


def missing(names, page, table):
    documented = columns_of(page, table)
    return [
        name
        for name in names
        if not any(re.fullmatch(each, name) for each in documented)
    ]


def test_every_file_and_column_of_a_plan_is_described(planned_demo):
    page = (DOCS / "reference/files.md").read_text("utf-8")
    plan = planned_demo / "plan"
    for path in plan.rglob("*"):
        name = path.relative_to(plan).as_posix()
        assert path.is_dir() or f"`{name}`" in page, name
    for path in plan.glob("*.csv"):
        with path.open(encoding="utf-8") as file:
            assert missing(next(csv.reader(file)), page, path.name) == []
    with sqlite3.connect(plan / "plan.gpkg") as layers:
        tables = layers.execute("SELECT table_name FROM gpkg_contents").fetchall()
        for (table,) in tables:
            if table in ("beds", "layer_styles"):
                continue
            names = [row[1] for row in layers.execute(f"PRAGMA table_info({table})")]
            own = set(names) - {"fid", "geom"}
            assert missing(own, page, f"plan.gpkg, {table}") == []
        beds = [row[1] for row in layers.execute("PRAGMA table_info(beds)")]
        assert missing(set(beds) - {"fid", "geom"}, page, "beds.csv") == []


def test_the_hoops_of_the_workbook_have_as_many_columns_as_are_described(planned_demo):
    page = (DOCS / "reference/files.md").read_text("utf-8")
    book = load_workbook(planned_demo / "plan/materials.xlsx", read_only=True)
    heads = next(book.worksheets[1].iter_rows(values_only=True))
    assert len(columns_of(page, "materials.xlsx, hoops")) == len(heads)


def test_every_kind_of_surroundings_is_explained():
    guide = (DOCS / "guides/surroundings.md").read_text("utf-8")
    for kind in KINDS:
        assert re.search(rf"^\| .*\b{kind}\b.* \|", guide, re.M), kind
    for seen in SEEN:
        assert re.search(rf"^\| .*\b{seen}\b.* \|", guide, re.M), seen


def test_every_kind_of_cover_is_named():
    guide = (DOCS / "guides/covers.md").read_text("utf-8")
    for kind in get_args(CoverKind):
        assert f"`{kind}`" in guide, kind


def test_the_words_of_the_glossary_are_those_of_the_texts():
    page = (DOCS / "glossary.md").read_text("utf-8")
    for word, meaning in glossary():
        assert f"| {word} | {meaning} |" in page
