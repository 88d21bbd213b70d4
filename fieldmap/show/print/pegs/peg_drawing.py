"""The drawing of one field to be pegged: seen from the gate, numbers on their lines."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.pegging.model import Check, FieldPegs, Landmark, Peg
from fieldmap.show.layer_styles import ON_PAPER, PaperStyle
from fieldmap.show.print.ground import key
from fieldmap.show.print.ground.drawing import bounds_of
from fieldmap.show.print.pegs.tape_drawing import TapeDrawing
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.decide import pegging
from fieldmap.show.text.language import _
from fieldmap.show.text.quantities import Units

At = tuple[float, float]
SPARE_M = 1.5
BED_NAME_MM = 3.7
NAMES_SHARE = 0.07
BED = PaperStyle("#fff", 0.25)
BASE = PaperStyle("none", 0.9)
TIE = PaperStyle("none", 0.55)
SIDE = PaperStyle("none", 0.35)
CHECK = PaperStyle("none", 0.35, "0.4 1.2")
STRING = PaperStyle("none", 0.35, "3 1.5")
LESSER = ("mark", "helper")
UPHILL = texts("fieldmap.show.text.print.pegs", "sheet")["uphill"]
KEY = texts("fieldmap.show.text.print.pegs", "key")
# Things around whose signs are explained, and how.
SAMPLES = {
    **dict.fromkeys(("overhead line", "fence", "wall"), key.line),
    **dict.fromkeys(
        ("keep off", "trees", "hedge", "building", "water", "bank", "tree"), key.filled
    ),
}
HATCH_MM, HATCH = 2.0, PaperStyle("none", 0.2)
# Among more pegs a number is written on the first line of its length alone; among still
# more, only what ties the field to its landmarks is drawn, and the steps say the rest.
FEW_PEGS, MANY_PEGS = 10, 30


class View:
    """The ground turned so that one looks from the gate along the beds."""

    def __init__(self, field: FieldPegs) -> None:
        pegs = field.pegs
        rows = [(bay.rows[0][0], bay.rows[-1][0]) for bay in field.bays]
        ends = rows or [tunnel.corners[:2] for tunnel in field.tunnels]
        east, north = 0.0, 1.0
        if ends:
            near, far = (np.array(pegs[number].at) for number in ends[0])
            east, north = far - near
        # Counter-clockwise, so that far from near is up.
        self.turn_deg = float(np.degrees(np.arctan2(east, north)))
        self._origin = field.start

    def shape(self, geometry: BaseGeometry) -> BaseGeometry:
        """A geometry as it is seen."""
        return affinity.rotate(geometry, self.turn_deg, origin=self._origin)

    def at(self, place: At) -> At:
        """A place as it is seen."""
        east, north = shapely.get_coordinates(self.shape(shapely.Point(place)))[0]
        return float(east), float(north)


def is_crowded(field: FieldPegs) -> bool:
    """Whether pegs are too many for a drawing beside the steps."""
    return len(field.pegs) > MANY_PEGS


def is_wide(field: FieldPegs, beds: Sequence[Bed]) -> bool:
    """Whether a field is wider than deep as one looks from the gate."""
    view = View(field)
    west, south, east, north = bounds_of(
        [view.shape(shape) for shape in _shown(field, beds)], 0.0
    )
    return east - west > 1.1 * (north - south)


def _shown(field: FieldPegs, beds: Sequence[Bed]) -> list[BaseGeometry]:
    places = [each.at for each in field.landmarks]
    places += [peg.at for peg in field.pegs.values()]
    return [*map(shapely.Point, places), *(bed.outline for bed in beds)]


def _bounds(field: FieldPegs, beds: Sequence[Bed]) -> tuple[float, float, float, float]:
    """Of what is shown, as it is seen, and of what stands above and below it."""
    view = View(field)
    shown = [view.shape(shape) for shape in _shown(field, beds)]
    west, south, east, north = bounds_of(shown, SPARE_M)
    # Names of posts, the arrows and the bar; names keep off pegs and arrows.
    room_m = NAMES_SHARE * max(east - west, north - south)
    above_m = (2 if is_crowded(field) else 2.5) * room_m
    return west, south - room_m, east, north + above_m


def draw(
    field: FieldPegs,
    beds: Sequence[Bed],
    around: Iterable[tuple[str, BaseGeometry]],
    room_mm: tuple[float, float],
    convergence_deg: float,
    units: Units,
) -> TapeDrawing:
    """A field with its beds, pegs and all that is measured.

    Parameters
    ----------
    field
        How the field is pegged.
    beds
        The beds of this field.
    around
        Kinds and shapes of what stands or lies there, the plot's outline last.
    room_mm
        Width and height of the paper that it may take, its margins included [mm].
    convergence_deg
        Grid north from true north, clockwise [°].
    units
        "metric" or "us", for lengths and the bar.
    """
    view, many = View(field), is_crowded(field)
    # As large as there is room; the bar tells the scale.
    drawn = TapeDrawing(_bounds(field, beds), room_mm, scales=())
    for kind, shape in around:
        drawn.add(view.shape(shape), ON_PAPER.get(kind, ON_PAPER["keep off"]))
    for bed in beds:
        outline = view.shape(bed.outline)
        drawn.add(outline, BED)
        for line in _hatch(outline, HATCH_MM / drawn.mm_per_m):
            drawn.add(line, HATCH)
    _frames(drawn, field, view)
    if field.uphill_deg is not None:
        drawn.uphill(field.uphill_deg - view.turn_deg, _(UPHILL))
    drawn.compass(convergence_deg + view.turn_deg)
    drawn.bar(units)
    pegs = [
        (view.at(peg.at), many or peg.role in LESSER) for peg in field.pegs.values()
    ]
    # Numbers of lengths that would lie upon others stand in the steps alone.
    drawn.keep_free(pegs)
    named = list(_names(drawn, beds, view))
    named = [each for each in named if drawn.has_room(*each, BED_NAME_MM)]
    posts = [
        drawn.post(view.at(each.at), pegging.landmark(each)) for each in field.landmarks
    ]
    _lines(drawn, field, view, units)
    for place, name in named:
        drawn.name(place, name, BED_NAME_MM, bold=True)
    for post in posts:
        drawn.draw(post)
    drawn.discs(
        [
            (place, str(peg.number), small)
            for (place, small), peg in zip(pegs, field.pegs.values(), strict=True)
        ]
    )
    return drawn


def signs(
    field: FieldPegs,
    beds: Sequence[Bed],
    around: Iterable[tuple[str, BaseGeometry]],
) -> Iterator[key.Entry]:
    """What the signs of the drawing mean that have no name beside them.

    Parameters
    ----------
    field
        How the field is pegged.
    beds
        The beds of this field.
    around
        Kinds and shapes of what stands or lies there.
    """
    view, seen = View(field), shapely.box(*_bounds(field, beds))
    yield key.Entry(
        lambda x, y: f'<rect x="{x + 3:.2f}" y="{y + 1.3:.2f}" width="3" height="3"/>',
        _(KEY["post"]),
    )
    yield key.Entry(
        lambda x, y: f'<circle cx="{x + 4.5:.2f}" cy="{y + 2.8:.2f}" r="2.1"/>',
        _(KEY["peg"]),
    )
    if field.bays:
        yield key.Entry(_hatched_bed, _(KEY["bed"]))
    steps = [step for step in field.steps if isinstance(step, Peg)]
    if any(isinstance(tie.of, Landmark) for peg in steps for tie in peg.ties):
        yield key.Entry(key.line(TIE), _(KEY["tape"]))
    if any(peg.string is not None for peg in steps):
        yield key.Entry(key.line(STRING), _(KEY["string"]))
    if not is_crowded(field) and any(isinstance(each, Check) for each in field.steps):
        yield key.Entry(key.line(CHECK), _(KEY["check"]))
    if field.tunnels:
        yield key.Entry(key.filled(ON_PAPER["tunnel"]), _(KEY["tunnel"]))
    kinds = [kind for kind, shape in around if view.shape(shape).intersects(seen)]
    for kind in dict.fromkeys(kinds):
        if kind in SAMPLES:
            yield key.Entry(SAMPLES[kind](ON_PAPER[kind]), _(KEY.get(kind, kind)))


def _hatched_bed(x: float, y: float) -> str:
    """A bed as it is drawn, with its lines across."""
    outline = shapely.box(x + 0.5, y + 1.3, x + 9.0, y + 4.3)
    lines = " ".join(
        "M" + " L".join(f"{a:.2f} {b:.2f}" for a, b in shapely.get_coordinates(line))
        for line in _hatch(outline, HATCH_MM)
    )
    return (
        f'<rect x="{x + 0.5:.2f}" y="{y + 1.3:.2f}" width="8.5" height="3" fill="none" '
        f'stroke="#000" stroke-width="{BED.line_mm}"/><path d="{lines}" fill="none" '
        f'stroke="#000" stroke-width="{HATCH.line_mm}"/>'
    )


def _hatch(outline: BaseGeometry, every_m: float) -> Iterable[BaseGeometry]:
    """Lines across a bed, so that no one takes a path for one."""
    west, south, east, north = outline.bounds
    rise = east - west
    low = np.arange(south - rise, north, every_m)
    starts, ends = (np.full(len(low), west), low), (np.full(len(low), east), low + rise)
    whole = shapely.linestrings(np.transpose([starts, ends], (2, 0, 1)))
    lines = np.asarray(shapely.intersection(whole, outline))
    return lines[shapely.length(lines) > 0]


def _frames(drawn: TapeDrawing, field: FieldPegs, view: View) -> None:
    """Walk-in tunnels."""
    pegs = field.pegs
    for tunnel in field.tunnels:
        corners = [view.at(pegs[number].at) for number in tunnel.corners]
        frame = shapely.Polygon(corners)
        drawn.add(frame, ON_PAPER["tunnel"])
        drawn.name(frame.centroid, tunnel.name, 4.2, bold=True)
        first, far, across, beside = map(np.array, corners)
        for share in np.array(tunnel.bows_m) / tunnel.length_m:
            for start, end in ((first, far), (beside, across)):
                drawn.dot(tuple((start + share * (end - start)).tolist()))


def _lines(drawn: TapeDrawing, field: FieldPegs, view: View, units: Units) -> None:
    """All that is measured: ties thick, the first side thickest, checks dotted."""
    pegs = field.pegs
    base = _baseline(field)
    numbers: list[tuple[tuple[At, At], str]] = []
    for step in field.steps:
        for start, end, length_m, style in _measured(step, base):
            if is_crowded(field) and style in (SIDE, CHECK):
                continue
            ends = view.at(_place(start, pegs)), view.at(_place(end, pegs))
            drawn.measure(ends, style)
            numbers.append((ends, pegging.taped(length_m, units)))
    written: set[str] = set()
    for ends, number in numbers:
        if len(pegs) <= FEW_PEGS or number not in written:
            drawn.length(ends, number)
        written.add(number)


def _baseline(field: FieldPegs) -> set[int]:
    """Pegs of the first baseline."""
    bays = field.bays
    if not bays:
        return set(field.tunnels[0].corners[:2]) if field.tunnels else set()
    near, far = bays[0].rows[0], bays[0].rows[-1]
    long = near if len(near) > 2 else (near[0], far[0])
    return set(long)


def _measured(
    step: Peg | Check, base: set[int]
) -> Iterator[tuple[Landmark | int, Landmark | int, float, PaperStyle]]:
    if isinstance(step, Check):
        yield step.start, step.end, step.length_m, CHECK
        return
    for tie in step.ties:
        style = SIDE
        if isinstance(tie.of, Landmark):
            style = STRING if step.string else TIE
        elif {tie.of, step.number} <= base:
            style = BASE
        yield tie.of, step.number, tie.length_m, style


def _place(of: Landmark | int, pegs: Mapping[int, Peg]) -> At:
    return pegs[of].at if isinstance(of, int) else of.at


def _names(
    drawn: TapeDrawing, beds: Sequence[Bed], view: View
) -> Iterator[tuple[shapely.Point, str]]:
    """Names on beds: each where there is room, else every fourth."""
    if not beds:
        return
    pitch_mm = 1.6 * min(bed.width_m for bed in beds) * drawn.mm_per_m
    room_mm = 0.62 * BED_NAME_MM * max(len(bed.name) for bed in beds)
    every = next((n for n in (1, 4, 8, 12) if n * pitch_mm > room_mm), 24)
    for number, bed in enumerate(beds, start=1):
        if number % every == 0 or number in (1, len(beds)):
            yield view.shape(bed.outline).centroid, bed.name
