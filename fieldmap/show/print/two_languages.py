"""One sheet in two languages: what the second says stands below what the first says."""

from collections.abc import Sequence
from dataclasses import fields, is_dataclass, replace
from typing import Any

from fieldmap.show.print.paper import (
    Block,
    Caution,
    Drawing,
    Frame,
    Head,
    Said,
    Table,
)

# Texts that stand in one line: both, with a stroke between.
IN_ONE_LINE = ("title", "when", "text", "items")
FIRST_ALONE = (Drawing, Table)


def together(first: Sequence[Block], second: Sequence[Block]) -> tuple[Block, ...]:
    """Blocks of a sheet with those of the same sheet in another language.

    Tables and drawings stay in the first one.
    """
    return tuple(_both(one, other) for one, other in zip(first, second, strict=True))


def _both(one: Any, other: Any, name: str = "") -> Any:
    """The same part of a sheet in both languages; `name` is that of a field."""
    both = one
    if one == other or isinstance(one, FIRST_ALONE):
        pass
    elif isinstance(one, Said):
        both = Said(one.first, other.first)
    elif isinstance(one, Caution):
        both = replace(one, second=" ".join(filter(None, (other.text, other.rest))))
    elif isinstance(one, Head):
        both = replace(one, lines=(*one.lines, other.title, *other.lines))
    elif isinstance(one, tuple):
        pairs = zip(one, other, strict=True)
        both = tuple(_both(each, that, name) for each, that in pairs)
    elif is_dataclass(one) and not isinstance(one, type):
        both = replace(one, **_parts(one, other))
    elif name in IN_ONE_LINE:
        both = f"{one} / {other}"
    return both


def _parts(one: Any, other: Any) -> dict[str, Any]:
    """Every field of a block in both languages."""
    parts = {
        part.name: _both(getattr(one, part.name), getattr(other, part.name), part.name)
        for part in fields(one)
    }
    if isinstance(one, Frame) and one.number and not one.photo:
        parts["lines"] = ()  # the second language takes the place of the lines
    return parts
