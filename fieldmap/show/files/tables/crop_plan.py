"""What grows where, from week to week: `what_where.csv`."""

from collections.abc import Callable
from typing import Any

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


FOR_THE_SOIL, UNTENDED = "for the soil", "untended"
GRASS = "grass and clover"
Line = Stay | GreenManure | str  # what stands on a bed; of grass the bed's name alone


def lines(found: CropPlan) -> list[Line]:
    """Crops, then what is sown for the soil, then beds that lie in grass."""
    return [*found.stays, *found.green, *found.untended]


def line_columns(
    dated: Callable[[float], tuple[int, int]],
) -> tuple[Column[Line], ...]:
    """Columns of all that stands on beds: those of stays, empty where it has none."""
    of_green: dict[str, Callable[[GreenManure], Any]] = {
        **{column.key: column.value for column in green_columns(dated)},
        "crop": lambda it: it.kind,
        "season": lambda _: FOR_THE_SOIL,
    }
    of_grass: dict[str, Callable[[str], Any]] = {
        "bed": lambda it: it,
        "crop": lambda _: GRASS,
        "season": lambda _: UNTENDED,
    }

    def of_line(column: Column[Stay]) -> Callable[[Line], Any]:
        def value(it: Line) -> Any:
            if isinstance(it, Stay):
                return column.value(it)
            if isinstance(it, GreenManure):
                return of_green.get(column.key, _empty)(it)
            return of_grass.get(column.key, _empty)(it)

        return value

    return tuple(
        Column(column.key, of_line(column), column.digits) for column in columns(dated)
    )


def _empty(_: object) -> None:
    """No value."""


def csv(found: CropPlan) -> str:
    """One line for each stay of a crop on a bed, each green manure and each bed in grass.

    Dates are MM-DD.
    """
    return tables.csv_of(line_columns(found.month_day), lines(found))
