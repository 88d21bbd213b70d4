"""When crops can go out on each bed, and how long they hold, at a stated risk.

Early is the later of frost, soil and nights warm enough; late is the frost of autumn.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from fieldmap.analyse.climatology import (
    FEWEST_YEARS,
    Record,
    StationOdds,
    read_record,
    station_odds,
)
from fieldmap.decide.calendar import bed_temperatures, light_limit, soil_warming
from fieldmap.decide.calendar import monte_carlo as draws_
from fieldmap.decide.calendar.bed_temperatures import (
    CLEAR_STEP_C,
    OTHER_STEP_C,
    in_steps,
)
from layers import odds, warmth

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from fieldmap.analyse.bed_means import BedMeans
    from fieldmap.decide.calendar.bed_temperatures import Shifts
    from fieldmap.decide.calendar.monte_carlo import Draws
    from fieldmap.decide.layout.beds import Bed
    from fieldmap.model.crops import Crop
    from fieldmap.model.season_year import SeasonYear
    from fieldmap.model.site import Site

    Floats = npt.NDArray[np.float64]
    Whole = npt.NDArray[np.intp]

WITHOUT_COVERS = ("light_fabric", "clear_film")  # told where no night cover is owned
STAND_IN_CLASSES = ("tender", "warm_loving")


class Span(NamedTuple):
    """A date as day numbers of the season-year; ∞ where it does not come."""

    low: float
    central: float
    high: float


@dataclass(frozen=True)
class Dates:
    """Early and late dates of every bed, crop and cover.

    Attributes
    ----------
    crops, covers
        In the order of the axes; the first cover is none. Empty where no dates are told.
    risks
        (crops,): share of years in which frost may take the crop.
    early, late
        (3, crops, covers, beds): 10th, 50th and 90th percentile of the draws, as day
        numbers of the season-year (see `layers.freeze`). +∞: not warm enough in any
        usual year, or no frost of autumn at this risk; NaN: not known.
    station
        For each crop, the station's own dates at its limit and risk.
    grows_until
        (crops, beds): first day of the second half-year on which the bed has too little
        light for the crop to grow; ∞ where there always is enough.
    last_sowing
        (3, crops, covers, beds): last day to sow, or to set out where the crop's growth
        is counted from there, for a harvest before frost and want of light; NaN where a
        season is too short. Low, central and high as `late`.
    early_draws, late_draws
        (beds, draws) of the crop that stands in for all, without a cover.
    nights_decide
        (beds, draws): its early date is that of frost or cool nights, and not of soil.
    soil_lag_days
        (beds,): days by which heavy or wet ground is taken to warm later.
    soil_seen_days
        (beds,): days by which it is taken to warm earlier, by what was seen there.
    stand_in
        Name of that crop.
    season
        The year of growing, in which days are numbered.
    remarks
        Plain sentences.
    """

    crops: tuple[Crop, ...]
    covers: tuple[str, ...]
    risks: tuple[float, ...]
    early: Floats
    late: Floats
    station: tuple[StationOdds, ...]
    grows_until: Floats
    last_sowing: Floats
    early_draws: Floats
    late_draws: Floats
    nights_decide: npt.NDArray[np.bool_]
    soil_lag_days: Floats
    soil_seen_days: Floats
    stand_in: str
    season: SeasonYear
    remarks: tuple[str, ...]

    @property
    def are_told(self) -> bool:
        """Whether there are any."""
        return bool(self.crops)

    def early_of(self, bed: int, crop: int, cover: int = 0) -> Span:
        """When a crop can go out on a bed."""
        return Span(*(float(day) for day in self.early[:, crop, cover, bed]))

    def late_of(self, bed: int, crop: int, cover: int = 0) -> Span:
        """Up to when a crop holds on a bed."""
        return Span(*(float(day) for day in self.late[:, crop, cover, bed]))


def how(crop: Crop) -> str:
    """Whether the date of a crop is one to set plants out or to sow."""
    return "sow" if crop.set_out_soil_c is None else "set out"


def reckon(site: Site, means: BedMeans, beds: Sequence[Bed]) -> Dates:
    """Early and late dates of all beds, for every crop of the site and every cover.

    Each seeded draw takes one run of the cold air, one rate, one worth of covers, one
    bias of the place and one resample of years for all beds.
    """
    record = read_record(site)
    if isinstance(record, str) or not beds:
        return _untold(site, beds, record)
    return reckon_on(site, means, beds, record, _drawn(record))


def _drawn(record: Record) -> Draws:
    return draws_.drawn(record.usable, again=record.fewest_known >= FEWEST_YEARS)


def _untold(site: Site, beds: Sequence[Bed], why: str | Record) -> Dates:
    nothing, none_drawn = np.empty((3, 0, 0, len(beds))), np.empty((len(beds), 0))
    return Dates(
        crops=(),
        covers=(),
        risks=(),
        early=nothing,
        late=nothing,
        station=(),
        grows_until=np.empty((0, len(beds))),
        last_sowing=nothing,
        early_draws=none_drawn,
        late_draws=none_drawn,
        nights_decide=none_drawn > 0,
        soil_lag_days=np.zeros(len(beds)),
        soil_seen_days=np.zeros(len(beds)),
        stand_in="",
        season=site.season,
        remarks=(why,) if isinstance(why, str) else (),
    )


def reckon_on(
    site: Site,
    means: BedMeans,
    beds: Sequence[Bed],
    record: Record,
    draws: Draws,
) -> Dates:
    """Dates on given draws."""
    covers = ("none", *_night_covers(site))
    shifts = bed_temperatures.of_beds(site, means, covers, draws)
    ground = soil_warming.of_beds(site, means, beds)
    stand_in = _stand_in(site)
    shape = (3, len(site.crops), len(covers), len(beds))
    early, late, last_sowing = np.empty(shape), np.empty(shape), np.empty(shape)
    grows_until = light_limit.grows_until(site, means, site.crops)
    kept: dict[str, Any] = {}
    for number, crop in enumerate(site.crops):
        risk = site.settings.risk.of(crop.crop_class.value)
        days = _days_of(record, shifts, ground, crop, risk, draws)
        early[:, number] = draws_.told(np.moveaxis(days.out, 0, -1))
        late[:, number] = draws_.told(np.moveaxis(days.autumn, 0, -1))
        ends = np.minimum(late[:, number], grows_until[number])
        last_sowing[:, number] = light_limit.last_sowing(record, crop, ends, risk)
        if number == stand_in:
            kept = {
                "early_draws": days.out[:, 0].T,
                "late_draws": days.autumn[:, 0].T,
                "nights_decide": (days.by_night[:, 0] >= days.out[:, 0]).T,
            }
    return Dates(
        crops=site.crops,
        covers=covers,
        risks=tuple(site.settings.risk.of(c.crop_class.value) for c in site.crops),
        early=early,
        late=late,
        station=tuple(
            station_odds(
                record, c.damage_c.value, site.settings.risk.of(c.crop_class.value)
            )
            for c in site.crops
        ),
        grows_until=grows_until,
        last_sowing=last_sowing,
        **kept,
        soil_lag_days=ground.lag_days,
        soil_seen_days=ground.seen_days,
        stand_in=site.crops[stand_in].name,
        season=site.season,
        remarks=(
            *bed_temperatures.remarks(site),
            *soil_warming.remarks(ground),
            *record.remarks(site.season, site.settings.units),
        ),
    )


def early_of_stand_in(site: Site, means: BedMeans, beds: Sequence[Bed]) -> Floats:
    """`Dates.early_draws` alone, on the same draws as `reckon`: (beds, draws).

    For ground as it might be; the site must be one whose dates are told.
    """
    record = read_record(site)
    if isinstance(record, str) or not beds:
        return _untold(site, beds, record).early_draws
    draws = _drawn(record)
    shifts = bed_temperatures.of_beds(site, means, ("none",), draws)
    ground = soil_warming.of_beds(site, means, beds)
    crop = site.crops[_stand_in(site)]
    risk = site.settings.risk.of(crop.crop_class.value)
    out: Floats = _days_of(record, shifts, ground, crop, risk, draws).out[:, 0].T
    return out


class _Days(NamedTuple):
    """Days of one crop, (draws, covers, beds).

    Attributes
    ----------
    by_night, out, autumn
        When nights let it out; when nights and soil do; the first freeze of autumn.
    """

    by_night: Floats
    out: Floats
    autumn: Floats


def _days_of(
    record: Record,
    shifts: Shifts,
    ground: soil_warming.Ground,
    crop: Crop,
    risk: float,
    draws: Draws,
) -> _Days:
    spring, autumn = _frost(record, shifts, crop, risk, draws)
    by_night = np.maximum(spring, _night_limit(record, shifts, crop, draws))
    out = np.maximum(by_night, _soil_days(record, shifts, ground, crop, draws))
    for days in (out, autumn):
        days[:, :, shifts.unknown] = np.nan
    return _Days(by_night, out, autumn)


def _stand_in(site: Site) -> int:
    """The crop that the grower named, the first tender or warm-loving, or the first."""
    if site.settings.ordering is not None:
        return site.settings.ordering
    tender = [crop.crop_class.value in STAND_IN_CLASSES for crop in site.crops]
    return tender.index(True) if True in tender else 0


def _night_covers(site: Site) -> tuple[str, ...]:
    """Kinds of cover that are owned and meant for nights, or two usual ones."""
    owned = dict.fromkeys(
        cover.kind
        for cover in site.settings.covers
        if not cover.kind.startswith("shade")
    )
    return tuple(owned) or WITHOUT_COVERS


# ------------------------------------------------------------------ frost
class _Freezes(NamedTuple):
    """Freezes of the nights of one kind at every shift that comes up.

    Attributes
    ----------
    taken_c
        Whole degrees that wind takes of them.
    """

    first_step: int
    taken_c: int
    last: Floats
    first: Floats

    @classmethod
    def at(
        cls,
        steps: Whole,
        limit_c: float,
        step_c: float,
        record: Record,
        taken_c: int | None = None,
    ) -> _Freezes:
        """Of nights of which wind takes so much; of those not clear and calm if None."""
        span = int(steps.min()), int(steps.max())
        limits_c = limit_c - _grid_c(span, step_c)
        if taken_c is None:
            found = record.other_freezes(limits_c)
        else:
            found = record.still_freezes(limits_c, taken_c)
        return cls(span[0], taken_c or 0, found.last, found.first)

    def years(self, steps: Whole) -> tuple[Floats, Floats]:
        """Last freezes of spring and first of autumn, (steps, years) each."""
        at = steps - self.first_step
        return self.last[at], self.first[at]


def _frost(
    record: Record, shifts: Shifts, crop: Crop, risk: float, draws: Draws
) -> tuple[Floats, Floats]:
    """Date after the last freeze of spring, and before the first of autumn.

    (draws, covers, beds) each. A year's last freeze is the latest one of its other
    nights and of its clear calm ones by what wind takes of them, and each of these
    depends on one shift alone.
    """
    clear_limit_c = crop.screen_damage_c.central
    other = _Freezes.at(shifts.other, crop.damage_c.value, OTHER_STEP_C, record)
    still = [
        _Freezes.at(shifts.reach, clear_limit_c, CLEAR_STEP_C, record, taken_c)
        for taken_c in record.clear_shares or {0: 0.0}
    ]
    known = record.known(clear_limit_c)
    shape = (*shifts.base.shape, len(shifts.height))
    spring, autumn = np.empty(shape), np.empty(shape)
    from_offset, from_other = int(shifts.offset.min()), int(shifts.other.min())
    offsets = int(shifts.offset.max()) - from_offset + 1
    others = int(shifts.other.max()) - from_other + 1
    covers = np.arange(shape[1])[:, np.newaxis]
    for draw, years in enumerate(draws.years):
        code = covers * offsets + shifts.offset[draw] - from_offset
        used, back = _used(code * others + shifts.other - from_other)
        clear, at_other = np.divmod(used, others)
        cover, offset = np.divmod(clear, offsets)
        last, first = other.years(at_other + from_other)
        for each in still:
            left = bed_temperatures.stirred(offset + from_offset, each.taken_c)
            later, sooner = each.years(shifts.base[draw, cover] + left)
            last, first = np.maximum(last, later), np.minimum(first, sooner)
        spring[draw] = _safe_after(last, known.springs, years, risk)[back]
        autumn[draw] = _safe_before(first, known.autumns, years, risk)[back]
    return spring, autumn


def _grid_c(span: tuple[int, int], step_c: float) -> Floats:
    """Shifts from the first to the last step; rounded, as records keep tenths."""
    return np.round(np.arange(span[0], span[1] + 1) * step_c, 2)


def _used(code: Whole) -> tuple[Whole, Whole]:
    """The distinct codes, and where each stands among them; quicker than sorting."""
    seen = np.zeros(int(code.max()) + 1, np.bool_)
    seen[code] = True
    place = np.cumsum(seen) - 1
    return np.flatnonzero(seen), place[code]


def _of_draw(
    dates: Floats, known: npt.NDArray[np.bool_], years: Whole
) -> tuple[Floats, bool]:
    """Dates of the known years of a draw, and whether they are enough for odds."""
    enough = int(known.sum()) >= FEWEST_YEARS
    taken = years[known[years]] if enough else np.flatnonzero(known)
    if enough and len(taken) < FEWEST_YEARS:
        taken = np.flatnonzero(known)
    return dates[:, taken], enough


def _safe_after(
    dates: Floats, known: npt.NDArray[np.bool_], years: Whole, risk: float
) -> Floats:
    """Date of the spring's last freeze at a risk; the safe side of few years."""
    yearly, enough = _of_draw(dates, known, years)
    if enough:
        return odds.safe_after(yearly, risk)
    return _of_few_years(yearly, risk)[1]


