"""The one door through which the files of a site come in.

What is opened is a regular file inside the site folder, links resolved, and no larger
than what such a file may be: never a device, a pipe, another place of the disk, nor
anything on a network. Files that several sites share may lie in folders that the user,
never a site, names in the environment variable FIELDMAP_SHARED.
"""

import codecs
import os
import stat
import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any

from fieldmap.cache import digest_of
from fieldmap.errors import Problem, SiteError, problem, site_error
from fieldmap.read.wording import fault_of_name, nearest, quoted, typed

CHOICES_FILE = "site.toml"
ASIDE_FILE = "left_aside.geojson"  # of what was drawn and is not known well enough
SHARED = "FIELDMAP_SHARED"  # folders, divided as those of PATH are
# People write these by hand; the crops that are shipped fill 15 kB.
MOST_BYTES_OF_TOML = 200_000
# A line a day, or an hour, for 150 years; the largest station files have some 30 MB.
MOST_BYTES_OF_TABLE = 40_000_000
# Outlines of a farm and all hedges and houses around it have a few MB; once they are
# read they take some twenty times as much.
MOST_BYTES_OF_OUTLINES = 20_000_000
# Only the cells around the plots are read, but the whole file is hashed each time.
MOST_BYTES_OF_GRID = 20_000_000_000
# What GDAL may do while a file of a site is open: nothing on a network.
NO_NETWORK = {
    "CPL_VSIL_CURL_ALLOWED_EXTENSIONS": "{nothing}",
    "GDAL_HTTP_MAX_RETRY": "0",
    "GDAL_HTTP_CONNECTTIMEOUT": "1",
    "OSR_SET_FROM_USER_INPUT_ALLOW_NETWORK_ACCESS": "NO",
    "PROJ_NETWORK": "OFF",
    # What it says beside what it raises, in words of the file, is for no terminal.
    "CPL_LOG": os.devnull,
    # It takes what is called proj.db or proj.ini where the command runs for its own.
    "SPATIALITE_LOAD": "NO",
}
# What walks and drawings may be read by, beside the formats of a site; only `start` reads
# them, once each has been looked at, and writes them anew.
DRIVERS_OF_WALKS = {".gpx": "GPX", ".kml": "LIBKML", ".dxf": "DXF"}
# Grids of heights that `start` reads and writes anew as GeoTIFF.
DRIVERS_OF_HEIGHTS = {
    ".tif": "GTiff",
    ".tiff": "GTiff",
    ".asc": "AAIGrid",
    ".xyz": "XYZ",
}
# Blocks of a drawing may hold each other, and grow with every level.
NO_BLOCKS = {"DXF_INLINE_BLOCKS": "FALSE"}
# What `fieldmap start` makes a file of, by its usual name.
_MADE_OF = {"plots.geojson": "WALK.gpx", "elevation.tif": "--elevation FILE"}
# Files that belong to another, by its ending; each may change what is read.
_BESIDE = {
    ".shp": (".shx", ".dbf", ".prj", ".cpg"),
    ".tif": (".tfw", ".prj", ".tif.aux.xml", ".tif.msk"),
    ".tiff": (".tfw", ".prj", ".tiff.aux.xml", ".tiff.msk"),
}
# Endings that GDAL opens with a file; others of its name lie there unread.
_READ_WITH = {
    *(ending for endings in _BESIDE.values() for ending in endings),
    *(".shp", ".tif", ".tiff", ".gpkg", ".gpkg-wal", ".gpkg-journal", ".qix", ".sbn"),
    *(".tif.ovr", ".tiff.ovr", ".aux.xml", ".sbx", ".rrd", ".ovr", ".msk"),
}


@dataclass(frozen=True)
class SiteFile:
    """A file that may be opened.

    Attributes
    ----------
    path
        Absolute.
    name
        As `site.toml` has it.
    """

    path: Path
    name: str

    @property
    def ending(self) -> str:
        """The suffix of its name in small letters."""
        return PurePosixPath(self.name).suffix.lower()

    def text(self, encoding: str) -> str:
        """All of it; a file that begins with the mark of UTF-16 is read as that.

        Spreadsheets on Windows save "Unicode text" in UTF-16, and always with the mark.

        Raises
        ------
        UnicodeDecodeError
            When it is no text in that encoding.
        SiteError
            When it cannot be read.
        """
        if self.is_utf_16:
            encoding = "utf-16"
        with self.reading():
            return self.path.read_text(encoding=encoding)

    def first_line(self, most_bytes: int) -> str:
        """The first line as far as it can be read, without what marks the encoding."""
        begun = self.beginning(most_bytes)
        text = begun.decode("utf-16" if self.is_utf_16 else "utf-8-sig", "replace")
        return next(iter(text.splitlines()), "")

    @property
    def is_utf_16(self) -> bool:
        """Whether it begins with the mark of UTF-16."""
        return self.beginning(2) in {codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE}

    def beginning(self, size: int) -> bytes:
        """The first bytes."""
        with self.reading(), self.path.open("rb") as opened:
            return opened.read(size)

    @contextmanager
    def reading(self) -> Iterator[None]:
        """What the system refuses meanwhile becomes a SiteError."""
        try:
            yield
        except OSError as error:
            raise _cannot_be_read(self.name, error) from error

    def problem(self, text: str, /, **values: Any) -> Problem:
        """What is wrong with it, from the English text; `{file}` is its name."""
        return problem(text, **values, file=self.name)

    def site_error(self, text: str, /, **values: Any) -> SiteError:
        """A SiteError of one such problem."""
        return SiteError(self.problem(text, **values))


