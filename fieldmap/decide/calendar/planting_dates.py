"""When crops can go out on each bed, and how long they hold, at a stated risk.

Early is the later of frost, soil and nights warm enough; late is the frost of autumn.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
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
    light_limit,
    monte_carlo,
    soil_warming,
    warm_dates,
)
from fieldmap.decide.calendar.bed_temperatures import Shifts, StationAir
from fieldmap.decide.calendar.monte_carlo import Draws
from fieldmap.decide.calendar.soil_warming import Ground
from fieldmap.decide.layout.beds import Bed
from fieldmap.model.crops import Crop
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import SeasonYear
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
        (crops,): share of years in which frost may take the crop.
    early, late
        (3, crops, covers, beds): 10th, 50th and 90th percentile of the draws, as day
        numbers of the season-year (see `SeasonYear`). +∞: not warm enough in any
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
    early: Floats
    late: Floats
    station: tuple[StationOdds, ...] = ()
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
        """When a crop can go out on a bed."""
        return Estimate(*(float(day) for day in self.early[:, crop, cover, bed]))

    def late_of(self, bed: int, crop: int, cover: int = 0) -> Estimate:
        """Up to when a crop holds on a bed."""
        return Estimate(*(float(day) for day in self.late[:, crop, cover, bed]))


def how(crop: Crop) -> str:
    """Whether the date of a crop is one to set plants out or to sow."""
    return "sow" if crop.set_out_soil_c is None else "set out"


def compute(
    site: Site,
    means: BedMeans,
    beds: Sequence[Bed],
    draws: Draws | None = None,
) -> Dates:
    """Early and late dates of all beds, for every crop of the site and every cover.

    Each seeded draw takes one run of the cold air, one rate, one worth of covers, one
    bias of the place, one field of what terrain does not tell, one share for mixed nights
    and one resample of years, and of their nights, for all beds.

    Parameters
    ----------
    draws
        Given to compute the dates on these.
    """
    covers = ("none", *_night_covers(cover.kind for cover in site.settings.covers))
    climate = _climate(site, means, beds, covers, draws)
    if not isinstance(climate, _Climate):
        return _no_dates(len(beds), site.season, climate)
    risks = tuple(site.settings.risk.of(each.crop_class.value) for each in site.crops)
    reference = _reference_crop(site.settings.ordering, site.crops)
    shape = (3, len(site.crops), len(covers), len(beds))
    early, late, last_sowing = np.empty(shape), np.empty(shape), np.empty(shape)
    grows_until = light_limit.grows_until(site.season, means, site.crops)
    for number, days in climate.days_of_all(site.crops, risks):
        crop, risk = site.crops[number], risks[number]
        early[:, number] = monte_carlo.percentiles(np.moveaxis(days.out, 0, -1))
        late[:, number] = monte_carlo.percentiles(np.moveaxis(days.autumn, 0, -1))
        ends = np.minimum(late[:, number], grows_until[number])
        last_sowing[:, number] = light_limit.last_sowing(
            climate.record, crop, ends, risk
        )
        if number == reference:
            of_reference = days
    return Dates(
        crops=site.crops,
        covers=covers,
        risks=risks,
        early=early,
        late=late,
        station=tuple(
            station_odds(climate.record, crop.damage_c.value, risk)
            for crop, risk in zip(site.crops, risks, strict=True)
        ),
        grows_until=grows_until,
        last_sowing=last_sowing,
        early_draws=of_reference.out[:, 0].T,
        late_draws=of_reference.autumn[:, 0].T,
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
        ),
    )


def early_of_reference_crop(site: Site, means: BedMeans, beds: Sequence[Bed]) -> Floats:
    """`Dates.early_draws` alone, on the same draws as `compute`: (beds, draws).

    For ground as it might be; the site must be one whose dates are known.
    """
    climate = _climate(site, means, beds, ("none",))
    assert isinstance(climate, _Climate)
    crop = site.crops[_reference_crop(site.settings.ordering, site.crops)]
    days = climate.days_of(crop, site.settings.risk.of(crop.crop_class.value))
    return np.asarray(days.out[:, 0].T)


def _no_dates(beds: int, season: SeasonYear, why: Fact | None) -> Dates:
    nothing, no_draws = np.empty((3, 0, 0, beds)), np.empty((beds, 0))
    return Dates(
        early=nothing,
        late=nothing,
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


class _CropDays(NamedTuple):
    """Days of one crop, (draws, covers, beds).

    Attributes
    ----------
    by_night, out, autumn
        When nights let it out; when nights and soil do; the first freeze of autumn.
    """

    by_night: Floats
    out: Floats
    autumn: Floats


@dataclass(frozen=True)
class _Climate:
    """Nights and soil of beds, as draws."""

    record: Record
    station: StationAir
    around: Relief
    shifts: Shifts
    ground: Ground
    draws: Draws

    def days_of_all(
        self, crops: Sequence[Crop], risks: Sequence[float]
    ) -> Iterator[tuple[int, _CropDays]]:
        """Number of each crop and its days; those of one frost come together."""

        def limits(number: int) -> tuple[float, ...]:
            crop = crops[number]
            return crop.damage_c.value, crop.screen_damage_c.central, risks[number]

        for _, alike in groupby(sorted(range(len(crops)), key=limits), limits):
            first, *others = alike
            frost = self._frost(crops[first], risks[first])
            for number in (first, *others):
                yield number, self._days(crops[number], frost)

    def days_of(self, crop: Crop, risk: float) -> _CropDays:
        """When a crop can go out and when frost takes it, at a risk."""
        return self._days(crop, self._frost(crop, risk))

    def _frost(self, crop: Crop, risk: float) -> tuple[Floats, Floats]:
        return frost_dates.frost_dates(self.record, self.shifts, crop, risk, self.draws)

    def _days(self, crop: Crop, frost: tuple[Floats, Floats]) -> _CropDays:
        known = self.record, self.shifts
        spring, autumn = frost
        by_night = np.maximum(spring, warm_dates.night_dates(*known, crop, self.draws))
        soil = warm_dates.soil_dates(*known, self.ground, crop, self.draws)
        out = np.maximum(by_night, soil)
        for days in (out, autumn):
            days[:, :, self.shifts.unknown] = np.nan
        return _CropDays(by_night, out, autumn)


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
