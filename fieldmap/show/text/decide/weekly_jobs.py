"""The year's work by week, in sentences, and what needs no job."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from typing import Any, NamedTuple

from fieldmap.decide.crop_plan.sowings.fallow import BREAKS_DOWN_DAYS
from fieldmap.decide.weekly_jobs import CropTask, Schedule, Task
from fieldmap.decide.weekly_jobs.job import BedSet
from fieldmap.decide.weekly_jobs.lead_times import wants_bees
from fieldmap.decide.weekly_jobs.people import PeopleNeeded
from fieldmap.model.crops import packaged_name
from fieldmap.model.fact import Fact
from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, date_in_words
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import Sentence, fill, phrase, say_all
from layers.cover import COVERS

GROUP_NAMES = texts(__name__, "group_names")
TASKS = texts(__name__, "tasks")
FROM_BEFORE = texts(__name__, "from_before")
LIKELY = texts(__name__, "likely")
TITLES = texts(__name__, "titles")
TO_PLANT = texts(__name__, "to_plant")
PEOPLE = texts(__name__, "people")
REMARKS = texts(__name__, "remarks")
MOST_RUNS = 2  # of beds, in the title of a week


class Week(NamedTuple):
    """The jobs of one week, from its Monday, in sentences."""

    start: date
    jobs: tuple[str, ...]


def weeks(schedule: Schedule, units: Units) -> tuple[Week, ...]:
    """Weeks with a job, in order."""
    return tuple(
        Week(week.start, tuple(_task(task, units) for task in week.tasks))
        for week in schedule.weeks
    )


def titles(schedule: Schedule, plots: Mapping[str, str]) -> tuple[str, ...]:
    """What each week is for: its first job with its place, and how many more there are.

    Parameters
    ----------
    plots
        The plot of each bed by its name.
    """
    return tuple(_title(week.tasks, plots) for week in schedule.weeks)


def groups(schedule: Schedule) -> tuple[str, ...]:
    """One sentence for each group of beds that a job or a remark names: which they are."""
    tasks = (task for week in schedule.weeks for task in week.tasks)
    named = [beds for task in tasks for beds in task.beds]
    named += [fact["beds"] for fact in schedule.remarks if "beds" in fact.values]
    return tuple(
        f"{names.started(_(GROUP_NAMES[beds.group]))}: {_in_runs(beds)}."
        for beds in schedule.groups
        if beds in named
    )


def remarks(schedule: Schedule, units: Units) -> tuple[str, ...]:
    """What the days mean, and what needs no job."""
    return tuple(dict.fromkeys(say_all(schedule.remarks, units)))


def _task(task: Task, units: Units) -> str:
    """Several crops on the same beds in one sentence, apart what is done otherwise."""
    ways: dict[str, list[str]] = {}
    for each in task.crops:
        ways.setdefault(_text_of(task.kind, each.crop), []).append(
            _crop(each, task.kind)
        )
    said = " ".join(
        names.started(
            _(TASKS[key]).format(
                crops=names.listed(crops),
                beds=names.few(_beds(task.beds, units)),
                cover=names.cover_name(task.cover) if task.cover else "",
                rot_days=BREAKS_DOWN_DAYS,
            )
        )
        for key, crops in (ways or {task.kind: []}).items()
    )
    if task.begun_before is not None:
        day = date_in_words(task.begun_before)
        skip = _(FROM_BEFORE["skip"]).format(first_day=day)
        said = f"{said} {skip}"
    said = " ".join([said, *_likely(task)])
    if task.people is None:
        return said
    return f"{said} {_people(task.people)}"


def _text_of(kind: str, crop: str) -> str:
    """Which text says a job: by how the crop is begun or taken where that has its own."""
    words = [names.start_word(crop, "sow"), names.harvest_word(crop)]
    if wants_bees(crop):
        words.append("for_bees")
    for word in words:
        key = f"{kind}_{word}"
        if key in TASKS:
            return key
    return kind


def _people(needed: PeopleNeeded) -> str:
    return fill(
        PEOPLE["own" if needed.is_own else "usual"],
        "metric",
        number=needed.people,
        time=quantities.duration(max(needed.minutes, 5.0) / 60),
    )


def _title(tasks: Sequence[Task], plots: Mapping[str, str]) -> str:
    first, more = _in_short(tasks[0], plots), len(tasks) - 1
    said = phrase("title_and_more", job=first, number=more) if more else first
    return names.started(said)


def _in_short(task: Task, plots: Mapping[str, str]) -> str:
    key = _text_of(task.kind, task.crops[0].crop) if task.crops else task.kind
    job = _(TITLES.get(key, TITLES[task.kind])).format(
        crops=_few([_called(each.crop, task.kind) for each in task.crops]),
        cover=names.cover_name(task.cover) if task.cover else "",
    )
    where = _where(task.beds, plots)
    return _("{job}: {place}").format(job=job, place=where) if where else job


def _where(beds: Sequence[BedSet], plots: Mapping[str, str]) -> str:
    """Beds in few words: a run or two of one plot by their names, more by their number."""
    named = [each for each in beds if not each.group]
    if len(named) < len(beds) or not named:
        return names.listed([_(GROUP_NAMES[each.group]) for each in beds[:1]])
    runs = [run for each in named for run in each.runs]
    runs += [(bed,) for each in named for bed, _start, _end in each.parts]
    runs = list(dict.fromkeys(runs))
    inside = list(dict.fromkeys(plots.get(run[0], "") for run in runs))
    if len(runs) <= MOST_RUNS and len(inside) == 1:
        return f"{inside[0]} {', '.join(map(names.run, runs))}".strip()
    number = len({bed for run in runs for bed in run})
    kind = "title_beds_of" if len(inside) == 1 and inside[0] else "title_beds"
    return phrase(kind, number=number, plot=inside[0])


def _few(words: Sequence[str], most: int = 3) -> str:
    """The first of several words, and how many more."""
    words = list(dict.fromkeys(words))
    more = len(words) - most
    shown = ", ".join(words[:most])
    return shown if more <= 0 else _("{shown} +{more}").format(shown=shown, more=more)


def _called(crop: str, kind: str) -> str:
    """A crop within a job: "kale seed" and "seed potatoes" are ordered, carrots are sown."""
    if kind == "order_seed":
        return _(TO_PLANT.get(packaged_name(crop), crop))
    return names.crop(crop)


def _crop(task: CropTask, kind: str) -> str:
    """A crop, with its note."""
    crop = _called(task.crop, kind)
    return f"{crop} ({_(task.note)})" if task.note else crop


def _likely(task: Task) -> Iterator[str]:
    """When the job is likely due: one sentence for crops of the same days."""
    by_days: dict[tuple[tuple[int, int], ...], list[str]] = {}
    for each in task.crops:
        by_days.setdefault(each.days, []).append(_called(each.crop, task.kind))
    for days, crops in by_days.items():
        if not days:
            continue
        first, last = quantities.day(*days[0]), quantities.day(*days[-1])
        key = "after" if len(days) == 1 else "on" if first == last else "between"
        key = key if len(by_days) == 1 else f"{key}_for"
        yield _(LIKELY[key]).format(
            first=first, last=last, crops=names.listed(list(dict.fromkeys(crops)))
        )


def _in_runs(beds: BedSet) -> str:
    return names.listed(names.on_beds(beds.runs, (), "metric"))


def _beds(sets: Sequence[BedSet], units: Units) -> list[str]:
    """The names of groups, then runs of whole beds and parts of beds in order."""
    groups = [_(GROUP_NAMES[each.group]) for each in sets if each.group]
    named = [each for each in sets if not each.group]
    runs = [run for each in named for run in each.runs]
    parts = [part for each in named for part in each.parts]
    return [*groups, *names.on_beds(runs, parts, units)]


def _shade(kind: str) -> str:
    """Cloth that serves as shade, and how."""
    cover = names.cover_name(kind)
    if COVERS[kind].kind != "fabric":
        return cover
    return _("{cover} high on hoops, its sides open").format(cover=cover)


def _remark(fact: Fact, units: Units) -> str:
    """A remark, its crop, beds and covers in the words of the list."""
    shown = _shade if fact.kind == "shade_wanted" else names.cover_name
    in_words: dict[str, Callable[[Any], str]] = {
        "date": date_in_words,
        "crop": lambda crop: names.started(names.crop(crop)),
        "beds": lambda beds: names.listed(_beds((beds,), units)),
        "cover": shown,
    }
    values = {
        name: in_words[name](value) if name in in_words else value
        for name, value in fact.values.items()
    }
    return fill(REMARKS[fact.kind], units, **values)


SENTENCES: dict[str, Sentence] = dict.fromkeys(REMARKS, _remark)
