"""What the grower thinks of changing around the plots, as surroundings.

The choices are checked by `choices`; here names and places are looked up.
"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd
import pyproj
import shapely
from shapely.geometry import LineString, Point

from fieldmap.errors import SiteError
from fieldmap.model.site import STANDING, Alternative
from fieldmap.read.outlines.surroundings import (
    ASKED_CLEAR_STEM,
    ASKED_LEAF,
    ASKED_POROSITY,
)
from fieldmap.read.wording import nearest, quoted
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely.geometry.base import BaseGeometry

    from fieldmap.model.settings import Addition, Gap, WhatIf

FILE = "site.toml"
# A gap is meant for the thing it names when its place is so near (a choice).
NEAR_M = 15.0


def imagine(
    wanted: Sequence[WhatIf], around: gpd.GeoDataFrame, units: quantities.Units
) -> tuple[Alternative, ...]:
    """The surroundings after each change.

    Parameters
    ----------
    around
        What stands around now, in the working CRS.

    Raises
    ------
    SiteError
        When a name is unknown or double, a gap lies off its thing, a fact is missing
        of what is added, or nothing changes.
    """
    problems = _faults_of_names([one.name for one in wanted])
    found = []
    for one in wanted:
        try:
            found.append(_imagined(one, around, units))
        except SiteError as error:
            problems += error.problems
    if problems:
        raise SiteError(problems)
    return tuple(found)


def _faults_of_names(names: list[str]) -> list[str]:
    double = sorted({name for name in names if names.count(name) > 1})
    return [
        _(
            "{file}: {count} tables [[what_if]] are named {name}; give"
            " each a name of its own."
        ).format(file=FILE, count=names.count(name), name=quoted(name))
        for name in double
    ]


def _imagined(
    one: WhatIf, around: gpd.GeoDataFrame, units: quantities.Units
) -> Alternative:
    label = _("{file}: [[what_if]] {name}").format(file=FILE, name=quoted(one.name))
    if not (one.take_away or one.gaps or one.additions):
        raise SiteError(
            _("{label} changes nothing; give it take_away, gaps or additions.").format(
                label=label
            )
        )
    there, changes = around.copy(), []
    changed: list[BaseGeometry] = []
    heights_m = [0.0]

    def note(geometry: BaseGeometry, height_m: float, words_: str) -> None:
        changed.append(geometry)
        heights_m.append(height_m)
        changes.append(words_)

    for name in one.take_away:
        these = there["name"] == _known(name, there, label)
        for thing in there[these].itertuples():
            note(
                thing.geometry,
                thing.height_m,
                _("the {name} is taken away").format(name=_(name)),
            )
        there = there[~these]
    for gap in one.gaps:
        at, opening = _opening(gap, there, label, units)
        thing = there.loc[at]
        note(
            thing.geometry.intersection(opening),
            thing.height_m,
            _("a gap of {width} in the {thing}").format(
                width=quantities.length(gap.width_m, units), thing=_(gap.of)
            ),
        )
        there.loc[at, "geometry"] = thing.geometry.difference(opening)
        there = there[~there.geometry.is_empty]
    if one.additions:
        rows = [_added(addition, around.crs, label) for addition in one.additions]
        for row in rows:
            note(
                row["geometry"],
                row["height_m"],
                _("{name} is added").format(name=row["name"]),
            )
        more = gpd.GeoDataFrame(rows, geometry="geometry", crs=around.crs)
        there = more if there.empty else pd.concat([there, more], ignore_index=True)
    return Alternative(
        one.name,
        there,
        shapely.union_all(changed),
        float(np.nanmax(heights_m)),
        tuple(dict.fromkeys(changes)),
    )


def _known(name: str, around: gpd.GeoDataFrame, label: str) -> str:
    """The name of something that stands, or a sentence with the nearest one."""
    standing = around[around["kind"].isin(STANDING)]
    names = [str(each) for each in standing["name"]]
    if name in names:
        return name
    near = nearest(name, names)
    perhaps = _("; did you mean {near}?").format(near=quoted(near)) if near else "."
    raise SiteError(
        _(
            "{label} speaks of {name}, which is no hedge, tree, building, wall,"
            " fence or bank of the surroundings{perhaps}"
        ).format(label=label, name=quoted(name), perhaps=perhaps)
    )


def _opening(
    gap: Gap, around: gpd.GeoDataFrame, label: str, units: quantities.Units
) -> tuple[Any, BaseGeometry]:
    """Which row a gap opens, and the ground it frees across the whole thing."""
    _known(gap.of, around, label)
    (place,) = _in_crs([(gap.longitude, gap.latitude)], around.crs)
    point = Point(place)
    parts = around[around["name"] == gap.of]
    away_m = parts.geometry.distance(point)
    at = away_m.idxmin()
    if away_m[at] > NEAR_M:
        raise SiteError(
            _(
                "{label}: the gap at longitude {longitude:g}, latitude"
                " {latitude:g} lies {away} from"
                " {thing}; give a place on it or within"
                " {near}."
            ).format(
                label=label,
                longitude=gap.longitude,
                latitude=gap.latitude,
                away=quantities.length(round(away_m[at]), units),
                thing=quoted(gap.of),
                near=quantities.length(NEAR_M, units),
            )
        )
    outline = parts.geometry[at]
    nearest_point = shapely.get_coordinates(shapely.shortest_line(point, outline))[1]
    along = _direction(outline, Point(nearest_point))
    across = np.array([-along[1], along[0]])
    # A strip of area A and rim P is about 2 A / P wide.
    reach_m = 4.0 * outline.area / outline.length
    middle, half = nearest_point, gap.width_m / 2.0 * along
    return at, LineString(
        [middle - reach_m * across, middle + reach_m * across]
    ).buffer(float(np.hypot(*half)), cap_style="flat")


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


def _added(addition: Addition, crs: pyproj.CRS, label: str) -> dict[str, Any]:
    """A row of the surroundings, with what its kind must tell."""
    asked = {
        "porosity": ASKED_POROSITY,
        "clear_stem_m": ASKED_CLEAR_STEM,
        "leaf": ASKED_LEAF,
    }
    for key, kinds in asked.items():
        if addition.kind in kinds and getattr(addition, key) is None:
            raise SiteError(
                _(
                    "{label}: {name} is a {kind} without {key}; add a line {key} = ..."
                ).format(
                    label=label, name=quoted(addition.name), kind=addition.kind, key=key
                )
            )
    line = LineString(_in_crs(addition.line, crs))
    if not line.length > 0:
        raise SiteError(
            _(
                "{label}: the line of {name} has no length; give two"
                " places that differ."
            ).format(label=label, name=quoted(addition.name))
        )
    return {
        "name": addition.name,
        "kind": addition.kind,
        "height_m": addition.height_m,
        "porosity": addition.porosity or 0.0,
        "clear_stem_m": addition.clear_stem_m or 0.0,
        "leaf": addition.leaf or "none",
        "width_m": addition.width_m,
        "geometry": line.buffer(addition.width_m / 2.0, cap_style="flat"),
    }


def _in_crs(
    places: Sequence[tuple[float, float]], crs: pyproj.CRS
) -> np.ndarray[Any, Any]:
    """Longitudes and latitudes as (places, 2) metres of the working CRS."""
    to_site = pyproj.Transformer.from_crs(4326, crs, always_xy=True)
    return np.stack(to_site.transform(*np.array(places).T), axis=1)
