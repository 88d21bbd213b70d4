"""What the user gives on the command line, and what each file is."""

import os
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Literal

from fieldmap.errors import SiteError, problem
from fieldmap.model.fact import Fact
from fieldmap.read import door
from fieldmap.read.door import SiteFile
from fieldmap.read.start.elevation import local
from fieldmap.read.start.net.web import Web
from fieldmap.read.start.outline import corners, gather
from fieldmap.read.start.outline.around import Ask
from fieldmap.read.weather.form import form_of
from fieldmap.read.wording import quoted

What = Literal["outlines", "elevation", "weather", "typical year"]
_OF_WEATHER = (".csv", ".dly", ".epw", ".tm2", ".txt")


@dataclass(frozen=True)
class Given:
    """Everything that was asked for.

    Attributes
    ----------
    at
        Latitude and longitude; None where only the outline says it.
    crs
        Of files that name none.
    elevation
        Name of a file, or an address.
    web
        None: nothing may be fetched.
    say
        Puts a fact into words.
    comments
        Of the first `site.toml`, by the name of the part that they stand above.
    """

    folder: Path
    files: tuple[Path, ...]
    now: datetime
    ask: Ask
    say: Callable[[Fact], str]
    comments: Mapping[str, str]
    at: tuple[float, float] | None = None
    crs: str | None = None
    # Of a phone in the open, one standard deviation along each axis: a common figure, from
    # memory; a good sky gives 2 m, trees and walls 5 m and more.
    error_m: float = 3.0
    elevation: str | None = None
    height_unit: str | None = None
    name: str | None = None
    language: str = "en"
    web: Web | None = None


def opened(path: Path) -> SiteFile:
    """A file that the user named, wherever it lies, once it may be opened.

    Raises
    ------
    SiteError
        When it is not there, no regular file, empty, or too large.
    """
    # Not those of pathlib, which fail at names that no system has.
    if not os.path.exists(path):  # noqa: PTH110
        raise SiteError(
            problem("{file} does not exist; name a file that does.", file=path)
        )
    if os.path.isdir(path):  # noqa: PTH112
        raise SiteError(
            problem("{file} is a folder; name the files in it one by one.", file=path)
        )
    where = path.resolve()
    most = door.MOST_BYTES_OF_OUTLINES
    if where.suffix.lower() in local.ENDINGS:
        most = door.MOST_BYTES_OF_GRID
    elif where.suffix.lower() in _OF_WEATHER:
        most = door.MOST_BYTES_OF_TABLE
    file = door.open_file(where.parent, where.name, most)
    if not file.beginning(1):
        raise file.site_error("{file} is empty (0 bytes); copy or export it again.")
    return file


def what_is(file: SiteFile) -> What:
    """What a file holds, by its ending, and of tables by what stands in them.

    Raises
    ------
    SiteError
        When it is none of these.
    """
    if file.ending in local.ENDINGS:
        return "elevation"
    if file.ending in _OF_WEATHER:
        if file.ending == ".csv" and corners.are_corners(file):
            return "outlines"
        return "typical year" if form_of(file) == "typical year" else "weather"
    if file.ending in gather.ENDINGS:
        return "outlines"
    raise file.site_error(
        "{file} ends in {ending}, which fieldmap cannot read; an outline is GPX,"
        " KML, KMZ, GeoJSON, GeoPackage, Shapefile (in a zip), DXF or CSV, an"
        " elevation GeoTIFF, ASCII grid, XYZ, LAS or LAZ, a weather record CSV, DLY"
        " or EPW.",
        ending=quoted(file.path.suffix),
    )


def by_what(files: Iterable[SiteFile]) -> dict[What, list[SiteFile]]:
    """Files by what they hold."""
    found: dict[What, list[SiteFile]] = {}
    for file in files:
        found.setdefault(what_is(file), []).append(file)
    return found


def cache_folder() -> Path:
    """Where what was fetched is kept for the next time."""
    named = os.environ.get("XDG_CACHE_HOME")
    base = (
        Path(named) if named and Path(named).is_absolute() else Path.home() / ".cache"
    )
    return base / "fieldmap" / "fetched"
