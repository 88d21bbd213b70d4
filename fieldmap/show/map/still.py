"""Still pictures of the map, for viewers that run no scripts and for paper."""

import base64
import io
from collections.abc import Iterable, Mapping, Sequence
from copy import deepcopy
from functools import cache, partial
from typing import NamedTuple

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import shapely
from PIL import Image, ImageColor
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.cold_air.flow_lines import FlowLine
from fieldmap.cache.digest import digest
from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.model.raster import Bounds, Raster
from fieldmap.model.site import LeftAside
from fieldmap.plan import Plan
from fieldmap.show.kept import drawn, spoken_here
from fieldmap.show.layer_styles import (
    PAPER,
    STYLES,
    ramp_colours,
)
from fieldmap.show.map.data import downhill
from fieldmap.show.map.data.downhill import Downhill
from fieldmap.show.map.data.shapes import name_point, planned_bounds
from fieldmap.show.map.drawing import GroundDrawing, HeightLine, height_lines, tinted
from fieldmap.show.map.offline import data_uri
from fieldmap.show.map.questions.view import (
    BedPatterns,
    BedRamp,
    Ground,
    Picture,
    Question,
    shade_over,
)
from fieldmap.show.map.scene import lines_on_ground
from fieldmap.show.text import names
from fieldmap.show.text.quantities import Units

WIDTH_PX = 900
MARGIN = 0.12  # of the longer side, around plots and tunnels
QUALITY, EFFORT = 82, 2  # of the WebP picture; twice the effort saves 2 % of its bytes
MOST_LEVELS = 2  # of drain lines, on paper
# Beds are small here, so their outlines are thinner still.
BED = STYLES["bed"]._replace(line="#333333", width_px=0.45)
UNKNOWN_GROUP = "#888888"
OUTLINED = BED._replace(fill=None, line="#000000", width_px=2.0)
RIM = OUTLINED._replace(line=PAPER, width_px=4.0)
# Patterns of beds as shades, far apart in grey.
IN_STILLS = {
    "empty": "#ffffff",
    "soil": "#eef0e4",
    "growing": "#cfe0b0",
    "covered": "#a9b7c4",
    "ready": "#4e6b3a",
    "ready-covered": "#2f4222",
    "mesh": "#8c7f9a",
    "hoops": "#e0a867",
}
ACROSS_PATHS_M = 0.3  # half of a usual path and more, so that beds side by side meet
RAMP_STEPS = 33
PLOT_PX, TUNNEL_PX, THING_PX = 24.0, 20.0, 17.0  # of their names


class Still(NamedTuple):
    """A picture and its size in pixels."""

    uri: str
    width: int
    height: int

    @property
    def image(self) -> Image.Image:
        """The picture for programs."""
        return Image.open(io.BytesIO(base64.b64decode(self.uri.partition(",")[2])))


class Scenery(NamedTuple):
    """What every still picture of a place has on it."""

    plots: gpd.GeoDataFrame
    surroundings: gpd.GeoDataFrame
    aside: Sequence[LeftAside]
    beds: Sequence[BaseGeometry]
    tunnels: Sequence[TunnelPlace]
    flow_lines: Sequence[FlowLine]
    ground: Raster
    convergence_deg: float
    downhill: Downhill | None
    lines: Mapping[str, BaseGeometry]


class Layers(NamedTuple):
    """What every picture of a place to one scale has alike, each as large as the picture.

    Attributes
    ----------
    bounds
        West, south, east, north of what it shows [m].
    shades
        The ground in light and shade, (rows, cols, 3) of its cells.
    ground
        A picture of it.
    below
        What lies under the beds, on clear ground.
    over
        What lies over them, as far as no tunnel is drawn on it.
    """

    bounds: Bounds
    shades: npt.NDArray[np.float64]
    ground: Image.Image
    below: Image.Image
    over: GroundDrawing


def _layers(place: Scenery, bounds: Bounds, units: Units) -> Layers:
    west, _south, east, _north = bounds
    lines = height_lines(place.ground, units, WIDTH_PX / (east - west))
    shades = tinted(place.ground)
    below = _around(place, bounds, lines, units)
    over = below.above()
    ground = _ground(place, bounds, shades)
    return Layers(bounds, shades, ground, below.drawn(), over)


