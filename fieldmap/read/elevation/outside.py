"""What leads out of an elevation file, seen before any library opens it.

GDAL takes masks and overviews beside a grid for whatever they look like: a list of other
files to open, or of services to ask. A CRS may shift by a file that lies anywhere, which
is opened as soon as the CRS is read.
"""

import struct
from pathlib import Path

from fieldmap.errors import SiteError
from fieldmap.read.door import SiteFile
from fieldmap.read.place import names_files, unusable_crs

_TIFF = {b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"}
_OPENED_WITH = {".msk", ".ovr", ".aux", ".rrd"}
_SAID_WITH = {".prj", ".xml"}
_TEXTS = {
    34737,
    42112,
}  # tags of TIFF: the words of the CRS, and GDAL's own of anything
_MOST_TAGS, _MOST_BYTES = 4096, 10_000_000


def check(file: SiteFile) -> None:
    """Raise SiteError where an elevation file, or what lies beside it, leads elsewhere."""
    with file.reading():
        said = _texts(file.path)
        around = sorted(file.path.parent.iterdir())
    if names_files(said):
        raise SiteError(unusable_crs(file, file.name))
    begins = f"{file.path.stem}.".casefold()
    for other in around:
        if other.name.casefold().startswith(begins) and other.is_file():
            _check_beside(SiteFile(other, other.name), file)


def _check_beside(beside: SiteFile, file: SiteFile) -> None:
    ending = beside.path.suffix.lower()
    if ending in _OPENED_WITH and beside.beginning(4) not in _TIFF:
        raise beside.site_error(
            "{file} is no GeoTIFF, as it must be beside {elevation}; take it out"
            " of the folder.",
            elevation=file.name,
        )
    if ending in _SAID_WITH and names_files(beside.beginning(_MOST_BYTES)):
        raise SiteError(unusable_crs(beside, beside.name))


def _texts(path: Path) -> bytes:
    """The texts in the first directory of a TIFF; none where it is damaged."""
    with path.open("rb") as file:
        head = file.read(16)
        order = "<" if head[:2] == b"II" else ">"
        is_big = b"+" in head[2:4]
        form, entry = (f"{order}HHQQ", 20) if is_big else (f"{order}HHII", 12)
        try:
            (at,) = struct.unpack_from(
                f"{order}{'Q' if is_big else 'I'}", head, 8 if is_big else 4
            )
            file.seek(at)
            counted = file.read(8 if is_big else 2)
            (count,) = struct.unpack(f"{order}{'Q' if is_big else 'H'}", counted)
            tags = file.read(entry * min(count, _MOST_TAGS))
            found = b""
            for tag, _kind, size, place in struct.iter_unpack(form, tags):
                if tag in _TEXTS:
                    file.seek(place)
                    found += file.read(min(size, _MOST_BYTES))
        except (struct.error, OverflowError, OSError, ValueError):
            return b""
    return found
