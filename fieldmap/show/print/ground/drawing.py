"""Plans to scale as SVG: black lines and patterns, so that any printer will do.

Places come in metres of the site's grid and are turned into millimetres of paper, the
grid's north up.
"""

import itertools
from collections.abc import Iterable, Iterator, Sequence
from html import escape

import numpy as np
import numpy.typing as npt
import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from fieldmap.show.layer_styles import ON_PAPER, PaperStyle
from fieldmap.show.print.ground.hatches import HATCHES
from fieldmap.show.print.paper import Drawing
from fieldmap.show.text import names, quantities
from fieldmap.show.text.language import _
from fieldmap.show.typeset import FONT_OF_DRAWINGS

Floats = npt.NDArray[np.float64]

SCALES = tuple(
    base * 10**power
    for power in range(1, 5)
    for base in (5, 6, 7.5, 10, 12.5, 15, 20, 25, 30, 40)
)
MARGIN_MM = 9.0
LINE_OF_WIDTH = 0.2  # or the outlines of narrow beds run into one black patch
# What is narrower than this is a line and has no outline.
NARROW_MM = 0.4
STRIPS_MM = 1.1  # from one such line to the next
LONGEST_NAME = 30
# A name along a line: how much farther off than above a thing; and how many times as far
# as from its own thing a name stands from others (choices).
ALONG_MM, FARTHER = 0.8, 1.5
# Radius of a peg that is driven, and of a mark.
DISC_MM, SMALL_DISC_MM = 3.0, 2.1
AROUND = ((1, 0), (0, 1), (-1, 0), (0, -1), (1, 1), (-1, 1), (1, -1), (-1, -1))


