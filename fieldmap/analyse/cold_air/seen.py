"""Offsets, and how what the grower saw at dawn moves them."""

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from shapely.geometry.base import BaseGeometry

from fieldmap.model.raster import Raster
from fieldmap.model.site import (
    SEEN_IS_RIGHT,
    WHITE_AT_DAWN,
    Mark,
    cells_in,
    marked_cells,
)
from layers import coldness, evidence

Floats = npt.NDArray[np.float64]

# What is not known of an offset at least, however narrow its range (a choice: the step
# that people are shown), and how many of that lie between the ends of a range that
# holds eight parts of ten of a normal law.
LEAST_SPREAD_C = 0.5
SPREADS_IN_RANGE = 2.563


class Offsets(NamedTuple):
    """Depth of cold air and what it is worth, as `ColdAirFields` has them."""

    depth_m: Raster
    answers_c: Raster
    central_answer: int
    offset_c: Raster


def seen_c(
    marks: Iterable[Mark], plots: Iterable[BaseGeometry], offset_c: Raster
) -> Floats:
    """By how much ground that was seen white at dawn is taken colder, (rows, cols).

    0 or less, and 0 wherever nothing was seen: that says nothing, as who draws marks
    need not have been everywhere. The middle that it was seen to be colder than is that
    of the plots off such marks; where none is left, nothing moves. It moves most where
    the computed offsets leave it open which of the two is colder (see
    `evidence.moved_below`).

    Parameters
    ----------
    marks
        What the grower has seen; only ground seen white at dawn counts here.
    plots
        Outlines in the site's CRS.
    offset_c
        (3, rows, cols): low, central and high, as computed [°C]; NaN where missing.
    """
    inside = marked_cells(marks, offset_c, WHITE_AT_DAWN)
    low, central, high = offset_c.values
    others = central[cells_in(plots, offset_c) & ~inside & ~np.isnan(central)]
    if not inside.any() or not others.size:
        return np.zeros(offset_c.shape)
    spread = np.maximum((high - low) / SPREADS_IN_RANGE, LEAST_SPREAD_C)
    moved = evidence.moved_below(
        central, spread, float(np.median(others)), SEEN_IS_RIGHT
    )
    # Missing ground has no offset that could move.
    return np.where(inside & ~np.isnan(central), moved, 0.0)


def taken_colder(offsets: Offsets, by_c: Floats, *, limited: bool) -> Offsets:
    """The same with every answer that much colder.

    Parameters
    ----------
    offsets
        As computed.
    by_c
        (rows, cols): how much colder, 0 or less [°C].
    limited
        Whether offsets stay within the limits for what nobody measured here.
    """
    if not np.nansum(by_c):
        return offsets

    def colder(raster: Raster) -> Raster:
        moved = raster.values + by_c
        if limited:
            moved = np.maximum(moved, np.minimum(raster.values, coldness.COLDEST_C))
        return raster.with_values(moved)

    return offsets._replace(
        answers_c=colder(offsets.answers_c), offset_c=colder(offsets.offset_c)
    )
