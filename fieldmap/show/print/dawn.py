"""A dawn walk for learners: guess the coldest and the warmest peg, then read."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from fieldmap.model.offset import rounded_c
from fieldmap.show.print import plans, signs
from fieldmap.show.print.paper import (
    INNER_MM,
    Block,
    Heading,
    Lines,
    NewPage,
    Paper,
    Points,
    Steps,
    Table,
    Text,
    cautions,
)
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldmap.decide.ranking import RankedBed
    from fieldmap.plan import Plan

PEGS = 6
FELT_M = 0.1  # a shallower layer is hardly one


class Peg(NamedTuple):
    """A place where a thermometer hangs: the middle of a bed."""

    name: str
    bed: RankedBed

    @property
    def place(self) -> tuple[float, float]:
        """Easting and northing."""
        middle = self.bed.bed.outline.centroid
        return middle.x, middle.y


def pegs(plan: Plan) -> tuple[Peg, ...]:
    """Up to six places: the coldest, the warmest, then those farthest from the rest.

    They are numbered from west to east, so that the numbers give nothing away.
    """
    if not plan.beds:
        return ()
    likely = np.array([each.offset_c.central for each in plan.beds])
    middles = [each.bed.outline.centroid for each in plan.beds]
    places = np.array([(point.x, point.y) for point in middles])
    chosen = [int(np.argmin(likely))]
    if int(np.argmax(likely)) not in chosen:
        chosen.append(int(np.argmax(likely)))
    while len(chosen) < min(PEGS, len(plan.beds)):
        gaps = np.linalg.norm(places[:, None] - places[chosen][None], axis=-1).min(
            axis=1
        )
        farthest = int(np.argmax(gaps))
        if gaps[farthest] <= 0:
            break
        chosen.append(farthest)
    order = sorted(chosen, key=lambda at: (round(places[at, 0], 3), places[at, 1]))
    return tuple(Peg(str(n), plan.beds[at]) for n, at in enumerate(order, start=1))


def blocks(plan: Plan, paper: Paper) -> tuple[Block, ...]:
    """One page to walk with, and one with what the plan says, for afterwards."""
    units = plan.site.settings.units
    unit = "°F" if units == "us" else "°C"
    chosen = pegs(plan)
    drawn = plans.whole(plan, (INNER_MM[paper][0], 118.0), names=False)
    for peg in chosen:
        drawn.peg(peg.place, peg.name)
    return (
        Text(
            _(
                "Cold air is heavier than warm air. On a clear, calm night it forms over "
                "open ground, runs downhill like slow water, and lies in low places and "
                "behind hedges. Walk it once before sunrise and you will never forget "
                "where it lay."
            )
        ),
        drawn.drawing(
            _("A plan of the plots with numbered pegs."),
            _("Where the numbered pegs stand."),
        ),
        Heading(_("How")),
        Steps(_steps()),
        Table(
            (
                _("Peg"),
                _("Coldest? Warmest?"),
                _("Reading, {unit}").format(unit=unit),
                _("Wind, dew, frost seen"),
            ),
            tuple((peg.name, "", "", "") for peg in chosen),
            (0.6, 2.0, 1.4, 2.6),
        ),
        Lines((_("Date, sky, wind:"),)),
        cautions(
            _("Mind"),
            (
                (
                    _("In the dark go slowly; mark stakes and ropes. Cap every stake."),
                    signs.STAKES,
                ),
                (_("Dress for standing still in frost."), signs.COLD),
            ),
        ),
        NewPage(_("What the plan says")),
        *_answers(plan, chosen),
    )


def _steps() -> tuple[str, ...]:
    return (
        _(
            "Choose an evening with a clear sky and no wind after a warm day. On a windy or "
            "cloudy night there is little to learn."
        ),
        _(
            "The evening before, hang one thermometer at each peg, all alike, all at the "
            "same height, under a small white roof, and swap two of them now and then: "
            "cheap ones differ by a degree."
        ),
        _(
            "Before you walk, everyone writes which peg is the coldest and which the "
            "warmest. Say why."
        ),
        _(
            "Go in the last half hour before sunrise, together, with a light. Read each peg "
            "without breathing on it, then feel the air at your ankles."
        ),
        _("Only then turn the page."),
    )


def _answers(plan: Plan, chosen: tuple[Peg, ...]) -> tuple[Block, ...]:
    units = plan.site.settings.units
    shown = [rounded_c(peg.bed.offset_c.central) for peg in chosen]
    if len(set(shown)) <= 1:
        order: Block = Text(
            _(
                "The plan expects no real difference between these pegs. If your "
                "thermometers say otherwise, trust them: write them into thermometers.csv."
            )
        )
    else:
        rows = sorted(chosen, key=lambda peg: (peg.bed.offset_c.central, peg.name))
        order = Table(
            (
                _("Peg"),
                _("Near bed"),
                _("Expected on a clear, calm night"),
                _("Because"),
            ),
            tuple(
                (
                    peg.name,
                    peg.bed.bed.name,
                    quantities.night(*peg.bed.offset_c, units),
                    _because(depth_m, units),
                )
                for peg, depth_m in zip(rows, _depths_m(plan, rows), strict=True)
            ),
            (0.5, 0.8, 2.6, 3.2),
        )
    return (
        Text(
            _(
                "Coldest first. Colder and warmer are told against the middle of the plots."
            )
        ),
        order,
        Heading(_("Talk about it")),
        Points(
            (
                _(
                    "Where were you right, where was the plan wrong? The order of places "
                    "is better known than the degrees."
                ),
                _(
                    "What holds the cold air back: a hedge, a wall, a bank? What would a "
                    "gap do, and who lies below it?"
                ),
                _("Where would you put tomatoes, and where spinach?"),
                _(
                    "Keep the readings: ten such mornings from three thermometers teach "
                    "the plan your own degrees (fieldmap observe)."
                ),
            )
        ),
    )


def _depths_m(plan: Plan, chosen: Sequence[Peg]) -> list[float]:
    """Depth of the cold air at each peg at the end of a still night."""
    middles = np.array([peg.place for peg in chosen])
    return [
        float(depth) for depth in plan.analysis.cold_air.depth_m.interpolate(*middles.T)
    ]


def _because(depth_m: float, units: quantities.Units) -> str:
    if not depth_m >= FELT_M:
        return _("hardly any cold air lies there")
    return _("cold air lies about {depth} deep there").format(
        depth=quantities.length(round(depth_m, 1), units)
    )
