"""Public functions say what their parameters are, as numpydoc's rules PR01 to PR03 ask."""

import ast
from functools import cache
from pathlib import Path
from typing import NamedTuple

from numpydoc.docscrape import NumpyDocString

ROOT = Path(__file__).parents[2]
# Of a command the options are documented, see `fieldmap COMMAND --help`.
COMMANDS = "fieldmap/cli/"
BAR = 0.95


class Function(NamedTuple):
    """A public function: its parameters, and what its docstring says of them."""

    name: str
    has_summary: bool
    parameters: list[str]
    documented: dict[str, bool]  # whether a parameter has more than its name

    @property
    def lacking(self):
        """Parts that are not there: the summary, and parameters without a text (PR01)."""
        found = [name for name in self.parameters if not self.documented.get(name)]
        return found if self.has_summary else ["summary", *found]

    @property
    def parts(self):
        return 1 + len(self.parameters)

    @property
    def is_wrong(self):
        """Whether a name is no parameter (PR02), or the order is another (PR03)."""
        there = [name for name in self.parameters if name in self.documented]
        return list(self.documented) != there


def public(body, within):
    """Functions and methods of a module or class by name, unless one begins with _."""
    for node in body:
        name = f"{within}:{getattr(node, 'name', '_')}"
        if ":_" in name:
            continue
        if isinstance(node, ast.ClassDef):
            yield from public(node.body, name)
        elif isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield name, node


def parameters(node):
    given = node.args
    found = [each.arg for each in (*given.posonlyargs, *given.args)]
    found += [f"*{given.vararg.arg}"] if given.vararg else []
    found += [each.arg for each in given.kwonlyargs]
    found += [f"**{given.kwarg.arg}"] if given.kwarg else []
    return [name for name in found if name not in {"self", "cls"}]


def documented(text):
    """Names of a section of parameters in its order, and whether a text follows each."""
    return {
        name: any(map(str.strip, part.desc))
        for part in NumpyDocString(text)["Parameters"]
        for name in part.name.split(", ")
    }


@cache
def functions():
    """All of the application but its commands, and of the layers."""
    found = []
    for package in ("fieldmap", "layers"):
        for path in sorted((ROOT / package).rglob("*.py")):
            module = path.relative_to(ROOT).as_posix()
            is_private = path.name.startswith("_") and path.name != "__init__.py"
            if is_private or module.startswith(COMMANDS):
                continue
            for name, node in public(ast.parse(path.read_text("utf-8")).body, module):
                text = ast.get_docstring(node) or ""
                has, said = parameters(node), documented(text)
                found.append(Function(name, bool(text), has, said))
    return found


def long_ones():
    """Functions of three parameters and more."""
    return [each for each in functions() if len(each.parameters) >= 3]


def share(among):
    """Part of all summaries and parameters that is there."""
    lacking = sum(len(each.lacking) for each in among)
    return 1 - lacking / sum(each.parts for each in among)


def test_no_docstring_names_what_is_no_parameter_nor_another_order():
    assert [each.name for each in functions() if each.is_wrong] == []


def test_layers_and_what_programs_call_explain_each_parameter():
    called = ("layers/", "fieldmap/api.py")
    lacking = {
        each.name: each.lacking
        for each in long_ones()
        if each.lacking and each.name.startswith(called)
    }
    assert lacking == {}


def test_nearly_all_parts_of_long_functions_are_explained():
    among = long_ones()
    assert len(among) > 400
    found, lacking = share(among), {each.name for each in among if each.lacking}
    assert found > BAR, lacking


def test_nearly_all_parts_of_the_layers_are_explained():
    layers = [each for each in functions() if each.name.startswith("layers/")]
    assert len(layers) > 100
    found = share(layers)
    assert found > BAR
