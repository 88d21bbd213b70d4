"""What the grower saw on the ground: outlines, each with what was seen there."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely
from shapely.geometry import MultiPolygon, Polygon

from fieldmap.errors import SiteError
from fieldmap.model.site import SEEN, Mark
from fieldmap.read.outlines.files import (
    Outlines,
    as_told,
    fault_of_area,
    faults_of_names,
    read_names,
    read_outlines,
)
from fieldmap.read.wording import either, nearest, quoted, some
from fieldmap.show.text.language import _

if TYPE_CHECKING:
    from pathlib import Path

    import geopandas as gpd

COLUMNS = ("name", "seen")


def read_marks(path: Path, file: str) -> Outlines:
    """Marks with `name` (None where not told) and `seen`, in the file's CRS.

    Raises
    ------
    SiteError
        With a sentence for every mark that cannot be used.
    """
    found = read_outlines(path, file, "marks", COLUMNS)
    names = read_names(found.frame["name"].tolist())
    told = [
        None if value is None else _spelt(" ".join(str(value).split()))
        for value in found.frame["seen"]
    ]
    problems = faults_of_names(names, file)
    count = len(names)
    for number, (name, seen, shape) in enumerate(
        zip(names, told, found.frame.geometry, strict=True), start=1
    ):
        begin = (
            _("{file}: mark {name}").format(file=file, name=quoted(name))
            if name
            else _("{file}: mark {number} of {count}").format(
                file=file, number=number, count=count
            )
        )
        problems += [f"{begin} {fault}." for fault in _faults(seen, shape)]
    if problems:
        raise SiteError(some(problems))
    return Outlines(
        found.frame.assign(name=as_told(names, found.frame), seen=told), found.remarks
    )


def _spelt(seen: str) -> str:
    """As it is spelt here, whatever its capitals; else as it was written."""
    return {right.casefold(): right for right in SEEN}.get(seen.casefold(), seen)


def _faults(seen: str | None, shape: object) -> list[str]:
    """What is wrong with one mark, as the ends of sentences."""
    faults = []
    if seen not in SEEN:
        near = None if seen is None else nearest(seen, SEEN)
        meant = _(" (did you mean {near}?)").format(near=quoted(near)) if near else ""
        faults.append(
            _("does not say what was seen; seen is one of {right}").format(
                right=either(SEEN)
            )
            if seen is None
            else _("has seen {seen}; right are {right}{meant}").format(
                seen=quoted(seen), right=either(SEEN), meant=meant
            )
        )
    if not isinstance(shape, Polygon | MultiPolygon) or shape.is_empty:
        return [*faults, _("is no closed area; draw it as a Polygon")]
    fault = fault_of_area(shape)
    if fault:
        faults.append(_("has an outline that {fault}").format(fault=fault))
    return faults


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
    marks = []
    problems = []
    for number, (name, seen, shape) in enumerate(
        zip(
            told.frame["name"],
            told.frame["seen"],
            told.frame.geometry.to_crs(plots.crs),
            strict=True,
        ),
        start=1,
    ):
        called = str(number) if name is None else str(name)
        if not shape.intersects(ground):
            problems.append(
                _(
                    "{file}: mark {name} lies {distance:.0f} m off every plot of "
                    "{plots_file}; only what was seen on the plots is weighed."
                ).format(
                    file=file,
                    name=quoted(called),
                    distance=shape.distance(ground),
                    plots_file=plots_file,
                )
            )
        marks.append(Mark(called, str(seen), shape))
    if problems:
        raise SiteError(some(problems))
    return tuple(marks)
