"""How much colder one place is than another on a clear calm night, and how sure that is.

Degrees follow from the depth of the cold air and from how wet the ground lies, by weights
that are known to some tenths; the size of differences changes from ground to ground; and
places differ by what no terrain tells. All three are in a range.
"""

import math
from typing import NamedTuple

import numba
import numpy as np
import numpy.typing as npt
from scipy import special

from layers._grid import Grid, check_same_shape

Mask = npt.NDArray[np.bool_]
Cells = npt.NDArray[np.float64]  # any shape

# What the root of a metre of cold air [°C per √m] and a unit of the wetness index [°C]
# are worth: low, central, high. Round numbers, chosen on night minima of 39 open loggers
# on three grounds (a plain, a basin, a wooded valley), none of them a farm.
ROOT_DEPTH_C = (0.4, 0.6, 0.9)
WETNESS_C = (0.0, 0.15, 0.25)
# Without a flow: what standing wholly above the ground around is worth beside standing
# level with it. Half of what low ground was seen to be colder than high ground (Finland,
# night minima of loggers within 500 m: 0.4, 1.2, 2.1 °C).
ABOVE_C = (0.2, 0.6, 1.05)
ABOVE_FROM_M = 5.0  # about where height stops to count (loosely known: 1 to 15 m)
# Further than this nobody should believe it of a farm before it was measured there.
COLDEST_C, WARMEST_C = -4.0, 4.0
# By how much the size of differences changes from ground to ground: standard deviation
# of the logarithm of a factor. Observed per predicted was .6, 1.5 and 1.3 on the three
# grounds, which spread by .48; a fourth, by .48 √(1 + 1/3).
GROUND_FACTOR_SD = 0.55
# Without a flow, terrain leaves this many times as much unexplained (a choice).
STOPGAP_ASTRAY = 1.5
CASES = 64  # equally likely ones that stand for all (a choice)
RANGE_ENDS = 0.1, 0.9  # of them; 8 of 10 lie between
# Multiples of the powers of the root of x⁴ = x + 1 fill three dimensions evenly (a
# generalised golden ratio).
_EVENLY = 1.2207440846057596 ** -np.arange(1.0, 4.0)
_STEPS, _NEAR_C = 60, 1e-4  # of Newton, or of halving; it seldom takes over six
_ROOT_2, _ROOT_2_PI = np.sqrt(2.0), np.sqrt(2 * np.pi)


def coldness_c(cold_air_m: Cells, wetness: Cells) -> Cells:
    """How cold places of one ground are, by the cold air on them and their wetness.

    d = a √h + b W, for each of the pairs of weights `ROOT_DEPTH_C` and `WETNESS_C`. Only
    differences mean anything: see `offsets_c`.

    Parameters
    ----------
    cold_air_m
        Any shape: depth h of the cold layer; NaN stays NaN.
    wetness
        The same shape: W of `drainage.cold_air_wetness`.

    Returns
    -------
    coldness
        (3, ...) [°C], more is colder.

    Raises
    ------
    ValueError
        When shapes differ.

    Notes
    -----
    Chosen among laws whose weights were fitted on two grounds and tried on the third:
    no law is best everywhere; this one put pairs of places in the right order on all
    (see `benchmarks/validation`). √h is steep where the layer is thin, and flat ground
    that gathers stays colder than its depth alone says.

    Examples
    --------
    >>> deep, thin = coldness_c(np.array([4.0, 1.0]), np.array([7.0, 6.0])).T
    >>> (deep - thin).round(2).tolist()
    [0.4, 0.75, 1.15]
    """
    return _weighed(np.sqrt(np.maximum(cold_air_m, 0.0)), wetness, ROOT_DEPTH_C)


def stopgap_coldness_c(above_m: Cells, wetness: Cells) -> Cells:
    """How cold places are by height and wetness alone, without letting the air flow.

    Parameters
    ----------
    above_m
        Any shape: height above the middle of the ground around; NaN stays NaN.
    wetness
        As in `coldness_c`.

    Returns
    -------
    coldness
        (3, ...) [°C], more is colder. The order of places is hardly known from it: it
        is right on some grounds and a toss of a coin on others.

    Raises
    ------
    ValueError
        When shapes differ.

    Examples
    --------
    >>> low, high = stopgap_coldness_c(np.array([-5.0, 5.0]), np.zeros(2)).T
    >>> (low - high).round(2).tolist()
    [0.3, 0.91, 1.6]
    """
    return _weighed(-np.tanh(np.asarray(above_m) / ABOVE_FROM_M), wetness, ABOVE_C)


