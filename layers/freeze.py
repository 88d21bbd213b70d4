"""Last spring and first autumn freeze of every year of a daily record.

A season-year begins in midwinter: on 1 January, on 1 July in the southern hemisphere.
Its spring runs seven months, to 31 July (31 January); its autumn is the rest of it.
Days of a season-year are numbered from 1 to 365. A number stands for the same day of the
calendar in every year: 29 February shares the number of 28 February. In the north it is
the day of a common year.

A date is such a number, and a freeze is a night with a minimum at or below the
threshold. A year without one has the date −∞ in spring and +∞ in autumn, so that it
sorts as the earliest spring and the latest autumn; a season without a single known
night has the date NaN.
"""

from dataclasses import dataclass

import numba
import numpy as np
import numpy.typing as npt
from scipy import ndimage

Dates = npt.NDArray[np.float64]
Temperatures = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]

MISSING_NIGHTS_TOO_MANY = 10  # Utah Climate Center, freeze dates
# A time of year this much above the threshold in the mean hides no freeze: our choice.
_SAFELY_ABOVE_C = 8.0
NO_DATE = 1000  # days from which on a number in a table of whole days is no date
_AROUND_DAYS = 31
_DAYS = 365  # day numbers of a season-year


@dataclass(frozen=True)
class Season:
    """Where the springs, or the autumns, of the season-years lie in a record.

    Attributes
    ----------
    start, stop
        (years,) index of the first day and one past the last, as far as recorded.
    is_whole
        (years,) the season lies in the record from its first to its last day.
    """

    start: Whole
    stop: Whole
    is_whole: Flags


@dataclass(frozen=True)
class Calendar:
    """Season-years of a daily record.

    Attributes
    ----------
    years
        (years,) calendar year in which each season-year begins.
    year_index
        (days,) index into `years`.
    day_number
        (days,) 1 on the first day of the season-year, 365 on its last.
    spring, autumn
        The halves.
    """

    years: Whole
    year_index: Whole
    day_number: Whole
    spring: Season
    autumn: Season


def calendar(days: npt.NDArray[np.datetime64], *, southern: bool) -> Calendar:
    """Tell season-years and their halves in a daily record.

    Parameters
    ----------
    days
        (days,) datetime64, one after the other without a gap.
    southern
        The place lies south of the equator.

    Raises
    ------
    ValueError
        When `days` is empty, has a gap, or does not rise.

    Examples
    --------
    >>> days = np.arange("2019-12-30", "2020-01-03", dtype="datetime64[D]")
    >>> calendar(days, southern=False).day_number.tolist()
    [364, 365, 1, 2]
    >>> calendar(days, southern=True).day_number.tolist()
    [183, 184, 185, 186]
    >>> leap = np.arange("2024-02-28", "2024-03-02", dtype="datetime64[D]")
    >>> calendar(leap, southern=False).day_number.tolist()
    [59, 59, 60]
    """
    day = np.asarray(days, dtype="datetime64[D]")
    if day.ndim != 1 or day.size == 0 or (np.diff(day).astype(np.int64) != 1).any():
        raise ValueError("days must rise one by one, without a gap, and not be empty")
    # Half a year back, a southern season-year begins on 1 January as a northern one.
    first_month = 6 if southern else 0
    year_of = (day.astype("datetime64[M]") - first_month).astype("datetime64[Y]")
    years, year_index = np.unique(year_of, return_inverse=True)
    begins = years.astype("datetime64[M]") + first_month
    days_before = (day - begins.astype("datetime64[D]")[year_index]).astype(np.int64)
    february = begins + (7 if southern else 1)
    ends = (february + 1).astype("datetime64[D]") - 1
    has_leap_day = (ends - february.astype("datetime64[D]")).astype(np.int64) == 28
    # From 29 February on numbers are one less: each is the same day in every year.
    is_from_leap_day = has_leap_day[year_index] & (day >= ends[year_index])
    return Calendar(
        years=years.astype(np.int64) + 1970,
        year_index=year_index,
        day_number=days_before + 1 - is_from_leap_day,
        spring=_season(day, begins, begins + 7),
        autumn=_season(day, begins + 7, begins + 12),
    )


