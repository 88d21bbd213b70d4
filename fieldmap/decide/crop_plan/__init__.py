"""What goes where, through the year: a stay is one crop's time on one bed.

Wanted crops, beds and the covers that are owned are fitted together by a solver: first
so that as much as possible of what is wanted has a bed, then off the family of last
year's crop, then so that most days of season are won.
"""

from fieldmap.decide.crop_plan.bed_classes import FloorBed, floor_beds
from fieldmap.decide.crop_plan.chosen import chosen, more_jobs
from fieldmap.decide.crop_plan.model import CoverUsage, CoverUse, CropPlan, Stay
from fieldmap.decide.crop_plan.solve import make

__all__ = [
    "CoverUsage",
    "CoverUse",
    "CropPlan",
    "FloorBed",
    "Stay",
    "chosen",
    "floor_beds",
    "make",
    "more_jobs",
]
