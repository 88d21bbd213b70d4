"""A plan's bytes hang on its site alone: not on what was kept, nor on how many threads."""

import json
import os
import shutil

import numba
from small_farm import TODAY
from typer.testing import CliRunner

from fieldmap.cli import app


def contents(folder):
    """Every file of a plan by its name."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


def planned(site, out):
    """Files of a plan, and what was said."""
    asked = ["plan", str(site), "--today", TODAY, "--out", str(out)]
    result = CliRunner().invoke(app, asked)
    assert result.exit_code == 0, result.stderr
    return contents(out), result.stderr


def different(one, other):
    return sorted(
        name for name in one.keys() | other.keys() if one[name] != other[name]
    )


def test_another_bed_width_and_back_by_one_thread_of_one_process_gives_the_same_bytes(
    small_farm, tmp_path, monkeypatch
):
    fresh = contents(small_farm / "plan")
    monkeypatch.setattr(os, "cpu_count", lambda: 1)
    threads = numba.get_num_threads()
    numba.set_num_threads(1)
    try:
        made = shutil.ignore_patterns("plan", ".fieldmap")
        site = shutil.copytree(small_farm, tmp_path / "demo_site", ignore=made)
        choices = (site / "site.toml").read_bytes()
        (site / "site.toml").write_bytes(choices + b"\n[beds]\nbed_width_m = 1.1\n")
        other, _said = planned(site, tmp_path / "plan")
        (site / "site.toml").write_bytes(choices)
        back, said = planned(site, tmp_path / "plan")
    finally:
        numba.set_num_threads(threads)
    assert {"beds.csv", "map.html"} <= set(different(fresh, other))
    assert {bed["width_m"] for bed in json.loads(other["plan.json"])["beds"]} == {1.1}
    # The width of beds changes neither light nor air, so none is computed again.
    for step in ("skyline", "sun of twelve", "cold air of", "shelter", "room for"):
        assert f"fieldmap: {step}" not in said
    assert different(fresh, back) == []
