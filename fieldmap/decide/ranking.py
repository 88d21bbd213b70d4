"""Beds in order: earliest to plant, longest to hold, most in need of summer shade.

Early and late rest on days where dates are told: beds whose difference to the first of
their rank may go either way, or is under two days, share a rank. Without dates they rest on
the offset of a clear calm night first, in the steps of half a degree that people are
shown, and on sunlight second; beds that are shown alike, and whose light differs by
under a twentieth, share a rank. So it is with shade, by light alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from fieldmap.analyse import wind
from fieldmap.analyse.cold_air.pockets import DEEPER_M
from fieldmap.decide.calendar import monte_carlo, soil_warming
from fieldmap.decide.layout import beds as beds_
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.offset import rounded_c
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _, later, month_name
from fieldmap.show.text.sentence import say

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from fieldmap.analyse.bed_means import BedMeans
    from fieldmap.decide.calendar.planting_dates import Dates
    from fieldmap.decide.layout.beds import Bed
    from fieldmap.model.site import Site

    Floats = npt.NDArray[np.float64]

# Beds that differ by fewer days are not told apart.
FEWEST_DAYS = 2.0
# Beds whose light differs by less are not told apart.
SAME_LIGHT = 0.05
LEAST_DAYS = 0.5  # by which a thing makes a bed later that is named for it
# What weighs more in a reason, in rough days: 5.8 per degree (last spring freeze of
# Clemson 1991-2020, all nights shifted); 18 % more beam light is 17 days at 45° north,
# of which two fifths count (clear-sky geometry; air is shared between beds).
DAYS_PER_DEGREE = 5.8
DAYS_PER_SHARE_OF_LIGHT = 0.4 * 17 / 0.18
FIRST_PART = 0.2  # of the beds, that are counted as the first ones in files (a choice)
FIRST, SAME = later("first"), later("no real difference")
BETWEEN, LAST = later("in between"), later("last")
GROUPS = (FIRST, SAME, BETWEEN, LAST)


@dataclass(frozen=True)
class RankedBed:
    """A bed, what was computed for it, and its place in the three orders.

    Attributes
    ----------
    sun_mj_m2_day, direct_hours, morning_share
        Twelve months, January first; the share is NaN in a month without beam.
    along_percent, across_percent, faces_deg
        Fall of the ground along and across the bed; the direction in which it falls,
        from true north, NaN where it is level.
    water_share
        Part of its ground where rain water gathers or stands, by the shape of the land.
    wind_share
        Part of the open prevailing wind that is left; NaN where none is told.
    early_rank, late_rank, shade_rank, cool_rank
        1 is first; beds that tie share a rank. Shade: most in need of it; cool: the
        other way round, least sun in high summer.
    early_group
        "first", "no real difference", "in between" or "last".
    days_after_first
        Low, central and high of the days by which it is planted later than the first
        bed, on draws that hold for both; None where no dates are told.
    among_first_share
        Part of the draws in which it is among the first fifth of beds; NaN where no
        dates are told.
    reasons
        Plain sentences; the first names the two things that matter most.
    """

    bed: Bed
    offset_c: Estimate
    sun_mj_m2_day: tuple[float, ...]
    direct_hours: tuple[float, ...]
    morning_share: tuple[float, ...]
    slope_percent: float
    along_percent: float
    across_percent: float
    faces_deg: float
    water_share: float
    wind_share: float
    early_rank: int
    late_rank: int
    shade_rank: int
    cool_rank: int
    early_group: str
    days_after_first: tuple[float, float, float] | None
    among_first_share: float
    reasons: tuple[Fact | str, ...]


def rank(
    site: Site, means: BedMeans, beds: Sequence[Bed], dates: Dates | None = None
) -> list[RankedBed]:
    """The three orders of all beds of a site, in the order the beds were given.

    Early: the bed on which the crop that stands in for all goes out first, without a
    cover. Late: the one on which it holds longest. Without dates, early is the warmest
    on a clear calm night first, among equals the one with more sun in March; late
    likewise with the sun of October. Shade: most sun in July first. In the southern
    hemisphere the months are September, April and January.
    """
    if not beds:
        return []
    offset_c, sun = means.offset_c, means.sun_mj_m2_day
    hours, morning = means.direct_hours, means.morning_share
    slope_deg, wet = means.slope_deg, means.water_share
    lie = beds_.lie(means.east, means.north, beds, site.convergence_deg)
    wind_share = means.wind_share[wind.WINDS.index("prevailing")]
    often = np.full(len(beds), np.nan)
    spring, autumn = site.spring_month, site.season.month_index(10)
    summer = site.summer_month
    steps = np.array([rounded_c(float(value)) for value in offset_c[1]])
    days: list[tuple[float, float, float] | None] = [None] * len(beds)
    nights: list[bool | None] = [None] * len(beds)
    if dates is None or not dates.known:
        early = _ranks(steps, sun[spring])
        late = _ranks(steps, sun[autumn])
        groups = _groups(steps, sun[spring])
    else:
        early = _ranks_by_days(dates.early_draws)
        late = _ranks_by_days(-dates.late_draws)
        groups = _groups_by_days(dates.early_draws)
        days = _days_after_first(dates.early_draws)
        often = _among_first(dates.early_draws)
        nights = [
            by_night if place > 1 else None
            for by_night, place in zip(_nights_make_later(dates), early, strict=True)
        ]
    level = np.zeros(len(beds))
    shade = _ranks(level, sun[summer])
    cool = _ranks(level, -sun[summer])
    behind_days = np.zeros(len(beds))
    if dates is not None and dates.known:
        behind_days = dates.soil_lag_days - dates.soil_seen_days
    facts = _Facts(offset_c[1], sun[spring], behind_days)
    reasons = _reasons(site, means, beds, dates, facts, nights)
    return [
        RankedBed(
            bed=bed,
            offset_c=Estimate(*(float(value) for value in offset_c[:, index])),
            sun_mj_m2_day=tuple(float(value) for value in sun[:, index]),
            direct_hours=tuple(float(value) for value in hours[:, index]),
            morning_share=tuple(float(value) for value in morning[:, index]),
            slope_percent=float(100 * np.tan(np.radians(slope_deg[index]))),
            along_percent=float(lie.along_percent[index]),
            across_percent=float(lie.across_percent[index]),
            faces_deg=float(lie.faces_deg[index]),
            water_share=float(wet[index]),
            wind_share=float(wind_share[index]),
            early_rank=int(early[index]),
            late_rank=int(late[index]),
            shade_rank=int(shade[index]),
            cool_rank=int(cool[index]),
            early_group=groups[index],
            days_after_first=days[index],
            among_first_share=float(often[index]),
            reasons=(_with_days(reasons[index], int(early[index]), days[index]),),
        )
        for index, bed in enumerate(beds)
    ]


def _ranks(steps: Floats, sun: Floats) -> npt.NDArray[np.intp]:
    """Places from 1; beds of one step whose light hardly differs share one.

    Negative light puts the beds with the least first.
    """
    order = np.lexsort((-sun, -steps))
    ranks = np.empty(len(order), np.intp)
    leader = order[0]
    for place, index in enumerate(order, start=1):
        behind = sun[leader] - SAME_LIGHT * abs(sun[leader])
        if steps[index] < steps[leader] or sun[index] < behind:
            leader = index
        ranks[index] = place if index == leader else ranks[leader]
    return ranks


def _groups(steps: Floats, sun: Floats) -> list[str]:
    """What people see of the early order.

    First are the beds that tie with the best, last those that tie with the worst; a bed
    that ties with both is no real difference, and one with neither lies in between.
    """
    first = _ranks(steps, sun) == 1
    worst = np.lexsort((sun, steps))[0]
    last = (steps == steps[worst]) & (sun * (1 - SAME_LIGHT) <= sun[worst])
    return _named(first, last)


def _named(first: npt.NDArray[np.bool_], last: npt.NDArray[np.bool_]) -> list[str]:
    names = {
        (True, True): SAME,
        (True, False): FIRST,
        (False, True): LAST,
        (False, False): BETWEEN,
    }
    return [
        names[bool(is_first), bool(is_last)]
        for is_first, is_last in zip(first, last, strict=True)
    ]


# ------------------------------------------------------------------ by days
def _later(days: Floats, leader: Floats) -> Floats:
    """Days by which beds are later than another, draw by draw; alike where both never."""
    with np.errstate(invalid="ignore"):
        return np.where(days == leader, 0.0, days - leader)


def _tie(later: Floats) -> npt.NDArray[np.bool_]:
    """Whether a difference, (..., draws), may go either way or is too small to matter.

    A range that begins at none goes one way only: the nights that decide are then not
    always still ones, and move no date.
    """
    low, central, high = monte_carlo.percentiles(later)
    return np.asarray(((low < 0) & (high > 0)) | (np.abs(central) < FEWEST_DAYS))


def _order(days: Floats) -> npt.NDArray[np.intp]:
    """Beds by their central day, those that are not known last."""
    return np.argsort(monte_carlo.percentiles(days)[1], kind="stable")


def _ranks_by_days(days: Floats) -> npt.NDArray[np.intp]:
    """Places from 1 of beds by their days, (beds, draws); those that tie share one."""
    order = _order(days)
    ranks = np.empty(len(order), np.intp)
    begin = 0
    while begin < len(order):
        behind = _tie(_later(days[order[begin:]], days[order[begin]]))
        behind[0] = True
        # Up to the first bed that is told apart from the leader.
        count = len(behind) if behind.all() else int(np.argmin(behind))
        ranks[order[begin : begin + count]] = begin + 1
        begin += count
    return ranks


def _groups_by_days(days: Floats) -> list[str]:
    """As `_groups`: who ties with the first bed, and who with the last."""
    order = _order(days)
    first = _ranks_by_days(days) == 1
    known = order[~np.isnan(days[order]).any(axis=-1)]
    last = (known if len(known) else order)[-1]
    return _named(first, _tie(_later(days, days[last])))


def _days_after_first(
    days: Floats,
) -> list[tuple[float, float, float] | None]:
    """Low, central and high of how much later than the first bed; None if not known."""
    later = monte_carlo.percentiles(_later(days, days[_order(days)[0]])).T
    return [
        (float(low), float(central), float(high)) if np.isfinite(high) else None
        for low, central, high in later
    ]


def _among_first(days: Floats) -> Floats:
    """Part of the draws in which a bed is among the first fifth; ties count as first."""
    count = max(1, round(FIRST_PART * len(days)))
    known = np.where(np.isnan(days), np.inf, days)
    last = np.sort(known, axis=0)[count - 1]
    return np.asarray(((known <= last) & np.isfinite(known)).mean(axis=1))


def _nights_make_later(dates: Dates) -> list[bool | None]:
    """Whether nights make a bed later than the first, and not soil; None if it is not later."""
    days = dates.early_draws
    later = days > days[_order(days)[0]]
    by_nights = (later & dates.nights_decide).sum(axis=1)
    return [
        bool(2 * part >= whole) if whole else None
        for part, whole in zip(by_nights, later.sum(axis=1), strict=True)
    ]


def _with_days(reason: str, place: int, days: tuple[float, float, float] | None) -> str:
    """A reason with what it comes to in days."""
    if days is None:
        return f"{reason}."
    return f"{reason}: {quantities.days_later(*days, place)}."


class _Facts(NamedTuple):
    """What sets beds apart: numbers and arrays of (beds,).

    Attributes
    ----------
    behind_days
        By which soil comes later, by what it is and what was seen on it.
    """

    offset_c: Floats
    spring_sun: Floats
    behind_days: Floats

    def of(self, at: int) -> _Facts:
        """Those of one bed."""
        return _Facts(*(np.asarray(each[at]) for each in self))


def _reasons(
    site: Site,
    means: BedMeans,
    beds: Sequence[Bed],
    dates: Dates | None,
    facts: _Facts,
    nights: Sequence[bool | None],
) -> list[str]:
    """For each bed the two things that matter most for when it is planted.

    A bed that is planted after the first ones is set against the first of all, what
    makes it later first; any other against the middle bed.

    Parameters
    ----------
    nights
        Whether nights make a bed later than the first, and not its soil; None for one
        of the first.
    """
    grounds = [""] * len(beds)
    first = facts
    if dates is not None and dates.known:
        first = facts.of(int(_order(dates.early_draws)[0]))
        grounds = [
            "" if why is None else say(why, site.settings.units)
            for why in map(
                soil_warming.reason, dates.soil_lag_days, dates.soil_seen_days
            )
        ]
    middle = _Facts(*(np.asarray(np.median(each)) for each in facts))
    deep = _cold_air(site, means)
    reasons = []
    for at, by_night in enumerate(nights):
        mine = facts.of(at)
        other = middle if by_night is None else first
        beside = _("the middle bed") if by_night is None else _("the first bed")
        colder = float(other.offset_c - mine.offset_c) * DAYS_PER_DEGREE
        darker = float(1 - mine.spring_sun / other.spring_sun) * DAYS_PER_SHARE_OF_LIGHT
        behind = float(mine.behind_days - other.behind_days)
        light = _("{light} than {bed} in {month}").format(
            light=quantities.compared_light(
                float(mine.spring_sun / other.spring_sun) - 1
            ),
            bed=beside,
            month=month_name(site.spring_month + 1),
        )
        night = _night(site, float(mine.offset_c - other.offset_c), deep[at], beside)
        by_day = [(darker, light), *([(behind, grounds[at])] if grounds[at] else [])]
        things = [(colder, night), *by_day]
        if by_night is None:
            things.sort(key=lambda thing: -abs(thing[0]))
        else:
            decides = [(colder, night)] if by_night else by_day
            things.sort(key=lambda thing: (thing not in decides, -thing[0]))
            # What makes no bed later is no reason to begin with.
            things.sort(key=lambda thing: thing[0] < LEAST_DAYS)
        reasons.append(f"{quantities.started(things[0][1])}; {things[1][1]}")
    return reasons


def _cold_air(site: Site, means: BedMeans) -> list[str | None]:
    """How deep cold air stands, where it stands deeper than on the middle bed."""
    depth_m = means.cold_air_m
    if not means.is_flow_known:
        return [None] * len(depth_m)
    middle = float(np.median(depth_m))
    return [
        quantities.length(round(2 * float(each)) / 2, site.settings.units)
        if each >= middle + DEEPER_M
        else None
        for each in depth_m
    ]


def _night(site: Site, warmer_c: float, deep: str | None, beside: str) -> str:
    """A still night on a bed beside another, as part of a sentence."""
    if rounded_c(warmer_c) == 0:
        return _("still nights are about the same as on {bed}").format(bed=beside)
    shown = quantities.difference(warmer_c, site.settings.units)
    if deep is not None and warmer_c < 0:
        return _(
            "cold air stands {depth} deep here on still nights, likely {difference} "
            "than on {bed}"
        ).format(depth=deep, difference=shown, bed=beside)
    return _("still nights are likely {difference} than on {bed}").format(
        difference=shown, bed=beside
    )
