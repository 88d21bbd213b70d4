"""Last frost of spring and first of autumn on each bed, under each cover, at a risk."""

from collections.abc import Callable

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


def _freezes(
    record: Record,
    steps: Whole,
    limit_c: float,
    step_c: float,
    taken_c: int | None = None,
) -> Callable[[Whole], tuple[Floats, Floats]]:
    """Last freezes of spring and first of autumn at steps of a shift, (steps, years).

    Of nights of which wind takes so much; of those not clear and calm if None.
    """
    first, most = int(steps.min()), int(steps.max())
    limits_c = limit_c - grid_c(first, most, step_c)
    in_spring, in_autumn = record.freezes(limits_c, taken_c)
    return lambda at: (in_spring[at - first], in_autumn[at - first])


def frost_dates(
    record: Record, shifts: Shifts, crop: Crop, risk: float, draws: Draws
) -> tuple[Floats, Floats]:
    """Date after the last freeze of spring, and before the first of autumn.

    (draws, covers, beds) each. A year's last freeze is the latest one of its other
    nights and of its clear calm ones by what wind takes of them, and each of these
    depends on one shift alone.
    """
    clear_limit_c = crop.screen_damage_c.central
    on_others = _freezes(record, shifts.other, crop.damage_c.value, OTHER_STEP_C)
    on_still = {
        taken_c: _freezes(record, shifts.reach, clear_limit_c, CLEAR_STEP_C, taken_c)
        for taken_c in record.clear_shares or (0,)
    }
    springs, autumns = record.known(clear_limit_c)
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
        last, first = on_others(at_other + from_other)
        for taken_c, freezes in on_still.items():
            left = stirred(offset + from_offset, taken_c)
            later, sooner = freezes(shifts.base[draw, cover] + left)
            last, first = np.maximum(last, later), np.minimum(first, sooner)
        spring[draw] = _at_risk(last, springs, years, risk)[back]
        autumn[draw] = _at_risk(first, autumns, years, risk, autumn=True)[back]
    return spring, autumn


def _used(code: Whole) -> tuple[Whole, Whole]:
    """The distinct codes, and where each stands among them; quicker than sorting."""
    seen = np.zeros(int(code.max()) + 1, np.bool_)
    seen[code] = True
    place = np.cumsum(seen) - 1
    return np.flatnonzero(seen), place[code]


def _at_risk(
    dates: Floats,
    known: npt.NDArray[np.bool_],
    years: Whole,
    risk: float,
    *,
    autumn: bool = False,
) -> Floats:
    """Date after the last freeze of the known years of a draw, or before the first.

    The safe side of the range where years are too few for odds.
    """
    enough = int(known.sum()) >= FEWEST_YEARS
    taken = years[known[years]]
    if not enough or len(taken) < FEWEST_YEARS:
        taken = np.flatnonzero(known)
    yearly = dates[:, taken]
    if enough:
        return (odds.safe_before if autumn else odds.safe_after)(yearly, risk)
    low, high = _of_few_years(yearly, risk)
    return low if autumn else high


def _of_few_years(yearly: Floats, risk: float) -> tuple[Floats, Floats]:
    """Low and high of the next year's date; the years' own ends with a single freeze."""
    if yearly.shape[-1] < 2:
        return np.full(len(yearly), np.nan), np.full(len(yearly), np.nan)
    low, high = odds.few_years_range(yearly, risk)
    return (
        np.where(np.isnan(low), yearly.min(axis=-1), low),
        np.where(np.isnan(high), yearly.max(axis=-1), high),
    )
