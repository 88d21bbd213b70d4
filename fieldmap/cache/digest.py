"""A hash of a record with all that it is made of, by which what it led to is kept."""

import hashlib
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import fields, is_dataclass
from datetime import date
from enum import Enum
from functools import cache
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

Take = Callable[[bytes], None]
Way = Callable[[Any, Take], None]


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
    _feed(thing, made_of.update)
    return made_of.hexdigest()


def _feed(thing: Any, take: Take) -> None:
    """Give a record in bytes that no other record has."""
    # With a begin and an end of their own, two records side by side never read as one.
    begins, way = _way(type(thing))  # type: ignore[arg-type]  # a type has a hash
    take(begins)
    way(thing, take)
    take(b")")


def _feed_each(things: Iterable[object], take: Take) -> None:
    for thing in things:
        _feed(thing, take)


@cache
def _way(kind: type) -> tuple[bytes, Way]:
    """How things of a kind begin, and how the rest of them is given."""
    way = next((way for kinds, way in _WAYS if issubclass(kind, kinds)), None)
    return f"{kind.__qualname__}(".encode(), way or _way_of_fields(kind)


def _way_of_fields(kind: type) -> Way:
    if not is_dataclass(kind):
        raise TypeError(f"no digest of a {kind.__name__}")
    names = [each.name for each in fields(kind)]
    return lambda one, take: _feed_each((getattr(one, name) for name in names), take)


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


def _feed_array(values: np.ndarray[Any, Any], take: Take) -> None:
    take(f"{values.dtype}{values.shape}".encode())
    if values.dtype.hasobject:  # it holds where they lie, and not what they are
        _feed_each(values.ravel(), take)
    else:
        take(values.tobytes())


def _feed_model(model: BaseModel, take: Take) -> None:
    _feed_each((getattr(model, each) for each in type(model).model_fields), take)


_AS_WRITTEN = (str, bytes, int, float, date, Enum, np.generic, NoneType, type(pd.NA))
# What is made of others, or written in a way of its own; the first that fits counts.
_WAYS: tuple[tuple[Any, Way], ...] = (
    (_AS_WRITTEN, lambda thing, take: take(repr(thing).encode())),
    (PurePath, lambda path, take: take(bytes(path))),
    (np.ndarray, _feed_array),
    (BaseModel, _feed_model),
    (BaseGeometry, lambda shape, take: take(shape.wkb)),
    (pyproj.CRS, lambda crs, take: take(crs.to_wkt().encode())),
    (
        (pd.DataFrame, pd.Series, pd.Index),
        lambda table, take: _feed_each(_of_table(table), take),
    ),
    (
        (set, frozenset),
        lambda all_, take: take("".join(sorted(map(digest, all_))).encode()),
    ),
    (
        Mapping,
        lambda pairs, take: _feed_each(chain.from_iterable(pairs.items()), take),
    ),
    ((tuple, list, Affine), _feed_each),
)
