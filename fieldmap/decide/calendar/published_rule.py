"""A published rule of planting by the mean last frost, beside our date and why it differs.

Both hold for a level, open, uncovered bed on the weather station's own ground.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt

from fieldmap.analyse.climatology import Record
from fieldmap.decide.calendar import growth, warm_dates
from fieldmap.model.crops import Crop
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import SeasonYear
from fieldmap.model.settings import CropClass
from layers import odds

Floats = npt.NDArray[np.float64]
HeldBy = Literal["frost", "soil", "nights"]

# Purdue HO-203: days of planting after the mean last frost. "On or after" it is taken as
# the week from that day (our reading).
WINDOW_DAYS: dict[CropClass, tuple[int, int]] = {
    "hardy": (-42, -28),
    "half_hardy": (-21, -14),
    "tender": (0, 7),
    "warm_loving": (7, 14),
}
FAR_DAYS = 10  # from the window, from which the reason is remarked on
EVEN_ODDS = 0.5  # no margin: the day is passed by the last frost in every second year
# A rule by the last frost holds where most springs have one (a choice).
LEAST_WITH_FROST = 0.5
FROST_C = 0.0


class Start(NamedTuple):
    """What a crop waits for at the station, as day numbers.

    Attributes
    ----------
    frost
        The day of the last frost; or, of what is sown, the first day from which nothing
        is seen before it is over.
    soil, nights
        Usual day from which the soil, and the nights, are warm enough; nights are -∞
        where the crop has no such limit.
    """

    frost: float
    soil: float
    nights: float

    @property
    def day(self) -> float:
        """The latest of them."""
        return float(np.max(self))  # not known where one of them is not

    @property
    def held_by(self) -> HeldBy:
        """Which of them that is."""
        # Of two that come on one day the first here is named.
        by: dict[HeldBy, float] = {
            "soil": self.soil,
            "nights": self.nights,
            "frost": self.frost,
        }
        return max(by, key=lambda each: by[each])


@dataclass(frozen=True)
class Comparison:
    """The published rule beside our date for one crop at the station.

    Attributes
    ----------
    rule
        First and last day of the rule's window.
    start
        What our date waits for, at even odds of frost.
    at_risk_day
        Our date at the risk that is taken with the crop.
    limit_c
        The limit that holds the crop back: of damage, of the soil or of the nights.
    """

    crop: Crop
    rule: tuple[float, float]
    start: Start
    at_risk_day: float
    limit_c: float

    @property
    def later_days(self) -> float:
        """By how much our date lies after the window, or (negative) before it."""
        first, last = self.rule
        return max(self.start.day - last, 0.0) + min(self.start.day - first, 0.0)

    @property
    def days_by_risk(self) -> float:
        """Days that the risk which is taken adds to even odds."""
        return self.at_risk_day - self.start.day

    def window(self, season: SeasonYear) -> tuple[tuple[int, int], tuple[int, int]]:
        """First and last day of the rule, rounded down.

        Six weeks before an early last frost may lie in the year before.
        """
        first, last = (
            season.month_day_of_any_year(float(np.floor(day))) for day in self.rule
        )
        return first, last

    def fact(self, season: SeasonYear) -> Fact | None:
        """What people read; None where our date never comes."""
        here = season.early_date(self.start.day)
        if here is None or not np.isfinite(self.at_risk_day):
            return None
        first, last = self.window(season)
        held = self.start.held_by
        kind = "emergence" if held == "frost" and not self.crop.is_set_out else held
        added = round(self.days_by_risk)
        return Fact(
            "published_rule",
            crop=self.crop.name,
            first_day=first,
            last_day=last,
            here_day=here,
            because=Fact(f"held_by_{kind}", limit_c=self.limit_c),
            risk=Fact("risk_adds", number=added) if added else Fact("risk_adds_none"),
        )


def far_from_rule(
    compared: Iterable[Comparison | None], season: SeasonYear
) -> list[Fact]:
    """Dates that are more than ten days from the rule, with the reason."""
    far = [each for each in compared if each and abs(each.later_days) > FAR_DAYS]
    return [fact for each in far if (fact := each.fact(season)) is not None]


def mean_last_frost(record: Record) -> float | None:
    """Mean day of the station's last frost; None where most springs have none."""
    last = record.last_freezes((FROST_C, FROST_C))
    known = last[~np.isnan(last)]
    with_frost = known[np.isfinite(known)]
    if not len(known) or len(with_frost) < LEAST_WITH_FROST * len(known):
        return None
    return float(with_frost.mean())


def compare(
    record: Record, crop: Crop, risk: float, *, soft: bool = False
) -> Comparison | None:
    """The rule beside our date; None where there is no such rule for the crop or place.

    Parameters
    ----------
    record
        Weather record of the station.
    crop
        The crop: its class, which the rule goes by, and its limits.
    risk
        Share of years in which frost of spring may take the crop, above 0 and below 1.
    soft
        Whether it is set out as soft transplants, which less frost kills.

    Raises
    ------
    ValueError
        When the risk is not above 0 and below 1, where there is a rule to compare.
    """
    frost_day = mean_last_frost(record)
    # The rule counts from the last frost of spring, which autumn planting does not know.
    if frost_day is None or crop.autumn_soil_c is not None:
        return None
    first, last = WINDOW_DAYS[crop.crop_class.value]
    start = start_at_station(record, crop, EVEN_ODDS, soft=soft)
    limits_c = {
        "frost": crop.early_damage_c(soft=soft).value,
        "soil": warm_dates.least_soil_c(crop),
        "nights": np.nan
        if crop.set_out_night_c is None
        else crop.set_out_night_c.value,
    }
    return Comparison(
        crop,
        (frost_day + first, frost_day + last),
        start,
        start_at_station(record, crop, risk, soft=soft).day,
        limits_c[start.held_by],
    )


def start_at_station(record: Record, crop: Crop, risk: float, *, soft: bool) -> Start:
    """Days of the season-year that a crop waits for on the station's own ground.

    Parameters
    ----------
    record
        Weather record of the station; frost is that of its own nights.
    crop
        The crop: its limits of frost, of soil and of nights, and how its seed comes up.
    risk
        Share of years in which the last frost may come later, above 0 and below 1.
    soft
        Whether it is set out as soft transplants, which less frost kills.

    Returns
    -------
    Start
        NaN where the record does not know frost, soil or nights.

    Raises
    ------
    ValueError
        When the risk is not above 0 and below 1, where years are known.
    """
    limit = crop.early_damage_c(soft=soft)
    last = record.last_freezes((limit.screen_c.central, limit.value))
    known = last[~np.isnan(last)]
    frost = odds.safe_after(known, risk) if len(known) else np.array(np.nan)
    if not crop.is_set_out and crop.emergence is not None:
        soil_c = growth.usual_soil_c(record.mean_c, record.calendar.day_number)
        frost = growth.sow_from(frost, growth.emerges(soil_c, crop.emergence))
    nights = -np.inf
    if crop.set_out_night_c is not None:
        nights = _usual(record, crop.set_out_night_c.value, of="nights")
    air_c = warm_dates.air_for_soil_c(crop)
    return Start(float(frost), _usual(record, air_c, of="air"), nights)


def _usual(record: Record, limit_c: float, *, of: Literal["air", "nights"]) -> float:
    """Median day of the years from which a mean holds."""
    days = record.warm_from(np.array([limit_c]), of=of)[0]
    known = days[~np.isnan(days)]
    return float(np.median(known)) if len(known) else float("nan")
