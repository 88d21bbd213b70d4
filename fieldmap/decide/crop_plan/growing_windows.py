"""From when to when a crop can stay on a bed, bare or under a cover, and what that wins."""

import itertools
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from fieldmap.decide.calendar import growth, in_tunnels, shade_need
from fieldmap.decide.crop_plan.bed_classes import BedClass
from fieldmap.decide.crop_plan.model import CoverUse, GrowingWindow
from fieldmap.decide.weekly_jobs import lead_times
from fieldmap.model.crops import Crop
from fieldmap.model.season_year import DAYS, SeasonYear, week_of
from layers import sunlight, warmth
from layers.cover import COVERS

Floats = npt.NDArray[np.float64]

# Crops that are not sown again for autumn (common practice, no source).
ONCE = (
    "pea",
    "broad bean",
    "onion sets",
    "seed onion",
    "potato",
    "celery",
    "sweet corn",
    "squash",
    "pumpkin",
)
# Crops of autumn and winter, which nobody wants ripe in summer: corn salad runs to seed in
# long days, and the others are begun for the cold months (common practice, no source).
FOR_AUTUMN = ("corn salad", "leek", "parsnip", "swede", "Brussels sprouts")
# A second sowing is one of its own only so long after the first (a choice).
LEAST_BETWEEN_DAYS = 28
READY_DAYS = 7  # covers lie ready before the first cold night
ROUNDING = 1e-9  # of sums
FILM_DAYS = 7 * lead_times.FILM_WEEKS
LEAST_WINTERS = 0.5  # that a crop must come through to be left standing (a choice)
SHADE_WORTH_DAYS = 3.0  # hot days under cloth that make it worth hanging (a choice)
SPRING, SUMMER, AUTUMN, WINTER = "spring", "summer", "autumn", "winter"
# Until when what stands through the winter is picked: it flowers then (common practice,
# no source).
WINTER_ENDS_DAYS = 105


class UsualYear(NamedTuple):
    """The usual year of a site, as far as growing windows need it.

    Attributes
    ----------
    tmax_c
        Daily maxima of the record.
    mean_c
        (365,) usual mean temperature by day of the season-year.
    season
        The year of growing, in which days are numbered.
    """

    tmax_c: pd.Series
    mean_c: Floats
    season: SeasonYear


def usual_year(days: pd.DataFrame, season: SeasonYear) -> UsualYear:
    """The usual year of a record of daily `tmin_c` and `tmax_c`."""
    return UsualYear(days["tmax_c"], growth.usual_mean_c(days, season), season)


def grows_again(crop: Crop) -> bool:
    """Whether it is sown a second time, for autumn."""
    is_once = _is_one_of(crop, ONCE) or is_for_autumn(crop)
    return crop.harvest_days is not None and not is_once


def is_for_autumn(crop: Crop) -> bool:
    """Whether it is begun once a year, as late as it still is ripe in autumn."""
    return _is_one_of(crop, FOR_AUTUMN)


def _is_one_of(crop: Crop, names: Sequence[str]) -> bool:
    own = {name.casefold() for name in (crop.name, *crop.also)}
    return not own.isdisjoint(map(str.casefold, names))


def _calendar_days(crop: Crop) -> float:
    """Of a crop that is planted for the year after, whose cold days count as well."""
    assert crop.days_to_maturity is not None
    low, high = growth.days_on_bed(crop, crop.days_to_maturity)
    return (low + high) / 2


ShadeCloth = tuple[str, tuple[int, int]]  # kind, first and last month
WhyNoWinter = Literal["never_cool", "too_early", "winter_kills"]


