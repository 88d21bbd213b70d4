"""The two things that matter most for when a bed is planted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from fieldmap.analyse.bed_means import BedMeans
from fieldmap.analyse.cold_air.pockets import DEEPER_M
from fieldmap.decide.calendar import soil_warming
from fieldmap.decide.calendar.planting_dates import Dates
from fieldmap.decide.ranking import by_days
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.offset import rounded_c

Floats = npt.NDArray[np.float64]

LEAST_DAYS = 0.5  # by which a thing makes a bed later that is named for it
# What weighs more in a reason, in rough days: 5.8 per degree (last spring freeze of
# Clemson 1991-2020, all nights shifted); 18 % more beam light is 17 days at 45° north,
# of which two fifths count (clear-sky geometry; air is shared between beds).
DAYS_PER_DEGREE = 5.8
DAYS_PER_SHARE_OF_LIGHT = 0.4 * 17 / 0.18


class Traits(NamedTuple):
    """What sets beds apart: numbers of one bed, or arrays of (beds,).

    Attributes
    ----------
    soil_days
        By which soil comes later, by what it is and what was seen on it.
    """

    offset_c: Floats
    spring_sun: Floats
    soil_days: Floats

    def of(self, at: int) -> Traits:
        """Those of one bed."""
        return Traits(*(np.asarray(each[at]) for each in self))


class Weight(NamedTuple):
    """Something that may make a bed later, and by how many rough days."""

    days: float
    fact: Fact


@dataclass(frozen=True)
class Reasons:
    """What the reasons of beds are drawn from.

    Attributes
    ----------
    first
        The first of all beds; the middle bed where no dates are known.
    soil
        Why the soil of each bed is late or early; None where it is not.
    depth_m
        How deep cold air stands, where it stands deeper than on the middle bed.
    nights_decide
        Whether nights make a bed later than the first, and not its soil; None for one
        of the first.
    month
        Of spring, January is 1.
    """

    traits: Traits
    middle: Traits
    first: Traits
    soil: Sequence[Fact | None]
    depth_m: Sequence[float | None]
    nights_decide: Sequence[bool | None]
    month: int

    @classmethod
    def of(cls, means: BedMeans, spring: int, dates: Dates | None) -> Reasons:
        """Those of beds by what they get of the ground and, where known, their dates."""
        count = len(means.cold_air_m)
        soil_days = np.zeros(count)
        if dates is not None:
            soil_days = dates.soil_lag_days - dates.soil_seen_days
        traits = Traits(means.offset_c[1], means.sun_mj_m2_day[spring], soil_days)
        middle = Traits(*(np.asarray(np.median(each)) for each in traits))
        depth_m = _deep(means)
        if dates is None:
            none = [None] * count
            return cls(traits, middle, middle, none, depth_m, none, spring + 1)
        return cls(
            traits,
            middle,
            traits.of(int(by_days.order(dates.early_draws)[0])),
            [
                soil_warming.reason(lag, seen)
                for lag, seen in zip(
                    dates.soil_lag_days.tolist(),
                    dates.soil_seen_days.tolist(),
                    strict=True,
                )
            ],
            depth_m,
            by_days.nights_make_later(dates.early_draws, dates.nights_decide),
            spring + 1,
        )

    def reason(self, at: int, rank: int, days: Estimate | None) -> Fact:
        """The two things that matter most for one bed, and what they come to in days.

        A bed that is planted after the first ones is set against the first of all, what
        makes it later first; any other against the middle bed.
        """
        night, *by_day = self._weights(at)
        weights = [night, *by_day]
        decides = self.nights_decide[at]
        if decides is None:
            weights.sort(key=lambda each: -abs(each.days))
        else:
            # What makes no bed later is no reason to begin with.
            weights.sort(
                key=lambda each: (
                    each.days < LEAST_DAYS,
                    (each is night) != decides,
                    -each.days,
                )
            )
        return Fact(
            "two_that_matter",
            first=weights[0].fact,
            second=weights[1].fact,
            rank=rank,
            days=days,
        )

    def _weights(self, at: int) -> list[Weight]:
        """Night, light and, if it matters, soil of a bed beside another."""
        is_first = self.nights_decide[at] is None
        mine, other = self.traits.of(at), self.middle if is_first else self.first
        bed = Fact("middle_bed" if is_first else "first_bed")
        warmer_c = float(mine.offset_c - other.offset_c)
        brighter = float(mine.spring_sun / other.spring_sun) - 1
        night = _still_nights(bed, warmer_c, self.depth_m[at])
        light = Fact("spring_light_beside", light=brighter, bed=bed, month=self.month)
        weights = [
            Weight(-warmer_c * DAYS_PER_DEGREE, night),
            Weight(-brighter * DAYS_PER_SHARE_OF_LIGHT, light),
        ]
        soil = self.soil[at]
        if soil is not None:
            weights.append(Weight(float(mine.soil_days - other.soil_days), soil))
        return weights


def _still_nights(bed: Fact, difference_c: float, depth_m: float | None) -> Fact:
    """A still night beside that of another bed, in the steps that people are shown."""
    if rounded_c(difference_c) == 0:
        return Fact("still_nights_alike", bed=bed)
    if depth_m is None or difference_c > 0:
        return Fact("still_nights_differ", difference_c=difference_c, bed=bed)
    depth_m = round(2 * depth_m) / 2
    return Fact("cold_air_stands", depth_m=depth_m, difference_c=difference_c, bed=bed)


def _deep(means: BedMeans) -> list[float | None]:
    """How deep cold air stands, where it stands deeper than on the middle bed."""
    if not means.is_flow_known:
        return [None] * len(means.cold_air_m)
    middle = float(np.median(means.cold_air_m))
    return [
        depth_m if depth_m >= middle + DEEPER_M else None
        for depth_m in means.cold_air_m.tolist()
    ]
