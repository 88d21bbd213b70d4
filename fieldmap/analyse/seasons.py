"""Whether frost and warmth set seasons at a place, and what can be said where not."""

import numpy as np
import numpy.typing as npt
import pandas as pd

from fieldmap.model.fact import Fact
from fieldmap.model.season_year import SeasonYear
from layers import freeze, odds

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

# Months whose mean minima differ by less set no season (a choice; near the equator they
# differ by 1 to 3 °C, on the mildest coasts of the temperate zone by 6, from memory).
WEAK_SWING_C = 5.0
# Frost in every month: in half of the years, even in the safest month (a choice).
FROSTY_SHARE = 0.5
FREEZING_C = 0.0
# A month says something from this number of nights on; two thirds of one.
FEWEST_NIGHTS = 20
# Gaps of up to this number of days are bridged in straight lines (a choice).
MOST_BRIDGED = 3
FEWEST_YEARS = 10  # from which a year in ten has been seen
ONE_IN_TEN = 0.1


def bridged(days: pd.DataFrame, file: str) -> tuple[pd.DataFrame, tuple[Fact, ...]]:
    """A record whose short gaps in temperature are bridged in straight lines.

    Parameters
    ----------
    days
        As `WeatherRecord.days`.

    Returns
    -------
    days
        Gaps of up to three days in `tmin_c` or `tmax_c` filled in between the days on
        both sides; longer ones, and those at an end, stay. What is filled in never
        crosses the other reading of its day.
    remarks
        How many readings were filled in, and how many stay missing.
    """
    filled = days.copy()
    for name in ("tmin_c", "tmax_c"):
        if not days[name].isna().all():
            filled[name] = _bridged(days[name])
    # On a day colder than both its neighbours the line between their minima may lie over
    # its own maximum.
    turned = filled["tmin_c"] > filled["tmax_c"]
    no_low = days["tmin_c"].isna()
    filled["tmin_c"] = filled["tmin_c"].mask(turned & no_low, filled["tmax_c"])
    filled["tmax_c"] = filled["tmax_c"].mask(turned & ~no_low, filled["tmin_c"])
    pair = ["tmin_c", "tmax_c"]
    before = int(days[pair].isna().to_numpy().sum())
    after = int(filled[pair].isna().to_numpy().sum())
    if before == after:
        return filled, ()
    fact = Fact(
        "gaps_bridged", file=file, number=before - after, left=after, most=MOST_BRIDGED
    )
    return filled, (fact,)


def why_no_dates(
    days: pd.DataFrame, file: str, calendar: freeze.Calendar, season: SeasonYear
) -> Fact | None:
    """Why frost and warmth set no dates here, with what the record says instead.

    Parameters
    ----------
    days
        As `WeatherRecord.days`; NaN where a reading is missing.
    file
        Name of the record in the site folder, for the facts.
    calendar
        Season-years of the same days.
    season
        Turns day numbers of a season-year into days of the calendar.

    Returns
    -------
    reason
        None where frost and warmth do set seasons, and where under a year is known.
    """
    low_c = days["tmin_c"]
    months = pd.DatetimeIndex(days.index).month.to_numpy()
    if days["tmax_c"].isna().all():
        return _of_minima_alone(low_c.to_numpy(np.float64), file, calendar, season)
    known = low_c.notna().to_numpy()
    counts = np.bincount(months[known], minlength=13)[1:]
    if counts.min() < FEWEST_NIGHTS:
        return None  # less than a year: too few springs anyway
    frosty = _frosty_shares(low_c, months)
    if frosty.min() >= FROSTY_SHARE:
        lowest_c = [_usual_lowest_c(low_c[months == month]) for month in range(1, 13)]
        safest = min(range(12), key=lambda at: (frosty[at], -lowest_c[at]))
        return Fact(
            "no_dates_frost_in_every_month",
            month=1 + safest,
            in_ten=round(10 * float(frosty[safest])),
            low_c=lowest_c[safest],
        )
    by_month = low_c.groupby(months).mean()
    swing_c = float(by_month.max() - by_month.min())
    if swing_c < WEAK_SWING_C:
        return Fact(
            "no_dates_without_seasons",
            apart_c=round(swing_c, 1),
            low_c=_usual_lowest_c(low_c),
        )
    return None


def _bridged(values: pd.Series) -> pd.Series:
    """Gaps of up to `MOST_BRIDGED` days filled in; longer ones not at all."""
    missing = values.isna()
    run = (missing != missing.shift()).cumsum()
    length = missing.groupby(run).transform("sum")
    inside = values.interpolate(limit_area="inside")
    return values.where(~missing | (length > MOST_BRIDGED), inside)


def _frosty_shares(low_c: pd.Series, months: npt.NDArray[np.int32]) -> Floats:
    """Share of years with a frost in each calendar month, (12,); years that tell."""
    years = pd.DatetimeIndex(low_c.index).year.to_numpy()
    groups = low_c.groupby([years, months])
    is_known = groups.count() >= FEWEST_NIGHTS
    has_frost = (groups.min() <= FREEZING_C)[is_known]
    shares = has_frost.groupby(level=1).mean().reindex(range(1, 13))
    return np.asarray(shares.fillna(0.0), dtype=np.float64)


def _usual_lowest_c(low_c: pd.Series) -> float:
    """Median over the years of the lowest minimum."""
    return round(
        float(low_c.groupby(pd.DatetimeIndex(low_c.index).year).min().median()), 1
    )


def _of_minima_alone(
    low_c: Floats, file: str, calendar: freeze.Calendar, season: SeasonYear
) -> Fact:
    """The station's own frost dates, one year in ten, where the years are enough."""
    last = freeze.last_in_spring(low_c, calendar, FREEZING_C)
    first = freeze.first_in_autumn(low_c, calendar, FREEZING_C)
    springs = freeze.springs_known(low_c, calendar, FREEZING_C)
    autumns = freeze.autumns_known(low_c, calendar, FREEZING_C)
    if min(springs.sum(), autumns.sum()) < FEWEST_YEARS:
        return Fact("no_dates_few_minima", file=file, enough=FEWEST_YEARS)
    after = season.early_date(float(odds.safe_after(last[springs], ONE_IN_TEN)))
    before = season.late_date(float(odds.safe_before(first[autumns], ONE_IN_TEN)))
    if after is None or before is None or not (last[springs] > 0).any():
        return Fact("no_dates_minima_without_frost", file=file)
    return Fact("no_dates_minima_alone", file=file, spring_day=after, autumn_day=before)
