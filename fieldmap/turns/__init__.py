"""What goes where, through the year: a turn is the stay of one crop on one bed.

Wanted crops, beds and the covers that are owned are fitted together by a solver: first
so that as much as possible of what is wanted has a bed, then off the family of last
year's crop, then so that most days of season are won.
"""

from fieldmap.turns.chosen import chosen
from fieldmap.turns.fit import make
from fieldmap.turns.record import CoverAccount, CoverUse, Turn, Turns

__all__ = ["CoverAccount", "CoverUse", "Turn", "Turns", "chosen", "make"]
