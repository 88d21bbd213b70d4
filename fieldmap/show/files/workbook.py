"""What to buy and cut, for the shop, as a workbook."""

import io
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from typing import TypeVar

import xlsxwriter

from fieldmap.decide.materials import Materials
from fieldmap.show.files import tables
from fieldmap.show.files.tables import materials as columns
from fieldmap.show.text.decide.materials import cutting_list
from fieldmap.show.text.language import _, translated
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import say_all

T = TypeVar("T")
# Columns whose values are read in one's language, and are names in the plain list.
TRANSLATED = ("rough", "unit")
# Workbooks hold the time they were made; a fixed one keeps equal plans equal.
FIXED_TIME = datetime(2000, 1, 1, tzinfo=UTC).replace(tzinfo=None)


def workbook(materials: Materials, units: Units) -> bytes:
    """Three sheets: to buy, hoops bed by bed, how to cut; the same bytes each time."""
    file = io.BytesIO()
    book = xlsxwriter.Workbook(
        file,
        {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False},
    )
    book.set_properties({"created": FIXED_TIME})
    hoops = columns.LOW_TUNNEL_COLUMNS
    _add_table(book, _("To buy"), columns.COLUMNS, materials.lines)
    _add_table(book, _("Hoops"), hoops, materials.low_tunnels)
    page = book.add_worksheet(_("To cut"))
    said = [*cutting_list(materials, units), *say_all(materials.remarks, units)]
    page.set_column(0, 0, 100, book.add_format({"text_wrap": True}))
    for number, sentence in enumerate(said):
        page.write_string(number, 0, sentence)
    book.close()
    return file.getvalue()


def _add_table(
    book: xlsxwriter.Workbook,
    name: str,
    columns: Sequence[tables.Column[T]],
    things: Iterable[T],
) -> None:
    page, head = book.add_worksheet(name), tables.names(columns)
    page.write_row(0, 0, translated(head), book.add_format({"bold": True, "bottom": 1}))
    page.freeze_panes(1, 0)
    page.repeat_rows(0)
    for number, thing in enumerate(things, start=1):
        row = tables.flat(columns, thing, "metric")
        for at, (key, value) in enumerate(row.items()):
            if isinstance(value, str):
                said = _(value) if key in TRANSLATED and value else value
                page.write_string(number, at, tables.harmless(said))
            elif value is not None:
                page.write_number(number, at, value)
    page.autofit()
