"""What to buy, and hoops and cover bed by bed: `materials.csv` and the workbook."""

from collections.abc import Sequence

from fieldmap.decide.materials import Line, LowTunnel
from fieldmap.show.files import tables
from fieldmap.show.files.tables import Column
from fieldmap.show.text.decide.materials import item

# One line of the list for the shop; rough ones are orders of magnitude.
COLUMNS: tuple[Column[Line], ...] = (
    Column("item", lambda it: it.item),
    Column("what", lambda it: item(it.item)),
    Column("need", lambda it: _whole(it.need)),
    Column("on_hand", lambda it: _whole(it.on_hand)),
    Column("buy", lambda it: _whole(it.buy)),
    Column("unit", lambda it: it.unit),
    Column("rough", lambda it: "about" if it.rough else ""),
    Column("cost", lambda it: it.cost),
)
LOW_TUNNEL_COLUMNS: tuple[Column[LowTunnel], ...] = (
    Column("bed", lambda it: it.bed),
    Column("cover", lambda it: it.kind),
    Column("hoops", lambda it: it.hoops),
    Column("spacing_m", lambda it: it.spacing_m, 2),
    Column("cut_m", lambda it: it.cut_m),
    Column("leg_m", lambda it: it.leg_m),
    Column("cover_width_m", lambda it: it.cover_width_m, 2),
    Column("cover_length_m", lambda it: it.cover_length_m, 2),
    Column("roll_width_m", lambda it: it.roll_width_m, 2),
    Column("joins", lambda it: it.joins),
    Column("waste_m2", lambda it: it.waste_m2, 2),
    Column("weights", lambda it: it.anchors),
    Column("weight_gap_m", lambda it: it.anchor_gap_m, 2),
    Column("lets_go_m_s", lambda it: it.lets_go_m_s, 1),
)


def csv(lines: Sequence[Line]) -> str:
    """The list for the shop."""
    return tables.csv_of(COLUMNS, lines, "metric")


def _whole(amount: float) -> float:
    return int(amount) if float(amount).is_integer() else round(amount, 2)
