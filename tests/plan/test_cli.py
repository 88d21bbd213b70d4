"""The command as a grower runs it: what it prints, and how it refuses."""

import json
import shutil
import subprocess
import sys
from types import SimpleNamespace

import pytest
from demo import run_alone
from small_farm import TODAY
from typer.testing import CliRunner

from fieldmap.cli import app


def run(*words):
    """The same in this process, which has all libraries loaded already."""
    result = CliRunner().invoke(app, list(map(str, words)))
    if result.exception and not isinstance(result.exception, SystemExit):
        raise result.exception
    return SimpleNamespace(
        returncode=result.exit_code, stdout=result.stdout, stderr=result.stderr
    )


@pytest.fixture(scope="module")
def planned(small_farm, tmp_path_factory):
    """A folder that was planned, and what the command said."""
    folder = shutil.copytree(small_farm, tmp_path_factory.mktemp("site") / "farm")
    said = {
        name: (small_farm.parent / name).read_text("utf-8")
        for name in ("stdout", "stderr")
    }
    return folder, SimpleNamespace(**said)


def test_a_plan_prints_tables_and_says_its_steps_on_stderr(planned):
    folder, result = planned
    assert result.stdout.startswith("plot")
    assert "Plot 1" in result.stdout
    assert "reading the site" in result.stderr
    assert (folder / "plan" / "map.html").is_file()


def test_two_runs_write_the_same_bytes(planned, tmp_path):
    """One computed all and one found it kept; no process has the other's hash seed."""
    folder, first = planned
    alone = run_alone("plan", folder, "--today", TODAY, "--out", tmp_path / "two")
    assert alone.returncode == 0, alone.stderr
    assert alone.stdout.split("\n\n")[0] == first.stdout.split("\n\n")[0]
    assert "reading the site" in alone.stderr
    one, two = (
        {
            path.relative_to(place): path.read_bytes()
            for path in place.rglob("*")
            if path.is_file()
        }
        for place in (folder / "plan", tmp_path / "two")
    )
    assert one == two


def test_json_prints_plan_json_and_a_second_run_computes_no_sun_again(planned):
    folder, first = planned
    second = run("plan", folder, "--today", TODAY, "--json")
    assert json.loads(second.stdout)["site"]["name"] == "Small Farm"
    assert second.stdout == (folder / "plan" / "plan.json").read_text()
    assert "sun of twelve months" in first.stderr
    assert "sun of twelve months" not in second.stderr


def test_check_prints_what_it_found_and_writes_nothing(planned):
    folder, _ = planned
    before = {path.name for path in folder.iterdir()}
    result = run("check", folder)
    assert result.returncode == 0
    assert "440 m²" in result.stdout
    assert {path.name for path in folder.iterdir()} == before


def spoiled(path, how):
    """Make one file of a site bad; returns words that the refusal must hold."""
    toml = path / "site.toml"
    spoilers = {
        "no such folder": (lambda: path.rename(path.with_name("gone")), str(path)),
        "a missing file": ((path / "elevation.tif").unlink, "elevation.tif"),
        "an empty file": (
            lambda: (path / "plots.geojson").write_text(""),
            "plots.geojson",
        ),
        "a misspelt key": (
            lambda: toml.write_text('name = "x"\n[beds]\nbed_widht_m = 1.0\n'),
            "bed_widht_m",
            "bed_width_m",
        ),
        "a wrong type": (
            lambda: toml.write_text('name = "x"\n[beds]\nbed_width_m = "wide"\n'),
            "bed_width_m",
            "wide",
        ),
        "not TOML": (lambda: toml.write_text("name = \n"), "site.toml", "line 1"),
        "a plan that is a file": (
            lambda: (path / "plan").write_text("a file"),
            "is a file",
        ),
    }
    spoil, *words = spoilers[how]
    spoil()
    return words


@pytest.mark.parametrize(
    "how",
    [
        "no such folder",
        "a missing file",
        "an empty file",
        "a misspelt key",
        "a wrong type",
        "not TOML",
        "a plan that is a file",
    ],
)
def test_bad_input_is_one_sentence_and_exit_code_1(site_folder, how):
    says = spoiled(site_folder.path, how)
    result = run("plan", site_folder.path)
    assert result.returncode == 1
    assert "Traceback" not in result.stderr
    sentence = next(
        line for line in result.stderr.splitlines() if all(w in line for w in says)
    )
    assert sentence.startswith("fieldmap: ")
    assert result.stdout == ""
    assert not (site_folder.path / "plan").is_dir()


