"""What terrain does not tell of cold nights: from place to place, and night to night.

Two places differ on a still night by more than the law of terrain says, the more so the
farther apart they lie; and a place strays from night to night about its own. Both are
told as random fields of which the correlation falls with distance, and one factor a
night that multiplies the offsets of all places.

The sizes are those of night minima at farm scale (open loggers in Finland and on the
Pumice Plain of Mount St Helens): pairs far apart differ by a standard deviation of 1.0 °C
that no terrain tells, and stray by .85 °C in a single night beyond their common factor.
"""

from typing import NamedTuple

import numba
import numpy as np
import numpy.typing as npt
from scipy import special

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]
Days = npt.NDArray[np.int16]

REACH_M = 100.0  # over which the correlation falls to 1/e (a choice, no source)
WAVES = 512  # of which a field is the sum
LEVELS = 16  # equally likely dates that stand for all of a year's
FACTORS = 16  # equally likely factors that stand for all of their law
NO_DATE = 1000  # sign, in a table of days, of a year without a freeze
X_STEP_C = 0.05  # of the table of chances
# Two nights that differ by less are the same.
_SAME_C = 1e-6
_BESIDE_SD = 5.0  # standard deviations beyond which a normal law ends


class Scatter(NamedTuple):
    """How far places and nights stray, as standard deviations.

    Attributes
    ----------
    place_c
        Of a place about what terrain tells. Two places x apart differ by √2 times
        √(1 − exp(−x/100 m)) of it.
    night_c
        Of a place about its own on a still night, beyond the night's factor.
    factor
        Of the factor of a night, a gamma law of mean 1. The mean of three grounds: .85
        on the Pumice Plain, .8 and .5 in Finland (`benchmarks/validation`).
    """

    place_c: float = 0.5**0.5
    night_c: float = 0.6
    factor: float = 0.7


NO_SCATTER = Scatter(0.0, 0.0, 0.0)


def fields(places_m: npt.ArrayLike, count: int, seed: int) -> Floats:
    """Random fields of variance 1 at places, correlated as exp(−distance/100 m).

    The same place gets the same value in a draw, whatever other places are asked for.

    Parameters
    ----------
    places_m
        (places, 2) east and north; NaN gives NaN.
    count
        Number of fields.
    seed
        Of the random numbers.

    Returns
    -------
    fields
        (count, places), normal with mean 0.

    Raises
    ------
    ValueError
        When places are not pairs.

    Notes
    -----
    Spectral method: a sum of waves of which the vectors follow the spectrum of the
    correlation, p(k) ~ (1 + (100 k)²)^(−3/2) in the plane, spread evenly over its
    distribution and by the golden angle over directions; their amplitudes are normal.
    """
    places = np.asarray(places_m, np.float64)
    if places.ndim != 2 or places.shape[1] != 2:
        raise ValueError(f"places must be (places, 2), got {places.shape}")
    vectors = _wave_vectors()
    phase = places @ vectors
    amplitude = np.random.default_rng(seed).standard_normal((count, 2, WAVES))
    summed = amplitude[:, 0] @ np.cos(phase).T + amplitude[:, 1] @ np.sin(phase).T
    return np.asarray(summed / np.sqrt(WAVES))


def _wave_vectors() -> Floats:
    """(2, waves) in radians per metre."""
    number = np.arange(WAVES)
    # Inverse of the share of waves that are longer, 1 − 1/√(1 + (100 k)²).
    shorter = 1 - (number + 0.5) / WAVES
    length = np.sqrt(shorter**-2 - 1) / REACH_M
    angle = number * np.pi * (3 - np.sqrt(5))
    return np.stack([length * np.cos(angle), length * np.sin(angle)])


def difference_sd_c(distance_m: npt.ArrayLike, place_c: float) -> Floats:
    """Standard deviation of what terrain does not tell between two places.

    Examples
    --------
    >>> difference_sd_c([0.0, 100.0, 1e6], 0.5**0.5).round(3).tolist()
    [0.0, 0.795, 1.0]
    """
    apart = -np.expm1(-np.asarray(distance_m, np.float64) / REACH_M)
    return np.asarray(np.sqrt(2 * apart) * place_c)


class NightLaw(NamedTuple):
    """Chances that a night's offset is at or below a limit.

    Attributes
    ----------
    chance
        (offsets, limits): for limits in the middle of steps of `X_STEP_C`.
    from_c
        Where the first step begins.
    """

    chance: Floats
    from_c: float


