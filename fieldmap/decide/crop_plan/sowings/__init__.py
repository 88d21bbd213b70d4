"""Crops that are wanted by metres, plants or weeks: dated sowings on parts of beds."""

from fieldmap.decide.crop_plan.sowings.answer import bears_late, harvests, short
from fieldmap.decide.crop_plan.sowings.asked import Sowing, meant, sowings
from fieldmap.decide.crop_plan.sowings.sown import Farm, Sown, Ways, sow, whole

__all__ = [
    "Farm",
    "Sowing",
    "Sown",
    "Ways",
    "bears_late",
    "harvests",
    "meant",
    "short",
    "sow",
    "sowings",
    "whole",
]
