"""Things drawn in colour over the ground, as one picture of pixels, its grid's north up.

Lines and names are an SVG that typst draws, as on the printed sheets.
"""

import io
from collections.abc import Iterable
from html import escape
from itertools import chain
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely
from PIL import Image
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from fieldmap.model.raster import Bounds, Raster
from fieldmap.show.contours import lines_at
from fieldmap.show.layer_styles import DAY, INK, PAPER, STYLES, Style
from fieldmap.show.map.overlay import shading
from fieldmap.show.map.scene.contours import LADDERS, smoothed
from fieldmap.show.map.scene.crowns import crowns
from fieldmap.show.map.scene.things import LEAFY
from fieldmap.show.text import names, quantities
from fieldmap.show.text.language import _
from fieldmap.show.text.map.drawing import WORDS
from fieldmap.show.text.quantities import Units
from fieldmap.show.typeset import FONT_OF_DRAWINGS, typeset

Floats = npt.NDArray[np.floating]

PAGE = b"""#set page(width: float(sys.inputs.width) * 1pt,
  height: float(sys.inputs.height) * 1pt, margin: 0pt, fill: none)
#image(bytes(sys.inputs.svg), format: "svg", width: 100%)"""
LONGEST_NAME = 28
THINNER = 0.84  # lines are finer here than on the map
POINT_PX, HEAD_PX, GAP_PX = 4.0, 9.0, 4.0
LETTER = 0.62  # width of a usual letter by the size of the font
HEAD_EVERY_M = 60.0
POST_EVERY_PX, CROSS_PX = 34.0, 5.0  # along an overhead line
ROOM_PX = 26.0  # between lines of height
HEIGHT_PX = 15.0  # of their figures, which stand in columns
COLUMNS = (0.06, 0.5, 0.94)
TICK_PX = 7.0  # of the mark on the side that lies lower
SHADE = 0.16  # of the ground's colour between its darkest and its brightest slopes
HALO = DAY.ground_high
SLOPE_PX, SLOPE_WORD_PX = 84.0, 34.0  # the arrow downhill, and room for its words
SPOTS = 16  # each way, at which the arrow is tried


# Share of a name that may lie upon others.
MOST_COVERED = 0.1


class _Name(NamedTuple):
    """A name to be written at one of some places: the middle of its lower edge."""

    text: str
    size_px: float
    style: str
    places: tuple[tuple[float, float], ...]

    @property
    def half_px(self) -> float:
        """Half its width."""
        return LETTER * self.size_px * len(self.text) / 2

    def box(self, place: tuple[float, float]) -> Polygon:
        """What it covers there."""
        (x, y), half, size = place, self.half_px, self.size_px
        return box(x - half, y - size, x + half, y + 0.25 * size)


class HeightLine(NamedTuple):
    """A line of equal height, (points, 2) in the CRS of the ground, and if it is strong."""

    points: Floats
    height_m: float
    strong: bool


