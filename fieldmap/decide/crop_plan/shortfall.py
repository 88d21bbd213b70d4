"""Why a crop got fewer beds than wanted, and what else must be said of the fit."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np

from fieldmap.decide.crop_plan import growing_windows
from fieldmap.model.season_year import DAYS
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _, later, plural
from layers.cover import COVERS

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import numpy.typing as npt

    from fieldmap.decide.calendar.planting_dates import Dates
    from fieldmap.decide.crop_plan.bed_classes import BedClass
    from fieldmap.decide.crop_plan.cover_stock import Supplies
    from fieldmap.decide.crop_plan.demand import Choice, Wish
    from fieldmap.decide.crop_plan.model import Turn
    from fieldmap.decide.ranking import RankedBed
    from fieldmap.model.site import Site

    Whole = npt.NDArray[np.int64]

MOST_NAMED = 8
CAUTION = later(
    "What goes where is a proposal for a usual year. Dates in it are odds and no "
    "promise; go by the weather, by what is ripe, and by local advice first."
)


def why_not(site: Site, beds: Sequence[RankedBed], dates: Dates) -> str | None:
    """Why what goes where cannot be told; None where it can."""
    if not site.settings.crops:
        return _(
            "What goes where is not told: name the crops you want under [[crops]] in "
            "site.toml, with the number of beds of each."
        )
    if not beds:
        return _("What goes where is not told: there are no beds.")
    if not dates.are_told:
        return _(
            "What goes where is not told: it rests on dates, and the weather given tells "
            "none."
        )
    known = ~(np.isnan(dates.early[1]) | np.isnan(dates.late[1])).any(axis=(0, 1))
    if known.any():
        return None
    return _("What goes where is not told: the dates of no bed are known.")


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
        yield plural(
            "{crop}: {got} of {number} bed, since {why}.",
            "{crop}: {got} of {number} beds, since {why}.",
            wish.beds,
            crop=quantities.started(_sowing(wish)),
            got=f"{got[at]}",
            why=_why(here, wish, kinds, has),
        )


def _sowing(wish: Wish) -> str:
    crop = _(wish.crop.name)
    if wish.season != growing_windows.AUTUMN:
        return crop
    return _("{crop} for autumn").format(crop=crop)


def _why(
    here: Sequence[Choice], wish: Wish, kinds: Sequence[BedClass], has: Supplies
) -> str:
    if not here:
        return _never(wish, kinds)
    if any(not choice.stay.covers for choice in here):
        return _("no more beds are free in its weeks")
    names = dict.fromkeys(
        quantities.cover(COVERS[use.kind].name)
        for choice in here
        for use in choice.stay.covers
    )
    why = (
        _(
            "it ripens here only under {covers}, and no more of that is free and wide "
            "enough in its weeks"
        )
        if has.hands is None
        else _(
            "it ripens here only under {covers}, and no more of that is free and wide "
            "enough in its weeks or no more hands in the morning"
        )
    )
    return why.format(covers=either(list(names)))


def _never(wish: Wish, kinds: Sequence[BedClass]) -> str:
    start = min(np.ceil(kind.early[wish.number].min()) for kind in kinds)
    last = max(np.ceil(kind.late[wish.number].max()) - 1 for kind in kinds)
    if not np.isfinite(start):
        return _("it is not warm enough for it in any usual year")
    last = min(last, DAYS)
    return plural(
        "at most {number} day lies between its first and its last, and it wants more",
        "at most {number} days lie between its first and its last, and it wants more",
        round(max(last - start, 0)),
    )


def either(names: Sequence[str]) -> str:
    """Names as a choice.

    Examples
    --------
    >>> either(["film"]), either(["film", "fabric"])
    ('film', 'film or fabric')
    """
    if len(names) < 2:
        return "".join(names)
    return _("{most} or {last}").format(most=", ".join(names[:-1]), last=names[-1])


def remarks(
    site: Site,
    turns: Sequence[Turn],
    choices: Sequence[Choice],
    wishes: Sequence[Wish],
    beds: Sequence[RankedBed],
) -> Iterator[str]:
    """What was taken, and what could not be kept to."""
    yield _(CAUTION)
    possible = {choice.wish for choice in choices}
    again = [
        _(wish.crop.name)
        for at, wish in enumerate(wishes)
        if wish.is_again and at in possible
    ]
    if again:
        yield _(
            "A second sowing for autumn was thought of for {crops}, where beds and weeks "
            'allow; seasons = ["spring"] under [[crops]] leaves it out.'
        ).format(crops=quantities.listed(again))
    open_ended = [_(each.name) for each in site.settings.crops if each.beds is None]
    if open_ended:
        yield _(
            "{crops}: you did not say how many beds, so what the other crops leave was "
            "shared."
        ).format(crops=quantities.started(quantities.listed(open_ended)))
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
        yield _(
            "{crop} stands on {beds} for all that {family} stood there last year: no "
            "other bed was free for it in its weeks."
        ).format(crop=quantities.started(_(crop)), beds=_named(names), family=family)
    unknown = dict.fromkeys(each.crop for each in site.last_year if not each.family)
    if unknown:
        yield _(
            "The family of {crops} is not known; beds that bore it last year are taken "
            "as free for any crop."
        ).format(crops=quantities.listed([_(crop) for crop in unknown]))


def _after_itself(turns: Sequence[Turn], wishes: Sequence[Wish]) -> Iterator[str]:
    """Families that follow themselves within the year."""
    families = {wish.crop.name: wish.family for wish in wishes if wish.family}
    found: dict[tuple[str, str], list[str]] = {}
    for before, after in itertools.pairwise(turns):
        same = families.get(before.crop, "") == families.get(after.crop)
        if before.bed == after.bed and same:
            found.setdefault((after.crop, before.crop), []).append(after.bed)
    for (after_crop, before_crop), names in found.items():
        yield _(
            "{after} follows {before} on {beds} within the year, both of one family; "
            "change beds if you can."
        ).format(
            after=quantities.started(_(after_crop)),
            before=_(before_crop),
            beds=_named(names),
        )


def _strangers(site: Site, beds: Sequence[RankedBed]) -> Iterator[str]:
    known = {bed.bed.name.casefold() for bed in beds}
    strange = dict.fromkeys(
        each.bed for each in site.last_year if each.bed.casefold() not in known
    )
    if strange:
        said = (
            _(
                "{file} names {beds}, which is no bed of this plan: what stood there is "
                "left out."
            )
            if len(strange) == 1
            else _(
                "{file} names {beds}, which are no beds of this plan: what stood there "
                "is left out."
            )
        )
        yield said.format(
            file=site.settings.files.last_year, beds=_named(list(strange))
        )


def _named(names: Sequence[str]) -> str:
    if len(names) <= MOST_NAMED:
        return quantities.listed(names)
    return _("{beds} and {number} more").format(
        beds=", ".join(names[:MOST_NAMED]), number=len(names) - MOST_NAMED
    )
