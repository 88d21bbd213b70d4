"""What thermometers hung on the spot say about cold air: a factor, a bias, the next place.

A factor is how many times as far places lie apart as the ground tells; the bias
is how a place runs against the weather station. Only clear calm nights belong here.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import stats

Values = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]
Indices = npt.NDArray[np.intp]

# Less than this says nothing about a factor (a choice, no source).
FEWEST_LOGGERS = 3
FEWEST_NIGHTS = 10
LEAST_CONTRAST_C = 0.5
# Ranges hold the true value in 90 of 100 cases, so that noise passes for a factor in at
# most 5 of 100.
RANGE_ENDS = 0.05, 0.95
# A factor that counts makes the error at a thermometer that was left out smaller by at
# least a fifth (a choice).
LEAST_GAIN = 0.2
# How far places stray from what terrain tells: standard deviation far apart, as in
# `layers.scatter`. Fewer thermometers than these cannot tell that themselves.
PLACE_C = 0.71
FEWEST_TO_TELL_PLACES = 4


@dataclass(frozen=True)
class Evidence:
    """What thermometers could say together.

    Attributes
    ----------
    counted
        (loggers,) those that were read on ten nights on which another one was, too.
    nights
        On which at least two of those were read.
    contrast_c
        From the warmest to the coldest place among those, as the ground tells; 0 where
        there are none.
    """

    counted: Mask
    nights: int
    contrast_c: float

    @property
    def loggers(self) -> int:
        """How many thermometers count."""
        return int(np.count_nonzero(self.counted))

    @property
    def is_enough(self) -> bool:
        """Whether there are 3 thermometers, 10 nights and 0.5 °C of contrast."""
        return (
            self.loggers >= FEWEST_LOGGERS
            and self.nights >= FEWEST_NIGHTS
            and self.contrast_c >= LEAST_CONTRAST_C
        )


@dataclass(frozen=True)
class FactorFit:
    """How many times as far places lie apart as the ground tells, by thermometers.

    Attributes
    ----------
    low, factor, high
        Ends of the range at 90 %, and the fit between them; positive where what should
        be colder is.
    error
        Standard error of the fit.
    error_with_c, error_without_c
        Root mean square error of the mean of a thermometer that was left out, with the
        factor that the others give and with none; NaN where the others have no contrast.
    """

    low: float
    factor: float
    high: float
    error: float
    error_with_c: float
    error_without_c: float

    @property
    def is_more_than_noise(self) -> bool:
        """Whether the whole range is positive and the left-out error a fifth smaller."""
        most_c = (1 - LEAST_GAIN) * self.error_without_c
        return self.low > 0 and self.error_with_c < most_c


@dataclass(frozen=True)
class Bias:
    """How places run against the station beyond what was expected.

    Attributes
    ----------
    low_c, central_c, high_c
        Mean over nights and its range at 90 %; negative where the places are colder.
        Low and high are NaN after a single night.
    nights
        On which station and places were read.
    """

    low_c: float
    central_c: float
    high_c: float
    nights: int


def evidence(low_c: npt.ArrayLike, coldness_c: npt.ArrayLike) -> Evidence:
    """Thermometers, nights and contrast that a factor could be fitted from.

    Parameters
    ----------
    low_c
        (nights, loggers) minima of clear calm nights; NaN is missing.
    coldness_c
        (loggers,) how cold the ground makes each place [°C], more is colder.

    Raises
    ------
    ValueError
        When shapes differ or a coldness is missing.

    Examples
    --------
    >>> found = evidence(np.zeros((12, 3)), [0.0, 1.0, 5.0])
    >>> found.loggers, found.nights, found.contrast_c, found.is_enough
    (3, 12, 5.0, True)
    >>> evidence(np.zeros((9, 3)), [0.0, 1.0, 5.0]).loggers
    0
    """
    low, depth = _checked(low_c, coldness_c)
    present = ~np.isnan(low)
    counted = np.ones(depth.shape, dtype=np.bool_)
    while True:
        # A thermometer that falls out may leave another one alone on its nights.
        shared = (present & counted).sum(axis=1) >= 2
        fewer = counted & (present[shared].sum(axis=0) >= FEWEST_NIGHTS)
        if (fewer == counted).all():
            break
        counted = fewer
    contrast_c = float(np.ptp(depth[counted])) if counted.any() else 0.0
    return Evidence(counted, int(np.count_nonzero(shared)), contrast_c)


def deviations(
    low_c: npt.ArrayLike, coldness_c: npt.ArrayLike
) -> tuple[Values, Values]:
    """Minima and coldness less their mean over the thermometers read in the same night.

    Parameters
    ----------
    low_c
        (nights, loggers) minima; NaN is missing.
    coldness_c
        (loggers,).

    Returns
    -------
    deviation_c, colder_c
        (nights, loggers); NaN where a thermometer was not read, or read alone.

    Raises
    ------
    ValueError
        When shapes differ or a coldness is missing.

    Examples
    --------
    >>> cold, deep = deviations([[1.0, -1.0, np.nan], [2.0, np.nan, np.nan]], [0, 4, 9])
    >>> cold.tolist(), deep[0].tolist()
    ([[1.0, -1.0, nan], [nan, nan, nan]], [-2.0, 2.0, nan])
    """
    low, depth = _checked(low_c, coldness_c)
    present = ~np.isnan(low)
    present &= present.sum(axis=1, keepdims=True) >= 2
    depths = np.broadcast_to(depth, low.shape)
    return _less_night_mean(low, present), _less_night_mean(depths, present)


def fit_factor(low_c: npt.ArrayLike, coldness_c: npt.ArrayLike) -> FactorFit:
    """Fit of the deviation from the night's mean on that of what the ground tells.

    Parameters
    ----------
    low_c
        (nights, loggers) minima of clear calm nights, of thermometers that hang alike;
        NaN is missing.
    coldness_c
        (loggers,) how cold the ground makes each place [°C], more is colder.

    Returns
    -------
    fit
        Least squares over all readings. Nights of one thermometer do not count as
        independent: whatever its place or make adds comes again every night. The range
        rests on the scatter of the thermometers' means about the line, with as many
        degrees of freedom as there are thermometers less two. Where all were read on
        all nights, it is that of a straight line through those means; else it is near.

    Raises
    ------
    ValueError
        When shapes differ, a coldness is missing, or there are under 3 thermometers, 10
        nights or 0.5 °C of contrast (see `evidence`).

    Notes
    -----
    For the weights w of each thermometer in the slope, the slope's variance is that of
    a thermometer times the sum of w².
    """
    found = evidence(low_c, coldness_c)
    if not found.is_enough:
        raise ValueError(
            f"a factor needs {FEWEST_LOGGERS} thermometers, {FEWEST_NIGHTS} nights and"
            f" {LEAST_CONTRAST_C:g} °C of contrast, got {found.loggers}, {found.nights}"
            f" and {found.contrast_c:g} °C"
        )
    low, depth = _checked(low_c, coldness_c)
    low, depth = low[:, found.counted], depth[found.counted]
    cold, deep = deviations(low, depth)
    slope = _slope(cold, deep)
    weights = np.nansum(deep, axis=0) / np.nansum(deep**2)
    scatter = np.nanmean(cold - slope * deep, axis=0)
    free = found.loggers - 2
    error = np.sqrt((scatter**2).sum() / free * (weights**2).sum())
    half = float(stats.t.ppf(RANGE_ENDS[1], free) * error)
    with_factor, without = _left_out_errors_c(low, depth)
    ends = -slope - half, -slope, -slope + half
    return FactorFit(*ends, float(error), with_factor, without)


def bias_against_station(
    low_c: npt.ArrayLike,
    station_c: npt.ArrayLike,
    expected_c: npt.ArrayLike,
    *,
    rate_error_c: float = 0.0,
    place_c: float = PLACE_C,
) -> Bias:
    """How thermometers run against the station beyond what is expected of their places.

    Parameters
    ----------
    low_c
        (nights, loggers) minima of clear calm nights; NaN is missing.
    station_c
        (nights,) minima at the station.
    expected_c
        (loggers,) how much warmer than the reference each place should be; 0 for the
        plain difference.
    rate_error_c
        Standard error of the mean of what is expected.
    place_c
        Standard deviation by which places stray from what is expected; where fewer than
        four thermometers were read it is taken as at least that, else it is theirs.

    Returns
    -------
    bias
        Each night counts once, by the mean over its thermometers. What all of them read
        too high or too low is in it and cannot be separated. Its error has three
        parts: nights, places and what is expected; Student's t takes the degrees of
        freedom of their sum by Welch and Satterthwaite.

    Raises
    ------
    ValueError
        When shapes differ, an expected value is missing, or on no night both the
        station and a thermometer were read.

    Examples
    --------
    >>> bias = bias_against_station([[-3.0, -5.0], [-1.0, -3.0]], [0.0, 2.0], [0, 0])
    >>> bias.central_c, bias.nights
    (-4.0, 2)
    """
    low, expected = _checked(low_c, expected_c)
    station = np.asarray(station_c, dtype=np.float64)
    if station.shape != low.shape[:1]:
        raise ValueError(
            f"station_c must have {low.shape[0]} nights, got shape {station.shape}"
        )
    over = low - station[:, None] - expected
    present = ~np.isnan(over)
    read = present.any(axis=1)
    if not read.any():
        raise ValueError("no night on which the station and a thermometer were read")
    nightly = _night_mean(over, present)[read, 0]
    mean = float(nightly.mean())
    if len(nightly) == 1:
        return Bias(np.nan, mean, np.nan, 1)
    of_nights = float(nightly.var(ddof=1)) / len(nightly), len(nightly) - 1.0
    of_places = _places_variance(over, place_c)
    half = _half_range_c([of_nights, of_places, (rate_error_c**2, np.inf)])
    return Bias(mean - half, mean, mean + half, len(nightly))


def next_places(
    swing_c: Values,
    places_m: Values,
    known_swing_c: Values,
    known_m: Values,
    apart_m: float,
    count: int,
) -> Indices:
    """Places where one more thermometer would tell most, best first.

    The prediction for a place against one that is known spreads by as much as their
    swings differ; the place whose spread against the nearest known swing is largest
    comes first, and counts as known from then on.

    Parameters
    ----------
    swing_c
        (places,) highest answer less the lowest: signed, 0 at the
        reference; NaN where nothing is predicted.
    places_m
        (places, 2) east and north.
    known_swing_c, known_m
        (known,) and (known, 2): where thermometers hang. With none, the reference is
        what is known.
    apart_m
        No place nearer than this to a known one or to another choice.
    count
        How many places at most.

    Returns
    -------
    chosen
        Indices of places; fewer than `count` where no place is left or none would tell
        anything.

    Raises
    ------
    ValueError
        When shapes differ.

    Examples
    --------
    >>> line = np.array([[0.0, 0], [50, 0], [100, 0], [150, 0]])
    >>> swing = np.array([-0.1, -0.6, -1.0, 0.2])
    >>> next_places(swing, line, np.empty(0), np.empty((0, 2)), 60.0, 2).tolist()
    [2, 0]
    """
    swing = np.asarray(swing_c, dtype=np.float64)
    at, known = (np.asarray(m, dtype=np.float64) for m in (places_m, known_m))
    known_swing = np.asarray(known_swing_c, dtype=np.float64)
    if at.shape != (*swing.shape, 2) or known.shape != (*known_swing.shape, 2):
        raise ValueError(
            f"places must be (n, 2) for n swings, got {at.shape} for {swing.shape} and"
            f" {known.shape} for {known_swing.shape}"
        )
    is_free = ~np.isnan(swing)
    for place in known:
        is_free &= np.hypot(*(at - place).T) >= apart_m
    seen = known_swing[~np.isnan(known_swing)]
    if not seen.size:
        seen = np.zeros(1)
    spread = np.abs(swing[:, None] - seen).min(axis=1)
    chosen: list[int] = []
    while len(chosen) < count and (is_free & (spread > 0)).any():
        best = int(np.argmax(np.where(is_free, spread, -np.inf)))
        chosen.append(best)
        is_free &= np.hypot(*(at - at[best]).T) >= apart_m
        spread = np.minimum(spread, np.abs(swing - swing[best]))
    return np.array(chosen, dtype=np.intp)


def _checked(low_c: npt.ArrayLike, facts: npt.ArrayLike) -> tuple[Values, Values]:
    """Minima (nights, loggers) and one known number for each logger."""
    low = np.asarray(low_c, dtype=np.float64)
    each = np.asarray(facts, dtype=np.float64)
    if low.ndim != 2 or each.shape != low.shape[1:]:
        raise ValueError(
            "minima must be (nights, loggers) with one fact for each logger, got"
            f" {low.shape} and {each.shape}"
        )
    if not np.isfinite(each).all():
        raise ValueError(f"what is known of each logger must be finite, got {each}")
    return low, each


def _night_mean(values: Values, present: Mask) -> Values:
    """(nights, 1) mean over what is present; 0 where nothing is."""
    total = np.where(present, values, 0.0).sum(axis=1, keepdims=True)
    return np.asarray(total / np.maximum(1, present.sum(axis=1, keepdims=True)))


def _less_night_mean(values: Values, present: Mask) -> Values:
    return np.where(present, values - _night_mean(values, present), np.nan)


def _slope(cold: Values, deep: Values) -> float:
    """Least squares through the origin; NaN where places are all alike."""
    spread = float(np.nansum(deep**2))
    return float(np.nansum(cold * deep)) / spread if spread > 0 else float("nan")


def _left_out_errors_c(low: Values, depth: Values) -> tuple[float, float]:
    """Errors at each thermometer in turn, predicted from the others with and without.

    Each is the mean over its nights, as a place strays alike on all of them. Without a
    factor it should read what the others read in the mean of that night.
    """
    with_factor, without = [], []
    for left_out in range(len(depth)):
        others = np.arange(len(depth)) != left_out
        rest, deeper = low[:, others], depth[others]
        present = ~np.isnan(rest)
        nights = present.any(axis=1) & ~np.isnan(low[:, left_out])
        mean_c = _night_mean(rest, present)[nights, 0]
        depths = np.broadcast_to(deeper, rest.shape)
        mean_m = _night_mean(depths, present)[nights, 0]
        over = low[nights, left_out] - mean_c
        without.append(over.mean())
        deeper_c = (depth[left_out] - mean_m).mean()
        with_factor.append(over.mean() - _slope(*deviations(rest, deeper)) * deeper_c)
    return _root_mean_square(with_factor), _root_mean_square(without)


def _root_mean_square(errors: list[float]) -> float:
    return float(np.sqrt(np.square(errors).mean()))


def _places_variance(over_c: Values, place_c: float) -> tuple[float, float]:
    """What places add to the variance of a mean, and its degrees of freedom.

    The scatter of the thermometers' means, less what nights alone make of it.
    """
    read = over_c[:, ~np.isnan(over_c).all(axis=0)]
    count = read.shape[1]
    known = place_c**2 / count
    shared = ~np.isnan(read)
    shared &= shared.sum(axis=1, keepdims=True) >= 2
    if count < 2 or not shared.any(axis=0).all():
        return known, np.inf
    apart = _less_night_mean(read, shared)
    of_each = np.nanmean(apart, axis=0)
    nights = shared.sum(axis=0)
    free = max(1, int(shared.any(axis=1).sum()) - 1) * (count - 1)
    own = float(np.nansum((apart - of_each) ** 2)) / free
    found = float(np.var(of_each, ddof=1)) - own * float((1 / nights).mean())
    found = max(0.0, found) / count
    if count < FEWEST_TO_TELL_PLACES and found < known:
        return known, np.inf
    return found, count - 1.0


def _half_range_c(parts: list[tuple[float, float]]) -> float:
    """Half the range at 90 % of a sum of variances with their degrees of freedom."""
    variance = sum(part for part, _free in parts)
    if variance == 0:
        return 0.0
    # Where all variances are known the sum is 0, and from a million degrees of freedom on
    # Student's t is as good as normal.
    free = variance**2 / max(sum(part**2 / free for part, free in parts), 1e-300)
    return float(stats.t.ppf(RANGE_ENDS[1], min(free, 1e6)) * np.sqrt(variance))
