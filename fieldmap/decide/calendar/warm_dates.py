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
from fieldmap.decide.calendar.monte_carlo import Draws, triangular
from fieldmap.decide.calendar.soil_warming import Ground
from fieldmap.model.crops import Crop
from layers import warmth

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.intp]


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


def soil_dates(
    record: Record,
    shifts: Shifts,
    ground: Ground,
    crop: Crop,
    draws: Draws,
) -> Floats:
    """Day from which the soil is warm enough, (draws, 1, beds)."""
    least = crop.sow_soil_c if crop.set_out_soil_c is None else crop.set_out_soil_c
    assert least is not None
    first = int(shifts.height.min())
    shifts_c = grid_c(first, int(shifts.height.max()), OTHER_STEP_C)
    table = record.warm_from(least.value - shifts_c, of="air")
    led = ground.days_led(_usual(table, record.usable)[shifts.height - first])
    follows = triangular(draws.soil, *warmth.SOIL_DAYS_PER_SUN_DAY)
    in_air = np.stack([_usual(table, years) for years in draws.years])
    days = in_air[:, shifts.height - first] - follows[:, np.newaxis] * led
    later = ground.lag_days - ground.seen_days
    return np.asarray((days + later)[:, np.newaxis, :])


def night_dates(record: Record, shifts: Shifts, crop: Crop, draws: Draws) -> Floats:
    """Day from which the mean of night minima is warm enough, (draws, covers, beds)."""
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
