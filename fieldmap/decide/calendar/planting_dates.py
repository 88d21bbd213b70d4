"""When crops can go out on each bed, and how long they hold, at a stated risk.

Early is the latest of frost, soil and nights warm enough, and of the day from which the
ground can be worked; late is the frost of autumn. Frost is judged by what is in the
ground: seed by the day on which it is seen, plants as they are set out, and in autumn
what bears, keeps in the soil or stands the winter. Limits are the middle of what their
sources give: the only margin is the risk that is taken.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from fieldmap.analyse import relief
from fieldmap.analyse.bed_means import BedMeans
from fieldmap.analyse.climatology import (
    FEWEST_YEARS,
    Record,
    StationOdds,
    read_record,
    station_odds,
)
from fieldmap.analyse.relief import Relief
from fieldmap.decide.calendar import (
    bed_temperatures,
    frost_dates,
    growth,
    light_limit,
    monte_carlo,
    published_rule,
    soil_warming,
    warm_dates,
)
from fieldmap.decide.calendar.bed_temperatures import Shifts, StationAir
from fieldmap.decide.calendar.monte_carlo import Draws
from fieldmap.decide.calendar.published_rule import Comparison
from fieldmap.decide.calendar.soil_warming import Ground
from fieldmap.decide.layout.beds import Bed
from fieldmap.model.crops import Crop, DamageTemperature
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import SeasonYear
from fieldmap.model.settings import Settings
from fieldmap.model.site import Site

Floats = npt.NDArray[np.float64]

WITHOUT_COVERS = ("light_fabric", "clear_film")  # shown where no night cover is owned
REFERENCE_CLASSES = ("tender", "warm_loving")


@dataclass(frozen=True, kw_only=True)
class Dates:
    """Early and late dates of every bed, crop and cover.

    Attributes
    ----------
    crops, covers
        In the order of the axes; the first cover is none. Empty where no dates are known.
    risks
        (crops,): share of years in which frost of spring may take the crop.
    autumn_risk
        Share of years in which frost of autumn comes before the late date.
    early, late
        (3, crops, covers, beds): 10th, 50th and 90th percentile of the draws, as day
        numbers of the season-year (see `SeasonYear`). +∞: not warm enough in any
        usual year, or no frost of autumn at this risk; NaN: not known.
    slackens
        (crops, covers, beds): first day on which a crop that bears until frost slackens,
        as usual night lows are under its limit; ∞ for never, NaN for other crops.
    winters
        (crops, covers, beds): share of winters that a crop left standing comes through,
        the hardy in leaf and others as what ends them in autumn; NaN where not known.
    station
        For each crop, the station's own dates at its limits and risks.
    published
        For each crop, the published rule beside our date; None where there is none.
    grows_until
        (crops, beds): first day of the second half-year on which the bed has too little
        light for the crop to grow; ∞ where there always is enough.
    last_sowing
        (3, crops, covers, beds): last day to sow, or to set out what is set out, for a
        harvest before frost and want of light; NaN where that would be before the early
        date. Low, central and high as `late`.
    early_draws, late_draws
        (beds, draws) of the crop that stands in for all, without a cover.
    nights_decide
        (beds, draws): its early date is that of frost or cool nights, and not of soil.
    soil_lag_days
        (beds,): days by which heavy or wet ground is taken to warm later.
    soil_seen_days
        (beds,): days by which it is taken to warm earlier, by what was seen there.
    reference_crop
        Name of that crop.
    season
        The year of growing, in which days are numbered.
    remarks
        What they rest on; why there are none.
    """

    crops: tuple[Crop, ...] = ()
    covers: tuple[str, ...] = ()
    risks: tuple[float, ...] = ()
    autumn_risk: float = 0.5
    early: Floats
    late: Floats
    slackens: Floats
    winters: Floats
    station: tuple[StationOdds, ...] = ()
    published: tuple[Comparison | None, ...] = ()
    grows_until: Floats
    last_sowing: Floats
    early_draws: Floats
    late_draws: Floats
    nights_decide: npt.NDArray[np.bool_]
    soil_lag_days: Floats
    soil_seen_days: Floats
    reference_crop: str = ""
    season: SeasonYear
    remarks: tuple[Fact, ...]

    @property
    def known(self) -> bool:
        """Whether there are any."""
        return bool(self.crops)

    def early_of(self, bed: int, crop: int, cover: int = 0) -> Estimate:
        """Day of the season-year from which a crop can go out on a bed.

        Parameters
        ----------
        bed
            Number of the bed, its place on the last axis of `early`.
        crop
            Number of the crop in `crops`.
        cover
            Number of the cover in `covers`; 0 is none.
        """
        return Estimate(*(float(day) for day in self.early[:, crop, cover, bed]))

    def late_of(self, bed: int, crop: int, cover: int = 0) -> Estimate:
        """Day of the season-year up to which a crop holds on a bed.

        Parameters
        ----------
        bed
            Number of the bed, its place on the last axis of `late`.
        crop
            Number of the crop in `crops`.
        cover
            Number of the cover in `covers`; 0 is none.
        """
        return Estimate(*(float(day) for day in self.late[:, crop, cover, bed]))


def how(crop: Crop) -> str:
    """Whether the date of a crop is one to set plants out or to sow."""
    return "set out" if crop.is_set_out else "sow"


def compute(
    site: Site,
    means: BedMeans,
    beds: Sequence[Bed],
    draws: Draws | None = None,
    *,
    covers: Sequence[str] = (),
    light: Floats | float = 1.0,
) -> Dates:
    """Early and late dates of all beds, for every crop of the site and every cover.

    Each seeded draw takes one run of the cold air, one rate, one worth of covers, one
    bias of the place, one field of what terrain does not tell, one share for mixed nights
    and one resample of years, and of their nights, for all beds.

    Parameters
    ----------
    site
        The site: weather record, crops, covers, risks, plots and what was seen there.
    means
        What its beds get of the computed ground, in the order of `beds`.
    beds
        Beds to compute dates for; without beds there are no dates.
    draws
        Draws of what is not known, to compute the dates on these; None to sample them.
    covers
        Kinds of cover to compute, none first, in the names of `layers.cover`; empty for
        none and those of the site.
    light
        Share of the beds' light that comes to the plants, 0-1: (beds,) or one for all.

    Returns
    -------
    Dates
        Without crops and with a remark that says why where the record gives no dates.
    """
    covers = tuple(covers) or (
        "none",
        *_night_covers(cover.kind for cover in site.settings.covers),
    )
    climate = _climate(site, means, beds, covers, draws)
    if not isinstance(climate, _Climate):
        return _no_dates(len(beds), site.season, climate)
    plantings = _plantings(site.crops, site.settings)
    reference = _reference_crop(site.settings.ordering, site.crops)
    reaching = means.sun_mj_m2_day * light
    grows_until = light_limit.grows_until(site.season, reaching, site.crops)
    early, of_reference = climate.early(plantings, reference)
    late, late_draws = climate.late(plantings, reference)
    # Beside the rule, as it is at the station: no bed, cover or draw is in it.
    published = tuple(_published(climate.record, each) for each in plantings)
    return Dates(
        crops=site.crops,
        covers=covers,
        risks=tuple(each.risk for each in plantings),
        autumn_risk=site.settings.risk.autumn,
        early=early,
        late=late,
        slackens=np.stack([climate.slackens(crop) for crop in site.crops]),
        winters=np.stack([climate.winters(crop) for crop in site.crops]),
        station=tuple(_station_odds(climate.record, each) for each in plantings),
        published=published,
        grows_until=grows_until,
        last_sowing=_last_sowings(climate.record, plantings, early, late, grows_until),
        early_draws=of_reference.out[:, 0].T,
        late_draws=late_draws[:, 0].T,
        nights_decide=(of_reference.by_night[:, 0] >= of_reference.out[:, 0]).T,
        soil_lag_days=climate.ground.lag_days,
        soil_seen_days=climate.ground.seen_days,
        reference_crop=site.crops[reference].name,
        season=site.season,
        remarks=(
            *climate.station.remarks(),
            *soil_warming.remarks(climate.ground),
            *climate.record.remarks(site.season),
            *climate.around.remarks(),
            *_asked(climate.ground),
            *published_rule.far_from_rule(published, site.season),
        ),
    )


def _asked(ground: Ground) -> list[Fact]:
    """What the grower knows and was not given: from when ground can be worked."""
    is_known = np.isfinite(ground.worked_from).all()
    return [] if is_known else [Fact("dates_first_worked_unknown")]


def _plantings(crops: Sequence[Crop], settings: Settings) -> list[_Planting]:
    """How each crop of a site is begun, and at which risks."""
    risk = settings.risk
    # Without a crop named, one stands in for each class, and nobody said how it is raised.
    soft = [each.transplants == "soft" for each in settings.crops]
    return [
        _Planting(crop, risk.of(crop.crop_class.value), risk.autumn, is_soft)
        for crop, is_soft in zip(crops, soft or [False] * len(crops), strict=True)
    ]


def _last_sowings(
    record: Record,
    plantings: Sequence[_Planting],
    early: Floats,
    late: Floats,
    grows_until: Floats,
) -> Floats:
    """As `Dates.last_sowing`; none before the early date, both read as whole days."""
    found = np.empty(late.shape)
    for number, planting in enumerate(plantings):
        ends = np.minimum(late[:, number], grows_until[number])
        risk = planting.autumn_risk
        last = light_limit.last_sowing(record, planting.crop, ends, risk)
        # By the central dates, so that low, central and high of a crop come and go together.
        too_late = np.floor(last[1]) < np.ceil(early[1, number])
        found[:, number] = np.where(too_late, np.nan, last)
    return found


def _published(record: Record, planting: _Planting) -> Comparison | None:
    return published_rule.compare(
        record, planting.crop, planting.risk, soft=planting.is_soft
    )


def _station_odds(record: Record, planting: _Planting) -> StationOdds:
    return station_odds(
        record,
        (planting.early_limit.value, planting.late_limit.value),
        (planting.risk, planting.autumn_risk),
    )


def early_of_reference_crop(site: Site, means: BedMeans, beds: Sequence[Bed]) -> Floats:
    """`Dates.early_draws` alone, on the same draws as `compute`: (beds, draws).

    For ground as it might be; the site must be one whose dates are known.

    Parameters
    ----------
    site
        The site, whose record, crops and risks give dates.
    means
        What beds would get of the ground as it might be, in the order of `beds`.
    beds
        The beds, at least one.

    Returns
    -------
    days
        Day numbers of the season-year; +∞ where it is not warm enough in any usual
        year, NaN where not known.
    """
    climate = _climate(site, means, beds, ("none",))
    assert isinstance(climate, _Climate)
    reference = _reference_crop(site.settings.ordering, site.crops)
    planting = _plantings(site.crops, site.settings)[reference]
    return np.asarray(climate.early([planting], 0)[1].out[:, 0].T)


def _no_dates(beds: int, season: SeasonYear, why: Fact | None) -> Dates:
    nothing, no_draws = np.empty((3, 0, 0, beds)), np.empty((beds, 0))
    return Dates(
        early=nothing,
        late=nothing,
        slackens=nothing[1],
        winters=nothing[1],
        grows_until=np.empty((0, beds)),
        last_sowing=nothing,
        early_draws=no_draws,
        late_draws=no_draws,
        nights_decide=no_draws > 0,
        soil_lag_days=np.zeros(beds),
        soil_seen_days=np.zeros(beds),
        season=season,
        remarks=() if why is None else (why,),
    )


class _Planting(NamedTuple):
    """A crop, how it is begun, and the risks that are taken with it."""

    crop: Crop
    risk: float
    autumn_risk: float
    is_soft: bool

    @property
    def early_limit(self) -> DamageTemperature:
        """What frost of spring does to it as it begins."""
        return self.crop.early_damage_c(soft=self.is_soft)

    @property
    def late_limit(self) -> DamageTemperature:
        """What ends it in autumn."""
        return self.crop.late_damage_c


class _CropDays(NamedTuple):
    """Days of one crop, (draws, covers, beds).

    Attributes
    ----------
    by_night, out
        When nights let it out; when nights and soil do.
    """

    by_night: Floats
    out: Floats


@dataclass(frozen=True)
class _Climate:
    """Nights and soil of beds, as draws."""

    record: Record
    station: StationAir
    around: Relief
    shifts: Shifts
    ground: Ground
    draws: Draws

    def early(
        self, plantings: Sequence[_Planting], reference: int
    ) -> tuple[Floats, _CropDays]:
        """First days (3, crops, covers, beds), and the draws of one of the crops.

        Those of one frost come together, as frost takes most of the time.
        """
        found: dict[int, Floats] = {}
        keys = [(*_key(each.early_limit), each.risk) for each in plantings]
        for alike in _alike(keys):
            first = plantings[alike[0]]
            frost = self._frost(first.early_limit, first.risk, is_autumn=False)
            for number in alike:
                days = self._first_days(plantings[number].crop, frost)
                found[number] = monte_carlo.percentiles(np.moveaxis(days.out, 0, -1))
                if number == reference:
                    of_reference = days
        return np.stack([found[each] for each in sorted(found)], axis=1), of_reference

    def late(
        self, plantings: Sequence[_Planting], reference: int
    ) -> tuple[Floats, Floats]:
        """Frost of autumn (3, crops, covers, beds), and the draws of one of the crops."""
        found: dict[int, Floats] = {}
        keys = [(*_key(each.late_limit), each.autumn_risk) for each in plantings]
        for alike in _alike(keys):
            first = plantings[alike[0]]
            frost = self._frost(first.late_limit, first.autumn_risk, is_autumn=True)
            days = monte_carlo.percentiles(np.moveaxis(frost, 0, -1))
            found |= dict.fromkeys(alike, days)
            if reference in alike:
                of_reference = frost
        return np.stack([found[each] for each in sorted(found)], axis=1), of_reference

    def _frost(
        self, limit: DamageTemperature, risk: float, *, is_autumn: bool
    ) -> Floats:
        days = frost_dates.frost_dates(
            self.record, self.shifts, limit, risk, self.draws, is_autumn=is_autumn
        )
        days[:, :, self.shifts.unknown] = np.nan
        return days

    def _first_days(self, crop: Crop, frost: Floats) -> _CropDays:
        known = self.record, self.shifts
        # Planted for the year after, it waits for soil to cool, and no frost of spring counts.
        if crop.autumn_soil_c is not None:
            cool = warm_dates.cool_from(*known, crop)
            # No cover and no draw moves soil in autumn; from frost it takes its shape, and what
            # is not known.
            out = np.where(np.isnan(frost), np.nan, cool)
            return _CropDays(out, out)
        # Under the soil a seed is safe from frost: what counts is when it is seen.
        if not crop.is_set_out and crop.emergence is not None:
            seen = growth.emerges(self._usual_soil_c, crop.emergence)
            frost = growth.sow_from(frost, seen)
        by_night = np.maximum(frost, warm_dates.night_dates(*known, crop, self.draws))
        soil = warm_dates.soil_dates(*known, self.ground, crop, self.draws)
        soil = np.maximum(soil, self.ground.worked_from)
        return _CropDays(by_night, np.maximum(by_night, soil))

    @cached_property
    def _usual_soil_c(self) -> Floats:
        number = self.record.calendar.day_number
        return growth.usual_soil_c(self.record.mean_c, number)

    def slackens(self, crop: Crop) -> Floats:
        """When it bears less, (covers, beds)."""
        return warm_dates.slackens(self.record, self.shifts, crop, self.draws)

    def winters(self, crop: Crop) -> Floats:
        """Share of winters that it comes through, left standing, (covers, beds)."""
        return frost_dates.winters(self.record, self.shifts, crop)


def _key(limit: DamageTemperature) -> tuple[float, float]:
    return limit.value, limit.screen_c.central


def _alike(keys: Sequence[tuple[float, ...]]) -> Iterator[list[int]]:
    """Places of those that are the same."""
    order = sorted(range(len(keys)), key=lambda number: keys[number])
    for _, alike in groupby(order, lambda number: keys[number]):
        yield list(alike)


def _climate(
    site: Site,
    means: BedMeans,
    beds: Sequence[Bed],
    covers: Sequence[str],
    draws: Draws | None = None,
) -> _Climate | Fact | None:
    """What the record is on beds, or why no dates follow from it; None without beds."""
    record = read_record(
        site.weather, site.settings.files.weather, site.crops, site.season
    )
    if isinstance(record, Fact):
        return record
    if not beds:
        return None
    # The same seed for beds outdoors, tunnels and what-ifs: their differences are paired.
    if draws is None:
        draws = monte_carlo.sample(
            record.usable,
            len(record.calendar.years),
            resample=len(record.usable) >= FEWEST_YEARS,
        )
    station = bed_temperatures.station_air(site, means.middle_height_m)
    around = relief.around_plots(site)
    left = around.mixed_share
    shifts = bed_temperatures.of_beds(station, means, covers, left, draws)
    ground = soil_warming.of_beds(site.plots, site.seen, site.season, means, beds)
    return _Climate(record, station, around, shifts, ground, draws)


def _reference_crop(chosen: int | None, crops: Sequence[Crop]) -> int:
    """The crop that the grower named, the first tender or warm-loving, or the first."""
    if chosen is not None:
        return chosen
    tender = [crop.crop_class.value in REFERENCE_CLASSES for crop in crops]
    return tender.index(True) if True in tender else 0


def _night_covers(owned: Iterable[str]) -> tuple[str, ...]:
    """Kinds of cover that are owned and meant for nights, or two usual ones."""
    nights = dict.fromkeys(kind for kind in owned if not kind.startswith("shade"))
    return tuple(nights) or WITHOUT_COVERS
