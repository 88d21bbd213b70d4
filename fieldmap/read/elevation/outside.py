"""What leads out of an elevation file, seen before any library opens it.

GDAL takes masks and overviews beside a grid for whatever they look like: a list of other
files to open, or of services to ask. A CRS may shift by a file that lies anywhere, which
is opened as soon as the CRS is read.
"""

import struct
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

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
_MORE_TAGS = 330  # where directories lie that belong to this one
# Letters may be kept as numbers of any size.
_BYTES_OF = {3: 2, 8: 2, 4: 4, 9: 4, 13: 4, 16: 8, 17: 8, 18: 8}
_MOST_TAGS, _MOST_BYTES = 4096, 10_000_000  # GDAL's library reads no more tags either
_MOST_DIRECTORIES = 64  # masks and overviews have one each


def check(file: SiteFile) -> None:
    """Raise SiteError where an elevation file, or what lies beside it, leads elsewhere."""
    with file.reading():
        said = _texts(file.path, file)
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
            "{file} is not a GeoTIFF, as it must be beside {elevation}; take it out of"
            " the folder.",
            elevation=file.name,
        )
    if ending in _SAID_WITH and names_files(beside.beginning(_MOST_BYTES)):
        raise SiteError(unusable_crs(beside, beside.name))


def _texts(path: Path, file: SiteFile) -> bytes:
    """The texts in the directories of a TIFF; none of what is no TIFF."""
    with path.open("rb") as opened:
        head = opened.read(16)
        if head[:4] not in _TIFF:
            return b""
        form = _Form("<" if head[:2] == b"II" else ">", is_big=b"+" in head[2:4])
        found, waiting, seen = b"", [form.first(head)], set[int]()
        while waiting and len(seen) < _MOST_DIRECTORIES:
            at = waiting.pop(0)
            if at in seen or at == 0:
                continue
            try:
                text, further = form.directory(opened, at)
            except (struct.error, OverflowError, OSError, ValueError) as error:
                if not seen:
                    raise _damaged(file) from error
                continue  # a mask or an overview, which has no CRS of its own
            finally:
                seen.add(at)
            found += text
            waiting += further
    return found


def _damaged(file: SiteFile) -> SiteError:
    return file.site_error(
        "{file} is a damaged TIFF, or has more than {most} tags; save it again as a"
        " GeoTIFF.",
        most=_MOST_TAGS,
    )


class _Form:
    """How a TIFF writes its directories: the order of bytes, and small or big."""

    def __init__(self, order: str, *, is_big: bool) -> None:
        self._place = f"{order}{'Q' if is_big else 'I'}"
        self._count = f"{order}{'Q' if is_big else 'H'}"
        self._tag = f"{order}HHQQ" if is_big else f"{order}HHII"
        self._first_at = 8 if is_big else 4

    def first(self, head: bytes) -> int:
        """Where the first directory lies; nowhere where the file ends before."""
        if len(head) < self._first_at + struct.calcsize(self._place):
            return 0
        return int(struct.unpack_from(self._place, head, self._first_at)[0])

    def directory(self, file: BinaryIO, at: int) -> tuple[bytes, list[int]]:
        """The texts of one directory, and where further ones lie."""
        file.seek(at)
        (count,) = self._read(self._count, file)
        if count > _MOST_TAGS:
            raise ValueError(count)
        tags = file.read(struct.calcsize(self._tag) * count)
        after = file.read(struct.calcsize(self._place))
        found, further = b"", list[int]()
        for tag, kind, size, place in struct.iter_unpack(self._tag, tags):
            if tag in _TEXTS:
                file.seek(place)
                found += file.read(min(size * _BYTES_OF.get(kind, 1), _MOST_BYTES))
            elif tag == _MORE_TAGS:
                further += self._places(file, size, place)
        if len(after) == struct.calcsize(self._place):
            further += struct.unpack(self._place, after)
        return found, further

    def _places(self, file: BinaryIO, size: int, place: int) -> Iterator[int]:
        if size == 1:
            yield place
            return
        file.seek(place)
        for _ in range(min(size, _MOST_DIRECTORIES)):
            yield from self._read(self._place, file)

    def _read(self, form: str, file: BinaryIO) -> tuple[int, ...]:
        return struct.unpack(form, file.read(struct.calcsize(form)))
