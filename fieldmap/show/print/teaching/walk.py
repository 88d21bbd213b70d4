"""A day's walk for a class: guess and mark on side 1, what the plan says on side 2."""

from collections.abc import Callable, Iterator, Sequence
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Point

from fieldmap.analyse.cold_air.flow_lines import FlowLine
from fieldmap.decide.ranking import RankedBed
from fieldmap.show.print import paper
from fieldmap.show.print.ground.drawing import AROUND, PlanDrawing
from fieldmap.show.print.ground.ground_facts import surest_first
from fieldmap.show.print.teaching import pen
from fieldmap.show.print.teaching.stops import (
    At,
    Stop,
    Walked,
    coldest,
    middle_of,
    stops,
    way_m,
    wettest,
)
from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, month_name, translated
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import fill

WORDS, STOPS, ANSWERS = (
    texts("fieldmap.show.text.print.walk", table)
    for table in ("sheet", "stops", "answers")
)
MAP_MM, MAP_SHARE, BACK_MM, BACK_SHARE = 88.0, 0.37, 104.0, 0.5
# A way is given in round steps: 50 m, or 100 ft.
WAY_STEP_M = {"metric": 50.0, "us": 100.0 / quantities.FEET_PER_METRE}
# Marks that learners set, by what they stand for.
MARKS = ("C", "E", "W")
MOST_ARROWS, ARROW_MM = 8, 11.0
# Words of the glossary that stand beside the answers, where there are not too many of these.
EXPLAINED, MOST_STOPS_WITH_WORDS = ("still_night", "cold_air", "at_worst"), 6
Ground = Callable[[tuple[float, float], Sequence[At]], PlanDrawing]


def blocks(
    the: Walked,
    grounds: tuple[Ground, Ground],
    key: Callable[[float], paper.Drawing],
    page: paper.Paper,
    units: Units,
) -> tuple[paper.Block, ...]:
    """Both sides.

    Parameters
    ----------
    the
        What the walk is made from.
    grounds
        Each gives a new drawing of the ground for a room, with places kept free of names:
        without what the plan says, and with it.
    key
        What the signs of the second of them mean, for a width.
    page
        "a4" or "letter".
    units
        "metric" or "us", for lengths and degrees.
    """
    walked = stops(the)
    if not walked:
        return (paper.Text(_(WORDS["nothing"])),)
    height_mm = paper.INNER_MM[page][1]
    return (
        *_front(walked, grounds[0], height_mm, units),
        paper.NewPage(),
        *_back(the, walked, grounds[1], key(BACK_MM), height_mm, units),
    )


