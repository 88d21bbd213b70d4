"""What to cover tonight, and what to buy, cut and peg."""

from collections.abc import Sequence
from functools import partial

from fieldmap.decide.materials import Line, LowTunnel, Materials
from fieldmap.decide.pegging.model import Check, FieldPegs, Peg
from fieldmap.decide.tonight.matrix import Line as Lows
from fieldmap.decide.tonight.matrix import Matrix
from fieldmap.show.map.tables.table import Columns, Table, row_id, table
from fieldmap.show.text import names, quantities
from fieldmap.show.text.decide import pegging, tonight
from fieldmap.show.text.decide.materials import cutting_list, item
from fieldmap.show.text.language import translated, written
from fieldmap.show.text.map import materials as words
from fieldmap.show.text.map.labels import label
from fieldmap.show.text.map.tonight import low
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase, say_all


def to_cover(sheet: Matrix | None, units: Units) -> Table:
    """What to cover on clear and calm nights: crops by plot, lows side by side."""
    lows = () if sheet is None else sheet.lows
    order = () if sheet is None else sheet.plan_order
    columns: Columns[tuple[str, Lows]] = {
        "plot": lambda line: line[0],
        "beds": lambda line: names.runs_of_beds(line[1].beds, order),
        "crop": lambda line: names.started(names.listed(translated(line[1].crops))),
    } | {
        low(degrees, units): partial(_cell, at=at, order=order, units=units)
        for at, degrees in enumerate(lows)
    }
    blocks = () if sheet is None else sheet.blocks
    lines = [(block.plot, line) for block in blocks for line in block.lines]
    day = () if sheet is None else (tonight.beds_of(sheet.day, sheet.until),)
    return table("tonight", columns, lines, (*day, label("tonight_note")))


def _cell(line: tuple[str, Lows], at: int, order: Sequence[str], units: Units) -> str:
    return tonight.cell(line[1].cells[at], order, units)


def to_buy(materials: Materials, units: Units) -> Table:
    """The list for the shop."""
    columns: Columns[Line] = {
        "what": lambda line: item(line.item),
        "needed": lambda line: _about(line.need, line, units),
        "on_hand": lambda line: amount(line.on_hand, line, units),
        "to_buy": lambda line: _about(line.buy, line, units),
        "cost": lambda line: "" if line.cost is None else written(line.cost, ",.2f"),
    }
    notes = (
        *cutting_list(materials, units),
        *say_all(materials.remarks, units),
        *(words.roof(roof, units) for roof in materials.roofs),
        label("materials_note"),
        *translated(words.CAUTIONS),
    )
    return table("materials", columns, materials.lines, notes)


def amount(value: float, line: Line, units: Units) -> str:
    """An amount of what is bought, in its unit.

    Parameters
    ----------
    value
        The amount, in the unit of the line.
    line
        Line of the shopping list; metres and square metres are written with their unit,
        pieces without.
    units
        "metric" or "us".
    """
    if line.unit == "m":
        return quantities.whole_length(value, units)
    if line.unit == "m²":
        return quantities.area(round(value), units)
    return written(value, ",.0f")


def _about(value: float, line: Line, units: Units) -> str:
    shown = amount(value, line, units)
    return phrase("about_amount", amount=shown) if line.rough else shown


def hoops(low_tunnels: Sequence[LowTunnel], units: Units) -> Table:
    """Hoops and covers, bed by bed, with the part of a bed that is covered in part."""

    def where(low: LowTunnel) -> str:
        parts = [(low.bed, *ends) for ends in low.stretches_m]
        return names.on_each_bed([low.bed], parts, units, [])

    def apart(number: int, gap_m: float) -> str:
        return phrase("pieces_apart", units, number=number, gap=gap_m)

    columns: Columns[LowTunnel] = {
        "bed": where,
        "cover": lambda low: names.cover_name(low.kind),
        "hoops": lambda low: apart(low.hoops, low.spacing_m),
        "cut_each": lambda low: quantities.pipe(low.cut_m, units),
        "leg": lambda low: quantities.short_length(low.leg_m, units),
        "cover_size": lambda low: words.cover_to_cut(low, units),
        "weights": lambda low: words.weights(low, units),
    }
    return table("hoops", columns, low_tunnels)


def pegs(field: FieldPegs, number: int, units: Units) -> Table:
    """The pegs of a field, and what proves them, in the order of the work.

    Parameters
    ----------
    field
        How the field is pegged.
    number
        Number of the field in the plan, from 0.
    units
        "metric" for whole centimetres, "us" for feet and inches.
    """
    columns: Columns[Peg | Check] = {
        "peg": lambda step: str(step.number) if isinstance(step, Peg) else "",
        "how": lambda step: pegging.step(step, units),
    }
    notes = (
        pegging.example(units),
        pegging.limits(units),
        *translated((pegging.WORDS["ground"],)),
    )
    return table(
        row_id("pegs", number),
        columns,
        field.steps,
        (*notes, *translated((pegging.WORDS["phone"],))),
        title=phrase("pegs_of_field", field=field.plot),
    )
