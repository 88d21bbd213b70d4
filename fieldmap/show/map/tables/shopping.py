"""What to buy, cut and peg."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldmap.decide import materials as materials_
from fieldmap.decide.stakes import tape_rows
from fieldmap.show.map.tables.table import Column, Table, headings, row_id, rows
from fieldmap.show.text import names, quantities
from fieldmap.show.text.language import translated
from fieldmap.show.text.map import materials as words
from fieldmap.show.text.map.headings import heading
from fieldmap.show.text.map.labels import label
from fieldmap.show.text.stakes import PHONE, SQUARE
from layers.cover import COVERS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldmap.decide.materials import Line, LowTunnel, Materials
    from fieldmap.decide.stakes import Baseline, Stake, TapeRow
    from fieldmap.show.text.quantities import Units


def to_buy(materials: Materials, units: Units) -> Table:
    """The list for the shop."""
    columns: list[Column[Line]] = [
        Column(heading("what"), lambda line: line.what),
        Column(heading("needed"), lambda line: _about(line.need, line, units)),
        Column(heading("on_hand"), lambda line: _amount(line.on_hand, line, units)),
        Column(heading("to_buy"), lambda line: _about(line.buy, line, units)),
        Column(
            heading("cost"),
            lambda line: "" if line.cost is None else f"{line.cost:,.2f}",
        ),
    ]
    roofs = (
        words.roof(roof.tunnel, roof.litres_per_25_mm, roof.peak_l_s, units)
        for roof in materials.roofs
    )
    return Table(
        "materials",
        label("materials"),
        headings(columns),
        rows(columns, materials.lines, "materials"),
        label("no_materials"),
        (
            *materials_.cut_words(materials, units),
            *materials.remarks,
            *roofs,
            label("materials_note"),
            *translated(words.CAUTIONS),
        ),
    )


def _amount(value: float, line: Line, units: Units) -> str:
    if line.unit == "m":
        return quantities.length(round(value), units)
    if line.unit == "m²":
        return quantities.area(round(value), units)
    return f"{value:,.0f}"


def _about(value: float, line: Line, units: Units) -> str:
    amount = _amount(value, line, units)
    return words.about(amount) if line.rough else amount


def hoops(materials: Materials, units: Units) -> Table:
    """Hoops and covers, bed by bed."""
    columns: list[Column[LowTunnel]] = [
        Column(heading("bed"), lambda low: low.bed),
        Column(heading("cover"), lambda low: names.cover(COVERS[low.kind].name)),
        Column(
            heading("hoops"), lambda low: words.apart(low.hoops, low.spacing_m, units)
        ),
        Column(heading("cut_each"), lambda low: quantities.pipe(low.cut_m, units)),
        Column(heading("leg"), lambda low: quantities.short_length(low.leg_m, units)),
        Column(heading("cover_size"), lambda low: words.cover_to_cut(low, units)),
        Column(
            heading("weights"),
            lambda low: words.weights(low.anchors, low.anchor_gap_m, units),
        ),
    ]
    return Table(
        "hoops",
        label("hoops"),
        headings(columns),
        rows(columns, materials.low_tunnels, "hoops"),
    )


def pegs(stakes: Sequence[Stake], line: Baseline, number: int, units: Units) -> Table:
    """The pegs of a block, by its baseline."""

    def edges(row: TapeRow) -> str:
        return names.listed(
            [quantities.pipe(at_m, units) for at_m in (row.near_m, row.far_m)]
        )

    columns: list[Column[TapeRow]] = [
        Column(heading("bed"), lambda row: row.of),
        Column(heading("tape"), edges),
        Column(heading("out"), lambda row: quantities.pipe(row.out_m, units)),
        Column(heading("length"), lambda row: quantities.pipe(row.length_m, units)),
    ]
    key = row_id("pegs", number)
    return Table(
        key,
        words.pegs(line.block),
        headings(columns),
        rows(columns, tape_rows(stakes, line.block), key),
        notes=(words.tape(line, units), *translated((SQUARE, PHONE))),
    )
