"""How things and classes are drawn: on the map, on paper and in GIS programs.

Colours are distinct to eyes of every kind, and run light to dark for grey printers.
"""

from collections.abc import Iterable, Mapping
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
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


# Index from which water gathers, and most of all (choices).
WETNESS = Classes(
    (0.0, DRY_BELOW, GATHERS_FROM, GATHERS_FROM + 2.0),
    ramp("GnBu_09", (0.08, 0.4, 0.7, 1.0)),
)


class Style(NamedTuple):
    """How a kind of thing is drawn on a screen.

    Attributes
    ----------
    fill
        None: none.
    dashes_px
        Dashes and gaps in turn; empty: a line without gaps.
    """

    fill: str | None
    line: str
    width_px: float
    dashes_px: tuple[float, ...] = ()
    opacity: float = 1.0


class Look(NamedTuple):
    """Colours of everything that is drawn, for one kind of light to read in.

    Attributes
    ----------
    ground_low, ground_high
        Of the lowest and the highest ground that is shown.
    relief
        Share of the light and shade of the ground that is drawn, 0 to 1.
    inside
        Ground inside a plot, between its beds.
    contour, height, over
        Lines of height, their figures, and those lines where they cross colour.
    """

    paper: str
    ground_low: str
    ground_high: str
    relief: float
    inside: str
    bed: str
    bed_line: str
    ink: str
    soft: str
    contour: str
    height: str
    over: str
    downhill: str
    water: str
    water_ink: str
    hedge: str
    hedge_ink: str
    tree: str
    tree_ink: str
    track: str
    roof: str
    wire: str
    growing: str
    plant: str
    dot: str
    cover_now: str
    done: str


DAY = Look(
    paper="#fbf8f0",
    ground_low="#e6e9da",
    ground_high="#f3eedf",
    relief=0.5,
    inside="#f3efe1",
    bed="#fbf8f0",
    bed_line="#b9b39f",
    ink="#23261f",
    soft="#5a5b4e",
    contour="#9a7f5c",
    height="#7a6038",
    over="#3a2a14",
    downhill="#6b4a1e",
    water="#b5d3df",
    water_ink="#1f5f80",
    hedge="#55733f",
    hedge_ink="#3c5c28",
    tree="#8da676",
    tree_ink="#4f6f3c",
    track="#fffdf6",
    roof="#a39284",
    wire="#6b5670",
    growing="#e4ead2",
    plant="#4e6b3a",
    dot="#fff8df",
    cover_now="#f2b84b",
    done="#7e7a66",
)
LOOKS: Mapping[str, Look] = {
    "day": DAY,
    "bright": DAY._replace(
        paper="#ffffff",
        ground_low="#ffffff",
        ground_high="#ffffff",
        relief=0.0,
        inside="#ffffff",
        bed="#ffffff",
        bed_line="#8a8a8a",
        ink="#000000",
        soft="#2b2b2b",
        contour="#6b4a1e",
        height="#6b4a1e",
        over="#000000",
        water="#9ccbe0",
        water_ink="#0b4568",
        hedge="#33521f",
        hedge_ink="#1f3a10",
        tree="#6e9150",
        tree_ink="#33521f",
        track="#ffffff",
        wire="#4a2a52",
    ),
    "night": Look(
        paper="#10140f",
        ground_low="#141a15",
        ground_high="#1f241c",
        relief=0.3,
        inside="#23281f",
        bed="#333b2e",
        bed_line="#4a5243",
        ink="#ede6d2",
        soft="#b3ad9b",
        contour="#8e7b5b",
        height="#a8946f",
        over="#cbb78e",
        downhill="#d9be8a",
        water="#1b3440",
        water_ink="#8fb9cc",
        hedge="#5c7a49",
        hedge_ink="#7d9a68",
        tree="#34462d",
        tree_ink="#5c7a49",
        track="#33342c",
        roof="#4a443c",
        wire="#9a88a0",
        growing="#3d4a33",
        plant="#a9c492",
        dot="#10140f",
        cover_now="#f2b84b",
        done="#7e7a66",
    ),
    "print": DAY._replace(
        paper="#ffffff",
        ground_low="#ffffff",
        ground_high="#ffffff",
        relief=0.0,
        inside="#ffffff",
        bed="#ffffff",
        bed_line="#777777",
        ink="#000000",
        soft="#444444",
        contour="#777777",
        height="#666666",
        over="#000000",
        downhill="#000000",
        water="#dddddd",
        water_ink="#000000",
        hedge="#666666",
        hedge_ink="#444444",
        tree="#cccccc",
        tree_ink="#666666",
        track="#ffffff",
        roof="#bbbbbb",
        wire="#000000",
    ),
}

