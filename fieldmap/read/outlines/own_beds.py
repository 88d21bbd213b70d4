"""Beds that exist already: drawn as they lie, used as they are."""

import re
from collections import Counter
from collections.abc import Iterator, Sequence

import geopandas as gpd
import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from fieldmap.errors import Problem, SiteError, joined, problem
from fieldmap.model.site import OwnBed, letter
from fieldmap.read.door import SiteFile
from fieldmap.read.outlines.files import (
    Outlines,
    as_told,
    fault_of_closed_area,
    faults_of_names,
    overlaps,
    read_names,
    read_outlines,
)
from fieldmap.read.wording import faults, perhaps, quoted, refuse_any, some

COLUMNS = ("name", "plot")
# Drawn by hand, a bed fills this much of the smallest rectangle around it.
FILLS = 0.9
# Hand-drawn neighbours overlap, and reach over the edge of a plot, by less than this.
SLOPPY_M = 0.1
WIDTHS_M = (0.2, 10.0)
SHORTEST_M = 0.5
# Names that `beds.named` may give: the letter of the plot, a block's, a number.
NEW_NAME = re.compile("([A-Z]+)[a-z]*[0-9]+")


def read_beds(path: SiteFile) -> Outlines:
    """Beds with `name` and `plot` (None where not told), in the file's CRS.

    Raises
    ------
    SiteError
        With a sentence for every bed without a name of its own or a clean outline.
    """
    file = path.name
    found = read_outlines(path, "beds", COLUMNS)
    names = read_names(found.frame["name"].tolist())
    problems = [*faults_of_names(names, file), *_not_its_own_name(names, file)]
    for number, (name, shape) in enumerate(
        zip(names, found.frame.geometry, strict=True), start=1
    ):
        label = problem("bed {number} of {count}", number=number, count=len(names))
        if name:
            label = problem("bed {name}", name=quoted(name))
        problems += faults(joined(file, ": ", label), _faults_of_shape(shape))
    if problems:
        raise SiteError(problems)
    frame = found.frame.assign(
        name=names, plot=as_told(read_names(found.frame["plot"].tolist()), found.frame)
    )
    return Outlines(frame, found.remarks)


def _not_its_own_name(names: Sequence[str | None], file: str) -> Iterator[Problem]:
    """A sentence for each bed without a name, and for each name of several beds."""
    yield from some(
        [
            problem(
                "{file}: bed {number} of {count} has no name; give each bed its own.",
                file=file,
                number=number,
                count=len(names),
            )
            for number, name in enumerate(names, start=1)
            if name is None
        ],
        file,
    )
    told = [name for name in names if name is not None]
    counts = Counter(name.casefold() for name in told)
    spelt = {name.casefold(): name for name in reversed(told)}
    for folded, count in counts.items():
        if count > 1:
            yield problem(
                "{file}: {count} beds are called {spelt}; give each its own name.",
                file=file,
                count=count,
                spelt=quoted(spelt[folded]),
            )


def _faults_of_shape(shape: object) -> Iterator[Problem]:
    if isinstance(shape, MultiPolygon) and len(shape.geoms) > 1:
        yield problem(
            "lies in {count} pieces; draw one bed for each", count=len(shape.geoms)
        )
    elif fault := fault_of_closed_area(shape):
        yield fault


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
    problems: list[Problem] = []
    beds: list[OwnBed] = []
    shapes = told.frame.geometry.to_crs(plots.crs)
    for name, plot, parts in zip(
        told.frame["name"], told.frame["plot"], shapes, strict=True
    ):
        begin = problem("{file}: bed {name}", file=file, name=quoted(name))
        shape = max(shapely.get_parts(parts).tolist(), key=lambda each: each.area)
        around = shapely.oriented_envelope(shape)
        inside = _plot_of(shape, plots)
        if fault := _fault_of_size(shape, around):
            problems += faults(begin, [fault])
        elif fault := _fault_of_plot(plot, inside, plots["name"], begin, plots_file):
            problems.append(fault)
        else:
            beds.append(OwnBed(name, str(inside), around))
    problems += _overlaps([(bed.name, bed.outline) for bed in beds], file)
    problems += _like_new_ones(beds, plots, file)
    refuse_any(problems, file)
    return tuple(beds)


def _fault_of_plot(
    plot: str | None,
    inside: str | None,
    plots: Sequence[str],
    begin: Problem,
    plots_file: str,
) -> Problem | None:
    """What is wrong with the plot that a bed names, beside the one it lies in."""
    if plot is not None and plot not in set(plots):
        return problem(
            "{begin} has plot {plot}, which is not in {plots_file}{meant}.",
            begin=begin,
            plot=quoted(plot),
            plots_file=plots_file,
            meant=perhaps(plot, plots),
        )
    if inside is None:
        return problem(
            "{begin} does not lie in one plot of {plots_file}; move it, or draw the "
            "plot around it.",
            begin=begin,
            plots_file=plots_file,
        )
    if plot not in (None, inside):
        return problem(
            "{begin} has plot {plot} and lies in {inside}; mend one.",
            begin=begin,
            plot=quoted(plot),
            inside=quoted(inside),
        )
    return None


def _like_new_ones(
    beds: Sequence[OwnBed], plots: gpd.GeoDataFrame, file: str
) -> Iterator[Problem]:
    """A sentence for each bed that is called as one of another plot may be."""
    kept = {bed.plot for bed in beds}
    new = {
        letter(number): name
        for number, name in enumerate(plots["name"])
        if name not in kept
    }
    for bed in beds:
        likeness = NEW_NAME.fullmatch(bed.name)
        plot = new.get(likeness[1]) if likeness else None
        if plot is not None:
            other = problem("old {name}", name=bed.name)
            yield problem(
                "{file}: bed {name} is called as new beds of plot {plot} are; give "
                "it another name, such as {other}.",
                file=file,
                name=quoted(bed.name),
                plot=quoted(plot),
                other=joined("'", other, "'"),
            )


def _fault_of_size(shape: Polygon, around: Polygon) -> Problem | None:
    if shape.area < FILLS * around.area:
        return problem("is no rectangle, not even nearly; draw beds as straight strips")
    corners = shapely.get_coordinates(around)[:3]
    width_m, length_m = np.sort(np.hypot(*np.diff(corners, axis=0).T))
    least, most = WIDTHS_M
    if not least <= width_m <= most:
        return problem(
            "is {width_m:.2f} m wide; {least:g} to {most:g} m is right, so "
            "look for a misplaced corner",
            width_m=width_m,
            least=least,
            most=most,
        )
    if length_m < SHORTEST_M:
        return problem(
            "is {length_m:.2f} m long; a bed is {shortest_m:g} m long at least",
            length_m=length_m,
            shortest_m=SHORTEST_M,
        )
    return None


def _plot_of(shape: Polygon, plots: gpd.GeoDataFrame) -> str | None:
    """Name of the plot that holds a bed, but for the breadth of a hand at its edge."""
    for name, outline in zip(plots["name"], plots.geometry, strict=True):
        if outline.buffer(SLOPPY_M).covers(shape):
            return str(name)
    return None


def _overlaps(beds: Sequence[tuple[str, Polygon]], file: str) -> list[Problem]:
    return [
        problem(
            "{file}: beds {one} and {other} overlap"
            " by {area:.1f} m²; draw them side by side.",
            file=file,
            one=quoted(beds[one][0]),
            other=quoted(beds[other][0]),
            area=area_m2,
        )
        for one, other, area_m2 in overlaps([shape for _, shape in beds], SLOPPY_M)
    ]
