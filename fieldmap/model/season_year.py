"""The year of growing: from January in the north, from July in the south.

Days are numbered from 1 to 365. A number stands for the same day of the calendar in every
year: 29 February shares the number of 28 February, as in `layers.freeze`.
"""

import math
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np
import numpy.typing as npt

DAYS = 365
WEEKS = 53
NORTH_BEGINS, SOUTH_BEGINS = 1, 7
COMMON_YEAR = 2001


@dataclass(frozen=True)
class SeasonYear:
    """Month and day arithmetic of one hemisphere.

    Months are numbered from 1. What has "index" in its name counts from 0, January
    first, as tables of twelve months do.

    Examples
    --------
    >>> north, south = SeasonYear(southern=False), SeasonYear(southern=True)
    >>> north.day_of(3, 1), south.day_of(3, 1), south.day_of(7, 1)
    (60, 244, 1)
    >>> north.month_day(60), south.month_day(244)
    ((3, 1), (3, 1))
    """

    southern: bool

    @property
    def first_month(self) -> int:
        """1 in the north, 7 in the south."""
        return SOUTH_BEGINS if self.southern else NORTH_BEGINS

    @property
    def months(self) -> tuple[int, ...]:
        """All months in the order of the season-year."""
        return tuple(self.local_month(month) for month in range(1, 13))

    def local_month(self, northern_month: int) -> int:
        """The month that is to this hemisphere what one is to the north.

        Examples
        --------
        >>> SeasonYear(southern=True).local_month(3)
        9
        """
        return (northern_month + 5) % 12 + 1 if self.southern else northern_month

    def month_index(self, northern_month: int) -> int:
        """Place of such a month in a table from January on.

        Examples
        --------
        >>> (
        ...     SeasonYear(southern=False).month_index(7),
        ...     SeasonYear(southern=True).month_index(7),
        ... )
        (6, 0)
        """
        return self.local_month(northern_month) - 1

    def from_january(self, daily: npt.NDArray[Any]) -> npt.NDArray[Any]:
        """365 days of the calendar on the last axis, put in the order of the season-year.

        Examples
        --------
        >>> int(SeasonYear(southern=True).from_january(np.arange(1, 366))[0])
        182
        """
        before = (date(COMMON_YEAR, self.first_month, 1) - date(COMMON_YEAR, 1, 1)).days
        return np.roll(daily, -before, axis=-1)

    def day_of(self, month: int, day: int = 1) -> int:
        """Number of a day of the calendar; 29 February is taken as the 28th."""
        day = 28 if (month, day) == (2, 29) else day
        begins = date(COMMON_YEAR, self.first_month, 1)
        year = COMMON_YEAR + (self.southern and month < SOUTH_BEGINS)
        return (date(year, month, day) - begins).days + 1

    def numbers(self, days: npt.ArrayLike) -> npt.NDArray[np.int64]:
        """Numbers of the days of a record.

        Examples
        --------
        >>> days = np.array(["2020-02-28", "2020-02-29", "2020-10-01"], "datetime64[D]")
        >>> SeasonYear(southern=False).numbers(days).tolist()
        [59, 59, 274]
        """
        day = np.asarray(days, "datetime64[D]")
        month = day.astype("datetime64[M]")
        days_before = (day - month.astype("datetime64[D]")).astype(np.int64)
        index = month.astype(np.int64) % 12
        begins = np.array([self.day_of(each) for each in range(1, 13)])
        is_leap_day = (index == 1) & (days_before == 28)
        return np.asarray(begins[index] + days_before - is_leap_day)

    def month_day(self, day_number: float) -> tuple[int, int]:
        """Month and day of a number; numbers beyond the year are its first or last day."""
        within = int(min(max(day_number, 1), DAYS))
        when = date(COMMON_YEAR, self.first_month, 1) + timedelta(within - 1)
        return when.month, when.day

    def month_day_of_any_year(self, day_number: float) -> tuple[int, int]:
        """Month and day of a number; those beyond the year lie in the one before or after.

        Examples
        --------
        >>> SeasonYear(southern=False).month_day_of_any_year(-30)
        (12, 1)
        """
        return self.month_day((int(day_number) - 1) % DAYS + 1)

    def early_date(self, day_number: float) -> tuple[int, int] | None:
        """Month and day of an early date, rounded up; None where it never comes."""
        return self._reached(_up(day_number))

    def late_date(self, day_number: float) -> tuple[int, int] | None:
        """Last whole day before a late date; None where it never comes."""
        return self._reached(_up(day_number) - 1)

    def date(self, day_number: float) -> tuple[int, int] | None:
        """Month and day of a number, rounded down; None where it never comes."""
        return self._reached(-_up(-day_number))

    def _reached(self, day_number: float) -> tuple[int, int] | None:
        # Beside a year without a freeze a quantile is the year's edge, day 366: a date yet.
        return self.month_day(day_number) if day_number <= DAYS + 1 else None


NORTH, SOUTH = SeasonYear(southern=False), SeasonYear(southern=True)


def next_date(month_day: tuple[int, int], earliest: date) -> date:
    """The first such day on or after a date; 29 February is taken as the 28th.

    Examples
    --------
    >>> next_date((4, 1), date(2024, 4, 2)).isoformat()
    '2025-04-01'
    """
    return next(when for when in _dates(month_day, earliest.year) if when >= earliest)


def nearest_date(month_day: tuple[int, int], when: date) -> date:
    """Such a day of any year that is nearest to a date; 29 February counts as the 28th.

    Examples
    --------
    >>> nearest_date((12, 30), date(2024, 1, 2)).isoformat()
    '2023-12-30'
    """
    return min(_dates(month_day, when.year), key=lambda day: abs(day - when))


def _dates(month_day: tuple[int, int], year: int) -> list[date]:
    """A day in the year before, in a year and in the next."""
    month, day = (2, 28) if month_day == (2, 29) else month_day
    return [date(each, month, day) for each in (year - 1, year, year + 1)]


def daily_of_months(
    months: npt.NDArray[np.float64], days: npt.NDArray[Any]
) -> npt.NDArray[np.float64]:
    """Values at days of the calendar, in straight lines between middles of months.

    Parameters
    ----------
    months
        (rows, 12), January first.
    days
        (days,) from the first moment of the calendar year, from 0.

    Returns
    -------
    daily
        (rows, days).
    """
    middles = (np.arange(12) + 0.5) * DAYS / 12
    # From December's middle to January's the year goes round: 0 and 12 are one place.
    at = np.searchsorted(middles, np.mod(days, DAYS), side="right")
    over = np.mod(np.mod(days, DAYS) - middles[at - 1], DAYS)
    steps = (months - np.roll(months, 1, axis=1)) / (DAYS / 12)
    return np.asarray(months[:, at - 1] + over * steps[:, at % 12])


def monday_of(when: date) -> date:
    """First day of the week of a date."""
    return when - timedelta(when.weekday())


def week_of(day_number: float) -> int:
    """Week of the season-year, from 0, in which a day lies; ends count as within.

    Examples
    --------
    >>> week_of(1), week_of(8), week_of(-3), week_of(400)
    (0, 1, 0, 52)
    """
    return int(min(max(day_number - 1, 0), DAYS - 1) // 7)


def _up(day_number: float) -> float:
    """Rounded up; what is not known, or never reached, stays so."""
    return math.ceil(day_number) if math.isfinite(day_number) else day_number
