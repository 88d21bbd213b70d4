"""Spoil every kind of input in many ways, and see that reading only ever refuses it.

    python -m campaign.fuzz --cases 20000 --seed 1

Each case is drawn from its number and the seed alone, so that one can be drawn again:
`--only NUMBER`. What is found is written to a folder (`--found`), with the spoiled file.
"""

import argparse
import collections
import multiprocessing
import os
import re
import shutil
import sys
import tempfile
import time
import warnings
from functools import cache
from pathlib import Path
from random import Random

from campaign import begun, inputs
from campaign.attempt import Watch, attempt, read_all
from campaign.mutators import spoil, spoil_again

AT_ONCE = 100  # cases of one worker's errand
SLOWEST = 90  # seconds that a worker may be silent for a case
MOST_MB = 1000  # of memory while a case is read
# Kinds whose files take longest to read come up seldom.
SELDOM = 8
LARGE = 500_000
AGAIN = 0.1  # of all cases, begun with a spoiled file that was kept
HUGE = 30_000_000_000  # bytes, of which the disk holds none
IN_PLACE = (
    "folder",
    "pipe",
    "link out",
    "link to itself",
    "link to a device",
    "link to a long name",
    "huge",
    "gone",
    "unreadable",
)


@cache
def kinds() -> dict[str, inputs.Kind]:
    return inputs.kinds()


def _warm_up() -> None:
    """Read a whole site once, so that no case waits for libraries and compiled code."""
    for kind in kinds().values():
        if kind.target.endswith(".laz"):
            continue  # the threads that unpack it do not outlive the fork of a worker
        with tempfile.TemporaryDirectory() as place:
            inputs.lay_out(kind.files, Path(place))
            read_all(Path(place))


def drawn(seed: int, number: int) -> tuple[inputs.Kind, bytes | str]:
    """A kind of input, and its spoiled bytes or what stands in its place."""
    random = Random(f"{seed} {number}")
    every = list(kinds().values())
    kind = every[number % len(every)]
    if len(kind.files[kind.target]) > LARGE and number // len(every) % SELDOM:
        kind = every[random.randrange(8)]
    if random.random() < 0.02:
        instead = random.choice(IN_PLACE)
        # Who names a link on the command line means what it leads to.
        if instead != "link out" or not kind.target.startswith(begun.GIVEN):
            return kind, instead
    found = inputs.kept().get(kind.name)
    if found and random.random() < AGAIN:
        return kind, spoil_again(kind.form, random.choice(found)[1], random)
    return kind, spoil(kind.form, kind.files[kind.target], random)


def lay_out(
    kind: inputs.Kind, spoiled: bytes | str, folder: Path, watch: Watch
) -> None:
    """The site of a case, in an empty folder."""
    target = folder / kind.target
    if isinstance(spoiled, bytes):
        inputs.lay_out({**kind.files, kind.target: watch.placed(spoiled)}, folder)
        return
    inputs.lay_out(
        {name: c for name, c in kind.files.items() if name != kind.target}, folder
    )
    target.parent.mkdir(exist_ok=True)
    match spoiled:
        case "folder":
            target.mkdir()
        case "pipe":
            os.mkfifo(target)
        case "link out":
            target.symlink_to(watch.outside / "secret.csv")
        case "link to itself":
            target.symlink_to(target)
        case "link to a device":
            target.symlink_to("/dev/zero")
        case "link to a long name":
            target.symlink_to("a" * 4000)  # longer than any system has
        case "huge":
            target.touch()
            os.truncate(target, HUGE)
        case "unreadable":
            target.write_bytes(kind.files[kind.target])
            target.chmod(0)


def run(seed: int, numbers: list[int], place: Path, pipe) -> None:
    """The errand of one worker: each case, announced before it starts and reported after it ended."""
    sys.stderr = (place / "stderr").open("a")
    os.dup2(sys.stderr.fileno(), 2)
    warnings.simplefilter("ignore")
    watch = Watch(place / "outside")
    for number in numbers:
        pipe.send((number, None))
        kind, spoiled = drawn(seed, number)
        folder = place / "site"
        folder.mkdir()
        lay_out(kind, spoiled, folder, watch)
        _forget_peak()
        began = time.monotonic()
        fault = attempt(folder, watch)
        took, peak_mb = time.monotonic() - began, _peak_mb()
        if fault is None and peak_mb > MOST_MB:
            fault = f"memory: {peak_mb:.0f} MB"
        shutil.rmtree(folder)
        pipe.send((number, (kind.name, fault, took, peak_mb)))
    pipe.send((-1, None))


def _forget_peak() -> None:
    """Begin the peak of this process's memory anew (proc(5), /proc/pid/clear_refs)."""
    Path("/proc/self/clear_refs").write_text("5")


