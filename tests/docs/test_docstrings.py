"""Public functions say what their parameters are: numpydoc's validation counts the parts."""

import importlib
import inspect
import pkgutil

import pytest
from numpydoc.validate import validate

import fieldmap
import layers

# Of numpydoc: parameters without a line, lines without a parameter, and their order.
FAULTS = ("PR01", "PR02", "PR03")


def public_functions():
    """Every public function and method of `layers`, and what Python programs call."""
    names = [each.name for each in pkgutil.iter_modules(layers.__path__, "layers.")]
    for module in map(importlib.import_module, names):
        if module.__name__.split(".")[-1].startswith("_"):
            continue
        for name, value in vars(module).items():
            if (
                name.startswith("_")
                or getattr(value, "__module__", "") != module.__name__
            ):
                continue
            if inspect.isfunction(value):
                yield f"{module.__name__}.{name}", value
    for name in fieldmap.__all__:
        value = getattr(fieldmap, name)
        if inspect.isfunction(value):
            yield f"{value.__module__}.{name}", value


FUNCTIONS = dict(public_functions())


def parts(function):
    """How many parts a docstring must have: its summary, and each parameter."""
    return 1 + len(inspect.signature(function).parameters)


def faults(name):
    return [text for code, text in validate(name)["errors"] if code in FAULTS]


LONG = [name for name, each in FUNCTIONS.items() if parts(each) > 3]


@pytest.mark.parametrize("name", LONG)
def test_functions_of_three_arguments_and_more_explain_each(name):
    assert faults(name) == []


def test_nearly_all_parts_of_public_docstrings_are_there():
    lacking = 0
    for name in FUNCTIONS:
        for code, text in validate(name)["errors"]:
            if code == "PR01":
                lacking += text.count("'") // 2
            lacking += code == "GL08"
    total = sum(map(parts, FUNCTIONS.values()))
    assert total > 400
    assert 1 - lacking / total > 0.95
