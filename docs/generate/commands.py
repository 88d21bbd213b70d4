"""Every command and option, from the functions that Typer turns into commands."""

import inspect
import types
import typing
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NamedTuple, get_args, get_origin

from typer.models import ArgumentInfo, OptionInfo

from fieldmap.cli import app

VALUES = {Path: "path", str: "text", float: "number", int: "whole number", bool: ""}


class Parameter(NamedTuple):
    """One argument or option of a command."""

    names: tuple[str, ...]
    meaning: str
    value: str
    default: str
    is_argument: bool


def commands() -> dict[str, Callable[..., None]]:
    """What each command calls, in the order in which help lists them."""
    found = {}
    for each in app.registered_commands:
        assert each.callback is not None
        found[each.name or each.callback.__name__] = each.callback
    return found


def parameters(command: Callable[..., None]) -> Iterator[Parameter]:
    """The arguments and options of a command."""
    hints = typing.get_type_hints(command, include_extras=True)
    for name, given in inspect.signature(command).parameters.items():
        if not hasattr(hints[name], "__metadata__"):
            continue
        kind, info = get_args(hints[name])
        yield Parameter(
            names=_names(name, kind, info),
            meaning=info.help or "",
            value=_value(kind, info),
            default=_default(given.default, info),
            is_argument=isinstance(info, ArgumentInfo),
        )


def _names(name: str, kind: Any, info: ArgumentInfo | OptionInfo) -> tuple[str, ...]:
    if isinstance(info, ArgumentInfo):
        return (name.upper() + ("..." if _plain(kind)[1] else ""),)
    # Within Annotated, what would be the default is the first of the names.
    given = tuple(info.param_decls or ()) or (info.default,)
    if isinstance(given[0], str) and given[0].startswith("-"):
        return tuple(name for each in given for name in each.split("/"))
    dashed = name.replace("_", "-")
    if kind is bool:
        return (f"--{dashed}", f"--no-{dashed}")
    return (f"--{dashed}",)


def _plain(kind: Any) -> tuple[Any, bool]:
    """A type without None, and whether a list of it is meant."""
    if get_origin(kind) in (typing.Union, types.UnionType):
        (kind,) = (each for each in get_args(kind) if each is not type(None))
    if get_origin(kind) is list:
        return get_args(kind)[0], True
    return kind, False


def _value(kind: Any, info: ArgumentInfo | OptionInfo) -> str:
    shown = VALUES[_plain(kind)[0]]
    if info.min is not None and info.max is not None:
        shown += f", {info.min:g} to {info.max:g}"
    return shown


def _default(default: Any, info: ArgumentInfo | OptionInfo) -> str:
    if default is inspect.Parameter.empty:
        return "required"
    if isinstance(info.show_default, str):
        return info.show_default
    if default is None or default is False:
        return ""
    return "yes" if default is True else f"`{default}`"


def page() -> str:
    """The page of the reference."""
    parts = [
        "# Commands",
        "Results go to stdout. Progress and remarks go to stderr. Exit code 0 means success. Exit code 1 means a mistake in your files: one sentence says which. Exit code 2 means that the command was typed wrongly.",
    ]
    for name, command in commands().items():
        found = list(parameters(command))
        rows = [f"| {' | '.join(_cells(each))} |" for each in found]
        head = [
            "| argument or option | meaning | value | default |",
            "|---|---|---|---|",
        ]
        parts += [
            f"## fieldmap {name}",
            inspect.cleandoc(command.__doc__ or ""),
            f"```text\n{_usage(name, found)}\n```",
            "\n".join([*head, *rows]),
        ]
    return "\n\n".join(parts) + "\n"


def _usage(name: str, found: list[Parameter]) -> str:
    arguments = [
        each.names[0] if each.default == "required" else f"[{each.names[0]}]"
        for each in found
        if each.is_argument
    ]
    options = ["[OPTIONS]"] if any(not each.is_argument for each in found) else []
    return " ".join(["fieldmap", name, *arguments, *options])


def _cells(each: Parameter) -> Iterator[str]:
    yield ", ".join(f"`{name}`" for name in each.names)
    yield from (each.meaning.replace("|", "\\|"), each.value, each.default)
