"""The whole ground on one drawing: plots, beds, what stands around, heights, cold air."""

from collections.abc import Collection, Iterator, Sequence

import geopandas as gpd
import numpy as np
import shapely
from scipy import ndimage
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from fieldmap.model.raster import Raster
from fieldmap.show.contours import contours, step_m
from fieldmap.show.layer_styles import ON_PAPER, PaperStyle
from fieldmap.show.print.ground import key as signs_of
from fieldmap.show.print.ground.drawing import PlanDrawing, bounds_of, filling, numeral
from fieldmap.show.print.ground.site_plan import SPARE_M, SitePlan
from fieldmap.show.print.paper import Drawing
from fieldmap.show.text import quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, written
from fieldmap.show.text.names import doubtful
from fieldmap.show.text.quantities import Units

WORDS = texts("fieldmap.show.text.print.ground_plan", "words")
RIM_M = 1.0
CONTOUR = PaperStyle(line_mm=0.2)
POCKET = PaperStyle("none", 0.45, "2 1.2", "dots")
CHANGE = PaperStyle("none", 0.5, "1.2 0.8")
SMOOTH_M = 5.0  # as the ground is smoothed for slope
PLOT_MM, THING_MM, HEIGHT_MM = 5.0, 3.3, 3.0
SIZES_MM = (THING_MM, 2.6)  # of names of things: the smaller where there is less room
APART_MM = 2.0  # kept free around the name of a plot
# What is drawn below plots, lowest first, and what above them.
BELOW = ("water", "road", "bank", "wall", "fence", "hedge", "trees", "keep off")
ABOVE = ("building", "tree", "overhead line", "post")
DANGERS = ("overhead line", "keep off")  # named first, since people come to harm there
NAMED = (
    *DANGERS,
    *("building", "water", "road", "hedge", "trees", "tree", "wall", "bank", "fence"),
)
LONGEST_NAME = 22
# A name, its size, what it must not cover, and what it must stand farther from.
_Try = tuple[str, float, Sequence[BaseGeometry], Sequence[BaseGeometry]]


def ground_plan(
    drawn: SitePlan,
    heights: Raster | None,
    pockets: gpd.GeoDataFrame,
    shown: BaseGeometry,
    room_mm: tuple[float, float],
    kept_free: Sequence[tuple[float, float]] = (),
) -> PlanDrawing:
    """All that is known of the ground, to scale and in a frame that it fills.

    Parameters
    ----------
    drawn
        Plots, surroundings, tunnels and units of the plan.
    heights
        Of the ground, as far as they are known; None: no lines of height.
    pockets
        Outlines in which cold air lies on still nights.
    shown
        The ground on which pockets were looked for.
    room_mm
        Width and height of the paper that it fills, its margins included [mm].
    kept_free
        Where discs will lie, so that no name does.
    """
    outlines = [*drawn.plots.geometry, *(each.outline for each in drawn.tunnels)]
    whole = filling(bounds_of(outlines, SPARE_M), room_mm)
    plan = PlanDrawing(whole, room_mm)
    for kept in kept_free:
        plan.reserve(kept)
    labels = [] if heights is None else [*_add_contours(plan, heights, drawn.units)]
    things = drawn.surroundings
    _add_things(plan, things, BELOW)
    for outline in drawn.plots.geometry:
        plan.add(outline, ON_PAPER["plot"])
    for pocket in pockets.geometry:
        plan.add(pocket, POCKET._replace(line_mm=0.0))
        # Where it goes on beyond the ground that was worked out it has no edge.
        edge = pocket.boundary.difference(shown.boundary.buffer(RIM_M))
        plan.add(edge, POCKET)
    for bed in drawn.beds:
        plan.add(bed.outline, ON_PAPER["bed"])
    for place in drawn.tunnels:
        plan.add(place.outline, ON_PAPER["tunnel"])
    _add_things(plan, things, ABOVE)
    _add_points(plan, things)
    for each in drawn.aside:
        plan.add(each.outline, ON_PAPER["aside"])
    plan.compass(drawn.convergence_deg)
    plan.bar(drawn.units)
    _add_names(plan, drawn, pockets)
    for x, y, text in labels:
        at = f"translate({x:.2f} {y:.2f})"
        plan.draw(f'<g transform="{at}">{numeral(text, HEIGHT_MM)}</g>')
    plan.frame()
    return plan


def _add_contours(
    plan: PlanDrawing, heights: Raster, units: Units
) -> Iterator[tuple[float, float, str]]:
    """Lines of equal height; gives where their heights stand, near the right edge."""
    near = heights.clip(heights.window(plan.shown.bounds))
    if not np.isfinite(near.values).any():
        return
    known = np.isfinite(near.values)
    sigma = SMOOTH_M / near.cell_size_m
    filled = ndimage.gaussian_filter(np.where(known, near.values, 0.0), sigma)
    weight = ndimage.gaussian_filter(known.astype(float), sigma)
    smooth = np.where(known, filled / np.maximum(weight, 1e-9), np.nan)
    unit_m = 1 / quantities.FEET_PER_METRE if units == "us" else 1.0
    low, high = np.nanmin(smooth) / unit_m, np.nanmax(smooth) / unit_m
    every_m = step_m(low, high) * unit_m
    taken: list[float] = []
    for height_m, line in contours(near.with_values(smooth), every_m):
        plan.add(line, CONTOUR)
        seen = line.intersection(plan.shown)
        if seen.is_empty:
            continue
        ends = [plan.at(tuple(each)) for each in shapely.get_coordinates(seen)]
        x, y = max(ends)
        clear = all(abs(y - other) > 1.6 * HEIGHT_MM for other in taken)
        if x > plan.width_mm - 1.0 and clear and 22.0 < y < plan.height_mm - 6.0:
            taken.append(y)
            number = height_m / unit_m
            form = ".0f" if float(every_m / unit_m).is_integer() else ".2f"
            yield x - 5.5, y, written(number, form)


