"""What to cover tonight, and what to buy, cut and peg."""

from collections.abc import Sequence

from fieldmap.decide.materials import Line, LowTunnel, Materials
from fieldmap.decide.stakes import Baseline, Stake, TapeRow, tape_rows
from fieldmap.decide.tonight import Evening, spans
from fieldmap.show.map.tables.table import Columns, Table, row_id, table
from fieldmap.show.text import names, quantities
from fieldmap.show.text.decide import tonight
from fieldmap.show.text.decide.materials import cutting_list, item
from fieldmap.show.text.decide.stakes import PHONE, SQUARE
from fieldmap.show.text.language import translated
from fieldmap.show.text.map import materials as words
from fieldmap.show.text.map.labels import label
from fieldmap.show.text.map.tonight import lows
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase, say_all


def to_cover(evenings: Sequence[Evening], units: Units) -> Table:
    """What to cover, by the low that is forecast; lows that ask for the same share a row."""
    columns: Columns[tuple[Evening, Evening]] = {
        "low": lambda span: lows(span[0].low, span[1].low, units),
        "to_do": lambda span: "\n".join(_tonight(span[0], units)),
    }
    notes = (label("tonight_note"), *translated(tonight.CAUTIONS))
    return table("tonight", columns, spans(evenings), notes)


def _tonight(evening: Evening, units: Units) -> list[str]:
    plots = tonight.by_plot(evening.advice, units)
    return [
        *tonight.everywhere(evening.advice, units),
        *(f"{here.plot}: {' '.join(here.lines)}" for here in plots),
    ]


def to_buy(materials: Materials, units: Units) -> Table:
    """The list for the shop."""
    columns: Columns[Line] = {
        "what": lambda line: item(line.item),
        "needed": lambda line: _about(line.need, line, units),
        "on_hand": lambda line: _amount(line.on_hand, line, units),
        "to_buy": lambda line: _about(line.buy, line, units),
        "cost": lambda line: "" if line.cost is None else f"{line.cost:,.2f}",
    }
    notes = (
        *cutting_list(materials, units),
        *say_all(materials.remarks, units),
        *(words.roof(roof, units) for roof in materials.roofs),
        label("materials_note"),
        *translated(words.CAUTIONS),
    )
    return table("materials", columns, materials.lines, notes)


def _amount(value: float, line: Line, units: Units) -> str:
    if line.unit == "m":
        return quantities.whole_length(value, units)
    if line.unit == "m²":
        return quantities.area(round(value), units)
    return f"{value:,.0f}"


def _about(value: float, line: Line, units: Units) -> str:
    amount = _amount(value, line, units)
    return phrase("about_amount", amount=amount) if line.rough else amount


def hoops(low_tunnels: Sequence[LowTunnel], units: Units) -> Table:
    """Hoops and covers, bed by bed."""

    def apart(number: int, gap_m: float) -> str:
        return phrase("pieces_apart", units, number=number, gap=gap_m)

    columns: Columns[LowTunnel] = {
        "bed": lambda low: low.bed,
        "cover": lambda low: names.cover_name(low.kind),
        "hoops": lambda low: apart(low.hoops, low.spacing_m),
        "cut_each": lambda low: quantities.pipe(low.cut_m, units),
        "leg": lambda low: quantities.short_length(low.leg_m, units),
        "cover_size": lambda low: words.cover_to_cut(low, units),
        "weights": lambda low: words.weights(low, units),
    }
    return table("hoops", columns, low_tunnels)


def pegs(stakes: Sequence[Stake], line: Baseline, number: int, units: Units) -> Table:
    """The pegs of a block, by its baseline."""
    columns: Columns[TapeRow] = {
        "bed": lambda row: row.of,
        "tape": lambda row: names.listed(
            [quantities.pipe(at_m, units) for at_m in (row.near_m, row.far_m)]
        ),
        "out": lambda row: quantities.pipe(row.out_m, units),
        "length": lambda row: quantities.pipe(row.length_m, units),
    }
    return table(
        row_id("pegs", number),
        columns,
        tape_rows(stakes, line.block),
        (words.tape(line, units), *translated((SQUARE, PHONE))),
        title=phrase("pegs_of_block", block=line.block),
    )
