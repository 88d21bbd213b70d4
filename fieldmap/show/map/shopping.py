"""What to buy, cut and peg, as tables of the page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldmap.decide import materials as materials_
from fieldmap.decide import stakes
from fieldmap.show.map.tables import Row, Table
from fieldmap.show.text import map
from fieldmap.show.text import quantities as numbers
from fieldmap.show.text.language import translated
from layers.cover import COVERS

if TYPE_CHECKING:
    from fieldmap.decide.materials import Line
    from fieldmap.plan import Plan


def tables(plan: Plan) -> tuple[Table, ...]:
    """To buy, hoops bed by bed, then the pegs of each block."""
    return (_to_buy(plan), *_hoops(plan), *_pegs(plan))


def _amount(value: float, line: Line, units: numbers.Units) -> str:
    if line.unit == "m":
        return numbers.length(round(value), units)
    if line.unit == "m²":
        return numbers.area(round(value), units)
    return f"{value:,.0f}"


def _about(value: float, line: Line, units: numbers.Units) -> str:
    told = _amount(value, line, units)
    return map.about(told) if line.rough else told


def _to_buy(plan: Plan) -> Table:
    units = plan.site.settings.units
    found = plan.materials
    rows = tuple(
        Row(
            f"materials-{number}",
            (
                line.what,
                _about(line.need, line, units),
                _amount(line.on_hand, line, units),
                _about(line.buy, line, units),
                "" if line.cost is None else f"{line.cost:,.2f}",
            ),
        )
        for number, line in enumerate(found.lines)
    )
    roofs = tuple(
        map.roof(roof.tunnel, roof.litres_per_25_mm, roof.peak_l_s, units)
        for roof in found.roofs
    )
    return Table(
        "materials",
        map.text("materials"),
        translated(map.MATERIAL_COLUMNS),
        rows,
        map.text("no_materials"),
        (
            *materials_.cut_words(found, units),
            *found.remarks,
            *roofs,
            map.text("materials_note"),
            *translated(map.MATERIAL_CAUTIONS),
        ),
    )


def _hoops(plan: Plan) -> tuple[Table, ...]:
    units = plan.site.settings.units
    rows = tuple(
        Row(
            f"hoops-{number}",
            (
                low.bed,
                numbers.cover(COVERS[low.kind].name),
                map.apart(low.hoops, low.spacing_m, units),
                numbers.pipe(low.cut_m, units),
                numbers.short_length(low.leg_m, units),
                map.cover_to_cut(low, units),
                map.weights(low.anchors, low.anchor_gap_m, units),
            ),
        )
        for number, low in enumerate(plan.materials.low_tunnels)
    )
    if not rows:
        return ()
    return (Table("hoops", map.text("hoops"), translated(map.HOOP_COLUMNS), rows, ""),)


def _pegs(plan: Plan) -> tuple[Table, ...]:
    units = plan.site.settings.units
    return tuple(
        Table(
            f"pegs-{number}",
            map.pegs(line.block),
            translated(map.PEG_COLUMNS),
            tuple(
                Row(
                    f"pegs-{number}-{at}",
                    (
                        row.of,
                        numbers.listed(
                            [
                                numbers.pipe(row.near_m, units),
                                numbers.pipe(row.far_m, units),
                            ]
                        ),
                        numbers.pipe(row.out_m, units),
                        numbers.pipe(row.length_m, units),
                    ),
                )
                for at, row in enumerate(stakes.peg_it(plan.stakes, line.block))
            ),
            "",
            (
                map.tape(line, units),
                *translated((stakes.SQUARE, stakes.PHONE)),
            ),
        )
        for number, line in enumerate(plan.stakes.baselines)
    )
