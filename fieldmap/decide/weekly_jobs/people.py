"""How many people a job wants, and how long it usually takes them."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from statistics import median
from typing import NamedTuple

from fieldmap.decide.weekly_jobs.job import BedSet
from fieldmap.model.crops import is_planted
from fieldmap.model.field_log import WorkDone, Worked


class Usual(NamedTuple):
    """People, and minutes of all of them together for a metre of bed."""

    people: int
    minutes_per_m: float


# Common practice, no source: beds of about 75 cm, hand tools, people who did it before.
USUAL: Mapping[WorkDone, Usual] = {
    "sow": Usual(1, 0.4),
    "set_out": Usual(1, 1.0),
    "hoops": Usual(2, 1.0),
    "film": Usual(2, 1.2),
    "cover_off": Usual(2, 0.4),
    "shade_on": Usual(2, 0.8),
    "shade_off": Usual(2, 0.4),
}
# What is asked for by each kind of job; of others nobody knows how long they take.
WORK_OF: Mapping[str, WorkDone] = {
    "sow": "sow",
    "sow_under": "sow",
    "sow_for_autumn": "sow",
    "sow_green": "sow",
    "set_out": "set_out",
    "set_out_under": "set_out",
    "set_out_for_autumn": "set_out",
    "set_hoops": "hoops",
    "set_hoops_and_drip": "hoops",
    "pull_film": "film",
    "take_cover_off": "cover_off",
    "shade_on": "shade_on",
    "shade_off": "shade_off",
}


class PeopleNeeded(NamedTuple):
    """For one task.

    Attributes
    ----------
    minutes
        On the clock, with that number of people.
    is_own
        By the grower's own log, and not the usual.
    """

    people: int
    minutes: float
    is_own: bool


def people_needed(
    kind: str, crops: Collection[str], length_m: float, log: Sequence[Worked]
) -> PeopleNeeded | None:
    """People and minutes for a job on a length of bed; None where that is not known.

    The middle of what the log has of that work stands in place of the usual.

    Parameters
    ----------
    kind
        Kind of the job, of `job.ORDER`.
    crops
        For which it is done. Those that are planted piece by piece take as long as those
        that are set out.
    length_m
        Length of bed on which it is done; 0 where that is not known.
    log
        Work of the field log, with the minutes that a metre took.
    """
    work = WORK_OF.get(kind)
    if work == "sow" and crops and all(map(is_planted, crops)):
        work = "set_out"
    if work is None or not length_m:
        return None
    usual = USUAL[work]
    own = [each.minutes_per_m for each in log if each.work == work]
    per_m = median(own) if own else usual.minutes_per_m
    # Minutes of a metre are those of all people together; the clock shows their share.
    return PeopleNeeded(usual.people, per_m * length_m / usual.people, bool(own))


def length_m(sets: Iterable[BedSet], beds_m: Mapping[str, float]) -> float:
    """Length of beds, or of those parts of them that are taken; 0 where any is not known.

    Parameters
    ----------
    beds_m
        Of each bed, by name.
    """
    total = 0.0
    for here in sets:
        names = {name for run in here.runs for name in run}
        whole = names - {name for name, _start_m, _end_m in here.parts}
        if here.group or not whole <= beds_m.keys():
            return 0.0
        total += sum(end_m - start_m for _name, start_m, end_m in here.parts)
        total += sum(beds_m[name] for name in sorted(whole))
    return total
