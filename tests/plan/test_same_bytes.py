"""A plan's bytes hang on its site alone: not on what was kept, nor on how many threads."""

import json
import os

import numba
import pytest
from site_folder import SiteFolder
from typer.testing import CliRunner

from fieldmap.cli import app

CHOICES = """
name = "Hill Farm"

[beds]
bed_width_m = {bed_width_m}

[[tunnels]]
length_m = 10.0
width_m = 5.0
height_m = 2.5

[[crops]]
name = "lettuce"

[[what_if]]
name = "No hedge"
take_away = ["Hedge"]
"""


def site(path, bed_width_m=0.75):
    path.mkdir()
    folder = SiteFolder(path).plain()
    hedge = {"name": "Hedge", "height_m": 3.0, "porosity": 0.3, "clear_stem_m": 0.0}
    folder.surroundings(
        ("hedge", folder.box(240, 262, 360, 264), hedge | {"leaf": "deciduous"})
    )
    folder.toml(CHOICES.format(bed_width_m=bed_width_m))
    return folder


def planned(folder, out):
    """Every file of a plan by its name, and what was said."""
    result = CliRunner().invoke(app, ["plan", str(folder.path), "--out", str(out)])
    assert result.exit_code == 0, result.stderr
    return {
        path.relative_to(out).as_posix(): path.read_bytes()
        for path in out.rglob("*")
        if path.is_file()
    }, result.stderr


def different(one, other):
    return sorted(
        name for name in one.keys() | other.keys() if one[name] != other[name]
    )


@pytest.fixture(scope="module")
def fresh(tmp_path_factory):
    place = tmp_path_factory.mktemp("fresh")
    return planned(site(place / "site"), place / "plan")[0]


def test_another_bed_width_and_back_by_one_thread_of_one_process_gives_the_same_bytes(
    fresh, tmp_path, monkeypatch
):
    monkeypatch.setattr(os, "cpu_count", lambda: 1)
    threads = numba.get_num_threads()
    numba.set_num_threads(1)
    try:
        folder = site(tmp_path / "site", bed_width_m=1.2)
        other, _said = planned(folder, tmp_path / "plan")
        folder.toml(CHOICES.format(bed_width_m=0.75))
        back, said = planned(folder, tmp_path / "plan")
    finally:
        numba.set_num_threads(threads)
    assert {"beds.csv", "map.html"} <= set(different(fresh, other))
    assert {bed["width_m"] for bed in json.loads(other["plan.json"])["beds"]} == {1.2}
    # The width of beds changes neither light nor air, so none is computed again.
    for step in ("skyline", "sun of twelve", "cold air of", "shelter", "room for"):
        assert f"fieldmap: {step}" not in said
    assert different(fresh, back) == []
