"""The eight steps of a low tunnel, drawn with the numbers of one bed."""

import itertools
from collections.abc import Mapping, Sequence

import numpy as np
import shapely

from fieldmap.decide.layout.beds import Stretch
from fieldmap.show.print.paper import Drawing
from fieldmap.show.print.teaching import pen

SIZE_MM = (86.0, 27.0)
GROUND_MM = 19.0
Labels = Mapping[str, str]


def get(numbers: Labels, labels: Labels, anchor: str) -> Drawing:
    """What to fetch, and how many.

    Parameters
    ----------
    numbers
        Numbers of the bed in words: "cut", "size" in one line or two, "each".
    labels
        Words of the drawing, by key.
    anchor
        What holds the cover: "bags", "stones", "trench" or "clip".
    """
    foot = 25.0
    things = [
        pen.hoop(12.0, 31.0, GROUND_MM, 14.5, pen.HEAVY),
        pen.number(21.5, 16.5, numbers["cut"]),
        pen.words(21.5, foot, labels["hoops"], bold=True),
        pen.stroke("M38 9 h12 v10 h-12 Z M38 9 q6 2.5 12 0", pen.THICK),
        pen.stroke("M50 14.5 q4 0 4.5 4.5 h-4.5", pen.LINE),
        *_sizes(numbers["size"].splitlines()),
        pen.words(45.0, foot, labels["cover"], bold=True),
        *_weight(anchor, numbers, labels, foot),
        pen.hatched(73.0, 4.0, 79.0, 6.0) + pen.stroke("M79 4 h5 v2 h-5", pen.LINE),
        pen.words(78.5, 10.5, labels["stick"]),
        pen.circle(75.5, 17.0, 2.6) + pen.circle(82.0, 17.0, 2.6),
        pen.stroke(
            "M78.1 17 q.6 -1 1.300 0 M72.9 16.500 l-2 -2 M84.600 16.500 l1 -1.500"
        ),
        pen.words(78.0, foot, labels["glasses"]),
    ]
    return pen.picture(things, SIZE_MM)


def _sizes(lines: Sequence[str]) -> list[str]:
    """Sizes of covers over their picture: one, or two in smaller letters."""
    if len(lines) == 1:
        return [pen.words(45.0, 6.0, lines[0], 4.2, bold=True)]
    return [
        pen.words(45.0, 3.8 + 3.9 * row, text, 3.7, bold=True)
        for row, text in enumerate(lines)
    ]


def _weight(anchor: str, numbers: Labels, labels: Labels, foot: float) -> list[str]:
    if anchor in ("trench", "clip"):
        drawn = (
            pen.stroke("M62 4 v9 M60 4 h4", pen.THICK)
            + pen.filled("M59.5 12.500 h5 v5 q-2.500 3.500 -5 0 Z")
            if anchor == "trench"
            else pen.stroke(
                "M59 18 a3.500 3.500 0 1 1 6 0 M59 18 l-1 1 M65 18 l1 1", pen.THICK
            )
        )
        word = labels["spade" if anchor == "trench" else "clips"]
        return [drawn, pen.words(62.0, foot, word, bold=True)]
    return [
        pen.words(62.5, 9.5, numbers["each"], 4.2, bold=True),
        pen.bag(62.5, GROUND_MM, 10.0),
        pen.words(62.5, foot, labels[anchor], bold=True),
    ]


def mark(numbers: Labels, labels: Labels) -> Drawing:
    """Where the tape goes on a pipe."""
    ends, tapes = (6.0, 80.0), (20.0, 66.0)
    parts = [
        pen.stroke(f"M{ends[0]} 9.500 H{ends[1]} v3 H{ends[0]} Z", pen.LINE),
        *(pen.filled(f"M{x - 1} 9 h2 v4 h-2 Z") for x in tapes),
        *(pen.words(x, 6.5, labels["tape"]) for x in tapes),
        *(pen.line((x, 14.0), (x, 19.0), width=pen.FINE) for x in (*ends, *tapes)),
        pen.across(ends[0], tapes[0], 17.0, numbers["leg"]),
        pen.across(tapes[0], tapes[1], 17.0, numbers["between"]),
        pen.across(tapes[1], ends[1], 17.0, numbers["leg"]),
    ]
    return pen.picture(parts, SIZE_MM)


