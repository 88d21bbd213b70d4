"""What to buy, and hoops and cover bed by bed: `materials.csv` and the workbook."""

from fieldmap.decide.materials import Line, LowTunnel
from fieldmap.show.files.tables import Column, attributes
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
    *attributes("hoops"),
    *attributes("spacing_m", digits=2),
    *attributes("cut_m", "leg_m"),
    *attributes("cover_width_m", "cover_length_m", "roll_width_m", digits=2),
    *attributes("joins"),
    *attributes("waste_m2", digits=2),
    Column("weights", lambda it: it.anchors),
    Column("weight_gap_m", lambda it: it.anchor_gap_m, 2),
    Column("weight_kg", lambda it: it.anchor_kg, 1),
    Column("holds_to_m_s", lambda it: it.holds_to_m_s, 1),
    Column("lets_go_m_s", lambda it: it.lets_go_m_s, 1),
    # Beds under one whole piece; 1 where the bed has a length of its own.
    Column("beds_under_one", lambda it: len(it.under.beds) if it.under else 1),
)


def _whole(amount: float) -> float:
    return int(amount) if float(amount).is_integer() else round(amount, 2)
