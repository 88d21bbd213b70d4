"""Litres a day by month, and drip lines, headers and pipe from the tap."""

from fieldmap.decide.materials.watering.model import (
    MonthOfWater,
    Pipes,
    TunnelWater,
    Watering,
)
from fieldmap.decide.materials.watering.plan import Here, plan_water, taps

__all__ = [
    "Here",
    "MonthOfWater",
    "Pipes",
    "TunnelWater",
    "Watering",
    "plan_water",
    "taps",
]
