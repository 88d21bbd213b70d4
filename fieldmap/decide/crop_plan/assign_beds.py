"""From a number of beds of a class to single beds, so that no family follows itself."""

from bisect import insort
from collections.abc import Sequence
from heapq import heappop, heappush
from itertools import combinations
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from fieldmap.decide.crop_plan.bed_classes import BedClass
from fieldmap.decide.crop_plan.demand import Candidates, Placement
from fieldmap.model.season_year import WEEKS

Placed = tuple[int, Placement]  # place of the bed among all, and what goes on it
Stood = tuple[tuple[int, int], str]  # first and last week of a crop, and its family


ALWAYS = 2 * WEEKS  # a week that no stay reaches: the bed is free to the end


class Free(NamedTuple):
    """A bed from one week to another, both within, and the family that it bore before."""

    week: int
    bore: str
    until: int


def beds(counts: npt.NDArray[np.int64], candidates: Candidates) -> list[Placed]:
    """A bed for each placement, as often as it is taken.

    Where a family would follow itself within the year, the later crop moves to a bed
    that is free for it, if there is one: nothing is given up for that but days.
    """
    on = _first_beds(counts, candidates)
    by_demand: dict[int, list[Placement]] = {}
    # Best first, so that the first that fits is the one that loses fewest days.
    for placement in sorted(candidates.placements, key=lambda each: -each.place_days):
        by_demand.setdefault(placement.demand, []).append(placement)
    ground = _Ground(on, candidates)
    for place in sorted(on):
        for placement in list(on[place]):
            rest = [other for other in on[place] if other is not placement]
            if not _follows(placement, rest, candidates):
                continue
            others = by_demand[placement.demand]
            better = _better(placement, others, ground)
            if better is not None:
                to, moved = better
                ground.bears(place, rest)
                ground.bears(to, [*on[to], moved])
    return [(place, placement) for place, there in on.items() for placement in there]


def keeps_beds(counts: npt.NDArray[np.int64], candidates: Candidates) -> bool:
    """Whether what stands over New Year has its bed until it is done.

    Parameters
    ----------
    counts
        (placements,) beds that take each placement.
    candidates
        The placements, and the beds of each class.
    """
    return not any(
        _weeks(one) & _weeks(other)
        for there in _first_beds(counts, candidates).values()
        for one, other in combinations(there, 2)
    )


def _first_beds(
    counts: npt.NDArray[np.int64], candidates: Candidates
) -> dict[int, list[Placement]]:
    """Placements by bed, class by class."""
    on: dict[int, list[Placement]] = {
        place: [] for each in candidates.classes for place in each.beds
    }
    for number, bed_class in enumerate(candidates.classes):
        here = [
            placement
            for placement, count in zip(candidates.placements, counts, strict=True)
            if placement.bed_class == number
            for _ in range(count)
        ]
        for place, placement in _one_class(here, bed_class.beds, candidates):
            on[place].append(placement)
    return on


def _weeks(placement: Placement) -> int:
    """A bit for each week of a year."""
    first, last = placement.window.held
    # As one number, so that two stays are compared by a single "and".
    bits = (1 << (last + 1)) - (1 << first)
    return (bits | bits >> WEEKS) & ((1 << WEEKS) - 1)


def _one_class(
    here: Sequence[Placement], places: Sequence[int], candidates: Candidates
) -> list[Placed]:
    """A bed for each placement: one that is free, and where that goes bore another family.

    What stands on into the next year has beds of its own, where all others find room on
    what is left; else the weeks of the next year do not count.
    """
    # Spans on a line can always be laid on as many beds as meet in a week. On a ring they
    # cannot, so what closes the ring is laid first.
    over = [each for each in here if each.window.held[1] >= WEEKS]
    beds = sorted(places)
    own, rest = beds[len(beds) - len(over) :], beds[: len(beds) - len(over)]
    free: dict[Free, list[int]] = {Free(0, "", ALWAYS): rest} if rest else {}
    for bed, each in zip(own, over, strict=True):
        first, last = each.window.held
        kind = Free(last - WEEKS + 1, candidates.family(each), first - 1)
        heappush(free.setdefault(kind, []), bed)
    others = [each for each in here if each.window.held[1] < WEEKS]
    found = _in_turn(others, free, candidates)
    if found is not None:
        return [*found, *zip(own, over, strict=True)]
    found = _in_turn(here, {Free(0, "", ALWAYS): beds}, candidates)
    assert found is not None  # no week holds more of them than there are beds
    return found


