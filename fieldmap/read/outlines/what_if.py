"""What the grower thinks of changing around the plots, as surroundings.

The choices are checked by `read.settings`; here names and places are looked up.
"""

import itertools
from collections import Counter
from collections.abc import Sequence
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import pyproj
import shapely
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry

from fieldmap.errors import Problem, SiteError, problem, site_error
from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.fact import Fact
from fieldmap.model.settings import Addition, Gap, Units, WhatIf
from fieldmap.model.site import Alternative
from fieldmap.model.surroundings import STANDING
from fieldmap.read.door import CHOICES_FILE
from fieldmap.read.outlines.surroundings import ASKED
from fieldmap.read.wording import length, nearest, quoted

# A gap is meant for the thing it names when its place is so near (a choice).
NEAR_M = 15.0


def imagine(
    wanted: Sequence[WhatIf], around: gpd.GeoDataFrame, units: Units
) -> tuple[Alternative, ...]:
    """The surroundings after each change.

    Parameters
    ----------
    wanted
        The changes, as `site.toml` has them.
    around
        What stands around now, in the working CRS.
    units
        Units of lengths in messages.

    Raises
    ------
    SiteError
        When a name is unknown or double, a gap lies off its thing, a fact is missing
        of what is added, or nothing changes.
    """
    names = Counter(one.name for one in wanted)
    problems: list[Problem | str] = [
        problem(
            "{file}: {count} tables [[what_if]] are named {name}; give"
            " each a name of its own.",
            file=CHOICES_FILE,
            count=count,
            name=quoted(name),
        )
        for name, count in sorted(names.items())
        if count > 1
    ]
    found = []
    for one in wanted:
        try:
            found.append(_imagined(one, around, units))
        except SiteError as error:
            problems += error.problems
    if problems:
        raise SiteError(problems)
    return tuple(found)


def _imagined(one: WhatIf, around: gpd.GeoDataFrame, units: Units) -> Alternative:
    label = problem(
        "{file}: [[what_if]] {name}", file=CHOICES_FILE, name=quoted(one.name)
    )
    if not (one.take_away or one.gaps or one.additions):
        raise site_error(
            "{label} changes nothing; give it take_away, gaps or additions.",
            label=label,
        )
    there = around.copy()
    done: list[tuple[BaseGeometry, float, Fact]] = []
    for name in one.take_away:
        these = there["name"] == _known(name, there, label)
        for thing in there[these].itertuples():
            taken = Fact("thing_taken_away", name=name)
            done.append((thing.geometry, thing.height_m, taken))
        there = there[~these]
    for gap in one.gaps:
        at, opening = _opening(gap, there, label, units)
        thing = there.loc[at]
        made = Fact("gap_made", width_m=gap.width_m, thing=gap.of)
        done.append((thing.geometry.intersection(opening), thing.height_m, made))
        there.loc[at, "geometry"] = thing.geometry.difference(opening)
        # A gap as wide as its thing leaves nothing of it.
        there = there[~there.geometry.is_empty]
    if one.additions:
        rows = [_added(addition, there.crs, label) for addition in one.additions]
        for row, asked in zip(rows, one.additions, strict=True):
            size = {"height_m": asked.height_m, "width_m": asked.width_m}
            added = Fact("thing_added", name=row["name"], **size)
            done.append((row["geometry"], row["height_m"], added))
        more = gpd.GeoDataFrame(rows, geometry="geometry", crs=there.crs)
        there = more if there.empty else pd.concat([there, more], ignore_index=True)
    outlines, heights_m, changes = zip(*done, strict=True)
    # What is done to a thing in several parts is said once.
    said = [change for at, change in enumerate(changes) if change not in changes[:at]]
    tallest_m = float(np.nanmax((0.0, *heights_m)))
    return Alternative(
        one.name, there, shapely.union_all(outlines), tallest_m, tuple(said)
    )


