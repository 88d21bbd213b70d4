"""What stands and lies around the plots, with what must be told of each kind.

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
=============  ==================  ========  ========  ============  ====  =========

"line, point": asked where the kind is drawn as a line or a point, which is widened to
an area of that width (of a tree: its crown); lines end flat, as a hedge does. The
height of an overhead line is that of its lowest wire. `leaf` of what has none is
"none".
"""

import math
from collections.abc import Iterator, Mapping
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import pyproj
from shapely.geometry import (
    LineString,
    MultiLineString,
    MultiPoint,
    MultiPolygon,
    Point,
    Polygon,
)
from shapely.geometry.base import BaseGeometry

from fieldmap.errors import Problem, joined, problem, site_error
from fieldmap.model.fact import Fact
from fieldmap.model.raster import Raster
from fieldmap.model.site import KINDS, LEAVES, STANDING
from fieldmap.read.door import SiteFile
from fieldmap.read.outlines.files import (
    Outlines,
    fault_of_area,
    faults_of_names,
    read_names,
    read_outlines,
)
from fieldmap.read.wording import either, faults, nearest, quoted, refuse_any

COLUMNS = (
    "name",
    "kind",
    "height_m",
    "porosity",
    "clear_stem_m",
    "leaf",
    "width_m",
)
NUMBERS = ("height_m", "porosity", "clear_stem_m", "width_m")
TALLEST_M = 150.0  # over the tallest tree known (about 116 m, from memory) and barns
WIDEST_M = 200.0  # of a line; what is wider is drawn as an area
HAS_HEIGHT = (*STANDING, "overhead line")
ASKED_POROSITY = ("hedge", "fence", "tree", "trees")
ASKED_CLEAR_STEM = ("tree", "trees")
ASKED_LEAF = ("hedge", "tree", "trees")
NOT_WIDENED = ("gate", "water point", "overhead line")
_LINES = (LineString, MultiLineString)
_POINTS = (Point, MultiPoint)
_AREAS = (Polygon, MultiPolygon)


def read_surroundings(path: SiteFile) -> Outlines:
    """What the file tells, checked, in its own CRS; `width_m` is not yet applied.

    Raises
    ------
    SiteError
        With a sentence for every fact that is missing or impossible.
    """
    file = path.name
    found = read_outlines(path, "surroundings", COLUMNS)
    rows = found.frame.to_dict("records")
    names = read_names([row["name"] for row in rows])
    problems = faults_of_names(names, file)
    told = []
    for number, (row, name) in enumerate(zip(rows, names, strict=True), start=1):
        thing, wrong = _checked(row)
        label = problem("shape {number}", number=number)
        called = f" ({quoted(name)})" if name else ""
        problems += faults(joined(file, ": ", label, called), wrong)
        # What has no name goes by its kind where people read of it.
        told.append(
            {**thing, "name": name or thing.get("kind"), "geometry": row["geometry"]}
        )
    refuse_any(problems, file, most=20)
    table = pd.DataFrame(told, columns=[*COLUMNS, "geometry"], dtype=object)
    frame = gpd.GeoDataFrame(table, geometry="geometry", crs=found.frame.crs)
    return Outlines(_typed(frame), found.remarks)


def none_told(crs: pyproj.CRS) -> gpd.GeoDataFrame:
    """Surroundings without a row."""
    frame = gpd.GeoDataFrame(
        {column: [] for column in COLUMNS}, geometry=gpd.GeoSeries([]), crs=crs
    )
    return _typed(frame)


