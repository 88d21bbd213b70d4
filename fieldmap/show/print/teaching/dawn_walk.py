"""A dawn walk for learners: guess the coldest and the warmest peg, then read."""

from collections.abc import Callable, Sequence
from typing import NamedTuple

import geopandas as gpd
import numpy as np

from fieldmap.decide.layout.cautions import near_overhead_lines
from fieldmap.decide.ranking import RankedBed
from fieldmap.model.estimate import rounded_c
from fieldmap.show.print import paper
from fieldmap.show.print.ground.drawing import PlanDrawing
from fieldmap.show.text import quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, translated
from fieldmap.show.text.quantities import Units

WORDS = texts("fieldmap.show.text.print.dawn_walk", "sheet")
CAUTIONS = texts("fieldmap.show.text.print.dawn_walk", "cautions")
PEGS = 6
WORDS_MM = 146.0  # of the page that is not the map's
At = tuple[float, float]
Ground = Callable[[tuple[float, float], Sequence[At]], PlanDrawing]


class Peg(NamedTuple):
    """A place where a thermometer hangs: the middle of a bed."""

    name: str
    bed: RankedBed

    @property
    def place(self) -> At:
        """Easting and northing."""
        middle = self.bed.bed.outline.centroid
        return middle.x, middle.y


def pegs(beds: Sequence[RankedBed], surroundings: gpd.GeoDataFrame) -> tuple[Peg, ...]:
    """Up to six places: the coldest, the warmest, then those farthest from the rest.

    None is at a bed near an overhead power line, where people would set stakes in the dark.
    They are numbered from west to east, so that the numbers give nothing away.
    """
    near = near_overhead_lines(surroundings, [each.bed for each in beds])
    beds = [bed for bed, is_near in zip(beds, near, strict=True) if not is_near]
    if not beds:
        return ()
    likely = np.array([each.offset_c.central for each in beds])
    middles = [each.bed.outline.centroid for each in beds]
    places = np.array([(point.x, point.y) for point in middles])
    chosen = [int(np.argmin(likely))]
    if int(np.argmax(likely)) not in chosen:
        chosen.append(int(np.argmax(likely)))
    while len(chosen) < min(PEGS, len(beds)):
        gaps = np.linalg.norm(places[:, None] - places[chosen][None], axis=-1).min(
            axis=1
        )
        farthest = int(np.argmax(gaps))
        if gaps[farthest] <= 0:
            break
        chosen.append(farthest)
    order = sorted(chosen, key=lambda at: (round(places[at, 0], 3), places[at, 1]))
    return tuple(Peg(str(n), beds[at]) for n, at in enumerate(order, start=1))


def blocks(
    beds: Sequence[RankedBed],
    surroundings: gpd.GeoDataFrame,
    ground: Ground,
    page: paper.Paper,
    units: Units,
) -> tuple[paper.Block, ...]:
    """One page to walk with, and one with what the plan says, for afterwards.

    Parameters
    ----------
    beds
        The beds in the order of the plan; without any there are no pegs.
    surroundings
        What lies around them: no peg stands near an overhead line.
    ground
        Draws the ground without what the plan says of it, in a room, with places that no
        name takes.
    page
        Its size.
    units
        "metric" or "us", for readings and the bar.
    """
    unit = "°F" if units == "us" else "°C"
    chosen = pegs(beds, surroundings)
    width_mm, height_mm = paper.INNER_MM[page]
    room_mm = width_mm, height_mm - WORDS_MM
    drawing = ground(room_mm, [peg.place for peg in chosen])
    for peg in chosen:
        drawing.peg(peg.place, peg.name)
    return (
        paper.Text(_(WORDS["introduction"])),
        drawing.drawing(_(WORDS["plan"]), _(WORDS["plan_key"])),
        paper.Heading(_("How")),
        paper.Steps(translated(WORDS["steps"])),
        paper.Table(
            (
                _("Peg"),
                _("Coldest? Warmest?"),
                _("Reading, {unit}").format(unit=unit),
                _(WORDS["seen"]),
            ),
            tuple((peg.name, "", "", "") for peg in chosen),
            (0.6, 2.0, 1.4, 2.6),
        ),
        paper.Lines((_("Date, sky, wind:"),)),
        paper.cautions(_("Take care"), CAUTIONS),
        paper.NewPage(_(WORDS["answers"])),
        paper.Text(_(WORDS["order"])),
        _answers(chosen, units),
        paper.Heading(_("Talk about it")),
        paper.Points(translated(WORDS["questions"])),
    )


def _answers(chosen: Sequence[Peg], units: Units) -> paper.Block:
    if len({rounded_c(peg.bed.offset_c.central) for peg in chosen}) <= 1:
        return paper.Text(_(WORDS["all_alike"]))
    coldest_first = sorted(chosen, key=lambda peg: (peg.bed.offset_c.central, peg.name))
    return paper.Table(
        (_("Peg"), _("Near bed"), _(WORDS["expected"])),
        tuple(
            (
                peg.name,
                peg.bed.bed.name,
                quantities.night(*peg.bed.offset_c, units),
            )
            for peg in coldest_first
        ),
        (0.5, 0.8, 5.8),
    )
