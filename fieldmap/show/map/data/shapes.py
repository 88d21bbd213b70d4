"""Everything with an outline, as GeoJSON in longitude and latitude."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, cast

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import pyproj
import shapely
from shapely.geometry import LineString, Point, Polygon, mapping
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.cold_air.flow_lines import SPACINGS_M, FlowLine
from fieldmap.decide.marks import MarkComparison
from fieldmap.decide.ranking import RankedBed
from fieldmap.decide.tunnels import TunnelPlace, TunnelSet
from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.raster import Bounds
from fieldmap.model.surroundings import STANDING
from fieldmap.show.map.questions.light import first_for_shade
from fieldmap.show.map.tables.table import row_id
from fieldmap.show.text.language import _
from fieldmap.show.text.map import signs
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import say

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
Drawn = tuple["BaseGeometry", dict[str, Any]]  # with its properties


class Degrees:
    """Turns shapes of the site's CRS into GeoJSON."""

    def __init__(self, crs: pyproj.CRS) -> None:
        self._to_degrees = transformer(crs, WGS84)

    def __call__(self, geometry: BaseGeometry) -> dict[str, Any]:
        """A geometry in longitude and latitude."""
        turned = shapely.transform(
            shapely.force_2d(geometry),
            lambda points: self._points(points).round(DEGREE_DECIMALS),
        )
        return dict(mapping(turned))

    def feature(self, geometry: BaseGeometry, **properties: Any) -> Feature:
        """A geometry with its properties."""
        return {
            "type": "Feature",
            "geometry": self(geometry),
            "properties": properties,
        }

    def lat_lon(self, line: BaseGeometry) -> list[list[float]]:
        """Latitudes and longitudes along a line, as the page draws lines."""
        points = self._points(shapely.get_coordinates(line))[:, ::-1]
        return cast("list[list[float]]", points.round(LINE_DECIMALS).tolist())

    def _points(self, points: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        return np.stack(self._to_degrees.transform(points[:, 0], points[:, 1]), axis=1)


def features(
    things: Iterable[Drawn], near: BaseGeometry, degrees: Degrees
) -> list[Feature]:
    """What is drawn over the ground, in drawing order.

    Every feature has a `sign` (how it is drawn) and, but for ridges, a `name`; beds,
    tunnels and pockets have the `row` of their table; long and wide things say `at` which
    latitude and longitude their name belongs: near the plots where they reach so far.
    """
    drawn = []
    for geometry, properties in things:
        if properties["sign"] in NAMED_INSIDE:
            longitude, latitude = degrees(name_point(geometry, near))["coordinates"]
            properties["at"] = [latitude, longitude]
        drawn.append(degrees.feature(geometry, **properties))
    return drawn


def change(ground: Mapping[str, BaseGeometry], degrees: Degrees) -> list[Feature]:
    """What is removed and what is added in a change of the surroundings."""
    return [
        degrees.feature(shape, sign=sign, name=_(signs.CHANGE_LABELS[sign]))
        for sign, shape in ground.items()
    ]


def other_choices(
    choices: Sequence[TunnelSet], taken: str, degrees: Degrees
) -> list[Feature]:
    """Outlines of tunnels in the choices that this plan does not take."""
    return [
        degrees.feature(
            place.outline,
            sign=f"choice-{choice.letter.lower()}",
            name=f"{choice.letter}: {place.name}",
        )
        for choice in choices
        if choice.letter != taken
        for place in choice.places
    ]


def flow_lines(lines: Sequence[FlowLine], degrees: Degrees) -> list[dict[str, Any]]:
    """Lines along which cold air runs, by level, with the spacing of each level."""
    return [
        {
            "spacing": spacing_m,
            "lines": [
                degrees.lat_lon(one.line.simplify(LINE_WITHIN_M))
                for one in lines
                if one.level == level
            ],
        }
        for level, spacing_m in enumerate(SPACINGS_M, start=1)
    ]


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


def ridge(outline: Polygon) -> LineString:
    """The line between the middles of the short sides of a rectangle."""
    corners = shapely.get_coordinates(shapely.oriented_envelope(outline))[:4]
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    start = int(np.argmin(sides))
    middles = [
        (corners[(start + at) % 4] + corners[(start + at + 1) % 4]) / 2 for at in (0, 2)
    ]
    return LineString(middles)


def plots(plots: gpd.GeoDataFrame) -> Iterator[Drawn]:
    """Outlines of the plots."""
    for outline, name in zip(plots.geometry, plots["name"], strict=True):
        yield outline, {"sign": "plot", "name": str(name)}


def beds(beds: Sequence[RankedBed]) -> Iterator[Drawn]:
    """Beds, and what decides how they are drawn."""
    mesh = first_for_shade(beds)
    for number, ranked in enumerate(beds):
        yield (
            ranked.bed.outline,
            {
                "sign": "bed",
                "name": ranked.bed.name,
                "row": row_id("bed", number),
                "group": ranked.earliness.group.split()[0],
                "early": ranked.ranks.early,
                "shade": ranked.ranks.shade,
                "mesh": number in mesh,
                "bearing": round(ranked.bed.bearing_deg, 1),
                "width": ranked.bed.width_m,
            },
        )


def marks(marks: Sequence[MarkComparison], units: Units) -> Iterator[Drawn]:
    """What the grower saw, beside what was computed."""
    for mark, _answer, fact in marks:
        yield (
            mark.outline,
            {"sign": "mark", "name": _(mark.seen), "text": say(fact, units)},
        )


def pockets(pockets: gpd.GeoDataFrame) -> Iterator[Drawn]:
    """Cold pockets."""
    for number, (outline, name) in enumerate(
        zip(pockets.geometry, pockets["name"], strict=True)
    ):
        row = row_id("pocket", number)
        yield outline, {"sign": "pocket", "name": _text(name), "row": row}


def tunnels(tunnels: Sequence[TunnelPlace]) -> Iterator[Drawn]:
    """Walk-in tunnels, each with its ridge."""
    for number, tunnel in enumerate(tunnels):
        row = row_id("tunnel", number)
        yield tunnel.outline, {"sign": "tunnel", "name": tunnel.name, "row": row}
        yield ridge(tunnel.outline), {"sign": "ridge"}


def surroundings(
    things: gpd.GeoDataFrame, units: Units, *, standing: bool
) -> Iterator[Drawn]:
    """What stands around, or what lies flat."""
    for geometry, name, kind, height_m in zip(
        things.geometry, things["name"], things["kind"], things["height_m"], strict=True
    ):
        if (kind in STANDING) == standing:
            known = None if height_m is None or np.isnan(height_m) else float(height_m)
            text = signs.standing(kind, known, units)
            sign = kind.replace(" ", "-")
            yield geometry, {"sign": sign, "name": _text(name), "text": text}


def _text(name: object) -> str:
    """A name, or nothing where there is none (None, NaN)."""
    return name if isinstance(name, str) else ""
