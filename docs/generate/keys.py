"""Every key of `site.toml` and `region.toml`, from the records that check them."""

import ast
import inspect
import re
import tomllib
import types
import typing
from collections.abc import Iterator, Mapping
from datetime import date
from functools import cache
from pathlib import Path
from typing import Annotated, Any, Literal, NamedTuple, get_args, get_origin

import annotated_types
from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from fieldmap.model.region import RegionSettings
from fieldmap.model.settings import Settings
from fieldmap.model.settings.harvest import Harvest

EXAMPLES = Path(__file__).parents[1] / "reference"
# What each file of choices holds, and the record that checks it.
CHOICES = {
    "site.toml": ("your choices", Settings),
    "region.toml": ("the choices of a region of many parcels", RegionSettings),
}
# Units by the end of a key, the longest first.
UNITS = {
    "mj_m2_day": "MJ/m² a day",
    "mm_h": "mm an hour",
    "percent": "%",
    "years": "years",
    "days": "days",
    "deg": "degrees",
    "minutes_in_the_morning": "minutes",
    "kg": "kg",
    "in": "inches",
    "ft": "feet",
    "m": "m",
    "metres": "m",
    "latitude": "degrees",
    "longitude": "degrees",
    "c": "°C",
    "hours": "hours",
    "cells": "cells",
    "first_month": "month",
    "last_month": "month",
}
KINDS = {str: "text", float: "number", int: "whole number", bool: "true or false"}
# Feet and inches that stand for a key in metres.
OTHER_UNITS = re.compile(r"; or `(\w+)`, in (?:feet|inches)")


class Key(NamedTuple):
    """One key of a table of choices."""

    name: str
    what: str
    kind: str
    unit: str
    default: str
    limits: str
    example: str


@cache
def descriptions(model: type[BaseModel]) -> Mapping[str, str]:
    """The docstring below each field of a record; a field without one is an error."""
    (record,) = ast.parse(inspect.getsource(model)).body
    assert isinstance(record, ast.ClassDef)
    found: dict[str, str] = {}
    for base in model.__bases__:
        if base.__module__ == model.__module__:
            found |= descriptions(base)
    for field, below in zip(record.body, [*record.body[1:], ast.Pass()], strict=True):
        if isinstance(field, ast.AnnAssign) and isinstance(field.target, ast.Name):
            match below:
                case ast.Expr(value=ast.Constant(value=str(text))):
                    found[field.target.id] = " ".join(text.split())
                case _:
                    raise ValueError(
                        f"{model.__name__}.{field.target.id}: no docstring"
                    )
    return found


def parts_of(annotation: Any) -> Iterator[tuple[Any, tuple[Any, ...]]]:
    """The plain types in an annotation, with what is demanded of each; None left out."""
    demands: tuple[Any, ...] = ()
    while get_origin(annotation) is Annotated:
        annotation, *more = get_args(annotation)
        demands = (*demands, *more)
    if get_origin(annotation) in (typing.Union, types.UnionType):
        for each in get_args(annotation):
            for kind, inner in parts_of(each):
                yield kind, (*demands, *inner)
    elif annotation is not type(None):
        yield annotation, demands


def table_of(field: FieldInfo) -> tuple[type[BaseModel] | None, bool]:
    """The record that a key holds, and whether it holds a list of them."""
    for kind, _demands in parts_of(field.annotation):
        if isinstance(kind, type) and issubclass(kind, BaseModel):
            return kind, False
        for inner in get_args(kind):
            if isinstance(inner, type) and issubclass(inner, BaseModel):
                return inner, True
    return None, False


def _choices(kind: Any) -> list[str]:
    """The words that a type allows."""
    if get_origin(kind) is Literal:
        return [word for each in get_args(kind) for word in _words(each)]
    return []


def _words(each: Any) -> list[str]:
    return _choices(each) or [f'"{each}"']


def _demands(each: Any) -> Iterator[Any]:
    """Single demands of a field, those of pydantic taken apart."""
    if isinstance(each, FieldInfo):
        for inner in each.metadata:
            yield from _demands(inner)
    elif isinstance(each, annotated_types.GroupedMetadata):
        yield from each
    else:
        yield each


def _limits(demands: tuple[Any, ...]) -> str:
    """What a number, a text or a list must keep within, in words."""
    found: dict[str, Any] = {}
    for demand in demands:
        for each in _demands(demand):
            for name in ("ge", "gt", "le", "lt", "min_length", "max_length"):
                if isinstance(value := getattr(each, name, None), (int, float)):
                    found.setdefault(name, value)
    least = f"{found['ge']:g}" if "ge" in found else ""
    least = f"over {found['gt']:g}" if "gt" in found else least
    most = f"to {found['le']:,g}" if "le" in found else ""
    most = f"to under {found['lt']:g}" if "lt" in found else most
    return " ".join(filter(None, (least, most)))


