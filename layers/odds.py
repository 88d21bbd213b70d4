"""The odds of yearly dates: after which day, before which day, at a stated risk.

A date is a day number of the season-year, 1 to 365, one for each year: of the last
spring freeze, say, or of the first in autumn. A year in which the thing did not happen
has the date −∞ where late dates do harm, as in spring, and +∞ where early ones do.
"""

import numba
import numpy as np
import numpy.typing as npt
from scipy import special

Dates = npt.NDArray[np.float64]

# Where a quantile falls between a year with an event and one without: the year's edge.
_FIRST_DAY, _LAST_DAY = 1.0, 366.0


def safe_after(dates: npt.ArrayLike, risk: float) -> Dates:
    """Date after which the last spring freeze falls in the share `risk` of years.

    The empirical quantile: the i-th of n dates, in order, stands for the chance
    i/(n + 1), and dates between are interpolated. Beyond the first and the last it is
    those. No rise of the nights ever makes it later.

    Parameters
    ----------
    dates
        (..., years) of last freezes, years without a freeze as −∞. Choose the
        years that are known first: with a NaN the answer is NaN.
    risk
        Share of years, between 0 and 1.

    Returns
    -------
    date
        (...); −∞ where so few years have a freeze that no date is needed. Between such
        a year and one with a freeze the former counts as day 1.

    Raises
    ------
    ValueError
        When there is no year or `risk` does not lie between 0 and 1.

    Examples
    --------
    >>> float(safe_after([90.0, 100.0, 110.0, 120.0], 0.2))
    120.0
    """
    _check_risk(risk)
    return _quantile(dates, 1.0 - risk)


def safe_before(dates: npt.ArrayLike, risk: float) -> Dates:
    """Date before which the first autumn freeze falls in the share `risk` of years.

    As `safe_after`, for dates of first freezes: years without a freeze are +∞,
    and count as day 366 beside one with a freeze.

    Parameters
    ----------
    dates
        (..., years) of first freezes, years without a freeze as +∞; with a NaN the
        answer is NaN.
    risk
        Share of years, between 0 and 1.

    Examples
    --------
    >>> float(safe_before([290.0, 300.0, 310.0, np.inf], 0.2))
    290.0
    """
    _check_risk(risk)
    return _quantile(dates, risk)


def _quantile(dates: npt.ArrayLike, chance: float) -> Dates:
    """Date not passed with a chance, by plotting positions i/(n + 1)."""
    yearly = _yearly(dates)
    years = yearly.shape[-1]
    # Rounded, as 0.9 of 9 + 1 must be the ninth and nothing between.
    place = min(max(round(chance * (years + 1), 9), 1.0), float(years)) - 1.0
    below = int(place)
    rows = np.ascontiguousarray(yearly.reshape(-1, years))
    found = np.empty((2, len(rows)))
    _two_in_order(rows, below, min(below + 1, years - 1), found)
    low, high = found.reshape(2, *yearly.shape[:-1])
    share = place - below
    from_day = np.clip(low, _FIRST_DAY, _LAST_DAY)
    to_day = np.clip(high, _FIRST_DAY, _LAST_DAY)
    between = from_day + share * (to_day - from_day)
    at_low = (share == 0.0) | (low == high)
    return np.asarray(np.where(at_low, low, between))


@numba.njit(cache=True, nogil=True)
def _two_in_order(rows: Dates, first: int, second: int, out: Dates) -> None:
    """The numbers at two places, one after the other, of each row in order.

    NaN where a row holds one. Only the shorter end of a row is put in order, as rows are
    short and many: the other way round, and of the other sign, where that is the upper
    end.
    """
    years = rows.shape[1]
    upper = first > years - 1 - second
    sign = -1.0 if upper else 1.0
    kept = (years - first) if upper else (second + 1)
    ordered = np.empty(kept)
    for row in range(rows.shape[0]):
        unknown = False
        for at in range(years):
            value = sign * rows[row, at]
            unknown |= np.isnan(value)
            place = min(at, kept)
            if place == kept:
                if value >= ordered[kept - 1]:
                    continue
                place -= 1
            while place > 0 and ordered[place - 1] > value:
                ordered[place] = ordered[place - 1]
                place -= 1
            ordered[place] = value
        for number, wanted in enumerate((first, second)):
            here = (years - 1 - wanted) if upper else wanted
            out[number, row] = np.nan if unknown else sign * ordered[here]


def normal_after(dates: npt.ArrayLike, risk: float) -> Dates:
    """Date of `safe_after` by theory: a normal law, mixed with years without a freeze.

    With the share q of years that have a freeze, their mean μ and their standard
    deviation σ (n − 1): q·(1 − Φ((d − μ)/σ)) = risk.

    Parameters
    ----------
    dates, risk
        As in `safe_after`.

    Returns
    -------
    date
        (...); −∞ where risk ≥ q, NaN with fewer than two freezes otherwise.

    Notes
    -----
    Thom & Shaw 1958, Mon. Wea. Rev. 86:251-257; the mixed law as in NCDC's freeze
    tables. A rise of the nights can widen σ, and so make this date later.

    Examples
    --------
    >>> float(normal_after([110.0, 120.0, 130.0], 0.1))
    132.8
    """
    return -_mixed_normal(-np.asarray(dates, dtype=np.float64), risk)


