"""One thing to do, and the beds it is done on."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Sequence
from datetime import date
from typing import NamedTuple, Protocol

from fieldmap.decide.layout.beds import Bed, Stretch, joined
from fieldmap.decide.ranking import RankedBed
from fieldmap.decide.ranking.groups import GROUPS

ALL_BEDS = "all beds"
# Kinds of jobs in the order in which those of one week are done.
ORDER = (
    ("order_seed", "order_cover"),
    ("start_trays", "start_trays_for_autumn"),
    ("set_hoops", "set_hoops_and_drip"),
    ("pull_film",),
    ("harden_off",),
    ("turn_in_green",),
    (
        "set_out",
        "sow",
        "set_out_under",
        "sow_under",
        "set_out_for_autumn",
        "sow_for_autumn",
    ),
    ("last_sowing", "last_setting_out"),
    ("sow_green",),
    ("open_for_bees", "take_cover_off"),
    ("begin_to_pick",),
    ("shade_on", "shade_on_high", "tunnel_shade_on"),
    ("shade_off", "tunnel_shade_off"),
    ("inner_fabric_on", "inner_fabric_off"),
    ("slackens",),
    ("have_cover_ready",),
    ("last_days", "last_days_under"),
    ("store_cover",),
    ("bare_frames",),
)
TOUCH_M = 1e-6  # between parts of a bed that touch
PLACE = {kind: place for place, kinds in enumerate(ORDER) for kind in kinds}


class HasBed(Protocol):
    """A bed with what was computed for it."""

    @property
    def bed(self) -> Bed:
        """The bed itself."""
        ...


class BedSet(NamedTuple):
    """Beds of one job, by name: runs of neighbours in one plot.

    Attributes
    ----------
    group
        Of `ranking.GROUPS`, or `ALL_BEDS` where they are all of one group; empty for
        beds that are planned for a crop.
    parts
        Of beds that are taken in part: name, and metres from the gate end.
    """

    group: str
    runs: tuple[tuple[str, ...], ...]
    parts: tuple[tuple[str, float, float], ...] = ()

    @classmethod
    def of(cls, group: str, beds: Sequence[HasBed], places: Iterable[int]) -> BedSet:
        """Beds of one job, as runs of neighbours in one plot.

        Parameters
        ----------
        group
            Name of their group, or `ALL_BEDS`; empty for beds that are planned for a
            crop.
        beds
            All beds.
        places
            Places of the beds of the job in that list, rising.
        """
        return cls(group, _in_runs([each.bed for each in beds], places))


def _in_runs(beds: Sequence[Bed], places: Iterable[int]) -> tuple[tuple[str, ...], ...]:
    """Names of beds, neighbours of one plot or one tunnel together."""

    def key(pair: tuple[int, int]) -> tuple[int, str, str]:
        number, place = pair
        # Along a run places and numbers rise together, so their difference stays.
        return place - number, beds[place].plot, beds[place].tunnel

    runs = itertools.groupby(enumerate(places), key)
    return tuple(tuple(beds[place].name for _, place in run) for _, run in runs)


def with_runs_joined(sets: Sequence[BedSet], beds: Sequence[Bed]) -> tuple[BedSet, ...]:
    """Beds of one job: named ones in one set, so that neighbours make one run.

    Parameters
    ----------
    sets
        Beds of the job; those of a group stay as they are.
    beds
        All beds, in order.
    """
    named = [each for each in sets if not each.group]
    if not named:
        return tuple(sets)
    names = {name for each in named for run in each.runs for name in run}
    places = [at for at, bed in enumerate(beds) if bed.name in names]
    # A job on a whole tunnel has the tunnel's name in place of a bed's.
    tunnels = sorted(names - {beds[at].name for at in places})
    runs = (*_in_runs(beds, places), *((tunnel,) for tunnel in tunnels))
    parts = tuple(part for each in named for part in each.parts)
    return (*(each for each in sets if each.group), BedSet("", runs, parts))


def with_parts_joined(sets: Sequence[BedSet]) -> tuple[BedSet, ...]:
    """Beds of one job, whole ones first; parts of a bed that touch are one.

    Examples
    --------
    >>> sown = BedSet("", (("A1", "A2"),), (("A2", 6.0, 12.0),))
    >>> later = BedSet("", (("A2",),), (("A2", 0.0, 6.0),))
    >>> with_parts_joined([sown, later])[-1].parts
    (('A2', 0.0, 12.0),)
    """
    by_bed: dict[str, list[Stretch]] = {}
    for bed, *ends in (part for each in sets for part in each.parts):
        by_bed.setdefault(bed, []).append((ends[0], ends[1]))
    if not by_bed:
        return tuple(sets)
    parts = tuple(
        (bed, *ends) for bed, here in by_bed.items() for ends in joined(here, TOUCH_M)
    )
    whole = tuple(each for each in (_of_whole_beds(each) for each in sets) if each.runs)
    return (*whole, BedSet("", (), parts))


def _of_whole_beds(beds: BedSet) -> BedSet:
    in_part = {bed for bed, _start_m, _end_m in beds.parts}
    runs = (
        tuple(run)
        for each in beds.runs
        for is_part, run in itertools.groupby(each, in_part.__contains__)
        if not is_part
    )
    return beds._replace(runs=tuple(runs), parts=())


class Job(NamedTuple):
    """One thing to do with one crop on one set of beds.

    Attributes
    ----------
    kind
        Of `ORDER`.
    day
        Of the season-year, from 1; may lie outside of it.
    crop, beds
        Empty and None for what is done once for all.
    cover
        In the names of `layers.cover`; empty for none.
    note
        Of the crop's data.
    likely_days
        First and last day that are likely.
    begun
        Day on which what it harvests or ends was begun, in the season-year before; None
        where that is in the same.
    """

    kind: str
    day: int
    crop: str = ""
    beds: BedSet | None = None
    cover: str = ""
    note: str = ""
    likely_days: tuple[float, float] | None = None
    begun: int | None = None

    @property
    def place(self) -> int:
        """Order within a week."""
        return PLACE[self.kind]


def groups_of(beds: Sequence[RankedBed]) -> list[tuple[BedSet, tuple[int, ...]]]:
    """Groups of beds that are not empty, and the places of their beds."""
    places = {
        group: tuple(at for at, bed in enumerate(beds) if bed.earliness.group == group)
        for group in GROUPS
    }
    filled = {group: here for group, here in places.items() if here}
    return [
        (BedSet.of(group if len(filled) > 1 else ALL_BEDS, beds, here), here)
        for group, here in filled.items()
    ]


def once_for_all_beds(jobs: Iterable[Job], when: Callable[[Job], date]) -> list[Job]:
    """Orders at their earliest, storing at its latest: once for all beds.

    Parameters
    ----------
    jobs
        In any order; those on beds stay as they are.
    when
        Day of a job in the list, which may begin at any time of the year: seed of a
        spring sowing that is over serves no summer sowing that is still to come.
    """
    kept: dict[tuple[str, str, str], Job] = {}
    rest = []
    for job in jobs:
        key = job.kind, job.cover, job.crop
        if job.beds is not None:
            rest.append(job)
        elif key not in kept:
            kept[key] = job
        else:
            first = min if job.place == 0 else max
            kept[key] = first(kept[key], job, key=when)
    return [*kept.values(), *rest]