INK, PAPER = "#111111", "#ffffff"
STYLES = {
    "bed": Style(PAPER, "#26241f", 0.8, opacity=0.95),
    "plot": Style(None, DAY.ink, 2.6),
    "pocket": Style("#233f73", "#233f73", 2.0, (7, 5), opacity=0.0),
    "mark": Style(PAPER, DAY.ink, 1.6, (1, 4), opacity=0.0),
    # Tunnels of a plan are not built yet: a tunnel that stands is a building.
    "tunnel": Style(PAPER, DAY.ink, 2.2, (6, 4), opacity=0.85),
    "ridge": Style(None, DAY.ink, 2.0),
    "drain": Style(None, "#1d3f6e", 1.3),
    "building": Style(DAY.roof, DAY.ink, 1.4),
    "hedge": Style(DAY.hedge, DAY.hedge_ink, 1.2),
    "tree": Style(DAY.tree, DAY.tree_ink, 1.2),
    "trees": Style(DAY.tree, DAY.tree_ink, 1.2),
    "wall": Style(DAY.roof, DAY.soft, 2.4),
    "fence": Style(None, DAY.soft, 2.0, (2, 4)),
    "bank": Style("#d9c9ab", DAY.contour, 1.5),
    "water": Style(DAY.water, DAY.water_ink, 1.4),
    "road": Style(DAY.track, DAY.contour, 1.2),
    "keep off": Style(DAY.inside, DAY.soft, 1.6, (5, 4), opacity=0.0),
    "aside": Style(None, DAY.ink, 1.6, (5, 4)),
    "overhead line": Style(None, DAY.wire, 1.6),
    "gate": Style(PAPER, DAY.ink, 2.0),
    "post": Style(DAY.ink, DAY.ink, 1.5),
    "water point": Style(DAY.water_ink, DAY.water_ink, 2.0),
}


class PaperStyle(NamedTuple):
    """How a thing is drawn in black on paper, without grey.

    Attributes
    ----------
    fill
        Black, white or none, as SVG has it.
    line_mm, dashes
        Of its outline.
    hatch
        What is drawn in it, a key of `print.ground.hatches.HATCHES`; "" is nothing.
    """

    fill: str = "none"
    line_mm: float = 0.3
    dashes: str = ""
    hatch: str = ""


ON_PAPER = {
    "plot": PaperStyle(line_mm=0.9),
    "bed": PaperStyle(PAPER, 0.25),
    "tunnel": PaperStyle(PAPER, 0.55, hatch="ribs"),
    "building": PaperStyle(PAPER, 0.55, hatch="cross"),
    "hedge": PaperStyle("none", 0.0, hatch="scallops"),
    "tree": PaperStyle(PAPER, 0.35, hatch="trunk"),
    "trees": PaperStyle("none", 0.0, hatch="scallops"),
    "wall": PaperStyle("#000000", 0.55),
    "fence": PaperStyle("none", 0.35, "2 1"),
    "bank": PaperStyle(PAPER, 0.35, hatch="lines"),
    "water": PaperStyle(PAPER, 0.55, hatch="waves"),
    "road": PaperStyle(PAPER, 0.25),
    "keep off": PaperStyle("none", 0.35, "0.6 1.2"),
    "aside": PaperStyle("none", 0.35, "1.5 1"),
    "overhead line": PaperStyle("none", 0.55, "4 1.5 1 1.5"),
    "gate": PaperStyle(PAPER, 0.4),
    "post": PaperStyle("#000000", 0.3),
    "water point": PaperStyle(PAPER, 0.5),
}


