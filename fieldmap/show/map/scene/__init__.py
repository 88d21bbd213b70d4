"""What the page's drawing works with: the place in numbers, without any question."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import partial
from typing import Any

import geopandas as gpd
import numpy as np
import pyproj
import shapely
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.fields import Analysis
from fieldmap.decide.tunnels import TunnelPlace, TunnelSet
from fieldmap.decide.tunnels.describe import drain_line, noon_shadow
from fieldmap.decide.what_if import Effect
from fieldmap.model.raster import Bounds, Raster
from fieldmap.model.site import (
    DRIES_FIRST,
    PUDDLES,
    SNOW_LEAVES_FIRST,
    WHITE_AT_DAWN,
    Mark,
)
from fieldmap.plan import Plan
from fieldmap.show.kept import cells, written
from fieldmap.show.map.data import downhill, ground_lines
from fieldmap.show.map.data.shapes import planned_bounds
from fieldmap.show.map.questions import percent
from fieldmap.show.map.scene import contours, ground, things
from fieldmap.show.map.scene.fields import field
from fieldmap.show.map.scene.frame import Frame, frame_around
from fieldmap.show.map.scene.looks import looks
from fieldmap.show.map.scene.packed import codes, kinds
from fieldmap.show.text.language import _
from fieldmap.show.text.map import drawing, signs
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase
from fieldmap.show.text.site.analysis import named_pockets

__all__ = ["codes", "field", "frame_of", "kinds", "scene"]

Outlined = Callable[[Iterable[tuple[BaseGeometry, str]], str], list[things.Thing]]

# What the grower saw, by the question that it tells of.
SEEN_FOR = {
    "cold": (WHITE_AT_DAWN,),
    "sun": (SNOW_LEAVES_FIRST,),
    "water": (PUDDLES, DRIES_FIRST),
}


# What lines around ground are called.
KIND_OF_LINES = {ground_lines.WET: "wet", ground_lines.STEEPEST: "steepest"}


def lines_on_ground(
    analysis: Analysis, plots: gpd.GeoSeries
) -> dict[str, BaseGeometry]:
    """Lines around ground that a question asks for, by what pictures call them."""
    fall_percent = percent(analysis.terrain)
    return {
        ground_lines.WET: ground_lines.around_wet(analysis.wetness_index, plots),
        ground_lines.STEEPEST: ground_lines.around_steepest(fall_percent, plots),
    }


def frame_of(plots: gpd.GeoDataFrame, tunnels: Sequence[TunnelPlace]) -> Frame:
    """The frame in whose middle plots and tunnels lie."""
    return frame_around(planned_bounds(plots.geometry, tunnels), plots.crs)


def scene(plan: Plan) -> dict[str, Any]:
    """Everything that is drawn of a plan, for JSON; questions come on top of it."""
    site, units = plan.site, plan.site.settings.units
    plots = site.plots
    names = [str(name) for name in plots["name"]]
    hoops_m = {low.bed: low.hoops_m for low in plan.materials.low_tunnels}
    planned = planned_bounds(plots.geometry, plan.tunnels)
    frame = frame_around(planned, site.crs)
    heights_m = ground.around(site.elevation, planned)
    known = plan.analysis.terrain.smooth_m.bounds
    outlined = partial(things.outlines, frame=frame, crs=site.crs)
    pockets = named_pockets(plan.cold_pockets)
    pegs = (peg.at for each in plan.stakes.fields for peg in each.pegs.values())
    falls = downhill.of_plots(plan.analysis.terrain, plots.geometry, units)
    return {
        "frame": frame.origin(),
        **_lie_of_the_land(heights_m, plots.geometry, frame, units),
        "downhill": falls._asdict() if falls else None,
        "things": [
            *things.surroundings(site.surroundings, frame, units),
            *things.left_aside(site.aside, frame, site.crs),
        ],
        "plots": outlined(zip(plots.geometry, names, strict=True), "plot"),
        "tunnels": things.tunnels(plan.tunnels, frame, site.crs),
        "beds": things.beds(
            *([ranked.bed for ranked in plan.beds], names, hoops_m),
            (frame, site.crs, units),
        ),
        "air": things.air(plan.flow_lines, frame, site.crs),
        "pegs": things.pegs(pegs, frame, site.crs),
        "sets": {
            "pockets": outlined(
                zip(
                    things.rounded(pockets.geometry, known),
                    map(str, pockets["name"]),
                    strict=True,
                ),
                "pocket",
            ),
            **_of_what_was_seen([each.mark for each in plan.marks], outlined),
            **{
                f"change-{number}": shown
                for number, shown in enumerate(_changes(plan.what_ifs, outlined))
            },
            **_of_ground(lines_on_ground(plan.analysis, plots.geometry), outlined),
            **_of_tunnels(
                (plan.tunnels, plan.tunnel_choices),
                lambda each: noon_shadow(
                    each, site.latitude, site.spring_month, site.convergence_deg
                ),
                outlined,
            ),
        },
        "view": _box(frame, planned, site.crs),
        "units": units,
        "looks": looks(),
        "say": drawing.words(),
    }


def _of_what_was_seen(
    marks: Sequence[Mark], outlined: Outlined
) -> dict[str, list[things.Thing]]:
    """Outlines of what the grower saw, by the question that it tells of."""
    return {
        f"marks-{question}": outlined(
            ((each.outline, _(each.seen)) for each in marks if each.seen in tells),
            "mark",
        )
        for question, tells in SEEN_FOR.items()
    }


def _of_ground(
    found: Mapping[str, BaseGeometry], outlined: Outlined
) -> dict[str, list[things.Thing]]:
    """Lines around ground, by what pictures call them."""
    return {
        key: outlined([(lines, "")], KIND_OF_LINES[key])
        for key, lines in found.items()
        if not lines.is_empty
    }


def _lie_of_the_land(
    heights_m: Raster, plots: gpd.GeoSeries, frame: Frame, units: Units
) -> dict[str, Any]:
    """The ground as a picture and its lines of equal height."""
    inputs = {"plots": plots.to_wkb(hex=True).tolist(), "frame": frame, "units": units}

    def write() -> dict[str, Any]:
        planted = shapely.union_all(plots.to_numpy())
        return {
            "ground": ground.ground_picture(heights_m, frame),
            "contours": contours.contours(heights_m, planted, frame, units),
        }

    return written("lie_of_land", inputs | cells("heights", heights_m), write)


def _of_tunnels(
    chosen: tuple[Sequence[TunnelPlace], Sequence[TunnelSet]],
    shadow: Callable[[TunnelPlace], BaseGeometry],
    outlined: Outlined,
) -> dict[str, list[things.Thing]]:
    """The shadow of each tunnel at noon, its drain, and the names of all sets."""
    places, choices = chosen

    def place_of(choice: TunnelSet) -> str:
        return phrase(f"tunnel_place_{choice.letter.lower()}")

    drained = [each for each in places if each.rain.drain_m]
    return {
        "tunnel-shadow": outlined(((shadow(each), "") for each in places), "shadow"),
        "tunnel-drain": outlined(((drain_line(each), "") for each in drained), "drain"),
    } | {
        f"choice-{choice.letter.lower()}": outlined(
            ((each.outline, place_of(choice)) for each in choice.places), "choice"
        )
        for choice in choices
    }


def _changes(
    effects: Iterable[Effect], outlined: Outlined
) -> Iterator[list[things.Thing]]:
    """What goes and what comes in each change."""
    for effect in effects:
        yield [
            thing
            for sign, shape in effect.ground.items()
            for thing in outlined([(shape, _(signs.CHANGE_LABELS[sign]))], sign)
        ]


def _box(frame: Frame, bounds: Bounds, crs: pyproj.CRS) -> Bounds:
    west, south, east, north = bounds
    corners = [(west, south), (west, north), (east, south), (east, north)]
    low, high = (end(frame.points(corners, crs), axis=0) for end in (np.min, np.max))
    return (*low.tolist(), *high.tolist())