def normal_before(dates: npt.ArrayLike, risk: float) -> Dates:
    """Date of `safe_before` by theory: q·Φ((d − μ)/σ) = risk; see `normal_after`.

    +∞ where risk ≥ q.

    Parameters
    ----------
    dates
        (..., years) of first freezes, years without a freeze as +∞; with a NaN the
        answer is NaN.
    risk
        Share of years, between 0 and 1.

    Examples
    --------
    >>> float(normal_before([271.0, 280.0, 289.0], 0.1))
    268.5
    """
    return _mixed_normal(np.asarray(dates, dtype=np.float64), risk)


def _mixed_normal(dates: Dates, risk: float) -> Dates:
    """Date d with q·Φ((d − μ)/σ) = risk; +∞ where risk ≥ q."""
    _check_risk(risk)
    yearly = _yearly(dates)
    mean, spread, count = _moments(yearly)
    share = count / yearly.shape[-1]
    # With no more freezes than the risk the quotient is 1: such rows get no date below.
    scale = special.ndtri(risk / np.maximum(share, risk))
    with np.errstate(invalid="ignore"):
        date = np.where(risk >= share, np.inf, mean + spread * scale)
    return np.where(np.isnan(yearly).any(axis=-1), np.nan, date)


def _moments(yearly: Dates) -> tuple[Dates, Dates, Dates]:
    """Mean and standard deviation (n − 1) of the years with a freeze, and their n."""
    has_freeze = np.isfinite(yearly)
    count = has_freeze.sum(axis=-1)
    known = np.where(has_freeze, yearly, 0.0)
    mean = known.sum(axis=-1) / np.maximum(count, 1)
    off = np.where(has_freeze, yearly - mean[..., None], 0.0)
    spread = np.sqrt((off**2).sum(axis=-1) / np.maximum(count - 1, 1))
    enough = count >= 2
    return np.where(enough, mean, np.nan), np.where(enough, spread, np.nan), count


def few_years_range(dates: npt.ArrayLike, risk: float) -> tuple[Dates, Dates]:
    """Dates that the next year's lies before, and after, with the chance `risk` each.

    For records of under ten years: μ ± t·σ·√(1 + 1/n), with Student's t at 1 − risk of
    n − 1 degrees of freedom, where n counts years with a freeze.

    Parameters
    ----------
    dates, risk
        As in `safe_after`; `risk` at most 0.5.

    Returns
    -------
    low, high
        (...) each. A year without a freeze opens the range to its side (low −∞ in
        spring, high +∞ in autumn); with fewer than two freezes the rest is NaN.

    Notes
    -----
    The prediction interval for one further draw of a normal law.

    Examples
    --------
    Student's t at 0.9 of 2 degrees of freedom is 1.886 in any table: 100 days less and
    more 1.886 · 10 · √(4/3).

    >>> low, high = few_years_range([90.0, 100.0, 110.0], 0.1)
    >>> low.round(1).item(), high.round(1).item()
    (78.2, 121.8)
    """
    _check_risk(risk)
    yearly = _yearly(dates)
    mean, spread, count = _moments(yearly)
    enough = np.maximum(count, 2)
    reach = special.stdtrit(enough - 1, 1.0 - risk) * spread * np.sqrt(1 + 1 / enough)
    low = np.where((yearly == -np.inf).any(axis=-1), -np.inf, mean - reach)
    high = np.where((yearly == np.inf).any(axis=-1), np.inf, mean + reach)
    unknown = np.isnan(yearly).any(axis=-1)
    return np.where(unknown, np.nan, low), np.where(unknown, np.nan, high)


def risk_over_years(risk: float, years: int) -> float:
    """Chance that what happens in a share `risk` of years happens in `years` at least once.

    Parameters
    ----------
    risk
        Share of years, above 0 and below 1.
    years
        Number of years.

    Examples
    --------
    >>> round(risk_over_years(0.1, 10), 4)
    0.6513
    """
    _check_risk(risk)
    return float(1.0 - (1.0 - risk) ** years)


def _check_risk(risk: float) -> None:
    if not 0.0 < risk < 1.0:
        raise ValueError(f"risk must lie between 0 and 1, got {risk}")


def _yearly(dates: npt.ArrayLike) -> Dates:
    yearly = np.asarray(dates, dtype=np.float64)
    if yearly.ndim == 0 or yearly.shape[-1] == 0:
        raise ValueError("dates must have at least one year")
    return yearly
