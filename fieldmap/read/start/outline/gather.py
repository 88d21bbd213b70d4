"""Files of outlines, as other programs write them, to things on the ground."""

import codecs
import math
import re
import warnings
import zipfile
from collections.abc import Iterator, Sequence
from pathlib import Path, PurePosixPath
from tempfile import TemporaryDirectory
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import pyproj
import shapely
from pyproj.exceptions import CRSError
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from fieldmap.errors import SiteError
from fieldmap.model.coordinates import WGS84
from fieldmap.read import door
from fieldmap.read.door import SiteFile
from fieldmap.read.outlines import formats
from fieldmap.read.outlines.files import UNREADABLE
from fieldmap.read.outlines.not_outlines import not_outlines
from fieldmap.read.outlines.plots import COLUMNS as OF_PLOTS
from fieldmap.read.outlines.surroundings import COLUMNS as OF_THINGS
from fieldmap.read.place import is_usable
from fieldmap.read.start.outline import corners, xml_check
from fieldmap.read.start.outline.things import LONGEST_TEXT, Thing, name_of
from fieldmap.read.wording import fault_of_name, in_short, quoted

ENDINGS = (*formats.DRIVERS, *door.DRIVERS_OF_WALKS, ".zip", ".kmz")
MOST_THINGS = 5000
MOST_LAYERS = 200
MOST_WALKS = 500
MOST_REPEATS = 1000  # of one block of a drawing, in rows and columns
_ATTRIBUTES = {*OF_PLOTS, *OF_THINGS} - {"name"}
# Columns whose text says what a thing is.
_SAYING = ("name", "desc", "description", "cmt", "type", "sym", "layer", "text", "kind")
# A line is a walk, and no drawing, from this number of places this near to each other.
_WALK_PLACES, _WALK_STEP_M = 60, 6.0
CLOSED_M = 15.0  # ends of a walk so near to each other are one place (a choice)
_XML_ROOTS = {".gpx": "gpx", ".kml": "kml"}


def gather(file: SiteFile, crs: str | None) -> list[Thing]:
    """All things of one file, in longitude and latitude.

    Parameters
    ----------
    crs
        What the user says of files that name no coordinate reference system.

    Raises
    ------
    SiteError
        When it is of no known format, or holds what is no outline, or too much.
    """
    if file.ending == ".csv":
        return corners.read(file, stated(crs, file))
    with TemporaryDirectory() as aside:
        path = _opened(file, Path(aside))
        pyogrio.set_gdal_config_options({**door.NO_NETWORK, **door.NO_BLOCKS})
        try:
            frames = list(_layers(path, file))
        except UNREADABLE as error:
            raise SiteError(not_outlines(file)) from error
        except (shapely.errors.GEOSException, pyogrio.errors.GeometryError) as error:
            raise file.site_error(
                "{file} holds a shape that cannot be built ({error}); draw it again.",
                error=in_short(error),
            ) from error
    found = [
        thing for layer, frame in frames for thing in _things(layer, frame, file, crs)
    ]
    if not found:
        raise file.site_error("{file} holds no outline; draw at least one and save it.")
    return found


def _in_utf_8(xml: bytes) -> bytes:
    """XML that begins with the mark of UTF-16 in UTF-8, as the library knows it."""
    if not xml.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return xml
    text = xml.decode("utf-16", "replace")
    return re.sub(r"^\s*<\?xml[^>]*\?>", "", text, count=1).encode()


def _opened(file: SiteFile, aside: Path) -> Path:
    """A file that the library may open, looked at before; a copy where it is small."""
    if file.ending in {".kmz", ".kml", ".gpx"}:
        ending = ".kml" if file.ending == ".kmz" else file.ending
        text = _kml_of(file) if file.ending == ".kmz" else file.path.read_bytes()
        text = _in_utf_8(text)
        xml_check.check(text, file.name, _XML_ROOTS[ending])
        copy = aside / f"outlines{ending}"
        copy.write_bytes(text)
        return copy
    if file.ending == ".dxf":
        # In lines of one kind: at others the library never comes to an end.
        text = b"\n".join([*file.path.read_bytes().splitlines(), b""])
        first = text[:4096].split()
        if b"SECTION" not in first and b"HEADER" not in first:
            raise file.site_error(
                "{file} is not a DXF drawing in plain text; save it as DXF (ASCII, R2000 or"
                " later)."
            )
        _check_repeats(text, file)
        copy = aside / "outlines.dxf"
        copy.write_bytes(text)
        return copy
    if file.ending in {".geojson", ".json"}:
        count = file.path.read_bytes().count(b"[")  # one for each place, and few more
        if count > 2 * xml_check.MOST_PLACES:
            raise SiteError(xml_check.too_many_places(file.name, count))
    return formats.source(file, aside)


