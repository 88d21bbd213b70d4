"""Crowns of hedges and trees, seen from above: circles that fill an outline."""

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

Floats = npt.NDArray[np.float64]

# Wider outlines than this are woods, whose crowns do not stand in a row.
ROW_M = 16.0
WOOD_CROWN_M = 3.2  # radius
MOST_CROWNS = 1500  # of one outline
ROUND = 0.7  # of the area of a circle of the same way round: a single tree
OVERLAP = 0.78  # of a crown's width, from one to the next in a row


def crowns(outline: BaseGeometry) -> Floats:
    """East, north and radius of every crown, (crowns, 3), the northernmost first.

    The same outline has the same crowns.
    """
    found = [
        _crowns(part)
        for part in shapely.get_parts(outline)
        if part.geom_type == "Polygon" and part.area > 0
    ]
    every = np.concatenate([*found, np.zeros((0, 3))])
    return np.asarray(every[np.lexsort((every[:, 0], -every[:, 1]))])


def width_m(outline: Polygon) -> float:
    """Mean width of a long outline: that of a rectangle of its area and its way round.

    Examples
    --------
    >>> round(width_m(shapely.box(0, 0, 100, 2)), 3)
    2.0
    """
    half = outline.length / 4
    return float(half - np.sqrt(max(half * half - outline.area, 0.0)))


def _crowns(outline: Polygon) -> Floats:
    wide = width_m(outline)
    if wide < ROW_M and outline.area > ROUND * outline.length**2 / (4 * np.pi):
        middle = outline.centroid
        return np.array([[middle.x, middle.y, np.sqrt(outline.area / np.pi)]])
    draw = np.random.default_rng(round(outline.area * 100) % 2**32)
    if wide < ROW_M:
        return _in_a_row(outline, wide, draw)
    return _in_a_wood(outline, draw)


def _in_a_row(outline: Polygon, wide: float, draw: np.random.Generator) -> Floats:
    """Along the middle, as one goes round what is left of a row that is drawn in."""
    kept = (outline.buffer(-share * wide) for share in (0.47, 0.4, 0.25, 0.0))
    thin = next(each for each in kept if not each.is_empty)
    rings = [part.exterior for part in shapely.get_parts(thin)]
    # There and back is twice the way of the row.
    way_m = sum(ring.length for ring in rings) / 2
    count = max(1, min(MOST_CROWNS, round(way_m / (OVERLAP * wide))))
    places = []
    for ring in rings:
        share = round(2 * count * ring.length / max(2 * way_m, 1e-9))
        at = np.linspace(0.0, ring.length, max(1, share), endpoint=False)
        places.append(shapely.get_coordinates(shapely.line_interpolate_point(ring, at)))
    middle = np.concatenate(places)
    aside = draw.uniform(-0.08, 0.08, middle.shape) * wide
    radius = 0.5 * wide * draw.uniform(0.86, 1.16, len(middle))
    return np.column_stack([middle + aside, radius])


def _in_a_wood(outline: Polygon, draw: np.random.Generator) -> Floats:
    """At the corners of uneven triangles."""
    apart = max(1.45 * WOOD_CROWN_M, np.sqrt(outline.area / MOST_CROWNS))
    west, south, east, north = outline.bounds
    rows = np.arange(south, north + apart, 0.87 * apart)
    across = np.arange(west - apart, east + apart, apart)
    at = np.array(
        [(x + apart / 2 * (row % 2), y) for row, y in enumerate(rows) for x in across]
    )
    at = at + draw.uniform(-0.22, 0.22, at.shape) * apart
    radius = 0.69 * apart * draw.uniform(0.8, 1.2, len(at))
    inside = shapely.contains(outline.buffer(-0.35 * apart), shapely.points(at))
    return np.asarray(np.column_stack([at, radius])[inside])
