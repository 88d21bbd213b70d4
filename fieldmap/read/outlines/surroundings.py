"""What stands and lies around the plots, with what must be given of each kind.

What is asked depends on the kind. Facts are asked for, never guessed; only what a word
means by itself is filled in (a wall lets no air through).

=============  ==================  ========  ========  ============  ====  =========
kind           drawn as            height_m  porosity  clear_stem_m  leaf  width_m
=============  ==================  ========  ========  ============  ====  =========
building       area, line, point   asked     else 0    else 0        none  line, point
wall, bank     area, line, point   asked     else 0    else 0        none  line, point
fence          area, line, point   asked     asked     else 0        none  line, point
hedge          area, line, point   asked     asked     else 0        asked line, point
tree, trees    area, line, point   asked     asked     asked         asked line, point
water, road    area, line, point   none      none      none          none  line, point
keep off       area, line, point   none      none      none          none  line, point
overhead line  line                asked     none      none          none  not needed
gate           area, line, point   none      none      none          none  not needed
water point    area, line, point   none      none      none          none  not needed
post           area, line, point   none      none      none          none  not needed
=============  ==================  ========  ========  ============  ====  =========

"line, point": asked where the kind is drawn as a line or a point, which is widened to
an area of that width (of a tree: its crown); lines end flat, as a hedge does. The
height of an overhead line is that of its lowest wire. `leaf` of what has none is
"none".
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cache
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
from shapely.geometry.base import BaseGeometry

from fieldmap.errors import Problem, joined, problem
from fieldmap.model.coordinates import WGS84, in_crs
from fieldmap.model.fact import Fact
from fieldmap.model.raster import Raster
from fieldmap.model.site import LeftAside
from fieldmap.model.surroundings import KINDS, LEAVES, STANDING
from fieldmap.read.door import SiteFile
from fieldmap.read.outlines.files import (
    Outlines,
    fault_of_area,
    read_outlines,
)
from fieldmap.read.wording import either, faults, likely, quoted, refuse_any

COLUMNS = (
    "name",
    "kind",
    "height_m",
    "porosity",
    "clear_stem_m",
    "leaf",
    "width_m",
)
COLUMNS_ASIDE = ("name", "kind")  # of what is not known well enough to stand
NUMBERS = ("height_m", "porosity", "clear_stem_m", "width_m")
TALLEST_M = 150.0  # over the tallest tree known (about 116 m, from memory) and barns
WIDEST_M = 200.0  # of a line; what is wider is drawn as an area
FARTHEST_ACROSS_M = 100_000.0  # a wood or a lake; a choice
HAS_HEIGHT = (*STANDING, "overhead line")
# Kinds of which more must be given than what the word means by itself.
ASKED = {
    "porosity": ("hedge", "fence", "tree", "trees"),
    "clear_stem_m": ("tree", "trees"),
    "leaf": ("hedge", "tree", "trees"),
}
NOT_WIDENED = ("gate", "post", "water point", "overhead line")
_LINES = ("LineString", "MultiLineString")
_POINTS = ("Point", "MultiPoint")
_AREAS = ("Polygon", "MultiPolygon")


def read_surroundings(path: SiteFile) -> Outlines:
    """What the file holds, checked, in its own CRS; `width_m` is not yet applied.

    Raises
    ------
    SiteError
        With a sentence for every fact that is missing or impossible.
    """
    found = read_outlines(path, "surroundings", COLUMNS)
    problems = found.faults_of_names()
    rows = []
    for number, row in enumerate(found.frame.to_dict("records"), start=1):
        thing, wrong = _checked(row)
        label = problem("shape {number}", number=number)
        called = f" ({quoted(row['name'])})" if row["name"] else ""
        problems += faults(joined(path.name, ": ", label, called), wrong)
        # What has no name goes by its kind where people read of it.
        rows.append({**row, **thing, "name": row["name"] or thing.get("kind")})
    refuse_any(problems, path.name, most=20)
    table = pd.DataFrame(rows, columns=[*COLUMNS, "geometry"], dtype=object)
    frame = gpd.GeoDataFrame(table, geometry="geometry", crs=found.frame.crs)
    return replace(found, frame=_typed(frame))


def no_surroundings(file: SiteFile) -> Outlines:
    """Surroundings without a row, for want of the file."""
    return Outlines(file, _none().copy(), (Fact("no_surroundings", name=file.name),))


@cache
def _none() -> gpd.GeoDataFrame:
    return _typed(gpd.GeoDataFrame(columns=[*COLUMNS, "geometry"], crs=WGS84))


def _typed(frame: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    texts = [column for column in COLUMNS if column not in NUMBERS]
    return frame.astype(dict.fromkeys(NUMBERS, float) | dict.fromkeys(texts, object))


def widened(frame: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Lines and points as areas of their `width_m`; the frame must be in metres.

    Gates, posts, water points and overhead lines stay as drawn. Shapes of several parts
    become several rows.
    """
    parts = frame.explode(ignore_index=True)
    shapes = map(_widened_shape, parts.geometry, parts["kind"], parts["width_m"])
    return parts.set_geometry(gpd.GeoSeries(list(shapes), crs=frame.crs))


