"""On which ground the lines of history files happened, as `fieldmap keep` wrote it."""

from collections.abc import Iterator
from datetime import date

import shapely
from pyproj import CRS
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from fieldmap.errors import Problem, problem
from fieldmap.model.coordinates import in_crs
from fieldmap.model.field_log import PastBed
from fieldmap.read.csv_table import day_of
from fieldmap.read.door import SiteFile
from fieldmap.read.outlines.files import Outlines, fault_of_closed_area, read_outlines
from fieldmap.read.wording import fault_of_name, quoted, refuse_any

COLUMNS = ("file", "bed", "until", "crops")
BETWEEN_CROPS = ";"


def read_past_beds(path: SiteFile) -> Outlines:
    """Outlines with `bed`, and `file`, `until`, `crops` or none, in the file's CRS.

    Raises
    ------
    SiteError
        With a sentence for every outline that cannot be used.
    """
    found = read_outlines(path, "past_beds", COLUMNS)
    problems = [
        path.problem("{file}: shape {number} {fault}.", number=number, fault=fault)
        for number, row in enumerate(found.frame.itertuples(index=False), start=1)
        for fault in _faults(row.file, row.bed, row.until, row.geometry)
    ]
    refuse_any(problems, path.name)
    return found


def _faults(
    file: object, bed: object, until: object, shape: object
) -> Iterator[Problem]:
    for column, text in (("file", file), ("bed", bed or "")):
        if text is not None and (fault := fault_of_name(str(text))):
            yield problem("has a {column} that {fault}", column=column, fault=fault)
    if until is not None and day_of(str(until)) is None:
        yield problem(
            "has until {until}; write year, month, day, such as 2026-05-14",
            until=quoted(str(until)),
        )
    if fault := fault_of_closed_area(shape):
        yield fault


def place_past_beds(outlines: Outlines, crs: CRS) -> tuple[PastBed, ...]:
    """The ground of history in the site's CRS, in the order of the file."""
    frame = in_crs(outlines.frame, crs)
    return tuple(
        PastBed(
            None if row.file is None else str(row.file),
            str(row.bed),
            None if row.until is None else date.fromisoformat(str(row.until)),
            tuple(
                filter(None, map(str.strip, str(row.crops or "").split(BETWEEN_CROPS)))
            ),
            _largest(row.geometry),
        )
        for row in frame.itertuples(index=False)
    )


def _largest(shape: BaseGeometry) -> Polygon:
    parts: list[Polygon] = shapely.get_parts(shape).tolist()
    return max(parts, key=lambda part: part.area)
