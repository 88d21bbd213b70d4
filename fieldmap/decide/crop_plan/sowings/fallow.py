"""What is sown for the soil where and while no crop stands."""

import itertools
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from fieldmap.decide.calendar import growth
from fieldmap.decide.crop_plan.growing_windows import UsualYear
from fieldmap.decide.crop_plan.model import BedPart, GreenManure, Stay, left_from_winter
from fieldmap.model.season_year import DAYS, SeasonYear
from layers import freeze

Floats = npt.NDArray[np.float64]
Span = tuple[int, int]


class Kind(NamedTuple):
    """A plant that is sown for the soil.

    Attributes
    ----------
    family
        Botanical (from memory).
    soil_c
        Least temperature of the soil at which it comes up.
    days
        Fewest for which it is worth sowing, and most after which it is turned in.
    is_tender
        Whether frost ends it.
    """

    name: str
    family: str
    soil_c: float
    days: Span
    is_tender: bool


# Least temperatures are those of seed houses' tables after "Managing Cover Crops
# Profitably" (SARE): buckwheat 50 °F, oats 38 °F, rye 34 °F. Buckwheat flowers within six
# weeks and is turned in before it seeds; oats stand eight to twelve (common practice).
BUCKWHEAT = Kind("buckwheat", "Polygonaceae", 10.0, (42, 56), is_tender=True)
OATS = Kind("oats", "Poaceae", 3.3, (56, 84), is_tender=False)
RYE = Kind("winter rye", "Poaceae", 1.1, (14, DAYS), is_tender=False)
# From sowing to tillering before the cold: 180 °F days above 32 °F (Rutgers Cooperative
# Extension, Salem County, 2020).
LEAST_GROWTH_C_DAYS = 100.0
RYE_FROM = 8, 15  # northern month and day: earlier it grows too tall (common practice)
# It comes through the winter and grows on until it is knee high; later it turns to straw,
# which hand tools do not work in (common practice, no source).
RYE_UNTIL = 5, 15
# Before that nothing is sown for the soil: days are short, and ground is too wet to work
# (common practice, no source).
SPRING_FROM = 3, 1
RYE_WAITS_DAYS = 14  # for which a bed lies bare before it (a choice)
BREAKS_DOWN_DAYS = 14  # before the next crop (common practice, no source)
# Metres of one bed that come free within this, and are wanted again within it, are sown in
# one go (a choice).
TOGETHER_DAYS = 21
LEAST_M = 2.0  # of a bed that is sown for itself (a choice)
FROST_C = 0.0  # at the screen, which ends what is tender (common practice, no source)


class Fallow(NamedTuple):
    """Metres of a bed that are free from one day to another, both within.

    Attributes
    ----------
    family
        Of the crop that stood before; empty where none did.
    is_followed
        Whether a crop comes after.
    """

    part: BedPart
    days: Span
    family: str = ""
    is_followed: bool = False


class Season(NamedTuple):
    """What the usual year lets come up, and what frost leaves.

    Attributes
    ----------
    soil_c
        (365,) usual temperature of the soil by day.
    growth
        (366,) degree days over 0 °C before each day, summed.
    frost_free
        First and last usual day without frost; the last comes before the first where they
        are not known.
    rye_from, rye_until
        First day to sow rye, and the last on which it stands in the spring after.
    spring_from
        First day to sow anything.
    """

    soil_c: Floats
    growth: Floats
    frost_free: Span
    rye_from: int
    rye_until: int
    spring_from: int = 1

    def warm_from(self, day: int, soil_c: float) -> int:
        """First day on or after one with soil so warm; after the year where none is."""
        warm = np.flatnonzero(self.soil_c[day - 1 :] >= soil_c)
        return day + int(warm[0]) if len(warm) else DAYS + 1


def season_of(year: UsualYear, days: pd.DataFrame) -> Season:
    """The season of a record of daily `tmin_c` and `tmax_c`."""
    summed = np.concatenate([[0.0], np.cumsum(np.maximum(year.mean_c, 0.0))])
    return Season(
        growth.soil_of_usual_year_c(year.mean_c),
        summed,
        _frost_free(days["tmin_c"], year.season),
        *(
            year.season.day_of(year.season.local_month(month), day)
            for month, day in (RYE_FROM, RYE_UNTIL, SPRING_FROM)
        ),
    )


