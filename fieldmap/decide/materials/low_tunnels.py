"""Hoops, cover and weights of one bed."""

import math
from collections.abc import Sequence

from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.materials.cover_size import arc_m, cover_size, is_film, rolls
from fieldmap.decide.materials.model import LowTunnel
from fieldmap.model.settings import Materials
from layers import hoop

# All common practice, no source.
FABRIC_SPACING_M, FILM_SPACING_M = 1.5, 1.0
WIND_PLANNED_M_S = 15.0  # a fresh gale's gusts; beyond it film comes off the day before
WIDEST_GAP_M = 1.5
STONE_KG = 10.0


def low_tunnel(
    bed: Bed, kind: str, choices: Materials, roll_widths_m: Sequence[float]
) -> LowTunnel:
    """A bed under a kind of cover, with the hoops and weights that the grower chose."""
    film = is_film(kind)
    spacing_m = choices.hoop_spacing_m or (FILM_SPACING_M if film else FABRIC_SPACING_M)
    over_m = arc_m(choices.hoop_bend, bed.width_m, choices.hoop_height_m)
    size = cover_size(kind, bed.width_m, bed.length_m, choices)
    gap_m, weight_kg = _anchor(bed.width_m, choices)
    both_edges = 2 * (math.ceil(bed.length_m / gap_m - 1e-9) + 1) if gap_m else 0
    return LowTunnel(
        bed=bed.name,
        kind=kind,
        length_m=bed.length_m,
        span_m=bed.width_m,
        height_m=choices.hoop_height_m,
        hoops=hoop.hoop_count(bed.length_m, spacing_m),
        spacing_m=spacing_m,
        leg_m=choices.leg_m,
        cut_m=math.ceil(100 * (over_m + 2 * choices.leg_m) - 1e-9) / 100,
        cover_length_m=size.length_m,
        **rolls(size, roll_widths_m)._asdict(),
        anchors=both_edges,
        anchor_gap_m=gap_m,
        anchor_kg=weight_kg,
        lets_go_m_s=hoop.letting_go_m_s(gap_m, bed.width_m, weight_kg)
        if gap_m
        else None,
    )


def _anchor(width_m: float, choices: Materials) -> tuple[float, float]:
    """Gap between weights on an edge, 0 for a trench, and the mass of one."""
    if choices.anchor == "trench":
        return 0.0, 0.0
    weight_kg = choices.bag_kg if choices.anchor == "bags" else STONE_KG
    gap_m = hoop.bag_spacing_m(WIND_PLANNED_M_S, width_m, weight_kg)
    return round(min(gap_m, WIDEST_GAP_M), 2), weight_kg
