"""Any file of outlines to a table of flat shapes with known columns."""

import warnings
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import pyogrio.errors
import shapely
from pyproj.exceptions import ProjError
from shapely.errors import GEOSException
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from fieldmap.errors import Problem, SiteError, problem
from fieldmap.model.coordinates import WGS84, in_crs
from fieldmap.model.fact import Fact
from fieldmap.read.door import NO_NETWORK, SiteFile
from fieldmap.read.outlines import formats
from fieldmap.read.outlines.not_outlines import (
    MOST_SHAPES,
    check_counts,
    check_points,
    not_outlines,
)
from fieldmap.read.place import is_usable, unusable_crs
from fieldmap.read.wording import (
    either,
    fault_of_name,
    in_short,
    nearest,
    quoted,
    some,
)

_DBF_NAME = 10  # characters that a Shapefile keeps of a column's name
_SHAPES_AT_ONCE = 64  # that are asked which others they meet: all may meet all
MOST_OVERLAPS = 100  # that are looked for; who has more mends some, and looks again
NAMES = ("name", "id", "plot", "bed", "file")  # columns whose numbers are names too
DAY = "until"  # a column whose texts the library takes for days


# What the library raises of files that it cannot read.
UNREADABLE = (
    pyogrio.errors.DataSourceError,
    pyogrio.errors.DataLayerError,
    pyogrio.errors.FeatureError,
    pyogrio.errors.FieldError,
    OSError,
    OverflowError,
    ValueError,  # of a day that is none, such as one of the year 0
    UnboundLocalError,  # of a .prj whose CRS it cannot write, through a slip of its own
)


@dataclass(frozen=True)
class Outlines:
    """The shapes of one file and what was noticed on the way."""

    file: SiteFile
    frame: gpd.GeoDataFrame
    remarks: tuple[Fact, ...]

    def labels(self, named: Problem, numbered: Problem) -> list[Problem]:
        """What each shape is called: by its name, else by its number of all."""
        shared = {"file": self.file.name, "count": len(self.frame)}
        return [
            Problem(named.text, {**shared, "name": quoted(name)})
            if name
            else Problem(numbered.text, {**shared, "number": number})
            for number, name in enumerate(self.frame["name"], start=1)
        ]

    def faults_of_names(self) -> list[Problem]:
        """A sentence for each name that cannot be used."""
        found = [
            self.file.problem(
                "{file}: the name of shape {number} {fault}.",
                number=number,
                fault=fault,
            )
            for number, name in enumerate(self.frame["name"], start=1)
            if name is not None and (fault := fault_of_name(name))
        ]
        return some(found, self.file.name)


def read_outlines(file: SiteFile, layer: str, columns: Sequence[str]) -> Outlines:
    """Shapes with exactly the given columns, None where empty, in the file's CRS.

    Parameters
    ----------
    file
        The file; its ending says the format.
    layer
        Name of the layer that is read where the file holds several.
    columns
        Names to look for, in any case of letters, and also cut to ten characters as a
        Shapefile keeps them.

    Raises
    ------
    SiteError
        When the file cannot be read, has no CRS, no shape or impossible coordinates.
    """
    with warnings.catch_warnings(record=True) as caught, TemporaryDirectory() as aside:
        warnings.simplefilter("always")
        frame = _read(formats.source(file, Path(aside)), file, layer)
    remarks = [
        Fact("library_warned", file=file.name, message=in_short(warning.message))
        for warning in caught
        if isinstance(warning.message, Warning)
    ]
    if len(frame) == 0 or "geometry" not in frame:
        raise SiteError(_no_outline(file))
    check_points(file, shapely.get_num_coordinates(frame.geometry.to_numpy()))
    if frame.crs is None:
        raise SiteError(formats.no_crs(file))
    if not is_usable(frame.crs):
        raise SiteError(unusable_crs(file, frame.crs.name))
    frame, unused = _with_columns(frame, file, columns)
    _check_coordinates(frame, file)
    return Outlines(file, frame, (*remarks, *unused))


def _no_outline(file: SiteFile) -> Problem:
    return file.problem("{file} holds no outline; draw at least one and save it.")