def night_law(offsets_c: npt.ArrayLike, scatter: Scatter) -> NightLaw:
    """How the offset of a single still night lies about a place's own.

    The place's own times the night's factor, and the rest of the night.

    Parameters
    ----------
    offsets_c
        (offsets,) of places on a mean still night.
    """
    own = np.asarray(offsets_c, np.float64)
    factor = _factors(scatter.factor)
    beside = _BESIDE_SD * scatter.night_c + X_STEP_C
    first = np.floor((min(own.min(), 0.0) * factor.max() - beside) / X_STEP_C)
    last = np.ceil((max(own.max(), 0.0) * factor.max() + beside) / X_STEP_C)
    limit = (np.arange(first, last) + 0.5) * X_STEP_C
    rest = max(scatter.night_c, _SAME_C)
    chance = np.zeros((len(own), len(limit)))
    for each in factor:
        chance += special.ndtr((limit - own[:, np.newaxis] * each) / rest)
    return NightLaw(chance / len(factor), float(first * X_STEP_C))


def _factors(spread: float) -> Floats:
    """Equally likely factors of a gamma law of mean 1, that keep its mean."""
    if spread == 0:
        return np.ones(1)
    shape = spread**-2
    factor = special.gammaincinv(shape, (np.arange(FACTORS) + 0.5) / FACTORS) / shape
    return np.asarray(factor / factor.mean())


def last_freezes(
    nights_c: Floats,
    seasons: tuple[Whole, Whole],
    day_number: Whole,
    limits_c: Floats,
    law: NightLaw,
) -> Days:
    """Last freeze of each season as equally likely dates, (seasons, 16, offsets, limits).

    Parameters
    ----------
    nights_c
        (days,) minima of still nights; NaN for any other.
    seasons
        Index of the first day of each, and one past its last.
    day_number
        (days,) of the days, under `NO_DATE`.
    limits_c
        (limits,) at or below which a night of no offset is a freeze.
    law
        Of the offset of a night; nights stray independently.

    Returns
    -------
    dates
        Of rising order; −`NO_DATE` without a freeze.
    """
    size = len(seasons[0]), LEVELS, len(law.chance), len(limits_c)
    out = np.empty(size, np.int16)
    _fill(nights_c, seasons, day_number, limits_c, law.chance, law.from_c, out)
    return out


def first_freezes(
    nights_c: Floats,
    seasons: tuple[Whole, Whole],
    day_number: Whole,
    limits_c: Floats,
    law: NightLaw,
) -> Days:
    """First freeze of each season, as `last_freezes`; `NO_DATE` without one.

    In falling order, so that the same place among the dates is as cold a season.
    """
    days = len(nights_c)
    starts, stops = seasons
    mirrored = days - stops, days - starts
    turned = (nights_c[::-1].copy(), mirrored, -day_number[::-1].copy())
    return np.asarray(-last_freezes(*turned, limits_c, law))


@numba.njit(cache=True)
def _fill(
    nights_c: Floats,
    seasons: tuple[Whole, Whole],
    day_number: Whole,
    limits_c: Floats,
    chance: Floats,
    from_c: float,
    out: Days,
) -> None:
    (starts, stops), steps = seasons, chance.shape[1]
    day_of, step_of = (
        np.empty(nights_c.size, np.int64),
        np.empty(nights_c.size, np.int64),
    )
    for year in range(starts.size):
        for at in range(limits_c.size):
            count = 0  # of nights that can be a freeze, from the last one on
            for day in range(stops[year] - 1, starts[year] - 1, -1):
                over_c = limits_c[at] - nights_c[day] + _SAME_C - from_c
                if over_c >= 0:  # NaN is not
                    day_of[count] = day_number[day]
                    step_of[count] = int(over_c / X_STEP_C)
                    count += 1
            for own in range(chance.shape[0]):
                level, free = LEVELS - 1, 1.0  # chance of no freeze after the night
                for night in range(count):
                    step = step_of[night]
                    free *= 1.0 - (chance[own, step] if step < steps else 1.0)
                    while level >= 0 and (level + 0.5) / LEVELS > free:
                        out[year, level, own, at] = day_of[night]
                        level -= 1
                    if level < 0:
                        break
                while level >= 0:
                    out[year, level, own, at] = -NO_DATE
                    level -= 1
