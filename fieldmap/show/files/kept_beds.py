"""Beds that stay (`beds.geojson`) and the ground of history (`past_beds.geojson`)."""

import json
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pyproj
import shapely
from shapely.geometry import Polygon

from fieldmap.decide.layout.beds import Bed
from fieldmap.errors import PlanError, problem
from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.field_log import PastBed
from fieldmap.show.files import one_file

GEOJSON = (".geojson", ".json")
DIGITS = 9  # of degrees: a tenth of a millimetre
BETWEEN_CROPS = "; "
# How GeoJSON says that it is in longitude and latitude (WGS 84).
IN_DEGREES = ("CRS84", "EPSG::4326", "EPSG:4326")


def check_names(*files: str) -> None:
    """Raise PlanError where beds are read from files of another form.

    Called before the work starts, so that nobody waits for a refusal.
    """
    for file in files:
        if Path(file).suffix.lower() not in GEOJSON:
            raise PlanError(
                problem(
                    "{file} is not GeoJSON, and keep writes nothing else; save its beds as "
                    "beds.geojson and name that in [files]",
                    file=file,
                )
            )


def write_beds(
    beds: Iterable[Bed], drawn: Sequence[str], crs: pyproj.CRS, path: Path
) -> int:
    """Add the beds of a plan to the file of those that stay; how many were added.

    Parameters
    ----------
    beds
        The beds of the plan, with outlines in `crs`.
    drawn
        Names of those that are in the file already; what it says of them stays.
    crs
        Metric CRS of the outlines. The file is in degrees (WGS 84).
    path
        The GeoJSON file. It is read only where `drawn` names a bed, and made anew
        otherwise.

    Raises
    ------
    PlanError
        When the file has a CRS of its own, or cannot be written.
    """
    known = {name.casefold() for name in drawn}
    new = [bed for bed in beds if bed.name.casefold() not in known]
    if not new:
        return 0
    table = json.loads(path.read_text(encoding="utf-8-sig")) if known else {}
    crs_text = str(table.get("crs", IN_DEGREES[0]))
    is_plain = table.get("type", "FeatureCollection") == "FeatureCollection"
    if not (is_plain and any(name in crs_text for name in IN_DEGREES)):
        raise PlanError(
            problem(
                "{file} is not in degrees (WGS 84), so no beds can be added to it; save "
                "it as plain GeoJSON",
                file=path.name,
            )
        )
    shapes = _in_degrees([bed.outline for bed in new], crs)
    features = [
        _feature(
            {
                "name": bed.name,
                "plot": bed.plot,
                "pegged": "no",
                "path_within_m": round(bed.path_within_m, 3) or None,
                "length_m": round(bed.length_m, 3),
            },
            shape,
        )
        for bed, shape in zip(new, shapes, strict=True)
    ]
    members = {"crs": table["crs"]} if "crs" in table else {}
    _write([*table.get("features", ()), *features], path, members)
    return len(new)


def write_past(past: Sequence[PastBed], crs: pyproj.CRS, path: Path) -> None:
    """Write on which ground lines of history files happened.

    Parameters
    ----------
    past
        Beds of history, each with its outline in `crs`. A file, day or crop that is
        None or empty there is left out.
    crs
        Metric CRS of the outlines. The file is in degrees (WGS 84).
    path
        The GeoJSON file. One that is there is replaced.

    Raises
    ------
    PlanError
        When the file cannot be written.
    """
    shapes = _in_degrees([each.outline for each in past], crs)
    features = [
        _feature(
            {
                "file": each.file,
                "bed": each.bed,
                "until": None if each.until is None else each.until.isoformat(),
                "crops": BETWEEN_CROPS.join(each.crops) or None,
            },
            shape,
        )
        for each, shape in zip(past, shapes, strict=True)
    ]
    _write(features, path)


def _in_degrees(
    outlines: Sequence[Polygon], crs: pyproj.CRS
) -> Iterator[list[list[float]]]:
    to_degrees = transformer(crs, WGS84)
    for outline in outlines:
        corners = shapely.get_coordinates(outline)
        lon, lat = to_degrees.transform(*corners.T)
        yield np.round(np.stack([lon, lat], axis=1), DIGITS).tolist()


def _feature(properties: dict[str, Any], ring: list[list[float]]) -> dict[str, Any]:
    given = {name: value for name, value in properties.items() if value is not None}
    shape = {"type": "Polygon", "coordinates": [ring]}
    return {"type": "Feature", "properties": given, "geometry": shape}


def _write(
    features: list[dict[str, Any]], path: Path, members: dict[str, Any] | None = None
) -> None:
    """One shape a line, so that a change of one is seen as such."""
    lines = ",\n".join(json.dumps(each, ensure_ascii=False) for each in features)
    head = json.dumps({"type": "FeatureCollection", **(members or {})})[:-1]
    text = f'{head}, "features": [\n{lines}\n]}}\n'
    try:
        one_file.replace(text, path)
    except OSError as error:
        raise PlanError(
            problem(
                "{file} could not be written ({why}); free some space, or allow writing in "
                "its folder; nothing was left behind.",
                file=path,
                why=error.strerror or str(error),
            )
        ) from error
