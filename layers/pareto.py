"""Which of many things no other beats (the Pareto front)."""

import numpy as np
import numpy.typing as npt
from numba import njit

Whole = npt.NDArray[np.int64]


def unbeaten(amounts: npt.ArrayLike) -> npt.NDArray[np.intp]:
    """Rows that no other beats, the first of equal ones, in their order.

    A row beats another when no amount of it is more and one is less.

    Parameters
    ----------
    amounts
        (things, criteria) whole numbers, less being better.

    Raises
    ------
    ValueError
        When the amounts are not a table.

    Notes
    -----
    Rows are met by their sum, so that no row is beaten by a later one (the sort-first
    filter; Chomicki et al. 2003, ICDE, from memory).

    Examples
    --------
    >>> unbeaten([[1, 2], [2, 1], [2, 2], [1, 2]]).tolist()
    [0, 1]
    """
    table = np.ascontiguousarray(amounts, np.int64)
    if table.ndim != 2:
        raise ValueError(f"amounts must be a table, got {table.ndim} dimensions")
    by_sum = np.argsort(table.sum(axis=1), kind="stable")
    kept = by_sum[_unbeaten(table[by_sum])]
    return np.sort(kept)


@njit(cache=True, nogil=True)
def _unbeaten(table: Whole) -> npt.NDArray[np.bool_]:
    things, criteria = table.shape
    kept = np.ones(things, np.bool_)
    front = np.empty(things, np.int64)
    count = 0
    for row in range(things):
        for at in range(count):
            no_more = True
            for each in range(criteria):
                if table[front[at], each] > table[row, each]:
                    no_more = False
                    break
            if no_more:
                kept[row] = False
                break
        if kept[row]:
            front[count] = row
            count += 1
    return kept
