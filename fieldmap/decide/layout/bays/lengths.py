"""Which lengths beds have: as few as possible, from what tapes and rolls of cover give.

A standard bed fits the tape, and with both ends of its cover divides the roll without
much left. Lengths and what is gathered at the ends are common practice, no source.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from fieldmap.decide.layout.bays import lattice
from fieldmap.decide.layout.bays.few import (
    MOST_LOST,
    STANDARD_SHARE,
    best_shorter,
    uneven_shorter,
)
from fieldmap.decide.layout.bays.lattice import ENDLESS_M, TINY_M, Fit, Lengths
from fieldmap.decide.layout.bays.rows import Clear
from fieldmap.decide.materials.cover_size import GATHERED_M
from fieldmap.model.settings import Beds, Units

Floats = npt.NDArray[np.float64]

FOOT_M = 0.3048
# Usual lengths of beds; the longest ends short of a tape of 30 m or 100 ft (common
# practice, no source).
USUAL_M = {
    "metric": (15.0, 20.0, 25.0, 29.5),
    "us": (50 * FOOT_M, 98 * FOOT_M),
}
# Other lengths come in such steps.
STEP_M = {"metric": 0.5, "us": 2 * FOOT_M}
MOST_SHORTER = 6
# Ground that lengths fill to a smaller share gets one of its own (a choice).
ENOUGH_SHARE = 0.5
# What one more length is worth in ground or cover (a choice, no source).
LENGTH_COST = 0.02


class Standard(NamedTuple):
    """Lengths for a whole site, and what they come to.

    Attributes
    ----------
    lengths
        Without the slack of any ground.
    lost_share
        Of the bed of the densest layout with the same bays and lanes, 0-1.
    standard_share
        Of all bed, in the two lengths that most of it has.
    roll_left_m
        Of each roll, once cut for the length that most of it has.
    """

    lengths: Lengths
    lost_share: float
    standard_share: float
    roll_left_m: float


class _Tried(NamedTuple):
    """What lengths come to on all ground.

    Attributes
    ----------
    by_length_m
        Metres of bed by length.
    densest_m
        Of rows as long as each bay is clear.
    """

    lengths: Lengths
    by_length_m: dict[float, float]
    densest_m: float

    @property
    def planted_m(self) -> float:
        return sum(self.by_length_m.values())

    @property
    def lost_share(self) -> float:
        return max(0.0, 1.0 - self.planted_m / self.densest_m)

    @property
    def standard_share(self) -> float:
        two = sorted(self.by_length_m.values())[-2:]
        return sum(two) / self.planted_m if two else 0.0

    @property
    def usual_m(self) -> float:
        """The length that most bed has."""
        by_length = self.by_length_m
        return max(by_length, key=lambda each: (by_length[each], each), default=0.0)

    @property
    def missed(self) -> float:
        """By how much too little is standard and too much given up."""
        too_few = max(0.0, STANDARD_SHARE - self.standard_share)
        return round(too_few + max(0.0, self.lost_share - MOST_LOST), 4)

    def cost(self, most_m: float, roll_m: float) -> tuple[float, float]:
        """What is missed, then ground and cover given up, as shares."""
        ground = 1.0 - self.planted_m / most_m
        cover = roll_left_m(self.usual_m, roll_m) / roll_m
        return self.missed, round(
            ground + cover + LENGTH_COST * len(self.by_length_m), 6
        )


def wished(choices: Beds, units: Units) -> list[Lengths]:
    """Bays that may be tried, with any length of shorter beds."""
    if choices.any_length:
        return [_lengths(ENDLESS_M, choices)]
    if choices.length_m is not None:
        return [_lengths(choices.length_m, choices)]
    usual = [each for each in USUAL_M[units] if each < choices.tape_m]
    usual = [each for each in usual if each >= choices.shortest_m]
    longest_m = max(choices.shortest_m, choices.tape_m - STEP_M[units])
    return [_lengths(each, choices) for each in usual or [longest_m]]


def _lengths(bay_m: float, choices: Beds) -> Lengths:
    return Lengths(bay_m, choices.across_m, choices.shortest_m)


def roll_left_m(length_m: float, roll_m: float) -> float:
    """What is left of a roll cut into covers for beds of a length.

    Examples
    --------
    Four covers of 20 m and 2.5 m for their ends are 90 m:

    >>> roll_left_m(20.0, 100.0)
    10.0
    """
    piece_m = length_m + GATHERED_M
    return roll_m - (roll_m + TINY_M) // piece_m * piece_m


def choose(grounds: Sequence[Clear], choices: Beds, units: Units) -> Standard:
    """The lengths of all beds of a site.

    The usual lengths are tried first; where none of them leaves enough bed standard and
    little enough ground given up, every second step is. What the grower chose stands.

    Parameters
    ----------
    grounds
        Clear rows of every piece of ground of the site.
    choices
        What the grower says of lengths, tape and roll, and widths of beds.
    units
        Metric or US units, which set the usual lengths and the step between others.

    Returns
    -------
    Standard
        Where no bed fits anywhere, the last bay tried with nothing lost.
    """
    tried = wished(choices, units)
    found = [each for bay in tried for each in _of_bay(grounds, bay, choices, units)]
    # Rows as long as their ground have many lengths, as the grower asked for.
    is_free = choices.length_m is None and not choices.any_length
    if is_free and min((each.missed for each in found), default=1):
        step_m = STEP_M[units]
        longest_m = max((_longest_m(each) for each in grounds), default=0.0)
        most_m = min(choices.tape_m - step_m, longest_m + step_m)
        for bay_m in _grid(choices.shortest_m, most_m, 2 * step_m):
            bay = _lengths(float(bay_m), choices)
            found += _of_bay(grounds, bay, choices, units)
    if not found:
        return Standard(tried[-1], 0.0, 1.0, 0.0)
    most_m = max(each.densest_m for each in found) or 1.0
    best = min(found, key=lambda each: each.cost(most_m, choices.roll_m))
    lengths = _with_beds_everywhere(grounds, best.lengths, choices, units)
    laid = _laid(grounds, lengths, best.densest_m)
    return Standard(
        lengths,
        laid.lost_share,
        laid.standard_share,
        roll_left_m(laid.usual_m, choices.roll_m),
    )


def _with_beds_everywhere(
    grounds: Sequence[Clear], lengths: Lengths, choices: Beds, units: Units
) -> Lengths:
    """The same with a length of its own for ground where hardly one of them fits.

    A small plot gives little to a large site, and must not stay empty for that.
    """
    # Rows that are not cut fill all ground, and a second length is the only other one.
    if lengths.shorter_m is None or choices.second_length_m is not None:
        return lengths
    grid_m = _grid(choices.shortest_m, lengths.bay_m - TINY_M, STEP_M[units])
    free = replace(lengths, shorter_m=None)
    most = [(each, lattice.best_fit(each, free)) for each in grounds]
    for _more in range(MOST_SHORTER):
        poor = [
            fit.leftover_m
            for each, fit in most
            if fit is not None
            and _planted_m(each, lengths) < ENOUGH_SHARE * fit.planted_m(free)
        ]
        if not poor:
            break
        more = best_shorter(np.concatenate(poor), 1, grid_m)
        every = sorted({*(lengths.shorter_m or ()), *more})
        lengths = replace(lengths, shorter_m=tuple(every))
    return lengths


def _planted_m(ground: Clear, lengths: Lengths) -> float:
    fit = lattice.best_fit(ground, lengths)
    return 0.0 if fit is None else fit.planted_m(lengths)


def _laid(grounds: Sequence[Clear], lengths: Lengths, densest_m: float) -> _Tried:
    """What lengths come to where bays lie as suits them."""
    fits = [lattice.best_fit(each, lengths) for each in grounds]
    return _tried([each for each in fits if each is not None], lengths, densest_m)


def _longest_m(clear: Clear) -> float:
    return float((clear.end - clear.start).max(initial=0.0))


def _grid(shortest_m: float, longest_m: float, step_m: float) -> Floats:
    first = np.ceil(shortest_m / step_m - TINY_M)
    return np.round(np.arange(first, longest_m / step_m + TINY_M) * step_m, 4)


def _of_bay(
    grounds: Sequence[Clear], bay: Lengths, choices: Beds, units: Units
) -> Iterator[_Tried]:
    """The fewest shorter lengths that will do with bays of one length, if any will."""
    fits = [lattice.best_fit(each, bay) for each in grounds]
    here = [each for each in fits if each is not None]
    if not here:
        return
    leftover_m = np.concatenate([each.leftover_m for each in here])
    # What is lost is judged against every metre alike, whole beds or not.
    densest = [lattice.best_fit(each, bay, leftover_worth=1.0) for each in grounds]
    densest_m = sum(each.planted_m(bay) for each in densest if each is not None)
    if not densest_m:
        return
    if bay.bay_m >= ENDLESS_M:
        yield _tried(here, bay, densest_m)
        return
    if choices.second_length_m is not None:
        only = replace(bay, shorter_m=(choices.second_length_m,))
        yield _tried(here, only, densest_m)
        return
    grid_m = _grid(choices.shortest_m, bay.bay_m - TINY_M, STEP_M[units])
    for count in range(MOST_SHORTER + 1):
        shorter_m = best_shorter(leftover_m, count, grid_m)
        found = _tried(here, replace(bay, shorter_m=shorter_m), densest_m)
        yield found
        # The ground may hold fewer lengths than are asked for: more change nothing.
        if not found.missed or len(shorter_m) < count:
            break
    if found.missed:
        uneven_m = uneven_shorter(
            leftover_m, sum(each.whole for each in here) * bay.bay_m, grid_m, densest_m
        )
        if uneven_m is not None:
            yield _tried(here, replace(bay, shorter_m=uneven_m), densest_m)


def _tried(fits: Sequence[Fit], lengths: Lengths, densest_m: float) -> _Tried:
    whole = sum(each.whole for each in fits)
    shorter_m = lengths.of_leftovers(np.concatenate([each.leftover_m for each in fits]))
    values, counts = np.unique(np.round(shorter_m, 4), return_counts=True)
    by_length_m = {
        float(each): float(each * number)
        for each, number in zip(values, counts, strict=True)
        if each
    }
    if whole:
        by_length_m[lengths.bay_m] = whole * lengths.bay_m
    return _Tried(lengths, by_length_m, densest_m)
