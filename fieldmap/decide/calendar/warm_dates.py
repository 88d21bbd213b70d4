"""When the soil and the nights of each bed are warm enough for a crop."""

import numpy as np
import numpy.typing as npt

from fieldmap.analyse.climatology import Record
from fieldmap.decide.calendar.bed_temperatures import (
    CLEAR_STEP_C,
    OTHER_STEP_C,
    Shifts,
    grid_c,
    in_steps,
)
from fieldmap.decide.calendar.growth import (
    SOIL_OVER_AIR_C,
    usual_by_day,
    usual_soil_c,
    week_c,
)
from fieldmap.decide.calendar.monte_carlo import Draws, triangular
from fieldmap.decide.calendar.soil_warming import Ground
from fieldmap.model.crops import Crop
from layers import warmth

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.intp]

HALF_YEAR = 182  # days of the season-year before its second half


def _usual(dates: Floats, years: Whole) -> Floats:
    """Median of the dates of a draw's years that are known, (rows,)."""
    known = np.asarray(~np.isnan(dates).any(axis=0))
    taken = years[known[years]]
    if not len(taken):
        taken = np.flatnonzero(known)
    if not len(taken):
        return np.full(len(dates), np.nan)
    # The mean of the two middle years, which for an odd number are one: ∞ stays ∞.
    ordered = np.sort(dates[:, taken], axis=-1)
    middle = (len(taken) - 1) / 2
    return np.asarray((ordered[:, int(middle)] + ordered[:, int(np.ceil(middle))]) / 2)


def least_soil_c(crop: Crop) -> float:
    """Lowest temperature of the soil at which a crop begins on the bed."""
    least = crop.sow_soil_c if crop.set_out_soil_c is None else crop.set_out_soil_c
    assert least is not None
    return least.value


def air_for_soil_c(crop: Crop) -> float:
    """Mean of the air at which open soil has what the crop wants."""
    return least_soil_c(crop) - SOIL_OVER_AIR_C


def soil_dates(
    record: Record,
    shifts: Shifts,
    ground: Ground,
    crop: Crop,
    draws: Draws,
) -> Floats:
    """Day of the season-year from which the soil is warm enough, (draws, 1, beds).

    Parameters
    ----------
    record
        Weather record of the station, whose means of the air the soil follows.
    shifts
        What is added to the record on each bed: here the height of the beds.
    ground
        By how many days the soil of each bed is ahead of the air or behind it.
    crop
        The crop, with the least soil temperature at which it begins on the bed.
    draws
        Draws of what is not known: here how far soil follows the sun, and the years.
    """
    first = int(shifts.height.min())
    shifts_c = grid_c(first, int(shifts.height.max()), OTHER_STEP_C)
    table = record.warm_from(air_for_soil_c(crop) - shifts_c, of="air")
    # The lead hangs on the day, and the day on the lead: it is read on the day that the
    # air alone would give, once for all draws.
    led = ground.days_led(_usual(table, record.usable)[shifts.height - first])
    follows = triangular(draws.soil, *warmth.SOIL_DAYS_PER_SUN_DAY)
    in_air = np.stack([_usual(table, years) for years in draws.years])
    days = in_air[:, shifts.height - first] - follows[:, np.newaxis] * led
    later = ground.lag_days - ground.seen_days
    return np.asarray((days + later)[:, np.newaxis, :])


def night_dates(record: Record, shifts: Shifts, crop: Crop, draws: Draws) -> Floats:
    """Day of the season-year from which nights are warm enough, (draws, covers, beds).

    By the mean of the night minima. One -∞, (1, 1, 1), for a crop without such a limit.

    Parameters
    ----------
    record
        Weather record of the station, with its night minima.
    shifts
        What is added to those minima on each bed, under each cover, in each draw.
    crop
        The crop, with the least mean of nights at which it is set out, if it has one.
    draws
        Draws of what is not known: here the years.
    """
    if crop.set_out_night_c is None:
        return np.full((1, 1, 1), -np.inf)
    # A mean of nights is shifted by the mean of the shifts of its nights.
    mean_c = np.stack(
        [shifts.mean_c(record.kind_shares, k) for k in range(len(draws.years))]
    )
    steps = in_steps(mean_c, CLEAR_STEP_C)
    first = int(steps.min())
    shifts_c = grid_c(first, int(steps.max()), CLEAR_STEP_C)
    table = record.warm_from(crop.set_out_night_c.value - shifts_c, of="nights")
    return np.stack(
        [
            _usual(table, years)[at - first]
            for years, at in zip(draws.years, steps, strict=True)
        ]
    )


def slackens(record: Record, shifts: Shifts, crop: Crop, draws: Draws) -> Floats:
    """First day after the warmest nights on which a crop that bears slackens.

    The usual lows, of all years and over a week, are under its limit from then on.

    Parameters
    ----------
    record
        Weather record of the station, with its night minima.
    shifts
        What is added to those minima on each bed, under each cover; the median of the
        draws counts.
    crop
        The crop, with the night low under which it bears less, if it has one.
    draws
        Draws of what is not known, as many as `shifts` has.

    Returns
    -------
    days
        (covers, beds) day numbers of the season-year; ∞ where they never are, NaN for
        crops without such a limit.
    """
    if crop.bears_night_c is None:
        return np.full((shifts.base.shape[1], len(shifts.height)), np.nan)
    count = len(draws.years)
    shift_c = np.median(
        [shifts.mean_c(record.kind_shares, draw) for draw in range(count)], axis=0
    )
    lows = week_c(usual_by_day(record.tmin_c, record.calendar.day_number))
    # Nights of spring are as cool: only what comes after the warmest week ends a crop.
    warmest = int(lows.argmax())
    # The highest low that is still to come: it falls all the way to the year's end.
    to_come = np.maximum.accumulate(lows[warmest:][::-1])[::-1]
    limit_c = crop.bears_night_c.value - shift_c
    cooler = np.searchsorted(-to_come, -limit_c, side="right")
    return np.where(cooler < len(to_come), warmest + 1.0 + cooler, np.inf)


def cool_from(record: Record, shifts: Shifts, crop: Crop) -> Floats:
    """First day on which soil that cools again is cool enough to plant, (beds,).

    In the second half-year, and after the warmest day of the year.

    Parameters
    ----------
    record
        Weather record of the station, whose daily means of the air the soil follows.
    shifts
        What is added to the record on each bed: here the height of the beds.
    crop
        A crop with a most soil temperature at which it is planted in autumn
        (`autumn_soil_c`).

    Returns
    -------
    days
        Day numbers of the season-year; ∞ where the soil stays too warm.
    """
    assert crop.autumn_soil_c is not None
    usual = usual_soil_c(record.mean_c, record.calendar.day_number)
    # By a cold sea the warmest days come late, and soil of June may be cool as well.
    begins = max(HALF_YEAR, int(usual.argmax()))
    later = usual[begins:, np.newaxis] + OTHER_STEP_C * shifts.height
    is_cool = later <= crop.autumn_soil_c.value
    return np.where(is_cool.any(axis=0), begins + 1.0 + is_cool.argmax(axis=0), np.inf)
