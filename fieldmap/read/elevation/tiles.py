"""An elevation in many files: what they have in common, and heights of any bounds."""

import hashlib
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath
from typing import Any

import numpy as np
import numpy.typing as npt
import pyproj
from affine import Affine
from rasterio.transform import from_origin
from rasterio.windows import Window

from fieldmap.errors import Problem, site_error
from fieldmap.model.raster import Bounds, Raster
from fieldmap.read import door
from fieldmap.read.elevation.files import ElevationFile, open_elevation
from fieldmap.read.elevation.grid import heights_m, kept_cells
from fieldmap.read.wording import quoted, refuse_any

Floats = npt.NDArray[np.float64]

GRIDS = (".tif", ".tiff")
LISTS = (".txt", ".csv")
ADDRESS = "://"
MOST_BYTES_OF_LIST = 20_000_000
# Corners of cells of one survey lie on one lattice, to so much of a cell.
OFF_LATTICE = 1e-3


@dataclass(frozen=True)
class HeightTile:
    """One file, the ground that it covers, and the hash of its bytes."""

    elevation: ElevationFile
    bounds: Bounds
    sha256: str


@dataclass(frozen=True)
class HeightTiles:
    """Files of one elevation, on one lattice of square, north-up cells.

    Attributes
    ----------
    tiles
        In the order in which they are named: where two overlap, the first holds.
    corner
        East and north of a corner of cells.
    """

    tiles: tuple[HeightTile, ...]
    crs: pyproj.CRS
    cell_m: float
    corner: tuple[float, float]

    @property
    def bounds(self) -> Bounds:
        """Around all of them."""
        west, south, east, north = zip(
            *(tile.bounds for tile in self.tiles), strict=True
        )
        return min(west), min(south), max(east), max(north)

    def within(self, bounds: Bounds) -> tuple[HeightTile, ...]:
        """Those that share ground with bounds."""
        return tuple(tile for tile in self.tiles if _meet(tile.bounds, bounds))

    def part(self, bounds: Bounds) -> "HeightTiles | None":
        """The same elevation with the files alone that share ground with bounds."""
        tiles = self.within(bounds)
        return replace(self, tiles=tiles) if tiles else None

    def inputs(self) -> dict[str, Any]:
        """What heights hang on: files, their places and unit."""
        return {
            "elevation": [
                [
                    tile.sha256,
                    *tile.elevation.transform,
                    tile.elevation.metres_per_unit,
                ]
                for tile in self.tiles
            ]
        }

    def read(self, bounds: Bounds) -> Raster:
        """Heights [m] on the cells within bounds, NaN where no file knows any.

        Parameters
        ----------
        bounds
            On corners of cells.

        Raises
        ------
        SiteError
            When a file is damaged or holds what no land has.
        """
        west, south, east, north = bounds
        shape = round((north - south) / self.cell_m), round((east - west) / self.cell_m)
        transform = from_origin(west, north, self.cell_m, self.cell_m)
        found = Raster(np.full(shape, np.nan), transform, self.crs)
        for tile in self.within(bounds):
            _lay_in(tile, found)
        return found


def open_tiles(
    folder: Path,
    names: Sequence[str],
    height_unit: str | None,
    fetched: Callable[[str], str],
) -> HeightTiles:
    """The files of an elevation, checked but for their heights.

    Parameters
    ----------
    folder
        Where the files lie; names are paths from there.
    names
        Of files, folders of files or lists of files, in the folder; addresses.
    height_unit
        "m" or "ft" where files do not say it, None where nobody says it.
    fetched
        Name of the file in the folder that holds what is at an address.

    Raises
    ------
    SiteError
        When one cannot be used, or they are not of one CRS and one lattice of cells.
    """
    files = list(dict.fromkeys(_files(folder, names)))
    tiles = []
    for given in files:
        name = fetched(given) if ADDRESS in given else given
        file = door.open_file(folder, name, door.MOST_BYTES_OF_GRID)
        elevation = open_elevation(file, height_unit)
        with file.reading(), file.path.open("rb") as opened:
            digest = hashlib.file_digest(opened, "sha256").hexdigest()
        tiles.append(HeightTile(elevation, elevation.footprint.bounds, digest))
    first = tiles[0].elevation
    refuse_any([*_strangers(tiles)], first.file.name)
    cell_m = abs(first.transform.a)
    corner = first.transform.c, first.transform.f
    return HeightTiles(tuple(tiles), first.crs, cell_m, corner)


