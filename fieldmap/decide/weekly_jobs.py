"""The year's work as a list by week, in sentences.

Days come from the dates of each group of beds (see `ranking`): the middle bed's. Every
job stands in the week of its next occurrence from a given day, so the list always runs
for twelve months.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pandas as pd

from fieldmap.decide.calendar import shade_need
from fieldmap.decide.ranking.groups import BETWEEN, FIRST, GROUPS, LAST, SAME
from fieldmap.model.season_year import monday_of, next_date
from fieldmap.show.text import language, quantities
from fieldmap.show.text.language import _, later, plural
from fieldmap.show.text.sentence import say_all
from layers.cover import COVERS

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    import numpy.typing as npt

    from fieldmap.decide.calendar.planting_dates import Dates
    from fieldmap.decide.ranking import RankedBed
    from fieldmap.model.crops import Crop
    from fieldmap.model.site import Site

    Floats = npt.NDArray[np.float64]
    Days = tuple[float, float, float]

# Weeks from seed to setting out (common practice, no source).
TRAY_WEEKS = {
    "tomato": 7,
    "pepper": 9,
    "aubergine": 9,
    "cucumber": 3,
    "squash": 3,
    "melon": 4,
    "celery": 11,
    "basil": 6,
    "lettuce": 4,
    "chard": 4,
    "beet": 4,
}
TRAY_WEEKS_OF_CLASS = {"hardy": 5, "half_hardy": 6, "tender": 6, "warm_loving": 4}
# Weeks from the early date to the first flower of crops that bees must reach (common
# practice, no source).
FLOWER_WEEKS = {"squash": 6, "melon": 5, "strawberry": 4}
# The rest is common practice, no source, all of it.
ORDER_WEEKS = 4  # before seed or cloth is wanted
HOOP_WEEKS = {"film": 2, "fabric": 1}
FILM_WEEKS = 1  # film warms the soil before planting
HARDEN_WEEKS = 1
READY_WEEKS = 1
SECOND_SOWING_DAYS = 21  # a last sowing sooner after the first is no other sowing
WORTH_DAYS = 7.0  # a cover that gains less is not worth hoops
STORE_WEEKS = 1
SNOW_C = 2.0  # a month whose mean is under it may bring snow that lies
SNOW_WEEKS = 2
COVERS_OF_FILM = {"slitted_film", "clear_film"}
GROUP_NAMES = {
    FIRST: later("the first beds"),
    SAME: later("the beds with no real difference"),
    BETWEEN: later("the beds in between"),
    LAST: later("the last beds"),
}
ANY_BEDS = later(
    "It does not know which beds you choose: read 'all beds' and 'the first beds' as "
    "those of them that carry the crop, and sow again what has bolted or is eaten; what "
    "is said of its last days holds for the last sowing."
)


@dataclass(frozen=True)
class Week:
    """The jobs of one week, from its Monday, in the order in which they are done."""

    start: date
    jobs: tuple[str, ...]


@dataclass(frozen=True)
class Schedule:
    """Twelve months of work.

    Attributes
    ----------
    weeks
        Those with a job, in order.
    beds
        One sentence for each group of beds: which they are.
    remarks
        Plain sentences: what the days mean, and what needs no job.
    """

    weeks: tuple[Week, ...]
    beds: tuple[str, ...]
    remarks: tuple[str, ...]


class _Job(NamedTuple):
    """One thing to do, with places for crops and beds in its sentence.

    Attributes
    ----------
    day
        Of the season-year, from 1; may lie outside of it.
    place
        Order within a week.
    said
        With `{crops}` and `{beds}`, or without.
    note, span
        Stand behind the crop: words, or the first and last day that are likely.
    """

    day: int
    place: int
    said: str
    crop: str = ""
    beds: str = ""
    note: str = ""
    span: tuple[float, float] | None = None


def first_day(site: Site) -> date:
    """The day that the grower gave, or the first of the season-year after the record.

    The clock is not asked: the same inputs give the same list.
    """
    if site.settings.calendar.starts is not None:
        return site.settings.calendar.starts
    ends = site.weather.days.index[-1].date()
    return next_date((site.season.first_month, 1), ends + timedelta(1))


class Chosen(NamedTuple):
    """Beds that are chosen for one crop, and the cover each of them gets.

    Attributes
    ----------
    season
        "spring", "summer" (until frost) or "autumn".
    beds
        Their names.
    ahead, behind
        Kind of the cover in spring and in autumn; None for none.
    from_day, to_day
        When the crop goes on the beds, and when it is done.
    """

    season: str
    beds: frozenset[str]
    ahead: str | None
    behind: str | None
    from_day: int
    to_day: int


def make(
    site: Site,
    beds: Sequence[RankedBed],
    dates: Dates,
    today: date,
    chosen: Mapping[str, Sequence[Chosen]] | None = None,
) -> Schedule:
    """The list of the twelve months from the Monday of a day's week.

    Where no dates are told it holds what the weather alone can say: shade and snow.

    Parameters
    ----------
    chosen
        By crop; without it, every crop is thought of on every group of beds.
    """
    groups = _groups(beds)
    jobs: list[_Job] = []
    why: list[str] = []
    for name, here in groups.items():
        for number, crop in enumerate(dates.crops):
            for row, places in _rows(site, crop, name, here, beds, chosen):
                done, not_done = _jobs_of_crop(row, dates, number, places)
                jobs += done
                why += not_done
        lights = np.array([beds[index].light.sun_mj_m2_day for index in here])
        light = [float(month) for month in np.median(lights, axis=0)]
        for crop in site.crops:
            wanted = shade_need.need(
                crop,
                site.weather.days["tmax_c"],
                light,
                [cover.kind for cover in site.settings.covers],
                season=site.season,
            )
            rows = list(_rows(site, crop, name, here, beds, chosen))
            jobs += _shade_jobs(rows, wanted, beds)
            why.append(wanted.why)
    monday = monday_of(today)
    return Schedule(
        weeks=_weeks(
            site,
            [*_once(jobs), *_frame_jobs(site)],
            monday,
            # Beds that are chosen are named, though they may be all of a crop.
            len(groups) if chosen is None else len(beds) + 1,
        ),
        beds=tuple(
            f"{quantities.started(name)}: {_runs(beds, here)}."
            for name, here in groups.items()
        ),
        remarks=(
            _(
                "The list runs for twelve months from {date}. Its weeks are those of "
                "usual years: go by the weather, and by local advice first."
            ).format(date=language.date_in_words(monday)),
            *([] if chosen is not None else [_(ANY_BEDS)]),
            *_length_remark(site, beds),
            *([] if dates.known else say_all(dates.remarks, site.settings.units)),
            *_light_remark(site),
            *dict.fromkeys(why),
        ),
    )


def _length_remark(site: Site, beds: Sequence[RankedBed]) -> list[str]:
    """How far the covers that are owned reach."""
    every_m = sum(bed.bed.length_m for bed in beds)
    lengths_m: dict[str, float] = {}
    for cover in site.settings.covers:
        lengths_m[cover.kind] = lengths_m.get(cover.kind, 0.0) + cover.length_m
    units = site.settings.units
    short = [
        _("{length} of {cover}").format(
            length=quantities.length(length_m, units),
            cover=quantities.cover(COVERS[kind].name),
        )
        for kind, length_m in lengths_m.items()
        if length_m < every_m
    ]
    if not short:
        return []
    return [
        _(
            "You own {covers}; all beds together are {length} long, so covers are for "
            "chosen beds."
        ).format(
            covers=quantities.listed(short), length=quantities.length(every_m, units)
        )
    ]


def _groups(beds: Sequence[RankedBed]) -> dict[str, list[int]]:
    """Places of the beds of each group, by the name that people read."""
    found = {
        _(GROUP_NAMES[group]): [
            i for i, bed in enumerate(beds) if bed.earliness.group == group
        ]
        for group in GROUPS
    }
    filled = {name: here for name, here in found.items() if here}
    return {_("all beds"): next(iter(filled.values()))} if len(filled) == 1 else filled


def _runs(beds: Sequence[RankedBed], here: Sequence[int]) -> str:
    """Names of beds, runs of neighbours in one plot as first to last."""
    runs = []
    for _place, run in itertools.groupby(
        enumerate(here), lambda pair: (pair[1] - pair[0], beds[pair[1]].bed.plot)
    ):
        names = [beds[index].bed.name for _place, index in run]
        runs.append(
            names[0]
            if len(names) == 1
            else _("{first} to {last}").format(first=names[0], last=names[-1])
        )
    return ", ".join(runs)


# ------------------------------------------------------------------ one crop
class _Row(NamedTuple):
    """One crop on one group of beds, or on those of it that are chosen."""

    site: Site
    crop: Crop
    beds: str
    chosen: Chosen | None = None

    def job(self, day: float, place: int, said: str) -> _Job:
        """A job of this row."""
        return _Job(int(day), place, said, self.crop.name, self.beds)

    @property
    def is_set_out(self) -> bool:
        """Raised in trays, not sown in place."""
        return self.crop.set_out_soil_c is not None

    @property
    def tray_weeks(self) -> int:
        """From seed to setting out."""
        return tray_days(self.crop) // 7

    @property
    def days_in_ground(self) -> float:
        """At the least, from its early date to the first harvest; 0 where not known."""
        growth = self.crop.days_to_maturity
        if growth is None:
            return 0.0
        in_trays = growth.counted_from == "sowing"
        return growth.low - (tray_days(self.crop) if in_trays else 0)


def _rows(
    site: Site,
    crop: Crop,
    group: str,
    here: Sequence[int],
    beds: Sequence[RankedBed],
    chosen: Mapping[str, Sequence[Chosen]] | None,
) -> Iterator[tuple[_Row, Sequence[int]]]:
    """A crop on a group of beds, or on each part of it that is chosen for the crop."""
    if chosen is None:
        yield _Row(site, crop, group), here
        return
    for each in chosen.get(crop.name, ()):
        places = [place for place in here if beds[place].bed.name in each.beds]
        if places:
            yield _Row(site, crop, _runs(beds, places), each), places


class _Choice(NamedTuple):
    """A crop's dates without a cover, and with the one that serves best.

    Attributes
    ----------
    kind
        In the names of `layers.cover`; None where no cover is worth the work.
    cover
        Its place among those that dates are told for; 0 is none.
    """

    bare: Days
    best: Days
    kind: str | None
    cover: int


def _jobs_of_crop(
    row: _Row, dates: Dates, number: int, here: Sequence[int]
) -> tuple[list[_Job], list[str]]:
    """From ordering to the last day; or why the crop has no jobs."""
    spring = _spring_choice(row, dates, number, here)
    autumn = _autumn_choice(row, dates, number, here)
    if row.chosen is not None:
        return list(_jobs_as_chosen(row, row.chosen, spring, autumn)), []
    out, last = spring.best[1], autumn.best[1]
    name = quantities.started(_(row.crop.name))
    if not np.isfinite(out):
        never = (
            _("{crop} on {beds}: it is not warm enough in any usual year.")
            if out > 0
            else _("{crop} on {beds}: it is not known.")
        )
        return [], [never.format(crop=name, beds=row.beds)]
    if last - out < row.days_in_ground:
        return [], [
            plural(
                "{crop} on {beds}: left out, since {number} day lies between its first "
                "and its last, and it wants {wanted} at the least.",
                "{crop} on {beds}: left out, since {number} days lie between its first "
                "and its last, and it wants {wanted} at the least.",
                round(max(last - out, 0)),
                crop=name,
                beds=row.beds,
                wanted=f"{row.days_in_ground:.0f}",
            )
        ]
    sown = _days(dates.last_sowing, number, autumn.cover, here)
    return [
        *_spring(row, spring),
        *_last_sowing(row, out, sown),
        *_autumn(row, autumn),
    ], []


def _last_sowing(row: _Row, out: float, last: Days) -> Iterator[_Job]:
    """The last sowing that still gives a harvest, where there is time for a second."""
    if row.site.season.date(last[1]) is None or last[1] < out + SECOND_SOWING_DAYS:
        return
    counted = row.crop.days_to_maturity or row.crop.degree_days
    is_sown = not row.is_set_out or (
        counted is not None and counted.counted_from == "sowing"
    )
    yield row.job(
        np.floor(last[1]),
        6,
        _("Last sowing of {crops} on {beds} for an autumn harvest.")
        if is_sown
        else _("Last setting out of {crops} on {beds} for an autumn harvest."),
    )._replace(span=(np.floor(last[0]), np.floor(last[2])))


def _jobs_as_chosen(
    row: _Row, chosen: Chosen, spring: _Choice, autumn: _Choice
) -> Iterator[_Job]:
    """Of a turn that is planned: its place, its cover and its part of the year."""
    if chosen.season != "autumn":
        yield from _spring(row, spring)
    else:
        yield from _second(row, chosen.from_day)
    if chosen.season != "spring":
        yield from _autumn(row, autumn)


def _second(row: _Row, day: int) -> Iterator[_Job]:
    """What is sown or set out for autumn."""
    if row.is_set_out:
        start = day - 7 * row.tray_weeks
        yield row.job(start, 1, _("Start trays of {crops} for autumn, for {beds}."))
        yield row.job(day, 5, _("Set out {crops} for autumn on {beds}."))
    else:
        yield row.job(day, 5, _("Sow {crops} for autumn on {beds}."))


def _spring(row: _Row, choice: _Choice) -> Iterator[_Job]:
    """From ordering seed to the cover that comes off."""
    out = int(np.ceil(choice.best[1]))
    start = out - 7 * row.tray_weeks if row.is_set_out else out
    yield _Job(
        start - 7 * ORDER_WEEKS, 0, _("Order seed of {crops} by now."), row.crop.name
    )
    if row.is_set_out:
        yield row.job(start, 1, _("Start trays of {crops} for {beds}."))
        yield row.job(out - 7 * HARDEN_WEEKS, 4, _("Harden off {crops} for {beds}."))
    yield row.job(out, 5, _begun(row, choice.kind))._replace(
        span=(np.ceil(choice.best[0]), np.ceil(choice.best[2]))
    )
    if choice.kind:
        yield from _covering(row, choice.kind, out)
        yield from _uncovering(row, choice.kind, out, choice.bare[1])


def _begun(row: _Row, kind: str | None) -> str:
    """How a crop gets onto its beds."""
    if kind is None:
        return (
            _("Set out {crops} on {beds}.")
            if row.is_set_out
            else _("Sow {crops} on {beds}.")
        )
    under = (
        _("Set out {crops} on {beds}, under {cover}.")
        if row.is_set_out
        else _("Sow {crops} on {beds}, under {cover}.")
    )
    return _with(under, kind)


def _with(said: str, kind: str) -> str:
    """A job's sentence with the name of its cover."""
    return said.replace("{cover}", _name(kind))


