"""What grows where, from week to week: `what_where.csv`."""

from collections.abc import Callable

from fieldmap.decide.crop_plan import CropPlan
from fieldmap.decide.crop_plan.model import CoverUse, GreenManure, Stay
from fieldmap.show.files import tables
from fieldmap.show.files.tables import Column, attributes, month_day


def columns(dated: Callable[[float], tuple[int, int]]) -> tuple[Column[Stay], ...]:
    """Columns of the stays of crops on beds; `dated` gives a day of the season-year."""

    def covers(stay: Stay) -> str:
        return "; ".join(
            f"{use.kind} {month_day(dated(use.from_day))} to "
            f"{month_day(dated(use.to_day))}"
            for use in stay.covers
        )

    def slackens(stay: Stay) -> str | None:
        day = stay.slackens_day
        return None if day is None else month_day(dated(day))

    def picked(which: int) -> Callable[[Stay], str | None]:
        return lambda it: (
            None if it.picked is None else month_day(dated(it.picked[which]))
        )

    return (
        *attributes("bed", "crop", "season"),
        Column("from_gate_end_m", lambda it: it.part and it.part.start_m, 1),
        Column("length_m", lambda it: it.part and it.part.length_m, 1),
        Column("from", lambda it: month_day(dated(it.from_day))),
        Column("first_harvest", lambda it: month_day(dated(it.harvest_day))),
        Column("slackens", slackens),
        Column("to", lambda it: month_day(dated(it.to_day))),
        Column("picked_from", picked(0)),
        Column("picked_to", picked(1)),
        Column("plants", lambda it: it.amounts and it.amounts.plants),
        Column("seeds", lambda it: it.amounts and it.amounts.seeds),
        Column("harvest_unit", lambda it: it.amounts and it.amounts.unit),
        Column("harvest_low", lambda it: it.amounts and it.amounts.low, 1),
        Column("harvest_high", lambda it: it.amounts and it.amounts.high, 1),
        Column("covers", covers),
        Column("days_by_covers", lambda it: it.days_by_cover, 1),
        Column("days_by_place", lambda it: it.days_by_place, 1),
        *attributes("family_of_last_year"),
    )


def cover_columns(
    dated: Callable[[float], tuple[int, int]],
) -> tuple[Column[CoverUse], ...]:
    """Columns of the covers over one crop on one bed."""
    return (
        *attributes("kind"),
        Column("from", lambda it: month_day(dated(it.from_day))),
        Column("to", lambda it: month_day(dated(it.to_day))),
        Column("days_won", lambda it: it.days, 1),
    )


def green_columns(
    dated: Callable[[float], tuple[int, int]],
) -> tuple[Column[GreenManure], ...]:
    """Columns of what is sown for the soil."""
    return (
        *attributes("bed", "kind"),
        Column("from_gate_end_m", lambda it: it.part and it.part.start_m, 1),
        Column("length_m", lambda it: it.part and it.part.length_m, 1),
        Column("from", lambda it: month_day(dated(it.from_day))),
        Column("to", lambda it: month_day(dated(it.to_day))),
    )


def csv(found: CropPlan) -> str:
    """One line for each stay of a crop on a bed; dates are MM-DD."""
    return tables.csv_of(columns(found.month_day), found.stays)