def _read(path: Path, file: SiteFile, layer: str) -> gpd.GeoDataFrame:
    """The shapes of a file whose content has been looked at."""
    try:
        pyogrio.set_gdal_config_options(NO_NETWORK)
        layers = [str(name) for name in pyogrio.list_layers(path)[:, 0]]
        if not layers:
            raise file.site_error("{file} holds no layer; save the outlines again.")
        if len(layers) > 1 and layer not in layers:
            raise file.site_error(
                "{file} holds {count} layers ({layers}) and none is"
                " called {layer}; rename the right one.",
                count=len(layers),
                layers=either(layers[:6]),
                layer=quoted(layer),
            )
        chosen = layer if len(layers) > 1 else layers[0]
        info = pyogrio.read_info(path, layer=chosen)
        if info["driver"] != formats.DRIVERS[path.suffix.lower()]:
            raise SiteError(not_outlines(file))
        check_counts(file, info["features"], len(info["fields"]))
        return pyogrio.read_dataframe(path, layer=chosen, max_features=MOST_SHAPES)
    except UnicodeDecodeError as error:
        raise file.site_error(
            "{file} holds text that is not UTF-8 ({text!r}); save it again in UTF-8.",
            text=error.object[:40],
        ) from error
    except ProjError as error:
        raise SiteError(unusable_crs(file, in_short(error))) from error
    except (GEOSException, pyogrio.errors.GeometryError) as error:
        raise file.site_error(
            "{file} holds a shape that cannot be built ({error}); an area needs at"
            " least three corners and ends where it began.",
            error=in_short(error),
        ) from error
    except UNREADABLE as error:
        raise SiteError(not_outlines(file)) from error


def _with_columns(
    frame: gpd.GeoDataFrame, file: SiteFile, columns: Sequence[str]
) -> tuple[gpd.GeoDataFrame, list[Fact]]:
    """The frame with these columns alone, and a remark on those that are near to one."""
    wanted = {name[:_DBF_NAME]: name for name in columns} | {
        name: name for name in columns
    }
    found: dict[str, str] = {}
    remarks = []
    for given in map(str, frame.columns.drop("geometry")):
        name = wanted.get(given.casefold())
        if name in found:
            raise file.site_error(
                "{file} has two columns for {name} ({one} and {other}); keep one.",
                name=quoted(name),
                one=quoted(found[name]),
                other=quoted(given),
            )
        if name is not None:
            found[name] = given
        elif near := nearest(given, columns):
            said = {"other": quoted(given), "near": quoted(near)}
            remarks.append(Fact("column_not_used", file=file.name, **said))
    nothing = dict.fromkeys(columns, [None] * len(frame))
    values = {
        name: _values(frame[given], file, as_names=name in NAMES)
        for name, given in found.items()
    }
    table = pd.DataFrame(nothing | values, dtype=object)
    shapes = shapely.force_2d(frame.geometry.to_numpy())
    return gpd.GeoDataFrame(table, geometry=shapes, crs=frame.crs), remarks


def _values(
    column: pd.Series, file: SiteFile, *, as_names: bool
) -> list[str | int | float | bool | None]:
    """Plain values, None where a cell is empty (empty text too)."""
    values: list[str | int | float | bool | None] = []
    for number, value in enumerate(column.tolist(), start=1):
        if value is None or value is pd.NaT:
            values.append(None)
        elif column.name == DAY and isinstance(value, date):
            values.append(f"{value:%Y-%m-%d}")
        elif not isinstance(value, str | int | float | bool):
            raise file.site_error(
                "{file}: {column} of shape {number} is {value}; it must be one text or"
                " number.",
                column=quoted(str(column.name)),
                number=number,
                value=quoted(value),
            )
        else:
            is_nothing = value == "" or value != value  # noqa: PLR0124
            values.append(None if is_nothing else value)
    return [_name(value) for value in values] if as_names else values


def _name(value: object) -> str | None:
    """As text; a whole number loses the ending .0 that missing ones gave it."""
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return None if value is None else str(value).strip() or "?"


