"""Which way the plots fall."""

from typing import NamedTuple

import geopandas as gpd
import numpy as np
from rasterio.features import geometry_mask

from fieldmap.analyse.fields import TerrainFields
from fieldmap.decide.layout.beds import LEVEL
from fieldmap.show.text import quantities
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase


class Downhill(NamedTuple):
    """The way down, as a vector of length 1 on the grid, and the drop in words."""

    east: float
    north: float
    said: str


def of_plots(
    terrain: TerrainFields, plots: gpd.GeoSeries, units: Units
) -> Downhill | None:
    """Which way the plots fall on the whole, and how much; None where they are level."""
    inside = geometry_mask(
        plots,
        out_shape=terrain.east.shape,
        transform=terrain.east.transform,
        invert=True,
        all_touched=True,
    )
    rises = [np.nanmean(each.values[inside]) for each in (terrain.east, terrain.north)]
    rise = float(np.hypot(*rises))
    if not np.isfinite(rise) or rise < LEVEL:
        return None
    east, north = (round(-float(each) / rise, 4) for each in rises)
    fall = quantities.fall(100 * rise, units)
    return Downhill(east, north, phrase("fall_of_plots", fall=fall))
