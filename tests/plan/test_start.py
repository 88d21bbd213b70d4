"""Two commands: from a walk with a phone and the address of heights to a map."""

import re
from types import SimpleNamespace

import numpy as np
import pytest
from made_up_walks import gpx, walk
from range_server import serving
from site_folder import SiteFolder
from typer.testing import CliRunner

from fieldmap.cli import app
from fieldmap.read.start.weather import choose as steps


def run(*words):
    result = CliRunner().invoke(app, list(map(str, words)))
    if result.exception and not isinstance(result.exception, SystemExit):
        raise result.exception
    return SimpleNamespace(code=result.exit_code, out=result.stdout, err=result.stderr)


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A site folder made and planned, with no weather to be had."""
    base = tmp_path_factory.mktemp("start")
    (base / "square").mkdir()
    square = SiteFolder(base / "square")
    square.elevation(unit=None)
    places, seconds = walk([(0, 0), (40, 0), (40, 30), (0, 30)], 2)
    text = gpx(places + np.array([520255.0, 5100260.0]), seconds)
    (base / "walk.gpx").write_text(text)
    files = {"/heights.tif": (square.path / "elevation.tif").read_bytes()}
    with serving(files) as (address, server), pytest.MonkeyPatch.context() as patch:
        nothing = {"name": "archive", "stations": f"{address}/stations.txt"}
        year = {"name": "years", "address": f"{address}/year.epw"}
        patch.setattr(
            steps, "tables", lambda: {"weather": [nothing], "typical_year": [year]}
        )
        patch.setenv("XDG_CACHE_HOME", str(base / "cache"))
        place = base / "place"
        start = run(
            *("start", place, base / "walk.gpx", "--fetch"),
            *("--elevation", f"{address}/heights.tif"),
        )
        asked = list(server.asked)
    return place, start, asked, run("plan", place)


def test_two_commands_give_a_map(made):
    place, start, asked, plan = made
    assert (start.code, plan.code) == (0, 0), start.err + plan.err
    assert set(asked) == {"/heights.tif", "/stations.txt", "/year.epw"}
    assert re.search(
        r"Long Field: the area is [\d,]+ m². It may be up to [\d,]+ m²", start.out
    )
    assert "fieldmap plan" in start.out
    assert "asking 127.0.0.1" in start.err
    assert (place / "plan" / "map.html").is_file()
    # Corners that a phone found are no place for a peg before lengths are taped.
    assert not (place / "plan" / "stakes.csv").exists()


def test_the_map_says_which_questions_stay_open(made):
    place, *_ = made
    page = (place / "plan" / "map.html").read_text("utf-8")
    (section,) = re.findall(
        r'<details id="open-questions".*?</details>', page, re.DOTALL
    )
    assert "What the plan does not know yet" in section
    assert "no weather record" in section
    assert "clouds" in section or "cloud" in section
    assert (
        "no weather record"
        not in page.split('id="warnings"')[-1].split("</details>")[0]
    )


def test_a_mistake_is_one_sentence_and_code_1(tmp_path):
    result = run("start", tmp_path / "place", tmp_path / "nothing.gpx")
    assert result.code == 1
    assert "does not exist" in result.err
    result = run("start", tmp_path / "place", "--at", "here")
    assert (result.code, "--at is 'here'" in result.err) == (1, True)


def test_a_site_may_begin_in_spanish(tmp_path):
    corners = tmp_path / "huerta.csv"
    corners.write_text("lat,lon\n40.4,-3.7\n40.4,-3.699\n40.401,-3.699\n")
    result = run("start", tmp_path / "place", corners, "--language", "es")
    assert result.code == 0, result.err
    assert "Siguiente" in result.out
    assert "De dónde viene el viento" in (tmp_path / "place" / "site.toml").read_text()
