"""Monte Carlo draws of what is not known about a place, each for all beds at once.

Beds of one place share what is not known, so a difference between two of them is surer
than either: each draw holds for all of them.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.intp]

DRAWS = 200
SEED = 1958  # any will do; kept, so that the same site gives the same dates
# Low, central and high of an estimate.
PERCENTILES = (0.1, 0.5, 0.9)


@dataclass(frozen=True)
class Draws:
    """Chances of 0 to 1 for all that is not known.

    Attributes
    ----------
    run, rate, gain, bias, soil
        (draws,): which run of the cold air, how much colder a metre of it is, what a
        cover is worth, how the place runs against the station, how far soil follows
        the sun.
    years
        (draws, years): which years of the record are taken.
    """

    run: Floats
    rate: Floats
    gain: Floats
    bias: Floats
    soil: Floats
    years: Whole


def sample(years: Whole, *, resample: bool) -> Draws:
    """Seeded draws.

    Parameters
    ----------
    years
        (years,) numbers of the years that can be taken.
    resample
        Years are drawn with replacement; else each draw takes all of them once.
    """
    rng = np.random.default_rng(SEED)
    chances = rng.random((5, DRAWS))
    taken = rng.integers(len(years), size=(DRAWS, len(years)))
    if not resample:
        taken = np.broadcast_to(np.arange(len(years)), taken.shape)
    run, rate, gain, bias, soil = chances
    return Draws(run, rate, gain, bias, soil, years[taken])


def triangular(chance: Floats, low: float, central: float, high: float) -> Floats:
    """Inverse CDF of a triangular distribution.

    Examples
    --------
    >>> triangular(np.array([0.0, 0.5, 1.0]), 0.0, 1.0, 2.0).tolist()
    [0.0, 1.0, 2.0]
    """
    span, left, right = high - low, central - low, high - central
    rising = low + np.sqrt(chance * span * left)
    falling = high - np.sqrt((1 - chance) * span * right)
    value = np.where(chance * span <= left, rising, falling)
    return np.clip(value, low, high)


def percentiles(draws: Floats) -> Floats:
    """Low, central and high of the draws on the last axis: (3, ...).

    Each is one of the draws, so that a date that is never reached (∞) can be one.
    """
    ordered = np.sort(draws, axis=-1)
    places = [round(part * (ordered.shape[-1] - 1)) for part in PERCENTILES]
    return np.stack([ordered[..., place] for place in places])
