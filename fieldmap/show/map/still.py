"""A still picture of the map, for viewers that run no scripts and for paper."""

import base64
import io
import warnings
from collections.abc import Callable, Iterator, Sequence
from typing import Any, NamedTuple

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import shapely
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.patches import FancyArrowPatch, PathPatch
from matplotlib.path import Path
from PIL import Image
from shapely.geometry import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry

from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.model.raster import Bounds, Raster
from fieldmap.plan import Plan
from fieldmap.show.layer_styles import GROUP_COLOURS, INK, PAPER, STYLES, Classes, Style
from fieldmap.show.map.classed import depths
from fieldmap.show.map.data.shapes import name_point, planned_bounds, ridge
from fieldmap.show.map.offline import data_uri
from fieldmap.show.map.overlay import DARKEST, LIGHTEST, shading
from fieldmap.show.text import names, quantities
from fieldmap.show.text.language import _
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.site.analysis import named_pockets

WIDTH_PX = 900
DOTS_PER_INCH = 110
MARGIN = 0.12  # of the longer side, around plots and tunnels
QUALITY = 82  # of the WebP picture
LONGEST_NAME = 28
MOST_LEVELS = 2  # of drain lines, on paper
HEAD_EVERY_M = 60.0
HEAD = {
    "arrowstyle": "->",
    "color": STYLES["drain"].line,
    "lw": 1.6,
    "mutation_scale": 16,
    "shrinkA": 0,
    "shrinkB": 0,
}
RIM = {"facecolor": PAPER, "alpha": 0.75, "pad": 1.5, "edgecolor": "none"}
POINTS_PER_PX = 0.55  # of lines, which are finer here than on the map
# Beds are small here, so their outlines are thinner still.
BED = STYLES["bed"]._replace(line="#333333", width_px=0.45)
UNKNOWN_GROUP = "#888888"


class Still(NamedTuple):
    """A picture and its size in pixels."""

    uri: str
    width: int
    height: int

    @property
    def image(self) -> Image.Image:
        """The picture for programs."""
        return Image.open(io.BytesIO(base64.b64decode(self.uri.partition(",")[2])))


def pictures(plan: Plan) -> Iterator[Still]:
    """Beds by when they can be planted; and cold air at the end of a still night."""
    site, units = plan.site, plan.site.settings.units
    ground, cold_air = plan.analysis.terrain.smooth_m, plan.analysis.cold_air
    bounds = _shown(planned_bounds(site.plots.geometry, plan.tunnels))

    def around(axes: Axes) -> None:
        _surroundings(axes, site.surroundings, box(*bounds))
        _plots(axes, site.plots)

    def by_beds(axes: Axes) -> None:
        _relief(axes, ground)
        around(axes)
        for ranked in plan.beds:
            colour = GROUP_COLOURS.get(ranked.earliness.group, UNKNOWN_GROUP)
            _draw(axes, ranked.bed.outline, BED._replace(fill=colour))
        _pockets(axes, plan.cold_pockets)
        _tunnels(axes, plan.tunnels)
        _pocket_names(axes, named_pockets(plan.cold_pockets), box(*bounds))

    def by_cold_air(axes: Axes) -> None:
        _relief(axes, ground, _depth_colours(cold_air.depth_m.values, depths(units)))
        around(axes)
        for flow in plan.flow_lines:
            if flow.level <= MOST_LEVELS:
                _arrows(axes, flow.line)
        _pockets(axes, plan.cold_pockets)
        _pocket_names(axes, named_pockets(plan.cold_pockets), box(*bounds))

    def drawn(paint: Callable[[Axes], None]) -> Still:
        def with_scale_and_north(axes: Axes) -> None:
            paint(axes)
            axes.set_xlim(bounds[0], bounds[2])
            axes.set_ylim(bounds[1], bounds[3])
            _scale(axes, units)
            _north(axes, site.convergence_deg)

        return _drawn(bounds, with_scale_and_north)

    yield drawn(by_beds)
    yield drawn(by_cold_air)


def _drawn(bounds: Bounds, paint: Callable[[Axes], None]) -> Still:
    west, south, east, north = bounds
    shape = (north - south) / (east - west)
    figure = Figure(
        figsize=(WIDTH_PX / DOTS_PER_INCH, WIDTH_PX * shape / DOTS_PER_INCH),
        dpi=DOTS_PER_INCH,
    )
    canvas = FigureCanvasAgg(figure)
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_axis_off()
    paint(axes)
    with warnings.catch_warnings():
        # A letter that the font lacks shows as a box; the table has the name in full.
        warnings.filterwarnings("ignore", message="Glyph ")
        canvas.draw()
    image = Image.fromarray(np.asarray(canvas.buffer_rgba())).convert("RGB")
    file = io.BytesIO()
    image.save(file, "WEBP", quality=QUALITY, method=4)
    return Still(data_uri(file.getvalue(), "image/webp"), *image.size)


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


def _relief(
    axes: Axes, ground: Raster, colours: npt.NDArray[np.float64] | None = None
) -> None:
    """Light and shade on the ground, with colours (rows, cols, 3) laid over it."""
    grey = np.round(DARKEST + (LIGHTEST - DARKEST) * shading(ground)) / 255
    if colours is not None:
        grey = grey[..., np.newaxis] * colours
    west, south, east, north = ground.bounds
    axes.imshow(
        grey,
        cmap="gray",
        vmin=0,
        vmax=1,
        extent=(west, east, south, north),
        interpolation="bilinear",
        aspect="auto",
    )


