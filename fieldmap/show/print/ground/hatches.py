"""What is drawn within shapes on paper: lines and rings, never grey and never a pattern.

Shapes come in millimetres of paper, y down.
"""

from collections.abc import Callable, Iterator, Mapping

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

APART_MM = 2.0
FINE_MM, LEAF_MM = 0.2, 2.4


def _paths(lines: BaseGeometry) -> Iterator[str]:
    """Lines as paths of SVG, without what else an intersection left."""
    for part in shapely.get_parts(lines):
        if part.geom_type == "LineString" and part.length > 0.05:
            places = shapely.get_coordinates(part)
            yield "M" + " L".join(f"{x:.2f} {y:.2f}" for x, y in places)


def _drawn(paths: Iterator[str], width_mm: float = FINE_MM) -> str:
    path = " ".join(paths)
    if not path:
        return ""
    return f'<path d="{path}" fill="none" stroke="#000" stroke-width="{width_mm:g}"/>'


def slanted(shape: BaseGeometry, apart_mm: float, turn_deg: float) -> BaseGeometry:
    """Straight lines through a shape, evenly spaced.

    They are counted from the corner of the paper, so that those of neighbours meet.

    Parameters
    ----------
    shape
        In millimetres of paper, y down.
    apart_mm
        From line to line [mm].
    turn_deg
        Turn of the lines; 0 is level, positive is clockwise.
    """
    origin = (0.0, 0.0)
    turned = affinity.rotate(shape, -turn_deg, origin=origin)
    west, south, east, north = turned.bounds
    steps = np.arange(np.ceil(south / apart_mm), np.floor(north / apart_mm) + 1)
    lines = [LineString([(west, y), (east, y)]) for y in steps * apart_mm]
    level = shapely.MultiLineString(lines)
    return affinity.rotate(level, turn_deg, origin=origin).intersection(shape)


def _lines(shape: BaseGeometry) -> str:
    return _drawn(_paths(slanted(shape, APART_MM, -45.0)))


def _meshed(shape: BaseGeometry) -> str:
    """Lines both ways: cloth that shades."""
    both = (slanted(shape, 1.4, turn) for turn in (-45.0, 45.0))
    return _drawn(path for lines in both for path in _paths(lines))


def _long_side_deg(shape: BaseGeometry) -> float:
    corners = shapely.get_coordinates(shapely.oriented_envelope(shape))
    sides = np.diff(corners[:3], axis=0)
    x, y = sides[int(np.argmax(np.hypot(*sides.T)))]
    return float(np.degrees(np.arctan2(y, x)))


def _ribs(shape: BaseGeometry) -> str:
    """Lines across a long thing: bows of a tunnel."""
    return _drawn(_paths(slanted(shape, 1.5, _long_side_deg(shape) + 90.0)), 0.25)


def _hoops(shape: BaseGeometry) -> str:
    """Bold lines across a bed: a cover over its hoops."""
    return _drawn(_paths(slanted(shape, 1.3, _long_side_deg(shape) + 90.0)), 0.45)


def _cross(shape: BaseGeometry) -> str:
    """Both diagonals: a roof."""
    corners = shapely.get_coordinates(shapely.oriented_envelope(shape))[:4]
    lines = shapely.MultiLineString([corners[[0, 2]], corners[[1, 3]]])
    return _drawn(_paths(lines.intersection(shape)), 0.35)


def _waves(shape: BaseGeometry) -> str:
    paths = []
    for part in shapely.get_parts(slanted(shape, 2.4, 0.0)):
        if part.geom_type != "LineString" or part.length < 2.4:
            continue
        (x, y), *_rest = shapely.get_coordinates(part)
        count = int(part.length // 2.4)
        left = min(x, shapely.get_coordinates(part)[-1][0]) + (part.length % 2.4) / 2
        paths.append(f"M{left:.2f} {y:.2f}" + " q0.6 -0.6 1.2 0 t1.2 0" * count)
    return _drawn(iter(paths))


def spots(shape: BaseGeometry, apart_mm: float) -> list[tuple[float, float]]:
    """Places within a shape on a grid that is set off from row to row."""
    west, south, east, north = shape.bounds
    rows = np.arange(np.ceil(south / apart_mm), np.floor(north / apart_mm) + 1)
    found: list[tuple[float, float]] = []
    shapely.prepare(shape)
    for row in rows:
        off = apart_mm / 2 * (row % 2)
        cols = np.arange(np.ceil((west - off) / apart_mm), (east - off) // apart_mm + 1)
        xs = cols * apart_mm + off
        inside = shapely.contains_xy(shape, xs, np.full(len(xs), row * apart_mm))
        found += [(float(x), float(row * apart_mm)) for x in xs[inside]]
    return found


def _dots(shape: BaseGeometry) -> str:
    return "".join(
        f'<circle cx="{x:.2f}" cy="{y:.2f}" r="0.28"/>' for x, y in spots(shape, 2.2)
    )


def _leaves(shape: BaseGeometry) -> str:
    """Small strokes along a bed: what grows."""
    corners = shapely.get_coordinates(shapely.oriented_envelope(shape))[:4]
    sides = np.hypot(*np.diff(corners[:3], axis=0).T)
    first = int(np.argmin(sides))  # a short side begins here
    start, end = (
        (corners[at % 4] + corners[(at + 1) % 4]) / 2 for at in (first, first + 2)
    )
    count = max(int(sides.max() // LEAF_MM), 1)
    paths = []
    for share in (np.arange(count) + 0.5) / count:
        x, y = start + share * (end - start)
        up = min(max(0.9 * float(sides.min()), 0.7), 1.4)
        paths.append(
            f"M{x:.2f} {y + up / 2:.2f} q-.1 -{0.7 * up:.2f} -.8 -{up:.2f} "
            f"M{x:.2f} {y + up / 2:.2f} q.1 -{0.7 * up:.2f} .8 -{up:.2f}"
        )
    return _drawn(iter(paths), 0.3)


def _scallops(shape: BaseGeometry) -> str:
    """Rings along a hedge or round a wood."""
    places = shapely.get_coordinates(shapely.segmentize(shape.boundary, 1.1))
    rings, count = np.empty_like(places), 0
    for place in places:
        away_mm = np.hypot(*(place - rings[max(count - 400, 0) : count]).T)
        if (away_mm >= 1.9).all():
            rings[count] = place
            count += 1
    return "".join(
        f'<circle cx="{x:.2f}" cy="{y:.2f}" r="1.15" fill="#fff" stroke="#000" '
        'stroke-width="0.25"/>'
        for x, y in rings[:count]
    )


def _trunk(shape: BaseGeometry) -> str:
    middle = shape.centroid
    return f'<circle cx="{middle.x:.2f}" cy="{middle.y:.2f}" r="0.6"/>'


HATCHES: Mapping[str, Callable[[BaseGeometry], str]] = {
    "lines": _lines,
    "mesh": _meshed,
    "ribs": _ribs,
    "hoops": _hoops,
    "cross": _cross,
    "waves": _waves,
    "dots": _dots,
    "leaves": _leaves,
    "scallops": _scallops,
    "trunk": _trunk,
}