def _covering(row: _Row, kind: str, out: int) -> Iterator[_Job]:
    """Hoops and drip, then film before planting."""
    made_of = COVERS[kind].kind
    before = 7 * HOOP_WEEKS.get(made_of, 1)
    if made_of != "film":
        yield row.job(out - before, 2, _("Set hoops for {crops} on {beds}."))
        return
    yield row.job(out - before, 2, _("Set hoops and lay drip for {crops} on {beds}."))
    pulled = _("Pull the {cover} over {beds} for {crops}, on a calm warm morning.")
    yield row.job(out - 7 * FILM_WEEKS, 3, _with(pulled, kind))


def _uncovering(row: _Row, kind: str, out: int, bare: float) -> Iterator[_Job]:
    """At first flower, and once the bed would do without a cover."""
    off = np.ceil(bare)
    weeks = weeks_by_name(row.crop, FLOWER_WEEKS)
    flower = out + 7 * (weeks or 0)
    if weeks is not None and flower <= off:
        opened = _(
            "At the first flower of {crops} on {beds} take the {cover} off or open it "
            "by day, for the bees."
        )
        yield row.job(flower, 7, _with(opened, kind))
    if np.isfinite(off):
        taken = _("Take the {cover} off {crops} on {beds} once nights allow.")
        yield row.job(off, 7, _with(taken, kind))
        yield _Job(int(off) + 7 * STORE_WEEKS, 12, _stored(_name(kind)))


