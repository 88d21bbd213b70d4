"""What must be taped before a walked plot can be pegged: its corners, and lines to fill in."""

import shapely
from shapely.geometry import LineString, Point

from fieldmap.decide.pegging import walked
from fieldmap.decide.pegging.model import FieldPegs
from fieldmap.show.layer_styles import ON_PAPER, PaperStyle
from fieldmap.show.print.ground.drawing import PlanDrawing, bounds_of
from fieldmap.show.print.ground.site_plan import SitePlan
from fieldmap.show.print.paper import Block, Drawing, Heading, Lines, Text
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _

WORDS = texts("fieldmap.show.text.print.pegs", "sheet")
# The outline is thin: most ways to tape lie on it, and their dashes must be seen there.
OUTLINE, TAPE = PaperStyle("none", 0.2, ""), PaperStyle("none", 0.8, "3 2")
BESIDE = 0.15  # of the plot, around it: names stand there, off the lines
NAME_MM = 3.3
HIGH_MM = 120.0  # room below it for the lines to write on


def blocks(drawn: SitePlan, field: FieldPegs) -> list[Block]:
    """Which corners to measure between, drawn, and a line for each length.

    Parameters
    ----------
    drawn
        What drawings of the ground show.
    field
        A plot whose outline was walked, with the lengths that are wanted.
    """
    return [
        Heading(_(WORDS["tape_first"]).format(plot=field.plot)),
        Text(_(WORDS["why_tape"])),
        Text(_(WORDS["first"])),
        _corners(drawn, field),
        Lines(tuple(f"{first} – {second}" for first, second in field.wanted)),
    ]


def _corners(drawn: SitePlan, field: FieldPegs) -> Drawing:
    """The plot with the ways to tape, and the name of each corner at its place."""
    names = list(drawn.plots["name"].map(str))
    outline = drawn.plots.geometry.iloc[names.index(field.plot)]
    wanted = {name for pair in field.wanted for name in pair}
    at = {k: v for k, v in walked.names(field.plot, outline).items() if k in wanted}
    west, south, east, north = outline.bounds
    beside_m = max(2.0, BESIDE * max(east - west, north - south))
    plan = PlanDrawing(bounds_of([outline], beside_m), (drawn.width_mm, HIGH_MM))
    plan.add(outline, OUTLINE)
    ways = [LineString([at[first], at[second]]) for first, second in field.wanted]
    for way in ways:
        plan.add(way, TAPE)
    around = drawn.surroundings
    things = around[around.geometry.centroid.within(plan.shown)]
    for shape in things.geometry[things["kind"] == "gate"]:
        plan.gate(plan.at((shape.centroid.x, shape.centroid.y)))
    for shape in things.geometry[things["kind"] == "water point"]:
        plan.tap(plan.at((shape.centroid.x, shape.centroid.y)))
    plan.compass(drawn.convergence_deg)
    plan.bar(drawn.units)
    spots = {name: Point(place).buffer(1 / plan.mm_per_m) for name, place in at.items()}
    for spot in spots.values():
        plan.add(spot, ON_PAPER["post"])
    line = shapely.union_all(ways)
    for name, spot in spots.items():
        # Off the ways to tape where there is room, else over them.
        any(
            plan.name_beside(spot, name, NAME_MM, avoid, bold=True)
            for avoid in ([line, outline.exterior], [line], [])
        )
    plan.frame()
    return plan.drawing(_(WORDS["tape_says"]).format(plot=field.plot))
