"""Hoops, covers, weights and pipe: lengths, numbers, what to buy and how to cut it.

Figures without a source are common practice; where they differ the safer one is taken.
"""

from fieldmap.decide.materials.hoop_ground import HoopGround, hoop_ground
from fieldmap.decide.materials.model import Line, LowTunnel, Materials, Roof
from fieldmap.decide.materials.shopping_list import make
from fieldmap.decide.materials.tunnel_covers import (
    TunnelCovers,
    plan_covers,
    within,
)

__all__ = [
    "HoopGround",
    "Line",
    "LowTunnel",
    "Materials",
    "Roof",
    "TunnelCovers",
    "hoop_ground",
    "make",
    "plan_covers",
    "within",
]
