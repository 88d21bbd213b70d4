"""The text of a weather file to numbers by day, in the units of the record."""

import numpy as np
import pandas as pd

from fieldmap.errors import SiteError, problem, site_error
from fieldmap.read.csv_table import AS_IT_IS, FROM_FAHRENHEIT, CsvTable, read_csv
from fieldmap.read.door import SiteFile
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
    "tmax_c": problem("tmax_c or tmax_f"),
}


def read_readings(path: SiteFile) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Readings by date as they stand (in metric units), and the file's own columns.

    Raises
    ------
    SiteError
        When the header, a date or a number cannot be read.
    """
    table = read_csv(path)
    _check_header(table)
    table.check_lengths()
    dates = _dates(table)
    readings = _numbers(table)
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
    if len(given) == 1 and any(mark in given[0] for mark in ";\t"):
        raise site_error(
            "{file}: the header {header} is not divided by commas; save it"
            " with commas between fields and points in numbers.",
            file=file,
            header=quoted(given[0]),
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
            "{file} has a header and no day; add a line for each day.", file=file
        )


def _column(table: CsvTable, name: str) -> pd.Series:
    """One column's text by line."""
    return pd.Series(table.column(name), index=table.lines, dtype=object)


def _dates(table: CsvTable) -> pd.DatetimeIndex:
    texts = _column(table, "date")
    dates = pd.to_datetime(texts, format="%Y-%m-%d", errors="coerce")
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


def _numbers(table: CsvTable) -> pd.DataFrame:
    columns = {}
    wrong = []
    for name, (target, (factor, offset)) in COLUMNS.items():
        if name not in table.header:
            continue
        texts = _column(table, name)
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
