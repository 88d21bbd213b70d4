"""Thermometers and readings that cannot be right, by what they and the others read.

A thermometer in the sun, on a wall, with a dead battery or with one mistyped entry says
nothing of cold air. Limits are choices, no source: wide enough that what places really
differ by (sd 0.7 °C) and nights stray by (sd 1 °C) passes nearly always.
"""

import numpy as np
import numpy.typing as npt

Values = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

# One reading beside the same thermometer's others: in robust standard deviations, and
# at least this far.
STRAY_SD, STRAY_C = 5.0, 4.0
# One thermometer beside the others: 3.5 times what places stray by.
OUTLIER_C = 2.5
# Two that differ by more cannot both be right, and nothing says which is.
PAIR_APART_C = 3.0
# A thermometer is stuck when half of its readings are one number, or when they move by
# under a fourth of what the station's do.
STUCK_SHARE, STUCK_MOVES = 0.5, 0.25
FEWEST_TO_BE_STUCK = 5  # nights
STATION_MOVES_C = 1.0  # least standard deviation of the station that can tell
SAME_C = 0.051  # readings that differ by no more are one number
# How many times as far places may lie apart as the ground says.
FACTORS = np.arange(0.0, 3.01, 0.25)
_SD_PER_MAD = 1.4826  # of a normal law


def stray_readings(low_c: npt.ArrayLike, station_c: npt.ArrayLike) -> Mask:
    """Single readings far from what the thermometer otherwise reads over the station.

    Parameters
    ----------
    low_c
        (nights, loggers) minima; NaN is missing.
    station_c
        (nights,) minima at the station.

    Returns
    -------
    stray
        (nights, loggers): more than 5 robust standard deviations, and 4 °C, from the
        median difference; False where one is missing.

    Examples
    --------
    >>> low = [[-1.0], [0.0], [-40.0], [1.0], [0.5]]
    >>> stray_readings(low, np.zeros(5)).ravel().tolist()
    [False, False, True, False, False]
    """
    over = _over(low_c, station_c)
    off = np.abs(over - _median(over, axis=0))
    limit = np.maximum(STRAY_SD * _SD_PER_MAD * _median(off, axis=0), STRAY_C)
    return np.asarray(off > limit)


def stuck(low_c: npt.ArrayLike, station_c: npt.ArrayLike) -> Mask:
    """Thermometers that do not follow the nights, (loggers,).

    Half of the readings are one number, or they move by under a fourth of what the
    station's do on the same nights. Fewer than five nights, or nights all alike, tell
    nothing.

    Parameters
    ----------
    low_c
        (nights, loggers) minima [°C], NaN where missing.
    station_c
        (nights,) minima at the station.

    Examples
    --------
    >>> nights_c = np.array([-3.0, 0.0, 2.0, -1.0, 4.0])
    >>> stuck(np.column_stack([nights_c - 1, np.full(5, 1.0)]), nights_c).tolist()
    [False, True]
    """
    low = np.asarray(low_c, dtype=np.float64)
    station = np.asarray(station_c, dtype=np.float64)
    found = np.zeros(low.shape[1], dtype=np.bool_)
    for number, mine in enumerate(low.T):
        both = ~np.isnan(mine) & ~np.isnan(station)
        if both.sum() < FEWEST_TO_BE_STUCK or station[both].std() < STATION_MOVES_C:
            continue
        read = mine[both]
        alike = (np.abs(read[:, None] - read) <= SAME_C).sum(axis=1).max()
        # No quotient: of nights that are mostly alike the quartiles spread by nothing.
        moves_little = _spread(read) < STUCK_MOVES * _spread(station[both])
        found[number] = alike >= STUCK_SHARE * len(read) or moves_little
    return found


def outliers(mean_c: npt.ArrayLike, coldness_c: npt.ArrayLike) -> Mask:
    """Thermometers that read far from what the others say of their places, (loggers,).

    Parameters
    ----------
    mean_c
        (loggers,) how each runs against the station in the mean.
    coldness_c
        (loggers,) how cold the ground makes each place, more is colder.

    Returns
    -------
    outliers
        Of three or more: those more than 2.5 °C off a line that has the least sum of
        absolute errors, with a slope of 0 to 3 times what the ground says; all, where
        no more than half agree. Of two: both, where they lie more than 3 °C apart after
        what the ground says.

    Examples
    --------
    >>> outliers([-1.0, -2.0, 5.0, -3.0], [0.0, 1.0, 1.0, 2.0]).tolist()
    [False, False, True, False]
    >>> outliers([0.0, 5.0], [0.0, 0.0]).tolist()
    [True, True]
    """
    mean, cold = (np.asarray(each, dtype=np.float64) for each in (mean_c, coldness_c))
    if len(mean) < 2:
        return np.zeros(len(mean), dtype=np.bool_)
    if len(mean) == 2:
        apart = np.ptp(mean + cold) > PAIR_APART_C
        return np.full(2, bool(apart))
    rest = mean + FACTORS[:, None] * cold
    off = np.abs(rest - np.median(rest, axis=1, keepdims=True))
    # Of equal sums the factor nearest to what the ground says.
    ranked = np.lexsort((np.abs(FACTORS - 1.0), np.round(off.sum(axis=1), 9)))
    is_off = off[ranked[0]] > OUTLIER_C
    return np.ones_like(is_off) if 2 * is_off.sum() >= len(mean) else is_off


def _over(low_c: npt.ArrayLike, station_c: npt.ArrayLike) -> Values:
    low = np.asarray(low_c, dtype=np.float64)
    return np.asarray(low - np.asarray(station_c, dtype=np.float64)[:, None])


def _median(values: Values, axis: int) -> Values:
    """Median of what is known; NaN where nothing is."""
    known = np.where(np.isnan(values).all(axis=axis, keepdims=True), 0.0, values)
    return np.asarray(
        np.where(
            np.isnan(values).all(axis=axis), np.nan, np.nanmedian(known, axis=axis)
        )
    )


def _spread(values: Values) -> float:
    """Robust: by the quartiles, so that one wild reading moves nothing."""
    low, high = np.percentile(values, (25, 75))
    return float(high - low)
