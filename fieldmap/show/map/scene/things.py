"""Everything with an outline, packed for the page's drawing."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NotRequired, TypedDict

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import pyproj
import shapely
from shapely.geometry import box
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.cold_air.flow import in_the_way
from fieldmap.analyse.cold_air.flow_lines import SPACINGS_M, FlowLine
from fieldmap.decide.layout.beds import Bed, on_middle_line
from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.model.raster import Bounds, grown
from fieldmap.model.site import LeftAside
from fieldmap.model.surroundings import STANDING
from fieldmap.show.map.scene import packed
from fieldmap.show.map.scene.crowns import crowns
from fieldmap.show.map.scene.frame import Frame
from fieldmap.show.text import names, quantities
from fieldmap.show.text.map import drawing, signs
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase

BOW_SPACING_M = 2.0  # as drawn on a tunnel's roof
STEPS_M = 3.0  # of outlines that follow cells
SIMPLER_M = 0.15  # of lines that are far coarser
LEAFY = ("hedge", "tree", "trees")


class Thing(TypedDict):
    """Something that stands or lies: its rings or lines, and what people call it.

    `form` is "area", "line" or "point"; `crowns` are east, north and radius in turn;
    `card` is what it says of itself when it is touched.
    """

    kind: str
    name: str
    said: str
    form: str
    lines: packed.Lines
    crowns: NotRequired[str]
    evergreen: NotRequired[bool]
    card: NotRequired[list[str]]


class Beds(TypedDict):
    """All beds: corners, not rounded, plot, name, path beside them, and their hoops.

    A bed has a line of its hoops, or an empty one.
    """

    starts: str
    points: str
    plots: str
    names: list[str]
    wider: str
    hoops: packed.Lines
    lengths: list[str]


def beds(
    laid: Sequence[Bed],
    plots: Sequence[str],
    hoops_m: Mapping[str, Sequence[float]],
    about: tuple[Frame, pyproj.CRS, Units],
) -> Beds:
    """Beds in their order, packed.

    `wider` is the path to the nearest bed [m], by which beds are drawn wider where no gap
    is seen; 0 where no bed lies beside.

    Parameters
    ----------
    laid
        The beds in the order of the plan.
    plots
        Names of all plots, in order; a bed has the number of its plot.
    hoops_m
        Places of hoops by name of the bed, from its gate end; beds without are left out.
    about
        Frame of the page, CRS of the outlines, and units of the lengths.
    """
    frame, crs, units = about
    outlines = [shapely.get_coordinates(bed.outline)[:-1] for bed in laid]
    points = np.concatenate([*outlines, np.zeros((0, 2))])
    lengths = [round(bed.length_m, 1) for bed in laid]
    said = {each: quantities.length(each, units) for each in set(lengths)}
    return Beds(
        starts=packed.packed(np.cumsum([0, *(len(each) for each in outlines)]), "<u4"),
        points=packed.packed(frame.points(points, crs), "<f4"),
        plots=packed.packed([plots.index(bed.plot) for bed in laid], "<u2"),
        names=[bed.name for bed in laid],
        wider=packed.packed(_paths(laid), "<f4"),
        hoops=packed.lines(
            [
                frame.points(on_middle_line(bed, hoops_m[bed.name]), crs)
                if bed.name in hoops_m
                else np.zeros((0, 2))
                for bed in laid
            ]
        ),
        lengths=[said[each] for each in lengths],
    )


def _paths(laid: Sequence[Bed]) -> npt.NDArray[np.float64]:
    """Path from each bed to the nearest other [m], 0 where none lies beside it."""
    if len(laid) < 2:
        return np.zeros(len(laid))
    outlines = np.array([bed.outline for bed in laid])
    tree = shapely.STRtree(outlines)
    own, other = tree.query(outlines, predicate="dwithin", distance=1.6)
    apart = own != other
    gaps = shapely.distance(outlines[own[apart]], outlines[other[apart]])
    nearest = np.full(len(laid), np.inf)
    # Beds end to end touch the same path; those side by side are nearer.
    np.minimum.at(nearest, own[apart], np.where(gaps > 0.05, gaps, np.inf))
    return np.where(np.isfinite(nearest), nearest, 0.0)


def surroundings(things: gpd.GeoDataFrame, frame: Frame, units: Units) -> list[Thing]:
    """What lies flat first, then what stands, each in its order.

    Parameters
    ----------
    things
        Surroundings with name, kind, height [m], clear stem [m] and leaf. All but the
        kind may be missing.
    frame
        Frame of the page.
    units
        "metric" or "us", for the heights in words.
    """
    found = []
    holding = set(in_the_way(things).index)
    for at, geometry, name, kind, height_m, leaf in zip(
        things.index,
        things.geometry,
        things["name"],
        things["kind"],
        things["height_m"],
        things["leaf"],
        strict=True,
    ):
        called = name if isinstance(name, str) else ""
        thing = _thing(geometry, kind, called, frame, things.crs)
        known = height_m is not None and np.isfinite(height_m)
        height = float(height_m) if known else None
        thing["card"] = signs.card(
            kind,
            units,
            height_m=height,
            leaf=leaf if isinstance(leaf, str) else None,
            holds_cold_air=at in holding,
        )
        if called:
            thing["said"] = drawing.near(called, kind, height, units)
        if leaf == "evergreen":
            thing["evergreen"] = True
        found.append(thing)
    return sorted(found, key=lambda thing: thing["kind"] in STANDING)


def left_aside(
    things: Iterable[LeftAside], frame: Frame, crs: pyproj.CRS
) -> list[Thing]:
    """What was drawn and is not counted.

    Parameters
    ----------
    things
        As the site has them.
    frame
        Frame of the page.
    crs
        CRS of their outlines.
    """
    found = []
    for each in things:
        kind = signs.kind(each.kind or "aside")
        thing = _thing(each.outline, "aside", each.name or kind, frame, crs)
        said = f"{names.started(kind)}."
        thing["card"] = [said, phrase("thing_left_aside")]
        found.append(thing)
    return found


def _thing(
    geometry: BaseGeometry, kind: str, name: str, frame: Frame, crs: pyproj.CRS
) -> Thing:
    shape = frame.shape(geometry, crs)
    thing = Thing(kind=kind, name=name, said="", form=_form(shape), lines=rings(shape))
    if kind in LEAFY and thing["form"] == "area":
        thing["crowns"] = packed.packed(crowns(shape), "<f4")
    return thing


def _form(shape: BaseGeometry) -> str:
    dimension = int(shapely.get_dimensions(shape))
    return ("point", "line", "area")[max(0, dimension)]


def rings(shape: BaseGeometry) -> packed.Lines:
    """Every ring, line and point of a shape in the frame."""
    found: list[npt.NDArray[np.float64]] = []
    for part in shapely.get_parts(shape):
        parts = shapely.get_rings(part) if part.geom_type == "Polygon" else [part]
        found += [shapely.get_coordinates(each) for each in parts]
    return packed.lines(found, 0.01)


def outlines(
    named: Iterable[tuple[BaseGeometry, str]], kind: str, frame: Frame, crs: pyproj.CRS
) -> list[Thing]:
    """Plots, pockets, marks and what else has an outline and a name.

    Parameters
    ----------
    named
        Shapes with their names; "" for none.
    kind
        What all of them are, such as "plot".
    frame
        Frame of the page.
    crs
        CRS of the shapes.
    """
    return [_thing(shape, kind, name, frame, crs) for shape, name in named]


def rounded(outlines: Iterable[BaseGeometry], known: Bounds) -> Iterator[BaseGeometry]:
    """Outlines of whole cells without their steps, and open where the known ground ends."""
    inner = box(*grown(known, -4 * STEPS_M))
    for outline in outlines:
        smooth = outline.simplify(STEPS_M)
        for step_m in (STEPS_M, -2 * STEPS_M, STEPS_M):
            smooth = smooth.buffer(step_m)
        edge = (outline if smooth.is_empty else smooth).boundary
        yield edge if inner.contains(edge) else edge.intersection(inner)


def tunnels(
    places: Sequence[TunnelPlace], frame: Frame, crs: pyproj.CRS
) -> list[Thing]:
    """Walk-in tunnels; the first two corners are those of a short side.

    Parameters
    ----------
    places
        The walk-in tunnels in the order of the plan.
    frame
        Frame of the page.
    crs
        CRS of their outlines.
    """
    found = []
    for place in places:
        thing = _thing(place.outline, "tunnel", place.name, frame, crs)
        corners = frame.points(
            shapely.get_coordinates(shapely.oriented_envelope(place.outline))[:4], crs
        )
        first, second = np.hypot(*np.diff(corners[:3], axis=0).T)
        turned = corners if first <= second else np.roll(corners, -1, axis=0)
        thing["lines"] = packed.lines([np.concatenate([turned, turned[:1]])], 0.01)
        found.append(thing)
    return found


class Level(TypedDict):
    """Lines of air of one spacing, and how much each carries, 0 to 1 of the most."""

    spacing_m: float
    lines: packed.Lines
    strengths: list[float]


def air(flow: Sequence[FlowLine], frame: Frame, crs: pyproj.CRS) -> list[Level]:
    """Lines along which cold air runs, the widest apart first.

    Parameters
    ----------
    flow
        Lines of the flow; empty where it was not computed.
    frame
        Frame of the page.
    crs
        CRS of the lines.
    """
    most = max((each.strength_m2_s for each in flow), default=1.0) or 1.0
    levels = []
    for level, spacing_m in enumerate(SPACINGS_M, start=1):
        own = [each for each in flow if each.level == level]
        levels.append(
            Level(
                spacing_m=spacing_m,
                lines=packed.lines(
                    [
                        frame.points(
                            shapely.get_coordinates(each.line.simplify(SIMPLER_M)), crs
                        )
                        for each in own
                    ]
                ),
                strengths=[round(each.strength_m2_s / most, 3) for each in own],
            )
        )
    return levels


def pegs(places: Iterable[tuple[float, float]], frame: Frame, crs: pyproj.CRS) -> str:
    """East and north of each peg in turn.

    Parameters
    ----------
    places
        East and north of each peg, in `crs`.
    frame
        Frame of the page.
    crs
        CRS of the pegs.

    Returns
    -------
    packed
        Metres in the frame as 32-bit numbers, in base64.
    """
    return packed.packed(
        frame.points(np.array(list(places)).reshape(-1, 2), crs), "<f4"
    )
