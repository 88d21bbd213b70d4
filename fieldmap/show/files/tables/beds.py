"""All that is known of each bed: `beds.csv`, and the beds of GIS files and `plan.json`."""

from collections.abc import Mapping, Sequence
from operator import itemgetter

from fieldmap.decide.calendar.planting_dates import Dates
from fieldmap.decide.ranking import RankedBed
from fieldmap.model.crops import CLASS_NAMES
from fieldmap.show.files import tables
from fieldmap.show.files.tables import Column, attributes, low_central_high, month_day
from fieldmap.show.text import quantities
from fieldmap.show.text.quantities import Units

COLUMNS: tuple[Column[RankedBed], ...] = (
    *attributes("bed.name", "bed.plot", "bed.field", "bed.block"),
    Column("number_in_block", lambda it: it.bed.number),
    *attributes("bed.area_m2", "bed.length_m", digits=2),
    *attributes("bed.width_m", "bed.path_within_m", digits=3),
    *attributes("bed.bearing_deg", digits=2),
    *attributes("slope_percent", "lie.along_percent", "lie.across_percent", digits=1),
    *attributes("lie.faces_deg", digits=0),
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
    """One line a bed.

    Parameters
    ----------
    beds
        The beds in the order of the plan.
    dates
        Planting dates of the same beds, in the same order.
    units
        "metric" or "us", for the reasons; numbers stay metric.
    """
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
