"""Months in which the door of a tunnel is watched daily."""

from collections.abc import Sequence

import pandas as pd

OPEN_OUTSIDE_C = 8.0  # in sun, solid film: the air outside (common practice, no source)
ALL_YEAR = (1, 12)


def door_months(tmax_c: pd.Series) -> list[tuple[int, int]]:
    """First and last month of each spell whose usual days reach the outside limit.

    A month reaches it by the mean of its maxima; unknown ones do. Spells run across New
    Year.
    """
    means = tmax_c.groupby(pd.DatetimeIndex(tmax_c.index).month).mean()
    return month_spells(
        [
            not means.get(month, OPEN_OUTSIDE_C) < OPEN_OUTSIDE_C
            for month in range(1, 13)
        ]
    )


def month_spells(is_within: Sequence[bool]) -> list[tuple[int, int]]:
    """First and last month of each spell of those that are within, across New Year too.

    Examples
    --------
    >>> month_spells([True, True, *9 * [False], True])
    [(12, 2)]
    """
    if all(is_within):
        return [ALL_YEAR]
    starts = [at for at in range(12) if is_within[at] and not is_within[at - 1]]
    ends = [at for at in range(12) if is_within[at - 12] and not is_within[at - 11]]
    ends.sort(key=lambda end: (end - starts[0]) % 12)
    return [(start + 1, end + 1) for start, end in zip(starts, ends, strict=True)]
