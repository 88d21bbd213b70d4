"""A fence against deer around each plot: how long, how many posts, how many gates."""

import math
from collections.abc import Container, Iterable, Sequence
from typing import NamedTuple

import geopandas as gpd
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

# Common practice, no source: line posts of woven wire or netting. Deer jump lower fences;
# 2.4 m (8 ft) is what extension bulletins ask for (from memory).
POST_EVERY_M = 5.0
HEIGHT_M = 2.4
# Beyond the outline, so that beds keep their turning strip (a choice).
BEYOND_M = 1.0
GATE_NEAR_M = 6.0  # a drawn gate so near to a plot is one of its fence (a choice)
# An edge that turns less is one stretch of wire (a choice).
CORNER_DEG = 20.0


class Fence(NamedTuple):
    """Around one plot.

    Attributes
    ----------
    length_m
        Flat, a metre beyond the outline, gates included.
    corner_posts
        Where the wire turns; each is braced.
    line_posts
        Between them, and none in a gate.
    gates
        Those drawn near the plot, one at least; each has two posts of its own.
    """

    plot: str
    length_m: float
    corner_posts: int
    line_posts: int
    gates: int

    @property
    def posts(self) -> int:
        """All of them."""
        return self.corner_posts + self.line_posts + 2 * self.gates


def fences(
    plots: Iterable[tuple[str, Polygon]], surroundings: gpd.GeoDataFrame
) -> list[Fence]:
    """A fence around each plot.

    Examples
    --------
    >>> none = gpd.GeoDataFrame({"kind": []}, geometry=[])
    >>> fences([("Home", shapely.box(0, 0, 48, 28))], none)
    [Fence(plot='Home', length_m=160.0, corner_posts=4, line_posts=27, gates=1)]
    """
    drawn = list(surroundings.geometry[surroundings["kind"] == "gate"])
    return [_around(name, outline, drawn) for name, outline in plots]


def of_plots(
    plots: gpd.GeoDataFrame,
    surroundings: gpd.GeoDataFrame,
    later: Container[str] = (),
) -> list[Fence]:
    """As `fences`, of plots with their names, but for those that are made later."""
    named = zip(map(str, plots["name"]), plots.geometry, strict=True)
    return fences((each for each in named if each[0] not in later), surroundings)


def _around(name: str, outline: Polygon, drawn: Sequence[BaseGeometry]) -> Fence:
    wire = shapely.Polygon(outline.exterior).buffer(BEYOND_M, join_style="mitre")
    wire = shapely.remove_repeated_points(wire, 0.1)
    gates = max(1, sum(gate.distance(outline) <= GATE_NEAR_M for gate in drawn))
    corners = _corners(wire)
    # Of n even stretches between corners, each as long as the mean one; a gate takes the
    # place of one post.
    stretches = max(corners, 1)
    posts = stretches * math.ceil(wire.length / stretches / POST_EVERY_M)
    between = posts - corners
    return Fence(name, float(wire.length), corners, max(0, between - gates), gates)


def _corners(wire: Polygon) -> int:
    """Where an outline turns for good."""
    points = shapely.get_coordinates(wire.exterior)[:-1].tolist()
    turns = 0
    for before, at, after in zip(
        points[-1:] + points[:-1], points, points[1:] + points[:1], strict=True
    ):
        one = math.atan2(at[1] - before[1], at[0] - before[0])
        two = math.atan2(after[1] - at[1], after[0] - at[0])
        turn_deg = abs((math.degrees(two - one) + 180.0) % 360.0 - 180.0)
        turns += turn_deg >= CORNER_DEG
    return turns
