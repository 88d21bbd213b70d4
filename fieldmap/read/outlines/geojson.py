"""A GeoJSON file as the library may see it: read, and written anew with what is known.

GDAL takes a file for whatever it looks like: one that is called plots.geojson may be a
list of other files to open, or of services to ask, and its CRS a place to fetch it from.
So nothing of a file is handed on but types, flat properties, coordinates and the name of
a CRS.
"""

import json
import math
from pathlib import Path
from typing import Any

from fieldmap.errors import SiteError
from fieldmap.read.door import SiteFile
from fieldmap.read.outlines.not_outlines import (
    MOST_POINTS,
    check_counts,
    not_outlines,
)

DEEPEST = 16  # lists in each other; the coordinates of a MultiPolygon lie 4 deep
# Ways to say a CRS by its name; all others lead elsewhere.
_NAMED_CRS = {"name", "epsg"}
_SHAPES = {
    *("Point", "LineString", "Polygon"),
    *("MultiPoint", "MultiLineString", "MultiPolygon"),
}
_TYPES = {"FeatureCollection", "Feature", "GeometryCollection", *_SHAPES}
_WRITTEN = "outlines.geojson"


def rewritten(path: Path, file: SiteFile, folder: Path) -> Path:
    """The shapes of a GeoJSON file in one of our own writing.

    Parameters
    ----------
    path
        Where the GeoJSON lies: the file itself, or what was unpacked of it.
    file
        The file of the site, for messages.
    folder
        Where the new file is written; it must exist.

    Returns
    -------
    path
        The new file in that folder.

    Raises
    ------
    SiteError
        When it is no GeoJSON, or asks for its CRS to be fetched from elsewhere.
    """
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        around = error.object[max(error.start - 20, 0) : error.start + 20]
        raise file.site_error(
            "{file} holds text that is not UTF-8 ({text!r}); save it again in UTF-8.",
            text=around,
        ) from error
    # A place is a list; those of many shapes lie in some more.
    if text.count("[") > 2 * MOST_POINTS:
        raise file.site_error(
            "{file} has over {most:,} corners in all; delete what you do not need.",
            most=MOST_POINTS,
        )
    try:
        table = json.loads(text, parse_constant=_no_number, parse_float=_finite)
    except (ValueError, RecursionError) as error:
        raise SiteError(not_outlines(file)) from error
    del text
    if not isinstance(table, dict) or str(table.get("type")) not in _TYPES:
        raise SiteError(not_outlines(file))
    crs = _crs(table, file)
    features = _features(table, file)
    whole = {"type": "FeatureCollection", **crs, "features": features}
    target = folder / _WRITTEN
    with target.open("w", encoding="ascii") as opened:
        for part in json.JSONEncoder().iterencode(whole):
            opened.write(part)
    return target


def _no_number(name: str) -> float:
    raise ValueError(name)


def _finite(text: str) -> float:
    number = float(text)
    return number if math.isfinite(number) else _no_number(text)


def _crs(table: dict[str, Any], file: SiteFile) -> dict[str, Any]:
    """The member that names a CRS; other libraries read its keys in any case."""
    for key, value in table.items():
        if key.casefold() != "crs" or value is None:
            continue
        if not isinstance(value, dict):
            raise SiteError(not_outlines(file))
        kinds = {
            str(kind).casefold()
            for name, kind in value.items()
            if name.casefold() == "type"
        }
        if kinds - _NAMED_CRS:
            raise file.site_error(
                "{file} asks for its coordinate system (CRS) to be fetched from elsewhere;"
                " save it again with its CRS (for example EPSG:4326).",
            )
        properties = value.get("properties")
        name = (
            properties.get("name", properties.get("code"))
            if isinstance(properties, dict)
            else None
        )
        if kinds == {"epsg"} and isinstance(name, int):
            name = f"urn:ogc:def:crs:EPSG::{name}"
        if not isinstance(name, str) or not _is_name(name):
            raise file.site_error(
                "{file} names its coordinate system (CRS) in no way that is known; save it"
                " again with its CRS (for example EPSG:4326)."
            )
        return {"crs": {"type": "name", "properties": {"name": name}}}
    return {}


def _is_name(name: str) -> bool:
    """Whether a CRS is named as authorities do, and not by a place to look it up."""
    begins = ("urn:ogc:def:crs:", "epsg:", "esri:", "ogc:", "iau")
    return name.casefold().startswith(begins) and len(name) <= 200


def _features(table: dict[str, Any], file: SiteFile) -> list[dict[str, Any]]:
    """Each shape with its properties, whatever the file holds of it."""
    features = [table]
    if table["type"] == "FeatureCollection":
        features = table.get("features", [])
    if not isinstance(features, list):
        raise SiteError(not_outlines(file))
    check_counts(file, len(features), 0)
    found, columns = [], set[str]()
    for each in features:
        if not isinstance(each, dict):
            raise SiteError(not_outlines(file))
        is_feature = each.get("type") == "Feature"
        shape = each.get("geometry") if is_feature else each
        properties = each.get("properties") if is_feature else None
        if not isinstance(properties, dict | None):
            raise SiteError(not_outlines(file))
        columns |= (properties or {}).keys()
        check_counts(file, len(features), len(columns))
        plain = {key: _plain(value) for key, value in (properties or {}).items()}
        place = _geometry(shape, file)
        found.append({"type": "Feature", "properties": plain, "geometry": place})
    return found


def _plain(value: object) -> object:
    """A property of one value; of several, their text."""
    if isinstance(value, int) and not isinstance(value, bool) and abs(value) >= 2**63:
        return str(value) if value.bit_length() < 1000 else "a huge number"
    return json.dumps(value) if isinstance(value, dict | list) else value


def _geometry(shape: object, file: SiteFile) -> dict[str, Any] | None:
    if shape is None:
        return None
    kind = shape.get("type") if isinstance(shape, dict) else None
    if not isinstance(shape, dict) or not isinstance(kind, str):
        raise SiteError(not_outlines(file))
    if kind == "GeometryCollection":
        parts = shape.get("geometries")
        if not isinstance(parts, list) or _depth(parts) > DEEPEST:
            raise SiteError(not_outlines(file))
        return {"type": kind, "geometries": [_geometry(part, file) for part in parts]}
    places = shape.get("coordinates")
    if kind not in _SHAPES or not isinstance(places, list) or not _are_places(places):
        raise SiteError(not_outlines(file))
    return {"type": kind, "coordinates": places}


def _depth(value: object) -> int:
    """How deep lists and tables lie in each other."""
    deepest, waiting = 0, [(1, value)]
    while waiting and deepest <= DEEPEST:
        depth, each = waiting.pop()
        deepest = max(deepest, depth)
        if isinstance(each, dict):
            waiting += [(depth + 1, inner) for inner in each.values()]
        elif isinstance(each, list):
            waiting += [(depth + 1, inner) for inner in each]
    return deepest


def _are_places(places: list[Any]) -> bool:
    """Whether coordinates are lists of numbers in lists, and nothing else."""
    waiting = [places]
    while waiting:
        each = waiting.pop()
        if any(isinstance(one, int | float) for one in each):
            if not all(type(one) in (int, float) for one in each):
                return False
            if any(abs(one) > 1e15 for one in each):
                return False
        elif all(isinstance(one, list) for one in each):
            waiting += each
        else:
            return False
    return True
