"""What drawings of the ground show, and how a covered bed is drawn on them."""

from collections.abc import Sequence
from dataclasses import dataclass

import geopandas as gpd

from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.pegging.site_pegs import Staking
from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.model.site import LeftAside
from fieldmap.show.layer_styles import PAPER, PaperStyle
from fieldmap.show.text.quantities import Units

SPARE_M = 6.0  # ground shown around what the drawing is of
COVER_STYLES = {
    "film": PaperStyle(PAPER, 0.25, hatch="hoops"),
    "fabric": PaperStyle(PAPER, 0.25, hatch="hoops"),
    "net": PaperStyle(PAPER, 0.25, hatch="hoops"),
    "shade": PaperStyle(PAPER, 0.25, hatch="mesh"),
}


@dataclass(frozen=True)
class SitePlan:
    """What drawings of the ground show.

    Attributes
    ----------
    plots, surroundings, aside
        As `Site` has them.
    convergence_deg
        Grid north from true north, clockwise.
    width_mm, height_mm
        Of the page within its margins.
    """

    plots: gpd.GeoDataFrame
    surroundings: gpd.GeoDataFrame
    aside: Sequence[LeftAside]
    beds: Sequence[Bed]
    tunnels: Sequence[TunnelPlace]
    stakes: Staking
    convergence_deg: float
    units: Units
    width_mm: float
    height_mm: float


def cover_style(kind: str) -> PaperStyle:
    """How a kind of cover is drawn."""
    return next(
        (style for word, style in COVER_STYLES.items() if word in kind),
        COVER_STYLES["fabric"],
    )
