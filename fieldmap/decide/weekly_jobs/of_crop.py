"""The jobs of one crop on one set of beds, from ordering seed to the last day."""

from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from fieldmap.decide.calendar import growth
from fieldmap.decide.calendar.planting_dates import Dates
from fieldmap.decide.ranking import RankedBed
from fieldmap.decide.weekly_jobs.job import BedSet, Job
from fieldmap.decide.weekly_jobs.lead_times import (
    FILM_WEEKS,
    FLOWER_WEEKS,
    HARDEN_WEEKS,
    HOOP_WEEKS,
    ORDER_WEEKS,
    READY_WEEKS,
    SECOND_SOWING_DAYS,
    STORE_WEEKS,
    WORTH_DAYS,
    weeks_by_name,
)
from fieldmap.model.crops import Crop
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import DAYS
from layers.cover import COVERS

Floats = npt.NDArray[np.float64]


class Shaded(NamedTuple):
    """Cloth over a crop, from its first day to its last, both within."""

    kind: str
    from_day: int
    to_day: int


class Covering(NamedTuple):
    """A cover for nights over a crop, from one day to another, both within."""

    kind: str
    from_day: int
    to_day: int


class PlannedBeds(NamedTuple):
    """Beds that the crop plan has for one crop, and the cover each of them gets.

    Attributes
    ----------
    season
        "spring", "summer" (until frost) or "autumn".
    beds
        Their names.
    ahead, behind
        Kind of the cover in spring and in autumn; None for none. One that lies from the
        first day to the last is both.
    from_day, harvest_day, to_day
        When the crop goes on the beds, is picked first, and is done.
    shade
        Cloth that hangs over it; None for none.
    is_dated
        Whether the sowing has days of its own; else it begins as soon as its bed lets it.
    parts
        Of beds that it takes in part: name, and metres from the gate end.
    covered
        Covers for nights of a sowing with days of its own, in order.
    ahead_until
        Last day of the cover of spring; None where it lies until the crop could go out
        without it.
    """

    season: str
    beds: frozenset[str]
    ahead: str | None
    behind: str | None
    from_day: int
    harvest_day: int
    to_day: int
    shade: Shaded | None = None
    is_dated: bool = False
    parts: tuple[tuple[str, float, float], ...] = ()
    covered: tuple[Covering, ...] = ()
    ahead_until: int | None = None

    @property
    def lies_throughout(self) -> bool:
        """Whether the cover of spring lies there to the last day."""
        return self.ahead_until is not None and self.ahead_until >= self.to_day


@dataclass(frozen=True)
class CropOnBeds:
    """One crop on a group of beds, or on those of it that are planned for the crop.

    Attributes
    ----------
    places
        Of the beds in the list of all.
    planned
        None where any bed may carry any crop.
    """

    crop: Crop
    beds: BedSet
    places: tuple[int, ...]
    planned: PlannedBeds | None = None

    def job(
        self, kind: str, day: float, cover: str = "", likely: Estimate | None = None
    ) -> Job:
        """A job with this crop on these beds.

        Parameters
        ----------
        kind
            Kind of the job, of `job.ORDER`.
        day
            Day of the season-year, from 1; a part of a day is cut off.
        cover
            Kind of cover, in the names of `layers.cover`; empty for none.
        likely
            Low, central and high of the day, of which the ends are kept; None where not
            known.
        """
        ends = None if likely is None else (likely.low, likely.high)
        # Of what stands into the year after a list may have the end before the beginning.
        begun = None if self.planned is None or day <= DAYS else self.planned.from_day
        who = self.crop.name, self.beds
        return Job(kind, int(day), *who, cover, likely_days=ends, begun=begun)

    @property
    def days_in_ground(self) -> float:
        """At the least, from its early date to the first harvest; 0 where not known."""
        days = self.crop.days_to_maturity
        return 0.0 if days is None else growth.days_on_bed(self.crop, days)[0]