class OwnDays(NamedTuple):
    """Days from the start of a crop on the bed to its first harvest.

    Attributes
    ----------
    by_day
        (366,) by the day of the season-year before the start, from 0 on; ∞ where it
        never gets ripe.
    up_by_day
        (365,) days from sowing until seedlings are seen; None where plants are set out,
        or where frost is judged on the day of sowing.
    """

    by_day: Floats
    up_by_day: Floats | None = None

    def __call__(self, start: float) -> float:
        """Of what begins on a day."""
        return float(self.by_day[int(min(max(start - 1, 0), DAYS))])

    def stands_from(self, start: float) -> float:
        """Day on which frost can first harm what begins on a day."""
        return growth.stands_from(start, self.up_by_day)

    def last_start(self, ready: float) -> float:
        """Latest day to begin for a harvest on a day; -∞ where there is none."""
        starts = np.arange(1, int(ready) + 1)
        ripe = starts + self.by_day[np.minimum(starts - 1, DAYS)] <= ready
        return float(starts[ripe][-1]) if ripe.any() else -float("inf")


def own_days(crop: Crop, year: UsualYear) -> OwnDays:
    """Own days of the middle kinds of a crop in the warmth of the station's usual year."""
    if crop.autumn_soil_c is not None and crop.days_to_maturity is not None:
        return OwnDays(np.full(DAYS + 1, _calendar_days(crop)))
    degree_days = np.asarray(
        warmth.degree_days_average(year.mean_c, year.mean_c, crop.base_c.value)
    )
    worth = growth.progress(crop, degree_days, degree_days)
    # Two years in a row, as what begins in autumn may be ripe in the next one.
    total = np.concatenate([[0.0], np.cumsum(np.tile(worth, 2))])
    wanted = sum(growth.wanted(crop)) / 2 - ROUNDING
    ripe = np.searchsorted(total, total[: DAYS + 1] + wanted)
    days = ripe - np.arange(DAYS + 1)
    up = growth.until_up(crop, growth.soil_of_usual_year_c(year.mean_c))
    return OwnDays(np.where(ripe < len(total), days, np.inf), up)


class CropOnClass(NamedTuple):
    """What windows of one crop on one class of beds are made from.

    Attributes
    ----------
    kinds
        Covers of nights that may be used, by their place among the dates; the first is
        none.
    own_days
        From its start to the first harvest.
    cloth
        Shade cloth that may be used and its months; None for none.
    """

    crop: Crop
    number: int
    beds: BedClass
    own_days: OwnDays
    kinds: Sequence[tuple[int, str]]
    cloth: ShadeCloth | None

    def early(self, cover: int) -> float:
        """Day from which it can go out."""
        return float(np.ceil(self.beds.early[self.number, cover]))

    def late(self, cover: int) -> float:
        """Last day before frost takes it; that of the year where none does."""
        day = float(np.ceil(self.beds.late[self.number, cover])) - 1
        return float(min(day, DAYS))

    def slackens(self, cover: int, last: float) -> int | None:
        """Day from which it bears less, where that is before its last."""
        day = float(self.beds.slackens[self.number, cover])
        return int(day) if day <= last else None

    def last_sowing(self, cover: int) -> float:
        """Last day on which it begins, as the table of dates has it; ∞ for none."""
        last = self.beds.last_sowing
        day = np.nan if last is None else last[self.number, cover]
        return float("inf") if np.isnan(day) else float(day)

    def harvest(self, start: float) -> float:
        """First harvest of what begins on a day, never bent to fit anything."""
        return start + self.own_days(start)

    def bare_days(self, season: str) -> float:
        """Days of season on bare beds, to compare classes of beds; 0 where it has none."""
        start, last = self.early(0), self.late(0)
        ahead = -start if np.isfinite(start) else -float(DAYS)
        return {SPRING: ahead, SUMMER: last + ahead, AUTUMN: last, WINTER: last}[season]


def spring(where: CropOnClass) -> Iterator[GrowingWindow]:
    """From the early date to the end of its harvest."""
    keeps = where.crop.harvest_days
    assert keeps is not None
    bare = where.early(0)
    for at, kind in where.kinds:
        # In spring a cover lets it out sooner; it is long off by the frost of autumn.
        start, last = where.early(at), where.late(0)
        if not _ripens(where, start, last):
            continue
        harvest = where.harvest(start)
        to_day = min(harvest + keeps, last)
        won = _won(min(bare, to_day) - start)
        if at and won < lead_times.WORTH_DAYS:
            continue
        off = where.own_days.stands_from(bare)
        uses = cover_before(kind, start, off, to_day, won) if at else ()
        yield GrowingWindow(SPRING, int(start), int(harvest), int(to_day), uses)


