"""Small drawings in black lines: what all pictures for learners are made of.

Places are millimetres from the upper left corner.
"""

from collections.abc import Iterable

from fieldmap.show.print.ground.drawing import numeral, rimmed
from fieldmap.show.print.paper import Drawing
from fieldmap.show.typeset import FONT_OF_DRAWINGS

FINE, LINE, THICK, HEAVY = 0.25, 0.5, 0.9, 1.3
NUMBER_MM, WORD_MM = 4.6, 3.7
PRINTED = 1.04  # times as large as drawn: fills the frame


def line(*points: tuple[float, float], width: float = LINE, dashes: str = "") -> str:
    """A line through places.

    Parameters
    ----------
    *points
        Places of the line, right and down [mm].
    width
        Width of the stroke [mm].
    dashes
        Lengths of dashes and gaps [mm], as SVG has them; "" for an unbroken line.
    """
    path = " L".join(f"{x:.2f} {y:.2f}" for x, y in points)
    return stroke(f"M{path}", width, dashes)


def stroke(path: str, width: float = LINE, dashes: str = "", fill: str = "none") -> str:
    """A path of SVG.

    Parameters
    ----------
    path
        The path in the language of SVG [mm].
    width
        Width of the stroke [mm].
    dashes
        Lengths of dashes and gaps [mm], as SVG has them; "" for an unbroken line.
    fill
        Colour within the path; "none" for clear.
    """
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return (
        f'<path d="{path}" fill="{fill}" stroke="#000" stroke-width="{width:g}" '
        f'stroke-linecap="round" stroke-linejoin="round"{dashed}/>'
    )


def filled(path: str) -> str:
    """A black shape."""
    return f'<path d="{path}"/>'


def circle(
    x: float, y: float, radius: float, width: float = LINE, *, black: bool = False
) -> str:
    """A ring, or a black disc.

    Parameters
    ----------
    x, y
        Its middle, right and down [mm].
    radius
        Of the ring or disc [mm].
    width
        Width of the ring's stroke [mm].
    black
        Whether it is a disc, which has no stroke.
    """
    look = "" if black else f'fill="#fff" stroke="#000" stroke-width="{width:g}"'
    return f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{radius:g}" {look}/>'


def words(
    x: float,
    y: float,
    text: str,
    size: float = WORD_MM,
    anchor: str = "middle",
    *,
    bold: bool = False,
) -> str:
    """A text, its foot at a place, on a white rim.

    Parameters
    ----------
    x, y
        Where the foot of the text stands, right and down [mm].
    text
        The text.
    size
        Height of the letters [mm].
    anchor
        Part of the text that stands at the place: "start", "middle" or "end".
    bold
        Whether the letters are bold.
    """
    weight = ' font-weight="bold"' if bold else ""
    place = (
        f'x="{x:.2f}" y="{y:.2f}" font-size="{size:g}" text-anchor="{anchor}"{weight}'
    )
    return rimmed(place, text)


def number(x: float, y: float, text: str) -> str:
    """A number that is measured or counted, its foot at a place.

    Parameters
    ----------
    x, y
        Middle of its foot, right and down [mm].
    text
        The number, with its unit if it has one.
    """
    at = f"translate({x:.2f} {y - 0.36 * NUMBER_MM:.2f})"
    return f'<g transform="{at}">{numeral(text, NUMBER_MM)}</g>'


def ground(left: float, right: float, y: float) -> str:
    """The ground: a line with short strokes under it.

    Parameters
    ----------
    left, right
        Where the line begins and ends, from the left [mm].
    y
        Height of the line, from the top [mm].
    """
    ticks = [f"M{x:.2f} {y:.2f} l-1.2 1.5" for x in _steps(left + 1.5, right, 3.2)]
    return line((left, y), (right, y)) + stroke(" ".join(ticks), FINE)


def _steps(start: float, stop: float, step: float) -> Iterable[float]:
    return (start + n * step for n in range(int((stop - start) / step) + 1))


