"""Faults planted one at a time by Cosmic Ray: which of them do the tests notice?

`make mutants` draws places in the code by SEED, then one fault of each. Each is tried in a
copy of the project against the tests that cover its line: first those of one module, which
mostly notice, then all others, and whole plans last. A process that has loaded every
library splits for each of them, so that only our own code is loaded anew. What was found is
kept in `.mutants/` for the code as it is, so a run that is broken off goes on where it
stopped.
"""

import argparse
import contextlib
import difflib
import hashlib
import importlib
import os
import random
import re
import shutil
import signal
import subprocess
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import pytest
from cosmic_ray import ast, modules, mutating, plugins
from cosmic_ray.work_db import WorkDB, use_db
from cosmic_ray.work_item import (
    MutationSpec,
    TestOutcome,
    WorkerOutcome,
    WorkItem,
    WorkResult,
)
from coverage import CoverageData

ROOT, CREATE = Path(__file__).parents[2], WorkDB.Mode.create
QUIETLY = [
    "-q",
    "-p",
    "no:cacheprovider",
    "-W",
    "ignore::pytest.PytestAssertRewriteWarning",
]
PYTEST = [sys.executable, "-m", "pytest", *QUIETLY]
LONGEST_S = 900
TESTS, SHARE_A_PLAN = ["layers", "fieldmap", "tests/unit", "tests/plan"], "tests/plan"
# Faults that a person could make: no shift for a plus, no `is` for a less-than.
SUMS, ORDER = "(Add|Sub|Mul|Div|FloorDiv|Mod)", "(Eq|NotEq|Lt|LtE|Gt|GtE)"
HUMAN = re.compile(
    f"core/(ReplaceBinaryOperator_({SUMS}_{SUMS}|BitOr_BitAnd|BitAnd_BitOr)"
    f"|ReplaceComparisonOperator_({ORDER}_{ORDER}|Is_IsNot|IsNot_Is)"
    "|(?!ReplaceBinary|ReplaceComparison).*)$"
)
# Where a fault often changes nothing that anyone could see.
HARMLESS = re.compile(r"frozen=|strict=|cache|kind=\"stable|round\(|1e-\d|warn")


def places_in(path):
    """Every fault that can be planted in a module, with its place."""
    nodes = list(ast.ast_nodes(ast.get_ast_from_path(path)))
    lines = path.read_text().splitlines()
    for name in filter(HUMAN.match, plugins.operator_names()):
        kind = plugins.get_operator(name)
        operators = [] if kind.arguments() else [kind()]
        spans = (
            span for operator in operators for node in nodes
            for span in operator.mutation_positions(node)
        )  # fmt: skip
        for number, (start, end) in enumerate(spans):
            if "| None" not in lines[start[0] - 1]:  # a type
                yield (path, start), MutationSpec(path, name, number, start, end)


def sample(db, paths, seed, number):
    """Fill an empty database with places drawn at random, one fault of each."""
    places = {}
    for path in sorted(modules.find_modules(Path(each) for each in paths)):
        for place, one in places_in(path):
            places.setdefault(place, []).append(one)
    drawn = random.Random(seed)
    for at, place in enumerate(drawn.sample(sorted(places), min(number, len(places)))):
        db.add_work_item(WorkItem.single(f"{at}", drawn.choice(places[place])))


def tests_of(one, covered):
    """What pytest runs against a fault: tests that cover its line."""
    by_line = covered.contexts_by_lineno(str(ROOT / one.module_path))
    seen = {line: {*by_line[line]} - {""} for line in by_line if any(by_line[line])}
    # An expression over several lines is seen at its first.
    line = max((line for line in by_line if line <= one.start_pos[0]), default=0)
    # Constants are read at import: then whatever runs something of the module.
    found = seen.get(line, set().union(*seen.values()))
    tests = set()
    for test, _, when in (each.rpartition("|") for each in found):
        shared = SHARE_A_PLAN if test.startswith(SHARE_A_PLAN) else test.split("::")[0]
        tests.add(test if when == "run" else shared)
    if "import numba" in one.module_path.read_text():  # compiled loops are not seen
        own = one.module_path.stem
        users = [each.stem for each in Path("layers").glob("*.py")
                 if re.search(rf"\b{own}\b", each.read_text()) or each.stem == own]  # fmt: skip
        tests |= {str(each) for user in users for each in Path("tests/unit").rglob(f"test_{user}*.py")}  # fmt: skip
    return sorted(tests)


def in_stages(one, tests):
    """Those of the file that is nearest by name, all other small ones, whole plans."""

    def far(file):
        return one.module_path.stem not in Path(file).read_text(), "worked" not in file

    plans = [each for each in tests if each.startswith(SHARE_A_PLAN)]
    small = [each for each in tests if each not in plans]
    files = sorted({each.split("::")[0] for each in small})
    nearest = min(files, key=far, default="none")
    first = [each for each in small if each.split("::")[0] == nearest]
    rest = [each for each in small if each not in first]
    return [stage for stage in (first, rest, plans) if stage]


