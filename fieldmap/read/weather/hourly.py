"""A typical year of hours to days.

A typical year is made up: each of its months is that of another year. It tells how warm
the months are, and nothing of how often it freezes late.
"""

import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

import numpy as np
import pandas as pd

from fieldmap.errors import FieldmapError, Problem, SiteError, problem, site_error
from fieldmap.model.fact import Fact
from fieldmap.read.csv_table import check_fields
from fieldmap.read.door import SiteFile, too_large
from fieldmap.read.weather.form import BEGINNING, Found, station_of
from fieldmap.read.wording import in_short

# The calendar that its days are set on; any year without a leap day would do.
YEAR = 2001
HOURS = 8760
HOURS_A_DAY = 24
MOST_BYTES = 2_400_000  # a year of hours has under 2 MB in every form
# What stands for a missing reading in TM2, TMY3 and EPW is beyond these: 999.9, -9900
# and 99.9 °C, 999 and -9900 m/s.
TEMPERATURE_C = (-90.0, 60.0)
WIND_M_S = (0.0, 75.0)


def read_typical_days(path: SiteFile) -> Found:
    """Daily minimum and maximum of the hours, and mean wind, from TMY3, TM2 or EPW.

    A day that lacks an hour has no reading.

    Raises
    ------
    SiteError
        When it cannot be read or is no whole year.
    """
    hours, (latitude, longitude, elevation_m) = _hours(path)
    days = pd.to_datetime(
        {"year": YEAR, "month": hours["month"], "day": hours["day"]}, errors="coerce"
    )
    if len(hours) != HOURS or not (days.value_counts() == HOURS_A_DAY).all():
        raise site_error(
            "{file} has {count} hours on {days} days; a typical year has"
            " {hours}, {hours_a_day} on each of 365 days.",
            file=path.name,
            count=len(hours),
            days=days.nunique(),
            hours=HOURS,
            hours_a_day=HOURS_A_DAY,
        )
    temperature_c = hours["temperature_c"].where(
        hours["temperature_c"].between(*TEMPERATURE_C)
    )
    wind_m_s = hours["wind_m_s"].where(hours["wind_m_s"].between(*WIND_M_S))
    readings = pd.DataFrame(
        {
            "tmin_c": _of_whole_days(temperature_c, days, "min"),
            "tmax_c": _of_whole_days(temperature_c, days, "max"),
            "wind_m_s": _of_whole_days(wind_m_s, days, "mean"),
        }
    ).rename_axis("date")
    missing = int(temperature_c.isna().sum())
    remarks = [Fact("typical_year", file=path.name, year=YEAR)]
    if missing:
        remarks.append(Fact("hours_missing", file=path.name, missing=missing))
    station = station_of(latitude, longitude, elevation_m)
    return Found(readings, tuple(remarks), station)


def _of_whole_days(hours: pd.Series, days: pd.Series, what: str) -> pd.Series:
    by_day = hours.groupby(days)
    return by_day.agg(what).where(by_day.count() == HOURS_A_DAY)


def _hours(path: SiteFile) -> tuple[pd.DataFrame, tuple[float, float, float]]:
    """Temperature, wind, month and day of each hour, and the place."""
    import pvlib  # takes long to load, and few sites have such a file

    beginning = path.beginning(BEGINNING).decode("latin-1")
    names, scale = ("temp_air", "wind_speed"), 1.0
    with typical_year_of(path):
        if beginning.startswith("LOCATION,"):
            hours, about = pvlib.iotools.read_epw(path.path)
        elif "Date (MM/DD/YYYY)" in beginning:
            hours, about = pvlib.iotools.read_tmy3(
                path.path, coerce_year=YEAR, map_variables=True
            )
            # Its hours are named by their end, 24:00 being the next day's start.
            hours.index = hours.index - pd.Timedelta(minutes=30)
        else:
            hours, about = pvlib.iotools.read_tmy2(path.path)
            names, scale = ("DryBulb", "Wspd"), 0.1
        temperature, wind = (hours[name].to_numpy(float) * scale for name in names)
        table = pd.DataFrame(
            {
                "temperature_c": temperature,
                "wind_m_s": wind,
                "month": np.asarray(hours.index.month),
                "day": np.asarray(hours.index.day),
            }
        )
        where = place_of(about)
    return table, where


def air_of(hours: pd.DataFrame) -> pd.Series:
    """Temperature of each hour, in whichever form pvlib gives it; NaN where missing."""
    if "DryBulb" in hours:
        air_c = hours["DryBulb"].astype(float) * 0.1
    elif "temp_air" in hours:
        air_c = hours["temp_air"].astype(float)
    else:
        air_c = pd.Series(np.nan, index=hours.index)
    return air_c.where(air_c.between(*TEMPERATURE_C))


def place_of(about: Mapping[str, Any]) -> tuple[float, float, float]:
    """Latitude, longitude and height [m] of a typical year."""
    latitude, longitude, height_m = (
        float(about[name]) for name in ("latitude", "longitude", "altitude")
    )
    return latitude, longitude, height_m


@contextmanager
def typical_year_of(file: SiteFile) -> Iterator[None]:
    """While a typical year is read: pvlib's readers fail in many ways, which are one."""
    with file.reading():
        size = file.path.stat().st_size
    if size > MOST_BYTES:
        raise SiteError(too_large(file.name, size, MOST_BYTES))
    check_fields(file.text("latin-1"), file.name)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of the readers about their own future
            yield
    except FieldmapError:
        raise
    except Exception as error:
        raise SiteError(no_typical_year(file.name, error)) from error


def no_typical_year(file: str, error: Exception) -> Problem:
    """What to say of a file that the readers of typical years cannot read."""
    return problem(
        "{file} cannot be read as a typical year ({kind}: {error});"
        " save it again from its source.",
        file=file,
        kind=type(error).__name__,
        error=in_short(error),
    )