def summer(where: CropOnClass) -> Iterator[GrowingWindow]:
    """From the early date until frost, with covers at either end or at both."""
    bare = where.early(0), where.late(0)
    for at, kind in where.kinds:
        ends = [(where.early(at), bare[1]), (bare[0], where.late(at))]
        both = (where.early(at), where.late(at))
        for start, last in dict.fromkeys([*ends, both] if at else [both]):
            if not _ripens(where, start, last):
                continue
            uses = covers_over(where, kind, (start, last)) if at else ()
            if any(use.days < lead_times.WORTH_DAYS for use in uses):
                continue
            if at and not uses:
                continue
            lies_to_the_end = any(use.to_day >= last for use in uses)
            slackens = where.slackens(at if lies_to_the_end else 0, last)
            yield GrowingWindow(
                SUMMER,
                int(start),
                int(where.harvest(start)),
                int(last),
                left_on(uses),
                slackens_day=slackens,
            )


def autumn(where: CropOnClass) -> Iterator[GrowingWindow]:
    """From the last sowing that is ripe in light and time to its late date."""
    keeps = where.crop.harvest_days
    assert keeps is not None
    bare = where.late(0)
    dark = where.beds.grows_until[where.number]
    begins_once = is_for_autumn(where.crop)
    first = where.early(0) + (0 if begins_once else LEAST_BETWEEN_DAYS)
    for at, kind in where.kinds:
        last = where.late(at)
        # Growth ends with the light, and what is ripe by then keeps until frost.
        start = where.own_days.last_start(min(last - keeps, dark))
        start = min(start, where.last_sowing(at))
        # Where the season is short, it is picked for less long rather than never.
        if begins_once and start < first <= where.last_sowing(at):
            start = first if where.harvest(first) <= min(last, dark) else start
        if start < first:
            continue
        # What is sown so late that it never stands bare has the cover from its first day.
        bare_until = max(bare, start)
        won = _won(last - bare_until)
        if at and won < lead_times.WORTH_DAYS:
            continue
        uses = cover_behind(kind, start, bare_until, last, won) if at else ()
        yield GrowingWindow(
            AUTUMN, int(start), int(where.harvest(start)), int(last), uses
        )


def winter(where: CropOnClass) -> Iterator[GrowingWindow]:
    """From autumn until the spring or summer of the year after, bare.

    What is planted in autumn begins on its early date; what stands as grown plants
    begins as late as it still is grown before the light is gone.
    """
    keeps = where.crop.harvest_days
    assert keeps is not None
    if where.crop.autumn_soil_c is not None:
        start = where.early(0)
        if start <= DAYS:
            harvest = where.harvest(start)
            days = int(start), int(harvest), int(harvest + keeps)
            yield GrowingWindow(WINTER, *days, ())
        return
    # In winter it is picked and hardly grows, so it must be grown before.
    ready = min(float(where.beds.grows_until[where.number]), where.late(0))
    start = min(where.own_days.last_start(ready), where.last_sowing(0))
    if start < where.early(0) or not _survives_winter(where.beds, where.number):
        return
    days = int(start), int(where.harvest(start)), DAYS + WINTER_ENDS_DAYS
    yield GrowingWindow(WINTER, *days, ())


def _survives_winter(beds: BedClass, number: int) -> bool:
    """Whether a crop survives the winter on some beds in half of the years or more."""
    share = None if beds.winters is None else beds.winters[number]
    to_new_year = bool(beds.late[number, 0] > DAYS)
    return to_new_year and not (share is not None and share < LEAST_WINTERS)


def why_no_winter(crop: Crop, number: int, classes: Sequence[BedClass]) -> WhyNoWinter:
    """Why a crop stands through the winter on none of some beds.

    Parameters
    ----------
    crop
        The crop.
    number
        Its place among the dates.
    classes
        Beds on which it has no window of winter.
    """
    if crop.autumn_soil_c is not None:
        return "never_cool"
    lives = any(_survives_winter(each, number) for each in classes)
    return "too_early" if lives else "winter_kills"


