"""What the page on Python shows runs, and names what is there."""

import re
import shutil
from pathlib import Path

import pytest

import fieldmap
import layers

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs/guides/from_python.md").read_text("utf-8")
BLOCKS = re.findall(r"^```python\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)


def test_every_example_of_the_page_runs_in_order(
    small_farm, tmp_path, monkeypatch, capsys
):
    shutil.copytree(small_farm, tmp_path / "demo_site")
    monkeypatch.chdir(tmp_path)
    names = {}
    for block in BLOCKS:
        exec(block, names)
    said = capsys.readouterr().out
    assert "no_such_folder does not exist" in said
    # A slope of 5 % rises by atan(0.05) = 2.86° and faces west.
    assert "2.9° down to 270°" in said
    written = {path.name for path in tmp_path.iterdir()}
    assert written >= {"beds.geojson", "offset_c.tif", "beds.png", "map.html"}
    assert (tmp_path / "plan_from_python/plan.json").is_file()


def test_the_page_names_all_that_is_exported_and_every_module_of_the_layers():
    assert [name for name in fieldmap.__all__ if f"{name}" not in PAGE] == []
    folder = Path(layers.__path__[0])
    modules = {path.stem for path in folder.glob("*.py") if path.stem[0] != "_"}
    listed = re.findall(r"^\| (`\w+`(?:, `\w+`)*) \|", PAGE, re.MULTILINE)
    assert {name for row in listed for name in re.findall(r"\w+", row)} == modules


@pytest.mark.parametrize("name", fieldmap.__all__)
def test_what_is_exported_is_there_and_says_what_it_is(name):
    assert getattr(fieldmap, name).__doc__
    assert name in dir(fieldmap)
