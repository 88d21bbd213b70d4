"""What goes where, through the year: a turn is the stay of one crop on one bed.

Wanted crops, beds and the covers that are owned are fitted together by a solver: first
so that as much as possible of what is wanted has a bed, then off the family of last
year's crop, then so that most days of season are won.
"""

from fieldmap.decide.crop_plan.chosen import chosen
from fieldmap.decide.crop_plan.model import CoverAccount, CoverUse, Turn, Turns
from fieldmap.decide.crop_plan.solve import make

__all__ = ["CoverAccount", "CoverUse", "Turn", "Turns", "chosen", "make"]