def _frost_free(tmin_c: pd.Series, season: SeasonYear) -> Span:
    """First and last day without frost in the middle one of the years that are known.

    A year without frost is free of it from end to end; no day is where no year is known.
    """
    # Days that a file leaves out count as nights that are not known.
    daily = tmin_c.asfreq("D")
    nights_c = daily.to_numpy(np.float64)
    dates = daily.index.to_numpy().astype("datetime64[D]")
    calendar = freeze.calendar(dates, southern=season.southern)
    springs = freeze.springs_known(nights_c, calendar, FROST_C)
    autumns = freeze.autumns_known(nights_c, calendar, FROST_C)
    if not (springs.any() and autumns.any()):
        return DAYS, 0
    last = np.median(freeze.last_in_spring(nights_c, calendar, FROST_C)[springs])
    first = np.median(freeze.first_in_autumn(nights_c, calendar, FROST_C)[autumns])
    return int(max(last, 0)) + 1, int(min(first, DAYS + 1)) - 1


# ------------------------------------------------------------------ what is free
def fallows(
    stays: Sequence[Stay], length_m: float, families: Mapping[str, str]
) -> Iterator[Fallow]:
    """Metres of one bed on which no crop stands, and when.

    Parameters
    ----------
    stays
        Stays on the bed, in any order.
    length_m
        Length of the bed.
    families
        Crop -> its family; one that is not there has none.
    """
    whole = BedPart(0.0, length_m)
    parts = [(stay.part or whole, stay) for stay in stays]
    edges = {0.0, length_m}
    edges |= {m for part, _ in parts for m in (part.start_m, part.end_m)}
    for start_m, end_m in _pairs(sorted(edges)):
        here = BedPart(start_m, end_m - start_m)
        there = [
            stay
            for part, stay in parts
            if part.start_m < end_m - 1e-6 and start_m < part.end_m - 1e-6
        ]
        free_from, family = _after_winter(there, families)
        for stay in sorted(there, key=lambda stay: stay.from_day):
            first = min([stay.from_day, *(use.from_day for use in stay.covers)])
            if first > free_from:
                yield Fallow(here, (free_from, first - 1), family, is_followed=True)
            free_from, family = stay.to_day + 1, families.get(stay.crop, "")
        if free_from <= DAYS:
            yield Fallow(here, (free_from, DAYS), family)


def _after_winter(
    there: Sequence[Stay], families: Mapping[str, str]
) -> tuple[int, str]:
    """First day without what stands from the winter before, and its family."""
    left = [
        (last + 1, families.get(stay.crop, ""))
        for stay, last in left_from_winter(there)
    ]
    return max(left, default=(1, ""))


def _pairs(edges: Sequence[float]) -> Iterator[tuple[float, float]]:
    return (
        (one, other) for one, other in itertools.pairwise(edges) if other - one > 1e-6
    )


# ------------------------------------------------------------------ what is sown
def of_metres(there: Sequence[Fallow], season: Season) -> Iterator[tuple[Kind, Span]]:
    """What is sown on the same metres in all their free times of a year, in order.

    The plan is that of every year: rye of its autumn stands on those metres in its spring,
    and nothing else is sown before it is turned in. Its last day lies in the year after.
    """
    # Rye of last autumn, if this year ends with rye on the same metres.
    first, *rest = there
    until = min(_last_day(first), season.rye_until)
    if first.days[0] == 1 and until >= 1:
        after = first._replace(days=(until + 1, first.days[1]))
        found = list(sown(after, season, RYE))
        found += [each for fallow in rest for each in sown(fallow, season)]
        if found and found[-1][0] is RYE:
            *others, (_rye, (sown_on, _last)) = found
            yield from (*others, (RYE, (sown_on, DAYS + until)))
            return
    for fallow in there:
        yield from sown(fallow, season)


def _last_day(fallow: Fallow) -> int:
    """Last one for what is sown for the soil."""
    return fallow.days[1] - (BREAKS_DOWN_DAYS if fallow.is_followed else 0)


