"""First and last dates of every bed, crop and cover: `dates.csv`."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from fieldmap.decide.calendar.planting_dates import Dates
from fieldmap.show.files import tables
from fieldmap.show.files.tables import Column, attributes, low_central_high, month_day

MonthDays = tuple[str | None, ...]


class DatesOfBed(NamedTuple):
    """Dates of one crop under one cover on one bed as MM-DD, None where there is none.

    Attributes
    ----------
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


def csv(beds: Sequence[str], dates: Dates) -> str:
    """One line for each bed, crop and cover; dates are MM-DD, empty where none is."""
    found = (
        each for number, name in enumerate(beds) for each in of_bed(dates, name, number)
    )
    return tables.csv_of(COLUMNS, found)


def of_bed(dates: Dates, bed: str, bed_number: int) -> Iterator[DatesOfBed]:
    """Dates of a bed by crop and cover; none where none are known."""
    for number, crop in enumerate(dates.crops):
        for at, cover in enumerate(dates.covers):
            early = dates.early_of(bed_number, number, at)
            late = dates.late_of(bed_number, number, at)
            until = float(dates.grows_until[number, bed_number])
            place = number, at, bed_number
            sowing = dates.last_sowing[:, number, at, bed_number]
            yield DatesOfBed(
                bed,
                crop.name,
                cover,
                tuple(month_day(dates.season.early_date(day)) for day in early),
                tuple(month_day(dates.season.late_date(day)) for day in late),
                month_day(dates.season.date(float(dates.slackens[place]))),
                100 * float(dates.winters[place]),
                month_day(dates.season.late_date(until)),
                tuple(month_day(dates.season.date(float(day))) for day in sowing),
                dates.risks[number],
                dates.autumn_risk,
            )
