"""Where the next thermometer teaches most: where the prediction spreads most."""

from collections.abc import Sequence
from typing import NamedTuple

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import shapely

from fieldmap.decide.layout.beds import Bed
from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.estimate import Estimate
from fieldmap.model.raster import Raster
from fieldmap.model.site import cells_in
from layers import loggers

Floats = npt.NDArray[np.float64]

# No nearer than this to another, and at most this many are named (choices).
APART_M = 30.0
PLACES_NAMED = 3
LOW, CENTRAL, HIGH = 0, 1, 2


class Place(NamedTuple):
    """A place for a thermometer.

    Attributes
    ----------
    offset_c
        Predicted there.
    bed
        The nearest; None where the plan has none.
    in_bed
        Whether the place lies in that bed, or beside it.
    """

    east: float
    north: float
    longitude: float
    latitude: float
    offset_c: Estimate
    plot: str
    bed: str | None
    in_bed: bool


def places(
    offset_c: Raster,
    plots: gpd.GeoDataFrame,
    beds: Sequence[Bed],
    known_m: Floats | None = None,
) -> tuple[Place, ...]:
    """Places on the plots, best first.

    Parameters
    ----------
    offset_c
        (3, rows, cols): low, central and high, NaN where not known.
    plots
        Outlines with `name`, in the same CRS.
    beds
        Those of the plan, to say which bed a place is on or near.
    known_m
        (thermometers, 2): east and north of those that hang already, if any do.
    """
    known_m = np.empty((0, 2)) if known_m is None else known_m
    to_world = transformer(offset_c.crs, WGS84)
    found = []
    for east, north in _where_it_spreads(offset_c, plots, known_m):
        point = shapely.Point(east, north)
        plot = plots["name"].iloc[int(plots.geometry.distance(point).argmin())]
        near = [(bed.outline.distance(point), bed.name) for bed in beds]
        distance_m, bed = min(near, default=(np.inf, None))
        low_c, central_c, high_c = offset_c.sample([east], [north])[:, 0]
        found.append(
            Place(
                east,
                north,
                *to_world.transform(east, north),
                Estimate(low_c, central_c, high_c),
                plot,
                bed,
                distance_m == 0,
            )
        )
    return tuple(found)


def _where_it_spreads(
    offset_c: Raster, plots: gpd.GeoDataFrame, known_m: Floats
) -> Floats:
    """(places, 2): middles of cells of the plots, away from the known places."""
    # Deeper than the reference is colder by the high rate: the swing has that sign.
    swing_c = np.copysign(
        offset_c.values[HIGH] - offset_c.values[LOW], offset_c.values[CENTRAL]
    )
    swing = offset_c.with_values(swing_c)
    row, col = np.nonzero(cells_in(list(plots.geometry), offset_c))
    size_m = offset_c.cell_size_m
    at_m = np.column_stack(
        [
            offset_c.transform.c + (col + 0.5) * size_m,
            offset_c.transform.f - (row + 0.5) * size_m,
        ]
    )
    chosen = loggers.next_places(
        swing_c[row, col],
        at_m,
        np.asarray(swing.sample(*known_m.T), dtype=float),
        known_m,
        APART_M,
        PLACES_NAMED,
    )
    return at_m[chosen]