def _add_things(
    plan: PlanDrawing, things: gpd.GeoDataFrame, kinds: Sequence[str]
) -> None:
    for kind in kinds:
        for shape in things.geometry[things["kind"] == kind]:
            plan.add(shape, ON_PAPER[kind])


def _add_points(plan: PlanDrawing, things: gpd.GeoDataFrame) -> None:
    """Gates, as two posts with a way between, and water points."""
    for shape in things.geometry[things["kind"] == "gate"]:
        plan.gate(plan.at(_middle(shape)))
    for shape in things.geometry[things["kind"] == "water point"]:
        plan.tap(plan.at(_middle(shape)))


def _middle(shape: BaseGeometry) -> tuple[float, float]:
    middle = shape.centroid
    return float(middle.x), float(middle.y)


def _add_names(plan: PlanDrawing, drawn: SitePlan, pockets: gpd.GeoDataFrame) -> None:
    """Names beside what they name, the most wanted first; where there is no room, none."""
    outlines = list(drawn.plots.geometry)
    taken = [*outlines, *(each.outline for each in drawn.tunnels)]
    things = drawn.surroundings
    _name_things(plan, things, outlines, DANGERS)
    buildings = list(things.geometry[things["kind"] == "building"])
    for outline, name in zip(outlines, drawn.plots["name"], strict=True):
        # Over a building rather than not at all.
        any(
            plan.name_beside(
                outline, str(name), PLOT_MM, avoid, bold=True, apart_mm=APART_MM
            )
            for avoid in ([*taken, *buildings], taken)
        )
    for place in drawn.tunnels:
        plan.name_beside(place.outline, place.name, THING_MM + 0.4, (), bold=True)
    for kind, word in (("gate", WORDS["gate"]), ("water point", WORDS["tap"])):
        for shape in things.geometry[things["kind"] == kind]:
            spot = Point(_middle(shape)).buffer(2.0 / plan.mm_per_m)
            plan.name_beside(spot, _(word), THING_MM, (), bold=False)
    plots = shapely.union_all(outlines)
    for pocket in pockets.geometry:
        plan.name_within(pocket.difference(plots), _(WORDS["cold"]), THING_MM)
    _name_things(plan, things, outlines, set(NAMED) - set(DANGERS))
    for each in drawn.aside:
        said = doubtful(each.name)
        plan.name_beside(each.outline, said, THING_MM, outlines, bold=False)


def _name_things(
    plan: PlanDrawing,
    things: gpd.GeoDataFrame,
    outlines: Sequence[BaseGeometry],
    kinds: Collection[str],
) -> None:
    """Names of what stands or lies around, of some kinds; plots keep clear of most."""
    named = things[things["kind"].isin(NAMED)]
    shapes = list(named.geometry)
    for shape, name, kind in zip(shapes, named["name"], named["kind"], strict=True):
        if kind not in kinds:
            continue
        rest = [other for other in shapes if other is not shape]
        if kind == "overhead line":
            called = [_(WORDS["key_line"]), _(WORDS["line"])]
        else:
            called = [name if isinstance(name, str) and name else _(kind)]
        # Nearer to another thing a name would mislead, so rather none; but what can hurt
        # people has its name even so.
        tries: list[_Try] = [
            (text, size, outlines, rest) for text in called for size in SIZES_MM
        ]
        if kind in DANGERS:
            tries += [(called[-1], SIZES_MM[0], avoid, ()) for avoid in (rest, ())]
        any(
            plan.name_beside(
                shape, text, size, avoid, bold=kind in DANGERS, others=others
            )
            for text, size, avoid, others in tries
            if kind in DANGERS or len(text) <= LONGEST_NAME
        )


def key(
    width_mm: float,
    drawn: SitePlan,
    *,
    has_pocket: bool,
    has_change: bool,
) -> Drawing:
    """What lines and hatches mean, in a row.

    Parameters
    ----------
    width_mm
        Width of the row; what does not fit goes on in the next [mm of paper].
    drawn
        What is drawn of the place and so explained.
    has_pocket
        Whether cold pockets are drawn and so explained.
    has_change
        Whether changes of the surroundings are drawn and so explained.
    """
    kinds = set(drawn.surroundings["kind"])
    signs = {
        "plot": (True, signs_of.filled(ON_PAPER["plot"])),
        "beds": (True, signs_of.strips(ON_PAPER["bed"])),
        "tunnel": (drawn.tunnels, signs_of.filled(ON_PAPER["tunnel"])),
        "cold": (has_pocket, signs_of.filled(POCKET)),
        "line": ("overhead line" in kinds, signs_of.line(ON_PAPER["overhead line"])),
        "keep_off": ("keep off" in kinds, signs_of.filled(ON_PAPER["keep off"])),
        "height": (True, signs_of.curved(CONTOUR)),
        "aside": (drawn.aside, signs_of.filled(ON_PAPER["aside"])),
        "change": (has_change, signs_of.filled(CHANGE)),
    }
    entries = [
        signs_of.Entry(sign, _(WORDS[f"key_{word}"]))
        for word, (is_drawn, sign) in signs.items()
        if is_drawn
    ]
    return signs_of.drawing(entries, width_mm, _(WORDS["key"]))
