"""The ground of a site as the page draws it: heights on level metres around its middle.

The page counts metres east and north of one place, so that it needs no projections: a
degree is as long as at that place, which is out by 1 in 5000 a kilometre north of it.
"""

import base64
import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any, NamedTuple

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import shapely
from rasterio.features import geometry_mask
from rasterio.transform import from_origin

from fieldmap.errors import FieldmapError, site_error
from fieldmap.model.coordinates import WEB_MERCATOR, WGS84, in_crs, transformer
from fieldmap.model.raster import Raster
from fieldmap.model.settings import Settings
from fieldmap.read import door
from fieldmap.read.door import SiteFile
from fieldmap.read.elevation.files import open_elevation
from fieldmap.read.elevation.grid import read_ground
from fieldmap.read.outlines.files import Outlines

Floats = npt.NDArray[np.float64]

AROUND_M = 250.0  # of ground that is drawn beyond what is outlined (a choice)
NOWHERE_M = (
    300.0  # to each side of the middle of the elevation where nothing is outlined
)
MOST_CELLS_A_SIDE = 300
MISSING = -32768
# Of the WGS 84 ellipsoid.
_SEMI_MAJOR_M, _ECCENTRICITY_2 = 6_378_137.0, 0.006_694_379_990_141
# Tiles of pictures: at zoom 0 one of `TILE_CELLS` cells a side takes the whole square world.
WORLD_M, TILE_CELLS = 2.0 * math.pi * _SEMI_MAJOR_M, 256
MOST_TILES = 64  # that a page asks for (a choice)
START_PX = 900.0  # about as wide is what is outlined when the page opens (a choice),
LEAST_SEEN_M = 30.0  # and the page opens no nearer


class Middle(NamedTuple):
    """Where the page counts from.

    Attributes
    ----------
    east_m, north_m
        Length of a degree of longitude, and of latitude, there.
    """

    longitude: float
    latitude: float
    east_m: float
    north_m: float

    def metres(self, places: npt.ArrayLike) -> Floats:
        """Longitudes and latitudes, (places, 2), as metres from here."""
        away = np.asarray(places, float) - (self.longitude, self.latitude)
        return np.asarray(away * (self.east_m, self.north_m))

    def degrees(self, metres: npt.ArrayLike) -> Floats:
        """Metres from here, (places, 2), as longitudes and latitudes."""
        away = np.asarray(metres, float) / (self.east_m, self.north_m)
        return np.asarray(np.add(away, (self.longitude, self.latitude)))


def middle_at(longitude: float, latitude: float) -> Middle:
    """A place with the length of its degrees.

    Examples
    --------
    >>> round(middle_at(0, 0).east_m), round(middle_at(0, 45).north_m)
    (111319, 111132)
    """
    sine = math.sin(math.radians(latitude))
    root = math.sqrt(1.0 - _ECCENTRICITY_2 * sine**2)
    along_m = _SEMI_MAJOR_M / root * math.cos(math.radians(latitude))
    up_m = _SEMI_MAJOR_M * (1.0 - _ECCENTRICITY_2) / root**3
    return Middle(longitude, latitude, *np.radians([along_m, up_m]).tolist())


class Frame(NamedTuple):
    """A grid on the page: cells from its north-west corner."""

    middle: Middle
    west_m: float
    north_m: float
    cell_m: float
    rows: int
    cols: int

    def of_cells(self, cell_m: float) -> "Frame":
        """The same ground in cells of this size, if these are finer."""
        share = self.cell_m / max(cell_m, self.cell_m)
        rows, cols = (math.ceil(share * each) for each in (self.rows, self.cols))
        return self._replace(cell_m=self.cell_m / share, rows=rows, cols=cols)

    def read(self, values: Raster) -> Floats:
        """Values of a raster at the middles of the cells, (rows, cols); NaN off it."""
        east = self.west_m + (np.arange(self.cols) + 0.5) * self.cell_m
        north = self.north_m - (np.arange(self.rows) + 0.5) * self.cell_m
        places = np.stack(np.meshgrid(east, north), axis=-1).reshape(-1, 2)
        to_site = transformer(WGS84, values.crs)
        found = values.interpolate(*to_site.transform(*self.middle.degrees(places).T))
        return np.asarray(found.reshape(self.rows, self.cols))

    def packed(self, values: Floats, step: float) -> dict[str, Any]:
        """A grid for the page: whole numbers of steps, base64 of little-endian int16."""
        least = 0.0 if np.isnan(values).all() else float(np.nanmin(values))
        whole = np.where(
            np.isnan(values), MISSING, np.rint((values - least) / step)
        ).astype("<i2")
        return {
            "west_m": self.west_m,
            "north_m": self.north_m,
            "cell_m": self.cell_m,
            "rows": self.rows,
            "cols": self.cols,
            "least": least,
            "step": step,
            "values": base64.b64encode(whole.tobytes()).decode(),
        }


