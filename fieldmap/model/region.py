"""A region: many parcels on one elevation, and how its ground is cut into tiles."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal, NamedTuple

import geopandas as gpd
import pyproj
from pydantic import Field

from fieldmap.model.raster import Bounds
from fieldmap.model.settings import Light, Listed, Station, Units
from fieldmap.model.settings.base import Choices
from fieldmap.model.site import TypicalYear, WeatherRecord

FILE = "region.toml"
# Cells on a side of a tile, about: 36 sectors of skyline on a tile take 240 MB.
TILE_CELLS = 1280
# Each coarser level of the ground has cells this many times as wide.
COARSER = 4
LEVELS = 4  # of the ground: its own cells, and three coarser ones
NIGHT_CELL_M = 5.0
# How much wider cells of what lies beyond a tile of the night are; and how many tiles of
# the night, along each side, share a run of them.
WIDE_TIMES, WIDE_TILES = 2, 4


class Frost(Choices):
    """What a season is the time between: the last frost of spring, the first of autumn."""

    limit_c: Annotated[float, Field(ge=-15, le=10)] = 0.0
    """A night this cold or colder counts as a frost."""
    risk: Annotated[float, Field(gt=0, lt=1)] = 0.2
    """Share of years with a frost after the season has begun. The same share of years has
    a frost before the season ends."""


class RegionSettings(Choices):
    """The choices of a region (`region.toml`)."""

    name: str
    """Name of the region."""
    parcels: str = "parcels.geojson"
    """Outlines of the parcels."""
    elevation: Annotated[Listed[str], Field(min_length=1)] = ("elevation",)
    """Files, folders of files, lists of files (one in each line) or addresses. All must
    come from one survey, with one coordinate system (CRS) and one size of cells."""
    surroundings: str = "surroundings.geojson"
    """Trees, hedges, buildings and water; may be missing."""
    weather: str = "weather.csv"
    """Lowest and highest temperature of each day at the weather station; may be
    missing."""
    typical_year: str | None = None
    """A typical year of weather, hour by hour and with its clouds: a TMY3, TM2 or EPW
    file."""
    height_unit: Literal["m", "ft"] | None = None
    """Unit of the heights, if the files do not name it."""
    station: Station | None = None
    """Where the weather station stands."""
    sun: Light = Light()
    """How the light of the region is worked out."""
    frost: Frost = Frost()
    """Which frosts begin and end a season."""
    smoothing_m: Annotated[float, Field(ge=0, le=100)] = 5.0
    """Ground is smoothed over this distance before its slope is measured, so that small
    bumps do not count."""
    night: Literal["processor", "card"] = "processor"
    """Part of the computer that works out cold air: the processor, or a graphics card."""
    # The same on every tile: a run that ended where a tile has come to rest would leave
    # a step to the next.
    night_hours: Annotated[float, Field(ge=0.5, le=16)] = 3.0
    """For how many hours of a night the cold air flows."""
    tile_cells: Annotated[int, Field(ge=64, le=4096)] = TILE_CELLS
    """Number of cells on one side of a tile, about. A smaller number needs less memory."""
    units: Units = "metric"
    """Units on the page of parcels: metric, or us for feet and °F."""
    language: str = "en"
    """Language of the page of parcels: en for English, or es for Spanish."""


class Tile(NamedTuple):
    """One square of a lattice, counted eastwards and northwards from its anchor."""

    column: int
    row: int

    @property
    def name(self) -> str:
        """Part of the name of its files."""
        return f"{self.column}_{self.row}"


@dataclass(frozen=True)
class Lattice:
    """Square tiles of square cells over the plane of a CRS.

    Attributes
    ----------
    east_m, north_m
        A corner of tiles, from which they are counted.
    cell_m
        Side of a cell.
    side
        Cells on a side of a tile.
    """

    east_m: float
    north_m: float
    cell_m: float
    side: int

    @property
    def tile_m(self) -> float:
        """Side of a tile.

        Examples
        --------
        >>> Lattice(0.0, 0.0, 5.0, 256).tile_m
        1280.0
        """
        return self.cell_m * self.side

    def bounds(self, tile: Tile) -> Bounds:
        """West, south, east and north of a tile."""
        west = self.east_m + tile.column * self.tile_m
        south = self.north_m + tile.row * self.tile_m
        return west, south, west + self.tile_m, south + self.tile_m

    def around(self, tiles: Sequence[Tile]) -> Bounds:
        """West, south, east and north of all of some tiles, one at least."""
        each = [self.bounds(tile) for tile in tiles]
        west, south, east, north = zip(*each, strict=True)
        return min(west), min(south), max(east), max(north)

    def touching(self, bounds: Bounds) -> tuple[Tile, ...]:
        """Tiles that share ground with bounds, from the north-west on, row by row.

        Examples
        --------
        >>> tiles = Lattice(0.0, 0.0, 1.0, 10).touching((5.0, 5.0, 15.0, 15.0))
        >>> [each.name for each in tiles]
        ['0_1', '1_1', '0_0', '1_0']
        """
        west, south, east, north = bounds
        size = self.tile_m
        first, last = (
            math.floor((west - self.east_m) / size),
            math.ceil((east - self.east_m) / size),
        )
        low, high = (
            math.floor((south - self.north_m) / size),
            math.ceil((north - self.north_m) / size),
        )
        return tuple(
            Tile(column, row)
            for row in reversed(range(low, high))
            for column in range(first, last)
        )


class Lattices(NamedTuple):
    """The lattices of a region, all from one corner.

    Attributes
    ----------
    ground
        Cells of the elevation as it is, and coarser and coarser ones: tiles of as many
        cells each.
    view
        Cells about as wide as those of the night, on the same tiles as `ground[0]`.
    night
        Cells of cold air and water; a tile holds two by two of the ground's.
    wide
        Cells of what lies beyond a tile of the night, `WIDE_TIMES` as wide; a tile holds
        `WIDE_TILES` by as many of the night's.
    """

    ground: tuple[Lattice, ...]
    view: Lattice
    night: Lattice
    wide: Lattice


def wide_of(tile: Tile) -> Tile:
    """The tile of the wide lattice that holds one of the night's.

    Examples
    --------
    >>> wide_of(Tile(5, -1))
    Tile(column=1, row=-1)
    """
    return Tile(tile.column // WIDE_TILES, tile.row // WIDE_TILES)


def lattices(
    corner_m: tuple[float, float], cell_m: float, tile_cells: int = TILE_CELLS
) -> Lattices:
    """Lattices for an elevation with a corner of cells at an easting and northing.

    Parameters
    ----------
    corner_m
        Easting and northing of a corner of cells.
    cell_m
        Side of a cell of the elevation.
    tile_cells
        Cells on a side of a tile, about: it becomes a multiple of what all lattices
        divide into.

    Examples
    --------
    >>> found = lattices((500.5, 0.0), 1.0)
    >>> [each.cell_m for each in found.ground], found.night.cell_m, found.night.side
    ([1.0, 4.0, 16.0, 64.0], 5.0, 512)
    """
    block = max(1, round(NIGHT_CELL_M / cell_m))
    unit = math.lcm(COARSER ** (LEVELS - 1), block * COARSER)
    side = unit * max(1, round(tile_cells / unit))
    # Anchored near the origin of the CRS, so that tiles keep their names when more
    # parcels or tiles of elevation come.
    east, north = (each % cell_m for each in corner_m)
    ground = tuple(
        Lattice(east, north, cell_m * COARSER**level, side) for level in range(LEVELS)
    )
    wide = cell_m * block
    return Lattices(
        ground,
        Lattice(east, north, wide, side // block),
        Lattice(east, north, wide, 2 * side // block),
        Lattice(
            east, north, WIDE_TIMES * wide, WIDE_TILES * 2 * side // block // WIDE_TIMES
        ),
    )


@dataclass(frozen=True)
class Region:
    """What was read of a region, in one metric CRS.

    Attributes
    ----------
    parcels
        Outlines with the columns of `read.outlines.parcels`.
    surroundings
        As `Site.surroundings`.
    bounds
        Of the ground that is mapped: the parcels with what lies near, as far as the
        elevation reaches.
    known
        Bounds of the elevation.
    latitude, longitude, convergence_deg
        Of its middle, as of a `Site`.
    """

    folder: Path
    settings: RegionSettings
    parcels: gpd.GeoDataFrame
    surroundings: gpd.GeoDataFrame
    weather: WeatherRecord
    typical_year: TypicalYear | None
    crs: pyproj.CRS
    lattices: Lattices
    bounds: Bounds
    known: Bounds
    latitude: float
    longitude: float
    convergence_deg: float
