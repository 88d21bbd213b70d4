"""Hoops, covers, weights and pipe: lengths, numbers, what to buy and how to cut it.

Figures without a source are common practice; where they differ the safer one is taken.
"""

from fieldmap.decide.materials.hoop_ground import HoopGround, hoop_ground
from fieldmap.decide.materials.model import Line, LowTunnel, Materials, Roof
from fieldmap.decide.materials.shopping_list import make
from fieldmap.decide.materials.tunnel_covers import (
    NONE_INSIDE,
    TunnelCovers,
    Within,
    plan_covers,
)

__all__ = [
    "NONE_INSIDE",
    "HoopGround",
    "Line",
    "LowTunnel",
    "Materials",
    "Roof",
    "TunnelCovers",
    "Within",
    "hoop_ground",
    "make",
    "plan_covers",
]
