"""The text of a weather file to numbers by day, in the units of the record."""

import re

import numpy as np
import pandas as pd

from fieldmap.errors import SiteError, problem, site_error
from fieldmap.read.csv_table import AS_IT_IS, FROM_FAHRENHEIT, CsvTable, read_csv
from fieldmap.read.door import SiteFile
from fieldmap.read.weather.services import in_own_columns
from fieldmap.read.wording import quoted, refuse_any

# Column of the file -> column of the record, and how to come to its unit.
COLUMNS = {
    "tmin_c": ("tmin_c", AS_IT_IS),
    "tmin_f": ("tmin_c", FROM_FAHRENHEIT),
    "tmax_c": ("tmax_c", AS_IT_IS),
    "tmax_f": ("tmax_c", FROM_FAHRENHEIT),
    "wind_m_s": ("wind_m_s", AS_IT_IS),
    "wind_mph": ("wind_m_s", (0.44704, 0.0)),  # exact: 1609.344 m in 3600 s
    "precipitation_mm": ("precipitation_mm", AS_IT_IS),
    "precipitation_in": ("precipitation_mm", (25.4, 0.0)),
}
MEANING = {column: target for column, (target, _conversion) in COLUMNS.items()}
RIGHT = ("date", *COLUMNS)
YEARS = 1650, 2200  # thermometers are no older (from memory); beyond is a slip
NEEDED = {
    "date": "date",
    "tmin_c": problem("tmin_c or tmin_f"),
}
# Spreadsheets and services write these where a comma is the decimal mark.
DIVIDERS = ",;\t"
# Ways to write a day of which none can be taken for another.
_WAYS = {
    re.compile(r"\d{4}-\d{1,2}-\d{1,2}"): "%Y-%m-%d",
    re.compile(r"\d{8}"): "%Y%m%d",
    re.compile(r"\d{1,2}\.\d{1,2}\.\d{4}"): "%d.%m.%Y",
}
_SLASHES = re.compile(r"(\d{1,2})/(\d{1,2})/\d{4}")
_DAY_FIRST, _MONTH_FIRST = "%d/%m/%Y", "%m/%d/%Y"


def read_readings(path: SiteFile) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Readings by date as they stand (in metric units), and the file's own columns.

    Fields may be divided by commas, semicolons or tabs; where not by commas, a comma is
    a decimal mark. Days may be written as year, month, day with or without dashes, and
    day first with dots; with slashes where only one order can be. Maxima are NaN where
    there is no column of them.

    Raises
    ------
    SiteError
        When the header, a date or a number cannot be read.
    """
    table = read_csv(path, DIVIDERS)
    table = in_own_columns(table)
    _check_header(table)
    table.check_lengths()
    dates = _dates(table)
    readings = _numbers(table)
    if "tmax_c" not in readings:
        readings["tmax_c"] = np.nan
    readings.index = dates
    return readings.sort_index(), table.header


def _check_header(table: CsvTable) -> None:
    """Raise SiteError unless each reading that is needed has one column."""
    file, given = table.file, table.given
    if not given:
        raise site_error(
            "{file} is empty; its first line names the columns, such as"
            " date,tmin_c,tmax_c, and each day has a line after it.",
            file=file,
        )
    problems = table.unknown_columns(RIGHT)
    problems += [
        problem(
            "{file} has {count} columns for one reading ({columns}); keep one.",
            file=file,
            count=len(columns),
            columns=", ".join(columns),
        )
        for columns in table.said_twice(MEANING).values()
    ]
    if not problems:
        problems += [
            problem(
                "{file} has no column {names} (its header is {header}); add it.",
                file=file,
                names=NEEDED[target],
                header=quoted(",".join(given)),
            )
            for target in table.lacking(NEEDED, MEANING)
        ]
    if problems:
        raise SiteError(problems)
    if not table.rows:
        raise site_error(
            "{file} has a header but no days; add a line for each day.", file=file
        )


def _column(table: CsvTable, name: str) -> pd.Series:
    """One column's text by line."""
    return pd.Series(table.column(name), index=table.lines, dtype=object)


def _dates(table: CsvTable) -> pd.DatetimeIndex:
    texts = _column(table, "date")
    written = _way_of(texts, table.file)
    dates = pd.to_datetime(texts, format=written, errors="coerce")
    unread = dates.isna() | ~dates.dt.year.between(*YEARS)
    wrong = [
        problem(
            "{file}: line {line} has date {text}; write it as year, month, day,"
            " such as 2019-04-30.",
            file=table.file,
            line=line,
            text=quoted(text),
        )
        for line, text in texts[unread].items()
    ]
    refuse_any(wrong, table.file, most=3)
    return pd.DatetimeIndex(dates, name="date")


def _way_of(texts: pd.Series, file: str) -> str:
    """How the days of a table are written, by its first day."""
    first = texts.iloc[0]
    for form, way in _WAYS.items():
        if form.fullmatch(first):
            return way
    if not _SLASHES.fullmatch(first):
        return "%Y-%m-%d"
    parts = [_SLASHES.fullmatch(text) for text in texts]
    highest = [max(int(part[at]) for part in parts if part) for at in (1, 2)]
    if max(highest) <= 12:
        raise site_error(
            "{file} has dates such as {text}, of which either number may be the month;"
            " write them as year, month, day, such as 2019-04-30.",
            file=file,
            text=quoted(first),
        )
    return _DAY_FIRST if highest[0] > highest[1] else _MONTH_FIRST


def _numbers(table: CsvTable) -> pd.DataFrame:
    columns = {}
    wrong = []
    for name, (target, (factor, offset)) in COLUMNS.items():
        if name not in table.header:
            continue
        texts = _column(table, name)
        if table.divider != ",":
            texts = texts.str.replace(",", ".", regex=False)
        numbers = pd.to_numeric(texts, errors="coerce").astype(float)
        unread = (texts != "") & ~np.isfinite(numbers)
        wrong += [
            problem(
                "{file}: line {line} has {name} {text}; write a number with a"
                " decimal point, or nothing where there is no reading.",
                file=table.file,
                line=line,
                name=name,
                text=quoted(text),
            )
            for line, text in texts[unread].items()
        ]
        columns[target] = numbers * factor + offset
    refuse_any(wrong, table.file, most=3)
    return pd.DataFrame(columns)