def arrow(x1: float, y1: float, x2: float, y2: float, width: float = LINE) -> str:
    """A line with a head at its end.

    Parameters
    ----------
    x1, y1
        Where it begins, right and down [mm].
    x2, y2
        Tip of its head [mm].
    width
        Width of the stroke; the head grows with it [mm].
    """
    length = max(((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5, 0.01)
    east, south = (x2 - x1) / length, (y2 - y1) / length
    size = 1.2 + 1.6 * width
    back = x2 - size * east, y2 - size * south
    side = 0.45 * size
    head = (
        f"M{x2:.2f} {y2:.2f} L{back[0] - side * south:.2f} {back[1] + side * east:.2f} "
        f"L{back[0] + side * south:.2f} {back[1] - side * east:.2f} Z"
    )
    return line((x1, y1), back, width=width) + filled(head)


def across(x1: float, x2: float, y: float, text: str) -> str:
    """A length from side to side, its number on its line, or under it where that is short.

    Parameters
    ----------
    x1, x2
        Left and right end [mm].
    y
        Height of the line, from the top [mm].
    text
        The number.
    """
    if x2 - x1 < 4.0 + 2.4 * len(text):
        return _both_ways(x1, y, x2, y) + number((x1 + x2) / 2, y + 5.2, text)
    middle = number((x1 + x2) / 2, y + 1.6, text)
    return _both_ways(x1, y, x2, y) + middle


def upright(x: float, y1: float, y2: float, text: str, *, left: bool = False) -> str:
    """A height, its number beside its line.

    Parameters
    ----------
    x
        Place of the line, from the left [mm].
    y1, y2
        Its two ends, from the top [mm].
    text
        The number.
    left
        Whether the number stands left of the line; else right of it.
    """
    at, anchor = (x - 1.4, "end") if left else (x + 1.4, "start")
    said = words(at, (y1 + y2) / 2 + 1.6, text, NUMBER_MM, anchor, bold=True)
    return _both_ways(x, y1, x, y2) + said


def _both_ways(x1: float, y1: float, x2: float, y2: float) -> str:
    middle = (x1 + x2) / 2, (y1 + y2) / 2
    return arrow(*middle, x2, y2, 0.35) + arrow(*middle, x1, y1, 0.35)


def hoop(left: float, right: float, y: float, height: float, width: float) -> str:
    """A bent pipe over the ground: half an ellipse.

    Parameters
    ----------
    left, right
        Its feet, from the left [mm].
    y
        The ground, from the top [mm].
    height
        Of the crown over the ground [mm].
    width
        Width of the stroke [mm].
    """
    reach = (right - left) / 2
    return stroke(
        f"M{left:.2f} {y:.2f} A{reach:.2f} {height:.2f} 0 0 1 {right:.2f} {y:.2f}",
        width,
    )


def person(x: float, y: float, tall: float, hands: tuple[float, float]) -> str:
    """Somebody who stands at a place and holds something.

    Parameters
    ----------
    x, y
        Where the person stands, right and down [mm].
    tall
        From foot to head, about [mm].
    hands
        Where the hands are, right and down [mm].
    """
    head, hip, shoulder = y - 0.88 * tall, y - 0.45 * tall, y - 0.72 * tall
    return (
        circle(x, head, 0.11 * tall)
        + line((x, y - 0.77 * tall), (x, hip))
        + line((x - 0.13 * tall, y), (x, hip), (x + 0.13 * tall, y))
        + line((x, shoulder), hands)
    )


def bag(x: float, y: float, wide: float = 7.0) -> str:
    """A bag that lies on the ground.

    Parameters
    ----------
    x, y
        Middle of its foot, right and down [mm].
    wide
        Width of the bag; it is about half as high [mm].
    """
    half, tall = wide / 2, 0.5 * wide
    return filled(
        f"M{x - half:.2f} {y:.2f} q-{0.1 * wide:.2f} -{0.6 * tall:.2f} "
        f"{0.18 * wide:.2f} -{0.85 * tall:.2f} q{0.3 * wide:.2f} -{0.4 * tall:.2f} "
        f"{0.62 * wide:.2f} 0 q{0.3 * wide:.2f} {0.2 * tall:.2f} {0.2 * wide:.2f} "
        f"{0.85 * tall:.2f} Z"
    )


def hatched(left: float, top: float, right: float, bottom: float) -> str:
    """A box with drawn lines across it.

    Parameters
    ----------
    left, top
        Upper left corner, right and down [mm].
    right, bottom
        Lower right corner [mm].
    """
    tall = bottom - top
    strokes = []
    for x in _steps(left - tall + 2.0, right, 2.0):
        start = max(x, left)
        end = min(x + tall, right)
        if end > start:
            strokes.append(
                f"M{start:.2f} {bottom - (start - x):.2f} L{end:.2f} {bottom - (end - x):.2f}"
            )
    box = f"M{left:.2f} {top:.2f} H{right:.2f} V{bottom:.2f} H{left:.2f} Z"
    return stroke(box, LINE) + stroke(" ".join(strokes), FINE)


def picture(
    parts: Iterable[str], size_mm: tuple[float, float], says: str = ""
) -> Drawing:
    """What was drawn, printed a little larger than it was drawn.

    Parameters
    ----------
    parts
        Pieces of SVG, the lowest first.
    size_mm
        Width and height as drawn; on paper it is `PRINTED` times as large [mm].
    says
        Text in place of the picture.
    """
    wide, tall = size_mm
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:g}mm" '
        f'height="{tall:g}mm" viewBox="0 0 {wide:g} {tall:g}" '
        f"{FONT_OF_DRAWINGS}>{''.join(parts)}</svg>"
    )
    return Drawing(svg, round(PRINTED * wide, 2), says)
