"""Readings that cannot be in the unit of their column: which unit they look like."""

from collections.abc import Mapping, Sequence
from typing import Literal

import numpy as np
import numpy.typing as npt
import pandas as pd

from fieldmap.errors import Problem, problem, site_error

# Lowest and highest that are believed. Records of the world, all from memory: -89.2 and
# 56.7 °C; a day's mean wind near 50 m/s; 1825 mm of rain in a day.
BELIEVED = {
    "tmin_c": (-90.0, 60.0),
    "tmax_c": (-90.0, 60.0),
    "wind_m_s": (0.0, 75.0),
    "precipitation_mm": (0.0, 2000.0),
}
WIDEST_DAY_C = 60.0  # the greatest range of a day is about 57 °C (from memory)
# Mean maximum of the warmest calendar month: 45-47 °C in the hottest places on earth
# (from memory), and over 5 °C wherever anything is grown.
HOTTEST_MONTH_C = 50.0
COLDEST_SUMMER_C = 5.0
# Stations err on single days; from this share of all days on it is the file (a choice).
MOST_UNBELIEVABLE = 0.25
# When most days are the wrong way round the columns are.
SWAPPED_SHARE = 0.5

Guess = Literal["swapped", "kelvin", "tenths", "fahrenheit", "celsius"]
Unit = Literal["c", "f"]
Values = npt.NDArray[np.float64]
KELVIN = 200.0, 335.0  # of all places on earth
# The middle range of a day: 5 to 20 °C in nearly all records, so 9 to 36 °F, and 50 to 200
# tenths (common figures, no source).
MOST_DAY_OF_DEGREES = 40.0
ENDS = 2, 98  # percentiles: single wild readings tell nothing
_SAYS: Mapping[Guess, Problem] = {
    "swapped": problem(
        "the two columns look swapped: exchange their names in the header"
    ),
    "kelvin": problem("they look like kelvins: take 273.15 off each"),
    "tenths": problem("they look like tenths of a degree: divide each by ten"),
    "fahrenheit": problem("they look like °F: rename the columns to tmin_f and tmax_f"),
    "celsius": problem("they look like °C: rename the columns to tmin_c and tmax_c"),
}


def check_units(readings: pd.DataFrame, header: Sequence[str], file: str) -> None:
    """Raise SiteError where the readings cannot be what the header says.

    Parameters
    ----------
    readings
        By date, in metric units as the header has it.
    header
        Columns of the file.
    file
        Its name, for the message.
    """
    unit: Unit = "f" if "tmin_f" in header else "c"
    shows = (_turned(readings), _beyond(readings, unit), _of_the_year(readings, unit))
    wrong = next((each for each in shows if each is not None), None)
    if wrong is None:
        return
    guess = _looks_like(_as_written(readings, unit), unit)
    what = problem(
        "write °C in tmin_c and tmax_c or °F in tmin_f and tmax_f, and nothing where there"
        " is no reading"
    )
    said = what if guess is None else _SAYS[guess]
    raise site_error("{file}: {wrong}; {said}.", file=file, wrong=wrong, said=said)


def check_believed(unbelievable: pd.Series, days: pd.Series, file: str) -> None:
    """Raise SiteError where a quarter of a column's readings cannot be.

    Parameters
    ----------
    unbelievable
        By date, whether the reading of that day cannot be.
    days
        The readings; NaN is missing.
    file
        Its name, for the message.
    """
    count, read = int(unbelievable.sum()), int(days.notna().sum())
    if count > MOST_UNBELIEVABLE * read:
        first = unbelievable.idxmax()
        raise site_error(
            "{file}: {count} of {read} readings of {column} are impossible, the first"
            " of {first:%Y-%m-%d}: {value:g}; check the unit, and leave it empty where"
            " there is no reading.",
            file=file,
            count=count,
            read=read,
            column=days.name,
            first=first,
            value=float(days[first]),
        )


def _as_written(readings: pd.DataFrame, unit: Unit) -> pd.DataFrame:
    """Minima and maxima in the unit of their column."""
    pair = readings[["tmin_c", "tmax_c"]]
    return pair * 1.8 + 32 if unit == "f" else pair