def _ripens(where: CropOnClass, start: float, last: float) -> bool:
    """Whether it can begin on a day, and is ripe by another."""
    return bool(np.isfinite(start)) and where.harvest(start) <= last


def _won(days: float) -> float:
    return float(max(days, 0.0))


def covers_over(
    where: CropOnClass, kind: str, stay: tuple[float, float]
) -> tuple[CoverUse, ...]:
    """A cover over a stay while it would not do bare, at either end of it or at both.

    Parameters
    ----------
    where
        The crop on its beds: when it would do without, and until when it holds without.
    kind
        Kind of cover, in the names of `layers.cover`.
    stay
        First and last day of the crop on the bed.
    """
    start, to_day = stay
    bare_from, bare_last = where.early(0), where.late(0)
    # Warm enough only after the first frost is never; the cover then wins the whole stay,
    # and once.
    if max(bare_from, start) >= bare_last:
        bare_from = float("inf")
    ahead = _won(min(bare_from, to_day) - start)
    bare_until = max(bare_last, start + ahead)
    behind = _won(to_day - bare_until)
    off = where.own_days.stands_from(bare_from)
    uses = cover_before(kind, start, off, to_day, ahead) if ahead else ()
    if behind:
        uses += cover_behind(kind, start, bare_until, to_day, behind)
    return uses


def cover_before(
    kind: str, start: float, off: float, to_day: float, won: float
) -> tuple[CoverUse, ...]:
    """Over the bed until it would do without; film a week before, to warm the soil.

    What is sown bare is safe while it is seed. So a cover over what is sown before stays
    until the other would be up, and not until the other would be sown.

    Parameters
    ----------
    kind
        Kind of cover, in the names of `layers.cover`.
    start
        Day on which the crop goes out, a day number of the season-year.
    off
        Day from which plants would do without; ∞ where they never would.
    to_day
        Last day of the crop on the bed, on which the cover comes off at the latest.
    won
        Days of season that the cover wins.
    """
    ahead = FILM_DAYS if COVERS[kind].kind == "film" else 0
    last = min(off, to_day)
    return (CoverUse(kind, int(max(start - ahead, 1)), int(last), won),)


def cover_behind(
    kind: str, start: float, bare: float, last: float, won: float
) -> tuple[CoverUse, ...]:
    """From before the first frost that would take it bare.

    Parameters
    ----------
    kind
        Kind of cover, in the names of `layers.cover`.
    start
        Day on which the crop goes out, before which no cover lies ready.
    bare
        Last day on which the crop holds without; the cover lies ready a week before.
    last
        Last day on which it holds under the cover.
    won
        Days of season that the cover wins.
    """
    ready = max(bare - READY_DAYS, start)
    return (CoverUse(kind, int(ready), int(last), won),)


def left_on(uses: tuple[CoverUse, ...]) -> tuple[CoverUse, ...]:
    """A cover that would come off and on again within a week stays on."""
    if len(uses) < 2:
        return uses
    first, second = uses
    if week_of(second.from_day) > week_of(first.to_day):
        return uses
    days = first.days + second.days
    return (CoverUse(first.kind, first.from_day, second.to_day, days),)


WINDOWS: Mapping[str, Callable[[CropOnClass], Iterator[GrowingWindow]]] = {
    SPRING: spring,
    SUMMER: summer,
    AUTUMN: autumn,
    WINTER: winter,
}


# ------------------------------------------------------------------ shade and light
def shade_cloth(
    crop: Crop,
    here: BedClass,
    year: UsualYear,
    allowed: Sequence[str] | None,
    owned: Sequence[str],
) -> ShadeCloth | None:
    """Shade cloth that a crop wants in the light of a class, an owned one first; its months.

    None too where no hoops may stand, as inside tunnels. Fabric over the same bed twice,
    for cold and for shade, is not planned.

    Parameters
    ----------
    crop
        The crop: its limit of heat, its best light and the shade that it is usually
        given.
    here
        Beds that are alike, with their light.
    year
        The usual year of the site: here its daily maxima.
    allowed
        Kinds of cover that may be used; None for all.
    owned
        Kinds of cover that are owned, of which shade cloth counts.
    """
    # A tunnel has its cloth over the film (`materials.tunnel_covers`).
    if not here.may_have_hoops:
        return None
    wanted = shade_need.need(
        *(crop, year.tmax_c, here.light_mj_m2_day),
        [kind for kind in owned if kind in shade_need.ON_SALE],
        season=year.season,
        allowed=allowed,
    )
    if wanted.kind is None or wanted.months is None:
        return None
    return wanted.kind, wanted.months