def _check_repeats(drawing: bytes, file: SiteFile) -> None:
    """Raise SiteError where a DXF drawing repeats a block without end.

    The library makes each repeat before it gives the first. A drawing is pairs of lines, a
    code and a value; of a block that is inserted 70 and 71 count columns and rows (DXF
    reference, INSERT).
    """
    lines = drawing.split(b"\n")
    repeats, is_insert = 1, False
    for code, value in zip(lines[::2], lines[1::2], strict=False):
        if (what := code.strip()) == b"0":
            repeats, is_insert = 1, value.strip() == b"INSERT"
        elif is_insert and what in (b"70", b"71"):
            number = value.strip()
            repeats *= int(number[:10]) if number.isdigit() else 1
            if repeats > MOST_REPEATS:
                raise file.site_error(
                    "{file} repeats a block more than {most} times; draw what stands"
                    " there one by one.",
                    most=MOST_REPEATS,
                )


def _kml_of(file: SiteFile) -> bytes:
    """The one drawing in a KMZ."""
    try:
        with zipfile.ZipFile(file.path) as archive:
            inside = [
                info
                for info in archive.infolist()
                if PurePosixPath(info.filename).suffix.lower() == ".kml"
            ]
            if not inside:
                raise file.site_error("{file} holds no .kml; export it again.")
            first = inside[0]
            if first.file_size > door.MOST_BYTES_OF_OUTLINES:
                most = door.MOST_BYTES_OF_OUTLINES
                raise SiteError(door.too_large(file.name, first.file_size, most))
            with archive.open(first) as opened:
                text = opened.read(door.MOST_BYTES_OF_OUTLINES + 1)
            if len(text) > door.MOST_BYTES_OF_OUTLINES:
                most = door.MOST_BYTES_OF_OUTLINES
                raise SiteError(door.too_large(file.name, len(text), most))
            return text
    except formats.BAD_ZIP as error:
        raise file.site_error(
            "{file} is not a zip file that can be opened ({error}); zip it again.",
            error=in_short(error),
        ) from error


def _layers(path: Path, file: SiteFile) -> Iterator[tuple[str, gpd.GeoDataFrame]]:
    """Each layer that has shapes."""
    names = [str(name) for name, kind in pyogrio.list_layers(path) if kind is not None]
    if len(names) > MOST_LAYERS:
        raise file.site_error(
            "{file} holds {count} layers; fieldmap reads at most {most}.",
            count=len(names),
            most=MOST_LAYERS,
        )
    drivers = {**formats.DRIVERS, **door.DRIVERS_OF_WALKS}
    for name in names:
        if name in {"tracks", "route_points"} and path.suffix == ".gpx":
            continue  # their places come one by one, with times; routes as lines
        if pyogrio.read_info(path, layer=name)["driver"] != drivers[path.suffix]:
            raise SiteError(not_outlines(file))
        with warnings.catch_warnings():
            # A ring is closed by what it is; some programs leave its last corner out.
            warnings.filterwarnings("ignore", "Non closed ring")
            frame = pyogrio.read_dataframe(path, layer=name, on_invalid="fix")
        if name == "track_points":
            titles = pyogrio.read_dataframe(path, layer="tracks").drop(
                columns="geometry"
            )
            _check_walks(frame, file)
            frame = _tracks(frame, titles)
        if len(frame) and "geometry" in frame:
            yield name, frame


def _check_walks(points: gpd.GeoDataFrame, file: SiteFile) -> None:
    """Raise SiteError where a file holds more pieces of walks than are read."""
    count = len(points[["track_fid", "track_seg_id"]].drop_duplicates())
    if count > MOST_WALKS:
        raise file.site_error(
            "{file} holds {count:,} pieces of walks, and fieldmap reads at most {most};"
            " keep those around the plots.",
            count=count,
            most=MOST_WALKS,
        )


def _tracks(points: gpd.GeoDataFrame, titles: pd.DataFrame) -> gpd.GeoDataFrame:
    """A line for each piece of a track, with when each place was recorded."""
    rows = []
    for track, places in points.groupby("track_fid"):
        title = titles.iloc[int(track)].to_dict() if track < len(titles) else {}
        pieces = [piece for _id, piece in places.groupby("track_seg_id")]
        for pieces_of_walk in _walks([each for each in pieces if len(each) > 1]):
            walked = pd.concat(pieces_of_walk)
            rows.append(
                {
                    **title,
                    "geometry": LineString(shapely.get_coordinates(walked.geometry)),
                    "_seconds": _seconds(walked["time"]),
                    "_height_m": _height_m(walked),
                    "_pieces": len(pieces_of_walk),
                }
            )
    columns = None if rows else ["geometry"]
    return gpd.GeoDataFrame(rows, columns=columns, geometry="geometry", crs=points.crs)


def _walks(pieces: Sequence[gpd.GeoDataFrame]) -> list[list[gpd.GeoDataFrame]]:
    """Pieces of one track that belong together: all but those that close by themselves.

    A phone begins a new piece where it was paused or had lost the signal.
    """
    found: list[list[gpd.GeoDataFrame]] = []
    was_closed = True
    for piece in pieces:
        is_closed = _closes(shapely.get_coordinates(piece.geometry))
        if was_closed or is_closed:
            found.append([])
        found[-1].append(piece)
        was_closed = is_closed
    return found


