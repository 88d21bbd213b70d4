"""When a sowing that is wanted for some weeks must begin, or why it cannot be had."""

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from fieldmap.decide.crop_plan import growing_windows
from fieldmap.decide.crop_plan.growing_windows import CropOnClass, UsualYear
from fieldmap.decide.crop_plan.model import GrowingWindow
from fieldmap.decide.crop_plan.sowings.asked import SUCCESSION, Sowing
from fieldmap.model.season_year import DAYS, WEEKS, week_of

Bools = npt.NDArray[np.bool_]

# Why a sowing cannot be had, from what is nearest to possible on.
TOO_HOT, TOO_DARK, FROST, TOO_EARLY = "too_hot", "too_dark", "frost", "too_early"
NEXT_YEAR, FOR_NEXT_YEAR = "next_year", "for_next_year"
REASONS = (TOO_HOT, TOO_DARK, FROST, TOO_EARLY, NEXT_YEAR, FOR_NEXT_YEAR)
HOT_SHARE = 0.5  # of the days of a week (a choice)
# A first sowing that cannot be ripe before its week may be so by its middle.
MIDWEEK_DAYS = 3


def hot_weeks(year: UsualYear, limit_c: float) -> Bools:
    """Weeks of the season-year in which over half of the days are hotter, (53,)."""
    known = year.tmax_c.dropna()
    weeks = (year.season.numbers(known.index) - 1) // 7
    share = (known > limit_c).groupby(weeks).mean()
    return np.array([share.get(week, 0.0) > HOT_SHARE for week in range(WEEKS)])


def for_weeks(sowing: Sowing, where: CropOnClass, hot: Bools) -> list[GrowingWindow]:
    """Ways to have a sowing ripe for its days, bare first; none where there is none.

    Parameters
    ----------
    sowing
        The sowing, with the first and last day for which it is wanted.
    where
        Its crop on a class of beds.
    hot
        (53,) whether each week is too hot for the crop.
    """
    return [] if why_not(sowing, where, hot) else list(_windows(sowing, where))


def why_not(sowing: Sowing, where: CropOnClass, hot: Bools) -> str | None:
    """Why no window, bare or covered, is ripe for the days of a sowing; None if one is.

    Parameters
    ----------
    sowing
        The sowing, with the first and last day for which it is wanted.
    where
        Its crop on a class of beds.
    hot
        (53,) whether each week is too hot for the crop.

    Returns
    -------
    why
        One of `REASONS`.
    """
    on_any_bed = _on_no_bed(sowing, hot)
    if on_any_bed is not None or any(True for _ in _windows(sowing, where)):
        return on_any_bed
    soonest = min((where.early(at) for at, _ in where.kinds), default=np.inf)
    # Too late even from the first day, it lacks warmth; else frost or the dark comes first.
    if where.harvest(soonest) > _latest_ripe(sowing):
        return TOO_EARLY
    assert sowing.picked is not None
    _first, last = sowing.picked
    if max(where.late(at) for at, _ in where.kinds) < min(last, DAYS):
        return FROST
    is_dark = last <= DAYS or np.isfinite(where.beds.grows_until[where.number])
    return TOO_DARK if is_dark else NEXT_YEAR


def _on_no_bed(sowing: Sowing, hot: Bools) -> str | None:
    """Why it cannot be had on any bed, whatever its dates; None where it may."""
    assert sowing.picked is not None
    first, last = sowing.picked
    if sowing.crop.autumn_soil_c is not None:
        return FOR_NEXT_YEAR
    is_hot = hot[week_of(first) : week_of(last) + 1].all()
    return TOO_HOT if is_hot and sowing.crop.harvest_days else None


def _latest_ripe(sowing: Sowing) -> float:
    """Day by which it must be ripe: the middle of its first week, or its season's end."""
    assert sowing.picked is not None
    first, last = sowing.picked
    if sowing.crop.harvest_days is None:
        return last
    return min(first + MIDWEEK_DAYS, last)


def _windows(sowing: Sowing, where: CropOnClass) -> Iterator[GrowingWindow]:
    assert sowing.picked is not None
    first, last = sowing.picked
    if first > DAYS:  # the sowings of one year are planned, and what they bear in it
        return
    ready = sowing.crop.harvest_days
    dark = where.beds.grows_until[where.number]
    aim = min(first - sowing.slack_days, dark)
    latest = where.own_days.last_start(aim)
    for at, kind in where.kinds:
        start = max(latest, where.early(at))
        if not np.isfinite(start):
            continue
        ripe = where.harvest(start)
        if ripe > min(_latest_ripe(sowing), dark):
            continue
        # Of what bears until frost the last weeks may be lost, of others none.
        late = where.late(at)
        stands = late if ready is None else min(ripe + ready - 1, late)
        to_day = min(stands, last) if ready is None else stands
        if to_day < (ripe if ready is None else last):
            continue
        uses = growing_windows.covers_over(where, kind, (start, to_day)) if at else ()
        if at and not uses:
            continue  # as well without
        uses = growing_windows.left_on(uses)
        yield GrowingWindow(SUCCESSION, int(start), int(ripe), int(to_day), uses)
