"""A bent piece of ground -> parts whose beds each run their own way."""

from collections.abc import Callable, Iterator

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry

# Ground that fills less of its hull than this is bent.
BENT_SHARE = 0.9
# A corner that points inwards, by more than a wobble of the pen.
INWARD_DEG = 15.0
CORNER_WITHIN_M = 2.0
# What a cut must win in growing ground to be worth a second direction, and what each
# part must hold of the whole (choices, no source).
WORTH_SHARE = 0.05
LEAST_PART = 0.1
MOST_PARTS = 4


def parts(
    ground: BaseGeometry, lane_m: float, planted_m2: Callable[[BaseGeometry], float]
) -> list[BaseGeometry]:
    """Ground cut where it bends, as long as that wins growing ground.

    Parameters
    ----------
    ground
        Free ground of a plot, in the site's CRS; may be empty.
    lane_m
        Width kept free along a cut.
    planted_m2
        Ground -> what beds plant there at the best of bearings.

    Returns
    -------
    list
        The ground itself where no cut is worth it; the largest part first.
    """
    found = [ground]
    done: list[BaseGeometry] = []
    while found and len(found) + len(done) < MOST_PARTS:
        piece = found.pop(0)
        cut = _best_cut(piece, lane_m, planted_m2)
        if cut is None:
            done.append(piece)
        else:
            found += cut
    whole = [*done, *found]
    # Rounded, so that parts of one size keep their order on any machine.
    return sorted(whole, key=lambda each: -round(each.area, 3))


def _best_cut(
    ground: BaseGeometry, lane_m: float, planted_m2: Callable[[BaseGeometry], float]
) -> list[BaseGeometry] | None:
    """The two parts that plant most, if that is worth it."""
    if ground.is_empty or ground.area >= BENT_SHARE * ground.convex_hull.area:
        return None
    most = planted_m2(ground) * (1 + WORTH_SHARE)
    kept = None
    for line in _cuts(ground):
        sides = _sides(ground, line, lane_m)
        if min(each.area for each in sides) < LEAST_PART * ground.area:
            continue
        planted = sum(planted_m2(each) for each in sides)
        if planted > most + 1e-6:
            most, kept = planted, list(sides)
    return kept


def _cuts(ground: BaseGeometry) -> Iterator[LineString]:
    """From each inward corner: on along either edge, and between the two."""
    # The largest piece alone is cut: what lies apart falls to either side.
    outer = max(_polygons(ground), key=lambda each: each.area)
    shape = outer.simplify(CORNER_WITHIN_M)
    outer_ring = shapely.get_exterior_ring(shapely.orient_polygons(shape))
    corners = shapely.get_coordinates(outer_ring)[:-1]
    reach_m = np.hypot(*(corners.max(axis=0) - corners.min(axis=0)))
    for at, corner in enumerate(corners):
        before, after = (
            corner - corners[at - 1],
            corners[(at + 1) % len(corners)] - corner,
        )
        before, after = before / np.hypot(*before), after / np.hypot(*after)
        turn = before[0] * after[1] - before[1] * after[0]
        # Rings run anticlockwise: a turn to the right points inwards.
        if turn > -np.sin(np.radians(INWARD_DEG)):
            continue
        for towards in (before, -after, before - after):
            direction = towards / np.hypot(*towards)
            # From a little off the corner, where no edge begins.
            ray = LineString([corner + 0.01 * direction, corner + reach_m * direction])
            first = min(
                (
                    part
                    for part in shapely.get_parts(ray.intersection(outer)).tolist()
                    if part.length > 0
                ),
                key=Point(corner).distance,
                default=None,
            )
            if first is not None:
                # A metre longer at both ends, so that no sliver holds the sides together.
                yield LineString(
                    [corner - direction, corner + (first.length + 1) * direction]
                )


def _sides(
    ground: BaseGeometry, line: LineString, lane_m: float
) -> tuple[BaseGeometry, BaseGeometry]:
    """What lies left and right of a cut, the lane along it left out."""
    (x0, y0), (x1, y1) = shapely.get_coordinates(line)
    rest = ground.difference(line.buffer(lane_m / 2, cap_style="square"))
    left: list[Polygon] = []
    right: list[Polygon] = []
    for part in _polygons(rest):
        middle = part.representative_point()
        cross = (x1 - x0) * (middle.y - y0) - (y1 - y0) * (middle.x - x0)
        (left if cross > 0 else right).append(part)
    return MultiPolygon(left), MultiPolygon(right)


def _polygons(shape: BaseGeometry) -> list[Polygon]:
    parts_ = shapely.get_parts(shape).tolist()
    return [part for part in parts_ if isinstance(part, Polygon) and not part.is_empty]
