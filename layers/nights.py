"""Kinds of night of a weather record: still, when cold air runs and lies; windy; mixed."""

import numpy as np
import numpy.typing as npt

Days = npt.NDArray[np.datetime64]
Values = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]
Kinds = npt.NDArray[np.int8]

# A night counts as clear when the air falls, from the day's maximum to the minimum after
# it, at least as far as on 60 of 100 nights of that calendar month (a choice, no source).
CLEAR_FROM_PERCENTILE = 60.0
# Under this it counts as calm: the condition of the frost forecast in Snyder & de
# Melo-Abreu 2005, FAO Environment and Natural Resources Series 10, vol. 1.
CALM_UNDER_M_S = 2.0
# Kinds of night: still are the clear and calm ones; on windy ones the air is mixed
# through and no place is colder; mixed are all others.
STILL, MIXED, WINDY = 0, 1, 2
# Mean wind at 2 m from which no offset is left (Gustavsson: little shelter above 4-5
# m/s; loggers on windy plains show none).
WINDY_FROM_M_S = 4.0
# Share of a still night's offset that is left on a mixed night, as low, central and
# high: on clearly mixed nights of open ground, and in mountain valleys (night minima of
# open loggers in Finland and elsewhere).
MIXED_SHARE = (0.1, 0.17, 0.24)
VALLEY_SHARE = (0.35, 0.5, 0.6)
VALLEY_RELIEF_M, VALLEY_WITHIN_M = 150.0, 2000.0  # what makes a valley
TREND_FROM_H = 2.0  # after sunset; before it the fall follows no root
# Records keep tenths of a degree: falls that differ by less are the same.
SAME_FALL_C = 1e-6


def night_fall_c(days: Days, tmin_c: npt.ArrayLike, tmax_c: npt.ArrayLike) -> Values:
    """How far the air fell in each night: maximum of the day before less the minimum.

    Parameters
    ----------
    days
        (days,) datetime64[D], each once, in any order, gaps allowed.
    tmin_c, tmax_c
        (days,) minimum and maximum of each day; NaN is missing.

    Returns
    -------
    fall
        (days,) [°C], by the day on whose morning the night ends; NaN where either
        reading is missing or the day before is not in the record.

    Raises
    ------
    ValueError
        When lengths differ, or a day is missing or stands twice.

    Examples
    --------
    >>> days = np.array(["2020-03-01", "2020-03-02", "2020-03-04"], "datetime64[D]")
    >>> night_fall_c(days, [1.0, -2.0, 0.0], [10.0, 8.0, 9.0]).tolist()
    [nan, 12.0, nan]
    """
    dates = np.asarray(days, dtype="datetime64[D]")
    low, high = (_by_day(dates, values) for values in (tmin_c, tmax_c))
    order = np.argsort(dates)
    if np.isnat(dates).any() or (np.diff(dates[order]) == np.timedelta64(0)).any():
        raise ValueError("every day must be known and stand once")
    follows = np.diff(dates[order]) == np.timedelta64(1, "D")
    fall = np.full(dates.shape, np.nan)
    morning, evening = order[1:][follows], order[:-1][follows]
    fall[morning] = high[evening] - low[morning]
    return fall


def night_trend_c(
    hours: npt.ArrayLike, start_c: float, sunrise_c: float, night_hours: float
) -> npt.NDArray[np.float64]:
    """Air through a clear calm night: it falls with the root of time, fast at first.

    Parameters
    ----------
    hours
        Any shape, from sunset; 2 or more and no more than `night_hours`.
    start_c
        Air two hours after sunset.
    sunrise_c
        Air at sunrise, the night's minimum.
    night_hours
        From sunset to sunrise, more than 2.

    Returns
    -------
    air
        As `hours` [°C]; NaN stays NaN.

    Raises
    ------
    ValueError
        When the night is not longer than two hours, or an hour lies off the trend.

    Notes
    -----
    Snyder & de Melo-Abreu 2005, FAO Environment and Natural Resources Series 10,
    volume 1, chapter 5, after Allen 1957.

    Examples
    --------
    >>> night_trend_c([2.0, 6.0, 11.0], 5.0, -1.0, 11.0).tolist()
    [5.0, 1.0, -1.0]
    """
    passed = np.asarray(hours, dtype=np.float64)
    if not night_hours > TREND_FROM_H:
        raise ValueError(f"night_hours must be more than 2, got {night_hours}")
    if ((passed < TREND_FROM_H) | (passed > night_hours)).any():
        raise ValueError(f"hours must lie between 2 and {night_hours}")
    share = np.sqrt((passed - TREND_FROM_H) / (night_hours - TREND_FROM_H))
    return np.asarray(start_c + (sunrise_c - start_c) * share)


