"""What to buy and cut, for the shop, as a workbook."""

import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from functools import partial
from typing import Any, TypeVar

import xlsxwriter
from xlsxwriter.utility import xl_col_to_name

from fieldmap.decide.crop_plan import CropPlan
from fieldmap.decide.crop_plan.model import Stay
from fieldmap.decide.materials import Materials
from fieldmap.show.files import tables
from fieldmap.show.files.tables import crop_plan
from fieldmap.show.files.tables import materials as columns
from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.decide.materials import cutting_list
from fieldmap.show.text.language import _
from fieldmap.show.text.quantities import Units, of_table
from fieldmap.show.text.sentence import phrase, say_all

T = TypeVar("T")
WORDS = texts("fieldmap.show.text.files.contents", "workbook")
HEADS, CELLS = WORDS["heads"], WORDS["cells"]
# Columns whose values are names in the plain list, and are read here in one's language.
TRANSLATED = ("rough", "unit", "crop", "season", "harvest_unit")
DAYS = ("from", "first_harvest", "slackens", "to", "picked_from", "picked_to")
SPEEDS = ("holds_to_m_s", "lets_go_m_s")
KEY = "item"  # stands last: people read what a thing is, and give its price by its name
# Of columns whose numbers mean something when they are added up.
SUMMED = ("cost", "hoops", "weights")
AMOUNTS = ("need", "on_hand", "buy")
# Workbooks hold the time they were made; a fixed one keeps equal plans equal.
FIXED_TIME = datetime(2000, 1, 1, tzinfo=UTC).replace(tzinfo=None)


def workbook(materials: Materials, stays: CropPlan, units: Units) -> bytes:
    """Sheets: to buy, hoops bed by bed, how to cut, what goes where.

    The same bytes each time. Numbers are in the units of the site, with the unit in the
    head or beside them.

    Parameters
    ----------
    materials
        What to buy, the hoops of each low tunnel, and how pipes are cut.
    stays
        Which crop stands where. Its sheet is left out where this is not known.
    units
        "metric" or "us", for numbers and texts.

    Returns
    -------
    workbook
        The bytes of an XLSX file.
    """
    file = io.BytesIO()
    book = xlsxwriter.Workbook(
        file,
        {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False},
    )
    book.set_properties({"created": FIXED_TIME})
    hoops = columns.LOW_TUNNEL_COLUMNS
    to_buy = sorted(columns.COLUMNS, key=lambda column: column.key == KEY)
    _add_table(book, _("To buy"), to_buy, materials.lines, units)
    _add_table(book, _("Hoops"), hoops, materials.low_tunnels, units)
    page = book.add_worksheet(_("To cut"))
    said = [*cutting_list(materials, units), *say_all(materials.remarks, units)]
    page.set_column(0, 0, 100, book.add_format({"text_wrap": True}))
    for number, sentence in enumerate(said):
        page.write_string(number, 0, sentence)
    if stays.is_known:
        on_beds = [
            replace(column, value=partial(_covers, stays))
            if column.key == "covers"
            else column
            for column in crop_plan.line_columns(stays.month_day)
        ]
        _add_table(book, _("What goes where"), on_beds, crop_plan.lines(stays), units)
    book.close()
    return file.getvalue()


def _add_table(
    book: xlsxwriter.Workbook,
    name: str,
    columns: Sequence[tables.Column[T]],
    things: Iterable[T],
    units: Units,
) -> None:
    """A table with a head in words, and below it the sums of what can be added up."""
    page, keys = book.add_worksheet(name), tables.names(columns)
    bold = book.add_format({"bold": True, "bottom": 1, "text_wrap": True})
    heads = [_(HEADS[key]).format(unit=of_table(0.0, key, units)[1]) for key in keys]
    page.write_row(0, 0, heads, bold)
    page.freeze_panes(1, 0)
    page.repeat_rows(0)
    last = 0
    sums: dict[int, float] = {}
    for last, thing in enumerate(things, start=1):
        row = _in_units(tables.flat(columns, thing, "metric"), units)
        for at, (key, value) in enumerate(row.items()):
            if isinstance(value, str):
                page.write_string(last, at, tables.harmless(_in_words(key, value)))
            elif value is not None:
                page.write_number(last, at, value)
                if key in SUMMED:
                    sums[at] = sums.get(at, 0.0) + value
    if sums:
        under = book.add_format({"bold": True, "top": 1})
        page.write_string(last + 1, 0, _(WORDS["total"]), under)
        for at, value in sums.items():
            column = xl_col_to_name(at)
            formula = f"=SUM({column}2:{column}{last + 1})"
            page.write_formula(last + 1, at, formula, under, value)
    page.autofit()


def _in_words(key: str, value: str) -> str:
    """What a cell says: names of the plain list in one's language, days as one writes them."""
    if not value:
        return value
    if key == "cover":
        return names.cover_name(value)
    if key in DAYS:
        return quantities.day(*map(int, value.split("-")))
    return _(CELLS.get(value, value)) if key in TRANSLATED else value


def _covers(stays: CropPlan, line: crop_plan.Line) -> str:
    """The covers over a crop, each with its days."""
    if not isinstance(line, Stay):
        return ""
    return "; ".join(
        phrase(
            "cover_and_days",
            cover=names.cover_name(use.kind),
            first=stays.month_day(use.from_day),
            last=stays.month_day(use.to_day),
        )
        for use in line.covers
    )


def _in_units(row: Mapping[str, Any], units: Units) -> dict[str, Any]:
    """A row in the units of the site; amounts of a line are in the unit beside them."""
    made = dict(row)
    for key, value in row.items():
        if isinstance(value, float | int) and key not in AMOUNTS:
            number = of_table(value, key, units)[0]
            # As careful as the sheets are.
            step = quantities.CAREFUL_STEP
            made[key] = step * (number // step) if key in SPEEDS else number
    if "unit" in row:
        unit = f"_{row['unit'].replace('²', '2')}"
        for key in AMOUNTS:
            number, said = of_table(row[key], unit, units)
            # Whole feet, as on the crew's sheet.
            made[key] = number if number == row[key] else round(number)
            made["unit"] = said or row["unit"]
    return made
