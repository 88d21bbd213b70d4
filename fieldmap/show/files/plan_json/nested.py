"""Rows and facts as records of `plan.json`."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import fields, is_dataclass
from typing import Any, TypeVar

from fieldmap.model.fact import Fact
from fieldmap.show.files.tables import Column, plain
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import say

T = TypeVar("T")


def nested(columns: Iterable[Column[T]], thing: T, units: Units) -> dict[str, Any]:
    """A row whose ranges are records, whose lists are lists, with facts as statements.

    Parameters
    ----------
    columns
        What is read of the thing, in the order of the keys.
    thing
        What the row is about, such as a bed or a tunnel.
    units
        "metric" or "us", for sentences; numbers stay metric.
    """
    row = {}
    for column in columns:
        value = plain(column.value(thing), column.digits)
        if isinstance(column.parts, dict):
            value = dict(zip(column.parts, value, strict=True))
        elif column.said:
            value = [statement(each, units) for each in value]
        row[column.key] = value
    return row


def statement(fact: Fact, units: Units) -> dict[str, Any]:
    """A sentence with the kind and values of its fact for machines."""
    return {**_for_machines(fact), "text": say(fact, units)}


def _for_machines(value: Any) -> Any:
    """A value of a fact as JSON has it; None for a number that is not known."""
    if isinstance(value, Fact):
        value = {"kind": value.kind, "values": value.values}
    elif is_dataclass(value):
        value = {field.name: getattr(value, field.name) for field in fields(value)}
    elif hasattr(value, "_asdict"):
        value = value._asdict()
    if isinstance(value, Mapping):
        return {str(key): _for_machines(each) for key, each in value.items()}
    if value is None or isinstance(value, str | int):
        return value
    if isinstance(value, Iterable):
        return [_for_machines(each) for each in value]
    return plain(value, 4) if math.isfinite(value) else None