def _in_turn(
    here: Sequence[Placement], free: dict[Free, list[int]], candidates: Candidates
) -> list[Placed] | None:
    """Placements on beds in the order of their first weeks; None where one finds none.

    The one free for the shortest time is taken, so that beds which bore nothing yet are
    left for whoever cannot follow its own family.

    Parameters
    ----------
    free
        Beds that are alike, as heaps; changed.
    """
    found = []
    for placement in sorted(here, key=lambda each: (each.window.held, each.demand)):
        first, last = placement.window.held
        family = candidates.family(placement)
        kind = min(
            (kind for kind in free if kind.week <= first and last <= kind.until),
            # After another family; then under what comes back in autumn, as not all fit
            # there; then on the bed that came free last, and the first by its place.
            key=lambda kind: (
                kind.bore == family != "",
                kind.until,
                -kind.week,
                free[kind][0],
            ),
            default=None,
        )
        if kind is None:
            return None
        bed = heappop(free[kind])
        if not free[kind]:
            del free[kind]
        heappush(free.setdefault(Free(last + 1, family, kind.until), []), bed)
        found.append((bed, placement))
    return found


def _follows(
    placement: Placement, others: Sequence[Placement], candidates: Candidates
) -> bool:
    """Whether a placement comes right after one of its own family."""
    first = placement.window.held[0]
    before = [other for other in others if other.window.held[1] < first]
    last = max(before, key=lambda other: other.window.held[1], default=None)
    family = candidates.family(placement)
    return last is not None and family != "" and candidates.family(last) == family


class _Ground:
    """Beds of each class by what stands on them.

    Thousands of beds bear a few dozen rows of crops, so each row is asked once.
    """

    def __init__(self, on: dict[int, list[Placement]], candidates: Candidates) -> None:
        self.on, self.candidates = on, candidates
        self._fits: dict[tuple[Stood, tuple[Stood, ...]], bool] = {}
        self._alike: list[dict[tuple[Stood, ...], list[int]]] = []
        self._class_of: dict[int, int] = {}
        for number, each in enumerate(candidates.classes):
            self._alike.append({})
            for place in sorted(each.beds):
                self._class_of[place] = number
                self._alike[number].setdefault(self._row(place), []).append(place)

    def bears(self, place: int, there: list[Placement]) -> None:
        """From now on a bed bears something else."""
        alike = self._alike[self._class_of[place]]
        alike[self._row(place)].remove(place)
        self.on[place] = there
        insort(alike.setdefault(self._row(place), []), place)

    def first_free(self, placement: Placement) -> int | None:
        """The first bed of its class that a placement fits on, if any."""
        alike = self._alike[placement.bed_class]
        stood = self._stood(placement)
        return min(
            (
                places[0]
                for row, places in alike.items()
                if places and self._is_free(placement, stood, row, places[0])
            ),
            default=None,
        )

    def _is_free(
        self, placement: Placement, stood: Stood, row: tuple[Stood, ...], place: int
    ) -> bool:
        if (stood, row) not in self._fits:
            there, weeks = self.on[place], _weeks(placement)
            self._fits[stood, row] = not any(
                _weeks(other) & weeks for other in there
            ) and _fits(placement, there, self.candidates)
        return self._fits[stood, row]

    def _stood(self, placement: Placement) -> Stood:
        return placement.window.held, self.candidates.family(placement)

    def _row(self, place: int) -> tuple[Stood, ...]:
        return tuple(sorted(map(self._stood, self.on[place])))


def _better(
    placement: Placement, others: Sequence[Placement], ground: _Ground
) -> Placed | None:
    """The best bed that is free for the same crop under no more cover, if any."""
    for other in others:
        if not _asks_no_more(other, placement, ground.candidates.classes):
            continue
        place = ground.first_free(other)
        if place is not None:
            return place, other
    return None


def _asks_no_more(
    other: Placement, than: Placement, classes: Sequence[BedClass]
) -> bool:
    """Whether a placement needs no cover, or the same weeks over a bed as short."""
    # Moved away from its own family of this year, it must not meet its own of last year.
    if other.same_family and not than.same_family:
        return False
    new, old = classes[other.bed_class], classes[than.bed_class]
    # The solver has counted the metres of cover: a move may not ask for more of them.
    return other.window.covers == than.window.covers and (
        not other.window.covers
        or (new.length_m <= old.length_m and new.width_m <= old.width_m)
    )


def _fits(
    placement: Placement, there: Sequence[Placement], candidates: Candidates
) -> bool:
    """Whether no family would follow itself on a bed."""
    together = [*there, placement]
    return not any(
        _follows(each, [other for other in together if other is not each], candidates)
        for each in together
    )
