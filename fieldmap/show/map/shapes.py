"""Everything with an outline, as GeoJSON in longitude and latitude."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, cast

import numpy as np
import shapely
from pyproj import Transformer
from shapely.geometry import LineString, Point, mapping

from fieldmap.analyse import flow_lines
from fieldmap.model.site import STANDING
from fieldmap.show.map.views import first_for_shade
from fieldmap.show.text import map as words
from fieldmap.show.text.language import _
from fieldmap.show.text.sentence import say

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from shapely.geometry import Polygon
    from shapely.geometry.base import BaseGeometry

    from fieldmap.plan import Plan

# Signs of things that are long or wide; the others are named above themselves.
NAMED_INSIDE = frozenset(
    (
        "pocket",
        "mark",
        "hedge",
        "trees",
        "road",
        "overhead-line",
        "water",
        "wall",
        "fence",
    )
)
DEGREE_DECIMALS = 8  # about a millimetre
# Of drain lines, which are far coarser: a hand off at most.
LINE_WITHIN_M, LINE_DECIMALS = 0.1, 6

Feature = dict[str, Any]


def features(plan: Plan) -> list[Feature]:
    """What is drawn over the ground, in drawing order.

    Every feature has a `sign` (how it is drawn) and, but for ridges, a `name`; beds,
    tunnels and pockets have the `row` of the table that tells about them; long and
    wide things say `at` which latitude and longitude their name belongs.
    """
    degrees = _degrees(plan)
    near = shapely.box(*plan.site.plots.total_bounds)
    drawn = []
    for geometry, properties in _in_drawing_order(plan):
        if properties["sign"] in NAMED_INSIDE:
            longitude, latitude = degrees(name_point(geometry, near))["coordinates"]
            properties["at"] = [latitude, longitude]
        drawn.append(
            {
                "type": "Feature",
                "geometry": degrees(geometry),
                "properties": properties,
            }
        )
    return drawn


def _degrees(plan: Plan) -> Callable[[BaseGeometry], dict[str, Any]]:
    """Turns shapes of the site's CRS into GeoJSON."""
    to_degrees = Transformer.from_crs(plan.site.crs, "EPSG:4326", always_xy=True)

    def degrees(geometry: BaseGeometry) -> dict[str, Any]:
        turned = shapely.transform(
            shapely.force_2d(geometry),
            lambda points: np.stack(
                to_degrees.transform(points[:, 0], points[:, 1]), axis=1
            ).round(DEGREE_DECIMALS),
        )
        return dict(mapping(turned))

    return degrees


def changes(plan: Plan) -> list[list[Feature]]:
    """What goes and what comes in each alternative, by its place in the plan."""
    degrees = _degrees(plan)
    return [
        [
            {
                "type": "Feature",
                "geometry": degrees(shape),
                "properties": {"sign": sign, "name": _(words.CHANGE_LABELS[sign])},
            }
            for sign, shape in outcome.ground.items()
        ]
        for outcome in plan.what_ifs
    ]


def other_choices(plan: Plan) -> list[Feature]:
    """Outlines of tunnels in the choices that this plan does not take."""
    degrees = _degrees(plan)
    return [
        {
            "type": "Feature",
            "geometry": degrees(place.outline),
            "properties": {
                "sign": f"choice-{choice.letter.lower()}",
                "name": f"{choice.letter}: {place.name}",
            },
        }
        for choice in plan.tunnel_choices
        if choice.letter != plan.site.settings.tunnel_choice
        for place in choice.places
    ]


def drains(plan: Plan) -> list[dict[str, Any]]:
    """Ways that cold air runs, by level: their spacing, and latitudes and longitudes."""
    to_degrees = Transformer.from_crs(plan.site.crs, "EPSG:4326", always_xy=True)
    levels = []
    for level, spacing_m in enumerate(flow_lines.SPACINGS_M, start=1):
        lines = []
        for way in plan.flow_lines:
            if way.level == level:
                corners = shapely.get_coordinates(way.line.simplify(LINE_WITHIN_M))
                longitude, latitude = to_degrees.transform(*corners.T)
                places = np.stack([latitude, longitude], axis=1)
                lines.append(places.round(LINE_DECIMALS).tolist())
        levels.append({"spacing": spacing_m, "lines": lines})
    return levels


def row_id(kind: str, number: int) -> str:
    """Name of a table row, counted in the order of the plan."""
    return f"{kind}-{number}"


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


def ridge(outline: Polygon) -> LineString:
    """The line between the middles of the short sides of a rectangle."""
    corners = shapely.get_coordinates(shapely.oriented_envelope(outline))[:4]
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    start = int(np.argmin(sides))
    middles = [
        (corners[(start + at) % 4] + corners[(start + at + 1) % 4]) / 2 for at in (0, 2)
    ]
    return LineString(middles)


def _in_drawing_order(plan: Plan) -> Iterator[tuple[BaseGeometry, Feature]]:
    mesh = first_for_shade(plan)
    yield from _surroundings(plan, standing=False)
    for outline, name in zip(
        plan.site.plots.geometry, plan.site.plots["name"], strict=True
    ):
        yield outline, {"sign": "plot", "name": str(name)}
    for number, ranked in enumerate(plan.beds):
        yield (
            ranked.bed.outline,
            {
                "sign": "bed",
                "name": ranked.bed.name,
                "row": row_id("bed", number),
                "group": ranked.early_group.split()[0],
                "early": ranked.early_rank,
                "shade": ranked.shade_rank,
                "mesh": number in mesh,
                "bearing": round(ranked.bed.bearing_deg, 1),
                "width": ranked.bed.width_m,
            },
        )
    yield from _surroundings(plan, standing=True)
    for mark, _answer, fact in plan.marks:
        yield (
            mark.outline,
            {
                "sign": "mark",
                "name": _(mark.seen),
                "text": say(fact, plan.site.settings.units),
            },
        )
    for number, (outline, name) in enumerate(_named(plan.cold_pockets)):
        yield outline, {"sign": "pocket", "name": name, "row": row_id("pocket", number)}
    for number, tunnel in enumerate(plan.tunnels):
        row = row_id("tunnel", number)
        yield tunnel.outline, {"sign": "tunnel", "name": tunnel.name, "row": row}
        yield ridge(tunnel.outline), {"sign": "ridge"}


def _surroundings(
    plan: Plan, *, standing: bool
) -> Iterator[tuple[BaseGeometry, Feature]]:
    things = plan.site.surroundings
    for geometry, name, kind, height_m in zip(
        things.geometry, things["name"], things["kind"], things["height_m"], strict=True
    ):
        if (kind in STANDING) == standing:
            known = None if height_m is None or np.isnan(height_m) else float(height_m)
            text = words.surrounding(kind, known, plan.site.settings.units)
            sign = kind.replace(" ", "-")
            yield geometry, {"sign": sign, "name": _text(name), "text": text}


def _named(frame: Any) -> Iterable[tuple[BaseGeometry, str]]:
    return zip(frame.geometry, map(_text, frame["name"]), strict=True)


def _text(name: object) -> str:
    """A name, or nothing where there is none (None, NaN)."""
    return name if isinstance(name, str) else ""
