"""What goes where, in sentences."""

from __future__ import annotations

import itertools
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from fieldmap.decide.crop_plan.growing_windows import AUTUMN
from fieldmap.model.season_year import WEEKS, monday_of, next_date, week_of
from fieldmap.show.text import names, quantities
from fieldmap.show.text.language import _, later, month_name, plural
from fieldmap.show.text.sentence import say, say_all
from layers.cover import COVERS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from fieldmap.decide.crop_plan.model import CoverUsage, CoverUse, CropPlan, Stay
    from fieldmap.model.fact import Fact
    from fieldmap.model.settings import Cover
    from fieldmap.show.text.quantities import Units
    from fieldmap.show.text.sentence import Sentence

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
    return names.cover(COVERS[kind].name)


def of_bed(plan: CropPlan, bed: str) -> str:
    """What grows on a bed and when, and under what; empty where nothing does."""
    return " ".join(_stay(plan, stay) for stay in plan.by_bed.get(bed, ()))


def _stay(plan: CropPlan, stay: Stay) -> str:
    under = [
        _("{cover} {first} to {last}").format(
            cover=cover_name(use.kind),
            first=_day(plan, use.from_day),
            last=_day(plan, use.to_day),
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
        first=_day(plan, stay.from_day),
        last=_day(plan, stay.to_day),
        covers=names.listed(under),
    )


def _day(plan: CropPlan, day: int) -> str:
    return quantities.day(*plan.month_day(day))


# ------------------------------------------------------------------ week by week
def weeks(
    plan: CropPlan, order: Sequence[str], starts: Mapping[str, str], today: date
) -> tuple[Week, ...]:
    """Stays by the week in which they begin, over twelve months from a day's week.

    Parameters
    ----------
    order
        Names of all beds, neighbours beside each other.
    starts
        By crop: "sow" or "set out".
    """
    monday = monday_of(today)
    found: dict[date, list[str]] = {}
    for day, sentence in _events(plan, order, starts):
        when = next_date(plan.month_day(day), monday)
        found.setdefault(monday_of(when), []).append(sentence)
    return tuple(Week(start, tuple(found[start])) for start in sorted(found))


def _events(
    plan: CropPlan, order: Sequence[str], starts: Mapping[str, str]
) -> Iterator[tuple[int, str]]:
    """Crops that go on beds, and covers that come over them later, with their days."""
    before = {
        id(after): first.crop
        for each in plan.by_bed.values()
        for first, after in itertools.pairwise(each)
    }
    groups: dict[tuple[object, ...], list[Stay]] = {}
    for stay in plan.stays:
        covers = tuple(
            (use.kind, week_of(use.from_day), week_of(use.to_day))
            for use in stay.covers
        )
        key = (
            week_of(stay.from_day),
            stay.crop,
            stay.season,
            week_of(stay.to_day),
            covers,
            before.get(id(stay), ""),
        )
        groups.setdefault(key, []).append(stay)
    for same in groups.values():
        first = same[0]
        where = names.runs_of_beds([stay.bed for stay in same], order)
        early = [use for use in first.covers if use.from_day <= first.from_day]
        follows = before.get(id(first), "")
        begun = BEGUN[starts.get(first.crop, "set out"), first.season == AUTUMN]
        after = _(", after {crop}").format(crop=_(follows)) if follows else ""
        yield (
            first.from_day,
            _(begun).format(
                crop=_(first.crop),
                beds=where,
                more=after + "".join(_under(plan, use) for use in early),
                day=_day(plan, max(stay.to_day for stay in same)),
            ),
        )
        for at, use in enumerate(first.covers):
            if use not in early:
                last = max(stay.covers[at].to_day for stay in same)
                yield (
                    use.from_day,
                    _("{cover} over {crop} on {beds}, until {day}.").format(
                        cover=names.started(cover_name(use.kind)),
                        crop=_(first.crop),
                        beds=where,
                        day=_day(plan, last),
                    ),
                )


def _under(plan: CropPlan, use: CoverUse) -> str:
    return _(", under {cover} until {day}").format(
        cover=cover_name(use.kind), day=_day(plan, use.to_day)
    )


# ------------------------------------------------------------------ covers and hands
def about(plan: CropPlan, owned: Sequence[Cover], units: Units) -> tuple[str, ...]:
    """What falls short, what covers and hands do, and what was assumed."""
    return (
        *say_all(plan.short, units),
        *covers_and_hands(plan, owned, units),
        *say_all(plan.remarks, units),
    )


def covers_and_hands(
    plan: CropPlan, owned: Sequence[Cover], units: Units
) -> Iterator[str]:
    """What each cover does, what to buy first, and what hands it takes."""
    for usage in plan.covers:
        if usage.owned_m:
            yield _usage(usage, units)
    first = sorted(
        (usage for usage in plan.covers if usage.buy_m),
        key=lambda usage: -usage.buy_days_per_metre,
    )
    if first:
        gaps = _(", then ").join(_gap(each, units) for each in first[:EVERY_COVER])
        yield _("More would help. First {covers}.").format(covers=gaps)
    yield from _worn(owned)
    yield from _hands(plan)


def _usage(usage: CoverUsage, units: Units) -> str:
    own = (
        _(
            "{cover}: you own {length}, of which {narrow} is too narrow for hoops over "
            "these beds"
        )
        if usage.too_narrow_m
        else _("{cover}: you own {length}")
    ).format(
        cover=names.started(cover_name(usage.kind)),
        length=quantities.length(usage.owned_m, units),
        narrow=quantities.length(usage.too_narrow_m, units),
    )
    if not usage.most_used_m:
        return _("{own}. None of it has work in this plan.").format(own=own)
    return _("{own}; at most {used} lies out at once, and {wins}.").format(
        own=own,
        used=quantities.length(usage.most_used_m, units),
        wins=_per_metre(usage.days_per_metre, units),
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


def _gap(usage: CoverUsage, units: Units) -> str:
    return plural(
        "{cover}, up to {length} ({number} day on average)",
        "{cover}, up to {length} ({number} days on average)",
        round(usage.buy_days_per_metre),
        cover=cover_name(usage.kind),
        length=quantities.length(round(usage.buy_m), units),
    )


def _worn(owned: Sequence[Cover]) -> Iterator[str]:
    for cover in owned:
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


def _hands(plan: CropPlan) -> Iterator[str]:
    if not any(plan.minutes):
        return
    most: dict[int, float] = {}
    for week in range(WEEKS):
        month = plan.month_day(7 * week + 4)[0]
        most[month] = max(most.get(month, 0.0), plan.minutes[week])
    by_month = [
        _("{minutes} in {month}").format(
            minutes=f"{minutes:.0f}", month=month_name(month)
        )
        for month, minutes in most.items()
        if minutes
    ]
    said = (
        _(
            "Opening covers takes so many minutes on mornings of days that get too warm "
            "under them, at the most: {told}. Closing takes as long."
        )
        if plan.hands_minutes is None
        else _(
            "Opening covers takes so many minutes on mornings of days that get too warm "
            "under them, at the most: {told}. Closing takes as long. You have {minutes}, "
            "and no week asks for more."
        )
    )
    yield said.format(
        told=names.listed(by_month), minutes=f"{plan.hands_minutes or 0:g}"
    )


# ------------------------------------------------------------------ what falls short
MOST_NAMED = 8


def _short(fact: Fact, units: Units) -> str:
    crop = _(fact["crop"])
    if fact["for_autumn"]:
        crop = _("{crop} for autumn").format(crop=crop)
    return plural(
        "{crop}: {got} of {number} bed, since {why}.",
        "{crop}: {got} of {number} beds, since {why}.",
        fact["wanted"],
        crop=names.started(crop),
        got=f"{fact['got']}",
        why=say(fact["why"], units),
    )


def either(choices: Sequence[str]) -> str:
    """Names as a choice.

    Examples
    --------
    >>> either(["film"]), either(["film", "fabric"])
    ('film', 'film or fabric')
    """
    if len(choices) < 2:
        return "".join(choices)
    return _("{most} or {last}").format(most=", ".join(choices[:-1]), last=choices[-1])


def _only_under(text: str) -> Sentence:
    return lambda fact, _units: _(text).format(
        covers=either(list(dict.fromkeys(map(cover_name, fact["covers"]))))
    )


def _of_crops(text: str, *, starts: bool = False) -> Sentence:
    def sentence(fact: Fact, _units: Units) -> str:
        crops = names.listed([_(crop) for crop in fact["crops"]])
        return _(text).format(crops=names.started(crops) if starts else crops)

    return sentence


def _some(beds: Sequence[str]) -> str:
    if len(beds) <= MOST_NAMED:
        return names.listed(beds)
    return _("{beds} and {number} more").format(
        beds=", ".join(beds[:MOST_NAMED]), number=len(beds) - MOST_NAMED
    )


def _same_family(fact: Fact, _units: Units) -> str:
    return _(
        "{crop} stands on {beds} for all that {family} stood there last year: no "
        "other bed was free for it in its weeks."
    ).format(
        crop=names.started(_(fact["crop"])),
        beds=_some(fact["beds"]),
        family=fact["family"],
    )


def _follows_itself(fact: Fact, _units: Units) -> str:
    return _(
        "{after} follows {before} on {beds} within the year, both of one family; "
        "change beds if you can."
    ).format(
        after=names.started(_(fact["after"])),
        before=_(fact["before"]),
        beds=_some(fact["beds"]),
    )


def _unknown_beds(fact: Fact, _units: Units) -> str:
    beds = fact["beds"]
    said = (
        _(
            "{file} names {beds}, which is no bed of this plan: what stood there is "
            "left out."
        )
        if len(beds) == 1
        else _(
            "{file} names {beds}, which are no beds of this plan: what stood there "
            "is left out."
        )
    )
    return said.format(file=fact["file"], beds=_some(beds))


SENTENCES: dict[str, Sentence] = {
    "no_crops_named": later(
        "What goes where is not told: name the crops you want under [[crops]] in "
        "site.toml, with the number of beds of each."
    ),
    "no_beds_for_crops": later("What goes where is not told: there are no beds."),
    "no_dates_for_crops": later(
        "What goes where is not told: it rests on dates, and the weather given tells "
        "none."
    ),
    "no_bed_dates_for_crops": later(
        "What goes where is not told: the dates of no bed are known."
    ),
    "crop_short": _short,
    "no_bed_free": later("no more beds are free in its weeks"),
    "no_cover_free": _only_under(
        later(
            "it ripens here only under {covers}, and no more of that is free and wide "
            "enough in its weeks"
        )
    ),
    "no_cover_or_hands_free": _only_under(
        later(
            "it ripens here only under {covers}, and no more of that is free and wide "
            "enough in its weeks or no more hands in the morning"
        )
    ),
    "never_warm_enough": later("it is not warm enough for it in any usual year"),
    "too_few_days": lambda fact, _units: plural(
        "at most {number} day lies between its first and its last, and it wants more",
        "at most {number} days lie between its first and its last, and it wants more",
        fact["days"],
    ),
    "crop_plan_caution": later(
        "What goes where is a proposal for a usual year. Dates in it are odds and no "
        "promise; go by the weather, by what is ripe, and by local advice first."
    ),
    "second_sowings": _of_crops(
        later(
            "A second sowing for autumn was thought of for {crops}, where beds and weeks "
            'allow; seasons = ["spring"] under [[crops]] leaves it out.'
        )
    ),
    "crops_share_beds": _of_crops(
        later(
            "{crops}: you did not say how many beds, so what the other crops leave was "
            "shared."
        ),
        starts=True,
    ),
    "same_family_again": _same_family,
    "families_unknown": _of_crops(
        later(
            "The family of {crops} is not known; beds that bore it last year are taken "
            "as free for any crop."
        )
    ),
    "family_follows_itself": _follows_itself,
    "beds_of_last_year_unknown": _unknown_beds,
}
