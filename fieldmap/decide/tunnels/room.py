"""Where a tunnel has room: clear of what is around, of its neighbours and their shade."""

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
# Between walk-in tunnels, so that snow can be cleared (common practice, no source).
SNOW_GAP_M = 3.0
TOUCH_M = 1e-6  # a rectangle may touch the edge of free ground
LOWEST_SUN_DEG = 10.0  # below it a shadow is too long to keep clear of
MID_MORNING_H = 3.0  # before noon, by the sun
# Declination of the sun on the first day of each month (Cooper 1969: 23.45° ·
# sin(360° · (284 + n) / 365)).
FIRSTS = (1, 32, 60, 91, 121, 152, 182, 213, 244, 274, 305, 335, 366)


def months_of_use(size: TunnelSize, season: SeasonYear) -> tuple[int, int]:
    """First and last month of use: all but the three darkest unless the size says."""
    return (
        size.first_month or season.local_month(2),
        size.last_month or season.local_month(10),
    )


def declination_deg(day_of_year: float) -> float:
    """The sun's declination (Cooper 1969).

    Examples
    --------
    >>> round(declination_deg(355), 1)
    -23.4
    """
    return float(23.45 * np.sin(np.radians(360.0 * (284 + day_of_year) / 365.0)))


def shadow_m(
    height_m: float, latitude: float, declination: float, hours_from_noon: float
) -> tuple[float, float]:
    """How far a shadow on level ground reaches to the east and to the north.

    Under 10° of sun it counts as at 10°: nobody keeps clear of longer ones.

    Examples
    --------
    >>> east_m, north_m = shadow_m(1.0, 45.0, -23.44, 0.0)
    >>> round(north_m, 2)
    2.53
    """
    place, sun = np.radians(latitude), np.radians(declination)
    hour = np.radians(15.0 * hours_from_noon)
    up = np.sin(place) * np.sin(sun) + np.cos(place) * np.cos(sun) * np.cos(hour)
    east = -np.cos(sun) * np.sin(hour)
    north = np.cos(place) * np.sin(sun) - np.sin(place) * np.cos(sun) * np.cos(hour)
    flat = np.hypot(east, north)
    if flat < 1e-9:
        return 0.0, 0.0
    altitude = max(np.arctan2(up, flat), np.radians(LOWEST_SUN_DEG))
    reach_m = height_m / np.tan(altitude)
    return float(-east / flat * reach_m), float(-north / flat * reach_m)


def shadows_m(
    height_m: float, months: tuple[int, int], latitude: float
) -> list[tuple[float, float]]:
    """Shadows at noon, mid-morning and mid-afternoon on both ends of a season."""
    first, last = months
    return [
        shadow_m(height_m, latitude, declination_deg(day), hours)
        for day in (FIRSTS[first - 1], FIRSTS[last] - 1)
        for hours in (-MID_MORNING_H, 0.0, MID_MORNING_H)
    ]


def free_ground(
    outlines: Iterable[Polygon], surroundings: gpd.GeoDataFrame, setback_m: float
) -> list[BaseGeometry]:
    """For each plot the ground on which a tunnel and its working space may lie.

    What is around, with its clearance, is left out.
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


def around(
    outline: Polygon,
    heights_m: tuple[float, float],
    months: tuple[int, int],
    latitude: float,
    convergence_deg: float,
) -> BaseGeometry:
    """Ground that no other tunnel may touch: for snow all round, and for shade.

    Neither its own shadow may fall there nor, the other way, that of the tallest tunnel
    that is wanted: at noon, three hours before and after it, on the darkest ends of the
    season of use.

    Parameters
    ----------
    heights_m
        Of the tunnel, and of the tallest.
    months
        First and last of use.
    """
    turn = np.radians(convergence_deg)  # true north lies so far left of the grid's
    swept: list[BaseGeometry] = [outline.buffer(SNOW_GAP_M)]
    for height_m, side in zip(heights_m, (1.0, -1.0), strict=True):
        for east_m, north_m in shadows_m(height_m, months, latitude):
            x = side * (east_m * np.cos(turn) - north_m * np.sin(turn))
            y = side * (east_m * np.sin(turn) + north_m * np.cos(turn))
            moved = affinity.translate(outline, x, y)
            swept.append(shapely.union_all([outline, moved]).convex_hull)
    return shapely.union_all(swept)


def footprint(size: TunnelSize, bearing_deg: float, around_m: float) -> Polygon:
    """The rectangle of a tunnel about the origin, widened by working space."""
    half_across, half_along = size.width_m / 2 + around_m, size.length_m / 2 + around_m
    upright = box(-half_across, -half_along, half_across, half_along)
    return affinity.rotate(upright, -bearing_deg, origin=(0, 0))


def has_room(free: BaseGeometry, size: TunnelSize, lattice: Lattice) -> Mask:
    """Lattice points around which a tunnel with its working space lies on free ground.

    A rectangle lies inside when its middle does and no edge of the ground runs through
    it: edges are widened by the rectangle instead, once for all places.

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
    half_along = size.length_m / 2 + WORKING_SPACE_M - TOUCH_M
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
