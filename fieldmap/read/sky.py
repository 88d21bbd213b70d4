"""What is known of the sky: a measured skyline, and an hourly year with its cloud."""

from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from fieldmap.errors import site_error
from fieldmap.model.fact import Fact
from fieldmap.model.site import MeasuredSkyline, TypicalYear
from fieldmap.read.csv_table import AS_IT_IS, CsvTable, number_of, read_csv
from fieldmap.read.door import SiteFile
from fieldmap.read.place import distance_km
from fieldmap.read.weather.hourly import air_of, place_of, typical_year_of
from fieldmap.read.weather.stations import FARTHEST_STATION_KM
from fieldmap.read.wording import quoted

SKYLINE_COLUMNS = ("azimuth_deg", "elevation_deg")
FEWEST_DIRECTIONS = 4
HOURS_A_YEAR = (8760, 8784)
LIGHT = ("ghi", "dni", "dhi")
COMMON_YEAR = 2001  # a typical year has no leap day
# A reading stands for an hour: pvlib labels it by its end in TMY3, by its start in TM2
# and EPW. With each reader, what leads from there to the hour's middle:
HALF_AN_HOUR = pd.Timedelta(minutes=30)
READERS: dict[str, tuple[str, dict[str, Any], pd.Timedelta]] = {
    ".csv": (
        "read_tmy3",
        {"map_variables": True, "coerce_year": COMMON_YEAR},
        -HALF_AN_HOUR,
    ),
    ".tm2": ("read_tmy2", {}, HALF_AN_HOUR),
    ".epw": ("read_epw", {}, HALF_AN_HOUR),
}


def read_skyline(path: SiteFile) -> MeasuredSkyline:
    """A table of azimuths, clockwise from true north, and elevation angles.

    Raises
    ------
    SiteError
        When a column is missing, a value is no number or impossible, an azimuth stands
        twice, or there are under four directions.
    """
    table = read_csv(path)
    columns = quoted(",".join(SKYLINE_COLUMNS))
    if not table.given:
        raise path.site_error(
            "{file} is not a table of {columns}: {error}.",
            columns=columns,
            error="empty",
        )
    if table.given != SKYLINE_COLUMNS:
        raise path.site_error(
            "{file} begins with {header}; its first line must be {columns}.",
            columns=columns,
            header=quoted(",".join(table.given)),
        )
    table.check_lengths()
    azimuth, elevation = (
        _angles_deg(table, name, most)
        for name, most in zip(SKYLINE_COLUMNS, (360, 90), strict=True)
    )
    directions = len(np.unique(azimuth))
    if directions < max(len(azimuth), FEWEST_DIRECTIONS):
        raise path.site_error(
            "{file} has {directions} different azimuths on {lines}"
            " lines; give each direction once, and at least {least}.",
            directions=directions,
            lines=len(azimuth),
            least=FEWEST_DIRECTIONS,
        )
    order = np.argsort(azimuth)
    return MeasuredSkyline(azimuth[order], elevation[order])


def _angles_deg(table: CsvTable, name: str, most: float) -> npt.NDArray[np.float64]:
    """A column of angles from 0 to under a limit."""
    texts = table.column(name)
    angles = [number_of(text, AS_IT_IS) for text in texts]
    for line, text, angle in zip(table.lines, texts, angles, strict=True):
        if not 0 <= angle < most:
            raise site_error(
                "{file}, line {line}: {name} {value} must"
                " be a number of degrees from 0 to under {most}.",
                file=table.file,
                line=line,
                name=name,
                value=f"{angle:g}" if np.isfinite(angle) else quoted(text),
                most=most,
            )
    return np.array(angles)


def read_typical_year(path: SiteFile) -> TypicalYear:
    """An hourly year from a TMY3 (.csv), TM2 (.tm2) or EPW (.epw) file.

    Raises
    ------
    SiteError
        When its kind is unknown, it cannot be read, it is no whole year, or light is
        missing or negative.
    """
    if path.ending not in READERS:
        raise path.site_error(
            "{file} ends in {suffix}; a typical year is a TMY3 (.csv), TM2"
            " (.tm2) or EPW (.epw) file.",
            suffix=quoted(path.path.suffix),
        )
    import pvlib  # takes long to load, and few sites have such a file

    reader, choices, to_the_middle = READERS[path.ending]
    with typical_year_of(path):
        hours, about = getattr(pvlib.iotools, reader)(path.path, **choices)
        return _checked_year(hours, about, to_the_middle, path)


def _checked_year(
    hours: pd.DataFrame,
    about: dict[str, Any],
    to_the_middle: pd.Timedelta,
    file: SiteFile,
) -> TypicalYear:
    air_c = air_of(hours)
    light = hours.rename(columns={name.upper(): name for name in LIGHT})
    absent = ", ".join(name for name in LIGHT if name not in light)
    if absent:
        raise file.site_error("{file} has no column for {absent}.", absent=absent)
    light = light[list(LIGHT)].astype(float)
    if len(light) not in HOURS_A_YEAR:
        raise file.site_error(
            "{file} has {count} hours; a year has {hours}.",
            count=len(light),
            hours=HOURS_A_YEAR[0],
        )
    bad = ~(light >= 0).all(axis=1)
    if bad.any():
        raise file.site_error(
            "{file}: in {count} hours the light is missing or negative, first in hour"
            " {line}.",
            count=int(bad.sum()),
            line=int(np.argmax(bad)) + 1,
        )
    light.index = pd.DatetimeIndex(light.index) + to_the_middle
    latitude, longitude, height_m = place_of(about)
    if not (abs(latitude) <= 90 and abs(longitude) <= 180 and abs(height_m) < 1e4):
        raise file.site_error(
            "{file} says that its station is at latitude {latitude:g}, longitude"
            " {longitude:g}, {height_m:g} m, which is not a place on earth; download it"
            " again from its source.",
            latitude=latitude,
            longitude=longitude,
            height_m=height_m,
        )
    air_c.index = light.index
    return TypicalYear(light, air_c, latitude, longitude, height_m)


def remarks(
    typical: TypicalYear | None, file: str, longitude: float, latitude: float
) -> tuple[Fact, ...]:
    """A remark on a typical year that was kept far from a place.

    Parameters
    ----------
    typical
        The hourly year; None where the site has none, and then there is no remark.
    file
        Its name in the site folder.
    longitude, latitude
        Of the plots' middle [degrees].
    """
    if typical is None:
        return ()
    away_km = distance_km(longitude, latitude, typical.longitude, typical.latitude)
    if away_km <= FARTHEST_STATION_KM:
        return ()
    return (Fact("typical_year_far_off", file=file, away_km=away_km),)