def _season(
    day: npt.NDArray[np.datetime64],
    from_month: npt.NDArray[np.datetime64],
    to_month: npt.NDArray[np.datetime64],
) -> Season:
    """Days from the first of a month up to the first of another, excluded."""
    start = (from_month.astype("datetime64[D]") - day[0]).astype(np.int64)
    stop = (to_month.astype("datetime64[D]") - day[0]).astype(np.int64)
    return Season(
        start=np.clip(start, 0, day.size),
        stop=np.clip(stop, 0, day.size),
        is_whole=(start >= 0) & (stop <= day.size),
    )


def last_in_spring(
    tmin_c: npt.ArrayLike, calendar: Calendar, threshold_c: float
) -> Dates:
    """Day number of the last spring night at or below a threshold, per season-year.

    Parameters
    ----------
    tmin_c
        (..., days) night minima of the calendar's days; missing nights are passed over
        (`springs_known` tells the years in which that does no harm).
    calendar
        Season-years of the record.
    threshold_c
        Freezing at the height of the record, or another limit.

    Returns
    -------
    dates
        (..., years); −∞ without such a night, NaN where no night of the spring is known.

    Raises
    ------
    ValueError
        When the last axis does not have the calendar's days.

    Examples
    --------
    >>> days = np.arange("2019-01-01", "2020-01-01", dtype="datetime64[D]")
    >>> nights_c = np.where((days < np.datetime64("2019-04-15")), -1.0, 9.0)
    >>> last_in_spring(nights_c, calendar(days, southern=False), 0.0).tolist()
    [104.0]
    """
    rows, shape = _rows(tmin_c, calendar)
    spring = calendar.spring
    dates = np.empty((rows.shape[0], calendar.years.size))
    _find_last(rows, spring.start, spring.stop, threshold_c, dates)
    return _numbered(dates, calendar).reshape(shape)


def first_in_autumn(
    tmin_c: npt.ArrayLike, calendar: Calendar, threshold_c: float
) -> Dates:
    """Day number of the first autumn night at or below a threshold, per season-year.

    As `last_in_spring`, except that a year without such a night has the date +∞.

    Parameters
    ----------
    tmin_c
        (..., days) night minima of the calendar's days [°C]; missing nights are passed
        over.
    calendar
        Season-years of the record.
    threshold_c
        Freezing at the height of the record, or another limit.

    Examples
    --------
    >>> days = np.arange("2019-01-01", "2020-01-01", dtype="datetime64[D]")
    >>> nights_c = np.where((days > np.datetime64("2019-10-15")), -1.0, 9.0)
    >>> first_in_autumn(nights_c, calendar(days, southern=False), 0.0).tolist()
    [289.0]
    """
    rows, shape = _rows(tmin_c, calendar)
    autumn = calendar.autumn
    dates = np.empty((rows.shape[0], calendar.years.size))
    _find_first(rows, autumn.start, autumn.stop, threshold_c, dates)
    return _numbered(dates, calendar).reshape(shape)


def _rows(
    tmin_c: npt.ArrayLike, calendar: Calendar
) -> tuple[Temperatures, tuple[int, ...]]:
    """Nights as (records, days), and the shape in which their dates go back."""
    nights = np.asarray(tmin_c, dtype=np.float64)
    days = calendar.day_number.size
    if nights.ndim == 0 or nights.shape[-1] != days:
        raise ValueError(
            f"tmin_c must have {days} days on its last axis, got shape {nights.shape}"
        )
    shape = (*nights.shape[:-1], calendar.years.size)
    return np.ascontiguousarray(nights.reshape(-1, days)), shape


def _numbered(index: Dates, calendar: Calendar) -> Dates:
    """Day numbers of the days with these indices; what is not finite stays."""
    found = np.isfinite(index)
    index[found] = calendar.day_number[index[found].astype(np.int64)]
    return index


