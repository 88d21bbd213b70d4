"""Wanted crops, beds and covers, fitted together for one year."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fieldmap.decide.calendar import shade_need
from fieldmap.decide.crop_plan import (
    assign_beds,
    bed_classes,
    cover_stock,
    cover_use,
    growing_windows,
    milp,
    shortfall,
)
from fieldmap.decide.crop_plan.demand import Choice, Wish, wishes_of
from fieldmap.decide.crop_plan.model import Turn, Turns
from fieldmap.model.season_year import DAYS, week_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import numpy.typing as npt

    from fieldmap.decide.calendar.planting_dates import Dates
    from fieldmap.decide.crop_plan.bed_classes import BedClass
    from fieldmap.decide.crop_plan.cover_stock import Supplies
    from fieldmap.decide.crop_plan.growing_windows import Stay, Usual
    from fieldmap.decide.ranking import RankedBed
    from fieldmap.model.site import Site

    Whole = npt.NDArray[np.int64]

# What counts in the first place: a bed for a crop that is wanted, then one for a second
# sowing, then another family than last year's. None of them is given up for days.
PLACED, PLACED_AGAIN, SAME_FAMILY = 4.0, 1.0, -0.5
# Days may fall short of the best by this share, beds for crops never: a hundredth is
# less than the dates know, and the proof of the rest would take most of the time.
GAP = 0.01
# A cover costs as many days on a metre of bed for each week, so that none lies longer
# than it helps; and among equals the beds that come first are taken (both a choice).
COVER_WEEK, LATER_BED = 1e-3, 1e-4


def make(site: Site, beds: Sequence[RankedBed], dates: Dates) -> Turns:
    """What goes where; nothing, with the reason, where that cannot be told."""
    why = shortfall.why_not(site, beds, dates)
    if why is not None:
        return Turns(remarks=(why,), season=site.season)
    kinds = bed_classes.of_beds(beds, dates, _families(site, beds))
    wishes = wishes_of(site, dates, sum(len(kind.beds) for kind in kinds))
    choices = tuple(_choices(site, dates, kinds, wishes))
    has = cover_stock.of_site(site, [kind.width_m for kind in kinds])
    counts = _granted(choices, kinds, wishes, has)
    without_end = _granted(choices, kinds, wishes, has.without_end())
    turns = _turns(counts, choices, kinds, wishes, beds)
    lengths_m = {bed.bed.name: bed.bed.length_m for bed in beds}
    return Turns(
        turns=turns,
        covers=cover_use.covers(
            turns, _turns(without_end, choices, kinds, wishes, beds), lengths_m, has
        ),
        minutes=cover_use.minutes(turns, lengths_m, has),
        hands_minutes=has.hands,
        short=tuple(shortfall.short(counts, choices, wishes, kinds, has)),
        remarks=tuple(shortfall.remarks(site, turns, choices, wishes, beds)),
        season=site.season,
    )


def _families(site: Site, beds: Sequence[RankedBed]) -> dict[str, frozenset[str]]:
    """Families of last year by the name of the bed, however the file writes it."""
    stood: dict[str, set[str]] = {}
    for each in site.last_year:
        if each.family is not None:
            stood.setdefault(each.bed.casefold(), set()).add(each.family)
    return {
        bed.bed.name: frozenset(stood.get(bed.bed.name.casefold(), ())) for bed in beds
    }


# ------------------------------------------------------------------ what may be chosen
def _choices(
    site: Site, dates: Dates, kinds: Sequence[BedClass], wishes: Sequence[Wish]
) -> Iterator[Choice]:
    """Every way to grant every wish, with what the place is worth for it."""
    year = growing_windows.usual(site)
    for at, wish in enumerate(wishes):
        hot = shade_need.hot_days(year.tmax_c, wish.crop.heat_limit_c.value)
        growth = growing_windows.growth(wish.crop, year)
        nights = _nights(site, dates, wish)
        cloths: dict[float, tuple[str, tuple[int, int]] | None] = {}
        found: list[tuple[int, Stay, float]] = []
        for number, here in enumerate(kinds):
            light = round(here.light_mj_m2_day[site.summer_month], 1)
            if light not in cloths:
                cloths[light] = _cloth(site, wish, here, year)
            way = growing_windows.Way(
                wish.crop, wish.number, here, growth, nights, cloths[light]
            )
            for stay in _stays(wish, way, year, hot):
                worth = _date_days(wish, way) - growing_windows.lost_to_light(
                    stay, way, year, hot
                )
                found.append((number, stay, worth))
        least = min((worth for _, _, worth in found), default=0.0)
        for number, stay, worth in found:
            same = wish.family if wish.family in kinds[number].families else ""
            yield Choice(at, number, stay, worth - least, same)


def _stays(
    wish: Wish, way: growing_windows.Way, year: Usual, hot: Sequence[float]
) -> Iterator[Stay]:
    makes = {
        growing_windows.SPRING: growing_windows.spring,
        growing_windows.SUMMER: growing_windows.summer,
        growing_windows.AUTUMN: growing_windows.autumn,
    }
    for stay in makes[wish.season](way):
        yield stay
        under = growing_windows.shaded(stay, way, year, hot)
        if under is not None:
            yield under


def _date_days(wish: Wish, way: growing_windows.Way) -> float:
    """Days of season on bare beds, to be compared among classes; 0 where it has none."""
    start, last = way.early(0), way.late(0)
    ahead = -start if np.isfinite(start) else -float(DAYS)
    return {
        growing_windows.SPRING: ahead,
        growing_windows.SUMMER: last + ahead,
        growing_windows.AUTUMN: last,
    }[wish.season]


def _nights(site: Site, dates: Dates, wish: Wish) -> list[tuple[int, str]]:
    """No cover, then those of the dates that the grower does not rule out."""
    allowed = site.settings.crops[wish.number].covers
    return [
        (at, kind)
        for at, kind in enumerate(dates.covers)
        if at == 0 or allowed is None or kind in allowed
    ]


def _cloth(
    site: Site, wish: Wish, here: BedClass, year: Usual
) -> tuple[str, tuple[int, int]] | None:
    """Shade cloth that the crop wants in this light, and its months."""
    wanted = shade_need.need(
        wish.crop, year.tmax_c, here.light_mj_m2_day, season=site.season
    )
    if wanted.kind is None or wanted.months is None:
        return None
    allowed = site.settings.crops[wish.number].covers
    if allowed is not None and wanted.kind not in allowed:
        return None
    return wanted.kind, wanted.months


# ------------------------------------------------------------------ what is chosen
def _granted(
    choices: Sequence[Choice],
    kinds: Sequence[BedClass],
    wishes: Sequence[Wish],
    has: Supplies,
) -> Whole:
    """Beds that take each choice."""
    limits = has.limits()
    options, places = [], []
    usual_m = float(np.mean([kind.length_m for kind in kinds]))
    for place, choice in enumerate(choices):
        kind, stay = kinds[choice.bed_class], choice.stay
        uses = tuple(has.uses(stay.covers, kind.length_m, kind.width_m))
        if any(use.amount > limits.get(use.of, np.inf) for use in uses):
            continue
        weeks = sum(
            week_of(use.to_day) - week_of(use.from_day) + 1 for use in stay.covers
        )
        wish = wishes[choice.wish]
        places.append(place)
        options.append(
            milp.Option(
                bed_class=choice.bed_class,
                wish=choice.wish,
                weeks=stay.held,
                first=(PLACED_AGAIN if wish.is_again else PLACED)
                + (SAME_FAMILY if choice.same_family else 0.0),
                then=(stay.days_by_cover - COVER_WEEK * weeks) * kind.length_m
                + (choice.place_days - LATER_BED * choice.bed_class) * usual_m,
                uses=uses,
            )
        )
    counts = np.zeros(len(choices), np.int64)
    counts[places] = milp.best(
        milp.Question(
            options,
            [len(kind.beds) for kind in kinds],
            [wish.beds for wish in wishes],
            limits,
        ),
        GAP,
    )
    return counts


# ------------------------------------------------------------------ on beds
def _turns(
    counts: Whole,
    choices: Sequence[Choice],
    kinds: Sequence[BedClass],
    wishes: Sequence[Wish],
    beds: Sequence[RankedBed],
) -> tuple[Turn, ...]:
    """Turns on single beds, in the order of the beds and of their days."""
    placed = assign_beds.beds(counts, choices, kinds, wishes)
    order = sorted(placed, key=lambda each: (each[0], each[1].stay.from_day))
    return tuple(
        _turn(choice, wishes[choice.wish], beds[bed].bed.name) for bed, choice in order
    )


def _turn(choice: Choice, wish: Wish, bed: str) -> Turn:
    stay = choice.stay
    return Turn(
        bed=bed,
        crop=wish.crop.name,
        season=stay.season,
        from_day=stay.from_day,
        harvest_day=stay.harvest_day,
        to_day=stay.to_day,
        covers=stay.covers,
        days_by_place=choice.place_days,
        family_of_last_year=choice.same_family,
    )
