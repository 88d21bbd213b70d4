"""One file where the user says: asked for before the work, whole or not at all."""

import errno
import os
import sys

import pytest

from fieldmap.errors import PlanError, problem
from fieldmap.show.files import one_file


def check(file):
    one_file.check_place(file, (".html",), lambda _text: True, problem("not ours"))


def test_a_place_that_cannot_be_written_is_refused_before_the_work(
    tmp_path, monkeypatch
):
    def refused(path, **_how):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    monkeypatch.setattr(one_file.Path, "touch", refused)
    with pytest.raises(PlanError, match=r"could not be written \(Permission denied\)"):
        check(tmp_path / "tonight.html")


def test_asking_leaves_nothing_behind(tmp_path):
    check(tmp_path / "tonight.html")
    assert not list(tmp_path.iterdir())


def test_a_full_disk_leaves_the_old_file(tmp_path, monkeypatch):
    file = tmp_path / "tonight.html"
    one_file.write("old", file)

    def full(_file):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(one_file.os, "fsync", full)
    with pytest.raises(PlanError, match="No space left on device"):
        one_file.write("new", file)
    assert file.read_text() == "old"
    assert [each.name for each in tmp_path.iterdir()] == ["tonight.html"]


@pytest.mark.skipif(sys.platform == "win32", reason="cannot be asked there")
def test_parts_of_runs_that_were_stopped_are_swept_and_those_of_others_stay(tmp_path):
    mine, gone = os.getppid(), 2**22 + 1  # more than Linux gives out
    for process in (mine, gone):
        (tmp_path / f".tonight.html.{process}.part").write_text("half")
    one_file.write("new", tmp_path / "tonight.html")
    names = sorted(each.name for each in tmp_path.iterdir())
    assert names == [f".tonight.html.{mine}.part", "tonight.html"]


def test_a_part_of_an_earlier_run_of_the_same_number_is_in_nobodys_way(tmp_path):
    """In a container every run may have the same number."""
    file = tmp_path / "tonight.html"
    (tmp_path / f".tonight.html.{os.getpid()}.part").write_text("half")
    check(file)
    (tmp_path / f".tonight.html.{os.getpid()}.part").write_text("half")
    one_file.write("new", file)
    assert [each.name for each in tmp_path.iterdir()] == ["tonight.html"]
    assert file.read_text() == "new"


def test_a_pipe_in_the_way_is_refused_and_not_waited_for(tmp_path):
    file = tmp_path / "tonight.html"
    os.mkfifo(file)
    with pytest.raises(PlanError, match="not ours"):
        one_file.check_place(file, (".html",), lambda _text: True, problem("not ours"))