def push(numbers: Labels) -> Drawing:
    """A hoop in the ground."""
    left, right, y = 32.0, 56.0, 18.0
    parts = [
        pen.ground(14.0, 74.0, y),
        pen.hoop(left, right, y, 14.5, pen.HEAVY),
        *(pen.line((x, y), (x, 26.5), width=pen.HEAVY) for x in (left, right)),
        *(pen.filled(f"M{x - 1.1} {y - 1} h2.2 v2 h-2.2 Z") for x in (left, right)),
        pen.arrow(40.0, 6.5, 36.8, 12.0, 0.9) + pen.arrow(48.0, 6.5, 51.2, 12.0, 0.9),
        pen.upright(26.0, 3.5, y, numbers["height"], left=True),
        pen.across(left, right, 22.0, numbers["span"]),
        pen.upright(60.5, y, 26.5, numbers["leg"]),
    ]
    return pen.picture(parts, SIZE_MM)


def following(numbers: Labels, along: str) -> Drawing:
    """Hoops in a row, seen from the side; `along` names what runs along their tops."""
    y, top = 18.0, 8.5
    posts = ((14.0, "1"), (33.0, "2"), (52.0, "3"), (72.0, numbers["hoops"]))
    parts = [
        pen.ground(6.0, 80.0, y),
        pen.line((14.0, top), (72.0, top), width=0.35, dashes="2 1.2"),
        *(pen.line((x, top), (x, 22.0), width=pen.THICK) for x, _ in posts),
        *(pen.number(x, 26.7, name) for x, name in posts),
        pen.across(14.0, 33.0, 4.5, numbers["gap"]),
        pen.line((14.0, 3.0), (14.0, top), width=pen.FINE),
        pen.line((33.0, 3.0), (33.0, top), width=pen.FINE),
        pen.words(62.0, 7.2, along),
        *(pen.circle(x, 13.5, 0.5, black=True) for x in (60.0, 62.0, 64.0)),
    ]
    return pen.picture(parts, SIZE_MM)


def wind(labels: Labels) -> Drawing:
    """When to go on, and when to wait."""
    y = 18.5
    parts = [
        pen.ground(8.0, 36.0, y) + pen.ground(48.0, 80.0, y),
        pen.line((19.0, y), (19.0, 3.0)) + pen.line((61.0, y), (61.0, 3.0)),
        pen.stroke("M19 3 q3 4 1.800 11 h-1.800 Z", pen.THICK),
        pen.stroke("M61 3 q5 -2 9 0 t8 -1 v5 q-4 2 -8 1 t-9 0 Z", pen.THICK),
        *(pen.line((50.0, each), (57.0, each)) for each in (5.0, 9.0, 13.0)),
        pen.stroke("M25 11 l3 3.500 l6 -8", 1.2),
        pen.stroke("M66.500 10.500 l6.500 6.500 m0 -6.500 l-6.500 6.500", 1.2),
        pen.words(22.0, 25.0, labels["still"], bold=True),
        pen.words(64.0, 25.0, labels["blows"], bold=True),
    ]
    return pen.picture(parts, SIZE_MM)


# Seen from above and aside: along the bed, across it towards the eye, and up.
ALONG, ACROSS, UP_MM = np.array([9.6, -0.9]), np.array([5.0, 2.6]), 9.5
START = np.array([17.0, 20.0])


def _arch(number: int) -> np.ndarray:
    """A hoop as places, from the far leg over the top to the near one."""
    turn = np.linspace(np.pi, 0.0, 25)[:, None]
    up = np.array([0.0, -UP_MM]) * np.sin(turn)
    return np.asarray(START + number * ALONG + ACROSS * np.cos(turn) + up)


def _path(places: np.ndarray) -> str:
    return "M" + " L".join(f"{x:.2f} {y:.2f}" for x, y in places)


