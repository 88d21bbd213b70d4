"""How large a cover must be for a bed, and which rolls give it.

One answer for what goes where and for what is bought: both count the same metres.
Figures are common practice, no source.
"""

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

from fieldmap.model.settings import Materials
from layers import hoop
from layers.cover import COVERS

FABRIC_EDGE_M, FILM_EDGE_M = 0.20, 0.40  # of cover on the ground, each side
BURIED_EDGE_M = 0.40  # of any cover whose edges go into a trench
# With so much on the ground less a roll that is a little narrow still does.
SPARED_EDGE_M = 0.10
GATHERED_M = 2.5  # both ends together
SEAM_M = 0.10
TOUCH_M = 1e-9


class CoverSize(NamedTuple):
    """Cover over the hoops of one bed.

    Attributes
    ----------
    width_m, least_width_m
        With full edges on the ground, and with the narrowest that still hold.
    length_m
        Gathered ends included.
    over_m
        The bend of the hoops alone.
    """

    width_m: float
    least_width_m: float
    length_m: float
    over_m: float


class Rolls(NamedTuple):
    """Rolls that give one cover.

    Attributes
    ----------
    cover_width_m
        Of the cover that is cut.
    roll_width_m
        Of the narrowest roll that reaches over, else of the widest.
    joins
        Seams along the bed where no roll is wide enough.
    """

    cover_width_m: float
    roll_width_m: float
    joins: int


def is_film(kind: str) -> bool:
    """Whether a cover asks of hoops and edges what film asks."""
    return COVERS[kind].kind in ("film", "two covers")


def is_clipped(kind: str) -> bool:
    """Whether a cover is clipped to its hoops, with no edges on the ground."""
    return COVERS[kind].kind == "shade cloth"


def cover_size(
    kind: str, bed_width_m: float, bed_length_m: float, hoops: Materials
) -> CoverSize:
    """Size of a cover over a bed [m], with the hoops and edges that the grower chose.

    Shade cloth is clipped to the hoops and has no edges.

    Parameters
    ----------
    kind
        Kind of cover, in the names of `layers.cover`.
    bed_width_m
        Width of the bed, which the hoops span.
    bed_length_m
        Length of the bed, or of the part that is covered.
    hoops
        What the grower chose: bend and height of hoops, and how edges are held.

    Raises
    ------
    ValueError
        When the width of the bed or the height of the hoops is not positive.
    """
    edge_m = FILM_EDGE_M if is_film(kind) else FABRIC_EDGE_M
    if hoops.anchor == "trench":
        edge_m = max(edge_m, BURIED_EDGE_M)
    spared_m = SPARED_EDGE_M
    if is_clipped(kind):
        edge_m = spared_m = 0.0
    over_m = arc_m(hoops.hoop_bend, bed_width_m, hoops.hoop_height_m)
    width_m = over_m + 2 * edge_m
    return CoverSize(width_m, width_m - 2 * spared_m, bed_length_m + GATHERED_M, over_m)


@lru_cache  # asked for every placement, of few widths
def arc_m(bend: hoop.Curve, width_m: float, height_m: float) -> float:
    """Length of a hoop above ground [m].

    Parameters
    ----------
    bend
        Curve of the hoop, in the names of `layers.hoop`.
    width_m
        Between its feet.
    height_m
        From the ground to its top.

    Raises
    ------
    ValueError
        When the curve is unknown, or width or height is not positive.
    """
    return hoop.arc_m(bend, width_m, height_m)


def is_wide_enough(roll_width_m: float, size: CoverSize) -> bool:
    """Whether a roll reaches over the hoops without a seam."""
    return roll_width_m >= size.least_width_m - TOUCH_M


def rolls(size: CoverSize, widths_m: Sequence[float]) -> Rolls:
    """The narrowest roll with full edges, else the widest that is wide enough, else seams.

    Examples
    --------
    >>> rolls(CoverSize(1.9, 1.7, 20.0, 1.5), (1.6, 2.2, 3.2))
    Rolls(cover_width_m=1.9, roll_width_m=2.2, joins=0)
    >>> rolls(CoverSize(1.7, 1.5, 20.0, 1.3), (1.6,))
    Rolls(cover_width_m=1.6, roll_width_m=1.6, joins=0)
    >>> rolls(CoverSize(5.0, 4.8, 20.0, 4.6), (1.6, 3.2))
    Rolls(cover_width_m=5.0, roll_width_m=3.2, joins=1)
    """
    wide_m = [each for each in widths_m if each >= size.width_m - TOUCH_M]
    widest_m = max(widths_m)
    if wide_m:
        return Rolls(size.width_m, min(wide_m), 0)
    if is_wide_enough(widest_m, size):
        return Rolls(widest_m, widest_m, 0)
    seams = (size.width_m - widest_m) / (widest_m - SEAM_M)
    return Rolls(size.width_m, widest_m, math.ceil(seams - TOUCH_M))
