"""Where a tunnel has room: clear of what is around."""

from collections.abc import Iterable

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import shapely
from rasterio import features
from rasterio.transform import from_origin
from shapely import affinity
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from fieldmap.model.season_year import SeasonYear
from fieldmap.model.settings import TunnelSize
from fieldmap.model.surroundings import KINDS
from layers.footprint import Lattice

Mask = npt.NDArray[np.bool_]

# Room to build and to walk round a tunnel (common practice, no source).
WORKING_SPACE_M = 1.5
# Between walk-in tunnels, so that snow can be cleared and a machine gets through; shade
# is shown and not enforced (common practice, no source).
SNOW_GAP_M = 3.0
TOUCH_M = 1e-6  # a rectangle may touch the edge of free ground


def months_of_use(size: TunnelSize, season: SeasonYear) -> tuple[int, int]:
    """First and last month of use: all but the three darkest unless the size says."""
    return (
        size.first_month or season.local_month(2),
        size.last_month or season.local_month(10),
    )


def free_ground(
    outlines: Iterable[Polygon], surroundings: gpd.GeoDataFrame, setback_m: float
) -> list[BaseGeometry]:
    """For each plot the ground on which a tunnel and its working space may lie.

    What is around, with its clearance, is left out.

    Parameters
    ----------
    outlines
        Outline of each plot.
    surroundings
        What lies around: `kind`, `height_m` and outline of each thing.
    setback_m
        Width of the strip along the edge of each plot that stays free.

    Returns
    -------
    ground
        In the order of `outlines`; empty where nothing is left of a plot.
    """
    clear_m = [
        height_m if KINDS[kind].tunnel_clear_m is None else KINDS[kind].tunnel_clear_m
        for kind, height_m in zip(
            surroundings["kind"], surroundings["height_m"], strict=True
        )
    ]
    off = shapely.union_all(list(surroundings.geometry.buffer(clear_m)))
    return [
        outline.buffer(-setback_m, join_style="mitre").difference(off)
        for outline in outlines
    ]


def footprint(size: TunnelSize, bearing_deg: float, around_m: float) -> Polygon:
    """The rectangle of a tunnel about the origin, widened by working space.

    Parameters
    ----------
    size
        Size of the tunnel, in all its positions.
    bearing_deg
        Bearing of its ridge, clockwise from grid north.
    around_m
        Working space on every side; 0 for the covered ground alone.
    """
    half_across, half_along = size.width_m / 2 + around_m, size.ground_m / 2 + around_m
    upright = box(-half_across, -half_along, half_across, half_along)
    return affinity.rotate(upright, -bearing_deg, origin=(0, 0))


def has_room(free: BaseGeometry, size: TunnelSize, lattice: Lattice) -> Mask:
    """Lattice points around which a tunnel with its working space lies on free ground.

    A rectangle lies inside when its middle does and no edge of the ground runs through
    it: edges are widened by the rectangle instead, once for all places.

    Parameters
    ----------
    free
        Ground on which a tunnel and its working space may lie.
    size
        Size of the tunnel, in all its positions.
    lattice
        Points to try as its middle, in lines along its bearing.

    Returns
    -------
    room
        (along, across).
    """
    forward, right = lattice.axes
    # Across to the right, along upwards: rows count from the top.
    turned = shapely.transform(
        shapely.force_2d(free),
        lambda points: np.stack([points @ right, points @ forward], 1),
    )
    half_along = size.ground_m / 2 + WORKING_SPACE_M - TOUCH_M
    half_across = size.width_m / 2 + WORKING_SPACE_M - TOUCH_M
    spacing_m = lattice.spacing_m
    shape = len(lattice.along_m), len(lattice.across_m)
    transform = from_origin(
        lattice.across_m[0] - spacing_m / 2,
        lattice.along_m[-1] + spacing_m / 2,
        spacing_m,
        spacing_m,
    )
    inside = features.geometry_mask([turned], shape, transform, invert=True)
    rings = shapely.get_rings(shapely.get_parts(turned))
    edges = np.concatenate(
        [
            np.stack([corners[:-1], corners[1:]], axis=1)
            for corners in map(shapely.get_coordinates, rings)
        ]
    )
    corners = np.array(
        [(x * half_across, y * half_along) for x in (-1, 1) for y in (-1, 1)]
    )
    widened = (edges[:, :, np.newaxis, :] + corners).reshape(len(edges), 8, 2)
    swept = shapely.convex_hull(shapely.multipoints(widened))
    blocked = features.rasterize(swept, shape, transform=transform, dtype="uint8") > 0
    room: Mask = (inside & ~blocked)[::-1]
    return room
