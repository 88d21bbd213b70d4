"""Stop a run at any moment, fill its disk, spoil what it kept: the plan is whole each time.

    python -m campaign.faults --kills 200 --sizes 20

A plan is two copies of one number in many files, written by the same code that writes a
real plan, so that a moment takes milliseconds; a few whole plans of a small site are
killed besides (`--plans`). After each fault the old plan or the new one must lie there, whole, and the
next run must leave nothing behind.
"""

import argparse
import os
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from random import Random

import numpy as np

from fieldmap import cache
from fieldmap.cache import Store
from fieldmap.errors import PlanError
from fieldmap.output_folder import reserved, write

FILES, BYTES = 30, 20_000
WRITES_PLANS = """
import sys
from pathlib import Path
from campaign.faults import fill
from fieldmap.output_folder import exchange, write
if sys.argv[3] == "steps":
    exchange._renameat2 = lambda: None
print("ready", flush=True)
number = int(sys.argv[2])
while True:
    number += 1
    write(Path(sys.argv[1]), lambda place: fill(place, number))
"""


def fill(place: Path, number: int) -> None:
    """A plan that says one number in every file."""
    text = f"{number}\n" * (BYTES // 8)
    (place / "layers").mkdir()
    names = [f"layers/{at}.tif" for at in range(FILES)]
    for name in names:
        (place / name).write_text(text)
    listed = ", ".join(f'"{name}"' for name in (*names, "plan.json"))
    (place / "plan.json").write_text(f'{{"files": [{listed}], "number": {number}}}')


def number_of(folder: Path) -> int:
    """The number that a whole plan says; ValueError where it is not whole."""
    import json

    document = json.loads((folder / "plan.json").read_text())
    found = {
        int(line)
        for at in range(FILES)
        for line in (folder / f"layers/{at}.tif").read_text().split()
    }
    sizes = {(folder / f"layers/{at}.tif").stat().st_size for at in range(FILES)}
    if found != {document["number"]} or len(sizes) != 1:
        raise ValueError(f"{folder}: not one plan: {found}, {sizes}")
    return int(document["number"])


def kill(place: Path, random: Random, system: str) -> None:
    """Kill a run that writes plan after plan; then see what lies there, and start anew."""
    before = number_of(place)
    words = [sys.executable, "-c", WRITES_PLANS, str(place), str(before), system]
    with subprocess.Popen(words, stdout=subprocess.PIPE, env=_environment()) as run:
        assert run.stdout is not None
        run.stdout.readline()
        time.sleep(random.uniform(0.0, 0.15))
        run.send_signal(signal.SIGKILL)
    if system == "exchange":  # whole at any moment, with no next run
        assert number_of(place) >= before
    with reserved(place):
        assert number_of(place) >= before
    left = sorted(each.name for each in place.parent.iterdir())
    assert left == [place.name], left


def kills(count: int, seed: int) -> int:
    """Kill runs at random moments, where folders can be exchanged and where not."""
    random = Random(seed)
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "plan"
        write(place, lambda new: fill(new, 0))
        for number in range(count):
            kill(place, random, ("exchange", "steps")[number % 2])
        return number_of(place)


def _environment() -> dict[str, str]:
    return {
        **os.environ,
        "PYTHONPATH": os.pathsep.join(each for each in sys.path if each),
    }


def full_disk(size: int, place: Path) -> str:
    """Write a plan where no file may be larger than a size: whole, or refused in a sentence.

    A limit of the process stands for the disk where none can be mounted.
    """
    before = number_of(place)
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, limits[1]))
    try:
        write(place, lambda new: fill(new, before + 1))
        said = "written"
    except PlanError as error:
        said = str(error)
        assert "\n" not in said, said
        assert "could not be written" in said, said
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)
    assert number_of(place) == before + (said == "written")
    left = sorted(each.name for each in place.parent.iterdir())
    assert left in ([place.name], sorted([place.name, "lost+found"])), left
    return said


