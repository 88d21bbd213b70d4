"""Things that can be found on the ground, and what no tape can cross."""

from collections.abc import Iterator, Mapping

import geopandas as gpd
import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from fieldmap.decide.pegging.model import At, Kind, Landmark

# What a tape does not go through.
BARRIERS = ("hedge", "wall", "water", "building", "fence", "trees", "bank")
# Corners turn by this at least, or nobody sees them; nearer ones than this are one.
TURN_DEG, ONE_M = 25.0, 1.0
# How well the map has a thing, one standard deviation (choices).
ERROR_M = {
    "post": 0.02,
    "gatepost": 0.03,
    "tap": 0.03,
    "plot corner": 0.03,
    "building corner": 0.03,
    "tree": 0.1,
}
POINTS = ("north", "north-east", "east", "south-east", "south", "south-west", "west",
          "north-west")  # fmt: skip


def barriers(surroundings: gpd.GeoDataFrame) -> BaseGeometry:
    """What tapes go round."""
    return shapely.union_all(
        list(surroundings[surroundings["kind"].isin(BARRIERS)].geometry)
    )


def find(
    name: str, outline: Polygon, surroundings: gpd.GeoDataFrame, reach_m: float
) -> list[Landmark]:
    """What can be found in a plot and within reach of it, the surest first.

    Parameters
    ----------
    name, outline
        Name and outline of the plot, whose corners are landmarks too.
    surroundings
        What lies around: `name`, `kind` and outline of each thing.
    reach_m
        How far from the plot a landmark may be.
    """
    found = [*_of_surroundings(surroundings), *corners("plot corner", name, outline)]
    rank = {kind: number for number, kind in enumerate(ERROR_M)}
    near = outline.buffer(reach_m)
    kept: list[Landmark] = []
    # Of two that are one, such as a post at a corner of the plot, the surer is kept.
    for each in sorted(found, key=lambda it: rank[it.kind]):
        at = shapely.Point(each.at)
        if near.covers(at) and all(
            at.distance(shapely.Point(other.at)) > ONE_M for other in kept
        ):
            kept.append(each)
    return kept


def _of_surroundings(things: gpd.GeoDataFrame) -> Iterator[Landmark]:
    for shape, name, kind in zip(
        things.geometry, things["name"], things["kind"], strict=True
    ):
        called = name if isinstance(name, str) else ""
        if kind == "building":
            for part in shapely.get_parts(shape):
                yield from corners("building corner", called, part)
        elif kind == "gate" and shape.geom_type == "LineString":
            yield from _gateposts(called, shape)
        elif kind in SINGLE:
            middle = shape.centroid
            yield Landmark(SINGLE[kind], called, "", (middle.x, middle.y))


def gates_without_posts(surroundings: gpd.GeoDataFrame) -> int:
    """How many gates are not drawn as a line: of these nobody knows where a post is."""
    gates = surroundings.geometry[surroundings["kind"] == "gate"]
    return int((gates.geom_type != "LineString").sum())


SINGLE: Mapping[str, Kind] = {"post": "post", "water point": "tap", "tree": "tree"}


def _gateposts(name: str, gate: BaseGeometry) -> Iterator[Landmark]:
    """Both ends of a gate that is drawn as a line."""
    ends = shapely.get_coordinates(gate)[[0, -1]]
    middle = ends.mean(axis=0)
    for end in ends:
        yield Landmark("gatepost", name, _side(end - middle), _at(end))


def corners(kind: Kind, name: str, outline: BaseGeometry) -> Iterator[Landmark]:
    """Corners where an outline turns, each by where it lies from the middle.

    Parameters
    ----------
    kind
        Kind of landmark that they are: corners of a plot or of a building.
    name
        Name of the plot or building; may be empty.
    outline
        Its outline in the site's CRS; what is no polygon has no corners.
    """
    if not isinstance(outline, Polygon):
        return
    # A corner that is drawn twice would seem to turn twice.
    ring = shapely.get_coordinates(shapely.remove_repeated_points(outline.exterior))[
        :-1
    ]
    before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    turn_deg = np.degrees(
        np.arctan2(after[:, 0], after[:, 1]) - np.arctan2(before[:, 0], before[:, 1])
    )
    turn_deg = np.abs((turn_deg + 180.0) % 360.0 - 180.0)
    found = ring[turn_deg >= TURN_DEG]
    west, south, east, north = outline.bounds
    middle = np.array([west + east, south + north]) / 2
    # As if it were as wide as long, or all corners of a long plot lay at its ends.
    size = np.array([east - west, north - south])
    sides = [_side((corner - middle) / size) for corner in found]
    for number, (corner, side) in enumerate(zip(found, sides, strict=True)):
        yield Landmark(kind, name, side, _at(corner), sides[:number].count(side) + 1)


def _at(place: np.ndarray) -> At:
    return float(place[0]), float(place[1])


def _side(way: np.ndarray) -> str:
    """Compass point of a way from the middle of a thing."""
    bearing_deg = np.degrees(np.arctan2(way[0], way[1]))
    return POINTS[int(np.round(bearing_deg / 45.0)) % 8]
