"""Beds that exist already: drawn as they lie, used as they are."""

import re
from collections.abc import Iterator, Sequence
from itertools import islice
from typing import Any

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import MultiPolygon, Polygon

from fieldmap.errors import Problem, joined, problem
from fieldmap.model.coordinates import in_crs
from fieldmap.model.site import OwnBed, field_names
from fieldmap.read.door import SiteFile
from fieldmap.read.outlines.files import (
    MOST_OVERLAPS,
    Outlines,
    check_number,
    fault_of_closed_area,
    names_of_several,
    overlaps,
    read_outlines,
)
from fieldmap.read.wording import faults, perhaps, quoted, refuse_any, some

MOST_SAID = 50  # sentences on single beds
MOST_BEDS = 5000  # of 20 m by 75 cm they fill 10 ha
COLUMNS = ("name", "plot", "pegged", "path_within_m", "length_m")
PEGGED = {"yes": True, "no": False, "true": True, "false": False, "none": True}
# Drawn by hand, a bed fills this much of the smallest rectangle around it.
FILLS = 0.9
# Hand-drawn neighbours overlap, and reach over the edge of a plot, by less than this.
SLOPPY_M = 0.1
WIDTHS_M = (0.2, 10.0)
SHORTEST_M, LONGEST_M = 0.5, 2000.0
# Names that `beds.named` may give: the letter of the plot, a block's, a number.
NEW_NAME = re.compile("([A-Z]+)[0-9]+")


def read_beds(path: SiteFile) -> Outlines:
    """Beds with `name` and what else is given, in the file's CRS.

    `plot` is that in which they lie, `pegged` says whether they lie there already (yes
    where it is not given), `path_within_m` is the path between the two strips of a bed,
    `length_m` its length along the ground.

    Raises
    ------
    SiteError
        With a sentence for every bed without a name of its own or a clean outline.
    """
    found = read_outlines(path, "beds", COLUMNS)
    check_number(found, len(found.frame), MOST_BEDS, problem("beds"))
    problems = [*found.faults_of_names(), *_not_its_own_name(found)]
    labels = found.labels(problem("bed {name}"), problem("bed {number} of {count}"))
    rows = found.frame[["pegged", "path_within_m", "length_m", "geometry"]]
    for label, row in zip(labels, rows.itertuples(index=False), strict=True):
        wrong = [*_faults_of_shape(row.geometry), *_faults_of_values(row)]
        problems += faults(joined(path.name, ": ", label), wrong)
    refuse_any(problems, path.name, most=MOST_SAID)
    return found


def _not_its_own_name(found: Outlines) -> Iterator[Problem]:
    """A sentence for each bed without a name, and for each name of several beds."""
    names = found.frame["name"].tolist()
    nameless = [
        found.file.problem(
            "{file}: bed {number} of {count} has no name; give each bed its own.",
            number=number,
            count=len(names),
        )
        for number, name in enumerate(names, start=1)
        if name is None
    ]
    yield from some(nameless, found.file.name)
    for name, count in names_of_several([name for name in names if name is not None]):
        yield found.file.problem(
            "{file}: {count} beds are called {spelt}; give each its own name.",
            count=count,
            spelt=quoted(name),
        )


def _faults_of_shape(shape: object) -> Iterator[Problem]:
    if isinstance(shape, MultiPolygon) and len(shape.geoms) > 1:
        yield problem(
            "lies in {count} pieces; draw one bed for each", count=len(shape.geoms)
        )
    elif fault := fault_of_closed_area(shape):
        yield fault


def _faults_of_values(row: Any) -> Iterator[Problem]:
    if str(row.pegged).casefold() not in PEGGED:
        yield problem(
            "has pegged {pegged}; write yes if the pegs of the bed are in the ground,"
            " or else no",
            pegged=quoted(str(row.pegged)),
        )
    for column, most_m in (("path_within_m", WIDTHS_M[1]), ("length_m", LONGEST_M)):
        value = getattr(row, column)
        if value is not None and (
            isinstance(value, bool | str) or not 0 <= value <= most_m
        ):
            yield problem(
                "has {column} {value}; write a number of metres from 0 to {most:g}",
                column=column,
                value=quoted(str(value)),
                most=most_m,
            )


