"""What the ground hides of the sky, all round from each cell."""

from typing import Any

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from fieldmap.cache import Arrays, Store
from fieldmap.model.fact import Fact, Progress
from fieldmap.model.raster import Raster, Window, grown
from fieldmap.model.site import MeasuredSkyline, Site
from layers import horizon

Cube = npt.NDArray[np.float32]

SECTORS = 36  # of what hills hide; things that stand have rays of their own
# Half precision is 0.01° at 20°, under what the ground can tell.
HALF = np.float16


def skyline_deg(
    site: Site, smooth: Raster, window: Window, store: Store, progress: Progress
) -> Raster:
    """What ground near and far hides around each shown cell [degrees above level].

    (sectors, rows, cols), sector i centred on i·360/sectors clockwise from grid north.

    Parameters
    ----------
    site
        Its wider elevation and its measured skyline hide more, where it has them.
    smooth
        Smoothed heights of all known ground [m]; NaN where missing.
    window
        Rows and columns of the shown cells in it.
    store
        Where unchanged results are taken from.
    progress
        Is called with the step where the skyline must be computed.
    """
    wide, measured = site.wide_elevation, site.skyline
    inputs: dict[str, Any] = {
        "ground": smooth.values,
        "cell": smooth.cell_size_m,
        "window": [[part.start, part.stop] for part in window],
        "convergence": site.convergence_deg,
    }
    if wide is not None:
        places = {"place": list(smooth.bounds), "wide place": list(wide.bounds)}
        inputs |= {"wide": wide.values, **places}
    if measured is not None:
        inputs["measured"] = np.stack([measured.azimuth_deg, measured.elevation_deg])

    def compute() -> Arrays:
        progress(Fact("step_skyline"))
        hidden_deg = horizon.angles_deg(
            smooth.values, smooth.values, smooth.cell_size_m, SECTORS, window
        )
        if wide is not None:
            far_deg = _far_deg(wide, smooth, SECTORS, window)
            np.fmax(hidden_deg, far_deg, out=hidden_deg)
        if measured is not None:
            measured_deg = _measured_deg(measured, SECTORS, site.convergence_deg)
            np.maximum(hidden_deg, measured_deg[:, None, None], out=hidden_deg)
        return {"hidden": hidden_deg.astype(HALF)}

    found = store.reuse("skyline", inputs, compute)["hidden"]
    return smooth.clip(window).with_values(found.astype(np.float32))


def _far_deg(wide: Raster, near: Raster, sectors: int, window: Window) -> Cube:
    """Skyline that the wider ground makes, beyond the reach of the fine ground.

    Looked at from the wide cells around the plots, with the fine ground taken away so
    that coarse cells near by hide nothing, and read between them in straight lines.
    """
    rows, cols = wide.window(near.bounds)
    beyond = wide.values.copy()
    beyond[rows, cols] = np.nan
    shown = near.clip(window)
    seen = wide.window(grown(shown.bounds, 2 * wide.cell_size_m))
    coarse_deg = horizon.angles_deg(
        wide.values, beyond, wide.cell_size_m, sectors, seen
    )
    place = wide.clip(seen)
    easting, northing = shown.middles
    at = [
        (place.transform.f - northing) / place.cell_size_m - 0.5,
        (easting - place.transform.c) / place.cell_size_m - 0.5,
    ]
    return np.stack(
        [
            ndimage.map_coordinates(angles, at, order=1, mode="nearest")
            for angles in np.nan_to_num(coarse_deg)  # no wide ground hides nothing
        ]
    ).astype(np.float32)


def _measured_deg(
    measured: MeasuredSkyline, sectors: int, convergence_deg: float
) -> Cube:
    """A measured skyline at the sectors' middles, in straight lines between azimuths."""
    true_deg = horizon.sector_azimuths_deg(sectors) + convergence_deg
    return np.interp(
        true_deg, measured.azimuth_deg, measured.elevation_deg, period=360.0
    ).astype(np.float32)
