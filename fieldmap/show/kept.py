"""What was drawn before from all the same is not drawn again."""

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, TypeVar

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
    spoken = {"language": spoken_here()}
    text = drawn(kind, inputs | spoken, lambda: json.dumps(write()).encode())
    read: T = json.loads(text)
    return read


def spoken_here() -> str:
    """The language and its ways, for what has words among what is kept."""
    here = current()
    return f"{here.code} {here.locale}"


def cells(name: str, raster: Raster) -> dict[str, Any]:
    """A raster among the inputs of what is kept."""
    return {
        name: raster.values,
        f"{name} lie": [*raster.transform, raster.crs.to_wkt()],
    }
