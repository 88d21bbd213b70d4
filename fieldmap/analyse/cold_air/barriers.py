"""Analysis -> barriers: things that cold air stands behind, by name and side."""

import itertools
from collections.abc import Iterator
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.cold_air import flow
from fieldmap.analyse.cold_air.ground import nearest_eighth
from fieldmap.analyse.cold_air.offset import CENTRAL
from fieldmap.analyse.fields import Analysis
from fieldmap.model.raster import Raster
from layers import coldness

# What holds air back: so much deeper on one side than right across, over so much of its length
# (choices, no source).
DEEPER_M = 0.5
LENGTH_M = 10.0
ALONG_M = 1.0  # between the places where both sides are compared


@dataclass(frozen=True)
class Barrier:
    """A thing that cold air stands behind, on one side of it.

    Attributes
    ----------
    name
        As the site names it; "" where it has none.
    side_deg
        Where the air is deeper, from true north: 0, 45 and so on.
    length_m
        Of the outline on that side along which it stands.
    deeper_m, colder_c
        Where it is most, against right across: depth, and what it is likely worth.
    edge
        That part of the outline, in the site's CRS.
    """

    name: str
    kind: str
    side_deg: float
    length_m: float
    deeper_m: float
    colder_c: float
    edge: BaseGeometry


def find(
    surroundings: gpd.GeoDataFrame, analysis: Analysis, convergence_deg: float
) -> tuple[Barrier, ...]:
    """Things on the shown ground that cold air stands behind, the deepest first.

    The layer beside each place of an outline is compared with the layer right across
    the thing. None where no air was let run.

    Parameters
    ----------
    surroundings
        Things around the plots, as `Site.surroundings`.
    analysis
        Its cold air and its shown ground are looked at.
    convergence_deg
        Grid north from true north, clockwise.
    """
    if analysis.cold_air.night is None:
        return ()
    depth = analysis.cold_air.night.depth_m
    shown = shapely.box(*analysis.terrain.elevation_m.bounds)
    things = flow.in_the_way(surroundings)
    found = []
    for thing in things.itertuples(index=False):
        name = thing.name if isinstance(thing.name, str) else ""
        sides = _sides(thing.geometry, depth, shown, convergence_deg)
        for side_deg, (edges, deeper_m, colder_c) in sides.items():
            edge = shapely.union_all(edges)
            most = max(deeper_m), max(colder_c)
            found.append(
                Barrier(name, thing.kind, side_deg, float(edge.length), *most, edge)
            )
    return tuple(sorted(found, key=lambda each: (-each.deeper_m, each.edge.bounds)))


def _sides(
    geometry: BaseGeometry, depth: Raster, shown: BaseGeometry, convergence_deg: float
) -> dict[float, tuple[list[BaseGeometry], list[float], list[float]]]:
    """Stretches of one thing that hold air back and how much, by the side."""
    sides: dict[float, tuple[list[BaseGeometry], list[float], list[float]]] = {}
    for outline in shapely.get_parts(geometry):
        for edge, deeper_m, colder_c, bearing_deg in _held_back(outline, depth, shown):
            eighth = nearest_eighth(bearing_deg + convergence_deg)
            side_deg = 45.0 * int(eighth)
            edges, deepest_m, coldest_c = sides.setdefault(side_deg, ([], [], []))
            edges.append(edge)
            deepest_m.append(deeper_m)
            coldest_c.append(colder_c)
    return sides


def _held_back(
    outline: Polygon, depth: Raster, shown: BaseGeometry
) -> Iterator[tuple[BaseGeometry, float, float, float]]:
    """Stretches of an outline with deeper air.

    The line, how much deeper and colder, and the grid bearing out.
    """
    places_m, out = _along(outline)
    aside_m = depth.cell_size_m  # the nearest middle of a cell is then on this side
    beside_m = places_m + aside_m * out
    beyond_m = _right_across(outline, places_m, out) - aside_m * out
    here_m, there_m = depth.sample(*beside_m.T), depth.sample(*beyond_m.T)
    deeper_m = here_m - there_m
    colder_c = _made_c(here_m) - _made_c(there_m)
    deeper_m[~shapely.contains_xy(shown, beside_m)] = np.nan
    holds = deeper_m >= DEEPER_M  # what is unknown holds nothing
    for here in _stretches(holds):
        if len(here) * ALONG_M < LENGTH_M:
            continue
        east, north = out[here].sum(axis=0)
        yield (
            shapely.LineString(places_m[here]),
            float(deeper_m[here].max()),
            float(colder_c[here].max()),
            float(np.degrees(np.arctan2(east, north))),
        )


def _made_c(depth_m: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """What a depth of air is likely worth, on ground of one wetness."""
    return np.asarray(coldness.coldness_c(depth_m, np.zeros(depth_m.shape))[CENTRAL])


def _along(outline: Polygon) -> tuple[npt.NDArray[np.float64], ...]:
    """Places about every `ALONG_M` along an outline, and the unit vectors out of it."""
    corners = shapely.get_coordinates(shapely.orient_polygons(outline).exterior)
    places, out = [], []
    for start, end in itertools.pairwise(corners):
        length_m = float(np.hypot(*(end - start)))
        if length_m == 0:
            continue
        count = max(1, round(length_m / ALONG_M))
        share = (np.arange(count) + 0.5) / count
        places.append(start + share[:, None] * (end - start))
        along = (end - start) / length_m
        # The outline runs counter-clockwise: outwards is on the right.
        out.append(np.tile((along[1], -along[0]), (count, 1)))
    return np.concatenate(places), np.concatenate(out)


def _right_across(
    outline: Polygon,
    places_m: npt.NDArray[np.float64],
    out: npt.NDArray[np.float64],
) -> npt.NDArray[np.float64]:
    """Where a line from each place straight into an outline comes out of it."""
    west, south, east, north = outline.bounds
    far_m = east - west + north - south
    across = shapely.linestrings(np.stack([places_m, places_m - far_m * out], axis=1))
    found = np.empty_like(places_m)
    inside = np.atleast_1d(np.asarray(shapely.intersection(across, outline)))
    for at, piece in enumerate(inside):
        parts = shapely.get_parts(piece)  # never none: the line starts inwards
        start = shapely.points(places_m[at])
        first = parts[int(np.argmin(shapely.distance(parts, start)))]
        ends = shapely.get_coordinates(first)
        found[at] = ends[np.argmax(np.hypot(*(ends - places_m[at]).T))]
    return found


def _stretches(holds: npt.NDArray[np.bool_]) -> list[npt.NDArray[np.intp]]:
    """Runs of True around a ring, each in its order."""
    if holds.all():
        return [np.arange(len(holds))]
    start = int(np.argmin(holds))  # begin where none runs on over the seam
    turned = np.roll(holds, -start)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], turned, [0]])))
    return [
        (np.arange(first, last) + start) % len(holds)
        for first, last in zip(edges[::2], edges[1::2], strict=True)
    ]
