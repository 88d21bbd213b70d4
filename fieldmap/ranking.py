"""Beds in order: earliest to plant, longest to hold, most in need of summer shade.

Orders rest on the offset of a clear calm night first, in the steps of half a degree that
people are shown, and on sunlight second. Beds that are shown alike, and whose light
differs by under a twentieth, share a rank.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fieldmap import words
from fieldmap.beds import points_in
from fieldmap.offset import OffsetRange

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from fieldmap.analysis import Analysis
    from fieldmap.beds import Bed
    from fieldmap.raster import Raster
    from fieldmap.site import Site

    Floats = npt.NDArray[np.floating]

# Beds whose light differs by less are not told apart.
SAME_LIGHT = 0.05
# What weighs more in a reason, in rough days: 5.8 per degree (last spring freeze of
# Clemson 1991-2020, all nights shifted); 18 % more beam light is 17 days at 45° north,
# of which two fifths count (clear-sky geometry; air is shared between beds).
DAYS_PER_DEGREE = 5.8
DAYS_PER_SHARE_OF_LIGHT = 0.4 * 17 / 0.18
FIRST, SAME, BETWEEN, LAST = "first", "no real difference", "in between", "last"
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
    reasons: tuple[str, ...]


def rank(site: Site, analysis: Analysis, beds: Sequence[Bed]) -> list[RankedBed]:
    """The three orders of all beds of a site, in the order the beds were given.

    Early: the warmest on a clear calm night first, among equals the one with more sun
    in March. Late: likewise with the sun of October. Shade: most sun in July first. In
    the southern hemisphere the months are September, April and January.
    """
    if not beds:
        return []
    offset_c = bed_means(analysis.offset_c, beds)
    sun = bed_means(analysis.sun_mj_m2_day, beds)
    hours = bed_means(analysis.direct_hours, beds)
    morning = bed_means(analysis.morning_share, beds)
    slope_deg = bed_means(analysis.slope_deg, beds)
    spring, autumn, summer = (8, 3, 0) if site.southern else (2, 9, 6)
    steps = np.array([words.step(float(value)) for value in offset_c[1]])
    early = _ranks(steps, sun[spring])
    late = _ranks(steps, sun[autumn])
    shade = _ranks(np.zeros(len(beds)), sun[summer])
    groups = _groups(steps, sun[spring])
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
            reasons=_reasons(site, index, offset_c, sun, hours),
        )
        for index, bed in enumerate(beds)
    ]


def bed_means(raster: Raster, beds: Sequence[Bed]) -> Floats:
    """Mean of a raster over each bed: (beds,), or (bands, beds).

    Each bed is read at points half a cell apart or closer, in straight lines between
    the middles of cells, so that neighbours do not differ by how cells happen to lie. A
    bed beside a missing cell is NaN.
    """
    points = [points_in(bed, raster.cell_size_m / 2) for bed in beds]
    counts = np.array([len(each) for each in points])
    values = raster.interpolate(*np.concatenate(points).T)
    starts = np.concatenate([[0], np.cumsum(counts)[:-1]])
    return np.asarray(np.add.reduceat(values, starts, axis=-1) / counts)


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


def _reasons(
    site: Site, index: int, offset_c: Floats, sun: Floats, hours: Floats
) -> tuple[str, ...]:
    """The night and the sun of a bed against the middle bed, the larger part first."""
    units = site.settings.units
    spring = 8 if site.southern else 2
    low, central, high = offset_c[:, index]
    night = (
        f"On a still night, against {_reference(site)}, it is "
        f"{words.night(low, central, high, units)}."
    )
    more = sun[spring, index] / np.median(sun[spring]) - 1
    day = (
        f"In {words.MONTHS[spring]} it gets {hours[spring, index]:.1f} hours of direct "
        f"sun on a clear day, and {words.compared_light(more)} than the middle bed."
    )
    night_days = abs(central - np.median(offset_c[1])) * DAYS_PER_DEGREE
    sun_days = abs(more) * DAYS_PER_SHARE_OF_LIGHT
    by_weight = sorted(
        [(night_days, night), (sun_days, day)], key=lambda part: -part[0]
    )
    return tuple(sentence for _, sentence in by_weight)


def _reference(site: Site) -> str:
    return "the middle of the plots" if site.station_cell is None else "the station"