Stops = tuple[tuple[float, str], ...]
_COLD: Stops = (
    *((0.0, "#f0f2ea"), (0.17, "#cadde6"), (0.45, "#93bad2"), (0.7, "#5485b2")),
    (1.0, "#233f73"),
)
# Colours along a scale from 0 to 1, by look; a look that is not named has those of day.
# Lightness runs one way along each, so that it reads in grey.
RAMPS: Mapping[str, Mapping[str, Stops]] = {
    # Early is gold, late is dark.
    "dates": {
        "day": (
            *((0.0, "#f4c95d"), (0.3, "#e39a5b"), (0.55, "#bc6b63")),
            *((0.78, "#7c4a73"), (1.0, "#37366b")),
        ),
        "bright": (
            *((0.0, "#ffd447"), (0.35, "#ec7a34"), (0.65, "#a8324f")),
            (1.0, "#1b1850"),
        ),
        "night": (
            *((0.0, "#ffd873"), (0.35, "#e08e57"), (0.65, "#9a5a6e")),
            (1.0, "#4a4f86"),
        ),
        "print": (
            *((0.0, "#f7e7ae"), (0.33, "#e0a867"), (0.6, "#ab6762")),
            *((0.8, "#67426c"), (1.0, "#25254c")),
        ),
    },
    "cold": {
        "day": _COLD,
        "night": (
            *((0.0, "#1a211d"), (0.17, "#22404e"), (0.45, "#3a6d8d")),
            *((0.7, "#6ba3cc"), (1.0, "#bfe0f6")),
        ),
    },
    # Much light is pale, shade is dark.
    "light": {
        "day": (
            *((0.0, "#3e4468"), (0.4, "#8c7f9a"), (0.7, "#d9b98f")),
            (1.0, "#f9e9b0"),
        ),
        "night": (
            *((0.0, "#14172a"), (0.4, "#3a3550"), (0.7, "#665248")),
            (1.0, "#947738"),
        ),
    },
    # Height is brown: the steeper, the farther from the paper.
    "fall": {
        "day": (
            *((0.0, "#f3eedf"), (0.35, "#d9c29a"), (0.7, "#a77b4c")),
            (1.0, "#5e3b1e"),
        ),
        "night": (
            *((0.0, "#181b15"), (0.35, "#3a2f20"), (0.7, "#694c2d")),
            (1.0, "#a87d4d"),
        ),
    },
    "wet": {
        "day": (
            *((0.0, "#eef0e4"), (0.3, "#b9d6cf"), (0.6, "#6fa9b8")),
            *((0.85, "#2b6c8e"), (1.0, "#173f5f")),
        ),
        "night": (
            *((0.0, "#181d19"), (0.3, "#1f3538"), (0.6, "#2b5764")),
            *((0.85, "#3f829a"), (1.0, "#7ab8cc")),
        ),
    },
    # Warmer is pale gold, no change is stone, colder is blue: by day and on paper each
    # is darker than the one before.
    "change": {
        "day": (
            *((0.0, "#fff0a6"), (0.25, "#ead99f"), (0.5, "#c2beb1")),
            *((0.75, "#6f90b3"), (1.0, "#1f3a6e")),
        ),
        "night": (
            *((0.0, "#c99b3c"), (0.3, "#66542b"), (0.5, "#1d221b")),
            *((0.7, "#28485f"), (1.0, "#78aed8")),
        ),
    },
}
SAMPLES = 65  # of a ramp, between which colours are mixed in a straight line

