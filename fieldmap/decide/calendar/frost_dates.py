"""Last frost of spring and first of autumn on each bed, under each cover, at a risk."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from fieldmap.analyse.climatology import FEWEST_YEARS, Record
from fieldmap.decide.calendar.bed_temperatures import (
    CLEAR_STEP_C,
    OTHER_STEP_C,
    Shifts,
    grid_c,
    stirred,
)
from fieldmap.decide.calendar.monte_carlo import Draws
from fieldmap.model.crops import Crop
from layers import odds

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.intp]


class _Freezes(NamedTuple):
    """Freezes of the nights of one kind at every shift that comes up.

    Attributes
    ----------
    taken_c
        Whole degrees that wind takes of them.
    """

    first_step: int
    taken_c: int
    last: Floats
    first: Floats

    @classmethod
    def at(
        cls,
        steps: Whole,
        limit_c: float,
        step_c: float,
        record: Record,
        taken_c: int | None = None,
    ) -> _Freezes:
        """Of nights of which wind takes so much; of those not clear and calm if None."""
        first_step = int(steps.min())
        limits_c = limit_c - grid_c(first_step, int(steps.max()), step_c)
        if taken_c is None:
            found = record.other_freezes(limits_c)
        else:
            found = record.still_freezes(limits_c, taken_c)
        return cls(first_step, taken_c or 0, found.last, found.first)

    def years(self, steps: Whole) -> tuple[Floats, Floats]:
        """Last freezes of spring and first of autumn, (steps, years) each."""
        at = steps - self.first_step
        return self.last[at], self.first[at]


def frost_dates(
    record: Record, shifts: Shifts, crop: Crop, risk: float, draws: Draws
) -> tuple[Floats, Floats]:
    """Date after the last freeze of spring, and before the first of autumn.

    (draws, covers, beds) each. A year's last freeze is the latest one of its other
    nights and of its clear calm ones by what wind takes of them, and each of these
    depends on one shift alone.
    """
    clear_limit_c = crop.screen_damage_c.central
    other = _Freezes.at(shifts.other, crop.damage_c.value, OTHER_STEP_C, record)
    still = [
        _Freezes.at(shifts.reach, clear_limit_c, CLEAR_STEP_C, record, taken_c)
        for taken_c in record.clear_shares or {0: 0.0}
    ]
    known = record.known(clear_limit_c)
    shape = (*shifts.base.shape, len(shifts.height))
    spring, autumn = np.empty(shape), np.empty(shape)
    from_offset, from_other = int(shifts.offset.min()), int(shifts.other.min())
    offsets = int(shifts.offset.max()) - from_offset + 1
    others = int(shifts.other.max()) - from_other + 1
    covers = np.arange(shape[1])[:, np.newaxis]
    for draw, years in enumerate(draws.years):
        code = covers * offsets + shifts.offset[draw] - from_offset
        used, back = _used(code * others + shifts.other - from_other)
        clear, at_other = np.divmod(used, others)
        cover, offset = np.divmod(clear, offsets)
        last, first = other.years(at_other + from_other)
        for each in still:
            left = stirred(offset + from_offset, each.taken_c)
            later, sooner = each.years(shifts.base[draw, cover] + left)
            last, first = np.maximum(last, later), np.minimum(first, sooner)
        spring[draw] = _safe_after(last, known.springs, years, risk)[back]
        autumn[draw] = _safe_before(first, known.autumns, years, risk)[back]
    return spring, autumn


def _used(code: Whole) -> tuple[Whole, Whole]:
    """The distinct codes, and where each stands among them; quicker than sorting."""
    seen = np.zeros(int(code.max()) + 1, np.bool_)
    seen[code] = True
    place = np.cumsum(seen) - 1
    return np.flatnonzero(seen), place[code]


def _of_draw(
    dates: Floats, known: npt.NDArray[np.bool_], years: Whole
) -> tuple[Floats, bool]:
    """Dates of the known years of a draw, and whether they are enough for odds."""
    enough = int(known.sum()) >= FEWEST_YEARS
    taken = years[known[years]] if enough else np.flatnonzero(known)
    if enough and len(taken) < FEWEST_YEARS:
        taken = np.flatnonzero(known)
    return dates[:, taken], enough


def _safe_after(
    dates: Floats, known: npt.NDArray[np.bool_], years: Whole, risk: float
) -> Floats:
    """Date of the spring's last freeze at a risk; the safe side of few years."""
    yearly, enough = _of_draw(dates, known, years)
    if enough:
        return odds.safe_after(yearly, risk)
    return _of_few_years(yearly, risk)[1]


def _safe_before(
    dates: Floats, known: npt.NDArray[np.bool_], years: Whole, risk: float
) -> Floats:
    """Date of the autumn's first freeze at a risk; the safe side of few years."""
    yearly, enough = _of_draw(dates, known, years)
    if enough:
        return odds.safe_before(yearly, risk)
    return _of_few_years(yearly, risk)[0]


def _of_few_years(yearly: Floats, risk: float) -> tuple[Floats, Floats]:
    """Low and high of the next year's date; the years' own ends with a single freeze."""
    if yearly.shape[-1] < 2:
        return np.full(len(yearly), np.nan), np.full(len(yearly), np.nan)
    low, high = odds.few_years_range(yearly, risk)
    return (
        np.where(np.isnan(low), yearly.min(axis=-1), low),
        np.where(np.isnan(high), yearly.max(axis=-1), high),
    )
