"""What goes where, in sentences."""

from __future__ import annotations

import itertools
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from fieldmap.decide.crop_plan.growing_windows import AUTUMN
from fieldmap.model.season_year import WEEKS, monday_of, next_date, week_of
from fieldmap.show.text import names, quantities
from fieldmap.show.text.language import _, later, month_name, plural
from layers.cover import COVERS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from fieldmap.decide.crop_plan.model import CoverAccount, CoverUse, Turn, Turns
    from fieldmap.model.site import Site
    from fieldmap.show.text.quantities import Units

# Seasons after which a cover is often worn out (common practice, no source).
LASTS_YEARS = {
    "light_fabric": 2,
    "medium_fabric": 3,
    "heavy_fabric": 4,
    "slitted_film": 1,
    "clear_film": 3,
    "shade_30": 8,
    "shade_40": 8,
    "shade_50": 8,
}
EVERY_COVER = 4  # so many kinds at most are named in one sentence
BEGUN = {
    ("sow", False): later("Sow {crop} on {beds}{more}; last harvest by {day}."),
    ("sow", True): later(
        "Sow {crop} for autumn on {beds}{more}; last harvest by {day}."
    ),
    ("set out", False): later("Set out {crop} on {beds}{more}; last harvest by {day}."),
    ("set out", True): later(
        "Set out {crop} for autumn on {beds}{more}; last harvest by {day}."
    ),
}


class Week(NamedTuple):
    """What goes where in one week, from its Monday."""

    start: date
    sentences: tuple[str, ...]


def cover_name(kind: str) -> str:
    """A cover as it is called in a sentence."""
    return quantities.cover(COVERS[kind].name)


def of_bed(turns: Turns, bed: str) -> str:
    """What grows on a bed and when, and under what; empty where nothing does."""
    return " ".join(_stay(turns, turn) for turn in turns.by_bed.get(bed, ()))


def _stay(turns: Turns, turn: Turn) -> str:
    under = [
        _("{cover} {first} to {last}").format(
            cover=cover_name(use.kind),
            first=_day(turns, use.from_day),
            last=_day(turns, use.to_day),
        )
        for use in turn.covers
    ]
    said = (
        _("{crop} from {first} to {last}, under {covers}.")
        if under
        else _("{crop} from {first} to {last}.")
    )
    return said.format(
        crop=quantities.started(_(turn.crop)),
        first=_day(turns, turn.from_day),
        last=_day(turns, turn.to_day),
        covers=quantities.listed(under),
    )


def _day(turns: Turns, day: int) -> str:
    return quantities.day(*turns.month_day(day))


# ------------------------------------------------------------------ week by week
def weeks(
    turns: Turns, order: Sequence[str], starts: Mapping[str, str], today: date
) -> tuple[Week, ...]:
    """Turns by the week in which they begin, over twelve months from a day's week.

    Parameters
    ----------
    order
        Names of all beds, neighbours beside each other.
    starts
        By crop: "sow" or "set out".
    """
    monday = monday_of(today)
    found: dict[date, list[str]] = {}
    for day, sentence in _events(turns, order, starts):
        when = next_date(turns.month_day(day), monday)
        found.setdefault(monday_of(when), []).append(sentence)
    return tuple(Week(start, tuple(found[start])) for start in sorted(found))


def _events(
    turns: Turns, order: Sequence[str], starts: Mapping[str, str]
) -> Iterator[tuple[int, str]]:
    """Crops that go on beds, and covers that come over them later, with their days."""
    before = {
        id(after): first.crop
        for each in turns.by_bed.values()
        for first, after in itertools.pairwise(each)
    }
    groups: dict[tuple[object, ...], list[Turn]] = {}
    for turn in turns.turns:
        covers = tuple(
            (use.kind, week_of(use.from_day), week_of(use.to_day))
            for use in turn.covers
        )
        key = (
            week_of(turn.from_day),
            turn.crop,
            turn.season,
            week_of(turn.to_day),
            covers,
            before.get(id(turn), ""),
        )
        groups.setdefault(key, []).append(turn)
    for same in groups.values():
        first = same[0]
        where = names.runs_of_beds([turn.bed for turn in same], order)
        early = [use for use in first.covers if use.from_day <= first.from_day]
        follows = before.get(id(first), "")
        begun = BEGUN[starts.get(first.crop, "set out"), first.season == AUTUMN]
        after = _(", after {crop}").format(crop=_(follows)) if follows else ""
        yield (
            first.from_day,
            _(begun).format(
                crop=_(first.crop),
                beds=where,
                more=after + "".join(_under(turns, use) for use in early),
                day=_day(turns, max(turn.to_day for turn in same)),
            ),
        )
        for at, use in enumerate(first.covers):
            if use not in early:
                last = max(turn.covers[at].to_day for turn in same)
                yield (
                    use.from_day,
                    _("{cover} over {crop} on {beds}, until {day}.").format(
                        cover=quantities.started(cover_name(use.kind)),
                        crop=_(first.crop),
                        beds=where,
                        day=_day(turns, last),
                    ),
                )


