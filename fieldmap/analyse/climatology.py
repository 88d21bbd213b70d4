"""A weather record as the dates of its years: freezes and warmth at any limit."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from fieldmap.analyse import seasons
from fieldmap.model.crops import Crop
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import SeasonYear
from fieldmap.model.site import WeatherRecord
from layers import freeze, nights, odds, scatter, warmth

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Whole = npt.NDArray[np.intp]

SPRING_DAYS = 212  # the first seven months of a season-year
HALF_YEAR_DAYS = 182
FEWEST_NIGHTS_OF_WINTER = 355  # of a year, known (a choice)
FEWEST_YEARS = 10  # from which odds are read off the years themselves
AROUND_DAYS = 15  # nights before and after the usual last freeze that are looked at
# Where the World Meteorological Organization's guide has wind measured (from memory).
STATION_WIND_M = 10.0
# Readings that differ by less are the same.
SAME_C = 1e-6


@dataclass(frozen=True)
class Record:
    """Days of a weather record in season-years.

    Attributes
    ----------
    calendar
        Season-years of the days.
    tmin_c, mean_c
        (days,): minimum, and the mean of minimum and maximum.
    kinds
        (days,): `STILL`, `MIXED` or `WINDY` of `layers.nights`.
    is_wind_known
        Wind is recorded, so that some nights are known to be windy.
    usable
        (years,) numbers of the season-years of which the spring is known for every crop.
    gaps
        What was bridged, if anything was.
    """

    calendar: freeze.Calendar
    tmin_c: Floats
    mean_c: Floats
    kinds: nights.Kinds
    is_wind_known: bool
    usable: Whole
    gaps: tuple[Fact, ...] = ()

    def freezes(self, limits_c: Floats, kind: int) -> tuple[Floats, Floats]:
        """Last freeze of spring and first of autumn at each limit, (limits, years) each.

        Of nights of one kind, as they are in the record.
        """
        of_kind = self.kinds == kind
        # Nights of the other kind are known not to be meant; missing ones stay missing.
        low = np.where(of_kind | np.isnan(self.tmin_c), self.tmin_c, np.inf)
        limits = np.asarray(limits_c) + SAME_C
        return (
            np.stack([freeze.last_in_spring(low, self.calendar, at) for at in limits]),
            np.stack([freeze.first_in_autumn(low, self.calendar, at) for at in limits]),
        )

    def still_freezes(
        self,
        limits_c: Floats,
        law: scatter.NightLaw,
        wanted: Flags,
        *,
        is_autumn: bool,
    ) -> scatter.Days:
        """Last (in autumn first) freezes of still nights that stray, as likely dates.

        (years, levels, offsets, limits), as `layers.scatter` has them; of those
        (offsets, limits) alone that are wanted.

        Parameters
        ----------
        limits_c
            (limits,): a night of no offset at or below it is a freeze [°C].
        law
            Chance that the offset of one night is at or below a limit, for each offset
            of a place.
        wanted
            (offsets, limits): those that are asked for; the others are as without a
            freeze.
        is_autumn
            Whether first freezes of autumn are wanted, and not last ones of spring.
        """
        low = np.where(self.kinds == nights.STILL, self.tmin_c, np.nan)
        half = self.calendar.autumn if is_autumn else self.calendar.spring
        number = self.calendar.day_number.astype(np.int64)
        limits = np.ascontiguousarray(limits_c, np.float64)
        freezes = scatter.first_freezes if is_autumn else scatter.last_freezes
        return freezes(low, (half.start, half.stop), number, limits, law, wanted)

    def last_freezes(self, limits_c: tuple[float, float]) -> Floats:
        """Last freeze of each spring at limits of still and of other nights, (years,).

        At the station itself; NaN where the spring is not known.
        """
        still_c, other_c = limits_c
        yearly = [
            self.freezes(np.array([still_c if kind == nights.STILL else other_c]), kind)
            for kind in (nights.STILL, nights.MIXED, nights.WINDY)
        ]
        last = np.max([spring[0] for spring, _autumn in yearly], axis=0)
        return np.where(self.known(still_c)[0], last, np.nan)

    def coldest_of_winters(self, kind: int) -> Floats:
        """Lowest minimum of each winter on nights of one kind, (winters,).

        A winter is the second half of a season-year and the first of the next. ∞ where
        it has no such night, NaN where more than a few of its nights are missing.
        """
        is_before = self.calendar.day_number <= HALF_YEAR_DAYS
        winter = self.calendar.year_index - is_before
        whole = winter >= 0
        count = int(winter.max(initial=-1)) + 1
        low = np.where(
            (self.kinds == kind) & ~np.isnan(self.tmin_c), self.tmin_c, np.inf
        )
        coldest = np.full(count, np.inf)
        np.minimum.at(coldest, winter[whole], low[whole])
        known = np.bincount(winter[whole & ~np.isnan(self.tmin_c)], minlength=count)
        return np.where(known >= FEWEST_NIGHTS_OF_WINTER, coldest, np.nan)

    def known(self, limit_c: float) -> tuple[Flags, Flags]:
        """Years whose spring, and whose autumn, the station's own nights vouch for.

        (years,) each.
        """
        return (
            freeze.springs_known(self.tmin_c, self.calendar, limit_c),
            freeze.autumns_known(self.tmin_c, self.calendar, limit_c),
        )

    def warm_from(self, limits_c: Floats, *, of: Literal["air", "nights"]) -> Floats:
        """Day from which the 7-day mean holds at each limit, (limits, years).

        Parameters
        ----------
        of
            Means of the air, or of the night minima.
        """
        daily = self.mean_c if of == "air" else self.tmin_c
        years, days = self.calendar.year_index, self.calendar.day_number
        return warmth.first_warm_day(daily, years, days, limits_c - SAME_C)

    @cached_property
    def kind_shares(self) -> Floats:
        """Share of still, mixed and windy nights of spring that are known, (3,)."""
        spring = (self.calendar.day_number <= SPRING_DAYS) & ~np.isnan(self.tmin_c)
        counts = np.bincount(self.kinds[spring], minlength=3)
        return np.asarray(counts / max(counts.sum(), 1))

    def remarks(self, season: SeasonYear) -> list[Fact]:
        """Few years, how often nights about the last freeze are still, and the wind."""
        facts = list(self.gaps)
        springs = len(self.usable)
        if springs < FEWEST_YEARS:
            facts.append(Fact("dates_few_springs", number=springs, enough=FEWEST_YEARS))
        facts += self._still_nights(season)
        if self.is_wind_known:
            facts.append(Fact("dates_wind_height", height_m=STATION_WIND_M))
        else:
            facts.append(Fact("dates_no_wind"))
        return facts

    def _still_nights(self, season: SeasonYear) -> list[Fact]:
        known, _autumns = self.known(0.0)
        last = freeze.last_in_spring(self.tmin_c, self.calendar, 0.0)
        last = np.sort(last[known])
        if not len(last) or not np.isfinite(last[len(last) // 2]):
            return []
        middle = int(last[len(last) // 2])
        about = np.abs(self.calendar.day_number - middle) <= AROUND_DAYS
        still = self.kinds[about & ~np.isnan(self.tmin_c)] == nights.STILL
        share = float(still.mean())
        day = season.month_day(middle)
        return [Fact("dates_still_nights", day=day, share=round(10 * share))]


def read_record(
    weather: WeatherRecord, file: str, crops: Sequence[Crop], season: SeasonYear
) -> Record | Fact:
    """A site's record by season-years, or why no dates follow from it.

    Parameters
    ----------
    weather
        Days of the record; NaN where a reading is missing.
    file
        Its name in the site folder, for the facts.
    crops
        Those of the site; a year counts when its spring is known at the frost limit of
        each.
    season
        Which hemisphere's season-years the days are divided into.

    Returns
    -------
    record
        The record, or the fact that says why there are no dates.
    """
    nothing = _nothing_to_read(weather, file, crops)
    if nothing is not None:
        return nothing
    days, gaps = seasons.bridged(weather.days, file)
    dates = days.index.to_numpy().astype("datetime64[D]")
    low, high = (days[name].to_numpy(np.float64) for name in ("tmin_c", "tmax_c"))
    calendar = freeze.calendar(dates, southern=season.southern)
    why_not = seasons.why_no_dates(days, file, calendar, season)
    if why_not is not None:
        return why_not
    known = np.ones(len(calendar.years), np.bool_)
    for crop in crops:
        limit_c = crop.early_damage_c().screen_c.central
        known &= freeze.springs_known(low, calendar, limit_c)
    if known.sum() < 2:
        return Fact("no_dates_too_few_springs", file=file)
    return Record(
        calendar=calendar,
        tmin_c=low,
        mean_c=(low + high) / 2,
        kinds=kinds(days),
        is_wind_known=_has_wind(days),
        usable=np.flatnonzero(known),
        gaps=gaps,
    )


def _nothing_to_read(
    weather: WeatherRecord, file: str, crops: Sequence[Crop]
) -> Fact | None:
    if not weather.is_there:
        return Fact("no_weather", file=file)
    if weather.typical:
        return Fact("no_dates_typical_year")
    return None if crops else Fact("no_dates_without_crops")


class StationOdds(NamedTuple):
    """The station's own dates of spring and autumn, by count and by theory.

    Attributes
    ----------
    limits_c
        In spring and in autumn.
    risks
        Share of years whose last freeze comes later, and whose first comes before.
    counted
        Last of spring and first of autumn by the ranks of the years themselves, as day
        numbers of the season-year; NaN under `FEWEST_YEARS` known years.
    by_theory
        The same by a normal law of the years with a freeze, mixed with those without
        (Thom & Shaw 1958).
    years
        Known springs and autumns.
    """

    limits_c: tuple[float, float]
    risks: tuple[float, float]
    counted: tuple[float, float]
    by_theory: tuple[float, float]
    years: tuple[int, int]


def station_odds(
    record: Record, limits_c: tuple[float, float], risks: tuple[float, float]
) -> StationOdds:
    """When freezes end and begin at the station itself, each at its limit and risk.

    Parameters
    ----------
    record
        Days of the station in season-years.
    limits_c
        At or below which a night is a freeze, in spring and in autumn [°C].
    risks
        Share of years, 0 to 1, whose last freeze may come later than the date of
        spring, and whose first may come before that of autumn.
    """
    sides = (
        (freeze.last_in_spring, odds.safe_after, odds.normal_after),
        (freeze.first_in_autumn, odds.safe_before, odds.normal_before),
    )
    counted, by_theory, years = [], [], []
    for half, (of_years, ranked, normal) in enumerate(sides):
        is_known, at = record.known(limits_c[half])[half], limits_c[half] + SAME_C
        yearly, risk = of_years(record.tmin_c, record.calendar, at), risks[half]
        yearly = yearly[is_known]
        enough = len(yearly) >= FEWEST_YEARS
        counted.append(float(ranked(yearly, risk)) if enough else np.nan)
        by_theory.append(float(normal(yearly, risk)) if len(yearly) >= 2 else np.nan)
        years.append(len(yearly))
    return StationOdds(
        limits_c,
        risks,
        (counted[0], counted[1]),
        (by_theory[0], by_theory[1]),
        (years[0], years[1]),
    )


def still_nights(days: pd.DataFrame) -> Flags:
    """Which nights of a weather record were clear and calm, (days,)."""
    return nights.clear_calm(
        days.index.to_numpy().astype("datetime64[D]"),
        days["tmin_c"].to_numpy(np.float64),
        days["tmax_c"].to_numpy(np.float64),
        days["wind_m_s"].to_numpy(np.float64) if "wind_m_s" in days else None,
    )


def kinds(days: pd.DataFrame) -> nights.Kinds:
    """Whether each night of a weather record was still, mixed or windy, (days,).

    A station's wind is taken as measured at the usual 10 m.
    """
    if not _has_wind(days):
        return nights.kinds(still_nights(days), None)
    wind = days["wind_m_s"].to_numpy(np.float64)
    at_2_m = nights.wind_at_2_m(wind, STATION_WIND_M)
    return nights.kinds(still_nights(days), at_2_m)


def _has_wind(days: pd.DataFrame) -> bool:
    return "wind_m_s" in days and bool(days["wind_m_s"].notna().any())