def scenery(plan: Plan) -> Scenery:
    """That of a plan."""
    return Scenery(
        plots=plan.site.plots,
        surroundings=plan.site.surroundings,
        aside=plan.site.aside,
        beds=[ranked.bed.outline for ranked in plan.beds],
        tunnels=plan.tunnels,
        flow_lines=plan.flow_lines,
        ground=plan.analysis.terrain.smooth_m,
        convergence_deg=plan.site.convergence_deg,
        downhill=downhill.of_plots(
            plan.analysis.terrain,
            plan.site.plots.geometry,
            plan.site.settings.units,
        ),
        lines=lines_on_ground(plan.analysis, plan.site.plots.geometry),
    )


def of_questions(
    place: Scenery, asked: Iterable[Question], units: Units
) -> dict[str, Still]:
    """The first view of each question, by its key.

    Parameters
    ----------
    place
        What is drawn of the place under every question.
    asked
        The questions, each with its views.
    units
        "metric" or "us", for the figures of heights and the bar of lengths.
    """
    bounds = _shown(planned_bounds(place.plots.geometry, place.tunnels))

    @cache
    def alike() -> Layers:
        return _layers(place, bounds, units)

    @cache
    def above(shaded: frozenset[str]) -> Image.Image:
        return _over_beds(place, alike().over, units, shaded)

    def draw(picture: Picture) -> bytes:
        layers = alike()
        drawing = GroundDrawing(bounds, WIDTH_PX)
        _beds(drawing, place.beds, picture)
        for name, lines in place.lines.items():
            if name in picture.extras:
                drawing.add(lines, RIM)
                drawing.add(lines, OUTLINED)
        if "flow" in picture.extras:
            for flow in place.flow_lines:
                if flow.level <= MOST_LEVELS:
                    drawing.arrows(flow.line)
        ground = layers.ground
        if picture.ground is not None:
            ground = _ground(place, bounds, layers.shades, picture.ground)
        return _finished(layers, drawing, ground, above(_shaded(place, picture)))

    made_of = digest((place, units)) + spoken_here()
    first = {each.key: each.views[each.first].picture for each in asked}
    return {
        key: _still(drawn("still", {"of": made_of + digest(each)}, partial(draw, each)))
        for key, each in first.items()
    }


def side_by_side(
    places: Sequence[Scenery], pictures: Sequence[Picture], units: Units
) -> list[Still]:
    """Places as wide and as high as each other, to one scale, the plots in the middle.

    Parameters
    ----------
    places
        What is drawn of each place.
    pictures
        What each place shows on top, in the same order.
    units
        "metric" or "us", for the figures of heights and the bar of lengths.
    """
    drawn_alike = []
    for place, picture, bounds in zip(places, pictures, _alike(places), strict=True):
        layers, drawing = _layers(place, bounds, units), GroundDrawing(bounds, WIDTH_PX)
        _beds(drawing, place.beds, picture)
        above = _over_beds(place, layers.over, units, _shaded(place, picture))
        drawn_alike.append(_still(_finished(layers, drawing, layers.ground, above)))
    return drawn_alike


def width_m(places: Sequence[Scenery]) -> float:
    """From side to side of the pictures that `side_by_side` draws."""
    west, _south, east, _north = _alike(places)[0]
    return east - west


def _alike(places: Sequence[Scenery]) -> list[Bounds]:
    """Around the plots of each place, all as large as the largest."""
    shown = [_shown(planned_bounds(place.plots.geometry, ())) for place in places]
    west, south, east, north = np.array(shown).T
    half_x, half_y = (east - west).max() / 2, (north - south).max() / 2
    middles = zip((west + east) / 2, (south + north) / 2, strict=True)
    return [(x - half_x, y - half_y, x + half_x, y + half_y) for x, y in middles]


def _beds(
    drawing: GroundDrawing, outlines: Sequence[BaseGeometry], picture: Picture
) -> None:
    """Beds in the colours of the picture, those that it outlines last."""
    fills = _fills(picture.beds, len(outlines))
    # One line around beds side by side, under them.
    runs = [
        outlines[at].buffer(ACROSS_PATHS_M, join_style="mitre")
        for at in picture.outlined
    ]
    drawing.add(shapely.union_all(runs), OUTLINED)
    for outline, fill in zip(outlines, fills, strict=True):
        drawing.add(outline, BED._replace(fill=fill))


def _fills(beds: BedRamp | BedPatterns | None, count: int) -> Sequence[str | None]:
    if isinstance(beds, BedRamp):
        known = np.nan_to_num(beds.at, posinf=1.0)
        colours = ramp_colours(beds.ramp, known.tolist(), "print")
        return [
            colour if np.isfinite(at) else UNKNOWN_GROUP
            for colour, at in zip(colours, beds.at, strict=True)
        ]
    if isinstance(beds, BedPatterns):
        return [IN_STILLS.get(name) for name in beds.names]
    return [None] * count


