"""The year's work by week, in sentences, and what needs no job."""

from datetime import date
from typing import NamedTuple

from fieldmap.decide.weekly_jobs import CropTask, Schedule, Task
from fieldmap.decide.weekly_jobs.job import ALL_BEDS, BedSet
from fieldmap.model.fact import Fact
from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, date_in_words, later, month_name, plural
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import Sentence, say_all
from layers.cover import COVERS

GROUP_NAMES = texts(__name__, "group_names")
TASKS = texts(__name__, "tasks")


class Week(NamedTuple):
    """The jobs of one week, from its Monday, in sentences."""

    start: date
    jobs: tuple[str, ...]


def weeks(schedule: Schedule) -> tuple[Week, ...]:
    """Weeks with a job, in order."""
    return tuple(
        Week(week.start, tuple(_task(task) for task in week.tasks))
        for week in schedule.weeks
    )


def groups(schedule: Schedule) -> tuple[str, ...]:
    """One sentence for each group of beds: which they are."""
    return tuple(
        f"{names.started(_(GROUP_NAMES[beds.group]))}: {_runs(beds)}."
        for beds in schedule.groups
    )


def remarks(schedule: Schedule, units: Units) -> tuple[str, ...]:
    """What the days mean, and what needs no job."""
    return tuple(dict.fromkeys(say_all(schedule.remarks, units)))


def _task(task: Task) -> str:
    """Several crops on the same beds in one sentence."""
    beds = None if task.beds is None else [_beds(each) for each in task.beds]
    sentence = _(TASKS[task.kind]).format(
        crops=names.listed([_crop(each) for each in task.crops]),
        beds=_(GROUP_NAMES[ALL_BEDS]) if beds is None else names.listed(beds),
        cover=_cover(task.cover) if task.cover else "",
    )
    return names.started(sentence)


def _crop(task: CropTask) -> str:
    """A crop, with its note and the days between which it is likely due."""
    notes = [_(task.note)] if task.note else []
    days = list(dict.fromkeys(quantities.day(*each) for each in task.days))
    if len(task.days) == 1:
        notes.append(_("from {day}, in some years not at all").format(day=days[0]))
    elif days:
        first, *last = days
        span = (
            _("{first} to {last}").format(first=first, last=last[0]) if last else first
        )
        notes.append(span)
    return f"{_(task.crop)} ({'; '.join(notes)})" if notes else _(task.crop)


def _beds(beds: BedSet) -> str:
    return _(GROUP_NAMES[beds.group]) if beds.group else _runs(beds)


def _runs(beds: BedSet) -> str:
    return ", ".join(names.run_of_beds(run) for run in beds.runs)


def _cover(kind: str) -> str:
    if COVERS[kind].kind == "shade cloth":
        return _("{percent} % shade cloth").format(percent=kind.removeprefix("shade_"))
    return names.cover_name(kind)


# ------------------------------------------------------------------ remarks
def _covers_too_short(fact: Fact, units: Units) -> str:
    short = [
        _("{length} of {cover}").format(
            length=quantities.length(length_m, units), cover=_cover(kind)
        )
        for length_m, kind in fact["covers"]
    ]
    return _(
        "You own {covers}; all beds together are {length} long, so covers are for "
        "chosen beds."
    ).format(
        covers=names.listed(short), length=quantities.length(fact["beds_m"], units)
    )


def _crop_left_out(fact: Fact, _units: Units) -> str:
    return plural(
        "{crop} on {beds}: left out, since {number} day lies between its first "
        "and its last, and it wants {wanted} at the least.",
        "{crop} on {beds}: left out, since {number} days lie between its first "
        "and its last, and it wants {wanted} at the least.",
        fact["days"],
        crop=names.started(_(fact["crop"])),
        beds=_beds(fact["beds"]),
        wanted=round(fact["least_days"]),
    )


def _of_crop(text: str) -> Sentence:
    """A sentence about a crop on some beds."""
    return lambda fact, _units: _(text).format(
        crop=names.started(_(fact["crop"])), beds=_beds(fact["beds"])
    )


def _of_shade(text: str) -> Sentence:
    """A sentence about a crop and the light of its beds [mol/m² a day]."""
    return lambda fact, _units: _(text).format(
        crop=names.started(_(fact["crop"])),
        month=month_name(fact["month"]),
        light=f"{fact['light_mol']:.0f}",
        low=f"{fact['least_mol']:g}",
        high=f"{fact['most_mol']:g}",
        most=f"{fact['most_mol']:g}",
        under=f"{fact.values.get('under_mol', 0):.0f}",
        cover=_shade(fact.values.get("cover", "")),
    )


def _shade(kind: str) -> str:
    """Cloth that serves as shade, and how."""
    if not kind or COVERS[kind].kind != "fabric":
        return kind and _cover(kind)
    return _("{cover} high on hoops, its sides open").format(cover=_cover(kind))


SENTENCES: dict[str, Sentence] = {
    "jobs_run_from": lambda fact, _units: _(
        "The list runs for twelve months from {date}. Its weeks are those of "
        "usual years: go by the weather, and by local advice first."
    ).format(date=date_in_words(fact["starts"])),
    "jobs_for_any_beds": later(
        "It does not know which beds you choose: read 'all beds' and 'the first beds' as "
        "those of them that carry the crop, and sow again what has bolted or is eaten; what "
        "is said of its last days holds for the last sowing."
    ),
    "covers_too_short": _covers_too_short,
    "shade_by_clear_light": later(
        "Shade is told for the light of clear days, so rather more of it than less."
    ),
    "crop_never_warm": _of_crop(
        later("{crop} on {beds}: it is not warm enough in any usual year.")
    ),
    "crop_dates_unknown": _of_crop(later("{crop} on {beds}: it is not known.")),
    "crop_left_out": _crop_left_out,
    "shade_no_hot_month": _of_shade(
        later("{crop} needs no shade: no month is too hot for it.")
    ),
    "shade_takes_all_light": _of_shade(
        later("{crop} needs no shade: it takes all the light it gets.")
    ),
    "shade_not_too_bright": _of_shade(
        later(
            "{crop} needs no shade: {month} gives {light} mol/m² a day, and up to "
            "{most} is good for it."
        )
    ),
    "shade_too_dark": _of_shade(
        later("{crop} needs no shade: the lightest cloth takes too much light.")
    ),
    "shade_wanted": _of_shade(
        later(
            "{crop}: {cover} leaves {under} of {light} mol/m² a day in {month}; {low} "
            "to {high} is best."
        )
    ),
}
