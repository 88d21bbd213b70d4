"""What one sees all round from each cell: hills, walls and crowns above level."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from fieldmap.analyse import obstacle_grids
from fieldmap.cache import Arrays, Store
from fieldmap.model.fact import Fact, Progress
from fieldmap.model.raster import Raster, Window, grown
from fieldmap.model.site import MeasuredSkyline, Site
from layers import horizon, sunlight

Cube = npt.NDArray[np.float32]

# The reach of a crown's shade that is followed (a choice): a tree of 26 m throws it in a
# sun of 10°.
CROWN_REACH_M = 150.0
# Sectors of the skyline: sharp things near the plots need more than hills do.
SECTORS_OPEN = 36
SECTORS_WITH_OBSTACLES = 72
# Half precision is 0.01° at 20°, under what the ground can tell.
HALF = np.float16


@dataclass(frozen=True)
class Skyline:
    """What stands above level around each shown cell, by sector from grid north.

    Attributes
    ----------
    solid_deg
        (sectors, rows, cols): hills, buildings, walls.
    crowns
        What lets a part of the light through.
    """

    solid_deg: Cube
    crowns: tuple[sunlight.Crown, ...]

    def inputs(self) -> dict[str, Any]:
        """What it makes of the light, for a store."""
        inputs: dict[str, Any] = {"solid": self.solid_deg}
        for number, crown in enumerate(self.crowns):
            inputs[f"crown {number}"] = np.stack([crown.bottom_deg, crown.top_deg])
            inputs[f"transmission {number}"] = list(crown.transmission)
        return inputs


def skyline(
    site: Site, smooth: Raster, window: Window, store: Store, progress: Progress
) -> Skyline:
    """Skyline of the shown cells from the ground, what stands on it, and afar."""
    solid = obstacle_grids.solid_surface_m(smooth, site.surroundings)
    crowns = obstacle_grids.crowns(
        smooth, site.surroundings, southern=site.season.southern
    )
    is_bare = not crowns and np.array_equal(solid.values, smooth.values, equal_nan=True)
    sectors = SECTORS_OPEN if is_bare else SECTORS_WITH_OBSTACLES
    wide, measured = site.wide_elevation, site.skyline
    inputs: dict[str, Any] = {
        **_inputs(smooth, sectors, window),
        "solid": solid.values,
        "convergence": site.convergence_deg,
    }
    if wide is not None:
        inputs |= {"wide": wide.values, "wide place": list(wide.bounds)}
    if measured is not None:
        inputs["measured"] = np.stack([measured.azimuth_deg, measured.elevation_deg])

    def compute() -> Arrays:
        progress(Fact("step_skyline"))
        solid_deg = horizon.angles_deg(
            smooth.values, solid.values, smooth.cell_size_m, sectors, window
        )
        if wide is not None:
            far_deg = _far_deg(wide, smooth, sectors, window)
            np.fmax(solid_deg, far_deg, out=solid_deg)
        if measured is not None:
            measured_deg = _measured_deg(measured, sectors, site.convergence_deg)
            np.maximum(solid_deg, measured_deg[:, None, None], out=solid_deg)
        return {"solid": solid_deg.astype(HALF)}

    found = store.reuse("skyline", inputs, compute)
    return Skyline(
        found["solid"].astype(np.float32),
        tuple(
            _crown(crown, smooth, sectors, window, store.within(f"crown-{number}"))
            for number, crown in enumerate(crowns)
        ),
    )


def _inputs(smooth: Raster, sectors: int, window: Window) -> dict[str, Any]:
    """What every skyline of these cells hangs on, for a store."""
    return {
        "ground": smooth.values,
        "cell": smooth.cell_size_m,
        "window": [[part.start, part.stop] for part in window],
        "sectors": sectors,
    }


def _crown(
    crown: obstacle_grids.Crowns,
    smooth: Raster,
    sectors: int,
    window: Window,
    store: Store,
) -> sunlight.Crown:
    """Crowns of one kind against the sky of every cell."""
    inputs = {
        **_inputs(smooth, sectors, window),
        "crown": np.stack([crown.bottom_m, crown.top_m]),
    }

    def compute() -> Arrays:
        bottom_deg, top_deg = horizon.crown_angles_deg(
            smooth.values,
            crown.bottom_m,
            crown.top_m,
            smooth.cell_size_m,
            sectors,
            CROWN_REACH_M,
            window,
        )
        return {"bottom": bottom_deg.astype(HALF), "top": top_deg.astype(HALF)}

    found = store.reuse("skyline", inputs, compute)
    return sunlight.Crown(
        found["bottom"].astype(np.float32),
        found["top"].astype(np.float32),
        crown.transmission,
    )


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