def of_planned(
    crop: Crop,
    group: BedSet,
    places: tuple[int, ...],
    beds: Sequence[RankedBed],
    planned: Mapping[str, Sequence[PlannedBeds]] | None,
) -> Iterator[CropOnBeds]:
    """A crop on a group of beds, or on each part of it that is planned for the crop.

    Parameters
    ----------
    crop
        The crop.
    group
        The group of beds.
    places
        Places of its beds in the list of all.
    beds
        All beds outdoors.
    planned
        Crop -> beds that the crop plan has for it; None where any crop may stand on any
        group.
    """
    if planned is None:
        yield CropOnBeds(crop, group, places)
        return
    for each in planned.get(crop.name, ()):
        here = tuple(place for place in places if beds[place].bed.name in each.beds)
        if here:
            names = {beds[place].bed.name for place in here}
            parts = tuple(part for part in each.parts if part[0] in names)
            there = BedSet.of("", beds, here)._replace(parts=parts)
            yield CropOnBeds(crop, there, here, each)


class CropDate(NamedTuple):
    """A date of a crop without a cover, and under the one that serves best.

    Attributes
    ----------
    cover
        In the names of `layers.cover`; empty where none is worth the work.
    number
        Its place among the covers of the dates; 0 is none.
    stands_from
        Day from which frost could harm what is begun on its day without a cover.
    """

    bare: Estimate
    best: Estimate
    cover: str
    number: int
    stands_from: float = float("inf")


def jobs_of_crop(
    row: CropOnBeds,
    dates: Dates,
    number: int,
    usable: Container[str],
    until_up_days: Floats | None = None,
) -> list[Job] | Fact:
    """From ordering to the last day; or why the crop has no jobs.

    Parameters
    ----------
    row
        The crop on its beds.
    dates
        Early and late dates of all beds.
    number
        Place of the crop among those of the dates.
    usable
        Covers that are owned and may be used for it; where beds are planned they get
        those of the plan.
    until_up_days
        (365,) as `growth.until_up` gives them for the crop.
    """
    ahead, behind = (
        (row.planned.ahead, row.planned.behind) if row.planned else (None, None)
    )
    early, late, covers = dates.early[:, number], dates.late[:, number], dates.covers
    spring = _date(row, early, covers, _kinds(row, ahead, usable))
    sown_bare = float(np.ceil(spring.bare.central))
    spring = spring._replace(stands_from=growth.stands_from(sown_bare, until_up_days))
    autumn = _date(row, late, covers, _kinds(row, behind, usable), late=True)
    slack = _middle(dates.slackens[number, autumn.number][list(row.places)])
    if row.planned is not None:
        return [*_as_planned(row, row.planned, spring, autumn, slack)]
    out = spring.best.central
    who = {"crop": row.crop.name, "beds": row.beds}
    if not np.isfinite(out):
        return Fact("crop_never_warm" if out > 0 else "crop_dates_unknown", **who)
    lasts = _last_day(autumn.best.central) - np.ceil(out)
    if lasts < row.days_in_ground:
        days = round(max(lasts, 0))
        return Fact("crop_left_out", number=days, wanted=row.days_in_ground, **who)
    # The cover that holds the crop longest in autumn says how late it may still be sown.
    sown = _of_middle_bed(dates.last_sowing[:, number, autumn.number], row.places)
    return [
        *_spring(row, spring),
        *_last_sowing(row, out, sown),
        *_autumn(row, autumn, slack, has_hoops=bool(spring.cover)),
    ]


def _kinds(
    row: CropOnBeds, planned: str | None, usable: Container[str]
) -> Container[str]:
    return usable if row.planned is None else () if planned is None else (planned,)


# ------------------------------------------------------------------ dates
def _date(
    row: CropOnBeds,
    days: Floats,
    covers: Sequence[str],
    usable: Container[str],
    *,
    late: bool = False,
) -> CropDate:
    """The date of a crop, and under the cover that moves it furthest, if by a week or more.

    A cover that is planned for the beds is worth it: the plan has counted its days.

    Parameters
    ----------
    days
        (3, covers, beds) of the crop.
    late
        A cover is to hold the crop longer, not to let it out sooner.
    """
    bare = _of_middle_bed(days[:, 0], row.places)
    under = {
        number: _of_middle_bed(days[:, number], row.places)
        for number, kind in enumerate(covers)
        if kind in usable
    }
    if under:
        choose = max if late else min
        best = choose(under, key=lambda number: under[number].central)
        later = under[best].central - bare.central
        if row.planned or (later if late else -later) >= WORTH_DAYS:
            return CropDate(bare, under[best], covers[best], best)
    return CropDate(bare, bare, "", 0)