def _closes(places: np.ndarray) -> bool:
    """Whether a piece of a walk goes around and comes back to where it began."""
    geod = pyproj.Geod(ellps="WGS84")
    gap_m = geod.inv(*places[0], *places[-1])[2]
    return bool(gap_m <= CLOSED_M and geod.line_length(*places.T) > 8 * CLOSED_M)


def _seconds(times: pd.Series) -> np.ndarray | None:
    """Seconds from the first place; None where some have no time or it runs back."""
    if times.isna().any():
        return None
    moments = pd.to_datetime(times, utc=True, errors="coerce")
    seconds = (moments - moments.iloc[0]).dt.total_seconds().to_numpy(float)
    return None if np.isnan(seconds).any() or (np.diff(seconds) < 0).any() else seconds


def _height_m(places: gpd.GeoDataFrame) -> float | None:
    """The middle one of the heights that a phone measured; None where it has none."""
    if "ele" not in places or places["ele"].isna().all():
        return None
    return float(places["ele"].median())


def stated(crs: str | None, file: SiteFile) -> pyproj.CRS | None:
    """The coordinate reference system that the user named, if any."""
    if crs is None:
        return None
    try:
        stated = pyproj.CRS.from_user_input(crs if ":" in crs else f"EPSG:{crs}")
    except CRSError:
        stated = None
    if stated is None or fault_of_name(crs) or not is_usable(stated):
        raise file.site_error(
            "--crs is {crs}, which is not a coordinate system that is known; give its"
            " number, as EPSG:25830.",
            crs=quoted(crs),
        )
    return stated


def _things(
    layer: str, frame: gpd.GeoDataFrame, file: SiteFile, crs: str | None
) -> Iterator[Thing]:
    frame = _placed(frame, file, crs)
    columns = {
        str(name).casefold(): name for name in frame.columns if name != "geometry"
    }
    for number, shape in enumerate(frame.geometry):
        if shape is None or shape.is_empty:
            continue
        row = frame.iloc[number]
        values = {key: _plain(row[name]) for key, name in columns.items()}
        name = values.get("name") or values.get("plot") or values.get("text")
        said = [str(values[key]) for key in _SAYING if values.get(key)]
        if layer not in _GDAL_LAYERS:
            said.append(layer)
        seconds = row["_seconds"] if "_seconds" in frame else None
        for part in shapely.get_parts(shape).tolist():
            yield Thing(
                file=file.name,
                name=name_of(name),
                text=" ".join(said)[:LONGEST_TEXT],
                shape=part,
                is_walk=layer == "track_points" or _looks_walked(part),
                seconds=seconds,
                pieces=row.get("_pieces", 1),
                height_m=_plain(row.get("_height_m")),
                attributes={
                    key: value for key, value in values.items() if key in _ATTRIBUTES
                },
            )


# Layers that GDAL names, and no user.
_GDAL_LAYERS = {"waypoints", "routes", "track_points", "entities", "outlines"}


def _plain(value: Any) -> Any:
    """A plain value, None where a cell is empty."""
    if (
        value is None
        or value is pd.NaT
        or (isinstance(value, float) and math.isnan(value))
    ):
        return None
    if isinstance(value, np.generic):
        value = value.item()
    return value if isinstance(value, str | int | float | bool) else str(value)


def _placed(
    frame: gpd.GeoDataFrame, file: SiteFile, crs: str | None
) -> gpd.GeoDataFrame:
    """In longitude and latitude, every place on earth."""
    if len(frame) > MOST_THINGS:
        raise file.site_error(
            "{file} holds {count:,} shapes; fieldmap reads at most {most:,}. Keep those"
            " of the plot and what stands around it.",
            count=len(frame),
            most=MOST_THINGS,
        )
    shapes = shapely.force_2d(frame.geometry.to_numpy())
    count = int(shapely.get_num_coordinates(shapes).sum())
    if count > xml_check.MOST_PLACES:
        raise SiteError(xml_check.too_many_places(file.name, count))
    own = frame.crs or stated(crs, file)
    if own is None:
        raise file.site_error(
            "{file} does not say in which coordinate system it was drawn; give it with"
            " --crs, for example --crs EPSG:25830."
        )
    if not is_usable(own):
        raise file.site_error(
            "{file}: its coordinate system ({crs}) cannot be used; save the file in"
            " another (for example EPSG:4326).",
            crs=own.name[:200],
        )
    placed = frame.set_geometry(gpd.GeoSeries(shapes, index=frame.index, crs=own))
    placed = placed.to_crs(WGS84)
    corners.check_places(shapely.get_coordinates(placed.geometry.to_numpy()), file)
    return placed


def _looks_walked(shape: BaseGeometry) -> bool:
    """Whether a line has places as near to each other as a recording, and many."""
    if shape.geom_type != "LineString":
        return False
    places = shapely.get_coordinates(shape)
    if len(places) < _WALK_PLACES:
        return False
    geod = pyproj.Geod(ellps="WGS84")
    _, _, steps_m = geod.inv(*places[:-1].T, *places[1:].T)
    return float(np.median(steps_m)) < _WALK_STEP_M