def _weighed(first: Cells, wetness: Cells, weights_c: tuple[float, ...]) -> Cells:
    """Sum of both, for each pair of weights."""
    check_same_shape(first=first, wetness=wetness)
    return np.stack(
        [a * first + b * wetness for a, b in zip(weights_c, WETNESS_C, strict=True)]
    )


def offsets_c(coldness_c: Cells, reference_c: npt.ArrayLike) -> Cells:
    """How much warmer places are than the reference.

    Parameters
    ----------
    coldness_c
        (answers, ...), as `coldness_c` or `stopgap_coldness_c` gives it.
    reference_c
        (answers,) that of the reference (see `reference_median`).

    Returns
    -------
    offsets
        As `coldness_c` [°C]; negative is colder.

    Raises
    ------
    ValueError
        When there is not one finite number for each answer.

    Examples
    --------
    >>> offsets_c(np.array([[2.0, 5.0]]), [3.0]).tolist()
    [[1.0, -2.0]]
    """
    reference = np.asarray(reference_c, np.float64)
    if reference.shape != coldness_c.shape[:1] or not np.isfinite(reference).all():
        raise ValueError(f"reference_c must be one number an answer, got {reference}")
    # Taken from 0.0, so that the reference itself comes out as 0.0 and not as -0.0.
    over = coldness_c - reference.reshape(-1, *[1] * (coldness_c.ndim - 1))
    return np.asarray(0.0 - over)


def reference_median(values: Grid, reference: Mask) -> float:
    """Median over the cells of the reference, missing ones left out.

    Parameters
    ----------
    values
        (rows, cols); missing cells are left out.
    reference
        The same shape: cells that count.

    Raises
    ------
    ValueError
        When shapes differ or the reference holds no cell with a value.

    Examples
    --------
    >>> reference_median(np.array([[1.0, 3.0, np.nan]]), np.array([[True, True, True]]))
    2.0
    """
    if reference.shape != values.shape:
        raise ValueError(
            f"grids must have one shape, got {values.shape} and {reference.shape}"
        )
    chosen = values[reference.astype(bool)]
    chosen = chosen[~np.isnan(chosen)]
    if chosen.size == 0:
        raise ValueError("the reference holds no cell with a value")
    return float(np.median(chosen))


class Cases(NamedTuple):
    """Equally likely cases of what is not known of an offset, (cases,) each.

    Attributes
    ----------
    run
        Which run of the flow, as a share of their number.
    weights
        Place among the pairs of weights: 0 is low, 1 central, 2 high.
    factor
        Of this ground, by which all its differences are multiplied.
    """

    run: Cells
    weights: Cells
    factor: Cells


def cases(factor_sd: float = GROUND_FACTOR_SD) -> Cases:
    """The cases of which a range is made: each unknown spread evenly over its law.

    Weights are triangular with the central ones the likeliest, factors log-normal; the
    same cases every time.

    Parameters
    ----------
    factor_sd
        Of the logarithm of the factor; 0 where thermometers gave it.
    """
    spread = (np.arange(CASES)[:, np.newaxis] * _EVENLY) % 1.0
    # Each unknown by its rank, so that its own law is met evenly.
    run, weights, factor = (spread.argsort(axis=0).argsort(axis=0).T + 0.5) / CASES
    below = weights < 0.5
    return Cases(
        run,
        np.where(below, np.sqrt(2 * weights), 2 - np.sqrt(2 - 2 * weights)),
        ground_factor(factor, factor_sd),
    )


def ground_factor(chance: npt.ArrayLike, factor_sd: float = GROUND_FACTOR_SD) -> Cells:
    """By what differences of a ground are multiplied, at chances of 0 to 1.

    Parameters
    ----------
    chance
        Any shape, 0-1.
    factor_sd
        Standard deviation of the factor's logarithm.

    Examples
    --------
    >>> ground_factor([0.5, 0.9]).round(2).tolist()
    [1.0, 2.02]
    """
    return np.asarray(np.exp(factor_sd * special.ndtri(np.asarray(chance))))


