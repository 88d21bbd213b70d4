"""Pieces cut from stock lengths with the least stock: a cutting-stock problem.

Patterns (ways to cut one stock length) are listed, and a solver of whole numbers
(HiGHS, through scipy) takes as few lengths as will do.
"""

from collections import Counter
from collections.abc import Iterator, Mapping
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy import optimize, sparse

from fieldmap.errors import problem

Pieces = tuple[tuple[float, int], ...]  # length, count
Whole = npt.NDArray[np.int64]

MOST_PATTERNS = 5000  # of a few kinds of pieces there are far fewer
TOUCH_M = 1e-9


class Pattern(NamedTuple):
    """One way to cut a stock length, and how often.

    Attributes
    ----------
    pieces
        (length, count) of each kind, the longest first.
    rest_m
        What is left of the length, cuts taken off.
    """

    times: int
    pieces: Pieces
    rest_m: float


def cut(
    pieces: Mapping[float, int], stock_m: float, saw_m: float
) -> tuple[Pattern, ...]:
    """The fewest stock lengths that give all pieces, the same answer every time.

    Patterns with the longest pieces come first.

    Parameters
    ----------
    pieces
        Length of a piece [m] -> how many are wanted; without any the answer is empty.
    stock_m
        One stock length.
    saw_m
        What each cut takes.

    Raises
    ------
    ValueError
        When a piece is longer than the stock, or a number is not positive, or no way to
        cut them is found.
    """
    wanted = {
        length: count for length, count in sorted(pieces.items(), reverse=True) if count
    }
    if not wanted:
        return ()
    if not (stock_m > 0 and saw_m >= 0 and min(wanted) > 0):
        raise ValueError(problem("lengths must be over 0"))
    longest = max(wanted)
    if longest > stock_m + TOUCH_M:
        raise ValueError(
            problem(
                "a piece of {piece} m is longer than {stock} m of stock",
                piece=f"{longest:g}",
                stock=f"{stock_m:g}",
            )
        )
    lengths, need = list(wanted), np.array(list(wanted.values()))
    # The last piece needs no cut behind it, as if the stock were longer by one.
    cuts = list(_cuts(lengths, stock_m + saw_m, saw_m))[:MOST_PATTERNS]
    # Of answers with as few lengths the one with fewest kinds of cuts is not sought;
    # a hair's weight on the place in the list keeps the answer the same.
    found = optimize.milp(
        1.0 + 1e-7 * np.arange(len(cuts)),
        constraints=optimize.LinearConstraint(
            sparse.csr_array(np.array(cuts, float).T), lb=need
        ),
        integrality=np.ones(len(cuts)),
    )
    if found.x is None:
        raise ValueError(problem("no way to cut these pieces was found"))
    every = np.repeat(cuts, np.rint(found.x).astype(int), axis=0)
    times = Counter(_trimmed(every, lengths, need, stock_m, saw_m))
    longest_first = sorted(times, key=lambda each: ([-m for m, _ in each[0]], each[1]))
    return tuple(Pattern(times[each], *each) for each in longest_first)


def _cuts(
    lengths: list[float], room_m: float, saw_m: float
) -> Iterator[tuple[int, ...]]:
    """Ways to fill a length that leave no room for another piece of the last kind."""
    most = int((room_m + TOUCH_M) / (lengths[0] + saw_m))
    if len(lengths) == 1:
        yield (most,)
        return
    for count in range(most, -1, -1):
        left_m = room_m - count * (lengths[0] + saw_m)
        for rest in _cuts(lengths[1:], left_m, saw_m):
            yield (count, *rest)


def _trimmed(
    every: Whole, lengths: list[float], need: Whole, stock_m: float, saw_m: float
) -> Iterator[tuple[Pieces, float]]:
    """Pieces of each stock length and its rest, without pieces that nobody asked for."""
    spare = every.sum(axis=0) - need
    for cut_here in every:
        here = np.maximum(cut_here - np.maximum(spare, 0), 0)
        spare = spare - (cut_here - here)
        asked = tuple((m, int(n)) for m, n in zip(lengths, here, strict=True) if n)
        used_m = sum(n * (m + saw_m) for m, n in asked)
        yield asked, round(max(stock_m + saw_m - used_m, 0.0), 4)
