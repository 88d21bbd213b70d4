"""Clear lengths of many sizes -> few lengths of beds."""

import numpy as np
import numpy.typing as npt

from fieldmap.decide.layout.bays.lattice import TINY_M

Floats = npt.NDArray[np.float64]

# So much of all bed has one of two lengths, and no more ground than this is given up
# against rows as long as each bay is clear (choices, no source).
STANDARD_SHARE, MOST_LOST = 0.80, 0.075


def best_shorter(leftover_m: Floats, count: int, grid_m: Floats) -> tuple[float, ...]:
    """The lengths of a grid that plant most of clear lengths [m], at most `count`.

    By dynamic programming: a length longer than the one before plants the difference
    on each clear length that holds it.

    Parameters
    ----------
    leftover_m
        (n,) clear lengths that hold no whole bed.
    count
        Greatest number of lengths; 0 gives none.
    grid_m
        (m,) lengths that are allowed, rising.

    Examples
    --------
    Of 5, 6 and 9 m two lengths plant most as 5, 5 and 9 m:

    >>> best_shorter(np.array([5.0, 6.0, 9.0]), 2, np.arange(4.0, 10.0))
    (5.0, 9.0)
    """
    holds = np.array([(leftover_m >= each - TINY_M).sum() for each in grid_m])
    grid_m, holds = grid_m[holds > 0], holds[holds > 0]
    if not len(grid_m) or not count:
        return ()
    steps = holds * (grid_m - np.append(0.0, grid_m[:-1])[:, np.newaxis])
    later = np.tri(len(grid_m), dtype=bool).T  # each length after those before it
    planted = holds * grid_m
    came_from: list[npt.NDArray[np.intp]] = []
    for _more in range(min(count, len(grid_m)) - 1):
        ahead = np.append(0.0, planted[:-1])[:, np.newaxis] + steps
        ahead = np.where(later, ahead, -np.inf)
        came_from.append(np.argmax(ahead, axis=0))
        planted = ahead.max(axis=0)
    at = int(np.argmax(np.round(planted, 6)))
    found = [float(grid_m[at])]
    for back in reversed(came_from):
        at = int(back[at]) - 1
        if at < 0:
            break
        found.append(float(grid_m[at]))
    return tuple(reversed(found))


def uneven_shorter(
    leftover_m: Floats, whole_m: float, grid_m: Floats, densest_m: float
) -> tuple[float, ...] | None:
    """Lengths of a grid of which two make up the most, none where that costs too much.

    From all lengths of the grid one after another is left out, that which costs least
    bed for what it brings to the two commonest; then more, as long as little enough is
    given up. Clear lengths get the longest that is left, so lengths that serve many
    lie far apart, and a few others between them.

    Parameters
    ----------
    leftover_m
        (n,) clear lengths that hold no whole bed.
    whole_m
        Metres in whole beds, one length more.
    grid_m
        (m,) lengths that are allowed, rising.
    densest_m
        Metres of bed without any such choice.
    """
    number = np.searchsorted(grid_m, leftover_m + TINY_M, side="right") - 1
    counts = np.bincount(number[number >= 0], minlength=len(grid_m)).astype(float)
    kept, held = grid_m[counts > 0], counts[counts > 0]
    least_m = (1.0 - MOST_LOST) * densest_m
    while len(kept):
        metres, share = _two_commonest(kept * held, whole_m)
        bed_m, shares = _without_each(kept, held, whole_m)
        gain = shares - share
        wanted = shares >= STANDARD_SHARE if share >= STANDARD_SHARE else gain > TINY_M
        allowed = wanted & (bed_m >= least_m)
        if not allowed.any():
            break
        cost = metres - bed_m
        worth = cost if share >= STANDARD_SHARE else cost / np.maximum(gain, TINY_M)
        out = int(np.argmin(np.where(allowed, np.round(worth, 6), np.inf)))
        if out:
            held[out - 1] += held[out]
        kept, held = np.delete(kept, out), np.delete(held, out)
    _metres, share = _two_commonest(kept * held, whole_m)
    return tuple(kept.tolist()) if share >= STANDARD_SHARE else None


def _two_commonest(by_length_m: Floats, whole_m: float) -> tuple[float, float]:
    """All metres of bed, and the share of the two lengths that most of it has."""
    every = np.append(by_length_m, whole_m)
    metres = float(every.sum())
    return metres, float(np.sort(every)[-2:].sum()) / metres if metres else 0.0


def _without_each(kept: Floats, held: Floats, whole_m: float) -> tuple[Floats, Floats]:
    """The same without each length in turn: its clear lengths get the next shorter."""
    count = len(kept)
    every = np.tile(held, (count, 1))
    which = np.arange(count)
    every[which[1:], which[:-1]] += held[1:]
    every[which, which] = 0.0
    by_length_m = np.column_stack([every * kept, np.full(count, whole_m)])
    metres = by_length_m.sum(axis=1)
    two = np.sort(by_length_m, axis=1)[:, -2:].sum(axis=1)
    return metres, np.divide(two, metres, out=np.zeros(count), where=metres > 0)
