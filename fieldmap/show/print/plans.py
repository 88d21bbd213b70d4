"""The plans that several sheets share: a block with its beds, a place with its tunnels."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from fieldmap.show.print.drawing import (
    BED,
    LOOKS,
    PLOT,
    TUNNEL,
    Look,
    PlanDrawing,
    bounds_of,
)
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fieldmap.decide.layout.beds import Bed
    from fieldmap.plan import Plan

SPARE_M = 6.0  # ground shown around what the drawing is of
NAME_MM = 2.6
PLOT_NAME_MM = 4.0
SMALLEST_NAME_MM = 1.9
COVER_LOOKS = {
    "film": Look("url(#film)", 0.3),
    "fabric": Look("url(#fabric)", 0.3),
    "net": Look("url(#fabric)", 0.3),
    "shade": Look("url(#shade)", 0.3),
}


def whole(
    plan: Plan,
    room_mm: tuple[float, float],
    covered: Mapping[str, str] | None = None,
    *,
    tunnels: bool = True,
    names: bool = True,
) -> PlanDrawing:
    """All plots, with what stands around, the beds and the tunnels.

    Parameters
    ----------
    covered
        Bed name -> kind of cover that lies on it.
    """
    outlines = [*plan.site.plots.geometry, *(place.outline for place in plan.tunnels)]
    drawn = PlanDrawing(bounds_of(outlines, SPARE_M), room_mm)
    _around(drawn, plan, names=False)
    for ranked in plan.beds:
        kind = (covered or {}).get(ranked.bed.name)
        drawn.add(ranked.bed.outline, BED if kind is None else look_of(kind))
    for place in plan.tunnels if tunnels else ():
        drawn.add(place.outline, TUNNEL)
    if names:
        for outline, name in zip(
            plan.site.plots.geometry, plan.site.plots["name"], strict=True
        ):
            # Above the plot, or it lies over the beds and tunnels in it.
            _west, _south, _east, north = outline.bounds
            above = north + PLOT_NAME_MM / drawn.mm_per_m
            drawn.name((outline.centroid.x, above), str(name), PLOT_NAME_MM, bold=True)
        for place in plan.tunnels if tunnels else ():
            middle = place.outline.centroid
            drawn.name((middle.x, middle.y), place.name, 3.4, bold=True)
    drawn.compass(plan.site.convergence_deg)
    drawn.bar(plan.site.settings.units)
    return drawn


def block(plan: Plan, beds: Sequence[Bed], room_mm: tuple[float, float]) -> PlanDrawing:
    """One block of beds, large, with the name of each bed at its first end."""
    outlines = [bed.outline for bed in beds]
    near = shapely.union_all(outlines).buffer(SPARE_M)
    tunnels = [place for place in plan.tunnels if place.outline.intersects(near)]
    drawn = PlanDrawing(
        bounds_of([*outlines, *(place.outline for place in tunnels)], SPARE_M), room_mm
    )
    _around(drawn, plan, names=True)
    here = {bed.name for bed in beds}
    for ranked in plan.beds:
        if ranked.bed.name not in here:
            drawn.add(ranked.bed.outline, Look("none", 0.1, "0.5 1"))
    for bed in beds:
        drawn.add(bed.outline, BED)
    for place in tunnels:
        drawn.add(place.outline, TUNNEL)
        middle = place.outline.centroid
        drawn.name((middle.x, middle.y), place.name, 4.0, bold=True)
    _bed_names(drawn, beds)
    _tape(drawn, plan, beds[0].block)
    drawn.compass(plan.site.convergence_deg)
    drawn.bar(plan.site.settings.units)
    return drawn


def _tape(drawn: PlanDrawing, plan: Plan, block: str) -> None:
    """The baseline of a block, with the end at which its tape starts."""
    line = next((one for one in plan.stakes.baselines if one.block == block), None)
    if line is None:
        return
    drawn.add(shapely.LineString([line.start, line.end]), Look("none", 0.4, "2 1"))
    ends = [
        (stake.easting, stake.northing)
        for stake in plan.stakes.stakes
        if stake.block == block and stake.what == "tape"
    ]
    if len(ends) == 3:
        start, far, square = ends
        # The diagonal that proves the corner at 0 square.
        drawn.add(shapely.LineString([start, square]), Look("none", 0.3, "2 1"))
        drawn.add(shapely.LineString([far, square]), Look("none", 0.3, "0.6 1.4"))
        told = quantities.pipe(line.diagonal_m, plan.site.settings.units)
        drawn.name(
            ((far[0] + square[0]) / 2, (far[1] + square[1]) / 2), told, 3.0, bold=True
        )
    drawn.peg(line.start, "0")


def look_of(kind: str) -> Look:
    """How a kind of cover is drawn."""
    return next(
        (look for word, look in COVER_LOOKS.items() if word in kind),
        COVER_LOOKS["fabric"],
    )


def _around(drawn: PlanDrawing, plan: Plan, *, names: bool) -> None:
    things = plan.site.surroundings
    for geometry, kind in zip(things.geometry, things["kind"], strict=True):
        drawn.add(geometry, LOOKS.get(kind, LOOKS["keep off"]))
    for outline in plan.site.plots.geometry:
        drawn.add(outline, PLOT)
    for geometry, name, kind in zip(
        things.geometry, things["name"], things["kind"], strict=True
    ):
        seen = geometry.intersection(drawn.shown)
        if names and not seen.is_empty:
            point = seen.representative_point()
            text = name if isinstance(name, str) and name else _(kind)
            drawn.name((point.x, point.y), text, 2.6)


def _bed_names(drawn: PlanDrawing, beds: Sequence[Bed]) -> None:
    """Names on beds that are wide enough on paper; else on each fifth."""
    width_mm = min(bed.width_m for bed in beds) * drawn.mm_per_m
    pitch_mm = width_mm * 1.4
    size_mm = min(NAME_MM, max(SMALLEST_NAME_MM, pitch_mm))
    every = 1 if pitch_mm >= SMALLEST_NAME_MM else 5
    for number, bed in enumerate(beds):
        if number % every == 0 or number == len(beds) - 1:
            middle = bed.outline.centroid
            drawn.name((middle.x, middle.y), bed.name, size_mm, bold=True)