def _autumn(row: _Row, choice: _Choice) -> Iterator[_Job]:
    """Cover on again, the last day it holds, and the cover put away."""
    if choice.kind:
        ready = _("Have the {cover} ready over {crops} on {beds} for cold nights.")
        yield row.job(
            np.floor(choice.bare[1]) - 7 * READY_WEEKS, 10, _with(ready, choice.kind)
        )
    if not np.isfinite(choice.best[1]):
        return
    last = np.floor(choice.best[1])
    ends = (
        _with(
            _("Last days of {crops} on {beds} under {cover}: pick what is left."),
            choice.kind,
        )
        if choice.kind
        else _("Last days of {crops} on {beds}: pick what is left.")
    )
    yield row.job(last, 11, ends)._replace(
        span=(np.floor(choice.best[0]), np.floor(choice.best[2]))
    )
    if choice.kind:
        yield _Job(int(last) + 7 * STORE_WEEKS, 12, _stored(_name(choice.kind)))


def _shade_jobs(
    rows: Sequence[tuple[_Row, Sequence[int]]],
    wanted: shade_need.Need,
    beds: Sequence[RankedBed],
) -> Iterator[_Job]:
    """Cloth ordered where it is not owned, on, off and put away."""
    if wanted.kind is None or wanted.months is None or not rows:
        return
    row = rows[0][0]
    is_fabric = COVERS[wanted.kind].kind == "fabric"
    cloth = (
        _name(wanted.kind)
        if is_fabric
        else _("{percent} % shade cloth").format(percent=wanted.percent)
    )
    put_on = (
        _(
            "Shade on: {cover}, high on hoops with its sides open, over {crops} on "
            "{beds}."
        )
        if is_fabric
        else _("Shade on: {cover} over {crops} on {beds}.")
    )
    season = row.site.season
    on = season.day_of(wanted.months[0])
    off = season.day_of(wanted.months[1] % 12 + 1)
    if row.chosen is not None:  # those of the beds that carry the crop by then
        there = {
            place
            for each, places in rows
            if each.chosen and each.chosen.to_day >= on and each.chosen.from_day < off
            for place in places
        }
        if not there:
            return
        row = row._replace(beds=_runs(beds, sorted(there)))
    if wanted.kind not in {c.kind for c in row.site.settings.covers}:
        ordered = _("Order {cover} by now.").format(cover=cloth)
        yield _Job(on - 7 * ORDER_WEEKS, 0, ordered)
    note = row.crop.shade_percent.note
    yield row.job(on, 8, put_on.replace("{cover}", cloth))._replace(
        note=_(note) if note else ""
    )
    if wanted.months != (1, 12):
        yield row.job(off, 9, _("Shade off {crops} on {beds}."))
        yield _Job(off + 7 * STORE_WEEKS, 12, _stored(cloth))