@numba.njit(cache=True, nogil=True)
def _find_last(
    tmin_c: Temperatures, start: Whole, stop: Whole, threshold_c: float, out: Dates
) -> None:
    for record in range(tmin_c.shape[0]):
        nights = tmin_c[record]
        for year in range(start.size):
            found = np.nan
            for day in range(stop[year] - 1, start[year] - 1, -1):
                if nights[day] <= threshold_c:
                    found = day
                    break
                if not np.isnan(nights[day]):
                    found = -np.inf
            out[record, year] = found


@numba.njit(cache=True, nogil=True)
def _find_first(
    tmin_c: Temperatures, start: Whole, stop: Whole, threshold_c: float, out: Dates
) -> None:
    for record in range(tmin_c.shape[0]):
        nights = tmin_c[record]
        for year in range(start.size):
            found = np.nan
            for day in range(start[year], stop[year]):
                if nights[day] <= threshold_c:
                    found = day
                    break
                if not np.isnan(nights[day]):
                    found = np.inf
            out[record, year] = found


def of_all_kinds(
    still: npt.NDArray[np.int16],
    other: Dates,
    places: Whole,
    years: Whole,
    level: Whole,
    *,
    is_first: bool,
) -> Dates:
    """Last freeze of years over still, mixed and windy nights, or the first.

    Parameters
    ----------
    still
        (years, levels, offsets, bases) equally likely days of the last freeze of still
        nights, ±1000 without one.
    other
        (2, shifts, years): dates of the last freeze of mixed and of windy nights.
    places
        (rows, 4): which offset, base, and shift on mixed and on windy nights.
    years, level
        Numbers of the years that are taken, and which level each takes: the first ones
        of as many or more.
    is_first
        For the first freeze of autumn.

    Returns
    -------
    dates
        (rows, years taken).

    Raises
    ------
    ValueError
        When there are fewer levels than years.

    Examples
    --------
    >>> still = np.array([80, 95], np.int16).reshape(1, 2, 1, 1)
    >>> other = np.array([[[90.0]], [[-np.inf]]])
    >>> at = np.zeros((1, 4), np.int64)
    >>> first, second = np.array([0]), np.array([1])
    >>> of_all_kinds(still, other, at, np.array([0]), first, is_first=False).tolist()
    [[90.0]]
    >>> of_all_kinds(still, other, at, np.array([0]), second, is_first=False).tolist()
    [[95.0]]
    """
    if len(level) < len(years):
        raise ValueError(f"level must be one for each of {len(years)} years")
    out = np.empty((len(places), len(years)))
    sign = -1.0 if is_first else 1.0
    taken = np.stack([years, level[: len(years)]])
    by_year = np.ascontiguousarray(np.swapaxes(other, 1, 2))
    _latest(still, by_year, places, taken, sign, out)
    return out


@numba.njit(cache=True, nogil=True)
def _latest(
    still: npt.NDArray[np.int16],
    other: Dates,
    places: Whole,
    taken: Whole,
    sign: float,
    out: Dates,
) -> None:
    for number in range(taken.shape[1]):
        year = taken[0, number]
        on_still = still[year, taken[1, number]]
        mixed, windy = other[0, year], other[1, year]
        for row in range(places.shape[0]):
            day = float(on_still[places[row, 0], places[row, 1]])
            found = -np.inf if abs(day) >= NO_DATE else sign * day
            others = sign * mixed[places[row, 2]], sign * windy[places[row, 3]]
            found = max(found, others[0], others[1])
            out[row, number] = sign * found


def season_days(last: npt.ArrayLike, first: npt.ArrayLike) -> Dates:
    """Days from the last spring to the first autumn freeze; +∞ where one is lacking.

    Parameters
    ----------
    last, first
        Dates of the same season-years, from `last_in_spring` and `first_in_autumn`.

    Examples
    --------
    >>> season_days([120.0], [275.0]).tolist()
    [155.0]
    """
    return np.asarray(first, dtype=np.float64) - np.asarray(last, dtype=np.float64)


