"""Whether heights of a file are in feet, by what the phone of a walk measured."""

import numpy as np
import rasterio

from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.raster import Bounds
from fieldmap.read.elevation.files import FOOT_M
from fieldmap.read.start.elevation.window import Heights

# A phone's height may be out by so much: it swims by tens of metres, and some phones give
# it above the ellipsoid, which lies up to 100 m off the sea and mostly under 60 (from
# memory).
OUT_M = 60.0


def ground_m(heights: Heights, bounds: Bounds) -> float:
    """Height at the middle of the plots as the grid has it; NaN where it knows none."""
    west, south, east, north = bounds
    lonlat = np.array([[(west + east) / 2], [(south + north) / 2]])
    x, y = transformer(WGS84, heights.crs).transform(*lonlat)
    row, col = rasterio.transform.rowcol(heights.transform, x[0], y[0])
    rows, cols = heights.values.shape
    if not (0 <= row < rows and 0 <= col < cols):
        return float("nan")
    return float(heights.values[row, col])


def look_like_feet(metres: float, phone_m: float) -> bool:
    """Whether a height taken as metres is far from the phone's, and near it as feet.

    Examples
    --------
    >>> look_like_feet(394.0, 118.0), look_like_feet(120.0, 118.0)
    (True, False)

    Near the sea feet and metres are too much alike to tell:

    >>> look_like_feet(98.0, 30.0)
    False
    """
    is_far = abs(metres - phone_m) > 2 * OUT_M
    return is_far and abs(metres * FOOT_M - phone_m) < OUT_M
