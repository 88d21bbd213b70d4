"""What a file of outlines is by its content, before any library opens it.

GDAL takes a file for whatever it looks like: one that is called plots.geojson may be a
list of other files to open, or of services to ask. So each format is told by its own
marks here, and nothing else is handed on.
"""

import json
import lzma
import zipfile
import zlib
from pathlib import Path, PurePosixPath
from typing import Any

from fieldmap.errors import Problem, SiteError, joined, problem
from fieldmap.read import door
from fieldmap.read.door import SiteFile
from fieldmap.read.wording import either, quoted

# Ending -> the one driver of GDAL that may read it.
DRIVERS = {
    ".geojson": "GeoJSON",
    ".json": "GeoJSON",
    ".gpkg": "GPKG",
    ".shp": "ESRI Shapefile",
}
FORMATS = problem(
    "GeoJSON (.geojson), GeoPackage (.gpkg), Shapefile (.shp) or a zip of one"
)
_NEEDED_BESIDE_SHP = (".shx", ".dbf", ".prj")
_GEOJSON_TYPES = {
    "FeatureCollection",
    "Feature",
    "GeometryCollection",
    *("Point", "LineString", "Polygon"),
    *("MultiPoint", "MultiLineString", "MultiPolygon"),
}
# Ways to say a CRS by its name; all others lead elsewhere.
_NAMED_CRS = {"name", "epsg"}
# What the library may raise of a damaged archive.
_BAD_ZIP = (
    zipfile.BadZipFile,
    NotImplementedError,
    RuntimeError,
    EOFError,
    OSError,
    lzma.LZMAError,
    zlib.error,
)
_SQLITE, _GEOPACKAGES = b"SQLite format 3\0", (b"GPKG", b"GP10", b"GP11")
_SHAPEFILE = b"\x00\x00\x27\x0a"


def source(file: SiteFile, unpacked: Path) -> Path:
    """The file that a library may open as outlines.

    Parameters
    ----------
    unpacked
        An empty folder for what a zip holds.

    Raises
    ------
    SiteError
        When it is of no known format, is not what its ending says, lacks a part, or
        asks for its CRS to be fetched from elsewhere.
    """
    if file.ending not in (*DRIVERS, ".zip"):
        raise file.site_error(
            "{file} ends in {suffix}, which is not read for outlines;"
            " save it as {formats}.",
            suffix=quoted(file.path.suffix),
            formats=FORMATS,
        )
    if file.path.stat().st_size == 0:
        raise file.site_error("{file} is empty (0 bytes); save the outlines again.")
    path = _unpack(file, unpacked) if file.ending == ".zip" else file.path
    if file.ending == ".shp":
        _check_parts(file)
    if not _is_what_it_ends_in(path, file):
        raise SiteError(not_outlines(file))
    return path


def not_outlines(file: SiteFile) -> Problem:
    """What to say of a file whose content is not that of its ending."""
    return file.problem(
        "{file} cannot be read as outlines; it is damaged or of another kind than"
        " its name says. Save it as {formats}.",
        formats=FORMATS,
    )


def no_crs(file: SiteFile) -> Problem:
    """What to say of a file that has no coordinate reference system."""
    remedy = problem("save it again with its CRS (for instance EPSG:4326)")
    if file.ending == ".shp":
        remedy = problem(
            "put its {stem}.prj beside it, or {remedy}",
            stem=file.path.stem,
            remedy=remedy,
        )
    return file.problem(
        "{file} does not say its coordinate reference system (CRS); {remedy}.",
        remedy=remedy,
    )


def _check_parts(file: SiteFile) -> None:
    """Raise SiteError unless all files of a Shapefile are there."""
    beside = {
        other.suffix.lower() for other in file.path.parent.glob(f"{file.path.stem}.*")
    }
    absent = [suffix for suffix in _NEEDED_BESIDE_SHP if suffix not in beside]
    if ".prj" in absent:
        raise SiteError(no_crs(file))
    if absent:
        raise file.site_error(
            "{file} lacks its {right} file, without which it cannot be"
            " read; copy all files of the Shapefile into the folder.",
            right=either(absent),
        )


def _unpack(file: SiteFile, folder: Path) -> Path:
    """The one file of outlines in a zip, written to a folder with what belongs to it."""
    try:
        with zipfile.ZipFile(file.path) as archive:
            inside = _one_inside(archive, file)
            for info in archive.infolist():
                name = PurePosixPath(info.filename)
                if (name.parent, name.stem) == (inside.parent, inside.stem):
                    (folder / name.name).write_bytes(archive.read(info))
    except _BAD_ZIP as error:
        raise file.site_error(
            "{file} is no zip file that can be opened ({error}); zip it again.",
            error=error,
        ) from error
    return folder / inside.name


def _one_inside(archive: zipfile.ZipFile, file: SiteFile) -> PurePosixPath:
    """The path of the one file of outlines in a zip."""
    inside = [
        name
        for name in map(PurePosixPath, archive.namelist())
        if name.suffix.lower() in DRIVERS and name.parts[0] != "__MACOSX"
    ]
    if len(inside) != 1:
        shown = either([str(name) for name in inside[:4]])
        raise file.site_error(
            "{file} must hold one Shapefile, GeoPackage or GeoJSON, and {found} was"
            " found; zip one alone.",
            found=joined(f"{len(inside)} (", shown, ")") if inside else "none",
        )
    size = sum(info.file_size for info in archive.infolist())
    if size > door.MOST_BYTES_OF_OUTLINES:
        raise SiteError(door.too_large(file.name, size, door.MOST_BYTES_OF_OUTLINES))
    return inside[0]


def _is_what_it_ends_in(path: Path, file: SiteFile) -> bool:
    """Whether a file begins as those of its ending do."""
    driver = DRIVERS[path.suffix.lower()]
    if driver == "GeoJSON":
        return _is_geojson(path.read_bytes(), file)
    with path.open("rb") as opened:
        begins = opened.read(100)
    if driver == "GPKG":
        return begins.startswith(_SQLITE) and begins[68:72] in _GEOPACKAGES
    return begins.startswith(_SHAPEFILE)


def _is_geojson(content: bytes, file: SiteFile) -> bool:
    def without_links(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        for key, value in pairs:  # GDAL reads keys in any case, and the first of two
            if key.casefold() == "crs" and isinstance(value, dict):
                kinds = {
                    str(kind).casefold()
                    for name, kind in value.items()
                    if name.casefold() == "type"
                }
                if kinds - _NAMED_CRS:
                    raise file.site_error(
                        "{file} asks for its coordinate reference system (CRS) to be"
                        " fetched from elsewhere; save it again with its CRS (for"
                        " instance EPSG:4326).",
                    )
        return dict(pairs)

    try:
        text = content.decode("utf-8-sig", "replace")
        table = json.loads(text, object_pairs_hook=without_links)
    except (json.JSONDecodeError, RecursionError):
        return False
    return isinstance(table, dict) and table.get("type") in _GEOJSON_TYPES
