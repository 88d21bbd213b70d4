"""A table of the page: its columns are declared once, with a heading and a cell each."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TypeVar

from fieldmap.show.text.language import _
from fieldmap.show.text.map.labels import LABELS, heading, label

T = TypeVar("T")
# By the key of its heading, or the heading itself: how the cell of a thing is shown.
Columns = dict[str, Callable[[T], str]]


@dataclass(frozen=True)
class Row:
    """A line of a table; the first cell is the name."""

    id: str
    cells: tuple[str, ...]


@dataclass(frozen=True)
class Table:
    """A heading, its columns and its rows."""

    id: str
    heading: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    if_empty: str = ""
    notes: tuple[str, ...] = ()


def table(
    key: str,
    columns: Columns[T],
    things: Iterable[T],
    notes: Iterable[str] = (),
    *,
    title: str = "",
    kind: str = "",
) -> Table:
    """A row for each thing.

    Parameters
    ----------
    key
        Name of the table on the page, and key of its label.
    columns
        How the cell of a thing is written, by column. The first column is the name.
    things
        What the rows are about, in order.
    notes
        Sentences under the table.
    title
        Empty: the label of the table's key.
    kind
        What its rows are named by, where it is not the key.
    """
    rows = (
        Row(row_id(kind or key, number), cells(columns, thing))
        for number, thing in enumerate(things)
    )
    return laid_out(key, columns, rows, notes, title=title)


def laid_out(
    key: str,
    columns: Iterable[str],
    rows: Iterable[Row],
    notes: Iterable[str] = (),
    *,
    title: str = "",
    if_empty: str = "",
) -> Table:
    """A table of rows that are made already.

    Parameters
    ----------
    key
        Name of the table on the page, and key of its label.
    columns
        Keys of the headings, or the headings themselves.
    rows
        The rows, each with a cell for every column.
    notes
        Sentences under the table.
    title
        Heading of the table; where it is empty, the label of the key.
    if_empty
        What stands there without rows; where it is empty, the label of "no_" and the
        key, if there is one.
    """
    return Table(
        key,
        title or label(key),
        tuple(map(heading, columns)),
        tuple(rows),
        if_empty or _(LABELS.get(f"no_{key}", "")),
        tuple(notes),
    )


def cells(columns: Columns[T], thing: T) -> tuple[str, ...]:
    """The cells of one thing."""
    return tuple(cell(thing) for cell in columns.values())


def row_id(kind: str, number: int) -> str:
    """Name of a table row, counted in the order of the plan."""
    return f"{kind}-{number}"
