"""Parcels of a region: outlines with an identity and a name, of which one is chosen."""

from collections import Counter
from collections.abc import Iterator, Sequence

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from fieldmap.errors import Problem, SiteError, joined, problem
from fieldmap.model.fact import Fact
from fieldmap.read.door import SiteFile
from fieldmap.read.outlines.files import (
    Outlines,
    fault_of_closed_area,
    names_of_several,
    read_outlines,
)
from fieldmap.read.outlines.plots import faults_of_words, in_metres, wet_or_dry
from fieldmap.read.wording import faults, quoted, some

GROUND_COLUMNS = ("ground", "soil", "wet_in_march")
COLUMNS = ("id", "name", *GROUND_COLUMNS)
# Smaller is a slip of the pen, wider a misplaced corner (choices).
SMALLEST_M2, WIDEST_M = 100.0, 10_000.0


def read_parcels(path: SiteFile) -> Outlines:
    """Parcels with an `id` and a `name` of their own (and `GROUND_COLUMNS`), in the file's CRS.

    Those of the file are kept. Without an id the name is one, without a name the id,
    without both the number of the shape. Where several go by one name, the name that is
    shown has the id behind it. A parcel may lie in several pieces, and parcels may
    overlap.

    Raises
    ------
    SiteError
        With a sentence for each parcel that cannot be used.
    """
    found = read_outlines(path, "parcels", COLUMNS)
    problems = [*found.faults_of_names(), *_faults_of_ids(found)]
    begins = [
        joined(path.name, ": ", label)
        for label in found.labels(
            problem("parcel {name}"), problem("parcel {number} of {count}")
        )
    ]
    spoilt: list[Problem] = []
    rows = found.frame.to_dict("records")
    flat = in_metres(found.frame).geometry
    for begin, row, metric in zip(begins, rows, flat, strict=True):
        spoilt += faults_of_words(row, begin)
        row["wet_in_march"] = wet_or_dry(row["wet_in_march"])
        fault = _fault_of_shape(row["geometry"], metric)
        spoilt += faults(begin, [fault] if fault else [])
    problems += some(spoilt, path.name)
    if problems:
        raise SiteError(problems)
    ids, names = _identities(found)
    problems = [*_same_ids(ids, path), *_same_outlines(found.frame, names, path)]
    if problems:
        raise SiteError(problems)
    frame = gpd.GeoDataFrame(
        {"id": ids, "name": names}
        | {column: [row[column] for row in rows] for column in GROUND_COLUMNS},
        geometry=found.frame.geometry.to_numpy(),
        crs=found.frame.crs,
    )
    return Outlines(found.file, frame, found.remarks)


def off_the_ground(frame: gpd.GeoDataFrame, known: shapely.Polygon) -> list[Fact]:
    """A remark for parcels that do not lie on the known ground at all.

    Parameters
    ----------
    known
        Ground with an elevation, in the CRS of the parcels.
    """
    outside = ~shapely.intersects(frame.geometry.to_numpy(), known)
    names = frame["name"][outside].tolist()
    if not names:
        return []
    return [Fact("parcels_off_ground", number=len(names), names=names[:5])]


def _identities(found: Outlines) -> tuple[list[str], list[str]]:
    """An id and a name for each parcel, from those that the file has."""
    rows = found.frame[["id", "name"]].itertuples(index=False)
    numbers = (str(number) for number in range(1, len(found.frame) + 1))
    pairs = [
        (key or name or number, name or key or number)
        for (key, name), number in zip(rows, numbers, strict=True)
    ]
    ids, names = [key for key, _ in pairs], [name for _, name in pairs]
    several = Counter(name.casefold() for name in names)
    shown = [
        f"{name} ({key})" if several[name.casefold()] > 1 and key != name else name
        for key, name in pairs
    ]
    return ids, shown


def _faults_of_ids(found: Outlines) -> list[Problem]:
    as_names = found.frame.assign(name=found.frame["id"])
    said = Outlines(found.file, as_names, ()).faults_of_names()
    # A fault of a name that is the id as well is said once.
    mine = {str(each) for each in found.faults_of_names()}
    return [each for each in said if str(each) not in mine]


def _fault_of_shape(shape: BaseGeometry | None, metric: BaseGeometry) -> Problem | None:
    if shape is None or shape.is_empty:
        return problem("has no outline; draw it, or delete its row")
    fault = fault_of_closed_area(shape)
    if fault is not None:
        return fault
    west, south, east, north = metric.bounds
    across_m = max(east - west, north - south)
    if across_m > WIDEST_M:
        return problem(
            "is {across_km:.0f} km across; a parcel can be up to {most:g} km across, so"
            " look for a corner in the wrong place",
            across_km=across_m / 1000,
            most=WIDEST_M / 1000,
        )
    if metric.area < SMALLEST_M2:
        return problem(
            "covers {area_m2:.2g} m²; a parcel needs at least {least:g} m²",
            area_m2=metric.area,
            least=SMALLEST_M2,
        )
    return None


def _same_ids(ids: Sequence[str], file: SiteFile) -> list[Problem]:
    problems = [
        file.problem(
            "{file}: {count} parcels have the id {spelt}; give each its own id, or its"
            " own name where there are no ids.",
            count=count,
            spelt=quoted(spelt),
        )
        for spelt, count in names_of_several(ids)
    ]
    return some(problems, file.name)


def _same_outlines(
    frame: gpd.GeoDataFrame, names: Sequence[str], file: SiteFile
) -> list[Problem]:
    problems = [
        file.problem(
            "{file}: parcels {one} and {other} have one and the same outline; delete"
            " one of them.",
            one=quoted(names[one]),
            other=quoted(names[other]),
        )
        for one, other in _twins(shapely.normalize(frame.geometry.to_numpy()))
    ]
    return some(problems, file.name)


def _twins(shapes: npt.NDArray[np.object_]) -> Iterator[tuple[int, int]]:
    """Each shape that stood before, with its first place."""
    first: dict[bytes, int] = {}
    for number, shape in enumerate(shapely.to_wkb(shapes).tolist()):
        if shape in first:
            yield first[shape], number
        first.setdefault(shape, number)