def _frame_jobs(site: Site) -> Iterator[_Job]:
    """Tunnels bared before the first month that may bring snow that lies."""
    has_film = any(COVERS_OF_FILM & {cover.kind} for cover in site.settings.covers)
    if not (site.settings.tunnels or has_film):
        return
    days = site.weather.days
    means = (
        ((days["tmin_c"] + days["tmax_c"]) / 2)
        .groupby(pd.DatetimeIndex(days.index).month)
        .mean()
    )
    order = (*site.season.months[6:], *site.season.months[:6])  # from midsummer
    cold = [month for month in order if means.get(month, np.nan) < SNOW_C]
    if cold:
        yield _Job(
            site.season.day_of(cold[0]) - 7 * SNOW_WEEKS,
            13,
            _(
                "Before snow bare every frame that is not built to carry it; never go "
                "in under a load of snow."
            ),
        )


def _stored(cover: str) -> str:
    return _("Dry, roll, label and store the {cover}.").format(cover=cover)


# ------------------------------------------------------------------ days
def _days(told: Floats, crop: int, cover: int, here: Sequence[int]) -> Days:
    """Low, central and high of the middle bed of a group."""
    low, central, high = (_middle(days[crop, cover, here]) for days in told)
    return low, central, high


def _middle(days: Floats) -> float:
    """The middle one of those known; of an even number the later."""
    known = np.sort(days[~np.isnan(days)])
    return float(known[len(known) // 2]) if len(known) else float("nan")


def _usable(row: _Row, dates: Dates, crop: int, kind: str | None) -> list[int]:
    """Places of the covers that are owned and, where that is told, chosen for a crop.

    On chosen beds that is the one they get.
    """
    site = row.site
    if row.chosen is not None:
        return [dates.covers.index(kind)] if kind in dates.covers else []
    chosen = site.settings.crops[crop].covers if site.settings.crops else None
    owned = {cover.kind for cover in site.settings.covers}
    return [
        number
        for number, kind in enumerate(dates.covers)
        if kind in owned and (chosen is None or kind in chosen)
    ]


def _spring_choice(row: _Row, dates: Dates, crop: int, here: Sequence[int]) -> _Choice:
    """The cover that lets a crop out first, if by a week or more."""
    kinds = _usable(row, dates, crop, row.chosen.ahead if row.chosen else None)
    bare = _days(dates.early, crop, 0, here)
    under = {n: _days(dates.early, crop, n, here) for n in kinds}
    best = min(under, key=lambda n: under[n][1], default=0)
    if best and under[best][1] <= bare[1] - WORTH_DAYS:
        return _Choice(bare, under[best], dates.covers[best], best)
    return _Choice(bare, bare, None, 0)


def _autumn_choice(row: _Row, dates: Dates, crop: int, here: Sequence[int]) -> _Choice:
    """The cover under which a crop holds longest, if by a week or more."""
    kinds = _usable(row, dates, crop, row.chosen.behind if row.chosen else None)
    bare = _days(dates.late, crop, 0, here)
    under = {n: _days(dates.late, crop, n, here) for n in kinds}
    best = max(under, key=lambda n: under[n][1], default=0)
    if best and under[best][1] >= bare[1] + WORTH_DAYS and np.isfinite(bare[1]):
        return _Choice(bare, under[best], dates.covers[best], best)
    return _Choice(bare, bare, None, 0)


def tray_days(crop: Crop) -> int:
    """Days from seed to setting out; 0 of a crop that is sown in place."""
    if crop.set_out_soil_c is None:
        return 0
    usual = TRAY_WEEKS_OF_CLASS[crop.crop_class.value]
    return 7 * (weeks_by_name(crop, TRAY_WEEKS) or usual)


def weeks_by_name(crop: Crop, weeks: Mapping[str, int]) -> int | None:
    """Weeks of a crop under whichever of its names the table has."""
    names = (crop.name.casefold(), *crop.also)
    return next((weeks[name] for name in names if name in weeks), None)


def _range(site: Site, span: tuple[float, float]) -> str:
    """The ends of a range in words; an end that never comes is said."""
    ends = [
        quantities.day(*site.season.month_day_of_any_year(day))
        for day in span
        if np.isfinite(day)
    ]
    if len(ends) == 1:
        return _("from {day}, in some years not at all").format(day=ends[0])
    first, *last = dict.fromkeys(ends)
    return _("{first} to {last}").format(first=first, last=last[0]) if last else first


# ------------------------------------------------------------------ weeks
def _once(jobs: Iterable[_Job]) -> list[_Job]:
    """Orders at their earliest, storing at its latest: once for all beds."""
    kept: dict[tuple[str, str], _Job] = {}
    rest = []
    for job in jobs:
        key = job.said, job.crop
        if job.beds:
            rest.append(job)
        elif key not in kept:
            kept[key] = job
        else:
            first = min if job.place == 0 else max
            kept[key] = first(kept[key], job, key=lambda each: each.day)
    return [*kept.values(), *rest]


def _weeks(
    site: Site, jobs: Iterable[_Job], monday: date, all_beds: int
) -> tuple[Week, ...]:
    """Each job in the week of its next day, those of one sentence together."""
    found: dict[date, list[_Job]] = {}
    for job in jobs:
        when = next_date(site.season.month_day_of_any_year(job.day), monday)
        found.setdefault(monday_of(when), []).append(job)
    return tuple(
        Week(start, tuple(_sentences(site, found[start], all_beds)))
        for start in sorted(found)
    )


def _sentences(site: Site, jobs: Sequence[_Job], all_beds: int) -> list[str]:
    """Beds of one sentence and crop together, then crops of one sentence and beds."""
    beds: dict[tuple[int, str, str, str], list[_Job]] = {}
    for job in jobs:
        beds.setdefault((job.place, job.said, job.crop, job.note), []).append(job)
    crops: dict[tuple[int, str, tuple[str, ...]], list[str]] = {}
    for (place, said, *_crop), same in beds.items():
        where = tuple(dict.fromkeys(job.beds for job in same))
        crops.setdefault((place, said, where), []).append(_label(site, same))
    return [
        quantities.started(
            said.replace(
                "{beds}",
                quantities.listed(where) if len(where) < all_beds else _("all beds"),
            ).replace("{crops}", quantities.listed(names))
        )
        for (_place, said, where), names in sorted(
            crops.items(), key=lambda item: item[0][0]
        )
    ]


def _label(site: Site, same: Sequence[_Job]) -> str:
    """A crop, with its note and the range of its day over these beds."""
    spans = [job.span for job in same if job.span is not None]
    notes = [same[0].note] if same[0].note else []
    if spans:
        notes.append(_range(site, (min(s[0] for s in spans), max(s[1] for s in spans))))
    crop = _(same[0].crop)
    return f"{crop} ({'; '.join(notes)})" if notes else crop


def _light_remark(site: Site) -> list[str]:
    if site.typical_year is not None or site.settings.sun.global_mj_m2_day is not None:
        return []
    return [
        _("Shade is told for the light of clear days, so rather more of it than less.")
    ]


def _name(kind: str) -> str:
    return quantities.cover(COVERS[kind].name)
