"""Beds that exist already: drawn as they lie, used as they are."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from fieldmap.errors import SiteError
from fieldmap.reading.outlines import (
    Outlines,
    fault_of_area,
    faults_of_names,
    read_names,
    read_outlines,
)
from fieldmap.reading.sentences import nearest, quoted, some
from fieldmap.site import OwnBed

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    import geopandas as gpd

COLUMNS = ("name", "plot")
# Drawn by hand, a bed fills this much of the smallest rectangle around it.
FILLS = 0.9
# Hand-drawn neighbours overlap, and reach over the edge of a plot, by less than this.
SLOPPY_M = 0.1
WIDTHS_M = (0.2, 10.0)
SHORTEST_M = 0.5


def read_beds(path: Path, file: str) -> Outlines:
    """Beds with `name` and `plot` (None where not told), in the file's CRS.

    Raises
    ------
    SiteError
        With a sentence for every bed without a name of its own or a clean outline.
    """
    found = read_outlines(path, file, "beds", COLUMNS)
    names = read_names(found.frame["name"].tolist())
    problems = faults_of_names(names, file)
    count = len(names)
    nameless = [number for number, name in enumerate(names, start=1) if name is None]
    problems += some(
        [
            f"{file}: bed {number} of {count} has no name; give each bed its own."
            for number in nameless
        ]
    )
    told = [name.casefold() for name in names if name is not None]
    for twice in dict.fromkeys(each for each in told if told.count(each) > 1):
        spelt = next(each for each in names if each and each.casefold() == twice)
        problems.append(
            f"{file}: {told.count(twice)} beds are called {quoted(spelt)}; give each its "
            "own name."
        )
    for number, (name, shape) in enumerate(
        zip(names, found.frame.geometry, strict=True), start=1
    ):
        fault = _fault_of_shape(shape)
        if fault:
            label = f"bed {quoted(name)}" if name else f"bed {number} of {count}"
            problems.append(f"{file}: {label} {fault}.")
    if problems:
        raise SiteError(problems)
    frame = found.frame.assign(
        name=names, plot=read_names(found.frame["plot"].tolist())
    )
    return Outlines(frame, found.remarks)


def _fault_of_shape(shape: object) -> str | None:
    if not isinstance(shape, Polygon | MultiPolygon) or shape.is_empty:
        return "is no closed area; draw it as a Polygon"
    if isinstance(shape, MultiPolygon) and len(shape.geoms) > 1:
        return f"lies in {len(shape.geoms)} pieces; draw one bed for each"
    fault = fault_of_area(shape)
    return f"has an outline that {fault}" if fault else None


def place_beds(
    told: Outlines, plots: gpd.GeoDataFrame, file: str, plots_file: str
) -> tuple[OwnBed, ...]:
    """Beds as rectangles on the plots that they lie in, in the order of the file.

    Parameters
    ----------
    plots
        In the site's CRS.

    Raises
    ------
    SiteError
        With a sentence for every bed that is no rectangle, lies outside its plot or
        over another.
    """
    drawn = [
        max(shapely.get_parts(shape).tolist(), key=lambda each: each.area)
        for shape in told.frame.geometry.to_crs(plots.crs)
    ]
    problems: list[str] = []
    beds: list[OwnBed] = []
    for name, plot, shape in zip(
        told.frame["name"], told.frame["plot"], drawn, strict=True
    ):
        begin = f"{file}: bed {quoted(name)}"
        around = shapely.oriented_envelope(shape)
        fault = _fault_of_size(shape, around)
        if fault:
            problems.append(f"{begin} {fault}.")
            continue
        inside = _plot_of(shape, plots)
        if plot is not None and plot not in set(plots["name"]):
            near = nearest(plot, plots["name"])
            meant = f" (did you mean {quoted(near)}?)" if near else ""
            problems.append(
                f"{begin} has plot {quoted(plot)}, which is not in {plots_file}{meant}."
            )
        elif inside is None:
            problems.append(
                f"{begin} does not lie in one plot of {plots_file}; move it, or draw the "
                "plot around it."
            )
        elif plot is not None and plot != inside:
            problems.append(
                f"{begin} has plot {quoted(plot)} and lies in {quoted(inside)}; mend one."
            )
        else:
            beds.append(OwnBed(name, inside, around))
    problems += _overlaps([(bed.name, bed.outline) for bed in beds], file)
    if problems:
        raise SiteError(some(problems))
    return tuple(beds)


def _fault_of_size(shape: Polygon, around: Polygon) -> str | None:
    if shape.area < FILLS * around.area:
        return "is no rectangle, not even nearly; draw beds as straight strips"
    corners = shapely.get_coordinates(around)[:3]
    width_m, length_m = np.sort(np.hypot(*np.diff(corners, axis=0).T))
    if not WIDTHS_M[0] <= width_m <= WIDTHS_M[1]:
        return (
            f"is {width_m:.2f} m wide; {WIDTHS_M[0]:g} to {WIDTHS_M[1]:g} m is right, so "
            "look for a misplaced corner"
        )
    if length_m < SHORTEST_M:
        return f"is {length_m:.2f} m long; a bed is {SHORTEST_M:g} m long at least"
    return None


def _plot_of(shape: Polygon, plots: gpd.GeoDataFrame) -> str | None:
    """Name of the plot that holds a bed, but for the breadth of a hand at its edge."""
    for name, outline in zip(plots["name"], plots.geometry, strict=True):
        if outline.buffer(SLOPPY_M).covers(shape):
            return str(name)
    return None


def _overlaps(beds: Sequence[tuple[str, Polygon]], file: str) -> list[str]:
    shapes = [shape for _, shape in beds]
    problems = []
    pairs = shapely.STRtree(shapes).query(shapes, predicate="intersects").T.tolist()
    for one, other in sorted(pairs):
        if one >= other:
            continue
        shared = shapes[one].intersection(shapes[other])
        if not shared.buffer(-SLOPPY_M / 2).is_empty:
            problems.append(
                f"{file}: beds {quoted(beds[one][0])} and {quoted(beds[other][0])} overlap"
                f" by {shared.area:.1f} m²; draw them side by side."
            )
    return problems
