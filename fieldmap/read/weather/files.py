"""A daily weather record: what is believed of its readings, and what is left out."""

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
from fieldmap.read.weather.units import (
    BELIEVED,
    WIDEST_DAY_C,
    check_believed,
    check_units,
)

PAIR = ["tmin_c", "tmax_c"]
SHOWN = 10  # of the readings that are left out for one reason
SHOWN_DAYS = 3
PUBLISHED = {
    "fixed": read_fixed,
    "lines": read_lines,
    "days": read_days,
    "typical year": read_typical_days,
}


def read_weather(path: SiteFile) -> WeatherRecord:
    """Daily minima and maxima (wind and precipitation where given) in metric units.

    The file is a table of the grower's own (`weather.csv`), a station's file of
    GHCN-Daily or a typical year; which of them is seen from its first lines. An empty
    reading is missing and stays so; a day without a line is a day without readings, and
    is reported. Readings that cannot be are left out and
    said: beyond the world's records, a minimum above the day's maximum, a day wider
    than 60 °C. Of a pair that cannot be together both are left out, since nothing says
    which is wrong.

    Raises
    ------
    SiteError
        When the header, a date or a number cannot be read, days are double, most days
        are missing, a quarter of the readings cannot be, or the unit cannot be the one
        that the header says.
    """
    form = form_of(path)
    found = _own(path) if form == "own" else PUBLISHED[form](path)
    days, left_out = _believed(found.readings, path.name)
    if days[PAIR].isna().all(axis=None):
        raise site_error(
            "{file} holds {count} days but no temperature that can be used; fill in"
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
    readings, remarks = _every_day(readings, path.name)
    check_units(readings, header, path.name)
    if readings["tmax_c"].isna().all():
        remarks = (*remarks, Fact("minima_alone", file=path.name))
    return Found(readings, remarks, None)


def _every_day(
    readings: pd.DataFrame, file: str
) -> tuple[pd.DataFrame, tuple[Fact, ...]]:
    """Readings with a row for each day, and the days that had none.

    Raises
    ------
    SiteError
        When a day stands twice, or most days are missing: then a date is a slip.
    """
    dates = pd.DatetimeIndex(readings.index)
    double = dates[dates.duplicated()].unique()
    if len(double):
        raise site_error(
            "{file} has more than one line for {count} of its days, first for"
            " {first:%Y-%m-%d}; keep one line for each day.",
            file=file,
            count=len(double),
            first=double[0],
        )
    every = pd.date_range(dates[0], dates[-1], name="date")
    absent = every.difference(dates)
    if len(absent) > len(dates):
        raise site_error(
            "{file} has {count} days, and {absent} are missing between {first:%Y-%m-%d}"
            " and {last:%Y-%m-%d}; look at its first and last dates, or keep the years"
            " that are whole.",
            file=file,
            count=len(dates),
            absent=len(absent),
            first=dates[0],
            last=dates[-1],
        )
    if absent.empty:
        return readings, ()
    shown = [f"{day:%Y-%m-%d}" for day in absent[:SHOWN_DAYS]]
    fact = Fact(
        "days_absent", file=file, count=len(absent), days=len(every), shown=shown
    )
    return readings.reindex(every), (fact,)


def _believed(readings: pd.DataFrame, file: str) -> tuple[pd.DataFrame, list[Fact]]:
    """Readings without the impossible ones, and each of those."""
    days = readings.copy()
    left_out: list[Fact] = []

    def leave_out(wrong: pd.Series, columns: list[str], why: Fact) -> None:
        if not wrong.any():
            return
        check_believed(wrong, days[columns[0]], file)
        for date, day in days.loc[wrong, columns].head(SHOWN).iterrows():
            read = {name: float(day[name]) for name in columns}
            fact = Fact(
                "reading_left_out", file=file, date=date, readings=read, why=why
            )
            left_out.append(fact)
        more = int(wrong.sum()) - SHOWN
        if more > 0:
            left_out.append(Fact("more_left_out", file=file, number=more, why=why))
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
