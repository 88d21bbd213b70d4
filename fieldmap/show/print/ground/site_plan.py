"""Drawings that several sheets share: all the plots, and one block with its beds."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import geopandas as gpd
import shapely

from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.pegging.site_pegs import Staking
from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.model.site import LeftAside
from fieldmap.show.layer_styles import ON_PAPER, PAPER, PaperStyle
from fieldmap.show.print.ground.drawing import PlanDrawing, bounds_of
from fieldmap.show.text.language import _
from fieldmap.show.text.quantities import Units

SPARE_M = 6.0  # ground shown around what the drawing is of
NAME_MM = 2.6
PLOT_NAME_MM = 4.0
TUNNEL_NAME_MM = 3.4
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
    width_mm
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

    def whole(
        self,
        room_mm: tuple[float, float],
        covered: Mapping[str, str] | None = None,
        *,
        names: bool = True,
    ) -> PlanDrawing:
        """All plots, with what stands around, the beds and the tunnels.

        Parameters
        ----------
        room_mm
            Width and height of the paper that it may take, its margins included [mm].
        covered
            Bed name -> kind of cover that lies on it.
        names
            Whether plots and tunnels are named.
        """
        outlines = [*self.plots.geometry, *(place.outline for place in self.tunnels)]
        drawn = PlanDrawing(bounds_of(outlines, SPARE_M), room_mm)
        self._add_around(drawn, names=False)
        for bed in self.beds:
            kind = (covered or {}).get(bed.name)
            drawn.add(
                bed.outline, ON_PAPER["bed"] if kind is None else cover_style(kind)
            )
        for place in self.tunnels:
            drawn.add(place.outline, ON_PAPER["tunnel"])
        if names:
            self._add_names(drawn)
        return self._finished(drawn)

    def _finished(self, drawn: PlanDrawing) -> PlanDrawing:
        drawn.compass(self.convergence_deg)
        drawn.bar(self.units)
        return drawn

    def _add_names(self, drawn: PlanDrawing) -> None:
        """Names of plots and tunnels."""
        outlines = list(self.plots.geometry)
        for outline, name in zip(outlines, self.plots["name"], strict=True):
            # Above or below the plot, or it lies over the beds and tunnels in it.
            _west, south, _east, north = outline.bounds
            off_m = PLOT_NAME_MM / drawn.mm_per_m
            heights = (north + off_m, south - 1.5 * off_m)
            places = [shapely.Point(outline.centroid.x, height) for height in heights]
            others = [each for each in outlines if each is not outline]
            drawn.name_first_free(places, str(name), PLOT_NAME_MM, others)
        off_m = TUNNEL_NAME_MM / drawn.mm_per_m
        for tunnel in self.tunnels:
            middle = tunnel.outline.centroid
            places = [
                shapely.Point(middle.x + east * off_m, middle.y + north * off_m)
                for east, north in ((0, 0), (1.5, 0), (0, -1.5), (0, 1.5), (-1.5, 0))
            ]
            drawn.name_first_free(places, tunnel.name, TUNNEL_NAME_MM)

    def _add_around(self, drawn: PlanDrawing, *, names: bool) -> None:
        things = self.surroundings
        for geometry, kind in zip(things.geometry, things["kind"], strict=True):
            drawn.add(geometry, ON_PAPER.get(kind, ON_PAPER["keep off"]))
        for outline in self.plots.geometry:
            drawn.add(outline, ON_PAPER["plot"])
        if not names:
            return
        for geometry, name, kind in zip(
            things.geometry, things["name"], things["kind"], strict=True
        ):
            seen = geometry.intersection(drawn.shown)
            if not seen.is_empty:
                text = name if isinstance(name, str) and name else _(kind)
                drawn.name(seen.representative_point(), text, NAME_MM)


def cover_style(kind: str) -> PaperStyle:
    """How a kind of cover is drawn."""
    return next(
        (style for word, style in COVER_STYLES.items() if word in kind),
        COVER_STYLES["fabric"],
    )