def _widened_shape(shape: BaseGeometry, kind: str, width_m: float) -> BaseGeometry:
    if kind in NOT_WIDENED or shape.geom_type == "Polygon":
        return shape
    if shape.geom_type == "LineString":
        return shape.buffer(width_m / 2, cap_style="flat")
    return shape.buffer(width_m / 2)


def on_ground(outlines: Outlines, elevation: Raster) -> Outlines:
    """Surroundings in the working CRS, widened, with a remark on those far away.

    Raises
    ------
    SiteError
        When all of them lie outside the elevation: then it is their place that is wrong;
        or when one reaches farther than anything around a plot does.
    """
    placed = in_crs(outlines.frame, elevation.crs)
    if placed.empty:
        return replace(outlines, frame=placed)
    # Far outside a projection's reach coordinates become infinite.
    is_reached = np.isfinite(placed.bounds.to_numpy()).all(axis=1)
    beyond, placed = int((~is_reached).sum()), placed[is_reached]
    refuse_any(list(_too_wide(outlines, placed)), outlines.file.name)
    # An outline that is clean in degrees may touch itself once it is rounded to metres.
    shapes = placed.geometry
    clean = shapes.where(shapes.is_valid, shapes.make_valid(method="structure"))
    placed = placed.set_geometry(clean)
    placed = widened(placed)
    west, south, east, north = elevation.bounds
    count = beyond + len(placed)
    outside = count - len(placed.cx[west:east, south:north])
    if outside == count:
        raise outlines.file.site_error(
            "{file}: none of the {all} shapes lies on the elevation around the"
            " plots; check their CRS, and that longitude comes before latitude.",
            all=outside,
        )
    remarks = list(outlines.remarks)
    if outside:
        said = {"file": outlines.file.name, "outside": outside, "all": count}
        remarks.append(Fact("shapes_outside", **said))
    return Outlines(outlines.file, placed, tuple(remarks))


def _too_wide(outlines: Outlines, placed: gpd.GeoDataFrame) -> Iterator[Problem]:
    """A sentence on each shape of which a corner lies in another part of the world."""
    west, south, east, north = placed.bounds.to_numpy().T
    across_m = np.maximum(east - west, north - south)
    for number in np.flatnonzero(across_m > FARTHEST_ACROSS_M):
        yield outlines.file.problem(
            "{file}: {name} is {across_km:.0f} km across; things around plots can be up"
            " to {most:g} km across, so look for a corner in the wrong place.",
            name=quoted(placed["name"].iloc[number]),
            across_km=across_m[number] / 1000,
            most=FARTHEST_ACROSS_M / 1000,
        )


def _checked(row: Mapping[str, Any]) -> tuple[dict[str, Any], list[Problem]]:
    """One shape's facts as they are kept, and the ends of sentences on its faults."""
    numbers, unread = _numbers(row)
    if unread:  # further faults of the same shape would only follow from these
        return {}, unread
    kind = " ".join(str(row["kind"] or "").split()).casefold().replace("_", " ")
    if kind not in KINDS:
        return {}, [_fault_of_kind(row["kind"])]
    leaf = None if row["leaf"] is None else str(row["leaf"]).strip().casefold()
    thing = {**numbers, "kind": kind, "leaf": leaf}
    wrong = [
        *_faults_of_shape(row["geometry"], thing),
        *_faults_of_height(thing),
        *_faults_of_openness(thing),
        *_faults_of_leaf(thing),
    ]
    for key in ("porosity", "clear_stem_m"):
        if kind not in STANDING:
            thing[key] = math.nan
        elif math.isnan(numbers[key]):
            thing[key] = 0.0
    if kind not in HAS_HEIGHT:
        thing["height_m"] = math.nan
    return {**thing, "leaf": leaf or "none"}, wrong


def _numbers(row: Mapping[str, Any]) -> tuple[dict[str, float], list[Problem]]:
    """Numbers of a shape, NaN where nothing is given, and what is none."""
    numbers, wrong = {}, []
    for column in NUMBERS:
        value = row[column]
        try:
            numbers[column] = math.nan if value is None else float(str(value))
        except ValueError:
            numbers[column] = math.inf
        if math.isinf(numbers[column]):
            fault = problem(
                "has {column} {value}; it must be a number, with a decimal point",
                column=column,
                value=quoted(value),
            )
            wrong.append(fault)
    return numbers, wrong


def _fault_of_kind(kind: object) -> Problem:
    if kind is None:
        return problem("has no kind; use one of: {right}", right=either(list(KINDS)))
    return problem(
        "has kind {kind}; use one of: {right}{perhaps}",
        kind=quoted(kind),
        right=either(list(KINDS)),
        perhaps=likely(str(kind), KINDS),
    )


