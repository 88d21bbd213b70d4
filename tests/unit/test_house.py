"""The house keeps its shape: rooms on few floors, small modules, functions that take what they need.

The figures are the bars that the application was rebuilt to; code lines are those without
blanks, comments and docstrings.
"""

import ast
import re
import statistics
from functools import cache
from pathlib import Path

import grimp
import pytest

ROOT = Path(__file__).parents[2]
MODULES = {
    path.relative_to(ROOT).as_posix(): path.read_text("utf-8")
    for path in sorted((ROOT / "fieldmap").rglob("*.py"))
}
# Folders that read, write or say many kinds of thing, one module each.
WIDE = {
    "fieldmap": 14,
    "fieldmap/model": 13,
    "fieldmap/read": 19,
    "fieldmap/read/outlines": 13,
    "fieldmap/show/files": 16,
}


parsed = cache(ast.parse)


@cache
def statements(source):
    """All statements of a module, however deep; none of the expressions within them."""
    found, left = [], [parsed(source)]
    while left:
        node = left.pop()
        found.append(node)
        for name in ("body", "orelse", "finalbody", "handlers", "cases"):
            inside = getattr(node, name, ())
            left += inside if isinstance(inside, list) else ()
    return found


def docstrings(source):
    """Numbers of the lines that strings alone take."""
    alone = [
        node
        for node in statements(source)
        if isinstance(node, ast.Expr)
        and isinstance(node.value, ast.Constant)
        and isinstance(node.value.value, str)
    ]
    return {line for node in alone for line in range(node.lineno, node.end_lineno + 1)}


@cache
def code_lines(source):
    written = enumerate(map(str.strip, source.splitlines()), start=1)
    lines = {number for number, line in written if line and line[0] != "#"}
    return lines - docstrings(source)


def functions():
    """Code lines of every function, with its module and name."""
    for name, source in MODULES.items():
        lines = code_lines(source)
        for node in statements(source):
            if isinstance(node, ast.FunctionDef):
                inside = range(node.lineno, node.end_lineno + 1)
                yield len(lines.intersection(inside)), f"{name}:{node.name}"


def whole_parameters():
    """Parameters that are a whole site or plan, but for what Python programs call."""
    for name, source in MODULES.items():
        if name == "fieldmap/api.py":
            continue
        for node in statements(source):
            if not isinstance(node, ast.FunctionDef):
                continue
            given = node.args
            for each in (*given.posonlyargs, *given.args, *given.kwonlyargs):
                kind = ast.unparse(each.annotation) if each.annotation else ""
                if re.search(r"\b(Site|Plan)\b", kind):
                    yield f"{name}:{node.name}({each.arg}: {kind})"


@pytest.mark.parametrize(
    ("source", "lines"),
    [
        ('"""A module."""\n\nx = 1  # why\n', 1),
        ('def f():\n    """One."""\n    # why\n    return (\n        1\n    )\n', 4),
    ],
)
def test_code_lines_leave_out_blanks_comments_and_docstrings(source, lines):
    assert len(code_lines(source)) == lines


def test_modules_are_small():
    sizes = {name: len(code_lines(source)) for name, source in MODULES.items()}
    assert statistics.median(sizes.values()) < 100
    assert [name for name, size in sizes.items() if size > 400] == []


def test_functions_are_short():
    sizes = sorted(functions())
    assert sizes[int(0.9 * len(sizes))][0] <= 25
    assert [name for size, name in sizes if size > 60] == []


def test_functions_take_what_they_need_and_seldom_the_world():
    assert len(list(whole_parameters())) < 62


def test_a_newcomer_sees_at_most_twelve_things_on_a_level():
    levels = {}
    for name in MODULES:
        *folders, file = Path(name).parts
        for depth in range(1, len(folders)):
            levels.setdefault("/".join(folders[:depth]), set()).add(folders[depth])
        if file != "__init__.py":
            levels.setdefault("/".join(folders), set()).add(file)
    crowded = {
        folder: sorted(things)
        for folder, things in levels.items()
        if len(things) > WIDE.get(folder, 12)
    }
    assert crowded == {}


@pytest.fixture(scope="module")
def imports():
    return grimp.build_graph("fieldmap", "layers", cache_dir=None)


def test_no_import_goes_in_a_circle(imports):
    above = {
        name: imports.find_modules_directly_imported_by(name)
        for name in imports.modules
    }
    # Take away what imports nothing that is left, until nothing or a circle remains.
    left = set(above)
    while free := {name for name in left if not (above[name] & left) - {name}}:
        left -= free
    assert sorted(left) == []


def test_rooms_lie_on_few_floors(imports):
    def room(module):
        top, *rest = module.split(".")
        return top if top == "layers" or not rest else f"{top}.{rest[0]}"

    below = {}
    for name in imports.modules:
        for used in imports.find_modules_directly_imported_by(name):
            if room(used) not in (room(name), "fieldmap"):
                below.setdefault(room(name), set()).add(room(used))

    def floor(of, seen=()):
        assert of not in seen, f"{of} is above itself"
        return 1 + max(
            (floor(each, (*seen, of)) for each in below.get(of, ())), default=0
        )

    rooms = {room(name) for name in imports.modules if name.startswith("fieldmap.")}
    assert max(floor(each) for each in rooms) <= 9  # `layers`, below all, is the first


def test_the_guide_names_files_that_are_there():
    guide = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    named = set(re.findall(r"`([\w./-]+\.(?:py|toml|po|typ|js|md))`", guide))
    assert len(named) > 10
    roots = (
        ROOT,
        ROOT / "fieldmap",
        ROOT / "fieldmap/read",
        ROOT / "tests/support",
        ROOT / "demo_site",
    )
    assert [
        name for name in named if not any((root / name).exists() for root in roots)
    ] == []
