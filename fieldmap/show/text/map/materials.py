"""What to buy, cut and peg."""

import math
from collections import Counter

from fieldmap.decide.materials import LowTunnel, Roof
from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.decide.cautions import BURIED_LINES
from fieldmap.show.text.language import _, written
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase

_CAUTIONS = texts(__name__, "cautions")
CAUTIONS = (_CAUTIONS["ends"], BURIED_LINES, _CAUTIONS["pipes"])


def roof(roof: Roof, units: Units) -> str:
    """Rain off a tunnel; the flow rounded up, since a drain is dug for it."""
    litres = roof.litres_per_25_mm
    if units == "us":
        litres, peak = (
            litres * 25.4 / 25.0,
            f"{math.ceil(roof.peak_l_s * 15.850323 - 1e-9)}",
        )
    else:
        peak = written(math.ceil(roof.peak_l_s * 10 - 1e-9) / 10, ".1f")
    return phrase(
        f"roof_{units}",
        units,
        tunnel=roof.tunnel,
        water=_to_ten(litres, units),
        peak=peak,
    )


def _to_ten(litres: float, units: Units) -> str:
    """Water to ten litres or gallons, so that tunnels add up to what all of them shed."""
    gallons = litres / quantities.LITRES_PER_GALLON
    text = _("{number} gallons") if units == "us" else _("{number} litres")
    amount = gallons if units == "us" else litres
    return text.format(number=written(float(round(amount, -1)), ",.0f"))


def cover_to_cut(low: LowTunnel, units: Units) -> str:
    """Width and length of a cover, and the roll that it comes from; or the piece as it is."""
    if low.under is not None:
        return phrase(
            "cover_uncut",
            units,
            width=low.under.width_m,
            length=low.under.length_m,
            beds=names.listed(low.under.beds),
        )
    return phrase(
        "cover_of_joined_widths" if low.joins else "cover_from_a_roll",
        units,
        size=pieces_to_cut(low, units),
        widths=low.joins + 1,
        roll=low.roll_width_m,
    )


def pieces_to_cut(low: LowTunnel, units: Units) -> str:
    """Width and length of each piece of cover over a bed, those alike by their number."""
    alike = Counter(round(each, 2) for each in low.pieces_m)
    return names.listed(
        [
            phrase(
                "cover_in_pieces" if number > 1 else "cover_to_cut",
                units,
                number=number,
                width=low.cover_width_m,
                length=length_m,
            )
            for length_m, number in alike.items()
        ]
    )


def weights(low: LowTunnel, units: Units) -> str:
    """Weights of a bed or of the piece over several, and the gust that they hold."""
    if low.holds_to_m_s is None:
        is_clipped = low.held_by == "clips"
        return phrase("cover_clipped" if is_clipped else "cover_edges_buried")
    return phrase(
        "weights_of_piece" if low.wide_beds else "weights_of_bed",
        units,
        number=low.gear.weights,
        weight_kg=low.anchor_kg,
        gap=low.anchor_gap_m,
        speed_m_s=low.holds_to_m_s,
    )
