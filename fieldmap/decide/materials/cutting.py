"""Pieces cut from stock lengths with the least stock: a cutting-stock problem.

Patterns (ways to cut one stock length) are listed, and a solver of whole numbers
(HiGHS, through scipy) takes as few lengths as will do.
"""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

import numpy as np
from scipy import optimize, sparse

from fieldmap.errors import problem

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
    pieces: tuple[tuple[float, int], ...]
    rest_m: float


def cut(
    pieces: Mapping[float, int], stock_m: float, saw_m: float
) -> tuple[Pattern, ...]:
    """The fewest stock lengths that give all pieces, the same answer every time.

    Parameters
    ----------
    pieces
        Length -> how many.
    saw_m
        What each cut takes.

    Raises
    ------
    ValueError
        When a piece is longer than the stock, or a number is not positive.
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
    lengths = list(wanted)
    cuts = list(_cuts(lengths, stock_m + saw_m, saw_m))[:MOST_PATTERNS]
    table = np.array(cuts, float).T
    need = np.array([wanted[length] for length in lengths], float)
    # Of answers with as few lengths the one with fewest kinds of cuts is not sought;
    # a hair's weight on the place in the list keeps the answer the same.
    weight = 1.0 + 1e-7 * np.arange(len(cuts))
    found = optimize.milp(
        weight,
        constraints=optimize.LinearConstraint(sparse.csr_array(table), lb=need),
        integrality=np.ones(len(cuts)),
        bounds=optimize.Bounds(0, np.inf),
    )
    if found.x is None:
        raise ValueError(problem("no way to cut these pieces was found"))
    times = np.rint(found.x).astype(int)
    return tuple(_trimmed(cuts, times, lengths, need, stock_m, saw_m))


def _cuts(
    lengths: list[float], room_m: float, saw_m: float
) -> Iterator[tuple[int, ...]]:
    """Ways to fill a length that leave no room for another piece of the last kind."""
    if len(lengths) == 1:
        most = int((room_m + TOUCH_M) / (lengths[0] + saw_m))
        yield (most,)
        return
    most = int((room_m + TOUCH_M) / (lengths[0] + saw_m))
    for count in range(most, -1, -1):
        left_m = room_m - count * (lengths[0] + saw_m)
        for rest in _cuts(lengths[1:], left_m, saw_m):
            yield (count, *rest)


def _trimmed(
    cuts: list[tuple[int, ...]],
    times: np.ndarray,
    lengths: list[float],
    need: np.ndarray,
    stock_m: float,
    saw_m: float,
) -> Iterator[Pattern]:
    """Patterns without pieces that nobody asked for."""
    spare = np.array(cuts).T @ times - need.astype(int)
    for one, count in zip(cuts, times, strict=True):
        kept = np.array(one)
        for _time in range(count):
            here = np.maximum(kept - np.maximum(spare, 0), 0)
            drop = kept - here
            spare = spare - drop
            asked = tuple((m, int(n)) for m, n in zip(lengths, here, strict=True) if n)
            used_m = sum(n * (m + saw_m) for m, n in asked)
            rest_m = max(stock_m + saw_m - used_m, 0.0)
            yield Pattern(1, asked, round(rest_m, 4))


def together(patterns: tuple[Pattern, ...]) -> tuple[Pattern, ...]:
    """Equal patterns as one, those with the longest pieces first."""
    times: dict[tuple[tuple[tuple[float, int], ...], float], int] = {}
    for each in patterns:
        key = each.pieces, each.rest_m
        times[key] = times.get(key, 0) + each.times
    return tuple(
        Pattern(count, pieces, rest_m)
        for (pieces, rest_m), count in sorted(
            times.items(), key=lambda item: ([-m for m, _ in item[0][0]], item[0][1])
        )
    )
