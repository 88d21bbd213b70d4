"""What terrain does not tell of cold nights: from place to place, and night to night.

Two places differ on a still night by more than the law of terrain says, the more so the
farther apart they lie; and a place strays from night to night about its own. Both are
modelled as random fields of which the correlation falls with distance, and one factor a
night that multiplies the offsets of all places.

The sizes are those of night minima at farm scale (open loggers in Finland and on the
Pumice Plain of Mount St Helens): pairs far apart differ by a standard deviation of 1.0 °C
that no terrain tells, and stray by .85 °C in a single night beyond their common factor.
"""

from typing import NamedTuple

import numba
import numpy as np
import numpy.typing as npt
from scipy import ndimage, special

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]
Days = npt.NDArray[np.int16]
Flags = npt.NDArray[np.bool_]

REACH_M = 100.0  # over which the correlation falls to 1/e (a choice, no source)
WAVES = 512  # of which a field is the sum
FEWEST_RAD, MOST_RAD = 0.03, 1000.0  # of the phase of a wave over that reach
LEVELS = 16  # equally likely dates that stand for all of a year's
FACTORS = 200  # equally likely factors that stand for all of their law
NO_DATE = 1000  # sign, in a table of days, of a year without a freeze
X_STEP_C = 0.02  # of the table of chances; of it the steps of shifts are whole ones
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
    Spectral method: a sum of waves of normal amplitude, by the spectrum of the
    correlation, p(k) ~ (1 + (100 k)²)^(−3/2) in the plane. Each wave stands for a ring of
    it, as many for each doubling of the length; directions turn by the golden angle.
    """
    places = np.asarray(places_m, np.float64)
    if places.ndim != 2 or places.shape[1] != 2:
        raise ValueError(f"places must be (places, 2), got {places.shape}")
    vectors, share = _waves()
    phase = places @ vectors
    # Drawn for waves and not for places: so a place gets the same whatever else is asked.
    amplitude = np.random.default_rng(seed).standard_normal((2, count, WAVES))
    amplitude *= np.sqrt(share)
    return np.asarray(amplitude[0] @ np.cos(phase).T + amplitude[1] @ np.sin(phase).T)


def _waves() -> tuple[Floats, Floats]:
    """Vectors in radians per metre, (2, waves), and the variance of each, (waves,)."""
    edges = np.geomspace(FEWEST_RAD, MOST_RAD, WAVES - 1)
    longer = 1 - 1 / np.sqrt(1 + edges**2)  # share of the variance in longer waves
    share = np.diff(longer, prepend=0.0, append=1.0)
    length = np.sqrt(edges[1:] * edges[:-1])
    length = np.concatenate([[FEWEST_RAD / 2], length, [MOST_RAD * 2]]) / REACH_M
    angle = np.arange(WAVES) * np.pi * (3 - np.sqrt(5))
    return np.stack([length * np.cos(angle), length * np.sin(angle)]), share


def difference_sd_c(distance_m: npt.ArrayLike, place_c: float) -> Floats:
    """Standard deviation of what terrain does not tell between two places.

    Parameters
    ----------
    distance_m
        Between the two places, any shape.
    place_c
        Standard deviation at one place, `Scatter.place_c`.

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
    scatter
        How far nights differ from each other.
    """
    own = np.asarray(offsets_c, np.float64)
    factor = _factors(scatter.factor)
    beside = _BESIDE_SD * scatter.night_c + X_STEP_C
    first = np.floor((min(own.min(), 0.0) * factor.max() - beside) / X_STEP_C)
    last = np.ceil((max(own.max(), 0.0) * factor.max() + beside) / X_STEP_C)
    limit = (np.arange(first, last) + 0.5) * X_STEP_C
    times = np.sort(own[:, np.newaxis] * factor, axis=1)
    below = [np.searchsorted(each, limit) for each in times]
    chance = np.array(below) / len(factor)
    if scatter.night_c > 0:
        steps = scatter.night_c / X_STEP_C
        chance = ndimage.gaussian_filter1d(
            chance, steps, axis=1, mode="nearest", truncate=_BESIDE_SD
        )
    # Offsets side by side, in the order in which they are asked for.
    return NightLaw(np.asfortranarray(chance), float(first * X_STEP_C))


def _factors(spread: float) -> Floats:
    """Means of equally likely parts of a gamma law of mean 1."""
    if spread == 0:
        return np.ones(1)
    shape = spread**-2
    ends = special.gammaincinv(shape, np.arange(FACTORS + 1) / FACTORS)
    # Of a gamma law the part of the mean below x is the chance of the next law's.
    return np.asarray(FACTORS * np.diff(special.gammainc(shape + 1, ends)))


def last_freezes(
    nights_c: Floats,
    seasons: tuple[Whole, Whole],
    day_number: Whole,
    limits_c: Floats,
    law: NightLaw,
    wanted: Flags | None = None,
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
    wanted
        (offsets, limits) that are asked for; the others are as without a freeze. None
        for all.

    Returns
    -------
    dates
        Of rising order; −`NO_DATE` without a freeze.
    """
    dates = _room(seasons, limits_c, law, -NO_DATE)
    wanted = _all_or(wanted, dates)
    _fill(nights_c, seasons, day_number, limits_c, law, wanted, dates)
    return dates


