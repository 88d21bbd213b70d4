"""Monte Carlo draws of what is not known about a place, each for all beds at once.

Beds of one place share what is not known, so a difference between two of them is surer
than either: each draw holds for all of them. What terrain does not tell of a place is
drawn as a field over all beds, so that near ones share most of it.

How a single night strays belongs to the risk and not to the range: each year of a draw
takes one of the equally likely dates that its nights can give.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import special

from layers import scatter
from layers.scatter import Scatter

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.intp]

DRAWS = 200
SEED = 1958  # any will do; kept, so that the same site gives the same dates
# Low, central and high of an estimate.
PERCENTILES = (0.1, 0.5, 0.9)
SCATTER = Scatter()


@dataclass(frozen=True)
class Draws:
    """What is drawn of all that is not known, mostly as chances of 0 to 1.

    Attributes
    ----------
    run, rate, size, gain, bias, soil, mixed
        (draws,): which run of the cold air, how much colder it makes a place, how large
        all differences of this ground are, what a cover is worth, how the place runs
        against the station, how far soil follows the sun, how much of an offset is left
        on mixed nights.
    years
        (draws, years): which years of the record are taken.
    in_spring, in_autumn
        (draws, places for years): which of the equally likely dates a year takes.
    scatter
        How far places and nights stray.
    """

    run: Floats
    rate: Floats
    size: Floats
    gain: Floats
    bias: Floats
    soil: Floats
    mixed: Floats
    years: Whole
    in_spring: Whole
    in_autumn: Whole
    scatter: Scatter = SCATTER

    def place_c(self, places_m: Floats) -> Floats:
        """What terrain does not tell of places, (draws, places)."""
        fields = scatter.fields(places_m, len(self.run), SEED)
        return np.asarray(self.scatter.place_c * fields)


def sample(
    years: Whole, in_record: int, *, resample: bool, spread: Scatter = SCATTER
) -> Draws:
    """Seeded draws.

    Parameters
    ----------
    years
        (years,) numbers of the years that can be taken.
    in_record
        Number of all years of the record, as many as a draw may have to take.
    resample
        Years are drawn with replacement; else each draw takes all of them once.
    spread
        How far places and nights stray.
    """
    rng = np.random.default_rng(SEED)
    run, rate, gain, bias, soil, mixed, size = rng.random((7, DRAWS))
    taken = rng.integers(len(years), size=(DRAWS, len(years)))
    in_spring, in_autumn = rng.integers(scatter.LEVELS, size=(2, DRAWS, in_record))
    # Few years are no sample of others: their range is widened instead (`odds`).
    if not resample:
        taken = np.broadcast_to(np.arange(len(years)), taken.shape)
    return Draws(
        run=run,
        rate=rate,
        size=size,
        gain=gain,
        bias=bias,
        soil=soil,
        mixed=mixed,
        years=years[taken],
        in_spring=in_spring,
        in_autumn=in_autumn,
        scatter=spread,
    )


def triangular(chance: Floats, low: float, central: float, high: float) -> Floats:
    """Inverse CDF of a triangular distribution.

    Parameters
    ----------
    chance
        Chances from 0 to 1, any shape; NaN stays NaN.
    low, central, high
        Least value, mode and greatest value of the distribution, in the unit of the
        answer.

    Examples
    --------
    >>> triangular(np.array([0.0, 0.5, 1.0]), 0.0, 1.0, 2.0).tolist()
    [0.0, 1.0, 2.0]
    """
    span, left, right = high - low, central - low, high - central
    rising = low + np.sqrt(chance * span * left)
    falling = high - np.sqrt((1 - chance) * span * right)
    # The CDF is left / span at the mode, where the two branches meet.
    value = np.where(chance * span <= left, rising, falling)
    return np.clip(value, low, high)


def normal_between(chance: Floats, low: float, central: float, high: float) -> Floats:
    """Inverse CDF of two half normal laws whose 5th and 95th percentiles are low and high.

    Cut off there. What was measured has such a range; the percentiles that are shown lie
    within it.

    Parameters
    ----------
    chance
        Chances from 0 to 1, any shape; NaN stays NaN.
    low, central, high
        5th, 50th and 95th percentile, in the unit of the answer.

    Examples
    --------
    >>> chance = np.array([0.01, 0.1, 0.5, 0.95])
    >>> normal_between(chance, -1.0, 0.0, 2.0).round(2).tolist()
    [-1.0, -0.78, 0.0, 2.0]
    """
    deviation = special.ndtri(chance) / special.ndtri(0.95)
    side = np.where(deviation < 0, central - low, high - central)
    return np.asarray(np.clip(central + side * deviation, low, high))


def percentiles(draws: Floats) -> Floats:
    """Low, central and high of the draws on the last axis: (3, ...).

    Each is one of the draws, so that a date that is never reached (∞) can be one.
    """
    places = [round(part * (draws.shape[-1] - 1)) for part in PERCENTILES]
    ordered = np.sort(draws, axis=-1)  # quicker than parting them at three places
    return np.stack([ordered[..., place] for place in places])
