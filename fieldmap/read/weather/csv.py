"""The text of a weather file to numbers by day, in the units of the record."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pandas as pd

from fieldmap.errors import SiteError
from fieldmap.read.csv_table import check_lengths, read_rows
from fieldmap.read.wording import either, nearest, quoted, some
from fieldmap.show.text.language import _, later

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

# Column of the file -> column of the record, factor and offset to its unit.
COLUMNS = {
    "tmin_c": ("tmin_c", 1.0, 0.0),
    "tmin_f": ("tmin_c", 5 / 9, -160 / 9),
    "tmax_c": ("tmax_c", 1.0, 0.0),
    "tmax_f": ("tmax_c", 5 / 9, -160 / 9),
    "wind_m_s": ("wind_m_s", 1.0, 0.0),
    "wind_mph": ("wind_m_s", 0.44704, 0.0),  # exact: 1609.344 m in 3600 s
    "precipitation_mm": ("precipitation_mm", 1.0, 0.0),
    "precipitation_in": ("precipitation_mm", 25.4, 0.0),
}
RIGHT = ("date", *COLUMNS)
YEARS = 1650, 2200  # thermometers are no older (from memory); beyond is a slip
NEEDED = {
    "date": "date",
    "tmin_c": later("tmin_c or tmin_f"),
    "tmax_c": later("tmax_c or tmax_f"),
}


class _Table(NamedTuple):
    """Fields of the rows that are not blank, and the line of the file each stands on."""

    header: list[str]
    rows: list[list[str]]
    lines: list[int]

    def column(self, name: str) -> pd.Series:
        """One column's text by line."""
        place = self.header.index(name)
        texts = [row[place].strip() for row in self.rows]
        return pd.Series(texts, index=self.lines, dtype=object)


def read_readings(path: Path, file: str) -> tuple[pd.DataFrame, list[str]]:
    """Readings by date as they stand (in metric units), and the file's own columns.

    Raises
    ------
    SiteError
        When the header, a date or a number cannot be read.
    """
    table = _table(path, file)
    dates = _dates(table, file)
    readings = _numbers(table, file)
    readings.index = dates
    return readings.sort_index(), table.header


def _table(path: Path, file: str) -> _Table:
    found = read_rows(path, file)
    if not found:
        raise SiteError(
            _(
                "{file} is empty; its first line names the columns, such as"
                " date,tmin_c,tmax_c, and each day has a line after it."
            ).format(file=file)
        )
    given = found[0][1]
    header = [name.strip().casefold() for name in given]
    _check_header(header, given, file)
    if len(found) == 1:
        raise SiteError(
            _("{file} has a header and no day; add a line for each day.").format(
                file=file
            )
        )
    check_lengths(found[1:], header, file)
    lines, rows = zip(*found[1:], strict=True)
    return _Table(header, list(rows), list(lines))


def _check_header(header: Sequence[str], given: Sequence[str], file: str) -> None:
    if len(given) == 1 and any(mark in given[0] for mark in ";\t"):
        raise SiteError(
            _(
                "{file}: the header {header} is not divided by commas; save it"
                " with commas between fields and points in numbers."
            ).format(file=file, header=quoted(given[0]))
        )
    problems = [
        _("{file}: column {shown} is not known; {meant}").format(
            file=file, shown=quoted(shown), meant=_meant(name)
        )
        for name, shown in zip(header, given, strict=True)
        if name not in RIGHT
    ]
    targets = [COLUMNS[name][0] if name in COLUMNS else name for name in header]
    for target in dict.fromkeys(targets):
        count = targets.count(target)
        if count > 1:
            columns = [
                name for name, of in zip(header, targets, strict=True) if of == target
            ]
            problems.append(
                _(
                    "{file} has {count} columns for one reading ({columns}); keep one."
                ).format(file=file, count=count, columns=", ".join(columns))
            )
    if not problems:
        problems += [
            _("{file} has no column {names} (its header is {header}); add it.").format(
                file=file, names=_(names), header=quoted(",".join(given))
            )
            for target, names in NEEDED.items()
            if target not in targets
        ]
    if problems:
        raise SiteError(problems)


def _meant(name: str) -> str:
    """What an unknown column should have been, as the end of a sentence."""
    with_unit = [column for column in COLUMNS if column.startswith(f"{name}_")]
    if with_unit:
        return _("say its unit: {right}.").format(right=either(with_unit))
    near = nearest(name, RIGHT)
    return (
        _("did you mean {near}?").format(near=quoted(near))
        if near
        else _("right are {right}.").format(right=either(RIGHT))
    )


def _dates(table: _Table, file: str) -> pd.DatetimeIndex:
    texts = table.column("date")
    dates = pd.to_datetime(texts, format="%Y-%m-%d", errors="coerce")
    unread = dates.isna() | ~dates.dt.year.between(*YEARS)
    wrong = [
        _(
            "{file}: line {line} has date {text}; write it as year, month, day,"
            " such as 2019-04-30."
        ).format(file=file, line=line, text=quoted(text))
        for line, text in texts[unread].items()
    ]
    if wrong:
        raise SiteError(some(wrong, most=3))
    return pd.DatetimeIndex(dates, name="date")


def _numbers(table: _Table, file: str) -> pd.DataFrame:
    columns = {}
    wrong: list[str] = []
    for name in table.header:
        if name == "date":
            continue
        texts = table.column(name)
        numbers = pd.to_numeric(texts, errors="coerce").astype(float)
        unread = (texts != "") & ~np.isfinite(numbers)
        wrong += [
            _(
                "{file}: line {line} has {name} {text}; write a number with a"
                " decimal point, or nothing where there is no reading."
            ).format(file=file, line=line, name=name, text=quoted(text))
            for line, text in texts[unread].items()
        ]
        target, factor, offset = COLUMNS[name]
        columns[target] = numbers * factor + offset
    if wrong:
        raise SiteError(some(wrong, most=3))
    targets = dict.fromkeys(target for target, _, _ in COLUMNS.values())
    return pd.DataFrame({name: columns[name] for name in targets if name in columns})