def frame_around(middle: Middle, bounds_m: npt.ArrayLike, finest_m: float) -> Frame:
    """The grid over bounds (west, south, east, north), no finer than what is known.

    Parameters
    ----------
    middle
        The place that metres count from.
    bounds_m
        West, south, east and north from there.
    finest_m
        Side of the smallest cell that the known ground allows.
    """
    west, south, east, north = np.asarray(bounds_m, float).tolist()
    across_m = max(east - west, north - south)
    cell_m = max(finest_m, across_m / MOST_CELLS_A_SIDE)
    rows, cols = (math.ceil(way / cell_m) for way in (north - south, east - west))
    return Frame(middle, west, north, cell_m, rows, cols)


class Ground(NamedTuple):
    """What the page draws on.

    Attributes
    ----------
    heights
        Packed; None where there is no elevation, or none that can be read.
    rise
        Of the plots, else of all that is shown: m/m towards true east and north; None
        where no height is known there.
    """

    middle: Middle
    heights: dict[str, Any] | None
    rise: tuple[float, float] | None = None


def ground(
    folder: Path, settings: Settings, plots: gpd.GeoSeries, things: gpd.GeoSeries
) -> Ground:
    """The middle of what is outlined, or of the elevation, and the heights around.

    Parameters
    ----------
    folder
        Of the site.
    settings
        Choices of the site, which name its files.
    plots, things
        In degrees.

    Raises
    ------
    SiteError
        When there is neither an outline nor an elevation: nothing says where it lies.
    """
    files = settings.files
    heights = None
    if door.is_there(folder, files.elevation):
        try:
            file = door.open_file(folder, files.elevation, door.MOST_BYTES_OF_GRID)
            heights = open_elevation(file, settings.ground.height_unit)
        except FieldmapError:  # `check` says why; one can draw without
            heights = None
    outlined = plots if len(plots) else things
    if not len(outlined) and heights is not None:
        covered = gpd.GeoSeries([heights.footprint.centroid], crs=heights.crs)
        outlined = in_crs(covered, WGS84)
    if not len(outlined):
        raise site_error(
            "{folder} has no plot and no elevation, so nothing says where it lies;"
            " make it with fieldmap start {folder} --at LATITUDE,LONGITUDE --fetch.",
            folder=folder,
        )
    # Outlines that cross themselves are refused when they are saved; until then they are
    # drawn, so that they can be mended.
    place = outlined.make_valid().union_all().centroid
    middle = middle_at(float(place.x), float(place.y))
    if heights is None:
        return Ground(middle, None)
    if len(plots):
        corners = shapely.get_coordinates(np.array([*plots, *things], object))
        corners_m = middle.metres(corners)
        corners_m = corners_m[np.hypot(*corners_m.T) < 5000.0]  # not what lies far off
        if not len(corners_m):  # plots so far apart that nothing lies between them
            return Ground(middle, None)
        bounds_m = np.array([*corners_m.min(0), *corners_m.max(0)])
        bounds_m += np.array([-1, -1, 1, 1]) * AROUND_M
    else:
        bounds_m = np.array([-1, -1, 1, 1]) * NOWHERE_M
    west, south, east, north = bounds_m.tolist()
    asked = shapely.Polygon(
        middle.degrees([(west, south), (east, south), (east, north), (west, north)])
    ).intersection(
        in_crs(gpd.GeoSeries([heights.footprint], crs=heights.crs), WGS84).iloc[0]
    )
    within = gpd.GeoDataFrame({"name": [""]}, geometry=[asked.buffer(-1e-6)], crs=WGS84)
    nowhere = SiteFile(folder / files.plots, files.plots)
    try:
        raster = read_ground(Outlines(nowhere, within, ()), heights).elevation
    except FieldmapError:
        return Ground(middle, None)
    frame = frame_around(middle, bounds_m, raster.cell_size_m)
    heights_m = frame.read(raster)
    return Ground(middle, frame.packed(heights_m, 0.1), _rise(frame, heights_m, plots))


