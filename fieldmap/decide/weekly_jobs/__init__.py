"""The year's work by week.

Days come from the dates of each group of beds (see `ranking`): the middle bed's. Every
job stands in the week of its next occurrence from a given day, so the list always runs
for twelve months.
"""

from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from fieldmap.decide.calendar import growth, shade_need
from fieldmap.decide.calendar.planting_dates import Dates
from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.ranking import RankedBed
from fieldmap.decide.weekly_jobs.job import (
    ALL_BEDS,
    BedSet,
    Job,
    groups_of,
    once_for_all_beds,
    with_parts_joined,
    with_runs_joined,
)
from fieldmap.decide.weekly_jobs.of_crop import PlannedBeds, jobs_of_crop, of_planned
from fieldmap.decide.weekly_jobs.people import PeopleNeeded, length_m, people_needed
from fieldmap.decide.weekly_jobs.shade_and_snow import (
    COVERS_OF_FILM,
    frame_jobs,
    shade_jobs,
    tunnel_jobs,
)
from fieldmap.model.crops import Crop
from fieldmap.model.fact import Fact
from fieldmap.model.field_log import Worked
from fieldmap.model.season_year import SeasonYear, monday_of, next_date
from fieldmap.model.settings import Cover, Settings
from fieldmap.model.site import Site

__all__ = ["CropTask", "Schedule", "Task", "Week", "make", "tunnel_jobs"]

Floats = npt.NDArray[np.float64]

NO_DAY = date(2000, 1, 1)  # nothing is dated from it


class CropTask(NamedTuple):
    """One crop of a task.

    Attributes
    ----------
    days
        Month and day between which it is likely due; one alone where it does not come
        in some years, none where that is not known.
    """

    crop: str
    note: str
    days: tuple[tuple[int, int], ...]


class Task(NamedTuple):
    """Jobs of one kind and cover in one week: several crops on the same beds.

    Attributes
    ----------
    kind
        Of `job.ORDER`.
    beds
        Empty for what is done once.
    people
        Who does it and how long; None where that is not known.
    begun_before
        First day of the twelve months, before which what it harvests or ends was to be
        begun; None where that is within them.
    """

    kind: str
    cover: str
    crops: tuple[CropTask, ...]
    beds: tuple[BedSet, ...]
    people: PeopleNeeded | None = None
    begun_before: date | None = None


@dataclass(frozen=True)
class Week:
    """The tasks of one week, from its Monday, in the order in which they are done."""

    start: date
    tasks: tuple[Task, ...]


@dataclass(frozen=True)
class Schedule:
    """Twelve months of work.

    Attributes
    ----------
    starts
        The day that was asked for.
    weeks
        Those with a job, in order, from the week of that day.
    groups
        Which beds each group has.
    remarks
        What the days mean, and what needs no job; some may stand twice.
    """

    starts: date
    weeks: tuple[Week, ...]
    groups: tuple[BedSet, ...]
    remarks: tuple[Fact, ...]


def first_day(
    starts: date | None, record_ends: date | None, season: SeasonYear
) -> date:
    """The day that was given, or the first of the season-year after the record.

    The clock is not asked: the same inputs give the same list. Without a record there is
    no list, and `NO_DAY` stands for its beginning.

    Parameters
    ----------
    starts
        The day that was given; None where none was.
    record_ends
        Last day of the weather record; None without a record.
    season
        The year of growing, for its first month.
    """
    if starts is not None or record_ends is None:
        return starts or NO_DAY
    return next_date((season.first_month, 1), record_ends + timedelta(1))


def over(starts: date | None, today: date | None) -> tuple[Fact, ...]:
    """That the twelve months that the grower named are over, where they are."""
    if starts is None or today is None or today <= last_day(starts):
        return ()
    return (Fact("calendar_is_over", starts=starts, today=today),)


def last_day(starts: date) -> date:
    """Of the twelve months from a day."""
    month_day = (starts.month, starts.day)
    return next_date(month_day, starts + timedelta(1)) - timedelta(1)


