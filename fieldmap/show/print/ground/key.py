"""What lines, hatches and signs of a drawing mean, in a row beneath it."""

from collections.abc import Callable, Sequence
from html import escape
from typing import NamedTuple

import shapely

from fieldmap.show.layer_styles import PaperStyle
from fieldmap.show.print.ground.hatches import HATCHES
from fieldmap.show.print.paper import Drawing
from fieldmap.show.typeset import FONT_OF_DRAWINGS

WORD_MM, ROW_MM, SAMPLE_MM = 3.7, 6.0, 11.0
# Width of a letter by its height, and from one entry to the next.
LETTER, APART_MM = 0.47, 3.0
# A sign as SVG, its upper left corner at a place of the paper [mm].
Sign = Callable[[float, float], str]


class Entry(NamedTuple):
    """A sign and what it means."""

    sign: Sign
    word: str


def rows(entries: Sequence[Entry], width_mm: float, y_mm: float) -> tuple[str, float]:
    """Entries side by side, in as many rows as they take.

    Parameters
    ----------
    entries
        In order.
    width_mm
        Of a row; what does not fit goes on in the next [mm of paper].
    y_mm
        Of the first row, from the top of the paper.

    Returns
    -------
    svg, height_mm
        Of all rows.
    """
    parts: list[str] = []
    x, y = 0.0, y_mm
    for sign, word in entries:
        wide = SAMPLE_MM + LETTER * WORD_MM * len(word) + APART_MM
        if x + wide - APART_MM > width_mm and x > 0:
            x, y = 0.0, y + ROW_MM
        parts.append(
            f"{sign(x, y)}"
            f'<text x="{x + SAMPLE_MM:.2f}" y="{y + 3.9:.2f}" '
            f'font-size="{WORD_MM}">{escape(word)}</text>'
        )
        x += wide
    return "".join(parts), y + ROW_MM - y_mm if entries else 0.0


def _pen(style: PaperStyle) -> str:
    dashes = f' stroke-dasharray="{style.dashes}"' if style.dashes else ""
    return f'fill="none" stroke="#000" stroke-width="{style.line_mm}"{dashes}'


def line(style: PaperStyle) -> Sign:
    """A straight line."""
    return lambda x, y: f'<path d="M{x:.2f} {y + 2.8:.2f} h9" {_pen(style)}/>'


def curved(style: PaperStyle) -> Sign:
    """A line that bends, as one of equal height does."""
    return lambda x, y: (
        f'<path d="M{x:.2f} {y + 3.2:.2f} q4.500 -2 9 0" {_pen(style)}/>'
    )


def strips(style: PaperStyle) -> Sign:
    """Three beds side by side."""
    return lambda x, y: "".join(
        f'<rect x="{x + 0.3:.2f}" y="{y + 0.8 + 1.5 * number:.2f}" width="8.6" '
        f'height="1" {_pen(style)}/>'
        for number in range(3)
    )


def filled(style: PaperStyle) -> Sign:
    """A patch with its outline and hatch."""

    def sign(x: float, y: float) -> str:
        box = shapely.box(x + 0.5, y + 0.8, x + 9.0, y + 4.8)
        hatch = HATCHES[style.hatch](box) if style.hatch else ""
        pen = _pen(style) if style.line_mm else 'fill="none"'
        return (
            f'<rect x="{x + 0.5:.2f}" y="{y + 0.8:.2f}" width="8.5" height="4" {pen}/>'
            f"{hatch}"
        )

    return sign


def drawing(entries: Sequence[Entry], width_mm: float, says: str) -> Drawing:
    """Rows of their own, beside or beneath what they explain."""
    parts, high_mm = rows(entries, width_mm, 0.0)
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width_mm:g}mm" '
        f'height="{high_mm:g}mm" viewBox="0 0 {width_mm:g} {high_mm:g}" '
        f"{FONT_OF_DRAWINGS}>{parts}</svg>"
    )
    return Drawing(svg, width_mm, says)