def _check_coordinates(frame: gpd.GeoDataFrame, file: SiteFile) -> None:
    """Raise SiteError where coordinates are no place on earth."""
    if frame.geometry.is_empty.all() or frame.geometry.isna().all():
        raise SiteError(_no_outline(file))
    west, south, east, north = frame.total_bounds
    latitude, longitude = max(south, north, key=abs), max(west, east, key=abs)
    if frame.crs.is_geographic and not (abs(latitude) <= 90 and abs(longitude) <= 180):
        raise file.site_error(
            "{file}: longitude {longitude:.6g}, latitude {latitude:.6g} is not a place"
            " on earth (latitude goes to ±90, longitude to ±180); {reason}.",
            longitude=longitude,
            latitude=latitude,
            reason=_why_no_place(longitude, latitude),
        )
    # Degrees too, as a CRS may count them from elsewhere or in a unit of its own.
    lon_west, lat_south, lon_east, lat_north = in_crs(frame, WGS84).total_bounds
    reach = max(abs(lon_west), abs(lon_east)), max(abs(lat_south), abs(lat_north))
    if not (reach[0] <= 360 and reach[1] <= 90):
        raise file.site_error(
            "{file}: coordinates such as {west:.0f}, {south:.0f} lie outside the"
            " reach of its CRS ({crs}); give the CRS they were drawn in.",
            west=west,
            south=south,
            crs=frame.crs.name,
        )


def _why_no_place(longitude: float, latitude: float) -> Problem:
    """What went wrong with degrees that are beyond the earth."""
    if abs(latitude) > 180 or abs(longitude) > 360:
        return problem(
            "these look like metres: name their CRS in the file, or save it in degrees"
        )
    if abs(latitude) > 90 and abs(longitude) <= 90:
        return problem("latitude and longitude look swapped: longitude comes first")
    return problem(
        "give longitude first, from -180 to 180, then latitude, from -90 to 90"
    )


def check_number(found: Outlines, count: int, most: int, what: Problem) -> None:
    """Raise SiteError where more are drawn than a plan is made of.

    Parameters
    ----------
    found
        The file, for the message.
    count, most
        How many there are, and how many there may be.
    what
        What they are called.
    """
    if count > most:
        raise found.file.site_error(
            "{file} holds {count:,} {what}, and at most {most:,} go into one plan; make"
            " several sites of them.",
            count=count,
            most=most,
            what=what,
        )


def fault_of_area(shape: BaseGeometry) -> Problem | None:
    """What is wrong with an area's outline, as the end of a sentence."""
    if shape.is_valid:
        return None
    what, _bracket, where = str(shapely.is_valid_reason(shape)).partition("[")
    place = where.rstrip("]").replace(" ", ", ")
    fault = problem(
        "is not one clean area ({fault} at {place}); draw it again",
        fault=what.lower(),
        place=place,
    )
    if "elf-intersection" in what:
        fault = problem(
            "crosses or touches itself at {place}; move the corners so that it does not",
            place=place,
        )
    return problem("has an outline that {fault}", fault=fault)


def fault_of_closed_area(shape: object) -> Problem | None:
    """What is wrong with what must be an area, as the end of a sentence."""
    if not isinstance(shape, Polygon | MultiPolygon) or shape.is_empty:
        return problem("is not a closed area; draw it as a Polygon")
    return fault_of_area(shape)


def names_of_several(names: Sequence[str]) -> list[tuple[str, int]]:
    """Names that several go by, whatever the case, as first spelt, and by how many."""
    counts = Counter(name.casefold() for name in names)
    spelt = {name.casefold(): name for name in reversed(names)}
    return [(spelt[folded], count) for folded, count in counts.items() if count > 1]


def overlaps(
    shapes: Sequence[BaseGeometry], sliver_m: float
) -> Iterator[tuple[int, int, float]]:
    """Pairs of shapes that share more than a sliver, and the area that they share.

    They are looked for as far as they are asked for.

    Parameters
    ----------
    shapes
        In a metric CRS.
    sliver_m
        Width up to which hand-drawn neighbours may overlap.
    """
    every = np.array(shapes, object)
    tree = shapely.STRtree(every)
    for first in range(0, len(every), _SHAPES_AT_ONCE):
        block = every[first : first + _SHAPES_AT_ONCE]
        # Each lies on itself, and a pair is found from either side.
        others, ones = tree.query(block, predicate="intersects")[::-1]
        is_pair = ones + first < others
        pairs = np.column_stack([ones + first, others])[is_pair]
        for one, other in pairs[np.lexsort(pairs.T[::-1])].tolist():
            shared = every[one].intersection(every[other])
            if not shared.buffer(-sliver_m / 2).is_empty:
                yield one, other, shared.area
