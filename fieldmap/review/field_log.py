"""A finished plan beside the field log: plantings, last days and lows of a season."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

import numpy as np
import pandas as pd

from fieldmap.analyse import climatology, relief
from fieldmap.decide.calendar import bed_temperatures
from fieldmap.decide.calendar.bed_temperatures import StationAir
from fieldmap.decide.calendar.planting_dates import Dates
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.field_log import Happened
from fieldmap.model.season_year import nearest_date
from fieldmap.plan import Plan
from layers.nights import MIXED, STILL

# A loss to frost after more days than this is one of autumn's (a choice).
LOSS_DAYS = 90
LEAST_LOWS = 5  # from which a mean difference is shown (a choice)


class DateRange(NamedTuple):
    """A date that is not known exactly."""

    low: date
    central: date
    high: date


class Entry(NamedTuple):
    """One line of the field log and what the plan predicted of it.

    Attributes
    ----------
    predicted
        Dates, or a minimum [°C]; None where the plan has none.
    difference
        Days after the likely date, or °C above the likely low; None where none is
        predicted.
    is_within
        Whether it lies in the range.
    """

    logged: Happened
    predicted: DateRange | Estimate | None = None
    difference: float | None = None
    is_within: bool | None = None


@dataclass(frozen=True)
class Review:
    """Lines in the order of the log, and what they come to."""

    entries: tuple[Entry, ...]
    facts: tuple[Fact, ...]


@dataclass(frozen=True)
class PredictedLows:
    """Minima of beds from those of the station.

    Attributes
    ----------
    station_c
        By the day of the morning.
    still_days, mixed_days
        Those after clear calm nights, and after nights neither still nor windy.
    at_bed_c
        What the height of each bed adds to the station's.
    reference_c, offset_c
        On a clear calm night: of the reference of offsets against the station, and of
        each bed against the reference.
    mixed_share
        Of an offset that is left on a mixed night.
    """

    station_c: pd.Series[float]
    still_days: frozenset[date]
    mixed_days: frozenset[date]
    at_bed_c: Mapping[str, float]
    reference_c: Estimate
    offset_c: Mapping[str, Estimate]
    mixed_share: Estimate

    def on(self, bed: str, day: date) -> Estimate | None:
        """The low of a bed on a morning; None where the station has no reading."""
        station_c = self.station_c.get(np.datetime64(day, "ns"), np.nan)
        if np.isnan(station_c):
            return None
        if day not in self.still_days:
            low_c = float(station_c + self.at_bed_c[bed])
            if day not in self.mixed_days:  # a windy night leaves no offset
                return Estimate(low_c, low_c, low_c)
            left_c = relief.on_mixed_night(self.offset_c[bed], self.mixed_share)
            return left_c.map(lambda offset: low_c + offset)
        parts = zip(self.reference_c, self.offset_c[bed], strict=True)
        return Estimate(
            *(station_c + reference + offset for reference, offset in parts)
        )


def review(plan: Plan, log: Sequence[Happened]) -> Review:
    """Compare a grower's field log with the plan."""
    lows = _predicted_lows(plan)
    beds = [ranked.bed.name for ranked in plan.beds]
    entries = [
        _of_low(each, lows)
        if each.what == "low"
        else _of_day(each, plan.dates, beds.index(each.bed))
        for each in log
    ]
    facts = (
        *_plantings(entries, plan.dates.risks),
        *_last_days(entries),
        *_lows(entries),
        Fact("log_of_one_season"),
    )
    return Review(tuple(entries), facts)


def _predicted_lows(plan: Plan) -> PredictedLows:
    site, days = plan.site, plan.site.weather.days
    smooth_m = plan.analysis.terrain.smooth_m
    station = bed_temperatures.station_air(site, plan.means.middle_height_m)
    places = [ranked.bed.outline.centroid for ranked in plan.beds]
    height_m = smooth_m.interpolate([at.x for at in places], [at.y for at in places])
    added_c = station.by_height_c(height_m)
    names = [ranked.bed.name for ranked in plan.beds]
    kinds = climatology.kinds(days)
    return PredictedLows(
        station_c=days["tmin_c"],
        still_days=frozenset(days.index[kinds == STILL].date),
        mixed_days=frozenset(days.index[kinds == MIXED].date),
        at_bed_c=dict(zip(names, added_c.tolist(), strict=True)),
        reference_c=_reference_c(station),
        offset_c={ranked.bed.name: ranked.offset_c for ranked in plan.beds},
        mixed_share=relief.around_plots(site).mixed_share,
    )


