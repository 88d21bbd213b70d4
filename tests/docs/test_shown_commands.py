"""Every command that README and the guides show runs, in order, on small sites."""

import contextlib
import re
import shutil
from pathlib import Path

import made_region
import numpy as np
import pytest
from made_up_walks import gpx, walk
from pages import ROOT, commands, pages
from range_server import serving
from site_folder import SiteFolder
from small_farm import TODAY
from typer.testing import CliRunner

from fieldmap.cli import app
from fieldmap.read.start.weather import choose
from fieldmap.region import run

PAGES = {name: commands(text) for name, text in pages().items()}
LINES = [
    (name, line)
    for name, lines in PAGES.items()
    for line in lines
    if name != "DEVELOPERS.md"
]
# Each once, on the first page that shows it.
OURS = list(dict.fromkeys(line for _, line in LINES if line.startswith("fieldmap ")))
INSTALLERS = {"pipx install .", "uv tool install ."}


@pytest.fixture(scope="module")
def folder(small_farm, tmp_path_factory):
    """What a reader of the guides has: a planned farm, a walk, heights, a record.

    The farm is a small one in place of the demo, of which `tests/plan` makes the plan.
    """
    path = tmp_path_factory.mktemp("guides")
    shutil.copytree(small_farm, path / "demo_site")
    square = SiteFolder(path)
    square.elevation(unit=None)
    (path / "elevation.tif").rename(path / "heights.tif")
    square.weather()
    places, seconds = walk([(0, 0), (30, 0), (30, 25), (0, 25)], 2)
    there = places + np.array([520270.0, 5100275.0])
    (path / "walk.gpx").write_text(gpx(there, seconds))
    return path


@contextlib.contextmanager
def open_services(words, folder, patch):
    """The words of a line with services on loopback in place of those it would ask."""
    if "--fetch" not in words:
        yield words
        return
    with serving({"/heights.tif": (folder / "heights.tif").read_bytes()}) as (
        address,
        _,
    ):
        archive = {"name": "archive", "stations": f"{address}/stations.txt"}
        years = {"name": "years", "address": f"{address}/year.epw"}
        patch.setattr(
            choose, "tables", lambda: {"weather": [archive], "typical_year": [years]}
        )
        patch.setenv("XDG_CACHE_HOME", str(folder / "cache"))
        yield [*words, "--elevation", f"{address}/heights.tif"]


@pytest.mark.parametrize("line", OURS)
def test_shown_commands_run(line, folder, small_farm, monkeypatch):
    monkeypatch.chdir(folder)
    # `open` serves until it is stopped, and opens a browser.
    monkeypatch.setattr("uvicorn.Server.run", lambda server, sockets: None)
    monkeypatch.setattr("webbrowser.open", lambda address: True)
    words = line.split()[1:]
    if words[0] == "region":
        made_region.write_region(Path(words[1]), 320.0, night_hours=0.5)
        # Dask's own processes are tried in tests/plan.
        here = contextlib.nullcontext(run.in_process)
        monkeypatch.setattr("fieldmap.region.cluster.workers", lambda *how: here)
    if words[0] == "plan":
        words += ["--today", TODAY]
    if words == ["demo", "my_demo"]:
        shutil.rmtree("my_demo", ignore_errors=True)
    if words[:2] == ["plan", "my_demo"]:
        shutil.rmtree("my_demo", ignore_errors=True)
        shutil.copytree(small_farm, "my_demo")
    if words[0] == "start" and ("walk.gpx" in words):
        shutil.rmtree(words[1], ignore_errors=True)
    with open_services(words, folder, monkeypatch) as asked:
        result = CliRunner().invoke(app, asked, input="46.0\n15.3\n310\n")
    assert result.exit_code == 0, result.output
    assert result.stdout


def test_every_command_is_shown():
    shown = {line.split()[1] for line in OURS}
    assert shown == {
        command.name or command.callback.__name__ for command in app.registered_commands
    }


def test_other_shown_commands_are_targets_or_installers():
    makefile = (ROOT / "Makefile").read_text("utf-8")
    for page, line in LINES:
        if line.startswith("make "):
            target = line.split()[1]
            assert re.search(rf"^{target}:", makefile, re.M), (page, line)
        elif not line.startswith("fieldmap "):
            assert line in INSTALLERS, (page, line)
