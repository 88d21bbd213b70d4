"""Records of the Global Historical Climatology Network, daily (GHCN-Daily).

Three forms of one archive, by NOAA's readme.txt (section III) and readme-by_station.txt:
fixed width (.dly), one line for each reading, and one line for each day with columns of
attributes. The format fixes the units: tenths of °C, of mm and of m/s. Days without a
line have no reading; a value whose quality flag is set failed a check of the archive.
"""

import io
import warnings
from collections.abc import Iterator
from typing import Any

import numpy as np
import pandas as pd

from fieldmap.errors import Problem, joined, problem, site_error
from fieldmap.model.fact import Fact
from fieldmap.model.settings import Station
from fieldmap.read.csv_table import check_text
from fieldmap.read.door import SiteFile
from fieldmap.read.weather.form import Found, station_of
from fieldmap.read.wording import in_short, listed, quoted, refuse_any

ELEMENTS = {
    "TMIN": "tmin_c",
    "TMAX": "tmax_c",
    "AWND": "wind_m_s",
    "PRCP": "precipitation_mm",
}
NEEDED = ("TMIN", "TMAX")
MISSING = -9999
# A measurement flag: precipitation "missing presumed zero". Presumed is not measured.
PRESUMED = "P"
LINE_FIELDS = ("station", "date", "element", "value", "measured", "quality")
DAY_COLUMNS = ("STATION", "DATE", "LATITUDE", "LONGITUDE", "ELEVATION", "NAME")
# What the library raises of text that is no table.
_UNREADABLE = (
    ValueError,
    OverflowError,
    pd.errors.ParserError,
    pd.errors.ParserWarning,
)
_DAYS_AT, _DAY_WIDTH = 21, 8
_SHOWN = 3


def read_fixed(path: SiteFile) -> Found:
    """A fixed-width station file: one line for each month and element.

    Raises
    ------
    SiteError
        As `_found`.
    """
    return _found(pd.DataFrame(_fixed_readings(path)), path.name, None)


def _fixed_readings(path: SiteFile) -> Iterator[dict[str, object]]:
    text = path.text("latin-1")
    check_text(text, path.name)
    for number, line in enumerate(text.splitlines(), start=1):
        if line[17:21] not in ELEMENTS:
            continue
        for day in range(31):
            at = _DAYS_AT + _DAY_WIDTH * day
            value = line[at : at + 5].strip()
            if value and value != str(MISSING):
                yield {
                    "line": number,
                    "station": line[:11],
                    "date": f"{line[11:17]}{day + 1:02d}",
                    "element": line[17:21],
                    "value": value,
                    "measured": line[at + 5 : at + 6].strip(),
                    "quality": line[at + 6 : at + 7].strip(),
                }


def read_lines(path: SiteFile) -> Found:
    """A CSV with one line for each reading.

    Raises
    ------
    SiteError
        As `_found`, and where a line has too many fields.
    """
    table = _text_table(path, header=None, names=range(8))
    table = table[table[0] != "ID"]
    readings = table[list(range(len(LINE_FIELDS)))].set_axis(LINE_FIELDS, axis=1)
    return _found(readings.assign(line=table.index + 1), path.name, None)


def read_days(path: SiteFile) -> Found:
    """A CSV with one line for each day, a header and columns of attributes.

    Raises
    ------
    SiteError
        As `_found`, and where the columns are those of another download, in which the
        unit is the one that was clicked and stands nowhere.
    """
    table = _text_table(path, header=0)
    columns = tuple(table.columns)
    attributes = [f"{name}_ATTRIBUTES" for name in NEEDED]
    if columns[: len(DAY_COLUMNS)] != DAY_COLUMNS or any(
        name in columns and f"{name}_ATTRIBUTES" not in columns for name in NEEDED
    ):
        raise site_error(
            "{file} begins with {header}; such downloads do not say their units. Take"
            " the station's file of the GHCN-Daily archive, which begins with"
            " {first_columns} and has {other_columns}.",
            file=path.name,
            header=quoted(",".join(columns[:6])),
            first_columns=",".join(DAY_COLUMNS),
            other_columns=listed(attributes),
        )
    parts = []
    for element in ELEMENTS:
        has_element = {element, f"{element}_ATTRIBUTES"} <= set(columns)
        if table.empty or not has_element:
            continue
        flags = table[f"{element}_ATTRIBUTES"].str.split(",", expand=True)
        part = pd.DataFrame(
            {
                "line": table.index + 2,
                "station": table["STATION"],
                "date": table["DATE"].str.replace("-", ""),
                "element": element,
                "value": table[element].str.strip(),
                "measured": flags[0].str.strip(),
                "quality": flags[1].fillna("").str.strip() if 1 in flags else "",
            }
        )
        parts.append(part[part["value"] != ""])
    readings = pd.concat(parts) if parts else pd.DataFrame()
    return _found(readings, path.name, _place(table))


def _text_table(path: SiteFile, **how: Any) -> pd.DataFrame:
    try:
        text = path.text("utf-8-sig")
        check_text(text, path.name)
        with warnings.catch_warnings():
            # Of a row with more fields than there are columns it only warns.
            warnings.simplefilter("error", pd.errors.ParserWarning)
            table: pd.DataFrame = pd.read_csv(
                io.StringIO(text),
                dtype=str,
                keep_default_na=False,
                index_col=False,
                **how,
            )
    except _UNREADABLE as error:
        raise site_error(
            "{file} looks like a GHCN-Daily table and cannot be read as one ({error});"
            " download it again.",
            file=path.name,
            error=in_short(error),
        ) from error
    return table.fillna("")  # where a row ends early