def _known(name: str, around: gpd.GeoDataFrame, label: Problem) -> str:
    """The name of something that stands, or a sentence with the nearest one."""
    standing = around[around["kind"].isin(STANDING)]
    names = [str(each) for each in standing["name"]]
    if name in names:
        return name
    near = nearest(name, names)
    raise site_error(
        "{label} names {name}, which is not a hedge, tree, building, wall, fence or"
        " bank of the surroundings{perhaps}",
        label=label,
        name=quoted(name),
        perhaps=problem("; did you mean {near}?", near=quoted(near)) if near else ".",
    )


def _opening(
    gap: Gap, around: gpd.GeoDataFrame, label: Problem, units: Units
) -> tuple[Any, BaseGeometry]:
    """Which row a gap opens, and the ground it frees across the whole thing."""
    _known(gap.of, around, label)
    (place,) = _in_crs([(gap.longitude, gap.latitude)], around.crs)
    point = Point(place)
    parts = around[around["name"] == gap.of]
    away_m = parts.geometry.distance(point)
    at = away_m.idxmin()
    if away_m[at] > NEAR_M:
        raise site_error(
            "{label}: the gap at longitude {longitude:g}, latitude {latitude:g} lies"
            " {away} from {thing}; give a place on it or within {near}.",
            label=label,
            longitude=gap.longitude,
            latitude=gap.latitude,
            away=length(round(away_m[at]), units),
            thing=quoted(gap.of),
            near=length(NEAR_M, units),
        )
    outline = parts.geometry[at]
    middle = shapely.get_coordinates(shapely.shortest_line(point, outline))[1]
    along = _direction(outline, Point(middle))
    across = np.array([-along[1], along[0]])
    # A strip of area A and rim P is about 2 A / P wide.
    reach_m = 4.0 * outline.area / outline.length
    strip = LineString([middle - reach_m * across, middle + reach_m * across])
    return at, strip.buffer(gap.width_m / 2.0, cap_style="flat")


def _direction(outline: BaseGeometry, near: Point) -> np.ndarray[Any, Any]:
    """Unit vector along the longest edge of an outline that passes near a point.

    Short edges are the ends of a strip; a point beside an end means the strip too.
    """
    strip_m = 2.0 * outline.area / outline.length
    best, longest = np.array([1.0, 0.0]), -1.0
    for ring in shapely.get_rings(shapely.get_parts(outline)):
        corners = shapely.get_coordinates(ring)
        for start, end in itertools.pairwise(corners):
            size_m = float(np.hypot(*(end - start)))
            edge = LineString([start, end])
            if edge.distance(near) <= strip_m + 0.01 and size_m > longest:
                best, longest = (end - start) / size_m, size_m
    return best


def _added(addition: Addition, crs: pyproj.CRS, label: Problem) -> dict[str, Any]:
    """A row of the surroundings, with what its kind must tell."""
    said = {"label": label, "name": quoted(addition.name), "kind": addition.kind}
    for key, kinds in ASKED.items():
        if addition.kind in kinds and getattr(addition, key) is None:
            raise site_error(
                "{label}: {name} is a {kind} without {key}; add a line {key} = ...",
                **said,
                key=key,
            )
    line = LineString(_in_crs(addition.line, crs))
    if not line.length > 0:
        raise site_error(
            "{label}: the line of {name} has no length; give two places that differ.",
            **said,
        )
    return {
        **addition.model_dump(exclude={"line"}),
        "porosity": addition.porosity or 0.0,
        "clear_stem_m": addition.clear_stem_m or 0.0,
        "leaf": addition.leaf or "none",
        "geometry": line.buffer(addition.width_m / 2.0, cap_style="flat"),
    }


def _in_crs(
    places: Sequence[tuple[float, float]], crs: pyproj.CRS
) -> np.ndarray[Any, Any]:
    """Longitudes and latitudes as (places, 2) metres of the working CRS."""
    to_site = transformer(WGS84, crs)
    return np.stack(to_site.transform(*np.array(places).T), axis=1)
