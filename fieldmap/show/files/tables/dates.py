"""First and last dates of every bed and tunnel, crop and cover: `dates.csv`."""

from collections.abc import Callable, Iterator, Sequence
from itertools import chain
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from fieldmap.decide.calendar import in_tunnels
from fieldmap.decide.calendar.planting_dates import Dates
from fieldmap.show.files import tables
from fieldmap.show.files.tables import Column, attributes, low_central_high, month_day

MonthDays = tuple[str | None, ...]


class DatesOfBed(NamedTuple):
    """Dates of one crop under one cover on one bed as MM-DD, None where there is none.

    Attributes
    ----------
    bed
        Its name, or that of a walk-in tunnel.
    early, late, last_sowing
        Low, central and high.
    slackens
        First day on which a crop that bears until frost bears less.
    winters_percent
        Of winters that an overwintering crop comes through; NaN for others.
    """

    bed: str
    crop: str
    cover: str
    early: MonthDays
    late: MonthDays
    slackens: str | None
    winters_percent: float
    grows_until: str | None
    last_sowing: MonthDays
    risk: float
    autumn_risk: float


COLUMNS: tuple[Column[DatesOfBed], ...] = (
    *attributes("bed", "crop", "cover"),
    Column("early", lambda it: it.early, parts=low_central_high("early_{}")),
    Column("late", lambda it: it.late, parts=low_central_high("late_{}")),
    *attributes("slackens"),
    *attributes("winters_percent", digits=0),
    *attributes("grows_until"),
    Column(
        "last_sowing",
        lambda it: it.last_sowing,
        parts=low_central_high("last_sowing_{}"),
    ),
    *attributes("risk", "autumn_risk"),
)


Named = tuple[Sequence[str], Dates]


def csv(beds: Named, tunnels: Named) -> str:
    """One line for each bed, crop and cover; dates are MM-DD, empty where none is."""
    return tables.csv_of(COLUMNS, lines(beds, tunnels))


def lines(beds: Named, tunnels: Named) -> Iterator[DatesOfBed]:
    """Of beds by name, then of tunnels, which are under film at least."""
    names, dates = beds
    yield from chain.from_iterable(by_bed(dates, names))
    names, dates = tunnels
    for line in chain.from_iterable(by_bed(dates, names)):
        if line.cover != in_tunnels.OPEN:
            yield line


def by_bed(dates: Dates, beds: Sequence[str]) -> list[list[DatesOfBed]]:
    """Dates by crop and cover for each bed; none where none are known."""
    season = dates.season
    early = _month_days(np.ceil(dates.early), season.early_date)
    late = _month_days(np.ceil(dates.late), season.late_date)
    slackens = _month_days(np.floor(dates.slackens), season.date)
    until = _month_days(np.ceil(dates.grows_until), season.late_date)
    sowing = _month_days(np.floor(dates.last_sowing), season.date)
    return [
        [
            DatesOfBed(
                bed,
                crop.name,
                cover,
                tuple(early[:, number, at, bed_number]),
                tuple(late[:, number, at, bed_number]),
                slackens[number, at, bed_number],
                100 * float(dates.winters[number, at, bed_number])
                if crop.overwinters
                else np.nan,
                until[number, bed_number],
                tuple(sowing[:, number, at, bed_number]),
                dates.risks[number],
                dates.autumn_risk,
            )
            for number, crop in enumerate(dates.crops)
            for at, cover in enumerate(dates.covers)
        ]
        for bed_number, bed in enumerate(beds)
    ]


def _month_days(
    days: npt.NDArray[np.float64],
    day_of: Callable[[float], tuple[int, int] | None],
) -> npt.NDArray[Any]:
    """Whole days as MM-DD, each looked up once."""
    each, at = np.unique(days, return_inverse=True)
    words = np.array([month_day(day_of(day)) for day in each.tolist()], object)
    return np.asarray(words[at].reshape(days.shape))