def _place(table: pd.DataFrame) -> Station | None:
    """The station's place where all days state the same; stations were moved at times."""
    places = table[["LATITUDE", "LONGITUDE", "ELEVATION"]].drop_duplicates()
    numbers = places.apply(pd.to_numeric, errors="coerce")
    if len(numbers) != 1 or numbers.isna().any(axis=None):
        return None
    return station_of(*(float(number) for number in numbers.iloc[0]))


def _found(readings: pd.DataFrame, file: str, station: Station | None) -> Found:
    """Readings by day from one row for each reading, all text.

    Raises
    ------
    SiteError
        When there is more than one station, no minimum or no maximum, a value or date
        cannot be read, or a reading stands twice.
    """
    _check_one_station(readings, file)
    wanted = readings[readings["element"].isin(ELEMENTS)]
    values = _values(wanted, file)
    wanted = wanted.assign(date=_dates(wanted, file), value=values / 10.0)
    wanted = wanted[values != MISSING]
    for element in NEEDED:
        if not (wanted["element"] == element).any():
            raise site_error(
                "{file} has no {element} in it; choose a station that recorded both"
                " {elements}.",
                file=file,
                element=element,
                elements=listed(NEEDED),
            )
    _check_single(wanted, file)
    # A record is of temperatures: days of rain alone neither begin nor fill it.
    temperatures = wanted[wanted["element"].isin(NEEDED)]["date"]
    days = pd.date_range(temperatures.min(), temperatures.max(), name="date")
    absent = days.difference(pd.DatetimeIndex(temperatures))
    remarks = (*_flagged(wanted, file), *_absent(absent, len(days), file))
    kept = wanted[(wanted["quality"] == "") & (wanted["measured"] != PRESUMED)]
    table = kept.pivot_table(index="date", columns="element", values="value")
    table = table.reindex(days).rename(columns=ELEMENTS)
    for name in (ELEMENTS[element] for element in NEEDED):
        if name not in table:
            table[name] = np.nan  # every reading failed a check
    columns = [name for name in ELEMENTS.values() if name in table]
    return Found(table[columns].rename_axis(columns=None), remarks, station)


def _flagged(wanted: pd.DataFrame, file: str) -> list[Fact]:
    """The readings that failed a check of the archive, if any did."""
    flagged = wanted[wanted["quality"] != ""].sort_values("date")
    if flagged.empty:
        return []
    shown = [
        Fact("flagged_reading", element=row.element, date=row.date, quality=row.quality)
        for row in flagged.head(_SHOWN).itertuples()
    ]
    return [Fact("readings_flagged", file=file, count=len(flagged), shown=shown)]


def _absent(absent: pd.DatetimeIndex, days: int, file: str) -> list[Fact]:
    """The days that the archive leaves out, if there are any."""
    if absent.empty:
        return []
    shown = [f"{day:%Y-%m-%d}" for day in absent[:_SHOWN]]
    return [Fact("days_absent", file=file, count=len(absent), days=days, shown=shown)]


def _check_one_station(readings: pd.DataFrame, file: str) -> None:
    if readings.empty:
        raise site_error(
            "{file} has no {one} and no {other} in it; choose a station that"
            " recorded both.",
            file=file,
            one=NEEDED[0],
            other=NEEDED[1],
        )
    stations = sorted(readings["station"].unique())
    if len(stations) > 1:
        raise site_error(
            "{file} holds {count} stations, such as {one} and"
            " {other}; keep the lines of one.",
            file=file,
            count=len(stations),
            one=quoted(stations[0]),
            other=quoted(stations[1]),
        )


def _values(wanted: pd.DataFrame, file: str) -> pd.Series:
    whole = wanted["value"].str.fullmatch(r"\s*-?[0-9]{1,6}\s*")
    wrong = [
        problem(
            "{file}: line {line} has {element} {value}; GHCN-Daily"
            " holds whole numbers (tenths of °C); take the file as the archive has it.",
            file=file,
            line=row.line,
            element=row.element,
            value=quoted(row.value),
        )
        for row in wanted[~whole].itertuples()
    ]
    refuse_any(wrong, file, most=3)
    return wanted["value"].astype(int)


def _dates(wanted: pd.DataFrame, file: str) -> pd.Series:
    dates = pd.to_datetime(wanted["date"], format="%Y%m%d", errors="coerce")
    wrong = [
        problem(
            "{file}: line {line} has a reading of {date}, which is not a day (year,"
            " month, day); download it again.",
            file=file,
            line=row.line,
            date=quoted(row.date),
        )
        for row in wanted[dates.isna()].itertuples()
    ]
    refuse_any(wrong, file, most=3)
    return dates


def _check_single(wanted: pd.DataFrame, file: str) -> None:
    double = wanted[wanted.duplicated(["element", "date"])].sort_values("date")
    if double.empty:
        return
    shown: list[Problem | str] = []
    for row in double.head(_SHOWN).itertuples():
        reading = problem(
            "{element} of {date:%Y-%m-%d}", element=row.element, date=row.date
        )
        shown += [", ", reading] if shown else [reading]
    if len(double) > _SHOWN:
        shown.append(problem(" and {count} more", count=len(double) - _SHOWN))
    raise site_error(
        "{file}: readings that stand more than once, {count} in all:"
        " {shown}; keep one line for each.",
        file=file,
        count=len(double),
        shown=joined(*shown),
    )