def check_folder(folder: Path) -> None:
    """Raise SiteError where the path of a folder is no text, which libraries cannot open."""
    try:
        str(folder.absolute()).encode("utf-8")
    except UnicodeEncodeError:
        raise site_error(
            "the path {folder} holds letters that are not UTF-8; rename the folder.",
            folder=folder,
        ) from None


def lies_inside(name: str) -> bool:
    """Whether a path is written as that of a file inside the site folder.

    >>> lies_inside("maps/plots.geojson"), lies_inside("../plots.geojson")
    (True, False)
    >>> lies_inside("/etc/hosts"), lies_inside("C:plots.geojson"), lies_inside(" ")
    (False, False, False)
    """
    windows, posix = PureWindowsPath(name), PurePosixPath(name)
    return (
        name.strip() not in {"", "."}
        and fault_of_name(name) is None
        and not (windows.drive or windows.root or posix.is_absolute())
        and ".." not in windows.parts
    )


def may_be_named(name: str) -> bool:
    """Whether a site may name a file so: inside its folder, or whole in a shared one."""
    if lies_inside(name):
        return True
    if fault_of_name(name) is not None or not Path(name).is_absolute():
        return False
    try:
        where = Path(name).resolve()
    except (OSError, RuntimeError, ValueError):
        return False
    return any(where.is_relative_to(folder) for folder in shared_folders())


def is_there(folder: Path, name: str) -> bool:
    """Whether the folder has anything of that name, be it a file or not."""
    return os.path.lexists(folder / name)


def open_file(folder: Path, name: str, most_bytes: int) -> SiteFile:
    """A file of the site, with all that belongs to it, once it may be opened.

    Parameters
    ----------
    folder
        The site folder.
    name
        The file as the site names it, by its path from the folder; a whole path only
        where it lies in a shared folder.
    most_bytes
        The largest size that is read [bytes]; files that are read with it may be no
        larger.

    Returns
    -------
    file
        Its absolute path, and the name that the site gives it.

    Raises
    ------
    SiteError
        When it is missing, no regular file, outside the folder, or too large.
    """
    if not may_be_named(name):
        raise site_error(
            "{name} is not a file inside the site folder; name it by its path from"
            " there and without '..'.",
            name=quoted(name),
        )
    path = folder / name
    if os.path.isdir(path) and not path.is_symlink():  # noqa: PTH112  (no OSError)
        raise site_error(
            "{name} is a folder; name a file under [files] in {choices}.",
            name=name,
            choices=CHOICES_FILE,
        )
    try:
        if not is_there(folder, name):
            raise SiteError(_missing(folder, name))
        _check(folder, path, name, most_bytes)
        for other in _others(path):
            beside = str(PurePosixPath(name).with_name(other.name))
            _check(folder, other, beside, _most_bytes_beside(path, other, most_bytes))
    except OSError as error:
        raise _cannot_be_read(name, error) from error
    # Absolute, as GDAL takes the beginning of some relative names for an instruction.
    return SiteFile(folder.resolve() / name, name)


def _cannot_be_read(name: str, error: OSError) -> SiteError:
    why = os.strerror(error.errno) if error.errno else str(error)
    return site_error(
        "{name} cannot be read ({why}); allow reading it, or copy it into the folder"
        " again.",
        name=name,
        why=why,
    )


def shared_folders() -> Iterator[Path]:
    """Folders outside the site whose files may be read, by the word of the user alone."""
    for name in os.environ.get(SHARED, "").split(os.pathsep):
        if Path(name).is_absolute():
            yield Path(name).resolve()


def _may_be_read(where: Path, folder: Path) -> bool:
    """Whether a place, links resolved, lies in the site folder or a shared one."""
    return any(where.is_relative_to(each) for each in (folder, *shared_folders()))


