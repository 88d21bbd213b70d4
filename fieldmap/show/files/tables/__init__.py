"""Tables of the plan: a column is declared once, for every file that holds it.

One module a table (`beds.csv` is `tables.beds`), each with its `COLUMNS` in order. CSV and
GIS files hold one value a column; `plan.json` holds ranges and lists as they are. Numbers
are metric, with the unit in the key, in every file.
"""

import csv
import io
import math
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from operator import attrgetter
from typing import Any, Generic, TypeVar

from fieldmap.model.estimate import Estimate
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import say_all

T = TypeVar("T")
# What a spreadsheet may take for a formula: at the beginning of a cell, or after a mark
# that divides cells in some countries; signs of full width too.
_STARTS_A_FORMULA = re.compile(r"(^|[;\t\r\n|])(?=[\s\"']*[=+\-@＝＋－＠\t\r])")


@dataclass(frozen=True)
class Column(Generic[T]):
    """One column of a table of things.

    Attributes
    ----------
    key
        Its name, with the unit at the end.
    value
        How it is read from a thing: a number (NaN or None where it is not known), a
        text, several of them, or facts.
    digits
        To which numbers are rounded; None: they stay as they are.
    parts
        Names in a flat table of the several numbers of a value, in order. As a mapping
        they are listed by their keys in nested data.
    said
        Whether the value is facts (or sentences), which follow each other in one text.
    """

    key: str
    value: Callable[[T], Any]
    digits: int | None = None
    parts: Mapping[str, str] | tuple[str, ...] = ()
    said: bool = False

    @property
    def names(self) -> tuple[str, ...]:
        """Names in a flat table."""
        names = self.parts.values() if isinstance(self.parts, Mapping) else self.parts
        return tuple(names) or (self.key,)


def attributes(*paths: str, digits: int | None = None) -> tuple[Column[Any], ...]:
    """Columns that hold attributes of a thing and are named as these.

    Examples
    --------
    >>> names(attributes("bed.name", "slope_percent"))
    ('name', 'slope_percent')
    """
    return tuple(
        Column(path.rpartition(".")[2], attrgetter(path), digits) for path in paths
    )


def low_central_high(key: str) -> dict[str, str]:
    """Names of the parts of an estimate.

    Examples
    --------
    >>> low_central_high("early_{}")
    {'low': 'early_low', 'central': 'early_central', 'high': 'early_high'}
    """
    return {part: key.format(part) for part in Estimate._fields}


def names(columns: Iterable[Column[Any]]) -> tuple[str, ...]:
    """The head of a flat table."""
    return tuple(name for column in columns for name in column.names)


def flat(columns: Iterable[Column[T]], thing: T, units: Units) -> dict[str, Any]:
    """A row with one value a name; sentences follow each other in one text.

    Parameters
    ----------
    columns
        Columns of the table, in order.
    thing
        What the row is about, such as a bed or a tunnel.
    units
        "metric" or "us", for sentences; numbers stay metric.

    Returns
    -------
    row
        Values by name of column; None for a number that is not known.
    """
    row: dict[str, Any] = {}
    for column in columns:
        value = plain(column.value(thing), column.digits)
        if column.said:
            value = " ".join(say_all(value, units))
        if column.parts:
            row |= zip(column.names, value, strict=True)
        else:
            row[column.key] = value
    return row


def plain(value: Any, digits: int | None) -> Any:
    """Rounded numbers, None where one is not known, never minus zero; lists of them.

    Examples
    --------
    >>> plain((1.234, float("nan"), -0.001), 2)
    [1.23, None, 0.0]
    """
    if isinstance(value, (tuple, list)):
        if digits is None:
            return list(value)
        return [plain(each, digits) for each in value]
    if value is None or digits is None:
        return value
    return None if math.isnan(value) else round(float(value), digits) + 0.0


def month_day(day: tuple[int, int] | None) -> str | None:
    """A day of any year as MM-DD; None where there is none."""
    return None if day is None else f"{day[0]:02d}-{day[1]:02d}"


def csv_of(
    columns: Sequence[Column[T]], things: Iterable[T], units: Units = "metric"
) -> str:
    """A table as CSV, one line a thing.

    Parameters
    ----------
    columns
        Columns of the table, in order.
    things
        What the lines are about, one thing a line.
    units
        "metric" or "us", for sentences; numbers stay metric.
    """
    return csv_text(names(columns), (flat(columns, thing, units) for thing in things))


def csv_text(head: Sequence[str], rows: Iterable[Mapping[str, Any]]) -> str:
    """A table as CSV; text that a spreadsheet would take for a formula is quoted."""
    text = io.StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow(head)
    # Many cells hold the same few words.
    seen: dict[str, str] = {}
    for row in rows:
        cells = []
        for name in head:
            value = row[name]
            if isinstance(value, str):
                if value not in seen:
                    seen[value] = harmless(value)
                value = seen[value]
            cells.append(value)
        table.writerow(cells)
    return text.getvalue()


def harmless(value: Any) -> Any:
    """Text with an apostrophe wherever a spreadsheet would begin a formula.

    Examples
    --------
    >>> harmless("=1+1"), harmless("leek;=1+1"), harmless("leek - kale")
    ("'=1+1", "leek;'=1+1", 'leek - kale')
    """
    return _STARTS_A_FORMULA.sub(r"\1'", value) if isinstance(value, str) else value
