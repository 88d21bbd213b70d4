"""How things and classes are drawn: on the map, on paper and in GIS programs.

Colours can be told apart by eyes of every kind, and run light to dark for grey printers.
"""

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
from branca.colormap import linear

from fieldmap.analyse.water import DRY_BELOW, GATHERS_FROM


def ramp(palette: str, places: Iterable[float]) -> tuple[str, ...]:
    """Colours at places from 0 to 1 of one of the palettes that come with branca.

    Examples
    --------
    >>> ramp("viridis", (0.0, 1.0))
    ('#440154', '#fde725')
    """
    colours = getattr(linear, palette).scale(0.0, 1.0)
    return tuple(colours.rgb_hex_str(float(at)) for at in places)


# Bright is early: three steps of viridis, far apart for the common kinds of colour
# blindness and in grey.
GROUP_COLOURS = dict(
    zip(
        ("first", "no real difference", "in between", "last"),
        ramp("viridis", (0.98, 0.52, 0.52, 0.1)),
        strict=True,
    )
)


class Classes(NamedTuple):
    """Lower edges of classes, rising, and their colours; the last is open above."""

    edges: tuple[float, ...]
    colours: tuple[str, ...]


# Degrees colder than the reference, in the steps that people are shown: from the edges
# on a number is rounded to .5, 1, 1.5 °C and so on.
COLDER_C = Classes(
    (0.25, 0.75, 1.25, 1.75, 2.25, 2.75, 3.25),
    ramp("PuBu_09", (0.15, 0.32, 0.47, 0.61, 0.75, 0.88, 1.0)),
)
# Degrees colder than now: less cold is brown, colder violet; what hardly changes stays
# clear.
CHANGES_C = Classes(
    (-np.inf, -1.0, -0.5, -0.25, -0.1, 0.1, 0.25, 0.5, 1.0),
    (
        *ramp("BrBG_11", (0.05, 0.15, 0.25, 0.35)),
        "#ffffff",  # never drawn
        *ramp("PuOr_11", (0.65, 0.75, 0.87, 1.0)),
    ),
)
FALLS_PERCENT = Classes(
    (0.0, 1.0, 2.0, 5.0, 10.0, 15.0, 25.0, 40.0),
    ramp("YlOrBr_09", np.linspace(0.02, 0.9, 8)),
)
# Common advice, no firm source: across up to 2 %, along up to 5 % before grading.
TUNNEL_FALLS_PERCENT = Classes((0.0, 2.0, 5.0), ramp("YlOrBr_09", (0.03, 0.28, 0.5)))
# Index from which water gathers, and most of all (choices).
WETNESS = Classes(
    (0.0, DRY_BELOW, GATHERS_FROM, GATHERS_FROM + 2.0),
    ramp("GnBu_09", (0.08, 0.4, 0.7, 1.0)),
)
# Light as a share of the sunniest ground of the plots, and how bright it is drawn:
# small differences look small.
_SHARES = (0.0, 0.5, 0.7, 0.8, 0.9, 0.95)
_BRIGHTNESS = np.array((0.0, 0.25, 0.5, 0.68, 0.84, 1.0))
SUN_SHARES = Classes(_SHARES, ramp("YlGnBu_09", 0.92 - 0.82 * _BRIGHTNESS))
SHADE_SHARES = Classes(_SHARES, ramp("YlOrRd_09", 0.03 + 0.42 * _BRIGHTNESS))


class Style(NamedTuple):
    """How a kind of thing is drawn on a screen.

    Attributes
    ----------
    fill
        None: none.
    dashes_px
        Dashes and gaps in turn; empty: a line without gaps.
    pattern
        Name of the map's pattern that is drawn over the fill.
    """

    fill: str | None
    line: str
    width_px: float
    dashes_px: tuple[float, ...] = ()
    opacity: float = 1.0
    pattern: str = ""


