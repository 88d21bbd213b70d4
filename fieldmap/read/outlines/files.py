"""Any file of outlines to a table of flat shapes with known columns."""

from __future__ import annotations

import warnings
import zipfile
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

import geopandas as gpd
import pandas as pd
import pyogrio
import pyogrio.errors
import shapely
from shapely.errors import GEOSException

from fieldmap.errors import SiteError
from fieldmap.read.place import WGS84, horizontal
from fieldmap.read.wording import either, fault_of_name, nearest, quoted, some
from fieldmap.show.text.language import _, later

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    import pyproj
    from shapely.geometry.base import BaseGeometry

SUFFIXES = (".geojson", ".json", ".gpkg", ".shp", ".zip")
_FORMATS = later(
    "GeoJSON (.geojson), GeoPackage (.gpkg), Shapefile (.shp) or a zip of one"
)
_DBF_NAME = 10  # characters that a Shapefile keeps of a column's name
_NEEDED_BESIDE_SHP = (".shx", ".dbf", ".prj")


@dataclass(frozen=True)
class Outlines:
    """The shapes of one file and what was noticed on the way."""

    frame: gpd.GeoDataFrame
    remarks: tuple[str, ...]


def read_outlines(
    path: Path, file: str, layer: str, columns: Sequence[str]
) -> Outlines:
    """Shapes with exactly the given columns (None where not told), in the file's CRS.

    Parameters
    ----------
    path, file
        Where the file is, and its name in sentences.
    layer
        Taken where the file holds several.
    columns
        Names to look for, in any case of letters, and also cut to ten characters as a
        Shapefile keeps them.

    Raises
    ------
    SiteError
        When the file cannot be read, has no CRS, no shape or impossible coordinates.
    """
    source = _source(path, file)
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        frame = _read(source, file, layer)
    remarks = [f"{file}: {warning.message}" for warning in caught]
    if len(frame) == 0 or "geometry" not in frame:
        raise SiteError(
            _("{file} holds no outline; draw at least one and save it.").format(
                file=file
            )
        )
    if frame.crs is None:
        raise SiteError(_no_crs(path, file))
    frame, unused = _with_columns(frame, file, columns)
    _check_coordinates(frame, file)
    return Outlines(frame, (*remarks, *unused))


def _source(path: Path, file: str) -> str:
    """What pyogrio opens for this file."""
    if path.suffix.lower() not in SUFFIXES:
        raise SiteError(
            _(
                "{file} ends in {suffix}, which is not read for outlines;"
                " save it as {formats}."
            ).format(file=file, suffix=quoted(path.suffix), formats=_(_FORMATS))
        )
    if path.stat().st_size == 0:
        raise SiteError(
            _("{file} is empty (0 bytes); save the outlines again.").format(file=file)
        )
    if path.suffix.lower() == ".zip":
        return _inside_zip(path, file)
    if path.suffix.lower() == ".shp":
        beside = {other.suffix.lower() for other in path.parent.glob(f"{path.stem}.*")}
        absent = [suffix for suffix in _NEEDED_BESIDE_SHP if suffix not in beside]
        if ".prj" in absent:
            raise SiteError(_no_crs(path, file))
        if absent:
            raise SiteError(
                _(
                    "{file} lacks its {right} file, without which it cannot be"
                    " read; copy all files of the Shapefile into the folder."
                ).format(file=file, right=either(absent))
            )
    return str(path)


def _inside_zip(path: Path, file: str) -> str:
    try:
        with zipfile.ZipFile(path) as archive:
            names = archive.namelist()
    except zipfile.BadZipFile as error:
        raise SiteError(
            _(
                "{file} is no zip file that can be opened ({error}); zip it again."
            ).format(file=file, error=error)
        ) from error
    inside = [
        name
        for name in names
        if PurePosixPath(name).suffix.lower() in SUFFIXES[:-1]
        and not name.startswith("__MACOSX/")
    ]
    if len(inside) != 1:
        found = f"{len(inside)} ({either(inside[:4])})" if inside else "none"
        raise SiteError(
            _(
                "{file} must hold one Shapefile, GeoPackage or GeoJSON, and {found} was"
                " found; zip one alone."
            ).format(file=file, found=found)
        )
    return f"/vsizip/{{{path}}}/{inside[0]}"


def _read(source: str, file: str, layer: str) -> gpd.GeoDataFrame:
    try:
        layers = [str(name) for name in pyogrio.list_layers(source)[:, 0]]
        if not layers:
            raise SiteError(
                _("{file} holds no layer; save the outlines again.").format(file=file)
            )
        if len(layers) > 1 and layer not in layers:
            raise SiteError(
                _(
                    "{file} holds {count} layers ({layers}) and none is"
                    " called {layer}; rename the right one."
                ).format(
                    file=file,
                    count=len(layers),
                    layers=either(layers[:6]),
                    layer=quoted(layer),
                )
            )
        chosen = layer if len(layers) > 1 else layers[0]
        return pyogrio.read_dataframe(source, layer=chosen)
    except (pyogrio.errors.DataSourceError, pyogrio.errors.DataLayerError) as error:
        raise SiteError(
            _(
                "{file} cannot be read as outlines; it is damaged or of another kind than"
                " its name says. Save it as {formats}."
            ).format(file=file, formats=_(_FORMATS))
        ) from error
    except UnicodeDecodeError as error:
        raise SiteError(
            _(
                "{file} holds text that is not UTF-8 ({text!r}); save it again"
                " in UTF-8."
            ).format(file=file, text=error.object[:40])
        ) from error
    except (GEOSException, pyogrio.errors.GeometryError) as error:
        raise SiteError(
            _(
                "{file} holds a shape that cannot be built ({error}); an area needs at"
                " least three corners and ends where it began."
            ).format(file=file, error=error)
        ) from error


