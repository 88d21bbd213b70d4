"""A weather record as the dates of its years: freezes and warmth at any limit."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from fieldmap.model.crops import Crop
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import SeasonYear
from fieldmap.model.site import WeatherRecord
from layers import coldair, freeze, nights, odds, warmth

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Whole = npt.NDArray[np.intp]

SPRING_DAYS = 212  # the first seven months of a season-year
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
    clear_calm
        (days,): nights that were clear and calm.
    taken_c
        (days,): whole degrees that wind takes off an offset; 0 where none is recorded.
    usable
        (years,) numbers of the season-years of which the spring is known for every crop.
    """

    calendar: freeze.Calendar
    tmin_c: Floats
    mean_c: Floats
    clear_calm: Flags
    taken_c: Whole
    usable: Whole

    def freezes(self, limits_c: Floats, taken_c: int | None) -> tuple[Floats, Floats]:
        """Last freeze of spring and first of autumn at each limit, (limits, years) each.

        Parameters
        ----------
        taken_c
            Of clear calm nights of which wind takes so much; None for all other nights.
        """
        of_kind = ~self.clear_calm
        if taken_c is not None:
            of_kind = self.clear_calm & (self.taken_c == taken_c)
        # Nights of the other kind are known not to be meant; missing ones stay missing.
        low = np.where(of_kind | np.isnan(self.tmin_c), self.tmin_c, np.inf)
        limits = np.asarray(limits_c) + SAME_C
        return (
            np.stack([freeze.last_in_spring(low, self.calendar, at) for at in limits]),
            np.stack([freeze.first_in_autumn(low, self.calendar, at) for at in limits]),
        )

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
        return np.stack(
            [
                warmth.first_warm_day(daily, years, days, float(at) - SAME_C)
                for at in limits_c
            ]
        )

    @cached_property
    def clear_shares(self) -> dict[int, float]:
        """Whole degrees that wind takes -> share of the nights of spring that are known.

        Clear calm nights alone; the rest of all nights are others.
        """
        spring = (self.calendar.day_number <= SPRING_DAYS) & ~np.isnan(self.tmin_c)
        taken = self.taken_c[self.clear_calm]
        return {
            int(amount): float(
                (self.clear_calm & (self.taken_c == amount))[spring].mean()
            )
            for amount in np.unique(taken)
            if spring.any()
        }

    def remarks(self, season: SeasonYear) -> list[Fact]:
        """Few years, how often nights about the last freeze are still, and the wind."""
        facts = []
        springs = len(self.usable)
        if springs < FEWEST_YEARS:
            facts.append(Fact("dates_few_springs", number=springs, enough=FEWEST_YEARS))
        facts += self._still_nights(season)
        if (self.clear_calm & (self.taken_c > 0)).any():
            facts.append(Fact("dates_wind_height", height_m=STATION_WIND_M))
        return facts

    def _still_nights(self, season: SeasonYear) -> list[Fact]:
        known, _autumns = self.known(0.0)
        last = freeze.last_in_spring(self.tmin_c, self.calendar, 0.0)
        last = np.sort(last[known])
        if not len(last) or not np.isfinite(last[len(last) // 2]):
            return []
        middle = int(last[len(last) // 2])
        about = np.abs(self.calendar.day_number - middle) <= AROUND_DAYS
        share = float(self.clear_calm[about & ~np.isnan(self.tmin_c)].mean())
        day = season.month_day(middle)
        return [Fact("dates_still_nights", day=day, share=round(10 * share))]


def read_record(
    weather: WeatherRecord, file: str, crops: Sequence[Crop], season: SeasonYear
) -> Record | Fact:
    """A site's record by season-years, or why no dates follow from it."""
    if weather.typical:
        return Fact("no_dates_typical_year")
    days = weather.days
    dates = days.index.to_numpy().astype("datetime64[D]")
    low, high = (days[name].to_numpy(np.float64) for name in ("tmin_c", "tmax_c"))
    calendar = freeze.calendar(dates, southern=season.southern)
    known = np.ones(len(calendar.years), np.bool_)
    if not crops:
        return Fact("no_dates_without_crops")
    for crop in crops:
        known &= freeze.springs_known(low, calendar, crop.screen_damage_c.central)
    if known.sum() < 2:
        return Fact("no_dates_too_few_springs", file=file)
    return Record(
        calendar=calendar,
        tmin_c=low,
        mean_c=(low + high) / 2,
        clear_calm=still_nights(days),
        taken_c=_taken_c(days),
        usable=np.flatnonzero(known),
    )


class StationOdds(NamedTuple):
    """The station's own dates at a limit and risk, by count and by theory.

    Attributes
    ----------
    counted
        Last of spring and first of autumn by the ranks of the years themselves, as day
        numbers of the season-year; NaN under `FEWEST_YEARS` known years.
    by_theory
        The same by a normal law of the years with a freeze, mixed with those without
        (Thom & Shaw 1958).
    years
        Known springs and autumns.
    """

    limit_c: float
    risk: float
    counted: tuple[float, float]
    by_theory: tuple[float, float]
    years: tuple[int, int]


def station_odds(record: Record, limit_c: float, risk: float) -> StationOdds:
    """When freezes end and begin at the station itself, at a risk."""
    springs, autumns = record.known(limit_c)
    at = limit_c + SAME_C
    sides = (
        (freeze.last_in_spring, springs, odds.safe_after, odds.normal_after),
        (freeze.first_in_autumn, autumns, odds.safe_before, odds.normal_before),
    )
    counted, by_theory, years = [], [], []
    for of_years, is_known, ranked, normal in sides:
        yearly = of_years(record.tmin_c, record.calendar, at)[is_known]
        enough = len(yearly) >= FEWEST_YEARS
        counted.append(float(ranked(yearly, risk)) if enough else np.nan)
        by_theory.append(float(normal(yearly, risk)) if len(yearly) >= 2 else np.nan)
        years.append(len(yearly))
    return StationOdds(
        limit_c,
        risk,
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


def _taken_c(days: pd.DataFrame) -> Whole:
    """Whole degrees that the wind of each night takes off an offset, (days,).

    A station's wind is taken as measured at the usual 10 m. Parts of a degree are not
    credited, since a day's mean wind is more than that of its still night.
    """
    if "wind_m_s" not in days:
        return np.zeros(len(days), np.intp)
    wind = np.nan_to_num(days["wind_m_s"].to_numpy(np.float64))  # unrecorded: none
    at_2_m = nights.wind_at_2_m(wind, STATION_WIND_M)
    taken: Whole = np.floor(coldair.WIND_TAKES_C_PER_M_S * at_2_m).astype(np.intp)
    return taken
