"""Beds that exist already: drawn as they lie, used as they are."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from fieldmap.errors import SiteError
from fieldmap.model.site import OwnBed, letter
from fieldmap.read.outlines.files import (
    Outlines,
    as_told,
    fault_of_area,
    faults_of_names,
    read_names,
    read_outlines,
)
from fieldmap.read.wording import nearest, quoted, some
from fieldmap.show.text.language import _

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
# Names that `beds.named` may give: the letter of the plot, a block's, a number.
NEW_NAME = re.compile("([A-Z]+)[a-z]*[0-9]+")


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
            _(
                "{file}: bed {number} of {count} has no name; give each bed its own."
            ).format(file=file, number=number, count=count)
            for number in nameless
        ]
    )
    told = [name.casefold() for name in names if name is not None]
    for twice in dict.fromkeys(each for each in told if told.count(each) > 1):
        spelt = next(each for each in names if each and each.casefold() == twice)
        problems.append(
            _(
                "{file}: {count} beds are called {spelt}; give each its own name."
            ).format(file=file, count=told.count(twice), spelt=quoted(spelt))
        )
    for number, (name, shape) in enumerate(
        zip(names, found.frame.geometry, strict=True), start=1
    ):
        fault = _fault_of_shape(shape)
        if fault:
            label = (
                _("bed {name}").format(name=quoted(name))
                if name
                else _("bed {number} of {count}").format(number=number, count=count)
            )
            problems.append(f"{file}: {label} {fault}.")
    if problems:
        raise SiteError(problems)
    frame = found.frame.assign(
        name=names, plot=as_told(read_names(found.frame["plot"].tolist()), found.frame)
    )
    return Outlines(frame, found.remarks)


def _fault_of_shape(shape: object) -> str | None:
    if not isinstance(shape, Polygon | MultiPolygon) or shape.is_empty:
        return _("is no closed area; draw it as a Polygon")
    if isinstance(shape, MultiPolygon) and len(shape.geoms) > 1:
        return _("lies in {count} pieces; draw one bed for each").format(
            count=len(shape.geoms)
        )
    fault = fault_of_area(shape)
    return _("has an outline that {fault}").format(fault=fault) if fault else None


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
        begin = _("{file}: bed {name}").format(file=file, name=quoted(name))
        around = shapely.oriented_envelope(shape)
        fault = _fault_of_size(shape, around)
        if fault:
            problems.append(f"{begin} {fault}.")
            continue
        inside = _plot_of(shape, plots)
        if plot is not None and plot not in set(plots["name"]):
            near = nearest(plot, plots["name"])
            meant = (
                _(" (did you mean {near}?)").format(near=quoted(near)) if near else ""
            )
            problems.append(
                _(
                    "{begin} has plot {plot}, which is not in {plots_file}{meant}."
                ).format(
                    begin=begin, plot=quoted(plot), plots_file=plots_file, meant=meant
                )
            )
        elif inside is None:
            problems.append(
                _(
                    "{begin} does not lie in one plot of {plots_file}; move it, or draw the "
                    "plot around it."
                ).format(begin=begin, plots_file=plots_file)
            )
        elif plot is not None and plot != inside:
            problems.append(
                _("{begin} has plot {plot} and lies in {inside}; mend one.").format(
                    begin=begin, plot=quoted(plot), inside=quoted(inside)
                )
            )
        else:
            beds.append(OwnBed(name, inside, around))
    problems += _overlaps([(bed.name, bed.outline) for bed in beds], file)
    problems += _like_new_ones(beds, plots, file)
    if problems:
        raise SiteError(some(problems))
    return tuple(beds)


def _like_new_ones(
    beds: Sequence[OwnBed], plots: gpd.GeoDataFrame, file: str
) -> list[str]:
    """A sentence for each bed that is called as one of another plot may be."""
    kept = {bed.plot for bed in beds}
    new = {
        letter(number): name
        for number, name in enumerate(plots["name"])
        if name not in kept
    }
    problems = []
    for bed in beds:
        likeness = NEW_NAME.fullmatch(bed.name)
        plot = new.get(likeness[1]) if likeness else None
        if plot is not None:
            problems.append(
                _(
                    "{file}: bed {name} is called as new beds of plot {plot} are; give "
                    "it another name, such as {other}."
                ).format(
                    file=file,
                    name=quoted(bed.name),
                    plot=quoted(plot),
                    other=quoted(_("old {name}").format(name=bed.name)),
                )
            )
    return problems


def _fault_of_size(shape: Polygon, around: Polygon) -> str | None:
    if shape.area < FILLS * around.area:
        return _("is no rectangle, not even nearly; draw beds as straight strips")
    corners = shapely.get_coordinates(around)[:3]
    width_m, length_m = np.sort(np.hypot(*np.diff(corners, axis=0).T))
    if not WIDTHS_M[0] <= width_m <= WIDTHS_M[1]:
        return _(
            "is {width_m:.2f} m wide; {least:g} to {most:g} m is right, so "
            "look for a misplaced corner"
        ).format(width_m=width_m, least=WIDTHS_M[0], most=WIDTHS_M[1])
    if length_m < SHORTEST_M:
        return _(
            "is {length_m:.2f} m long; a bed is {shortest_m:g} m long at least"
        ).format(length_m=length_m, shortest_m=SHORTEST_M)
    return None


def _plot_of(shape: Polygon, plots: gpd.GeoDataFrame) -> str | None:
    """Name of the plot that holds a bed, but for the breadth of a hand at its edge."""
    for name, outline in zip(plots["name"], plots.geometry, strict=True):
        if outline.buffer(SLOPPY_M).covers(shape):
            return str(name)
    return None


def _overlaps(beds: Sequence[tuple[str, Polygon]], file: str) -> list[str]:
    shapes = np.array([shape for _, shape in beds], object)
    problems = []
    pairs = shapely.STRtree(shapes).query(shapes, predicate="intersects").T.tolist()
    for one, other in sorted(pairs):
        if one >= other:
            continue
        shared = shapes[one].intersection(shapes[other])
        if not shared.buffer(-SLOPPY_M / 2).is_empty:
            problems.append(
                _(
                    "{file}: beds {one} and {other} overlap"
                    " by {area:.1f} m²; draw them side by side."
                ).format(
                    file=file,
                    one=quoted(beds[one][0]),
                    other=quoted(beds[other][0]),
                    area=shared.area,
                )
            )
    return problems