def _under(turns: Turns, use: CoverUse) -> str:
    return _(", under {cover} until {day}").format(
        cover=cover_name(use.kind), day=_day(turns, use.to_day)
    )


# ------------------------------------------------------------------ covers and hands
def accounts(site: Site, turns: Turns) -> Iterator[str]:
    """What each cover does, what to buy first, and what hands it takes."""
    units = site.settings.units
    for account in turns.covers:
        if account.owned_m:
            yield _account(account, units)
    first = sorted(
        (account for account in turns.covers if account.buy_m),
        key=lambda account: -account.buy_days_per_metre,
    )
    if first:
        gaps = _(", then ").join(_gap(each, units) for each in first[:EVERY_COVER])
        yield _("More would help. First {covers}.").format(covers=gaps)
    yield from _worn(site)
    yield from _hands(turns)


def _account(account: CoverAccount, units: Units) -> str:
    own = (
        _(
            "{cover}: you own {length}, of which {narrow} is too narrow for hoops over "
            "these beds"
        )
        if account.too_narrow_m
        else _("{cover}: you own {length}")
    ).format(
        cover=quantities.started(cover_name(account.kind)),
        length=quantities.length(account.owned_m, units),
        narrow=quantities.length(account.too_narrow_m, units),
    )
    if not account.most_used_m:
        return _("{own}. None of it has work in this plan.").format(own=own)
    return _("{own}; at most {used} lies out at once, and {wins}.").format(
        own=own,
        used=quantities.length(account.most_used_m, units),
        wins=_per_metre(account.days_per_metre, units),
    )


def _per_metre(days: float, units: Units) -> str:
    if units == "us":
        return plural(
            "each 10 ft of it wins {number} day of season for as much bed through the "
            "year",
            "each 10 ft of it wins {number} days of season for as much bed through the "
            "year",
            round(days),
        )
    return plural(
        "each metre of it wins {number} day of season for as much bed through the year",
        "each metre of it wins {number} days of season for as much bed through the year",
        round(days),
    )


def _gap(account: CoverAccount, units: Units) -> str:
    return plural(
        "{cover}, up to {length} ({number} day on average)",
        "{cover}, up to {length} ({number} days on average)",
        round(account.buy_days_per_metre),
        cover=cover_name(account.kind),
        length=quantities.length(round(account.buy_m), units),
    )


def _worn(site: Site) -> Iterator[str]:
    for cover in site.settings.covers:
        lasts = LASTS_YEARS.get(cover.kind)
        if lasts is not None and cover.age_years and cover.age_years >= lasts:
            yield _(
                "Your {cover} is {years} years old: it often lasts {lasts} or so. Hold "
                "it up to the light before you count on it."
            ).format(
                cover=cover_name(cover.kind),
                years=f"{cover.age_years:g}",
                lasts=lasts,
            )


def _hands(turns: Turns) -> Iterator[str]:
    if not any(turns.minutes):
        return
    by_month: dict[int, float] = {}
    for week in range(WEEKS):
        month = turns.month_day(7 * week + 4)[0]
        by_month[month] = max(by_month.get(month, 0.0), turns.minutes[week])
    told = quantities.listed(
        [
            _("{minutes} in {month}").format(
                minutes=f"{minutes:.0f}", month=month_name(month)
            )
            for month, minutes in by_month.items()
            if minutes
        ]
    )
    said = (
        _(
            "Opening covers takes so many minutes on mornings of days that get too warm "
            "under them, at the most: {told}. Closing takes as long."
        )
        if turns.hands_minutes is None
        else _(
            "Opening covers takes so many minutes on mornings of days that get too warm "
            "under them, at the most: {told}. Closing takes as long. You have {minutes}, "
            "and no week asks for more."
        )
    )
    yield said.format(told=told, minutes=f"{turns.hands_minutes or 0:g}")
