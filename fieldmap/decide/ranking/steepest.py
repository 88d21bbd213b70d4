"""Where the ground is steepest: the middle bed of each plot, and the steepest spot."""

from collections.abc import Mapping, Sequence

import numpy as np
from rasterio.features import geometry_mask
from shapely.geometry.base import BaseGeometry

from fieldmap.decide.ranking import RankedBed
from fieldmap.model.raster import Raster


def by_plot(beds: Sequence[RankedBed]) -> list[tuple[str, float]]:
    """The fall of the middle bed of each plot [%], in the order of the beds."""
    return [
        (
            plot,
            float(
                np.median([bed.slope_percent for bed in beds if bed.bed.plot == plot])
            ),
        )
        for plot in dict.fromkeys(bed.bed.plot for bed in beds)
    ]


def spot(fall_percent: Raster, plots: Mapping[str, BaseGeometry]) -> tuple[str, float]:
    """The plot with the steepest cell of all, and its fall [%]; NaN where none is known.

    Parameters
    ----------
    fall_percent
        Grade of the smoothed ground [%]; NaN where it is not known.
    plots
        Outlines by name, on the same grid. A cell counts where its middle is inside.
    """
    # Something to choose from where no plot has a known cell.
    found = [("", np.nan)]
    for name, outline in plots.items():
        inside = geometry_mask(
            [outline], fall_percent.shape, fall_percent.transform, invert=True
        )
        here = fall_percent.values[inside]
        here = here[np.isfinite(here)]
        if here.size:
            found.append((name, float(here.max())))
    return max(found, key=lambda each: np.nan_to_num(each[1], nan=-1.0))
