"""What the light of a day is good for, and when it comes."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Literal, NamedTuple

import numpy as np

from fieldmap.model.estimate import OneOrMany
from fieldmap.model.season_year import COMMON_YEAR, DAYS
from layers import warmth

Enough = Literal["yes", "just", "no"]

# Light that a tomato in fruit wants, 20 to 30 mol/m²/day (Torres & Lopez, Purdue
# extension HO-238-W).
TOMATO_MOL_M2_DAY = 20.0
# Sun counts as even up to this part of it in one half of the day: a choice, no source.
EVEN_SUN = 0.6
# On shorter days leaves hardly grow, whatever the warmth (common practice, no source).
SHORT_DAY_H = 10.0


class ShortDays(NamedTuple):
    """The part of the year in which days are short.

    Attributes
    ----------
    first, last
        Month and day of the first and the last of them.
    """

    first: tuple[int, int]
    last: tuple[int, int]

    def mean_hours(self, monthly: Sequence[float]) -> float:
        """Mean over these days of what is given for the days of each month.

        Examples
        --------
        30 days of November and 31 of December:

        >>> ShortDays((11, 1), (12, 31)).mean_hours([0.0] * 10 + [6.1, 0.0])
        3.0
        """
        first, last = (date(COMMON_YEAR, *day) for day in (self.first, self.last))
        count = (last - first).days % DAYS + 1
        months = [(first + timedelta(at)).month for at in range(count)]
        # Sums of tenths carry noise that would show in files.
        return round(float(np.mean([monthly[month - 1] for month in months])), 6)


def short_days(latitude_deg: float) -> ShortDays | None:
    """When days are shorter than ten hours at a place; None where none is, or all are.

    By the middle of the sun without refraction, as `layers.warmth.day_length_h`.

    Examples
    --------
    >>> short_days(30.0) is None
    True
    """
    is_short = warmth.day_length_h(latitude_deg, np.arange(1, DAYS + 1)) < SHORT_DAY_H
    if is_short.all() or not is_short.any():
        return None
    # In the north short days run over New Year: a day is the first where the day before,
    # round the year, is long.
    first = int(np.flatnonzero(is_short & ~np.roll(is_short, 1))[0])
    last = int(np.flatnonzero(is_short & ~np.roll(is_short, -1))[0])
    days = [date(COMMON_YEAR, 1, 1) + timedelta(at) for at in (first, last)]
    return ShortDays(*((day.month, day.day) for day in days))


def enough_for_tomatoes(light_mol_m2_day: float, band: float) -> Enough:
    """Whether there is light enough for tomatoes.

    Parameters
    ----------
    band
        Part of the light by which it may be out.

    Examples
    --------
    >>> [enough_for_tomatoes(mol, 0.1) for mol in (25.0, 20.5, 15.0)]
    ['yes', 'just', 'no']
    """
    if light_mol_m2_day * (1 - band) >= TOMATO_MOL_M2_DAY:
        return "yes"
    return "just" if light_mol_m2_day * (1 + band) >= TOMATO_MOL_M2_DAY else "no"


def sunnier_half(morning_share: OneOrMany) -> OneOrMany:
    """Half of the day that most sun comes in: 1 morning, -1 afternoon, 0 neither.

    Examples
    --------
    >>> [sunnier_half(share) for share in (0.7, 0.6, 0.5, 0.3, float("nan"))]
    [1, 0, 0, -1, 0]
    """
    return (morning_share > EVEN_SUN) * 1 - (morning_share < 1 - EVEN_SUN) * 1


def half_hours(direct_hours: float) -> float:
    """Hours of sun to the half hour, as fine as they are shown."""
    return round(direct_hours * 2) / 2