class GroundDrawing:
    """A picture that things are added to, the first lowest; names lie above all.

    Parameters
    ----------
    bounds
        West, south, east, north of what it shows [m].
    names
        That lie above all.
    taken
        Where no name is to lie.
    """

    def __init__(
        self,
        bounds: Bounds,
        width_px: int,
        names: Iterable[_Name] = (),
        taken: Iterable[Polygon] = (),
    ) -> None:
        west, south, east, north = self.bounds = bounds
        self.west, self.north = west, north
        self.shown = box(*bounds)
        self.px_per_m = width_px / (east - west)
        self.width_px = width_px
        self.height_px = round((north - south) * self.px_per_m)
        self._under: list[str] = []
        self._parts: list[str] = []
        self._names, self._taken = list(names), list(taken)

    def above(self) -> "GroundDrawing":
        """A picture of the same place, empty but for the names, which lie above all."""
        names, self._names = self._names, []
        return GroundDrawing(self.bounds, self.width_px, names, self._taken)

    def _at(self, places: Floats) -> Floats:
        """Pixels from the upper left corner."""
        flipped = (np.asarray(places)[..., :2] - [self.west, self.north]) * [1.0, -1.0]
        placed: Floats = np.round(flipped * self.px_per_m, 1)
        return placed

    def add(self, geometry: BaseGeometry, style: Style) -> None:
        """Draw outlines, lines and points."""
        if not self.shown.intersects(geometry):
            return
        width = style.width_px * THINNER
        fill = style.fill if style.fill and style.opacity else "none"
        dashes = " ".join(f"{px * THINNER:g}" for px in style.dashes_px)
        line = f'stroke="{style.line}" stroke-width="{width:g}"' + (
            f' stroke-dasharray="{dashes}"' if dashes else ""
        )
        for part in shapely.get_parts(geometry):
            if part.geom_type == "Point":
                x, y = self._at(shapely.get_coordinates(part))[0]
                self._parts.append(
                    f'<circle cx="{x:g}" cy="{y:g}" r="{POINT_PX}" fill="{fill}" {line}/>'
                )
            elif part.geom_type == "LineString":
                self._path([part], f'fill="none" {line}')
            elif part.geom_type == "Polygon":
                rings = shapely.get_rings(part)
                self._path(rings, f'fill="{fill}" fill-rule="evenodd" {line}')

    def thing(self, geometry: BaseGeometry, kind: str) -> None:
        """What stands or lies there, by its kind."""
        style = STYLES.get(kind, STYLES["keep off"])
        if kind in LEAFY and shapely.get_dimensions(geometry) == 2:
            self._crowns(crowns(geometry), style)
            return
        self.add(geometry, style)
        if kind == "overhead line":
            self._crosses(geometry, style)

    def _crowns(self, found: Floats, style: Style) -> None:
        at, radius = self._at(found), found[:, 2] * self.px_per_m
        shadow = f'fill="{INK}" fill-opacity="0.2"'
        for away, look in (
            (0.3, shadow),
            (0.0, f'fill="{style.fill}" stroke="{style.line}" stroke-width="0.9"'),
        ):
            self._parts += [
                f'<circle cx="{x + away * r:.1f}" cy="{y + away * r:.1f}" r="{r:.1f}" {look}/>'
                for (x, y), r in zip(at, np.maximum(radius, 1.6), strict=True)
                if -r <= x <= self.width_px + r and -r <= y <= self.height_px + r
            ]

    def _crosses(self, line: BaseGeometry, style: Style) -> None:
        """Cross ticks along a line, as posts."""
        every_m = POST_EVERY_PX / self.px_per_m
        for part in shapely.get_parts(line.intersection(self.shown)):
            for at_m in np.arange(every_m / 2, part.length, every_m):
                before, after = (part.interpolate(at_m + step) for step in (-0.5, 0.5))
                along = self._at(np.array([[before.x, before.y], [after.x, after.y]]))
                middle, (dx, dy) = along.mean(axis=0), np.subtract(*along)
                aside = np.array([-dy, dx]) / max(float(np.hypot(dx, dy)), 1e-9)
                (x1, y1), (x2, y2) = (
                    middle + side * CROSS_PX * aside for side in (-1, 1)
                )
                self._parts.append(
                    f'<path d="M{x1:.1f} {y1:.1f} L{x2:.1f} {y2:.1f}" '
                    f'stroke="{style.line}" stroke-width="1.1"/>'
                )

    def heights(
        self, lines: Iterable[HeightLine], units: Units, plots: Iterable[BaseGeometry]
    ) -> None:
        """Lines of equal height below everything, the strong ones with their figures.

        Figures stand off the plots.

        Parameters
        ----------
        lines
            Lines of equal height in the CRS of the picture. Those of fewer than three
            points, or beyond the picture, are left out.
        units
            "metric" or "us", for the figures.
        plots
            Outlines of the plots, in the same CRS.
        """
        self._taken += [
            Polygon(self._at(shapely.get_coordinates(plot.convex_hull)))
            for plot in plots
        ]
        for points, height_m, strong in lines:
            if len(points) < 3 or not self.shown.intersects(LineString(points)):
                continue
            self._height_line(points, strong=strong)
            if strong:
                self._figure(self._at(points), quantities.length(height_m, units))

    def _height_line(self, points: Floats, *, strong: bool) -> None:
        shape = " L".join(f"{x:g} {y:g}" for x, y in self._at(points))
        self._under.append(
            f'<path d="M{shape}" fill="none" stroke="{DAY.contour}" '
            f'stroke-opacity="0.62" stroke-width="{1.3 if strong else 0.7}"/>'
        )

    def _figure(self, at: Floats, said: str) -> None:
        """A figure where a line crosses one of the columns, with a tick downhill."""
        for column in COLUMNS:
            x = column * self.width_px
            crosses = np.flatnonzero((at[:-1, 0] - x) * (at[1:, 0] - x) <= 0)
            if not len(crosses):
                continue
            near = at[max(0, crosses[0] - 3) : crosses[0] + 5]
            y = float(np.interp(x, *near[np.argsort(near[:, 0])].T))
            half = LETTER * HEIGHT_PX * len(said) / 2
            place = box(x - half, y - HEIGHT_PX / 2, x + half, y + HEIGHT_PX / 2)
            inside = HEIGHT_PX < y < self.height_px - HEIGHT_PX
            if not inside or any(place.intersects(other) for other in self._taken):
                continue
            self._taken.append(place)
            dx, dy = near[-1] - near[0]
            turn = float(np.degrees(np.arctan2(dy, dx)))
            flip = 180.0 if abs(turn) > 90 else 0.0
            # Higher ground lies on the left of a line, so right of it is downhill.
            down = -TICK_PX if flip else TICK_PX
            ticks = " ".join(
                f"M{side * (half + 9):.1f} 0 V{down:g}" for side in (-1, 1)
            )
            self._under.append(
                f'<g transform="translate({x:.1f} {y:.1f}) rotate({turn + flip:.1f})">'
                f'<path d="{ticks}" stroke="{DAY.contour}" stroke-width="1.2"/>'
                + _text(said, (0, 0.34 * HEIGHT_PX), HEIGHT_PX, "", colour=DAY.height)
                + "</g>"
            )

    def _path(self, lines: Iterable[BaseGeometry], look: str) -> None:
        shape = " ".join(
            "M"
            + " L".join(
                f"{x:g} {y:g}" for x, y in self._at(shapely.get_coordinates(line))
            )
            for line in lines
        )
        self._parts.append(f'<path d="{shape}" stroke-linejoin="round" {look}/>')

    def arrows(self, line: LineString) -> None:
        """A line with a pale rim, and heads along it that point to its end."""
        ink = STYLES["drain"].line
        heads = [
            self._head(line.interpolate(at_m - 1.0), line.interpolate(at_m))
            for at_m in np.arange(HEAD_EVERY_M / 2, line.length, HEAD_EVERY_M)
        ]
        for colour, width in ((PAPER, 4.0), (ink, 2.0)):
            look = f'fill="none" stroke="{colour}" stroke-width="{width}"'
            self._path([line], look)
            self._parts += [f'<path d="{head}" {look}/>' for head in heads]

    def _head(self, before: Point, tip: Point) -> str:
        end = self._at(np.array([tip.x, tip.y]))
        along = np.array([tip.x - before.x, before.y - tip.y])
        along = along / max(float(np.hypot(*along)), 1e-9) * HEAD_PX
        aside = np.array([-along[1], along[0]]) * 0.5
        (x1, y1), (x2, y2) = end - along + aside, end - along - aside
        return f"M{x1:.1f} {y1:.1f} L{end[0]:g} {end[1]:g} L{x2:.1f} {y2:.1f}"

    def name(
        self, thing: BaseGeometry, text: str, size_px: float, *, bold: bool = False
    ) -> None:
        """A name over the top edge of a thing, or beside it if others are in the way.

        A thing the middle of whose top edge lies beyond the picture gets no name.

        Parameters
        ----------
        thing
            Outline, line or point in the CRS of the picture.
        text
            The name; a long one is cut.
        size_px
            Height of the letters [pixels]. Larger names are placed first.
        bold
            Whether the letters are bold.
        """
        west, south, east, north = thing.bounds
        corners = self._at(np.array([[(west + east) / 2, north], [0.0, south]]))
        x, top, bottom = corners[0, 0], corners[0, 1], corners[1, 1]
        if not (0 <= x <= self.width_px and -GAP_PX <= top <= self.height_px + size_px):
            return
        short = names.short(text, LONGEST_NAME)
        named = _Name(short, size_px, _BOLD if bold else "", ())
        beside = named.half_px + 2 * GAP_PX
        middle = (top + bottom + size_px) / 2
        places = (
            *((x, top - GAP_PX), (x, bottom + size_px)),
            *((x + beside, middle), (x - beside, middle)),
        )
        self._names.append(named._replace(places=places))

    def bar(self, units: Units) -> None:
        """A bar of a round length, a tenth to a quarter of the picture."""
        bar_m = quantities.round_length_m(self.width_px / self.px_per_m / 4, units)
        x, y = 0.04 * self.width_px, self.height_px - 0.03 * self.width_px
        long = bar_m * self.px_per_m
        said = quantities.length(bar_m, units)
        self._taken.append(box(x - 8, y - 26, x + long + 16 * len(said), y + 8))
        shape = f"M{x:g} {y - 9:g} V{y:g} H{x + long:.1f} V{y - 9:g}"
        self._parts += [
            f'<path d="{shape}" fill="none" stroke="{colour}" stroke-width="{width}"/>'
            for colour, width in ((HALO, 6), (INK, 2))
        ]
        self._parts.append(_text(said, (x + long + 10, y + 1), 20, "", "start"))

    def compass(self, convergence_deg: float) -> None:
        """An arrow to true north in the upper right corner."""
        x, y = 0.95 * self.width_px, 0.05 * self.width_px
        self._taken.append(box(x - 15, y - 30, x + 15, y + 40))
        # True north lies `convergence` to the left of grid north.
        self._parts.append(
            f'<g transform="rotate({-convergence_deg:.2f} {x:g} {y:g})">'
            f'<path d="M{x:g} {y - 26:g} l8 34 l-8 -7 l-8 7 Z" fill="{INK}" '
            f'stroke="{HALO}" stroke-width="3" paint-order="stroke"/>'
            + _text(_("N"), (x, y + 30), 20, _BOLD)
            + "</g>"
        )

    def slope(self, east: float, north: float) -> None:
        """An arrow downhill with a word at either end, on free ground near the middle.

        Parameters
        ----------
        east, north
            The way down, of length 1.
        """
        way = np.array([east, -north])
        reach = SLOPE_PX / 2 + SLOPE_WORD_PX
        for middle in self._spots():
            area = box(*(middle - reach), *(middle + reach))
            if not any(area.intersects(other) for other in self._taken):
                break
        else:
            return
        self._taken.append(area)
        tail, tip = middle - way * SLOPE_PX / 2, middle + way * SLOPE_PX / 2
        neck, aside = tip - 16 * way, 7 * np.array([-way[1], way[0]])
        corners = [tail, neck, neck + aside, tip, neck - aside, neck]
        shape = " L".join(f"{x:.1f} {y:.1f}" for x, y in corners)
        self._parts.append(
            f'<path d="M{shape} Z" fill="{DAY.downhill}" stroke="{DAY.downhill}" '
            'stroke-width="2.4" stroke-linejoin="round"/>'
        )
        for word, end, side in (("uphill", tail, -1), ("downhill", tip, 1)):
            x, y = end + side * way * 16
            place = (float(x), float(y) + 6)
            self._parts.append(
                _text(_(WORDS[word]), place, 18, _ITALIC, colour=DAY.downhill)
            )

    def _spots(self) -> list[Floats]:
        """Places over the picture, those near its middle first."""
        size = np.array([self.width_px, self.height_px], float)
        shares = np.arange(1, SPOTS) / SPOTS
        spots = [size * (across, down) for down in shares for across in shares]
        return sorted(spots, key=lambda spot: float(np.hypot(*(spot - size / 2))))

    def drawn(self) -> Image.Image:
        """What was drawn, clear where nothing was."""
        svg = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{self.width_px}" '
            f'height="{self.height_px}" {FONT_OF_DRAWINGS}>'
            f"{''.join(chain(self._under, self._parts, self._placed_names()))}</svg>"
        )
        size = {"width": str(self.width_px), "height": str(self.height_px)}
        return Image.open(io.BytesIO(typeset(PAGE, {"svg": svg} | size, "png")))

    def _placed_names(self) -> Iterable[str]:
        """The largest first; each where it covers least of those before.

        Of what is not bold, a name that would be hard to read there is left out.
        """
        taken = list(self._taken)
        for name in sorted(self._names, key=lambda each: -each.size_px):
            boxes = [name.box(place) for place in name.places]
            common = shapely.intersection(
                np.array(boxes)[:, None], np.array(taken, object)
            )
            covered = shapely.area(common).sum(axis=1)
            best = int(covered.argmin())
            here = boxes[best]
            if name.style != _BOLD and covered[best] > MOST_COVERED * here.area:
                continue
            taken.append(here)
            yield _text(name.text, name.places[best], name.size_px, name.style)

    def ground(self, colours: npt.NDArray[np.uint8], on: Raster) -> Image.Image:
        """Colours (rows, cols, 3) of cells, smoothed over the picture; white beyond."""
        cells_per_px = 1 / (self.px_per_m * on.cell_size_m)
        west, _south, _east, north = on.bounds
        left, above = self.west - west, north - self.north
        return Image.fromarray(colours, "RGB").transform(
            (self.width_px, self.height_px),
            Image.Transform.AFFINE,
            (
                *(cells_per_px, 0.0, left / on.cell_size_m),
                *(0.0, cells_per_px, above / on.cell_size_m),
            ),
            Image.Resampling.BILINEAR,
            fillcolor=DAY.paper,
        )