def first_freezes(
    nights_c: Floats,
    seasons: tuple[Whole, Whole],
    day_number: Whole,
    limits_c: Floats,
    law: NightLaw,
    wanted: Flags | None = None,
) -> Days:
    """First freeze of each season, as `last_freezes`; `NO_DATE` without one.

    In falling order, so that the same place among the dates is as cold a season.

    Parameters
    ----------
    nights_c
        (days,) minima at the reference [°C].
    seasons
        First day and one past the last of each season, (seasons,) each.
    day_number
        (days,) number of each day in its season-year.
    limits_c
        (limits,) at or below which a night of no offset is a freeze.
    law
        Of the offset of a night; nights differ independently.
    wanted
        (offsets, limits) that are asked for; None for all.
    """
    days = len(nights_c)
    starts, stops = seasons
    mirrored = days - stops, days - starts
    turned = (nights_c[::-1].copy(), mirrored, day_number[::-1].copy())
    dates = _room(seasons, limits_c, law, NO_DATE)
    _fill(*turned, limits_c, law, _all_or(wanted, dates), dates)
    return dates


def _room(
    seasons: tuple[Whole, Whole], limits_c: Floats, law: NightLaw, none: int
) -> Days:
    """Dates of which none is found yet: (seasons, 16, offsets, limits).

    Offsets lie side by side, in the order in which they are filled and looked up.
    """
    size = len(seasons[0]), LEVELS, len(limits_c), len(law.chance)
    return np.swapaxes(np.full(size, none, np.int16), 2, 3)


def _all_or(wanted: Flags | None, dates: Days) -> Flags:
    return np.ones(dates.shape[2:], np.bool_) if wanted is None else wanted


@numba.njit(cache=True, nogil=True)
def _fill(
    nights_c: Floats,
    seasons: tuple[Whole, Whole],
    day_number: Whole,
    limits_c: Floats,
    law: NightLaw,
    wanted: Flags,
    out: Days,
) -> None:
    (starts, stops), chance, from_c = seasons, law.chance, law.from_c
    steps = chance.shape[1]
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
                if not wanted[own, at]:
                    continue
                level, free = LEVELS - 1, 1.0  # chance of no freeze after the night
                for night in range(count):
                    step = step_of[night]
                    free *= 1.0 - (chance[own, step] if step < steps else 1.0)
                    # Each date stands for an equal part of the chance, by its middle.
                    while level >= 0 and (level + 0.5) / LEVELS > free:
                        out[year, level, own, at] = day_of[night]
                        level -= 1
                    if level < 0:
                        break
