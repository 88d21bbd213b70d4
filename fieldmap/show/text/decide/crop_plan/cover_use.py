"""What covers do through the year, what to buy first, and what hands it takes."""

from collections.abc import Iterator, Sequence

from fieldmap.decide.crop_plan.model import CoverUsage, CropPlan
from fieldmap.model.season_year import WEEKS
from fieldmap.model.settings import Cover
from fieldmap.show.text import names, quantities
from fieldmap.show.text.language import _, month_name, plural
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


def covers_and_hands(
    crop_plan: CropPlan, owned: Sequence[Cover], units: Units
) -> Iterator[str]:
    """What each cover does, what to buy first, and what hands it takes."""
    for usage in crop_plan.covers:
        if usage.owned_m:
            yield _usage(usage, units)
    first = sorted(
        (usage for usage in crop_plan.covers if usage.buy_m),
        key=lambda usage: -usage.buy_days_per_metre,
    )
    if first:
        gaps = _(", then ").join(_gap(each, units) for each in first[:EVERY_COVER])
        yield _("More would help. First {covers}.").format(covers=gaps)
    yield from _worn(owned)
    yield from _hands(crop_plan)


def _usage(usage: CoverUsage, units: Units) -> str:
    own = (
        _(
            "{cover}: you own {length}, of which {narrow} is too narrow for hoops over "
            "these beds"
        )
        if usage.too_narrow_m
        else _("{cover}: you own {length}")
    ).format(
        cover=names.started(names.cover_name(usage.kind)),
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
        cover=names.cover_name(usage.kind),
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
                cover=names.cover_name(cover.kind),
                years=f"{cover.age_years:g}",
                lasts=lasts,
            )


def _hands(crop_plan: CropPlan) -> Iterator[str]:
    if not any(crop_plan.minutes):
        return
    most: dict[int, float] = {}
    for week in range(WEEKS):
        month = crop_plan.month_day(7 * week + 4)[0]
        most[month] = max(most.get(month, 0.0), crop_plan.minutes[week])
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
        if crop_plan.hands_minutes is None
        else _(
            "Opening covers takes so many minutes on mornings of days that get too warm "
            "under them, at the most: {told}. Closing takes as long. You have {minutes}, "
            "and no week asks for more."
        )
    )
    yield said.format(
        told=names.listed(by_month), minutes=f"{crop_plan.hands_minutes or 0:g}"
    )
