"""The one reference of a region: how cold its middle parcel is on a still night."""

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.cold_air import of_tile
from fieldmap.model.site import cells_in
from fieldmap.region import layers
from fieldmap.region.tiles import LAYERS, Place

Floats = npt.NDArray[np.float64]


def coldness_of_parcels_c(place: Place, parcels: Iterable[BaseGeometry]) -> Floats:
    """Median over the cells of each parcel, (parcels, answers); NaN where none is known."""
    return np.array([_coldness_c(place, each) for each in parcels]).reshape(-1, ANSWERS)


ANSWERS = 9


def _coldness_c(place: Place, parcel: BaseGeometry) -> Floats:
    ran = layers.read(place, LAYERS["night"], parcel.bounds)
    cells = ran.values[:, cells_in([parcel], ran)]
    known = cells[:, ~np.isnan(cells).any(axis=0)]
    if known.shape[1] == 0:
        return np.full(ANSWERS, np.nan)
    return np.asarray(np.median(of_tile.coldness_c(known), axis=1))


def reference_c(cold_c: Floats) -> Floats:
    """Median over all parcels, by answer, (answers,); those without a value left out.

    Raises
    ------
    ValueError
        When no parcel has one.
    """
    known = cold_c[~np.isnan(cold_c).any(axis=1)]
    if len(known) == 0:
        raise ValueError("no parcel has a value")
    return np.asarray(np.median(known, axis=0))