# Björn Ottosson, "A perceptual color space for image processing" (2020): from linear
# sRGB to cones, and from their cube roots to lightness, green-red and blue-yellow.
_TO_CONES = np.array(
    [
        [0.4122214708, 0.5363325363, 0.0514459929],
        [0.2119034982, 0.6806995451, 0.1073969566],
        [0.0883024619, 0.2817188376, 0.6299787005],
    ]
)
_TO_LAB = np.array(
    [
        [0.2104542553, 0.7936177850, -0.0040720468],
        [1.9779984951, -2.4285922050, 0.4505937099],
        [0.0259040371, 0.7827717662, -0.8086757660],
    ]
)


def oklab(colours: Iterable[str]) -> npt.NDArray[np.float64]:
    """Colours "#rrggbb" in OKLab, (colours, 3).

    Examples
    --------
    >>> oklab(["#ffffff"]).round(3).tolist()
    [[1.0, 0.0, 0.0]]
    """
    shown = np.array([list(bytes.fromhex(each[1:])) for each in colours]) / 255
    linear_rgb = np.where(
        shown <= 0.04045, shown / 12.92, ((shown + 0.055) / 1.055) ** 2.4
    )
    return np.asarray(np.cbrt(linear_rgb @ _TO_CONES.T) @ _TO_LAB.T)


def from_oklab(lab: npt.NDArray[np.float64]) -> tuple[str, ...]:
    """The nearest colours of a screen, "#rrggbb".

    Examples
    --------
    >>> from_oklab(oklab(["#bc6b63", "#10140f"]))
    ('#bc6b63', '#10140f')
    """
    linear_rgb = (lab @ np.linalg.inv(_TO_LAB).T) ** 3 @ np.linalg.inv(_TO_CONES).T
    clear = np.clip(linear_rgb, 0.0, 1.0)
    shown = np.where(
        clear <= 0.0031308, 12.92 * clear, 1.055 * clear ** (1 / 2.4) - 0.055
    )
    return tuple(
        f"#{r:02x}{g:02x}{b:02x}" for r, g, b in (shown * 255).round().astype(int)
    )


def ramp_colours(
    name: str, places: Iterable[float], look: str = "day"
) -> tuple[str, ...]:
    """Colours at places from 0 to 1 of a ramp, mixed in OKLab.

    Parameters
    ----------
    name
        Key of `RAMPS`.
    places
        Numbers from 0 to 1; beyond the ends the colour of the end stays.
    look
        "day", "bright", "night" or "print". Ramps without that look have the colours of
        day.

    Returns
    -------
    colours
        One "#rrggbb" for each place.

    Examples
    --------
    >>> ramp_colours("dates", (0.0, 1.0))
    ('#f4c95d', '#37366b')
    """
    stops = RAMPS[name].get(look, RAMPS[name]["day"])
    at, colours = zip(*stops, strict=True)
    lab = oklab(colours)
    mixed = [np.interp(list(places), at, lab[:, part]) for part in range(3)]
    return from_oklab(np.stack(mixed, axis=1))


def sampled(name: str, look: str) -> tuple[str, ...]:
    """Even samples of a ramp from 0 to 1."""
    return ramp_colours(name, np.linspace(0.0, 1.0, SAMPLES), look)


def css_looks() -> str:
    """Rules that give a style sheet the colours of every look, as variables.

    The look is that of `data-look` of the page, of day where none is named; on paper that
    of print.
    """
    print_rules = _variables("print")
    rules = [f":root {{ {_variables('day')} }}"]
    rules += [
        f":root[data-look={look}] {{ {_variables(look)} }}"
        for look in LOOKS
        if look != "day"
    ]
    rules.append(f"@media print {{ :root, :root[data-look] {{ {print_rules} }} }}")
    return "\n".join(rules) + "\n"


def _variables(look: str) -> str:
    colours = LOOKS[look]._asdict()
    colours.pop("relief")
    listed = [
        f"--{name.replace('_', '-')}: {value};" for name, value in colours.items()
    ]
    for name in RAMPS:
        along = ", ".join(ramp_colours(name, np.linspace(0.0, 1.0, 17), look))
        listed.append(f"--ramp-{name}: {along};")
    return " ".join(listed)
