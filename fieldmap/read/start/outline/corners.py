"""Corners typed into a table, in degrees or metres, to areas and places."""

import csv
import io
import math
import re
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pyproj
from shapely.geometry import Point, Polygon
from shapely.geometry.base import BaseGeometry

from fieldmap.errors import SiteError
from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.read.csv_table import check_text
from fieldmap.read.door import SiteFile
from fieldmap.read.start.outline.things import LONGEST_TEXT, Thing, name_of, plain
from fieldmap.read.wording import either, quoted

# Names of columns, as `plain` writes them.
_ACROSS = (
    "lon",
    "long",
    "longitude",
    "longitud",
    "lng",
    "east",
    "easting",
    "este",
    "x",
)
_UP = ("lat", "latitude", "latitud", "north", "northing", "norte", "y")
_DEGREES = {"lon", "long", "longitude", "longitud", "lng", "lat", "latitude", "latitud"}
_NAMES = ("plot", "parcela", "name", "nombre", "what", "que")
_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?")
MOST_LINES = 20_000


def _rows(text: str, divider: str, file: SiteFile) -> list[list[str]]:
    reader = csv.reader(io.StringIO(text), delimiter=divider)
    try:
        return [row for row in reader if any(field.strip() for field in row)]
    except csv.Error as error:
        raise file.site_error(
            "{file}: line {line} cannot be read as CSV ({error}); save it as CSV again.",
            line=reader.line_num,
            error=error,
        ) from error


def read(file: SiteFile, crs: pyproj.CRS | None) -> list[Thing]:
    """An area for each name that has three corners or more, else a place.

    The columns are longitude and latitude, or east and north with a stated CRS, and
    perhaps a name. Fields are divided by commas, semicolons or tabs; with semicolons or
    tabs numbers may have decimal commas. Corners are taken in their order.

    Raises
    ------
    SiteError
        When the columns are not these, a number cannot be read, or metres come without
        a CRS.
    """
    try:
        text = file.text("utf-8-sig")
    except UnicodeDecodeError as error:
        raise file.site_error("{file} is not a UTF-8 text; save it again.") from error
    check_text(text, file.name)
    first = text.split("\n", 1)[0]
    divider = max(";\t,", key=first.count)
    rows = _rows(text, divider, file)
    header = [plain(name) for name in rows[0]] if rows else []
    across, up = _column(header, _ACROSS), _column(header, _UP)
    if across is None or up is None:
        raise file.site_error(
            "{file} has no columns for places; its first line must name them, as"
            " plot,longitude,latitude or, with --crs, plot,east,north."
        )
    if len(rows) > MOST_LINES:
        raise file.site_error(
            "{file} has {count:,} lines; at most {most:,} corners are read.",
            count=len(rows),
            most=MOST_LINES,
        )
    places = np.array(
        [
            (_number(row, across, line, file), _number(row, up, line, file))
            for line, row in enumerate(rows[1:], start=2)
        ]
    ).reshape(-1, 2)
    places = _in_degrees(places, {header[across], header[up]} <= _DEGREES, crs, file)
    check_places(places, file)
    named = _column(header, _NAMES)
    names = [
        row[named].strip() if named is not None and named < len(row) else ""
        for row in rows[1:]
    ]
    return list(_things(places, names, file))


def _things(
    places: npt.NDArray[np.float64], names: Sequence[str], file: SiteFile
) -> list[Thing]:
    found = []
    rows: dict[str, list[int]] = {}
    for row, name in enumerate(names):
        rows.setdefault(name, []).append(row)
    for name, own_rows in rows.items():
        own = places[own_rows]
        if len(own) >= 3:
            shapes: Sequence[BaseGeometry] = [Polygon(own)]
        else:
            shapes = [Point(at) for at in own]
        called, text = name_of(name), name[:LONGEST_TEXT]
        found += [Thing(file.name, called, text, shape) for shape in shapes]
    return found


def _column(header: Sequence[str], right: Sequence[str]) -> int | None:
    return next((header.index(name) for name in right if name in header), None)


def _number(row: Sequence[str], column: int, line: int, file: SiteFile) -> float:
    text = row[column].strip() if column < len(row) else ""
    if not _NUMBER.fullmatch(text):
        raise file.site_error(
            "{file}: line {line} has {value} for a place; write a plain number, such as"
            " 15.26306 (not degrees, minutes and seconds).",
            line=line,
            value=quoted(text),
        )
    return float(text.replace(",", "."))


def _in_degrees(
    places: npt.NDArray[np.float64],
    are_degrees: bool,  # noqa: FBT001  (what the header says)
    crs: pyproj.CRS | None,
    file: SiteFile,
) -> npt.NDArray[np.float64]:
    if are_degrees:  # whatever is said of other files
        return places
    if crs is None:
        raise file.site_error(
            "{file} gives corners by {columns}, and not in which coordinate system;"
            " give it with --crs, for example --crs EPSG:25830.",
            columns=either(["east and north"]),
        )
    east, north = transformer(crs, WGS84).transform(*places.T)
    return np.column_stack([east, north])


def check_places(places: npt.NDArray[np.float64], file: SiteFile) -> None:
    """Raise SiteError unless every longitude and latitude is a place on earth."""
    is_place = np.isfinite(places).all(axis=1)
    is_place &= (np.abs(places[:, 0]) <= 180) & (np.abs(places[:, 1]) <= 90)
    if is_place.all():
        return
    longitude, latitude = places[int(np.argmin(is_place))]
    if math.isfinite(longitude) and abs(latitude) > 90 >= abs(longitude):
        raise SiteError(
            file.problem(
                "{file}: longitude {longitude:.6g}, latitude {latitude:.6g} is not a place"
                " on earth; latitude and longitude look swapped.",
                longitude=longitude,
                latitude=latitude,
            )
        )
    raise file.site_error(
        "{file}: longitude {longitude:.6g}, latitude {latitude:.6g} is not a place"
        " on earth; give degrees, longitude first, or name the right --crs.",
        longitude=longitude,
        latitude=latitude,
    )


def are_corners(file: SiteFile) -> bool:
    """Whether a table has columns of places, and is no weather record."""
    first = file.first_line(2000)
    divider = max(";\t,", key=first.count)
    header = [plain(name) for name in first.split(divider)]
    has_places = (
        _column(header, _ACROSS) is not None and _column(header, _UP) is not None
    )
    return has_places and not any(
        name.startswith(("tmin", "tmax", "date")) for name in header
    )
