"""Months in which the door of a tunnel is watched daily."""

import pandas as pd

OPEN_OUTSIDE_C = 8.0  # in sun, solid film: the air outside (common practice, no source)
ALL_YEAR = (1, 12)


def door_months(tmax_c: pd.Series) -> list[tuple[int, int]]:
    """First and last month of each spell whose usual days reach the outside limit.

    A month reaches it by the mean of its maxima; unknown ones do. Spells run across New
    Year.
    """
    means = tmax_c.groupby(pd.DatetimeIndex(tmax_c.index).month).mean()
    warm = [
        not means.get(month, OPEN_OUTSIDE_C) < OPEN_OUTSIDE_C for month in range(1, 13)
    ]
    if all(warm):
        return [ALL_YEAR]
    spells = []
    for start in (month for month in range(12) if warm[month] and not warm[month - 1]):
        end = start
        while warm[(end + 1) % 12]:
            end = (end + 1) % 12
        spells.append((start + 1, end + 1))
    return spells
