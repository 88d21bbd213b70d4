"""Parcels in order by their frost-free season, with ties, and a reason for each.

As of beds: parcels whose difference to the first of their rank may go either way, or is
under two days, share a rank. Without a season the offset of a clear calm night decides,
in the steps of half a degree that people are shown, and then the light.
"""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from fieldmap.decide.ranking import by_days, by_night
from fieldmap.decide.ranking.reasons import DAYS_PER_DEGREE
from fieldmap.model.estimate import rounded_c
from fieldmap.model.fact import Fact
from fieldmap.model.site import LAPSE_C_PER_M
from fieldmap.region.parcels.facts import ParcelFacts
from fieldmap.region.parcels.season import Seasons

Floats = npt.NDArray[np.float64]

# What else weighs in a reason, in rough days (choices): a parcel wet on a tenth more of
# its ground, shaded on a tenth more, or steeper by a point.
DAYS_PER_SHARE_WET, DAYS_PER_SHARE_SHADED, DAYS_PER_PERCENT = 30.0, 25.0, 0.8
LEAST_DAYS = 1.0  # of a thing that is named
SHOWN_SHARE = 0.05  # of a parcel, under which wet or shaded ground is not spoken of


class _Weight(NamedTuple):
    """Something that sets a parcel apart from the middle one, in rough days."""

    days: float
    fact: Fact


def ranks(facts: ParcelFacts, seasons: Seasons | None) -> list[int | None]:
    """Places from 1; parcels that tie share one, None where too little is known."""
    if seasons is None:
        known = ~np.isnan(facts.offset_c[1])
        places = np.zeros(len(facts), np.intp)
        if known.any():
            sun = np.where(np.isnan(facts.sun_mj_m2_day[1]), 0, facts.sun_mj_m2_day[1])
            steps = by_night.steps_c(facts.offset_c[1][known])
            places[known] = by_night.ranks(steps, sun[known])
    else:
        known = ~np.isnan(seasons.draws).any(axis=1)
        places = np.zeros(len(facts), np.intp)
        if known.any():
            places[known] = by_days.ranks(-seasons.draws[known])
    return [
        int(place) if is_known else None
        for place, is_known in zip(places, known, strict=True)
    ]


def reasons(facts: ParcelFacts) -> list[tuple[Fact, ...]]:
    """The two things that set each parcel apart most from the middle one, the first two.

    None for a parcel of which nothing is known; one alone where it is like the others.
    """
    columns = _columns(facts)
    return [_reason(facts, columns, at) for at in range(len(facts))]


def _columns(facts: ParcelFacts) -> dict[str, Floats]:
    """Traits of each parcel less those of the middle one."""
    traits = {
        "night_c": facts.offset_c[1],
        "height_m": facts.height_m,
        "wet": facts.wet_share,
        "shaded": facts.shaded_share,
        "slope": facts.slope_percent[1],
    }
    return {name: each - _middle(each) for name, each in traits.items()}


def _middle(values: Floats) -> float:
    known = values[~np.isnan(values)]
    return float(np.median(known)) if len(known) else np.nan


def _reason(facts: ParcelFacts, beside: dict[str, Floats], at: int) -> tuple[Fact, ...]:
    if np.isnan(facts.known_share[at]) or np.isnan(facts.slope_percent[1, at]):
        return ()
    night_c, height_m = float(beside["night_c"][at]), float(beside["height_m"][at])
    wet, shaded = float(facts.wet_share[at]), float(facts.shaded_share[at])
    weights = [
        _Weight(
            night_c * DAYS_PER_DEGREE if rounded_c(night_c) else 0.0,
            Fact("parcel_nights", difference_c=night_c),
        ),
        _Weight(
            height_m * LAPSE_C_PER_M * DAYS_PER_DEGREE,
            Fact(
                "parcel_higher" if height_m > 0 else "parcel_lower",
                height_m=abs(height_m),
            ),
        ),
        _Weight(
            -DAYS_PER_SHARE_WET * float(beside["wet"][at]),
            Fact("parcel_wet" if wet >= SHOWN_SHARE else "parcel_dry", wet_share=wet),
        ),
        _Weight(
            -DAYS_PER_SHARE_SHADED * float(beside["shaded"][at]),
            Fact(
                "parcel_shaded" if shaded >= SHOWN_SHARE else "parcel_open",
                shaded_share=shaded,
            ),
        ),
        _Weight(
            -DAYS_PER_PERCENT * float(beside["slope"][at]),
            Fact("parcel_slope", slope_percent=float(facts.slope_percent[1, at])),
        ),
    ]
    known = [each for each in weights if not np.isnan(each.days)]
    first = sorted(known, key=lambda each: -abs(each.days))[:2]
    named = tuple(each.fact for each in first if abs(each.days) >= LEAST_DAYS)
    return named or (Fact("parcel_like_others"),)