def _rise(
    frame: Frame, heights_m: Floats, plots: gpd.GeoSeries
) -> tuple[float, float] | None:
    """Mean rise of the plots towards east and north, else of all that is shown."""
    if min(heights_m.shape) < 2:
        return None
    down, east = (
        np.asarray(np.gradient(heights_m, frame.cell_m, axis=axis)) for axis in (0, 1)
    )
    known = ~np.isnan(east + down)
    if len(plots):
        transform = from_origin(frame.west_m, frame.north_m, frame.cell_m, frame.cell_m)
        shapes = shapely.transform(plots.to_numpy(), frame.middle.metres)
        known &= ~geometry_mask(shapes, known.shape, transform, all_touched=True)
    if not known.any():
        return None
    return float(east[known].mean()), float(-down[known].mean())


class Tile(NamedTuple):
    """A picture of one square of the Web Mercator world.

    Attributes
    ----------
    zoom, col, row
        Side of the world in tiles is 2 to the power of zoom; counted from its north-west.
    box
        West, south, east and north on the page [m]. There, too, its sides run along
        parallels and meridians.
    """

    zoom: int
    col: int
    row: int
    box: tuple[float, float, float, float]

    def address(self, template: str) -> str:
        """Where it is asked for, by an address with {z}, {x} and {y}."""
        for place, number in (("z", self.zoom), ("x", self.col), ("y", self.row)):
            template = template.replace(f"{{{place}}}", str(number))
        return template


def tiles(middle: Middle, heights: Mapping[str, Any], finest_zoom: int) -> list[Tile]:
    """Tiles that cover the ground, with cells about as wide as a pixel of the first view.

    Parameters
    ----------
    middle
        The place that metres count from.
    heights
        The packed grid of the ground.
    finest_zoom
        The finest for which there are pictures; a coarser one is taken where more than
        `MOST_TILES` would be needed.
    """
    west_m, north_m, cell_m = (heights[key] for key in ("west_m", "north_m", "cell_m"))
    across_m, down_m = cell_m * heights["cols"], cell_m * heights["rows"]
    corners_m = [(west_m, north_m), (west_m + across_m, north_m - down_m)]
    to_web = transformer(WGS84, WEB_MERCATOR)
    web = np.stack(to_web.transform(*middle.degrees(corners_m).T), axis=-1)
    shares = np.clip(web / (WORLD_M, -WORLD_M) + 0.5, 0.0, np.nextafter(1.0, 0.0))

    def covering(zoom: int) -> list[range]:
        first, last = (shares * 2**zoom).astype(int).tolist()
        return [range(one, to + 1) for one, to in zip(first, last, strict=True)]

    seen_m = max(across_m - 2 * AROUND_M, down_m - 2 * AROUND_M, LEAST_SEEN_M)
    world_cells = START_PX / seen_m * across_m / (shares[1, 0] - shares[0, 0])
    fitting = round(math.log2(world_cells / TILE_CELLS))
    zoom = next(
        each
        for each in range(max(0, min(finest_zoom, fitting)), -1, -1)
        if math.prod(map(len, covering(each))) <= MOST_TILES
    )
    cols, rows = covering(zoom)
    return [
        Tile(zoom, col, row, _box(middle, zoom, col, row))
        for row in rows
        for col in cols
    ]


def _box(
    middle: Middle, zoom: int, col: int, row: int
) -> tuple[float, float, float, float]:
    """West, south, east and north of a tile on the page."""
    shares = np.array([(col, row + 1), (col + 1, row)]) / 2**zoom
    web = (shares - 0.5) * (WORLD_M, -WORLD_M)
    degrees = transformer(WEB_MERCATOR, WGS84).transform(*web.T)
    (west, south), (east, north) = middle.metres(np.transpose(degrees)).round(3)
    return float(west), float(south), float(east), float(north)
