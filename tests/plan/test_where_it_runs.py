"""The command runs in the folder of a stranger's site: nothing there gives it orders."""

import os
import shutil

import pytest
from demo import ROOT, run_alone

from fieldmap.cli.here import check_here
from fieldmap.errors import SiteError


def test_orders_for_a_library_are_refused(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    check_here()
    (tmp_path / ".numba_config.yaml").write_text("cache_dir: .\n")
    with pytest.raises(
        SiteError, match=r"the folder where you are holds .*\.numba_config\.yaml"
    ):
        check_here()


def test_the_command_says_so_before_it_reads(tmp_path):
    shutil.copy(ROOT / "demo_site" / "site.toml", tmp_path)
    os.mkfifo(tmp_path / ".numba_config.yaml")
    done = run_alone("check", ".", cwd=tmp_path)
    assert done.returncode == 1
    assert done.stderr.startswith(
        "fieldmap: the folder where you are holds .numba_config.yaml"
    )
    assert done.stderr.count("\n") == 1


def test_a_folder_that_was_taken_away_is_said(tmp_path, monkeypatch):
    gone = tmp_path / "gone"
    gone.mkdir()
    monkeypatch.chdir(gone)
    gone.rmdir()
    with pytest.raises(SiteError, match="was deleted"):
        check_here()


def test_a_name_longer_than_any_is_one_sentence(tmp_path):
    done = run_alone("check", "x" * 300, cwd=tmp_path)
    assert done.returncode == 1
    assert "File name too long" in done.stderr
    assert done.stderr.count("\n") == 1
