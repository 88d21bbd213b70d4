"""Hoops, covers, weights and pipe: lengths, numbers, what to buy and how to cut it.

Figures without a source are common practice; where they differ the safer one is taken.
"""

from fieldmap.decide.materials.model import Line, LowTunnel, Materials, Roof
from fieldmap.decide.materials.shopping_list import make

__all__ = ["Line", "LowTunnel", "Materials", "Roof", "make"]
