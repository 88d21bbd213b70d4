"""A daily weather record: what is believed of its readings, and what is left out."""

from collections.abc import Sequence

import numpy as np
import pandas as pd

from fieldmap.errors import site_error
from fieldmap.model.fact import Fact
from fieldmap.model.site import WeatherRecord
from fieldmap.read.door import SiteFile
from fieldmap.read.weather.csv import read_readings
from fieldmap.read.weather.form import Found, form_of
from fieldmap.read.weather.ghcn import read_days, read_fixed, read_lines
from fieldmap.read.weather.hourly import read_typical_days

# Lowest and highest that are believed. Records of the world, all from memory: -89.2 and
# 56.7 °C; a day's mean wind near 50 m/s; 1825 mm of rain in a day.
BELIEVED = {
    "tmin_c": (-90.0, 60.0),
    "tmax_c": (-90.0, 60.0),
    "wind_m_s": (0.0, 75.0),
    "precipitation_mm": (0.0, 2000.0),
}
PAIR = ["tmin_c", "tmax_c"]
WIDEST_DAY_C = 60.0  # the greatest range of a day is about 57 °C (from memory)
# Mean maximum of the warmest calendar month: 45-47 °C in the hottest places on earth
# (from memory), and over 5 °C wherever anything is grown.
HOTTEST_MONTH_C = 50.0
COLDEST_SUMMER_C = 5.0
# Stations err on single days; when most days are the wrong way round the columns are.
SWAPPED_SHARE = 0.5
PUBLISHED = {
    "fixed": read_fixed,
    "lines": read_lines,
    "days": read_days,
    "typical year": read_typical_days,
}


def read_weather(path: SiteFile) -> WeatherRecord:
    """Daily minima and maxima (wind and precipitation where told) in metric units.

    The file is a table of the grower's own (`weather.csv`), a station's file of
    GHCN-Daily or a typical year; which of them is seen from its first lines. An empty
    reading is missing and stays so. Readings that cannot be are left out and
    said: beyond the world's records, a minimum above the day's maximum, a day wider
    than 60 °C. Of a pair that cannot be together both are left out, since nothing says
    which is wrong.

    Raises
    ------
    SiteError
        When the header, a date or a number cannot be read, days are missing or double,
        or the unit cannot be the one that the header says.
    """
    form = form_of(path)
    found = _own(path) if form == "own" else PUBLISHED[form](path)
    days, left_out = _believed(found.readings, path.name)
    if days[PAIR].isna().all(axis=None):
        raise site_error(
            "{file} holds {count} days and not one usable temperature; fill in"
            " tmin and tmax.",
            file=path.name,
            count=len(days),
        )
    return WeatherRecord(
        days,
        tuple(left_out),
        remarks=found.remarks,
        station=found.station,
        typical=form == "typical year",
    )


def _own(path: SiteFile) -> Found:
    readings, header = read_readings(path)
    _check_sequence(pd.DatetimeIndex(readings.index), path.name)
    _check_units(readings, header, path.name)
    return Found(readings, (), None)


def _check_sequence(dates: pd.DatetimeIndex, file: str) -> None:
    double = dates[dates.duplicated()].unique()
    if len(double):
        raise site_error(
            "{file} has more than one line for {count} of its days, first for"
            " {first:%Y-%m-%d}; keep one line for each day.",
            file=file,
            count=len(double),
            first=double[0],
        )
    absent = pd.date_range(dates[0], dates[-1]).difference(dates)
    if absent.empty:
        return
    day = pd.Timedelta(days=1)
    starts = absent[~(absent - day).isin(absent)]
    ends = absent[~(absent + day).isin(absent)]
    gap = {
        "file": file,
        "length": (ends[0] - starts[0]).days + 1,
        "first": starts[0],
        "last": ends[0],
    }
    if len(starts) == 1:
        raise site_error(
            "{file} has a gap: {length} days from {first:%Y-%m-%d} to"
            " {last:%Y-%m-%d} are missing; write a line for each day, with empty"
            " readings where the station was down.",
            **gap,
        )
    raise site_error(
        "{file} has a gap: {length} days from {first:%Y-%m-%d} to"
        " {last:%Y-%m-%d} are missing; in all {days} days in {gaps} gaps; write a"
        " line for each day, with empty readings where the station was down.",
        **gap,
        days=len(absent),
        gaps=len(starts),
    )


def _check_units(readings: pd.DataFrame, header: Sequence[str], file: str) -> None:
    """Raise SiteError where the readings cannot be what the header says."""
    tmin_c, tmax_c = readings["tmin_c"], readings["tmax_c"]
    both = int((tmin_c.notna() & tmax_c.notna()).sum())
    wrong_way = int((tmin_c > tmax_c).sum())
    if wrong_way > SWAPPED_SHARE * both:
        raise site_error(
            "{file}: tmin is above tmax on {wrong_way} of {both} days; the two columns"
            " look swapped: exchange their names in the header.",
            file=file,
            wrong_way=wrong_way,
            both=both,
        )
    months = pd.DatetimeIndex(readings.index).month
    warmest_c = float(tmax_c.groupby(months).mean().max())
    if "tmax_c" in header and warmest_c > HOTTEST_MONTH_C:
        raise site_error(
            "{file}: the warmest month's mean tmax_c is {warmest_c:.0f}, hotter than"
            " anywhere on earth; it looks like °F: rename the columns to tmin_f and"
            " tmax_f.",
            file=file,
            warmest_c=warmest_c,
        )
    if "tmax_f" in header and warmest_c < COLDEST_SUMMER_C:
        raise site_error(
            "{file}: the warmest month's mean tmax_f is {warmest_f:.0f}, too"
            " cold for anything to grow; it looks like °C: rename the columns to tmin_c"
            " and tmax_c.",
            file=file,
            warmest_f=warmest_c * 1.8 + 32,
        )


def _believed(readings: pd.DataFrame, file: str) -> tuple[pd.DataFrame, list[Fact]]:
    """Readings without the impossible ones, and each of those."""
    days = readings.copy()
    left_out: list[Fact] = []

    def leave_out(wrong: pd.Series, columns: list[str], why: Fact) -> None:
        for date, day in days.loc[wrong, columns].iterrows():
            read = {name: float(day[name]) for name in columns}
            fact = Fact(
                "reading_left_out", file=file, date=date, readings=read, why=why
            )
            left_out.append(fact)
        days.loc[wrong, columns] = np.nan

    for name, (lowest, highest) in BELIEVED.items():
        if name in days:
            beyond = (days[name] < lowest) | (days[name] > highest)
            why = Fact("beyond_belief", column=name, lowest=lowest, highest=highest)
            leave_out(beyond, [name], why)
    range_c = days["tmax_c"] - days["tmin_c"]
    leave_out(range_c < 0, PAIR, Fact("minimum_above_maximum"))
    leave_out(range_c > WIDEST_DAY_C, PAIR, Fact("day_too_wide", most=WIDEST_DAY_C))
    return days, left_out
