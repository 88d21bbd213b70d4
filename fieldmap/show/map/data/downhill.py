"""Which way the plots fall."""

from typing import NamedTuple

import geopandas as gpd
import numpy as np
from rasterio.features import geometry_mask

from fieldmap.analyse.fields import TerrainFields
from fieldmap.decide.layout.beds import LEVEL
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase


class Downhill(NamedTuple):
    """The way down, as a vector of length 1 on the grid, and the drop in two lines."""

    east: float
    north: float
    said: tuple[str, str]


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
    fall = phrase("fall_of_plots", units, fall=100 * rise)
    return Downhill(east, north, (fall, phrase("fall_of_plots_is")))