def _depth_colours(
    depth_m: npt.NDArray[np.floating], style: Classes
) -> npt.NDArray[np.float64]:
    """Colours of the classes of depth, white where there is none."""
    number = np.searchsorted(style.edges, depth_m, side="right")
    number[np.isnan(depth_m)] = 0
    return np.array([to_rgb(colour) for colour in (PAPER, *style.colours)])[number]


def _arrows(axes: Axes, line: LineString) -> None:
    """A line with a pale rim, and heads along it that point down the flow."""
    for colour, width in ((PAPER, 2.6), (STYLES["drain"].line, 1.3)):
        axes.plot(*line.xy, color=colour, linewidth=width)
    for at_m in np.arange(HEAD_EVERY_M / 2, line.length, HEAD_EVERY_M):
        before, tip = line.interpolate(at_m - 1.0), line.interpolate(at_m)
        axes.annotate("", (tip.x, tip.y), (before.x, before.y), arrowprops=HEAD)


def _surroundings(axes: Axes, things: gpd.GeoDataFrame, shown: Polygon) -> None:
    for geometry, kind in zip(things.geometry, things["kind"], strict=True):
        _draw(axes, geometry, STYLES.get(kind, STYLES["keep off"]))
    for geometry, name in zip(things.geometry, things["name"], strict=True):
        if isinstance(name, str) and geometry.intersects(shown):
            _name(axes, name_point(geometry, shown), name, size=11, style="italic")


def _plots(axes: Axes, plots: gpd.GeoDataFrame) -> None:
    for outline, name in zip(plots.geometry, plots["name"], strict=True):
        _draw(axes, outline, STYLES["plot"])
        _name(axes, outline, str(name), size=16, weight="bold")


def _pockets(axes: Axes, pockets: gpd.GeoDataFrame) -> None:
    for outline in pockets.geometry:
        _draw(axes, outline, STYLES["pocket"])


def _tunnels(axes: Axes, tunnels: Sequence[TunnelPlace]) -> None:
    for tunnel in tunnels:
        _draw(axes, tunnel.outline, STYLES["tunnel"])
        _draw(axes, ridge(tunnel.outline), STYLES["ridge"])
        _name(axes, tunnel.outline, tunnel.name, size=13, weight="bold")


def _pocket_names(axes: Axes, pockets: gpd.GeoDataFrame, shown: Polygon) -> None:
    for outline, name in zip(pockets.geometry, pockets["name"], strict=True):
        _name(axes, name_point(outline, shown), str(name), size=12)


def _draw(axes: Axes, geometry: BaseGeometry, style: Style) -> None:
    fill = style.fill if style.fill and style.opacity else "none"
    width = style.width_px * POINTS_PER_PX
    # matplotlib counts dashes in widths of the line.
    dashes = (0, [px / style.width_px for px in style.dashes_px])
    line: dict[str, Any] = {"lw": width, "ls": dashes if style.dashes_px else "solid"}
    for part in shapely.get_parts(geometry):
        if part.geom_type == "Point":
            axes.plot(
                [part.x], [part.y], "o", ms=5, mfc=fill, mec=style.line, mew=width
            )
        elif part.geom_type == "LineString":
            axes.plot(*part.xy, color=style.line, **line)
        elif not part.is_empty:
            rings = [part.exterior, *part.interiors]
            path = Path.make_compound_path(*(Path(ring.coords) for ring in rings))
            axes.add_patch(
                PathPatch(path, facecolor=fill, edgecolor=style.line, **line)
            )


def _name(axes: Axes, thing: BaseGeometry, name: str, **font: Any) -> None:
    """A name over the top edge of a thing."""
    west, _south, east, north = thing.bounds
    axes.text(
        (west + east) / 2,
        north,
        names.short(name, LONGEST_NAME),
        ha="center",
        va="bottom",
        clip_on=True,
        parse_math=False,  # a dollar sign in a name is no formula
        bbox=RIM,
        **font,
    )


def _scale(axes: Axes, units: Units) -> None:
    """A bar of a round length, a sixth to a third of the picture."""
    west, east = axes.get_xlim()
    bar_m = quantities.round_length_m((east - west) / 3, units)
    right = 0.04 + bar_m / (east - west)
    axes.plot([0.04, right], [0.04, 0.04], transform=axes.transAxes, color=INK, lw=4)
    axes.text(
        0.04,
        0.05,
        quantities.length(bar_m, units),
        transform=axes.transAxes,
        size=15,
        weight="bold",
        bbox=RIM,
    )


def _north(axes: Axes, convergence_deg: float) -> None:
    """An arrow to true north; the picture lies in the grid of the site."""
    turn = np.radians(convergence_deg)
    pixels = axes.figure.bbox.width
    middle = np.array([0.94 * pixels, axes.figure.bbox.height - 0.07 * pixels])
    # True north lies `convergence` to the left of grid north.
    half = 0.035 * pixels * np.array([-np.sin(turn), np.cos(turn)])
    axes.add_patch(
        FancyArrowPatch(
            tuple(middle - half),
            tuple(middle + half),
            transform=None,
            arrowstyle="-|>",
            mutation_scale=22,
            lw=2.5,
            color=INK,
        )
    )
    axes.text(
        middle[0] - half[0] * 1.6,
        middle[1] - half[1] * 1.6,
        _("N"),
        transform=None,
        ha="center",
        va="center",
        size=18,
        weight="bold",
    )
