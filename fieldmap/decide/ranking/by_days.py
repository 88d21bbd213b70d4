"""The order of beds by the day on which a crop can go out, draw by draw."""

import numpy as np
import numpy.typing as npt

from fieldmap.decide.calendar import monte_carlo
from fieldmap.decide.ranking.groups import name_groups
from fieldmap.model.estimate import Estimate

Floats = npt.NDArray[np.float64]

# Beds that differ by fewer days tie.
FEWEST_DAYS = 2.0
FIRST_PART = 0.2  # of the beds, that are counted as the first ones in files (a choice)


def order(days: Floats) -> npt.NDArray[np.intp]:
    """Beds by their central day, those that are not known last."""
    return np.argsort(monte_carlo.percentiles(days)[1], kind="stable")


def ranks(days: Floats) -> npt.NDArray[np.intp]:
    """Places from 1 of beds by their days, (beds, draws); those that tie share one."""
    beds = order(days)
    found = np.empty(len(beds), np.intp)
    begin = 0
    while begin < len(beds):
        behind = _tie(_later(days[beds[begin:]], days[beds[begin]]))
        # The leader ties with itself, also where its day is not known.
        behind[0] = True
        # Up to the first bed that does not tie with the leader.
        count = len(behind) if behind.all() else int(np.argmin(behind))
        found[beds[begin : begin + count]] = begin + 1
        begin += count
    return found


def groups(days: Floats) -> list[str]:
    """Who ties with the first bed, and who with the last whose days are known."""
    beds = order(days)
    known = beds[~np.isnan(days[beds]).any(axis=-1)]
    # A bed of which nothing is known is not the last one to plant.
    last = (known if len(known) else beds)[-1]
    return name_groups(ranks(days) == 1, _tie(_later(days, days[last])))


def days_after_first(days: Floats) -> list[Estimate | None]:
    """How much later than the first bed; None where it is not known."""
    later = monte_carlo.percentiles(_later(days, days[order(days)[0]])).T
    return [
        Estimate(*each) if np.isfinite(each).all() else None for each in later.tolist()
    ]


def among_first_share(days: Floats) -> Floats:
    """Share of draws in which a bed is among the first fifth; ties count as first."""
    count = max(1, round(FIRST_PART * len(days)))
    known = np.where(np.isnan(days), np.inf, days)
    # Not known is not first: put behind all others, and never counted.
    last = np.sort(known, axis=0)[count - 1]
    return np.asarray(((known <= last) & np.isfinite(known)).mean(axis=1))


def nights_make_later(
    days: Floats, nights_decide: npt.NDArray[np.bool_]
) -> list[bool | None]:
    """Whether nights make a bed later than the first, and not soil; None for the first.

    None also for a bed that shares the place of the first.
    """
    later = days > days[order(days)[0]]
    by_nights = (later & nights_decide).sum(axis=1)
    return [
        bool(2 * part >= whole) if whole and place > 1 else None
        for part, whole, place in zip(
            by_nights, later.sum(axis=1), ranks(days), strict=True
        )
    ]


def _later(days: Floats, leader: Floats) -> Floats:
    """Days by which beds are later than another, draw by draw; alike where both never."""
    with np.errstate(invalid="ignore"):
        return np.where(days == leader, 0.0, days - leader)


def _tie(later: Floats) -> npt.NDArray[np.bool_]:
    """Whether a difference, (..., draws), may go either way or is too small to matter.

    A range that begins at none goes one way only: the nights that decide are then not
    always still ones, and move no date.
    """
    low, central, high = monte_carlo.percentiles(later)
    return np.asarray(((low < 0) & (high > 0)) | (np.abs(central) < FEWEST_DAYS))