def pull() -> Drawing:
    """The cover over the hoops, one person on each side."""
    covered = shapely.MultiPoint(np.vstack([_arch(n) for n in range(4)])).convex_hull
    flap = np.array([[0, 0], [2.4, 1.8]])
    near = START + ACROSS + flap, START + 3.4 * ALONG + ACROSS + flap[::-1]
    beyond = START + 3.6 * ALONG - 1.5 * ACROSS
    before = START + 4.0 * ALONG + 1.7 * ACROSS
    edge = START + 3.4 * ALONG
    parts = [
        pen.person(beyond[0], beyond[1], 11.5, tuple(edge - ACROSS + [0.0, -6.0])),
        *(pen.stroke(_path(_arch(n)), pen.THICK) for n in (6, 5, 4)),
        pen.stroke(
            _path(shapely.get_coordinates(covered)) + " Z", pen.THICK, fill="#fff"
        ),
        *(pen.stroke(_path(_arch(n)[8:]), pen.FINE) for n in (1, 2)),
        pen.stroke(_path(_arch(0)), pen.THICK),
        pen.stroke(_path(np.vstack(near)) + " Z", pen.LINE, fill="#fff"),
        pen.person(before[0], before[1], 14.0, tuple(edge + ACROSS + [1.5, -1.0])),
        pen.arrow(before[0] + 6, before[1] - 0.5, before[0] + 17, before[1] - 2.0, 1.0),
    ]
    return pen.picture(parts, SIZE_MM)


# A row of covers from the side: its ends, the ground, and the top.
ROW_MM, ROW_Y_MM, ROW_TOP_MM = (20.0, 79.0), 16.0, 6.0
LETTER_MM = 0.55  # width of a letter, of its height
LARGEST_MM = 4.2


def covers(
    laid_m: Sequence[Stretch], lengths: Sequence[str], places: Sequence[str], gate: str
) -> Drawing:
    """Covers over one bed from the side, numbered from the gate, to scale along the bed.

    Parameters
    ----------
    laid_m
        Where each begins and ends, in order.
    lengths
        Length of each piece in words; "" where all are alike.
    places
        Each place where a cover begins or ends, in order, as a tape reads from the first.
    gate
        What stands at the end near the gate.
    """
    left, right = ROW_MM
    first_m, last_m = laid_m[0][0], max(end for _start, end in laid_m)

    def at(metres: float) -> float:
        return left + (right - left) * (metres - first_m) / (last_m - first_m)

    parts = [pen.ground(4.0, 84.0, ROW_Y_MM), _gate(gate)]
    for number, (ends_m, length) in enumerate(zip(laid_m, lengths, strict=True), 1):
        start, end = map(at, ends_m)
        middle, size = (start + end) / 2, _size_mm([length], end - start)
        parts += [
            pen.line((start, ROW_TOP_MM), (end, ROW_TOP_MM), width=pen.THICK),
            pen.circle(middle, 11.0, 2.9) + pen.number(middle, 12.6, str(number)),
            pen.words(middle, ROW_TOP_MM - 1.6, length, size, bold=True),
        ]
    ends_mm = [at(metres) for metres in sorted({m for ends in laid_m for m in ends})]
    parts += [
        pen.line((x, ROW_TOP_MM), (x, 19.5), width=pen.HEAVY) for x in ends_mm
    ] + _places(ends_mm, places)
    return pen.picture(parts, SIZE_MM)


def _gate(end: str) -> str:
    """What the end near the gate is called, left of the row."""
    size = min(pen.WORD_MM, _size_mm([end], ROW_MM[0] - 3.0))
    return pen.words(3.0, 13.0, end, size, anchor="start")


def _places(ends_mm: Sequence[float], places: Sequence[str]) -> list[str]:
    """Numbers under their hoops, in two rows where one has no room."""
    nearest = min(b - a for a, b in itertools.pairwise(ends_mm))
    if _size_mm(places, nearest) == LARGEST_MM:
        return [
            pen.words(x, 23.8, place, LARGEST_MM, bold=True)
            for x, place in zip(ends_mm, places, strict=True)
        ]
    apart = (b - a for a, b in zip(ends_mm, ends_mm[2:], strict=False))
    size = _size_mm(places, min(apart, default=nearest))
    return [
        pen.words(x, 23.0 + 3.7 * (number % 2), place, size, bold=True)
        for number, (x, place) in enumerate(zip(ends_mm, places, strict=True))
    ]


def _size_mm(texts: Sequence[str], room_mm: float) -> float:
    """Height of letters with which the longest of some texts has room."""
    longest = max(map(len, texts))
    return min(LARGEST_MM, room_mm / (LETTER_MM * (longest + 1)))