def range_c(
    answers_c: Cells, central: int, drawn: Cases, astray_sd_c: npt.ArrayLike = 0.0
) -> Cells:
    """Low, central and high: in 8 of 10 places like these it lies between the two.

    For a place against the reference as for the difference of two places, of which the
    answers are subtracted one by one.

    Parameters
    ----------
    answers_c
        (runs x 3, ...) [°C]: by run of the flow and, within a run, by weights; NaN stays
        NaN.
    central
        Number of the answer that is held the likeliest.
    drawn
        What `cases` gives.
    astray_sd_c
        (...): standard deviation of what terrain does not tell between the two; 0 for a
        difference that is of one place, such as a change of it.

    Returns
    -------
    range
        (3, ...): low is the coldest, the central answer, high.

    Raises
    ------
    ValueError
        When the answers are not three a run.

    Examples
    --------
    >>> sure = cases(factor_sd=0.0)
    >>> range_c(np.array([-1.0, -1.0, -1.0]), 1, sure).tolist()
    [-1.0, -1.0, -1.0]
    >>> range_c(np.zeros(3), 1, sure, 1.0).round(2).tolist()
    [-1.28, 0.0, 1.28]
    """
    if len(answers_c) % 3:
        raise ValueError(f"answers must be three a run, got {len(answers_c)}")
    flat = np.ascontiguousarray(answers_c.reshape(len(answers_c), -1).T)
    sd = np.broadcast_to(np.asarray(astray_sd_c, np.float64), answers_c.shape[1:])
    ends = _ends(flat, sd.ravel(), drawn, np.array(RANGE_ENDS))
    likely = answers_c[central]
    low, high = (end.reshape(likely.shape) for end in ends)
    # The likeliest answer is one of the runs and may lie beyond 8 of 10 cases.
    return np.stack([np.minimum(low, likely), likely, np.maximum(high, likely)])


@numba.njit(cache=True, nogil=True)
def _ends(answers: Cells, sd: Cells, drawn: Cases, ends: Cells) -> Cells:
    """Quantiles over the cases, each with its normal law about it, (ends, places)."""
    places, count = answers.shape
    cases_ = drawn.run.size
    found = np.full((ends.size, places), np.nan)
    values = np.empty(cases_)
    for place in range(places):
        if np.isnan(answers[place, 0]) or np.isnan(sd[place]):
            continue
        for case in range(cases_):
            run = 3 * int(drawn.run[case] * (count // 3))
            below = min(1, int(drawn.weights[case]))
            part = drawn.weights[case] - below
            between = (1 - part) * answers[place, run + below]
            between += part * answers[place, run + below + 1]
            values[case] = drawn.factor[case] * between
        values.sort()
        for end in range(ends.size):
            found[end, place] = _quantile(values, sd[place], ends[end])
    return found


@numba.njit(cache=True, nogil=True)
def _deviates(chance: float) -> float:
    """Standard deviations of a normal law below which about so much lies; a start."""
    squared = -0.5 * np.pi * math.log(1 - (2 * chance - 1) ** 2)
    return math.copysign(math.sqrt(squared), chance - 0.5)


@numba.njit(cache=True, nogil=True)
def _quantile(values: Cells, sd: float, chance: float) -> float:
    """Where so much of normal laws about sorted values lies below."""
    at = chance * values.size - 0.5
    first = int(at)
    rest = at - first
    if sd <= 0:
        return float((1 - rest) * values[first] + rest * values[first + 1])
    # An end of 8 in 10 lies within 1.3 standard deviations of the outermost case.
    low, high = values[0] - 2 * sd, values[-1] + 2 * sd
    guess = values.mean() + _deviates(chance) * math.sqrt(values.var() + sd * sd)
    for _ in range(_STEPS):
        below = density = 0.0
        for value in values:
            z = (guess - value) / sd
            below += 0.5 * math.erfc(-z / _ROOT_2)
            density += np.exp(-0.5 * z * z)
        below /= values.size
        density /= values.size * sd * _ROOT_2_PI
        if below > chance:
            high = guess
        else:
            low = guess
        # Newton's step where it stays between what is known to be under and over.
        step = guess + (chance - below) / max(density, 1e-9)
        before = guess
        guess = step if low < step < high else 0.5 * (low + high)
        if abs(guess - before) < _NEAR_C:
            break
    return float(guess)