def _turned(readings: pd.DataFrame) -> Problem | None:
    """Whether minima lie above maxima on a quarter of the days."""
    low, high = readings["tmin_c"].to_numpy(), readings["tmax_c"].to_numpy()
    both = int((~np.isnan(low) & ~np.isnan(high)).sum())
    wrong_way = int((low > high).sum())
    if wrong_way <= MOST_UNBELIEVABLE * both:
        return None
    return problem(
        "tmin is above tmax on {wrong_way} of {both} days",
        wrong_way=wrong_way,
        both=both,
    )


def _beyond(readings: pd.DataFrame, unit: Unit) -> Problem | None:
    """Whether a quarter of the days have temperatures that no place has."""
    low, high = readings["tmin_c"].to_numpy(), readings["tmax_c"].to_numpy()
    least, most = BELIEVED["tmin_c"]
    beyond = (low < least) | (low > most) | (high < least) | (high > most)
    beyond |= high - low > WIDEST_DAY_C
    count, read = int(beyond.sum()), int((~np.isnan(low) | ~np.isnan(high)).sum())
    if count <= MOST_UNBELIEVABLE * read:
        return None
    row = int(beyond.argmax())
    written = _as_written(readings, unit).iloc[row]
    return problem(
        "{count} of {read} days have impossible temperatures, the first on"
        " {first:%Y-%m-%d} (tmin_{unit} {low:g}, tmax_{unit} {high:g})",
        count=count,
        read=read,
        first=readings.index[row],
        unit=unit,
        low=float(written["tmin_c"]),
        high=float(written["tmax_c"]),
    )


def _of_the_year(readings: pd.DataFrame, unit: Unit) -> Problem | None:
    """Whether the warmest month is hotter, or colder, than it can be."""
    months = pd.DatetimeIndex(readings.index).month
    warmest_c = float(readings["tmax_c"].groupby(months).mean().max())
    if unit == "c" and warmest_c > HOTTEST_MONTH_C:
        return problem(
            "the warmest month's mean tmax_c is {warmest_c:.0f}, hotter than anywhere on"
            " earth",
            warmest_c=warmest_c,
        )
    if unit == "f" and warmest_c < COLDEST_SUMMER_C:
        return problem(
            "the warmest month's mean tmax_f is {warmest_f:.0f}, too cold for anything to"
            " grow",
            warmest_f=warmest_c * 1.8 + 32,
        )
    return None


def _looks_like(written: pd.DataFrame, unit: Unit) -> Guess | None:
    """Which mistake makes the readings as written what they are; None for none known."""
    low, high = (written[name].to_numpy(np.float64) for name in ("tmin_c", "tmax_c"))
    both = ~np.isnan(low) & ~np.isnan(high)
    if (low[both] > high[both]).sum() > SWAPPED_SHARE * max(both.sum(), 1):
        return "swapped"
    every = np.concatenate([low, high])
    every = every[~np.isnan(every)]
    day = float(np.median((high - low)[both])) if both.any() else np.nan
    if _is_kelvin(every, day):
        return "kelvin"
    if _is_tenths(every, day):
        return "tenths"
    least, most = np.percentile(every, ENDS)
    if unit == "f":
        return "celsius" if most < HOTTEST_MONTH_C else None
    is_fahrenheit = least > -90 and most < 130 and not day > MOST_DAY_OF_DEGREES
    return "fahrenheit" if is_fahrenheit else None


def _is_kelvin(every: Values, day: float) -> bool:
    least, most = np.percentile(every, ENDS)
    return bool(
        KELVIN[0] < least and most < KELVIN[1] and not day > MOST_DAY_OF_DEGREES
    )


def _is_tenths(every: Values, day: float) -> bool:
    """Whole numbers, days too wide for degrees, and a tenth of all can be."""
    least, most = np.percentile(every, ENDS)
    is_whole = float(np.mean(every == np.round(every))) > 1 - MOST_UNBELIEVABLE
    can_be = least > -900 and most < 1300
    return bool(is_whole and can_be and not day < MOST_DAY_OF_DEGREES)
