"""The calendar of walk-in tunnels: dates inside, and months in which the door is watched.

For dates a tunnel is a bed under one film, on nights worth what trials found under film
on their kind of night, with light fabric inside it or without. Its warmer days and soil
are left out: what is left of them depends on when it is vented.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import product

import numpy as np
import numpy.typing as npt
import pandas as pd

from fieldmap.decide.calendar import planting_dates
from fieldmap.decide.calendar.planting_dates import Dates
from fieldmap.model.fact import Fact
from layers.cover import FILM_OPEN_C

Floats = npt.NDArray[np.float64]

OPEN, FILM, FABRIC_INSIDE = "none", "clear_film", "fabric_under_film"
COVERS = (OPEN, FILM, FABRIC_INSIDE)

ALL_YEAR = (1, 12)


def reasons(dates: Dates, number: int) -> tuple[Fact, ...]:
    """The dates of the crop that stands in for all in one tunnel, where all are known.

    Parameters
    ----------
    dates
        Under `COVERS`.
    """
    if not dates.known:
        return ()
    names = [each.name for each in dates.crops]
    crop, season = names.index(dates.reference_crop), dates.season
    early, late = (
        [
            to_date(float(np.ceil(days[1, crop, cover, number])))
            for cover in range(len(COVERS))
        ]
        for days, to_date in (
            (dates.early, season.early_date),
            (dates.late, season.late_date),
        )
    )
    # The sentence names six days, and has no words for one that never comes.
    if None in (*early, *late):
        return ()
    ends = product(("out", "until"), ("open", "film", "fabric"))
    days = {
        f"{side}_{cover}_day": day
        for (side, cover), day in zip(ends, early + late, strict=True)
    }
    how = planting_dates.how(dates.crops[crop]).replace(" ", "_")
    return (Fact(f"tunnel_{how}", crop=dates.reference_crop, **days),)


def beside(dates: Dates, within: Dates, under: Sequence[tuple[int, str]]) -> Dates:
    """Dates of beds outdoors, then of beds under the film of tunnels.

    Parameters
    ----------
    dates
        Dates of beds outdoors, for the covers of the site.
    within
        Dates of tunnels, for the same crops, under `COVERS`.
    under
        For each bed under film, the number of its tunnel in `within`, and the kind of
        cover that may lie over it on low hoops; "" for none. Without any, `dates` come
        back as they are.

    Returns
    -------
    Dates
        Beds under film stand after those outdoors. For a cover that may not lie over a
        bed `early` is +∞, `late` -∞, and all other dates by cover NaN.
    """
    if not (dates.known and within.known and under):
        return dates
    film, fabric = COVERS.index(FILM), COVERS.index(FABRIC_INSIDE)
    there = [tunnel for tunnel, _kind in under]
    kinds = np.array([kind for _tunnel, kind in under])

    def joined(outdoors: Floats, inside: Floats, never: float) -> Floats:
        """The bare bed is that under the film; no cover but its fabric goes over it."""
        under = np.full((*outdoors.shape[:-1], len(there)), never)
        under[..., 0, :] = inside[..., film, :][..., there]
        for at, kind in enumerate(dates.covers[1:], start=1):
            # Dates inside are known for light fabric; whatever fabric lies there counts as that.
            with_fabric = inside[..., fabric, :][..., there]
            under[..., at, :] = np.where(kinds == kind, with_fabric, under[..., at, :])
        return np.concatenate([outdoors, under], axis=-1)

    grows_until = [dates.grows_until, within.grows_until[:, there]]
    return replace(
        dates,
        early=joined(dates.early, within.early, np.inf),
        late=joined(dates.late, within.late, -np.inf),
        slackens=joined(dates.slackens, within.slackens, np.nan),
        winters=joined(dates.winters, within.winters, np.nan),
        last_sowing=joined(dates.last_sowing, within.last_sowing, np.nan),
        grows_until=np.concatenate(grows_until, axis=-1),
    )


def door_months(tmax_c: pd.Series) -> list[tuple[int, int]]:
    """First and last month of each spell whose usual days reach the outside limit.

    A month reaches it by the mean of its maxima; unknown ones do. Spells run across New
    Year.
    """
    means = tmax_c.groupby(pd.DatetimeIndex(tmax_c.index).month).mean()
    return month_spells(
        [not means.get(month, FILM_OPEN_C) < FILM_OPEN_C for month in range(1, 13)]
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
    # In the order of their starts: a spell over New Year begins last and ends first.
    ends.sort(key=lambda end: (end - starts[0]) % 12)
    return [(start + 1, end + 1) for start, end in zip(starts, ends, strict=True)]