def sown(
    fallow: Fallow, season: Season, before: Kind | None = None
) -> Iterator[tuple[Kind, Span]]:
    """What is sown there, one after the other, and from when to when.

    Parameters
    ----------
    fallow
        Metres of a bed that are free, and from when to when.
    season
        What the usual year lets come up there, and what frost leaves.
    before
        What was sown there for the soil right before; None where nothing was.
    """
    start, end = max(fallow.days[0], season.spring_from), _last_day(fallow)
    while start <= end:
        ways = [
            (days, kind)
            for kind in (BUCKWHEAT, OATS, RYE)
            if kind.family != fallow.family and kind is not before
            for days in (_days(kind, start, end, season),)
            if days is not None
        ]
        if not ways:
            return
        # What stands until spring goes first, even where it waits a little for its time.
        days, kind = min(
            ways,
            key=lambda way: way[0][0] - (RYE_WAITS_DAYS if way[1] is RYE else 0),
        )
        yield kind, days
        start, before = days[1] + 1, kind


def _days(kind: Kind, start: int, end: int, season: Season) -> Span | None:
    """From when to when a kind stands within some days; None where that is not worth it."""
    fewest, most = kind.days
    if kind is RYE:
        if end < DAYS:
            return None
        start = max(start, season.rye_from)
    if kind.is_tender:
        start, end = max(start, season.frost_free[0]), min(end, season.frost_free[1])
    if start > DAYS:
        return None
    first = season.warm_from(start, kind.soil_c)
    last = min(end, first + most - 1)
    if last - first + 1 < fewest:
        return None
    grown = season.growth[min(last, DAYS)] - season.growth[first - 1]
    return (first, last) if grown >= LEAST_GROWTH_C_DAYS else None


def of_bed(
    bed: str,
    length_m: float,
    stays: Sequence[Stay],
    families: Mapping[str, str],
    season: Season,
) -> Iterator[GreenManure]:
    """What is sown for the soil of one bed; neighbouring metres in one go.

    Parameters
    ----------
    bed
        Name of the bed.
    length_m
        Its length.
    stays
        Stays on it, in any order.
    families
        Crop -> its family; one that is not there has none.
    season
        What the usual year lets come up, and what frost leaves.
    """
    found = [
        (kind, part, days)
        for part, there in itertools.groupby(
            fallows(stays, length_m, families), lambda fallow: fallow.part
        )
        for kind, days in of_metres(list(there), season)
    ]
    # By kind, then along the bed: what may be joined stands next to each other.
    found.sort(key=lambda each: (each[0].name, each[1], each[2]))
    for kind, part, days in _together(found):
        whole = part.length_m >= length_m - 1e-6
        if part.length_m < LEAST_M and not whole:
            continue
        yield GreenManure(bed, kind.name, *days, part=None if whole else part)


def _together(
    found: Sequence[tuple[Kind, BedPart, Span]],
) -> list[tuple[Kind, BedPart, Span]]:
    """Parts side by side under one kind, that come free soon after each other."""
    joined: list[tuple[Kind, BedPart, Span]] = []
    for kind, part, days in found:
        for at, (other, before, span) in enumerate(joined):
            begins, ends = max(days[0], span[0]), min(days[1], span[1])
            if (
                kind is other
                and abs(before.end_m - part.start_m) < 1e-6
                and abs(days[0] - span[0]) <= TOGETHER_DAYS
                and abs(days[1] - span[1]) <= TOGETHER_DAYS
                and ends - begins + 1 >= kind.days[0]
            ):
                one = BedPart(before.start_m, before.length_m + part.length_m)
                joined[at] = kind, one, (begins, ends)
                break
        else:
            joined.append((kind, part, days))
    return joined


def bare_in_winter(length_m: float, there: Sequence[Stay | GreenManure]) -> bool:
    """Whether some metres of a bed bear nothing at the end of the year."""
    covered = sum(
        length_m if each.part is None else each.part.length_m
        for each in there
        if each.to_day >= DAYS
    )
    return covered < length_m - 1e-6
