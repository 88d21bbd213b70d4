"""What was drawn before from all the same is not drawn again."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

from fieldmap.cache import Pieces, Store

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
    """
    pieces = _PIECES.get()
    if pieces is None:
        return draw()
    return pieces.reuse({"kind": kind, **inputs}, draw)
