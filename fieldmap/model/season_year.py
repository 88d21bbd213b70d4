"""The year of growing: from January in the north, from July in the south.

Days are numbered from 1 to 365. A number stands for the same day of the calendar in every
year: 29 February shares the number of 28 February.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt

DAYS = 365
WEEKS = 53
_NORTH_BEGINS, _SOUTH_BEGINS = 1, 7


@dataclass(frozen=True)
class SeasonYear:
    """Month and day arithmetic of one hemisphere.

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
        return _SOUTH_BEGINS if self.southern else _NORTH_BEGINS

    def local_month(self, northern_month: int) -> int:
        """The month, 1 to 12, that is to this hemisphere what one is to the north.

        Examples
        --------
        >>> SeasonYear(southern=True).local_month(3)
        9
        """
        return (northern_month + 5) % 12 + 1 if self.southern else northern_month

    def day_of(self, month: int, day: int = 1) -> int:
        """Number of a day of the calendar; 29 February is taken as the 28th."""
        day = 28 if (month, day) == (2, 29) else day
        begins = date(2001, self.first_month, 1)
        year = 2002 if self.southern and month < _SOUTH_BEGINS else 2001
        return (date(year, month, day) - begins).days + 1

    def month_day(self, day_number: float) -> tuple[int, int]:
        """Month and day of a number; numbers beyond the year are taken within it."""
        within = int(min(max(day_number, 1), DAYS))
        when = date(2001, self.first_month, 1) + timedelta(within - 1)
        return when.month, when.day

    def numbers(self, days: npt.NDArray[np.datetime64]) -> npt.NDArray[np.int64]:
        """Numbers of the days of a record.

        Examples
        --------
        >>> days = np.array(["2020-02-28", "2020-02-29", "2020-10-01"], "datetime64[D]")
        >>> SeasonYear(southern=False).numbers(days).tolist()
        [59, 59, 274]
        """
        day = np.asarray(days, "datetime64[D]")
        month = day.astype("datetime64[M]")
        of_month = (day - month.astype("datetime64[D]")).astype(np.int64)
        number = month.astype(np.int64) % 12
        begins = np.array([self.day_of(each + 1) for each in range(12)])
        leap_day = (number == 1) & (of_month == 28)
        return np.asarray(begins[number] + of_month - leap_day)

    def safe_start(self, day_number: float) -> tuple[int, int] | None:
        """Month and day of an early date, rounded up; None where it never comes."""
        return self._reached(_up(day_number))

    def safe_end(self, day_number: float) -> tuple[int, int] | None:
        """Last whole day before a late date; None where it never comes."""
        return self._reached(_up(day_number) - 1)

    def on(self, day_number: float) -> tuple[int, int] | None:
        """Month and day of a number, rounded down; None where it never comes."""
        return self._reached(-_up(-day_number))

    def _reached(self, day_number: float) -> tuple[int, int] | None:
        return self.month_day(day_number) if day_number <= DAYS + 1 else None

    def next_date(self, month_day: tuple[int, int], after: date) -> date:
        """The first such day on or after a date."""
        when = date(after.year, *month_day)
        return when if when >= after else date(after.year + 1, *month_day)


def _up(day_number: float) -> float:
    """Rounded up; what is not known, or never reached, stays so."""
    return math.ceil(day_number) if math.isfinite(day_number) else day_number


def week_of(day_number: float) -> int:
    """Week of the season-year, from 0, in which a day lies; ends count as within.

    Examples
    --------
    >>> week_of(1), week_of(8), week_of(-3), week_of(400)
    (0, 1, 0, 52)
    """
    return int(min(max(day_number - 1, 0), DAYS - 1) // 7)