def _reference_c(station: StationAir) -> Estimate:
    """The reference of offsets against the station on a clear calm night."""
    if station.bias_c is not None:  # the difference of heights lies within it
        return station.bias_c
    central = 0.0 if station.is_reference else station.middle_c
    return Estimate(central - station.allowed_c, central, central + station.allowed_c)


def _of_low(logged: Happened, lows: PredictedLows) -> Entry:
    predicted_c = lows.on(logged.bed, logged.day)
    if predicted_c is None or logged.low_c is None:
        return Entry(logged)
    return Entry(
        logged,
        predicted_c,
        round(logged.low_c - predicted_c.central, 1),
        predicted_c.low <= logged.low_c <= predicted_c.high,
    )


def _of_day(logged: Happened, dates: Dates, bed: int) -> Entry:
    days = None if logged.what == "lost" else _predicted_days(logged, dates, bed)
    if days is None:
        return Entry(logged)
    return Entry(
        logged,
        days,
        float((logged.day - days.central).days),
        days.low <= logged.day <= days.high,
    )


def _predicted_days(logged: Happened, dates: Dates, bed: int) -> DateRange | None:
    """Early dates of a planting or late ones, those nearest to when it happened."""
    crops = [crop.name for crop in dates.crops]
    if logged.crop not in crops:
        return None
    crop = crops.index(logged.crop)
    cover = dates.covers.index(logged.cover or "none")
    if logged.what == "planted":
        days = [
            dates.season.early_date(day) for day in dates.early_of(bed, crop, cover)
        ]
    else:
        days = [dates.season.late_date(day) for day in dates.late_of(bed, crop, cover)]
    # Dates of a plan have no year: the nearest to what happened is meant.
    found = [nearest_date(day, logged.day) for day in days if day is not None]
    return DateRange(*found) if len(found) == 3 else None


def _plantings(entries: Sequence[Entry], risks: Iterable[float]) -> Iterator[Fact]:
    """How plantings on and before the likely early date fared."""
    counts: Counter[tuple[bool, bool]] = Counter()
    for each in entries:
        if each.logged.what == "planted" and each.difference is not None:
            counts[each.difference >= 0, _was_lost(each.logged, entries)] += 1
    for waited, kind in ((True, "log_planted_after"), (False, "log_planted_before")):
        whole = counts[waited, True] + counts[waited, False]
        if whole:
            yield Fact(kind, count=whole, lost=counts[waited, True])
    if counts:
        yield Fact("log_odds", odds=sorted(set(risks)))


def _was_lost(planted: Happened, entries: Iterable[Entry]) -> bool:
    return any(
        other.what == "lost"
        and (other.bed, other.crop) == (planted.bed, planted.crop)
        and planted.day <= other.day <= planted.day + timedelta(LOSS_DAYS)
        for other, *_rest in entries
    )


def _last_days(entries: Iterable[Entry]) -> Iterator[Fact]:
    held = _differences(entries, "held")
    if held:
        longer = sum(days >= 0 for days in held)
        yield Fact("log_held", count=longer, all=len(held))


def _lows(entries: Iterable[Entry]) -> Iterator[Fact]:
    lows = [each for each in entries if each.logged.what == "low"]
    differences_c = _differences(lows, "low")
    known = len(differences_c)
    if known < len(lows):
        yield Fact("log_lows_unknown", count=len(lows) - known, all=len(lows))
    if known:
        within = sum(bool(each.is_within) for each in lows)
        yield Fact("log_lows_within", count=within, all=known)
    if known >= LEAST_LOWS:
        yield Fact("log_lows_mean", difference_c=float(np.mean(differences_c)))


def _differences(entries: Iterable[Entry], what: str) -> list[float]:
    return [
        each.difference
        for each in entries
        if each.logged.what == what and each.difference is not None
    ]