def make(
    site: Site,
    beds: Sequence[RankedBed],
    dates: Dates,
    today: date | None = None,
    planned: Mapping[str, Sequence[PlannedBeds]] | None = None,
    floor: Sequence[Bed] = (),
    more: Sequence[Job] = (),
) -> Schedule:
    """The list of the twelve months from the Monday of a day's week.

    Where no dates are known it holds what the weather alone can say: shade and snow.

    Parameters
    ----------
    site
        The site: crops, covers, calendar, weather record and field log.
    beds
        Beds outdoors, with their groups of the early order.
    dates
        Early and late dates of these beds.
    today
        The day of planning, from which the list runs where the site names no other;
        None for `first_day`.
    planned
        Crop -> beds that the crop plan has for it; None where any crop may stand on any
        group of beds.
    floor
        Beds inside walk-in tunnels, whose jobs are among `more`.
    more
        Jobs beside those of crops and covers outdoors.
    """
    settings, days, season = site.settings, site.weather.days, site.season
    ends = None if days.empty else days.index[-1].date()
    starts = first_day(settings.calendar.starts or today, ends, season)
    owned = {cover.kind: None for cover in settings.covers}
    if days.empty:
        return Schedule(starts, (), (), dates.remarks)
    usable = _usable(settings, len(dates.crops))
    groups = groups_of(beds)
    up = _until_up(dates.crops, days, season)
    jobs: list[Job] = [*more]
    why: list[Fact] = []
    for group, here in groups:
        for number, crop in enumerate(dates.crops):
            for row in of_planned(crop, group, here, beds, planned):
                found = jobs_of_crop(row, dates, number, usable[number], up[number])
                if isinstance(found, Fact):
                    why.append(found)
                else:
                    jobs += found
        # The middle bed of the group stands for its light, as for its dates.
        lights = np.array([beds[place].light.sun_mj_m2_day for place in here])
        light = [float(month) for month in np.median(lights, axis=0)]
        for crop in site.crops:
            wanted = shade_need.need(
                crop, days["tmax_c"], light, tuple(owned), season=season
            )
            rows = list(of_planned(crop, group, here, beds, planned))
            jobs += shade_jobs(rows, wanted, beds, owned, season)
            why += [wanted.why] if rows else []
    if settings.tunnels or COVERS_OF_FILM & owned.keys():
        jobs += frame_jobs(days, season)
    # Beds that are planned are named, though they may be all of a crop.
    all_beds = len(groups) if planned is None else len(beds) + 1
    order = [*(each.bed for each in beds), *floor]
    monday = monday_of(starts)
    once = once_for_all_beds(jobs, lambda job: _next_day(job.day, monday, season))
    weeks = _weeks(once, monday, season, all_beds)
    is_clear_light = site.typical_year is None and settings.sun.global_mj_m2_day is None
    return Schedule(
        starts=starts,
        weeks=_with_people(weeks, order, site.worked),
        groups=tuple(group for group, _places in groups),
        remarks=(
            *over(settings.calendar.starts, today),
            Fact("jobs_run_from", date=monday),
            Fact("jobs_for_any_beds" if planned is None else "usual_minutes"),
            *_covers_too_short(settings.covers, beds),
            *([] if dates.known else dates.remarks),
            *([Fact("shade_by_clear_light")] if is_clear_light else []),
            *why,
        ),
    )


def _until_up(
    crops: Sequence[Crop], days: pd.DataFrame, season: SeasonYear
) -> list[Floats | None]:
    """Days from sowing until each crop is seen, in the usual year of the record."""
    soil_c = growth.soil_of_usual_year_c(growth.usual_mean_c(days, season))
    return [growth.until_up(crop, soil_c) for crop in crops]


def _usable(settings: Settings, crops: int) -> list[Set[str]]:
    """Owned covers that each crop may get."""
    owned = {cover.kind: None for cover in settings.covers}.keys()
    return [
        owned if each.covers is None else owned & set(each.covers)
        for each in settings.crops
    ] or [owned] * crops


