"""What goes where, through the year: a stay is one crop's time on one bed.

Wanted crops, beds and the covers that are owned are fitted together by a solver: first
so that as much as possible of what is wanted has a bed, then off the family of last
year's crop, then so that most days of season are won.
"""

from fieldmap.decide.crop_plan.chosen import chosen
from fieldmap.decide.crop_plan.model import CoverUsage, CoverUse, CropPlan, Stay
from fieldmap.decide.crop_plan.solve import make

__all__ = ["CoverUsage", "CoverUse", "CropPlan", "Stay", "chosen", "make"]
