"""What grows where, from job to job."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from typing import Any, NamedTuple

from fieldmap.decide.crop_plan import CropPlan, Stay
from fieldmap.decide.layout.beds import Bed
from fieldmap.model.season_year import DAYS, SeasonYear, monday_of, next_date
from fieldmap.show.map.questions import standing
from fieldmap.show.map.questions.standing import Place
from fieldmap.show.map.questions.view import (
    BedPatterns,
    Picture,
    Swatch,
    View,
    answer,
)
from fieldmap.show.text import names, quantities
from fieldmap.show.text.language import _
from fieldmap.show.text.map import answers as words
from fieldmap.show.text.map.beds import span_of_days
from fieldmap.show.text.map.labels import label
from fieldmap.show.text.sentence import phrase

STATES = ("empty", "soil", "growing", "covered", "ready", "ready-covered")
STEP_DAYS = 6  # jobs so near to the first of them are one step
MOST_RUNS = 3  # of beds that are named


class Job(NamedTuple):
    """Something that begins or ends on a bed on a day of the season-year."""

    day: int
    kind: str
    crop: str
    cover: str
    bed: int


class Step(NamedTuple):
    """Jobs of about one week.

    Attributes
    ----------
    day
        Of the calendar, of the first.
    until
        Number of the day of the last in the season-year.
    """

    day: date
    until: int
    jobs: tuple[Job, ...]


def places(plan: CropPlan, beds: Iterable[Bed]) -> tuple[Place, ...]:
    """All beds outdoors, then those inside tunnels on which something is planned."""
    inside = [bed for bed in plan.floor if bed.name in plan.by_bed]
    return tuple(Place(bed.name, bed.plot, bed.tunnel) for bed in (*beds, *inside))


def steps(
    plan: CropPlan, beds: Sequence[str], how: Mapping[str, str], starts: date
) -> tuple[Step, ...]:
    """The year from job to job, from the week of a day on.

    Parameters
    ----------
    plan
        Which crop stands on which bed from when to when.
    beds
        Their names, in the order of the plan.
    how
        By crop: "sow" or "set out".
    starts
        Any day of the week with which the twelve months begin.
    """
    number = {name: at for at, name in enumerate(beds)}
    jobs = sorted(
        job
        for stay in plan.stays_on(number)
        for job in _jobs(stay, number[stay.bed], how)
    )
    groups: list[list[Job]] = []
    for job in jobs:
        if groups and job.day - groups[-1][0].day <= STEP_DAYS:
            groups[-1].append(job)
        else:
            groups.append([job])
    return tuple(
        sorted(
            Step(_day(plan.season, group[0].day, starts), group[-1].day, tuple(group))
            for group in groups
        )
    )


def _jobs(stay: Stay, bed: int, how: Mapping[str, str]) -> Iterator[Job]:
    """Jobs of a stay; those of the year after stand on the same days of this one."""
    for job in _dated(stay, bed, how):
        yield job._replace(day=(job.day - 1) % DAYS + 1)


def _dated(stay: Stay, bed: int, how: Mapping[str, str]) -> Iterator[Job]:
    start = names.start_word(stay.crop, how.get(stay.crop, "set out"))
    yield Job(stay.from_day, start, stay.crop, "", bed)
    yield Job(stay.harvest_day, "ready", stay.crop, "", bed)
    yield Job(stay.to_day, "end", stay.crop, "", bed)
    for use in stay.covers:
        kind = "ahead" if use.from_day < stay.from_day else "cover"
        yield Job(use.from_day, kind, stay.crop, use.kind, bed)
        if use.to_day < stay.to_day:
            yield Job(use.to_day, "uncover", stay.crop, use.kind, bed)


def _day(season: SeasonYear, day: int, starts: date) -> date:
    return next_date(season.month_day(day), monday_of(starts))


def view(
    plan: CropPlan,
    beds: Sequence[Place],
    drawn: int,
    of: Sequence[Step],
    spells: Sequence[standing.Spell],
) -> View:
    """The step at which most beds bear, for whoever cannot step; the page steps on.

    Parameters
    ----------
    plan
        Which crop stands on which bed from when to when.
    beds
        See `places`.
    drawn
        How many of them the map draws, counted from the first.
    of
        The steps of the year, at least one.
    spells
        What stands where through the year.
    """
    stays = plan.standing_on({bed.name for bed in beds})
    full = of[fullest(stays, of)]
    lead, *rest = standing.on_day(spells, full.until)
    day = _said_day(plan, full.until)
    resting = for_the_soil(plan, full.until)
    looks = tuple(
        "soil" if state == "empty" and bed.name in resting else state
        for state, bed in zip(states(stays, beds, full.until), beds, strict=True)
    )
    return View(
        answer=answer(label("said_on_day").format(day=day, said=lead), *rest),
        picture=Picture(BedPatterns(looks[:drawn])),
        swatches=tuple(Swatch(each, words.state(each)) for each in STATES),
        note=phrase("grow_proposal"),
        more=(
            phrase("grow_touch"),
            *([phrase("grow_from_winter")] if stays_through_winter(stays) else []),
        ),
    )


def stays_through_winter(stays: Iterable[Stay]) -> bool:
    """Whether some crop goes on into the next season-year.

    The plan is that of every year: whether it stood in the year before the first is not
    known.
    """
    return any(stay.to_day > DAYS for stay in stays)


def fullest(stays: Sequence[Stay], of: Sequence[Step]) -> int:
    """Number of the first step at which most stays are on."""
    return max(range(len(of)), key=lambda at: len(_active(stays, of[at].until)))


def _active(stays: Iterable[Stay], day: int) -> list[Stay]:
    return [stay for stay in stays if _state(stay, day) != "empty"]


def states(stays: Iterable[Stay], beds: Sequence[Place], day: int) -> tuple[str, ...]:
    """What each bed does on a day of the season-year.

    Parameters
    ----------
    stays
        Stays of crops on these beds, and on no others.
    beds
        In the order of the answer.
    day
        Number of the day in the season-year, from 1.

    Returns
    -------
    states
        One of `STATES` for each bed. Where stays overlap, the later in `STATES` counts.
    """
    found = dict.fromkeys((bed.name for bed in beds), "empty")
    for stay in stays:
        here = max(_state(stay, day), _state(stay, day + DAYS), key=STATES.index)
        found[stay.bed] = max(found[stay.bed], here, key=STATES.index)
    return tuple(found.values())


def for_the_soil(plan: CropPlan, day: int) -> set[str]:
    """Beds on which a green manure or grass stands on a day of the season-year."""
    green = {
        it.bed
        for it in plan.green
        if it.from_day <= day <= it.to_day or it.from_day <= day + DAYS <= it.to_day
    }
    return green | set(plan.untended)


def _state(stay: Stay, day: int) -> str:
    covered = any(use.from_day <= day <= use.to_day for use in stay.covers)
    if not stay.from_day <= day <= stay.to_day:
        return "covered" if covered else "empty"
    if day < stay.harvest_day:
        return "covered" if covered else "growing"
    return "ready-covered" if covered else "ready"


def said(step: Step, beds: Sequence[Place]) -> list[str]:
    """A sentence for each kind of job, crop and cover of a step."""
    groups: dict[tuple[str, str, str], list[int]] = {}
    for job in step.jobs:
        groups.setdefault((job.kind, job.crop, job.cover), []).append(job.bed)
    return [
        names.started(
            phrase(f"grow {kind}", crop=crop, cover=cover, beds=_where(here, beds))
            if cover
            else phrase(f"grow {kind}", crop=crop, beds=_where(here, beds))
        )
        for (kind, crop, cover), here in groups.items()
    ]


def _here(job: Job) -> str:
    """A job in the words of its own bed."""
    cover = {"cover": job.cover} if job.cover else {}
    return phrase(f"here {job.kind}", crop=job.crop, **cover)


def _said_day(plan: CropPlan, day: int) -> str:
    return quantities.day(*plan.month_day(day))


def _where(here: Sequence[int], beds: Sequence[Place]) -> str:
    """Beds by name where they are few runs, else how many in which plots."""
    order = [bed.name for bed in beds]
    numbers = sorted(set(here))
    runs = sum(1 for at in numbers if at - 1 not in numbers)
    if runs <= MOST_RUNS:
        return names.runs_of_beds([order[at] for at in numbers], order)
    plots = list(dict.fromkeys(beds[at].where for at in numbers))
    return phrase(
        "grow_beds_in",
        number=len(numbers),
        count=words.count(len(numbers)),
        plots=names.listed(plots),
    )


def _spells(plan: CropPlan, crop: str, order: Mapping[str, int]) -> Iterator[str]:
    """On which beds a crop stands from when to when, the first to start first."""
    beds: dict[tuple[float, float], list[str]] = {}
    for stay in sorted(plan.standing_on(order), key=lambda stay: stay.from_day):
        if stay.crop == crop:
            beds.setdefault((stay.from_day, stay.to_day), []).append(stay.bed)
    for (first, last), here in beds.items():
        yield phrase(
            "grow_spell",
            beds=names.runs_of_beds(here, list(order)),
            first=plan.month_day(first),
            last=plan.month_day(last),
        )


def _days_of(stay: Stay) -> Iterator[Any]:
    """Crop, first day, first and last harvest, and covers with their days."""
    yield from (stay.crop, stay.from_day, stay.harvest_day, stay.to_day)
    yield [[use.kind, use.from_day, use.to_day] for use in stay.covers]


def script(
    plan: CropPlan,
    beds: Sequence[Place],
    of: Sequence[Step],
    spells: Sequence[standing.Spell],
    starts: date,
) -> dict[str, Any]:
    """What the page steps through: stays, and each step with its days and sentences.

    Parameters
    ----------
    plan
        Which crop stands on which bed from when to when.
    beds
        See `places`.
    of
        The steps of the year; empty where no crop is planned.
    spells
        What stands where through the year.
    starts
        Any day of the week with which the twelve months begin.
    """
    number = {bed.name: at for at, bed in enumerate(beds)}
    stays = plan.standing_on(number)
    return {
        "stays": [[number[stay.bed], *_days_of(stay)] for stay in stays],
        "crops": {stay.crop: _(stay.crop) for stay in plan.stays},
        "spells": {
            crop: list(_spells(plan, crop, number))
            for crop in dict.fromkeys(stay.crop for stay in plan.stays)
        },
        "covers": {
            use.kind: names.cover_name(use.kind)
            for stay in plan.stays
            for use in stay.covers
        },
        "green": [
            [number[it.bed], it.kind, it.from_day, it.to_day]
            for it in plan.green
            if it.bed in number
        ],
        "manures": {it.kind: _(it.kind) for it in plan.green},
        "grass": [number[name] for name in plan.untended if name in number],
        "states": list(STATES),
        "inside": {number[bed.name]: bed.tunnel for bed in beds if bed.tunnel},
        "tunnels": {bed.tunnel: bed.where for bed in beds if bed.tunnel},
        "steps": [
            {
                "iso": step.day.isoformat(),
                "days": span_of_days(
                    *(plan.month_day(day) for day in (step.jobs[0].day, step.until))
                ),
                "from": step.jobs[0].day,
                "until": step.until,
                "shown": _said_day(plan, step.until),
                "said": said(step, beds),
                "beds": [job.bed for job in step.jobs],
                "ofBed": [
                    [job.day, _said_day(plan, job.day), _here(job)] for job in step.jobs
                ],
            }
            for step in of
        ],
        "standing": [[each.from_day, each.said] for each in spells],
        "starts": monday_of(starts).isoformat(),
        "begins": plan.season.first_month,
        "full": fullest(stays, of) if of else 0,
    }