def springs_known(
    tmin_c: npt.ArrayLike, calendar: Calendar, threshold_c: float
) -> Flags:
    """Tell the years whose last spring freeze the record can vouch for.

    A spring counts when it lies wholly in the record and fewer than ten nights are
    missing of those that could have hidden a later freeze. These are nights after the
    last freeze found, at a time of year (31 days around the night, all years) at which
    the mean minimum of the record is no more than 8 °C above the threshold, or unknown,
    or at which any night of the record was a freeze.

    Parameters
    ----------
    tmin_c
        (days,) night minima of the calendar's days, NaN where missing.
    calendar
        Season-years of the record.
    threshold_c
        At or below which a night is a freeze.

    Returns
    -------
    known
        (years,) bool.

    Notes
    -----
    Ten missing days: Utah Climate Center, which counts all before the date is met.
    8 °C and 31 days are our choice.
    """
    rows, _ = _rows(_one_record(tmin_c), calendar)
    spring = calendar.spring
    found = np.empty((1, calendar.years.size))
    _find_last(rows, spring.start, spring.stop, threshold_c, found)
    # Where no freeze was found, any night of the spring may have hidden one.
    after = np.where(np.isfinite(found[0]), found[0] + 1, spring.start).astype(np.int64)
    doubtful = _doubtful_before(rows[0], calendar, threshold_c)
    count = doubtful[spring.stop] - doubtful[after]
    known: Flags = spring.is_whole & ~np.isnan(found[0])
    return known & (count < MISSING_NIGHTS_TOO_MANY)


def autumns_known(
    tmin_c: npt.ArrayLike, calendar: Calendar, threshold_c: float
) -> Flags:
    """Tell the years whose first autumn freeze the record can vouch for.

    As `springs_known`, with the nights before the first freeze found.

    Parameters
    ----------
    tmin_c
        (days,) night minima of the calendar's days [°C], NaN where missing.
    calendar
        Season-years of the record.
    threshold_c
        At or below which a night is a freeze.
    """
    rows, _ = _rows(_one_record(tmin_c), calendar)
    autumn = calendar.autumn
    found = np.empty((1, calendar.years.size))
    _find_first(rows, autumn.start, autumn.stop, threshold_c, found)
    before = np.where(np.isfinite(found[0]), found[0], autumn.stop).astype(np.int64)
    doubtful = _doubtful_before(rows[0], calendar, threshold_c)
    count = doubtful[before] - doubtful[autumn.start]
    known: Flags = autumn.is_whole & ~np.isnan(found[0])
    return known & (count < MISSING_NIGHTS_TOO_MANY)


def _one_record(tmin_c: npt.ArrayLike) -> Temperatures:
    nights = np.asarray(tmin_c, dtype=np.float64)
    if nights.ndim != 1:
        raise ValueError(f"tmin_c must be one record of days, got shape {nights.shape}")
    return nights


def _doubtful_before(
    nights: Temperatures, calendar: Calendar, threshold_c: float
) -> Whole:
    """Count, before each day, the missing nights that could have been a freeze."""
    missing = np.isnan(nights)
    number, known_c = calendar.day_number[~missing], nights[~missing]
    freezes = _around(number, known_c <= threshold_c)
    count = _around(number, np.ones(known_c.size))
    mean_c = np.full(_DAYS, -np.inf)
    np.divide(_around(number, known_c), count, out=mean_c, where=count > 0)
    is_safe = (mean_c > threshold_c + _SAFELY_ABOVE_C) & (freezes == 0)
    doubtful = missing & ~is_safe[calendar.day_number - 1]
    return np.concatenate(([0], np.cumsum(doubtful))).astype(np.int64)


def _around(number: Whole, values: npt.NDArray[np.generic]) -> Temperatures:
    """Sum of the values over the days of the year around each day number."""
    daily = np.bincount(number, values, minlength=_DAYS + 1)[1:]
    window = np.ones(_AROUND_DAYS)
    # Around, as the last days of a season-year lie beside its first in the weather.
    summed: Temperatures = ndimage.convolve1d(daily, window, mode="wrap")
    return summed
