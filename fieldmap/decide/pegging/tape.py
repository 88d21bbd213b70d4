"""The ground as a crew with a tape meets it: how long, how far, and what is in the way."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry

from fieldmap.decide.pegging.model import At

Floats = npt.NDArray[np.float64]
# Easting and northing -> height of the ground.
Heights = Callable[[Floats, Floats], Floats]

EVERY_M = 0.5  # points of the ground under a tape
HOOKED_M = 1.0  # of a line to a landmark that may lie in the thing it belongs to
SLIVER_M = 0.05  # by which a line may leave a plot along its edge
THROUGH = "1********"  # DE-9IM: interiors share a line


def taut_m(distance_m: Floats, height_m: Floats) -> float:
    """Length of a tape that is pulled tight over the ground.

    It lies on the humps and spans the hollows: the upper convex hull of the profile.
    Where a height is missing the ground counts as level.

    Parameters
    ----------
    distance_m, height_m
        Along the line, from its start to its end.

    Examples
    --------
    A hump of 3 m in the middle of 8 m: two sides of 3-4-5; a hollow is spanned.

    >>> taut_m(np.array([0.0, 4, 8]), np.array([0.0, 3, 0]))
    10.0
    >>> taut_m(np.array([0.0, 4, 8]), np.array([0.0, -3, 0]))
    8.0
    """
    if np.isnan(height_m).any():
        return float(distance_m[-1] - distance_m[0])
    hull: list[tuple[float, float]] = []
    for point in zip(distance_m.tolist(), height_m.tolist(), strict=True):
        while len(hull) > 1 and _turns_up(hull[-2], hull[-1], point):
            hull.pop()
        hull.append(point)
    steps = np.diff(np.array(hull), axis=0)
    return float(np.hypot(*steps.T).sum())


def _turns_up(
    first: tuple[float, float], middle: tuple[float, float], last: tuple[float, float]
) -> bool:
    """Whether the middle of three points lies on or under the line of the others."""
    rise = (middle[0] - first[0]) * (last[1] - first[1])
    return rise >= (middle[1] - first[1]) * (last[0] - first[0])


@dataclass(frozen=True)
class Ground:
    """Where a crew measures.

    Attributes
    ----------
    plot
        No peg, string or tape between pegs leaves it.
    barriers
        What no tape crosses: hedges, walls, water and the like.
    tape_m
        No measured line is longer.
    """

    heights: Heights
    plot: BaseGeometry
    barriers: BaseGeometry
    tape_m: float

    def length_m(self, start: At, end: At) -> float:
        """Along the ground."""
        flat_m = float(np.hypot(end[0] - start[0], end[1] - start[1]))
        share = np.linspace(0.0, 1.0, max(2, int(np.ceil(flat_m / EVERY_M)) + 1))
        east = start[0] + share * (end[0] - start[0])
        north = start[1] + share * (end[1] - start[1])
        return taut_m(share * flat_m, self.heights(east, north))

    def is_inside(self, start: At, end: At) -> bool:
        """Whether a line between pegs stays on the plot and crosses nothing."""
        line = LineString([start, end])
        if not self._room.covers(line) or line.crosses(self.barriers):
            return False
        # From corner to corner of a building a line crosses no outline, and goes through.
        return not line.relate_pattern(self._solid, THROUGH)

    def is_reached(self, landmark: At, at: At) -> bool:
        """Whether a tape from a landmark crosses nothing on its way.

        The last metre may lie in the thing that the landmark belongs to.
        """
        line = LineString([landmark, at])
        if line.length <= HOOKED_M:
            return True
        free = line.interpolate(HOOKED_M)
        rest = LineString([(free.x, free.y), at])
        return not rest.intersects(self.barriers)

    def holds(self, at: At) -> bool:
        """Whether a peg can stand there."""
        return bool(self._room.covers(Point(at)))

    @cached_property
    def _room(self) -> BaseGeometry:
        room = self.plot.buffer(SLIVER_M)
        shapely.prepare(room)
        return room

    @cached_property
    def _solid(self) -> BaseGeometry:
        """Barriers that are drawn as areas; along a fence that is a line one can tape."""
        parts = shapely.get_parts(self.barriers)
        return shapely.union_all(parts[shapely.get_dimensions(parts) == 2])