def libraries():
    """Modules of others that our own load."""
    program = "import sys, fieldmap.plan, fieldmap.cli, fieldmap.show.map; print(*sys.modules)"
    found = subprocess.run([sys.executable, "-c", program], check=True, capture_output=True, text=True)  # fmt: skip
    return [each for each in found.stdout.split() if not re.match("(fieldmap|layers|__)", each)]  # fmt: skip


def work_in(folder):
    """Settle one worker in its own copy of the project, with all libraries loaded."""
    copy = folder / f"copy-{os.getpid()}"
    shutil.copytree(ROOT, copy, ignore=shutil.ignore_patterns(".*"))
    os.chdir(copy)
    os.environ["PYTHONPATH"] = str(copy)
    sys.path.insert(0, str(copy))
    sys.dont_write_bytecode = True  # two faults in one second look alike to a cache
    os.environ["PYTHONDONTWRITEBYTECODE"] = "1"
    for name in libraries():
        with contextlib.suppress(ImportError):
            importlib.import_module(name)


def is_noticed(tests):
    """Whether a test fails, in a process that splits off; one that hangs is noticed."""
    child = os.fork()
    if not child:
        os.setsid()
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        os.dup2(1, 2)
        code = 1
        with contextlib.suppress(BaseException):
            code = pytest.main([*QUIETLY, "-x", *tests])
        os._exit(int(code))
    until = time.monotonic() + LONGEST_S
    while not (ended := os.waitpid(child, os.WNOHANG))[0]:
        if time.monotonic() > until:
            os.killpg(child, signal.SIGKILL)
            os.waitpid(child, 0)
            return True
        time.sleep(0.05)
    return os.waitstatus_to_exitcode(ended[1]) != 0


def attempt(item, tests):
    """Plant one fault and run its tests, the next only where those before pass."""
    (one,) = item.mutations
    if "import numba" in one.module_path.read_text():
        # Compiled loops are kept by the stamp of their own file, whatever they call.
        for kept in Path("layers/__pycache__").glob("*.nb?"):
            kept.unlink()
    operator = plugins.get_operator(one.operator_name)(**one.operator_args)
    with mutating.use_mutation(one.module_path, operator, one.occurrence) as (was, now):
        noticed = any(map(is_noticed, in_stages(one, tests)))
    diff = difflib.unified_diff(was.splitlines(), now.splitlines(), lineterm="", n=0)
    outcome = TestOutcome.KILLED if noticed else TestOutcome.SURVIVED
    return item, WorkResult(WorkerOutcome.NORMAL, "", outcome, "\n".join(diff))


def report(found):
    """Say what was noticed, what was not, and where."""
    count = {"killed": 0, "survived": 0, "equivalent?": 0}
    for item, result in sorted(found, key=lambda each: str(each[0].mutations)):
        (one,) = item.mutations
        diff = [line for line in result.diff.splitlines() if line[:1] in "+-"][2:]
        survivor = "equivalent?" if HARMLESS.search(diff[-1]) else "survived"
        kind = survivor if result.test_outcome == "survived" else "killed"
        count[kind] += 1
        yield f"{kind:12}{one.module_path}:{one.start_pos[0]}  {one.operator_name[5:]}"
        yield from (f"            {line}" for line in diff if kind != "killed")
    yield ", ".join(f"{number} {kind}" for kind, number in count.items())


def covered_lines(folder, jobs):
    """Which tests run which lines; all tests must pass."""
    data, env = folder / "coverage", os.environ | {"PYTHONPATH": str(ROOT)}
    if not data.exists():
        env["COVERAGE_FILE"] = str(folder / "unfinished")
        cover = f"--numprocesses {jobs} --cov --cov-context=test --cov-report=".split()
        subprocess.run([*PYTEST, *cover, *TESTS], env=env, check=True)
        (folder / "unfinished").rename(data)
    covered = CoverageData(str(data))
    covered.read()
    return covered


def main():
    """Draw, try, and say."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--number", type=int, default=200)
    asked.add_argument("--jobs", type=int, default=os.cpu_count())
    asked.add_argument("paths", nargs="+")
    how = asked.parse_args()
    os.chdir(ROOT)
    code = [*Path("fieldmap").rglob("*.py"), *Path("layers").rglob("*.py")]
    code += Path("tests").rglob("*.py")
    state = hashlib.sha256(b"".join(each.read_bytes() for each in sorted(code)))
    kept = ROOT / ".mutants" / state.hexdigest()[:12]
    kept.mkdir(parents=True, exist_ok=True)
    for left in kept.glob("copy-*"):
        shutil.rmtree(left)
    covered = covered_lines(kept, how.jobs)
    name = "-".join([f"{how.seed}-{how.number}", *how.paths]).replace("/", ".")
    with use_db(kept / f"{name}.sqlite", CREATE) as db:
        if not db.num_work_items:
            sample(db, how.paths, how.seed, how.number)
        with ProcessPoolExecutor(how.jobs, initializer=work_in, initargs=(kept,)) as pool:  # fmt: skip
            begun = [
                pool.submit(attempt, item, tests_of(item.mutations[0], covered))
                for item in db.pending_work_items
            ]
            for each in begun:
                item, result = each.result()
                db.set_result(item.job_id, result)
        sys.stdout.writelines(f"{line}\n" for line in report(db.completed_work_items))


if __name__ == "__main__":
    main()
