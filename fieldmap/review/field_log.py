"""What happened beside what was said: plantings, last days and lows of a season."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from fieldmap.analyse import climatology
from fieldmap.decide.calendar import bed_temperatures
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _, later

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from fieldmap.model.field_log import Happened
    from fieldmap.plan import Plan

# A loss to frost after more days than this is one of autumn's (a choice).
LOSS_DAYS = 90
LEAST_LOWS = 5  # from which a mean difference is told (a choice)
WAITED = later(
    "Planted on or after the day that was said: {count}; lost to frost: {lost}."
)
DID_NOT_WAIT = later(
    "Planted before the day that was said: {count}; lost to frost: {lost}."
)


class Row(NamedTuple):
    """One thing that happened and what the plan had said of it.

    Attributes
    ----------
    said
        Low, likely and high: dates, or temperatures [°C]; empty where the plan says
        nothing.
    difference
        Days after the likely date, or °C above the likely low; None where not told.
    within
        Whether it lies in the range; None where not told.
    """

    line: int
    day: date
    bed: str
    what: str
    crop: str
    cover: str
    read_c: float | None
    said: tuple[str | float, str | float, str | float]
    difference: float | None
    within: bool | None


@dataclass(frozen=True)
class Review:
    """Rows in the order of the book, and what they come to in plain sentences."""

    rows: tuple[Row, ...]
    sentences: tuple[str, ...]


def review(plan: Plan, book: Sequence[Happened]) -> Review:
    """Set a grower's book beside the plan."""
    rows = [_row(plan, each) for each in book]
    return Review(
        tuple(rows),
        (
            *_plantings(plan, book, rows),
            *_last_days(rows),
            *_lows(plan, rows),
            _(
                "One season is one throw of the dice: it neither proves nor disproves "
                "odds. Keep the book going."
            ),
        ),
    )


def _row(plan: Plan, each: Happened) -> Row:
    if each.what == "low":
        return _low_row(plan, each)
    said = None if each.what == "lost" else _said_days(plan, each)
    if said is None:
        return Row(*_facts(each), None, ("", "", ""), None, None)
    low, likely, high = said
    return Row(
        *_facts(each),
        None,
        (low.isoformat(), likely.isoformat(), high.isoformat()),
        float((each.day - likely).days),
        low <= each.day <= high,
    )


def _facts(each: Happened) -> tuple[int, date, str, str, str, str]:
    return each.line, each.day, each.bed, each.what, each.crop, each.cover


def _said_days(plan: Plan, each: Happened) -> tuple[date, date, date] | None:
    """Early dates of a planting or late ones, those nearest to when it happened."""
    dates = plan.dates
    bed = next(k for k, ranked in enumerate(plan.beds) if ranked.bed.name == each.bed)
    crop = next((k for k, one in enumerate(dates.crops) if one.name == each.crop), None)
    cover = dates.covers.index(each.cover or "none") if dates.covers else None
    if crop is None or cover is None:
        return None
    if each.what == "planted":
        days = [dates.from_day(day) for day in dates.early_of(bed, crop, cover)]
    else:
        days = [dates.to_day(day) for day in dates.late_of(bed, crop, cover)]
    found = [_nearest(each.day, day) for day in days if day is not None]
    return (found[0], found[1], found[2]) if len(found) == 3 else None


def _nearest(when: date, month_day: tuple[int, int]) -> date:
    """The day of the year that is nearest to a date; 29 February counts as the 28th."""
    month, day = month_day
    day = min(day, 28) if month == 2 else day
    years = (when.year - 1, when.year, when.year + 1)
    return min((date(year, month, day) for year in years), key=lambda d: abs(d - when))