def _check(folder: Path, path: Path, name: str, most_bytes: int) -> None:
    """Raise SiteError unless a file may be opened."""
    try:
        where = path.resolve(strict=True)
        found = where.stat()
    except PermissionError as error:
        raise _cannot_be_read(name, error) from error
    except (OSError, RuntimeError):  # a link to nothing, or to itself
        raise site_error(
            "{name} is a link that leads nowhere; copy the file itself into the folder.",
            name=name,
        ) from None
    if not _may_be_read(where, folder.resolve()):
        raise site_error(
            "{name} is a link that leads out of the site folder; copy the file itself"
            " into the folder.",
            name=name,
        )
    if not stat.S_ISREG(found.st_mode):
        raise site_error(
            "{name} is not a regular file; put a file of that name into the folder.",
            name=name,
        )
    if found.st_size > most_bytes:
        raise SiteError(too_large(name, found.st_size, most_bytes))
    try:
        where.open("rb").close()
    except OSError as error:
        raise _cannot_be_read(name, error) from error


def too_large(name: str, size: int, most_bytes: int) -> Problem:
    """What to say of a file of more bytes than are read.

    Parameters
    ----------
    name
        The file as the site names it.
    size
        How large it is [bytes].
    most_bytes
        How large it may be [bytes].
    """
    return problem(
        "{name} has {size:,} bytes, and fieldmap reads at most {most:,}; delete"
        " what you do not need.",
        name=name,
        size=size,
        most=most_bytes,
    )


def _most_bytes_beside(path: Path, other: Path, most_bytes: int) -> int:
    """How large a file may be that is read with another; what is not read may be any."""
    ending = other.name[len(path.stem) :].lower()
    if ending not in _READ_WITH:
        return sys.maxsize
    is_grid = ending in {".tif", ".tiff"} or ending.endswith((".ovr", ".msk", ".rrd"))
    return most_bytes if is_grid else min(most_bytes, MOST_BYTES_OF_OUTLINES)


def _others(path: Path) -> Iterator[Path]:
    """Files beside a file that GDAL may read with it, by their names."""
    if path.suffix.lower() not in _BESIDE and path.suffix.lower() != ".gpkg":
        return
    begins = f"{path.stem}.".casefold()
    for other in path.parent.iterdir():
        if other.name.casefold().startswith(begins) and not other.is_dir():
            yield other


def input_hashes(folder: Path, names: Iterable[str]) -> dict[str, str]:
    """The sha256 of each file and of those that belong to it, by name in the folder."""
    hashes = {}
    for name in names:
        path = folder / name
        endings = _BESIDE.get(path.suffix.lower(), ())
        # Endings may be written large, as some programs do.
        belonging = {f"{path.stem}{ending}".lower() for ending in endings}
        is_folder = endings and os.path.isdir(path.parent)  # noqa: PTH112
        around = path.parent.iterdir() if is_folder else ()
        beside = sorted(other for other in around if other.name.lower() in belonging)
        for file in (path, *beside):
            digest = _sha256(file, folder)
            if digest:
                # The file itself by the name that the site gives it.
                key = (
                    name
                    if file == path
                    else str(PurePosixPath(name).with_name(file.name))
                )
                hashes[key] = digest
    return hashes


def _sha256(file: Path, folder: Path) -> str | None:
    """Of a file that may be read; None of any other."""
    try:
        where = file.resolve()
        if not (_may_be_read(where, folder.resolve()) and where.is_file()):
            return None
        return digest_of(where)
    except (OSError, RuntimeError):
        return None


def near_name(folder: Path, name: str) -> str | None:
    """A file of the folder that may be meant by the name of one that is not there."""
    # Not that of pathlib, which refuses links to names that no system has.
    here = sorted(name for name in os.listdir(folder) if os.path.isfile(folder / name))  # noqa: PTH113,PTH208
    begins = (other for other in here if other.startswith(Path(name).stem))
    return nearest(name, here) or next(begins, None)


def _missing(folder: Path, name: str) -> Problem:
    """What to say of a file that is not there."""
    near, given = near_name(folder, name), _MADE_OF.get(name)
    perhaps: Problem | str = ""
    if near:
        perhaps = problem(" (did you mean {near}?)", near=quoted(near))
    elif given:
        perhaps = problem(
            ", or make it: fieldmap start {folder} {given}",
            folder=typed(folder),
            given=given,
        )
    return problem(
        "{name} is missing from {folder}; put it there, or name another file under"
        " [files] in {choices}{perhaps}.",
        name=name,
        folder=folder,
        choices=CHOICES_FILE,
        perhaps=perhaps,
    )