def _on_ramp(ground: Ground) -> npt.NDArray[np.float64]:
    """Colours from 0 to 1 of cells, white where clear."""
    place = ground.at.values
    steps = ramp_colours(ground.ramp, np.linspace(0.0, 1.0, RAMP_STEPS), "print")
    palette = np.array([ImageColor.getrgb(colour) for colour in (*steps, PAPER)])
    number = np.where(
        np.isnan(place), RAMP_STEPS, np.round(np.nan_to_num(place) * (RAMP_STEPS - 1))
    )
    return np.asarray(palette[number.astype(int)] / 255)


def _around(
    place: Scenery, bounds: Bounds, lines: Sequence[HeightLine], units: Units
) -> GroundDrawing:
    """Lines of height, what stands around, and the plots, with their names."""
    drawing, things = GroundDrawing(bounds, WIDTH_PX), place.surroundings
    for geometry, kind in zip(things.geometry, things["kind"], strict=True):
        drawing.thing(geometry, kind)
    for geometry, name in zip(things.geometry, things["name"], strict=True):
        if isinstance(name, str) and geometry.intersects(drawing.shown):
            drawing.name(name_point(geometry, drawing.shown), name, THING_PX)
    for each in place.aside:
        drawing.add(each.outline, STYLES["aside"])
        if each.outline.intersects(drawing.shown):
            at = name_point(each.outline, drawing.shown)
            drawing.name(at, names.doubtful(each.name), THING_PX)
    for outline, name in zip(place.plots.geometry, place.plots["name"], strict=True):
        drawing.add(outline, STYLES["plot"])
        drawing.name(outline, str(name), PLOT_PX, bold=True)
    drawing.heights(lines, units, place.plots.geometry)
    return drawing


def _shaded(place: Scenery, picture: Picture) -> frozenset[str]:
    """Tunnels that get shade cloth on a picture, by name."""
    every = (tunnel.name for tunnel in place.tunnels)
    return frozenset(name for name in every if shade_over(name) in picture.extras)


def _over_beds(
    place: Scenery, over: GroundDrawing, units: Units, shaded: frozenset[str]
) -> Image.Image:
    """Tunnels, the bar of lengths, and the arrows to the north and downhill."""
    drawing = deepcopy(over)
    for tunnel in place.tunnels:
        style = STYLES["tunnel"]
        if tunnel.name in shaded:
            style = style._replace(fill=IN_STILLS["mesh"])
        drawing.add(tunnel.outline, style)
        drawing.name(tunnel.outline, tunnel.name, TUNNEL_PX, bold=True)
    drawing.bar(units)
    drawing.compass(place.convergence_deg)
    if place.downhill is not None:
        drawing.slope(place.downhill.east, place.downhill.north)
    return drawing.drawn()


def _ground(
    place: Scenery,
    bounds: Bounds,
    shades: npt.NDArray[np.float64],
    colours: Ground | None = None,
) -> Image.Image:
    """The ground in light and shade, and in colours where there are some."""
    if colours is not None and colours.at.shape == place.ground.shape:
        shades = shades * _on_ramp(colours)
    drawing = GroundDrawing(bounds, WIDTH_PX)
    return drawing.ground(shades.round().astype(np.uint8), place.ground)


def _finished(
    layers: Layers, drawing: GroundDrawing, ground: Image.Image, above: Image.Image
) -> bytes:
    """A drawing of beds between what lies below and above them, as WebP."""
    whole = ground.copy()
    for layer in (layers.below, drawing.drawn(), above):
        whole.paste(layer, mask=layer)
    file = io.BytesIO()
    whole.save(file, "WEBP", quality=QUALITY, method=EFFORT)
    return file.getvalue()


def _still(webp: bytes) -> Still:
    with Image.open(io.BytesIO(webp)) as image:
        return Still(data_uri(webp, "image/webp"), *image.size)


def _shown(planned: Bounds) -> Bounds:
    """What is planned with ground around it, no narrower than half as wide as high."""
    west, south, east, north = planned
    margin = MARGIN * max(east - west, north - south)
    spare_east = max(0.0, (north - south) / 2 - (east - west)) / 2 + margin
    spare_north = max(0.0, (east - west) / 2 - (north - south)) / 2 + margin
    return (
        west - spare_east,
        south - spare_north,
        east + spare_east,
        north + spare_north,
    )