def _no_crs(path: Path, file: str) -> str:
    remedy = _("save it again with its CRS (for instance EPSG:4326)")
    if path.suffix.lower() == ".shp":
        remedy = _("put its {stem}.prj beside it, or {remedy}").format(
            stem=path.stem, remedy=remedy
        )
    return _(
        "{file} does not say its coordinate reference system (CRS); {remedy}."
    ).format(file=file, remedy=remedy)


def _with_columns(
    frame: gpd.GeoDataFrame, file: str, columns: Sequence[str]
) -> tuple[gpd.GeoDataFrame, list[str]]:
    """The frame with these columns alone, and a remark on those that are near to one."""
    wanted = {name[:_DBF_NAME]: name for name in columns}
    wanted |= {name: name for name in columns}
    found: dict[str, str] = {}
    remarks: list[str] = []
    for given in frame.columns.drop("geometry"):
        name = wanted.get(str(given).casefold())
        if name is None:
            near = nearest(str(given), columns)
            if near:
                remarks.append(
                    _("{file}: column {other} is not used; was {near} meant?").format(
                        file=file, other=quoted(given), near=quoted(near)
                    )
                )
        elif name in found:
            raise SiteError(
                _(
                    "{file} has two columns for {name} ({one} and {other}); keep one."
                ).format(
                    file=file,
                    name=quoted(name),
                    one=quoted(found[name]),
                    other=quoted(given),
                )
            )
        else:
            found[name] = given
    nothing = [None] * len(frame)
    table = {
        name: _values(frame[found[name]]) if name in found else nothing
        for name in columns
    }
    shapes = shapely.force_2d(frame.geometry.to_numpy())
    return gpd.GeoDataFrame(
        pd.DataFrame(table, dtype=object), geometry=shapes, crs=frame.crs
    ), remarks


def _values(column: pd.Series) -> list[object]:
    """Plain values, None where nothing is told (empty text too)."""
    return [
        None if value is None or value == "" or value != value else value  # noqa: PLR0124
        for value in column.tolist()
    ]


def _check_coordinates(frame: gpd.GeoDataFrame, file: str) -> None:
    """Raise SiteError where coordinates are no place on earth."""
    if frame.geometry.is_empty.all() or frame.geometry.isna().all():
        raise SiteError(
            _("{file} holds no outline; draw at least one and save it.").format(
                file=file
            )
        )
    west, south, east, north = frame.total_bounds
    if not frame.crs.is_geographic:
        lon_west, lat_south, lon_east, lat_north = frame.to_crs(WGS84).total_bounds
        reach = max(abs(lon_west), abs(lon_east)), max(abs(lat_south), abs(lat_north))
        if not (reach[0] <= 360 and reach[1] <= 90):
            raise SiteError(
                _(
                    "{file}: coordinates such as {west:.0f}, {south:.0f} lie outside the"
                    " reach of its CRS ({crs}); give the CRS they were drawn in."
                ).format(file=file, west=west, south=south, crs=frame.crs.name)
            )
        return
    latitude = max(south, north, key=abs)
    longitude = max(west, east, key=abs)
    if abs(latitude) <= 90 and abs(longitude) <= 180:
        return
    if abs(latitude) > 180 or abs(longitude) > 360:
        reason = _(
            "these look like metres: name their CRS in the file, or save it in degrees"
        )
    elif abs(latitude) > 90 and abs(longitude) <= 90:
        reason = _("latitude and longitude look swapped: longitude comes first")
    else:
        reason = _(
            "give longitude first, from -180 to 180, then latitude, from -90 to 90"
        )
    raise SiteError(
        _(
            "{file}: longitude {longitude:.6g}, latitude {latitude:.6g} is no place on"
            " earth (latitude goes to ±90, longitude to ±180); {reason}."
        ).format(file=file, longitude=longitude, latitude=latitude, reason=reason)
    )


def flat_crs(frame: gpd.GeoDataFrame) -> pyproj.CRS:
    """The CRS of shapes without its heights."""
    return horizontal(frame.crs)


def fault_of_area(shape: BaseGeometry) -> str | None:
    """What is wrong with an area's outline, as the end of a sentence."""
    if shape.is_valid:
        return None
    reason = str(shapely.is_valid_reason(shape))
    what, _bracket, where = reason.partition("[")
    place = where.rstrip("]").replace(" ", ", ")
    if "elf-intersection" in what:
        return _(
            "crosses or touches itself at {place}; move the corners so that it does not"
        ).format(place=place)
    return _("is not one clean area ({fault} at {place}); draw it again").format(
        fault=what.lower(), place=place
    )


def as_told(values: Sequence[str | None], frame: gpd.GeoDataFrame) -> pd.Series:
    """Texts for a column of a frame, in which those that are not told stay None."""
    return pd.Series(values, index=frame.index, dtype=object)


def read_names(values: Sequence[object]) -> list[str | None]:
    """Names as text; a whole number loses the ending .0 that missing ones gave it."""
    return [None if value is None else _text(value) for value in values]


def _text(value: object) -> str:
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value).strip() or "?"


def faults_of_names(names: Sequence[str | None], file: str) -> list[str]:
    """A sentence for each name that cannot be used."""
    faults = []
    for number, name in enumerate(names, start=1):
        fault = fault_of_name(name) if name is not None else None
        if fault:
            faults.append(
                _("{file}: the name of shape {number} {fault}.").format(
                    file=file, number=number, fault=fault
                )
            )
    return some(faults)