def _safe_before(
    dates: Floats, known: npt.NDArray[np.bool_], years: Whole, risk: float
) -> Floats:
    """Date of the autumn's first freeze at a risk; the safe side of few years."""
    yearly, enough = _of_draw(dates, known, years)
    if enough:
        return odds.safe_before(yearly, risk)
    return _of_few_years(yearly, risk)[0]


def _of_few_years(yearly: Floats, risk: float) -> tuple[Floats, Floats]:
    """Low and high of the next year's date; the years' own ends with a single freeze."""
    if yearly.shape[-1] < 2:
        return np.full(len(yearly), np.nan), np.full(len(yearly), np.nan)
    low, high = odds.few_years_range(yearly, risk)
    return (
        np.where(np.isnan(low), yearly.min(axis=-1), low),
        np.where(np.isnan(high), yearly.max(axis=-1), high),
    )


# ------------------------------------------------------------------ warmth
def _usual(dates: Floats, years: Whole) -> Floats:
    """Median of the dates of a draw's years that are known, (rows,)."""
    known = np.asarray(~np.isnan(dates).any(axis=0))
    taken = years[known[years]]
    if not len(taken):
        taken = np.flatnonzero(known)
    if not len(taken):
        return np.full(len(dates), np.nan)
    ordered = np.sort(dates[:, taken], axis=-1)
    middle = (len(taken) - 1) / 2
    return np.asarray((ordered[:, int(middle)] + ordered[:, int(np.ceil(middle))]) / 2)


