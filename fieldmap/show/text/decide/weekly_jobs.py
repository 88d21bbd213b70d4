"""The year's work by week, in sentences, and what needs no job."""

from collections.abc import Callable, Sequence
from datetime import date
from typing import Any, NamedTuple

from fieldmap.decide.weekly_jobs import CropTask, Schedule, Task
from fieldmap.decide.weekly_jobs.job import BedSet
from fieldmap.decide.weekly_jobs.people import PeopleNeeded
from fieldmap.model.fact import Fact
from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, date_in_words
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import Sentence, fill, say_all
from layers.cover import COVERS

GROUP_NAMES = texts(__name__, "group_names")
TASKS = texts(__name__, "tasks")
TITLES = texts(__name__, "titles")
PLACES = texts(__name__, "places")
PEOPLE = texts(__name__, "people")
REMARKS = texts(__name__, "remarks")


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


def titles(schedule: Schedule) -> tuple[str, ...]:
    """What each week is for, in a few words: its first jobs, and how many more."""
    return tuple(_title(week.tasks) for week in schedule.weeks)


def groups(schedule: Schedule) -> tuple[str, ...]:
    """One sentence for each group of beds that a job or a remark names: which they are."""
    tasks = (task for week in schedule.weeks for task in week.tasks)
    named = [beds for task in tasks for beds in task.beds]
    named += [fact["beds"] for fact in schedule.remarks if "beds" in fact.values]
    return tuple(
        f"{names.started(_(GROUP_NAMES[beds.group]))}: {_runs(beds)}."
        for beds in schedule.groups
        if beds in named
    )


def remarks(schedule: Schedule, units: Units) -> tuple[str, ...]:
    """What the days mean, and what needs no job."""
    return tuple(dict.fromkeys(say_all(schedule.remarks, units)))


def _task(task: Task, units: Units) -> str:
    """Several crops on the same beds in one sentence."""
    sentence = _(TASKS[task.kind]).format(
        crops=names.listed([_crop(each) for each in task.crops]),
        beds=names.listed([_beds(each, units) for each in task.beds]),
        cover=_cover(task.cover) if task.cover else "",
    )
    said = names.started(sentence)
    if task.people is None:
        return said
    return f"{said} {_people(task.people)}"


def _people(needed: PeopleNeeded) -> str:
    return fill(
        PEOPLE["own" if needed.is_own else "usual"],
        "metric",
        number=needed.people,
        time=quantities.duration(max(needed.minutes, 5.0) / 60),
    )


def _title(tasks: Sequence[Task]) -> str:
    said = dict.fromkeys(
        _(TITLES[task.kind]).format(
            crops=_few([_(each.crop) for each in task.crops]),
            cover=_cover(task.cover) if task.cover else "",
        )
        for task in tasks
    )
    return names.started(_few(list(said), 2, "; "))


def _few(words: Sequence[str], most: int = 3, between: str = ", ") -> str:
    """The first of several words, and how many more."""
    words = list(dict.fromkeys(words))
    more = len(words) - most
    shown = between.join(words[:most])
    return shown if more <= 0 else _("{shown} +{more}").format(shown=shown, more=more)


def _crop(task: CropTask) -> str:
    """A crop, with its note and the days between which it is likely due."""
    notes = [_(task.note)] if task.note else []
    days = [quantities.day(*each) for each in task.days]
    if len(days) == 1:
        notes.append(_("from {day}, in some years not at all").format(day=days[0]))
    elif days:
        notes.append(names.run(days))
    return f"{_(task.crop)} ({'; '.join(notes)})" if notes else _(task.crop)


def _beds(beds: BedSet, units: Units) -> str:
    if beds.parts:
        return names.listed(
            [
                fill(PLACES["part"], units, bed=bed, start_m=start_m, end_m=end_m)
                for bed, start_m, end_m in beds.parts
            ]
        )
    return _(GROUP_NAMES[beds.group]) if beds.group else _runs(beds)


def _runs(beds: BedSet) -> str:
    return ", ".join(names.run(run) for run in beds.runs)


def _cover(kind: str) -> str:
    if COVERS[kind].kind == "shade cloth":
        return _("{percent} % shade cloth").format(percent=kind.removeprefix("shade_"))
    return names.cover_name(kind)


def _shade(kind: str) -> str:
    """Cloth that serves as shade, and how."""
    if COVERS[kind].kind != "fabric":
        return _cover(kind)
    return _("{cover} high on hoops, its sides open").format(cover=_cover(kind))


def _remark(fact: Fact, units: Units) -> str:
    """A remark, its crop, beds and covers in the words of the list."""
    of_cover = {"shade_wanted": _shade, "length_of_cover": names.cover_name}
    in_words: dict[str, Callable[[Any], str]] = {
        "date": date_in_words,
        "crop": lambda crop: names.started(_(crop)),
        "beds": lambda beds: _beds(beds, units),
        "cover": of_cover.get(fact.kind, _cover),
    }
    values = {
        name: in_words[name](value) if name in in_words else value
        for name, value in fact.values.items()
    }
    return fill(REMARKS[fact.kind], units, **values)


SENTENCES: dict[str, Sentence] = dict.fromkeys(REMARKS, _remark)
