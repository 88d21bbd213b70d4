"""Beds in order: earliest to plant, longest to hold, most in need of summer shade.

Early and late rest on days where dates are known: beds whose difference to the first of
their rank may go either way, or is under two days, share a rank. Without dates they rest on
the offset of a clear calm night first, in the steps of half a degree that people are
shown, and on sunlight second; beds that are shown alike, and whose light differs by
under a twentieth, share a rank. So it is with shade, by light alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from fieldmap.analyse import wind
from fieldmap.analyse.bed_means import BedMeans
from fieldmap.decide.calendar.planting_dates import Dates
from fieldmap.decide.layout.beds import Bed, Lie, lies
from fieldmap.decide.ranking import by_days, by_night
from fieldmap.decide.ranking.reasons import Reasons
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import SeasonYear


class Light(NamedTuple):
    """Light on a bed: twelve months each, January first.

    Attributes
    ----------
    morning_share
        NaN in a month without beam.
    """

    sun_mj_m2_day: tuple[float, ...]
    direct_hours: tuple[float, ...]
    morning_share: tuple[float, ...]


class Ranks(NamedTuple):
    """Places of a bed, 1 is first; beds that tie share one.

    Attributes
    ----------
    shade, cool
        Most in need of shade; the other way round, least sun in high summer.
    """

    early: int
    late: int
    shade: int
    cool: int


class Earliness(NamedTuple):
    """How early a bed is beside the others.

    Attributes
    ----------
    group
        One of `groups.GROUPS`.
    days_after_first
        Days by which it is planted later than the first bed, on draws that hold for
        both; None where no dates are known.
    among_first_share
        Share of the draws in which it is among the first fifth of beds; NaN where no
        dates are known.
    """

    group: str
    days_after_first: Estimate | None
    among_first_share: float


@dataclass(frozen=True)
class RankedBed:
    """A bed, what was computed for it, and its places.

    Attributes
    ----------
    slope_percent
        Fall of the ground, however the bed lies on it.
    water_share
        Part of its ground where rain water gathers or stands, by the shape of the land.
    wind_share
        Part of the open prevailing wind that is left; NaN where none is known.
    reasons
        What calls for care on it, then the two things that matter most.
    """

    bed: Bed
    offset_c: Estimate
    light: Light
    slope_percent: float
    lie: Lie
    water_share: float
    wind_share: float
    ranks: Ranks
    earliness: Earliness
    reasons: tuple[Fact, ...]


def rank(
    means: BedMeans,
    beds: Sequence[Bed],
    season: SeasonYear,
    convergence_deg: float,
    dates: Dates | None = None,
    cautions: Sequence[tuple[Fact, ...]] | None = None,
) -> list[RankedBed]:
    """The orders of all beds of a site, in the order the beds were given.

    Early: the bed on which the crop that stands in for all goes out first, without a
    cover. Late: the one on which it holds longest. Without dates, early is the warmest
    on a clear calm night first, among equals the one with more sun in March; late
    likewise with the sun of October. Shade: most sun in July first. In the southern
    hemisphere the months are September, April and January.

    Parameters
    ----------
    means
        What the beds get of the computed ground, in the order of `beds`.
    beds
        Beds to put in order; none gives an empty list.
    season
        The year of growing, by which months lie half a year later in the south.
    convergence_deg
        Bearing of grid north, clockwise from true north.
    dates
        Early and late dates of these beds; None, or without known dates, to rank by
        night and light.
    cautions
        For each bed what goes before its reasons; None for nothing.
    """
    if not beds:
        return []
    known = dates if dates is not None and dates.known else None
    ranks = _ranks(means, season, known)
    earliness = _earliness(means, season, known)
    reasons = Reasons.of(means, season.month_index(3), known)
    lie = lies(means.east, means.north, beds, convergence_deg)
    slope_percent = 100 * np.tan(np.radians(means.slope_deg))
    wind_share = means.wind_share[wind.WINDS.index("prevailing")]
    light = means.sun_mj_m2_day, means.direct_hours, means.morning_share
    return [
        RankedBed(
            bed=bed,
            offset_c=Estimate(*means.offset_c[:, at].tolist()),
            light=Light(*(tuple(months[:, at].tolist()) for months in light)),
            slope_percent=float(slope_percent[at]),
            lie=lie[at],
            water_share=float(means.water_share[at]),
            wind_share=float(wind_share[at]),
            ranks=ranks[at],
            earliness=earliness[at],
            reasons=(
                *(cautions[at] if cautions else ()),
                reasons.reason(at, ranks[at].early, earliness[at].days_after_first),
            ),
        )
        for at, bed in enumerate(beds)
    ]


def _ranks(means: BedMeans, season: SeasonYear, dates: Dates | None) -> list[Ranks]:
    sun = means.sun_mj_m2_day
    summer = sun[season.month_index(7)]
    alike = np.zeros(len(summer))
    if dates is None:
        steps = by_night.steps_c(means.offset_c[1])
        early = by_night.ranks(steps, sun[season.month_index(3)])
        late = by_night.ranks(steps, sun[season.month_index(10)])
    else:
        early = by_days.ranks(dates.early_draws)
        # Longest first: the other way round the latest day is the least.
        late = by_days.ranks(-dates.late_draws)
    # All nights alike, so that light alone decides.
    shade, cool = by_night.ranks(alike, summer), by_night.ranks(alike, -summer)
    columns = (each.tolist() for each in (early, late, shade, cool))
    return [Ranks(*places) for places in zip(*columns, strict=True)]


def _earliness(
    means: BedMeans, season: SeasonYear, dates: Dates | None
) -> list[Earliness]:
    if dates is None:
        spring = means.sun_mj_m2_day[season.month_index(3)]
        groups = by_night.groups(by_night.steps_c(means.offset_c[1]), spring)
        return [Earliness(group, None, np.nan) for group in groups]
    draws = dates.early_draws
    return [
        Earliness(group, days, share)
        for group, days, share in zip(
            by_days.groups(draws),
            by_days.days_after_first(draws),
            by_days.among_first_share(draws).tolist(),
            strict=True,
        )
    ]
