"""What the grower saw on the ground: outlines, each with what was seen there."""

import geopandas as gpd
import shapely

from fieldmap.errors import Problem, problem
from fieldmap.model.site import SEEN, Mark
from fieldmap.read.door import SiteFile
from fieldmap.read.outlines.files import (
    Outlines,
    as_told,
    fault_of_closed_area,
    faults_of_names,
    read_names,
    read_outlines,
)
from fieldmap.read.wording import either, faults, perhaps, quoted, refuse_any

COLUMNS = ("name", "seen")


def read_marks(path: SiteFile) -> Outlines:
    """Marks with `name` (None where not told) and `seen`, in the file's CRS.

    Raises
    ------
    SiteError
        With a sentence for every mark that cannot be used.
    """
    file = path.name
    found = read_outlines(path, "marks", COLUMNS)
    names = read_names(found.frame["name"].tolist())
    spelt = {right.casefold(): right for right in SEEN}
    told = [
        None if value is None else " ".join(str(value).split())
        for value in found.frame["seen"]
    ]
    told = [None if seen is None else spelt.get(seen.casefold(), seen) for seen in told]
    problems = faults_of_names(names, file)
    for number, (name, seen, shape) in enumerate(
        zip(names, told, found.frame.geometry, strict=True), start=1
    ):
        begin = problem(
            "{file}: mark {number} of {count}",
            file=file,
            number=number,
            count=len(names),
        )
        if name:
            begin = problem("{file}: mark {name}", file=file, name=quoted(name))
        ends = (_fault_of_seen(seen), fault_of_closed_area(shape))
        problems += faults(begin, filter(None, ends))
    refuse_any(problems, file)
    return Outlines(
        found.frame.assign(name=as_told(names, found.frame), seen=told), found.remarks
    )


def _fault_of_seen(seen: str | None) -> Problem | None:
    """What is wrong with what was seen, as the end of a sentence."""
    if seen in SEEN:
        return None
    if seen is None:
        return problem(
            "does not say what was seen; seen is one of {right}", right=either(SEEN)
        )
    return problem(
        "has seen {seen}; right are {right}{meant}",
        seen=quoted(seen),
        right=either(SEEN),
        meant=perhaps(seen, SEEN),
    )


def place_marks(
    told: Outlines, plots: gpd.GeoDataFrame, file: str, plots_file: str
) -> tuple[Mark, ...]:
    """Marks on the ground of the site, in the order of the file.

    Those without a name are called by their number.

    Parameters
    ----------
    plots
        In the site's CRS.

    Raises
    ------
    SiteError
        With a sentence for every mark that touches no plot.
    """
    ground = shapely.union_all(list(plots.geometry))
    marks = [
        Mark(str(number) if name is None else str(name), str(seen), shape)
        for number, (name, seen, shape) in enumerate(
            zip(
                told.frame["name"],
                told.frame["seen"],
                told.frame.geometry.to_crs(plots.crs),
                strict=True,
            ),
            start=1,
        )
    ]
    refuse_any(
        [
            problem(
                "{file}: mark {name} lies {distance:.0f} m off every plot of "
                "{plots_file}; only what was seen on the plots is weighed.",
                file=file,
                name=quoted(mark.name),
                distance=mark.outline.distance(ground),
                plots_file=plots_file,
            )
            for mark in marks
            if not mark.outline.intersects(ground)
        ],
        file,
    )
    return tuple(marks)
