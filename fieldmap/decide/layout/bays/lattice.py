"""Clear rows -> beds of few lengths in bays: one set of square ends for all rows.

Bays of one bed length follow each other along the rows, with a path across between
them. What is left of a bay where the ground ends gets a shorter bed, square with the
others at one of its ends.
"""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from fieldmap.decide.layout.bays.rows import Clear, Rows

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.intp]

TINY_M = 1e-6
# Where bays begin, tried over the length of one and its path.
PHASES = 12
# What a metre in a shorter bed is worth beside one in a whole bed (a choice).
LEFTOVER_WORTH = 0.9
# Beds square with no others begin at one of these, so that neighbours share a line.
LINE_M = 0.5
# Longer than any row: then a row is one bed.
ENDLESS_M = 1e6


@dataclass(frozen=True)
class Lengths:
    """Which lengths beds may have.

    Attributes
    ----------
    bay_m
        Of a whole bed and of a bay; `ENDLESS_M` where rows are not cut.
    across_m
        Path across between two bays.
    shortest_m
        Of any bed.
    shorter_m
        Those of shorter beds, rising; None where any will do.
    slack_m
        By which a bay may be shorter on the map than along the ground.
    """

    bay_m: float
    across_m: float
    shortest_m: float
    shorter_m: tuple[float, ...] | None = None
    slack_m: float = 0.0

    @property
    def pitch_m(self) -> float:
        """From one bay to the next."""
        return self.bay_m + self.across_m

    def with_slack(self, share: float) -> "Lengths":
        """The same on ground where a bed may be shorter on the map by a share."""
        cut = self.bay_m < ENDLESS_M
        return replace(self, slack_m=share * self.bay_m if cut else 0.0)

    def of_leftovers(self, clear_m: Floats) -> Floats:
        """The longest bed that each shorter clear length holds; 0 for none."""
        if self.shorter_m is None:
            return np.where(clear_m >= self.shortest_m - TINY_M, clear_m, 0.0)
        steps = np.array([0.0, *self.shorter_m])
        number = np.searchsorted(steps, clear_m + TINY_M, side="right") - 1
        return np.asarray(steps[np.maximum(number, 0)])


class Slots(NamedTuple):
    """What bays hold of each clear row.

    Attributes
    ----------
    first
        Number of the first bay that begins in it.
    whole
        Bays that lie in it.
    head_m, tail_m
        Clear lengths before and after those; none where they are under 0.
    """

    first: Whole
    whole: Whole
    head_m: Floats
    tail_m: Floats


def slots(
    start: Floats, end: Floats, phase_m: float | Floats, lengths: Lengths
) -> Slots:
    """How rows meet the bays that begin at a phase.

    Parameters
    ----------
    start, end
        Ends of each clear row, along [m], of shapes that broadcast with `phase_m`.
    phase_m
        Where one of the bays begins, along [m]; several in a column, to try each.
    lengths
        Lengths of bays and of the paths across between them.
    """
    bay_m, pitch_m = lengths.bay_m, lengths.pitch_m
    first = np.ceil((start - phase_m - TINY_M) / pitch_m)
    last = np.floor((end - bay_m - phase_m + TINY_M) / pitch_m)
    head_m = np.minimum(end, phase_m + (first - 1) * pitch_m + bay_m) - start
    tail_m = end - (phase_m + np.maximum(last + 1, first) * pitch_m)
    # On a slope beds are drawn in towards the start of their bay: only what begins within
    # a bay could reach beyond its row then, so only heads give up the slack.
    return Slots(
        first.astype(np.intp),
        np.maximum(last - first + 1, 0).astype(np.intp),
        head_m - lengths.slack_m,
        tail_m,
    )


def phases_m(clear: Clear, lengths: Lengths) -> Floats:
    """Where a bay could begin: flush with the rows' usual or outer ends, and between."""
    if lengths.bay_m >= ENDLESS_M:
        # One bay that begins before all ground: every row is a leftover of it.
        return np.array([-ENDLESS_M / 2])
    starts = [float(np.median(clear.start)), float(clear.start.min())]
    ends = [float(np.median(clear.end)), float(clear.end.max())]
    flush = [*starts, *(end - lengths.bay_m for end in ends)]
    steps = np.arange(PHASES) * lengths.pitch_m / PHASES
    return np.array([*flush, *(starts[1] + steps[1:])])


