"""A region that is stopped in any way goes on where it was, to the same bytes."""

import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import made_region
import pytest

from fieldmap.read.region import read_region
from fieldmap.region.tiles import Place

psutil = pytest.importorskip("psutil")  # both come with the extra `region`
catalogue = pytest.importorskip("fieldmap.region.catalogue")

FILES_OF_A_TILE = 5
COMMAND = Path(sys.executable).with_name("fieldmap")
LONGEST_S = 900
# Of a stranger: modules that would be run in place of Python's own.
HEARD = "from pathlib import Path; Path('heard').touch(); raise SystemExit(3)"


def made(folder):
    """Files of a region with their bytes, by name."""
    out = folder / "region"
    return {
        path.relative_to(out).as_posix(): path.read_bytes()
        for path in sorted((out / "layers").rglob("*.tif"))
    }


def begun(folder, workers):
    """The command in a region's folder, in a group of its own."""
    return subprocess.Popen(
        [COMMAND, "region", ".", "--workers", str(workers)],
        cwd=folder,
        stderr=subprocess.PIPE,
        start_new_session=True,
    )


def until(folder, count, process):
    """Wait until `count` files of layers are there, or the command ends."""
    end = time.monotonic() + LONGEST_S
    while time.monotonic() < end and process.poll() is None:
        if len(list((folder / "region").glob("layers/*/*.tif"))) >= count:
            return
        time.sleep(0.05)


@pytest.fixture(scope="module")
def right(made_valley):
    """The bytes of a run in one process that nobody stopped."""
    return made(made_valley / "region")


def workers_of(process):
    return [
        child
        for child in psutil.Process(process.pid).children(recursive=True)
        if "spawn_main" in " ".join(child.cmdline())
    ]


def kill_one_worker(process):
    first, *others = workers_of(process)
    # As it began, before anything was loaded: one core each, as docs/methods/regions.md says.
    assert first.environ()["NUMBA_NUM_THREADS"] == "1"
    first.kill()
    return others


def finish(process):
    """Let the command come to its end."""
    _, said = process.communicate(timeout=LONGEST_S)
    assert process.returncode == 0, said.decode()


def test_killed_whole_it_goes_on_and_repeats_no_finished_tile(tmp_path, right):
    """And once it goes on, its only worker dies."""
    folder = made_region.write_region(tmp_path / "r", **made_region.VALLEY)
    process = begun(folder, workers=1)
    until(folder, random.Random(25).randrange(2, len(right) // 2), process)
    if process.poll() is None:
        os.killpg(process.pid, signal.SIGKILL)  # the tree, as a cut of power would
    process.communicate(timeout=LONGEST_S)
    assert process.returncode == -signal.SIGKILL, "it ended before it was killed"
    kept = {path: path.stat().st_ino for path in (folder / "region").rglob("*.tif")}
    process = begun(folder, workers=1)
    until(folder, len(kept) + 1, process)
    assert kill_one_worker(process) == []
    finish(process)
    again = [path for path, number in kept.items() if path.stat().st_ino != number]
    assert len(again) <= FILES_OF_A_TILE
    assert made(folder) == right


def test_a_worker_that_dies_is_replaced_and_none_runs_python_of_the_folder(
    tmp_path, right
):
    """Each begins as `python -c`, which looks for modules where it is begun.

    The other worker goes on meanwhile.
    """
    folder = made_region.write_region(tmp_path / "r", **made_region.VALLEY)
    for module in ("multiprocessing", "random", "struct"):
        (folder / f"{module}.py").write_text(HEARD)
    process = begun(folder, workers=2)
    until(folder, 6, process)
    assert kill_one_worker(process)
    finish(process)
    assert not (folder / "heard").exists()
    assert made(folder) == right


def test_the_catalogue_conforms_to_stac(made_valley, tmp_path):
    pystac = catalogue.pystac
    shutil.copytree(made_valley / "region", tmp_path / "r")
    place = Place.of(read_region(tmp_path / "r")[0])
    path = catalogue.write(place, "Made valley")
    before = path.read_bytes()
    read = pystac.Catalog.from_file(str(path))
    read.validate()
    items = list(read.get_items(recursive=True))
    assert items
    # "Self-contained" of STAC best practices: the folder can be moved, or given away.
    for each in path.parent.rglob("*.json"):
        assert str(tmp_path) not in each.read_text("utf-8")
    for item in items:
        item.validate()
        for asset in item.assets.values():
            assert Path(asset.get_absolute_href()).is_file()
    catalogue.write(place, "Made valley")
    assert path.read_bytes() == before