def _files(folder: Path, names: Sequence[str]) -> Iterator[str]:
    """Names of grids, with those of folders and lists spelt out."""
    for name in names:
        path = folder / name
        if ADDRESS in name:
            yield name
        elif door.lies_inside(name) and path.is_dir():
            found = sorted(
                each.name for each in path.iterdir() if each.suffix.lower() in GRIDS
            )
            if not found:
                raise site_error(
                    "{name} is a folder without a GeoTIFF (.tif); put the tiles of the"
                    " elevation into it.",
                    name=name,
                )
            yield from (f"{name}/{each}" for each in found)
        elif path.suffix.lower() in LISTS:
            yield from _listed(folder, name)
        else:
            yield name


def _listed(folder: Path, name: str) -> Iterator[str]:
    """Files that a list names, one a line, by their paths from where the list lies."""
    file = door.open_file(folder, name, MOST_BYTES_OF_LIST)
    try:
        lines = [line.strip() for line in file.text("utf-8-sig").splitlines()]
    except UnicodeDecodeError as error:
        raise file.site_error(
            "{file}: byte {byte} is not UTF-8 text; save the file as UTF-8.",
            byte=error.start + 1,
        ) from None
    named = [line for line in lines if line and not line.startswith("#")]
    if not named:
        raise file.site_error(
            "{file} names no file; write the name of one tile of the elevation on each"
            " line."
        )
    beside = PurePosixPath(name).parent
    yield from (each if ADDRESS in each else str(beside / each) for each in named)


def _strangers(tiles: Sequence[HeightTile]) -> Iterator[Problem]:
    """What is wrong with tiles that do not lie on the lattice of the first."""
    first = tiles[0].elevation
    for tile in tiles:
        here = tile.elevation
        said = {"first": first.file.name}
        if kept_cells(np.empty((0, 0)), here.transform) is None:
            yield here.file.problem(
                "{file}: its cells are not square and north-up; warp it"
                " (gdalwarp -tr 1 1)."
            )
        elif here.crs != first.crs:
            yield here.file.problem(
                "{file} is in {crs} and {first} in {other}; save all tiles of the elevation"
                " in one coordinate system.",
                crs=quoted(here.crs.name[:100]),
                other=quoted(first.crs.name[:100]),
                **said,
            )
        elif not math.isclose(here.transform.a, first.transform.a, rel_tol=1e-6):
            yield here.file.problem(
                "{file} has cells of {size:g} m and {first} of {other:g} m; give tiles"
                " of one size of cells, and coarser ones as wide_elevation.",
                size=here.transform.a,
                other=first.transform.a,
                **said,
            )
        elif not _on_lattice(here.transform, first.transform):
            yield here.file.problem(
                "{file}: its cells do not lie beside those of {first}; warp both to one"
                " grid (gdalwarp -tap).",
                **said,
            )


def _on_lattice(one: Affine, other: Affine) -> bool:
    size = abs(other.a)
    apart = np.array([one.c - other.c, one.f - other.f]) / size
    return bool((np.abs(apart - np.round(apart)) <= OFF_LATTICE).all())


def _meet(one: Bounds, other: Bounds) -> bool:
    west, south, east, north = one
    return west < other[2] and east > other[0] and south < other[3] and north > other[1]


def _lay_in(tile: HeightTile, found: Raster) -> None:
    """Write a file's heights into the cells of a raster that are not yet known."""
    west, _, _, north = tile.bounds
    size = found.cell_size_m
    first_col = round((west - found.transform.c) / size)
    first_row = round((found.transform.f - north) / size)
    rows, cols = tile.elevation.rows, tile.elevation.cols
    top, left = max(0, first_row), max(0, first_col)
    bottom = min(found.shape[0], first_row + rows)
    right = min(found.shape[1], first_col + cols)
    if top >= bottom or left >= right:
        return
    down = tile.elevation.transform.e > 0  # row 0 lies in the south
    begin = first_row + rows - bottom if down else top - first_row
    window = Window(left - first_col, begin, right - left, bottom - top)
    heights = heights_m(tile.elevation, window)
    part = found.values[top:bottom, left:right]
    np.copyto(part, heights[::-1] if down else heights, where=np.isnan(part))
