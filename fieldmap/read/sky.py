"""What is known of the sky: a measured skyline, and an hourly year with its cloud."""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import pvlib

from fieldmap.errors import SiteError
from fieldmap.model.site import MeasuredSkyline, TypicalYear
from fieldmap.read.wording import quoted
from fieldmap.show.text.language import _

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
        raise SiteError(
            _("{file} is not a table of {columns}: {error}.").format(
                file=file, columns=_columns(), error=error
            )
        ) from error
    if tuple(table.columns) != SKYLINE_COLUMNS:
        raise SiteError(
            _("{file} begins with {header}; its first line must be {columns}.").format(
                file=file,
                header=quoted(",".join(map(str, table.columns))),
                columns=_columns(),
            )
        )
    numbers = table.apply(pd.to_numeric, errors="coerce")
    azimuth, elevation = (numbers[name].to_numpy(float) for name in SKYLINE_COLUMNS)
    for name, most in zip(SKYLINE_COLUMNS, (360, 90), strict=True):
        right = (numbers[name] >= 0) & (numbers[name] < most)
        if not right.all():
            line = int(np.argmin(right))
            raise SiteError(
                _(
                    "{file}, line {line}: {name} {value} must"
                    " be a number of degrees from 0 to under {most}."
                ).format(
                    file=file,
                    line=line + 2,
                    name=name,
                    value=quoted(table[name].iloc[line]),
                    most=most,
                )
            )
    if len(np.unique(azimuth)) < max(len(azimuth), FEWEST_DIRECTIONS):
        raise SiteError(
            _(
                "{file} has {directions} different azimuths on {lines}"
                " lines; give each direction once, and at least {least}."
            ).format(
                file=file,
                directions=len(np.unique(azimuth)),
                lines=len(azimuth),
                least=FEWEST_DIRECTIONS,
            )
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
            _(
                "{file} ends in {suffix}; a typical year is a TMY3 (.csv), TM2"
                " (.tm2) or EPW (.epw) file."
            ).format(file=file, suffix=quoted(path.suffix))
        )
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of pvlib's readers about their own future
            hours, about = reader()
    except Exception as error:  # pvlib's readers fail in many ways
        raise SiteError(
            _(
                "{file} cannot be read as a typical year ({kind}: {error});"
                " save it again from its source."
            ).format(file=file, kind=type(error).__name__, error=error)
        ) from error
    ending = path.suffix.lower()
    return _checked_year(hours, about, TO_THE_MIDDLE[ending], file)


def _checked_year(
    hours: pd.DataFrame, about: dict[str, Any], to_the_middle: pd.Timedelta, file: str
) -> TypicalYear:
    light = hours.rename(columns={name.upper(): name for name in LIGHT})
    absent = [name for name in LIGHT if name not in light]
    if absent:
        raise SiteError(
            _("{file} has no column for {absent}.").format(
                file=file, absent=", ".join(absent)
            )
        )
    light = light[list(LIGHT)].astype(float)
    if len(light) not in HOURS_A_YEAR:
        raise SiteError(
            _("{file} has {count} hours; a year has {hours}.").format(
                file=file, count=len(light), hours=HOURS_A_YEAR[0]
            )
        )
    bad = ~(light >= 0).all(axis=1)
    if bad.any():
        raise SiteError(
            _(
                "{file}: light is missing or negative in {count} hours, first on"
                " line {line} of its hours."
            ).format(file=file, count=int(bad.sum()), line=int(np.argmax(bad)) + 1)
        )
    light.index = pd.DatetimeIndex(light.index) + to_the_middle
    return TypicalYear(
        light,
        float(about["latitude"]),
        float(about["longitude"]),
        float(about["altitude"]),
    )
