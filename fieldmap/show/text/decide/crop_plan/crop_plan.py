"""What goes where, in sentences."""

import itertools
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import NamedTuple

from fieldmap.decide.crop_plan.growing_windows import AUTUMN
from fieldmap.decide.crop_plan.model import CoverUse, CropPlan, Stay
from fieldmap.model.season_year import SeasonYear, monday_of, next_date, week_of
from fieldmap.model.settings import Cover
from fieldmap.show.text import names, quantities
from fieldmap.show.text.decide.crop_plan.cover_use import covers_and_hands
from fieldmap.show.text.language import _, later
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import say_all

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


def about(crop_plan: CropPlan, owned: Sequence[Cover], units: Units) -> tuple[str, ...]:
    """What falls short, what covers and hands do, and what was assumed."""
    return (
        *say_all(crop_plan.short, units),
        *covers_and_hands(crop_plan, owned, units),
        *say_all(crop_plan.remarks, units),
    )


def of_bed(crop_plan: CropPlan, bed: str) -> str:
    """What grows on a bed and when, and under what; empty where nothing does."""
    stays = crop_plan.by_bed.get(bed, ())
    return " ".join(_stay(stay, crop_plan.season) for stay in stays)


def _stay(stay: Stay, season: SeasonYear) -> str:
    under = [
        _("{cover} {first} to {last}").format(
            cover=names.cover_name(use.kind),
            first=_day(use.from_day, season),
            last=_day(use.to_day, season),
        )
        for use in stay.covers
    ]
    said = (
        _("{crop} from {first} to {last}, under {covers}.")
        if under
        else _("{crop} from {first} to {last}.")
    )
    return said.format(
        crop=names.started(_(stay.crop)),
        first=_day(stay.from_day, season),
        last=_day(stay.to_day, season),
        covers=names.listed(under),
    )


def _day(day: int, season: SeasonYear) -> str:
    return quantities.day(*season.month_day(day))


# ------------------------------------------------------------------ week by week
def weeks(
    crop_plan: CropPlan, order: Sequence[str], starts: Mapping[str, str], today: date
) -> tuple[Week, ...]:
    """Stays by the week in which they begin, over twelve months from a day's week.

    Parameters
    ----------
    order
        Names of all beds, neighbours beside each other.
    starts
        By crop: "sow" or "set out".
    """
    monday, season = monday_of(today), crop_plan.season
    found: dict[date, list[str]] = {}
    for follows, same in _alike(crop_plan):
        where = names.runs_of_beds([stay.bed for stay in same], order)
        start = starts.get(same[0].crop, "set out")
        for day, sentence in (
            _begun(same, where, start, follows, season),
            *_later_covers(same, where, season),
        ):
            when = next_date(season.month_day(day), monday)
            found.setdefault(monday_of(when), []).append(sentence)
    return tuple(Week(start, tuple(found[start])) for start in sorted(found))


def _alike(crop_plan: CropPlan) -> Iterator[tuple[str, list[Stay]]]:
    """Stays of one crop in the same weeks, and the crop that stood there before."""
    groups: dict[tuple[object, ...], tuple[str, list[Stay]]] = {}
    before = {
        id(after): first.crop
        for each in crop_plan.by_bed.values()
        for first, after in itertools.pairwise(each)
    }
    for stay in crop_plan.stays:
        spans = [(use.kind, use.from_day, use.to_day) for use in stay.covers]
        spans.append((stay.crop + stay.season, stay.from_day, stay.to_day))
        weeks = tuple((of, week_of(first), week_of(last)) for of, first, last in spans)
        follows = before.get(id(stay), "")
        groups.setdefault((weeks, follows), (follows, []))[1].append(stay)
    yield from groups.values()


def _begun(
    same: Sequence[Stay], where: str, start: str, follows: str, season: SeasonYear
) -> tuple[int, str]:
    """A crop goes on beds, under the covers that lie there already."""
    first = same[0]
    early = [use for use in first.covers if use.from_day <= first.from_day]
    after = _(", after {crop}").format(crop=_(follows)) if follows else ""
    sentence = _(BEGUN[start, first.season == AUTUMN]).format(
        crop=_(first.crop),
        beds=where,
        more=after + "".join(_under(use, season) for use in early),
        day=_day(max(stay.to_day for stay in same), season),
    )
    return first.from_day, sentence


def _under(use: CoverUse, season: SeasonYear) -> str:
    return _(", under {cover} until {day}").format(
        cover=names.cover_name(use.kind), day=_day(use.to_day, season)
    )


def _later_covers(
    same: Sequence[Stay], where: str, season: SeasonYear
) -> Iterator[tuple[int, str]]:
    """Covers that come over a crop once it stands."""
    first = same[0]
    for at, use in enumerate(first.covers):
        if use.from_day > first.from_day:
            sentence = _("{cover} over {crop} on {beds}, until {day}.").format(
                cover=names.started(names.cover_name(use.kind)),
                crop=_(first.crop),
                beds=where,
                day=_day(max(stay.covers[at].to_day for stay in same), season),
            )
            yield use.from_day, sentence
