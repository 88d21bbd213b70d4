"""What the grower saw on the ground: outlines, each with what was seen there."""

from dataclasses import replace

import geopandas as gpd
import shapely

from fieldmap.errors import Problem, problem
from fieldmap.model.coordinates import in_crs
from fieldmap.model.site import SEEN, Mark
from fieldmap.read.door import SiteFile
from fieldmap.read.outlines.files import (
    Outlines,
    fault_of_closed_area,
    read_outlines,
)
from fieldmap.read.wording import either, faults, perhaps, quoted, refuse_any

COLUMNS = ("name", "seen")


def read_marks(path: SiteFile) -> Outlines:
    """Marks with `name` (None where not given) and `seen`, in the file's CRS.

    Raises
    ------
    SiteError
        With a sentence for every mark that cannot be used.
    """
    found = read_outlines(path, "marks", COLUMNS)
    spelt = {right.casefold(): right for right in SEEN}
    words = [
        None if value is None else " ".join(str(value).split())
        for value in found.frame["seen"]
    ]
    words = [
        None if seen is None else spelt.get(seen.casefold(), seen) for seen in words
    ]
    problems = found.faults_of_names()
    begins = found.labels(
        problem("{file}: mark {name}"), problem("{file}: mark {number} of {count}")
    )
    for begin, seen, shape in zip(begins, words, found.frame.geometry, strict=True):
        ends = (_fault_of_seen(seen), fault_of_closed_area(shape))
        problems += faults(begin, filter(None, ends))
    refuse_any(problems, path.name)
    return replace(found, frame=found.frame.assign(seen=words))


def _fault_of_seen(seen: str | None) -> Problem | None:
    """What is wrong with what was seen, as the end of a sentence."""
    if seen in SEEN:
        return None
    if seen is None:
        return problem(
            "does not say what was seen; seen is one of {right}", right=either(SEEN)
        )
    return problem(
        "has seen {seen}; use one of: {right}{meant}",
        seen=quoted(seen),
        right=either(SEEN),
        meant=perhaps(seen, SEEN),
    )


def place_marks(
    outlines: Outlines, plots: gpd.GeoDataFrame, plots_file: str
) -> tuple[Mark, ...]:
    """Marks on the ground of the site, in the order of the file.

    Those without a name are called by their number.

    Parameters
    ----------
    outlines
        Marks as the file has them, with `name` and `seen`.
    plots
        In the site's CRS.
    plots_file
        Name of the file of the plots, for messages.

    Raises
    ------
    SiteError
        With a sentence for every mark that touches no plot.
    """
    ground = shapely.union_all(list(plots.geometry))
    frame = in_crs(outlines.frame, plots.crs)
    rows = zip(frame["name"], frame["seen"], frame.geometry, strict=True)
    marks = [
        Mark(str(number) if name is None else str(name), str(seen), shape)
        for number, (name, seen, shape) in enumerate(rows, start=1)
    ]
    off = [
        outlines.file.problem(
            "{file}: mark {name} lies {distance:.0f} m away from the nearest plot of"
            " {plots_file}; only marks on the plots count.",
            name=quoted(mark.name),
            distance=mark.outline.distance(ground),
            plots_file=plots_file,
        )
        for mark in marks
        if not mark.outline.intersects(ground)
    ]
    refuse_any(off, outlines.file.name)
    return tuple(marks)
