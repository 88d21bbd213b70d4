"""Drawings of the knotted lines and the gauge stick, marks to scale."""

from collections.abc import Sequence
from html import escape
from math import inf

import numpy as np

from fieldmap.show.print.paper import Drawing
from fieldmap.show.text.decide import pegging
from fieldmap.show.text.quantities import Units
from fieldmap.show.typeset import FONT_OF_DRAWINGS

LABEL_MM, NAME_MM = 3.8, 37.0
ROOM_MM = 8.5  # for one number


def _text(
    x: float, y: float, text: str, *, bold: bool = True, anchor: str = "middle"
) -> str:
    weight = ' font-weight="bold"' if bold else ""
    return (
        f'<text x="{x:.2f}" y="{y:.2f}" font-size="{LABEL_MM}" text-anchor="{anchor}"'
        f"{weight}>{escape(text)}</text>"
    )


def _svg(parts: Sequence[str], width_mm: float, height_mm: float, says: str) -> Drawing:
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width_mm:g}mm" '
        f'height="{height_mm:g}mm" viewBox="0 0 {width_mm:g} {height_mm:g}" '
        f"{FONT_OF_DRAWINGS}>{''.join(parts)}</svg>"
    )
    return Drawing(svg, width_mm, says)


def line(name: str, marks_m: Sequence[float], width_mm: float, units: Units) -> Drawing:
    """A line with a knot at the first edge of each bed.

    Parameters
    ----------
    name
        What the line is called, at its left.
    marks_m
        Distances of the knots from the first, ascending from 0 [m]; at least one.
    width_mm
        Width of the drawing, the name included [mm].
    units
        "metric" for whole centimetres, "us" for feet and inches.
    """
    left = NAME_MM
    long_mm = width_mm - left - 8.0
    scale = long_mm / max(marks_m[-1], 0.01)
    places = [left + mark * scale for mark in marks_m]
    gap_mm = long_mm / max(len(marks_m) - 1, 1)
    every = max(1, int(np.ceil(ROOM_MM / gap_mm)))
    parts = [
        _text(0.0, 8.2, name, anchor="start"),
        f'<path d="M{left:.2f} 7 H{places[-1]:.2f}" stroke="#000" stroke-width="0.7"/>',
    ]
    for number, (x, mark) in enumerate(zip(places, marks_m, strict=True)):
        parts.append(f'<circle cx="{x:.2f}" cy="7" r="1.2"/>')
        if number % every == 0 or number == len(marks_m) - 1:
            parts.append(_text(x, 4.2, pegging.taped(mark, units)))
            parts.append(_text(x, 12.2, str(number + 1), bold=False))
    return _svg(parts, width_mm, 13.0, name)


def stick(
    name: str, marks: Sequence[tuple[float, str]], width_mm: float, units: Units
) -> Drawing:
    """A lath with the marks that beds, paths and hoops need, in order of their length.

    Parameters
    ----------
    name
        What the lath is called, at its left.
    marks
        Distance of each mark from the end [m] and its word, ascending; at least one.
    width_mm
        Width of the drawing, the name included [mm].
    units
        "metric" for whole centimetres, "us" for feet and inches.
    """
    left, long_mm = NAME_MM, 0.72 * (width_mm - NAME_MM)
    scale = long_mm / marks[-1][0]
    parts = [
        _text(0.0, 8.6, name, anchor="start"),
        f'<rect x="{left}" y="5.2" width="{long_mm:.2f}" height="4" fill="none" '
        'stroke="#000" stroke-width="0.5"/>',
        _text(left, 4.0, "0"),
    ]
    lower_mm, taken_mm, lowest_mm = 0.0, 0.0, 14.2
    places = [left + at_m * scale for at_m, _word in marks]
    for (at_m, word), x, after in zip(marks, places, [*places[1:], inf], strict=True):
        half_mm = 0.27 * LABEL_MM * len(word) + 0.8
        # A word that would touch the one before stands lower.
        lower_mm = LABEL_MM if not lower_mm and x - half_mm < taken_mm else 0.0
        taken_mm, lowest_mm = x + half_mm, max(lowest_mm, 14.2 + lower_mm)
        parts += [
            f'<path d="M{x:.2f} 5.2 V{9.2 + lower_mm:.2f}" stroke="#000" stroke-width="0.5"/>',
            _text(x, 4.0, pegging.taped(at_m, units)),
            # Off the line of the next mark.
            _text(min(x, after - half_mm), 13.4 + lower_mm, word, bold=False),
        ]
    return _svg(parts, width_mm, lowest_mm, name)
