"""From so many beds of a class to single beds, so that no family follows itself."""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
import numpy.typing as npt

from fieldmap.decide.crop_plan.bed_classes import BedClass
from fieldmap.decide.crop_plan.demand import Candidates, Placement

Placed = tuple[int, Placement]  # place of the bed among all, and what goes on it


def beds(counts: npt.NDArray[np.int64], candidates: Candidates) -> list[Placed]:
    """A bed for each placement, as often as it is taken.

    Where a family would follow itself within the year, the later crop moves to a bed
    that is free for it, if there is one: nothing is given up for that but days.
    """
    on = _first_beds(counts, candidates)
    by_demand: dict[int, list[Placement]] = {}
    for placement in sorted(candidates.placements, key=lambda each: -each.place_days):
        by_demand.setdefault(placement.demand, []).append(placement)
    # Weeks in which a bed is taken, as bits: thousands of beds are asked again and again.
    taken = {place: sum(map(_weeks, there)) for place, there in on.items()}
    for place in sorted(on):
        for placement in list(on[place]):
            rest = [other for other in on[place] if other is not placement]
            if not _follows(placement, rest, candidates):
                continue
            others = by_demand[placement.demand]
            better = _better(placement, others, on, taken, candidates)
            if better is not None:
                to, moved = better
                on[place], taken[place] = rest, taken[place] - _weeks(placement)
                on[to].append(moved)
                taken[to] += _weeks(moved)
    return [(place, placement) for place, there in on.items() for placement in there]


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
    first, last = placement.window.held
    return (1 << (last + 1)) - (1 << first)


def _one_class(
    here: Sequence[Placement], places: Sequence[int], candidates: Candidates
) -> Iterator[Placed]:
    """A bed for each placement: one that is free, and where that goes bore another family.

    Taken in the order of their first weeks there is always one, as no week holds more
    of them than there are beds. The one free for the shortest time is taken, so that
    beds which bore nothing yet are left for whoever cannot follow its own family.
    """
    free_from = dict.fromkeys(places, 0)
    bore: dict[int, str] = dict.fromkeys(places, "")
    for placement in sorted(here, key=lambda each: (each.window.held, each.demand)):
        first, last = placement.window.held
        family = candidates.family(placement)
        bed = min(
            (place for place in places if free_from[place] <= first),
            key=lambda place: (bore[place] == family != "", -free_from[place], place),
        )
        free_from[bed], bore[bed] = last + 1, family
        yield bed, placement


def _follows(
    placement: Placement, others: Sequence[Placement], candidates: Candidates
) -> bool:
    """Whether a placement comes right after one of its own family."""
    first = placement.window.held[0]
    before = [other for other in others if other.window.held[1] < first]
    last = max(before, key=lambda other: other.window.held[1], default=None)
    family = candidates.family(placement)
    return last is not None and family != "" and candidates.family(last) == family


def _better(
    placement: Placement,
    others: Sequence[Placement],
    on: Mapping[int, Sequence[Placement]],
    taken: Mapping[int, int],
    candidates: Candidates,
) -> Placed | None:
    """The best bed that is free for the same crop under no more cover, if any."""
    for other in others:
        if not _asks_no_more(other, placement, candidates.classes):
            continue
        weeks = _weeks(other)
        for place in candidates.classes[other.bed_class].beds:
            if not taken[place] & weeks and _fits(other, on[place], candidates):
                return place, other
    return None


def _asks_no_more(
    other: Placement, than: Placement, classes: Sequence[BedClass]
) -> bool:
    """Whether a placement needs no cover, or the same weeks over a bed as short."""
    if other.same_family and not than.same_family:
        return False
    new, old = classes[other.bed_class], classes[than.bed_class]
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