def _plantings(
    plan: Plan, book: Sequence[Happened], rows: Sequence[Row]
) -> Iterable[str]:
    """How plantings on and before the said day fared."""
    counts: Counter[tuple[bool, bool]] = Counter()
    for each, row in zip(book, rows, strict=True):
        if each.what == "planted" and row.difference is not None:
            counts[row.difference >= 0, _was_lost(each, book)] += 1
    for waited, said in ((True, WAITED), (False, DID_NOT_WAIT)):
        whole = counts[waited, True] + counts[waited, False]
        if whole:
            yield _(said).format(count=whole, lost=counts[waited, True])
    if counts:
        risks = sorted(set(plan.dates.risks))
        yield _(
            "Said was a loss in {odds} for those that wait, by kind of crop."
        ).format(odds=quantities.listed([quantities.odds(risk) for risk in risks]))


def _was_lost(planted: Happened, book: Iterable[Happened]) -> bool:
    return any(
        each.what == "lost"
        and (each.bed, each.crop) == (planted.bed, planted.crop)
        and planted.day <= each.day <= planted.day + timedelta(LOSS_DAYS)
        for each in book
    )


def _last_days(rows: Iterable[Row]) -> Iterable[str]:
    ends = [
        row.difference
        for row in rows
        if row.what == "held" and row.difference is not None
    ]
    if ends:
        longer = sum(days >= 0 for days in ends)
        yield _(
            "Stood to the last day that was said, or longer: {count} of {all}."
        ).format(count=longer, all=len(ends))


def _low_row(plan: Plan, each: Happened) -> Row:
    said = _said_low(plan, each)
    if said is None or each.low_c is None:
        return Row(*_facts(each), each.low_c, ("", "", ""), None, None)
    low, likely, high = said
    return Row(
        *_facts(each),
        each.low_c,
        (round(low, 1), round(likely, 1), round(high, 1)),
        round(each.low_c - likely, 1),
        low <= each.low_c <= high,
    )


def _said_low(plan: Plan, each: Happened) -> tuple[float, float, float] | None:
    """What the bed's low should have been by the station's; None without a reading."""
    site, days = plan.site, plan.site.weather.days
    when = np.datetime64(each.day)
    at = int(np.searchsorted(days.index.to_numpy().astype("datetime64[D]"), when))
    if at >= len(days) or days.index[at].date() != each.day:
        return None
    station_c = float(days["tmin_c"].iloc[at])
    if np.isnan(station_c):
        return None
    ranked = next(one for one in plan.beds if one.bed.name == each.bed)
    middle_m = bed_temperatures.middle_height_m(site, plan.analysis.terrain.smooth_m)
    if not climatology.still_nights(days)[at]:
        place = ranked.bed.outline.centroid
        height_m = plan.analysis.terrain.smooth_m.interpolate([place.x], [place.y])
        added = float(bed_temperatures.by_height_c(site, height_m, middle_m)[0])
        return (station_c + added,) * 3
    added = float(bed_temperatures.by_height_c(site, np.array(middle_m), middle_m))
    spread = (
        bed_temperatures.SITE_BIAS_C if bed_temperatures.is_bias_unknown(site) else 0.0
    )
    low, likely, high = ranked.offset_c
    at_middle = station_c + added
    return at_middle + low - spread, at_middle + likely, at_middle + high + spread


def _lows(plan: Plan, rows: Iterable[Row]) -> Iterable[str]:
    units = plan.site.settings.units
    lows = [row for row in rows if row.what == "low"]
    told = [row for row in lows if row.difference is not None]
    if len(told) < len(lows):
        yield _(
            "{count} of {all} lows are of mornings that the weather record does not "
            "hold; add them to the record."
        ).format(count=len(lows) - len(told), all=len(lows))
    if told:
        within = sum(bool(row.within) for row in told)
        yield _("Lows within what was said: {count} of {all}.").format(
            count=within, all=len(told)
        )
    if len(told) >= LEAST_LOWS:
        mean_c = float(np.mean([row.difference for row in told if row.difference]))
        yield _("In the middle they ran {difference} than was likely.").format(
            difference=quantities.difference(mean_c, units)
        )
