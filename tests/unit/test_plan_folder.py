"""A plan's folder is the old one or the new one, whole, whatever stops a run."""

import errno
import json
import os
import subprocess
import sys
from types import SimpleNamespace

import pytest

from fieldmap import output_folder
from fieldmap.errors import PlanError
from fieldmap.output_folder import exchange, lock, reserve, reserved, write

NAMES = ("plan.json", "map.html", "layers/sun.tif")


def fill_with(text):
    def fill(folder):
        (folder / "layers").mkdir()
        for name in NAMES:
            (folder / name).write_text(text)
        (folder / "plan.json").write_text(json.dumps({"files": list(NAMES)}) + text)

    return fill


@pytest.fixture
def place(tmp_path):
    folder = tmp_path / "site" / "plan"
    folder.parent.mkdir()
    old = fill_with(" ")
    write(folder, old)
    return folder


@pytest.fixture
def no_exchange(monkeypatch):
    """A system that cannot exchange two folders at once."""
    monkeypatch.setattr(exchange, "_renameat2", lambda: None)


def assert_is(folder, text):
    assert (folder / "map.html").read_text() == text
    assert (folder / "layers" / "sun.tif").read_text() == text
    assert [each.name for each in folder.parent.iterdir()] == [folder.name]


def test_a_new_plan_takes_the_place_of_the_old(place):
    write(place, fill_with("\n"))
    assert_is(place, "\n")


def test_so_it_does_where_folders_cannot_be_exchanged(place, no_exchange):
    write(place, fill_with("\n"))
    assert_is(place, "\n")


def test_where_the_file_system_refuses_an_exchange_three_renames_do_it(
    place, monkeypatch
):
    def refuses(*_names):
        exchange.ctypes.set_errno(errno.EINVAL)
        return -1

    monkeypatch.setattr(exchange, "_renameat2", lambda: refuses)
    write(place, fill_with("\n"))
    assert_is(place, "\n")


class Stopped(BaseException):
    """As a run ends that is killed: nothing is tidied up."""


@pytest.mark.parametrize("renames", range(4))
def test_a_run_stopped_between_renames_is_completed_or_undone_by_the_next(
    place, no_exchange, monkeypatch, renames
):
    """`new` to `ready`, the plan to `old`, `ready` to the plan: stopped after each."""
    done = 0
    rename = exchange.Path.rename

    def counted(path, target):
        nonlocal done
        if done == renames:
            raise Stopped
        done += 1
        return rename(path, target)

    monkeypatch.setattr(exchange.Path, "rename", counted)
    monkeypatch.setattr(reserve, "_release", lambda lock, work, made: os.close(lock))
    if renames == 3:
        write(place, fill_with("\n"))
    else:
        with pytest.raises(Stopped):
            write(place, fill_with("\n"))
    monkeypatch.undo()
    with reserved(place):
        text = (place / "map.html").read_text()
        assert text == (" " if renames == 0 else "\n")
        assert (place / "layers" / "sun.tif").read_text() == text
    assert [each.name for each in place.parent.iterdir()] == ["plan"]


def test_what_a_killed_run_left_is_swept(place):
    left = place.with_name(".plan.fieldmap") / "new" / "layers"
    left.mkdir(parents=True)
    (left / "half.tif").write_bytes(b"half")
    with reserved(place):
        pass
    assert_is(place, " ")


def test_a_plan_that_fails_leaves_the_old_one(place):
    def fails(folder):
        fill_with("\n")(folder)
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with pytest.raises(PlanError, match="No space left on device"):
        write(place, fails)
    assert_is(place, " ")


def test_a_disk_that_a_library_filled_in_silence_is_noticed(place, monkeypatch):
    def full(_file):
        raise OSError(errno.EDQUOT, os.strerror(errno.EDQUOT))

    monkeypatch.setattr("fieldmap.output_folder.os.fsync", full)
    with pytest.raises(PlanError, match=r"could not be written \(Disk quota exceeded"):
        write(place, fill_with("\n"))
    assert_is(place, " ")


def test_a_link_out_of_the_site_is_known_by_where_it_leads_and_never_read(
    tmp_path, monkeypatch
):
    outside, site = tmp_path / "outside.csv", tmp_path / "site"
    site.mkdir()
    outside.write_text("secret")
    (site / "weather.csv").symlink_to(outside)
    (site / "itself.csv").symlink_to("itself.csv")
    before = output_folder._hashes(site)
    outside.write_text("changed")
    assert output_folder._hashes(site) == before
    (site / "weather.csv").unlink()
    (site / "weather.csv").symlink_to(tmp_path / "other.csv")
    assert output_folder._hashes(site) != before


ANOTHER_RUN = """
import sys
from types import SimpleNamespace
from pathlib import Path
from fieldmap.errors import PlanError
from fieldmap.output_folder import reserved
try:
    with reserved(Path(sys.argv[1])):
        print("held")
except PlanError as error:
    print(error)
"""


