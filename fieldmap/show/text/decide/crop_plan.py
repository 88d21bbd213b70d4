"""What goes where, what covers and hands do for it, and what found no bed, in words."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any, NamedTuple

from fieldmap.decide.crop_plan.growing_windows import SPRING, SUMMER
from fieldmap.decide.crop_plan.model import (
    BedPart,
    CoverUsage,
    CropPlan,
    GreenManure,
    Stay,
    following,
)
from fieldmap.model.crops import packaged_name
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import (
    DAYS,
    WEEKS,
    SeasonYear,
    monday_of,
    next_date,
    week_of,
)
from fieldmap.model.settings import Cover
from fieldmap.show.text import names
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import fill, say_all

STAYS = texts(__name__, "stays")
COVERS = texts(__name__, "covers")
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
# Parts of the year that need no other sentence.
ONE_SENTENCE = (SPRING, SUMMER)
EVERY_COVER = 4  # kinds that one sentence names at most


class Week(NamedTuple):
    """What goes where in one week, from its Monday."""

    start: date
    sentences: tuple[str, ...]


def about(crop_plan: CropPlan, owned: Sequence[Cover], units: Units) -> tuple[str, ...]:
    """What is sown for what is asked, what falls short, what covers and hands do.

    What the plan assumes comes last.

    Parameters
    ----------
    crop_plan
        Stays of crops, covers and work by week, with the facts about them.
    owned
        Covers that the grower has, with their age, to name those that are often worn
        out by then.
    units
        "metric" or "us", for lengths and harvests.

    Returns
    -------
    sentences
        Ready to print. Empty parts are left out.
    """
    return (
        *say_all(crop_plan.harvests, units),
        *say_all(crop_plan.short, units),
        *_covers(crop_plan.covers, owned, units),
        *_hands(crop_plan, units),
        *say_all(crop_plan.remarks, units),
    )


def of_bed(crop_plan: CropPlan, bed: str, units: Units) -> str:
    """What grows on a bed and when, and under what; empty where nothing does.

    Parameters
    ----------
    crop_plan
        Stays of crops and green manures on all beds.
    bed
        Name of the bed.
    units
        "metric" or "us", for the length of a part of a bed.
    """
    season = crop_plan.season
    there: list[Stay | GreenManure] = [*crop_plan.by_bed.get(bed, ())]
    there += crop_plan.green_by_bed.get(bed, ())
    return " ".join(
        _stay(each, season, units)
        if isinstance(each, Stay)
        else _green(each, season, units)
        for each in sorted(there, key=lambda each: each.from_day)
    )


def _green(green: GreenManure, season: SeasonYear, units: Units) -> str:
    stays_on = "green_into_next_year" if green.to_day > DAYS else "green_stays"
    return _of_stay(
        stays_on if green.to_day >= DAYS else "green",
        units,
        kind=_on_part(green.kind, green.part),
        first=season.month_day(green.from_day),
        last=season.month_day_of_any_year(green.to_day),
    )


def _stay(stay: Stay, season: SeasonYear, units: Units) -> str:
    under = [
        _of_stay(
            "cover_ahead" if use.from_day < stay.from_day else "cover",
            cover=use.kind,
            first=season.month_day(use.from_day),
            last=season.month_day(use.to_day),
        )
        for use in stay.covers
    ]
    key = "under_covers" if under else "bare"
    said = _of_stay(
        "into_next_year" if stay.to_day > DAYS else key,
        units,
        crop=_on_part(stay.crop, stay.part),
        first=season.month_day(stay.from_day),
        last=season.month_day_of_any_year(stay.to_day),
        covers=under,
    )
    if stay.slackens_day is None:
        return said
    return f"{said} {_of_stay('slackens', day=season.month_day(stay.slackens_day))}"


def _on_part(crop: str, part: BedPart | None) -> str | Fact:
    """A crop, and the metres of the bed that it stands on where that is not all."""
    if part is None:
        return crop
    return Fact(
        "crop_on_part", crop=crop, part_m=(float(part.start_m), float(part.end_m))
    )


def _of_stay(key: str, units: Units = "metric", /, **places: Any) -> str:
    """A text about a stay; few of them have anything that units could change."""
    return fill(STAYS[key], units, **places)


# ------------------------------------------------------------------ week by week
def weeks(
    crop_plan: CropPlan,
    order: Sequence[str],
    starts: Mapping[str, str],
    today: date,
    units: Units,
) -> tuple[Week, ...]:
    """Stays by the week in which they begin, over twelve months from a day's week.

    Parameters
    ----------
    crop_plan
        Stays of crops and green manures on all beds.
    order
        Names of beds, neighbours beside each other; those inside tunnels may be left out.
    starts
        By crop: "sow" or "set out".
    today
        Any day. The twelve months begin with the Monday of its week.
    units
        "metric" or "us", for the length of a part of a bed.
    """
    monday, season = monday_of(today), crop_plan.season
    found: dict[date, list[str]] = {}
    for follows, same in _alike(crop_plan):
        where = _where(same, order, units)
        start = starts.get(same[0].crop, "set out")
        for day, sentence in _work(same, where, start, follows, season):
            when = next_date(season.month_day(day), monday)
            found.setdefault(monday_of(when), []).append(sentence)
    for (kind, from_day, stays_on), same_green in _alike_green(crop_plan).items():
        when = next_date(season.month_day(from_day), monday)
        sentence = _of_stay(
            "sow_green_stays" if stays_on else "sow_green",
            kind=kind,
            beds=_where(same_green, order, units),
            day=season.month_day(max(each.to_day for each in same_green)),
        )
        found.setdefault(monday_of(when), []).append(sentence)
    return tuple(Week(start, tuple(found[start])) for start in sorted(found))


def _alike_green(
    crop_plan: CropPlan,
) -> dict[tuple[str, int, bool], list[GreenManure]]:
    """What is sown for the soil, by kind and day."""
    found: dict[tuple[str, int, bool], list[GreenManure]] = {}
    for each in crop_plan.green:
        key = each.kind, each.from_day, each.to_day >= DAYS
        found.setdefault(key, []).append(each)
    return found


def _alike(crop_plan: CropPlan) -> Iterator[tuple[str, list[Stay]]]:
    """Stays of one crop in the same weeks, and the crop that stood there before."""
    groups: dict[tuple[object, ...], tuple[str, list[Stay]]] = {}
    before = {id(after): first.crop for first, after in following(crop_plan.stays)}
    for stay in crop_plan.stays:
        spans = [(use.kind, use.from_day, use.to_day) for use in stay.covers]
        spans.append((stay.crop + stay.season, stay.from_day, stay.to_day))
        # What is sown for other weeks, or on a part of a bed, is said apart.
        apart = (stay.part is not None, stay.picked)
        weeks = tuple((of, week_of(first), week_of(last)) for of, first, last in spans)
        follows = before.get(id(stay), "")
        groups.setdefault((weeks, apart, follows), (follows, []))[1].append(stay)
    yield from groups.values()


def _where(
    same: Sequence[Stay | GreenManure], order: Sequence[str], units: Units
) -> str:
    """Whole beds, then parts of beds."""
    whole = [stay.bed for stay in same if stay.part is None]
    parts = [
        (stay.bed, float(stay.part.start_m), float(stay.part.end_m))
        for stay in same
        if stay.part is not None
    ]
    runs = names.beds_in_runs(whole, order)
    return names.few(names.on_beds(runs, parts, units, order))


def _plants(same: Sequence[Stay], start: str) -> str:
    """How many are set out, or how much seed is sown."""
    known = [stay.amounts for stay in same if stay.amounts is not None]
    if start != "sow":
        number = sum(each.plants for each in known)
        return _of_stay("plants", number=number) if number else ""
    number = sum(each.seeds for each in known if each.seeds is not None)
    crop, key = packaged_name(same[0].crop), "seeds"
    if names.start_word(crop, start) == "plant":
        key = crop if crop in STAYS else "pieces"
    return _of_stay(key, number=number) if number else ""


def _pick_days(same: Sequence[Stay]) -> tuple[int, int]:
    """First and last harvest of stays, within the days for which they are meant."""
    ripe = min(stay.harvest_day for stay in same)
    last = max(stay.to_day for stay in same)
    picked = same[0].picked
    return (
        (ripe, last) if picked is None else (max(ripe, picked[0]), min(last, picked[1]))
    )


def _work(
    same: Sequence[Stay], where: str, start: str, follows: str, season: SeasonYear
) -> Iterator[tuple[int, str]]:
    """A crop goes on beds, under covers that lie there already; others come later.

    Each on the first day of any of its beds, as in the list of jobs.
    """
    first = same[0]
    more = _plants(same, start)
    more += _of_stay("after", crop=names.crop(follows)) if follows else ""
    later = []
    for at, use in enumerate(first.covers):
        if use.from_day <= first.from_day:
            until = season.month_day(use.to_day)
            more += _of_stay("under", cover=use.kind, day=until)
        else:
            last = season.month_day(max(stay.covers[at].to_day for stay in same))
            crop = names.crop(first.crop)
            places = {"cover": use.kind, "crop": crop, "beds": where, "day": last}
            begins = min(stay.covers[at].from_day for stay in same)
            later.append((begins, _of_stay("later_cover", **places)))
    start = names.start_word(first.crop, start)
    key = start if first.season in ONE_SENTENCE else f"{first.season} {start}"
    days = {
        name: season.month_day_of_any_year(day)
        for name, day in zip(("ripe_day", "day"), _pick_days(same), strict=True)
    }
    begun = _of_stay(key, crop=names.crop(first.crop), beds=where, more=more, **days)
    yield min(stay.from_day for stay in same), begun
    yield from later


# ------------------------------------------------------------------ covers and hands
def _covers(
    covers: Sequence[CoverUsage], owned: Sequence[Cover], units: Units
) -> Iterator[str]:
    """What each cover does, what to buy first, and which are worn."""
    yield from (_usage(each, units) for each in covers if each.owned_m)
    gaps = [
        fill(
            COVERS["gap"],
            units,
            cover=usage.kind,
            length_m=float(round(usage.buy_m)),
            number=round(usage.buy_days_per_metre),
        )
        for usage in sorted(covers, key=lambda usage: -usage.buy_days_per_metre)
        if usage.buy_m
    ]
    if gaps:
        yield fill(
            COVERS["more"], units, covers=_(" Then buy ").join(gaps[:EVERY_COVER])
        )
    for cover in owned:
        lasts, years = LASTS_YEARS.get(cover.kind), cover.age_years
        if lasts is not None and years and years >= lasts:
            yield fill(
                COVERS["worn"],
                units,
                cover=cover.kind,
                number=round(years),
                lasts=lasts,
            )


def _usage(usage: CoverUsage, units: Units) -> str:
    key = "own"
    if usage.too_narrow_m:
        is_all = usage.too_narrow_m >= usage.owned_m
        key = "own_all_too_narrow" if is_all else "own_too_narrow"
    own = fill(
        COVERS[key],
        units,
        cover=usage.kind,
        length_m=usage.owned_m,
        narrow_m=usage.too_narrow_m,
    )
    if not usage.most_used_m:
        return fill(COVERS["no_work"], units, own=own)
    wins = fill(COVERS[f"wins_{units}"], units, number=round(usage.days_per_metre))
    return fill(COVERS["used"], units, own=own, used_m=usage.most_used_m, wins=wins)


def _hands(crop_plan: CropPlan, units: Units) -> Iterator[str]:
    if not any(crop_plan.minutes):
        return
    most: dict[int, float] = {}
    for week in range(WEEKS):
        month = crop_plan.month_day(7 * week + 4)[0]
        most[month] = max(most.get(month, 0.0), crop_plan.minutes[week])
    by_month = [
        fill(COVERS["in_month"], units, minutes=minutes, month=month)
        for month, minutes in most.items()
        if minutes
    ]
    hands = crop_plan.hands_minutes
    key = "opening" if hands is None else "opening_with_hands"
    yield fill(COVERS[key], units, by_month=by_month, minutes=hands)
