"""The two things that matter most for when a bed is planted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from fieldmap.analyse.bed_means import BedMeans
from fieldmap.decide.calendar import soil_warming
from fieldmap.decide.calendar.planting_dates import Dates
from fieldmap.decide.ranking import by_days
from fieldmap.model.estimate import Estimate, rounded_c
from fieldmap.model.fact import Fact

Floats = npt.NDArray[np.float64]

LEAST_DAYS = 0.5  # by which a thing makes a bed later that is named for it
# What weighs more in a reason, in rough days: 5.8 per degree (last spring freeze of
# Clemson 1991-2020, all nights shifted); 18 % more beam light is 17 days at 45° north,
# of which two fifths count (clear-sky geometry; air is shared between beds).
DAYS_PER_DEGREE = 5.8
DAYS_PER_SHARE_OF_LIGHT = 0.4 * 17 / 0.18


class Weight(NamedTuple):
    """Something that may make a bed later, and by how many rough days."""

    days: float
    fact: Fact


@dataclass(frozen=True)
class Reasons:
    """What the reasons of beds are drawn from.

    Attributes
    ----------
    traits
        What sets beds apart: (3, beds) offset of a clear calm night [°C], light of spring
        [MJ/m²/day], and days by which soil comes later, by what it is and what was seen
        on it.
    middle
        The median of each.
    first
        Those of the first of all beds; the median of all where no dates are known.
    soil
        Why the soil of each bed is late or early; None where it is not.
    nights_decide
        Whether nights make a bed later than the first, and not its soil; None for one
        of the first.
    month
        Of spring, January is 1.
    """

    traits: Floats
    middle: Floats
    first: Floats
    soil: Sequence[Fact | None]
    nights_decide: Sequence[bool | None]
    month: int

    @classmethod
    def of(cls, means: BedMeans, spring: int, dates: Dates | None) -> Reasons:
        """What the reasons of beds are drawn from: their ground and, where known, dates.

        Parameters
        ----------
        means
            What the beds get of the computed ground.
        spring
            Month of spring, 0 for January.
        dates
            Early and late dates of the same beds; None where no dates are known.
        """
        count = means.offset_c.shape[1]
        lag_days = seen_days = np.zeros(count)
        if dates is not None:
            lag_days, seen_days = dates.soil_lag_days, dates.soil_seen_days
        soil_days = lag_days - seen_days
        traits = np.stack([means.offset_c[1], means.sun_mj_m2_day[spring], soil_days])
        first = middle = np.median(traits, axis=1)
        nights_decide: list[bool | None] = [None] * count
        if dates is not None:
            early = dates.early_draws
            first = traits[:, by_days.order(early)[0]]
            nights_decide = by_days.nights_make_later(early, dates.nights_decide)
        soil = map(soil_warming.reason, lag_days.tolist(), seen_days.tolist())
        return cls(traits, middle, first, list(soil), nights_decide, spring + 1)

    def reason(self, at: int, rank: int, days: Estimate | None) -> Fact:
        """The two things that matter most for one bed, and what they come to in days.

        A bed that is planted after the first ones is set against the first of all, what
        makes it later first; any other against the median of all beds.

        Parameters
        ----------
        at
            Number of the bed, its place in `traits`.
        rank
            Its place in the early order, from 1.
        days
            By how many days it comes later than the first bed; None where it is not
            known.
        """
        night, *by_day = self._weights(at)
        decides = self.nights_decide[at]

        def order(each: Weight) -> tuple[float, ...]:
            # Beside a usual bed what sets it apart counts, for or against it.
            if decides is None:
                return (-abs(each.days),)
            # What makes no bed later is no reason to begin with.
            return each.days < LEAST_DAYS, (each is night) != decides, -each.days

        first, second, *_ = sorted([night, *by_day], key=order)
        return Fact(
            "two_that_matter",
            first=first.fact,
            second=second.fact,
            rank=rank,
            days=days,
        )

    def _weights(self, at: int) -> list[Weight]:
        """Night, light and, if it matters, soil of a bed beside another."""
        is_first = self.nights_decide[at] is None
        mine, other = self.traits[:, at], self.middle if is_first else self.first
        bed = Fact("typical_bed" if is_first else "first_bed")
        warmer_c, _sun, later_days = (mine - other).tolist()
        # Sun works by its share: 1 MJ more is much in March and little in June.
        brighter = float(mine[1] / other[1]) - 1
        night = _still_nights(bed, warmer_c)
        light = Fact("spring_light_beside", light=brighter, bed=bed, month=self.month)
        weights = [
            Weight(-warmer_c * DAYS_PER_DEGREE, night),
            Weight(-brighter * DAYS_PER_SHARE_OF_LIGHT, light),
        ]
        soil = self.soil[at]
        if soil is None and later_days >= LEAST_DAYS:  # the other bed's soil is early
            soil = Fact("soil_later_than", number=max(1, round(later_days)), bed=bed)
        if soil is not None:
            weights.append(Weight(later_days, soil))
        return weights


def _still_nights(bed: Fact, difference_c: float) -> Fact:
    """A still night beside that of another bed, in the steps that people are shown."""
    if rounded_c(difference_c) == 0:
        return Fact("still_nights_alike", bed=bed)
    return Fact("still_nights_differ", difference_c=difference_c, bed=bed)
