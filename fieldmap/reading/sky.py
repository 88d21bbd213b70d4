"""What is known of the sky: a measured skyline, and an hourly year with its cloud."""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import pvlib

from fieldmap.errors import SiteError
from fieldmap.reading.sentences import quoted
from fieldmap.site import MeasuredSkyline, TypicalYear

if TYPE_CHECKING:
    from pathlib import Path

SKYLINE_COLUMNS = ("azimuth_deg", "elevation_deg")
FEWEST_DIRECTIONS = 4
HOURS_A_YEAR = (8760, 8784)
LIGHT = ("ghi", "dni", "dhi")
# A reading stands for an hour: pvlib labels it by its end in TMY3, by its start in TM2
# and EPW. From there to its middle:
TO_THE_MIDDLE = {
    ".csv": pd.Timedelta(minutes=-30),
    ".tm2": pd.Timedelta(minutes=30),
    ".epw": pd.Timedelta(minutes=30),
}
COMMON_YEAR = 2001  # a typical year has no leap day


def read_skyline(path: Path, file: str) -> MeasuredSkyline:
    """A table of azimuths, clockwise from true north, and elevation angles.

    Raises
    ------
    SiteError
        When a column is missing, a value is no number or impossible, an azimuth stands
        twice, or there are under four directions.
    """
    try:
        table = pd.read_csv(path)
    except (ValueError, pd.errors.ParserError) as error:
        raise SiteError(f"{file} is not a table of {_columns()}: {error}.") from error
    if tuple(table.columns) != SKYLINE_COLUMNS:
        raise SiteError(
            f"{file} begins with {quoted(','.join(map(str, table.columns)))}; its first"
            f" line must be {_columns()}."
        )
    numbers = table.apply(pd.to_numeric, errors="coerce")
    azimuth, elevation = (numbers[name].to_numpy(float) for name in SKYLINE_COLUMNS)
    for name, most in zip(SKYLINE_COLUMNS, (360, 90), strict=True):
        right = (numbers[name] >= 0) & (numbers[name] < most)
        if not right.all():
            line = int(np.argmin(right))
            raise SiteError(
                f"{file}, line {line + 2}: {name} {quoted(table[name].iloc[line])} must"
                f" be a number of degrees from 0 to under {most}."
            )
    if len(np.unique(azimuth)) < max(len(azimuth), FEWEST_DIRECTIONS):
        raise SiteError(
            f"{file} has {len(np.unique(azimuth))} different azimuths on {len(azimuth)}"
            f" lines; give each direction once, and at least {FEWEST_DIRECTIONS}."
        )
    order = np.argsort(azimuth)
    return MeasuredSkyline(azimuth[order], elevation[order])


def _columns() -> str:
    return quoted(",".join(SKYLINE_COLUMNS))


def read_typical_year(path: Path, file: str) -> TypicalYear:
    """An hourly year from a TMY3 (.csv), TM2 (.tm2) or EPW (.epw) file.

    Raises
    ------
    SiteError
        When its kind is unknown, it cannot be read, it is no whole year, or light is
        missing or negative.
    """
    readers = {
        ".csv": lambda: pvlib.iotools.read_tmy3(
            path, map_variables=True, coerce_year=COMMON_YEAR
        ),
        ".tm2": lambda: pvlib.iotools.read_tmy2(path),
        ".epw": lambda: pvlib.iotools.read_epw(path),
    }
    reader = readers.get(path.suffix.lower())
    if reader is None:
        raise SiteError(
            f"{file} ends in {quoted(path.suffix)}; a typical year is a TMY3 (.csv), TM2"
            " (.tm2) or EPW (.epw) file."
        )
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of pvlib's readers about their own future
            hours, about = reader()
    except Exception as error:  # pvlib's readers fail in many ways
        raise SiteError(
            f"{file} cannot be read as a typical year ({type(error).__name__}: {error});"
            " save it again from its source."
        ) from error
    ending = path.suffix.lower()
    return _checked_year(hours, about, TO_THE_MIDDLE[ending], file)


def _checked_year(
    hours: pd.DataFrame, about: dict[str, Any], to_the_middle: pd.Timedelta, file: str
) -> TypicalYear:
    light = hours.rename(columns={name.upper(): name for name in LIGHT})
    absent = [name for name in LIGHT if name not in light]
    if absent:
        raise SiteError(f"{file} has no column for {', '.join(absent)}.")
    light = light[list(LIGHT)].astype(float)
    if len(light) not in HOURS_A_YEAR:
        raise SiteError(f"{file} has {len(light)} hours; a year has {HOURS_A_YEAR[0]}.")
    bad = ~(light >= 0).all(axis=1)
    if bad.any():
        raise SiteError(
            f"{file}: light is missing or negative in {int(bad.sum())} hours, first on"
            f" line {int(np.argmax(bad)) + 1} of its hours."
        )
    light.index = pd.DatetimeIndex(light.index) + to_the_middle
    return TypicalYear(
        light,
        float(about["latitude"]),
        float(about["longitude"]),
        float(about["altitude"]),
    )