class PlanDrawing:
    """A drawing to scale that things are added to, the first lowest.

    Parameters
    ----------
    bounds
        West, south, east, north of what must be on it [m].
    room_mm
        Width and height of the paper that it may take, its margins included.
    scales
        Round ones to choose from; where none is small enough, the one that fits.
    """

    def __init__(
        self,
        bounds: tuple[float, float, float, float],
        room_mm: tuple[float, float],
        margin_mm: float = MARGIN_MM,
        scales: Sequence[float] = SCALES,
    ) -> None:
        west, south, east, north = bounds
        inner_mm = room_mm[0] - 2 * margin_mm, room_mm[1] - 2 * margin_mm
        size_m = max(east - west, 1.0), max(north - south, 1.0)
        needed = max(1000 * size_m[k] / inner_mm[k] for k in (0, 1))
        self.scale = next((one for one in scales if one >= needed), needed)
        self.mm_per_m = 1000.0 / self.scale
        self._margin_mm = margin_mm
        self.width_mm = size_m[0] * self.mm_per_m + 2 * margin_mm
        self.height_mm = size_m[1] * self.mm_per_m + 2 * margin_mm
        self.west, self.north = west, north
        margin_m = margin_mm / self.mm_per_m
        self.shown = shapely.box(
            west - margin_m, south - margin_m, east + margin_m, north + margin_m
        )
        shapely.prepare(self.shown)
        self._parts: list[str] = []
        self._names: list[str] = []
        self._labels: list[BaseGeometry] = []
        self._free: list[BaseGeometry] = []
        self._strips: dict[tuple[int, int], tuple[float, float]] = {}

    def _at(self, places: Floats) -> Floats:
        """Millimetres from the upper left corner."""
        origin = np.array([self.west, self.north])
        flipped = (np.asarray(places, float)[..., :2] - origin) * [1.0, -1.0]
        placed: Floats = np.round(flipped * self.mm_per_m + self._margin_mm, 2)
        return placed

    def add(self, geometry: BaseGeometry, style: PaperStyle) -> None:
        """Draw outlines, lines and points; outlines of small things are thin or none."""
        if not self.shown.intersects(geometry):
            return
        is_bed = style == ON_PAPER["bed"]
        if geometry.area:
            # Twice the area by the outline is the width of a long strip.
            width_mm = 2 * geometry.area / geometry.length * self.mm_per_m
            thinner_mm = round(min(style.line_mm, LINE_OF_WIDTH * width_mm), 3)
            style = style._replace(line_mm=thinner_mm)
            if width_mm < NARROW_MM and is_bed:
                self._add_strip(geometry)
                return
        for part in shapely.get_parts(geometry.intersection(self.shown)):
            if not part.is_empty:
                self._add_part(part, style)

    def _add_part(self, part: BaseGeometry, style: PaperStyle) -> None:
        """One piece of what is shown."""
        if part.geom_type == "Point":
            x, y = self._at(shapely.get_coordinates(part))[0]
            self._parts.append(
                f'<circle cx="{x}" cy="{y}" r="1.1" {self._style(style)}/>'
            )
        elif part.geom_type == "LineString":
            shape = self._path([shapely.get_coordinates(part)], closed="")
            self._parts.append(f'<path d="{shape}" {self._style(style, fill="none")}/>')
        elif part.geom_type == "Polygon":
            rings = [shapely.get_coordinates(r) for r in shapely.get_rings(part)]
            shape = self._path(rings, closed=" Z")
            if style.line_mm or style.fill != "none":
                self._parts.append(
                    f'<path d="{shape}" fill-rule="evenodd" {self._style(style)}/>'
                )
            if style.hatch:
                self._parts.append(HATCHES[style.hatch](self._on_paper(part)))

    def _add_strip(self, bed: BaseGeometry) -> None:
        """A bed too narrow for an outline: a line along it, and none where one lies."""
        x, y = self._at(shapely.get_coordinates(bed.centroid)[0])
        cell = int(x // STRIPS_MM), int(y // STRIPS_MM)
        near = [
            self._strips.get((cell[0] + right, cell[1] + down), (np.inf, np.inf))
            for right in (-1, 0, 1)
            for down in (-1, 0, 1)
        ]
        if any(np.hypot(x - other[0], y - other[1]) < STRIPS_MM for other in near):
            return
        self._strips[cell] = float(x), float(y)
        corners = shapely.get_coordinates(shapely.oriented_envelope(bed))[:4]
        sides = np.hypot(*np.diff(corners[:3], axis=0).T)
        first = int(np.argmin(sides))  # a short side begins here
        ends = [
            (corners[at % 4] + corners[(at + 1) % 4]) / 2 for at in (first, first + 2)
        ]
        self.add(shapely.LineString(ends), PaperStyle(line_mm=0.2))

    def _on_paper(self, geometry: BaseGeometry) -> BaseGeometry:
        """A geometry in millimetres of paper, y down."""
        return shapely.transform(geometry, self._at)

    def draw(self, part: str) -> None:
        """A piece of SVG, in millimetres of paper."""
        self._parts.append(part)

    def at(self, place: tuple[float, float]) -> tuple[float, float]:
        """Millimetres from the upper left corner of a place of the ground."""
        x, y = self._at(np.array(place))
        return float(x), float(y)

    def _path(self, rings: Iterable[Floats], closed: str) -> str:
        return " ".join(
            "M" + " L".join(f"{x:g} {y:g}" for x, y in self._at(ring)) + closed
            for ring in rings
        )

    @staticmethod
    def _style(style: PaperStyle, fill: str | None = None) -> str:
        dashes = f' stroke-dasharray="{style.dashes}"' if style.dashes else ""
        line = f'stroke="#000" stroke-width="{style.line_mm}"' if style.line_mm else ""
        return f'fill="{style.fill if fill is None else fill}" {line}{dashes}'

    def name(
        self,
        place: shapely.Point,
        text: str,
        size_mm: float = 3.0,
        *,
        bold: bool = False,
    ) -> None:
        """A name with its middle at a place, on a pale rim.

        Parameters
        ----------
        place
            Middle of the name, in metres as the bounds of the drawing.
        text
            The name; a long one is cut.
        size_mm
            Height of the letters on paper [mm].
        bold
            Whether the letters are bold.
        """
        x, y = self._at(np.array([place.x, place.y]))
        short = names.short(text, LONGEST_NAME)
        weight = ' font-weight="bold"' if bold else ""
        set_as = (
            f'x="{x:g}" y="{y + size_mm * 0.36:g}" font-size="{size_mm:g}" '
            f'text-anchor="middle"{weight}'
        )
        self._set(rimmed(set_as, short))

    def _box_of(self, x: float, y: float, text: str, size_mm: float) -> BaseGeometry:
        """The paper that a text takes whose middle is at a place."""
        half = 0.27 * size_mm * len(text) + 0.4, 0.55 * size_mm
        return shapely.box(x - half[0], y - half[1], x + half[0], y + half[1])

    def name_beside(
        self,
        shape: BaseGeometry,
        text: str,
        size_mm: float,
        avoid: Iterable[BaseGeometry],
        *,
        bold: bool,
        apart_mm: float = 0.0,
        others: Iterable[BaseGeometry] = (),
    ) -> bool:
        """A name above, below or beside a shape, where it covers no other name.

        It keeps off what it must avoid too, and within the frame, and later names keep
        apart from it; where there is no such place none is written, and the answer is
        False.

        Parameters
        ----------
        shape
            What is named, in metres as the bounds of the drawing. What lies beyond them
            gets no name.
        text
            The name.
        size_mm
            Height of the letters on paper [mm].
        avoid
            Shapes that the name must not cover, in the same metres.
        bold
            Whether the letters are bold.
        apart_mm
            Distance that later names keep from this one [mm of paper].
        others
            Things that the name must stand farther from than from its own, or it would be
            read as theirs. With these, a name also stands along a stretch of its shape.
        """
        seen = self._on_paper(shape.intersection(self.shown))
        if seen.is_empty:
            return False
        kept_off = [*map(self._on_paper, avoid), *self._labels]
        rivals = [self._on_paper(other) for other in others if other is not shape]
        frame = shapely.box(1.0, 1.0, self.width_mm - 1.0, self.height_mm - 1.0)
        west, north, east, south = seen.bounds
        middle = seen.centroid
        half = 0.27 * size_mm * len(text) + 1.2
        high = 0.8 * size_mm

        # Beside a slanting hedge a name stands at the hedge, not at its farthest corner.
        # The strip is longer than what it cuts: a point has no length of its own.
        def across(x: float) -> tuple[float, ...]:
            part = shapely.box(x - half, north - 1.0, x + half, south + 1.0)
            _, top, _, bottom = seen.intersection(part).bounds
            return (top - high, bottom + high)

        def beside(y: float) -> tuple[float, ...]:
            part = shapely.box(west - 1.0, y - high, east + 1.0, y + high)
            left, _, right, _ = seen.intersection(part).bounds
            return (right + half, left - half)

        columns = middle.x, west + half, east - half
        rows = middle.y, north, south
        places = [
            *((x, across(x)[below], 0.0) for below in (0, 1) for x in columns),
            *((beside(y)[left], y, 0.0) for left in (0, 1) for y in rows),
            *(along(seen, 2 * half, high + ALONG_MM) if rivals else ()),
        ]
        # Nothing stands beside the gap between two parts of a shape.
        places = [place for place in places if np.isfinite(place).all()]
        for x, y, turn_deg in places:
            level = self._box_of(x, y, text, size_mm)
            box = affinity.rotate(level, turn_deg, origin=(x, y))
            if not frame.covers(box) or any(map(box.intersects, kept_off)):
                continue
            own_mm = box.distance(seen)
            if turn_deg and own_mm == 0.0:
                continue
            if any(box.distance(rival) < FARTHER * own_mm for rival in rivals):
                continue
            # Two names close together would be read as one.
            self._labels.append(box.buffer(apart_mm, join_style="mitre"))
            self._write(x, y, text, size_mm, bold=bold, turn_deg=turn_deg)
            return True
        return False

    def covers_name(self, ground: BaseGeometry) -> bool:
        """Whether a name that stands beside something lies on this ground."""
        there = self._on_paper(ground)
        return any(map(there.intersects, self._labels))

    def name_within(self, shape: BaseGeometry, text: str, size_mm: float) -> bool:
        """A name within a shape, where there is room for all of it.

        Parameters
        ----------
        shape
            What is named, in metres as the bounds of the drawing. The name stands in its
            largest part.
        text
            The name.
        size_mm
            Height of the letters on paper [mm].

        Returns
        -------
        written
            False where there is no room and nothing was written.
        """
        parts = shapely.get_parts(shape.intersection(self.shown))
        largest = max(parts, key=lambda part: float(part.area), default=None)
        if not isinstance(largest, shapely.Polygon):
            return False
        seen = self._on_paper(largest)
        half = 0.27 * size_mm * len(text) + 0.4
        if seen.is_empty or seen.bounds[2] - seen.bounds[0] < 2 * half:
            return False
        place = shapely.Point(self.at(_widest_at(largest)))
        box = self._box_of(place.x, place.y, text, size_mm)
        if not seen.buffer(1.0).covers(box) or any(map(box.intersects, self._labels)):
            return False
        self._labels.append(box)
        self._write(place.x, place.y, text, size_mm, bold=True)
        return True

    def _write(
        self,
        x: float,
        y: float,
        text: str,
        size_mm: float,
        *,
        bold: bool,
        turn_deg: float = 0.0,
    ) -> None:
        weight = ' font-weight="bold"' if bold else ""
        turn = (
            f' transform="rotate({turn_deg:.1f} {x:.2f} {y:.2f})"' if turn_deg else ""
        )
        set_as = (
            f'x="{x:.2f}" y="{y + 0.36 * size_mm:.2f}" font-size="{size_mm:g}" '
            f'text-anchor="middle"{weight}{turn}'
        )
        self._set(rimmed(set_as, text))

    def _set(self, name: str) -> None:
        self._parts.append(name)
        self._names.append(name)

    def lift_names(self) -> None:
        """Draw all names again over what was added since; the lower ones go."""
        drawn_over = set(self._names)
        self._parts = [part for part in self._parts if part not in drawn_over]
        self._parts += self._names

    def reserve(self, place: tuple[float, float]) -> None:
        """Keep names off a place where a disc will lie."""
        self._labels.append(shapely.Point(self.at(place)).buffer(DISC_MM + 0.4))

    def gate(self, place_mm: tuple[float, float]) -> None:
        """Two posts with a way between them."""
        x, y = place_mm
        self._labels.append(shapely.Point(x, y).buffer(2.0))
        self._parts.append(
            f'<rect x="{x - 1.2:.2f}" y="{y - 1:.2f}" width="2.4" height="2" fill="#fff"/>'
            f'<rect x="{x - 2.2:.2f}" y="{y - 1:.2f}" width="1.400" height="2"/>'
            f'<rect x="{x + 0.8:.2f}" y="{y - 1:.2f}" width="1.400" height="2"/>'
        )

    def tap(self, place_mm: tuple[float, float]) -> None:
        """A ring with a spout in it."""
        x, y = place_mm
        self._labels.append(shapely.Point(x, y).buffer(2.0))
        self._parts.append(
            f'<circle cx="{x:.2f}" cy="{y:.2f}" r="1.9" fill="#fff" stroke="#000" '
            f'stroke-width="0.5"/><path d="M{x - 0.8:.2f} {y + 1:.2f} V{y - 0.4:.2f} '
            f'H{x + 0.8:.2f} v0.7" fill="none" stroke="#000" stroke-width="0.6"/>'
        )

    def frame(self) -> None:
        """A line round the whole drawing."""
        self._parts.append(
            f'<rect x="0.2" y="0.2" width="{self.width_mm - 0.4:.2f}" '
            f'height="{self.height_mm - 0.4:.2f}" fill="none" stroke="#000" '
            'stroke-width="0.35"/>'
        )

    def peg(self, place: tuple[float, float], text: str, size_mm: float = 3.4) -> None:
        """A numbered peg: a ring with a name in it.

        Parameters
        ----------
        place
            East and north of the peg, in metres as the bounds of the drawing.
        text
            Its number.
        size_mm
            Size of ring and number on paper [mm].
        """
        x, y = self._at(np.array(place))
        self._parts.append(
            f'<circle cx="{x:g}" cy="{y:g}" r="{size_mm * 0.8:g}" fill="#fff" '
            'stroke="#000" stroke-width="0.5"/>'
            f'<text x="{x:g}" y="{y + size_mm * 0.34:g}" font-size="{size_mm * 0.9:g}" '
            f'text-anchor="middle" font-weight="bold">{escape(text)}</text>'
        )

    def disc_at(self, place_mm: tuple[float, float], text: str, *, small: bool) -> None:
        """A black disc with a number, at a place of the paper.

        Parameters
        ----------
        place_mm
            Middle of the disc, from the upper left corner, y down [mm of paper].
        text
            The number.
        small
            Whether the disc is a small one, as for marks and where pegs stand close.
        """
        x, y = place_mm
        radius_mm = SMALL_DISC_MM if small else DISC_MM
        size_mm = radius_mm * (1.4 if len(text) < 2 else 1.15)
        self._parts.append(
            f'<circle cx="{x:g}" cy="{y:g}" r="{radius_mm}" fill="#000" stroke="#fff" '
            f'stroke-width="0.4"/><text x="{x:g}" y="{y + 0.36 * size_mm:g}" '
            f'font-size="{size_mm:.2f}" text-anchor="middle" font-weight="bold" '
            f'fill="#fff">{escape(text)}</text>'
        )

    def boxed_at(self, place_mm: tuple[float, float], mark: str) -> None:
        """A letter in a box, with its middle at a place of the paper [mm]."""
        x, y = place_mm
        self._parts.append(
            f'<rect x="{x - 3:.2f}" y="{y - 3:.2f}" width="6" height="6" fill="#fff" '
            f'stroke="#000" stroke-width="0.55"/><text x="{x:.2f}" y="{y + 1.6:.2f}" '
            f'font-size="4.6" text-anchor="middle" font-weight="bold">{escape(mark)}'
            "</text>"
        )

    def compass(self, convergence_deg: float) -> None:
        """An arrow to true north in the upper right corner."""
        x, y = self.width_mm - 9.0, 9.5
        taken = shapely.box(x - 2.4, y - 9, x + 2.4, y + 5.5)
        self._labels.append(affinity.rotate(taken, -convergence_deg, origin=(x, y)))
        # True north lies `convergence` to the left of grid north.
        self._parts.append(
            f'<g transform="rotate({-convergence_deg:.2f} {x:g} {y:g})">'
            f'<path d="M{x:g} {y + 5:g} V{y - 2:g}" stroke="#000" stroke-width="0.7"/>'
            f'<path d="M{x - 1.8:g} {y - 1:g} L{x:g} {y - 5:g} L{x + 1.8:g} {y - 1:g} Z"/>'
            f'<text x="{x:g}" y="{y - 5.6:g}" font-size="3.2" font-weight="bold" '
            f'text-anchor="middle">{escape(_("N"))}</text></g>'
        )

    def bar(self, units: quantities.Units) -> None:
        """A bar of a round length in the lower left corner."""
        longest_m = 0.3 * self.width_mm / self.mm_per_m
        length = quantities.round_length_m(longest_m, units)
        x, y = 2.0, self.height_mm - 2.0
        self._labels.append(shapely.box(x, y - 4, x + length * self.mm_per_m, y))
        self._parts.append(
            f'<path d="M{x:g} {y - 1.4:g} V{y:g} H{x + length * self.mm_per_m:g} '
            f'V{y - 1.4:g}" fill="none" stroke="#000" stroke-width="0.6"/>'
            + rimmed(
                f'x="{x + 1:g}" y="{y - 1.2:g}" font-size="3"',
                quantities.length(length, units),
            )
        )

    def drawing(self, says: str, caption: str = "") -> Drawing:
        """What was drawn."""
        svg = (
            '<svg xmlns="http://www.w3.org/2000/svg" '
            f'width="{self.width_mm:g}mm" height="{self.height_mm:g}mm" '
            f'viewBox="0 0 {self.width_mm:g} {self.height_mm:g}" '
            f"{FONT_OF_DRAWINGS}>{''.join(self._parts)}</svg>"
        )
        return Drawing(svg, round(self.width_mm, 2), says, caption)


def along(
    shape: BaseGeometry, long_mm: float, off_mm: float
) -> Iterator[tuple[float, float, float]]:
    """Places beside straight stretches of a shape, and how text there is turned.

    Parameters
    ----------
    shape
        On paper, y down.
    long_mm
        Length of the text; a shorter stretch has no room for it.
    off_mm
        From the stretch to the middle of the text.

    Yields
    ------
    x, y, turn_deg
        Level stretches first; clockwise from level, from -90 to 90, so that no text stands
        on its head.

    Examples
    --------
    >>> line = shapely.LineString([(0, 0), (10, 10)])
    >>> [tuple(round(each, 1) for each in place) for place in along(line, 9.0, 1.0)][:2]
    [(5.7, 4.3, 45.0), (4.3, 5.7, 45.0)]
    """
    lines = shapely.get_parts(shape.boundary if shape.area else shape)
    stretches = []
    for line in lines:
        points = shapely.get_coordinates(line.simplify(1.0))
        for (x1, y1), (x2, y2) in itertools.pairwise(points.tolist()):
            long = float(np.hypot(x2 - x1, y2 - y1))
            if long >= long_mm:
                turn = (np.degrees(np.arctan2(y2 - y1, x2 - x1)) + 90.0) % 180.0 - 90.0
                stretches.append((abs(turn), turn, (x1, y1), (x2, y2), long))
    for _level, turn, (x1, y1), (x2, y2), long in sorted(stretches):
        across = (y2 - y1) / long, (x1 - x2) / long
        spare = max(0.0, 0.5 - long_mm / 2 / long)
        for share in dict.fromkeys((0.5, 0.5 - spare, 0.5 + spare)):
            for side in (1, -1):
                yield (
                    x1 + share * (x2 - x1) + side * off_mm * across[0],
                    y1 + share * (y2 - y1) + side * off_mm * across[1],
                    float(turn),
                )


def rimmed(set_as: str, text: str) -> str:
    """A text on a narrow white rim; a wider one would lie over the letter before.

    Parameters
    ----------
    set_as
        Where it stands and how it is set, as attributes of SVG.
    """
    return (
        f'<text {set_as} stroke="#fff" stroke-width="0.7" stroke-linejoin="round" '
        f'paint-order="stroke" fill="#000">{escape(text)}</text>'
    )


def numeral(text: str, size_mm: float) -> str:
    """A number that stands on its line, its middle at the origin: bold, on white."""
    wide_mm, tall_mm = 0.56 * size_mm * len(text) + 0.8, 0.95 * size_mm
    return (
        f'<rect x="{-wide_mm / 2:.2f}" y="{-tall_mm / 2:.2f}" width="{wide_mm:.2f}" '
        f'height="{tall_mm:.2f}" fill="#fff"/><text y="{0.36 * size_mm:.2f}" '
        f'font-size="{size_mm:g}" font-weight="bold" text-anchor="middle">'
        f"{escape(text)}</text>"
    )


def _widest_at(shape: shapely.Polygon) -> tuple[float, float]:
    """The middle of the largest circle in a shape."""
    circle = shapely.maximum_inscribed_circle(shape)
    east, north = shapely.get_coordinates(circle)[0]
    return float(east), float(north)


def filling(
    bounds: tuple[float, float, float, float], room_mm: tuple[float, float]
) -> tuple[float, float, float, float]:
    """Bounds widened so that a drawing of them fills its room at a round scale.

    Examples
    --------
    >>> bounds = filling((0.0, 0.0, 40.0, 20.0), (118.0, 118.0))  # 1:400, 100 mm inside
    >>> [round(each, 1) for each in bounds]
    [0.0, -10.0, 40.0, 30.0]
    """
    west, south, east, north = bounds
    mm_per_m = PlanDrawing(bounds, room_mm).mm_per_m
    # A breath less, or the next scale would be taken for the last bit of a float.
    wide_m, tall_m = ((room - 2 * MARGIN_MM) / mm_per_m - 1e-3 for room in room_mm)
    east_m, north_m = (wide_m - (east - west)) / 2, (tall_m - (north - south)) / 2
    return west - east_m, south - north_m, east + east_m, north + north_m


def bounds_of(
    geometries: Iterable[BaseGeometry], spare_m: float
) -> tuple[float, float, float, float]:
    """West, south, east and north of things, with room around."""
    west, south, east, north = shapely.total_bounds(list(geometries)).tolist()
    return west - spare_m, south - spare_m, east + spare_m, north + spare_m
