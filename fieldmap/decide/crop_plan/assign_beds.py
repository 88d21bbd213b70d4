"""From so many beds of a class to single beds, so that no family follows itself."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    import numpy as np
    import numpy.typing as npt

    from fieldmap.decide.crop_plan.bed_classes import BedClass
    from fieldmap.decide.crop_plan.demand import Choice, Wish

    Placed = tuple[int, Choice]  # place of the bed among all, and what goes on it


def beds(
    counts: npt.NDArray[np.int64],
    choices: Sequence[Choice],
    kinds: Sequence[BedClass],
    wishes: Sequence[Wish],
) -> list[Placed]:
    """A bed for each choice that is taken, as often as it is.

    Where a family would follow itself within the year, the later crop moves to a bed
    that is free for it, if there is one: nothing is given up for that but days.
    """
    on: dict[int, list[Choice]] = {place: [] for kind in kinds for place in kind.beds}
    for number, kind in enumerate(kinds):
        here = [
            choice
            for choice, count in zip(choices, counts, strict=True)
            if choice.bed_class == number
            for _ in range(count)
        ]
        for place, choice in _one_class(here, kind.beds, wishes):
            on[place].append(choice)
    by_wish: dict[int, list[Choice]] = {}
    for choice in sorted(choices, key=lambda each: -each.place_days):
        by_wish.setdefault(choice.wish, []).append(choice)
    # Weeks in which a bed is taken, as bits: thousands of beds are asked again and again.
    taken = {
        place: sum(_weeks(choice) for choice in held) for place, held in on.items()
    }
    for place in sorted(on):
        for choice in list(on[place]):
            rest = [other for other in on[place] if other is not choice]
            if not _follows(choice, rest, wishes):
                continue
            to = _better(choice, by_wish[choice.wish], on, taken, kinds, wishes)
            if to is not None:
                other, way = to
                on[place], taken[place] = rest, taken[place] - _weeks(choice)
                on[other].append(way)
                taken[other] += _weeks(way)
    return [(place, choice) for place, held in on.items() for choice in held]


def _weeks(choice: Choice) -> int:
    first, last = choice.stay.held
    return (1 << (last + 1)) - (1 << first)


def _one_class(
    here: Sequence[Choice], places: Sequence[int], wishes: Sequence[Wish]
) -> Iterator[Placed]:
    """A bed for each choice: one that is free, and where that goes bore another family.

    Taken in the order of their first weeks there is always one, as no week holds more
    of them than there are beds. The one free for the shortest time is taken, so that
    beds which bore nothing yet are left for whoever cannot follow its own family.
    """
    free_from = dict.fromkeys(places, 0)
    bore: dict[int, str] = dict.fromkeys(places, "")
    for choice in sorted(here, key=lambda each: (each.stay.held, each.wish)):
        first, last = choice.stay.held
        family = wishes[choice.wish].family
        bed = min(
            (place for place in places if free_from[place] <= first),
            key=lambda place: (bore[place] == family != "", -free_from[place], place),
        )
        free_from[bed], bore[bed] = last + 1, family
        yield bed, choice


def _follows(choice: Choice, others: Sequence[Choice], wishes: Sequence[Wish]) -> bool:
    """Whether a choice comes right after one of its own family."""
    first = choice.stay.held[0]
    before = [other for other in others if other.stay.held[1] < first]
    last = max(before, key=lambda other: other.stay.held[1], default=None)
    family = wishes[choice.wish].family
    return last is not None and family != "" and wishes[last.wish].family == family


def _better(
    choice: Choice,
    ways: Sequence[Choice],
    on: Mapping[int, Sequence[Choice]],
    taken: Mapping[int, int],
    kinds: Sequence[BedClass],
    wishes: Sequence[Wish],
) -> Placed | None:
    """The best bed that is free for the same crop under no more cover, if any."""
    for way in ways:
        if not _asks_no_more(way, choice, kinds):
            continue
        weeks = _weeks(way)
        for place in kinds[way.bed_class].beds:
            if not taken[place] & weeks and _fits(way, on[place], wishes):
                return place, way
    return None


def _asks_no_more(way: Choice, than: Choice, kinds: Sequence[BedClass]) -> bool:
    """Whether a way needs no cover, or the same in the same weeks over a bed as short."""
    if way.same_family and not than.same_family:
        return False
    new, old = kinds[way.bed_class], kinds[than.bed_class]
    return way.stay.covers == than.stay.covers and (
        not way.stay.covers
        or (new.length_m <= old.length_m and new.width_m <= old.width_m)
    )


def _fits(way: Choice, there: Sequence[Choice], wishes: Sequence[Wish]) -> bool:
    """Whether no family would follow itself on a bed."""
    together = [*there, way]
    return not any(
        _follows(each, [other for other in together if other is not each], wishes)
        for each in together
    )