INK, PAPER = "#111111", "#ffffff"
STYLES = {
    "bed": Style(PAPER, "#26241f", 0.8, opacity=0.95),
    "plot": Style(None, INK, 2.6),
    "pocket": Style("#2d0f57", "#2d0f57", 2.0, (7, 5), opacity=0.0),
    "mark": Style(PAPER, INK, 1.6, (1, 4), opacity=0.0),
    "tunnel": Style(PAPER, INK, 2.2, opacity=0.85),
    "ridge": Style(None, INK, 2.0),
    "drain": Style(None, "#0c1626", 1.3),
    "building": Style("#6e6862", "#1c1b18", 2.0, pattern="roof"),
    "hedge": Style("#86a668", "#25401a", 1.2, pattern="leaves"),
    "tree": Style("#9fbb85", "#25401a", 1.2, opacity=0.92, pattern="crown"),
    "trees": Style("#9fbb85", "#25401a", 1.2, opacity=0.92, pattern="crown"),
    "wall": Style("#6e6862", "#2c2925", 2.4),
    "fence": Style(None, "#2c2925", 2.0, (2, 4)),
    "bank": Style("#c9b48f", "#6b5530", 1.5),
    "water": Style("#a9cfe4", "#1f5274", 1.4, pattern="waves"),
    "road": Style("#e6dabf", "#8a7a5a", 1.2),
    "keep off": Style("#f6ebe2", "#8c3b1a", 2.0, opacity=0.9, pattern="crossed"),
    "overhead line": Style(None, "#7a1f5c", 3.0, (10, 6)),
    "gate": Style(PAPER, INK, 2.0),
    "post": Style(INK, INK, 1.5),
    "water point": Style("#1f78b4", "#0d3550", 2.0),
}


def css() -> str:
    """The rules of a style sheet by which an SVG map draws every kind of thing."""
    first, between, _between, late = GROUP_COLOURS.values()
    rules = [f":root {{ --first: {first}; --between: {between}; --late: {late}; }}"]
    for kind, style in STYLES.items():
        fill = f"url(#{style.pattern})" if style.pattern else style.fill or "none"
        values = {
            "fill": fill,
            "stroke": style.line,
            "stroke-width": f"{style.width_px:g}px",
        }
        if style.fill:
            values["fill-opacity"] = f"{style.opacity:g}"
        if style.dashes_px:
            values["stroke-dasharray"] = " ".join(f"{px:g}" for px in style.dashes_px)
        listed = " ".join(f"{name}: {value};" for name, value in values.items())
        rules.append(f".{kind.replace(' ', '-')} {{ {listed} }}")
        if style.pattern:
            rules.append(f"#{style.pattern} .ground {{ fill: {style.fill}; }}")
    return "\n".join(rules) + "\n"


class PaperStyle(NamedTuple):
    """How a thing is drawn in black on paper: SVG fill, line width in mm and dashes."""

    fill: str = "none"
    line_mm: float = 0.3
    dashes: str = ""


ON_PAPER = {
    "plot": PaperStyle(line_mm=0.6),
    "bed": PaperStyle(PAPER, 0.2),
    "tunnel": PaperStyle("url(#film)", 0.6),
    "building": PaperStyle("url(#solid)", 0.4),
    "hedge": PaperStyle("url(#leaves)", 0.25),
    "tree": PaperStyle("url(#leaves)", 0.25),
    "trees": PaperStyle("url(#leaves)", 0.25),
    "wall": PaperStyle("#888888", 0.4),
    "fence": PaperStyle("none", 0.3, "1 1"),
    "bank": PaperStyle("#dddddd", 0.3),
    "water": PaperStyle("url(#waves)", 0.3),
    "road": PaperStyle("#eeeeee", 0.2),
    "keep off": PaperStyle("none", 0.3, "0.6 1.2"),
    "overhead line": PaperStyle("none", 0.5, "4 1.5 1 1.5"),
    "gate": PaperStyle(PAPER, 0.4),
    "post": PaperStyle("#000000", 0.3),
    "water point": PaperStyle("#000000", 0.3),
}
