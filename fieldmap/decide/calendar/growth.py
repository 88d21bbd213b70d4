"""How long crops take in the warmth of a place: to come up, and to ripen."""

import numpy as np
import numpy.typing as npt
import pandas as pd

from fieldmap.model.crops import Crop, Emergence, Growth
from fieldmap.model.season_year import DAYS, SeasonYear
from layers import warmth

Floats = npt.NDArray[np.float64]

# Days to maturity are quoted for days about as warm as this over the base: what pea, snap
# bean and sweet corn have in both measures (crops.toml), 762 / 65, 615 / 55, 875 / 77.5.
QUOTED_C = 11.4
WARMEST_DAYS = 91  # where a place has no such days, its warmest three months count
# Small pots and the check of planting: a week in trays saves half a week on the bed
# (common practice, no source).
TRAYS_SAVE = 0.5
LEAST_DAYS = 7.0  # no crop is ripe sooner (a choice)
# Under the coldest temperature at which a seed was tried it comes up ever more slowly,
# and this much colder not at all (a choice, no source).
EMERGES_DOWN_C = 5.0
# Days to the first flower are those of a spring so much warmer than usual: of a mild year,
# a warm bed or a cover. Flowers are softer than leaves, so rather too soon (a choice).
FLOWERS_WARMER_C = 3.0
# Daily means of bare soil at 5 to 10 cm lie over those of the air by the sun on it: 1 to
# 3 °C from April to June (from memory).
SOIL_OVER_AIR_C = 1.5


def usual_mean_c(days: pd.DataFrame, season: SeasonYear) -> Floats:
    """Usual mean of the air on each day of the season-year, (365,).

    Parameters
    ----------
    days
        Daily `tmin_c` and `tmax_c`, by date.
    season
        Which season-year days are counted in.
    """
    mean_c = (days["tmin_c"] + days["tmax_c"]).to_numpy(float) / 2
    return usual_by_day(mean_c, season.numbers(pd.DatetimeIndex(days.index)))


def usual_by_day(values: Floats, day_number: npt.NDArray[np.int64]) -> Floats:
    """Mean of each day of the season-year over all years, (365,).

    Days that no year knows lie between their neighbours.
    """
    mean = pd.Series(values).groupby(day_number).mean().reindex(range(1, DAYS + 1))
    return np.asarray(mean.interpolate(limit_direction="both"), float)


def usual_soil_c(mean_c: Floats, day_number: npt.NDArray[np.int64]) -> Floats:
    """Usual temperature of bare open soil at 5 to 10 cm on each day, (365,).

    Parameters
    ----------
    mean_c, day_number
        (days,) daily means of the air.
    """
    return soil_of_usual_year_c(usual_by_day(mean_c, day_number))


def soil_of_usual_year_c(usual: Floats) -> Floats:
    """The same where the usual mean of the air on each day is known, (365,)."""
    return week_c(usual) + np.float64(SOIL_OVER_AIR_C)


def week_c(usual: Floats) -> Floats:
    """Mean of each day of the usual year and of the six before it, (365,)."""
    # The last days of the year come before its first: it is like the one before.
    around = np.concatenate([usual[1 - warmth.WARM_DAYS :], usual])
    weeks = warmth.running_mean_c(around, warmth.WARM_DAYS)
    return weeks[warmth.WARM_DAYS - 1 :]


# ------------------------------------------------------------------ from seed to seedling
def emerges(soil_c: Floats, emergence: Emergence) -> Floats:
    """Day on which what is sown on each of some days is seen, as many as there are.

    Each day counts for its share of the days that seedlings take at its temperature; ∞
    where they do not come up within those days.

    Examples
    --------
    Four days at 15 °C, and the day of sowing is the first of them:

    >>> lettuce = Emergence(at_c=[10.0, 15.0], days=[7.0, 4.0], source="test")
    >>> emerges(np.full(365, 15.0), lettuce)[99].item()
    103.0
    """
    at_c, days = np.array(emergence.at_c), np.array(emergence.days)
    rate = np.interp(
        soil_c,
        np.concatenate([[at_c[0] - EMERGES_DOWN_C], at_c]),
        np.concatenate([[0.0], 1 / days]),
    )
    summed = np.concatenate([[0.0], np.cumsum(rate)])
    # Sums of shares may fall short of 1 by rounding.
    day = np.searchsorted(summed, summed[:-1] + 1 - 1e-9).astype(np.float64)
    return np.where(day > len(soil_c), np.inf, day)


def days_until_up(soil_c: Floats, emergence: Emergence) -> Floats:
    """Days from sowing on each day of the season-year until seedlings are seen, (365,).

    The year after is like this one; ∞ where they do not come up by its end.

    Examples
    --------
    >>> lettuce = Emergence(at_c=[10.0, 15.0], days=[7.0, 4.0], source="test")
    >>> days_until_up(np.full(365, 15.0), lettuce)[[0, 364]].tolist()
    [3.0, 3.0]
    """
    # What is sown in autumn may come up in spring.
    two_years = np.concatenate([soil_c, soil_c])
    return emerges(two_years, emergence)[:DAYS] - np.arange(1, DAYS + 1)


