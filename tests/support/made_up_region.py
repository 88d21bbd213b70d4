"""Made-up layers of a region: closed forms of ground, and what is even over it."""

import numpy as np
from made_up import CRS, NORTH, WEST, raster

from fieldmap.model.raster import Raster
from layers import terrain

CENTRE = WEST + 500.0, NORTH - 500.0


def layers(heights: Raster, wide_m=5.0, **others):
    """A window into layers of some ground: slopes by Horn's method, the rest even.

    Parameters
    ----------
    others
        Values of layers: one number, or a grid; of `offset_c` and `sun_mj_m2_day` one
        for each band.
    """
    slope, aspect = terrain.slope_and_aspect_deg(heights.values, heights.cell_size_m)
    given = {
        "offset_c": (-2.0, -1.0, 0.5),
        "cold_air_m": 1.0,
        "wetness_index": 6.0,
        "sun_mj_m2_day": (2.0, 4.0, 8, 12, 16, 18, 17, 15, 10, 6, 3.0, 1.0),
        **others,
    }
    found = {
        "elevation_m": heights,
        "slope_deg": heights.with_values(slope),
        "aspect_deg": heights.with_values(np.where(slope < 0.01, np.nan, aspect)),
    }
    rows, cols = (int(count * heights.cell_size_m / wide_m) for count in heights.shape)
    for name, value in given.items():
        bands = np.asarray(value, float)
        if name == "sun_mj_m2_day":
            shape, size_m = heights.shape, heights.cell_size_m
        else:
            shape, size_m = (rows, cols), wide_m
        if bands.ndim == 1:
            bands = bands[:, np.newaxis, np.newaxis]
        full = np.broadcast_to(bands, (*bands.shape[:-2], *shape)).astype(float)
        found[name] = raster(full, size_m)

    def window(name, bounds):
        return found[name].clip(found[name].window(bounds))

    return window


def middles(side_m=1000, cell_m=2.0):
    """Distances east and north of `CENTRE` of the middles of cells."""
    half = side_m / 2
    along = np.arange(-half + cell_m / 2, half, cell_m)
    return np.meshgrid(along, -along)


__all__ = ["CENTRE", "CRS", "layers", "middles"]
