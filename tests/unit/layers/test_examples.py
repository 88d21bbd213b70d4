"""`layers` is a library: each module shows in its docstrings how it is called."""

import ast
from pathlib import Path

import pytest

import layers

MODULES = [
    path
    for path in sorted(Path(layers.__path__[0]).glob("*.py"))
    if path.stem[0] != "_"
]


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_a_module_shows_how_it_is_called(path):
    functions = [
        node
        for node in ast.parse(path.read_text("utf-8")).body
        if isinstance(node, ast.FunctionDef) and node.name[0] != "_"
    ]
    shown = [node for node in functions if ">>>" in (ast.get_docstring(node) or "")]
    assert shown