def until_up(crop: Crop, soil_c: Floats) -> Floats | None:
    """As `days_until_up` gives them for a crop.

    None where plants are set out, or where frost is judged on the day of sowing.
    """
    if crop.is_set_out or crop.emergence is None:
        return None
    return days_until_up(soil_c, crop.emergence)


def stands_from(start: float, until_up_days: Floats | None) -> float:
    """Day on which frost can first harm what begins on a day: seed is safe in the soil.

    Parameters
    ----------
    start
        Day of the season-year; ±∞ and NaN stay.
    until_up_days
        (365,) as `until_up` gives them.

    Examples
    --------
    >>> stands_from(100.0, np.full(365, 15.0)), stands_from(100.0, None)
    (115.0, 100.0)
    """
    if until_up_days is None or not np.isfinite(start):
        return start
    return start + float(until_up_days[int(min(max(start, 1), DAYS)) - 1])


def sow_from(frost: Floats, seen: Floats) -> Floats:
    """First day to sow so that nothing is seen before the frost is over.

    Parameters
    ----------
    frost
        Day numbers of any shape; ±∞ and NaN stay.
    seen
        (365,) as `emerges` gives it.
    """
    day = np.searchsorted(seen, frost).astype(np.float64) + 1
    # Days of sowing are whole and the frost may not be: never later than it.
    return np.where(np.isfinite(frost), np.minimum(day, frost), frost)


# ------------------------------------------------------------------ from start to harvest
def wanted(crop: Crop) -> tuple[float, float]:
    """What the quickest and the slowest kinds take on the bed.

    Degree days above `base_c` where the crop has them, else days as `progress` counts
    them, without those that trays save.
    """
    if crop.degree_days is not None:
        return crop.degree_days.low, crop.degree_days.high
    assert crop.days_to_maturity is not None
    return days_on_bed(crop, crop.days_to_maturity)


def days_on_bed(crop: Crop, days: Growth) -> tuple[float, float]:
    """Least and most days from its start on the bed to the first harvest."""
    saved = TRAYS_SAVE * crop.tray_days if days.counted_from == "sowing" else 0.0
    return max(days.low - saved, LEAST_DAYS), max(days.high - saved, LEAST_DAYS)


def days_until_flower(crop: Crop, usual_c: Floats) -> Floats | None:
    """Days from sowing on each day of the season-year until flowers may open, (365,).

    The least there may be: of the quickest kinds, in warmth of `FLOWERS_WARMER_C` more
    than usual. ∞ where they do not open by the end of the next year. None of a crop that
    is not known to stand less in flower, and where it is set out.

    Parameters
    ----------
    crop
        The crop.
    usual_c
        (365,) usual mean of the air on each day.
    """
    if crop.is_set_out or crop.first_flower is None:
        return None
    base_c = crop.base_c.value
    usual, warm = (
        np.maximum(mean_c - base_c, 0.0)
        for mean_c in (usual_c, usual_c + np.float64(FLOWERS_WARMER_C))
    )
    worth = progress(crop, warm, usual)
    total = np.concatenate([[0.0], np.cumsum(np.tile(worth, 2))])
    least = crop.first_flower.value * wanted(crop)[0]
    # Sums of days may fall short by rounding.
    day = np.searchsorted(total, total[:DAYS] + least - 1e-6).astype(np.float64)
    opens = np.where(day < len(total), day, np.inf)
    return np.asarray(np.maximum(opens - np.arange(1, DAYS + 1), 0.0))


def progress(crop: Crop, degree_days: Floats, usual: Floats) -> Floats:
    """What each day is worth of what a crop `wanted`.

    Its degree days; or, where the crop has days alone, one for a day as warm as days are
    quoted for and less for a colder one.

    Parameters
    ----------
    crop
        The crop, which has degree days or days to maturity.
    degree_days
        Degree days of single days above the base of the crop [K d], any shape.
    usual
        (365,) degree days of each day of the usual year [K d].

    Returns
    -------
    worth
        In the shape of `degree_days`: degree days [K d], or days from 0 to 1.
    """
    if crop.degree_days is not None:
        return degree_days
    around = np.r_[usual, usual[: WARMEST_DAYS - 1]]
    warmest = np.convolve(around, np.ones(WARMEST_DAYS), mode="valid").max()
    quoted_c = min(QUOTED_C, float(warmest) / WARMEST_DAYS)
    if quoted_c <= 0:
        return np.zeros_like(degree_days)
    return np.asarray(np.minimum(degree_days / quoted_c, 1.0))