def place_beds(
    outlines: Outlines, plots: gpd.GeoDataFrame, plots_file: str
) -> tuple[OwnBed, ...]:
    """Beds as rectangles on the plots that they lie in, in the order of the file.

    Parameters
    ----------
    outlines
        Beds as the file has them.
    plots
        In the site's CRS.
    plots_file
        Name of the file of the plots, for messages.

    Raises
    ------
    SiteError
        With a sentence for every bed that is no rectangle, lies outside its plot or
        over another.
    """
    problems: list[Problem] = []
    beds: list[OwnBed] = []
    # But for the breadth of a hand at its edge a plot holds what lies in it.
    grounds = shapely.buffer(plots.geometry.to_numpy(), SLOPPY_M)
    rows = in_crs(outlines.frame, plots.crs)[[*COLUMNS, "geometry"]]
    for name, plot, pegged, within_m, length_m, parts in rows.itertuples(index=False):
        begin = outlines.file.problem("{file}: bed {name}", name=quoted(name))
        shape = max(shapely.get_parts(parts).tolist(), key=lambda each: each.area)
        around = _rectangle(shape)
        inside = _plot_of(shape, plots["name"].tolist(), grounds)
        if fault := _fault_of_size(shape, around):
            problems += faults(begin, [fault])
        elif fault := _fault_of_plot(plot, inside, plots["name"], begin, plots_file):
            problems.append(fault)
        else:
            lies = PEGGED[str(pegged).casefold()]
            sizes = float(within_m or 0), None if length_m is None else float(length_m)
            beds.append(OwnBed(name, str(inside), around, lies, *sizes))
    problems += [
        outlines.file.problem(
            "{file}: beds {one} and {other} overlap"
            " by {area:.1f} m²; draw them side by side.",
            one=quoted(beds[one].name),
            other=quoted(beds[other].name),
            area=area_m2,
        )
        for one, other, area_m2 in islice(
            overlaps([bed.outline for bed in beds], SLOPPY_M), MOST_OVERLAPS
        )
    ]
    problems += _like_new_ones(beds, plots, outlines.file)
    refuse_any(problems, outlines.file.name)
    return tuple(beds)


def _rectangle(shape: Polygon) -> Polygon:
    """The smallest rectangle around a bed, which begins where its outline does.

    Of a bed that was kept that is its end towards the gate, from which its parts count.
    """
    corners = shapely.get_coordinates(shapely.oriented_envelope(shape))[:4]
    begins = shapely.get_coordinates(shape.exterior)[:2]
    turned = [
        np.roll(way, at, axis=0) for way in (corners, corners[::-1]) for at in range(4)
    ]
    away_m = [float(np.hypot(*(each[:2] - begins).T).sum()) for each in turned]
    return Polygon(turned[int(np.argmin(away_m))])


def _fault_of_plot(
    plot: str | None,
    inside: str | None,
    plots: Sequence[str],
    begin: Problem,
    plots_file: str,
) -> Problem | None:
    """What is wrong with the plot that a bed names, beside the one it lies in."""
    said = {"begin": begin, "plot": quoted(plot), "plots_file": plots_file}
    if plot is not None and plot not in set(plots):
        return problem(
            "{begin} has plot {plot}, which is not in {plots_file}{meant}.",
            **said,
            meant=perhaps(plot, plots),
        )
    if inside is None:
        return problem(
            "{begin} is not inside one plot of {plots_file}; move the bed, or draw the"
            " plot around it.",
            **said,
        )
    if plot not in (None, inside):
        return problem(
            "{begin} names plot {plot}, but it lies in {inside}; correct one of them.",
            **said,
            inside=quoted(inside),
        )
    return None


def _like_new_ones(
    beds: Sequence[OwnBed], plots: gpd.GeoDataFrame, file: SiteFile
) -> Iterator[Problem]:
    """A sentence for each bed that is called as one of another plot may be."""
    kept = {bed.plot for bed in beds}
    new = {
        field: name
        for field, name in zip(field_names(plots["name"]), plots["name"], strict=True)
        if name not in kept
    }
    for bed in beds:
        likeness = NEW_NAME.fullmatch(bed.name)
        if likeness and likeness[1] in new:
            other = problem("old {name}", name=bed.name)
            yield file.problem(
                "{file}: the name of bed {name} looks like the names of new beds of plot"
                " {plot}; give the bed another name, such as {other}.",
                name=quoted(bed.name),
                plot=quoted(new[likeness[1]]),
                other=joined("'", other, "'"),
            )


def _fault_of_size(shape: Polygon, around: Polygon) -> Problem | None:
    if shape.area < FILLS * around.area:
        return problem("is far from a rectangle; draw beds as straight strips")
    corners = shapely.get_coordinates(around)[:3]
    width_m, length_m = np.sort(np.hypot(*np.diff(corners, axis=0).T))
    least, most = WIDTHS_M
    if not least <= width_m <= most:
        return problem(
            "is {width_m:.2f} m wide; a bed must be {least:g} to {most:g} m wide, so"
            " look for a corner in the wrong place",
            width_m=width_m,
            least=least,
            most=most,
        )
    if length_m < SHORTEST_M:
        return problem(
            "is {length_m:.2f} m long; a bed must be at least {shortest_m:g} m long",
            length_m=length_m,
            shortest_m=SHORTEST_M,
        )
    return None


def _plot_of(
    shape: Polygon, names: Sequence[str], grounds: npt.NDArray[np.object_]
) -> str | None:
    """Name of the first plot whose ground holds a bed."""
    held = np.flatnonzero(shapely.covers(grounds, shape))
    return str(names[held[0]]) if len(held) else None