def _faults_of_shape(
    shape: BaseGeometry | None, thing: Mapping[str, Any]
) -> Iterator[Problem]:
    """What is wrong with a shape, and with the width that it is given."""
    if shape is None or shape.is_empty:
        yield problem("has no outline; draw it, or delete its row")
        return
    kind, width_m, drawn = thing["kind"], thing["width_m"], shape.geom_type
    said = {**thing, "drawn": drawn, "most": WIDEST_M}
    if drawn in _AREAS:
        if fault := fault_of_area(shape):
            yield fault
    elif drawn not in _LINES + _POINTS:
        yield problem("is drawn as a {drawn}; draw an area, a line or a point", **said)
    if kind == "overhead line" and drawn not in _LINES:
        yield problem("is an overhead line drawn as a {drawn}; draw a line", **said)
    if not (math.isnan(width_m) or 0 < width_m <= WIDEST_M):
        yield problem(
            "has width_m {width_m:g}; it must be more than 0 and at most {most:g}",
            **said,
        )
    must_have_width = kind not in NOT_WIDENED and drawn in _LINES + _POINTS
    if math.isnan(width_m) and must_have_width:
        yield problem(
            "is a {kind} drawn as a {drawn} without width_m; give its"
            " width in metres, or draw it as an area",
            **said,
        )


def _faults_of_height(thing: Mapping[str, Any]) -> Iterator[Problem]:
    kind, height_m = thing["kind"], thing["height_m"]
    said = {**thing, "right": either(STANDING), "most": TALLEST_M}
    if kind not in HAS_HEIGHT:
        # Drawing programs write 0 where nothing was entered.
        if not (math.isnan(height_m) or height_m == 0):
            yield problem(
                "is a {kind}, which lies on the ground, with height_m {height_m:g}; leave"
                " height_m empty, or give the kind that stands there ({right})",
                **said,
            )
    elif not math.isnan(height_m):
        if not 0 < height_m <= TALLEST_M:
            yield problem(
                "has height_m {height_m:g}; it must be more than 0 and at most"
                " {most:g} metres",
                **said,
            )
    elif kind == "overhead line":
        yield problem(
            "is an overhead line without height_m; give the height of its lowest"
            " wire in metres"
        )
    else:
        yield problem(
            "is a {kind} without height_m; give its height above ground in metres",
            **said,
        )


def _faults_of_openness(thing: Mapping[str, Any]) -> Iterator[Problem]:
    kind, porosity = thing["kind"], thing["porosity"]
    clear_stem_m = thing["clear_stem_m"]
    if not (math.isnan(porosity) or 0 <= porosity <= 1):
        yield problem(
            "has porosity {porosity:g}; it must be from 0 (dense) to 1 (open), the"
            " share of light seen through it",
            **thing,
        )
    if math.isnan(porosity) and kind in ASKED["porosity"]:
        yield problem(
            "is a {kind} without porosity; give the share of light seen through it,"
            " from 0 (dense) to 1 (open)",
            **thing,
        )
    if math.isnan(clear_stem_m) and kind in ASKED["clear_stem_m"]:
        yield problem(
            "is a {kind} without clear_stem_m; give the height of the lowest"
            " branches in metres (0 where they reach the ground)",
            **thing,
        )
    elif clear_stem_m < 0:
        yield problem(
            "has clear_stem_m {clear_stem_m:g}; it must be 0 or more", **thing
        )
    elif kind in STANDING and clear_stem_m >= thing["height_m"]:
        yield problem(
            "has clear_stem_m {clear_stem_m:g} with height_m"
            " {height_m:g}; the stem must end below the top",
            **thing,
        )


def _faults_of_leaf(thing: Mapping[str, Any]) -> Iterator[Problem]:
    right = either(LEAVES)
    if thing["kind"] in ASKED["leaf"] and thing["leaf"] is None:
        yield problem("is a {kind} without leaf; say {right}", **thing, right=right)
    elif thing["leaf"] not in (None, *LEAVES):
        leaf = quoted(thing["leaf"])
        yield problem("has leaf {leaf}; use one of: {right}", leaf=leaf, right=right)


# ------------------------------------------------------------------ left aside
def read_aside(path: SiteFile) -> Outlines:
    """Shapes with `name` and `kind`, None where not known, in the file's CRS.

    Raises
    ------
    SiteError
        When the file or a name in it cannot be read.
    """
    found = read_outlines(path, "aside", COLUMNS_ASIDE)
    refuse_any(found.faults_of_names(), path.name)
    return found


def place_aside(outlines: Outlines, elevation: Raster) -> tuple[LeftAside, ...]:
    """The same in the working CRS; a kind that is no word of ours is not known."""
    frame = in_crs(outlines.frame, elevation.crs)
    return tuple(
        LeftAside(
            None if name is None else str(name), kind if kind in KINDS else None, shape
        )
        for name, kind, shape in zip(
            frame["name"], frame["kind"], frame.geometry, strict=True
        )
    )