def _covers_too_short(covers: Sequence[Cover], beds: Sequence[RankedBed]) -> list[Fact]:
    """How far the covers that are owned reach."""
    beds_m = sum(bed.bed.length_m for bed in beds)
    lengths_m: dict[str, float] = {}
    for cover in covers:
        lengths_m[cover.kind] = lengths_m.get(cover.kind, 0.0) + cover.length_m
    short = [
        Fact("length_of_cover", length_m=length_m, cover=kind)
        for kind, length_m in lengths_m.items()
        if length_m < beds_m
    ]
    return [Fact("covers_too_short", covers=short, length_m=beds_m)] if short else []


# ------------------------------------------------------------------ weeks
def _next_day(day: int, monday: date, season: SeasonYear) -> date:
    return next_date(season.month_day_of_any_year(day), monday)


def _weeks(
    jobs: Iterable[Job], monday: date, season: SeasonYear, all_beds: int
) -> tuple[Week, ...]:
    """Each job in the week of its next day, those of one kind together.

    What was begun in the year before may not be there yet: where its next beginning comes
    after the job, nothing in the list has begun it.
    """
    found: dict[date, list[Job]] = {}
    for job in jobs:
        when = _next_day(job.day, monday, season)
        in_list = job.begun is None or _next_day(job.begun, monday, season) <= when
        # A day that is left says that nothing in the list has begun it.
        known = job._replace(begun=None) if in_list else job
        found.setdefault(monday_of(when), []).append(known)
    return tuple(
        Week(start, tuple(_tasks(found[start], monday, season, all_beds)))
        for start in sorted(found)
    )


def _with_people(
    weeks: Sequence[Week], beds: Sequence[Bed], log: Sequence[Worked]
) -> tuple[Week, ...]:
    """Weeks whose tasks name beds in runs, and say who does them and how long."""
    beds_m = {bed.name: bed.length_m for bed in beds}
    return tuple(
        Week(
            week.start,
            tuple(
                task._replace(
                    beds=with_runs_joined(task.beds, beds),
                    people=people_needed(
                        task.kind,
                        [each.crop for each in task.crops],
                        length_m(task.beds, beds_m),
                        log,
                    ),
                )
                for task in week.tasks
            ),
        )
        for week in weeks
    )


def _tasks(
    jobs: Sequence[Job], monday: date, season: SeasonYear, all_beds: int
) -> list[Task]:
    """Beds of one job and crop together, then crops of one job and beds."""
    by_crop: dict[tuple[str, str, str, str, bool], list[Job]] = {}
    for job in sorted(jobs, key=lambda job: job.place):
        key = job.kind, job.cover, job.crop, job.note, job.begun is not None
        by_crop.setdefault(key, []).append(job)
    tasks: dict[tuple[str, str, tuple[BedSet, ...], bool], list[CropTask]] = {}
    for (kind, cover, crop, note, before), same in by_crop.items():
        beds = tuple(dict.fromkeys(job.beds for job in same if job.beds is not None))
        task = CropTask(crop, note, _likely_days(same, season))
        alike = kind, cover, with_parts_joined(beds), before
        tasks.setdefault(alike, []).append(task)
    everywhere = (BedSet(ALL_BEDS, ()),)
    return [
        Task(
            kind,
            cover,
            tuple(crops),
            everywhere if len(beds) >= all_beds else beds,
            begun_before=monday if before else None,
        )
        for (kind, cover, beds, before), crops in tasks.items()
    ]


def _likely_days(
    jobs: Iterable[Job], season: SeasonYear
) -> tuple[tuple[int, int], ...]:
    """First and last likely day of jobs that are done together."""
    ends = [job.likely_days for job in jobs if job.likely_days is not None]
    if not ends:
        return ()
    days = min(first for first, _last in ends), max(last for _first, last in ends)
    return tuple(season.month_day_of_any_year(day) for day in days if np.isfinite(day))