def test_check_says_every_problem_at_once(site_folder):
    (site_folder.path / "elevation.tif").unlink()
    (site_folder.path / "plots.geojson").unlink()
    result = run_alone("check", site_folder.path)
    assert result.returncode == 1
    assert len(result.stderr.splitlines()) == 2
    assert "elevation.tif" in result.stderr
    assert "plots.geojson" in result.stderr


def test_mistakes_are_shown_in_the_language_of_the_site(site_folder):
    (site_folder.path / "elevation.tif").unlink()
    site_folder.toml('name = "Hill Farm"\nlanguage = "es"\n[beds]\nheadland = 1\n')
    result = run("check", site_folder.path)
    assert result.returncode == 1
    # One stands in site.toml itself, one is found after it was read.
    assert "[beds] no tiene la clave 'headland'" in result.stderr
    assert "elevation.tif falta en" in result.stderr


def test_a_mistake_that_is_found_once_the_site_is_read_is_shown_in_its_language(
    site_folder,
):
    site_folder.toml('name = "Hill Farm"\nlanguage = "es"\n')
    (site_folder.path / "thermometers.csv").write_text("place\n")
    result = run("observe", site_folder.path)
    assert result.returncode == 1
    assert "thermometers.csv no tiene" in result.stderr


def test_remarks_are_said_in_the_language_of_the_site(site_folder):
    site_folder.toml('name = "Hill Farm"\nlanguage = "es"\n')
    result = run("check", site_folder.path)
    assert result.returncode == 0, result.stderr
    assert "No hay surroundings.geojson" in result.stdout


def test_a_language_that_is_not_there_is_refused_by_the_command(site_folder):
    site_folder.toml('name = "Hill Farm"\nlanguage = "xx"\n')
    result = run("check", site_folder.path)
    assert result.returncode == 1
    assert "language is 'xx'; there are en, es" in result.stderr


def test_tonight_refuses_in_one_sentence_before_it_computes(site_folder):
    result = run("tonight", site_folder.path, "--low", "cold")
    assert result.returncode == 1
    assert result.stdout == ""
    lines = result.stderr.splitlines()
    assert lines[0] == "fieldmap: reading the site"
    assert len(lines) == 2
    assert "--low is 'cold'" in lines[1]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--date", "tomorrow"), "--date is 'tomorrow'; write a day from 2000 to 2100"),
        (
            ("--dusk", "-3"),
            "--dusk is '-3'; give the temperature two hours after sunset",
        ),
        (("--wind", "gusty"), "--wind is 'gusty'; say calm or windy"),
    ],
)
def test_an_option_of_tonight_that_cannot_be_is_refused(site_folder, options, said):
    result = run("tonight", site_folder.path, "--low", "-2", *options)
    assert (result.returncode, result.stdout) == (1, "")
    assert said in result.stderr.splitlines()[-1]


def test_observe_refuses_bad_readings_before_any_work(site_folder, says):
    header = "place,longitude,latitude,height_m,shield,date,tmin_c\n"
    (site_folder.path / "thermometers.csv").write_text(
        header + "A,15,45,1.5,maybe,2021-04-01,1\n"
    )
    result = run("observe", site_folder.path)
    assert result.returncode == 1
    says(result.stderr, "line 2", "'maybe'")
    assert "cold air" not in result.stderr
    assert not (site_folder.path / "observed.toml").exists()


def test_help_names_every_command():
    result = run("--help")
    assert result.returncode == 0
    assert "plan" in result.stdout
    assert "check" in result.stdout


def test_help_loads_none_of_the_heavy_libraries():
    """What is not imported costs no time; the time itself is measured elsewhere."""
    code = (
        "import sys; sys.argv = ['fieldmap', '--help']\n"
        "from fieldmap import cli\n"
        "try: cli.main()\n"
        "except SystemExit: pass\n"
        "heavy = {'numpy', 'pandas', 'geopandas', 'rasterio', 'pvlib', 'folium', 'numba'}\n"
        "print(sorted(heavy & set(sys.modules)), file=sys.stderr)"
    )
    result = subprocess.run(
        [sys.executable, "-c", code], check=True, capture_output=True, text=True
    )
    assert result.stderr.strip() == "[]"


def test_reading_a_site_loads_none_of_the_slow_layers():
    # Bad input is to be refused before the compiled loops are even loaded.
    program = (
        "import sys, fieldmap.cli, fieldmap.read, fieldmap.read.thermometers\n"
        "sys.exit('numba' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0
