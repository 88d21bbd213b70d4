"""Seconds that people wait for a plan, beside those of another commit.

Run from the root of the repository, with another checkout of it beside:

    git worktree add ../before COMMIT
    python benchmarks/bench_plan.py --before ../before --rounds 3

Each case is run in turn with this code and with the code before, on copies of the demo
site of their own, and the median of the rounds is printed: seconds on the clock, and CPU
seconds of all threads, which a busy machine changes less. A first plan of each, which
compiles, is not counted. Files that are on both sides are compared too (`same files`).
"""

import argparse
import filecmp
import os
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[1]
MAIN = "from fieldmap.cli import main; main()"
# What people wait for, and for how many seconds at most. A fresh plan may instead take
# half the time of the code before.
BARS_S = {
    "help": 0.15,
    "fresh": 10.0,
    "unchanged": 1.5,
    "bed width": 3.0,
    "what if": 4.0,
}
WHAT_IF = """
[[what_if]]
name = "Without the Long Hedge, once more {number}"
take_away = ["Long Hedge"]

[[what_if.additions]]
kind = "bank"
name = "Bank {number}"
height_m = 1.{number}
width_m = 3.0
line = [[-74.250989, 44.052522], [-74.250164, 44.052665]]
"""


class Spent(NamedTuple):
    """Seconds on the clock, and of all processors."""

    wall_s: float
    cpu_s: float


class Tree:
    """A checkout with its own copy of the demo site."""

    def __init__(self, code: Path, place: Path) -> None:
        self.code = code
        self.site = place / "demo_site"
        shutil.copytree(
            ROOT / "demo_site", self.site, ignore=shutil.ignore_patterns(".*", "plan")
        )
        self.choices = (self.site / "site.toml").read_text(encoding="utf-8")

    def run(self, *command: str) -> Spent:
        """Time one command of this code."""
        environment = os.environ | {"PYTHONPATH": str(self.code)}
        # As installed: what Python compiles is kept.
        environment.pop("PYTHONDONTWRITEBYTECODE", None)
        start = time.perf_counter()
        with subprocess.Popen(
            [sys.executable, "-c", MAIN, *command],
            env=environment,
            cwd=self.site.parent,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
        ) as process:
            assert process.stderr is not None
            said = process.stderr.read()
            _, status, usage = os.wait4(process.pid, 0)
            process.returncode = os.waitstatus_to_exitcode(status)
        wall_s = time.perf_counter() - start
        if process.returncode:
            raise SystemExit(f"{self.code}: {said.decode()}")
        return Spent(wall_s, usage.ru_utime + usage.ru_stime)

    def plan(self) -> Spent:
        """Time a plan of the site as it is now."""
        return self.run("plan", str(self.site))

    def write(self, choices: str) -> None:
        """Change the choices of the site."""
        (self.site / "site.toml").write_text(choices, encoding="utf-8")

    def case(self, name: str, number: int) -> Spent:
        """Time one case; each begins and ends with a plan of the site as it was."""
        if name == "help":
            return self.run("--help")
        if name == "fresh":
            shutil.rmtree(self.site / ".fieldmap", ignore_errors=True)
            shutil.rmtree(self.site / "plan", ignore_errors=True)
        elif name == "bed width":
            width_m = f"bed_width_m = {0.8 + 0.01 * number:.2f}"
            self.write(re.sub(r"^bed_width_m = \S+", width_m, self.choices, flags=re.M))
        elif name == "what if":
            self.write(self.choices + WHAT_IF.format(number=number))
        spent = self.plan()
        if name in ("bed width", "what if"):
            self.write(self.choices)
            self.plan()
        return spent


def measured(
    trees: list[Tree], names: list[str], rounds: int
) -> Iterator[tuple[str, list[Spent]]]:
    """Each case in turn with each code: the medians."""
    if names != ["help"]:
        for tree in trees:
            tree.plan()
    for name in names:
        found: list[list[Spent]] = [[] for _ in trees]
        for number in range(rounds):
            # Who goes first changes, so that what comes with time falls on both.
            order = range(len(trees))
            for at in order if number % 2 == 0 else reversed(order):
                found[at].append(trees[at].case(name, number + 1))
        yield (
            name,
            [
                Spent(
                    statistics.median(each.wall_s for each in runs),
                    statistics.median(each.cpu_s for each in runs),
                )
                for runs in found
            ],
        )


def line(name: str, spent: list[Spent]) -> str:
    """A row of the table: seconds, shares of those before, and the bar."""
    now, bar_s = spent[0], BARS_S[name]
    is_met = now.wall_s < bar_s
    cells = [f"{name:10}", f"{now.wall_s:7.2f} {now.cpu_s:7.2f}"]
    if len(spent) > 1:
        before = spent[1]
        share = now.wall_s / before.wall_s
        is_met |= name == "fresh" and share < 0.5
        cells.append(f"{before.wall_s:7.2f} {before.cpu_s:7.2f}")
        cells.append(f"{share:5.2f} {now.cpu_s / before.cpu_s:5.2f}")
    return "  ".join([*cells, f"{bar_s:5.2f} {'met' if is_met else 'not met'}"])


def same_files(trees: list[Tree]) -> str:
    """How many files of the two plans hold the same bytes."""
    plans = [tree.site / "plan" for tree in trees]
    names = [
        {each.relative_to(plan) for each in plan.rglob("*") if each.is_file()}
        for plan in plans
    ]
    both = set.intersection(*names)
    same = [
        name
        for name in both
        if filecmp.cmp(*(plan / name for plan in plans), shallow=False)
    ]
    return f"same files: {len(same)} of {len(set.union(*names))}"


def main() -> None:
    """Print a row for each case."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--before", type=Path, help="another checkout")
    asked.add_argument("--rounds", type=int, default=3)
    asked.add_argument("--only", nargs="*", choices=BARS_S, default=list(BARS_S))
    given = asked.parse_args()
    codes = [ROOT, *([given.before.resolve()] if given.before else [])]
    with tempfile.TemporaryDirectory() as folder:
        trees = []
        for number, code in enumerate(codes):
            place = Path(folder, str(number))
            place.mkdir()
            trees.append(Tree(code, place))
        print(f"{'seconds':10}     now     CPU   before     CPU   ratios         bar")
        for name, spent in measured(trees, given.only, given.rounds):
            print(line(name, spent), flush=True)
        if len(trees) > 1:
            print(same_files(trees))
        load = os.getloadavg()[0]
        print(f"{os.cpu_count()} cores, load of the last minute {load:.1f}")


if __name__ == "__main__":
    main()