def another_run(folder):
    done = subprocess.run(
        [sys.executable, "-c", ANOTHER_RUN, str(folder)],
        check=True,
        capture_output=True,
        text=True,
    )
    return done.stdout.strip()


def test_two_runs_at_once_are_kept_apart(place):
    with reserved(place):
        said = another_run(place)
        assert said == f"another run is writing {place}; wait until it has ended"
        assert another_run(place.with_name("other")) == "held"
    assert another_run(place) == "held"
    assert_is(place, " ")


def test_the_run_that_holds_a_place_writes_there(place):
    with reserved(place):
        write(place, fill_with("\n"))
        assert (place / "map.html").read_text() == "\n"
    assert_is(place, "\n")


def test_folders_made_on_the_way_are_gone_where_no_plan_came(tmp_path):
    with reserved(tmp_path / "far" / "away" / "plan"):
        assert (tmp_path / "far" / "away").is_dir()
    assert not list(tmp_path.iterdir())


def test_a_place_that_cannot_be_written_is_refused_before_the_work(tmp_path):
    (tmp_path / "file").write_text("no folder")
    with (
        pytest.raises(PlanError, match="could not be written"),
        reserved(tmp_path / "file" / "plan"),
    ):
        pass


@pytest.mark.parametrize("what", ["file", "link"])
def test_what_is_in_the_way_is_left_alone(place, what, tmp_path):
    work = place.with_name(".plan.fieldmap")
    if what == "file":
        work.write_text("mine")
    else:
        (tmp_path / "elsewhere").mkdir()
        work.symlink_to(tmp_path / "elsewhere")
    with (
        pytest.raises(PlanError, match="is in the place where the plan is made"),
        reserved(place),
    ):
        pass
    assert work.exists()


def test_a_disk_of_its_own_is_no_place_for_a_plan(place, monkeypatch):
    monkeypatch.setattr("os.path.ismount", lambda _path: True)
    with pytest.raises(PlanError, match="is a whole disk"):
        write(place, fill_with("\n"))


@pytest.fixture
def as_on_windows(monkeypatch):
    """Locks of a file's first byte, by a stand-in for the module of Windows."""
    import fcntl

    def locking(opened, _mode, _bytes):
        try:
            fcntl.flock(opened, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:  # as Windows says it
            raise PermissionError(13, "Permission denied") from error

    module = SimpleNamespace(LK_NBLCK=2, locking=locking)
    monkeypatch.setitem(sys.modules, "msvcrt", module)
    monkeypatch.setattr(lock.sys, "platform", "win32")


@pytest.mark.skipif(sys.platform != "linux", reason="stands in for Windows")
def test_two_runs_are_kept_apart_on_windows_too(tmp_path, as_on_windows):
    work = tmp_path / ".plan.fieldmap"
    work.mkdir()
    held = lock.take(work)
    with pytest.raises(BlockingIOError):
        lock.take(work)
    (work / "new").mkdir()
    lock.let_go(held, work)
    assert not work.exists()
    with pytest.raises(FileNotFoundError):  # tried again by whoever waits for the name
        lock.take(work)


@pytest.mark.skipif(sys.platform != "linux", reason="stands in for Windows")
def test_a_plan_is_written_and_swept_on_windows_too(tmp_path, as_on_windows):
    place, work = tmp_path / "plan", tmp_path / ".plan.fieldmap"
    (work / "ready").mkdir(parents=True)  # a run was stopped between two steps
    (work / "ready" / "plan.json").write_text("{}")
    with reserved(place) as new:
        assert (place / "plan.json").read_text() == "{}"
        assert sorted(each.name for each in work.iterdir()) == [lock.FILE, "new"]
        assert list(new.iterdir()) == []
    assert sorted(each.name for each in tmp_path.iterdir()) == ["plan"]


def test_a_file_system_without_locks_is_written_to_all_the_same(tmp_path, monkeypatch):
    def refused(_lock, _how):
        raise OSError(errno.ENOLCK, "No locks available")

    monkeypatch.setattr(lock.fcntl, "flock", refused)
    with reserved(tmp_path / "plan") as new:
        assert new.is_dir()
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("fill", ["pipe", "deep", "huge"])
def test_a_list_that_cannot_be_read_makes_its_folder_a_strangers(place, fill):
    """A pipe would wait without end, and lists in lists take the stack."""
    listed = place / "plan.json"
    listed.unlink()
    if fill == "pipe":
        os.mkfifo(listed)
    elif fill == "deep":
        listed.write_text("[" * 400_000)
    else:
        os.truncate(os.open(listed, os.O_CREAT | os.O_WRONLY), 60_000_000)
    with pytest.raises(PlanError, match="holds files that are not part of a plan"):
        output_folder.check_place(place)