def _typed(frame: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    texts = [column for column in COLUMNS if column not in NUMBERS]
    return frame.astype(dict.fromkeys(NUMBERS, float) | dict.fromkeys(texts, object))


def widened(frame: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Lines and points as areas of their `width_m`; the frame must be in metres.

    Gates, water points and overhead lines stay as drawn. Shapes of several parts
    become several rows.
    """
    parts = frame.explode(ignore_index=True)
    shapes = [
        _widened_shape(shape, kind, width_m)
        for shape, kind, width_m in zip(
            parts.geometry, parts["kind"], parts["width_m"], strict=True
        )
    ]
    return parts.set_geometry(gpd.GeoSeries(shapes, crs=frame.crs))


def _widened_shape(shape: BaseGeometry, kind: str, width_m: float) -> BaseGeometry:
    if kind in NOT_WIDENED or isinstance(shape, Polygon):
        return shape
    if isinstance(shape, LineString):
        return shape.buffer(width_m / 2, cap_style="flat")
    return shape.buffer(width_m / 2)


def on_ground(told: Outlines, elevation: Raster, file: str) -> Outlines:
    """Surroundings in the working CRS, widened, with a remark on those far away.

    Raises
    ------
    SiteError
        When all of them lie outside the elevation: then it is their place that is wrong.
    """
    placed = told.frame.to_crs(elevation.crs)
    if placed.empty:
        return Outlines(placed, told.remarks)
    placed = widened(placed)
    west, south, east, north = elevation.bounds
    near = placed.cx[west:east, south:north]
    if near.empty:
        raise site_error(
            "{file}: none of the {all} shapes lies on the elevation around the"
            " plots; check their CRS, and that longitude comes before latitude.",
            file=file,
            all=len(placed),
        )
    if len(near) == len(placed):
        return Outlines(placed, told.remarks)
    outside = Fact(
        "shapes_outside", file=file, outside=len(placed) - len(near), all=len(placed)
    )
    return Outlines(placed, (*told.remarks, outside))


def _checked(row: Mapping[str, Any]) -> tuple[dict[str, object], list[Problem]]:
    """One shape's facts as they are kept, and the ends of sentences on its faults."""
    numbers, unread = _numbers(row)
    if unread:  # further faults of the same shape would only follow from these
        return {}, unread
    kind = "" if row["kind"] is None else " ".join(str(row["kind"]).split()).casefold()
    kind = kind.replace("_", " ")
    if kind not in KINDS:
        return {}, [_fault_of_kind(row["kind"])]
    leaf = None if row["leaf"] is None else str(row["leaf"]).strip().casefold()
    shape = row["geometry"]
    wrong = [
        *_faults_of_shape(shape, kind),
        *_faults_of_width(shape, kind, numbers["width_m"]),
        *_faults_of_height(kind, numbers["height_m"]),
        *_faults_of_openness(kind, numbers),
        *_faults_of_leaf(kind, leaf),
    ]
    standing = kind in STANDING
    return {
        "kind": kind,
        "height_m": numbers["height_m"] if kind in HAS_HEIGHT else np.nan,
        "porosity": _else(numbers["porosity"], 0.0) if standing else np.nan,
        "clear_stem_m": _else(numbers["clear_stem_m"], 0.0) if standing else np.nan,
        "leaf": leaf or "none",
        "width_m": numbers["width_m"],
    }, wrong


def _else(value: float, default: float) -> float:
    return default if math.isnan(value) else value


def _numbers(row: Mapping[str, Any]) -> tuple[dict[str, float], list[Problem]]:
    """Numbers of a shape, NaN where nothing is told, and what is none."""
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
        return problem("has no kind; right are {right}", right=either(KINDS))
    near = nearest(str(kind), KINDS)
    return problem(
        "has kind {kind}; right are {right}{perhaps}",
        kind=quoted(kind),
        right=either(KINDS),
        perhaps=problem(" (perhaps {near})", near=quoted(near)) if near else "",
    )


def _faults_of_shape(shape: BaseGeometry | None, kind: str) -> Iterator[Problem]:
    if shape is None or shape.is_empty:
        yield problem("has no outline; draw it, or delete its row")
        return
    drawn = shape.geom_type
    if isinstance(shape, _AREAS):
        if fault := fault_of_area(shape):
            yield fault
    elif not isinstance(shape, _LINES + _POINTS):
        yield problem(
            "is drawn as a {drawn}; draw an area, a line or a point", drawn=drawn
        )
    if kind == "overhead line" and not isinstance(shape, _LINES):
        yield problem(
            "is an overhead line drawn as a {drawn}; draw a line", drawn=drawn
        )


def _faults_of_width(
    shape: BaseGeometry | None, kind: str, width_m: float
) -> Iterator[Problem]:
    if shape is None or shape.is_empty:
        return
    if not math.isnan(width_m):
        if not 0 < width_m <= WIDEST_M:
            yield problem(
                "has width_m {width_m:g}; it must be more than 0 and at most {most:g}",
                width_m=width_m,
                most=WIDEST_M,
            )
    elif kind not in NOT_WIDENED and isinstance(shape, _LINES + _POINTS):
        yield problem(
            "is a {kind} drawn as a {drawn} without width_m; give its"
            " width in metres, or draw it as an area",
            kind=kind,
            drawn=shape.geom_type,
        )


def _faults_of_height(kind: str, height_m: float) -> Iterator[Problem]:
    said = {"kind": kind, "height_m": height_m}
    if kind not in HAS_HEIGHT:
        # Drawing programs write 0 where nothing was entered.
        if not (math.isnan(height_m) or height_m == 0):
            yield problem(
                "is a {kind}, which lies on the ground, with height_m {height_m:g}; leave"
                " height_m empty, or give the kind that stands there ({right})",
                **said,
                right=either(STANDING),
            )
    elif not math.isnan(height_m):
        if not 0 < height_m <= TALLEST_M:
            yield problem(
                "has height_m {height_m:g}; it must be more than 0 and at most"
                " {most:g} metres",
                **said,
                most=TALLEST_M,
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


def _faults_of_openness(kind: str, numbers: Mapping[str, float]) -> Iterator[Problem]:
    porosity, clear_stem_m = numbers["porosity"], numbers["clear_stem_m"]
    if not (math.isnan(porosity) or 0 <= porosity <= 1):
        yield problem(
            "has porosity {porosity:g}; it must be from 0 (dense) to 1 (open), the"
            " share of light seen through it",
            porosity=porosity,
        )
    if math.isnan(porosity) and kind in ASKED_POROSITY:
        yield problem(
            "is a {kind} without porosity; give the share of light seen through it,"
            " from 0 (dense) to 1 (open)",
            kind=kind,
        )
    if math.isnan(clear_stem_m):
        if kind in ASKED_CLEAR_STEM:
            yield problem(
                "is a {kind} without clear_stem_m; give the height of the lowest"
                " branches in metres (0 where they reach the ground)",
                kind=kind,
            )
    elif clear_stem_m < 0:
        yield problem(
            "has clear_stem_m {clear_stem_m:g}; it must be 0 or more",
            clear_stem_m=clear_stem_m,
        )
    elif kind in STANDING and clear_stem_m >= numbers["height_m"]:
        yield problem(
            "has clear_stem_m {clear_stem_m:g} with height_m"
            " {height_m:g}; the stem must end below the top",
            **numbers,
        )


def _faults_of_leaf(kind: str, leaf: str | None) -> Iterator[Problem]:
    right = either(LEAVES)
    if kind in ASKED_LEAF and leaf is None:
        yield problem("is a {kind} without leaf; say {right}", kind=kind, right=right)
    elif leaf is not None and leaf not in LEAVES:
        yield problem(
            "has leaf {leaf}; right are {right}", leaf=quoted(leaf), right=right
        )