def kind_and_limits(annotation: Any) -> tuple[str, str]:
    """What a key may hold, and between which ends."""
    kinds, limits = [], []
    for kind, demands in parts_of(annotation):
        if words := _choices(kind):
            kinds.append(" or ".join(words))
        elif get_origin(kind) is tuple and get_args(kind)[-1] is Ellipsis:
            inner, within = kind_and_limits(get_args(kind)[0])
            kinds.append(f"list of {inner}")
            limits.append(within)
        elif get_origin(kind) is tuple:
            kinds.append("[longitude, latitude]")
        elif kind is Harvest:
            kinds.append("text")
        elif kind is date:
            kinds.append("date")
        elif kind in KINDS:
            kinds.append(KINDS[kind])
        else:
            kinds.append("table")
        limits.append(_limits(demands))
    return " or ".join(dict.fromkeys(kinds)), ", ".join(filter(None, limits))


def toml_value(value: Any) -> str:
    """A value as a file of choices has it."""
    match value:
        case bool():
            return str(value).lower()
        case str():
            return f'"{value}"'
        case tuple() | list():
            return f"[{', '.join(map(toml_value, value))}]"
        case _:
            return str(value)


def _unit(name: str) -> str:
    for end in sorted(UNITS, key=len, reverse=True):
        if name == end or name.endswith(f"_{end}"):
            return UNITS[end]
    return ""


def key(name: str, field: FieldInfo, what: str, example: Any) -> Key:
    """One row of a table."""
    kind, limits = kind_and_limits(
        Annotated[field.annotation, *field.metadata]
        if field.metadata
        else field.annotation
    )
    if field.default is PydanticUndefined:
        default = "required"
    elif field.default in (None, ()) or isinstance(field.default, Mapping):
        default = ""
    else:
        default = f"`{toml_value(field.default)}`"
    shown = "" if example is None else f"`{toml_value(example)}`"
    return Key(name, what, kind, _unit(name), default, limits, shown)


def tables(
    file: str, model: type[BaseModel], path: str = "", *, is_list: bool = False
) -> Iterator[tuple[str, bool, type[BaseModel], list[Key]]]:
    """Each table of a file: its path, whether it is a list, its keys."""
    what, given = descriptions(model), examples(file)
    keys, inner = [], []
    for name, field in model.model_fields.items():
        record, many = table_of(field)
        below = f"{path}.{name}" if path else name
        if record is None:
            keys.append(key(name, field, what[name], given.get(below)))
        else:
            inner.append((record, below, many))
    yield path, is_list, model, keys
    for record, below, many in inner:
        yield from tables(file, record, below, is_list=many)


@cache
def examples(file: str) -> Mapping[str, Any]:
    """The first value of each key in the example, by its path."""
    found: dict[str, Any] = {}

    def walk(table: Mapping[str, Any], path: str) -> None:
        for name, value in table.items():
            below = f"{path}.{name}" if path else name
            values = value if isinstance(value, list) else [value]
            found.setdefault(below, value)
            for each in values:
                if isinstance(each, dict):
                    walk(each, below)

    walk(tomllib.loads((EXAMPLES / file).read_text("utf-8")), "")
    return found


def page(file: str) -> str:
    """The page of the reference on a file of choices."""
    holds, model = CHOICES[file]
    parts = [
        f"# Every key of {file}",
        f"`{file}` holds {holds}. Only `name` is required. You can leave out a key that has no default. Then its description says what happens. If a key is unknown or a value is wrong, one sentence says so, and nothing is made.",
    ]
    whats = _table_descriptions(file)
    for path, is_list, _model, keys in tables(file, model):
        if path:
            head = f"[[{path}]]" if is_list else f"[{path}]"
            parts += [f"## {head}", whats[path]]
        else:
            parts += ["## Before the first table"]
        head_row = "| key | meaning | type | unit | default | range | example |"
        rows = [f"| {' | '.join(_cells(each))} |" for each in keys]
        parts.append("\n".join([head_row, "|---|---|---|---|---|---|---|", *rows]))
    example = (EXAMPLES / file).read_text("utf-8").rstrip()
    parts += [
        "## All keys in one file",
        "This file is valid and has every key. Copy the lines that you need.",
        f"```toml\n{example}\n```",
    ]
    return "\n\n".join(parts) + "\n"


def _table_descriptions(file: str) -> Mapping[str, str]:
    found: dict[str, str] = {}
    for path, _is_list, model, _keys in tables(file, CHOICES[file][1]):
        for name, what in descriptions(model).items():
            found[f"{path}.{name}" if path else name] = what
    return found


def _cells(row: Key) -> Iterator[str]:
    yield f"`{row.name}`"
    yield row.what.replace("|", "\\|")
    yield row.kind
    yield from (row.unit, row.default, row.limits, row.example)
