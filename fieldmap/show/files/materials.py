"""What to buy and cut, for the shop: plain text and a workbook."""

from __future__ import annotations

import io
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import xlsxwriter

from fieldmap.decide import materials as materials_
from fieldmap.show.files.tables import csv_text, harmless
from fieldmap.show.text.language import _, later, translated

if TYPE_CHECKING:
    from fieldmap.decide.materials import Materials
    from fieldmap.show.text.quantities import Units

COLUMNS = (
    later("item"),
    later("what"),
    later("need"),
    later("on_hand"),
    later("buy"),
    later("unit"),
    later("rough"),
    later("cost"),
)
LOW_COLUMNS = (
    later("bed"),
    later("cover"),
    later("hoops"),
    later("spacing_m"),
    later("cut_m"),
    later("leg_m"),
    later("cover_width_m"),
    later("cover_length_m"),
    later("roll_width_m"),
    later("joins"),
    later("waste_m2"),
    later("weights"),
    later("weight_gap_m"),
    later("lets_go_m_s"),
)
ABOUT = later("about")
UNITS = (later("pieces"), "m", "m²")  # as lines of the list have them
# Columns whose values are texts in the workbook and names in the plain list.
SAID = ("rough", "unit")
# Workbooks hold the time they were made; a fixed one keeps equal plans equal.
FIXED_TIME = datetime(2000, 1, 1, tzinfo=UTC).replace(tzinfo=None)


def csv_of(materials: Materials) -> str:
    """The list for the shop."""
    return csv_text(COLUMNS, list_rows(materials))


def list_rows(materials: Materials) -> list[dict[str, Any]]:
    """One row a line; rough ones are orders of magnitude."""
    return [
        {
            "item": line.item,
            "what": line.what,
            "need": _whole(line.need),
            "on_hand": _whole(line.on_hand),
            "buy": _whole(line.buy),
            "unit": line.unit,
            "rough": ABOUT if line.rough else "",
            "cost": line.cost,
        }
        for line in materials.lines
    ]


def low_rows(materials: Materials) -> list[dict[str, Any]]:
    """One row for each bed with hoops."""
    return [
        {
            "bed": each.bed,
            "cover": each.kind,
            "hoops": each.hoops,
            "spacing_m": round(each.spacing_m, 2),
            "cut_m": each.cut_m,
            "leg_m": each.leg_m,
            "cover_width_m": round(each.cover_width_m, 2),
            "cover_length_m": round(each.cover_length_m, 2),
            "roll_width_m": round(each.roll_width_m, 2),
            "joins": each.joins,
            "waste_m2": round(each.waste_m2, 2),
            "weights": each.anchors,
            "weight_gap_m": round(each.anchor_gap_m, 2),
            "lets_go_m_s": None
            if each.lets_go_m_s is None
            else round(each.lets_go_m_s, 1),
        }
        for each in materials.low_tunnels
    ]


def _whole(amount: float) -> float:
    return int(amount) if float(amount).is_integer() else round(amount, 2)


def workbook(materials: Materials, units: Units) -> bytes:
    """Three sheets: to buy, hoops bed by bed, how to cut; the same bytes each time."""
    file = io.BytesIO()
    book = xlsxwriter.Workbook(
        file,
        {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False},
    )
    book.set_properties({"created": FIXED_TIME})
    bold = book.add_format({"bold": True, "bottom": 1})
    for name, columns, rows in (
        (_("To buy"), COLUMNS, list_rows(materials)),
        (_("Hoops"), LOW_COLUMNS, low_rows(materials)),
    ):
        page = book.add_worksheet(name)
        page.write_row(0, 0, translated(columns), bold)
        page.freeze_panes(1, 0)
        page.repeat_rows(0)
        for number, row in enumerate(rows, start=1):
            for at, column in enumerate(columns):
                shown = _(row[column]) if column in SAID else row[column]
                _write(page, number, at, shown)
        page.autofit()
    page = book.add_worksheet(_("To cut"))
    said = [*materials_.cut_words(materials, units), *materials.remarks]
    page.set_column(0, 0, 100, book.add_format({"text_wrap": True}))
    for number, sentence in enumerate(said):
        page.write_string(number, 0, sentence)
    book.close()
    return file.getvalue()


def _write(page: Any, row: int, col: int, value: Any) -> None:
    if value is None:
        return
    if isinstance(value, str):
        page.write_string(row, col, harmless(value))
    else:
        page.write_number(row, col, value)
