"""All that is known of each bed: `beds.csv`, and the beds of GIS files and `plan.json`."""

from collections.abc import Mapping, Sequence
from operator import itemgetter

from fieldmap.decide.calendar.planting_dates import Dates
from fieldmap.decide.ranking import RankedBed
from fieldmap.model.crops import CLASS_NAMES
from fieldmap.show.files import tables
from fieldmap.show.files.tables import Column, low_central_high, month_day
from fieldmap.show.text import quantities
from fieldmap.show.text.quantities import Units

COLUMNS: tuple[Column[RankedBed], ...] = (
    Column("name", lambda it: it.bed.name),
    Column("plot", lambda it: it.bed.plot),
    Column("area_m2", lambda it: it.bed.area_m2, 2),
    Column("length_m", lambda it: it.bed.length_m, 2),
    Column("width_m", lambda it: it.bed.width_m, 3),
    Column("path_within_m", lambda it: it.bed.path_within_m, 3),
    Column("bearing_deg", lambda it: it.bed.bearing_deg, 2),
    Column("slope_percent", lambda it: it.slope_percent, 1),
    Column("along_percent", lambda it: it.lie.along_percent, 1),
    Column("across_percent", lambda it: it.lie.across_percent, 1),
    Column("faces_deg", lambda it: it.lie.faces_deg, 0),
    Column("water_percent", lambda it: 100 * it.water_share, 0),
    Column("wind_percent", lambda it: 100 * it.wind_share, 0),
    Column("offset_c", lambda it: it.offset_c, 1, low_central_high("offset_{}_c")),
    Column(
        "sun_mj_m2_day",
        lambda it: it.light.sun_mj_m2_day,
        2,
        tuple(f"sun_{month.lower()}_mj_m2_day" for month in quantities.MONTHS),
    ),
    Column("early_rank", lambda it: it.ranks.early),
    Column("late_rank", lambda it: it.ranks.late),
    Column("shade_rank", lambda it: it.ranks.shade),
    Column("cool_rank", lambda it: it.ranks.cool),
    Column("early_group", lambda it: it.earliness.group),
    Column("among_first_percent", lambda it: 100 * it.earliness.among_first_share, 0),
    Column("reasons", lambda it: it.reasons, said=True),
)
# Of beds.csv alone, after the others: by class of crops, the first of their early dates.
FIRST_DATES: tuple[Column[Mapping[str, str | None]], ...] = tuple(
    Column(f"early_{name}", itemgetter(name)) for name in CLASS_NAMES
)


def csv(beds: Sequence[RankedBed], dates: Dates, units: Units) -> str:
    """One line a bed."""
    return tables.csv_text(
        tables.names((*COLUMNS, *FIRST_DATES)),
        (
            tables.flat(COLUMNS, ranked, units)
            | tables.flat(FIRST_DATES, first_dates(dates, number), units)
            for number, ranked in enumerate(beds)
        ),
    )


def first_dates(dates: Dates, bed_number: int) -> dict[str, str | None]:
    """The first central date of each class of crops; None where there is none."""
    first: dict[str, float] = {}
    for number, crop in enumerate(dates.crops):
        day = dates.early_of(bed_number, number).central
        name = crop.crop_class.value
        first[name] = min(first.get(name, day), day)
    return {
        name: month_day(dates.season.early_date(first[name])) if name in first else None
        for name in CLASS_NAMES
    }