def _peak_mb() -> float:
    """The most memory that this process held since its peak was begun anew."""
    status = Path("/proc/self/status").read_text()
    found = re.search(r"VmHWM:\s+(\d+) kB", status)
    assert found, "the system does not report a peak of memory"
    return int(found[1]) * 1024 / 1e6


class Campaign:
    """Workers side by side; one that dies or is silent too long is a find too."""

    def __init__(self, seed: int, found: Path | None) -> None:
        self.seed, self.found_at = seed, found
        self.found: list[tuple[int, str, str]] = []
        self.seen: collections.Counter[str] = collections.Counter()
        self.slowest = (0.0, -1)
        self.largest = (0.0, -1)  # MB of memory

    def errand(self, numbers: list[int]) -> None:
        """Cases in a process of their own, begun again after one that it did not survive."""
        left = list(numbers)
        while left:
            with tempfile.TemporaryDirectory(dir=_fast_folder()) as place:
                left = self._started(left, Path(place))

    def _started(self, numbers: list[int], place: Path) -> list[int]:
        here, there = multiprocessing.Pipe(duplex=False)
        worker = multiprocessing.get_context("fork").Process(
            target=run, args=(self.seed, numbers, place, there)
        )
        worker.start()
        there.close()
        at = -1
        try:
            while here.poll(SLOWEST):
                number, result = here.recv()
                if number == -1:
                    worker.join()
                    return []
                at = number
                if result is not None:
                    self._note(number, *result)
                    numbers = [each for each in numbers if each != number]
            fault = "hang: in a library, until it was killed"
        except EOFError:
            fault = "died"
        worker.kill()
        worker.join()
        if fault == "died":
            fault = f"died: exit code {worker.exitcode}\n{(place / 'stderr').read_text()[-2000:]}"
        self._note(at, drawn(self.seed, at)[0].name, fault, 0.0, 0.0)
        return [each for each in numbers if each != at]

    def _note(
        self, number: int, kind: str, fault: str | None, took: float, peak_mb: float
    ) -> None:
        self.seen[kind] += 1
        self.slowest = max(self.slowest, (took, number))
        self.largest = max(self.largest, (peak_mb, number))
        if fault is None:
            return
        self.found.append((number, kind, fault))
        print(f"case {number} ({kind}): {fault}", flush=True)
        if self.found_at is not None:
            self.found_at.mkdir(parents=True, exist_ok=True)
            _kind, spoiled = drawn(self.seed, number)
            content = spoiled if isinstance(spoiled, bytes) else spoiled.encode()
            (
                self.found_at / f"{self.seed}-{number}-{kind.replace(' ', '_')}"
            ).write_bytes(content)


def _fast_folder() -> str | None:
    return "/dev/shm" if Path("/dev/shm").is_dir() else None


def campaign(
    seed: int,
    numbers: list[int],
    found: Path | None = None,
    workers: int = 1,
    seconds: float = 1e9,
) -> Campaign:
    """All cases, on as many workers as are asked for."""
    result = Campaign(seed, found)
    _warm_up()
    errands = [numbers[at : at + AT_ONCE] for at in range(0, len(numbers), AT_ONCE)]
    ends = time.monotonic() + seconds
    if workers == 1:
        for errand in errands:
            if time.monotonic() < ends:
                result.errand(errand)
        return result
    import threading

    def work() -> None:
        while errands and time.monotonic() < ends:
            result.errand(errands.pop(0))

    threads = [threading.Thread(target=work) for _ in range(workers)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    return result


def main() -> int:
    """Run a campaign, print what was found, and fail where anything was."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=20_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--seconds", type=float, default=1e9)
    parser.add_argument("--only", type=int)
    parser.add_argument("--kind", help="cases of kinds whose name holds this alone")
    parser.add_argument("--found", type=Path)
    asked = parser.parse_args()
    numbers = [asked.only] if asked.only is not None else list(range(asked.cases))
    if asked.kind:
        numbers = [
            each for each in numbers if asked.kind in drawn(asked.seed, each)[0].name
        ]
    began = time.monotonic()
    done = campaign(asked.seed, numbers, asked.found, asked.workers, asked.seconds)
    print(
        f"{sum(done.seen.values())} cases of {len(done.seen)} kinds in {time.monotonic() - began:.0f} s: "
        f"{len(done.found)} found; slowest {done.slowest[0]:.1f} s (case {done.slowest[1]}); "
        f"peak memory {done.largest[0]:.0f} MB (case {done.largest[1]})"
    )
    return 1 if done.found else 0


if __name__ == "__main__":
    sys.exit(main())
