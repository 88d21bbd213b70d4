"""How the layers of the GeoPackage look: one description for every form of style."""

from typing import NamedTuple

from fieldmap.decide.ranking.groups import GROUPS
from fieldmap.show.layer_styles import GROUP_COLOURS, STYLES, Style
from fieldmap.show.text.files.contents import GROUP_TITLES
from fieldmap.show.text.language import _

COLUMN = "early_group"  # by which beds differ in colour
LABEL = "name"  # the column that is written on things
LABEL_PIXELS = 10
HALO_PIXELS = 1


class Rule(NamedTuple):
    """The style of what has a value in COLUMN (None: of all), its title in a legend."""

    style: Style
    value: str | None = None
    title: str = ""


class LayerStyle(NamedTuple):
    """The rules of one layer, whether it holds lines, and whether names are on them."""

    rules: tuple[Rule, ...]
    lines: bool = False
    named: bool = True


def styles() -> dict[str, LayerStyle]:
    """The style of each layer by its name."""
    return {
        "beds": LayerStyle(
            tuple(
                Rule(
                    STYLES["bed"]._replace(fill=GROUP_COLOURS[group]),
                    value=group,
                    title=_(GROUP_TITLES[group]),
                )
                for group in GROUPS
            )
        ),
        # Programs can see through a pocket that is filled.
        "cold_pockets": _alike(STYLES["pocket"]._replace(opacity=0.25)),
        "drain_lines": LayerStyle((Rule(STYLES["drain"]),), lines=True, named=False),
        "marks": _alike(STYLES["mark"]._replace(fill=None)),
        "plots": _alike(STYLES["plot"]),
        "tunnels": _alike(STYLES["tunnel"]),
    }


def _alike(style: Style) -> LayerStyle:
    return LayerStyle((Rule(style),))
