"""What is planned, and where the names of its things belong."""

from collections.abc import Iterable, Sequence
from typing import cast

import shapely
from shapely.geometry import Point, Polygon
from shapely.geometry.base import BaseGeometry

from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.model.raster import Bounds


def planned_bounds(
    outlines: Iterable[BaseGeometry], tunnels: Sequence[TunnelPlace]
) -> Bounds:
    """Bounds of the plots and of what is planned on them."""
    shapes = [*outlines, *(place.outline for place in tunnels)]
    west, south, east, north = shapely.total_bounds(shapes).tolist()
    return west, south, east, north


def name_point(thing: BaseGeometry, near: BaseGeometry) -> Point:
    """Where the name of a long or wide thing belongs: well inside what is near."""
    seen = thing.intersection(near)
    if seen.is_empty:
        seen = thing
    if seen.area > 0:
        # From the middle of the largest circle inside to its rim; what is near may
        # touch a thing along a line or at a point besides.
        whole = max(shapely.get_parts(seen), key=shapely.area)
        radius = shapely.maximum_inscribed_circle(cast("Polygon", whole))
        return Point(shapely.get_coordinates(radius)[0])
    return seen.representative_point()
