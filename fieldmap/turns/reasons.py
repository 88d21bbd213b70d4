"""Why a crop got fewer beds than wanted, and what else must be said of the fit."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np

from fieldmap import words
from fieldmap.turns import stays
from fieldmap.turns.record import LAST_DAY
from layers.cover import COVERS

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import numpy.typing as npt

    from fieldmap.dates import Dates
    from fieldmap.ranking import RankedBed
    from fieldmap.site import Site
    from fieldmap.turns.classes import BedClass
    from fieldmap.turns.record import Turn
    from fieldmap.turns.supplies import Supplies
    from fieldmap.turns.wishes import Choice, Wish

    Whole = npt.NDArray[np.int64]

MOST_NAMED = 8
CAUTION = (
    "What goes where is a proposal for a usual year. Dates in it are odds and no "
    "promise; go by the weather, by what is ripe, and by local advice first."
)


def why_not(site: Site, beds: Sequence[RankedBed], dates: Dates) -> str | None:
    """Why what goes where cannot be told; None where it can."""
    begin = "What goes where is not told"
    if not site.settings.crops:
        return (
            f"{begin}: name the crops you want under [[crops]] in site.toml, with the "
            "number of beds of each."
        )
    if not beds:
        return f"{begin}: there are no beds."
    if not dates.are_told:
        return f"{begin}: it rests on dates, and the weather given tells none."
    known = ~(np.isnan(dates.early[1]) | np.isnan(dates.late[1])).any(axis=(0, 1))
    return None if known.any() else f"{begin}: the dates of no bed are known."


def short(
    counts: Whole,
    choices: Sequence[Choice],
    wishes: Sequence[Wish],
    kinds: Sequence[BedClass],
    has: Supplies,
) -> Iterator[str]:
    """A sentence for each wish that is not granted in full."""
    got = np.zeros(len(wishes), int)
    for choice, count in zip(choices, counts, strict=True):
        got[choice.wish] += count
    for at, wish in enumerate(wishes):
        here = [choice for choice in choices if choice.wish == at]
        if got[at] >= wish.beds or (wish.is_again and not here):
            continue
        begin = (
            f"{words.started(_sowing(wish))}: {got[at]} of {wish.beds} "
            f"{'bed' if wish.beds == 1 else 'beds'}"
        )
        yield f"{begin}, since {_why(here, wish, kinds, has)}."


def _sowing(wish: Wish) -> str:
    return (
        f"{wish.crop.name} for autumn"
        if wish.season == stays.AUTUMN
        else wish.crop.name
    )


def _why(
    here: Sequence[Choice], wish: Wish, kinds: Sequence[BedClass], has: Supplies
) -> str:
    if not here:
        return _never(wish, kinds)
    if any(not choice.stay.covers for choice in here):
        return "no more beds are free in its weeks"
    names = dict.fromkeys(
        words.cover(COVERS[use.kind].name)
        for choice in here
        for use in choice.stay.covers
    )
    hands = " or no more hands in the morning" if has.hands is not None else ""
    return (
        f"it ripens here only under {either(list(names))}, and no more of that is free "
        f"and wide enough in its weeks{hands}"
    )


def _never(wish: Wish, kinds: Sequence[BedClass]) -> str:
    start = min(np.ceil(kind.early[wish.number].min()) for kind in kinds)
    last = max(np.ceil(kind.late[wish.number].max()) - 1 for kind in kinds)
    if not np.isfinite(start):
        return "it is not warm enough for it in any usual year"
    last = min(last, LAST_DAY)
    return (
        f"at most {max(last - start, 0):.0f} days lie between its first and its last, "
        "and it wants more"
    )


def either(names: Sequence[str]) -> str:
    """Names as a choice.

    Examples
    --------
    >>> either(["film"]), either(["film", "fabric"])
    ('film', 'film or fabric')
    """
    return " or ".join([", ".join(names[:-1]), names[-1]] if names[1:] else names)


def remarks(
    site: Site,
    turns: Sequence[Turn],
    choices: Sequence[Choice],
    wishes: Sequence[Wish],
    beds: Sequence[RankedBed],
) -> Iterator[str]:
    """What was taken, and what could not be kept to."""
    yield CAUTION
    possible = {choice.wish for choice in choices}
    again = [
        wish.crop.name
        for at, wish in enumerate(wishes)
        if wish.is_again and at in possible
    ]
    if again:
        yield (
            f"A second sowing for autumn was thought of for {words.listed(again)}, where "
            'beds and weeks allow; seasons = ["spring"] under [[crops]] leaves it out.'
        )
    open_ended = [each.name for each in site.settings.crops if each.beds is None]
    if open_ended:
        yield (
            f"{words.started(words.listed(open_ended))}: you did not say how many beds, "
            "so what the other crops leave was shared."
        )
    yield from _families(site, turns)
    yield from _after_itself(turns, wishes)
    yield from _strangers(site, beds)


def _families(site: Site, turns: Sequence[Turn]) -> Iterator[str]:
    kept = [turn for turn in turns if turn.family_of_last_year]
    by_crop: dict[tuple[str, str], list[str]] = {}
    for turn in kept:
        key = turn.crop, turn.family_of_last_year
        by_crop.setdefault(key, []).append(turn.bed)
    for (crop, family), names in by_crop.items():
        yield (
            f"{words.started(crop)} stands on {_named(names)} for all that {family} stood "
            "there last year: no other bed was free for it in its weeks."
        )
    unknown = dict.fromkeys(each.crop for each in site.last_year if not each.family)
    if unknown:
        yield (
            f"The family of {words.listed(list(unknown))} is not known; beds that bore "
            "it last year are taken as free for any crop."
        )


def _after_itself(turns: Sequence[Turn], wishes: Sequence[Wish]) -> Iterator[str]:
    """Families that follow themselves within the year."""
    families = {wish.crop.name: wish.family for wish in wishes if wish.family}
    found: dict[tuple[str, str], list[str]] = {}
    for before, after in itertools.pairwise(turns):
        same = families.get(before.crop, "") == families.get(after.crop)
        if before.bed == after.bed and same:
            found.setdefault((after.crop, before.crop), []).append(after.bed)
    for (after_crop, before_crop), names in found.items():
        yield (
            f"{words.started(after_crop)} follows {before_crop} on {_named(names)} within "
            "the year, both of one family; change beds if you can."
        )


def _strangers(site: Site, beds: Sequence[RankedBed]) -> Iterator[str]:
    known = {bed.bed.name.casefold() for bed in beds}
    strange = dict.fromkeys(
        each.bed for each in site.last_year if each.bed.casefold() not in known
    )
    if strange:
        yield (
            f"{site.settings.files.last_year} names {_named(list(strange))}, which is no "
            "bed of this plan: what stood there is left out."
            if len(strange) == 1
            else f"{site.settings.files.last_year} names {_named(list(strange))}, which "
            "are no beds of this plan: what stood there is left out."
        )


def _named(names: Sequence[str]) -> str:
    if len(names) <= MOST_NAMED:
        return words.listed(names)
    return f"{', '.join(names[:MOST_NAMED])} and {len(names) - MOST_NAMED} more"
