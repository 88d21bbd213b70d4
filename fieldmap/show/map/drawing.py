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
from fieldmap.show.layer_styles import INK, PAPER, STYLES, Style
from fieldmap.show.text import names, quantities
from fieldmap.show.text.language import _
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


class GroundDrawing:
    """A picture that things are added to, the first lowest; names lie above all.

    Parameters
    ----------
    bounds
        West, south, east, north of what it shows [m].
    """

    def __init__(self, bounds: Bounds, width_px: int) -> None:
        west, south, east, north = bounds
        self.west, self.north = west, north
        self.shown = box(*bounds)
        self.px_per_m = width_px / (east - west)
        self.width_px = width_px
        self.height_px = round((north - south) * self.px_per_m)
        self._parts: list[str] = []
        self._names: list[_Name] = []
        self._taken: list[Polygon] = []  # where no name is to lie

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
        """A name over the top edge of a thing, or beside it if others are in the way."""
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
        """A bar of a round length, a sixth to a third of the picture."""
        bar_m = quantities.round_length_m(self.width_px / self.px_per_m / 3, units)
        x, y = 0.04 * self.width_px, self.height_px - 0.04 * self.width_px
        self._taken.append(box(x, y - 35, x + bar_m * self.px_per_m, y + 3))
        self._parts.append(
            f'<path d="M{x:g} {y:g} h{bar_m * self.px_per_m:g}" stroke="{INK}" '
            'stroke-width="6"/>'
            + _text(quantities.length(bar_m, units), (x, y - 12), 23, _BOLD, "start")
        )

    def compass(self, convergence_deg: float) -> None:
        """An arrow to true north in the upper right corner."""
        x, y = 0.94 * self.width_px, 0.07 * self.width_px
        self._taken.append(box(x - 15, y - 35, x + 15, y + 60))
        # True north lies `convergence` to the left of grid north.
        self._parts.append(
            f'<g transform="rotate({-convergence_deg:.2f} {x:g} {y:g})">'
            f'<path d="M{x:g} {y + 32:g} V{y - 16:g}" stroke="{INK}" stroke-width="4"/>'
            f'<path d="M{x - 9:g} {y - 12:g} L{x:g} {y - 34:g} L{x + 9:g} {y - 12:g} Z" '
            f'fill="{INK}"/>' + _text(_("N"), (x, y + 60), 27, _BOLD) + "</g>"
        )

    def over(self, ground: Image.Image) -> Image.Image:
        """What was drawn, over a picture of the ground of the same size."""
        svg = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{self.width_px}" '
            f'height="{self.height_px}" {FONT_OF_DRAWINGS}>'
            f"{''.join(chain(self._parts, self._placed_names()))}</svg>"
        )
        size = {"width": str(self.width_px), "height": str(self.height_px)}
        drawn = Image.open(io.BytesIO(typeset(PAGE, {"svg": svg} | size, "png")))
        return Image.alpha_composite(ground.convert("RGBA"), drawn.convert("RGBA"))

    def _placed_names(self) -> Iterable[str]:
        """The largest first; each where it covers least of those before."""
        taken = list(self._taken)
        for name in sorted(self._names, key=lambda each: -each.size_px):

            def covered(place: tuple[float, float], name: _Name = name) -> float:
                here = name.box(place)
                return sum(here.intersection(other).area for other in taken)

            place = min(name.places, key=covered)
            taken.append(name.box(place))
            yield _text(name.text, place, name.size_px, name.style)

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
            fillcolor=PAPER,
        )


_BOLD = 'font-weight="bold"'


def _text(
    text: str,
    place: tuple[float, float],
    size_px: float,
    style: str,
    anchor: str = "middle",
) -> str:
    """Text on a pale rim."""
    x, y = place
    return (
        f'<text x="{x:g}" y="{y:g}" font-size="{size_px:g}" text-anchor="{anchor}" '
        f'{style} stroke="{PAPER}" stroke-width="5" stroke-linejoin="round" '
        f'paint-order="stroke" fill="{INK}">{escape(text)}</text>'
    )