def _last_day(late: float) -> float:
    """The last whole day before a late date."""
    return float(np.ceil(late) - 1)


def _of_middle_bed(days: Floats, places: Sequence[int]) -> Estimate:
    """Low, central and high of the middle bed of a group."""
    return Estimate(*(_middle(each[list(places)]) for each in days))


def _middle(days: Floats) -> float:
    """The middle one of those known; of an even number the later."""
    known = np.sort(days[~np.isnan(days)])
    return float(known[len(known) // 2]) if len(known) else float("nan")


# ------------------------------------------------------------------ jobs
def _as_planned(
    row: CropOnBeds,
    planned: PlannedBeds,
    spring: CropDate,
    autumn: CropDate,
    slack: float,
) -> Iterator[Job]:
    """Of a stay in the crop plan: its beds, its cover and its part of the year."""
    if planned.is_dated:
        yield from dated(row, planned)
        return
    if planned.season != "autumn":
        yield from _spring(row, spring)
    else:
        if row.crop.is_set_out:
            start = planned.from_day - row.crop.tray_days
            yield row.job("start_trays_for_autumn", start)
        kind = "set_out_for_autumn" if row.crop.is_set_out else "sow_for_autumn"
        yield row.job(kind, planned.from_day)
    yield row.job("begin_to_pick", planned.harvest_day)
    if planned.season == "spring":
        yield _last_of(row, planned)
        if planned.ahead and planned.lies_throughout:
            yield _stored(planned.ahead, planned.to_day)
    else:
        yield from _autumn(row, autumn, slack, has_hoops=bool(spring.cover))


def _last_of(row: CropOnBeds, planned: PlannedBeds) -> Job:
    """The last day of a stay that ends by the plan, and not with frost."""
    kind = "last_days_under" if planned.behind else "last_days"
    return row.job(kind, planned.to_day, planned.behind or "")


def dated(row: CropOnBeds, planned: PlannedBeds) -> Iterator[Job]:
    """Jobs of a sowing with days of its own, from ordering seed to its last harvest.

    Parameters
    ----------
    row
        The crop on the beds.
    planned
        What the crop plan has for it.
    """
    out, cover = planned.from_day, planned.ahead or ""
    start = out - row.crop.tray_days
    yield Job("order_seed", start - 7 * ORDER_WEEKS, row.crop.name)
    if row.crop.is_set_out:
        yield row.job("start_trays", start)
        yield row.job("harden_off", out - 7 * HARDEN_WEEKS)
    kind = ("set_out" if row.crop.is_set_out else "sow") + ("_under" if cover else "")
    yield row.job(kind, out, cover)
    for number, over in enumerate(planned.covered):
        yield from _dated_cover(row, planned, over, is_first=not number)
    yield row.job("begin_to_pick", planned.harvest_day)
    yield _last_of(row, planned)


def _dated_cover(
    row: CropOnBeds, planned: PlannedBeds, over: Covering, *, is_first: bool
) -> Iterator[Job]:
    """A cover on and off again; what lies to the last day goes with the crop."""
    # What is sown for autumn in its last bare days has the cover ready, and none ahead.
    if planned.ahead and over.from_day <= planned.from_day:
        yield from _covering(row, over.kind, planned.from_day)
    else:
        yield from _ready(row, over.kind, over.from_day, has_hoops=not is_first)
    if over.to_day < planned.to_day:
        yield from _uncovering(row, over.kind, planned.from_day, over.to_day)
    else:
        yield _stored(over.kind, over.to_day)


def _last_sowing(row: CropOnBeds, out: float, last: Estimate) -> Iterator[Job]:
    """The last sowing that still gives a harvest, where there is time for a second."""
    if not out + SECOND_SOWING_DAYS <= last.central < np.inf:
        return
    kind = "last_setting_out" if row.crop.is_set_out else "last_sowing"
    yield row.job(kind, np.floor(last.central), likely=last.map(np.floor))


def _spring(row: CropOnBeds, date: CropDate) -> Iterator[Job]:
    """From ordering seed to the cover that comes off."""
    out = int(np.ceil(date.best.central))
    start = out - row.crop.tray_days
    yield Job("order_seed", start - 7 * ORDER_WEEKS, row.crop.name)
    if row.crop.is_set_out:
        yield row.job("start_trays", start)
        yield row.job("harden_off", out - 7 * HARDEN_WEEKS)
    kind = ("set_out" if row.crop.is_set_out else "sow") + (
        "_under" if date.cover else ""
    )
    yield row.job(kind, out, date.cover, date.best.map(np.ceil))
    if date.cover:
        yield from _covering(row, date.cover, out)
        off = _bare_from(row.planned, date.stands_from)
        yield from _uncovering(row, date.cover, out, off)


def _bare_from(planned: PlannedBeds | None, stands_from: float) -> float:
    """Day on which the cover of spring comes off; ∞ where it lies to the last day."""
    # Not on the day of sowing without a cover: what came up under one is no seed then.
    if planned is None or planned.ahead_until is None:
        return stands_from
    return float("inf") if planned.lies_throughout else planned.ahead_until


def _covering(row: CropOnBeds, cover: str, out: int) -> Iterator[Job]:
    """Hoops and drip, then film before planting."""
    made_of = COVERS[cover].kind
    before = 7 * HOOP_WEEKS.get(made_of, 1)
    # Under fabric rain waters the bed, so no drip goes in before it.
    if made_of != "film":
        yield row.job("set_hoops", out - before)
        return
    yield row.job("set_hoops_and_drip", out - before)
    yield row.job("pull_film", out - 7 * FILM_WEEKS, cover)


def _uncovering(row: CropOnBeds, cover: str, out: int, bare: float) -> Iterator[Job]:
    """At first flower, and once the bed would do without a cover."""
    off = np.ceil(bare)
    weeks = weeks_by_name(row.crop, FLOWER_WEEKS)
    flower = out + 7 * (weeks or 0)
    if weeks is not None and flower <= off:
        yield row.job("open_for_bees", flower, cover)
    if np.isfinite(off):
        yield row.job("take_cover_off", off, cover)
        yield _stored(cover, int(off))


def _stored(cover: str, last: int) -> Job:
    """A cover put away, a while after its last day."""
    return Job("store_cover", last + 7 * STORE_WEEKS, cover=cover)


def _ready(
    row: CropOnBeds, cover: str, day: float, *, has_hoops: bool
) -> Iterator[Job]:
    """A cover ready for cold nights, and hoops before it where none stand from spring."""
    if not has_hoops:
        yield row.job("set_hoops", day - 7 * HOOP_WEEKS.get(COVERS[cover].kind, 1))
    yield row.job("have_cover_ready", day, cover)


def _autumn(
    row: CropOnBeds, date: CropDate, slack: float, *, has_hoops: bool
) -> Iterator[Job]:
    """When it bears less, cover on again, the last day, and the cover put away."""
    # A crop that is gone before it slackens has no such job, nor where that is NaN.
    if slack < date.best.central:
        yield row.job("slackens", slack)
    is_on = row.planned is not None and row.planned.lies_throughout
    if date.cover and not is_on:
        ready = _last_day(date.bare.central) - 7 * READY_WEEKS
        if row.planned is not None:
            ready = max(ready, row.planned.from_day)
        yield from _ready(row, date.cover, ready, has_hoops=has_hoops)
    if not np.isfinite(date.best.central):
        return
    last = _last_day(date.best.central)
    kind = "last_days_under" if date.cover else "last_days"
    yield row.job(kind, last, date.cover, date.best.map(_last_day))
    if date.cover:
        yield _stored(date.cover, int(last))