def height_lines(ground: Raster, units: Units, px_per_m: float) -> list[HeightLine]:
    """Lines of equal height, the lowest first, with room between them at a scale.

    Parameters
    ----------
    ground
        Heights [m]; missing cells have no lines.
    units
        "metric" for steps in metres, "us" for steps in feet.
    px_per_m
        Scale of the picture; the step is chosen for it and for the middle slope.
    """
    smooth = smoothed(ground)
    if not np.isfinite(smooth.values).any():
        return []
    ladder, rise = LADDERS[units], np.gradient(smooth.values, smooth.cell_size_m)
    slope = max(float(np.nanmedian(np.hypot(*rise))), 0.002)
    room_m = ROOM_PX / px_per_m * slope
    step = next(
        (each for each in ladder.steps if each.steps * ladder.finest_m >= room_m),
        ladder.steps[-1],
    )
    every_m = step.steps * ladder.finest_m
    low, high = (int(end(smooth.values) // every_m) for end in (np.nanmin, np.nanmax))
    return [
        HeightLine(points, number * every_m, number % step.index_every == 0)
        for number in range(low + 1, high + 1)
        for points in lines_at(smooth, number * every_m)
    ]


def tinted(ground: Raster) -> npt.NDArray[np.float64]:
    """Colours of the ground by day, (rows, cols, 3): by height, and half its relief.

    Paper where nothing is known.
    """
    heights = ground.values.astype(float)
    if not np.isfinite(heights).any():
        return np.broadcast_to(_rgb(DAY.paper), (*ground.shape, 3)).astype(float)
    low, high = np.nanmin(heights), np.nanmax(heights)
    place = (heights - low) / max(high - low, 1e-6)
    light = 1.0 + 2 * DAY.relief * SHADE * (shading(ground) - 0.5)
    first, last = _rgb(DAY.ground_low), _rgb(DAY.ground_high)
    shown = (first + (last - first) * place[..., np.newaxis]) * light[..., np.newaxis]
    return np.where(np.isnan(shown), _rgb(DAY.paper), np.clip(shown, 0.0, 255.0))


def _rgb(colour: str) -> npt.NDArray[np.float64]:
    return np.array(list(bytes.fromhex(colour[1:])), float)


_BOLD = 'font-weight="bold"'
_ITALIC = 'font-style="italic"'


def _text(
    text: str,
    place: tuple[float, float],
    size_px: float,
    style: str,
    anchor: str = "middle",
    colour: str = INK,
) -> str:
    """Text on a pale rim."""
    x, y = place
    return (
        f'<text x="{x:g}" y="{y:g}" font-size="{size_px:g}" text-anchor="{anchor}" '
        f'{style} stroke="{HALO}" stroke-width="{size_px / 4:g}" stroke-linejoin="round" '
        f'paint-order="stroke" fill="{colour}">{escape(text)}</text>'
    )