def minimum_line(
    start_c: npt.ArrayLike, minimum_c: npt.ArrayLike
) -> tuple[float, float, float]:
    """Line on which minima of clear calm nights lie over the air two hours after sunset.

    Parameters
    ----------
    start_c, minimum_c
        (nights,) of three nights or more that differ at dusk.

    Returns
    -------
    line
        Its slope and height [°C] by least squares, and the standard deviation of minima
        about it [°C].

    Raises
    ------
    ValueError
        When nights are too few, missing or all alike at dusk.

    Notes
    -----
    First step of the forecast of minima by Snyder & de Melo-Abreu 2005, FAO Environment and
    Natural Resources Series 10, volume 1, chapter 5; the second, by the dew point, is left
    out.

    Examples
    --------
    >>> minimum_line([0.0, 2.0, 4.0], [-5.0, -4.0, -3.0])
    (0.5, -5.0, 0.0)
    """
    start, minimum = (np.asarray(each, np.float64) for each in (start_c, minimum_c))
    if start.shape != minimum.shape or start.ndim != 1 or len(start) < 3:
        raise ValueError("three nights or more are wanted, a minimum for each")
    if not np.isfinite(start + minimum).all() or np.ptp(start) == 0:
        raise ValueError("nights must be known, and differ two hours after sunset")
    about = start - start.mean()
    slope = float(about @ minimum / (about @ about))
    left = minimum - minimum.mean() - slope * about
    height_c = float(minimum.mean() - slope * start.mean())
    return slope, height_c, float(np.sqrt(left @ left / (len(start) - 2)))


def hours_to_limit(
    limit_c: npt.ArrayLike,
    start_c: npt.ArrayLike,
    sunrise_c: npt.ArrayLike,
    night_hours: float,
) -> npt.NDArray[np.float64]:
    """Hours after sunset at which a clear calm night falls to a limit; see `night_trend_c`.

    Parameters
    ----------
    limit_c, start_c, sunrise_c
        Of one shape, or of shapes that go together: the limit, the air two hours after
        sunset and at sunrise.
    night_hours
        From sunset to sunrise, more than 2.

    Returns
    -------
    hours
        2 where it is as cold from the beginning of the trend; ∞ where it does not come
        so far; NaN where a temperature is missing.

    Raises
    ------
    ValueError
        When the night is not longer than two hours.

    Examples
    --------
    >>> hours_to_limit([1.0, -1.5, 6.0], 5.0, -1.0, 11.0).tolist()
    [6.0, inf, 2.0]
    """
    if not night_hours > TREND_FROM_H:
        raise ValueError(f"night_hours must be more than 2, got {night_hours}")
    limit, start, sunrise = np.broadcast_arrays(
        *(np.asarray(each, np.float64) for each in (limit_c, start_c, sunrise_c))
    )
    falls = (limit >= sunrise) & (limit < start)
    share = np.divide(
        start - limit, start - sunrise, out=np.ones_like(limit), where=falls
    )
    hours = TREND_FROM_H + (night_hours - TREND_FROM_H) * share**2
    hours = np.where(falls, hours, np.where(limit >= start, TREND_FROM_H, np.inf))
    return np.where(np.isnan(limit + start + sunrise), np.nan, hours)


def wind_at_2_m(wind_m_s: npt.ArrayLike, height_m: float) -> npt.NDArray[np.float64]:
    """Wind at 2 m above short grass from wind at another height.

    Equation 47 of Allen et al. 1998 (FAO Irrigation and Drainage Paper 56).

    Parameters
    ----------
    wind_m_s
        Any shape; NaN stays NaN.
    height_m
        At which it was measured, 0.5 m or more above the ground.

    Raises
    ------
    ValueError
        When the height is less.

    Examples
    --------
    >>> wind_at_2_m(3.2, 10.0).round(1).item()
    2.4
    """
    if not height_m >= 0.5:
        raise ValueError(f"height_m must be 0.5 or more, got {height_m}")
    factor = 4.87 / np.log(67.8 * height_m - 5.42)
    return np.asarray(np.asarray(wind_m_s, np.float64) * factor)


