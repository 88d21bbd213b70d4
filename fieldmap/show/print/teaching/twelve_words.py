"""A dozen words with a picture each, to be said, shown and written in one's own language."""

from collections.abc import Callable, Mapping

from fieldmap.show.print.paper import Drawing
from fieldmap.show.print.teaching import pen

SIZE_MM = (54.0, 26.0)
Y = 21.0  # of the ground


def _hoop(_numbers: Mapping[str, str]) -> str:
    return pen.ground(5, 49, Y) + pen.hoop(15, 39, Y, 16, 1.3)


def _leg(_numbers: Mapping[str, str]) -> str:
    y = 11.0
    return (
        pen.ground(5, 49, y)
        + pen.stroke(f"M20 {y} v-4 q0 -5 6 -6", pen.LINE)
        + pen.line((20, y), (20, 25), width=1.6)
        + pen.arrow(26, 17, 26, y + 0.5, 0.4)
        + pen.arrow(26, 18, 26, 25, 0.4)
    )


def _cover(_numbers: Mapping[str, str]) -> str:
    strokes = " ".join(
        f"M{x} {Y} l{dx} -{dy}"
        for x, dx, dy in (
            (17, 10, 10),
            (21, 12, 12),
            (25, 11, 11),
            (29, 8, 8),
            (33, 5, 5),
        )
    )
    return (
        pen.ground(5, 49, Y)
        + pen.hoop(15, 39, Y, 16, pen.THICK)
        + pen.stroke(strokes, pen.FINE)
        + pen.line((7, Y - 0.5), (15, Y - 0.5), width=pen.HEAVY)
        + pen.line((39, Y - 0.5), (47, Y - 0.5), width=pen.HEAVY)
    )


def _bag(numbers: Mapping[str, str]) -> str:
    return (
        pen.ground(5, 49, Y)
        + pen.stroke(
            "M22 3 h10 l-2 3.500 q5 2 6.500 6.500 q1.500 4 -.500 8 h-18 q-2 -4 -.500 -8 "
            "q1.500 -4.500 6.500 -6.500 Z M24 6.500 h6",
            pen.THICK,
        )
        + (pen.number(27, 16.5, numbers["each"]) if numbers["each"] else "")
    )


def _bed(_numbers: Mapping[str, str]) -> str:
    leaves = "".join(
        pen.stroke(f"M{x} 14 q-.5 -4 -4 -5 M{x} 14 q0 -5 3 -6.500", pen.LINE)
        for x in (20, 28, 36)
    )
    hatch = " ".join(f"M{x} {Y} l6.500 -6.500" for x in (14, 18, 22, 26, 30, 34))
    return (
        pen.ground(5, 49, Y)
        + pen.stroke(f"M11 {Y} l5 -7 h23 l5 7 Z", pen.LINE)
        + pen.stroke(hatch, pen.FINE)
        + leaves
    )


def _path(_numbers: Mapping[str, str]) -> str:
    def shoe(x: float, y: float) -> str:
        return pen.filled(
            f"M{x} {y} q2 0 1.700 3 l-.700 2.500 h-1.900 l-.700 -2.500 q-.300 -3 1.600 -3 Z"
        )

    hatch = " ".join(f"M{x} 22 l5 -8" for x in (3, 6, 9, 39, 42, 45))
    return (
        pen.stroke(f"M3 14 h12 l3 {Y - 14} h18 l3 -{Y - 14} h12", pen.LINE)
        + pen.stroke(hatch, pen.FINE)
        + shoe(24, 13)
        + shoe(29, 10.5)
    )


def _stake(_numbers: Mapping[str, str]) -> str:
    return (
        pen.ground(5, 49, 15)
        + pen.stroke("M25 5 V20.500 L27 25 L29 20.500 V5 Z", pen.LINE, fill="#fff")
        + pen.filled("M24 2 h6 v3.500 h-6 Z")
    )


def _knot(_numbers: Mapping[str, str]) -> str:
    return pen.stroke(
        "M5 17 H24 q8 0 10 -6 q1 -6 -6 -6.500 q-7 .500 -6.500 6 q1 7 9 9 q4 .500 7 -4 "
        "q2 -3.500 6 -3.500 H50",
        1.4,
    )


def _stick(numbers: Mapping[str, str]) -> str:
    marks = [(33, numbers["bed"], 6.5), (48, numbers["pitch"], 6.5)]
    if not numbers["pitch"]:
        marks = marks[:1]
    return (
        pen.hatched(5, 9, 33, 13)
        + pen.stroke("M33 9 H48 V13 H33", pen.LINE)
        + "".join(pen.words(x, y, text, 4.2, bold=True) for x, text, y in marks)
    )


def _gust(_numbers: Mapping[str, str]) -> str:
    return (
        pen.ground(5, 49, Y)
        + pen.stroke("M5 6 h18 q4 0 4 -3.500", pen.THICK)
        + pen.stroke("M5 11 h24 q4.500 0 4.500 3.500", pen.THICK)
        + pen.stroke("M5 16 h13", pen.THICK)
        + pen.stroke(
            f"M39 {Y} q.5 -9 6 -13 M40.500 14 l6 -1.500 M39.500 18 l6 .500", pen.LINE
        )
    )


def _pull(_numbers: Mapping[str, str]) -> str:
    return (
        pen.ground(5, 49, Y)
        + pen.circle(15, 6.5, 1.7)
        + pen.line((16, 9), (18, 14.5))
        + pen.line((14.5, Y), (18, 14.5), (21, Y))
        + pen.line((16.3, 10), (25, 11.5))
        + pen.line((24, 11.7), (47, 11.7), width=pen.HEAVY)
        + pen.arrow(40, 5, 28, 5, 0.9)
    )


def _open(_numbers: Mapping[str, str]) -> str:
    return (
        pen.ground(5, 49, Y)
        + pen.stroke(f"M15 {Y} A12 16 0 0 1 20 8", pen.FINE)
        + pen.stroke(f"M20 8 A12 16 0 0 1 39 {Y}", 1.3)
        + pen.circle(19.3, 8.3, 1.1, pen.THICK)
        + pen.arrow(10, 19, 10, 9, 0.9)
    )


PICTURES: Mapping[str, Callable[[Mapping[str, str]], str]] = {
    "hoop": _hoop,
    "leg": _leg,
    "cover": _cover,
    "bag": _bag,
    "bed": _bed,
    "path": _path,
    "stake": _stake,
    "knot": _knot,
    "stick": _stick,
    "gust": _gust,
    "pull": _pull,
    "open": _open,
}


def picture(word: str, numbers: Mapping[str, str]) -> Drawing:
    """The picture of a word; `numbers` has those of this tunnel that stand in some."""
    return pen.picture([PICTURES[word](numbers)], SIZE_MM)
