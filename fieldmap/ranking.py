"""Beds in order: earliest to plant, longest to hold, most in need of summer shade.

Early and late rest on days where dates are told: beds whose difference to the first of
their rank may go either way, or is under two days, share a rank. Without dates they rest on
the offset of a clear calm night first, in the steps of half a degree that people are
shown, and on sunlight second; beds that are shown alike, and whose light differs by
under a twentieth, share a rank. So it is with shade, by light alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fieldmap import draws, soil, words
from fieldmap.beds import bed_means
from fieldmap.language import _, later, month_name
from fieldmap.offset import OffsetRange

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from fieldmap.analysis import Analysis
    from fieldmap.beds import Bed
    from fieldmap.dates import Dates
    from fieldmap.site import Site

    Floats = npt.NDArray[np.float64]

# Beds that differ by fewer days are not told apart.
FEWEST_DAYS = 2.0
# Beds whose light differs by less are not told apart.
SAME_LIGHT = 0.05
# What weighs more in a reason, in rough days: 5.8 per degree (last spring freeze of
# Clemson 1991-2020, all nights shifted); 18 % more beam light is 17 days at 45° north,
# of which two fifths count (clear-sky geometry; air is shared between beds).
DAYS_PER_DEGREE = 5.8
DAYS_PER_SHARE_OF_LIGHT = 0.4 * 17 / 0.18
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
    early_rank, late_rank, shade_rank
        1 is first; beds that tie share a rank.
    early_group
        "first", "no real difference", "in between" or "last".
    days_after_first
        Low, central and high of the days by which it is planted later than the first
        bed, on draws that hold for both; None where no dates are told.
    reasons
        Plain sentences, what matters most first.
    """

    bed: Bed
    offset_c: OffsetRange
    sun_mj_m2_day: tuple[float, ...]
    direct_hours: tuple[float, ...]
    morning_share: tuple[float, ...]
    slope_percent: float
    early_rank: int
    late_rank: int
    shade_rank: int
    early_group: str
    days_after_first: tuple[float, float, float] | None
    reasons: tuple[str, ...]


def rank(
    site: Site, analysis: Analysis, beds: Sequence[Bed], dates: Dates | None = None
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
    offset_c = bed_means(analysis.offset_c, beds)
    sun = bed_means(analysis.sun_mj_m2_day, beds)
    hours = bed_means(analysis.direct_hours, beds)
    morning = bed_means(analysis.morning_share, beds)
    slope_deg = bed_means(analysis.slope_deg, beds)
    spring, autumn = site.spring_month, 3 if site.southern else 9
    summer = site.summer_month
    steps = np.array([words.step(float(value)) for value in offset_c[1]])
    days: list[tuple[float, float, float] | None] = [None] * len(beds)
    nights: list[bool | None] = [None] * len(beds)
    if dates is None or not dates.are_told:
        early = _ranks(steps, sun[spring])
        late = _ranks(steps, sun[autumn])
        groups = _groups(steps, sun[spring])
    else:
        early = _ranks_by_days(dates.early_draws)
        late = _ranks_by_days(-dates.late_draws)
        groups = _groups_by_days(dates.early_draws)
        days = _days_after_first(dates.early_draws)
        nights = _nights_make_later(dates)
    shade = _ranks(np.zeros(len(beds)), sun[summer])
    reasons = [
        _reasons(site, index, offset_c, sun, hours, nights=nights[index])
        for index in range(len(beds))
    ]
    if dates is not None and dates.are_told:
        late_ground = [soil.late_ground(lag) for lag in dates.soil_lag_days]
        reasons = [
            _with_days(
                (*ground, *each)
                if by_night is False and place > 1
                else (*each, *ground),
                place,
                of_bed,
            )
            for ground, each, by_night, place, of_bed in zip(
                late_ground, reasons, nights, early, days, strict=True
            )
        ]
    return [
        RankedBed(
            bed=bed,
            offset_c=OffsetRange(*(float(value) for value in offset_c[:, index])),
            sun_mj_m2_day=tuple(float(value) for value in sun[:, index]),
            direct_hours=tuple(float(value) for value in hours[:, index]),
            morning_share=tuple(float(value) for value in morning[:, index]),
            slope_percent=float(100 * np.tan(np.radians(slope_deg[index]))),
            early_rank=int(early[index]),
            late_rank=int(late[index]),
            shade_rank=int(shade[index]),
            early_group=groups[index],
            days_after_first=days[index],
            reasons=reasons[index],
        )
        for index, bed in enumerate(beds)
    ]


def _ranks(steps: Floats, sun: Floats) -> npt.NDArray[np.intp]:
    """Places from 1; beds of one step whose light hardly differs share one."""
    order = np.lexsort((-sun, -steps))
    ranks = np.empty(len(order), np.intp)
    leader = order[0]
    for place, index in enumerate(order, start=1):
        if steps[index] < steps[leader] or sun[index] < (1 - SAME_LIGHT) * sun[leader]:
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
    low, central, high = draws.told(later)
    return np.asarray(((low < 0) & (high > 0)) | (np.abs(central) < FEWEST_DAYS))


def _order(days: Floats) -> npt.NDArray[np.intp]:
    """Beds by their central day, those that are not known last."""
    return np.argsort(draws.told(days)[1], kind="stable")


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
    later = draws.told(_later(days, days[_order(days)[0]])).T
    return [
        (float(low), float(central), float(high)) if np.isfinite(high) else None
        for low, central, high in later
    ]


def _nights_make_later(dates: Dates) -> list[bool | None]:
    """Whether nights make a bed later than the first, and not soil; None if it is not later."""
    days = dates.early_draws
    later = days > days[_order(days)[0]]
    by_nights = (later & dates.nights_decide).sum(axis=1)
    return [
        bool(2 * part >= whole) if whole else None
        for part, whole in zip(by_nights, later.sum(axis=1), strict=True)
    ]


def _with_days(
    reasons: tuple[str, ...], place: int, days: tuple[float, float, float] | None
) -> tuple[str, ...]:
    """The reasons, what decides with what it comes to in days."""
    if days is None:
        return reasons
    return (f"{reasons[0][:-1]}: {words.days_later(*days, place)}.", *reasons[1:])


def _reasons(
    site: Site,
    index: int,
    offset_c: Floats,
    sun: Floats,
    hours: Floats,
    *,
    nights: bool | None,
) -> tuple[str, ...]:
    """The night and the sun of a bed against the middle bed, the larger part first.

    `nights` says which of the two makes the bed later than the first; None if neither.
    """
    units = site.settings.units
    spring = site.spring_month
    low, central, high = offset_c[:, index]
    against = (
        _("On a still night, against the middle of the plots, it is {difference}.")
        if site.station_cell is None
        else _("On a still night, against the station, it is {difference}.")
    )
    night = against.format(difference=words.night(low, central, high, units))
    more = sun[spring, index] / np.median(sun[spring]) - 1
    day = _(
        "In {month} it gets {hours} hours of direct sun on a clear day, and {light} "
        "than the middle bed."
    ).format(
        month=month_name(spring + 1),
        hours=f"{hours[spring, index]:.1f}",
        light=words.compared_light(more),
    )
    night_days = abs(central - np.median(offset_c[1])) * DAYS_PER_DEGREE
    sun_days = abs(more) * DAYS_PER_SHARE_OF_LIGHT
    night_first = night_days >= sun_days if nights is None else nights
    return (night, day) if night_first else (day, night)