def full_disks(sizes: list[int]) -> list[str]:
    """One sentence, or "written", for each size of a disk."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "plan"
        write(place, lambda new: fill(new, 0))
        return [full_disk(size, place) for size in sizes]


def mounted_disk(megabytes: float, site: Path) -> str:
    """A whole run of the command on a disk of that size; what it said last."""
    with tempfile.TemporaryDirectory() as folder:
        size = f"size={int(megabytes * 1e6)}"
        subprocess.run(
            ["mount", "-t", "tmpfs", "-o", size, "tmpfs", folder], check=True
        )
        try:
            done = _command("plan", str(site), "--out", f"{folder}/plan", TMPDIR=folder)
            assert "Traceback" not in done.stderr, done.stderr
            assert done.returncode in (0, 1), done.stderr
            left = sorted(each.name for each in Path(folder).iterdir())
            assert left == (["plan"] if done.returncode == 0 else []), left
            return done.stderr.strip().split("\n")[-1]
        finally:
            subprocess.run(["umount", folder], check=True)


def _command(*words: str, **environment: str) -> subprocess.CompletedProcess[str]:
    call = [sys.executable, "-c", "from fieldmap.cli import main; main()", *words]
    return subprocess.run(
        call,
        capture_output=True,
        text=True,
        env={**_environment(), **environment},
        check=False,
    )


def spoiled_cache(seed: int, cuts: int) -> int:
    """Cut and spoil what is kept, everywhere; nothing of it may be believed."""
    random = Random(seed)
    with tempfile.TemporaryDirectory() as folder:
        store = Store(Path(folder))
        answer = np.arange(5000.0)
        store.reuse("sun", {}, lambda: {"answer": answer})
        (kept,) = Path(folder).glob("*.npz")
        whole = kept.read_bytes()
        for number in range(cuts):
            at = random.randrange(len(whole))
            spoiled = bytearray(whole)
            spoiled[at] ^= 1 << random.randrange(8)
            kept.write_bytes(whole[:at] if number % 2 else spoiled)
            assert cache._read(kept) is None, (number, at)
        kept.write_bytes(whole)
        assert cache._read(kept) is not None
    return cuts


def spoiled_site(site: Path) -> int:
    """A run of the command after every kept result of a site was cut, all at once."""
    entries = sorted((site / ".fieldmap").rglob("*.npz"))
    for number, entry in enumerate(entries):
        content = entry.read_bytes()
        entry.write_bytes(content[: len(content) * (number % 5) // 5])
    done = _command("plan", str(site))
    assert done.returncode == 0, done.stderr
    return len(entries)


def killed_plans(count: int, seed: int, site: Path) -> None:
    """Kill whole runs of the command, late, where a plan is written."""
    random = Random(seed)
    began = time.monotonic()
    assert _command("plan", str(site)).returncode == 0
    took = time.monotonic() - began
    before = sorted(each.name for each in (site / "plan").rglob("*"))
    choices = (site / "site.toml").read_text()
    for number in range(count):
        (site / "site.toml").write_text(f"{choices}\n# {number}\n")
        call = [
            sys.executable,
            "-c",
            "from fieldmap.cli import main; main()",
            "plan",
            str(site),
        ]
        with subprocess.Popen(
            call,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            env=_environment(),
        ) as run:
            time.sleep(random.uniform(0.0, took))
            run.send_signal(signal.SIGKILL)
        assert sorted(each.name for each in (site / "plan").rglob("*")) == before
    assert _command("plan", str(site)).returncode == 0
    assert not list(site.glob(".plan*"))


def main() -> None:
    """Run all, and print how many of each there were."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--sizes", type=int, default=20)
    parser.add_argument("--plans", type=int, default=5)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    print(
        f"{asked.kills} kills: whole each time, {kills(asked.kills, asked.seed)} plans written"
    )
    said = full_disks(
        [
            int(2.0 ** (1 + at * 20 / max(asked.sizes - 1, 1)))
            for at in range(asked.sizes)
        ]
    )
    print(
        f"{len(said)} sizes of the largest file: {said.count('written')} written, others refused"
    )
    print(f"{spoiled_cache(asked.seed, 2000)} spoiled results: none believed")
    if not asked.plans:
        return
    from campaign import inputs  # loads much that a run to be killed has no need of

    with tempfile.TemporaryDirectory() as folder:
        site = Path(folder) / "site"
        inputs.lay_out(inputs.kinds()["choices"].files, site)
        killed_plans(asked.plans, asked.seed, site)
        print(f"{asked.plans} whole plans killed: the old one lies there")
        print(f"{spoiled_site(site)} results of a site cut: computed again")
        if os.geteuid() == 0 and shutil.which("mount"):
            for at in range(asked.plans):
                megabytes = 0.05 * 3**at
                print(f"disk of {megabytes:.2f} MB: {mounted_disk(megabytes, site)}")


if __name__ == "__main__":
    main()