def _soil_days(
    record: Record,
    shifts: Shifts,
    ground: soil_warming.Ground,
    crop: Crop,
    draws: Draws,
) -> Floats:
    """Day from which the soil is warm enough, (draws, 1, beds)."""
    least = crop.sow_soil_c if crop.set_out_soil_c is None else crop.set_out_soil_c
    assert least is not None
    first = int(shifts.height.min())
    grid_c = _grid_c((first, int(shifts.height.max())), OTHER_STEP_C)
    table = record.warm_from(least.value - grid_c, of="air")
    led = ground.days_led(_usual(table, record.usable)[shifts.height - first])
    follows = draws_.triangular(draws.soil, *warmth.SOIL_DAYS_PER_SUN_DAY)
    in_air = np.stack([_usual(table, years) for years in draws.years])
    days = in_air[:, shifts.height - first] - follows[:, np.newaxis] * led
    later = ground.lag_days - ground.seen_days
    return np.asarray((days + later)[:, np.newaxis, :])


def _night_limit(record: Record, shifts: Shifts, crop: Crop, draws: Draws) -> Floats:
    """Day from which the mean of night minima is warm enough, (draws, covers, beds)."""
    if crop.set_out_night_c is None:
        return np.full((1, 1, 1), -np.inf)
    # A mean of nights is shifted by the mean of the shifts of its nights.
    mean_c = np.stack(
        [shifts.mean_c(record.clear_shares, k) for k in range(len(draws.years))]
    )
    steps = in_steps(mean_c, CLEAR_STEP_C)
    first = int(steps.min())
    grid_c = _grid_c((first, int(steps.max())), CLEAR_STEP_C)
    table = record.warm_from(crop.set_out_night_c.value - grid_c, of="nights")
    return np.stack(
        [
            _usual(table, years)[at - first]
            for years, at in zip(draws.years, steps, strict=True)
        ]
    )