# ------------------------------------------------------------------ side 1
def _front(
    walked: Sequence[Stop], ground: Ground, height_mm: float, units: Units
) -> Iterator[paper.Block]:
    yield paper.Head(
        _(WORDS["title"]),
        (fill(WORDS["line"], units, number=len(walked)),),
        (_(WORDS["name"]), _(WORDS["date"])),
    )
    map_mm = MAP_MM, MAP_SHARE * height_mm
    drawing = ground(map_mm, [stop.at for stop in walked])
    _add_stops(drawing, walked)
    yield paper.Beside(
        (drawing.drawing(_(WORDS["map"])),),
        tuple(_before(walked, units)),
        MAP_MM,
    )
    rows = -(-len(walked) // 2)
    room_mm = height_mm - paper.HEAD_MM - map_mm[1] - 8.0
    yield paper.Frames(
        tuple(
            paper.Frame(
                number=str(number),
                title=_said(stop, "title", units),
                drawing=_when(stop.kind),
                when=_said(stop, "when", units),
                said=(paper.Said(_question(_said(stop, "ask", units))),),
                lines=(_(WORDS["guess"]), _(WORDS["seen"])),
                photo=_(WORDS["photo"]),
            )
            for number, stop in enumerate(walked, start=1)
        ),
        2,
        min(room_mm / rows - 2.0, 60.0),
    )


def _before(walked: Sequence[Stop], units: Units) -> Iterator[paper.Block]:
    yield paper.Heading(_(WORDS["before"]))
    yield paper.Text(_(WORDS["mark"]))
    yield paper.Numbered(
        tuple(
            (mark, paper.Said((paper.Part(_(WORDS[key])),)))
            for mark, key in zip(MARKS, ("coldest", "earliest", "water"), strict=True)
        ),
        boxed=True,
    )
    yield paper.Text(_(WORDS["why"]))
    yield paper.Heading(_(WORDS["then"]).format(first=1, last=len(walked)))
    step_m = WAY_STEP_M[units]
    way = step_m * max(int(way_m(walked) // step_m), 1)  # "or more"
    yield paper.Text(_(WORDS["how"]).format(way=quantities.whole_length(way, units)))
    yield paper.Heading(_(WORDS["turn"]))
    yield paper.Boxed((paper.Text(_(WORDS["keep_away"])),))
    yield paper.Boxed((paper.Text(_(WORDS["dawn"])),))


def _add_stops(drawing: PlanDrawing, walked: Sequence[Stop]) -> None:
    """Numbers of the stops; the way between them leads around hedges and beds."""
    places = [drawing.at(stop.at) for stop in walked]
    taken: list[At] = []
    for number, place in enumerate(places, start=1):
        drawing.disc_at(apart(place, taken), str(number), small=False)


def apart(place: At, taken: list[At]) -> At:
    """A place on paper, moved aside where another disc lies; it is taken then."""
    x, y = place
    moves = [(0.0, 0.0), *((7.0 * dx, 7.0 * dy) for dx, dy in AROUND)]
    free = (
        (x + dx, y + dy)
        for dx, dy in moves
        if all(np.hypot(x + dx - a, y + dy - b) >= 6.2 for a, b in taken)
    )
    found = next(free, place)
    taken.append(found)
    return found


def _said(stop: Stop, key: str, units: Units) -> str:
    """A text of a stop with its facts in words."""
    values = dict(stop.values)
    words: dict[str, Any] = {}
    for name in ("month", "first", "last"):
        if isinstance(values.get(name), int):
            words[name] = month_name(values[name])
    if "place" in values:
        words["place"] = names.started(values["place"] or _("gate"))
    if "thing" in values:
        words["thing"] = names.started(values["thing"] or _(values["kind"]))
    if "plots" in values:
        words["plots"] = names.listed(values["plots"])
    if "offset" in values:
        low, likely, _high = values["offset"]
        words["likely"] = quantities.difference(likely, units)
        words["worst"] = quantities.difference(low, units)
    if "side_deg" in values:
        words["side"] = quantities.direction(values["side_deg"])
        words["difference"] = quantities.difference(-values["colder_c"], units)
    if "slope_percent" in values:
        words["fall"] = quantities.ground(values["slope_percent"], units)
        # The length over which a fall is given.
        ten_m = 10.0 / quantities.FEET_PER_METRE if units == "us" else 10.0
        words["string"] = quantities.length(ten_m, units)
    if "to_deg" in values:
        words["way"] = quantities.direction(values["to_deg"])
        words["fall"] = quantities.ground(values["along_percent"], units)
    return _(STOPS[stop.kind][key]).format(**(values | words))


def _question(text: str) -> tuple[paper.Part, ...]:
    """A question whose first sentence is bold: guess first."""
    first, dot, rest = text.partition(". ")
    return (paper.Part(first + dot, bold=True), paper.Part(rest))


def _when(kind: str) -> paper.Drawing:
    """A picture of the day on which a stop shows something."""
    return pen.picture([WEATHER[kind]], (15.0, 9.0))


_SUN = pen.circle(7.5, 4.0, 2.0) + pen.stroke(
    "M7.5 .3 v.9 M3.6 1.8 l.7 .5 M11.4 1.8 l-.7 .5 M2.800 5 h1 M11.200 5 h1", pen.LINE
)
_LEVEL = pen.line((1.0, 8.0), (14.0, 8.0))
_DROP = "M{x} 1.500 q2.600 3.600 0 5.400 q-2.600 -1.800 0 -5.400 Z"
WEATHER = {
    "gate": pen.stroke(
        "M1 4.500 Q7.500 -1.500 14 4.500 Q7.500 10.500 1 4.500 Z", pen.LINE
    )
    + pen.circle(7.5, 4.5, 1.7, black=True),
    "sun": _SUN + _LEVEL,
    "cold": pen.stroke(_DROP.format(x=5), pen.LINE)
    + pen.stroke(_DROP.format(x=10), pen.LINE),
    "barrier": pen.stroke(
        "M1 2.500 h9 q2 0 2 -1.500 M1 5 h11 q2.500 0 2 2 M1 7.500 h6", pen.LINE
    ),
    "tunnel": pen.stroke(
        "M3 1 l-1 3 M7 1 l-1 3 M11 1 l-1 3 M5 4.500 l-1 3 M9 4.500 l-1 3", pen.LINE
    ),
    "water": pen.stroke("M3 1 l-1 3 M7 1 l-1 3 M11 1 l-1 3", pen.LINE)
    + pen.stroke("M2 7 q1.500 -1.200 3 0 t3 0 t3 0", pen.LINE),
    "slope": pen.stroke("M1 3 L14 8 H1 Z", pen.LINE)
    + pen.stroke("M3 1.500 l7 2.700 m-2.200 .1 l2.200 -.1 l-1.400 -1.700", pen.LINE),
    "wall": pen.stroke(
        "M4.500 8 a3 3 0 0 1 6 0 M7.500 2.500 v1 M3 4.500 l.8 .7 M12 4.500 l-.8 .7",
        pen.LINE,
    )
    + _LEVEL,
}


# ------------------------------------------------------------------ side 2
def _back(
    the: Walked,
    walked: Sequence[Stop],
    ground: Ground,
    key: paper.Drawing,
    height_mm: float,
    units: Units,
) -> Iterator[paper.Block]:
    yield paper.Head(_(ANSWERS["title"]), (_(ANSWERS["line"]),))
    wet = wettest(the.beds)
    marked = [coldest(the.beds), _earliest(the.beds), wet]
    places = [None if bed is None else middle_of(bed) for bed in marked]
    kept_free = [place for place in places if place is not None]
    drawing = ground((BACK_MM, BACK_SHARE * height_mm), kept_free)
    taken: list[At] = []
    for mark, place in zip(MARKS, places, strict=True):
        if place is not None:
            x, y = apart(drawing.at(place), taken)
            drawing.boxed_at((x, y), mark)
    _add_arrows(drawing, the.flow_lines)
    answers = tuple(
        (str(number), paper.Said(_answer(stop, units)))
        for number, stop in enumerate(walked, start=1)
    )
    marks = [_(ANSWERS["marks"]), *([] if wet else [_(ANSWERS["no_water"])])]
    yield paper.Beside(
        (drawing.drawing(_(ANSWERS["map"])), key, paper.Text(" ".join(marks))),
        (paper.Numbered(answers), *_words(len(walked))),
        BACK_MM,
    )
    yield paper.Heading(_(ANSWERS["else"]))
    yield paper.Lines(("",) * 5)
    yield paper.Heading(_(ANSWERS["count"]))
    rows = translated(ANSWERS[key] for key in ("coldest", "earliest", "water"))
    yield paper.Table(
        translated(ANSWERS["table"]),
        tuple((row, "", "", "") for row in rows),
        (1.2, 1.4, 1.8, 1.2),
    )


def _words(stops_walked: int) -> Iterator[paper.Block]:
    """What some words of the answers mean, where these leave room."""
    if stops_walked > MOST_STOPS_WITH_WORDS:
        return
    yield paper.Heading(_(ANSWERS["words"]))
    for key in EXPLAINED:
        word, meaning = names.explained(key)
        yield paper.Lead(f"{names.started(word)}:", meaning)


def _answer(stop: Stop, units: Units) -> tuple[paper.Part, ...]:
    title = _said(stop, "title", units)
    return (
        paper.Part(f"{title}.", bold=True),
        paper.Part(f" {_said(stop, stop.say, units)}"),
    )


def _earliest(beds: Sequence[RankedBed]) -> RankedBed | None:
    """The first of the beds that come first; None where all tie."""
    if all(bed.ranks.early == 1 for bed in beds):
        return None
    return surest_first(beds)


def _add_arrows(drawing: PlanDrawing, lines: Sequence[FlowLine]) -> None:
    """The strongest ways of cold air, as arrows that keep apart."""
    taken: list[Point] = []
    strongest = sorted(lines, key=lambda line: (-line.strength_m2_s, line.line.bounds))
    for each in strongest:
        seen = each.line.intersection(drawing.shown)
        part = max(shapely.get_parts(seen), key=lambda it: it.length, default=None)
        if part is None or part.length * drawing.mm_per_m < ARROW_MM:
            continue
        half_m = ARROW_MM / 2 / drawing.mm_per_m
        middle = part.length / 2
        start, end = (part.interpolate(middle + way * half_m) for way in (-1, 1))
        x1, y1 = drawing.at((start.x, start.y))
        x2, y2 = drawing.at((end.x, end.y))
        here = Point((x1 + x2) / 2, (y1 + y2) / 2)
        if any(here.distance(other) < 1.6 * ARROW_MM for other in taken):
            continue
        taken.append(here)
        drawing.draw(pen.arrow(x1, y1, x2, y2, 0.6))
        if len(taken) == MOST_ARROWS:
            return
