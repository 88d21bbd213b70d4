"""How the layers of the GeoPackage look: one description for every form of style."""

from __future__ import annotations

from typing import NamedTuple

from fieldmap.decide.ranking.groups import GROUPS
from fieldmap.show.layer_styles import GROUP_COLOURS
from fieldmap.show.text.files import GROUP_TITLES
from fieldmap.show.text.language import _

COLUMN = "early_group"  # by which beds are told apart
LABEL = "name"  # the column that is written on things
LABEL_PIXELS = 10
HALO_PIXELS = 1
INK = "#111111"
PAPER = "#ffffff"


class Look(NamedTuple):
    """Fill (None: none), its opacity, line colour, width in pixels, dashes and gaps."""

    fill: str | None
    opacity: float
    line: str
    width: float
    dashes: tuple[int, ...] = ()


class Rule(NamedTuple):
    """The look of what has a value in COLUMN (None: of all), its title in a legend."""

    look: Look
    value: str | None = None
    title: str = ""


class Style(NamedTuple):
    """The rules of one layer, whether it holds lines, and whether names are on them."""

    rules: tuple[Rule, ...]
    lines: bool = False
    named: bool = True


def styles() -> dict[str, Style]:
    """The style of each layer by its name."""
    return {
        "beds": Style(
            tuple(
                Rule(
                    Look(GROUP_COLOURS[group], 0.9, "#333333", 0.5),
                    value=group,
                    title=_(GROUP_TITLES[group]),
                )
                for group in GROUPS
            )
        ),
        "cold_pockets": _alike(Look("#3b0f70", 0.25, "#3b0f70", 1.5, (6, 4))),
        "drain_lines": Style(
            (Rule(Look(None, 0.0, "#0c1626", 1.5)),), lines=True, named=False
        ),
        "marks": _alike(Look(None, 0.0, INK, 1.5, (1, 4))),
        "plots": _alike(Look(None, 0.0, INK, 2.0)),
        "tunnels": _alike(Look(PAPER, 0.8, INK, 2.0)),
    }


def _alike(look: Look) -> Style:
    return Style((Rule(look),))