def shaded(
    window: GrowingWindow, where: CropOnClass, year: UsualYear, hot: Sequence[float]
) -> GrowingWindow | None:
    """The same stay with shade cloth in its hot months; None where that is not worth it.

    A hot day under the cloth counts as a day won (a choice).

    Parameters
    ----------
    window
        The stay without shade cloth.
    where
        The crop on its beds, with the cloth that may be used; without any the answer is
        None.
    year
        The usual year of the site.
    hot
        Usual days over the crop's limit in each month, January first; NaN counts as
        none.
    """
    if where.cloth is None:
        return None
    kind, months = where.cloth
    begins, ends = shade_need.stage_days(
        where.crop, window.from_day, window.harvest_day, window.to_day
    )
    won, from_day, to_day = max(
        (_hot_within(*days, hot, year.season), *days)
        for on, off in _hung(months, year.season)
        for days in ((max(on, begins), min(off, ends)),)
    )
    if won < SHADE_WORTH_DAYS:
        return None
    uses = (*window.covers, CoverUse(kind, from_day, to_day, won))
    return replace(window, covers=tuple(sorted(uses, key=lambda use: use.from_day)))


def _hung(months: tuple[int, int], season: SeasonYear) -> list[tuple[int, int]]:
    """Days on which cloth for a spell of months goes on and comes off.

    A spell that runs over the end of the season-year has days at both ends of it.
    """
    if months == in_tunnels.ALL_YEAR:
        return [(1, DAYS)]
    first, last = months
    on = season.day_of(first)
    off = season.day_of(last) + int(shade_need.MONTH_DAYS[last - 1])
    return [(on, off)] if on < off else [(1, off), (on, DAYS)]


def lost_to_light(
    window: GrowingWindow, where: CropOnClass, year: UsualYear, hot: Sequence[float]
) -> float:
    """Days that too little or, on hot days, too much light of the bed costs.

    Where a bed has less light than the least that is best for the crop, growth lasts
    longer in the same measure; on hot days each part of light above the most that is
    best costs that part of the day (both a choice, no source).

    Parameters
    ----------
    window
        The stay: its days, and its month in the middle, whose light counts.
    where
        The crop on its beds, with their light.
    year
        The usual year of the site.
    hot
        Usual days over the crop's limit in each month, January first; NaN counts as
        none.
    """
    middle = (window.from_day + window.to_day) / 2
    month = year.season.month_day_of_any_year(middle)[0]
    mol = float(
        sunlight.daily_light_integral_mol(where.beds.light_mj_m2_day[month - 1])
    )
    best = where.crop.best_light_mol
    grown = window.harvest_day - window.from_day
    # At most as long again: in such dark the crop is a mistake, whatever the number.
    slower = grown * min(max(best.low / max(mol, 0.1) - 1, 0.0), 1.0)
    days = _hot_within(window.from_day, window.to_day, hot, year.season)
    return slower + days * min(max(mol / best.high - 1, 0.0), 1.0)


def _hot_within(
    from_day: float, to_day: float, hot: Sequence[float], season: SeasonYear
) -> float:
    """Hot days between two days, those of a month spread evenly over it.

    The second may lie in the year after, as of what stands through the winter.
    """
    total = 0.0
    for month, later in itertools.product(range(1, 13), (0, DAYS)):
        first = season.day_of(month) + later
        length = shade_need.MONTH_DAYS[month - 1]
        overlap = min(to_day, first + length - 1) - max(from_day, first) + 1
        known = 0.0 if np.isnan(hot[month - 1]) else hot[month - 1]
        total += max(overlap, 0.0) / length * known
    return float(total)