def clear_calm(
    days: Days,
    tmin_c: npt.ArrayLike,
    tmax_c: npt.ArrayLike,
    wind_m_s: npt.ArrayLike | None,
) -> Mask:
    """Tell which nights were clear and calm, by the day on whose morning they end.

    Parameters
    ----------
    days
        (days,) datetime64[D], each once, in any order, gaps allowed.
    tmin_c, tmax_c
        (days,) minimum and maximum of each day; NaN is missing.
    wind_m_s
        (days,) mean wind of each day, NaN where it was not recorded; None where it
        never was.

    Returns
    -------
    clear_calm
        (days,). True where the fall of the night (see `night_fall_c`) reaches the 60th
        percentile of all falls of that calendar month, over all years of the record,
        and the wind of the day is under 2 m/s. A night whose fall is not known is not
        clear and does not count in the percentile; wind that is not known does not
        speak against a night.

    Raises
    ------
    ValueError
        When lengths differ, or a day is missing or stands twice.

    Notes
    -----
    Percentiles lie in straight lines between the sorted falls (numpy's default). In a
    short record a month may have few nights: with one, that one counts as clear.

    Examples
    --------
    >>> days = np.arange("2020-05-01", "2020-05-07", dtype="datetime64[D]")
    >>> low, high = [9.0, 8.0, 7.0, 6.0, 5.0, 4.0], [16.0] * 6
    >>> clear_calm(days, low, high, None).tolist()
    [False, False, False, False, True, True]
    >>> clear_calm(days, low, high, [0.5, 0.5, 0.5, 0.5, 3.0, np.nan]).tolist()
    [False, False, False, False, False, True]
    """
    dates = np.asarray(days, dtype="datetime64[D]")
    fall = night_fall_c(dates, tmin_c, tmax_c)
    month = dates.astype("datetime64[M]").astype(int) % 12
    clear = np.zeros(fall.shape, dtype=np.bool_)
    for number in np.unique(month):
        here = (month == number) & ~np.isnan(fall)
        if here.any():
            least = np.percentile(fall[here], CLEAR_FROM_PERCENTILE)
            clear[here] = fall[here] >= least - SAME_FALL_C
    if wind_m_s is None:
        return clear
    wind = _by_day(dates, wind_m_s)
    return np.asarray(clear & ~(wind >= CALM_UNDER_M_S))


def kinds(is_still: npt.ArrayLike, wind_at_2_m_s: npt.ArrayLike | None) -> Kinds:
    """Kind of each night: `STILL`, `MIXED` or `WINDY`.

    Parameters
    ----------
    is_still
        (days,): clear and calm, as `clear_calm` tells.
    wind_at_2_m_s
        (days,): mean wind at 2 m, NaN where it was not recorded; None where it never was.

    Returns
    -------
    kinds
        (days,). A night that is not still is windy from 4 m/s on, and mixed otherwise,
        also where no wind was recorded.

    Raises
    ------
    ValueError
        When lengths differ.

    Examples
    --------
    >>> kinds([True, False, False, False], [0.5, 3.9, 4.0, np.nan]).tolist()
    [0, 1, 2, 1]
    """
    still = np.asarray(is_still, np.bool_)
    found = np.where(still, STILL, MIXED).astype(np.int8)
    if wind_at_2_m_s is None:
        return found
    wind = np.asarray(wind_at_2_m_s, np.float64)
    if wind.shape != still.shape:
        raise ValueError(f"wind must be one for each of {still.shape} nights")
    found[~still & (wind >= WINDY_FROM_M_S)] = WINDY
    return found


def mixed_share(relief_m: float, *, is_all_known: bool) -> tuple[float, float, float]:
    """Share of a still night's offset left on mixed nights: low, central, high.

    Parameters
    ----------
    relief_m
        From the lowest to the highest known ground within `VALLEY_WITHIN_M`.
    is_all_known
        Whether all of that ground is known. If not, and what is known makes no valley,
        there may be one all the same, and the range reaches from one to the other.

    Raises
    ------
    ValueError
        When the relief is not 0 or more.

    Examples
    --------
    >>> mixed_share(40.0, is_all_known=True), mixed_share(151.0, is_all_known=False)
    ((0.1, 0.17, 0.24), (0.35, 0.5, 0.6))
    >>> mixed_share(40.0, is_all_known=False)
    (0.1, 0.17, 0.6)
    """
    if not relief_m >= 0:
        raise ValueError(f"relief_m must be 0 or more, got {relief_m}")
    if relief_m > VALLEY_RELIEF_M:
        return VALLEY_SHARE
    return MIXED_SHARE if is_all_known else (*MIXED_SHARE[:2], VALLEY_SHARE[2])


def _by_day(dates: Days, values: npt.ArrayLike) -> Values:
    """One number a day, refused when there are more or fewer."""
    numbers = np.asarray(values, dtype=np.float64)
    if dates.ndim != 1 or numbers.shape != dates.shape:
        raise ValueError(
            f"readings must be one for each of {dates.shape} days, got {numbers.shape}"
        )
    return numbers