class Fit(NamedTuple):
    """Beds of some lengths on one piece of ground.

    Attributes
    ----------
    pattern, phase_m
        Which strips, and where the bays begin.
    worth_m
        Metres of bed, those of shorter beds a little less.
    whole
        Number of whole beds.
    leftover_m
        Clear lengths of bays that hold no whole bed.
    """

    pattern: int
    phase_m: float
    worth_m: float
    whole: int
    leftover_m: Floats

    def planted_m(self, lengths: Lengths) -> float:
        """Metres of bed."""
        shorter_m = lengths.of_leftovers(self.leftover_m)
        return float(self.whole * lengths.bay_m + shorter_m.sum())


def best_fit(
    clear: Clear, lengths: Lengths, leftover_worth: float = LEFTOVER_WORTH
) -> Fit | None:
    """The strips and the phase that plant most; None where nothing is clear.

    Equal ones take the first: strips in the order of `rows.clear`, phases in that of
    `phases_m`.

    Parameters
    ----------
    clear
        Clear rows of one piece of ground, for every pattern of strips.
    lengths
        Lengths that beds may have.
    leftover_worth
        What a metre in a shorter bed is worth beside one in a whole bed, 0-1.
    """
    if not len(clear.start):
        return None
    tried_m = phases_m(clear, lengths)
    here = slots(clear.start, clear.end, tried_m[:, np.newaxis], lengths)
    shorter_m = lengths.of_leftovers(np.stack([here.head_m, here.tail_m])).sum(axis=0)
    worth_m = here.whole * lengths.bay_m + leftover_worth * shorter_m
    begins = np.flatnonzero(np.diff(clear.pattern, prepend=-1))
    # Rounded: equal ones keep the first, whatever the last bit says.
    by_pattern = np.round(np.add.reduceat(worth_m, begins, axis=1), 3)
    phase, nth = np.unravel_index(np.argmax(by_pattern), by_pattern.shape)
    pattern, phase_m = int(clear.pattern[begins[nth]]), float(tried_m[phase])
    worth = float(by_pattern[phase, nth])
    mine = clear.of(pattern)
    here = slots(mine.start, mine.end, phase_m, lengths)
    both = np.concatenate([here.head_m, here.tail_m])
    return Fit(pattern, phase_m, worth, int(here.whole.sum()), both[both > 0])


def beds(clear: Clear, fit: Fit, lengths: Lengths) -> Rows:
    """The beds of a fit, by row and along it.

    Parameters
    ----------
    clear
        Clear rows of one piece of ground, for every pattern of strips.
    fit
        Pattern of strips and phase of the bays, as `best_fit` gives them for these
        rows.
    lengths
        Lengths that beds may have, the same as for the fit.
    """
    mine = clear.of(fit.pattern)
    here = slots(mine.start, mine.end, fit.phase_m, lengths)
    after = here.first + here.whole
    every = np.arange(len(mine.start))
    row = np.repeat(every, here.whole)
    nth = np.arange(len(row)) - np.repeat(
        np.cumsum(here.whole) - here.whole, here.whole
    )
    bay = here.first[row] + nth
    begins = fit.phase_m + bay * lengths.pitch_m
    parts = [
        (row, bay, begins, np.full(len(row), lengths.bay_m)),
        (every, here.first - 1, *_heads(mine, here, fit.phase_m, lengths)),
        (
            every,
            after,
            fit.phase_m + after * lengths.pitch_m,
            lengths.of_leftovers(here.tail_m),
        ),
    ]
    row, bay, start, length_m = (
        np.concatenate(columns) for columns in zip(*parts, strict=True)
    )
    order = np.lexsort((start, row))
    order = order[length_m[order] > 0]
    row, bay, start, length_m = (
        column[order] for column in (row, bay, start, length_m)
    )
    return Rows(
        mine.row[row],
        mine.group[row],
        np.asarray(bay, np.intp),
        np.asarray(start),
        np.asarray(start + length_m),
        mine.low[row],
    )


def _heads(
    mine: Clear, here: Slots, phase_m: float, lengths: Lengths
) -> tuple[Floats, Floats]:
    """Start and length of the bed before the first bay that begins in each row.

    It ends with its bay; where the ground ends before, it begins at the next line.
    """
    length_m = lengths.of_leftovers(here.head_m)
    bay_m = phase_m + (here.first - 1) * lengths.pitch_m
    square = bay_m + lengths.bay_m - length_m
    clear = mine.start + lengths.slack_m
    line = bay_m + np.ceil((clear - bay_m - TINY_M) / LINE_M) * LINE_M
    inside = np.minimum(line, mine.end - length_m)
    within = mine.end < bay_m + lengths.bay_m - TINY_M
    return np.where(within, inside, square), length_m
