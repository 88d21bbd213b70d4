"""What was drawn before from all the same is not drawn again."""

import hashlib
import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import fields, is_dataclass
from datetime import date
from typing import Any, TypeVar

import numpy as np
from pydantic import BaseModel
from shapely.geometry.base import BaseGeometry

from fieldmap.cache import Pieces, Store
from fieldmap.model.raster import Raster
from fieldmap.show.text.language import current

T = TypeVar("T")

_PIECES: ContextVar[Pieces | None] = ContextVar("pieces", default=None)


@contextmanager
def kept(store: Store) -> Iterator[Pieces]:
    """What is drawn meanwhile is kept in a store, and taken from it."""
    pieces = Pieces(store, "drawn")
    token = _PIECES.set(pieces)
    try:
        yield pieces
    finally:
        _PIECES.reset(token)
    pieces.keep()


def drawn(kind: str, inputs: dict[str, Any], draw: Callable[[], bytes]) -> bytes:
    """The bytes of a picture, page or grid.

    Parameters
    ----------
    kind
        One word for each way of drawing.
    inputs
        All that the bytes are made of, but code and libraries.
    draw
        Draws them. Called only where nothing is kept for these inputs.
    """
    pieces = _PIECES.get()
    if pieces is None:
        return draw()
    return pieces.reuse({"kind": kind, **inputs}, draw)


def written(kind: str, inputs: dict[str, Any], write: Callable[[], T]) -> T:
    """What goes into the page as JSON, once for the same inputs and language.

    Parameters
    ----------
    kind
        One word for each kind of content.
    inputs
        All that it is made of, but code, libraries and language.
    write
        Gives what JSON can hold. What has been through JSON comes back, kept or not.
    """
    here = current()
    spoken = {"language": [here.code, here.locale]}
    text = drawn(kind, inputs | spoken, lambda: json.dumps(write()).encode())
    read: T = json.loads(text)
    return read


def cells(name: str, raster: Raster) -> dict[str, Any]:
    """A raster among the inputs of what is kept."""
    return {
        name: raster.values,
        f"{name} lie": [*raster.transform, raster.crs.to_wkt()],
    }


def digest(thing: object) -> str:
    """A hash of a record with all that it is made of, the same in every run.

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
    if thing is None or isinstance(thing, (str, int, float, date, np.generic)):
        yield repr(thing).encode()
    elif isinstance(thing, np.ndarray):
        yield f"{thing.dtype}{thing.shape}".encode()
        yield thing.tobytes()
    elif isinstance(thing, BaseModel):
        yield thing.model_dump_json().encode()
    elif isinstance(thing, BaseGeometry):
        yield thing.wkb
    elif is_dataclass(thing):
        for each in fields(thing):
            yield from _parts(getattr(thing, each.name))
    elif isinstance(thing, (set, frozenset)):
        yield from map(str.encode, sorted(digest(each) for each in thing))
    elif isinstance(thing, Mapping):
        yield from _each(value for pair in thing.items() for value in pair)
    elif isinstance(thing, (tuple, list)):
        yield from _each(thing)
    else:
        raise TypeError(f"no digest of a {type(thing).__name__}")
    yield b")"


def _each(things: Iterable[object]) -> Iterator[bytes]:
    for thing in things:
        yield from _parts(thing)