def edges(numbers: Labels, anchor: str) -> Drawing:
    """How the long sides are held down."""
    left, right, y = 32.0, 54.0, 18.0
    parts = [
        pen.ground(6.0, 80.0, y),
        pen.hoop(left, right, y, 14.5, pen.HEAVY),
        pen.hoop(left - 0.9, right + 0.9, y, 15.6, pen.LINE),
    ]
    if anchor == "clip":
        clips = ((left - 0.4, 12.0), (right + 0.4, 12.0))
        parts += [pen.circle(x, each, 1.5, pen.THICK) for x, each in clips]
    elif anchor == "trench":
        for out, away in ((left, -1), (right, 1)):
            parts += [
                pen.stroke(
                    f"M{out:.1f} {y} l{away * 4} 0 l{away * 2.5} 5.500 h{away * 6}",
                    pen.THICK,
                ),
                pen.filled(
                    f"M{out + away * 4:.1f} {y - 0.5} h{away * 12} l{away * -4} 5 "
                    f"h{away * -5.5} Z"
                ),
            ]
        parts += [
            pen.number(right + 13.0, 9.5, numbers["edge"]),
            pen.arrow(right + 12.0, 10.5, right + 8.0, 16.5, 0.5),
        ]
    else:
        for out, away in ((left, -1), (right, 1)):
            parts += [
                pen.line((out, y - 0.5), (out + away * 15, y - 0.5), width=pen.HEAVY),
                pen.bag(out + away * 9, y - 0.8, 7.0),
                pen.words(out + away * 9, 11.0, numbers["each"], 4.2, bold=True),
            ]
        parts += [
            pen.across(left - 15.0, left, 21.0, numbers["edge"]),
            pen.across(right, right + 15.0, 21.0, numbers["edge"]),
        ]
    return pen.picture(parts, SIZE_MM)


# The end of a low tunnel from the side: the ground, the top, and the last hoops.
END_Y_MM, END_TOP_MM, END_HOOPS_MM = 18.0, 4.5, (40.0, 58.0, 76.0)
EDGE_MM = END_Y_MM - 0.7


def _end(top: str) -> list[str]:
    """Ground, hoops and the lower edge of a cover, and its top line as a path of SVG."""
    return [
        pen.ground(4.0, 84.0, END_Y_MM),
        *(pen.line((x, END_TOP_MM), (x, 22.5), width=pen.FINE) for x in END_HOOPS_MM),
        pen.stroke(f"M84 {END_TOP_MM} H40 {top}", pen.THICK),
        pen.line((40.0, EDGE_MM), (84.0, EDGE_MM), width=pen.THICK),
    ]


def ends(numbers: Labels, anchor: str) -> Drawing:
    """How the short sides are held down."""
    parts = [
        *_end("L22 16.500 H40"),
        *(
            pen.line((24.0, 16.4), (38.0, each), width=pen.FINE)
            for each in (8.5, 11.5, 14.0)
        ),
        pen.line((11.0, 9.0), (15.5, 22.0), width=pen.HEAVY)
        + pen.circle(11.0, 8.5, 1.3, black=True),
        pen.stroke("M14 17 q4 -2.500 8 -.500", pen.THICK)
        + pen.circle(22.0, 16.4, 1.1, pen.THICK),
        pen.across(22.0, 40.0, 23.0, numbers["past"]),
    ]
    if anchor in ("bags", "stones"):
        parts += [pen.bag(x, 17.0, 6.0) for x in END_HOOPS_MM]
    return pen.picture(parts, SIZE_MM)


def ends_flat(numbers: Labels, anchor: str) -> Drawing:
    """The short side of a piece over several beds: flat, under weights or soil."""
    parts = [
        *_end(f"L37 {EDGE_MM} H20"),
        pen.across(20.0, 40.0, 24.0, numbers["past"]),
    ]
    if anchor == "trench":
        parts.append(pen.filled(f"M20 {END_Y_MM - 0.5} h12 l-3 3 h-6 Z"))
    else:
        parts += [pen.bag(x, 17.0, 6.0) for x in (28.5, *END_HOOPS_MM)]
    return pen.picture(parts, SIZE_MM)


def ends_open() -> Drawing:
    """The short side of shade cloth: folded back over the last hoop, open below."""
    parts = [
        *_end("q-3 1.200 0 2.400 H54"),
        pen.line((40.0, END_TOP_MM), (40.0, 22.5), width=pen.HEAVY),
        pen.circle(42.0, END_TOP_MM + 1.2, 1.5, pen.THICK),
        *(pen.arrow(20.0, each, 34.0, each, 0.8) for each in (9.0, 14.0)),
    ]
    return pen.picture(parts, SIZE_MM)
