"""A table of the page: its columns are declared once, with a heading and a cell each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, NamedTuple, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

# Rows of these tables show nothing on the map.
PLAIN = ("tonight", "layout", "station", "tunnel-light", "materials", "hoops", "pegs")
MOST_ROWS_OPEN = 500  # a choice

T = TypeVar("T")


class Column(NamedTuple, Generic[T]):
    """A heading and how the cell of a thing is shown."""

    heading: str
    cell: Callable[[T], str]


@dataclass(frozen=True)
class Row:
    """A line of a table; the first cell is the name.

    Attributes
    ----------
    shows
        The row whose thing on the map this one shows, where it is not its own.
    """

    id: str
    cells: tuple[str, ...]
    colour: str = ""
    shows: str = ""


@dataclass(frozen=True)
class Table:
    """A heading, its columns and its rows."""

    id: str
    heading: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    if_empty: str = ""
    notes: tuple[str, ...] = ()

    @property
    def long(self) -> bool:
        """Whether it is shut at first: laid out, thousands of rows stop a phone."""
        return len(self.rows) > MOST_ROWS_OPEN

    @property
    def plain(self) -> bool:
        """Whether its rows show nothing on the map."""
        return self.id.startswith(PLAIN)


def headings(columns: Sequence[Column[T]]) -> tuple[str, ...]:
    """What stands over the columns."""
    return tuple(column.heading for column in columns)


def cells(columns: Sequence[Column[T]], thing: T) -> tuple[str, ...]:
    """The cells of one thing."""
    return tuple(column.cell(thing) for column in columns)


def rows(
    columns: Sequence[Column[T]], things: Iterable[T], kind: str
) -> tuple[Row, ...]:
    """A row for each thing, named by its kind and number."""
    return tuple(
        Row(row_id(kind, number), cells(columns, thing))
        for number, thing in enumerate(things)
    )


def row_id(kind: str, number: int) -> str:
    """Name of a table row, counted in the order of the plan."""
    return f"{kind}-{number}"
