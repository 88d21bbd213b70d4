"""What a file of outlines is by its content, before any library opens it.

GDAL takes a file for whatever it looks like: one that is called plots.geojson may be a
list of other files to open, or of services to ask. So each format is known by its own
marks here, and nothing else is handed on.
"""

import lzma
import zipfile
import zlib
from pathlib import Path, PurePosixPath

from fieldmap.errors import Problem, SiteError, joined, problem, seen
from fieldmap.read import door
from fieldmap.read.door import SiteFile
from fieldmap.read.outlines import geojson, geopackage
from fieldmap.read.outlines.not_outlines import FORMATS, not_outlines
from fieldmap.read.place import names_files, unusable_crs
from fieldmap.read.wording import either, in_short, quoted

# Ending -> the one driver of GDAL that may read it.
DRIVERS = {
    ".geojson": "GeoJSON",
    ".json": "GeoJSON",
    ".gpkg": "GPKG",
    ".shp": "ESRI Shapefile",
}
_STEM = "outlines"  # of what a zip holds, whatever it is called there
_NEEDED_BESIDE_SHP = (".shx", ".dbf", ".prj")
# What the library may raise of a damaged archive.
BAD_ZIP = (
    zipfile.BadZipFile,
    NotImplementedError,
    RuntimeError,
    EOFError,
    OSError,
    lzma.LZMAError,
    zlib.error,
    UnicodeDecodeError,  # names inside that say they are UTF-8 and are not
)
_SQLITE = b"SQLite format 3\0"
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
            "{file} ends in {suffix}, which fieldmap cannot read for outlines; save it"
            " as {formats}.",
            suffix=quoted(file.path.suffix),
            formats=FORMATS,
        )
    if not file.beginning(1):
        raise file.site_error("{file} is empty (0 bytes); save the outlines again.")
    path = _unpack(file, unpacked) if file.ending == ".zip" else file.path
    if file.ending == ".shp":
        _check_parts(file)
    driver = DRIVERS[path.suffix.lower()]
    with file.reading():
        if driver == "GeoJSON":
            return geojson.rewritten(path, file, unpacked)
        with path.open("rb") as opened:
            begins = opened.read(100)
    if driver == "GPKG" and begins.startswith(_SQLITE):
        geopackage.check(path, file)
        return path
    if not (driver == "ESRI Shapefile" and begins.startswith(_SHAPEFILE)):
        raise SiteError(not_outlines(file))
    its_crs = f"{path.stem}.prj".casefold()
    for other in path.parent.iterdir():
        if other.name.casefold() != its_crs or not other.is_file():
            continue
        if names_files(other.read_bytes()):
            raise SiteError(unusable_crs(file, other.name))
    return path


def no_crs(file: SiteFile) -> Problem:
    """What to say of a file that has no coordinate reference system."""
    remedy = problem("save it again with its CRS (for example EPSG:4326)")
    if file.ending == ".shp":
        remedy = problem(
            "put its {stem}.prj beside it, or {remedy}",
            stem=file.path.stem,
            remedy=remedy,
        )
    return file.problem(
        "{file} does not say its coordinate system (CRS); {remedy}.",
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
                    kept = f"{_STEM}{name.suffix.lower()}"
                    (folder / kept).write_bytes(archive.read(info))
    except BAD_ZIP as error:
        raise file.site_error(
            "{file} is not a zip file that can be opened ({error}); zip it again.",
            error=in_short(error),
        ) from error
    return folder / f"{_STEM}{inside.suffix.lower()}"


def _one_inside(archive: zipfile.ZipFile, file: SiteFile) -> PurePosixPath:
    """The path of the one file of outlines in a zip."""
    inside = [
        name
        for name in map(PurePosixPath, archive.namelist())
        if name.suffix.lower() in DRIVERS and name.parts[0] != "__MACOSX"
    ]
    if len(inside) != 1:
        shown = either([seen(str(name))[:200] for name in inside[:4]])
        raise file.site_error(
            "{file} must hold one Shapefile, GeoPackage or GeoJSON, and {found} was"
            " found; zip one alone.",
            found=joined(f"{len(inside)} (", shown, ")") if inside else "none",
        )
    size = sum(info.file_size for info in archive.infolist())
    if size > door.MOST_BYTES_OF_OUTLINES:
        raise SiteError(door.too_large(file.name, size, door.MOST_BYTES_OF_OUTLINES))
    return inside[0]
