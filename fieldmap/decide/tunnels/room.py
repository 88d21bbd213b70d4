"""Where a tunnel has room: clear of what is around."""

from collections.abc import Iterable

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import shapely
from shapely import affinity
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from fieldmap.model.season_year import SeasonYear
from fieldmap.model.settings import TunnelSize
from fieldmap.model.surroundings import KINDS
from layers import footprint as footprints
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
    rings = map(shapely.get_coordinates, shapely.get_rings(shapely.get_parts(free)))
    edges = [np.stack([each[:-1], each[1:]], axis=1) for each in rings]
    around_m = 2 * (WORKING_SPACE_M - TOUCH_M)
    size_m = size.ground_m + around_m, size.width_m + around_m
    return footprints.with_room(np.concatenate(edges), lattice, size_m)
