"""The end of the season: until when a bed has light to grow, and the last sowing.

Frost ends a crop; want of light stops its growth before that. A crop for autumn must be
sown so early that its warmth adds up before either.
"""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from fieldmap.analyse.climatology import Record
from fieldmap.decide.calendar import growth
from fieldmap.model.crops import Crop
from fieldmap.model.season_year import DAYS, SeasonYear, daily_of_months
from layers import odds, sunlight, warmth

Floats = npt.NDArray[np.float64]

FROM_DAY = 182  # the half of the season-year in which growth may end
# Years of which more of the days that count are missing are left out (a choice).
MOST_MISSING = 10
FEWEST_YEARS = 2
ROUNDING = 1e-9  # of sums


def grows_until(
    season: SeasonYear, sun_mj_m2_day: Floats, crops: Sequence[Crop]
) -> Floats:
    """First day of the second half-year without light enough to grow, (crops, beds).

    In straight lines between the middles of months.

    Parameters
    ----------
    season
        The year of growing, in which days are numbered.
    sun_mj_m2_day
        (12, beds) light on the plants of each bed [MJ/m² a day], January first; NaN
        where the ground is not known.
    crops
        Crops, at least one, with the least light in which each grows [mol/m² a day].

    Returns
    -------
    days
        Day numbers of the season-year; ∞ where the light always suffices, NaN where it
        is not known.
    """
    months_mol = np.asarray(sunlight.daily_light_integral_mol(sun_mj_m2_day))
    daily = season.from_january(daily_of_months(months_mol.T, np.arange(DAYS) + 0.5))
    late = daily[:, FROM_DAY:]
    found = []
    for crop in crops:
        dark = late < crop.least_light
        first = FROM_DAY + 1.0 + dark.argmax(axis=-1)
        until = np.where(dark.any(axis=-1), first, np.inf)
        found.append(np.where(np.isnan(daily).any(axis=-1), np.nan, until))
    return np.stack(found)


def last_sowing(record: Record, crop: Crop, ends: Floats, risk: float) -> Floats:
    """Last day to sow, or to set out what is set out, for a harvest by the season's end.

    Year by year what the days are worth is counted back from the end until it is enough
    for the slowest kinds; the day is one that is late in the given share of years only.

    Parameters
    ----------
    record
        Weather record of the station, whose daily warmth counts. Years with more than
        `MOST_MISSING` unknown days are left out.
    crop
        The crop: its base temperature, and the growth that it wants to be ripe.
    ends
        Day numbers of the season-year on which growth ends, any shape; ∞ is the end of
        the season-year, NaN stays NaN.
    risk
        Share of years in which the harvest may come too late, above 0 and below 1.

    Returns
    -------
    days
        Day numbers of the season-year, in the shape of `ends`; NaN where the warmth of
        a season is not enough, or not known.

    Raises
    ------
    ValueError
        When the risk is not above 0 and below 1, where years are known.
    """
    warm = _daily_warmth(record, crop)
    if len(warm) < FEWEST_YEARS:
        return np.full(ends.shape, np.nan)
    # Days as warm as those quoted are looked for in the mean of the years.
    worth = growth.progress(crop, warm, warm.mean(axis=0))
    needed = growth.wanted(crop)[1] - ROUNDING
    summed = np.concatenate(
        [np.zeros((len(warm), 1)), np.cumsum(worth, axis=1)], axis=1
    )
    # Once for each day on which growth may end, as thousands of beds share 366 of them.
    by_end = np.stack([_start(summed, end, needed) for end in range(DAYS + 1)], axis=-1)
    latest = odds.safe_before(np.moveaxis(by_end, 0, -1), risk)
    latest = np.where(np.isfinite(latest) & (latest >= 1), latest, np.nan)
    # The day of the end is lost: growth counts to the one before.
    at = np.clip(np.nan_to_num(ends, posinf=DAYS + 1) - 1, 0, DAYS).astype(np.intp)
    return np.where(np.isnan(ends), np.nan, latest[at])


def _start(summed: Floats, end: int, needed: float) -> Floats:
    """Latest day of each year from which growth up to a day is enough; 0 if none is."""
    from_day = summed[:, end, np.newaxis] - summed[:, : end + 1]
    days: Floats = (from_day >= needed).sum(axis=1).astype(np.float64)
    return days


def _daily_warmth(record: Record, crop: Crop) -> Floats:
    """Degree days of each day of the years that are known, (years, 365)."""
    # The record keeps minimum and mean, from which the maximum follows.
    spread = record.mean_c - record.tmin_c
    daily = warmth.degree_days_average(
        record.tmin_c, record.mean_c + spread, crop.base_c.value
    )
    table = np.full((len(record.calendar.years), DAYS), np.nan)
    year, number = record.calendar.year_index, record.calendar.day_number
    counts = np.diff(number, prepend=0) != 0  # 29 February shares a number: left out
    table[year[counts], number[counts] - 1] = daily[counts]
    known = np.isnan(table).sum(axis=1) <= MOST_MISSING
    # A missing day adds nothing, which is on the safe side.
    return np.asarray(np.where(np.isnan(table), 0.0, table)[known])
