"""A hash of a record with all that it is made of, by which what it led to is kept."""

import hashlib
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import fields, is_dataclass
from datetime import date
from enum import Enum
from itertools import chain
from pathlib import PurePath
from types import NoneType
from typing import Any

import numpy as np
import pandas as pd
import pyproj
import shapely
from affine import Affine
from geopandas.array import GeometryArray
from pydantic import BaseModel
from shapely.geometry.base import BaseGeometry


def digest(thing: object) -> str:
    """A hash of a record with all that it is made of, the same in every run.

    Two records have the same one only where they hold the same values of the same types
    in the same order, whatever they came from.

    Raises
    ------
    TypeError
        For anything of which it is not known how to tell two apart.

    Examples
    --------
    >>> digest((1.0, {"a"})) == digest((1.0, {"a"})) != digest((1.0, {"b"}))
    True
    """
    made_of = hashlib.sha256()
    for part in _parts(thing):
        made_of.update(part)
    return made_of.hexdigest()


def _parts(thing: Any) -> Iterator[bytes]:
    """A record in bytes that no other record has."""
    yield f"{type(thing).__qualname__}(".encode()
    for kinds, parts in _WAYS:
        if isinstance(thing, kinds):
            yield from parts(thing)
            break
    else:
        if not is_dataclass(thing):
            raise TypeError(f"no digest of a {type(thing).__name__}")
        yield from _each(getattr(thing, each.name) for each in fields(thing))
    yield b")"


def _each(things: Iterable[object]) -> Iterator[bytes]:
    for thing in things:
        yield from _parts(thing)


def _of_table(table: pd.DataFrame | pd.Series | pd.Index) -> Iterator[object]:
    """Names, kinds and values of a table, a column or an index."""
    if isinstance(table, pd.DataFrame):
        yield from (table.columns, table.index)
        yield from (table.iloc[:, at] for at in range(table.shape[1]))
        return
    yield from (table.name, str(table.dtype))
    if isinstance(table, pd.Series):
        yield table.index
    values = table.array
    if isinstance(values, GeometryArray):
        yield from (values.crs, shapely.to_wkb(np.asarray(values)))
    elif isinstance(table, pd.DatetimeIndex):
        yield table.asi8
    elif isinstance(table, pd.MultiIndex):
        yield list(table)
    else:
        yield table.to_numpy()


def _of_array(values: np.ndarray[Any, Any]) -> Iterator[bytes]:
    yield f"{values.dtype}{values.shape}".encode()
    # Of objects an array holds where they lie, and not what they are.
    yield from _each(values.ravel()) if values.dtype.hasobject else [values.tobytes()]


_AS_WRITTEN = (str, bytes, int, float, date, Enum, np.generic, NoneType, type(pd.NA))
# What is made of others, or written in a way of its own; the first that fits counts.
_WAYS: tuple[tuple[Any, Callable[[Any], Iterable[bytes]]], ...] = (
    (_AS_WRITTEN, lambda thing: [repr(thing).encode()]),
    (PurePath, lambda path: [bytes(path)]),
    (np.ndarray, _of_array),
    (
        BaseModel,
        lambda one: _each(getattr(one, each) for each in type(one).model_fields),
    ),
    (BaseGeometry, lambda shape: [shape.wkb]),
    (pyproj.CRS, lambda crs: [crs.to_wkt().encode()]),
    ((pd.DataFrame, pd.Series, pd.Index), lambda table: _each(_of_table(table))),
    ((set, frozenset), lambda all_: sorted(digest(each).encode() for each in all_)),
    (Mapping, lambda pairs: _each(chain.from_iterable(pairs.items()))),
    ((tuple, list, Affine), _each),
)
