"""The part of a grid of heights that lies around a place, in metres."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pyproj
import rasterio
from affine import Affine
from pyproj.exceptions import ProjError
from rasterio.enums import ColorInterp
from rasterio.windows import Window

from fieldmap.errors import SiteError, problem
from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.raster import Bounds
from fieldmap.read.elevation.files import (
    FOOT_M,
    MOST_BYTES_OF_BLOCK,
    has_place,
    is_in_metres,
    metres_per_named_unit,
)
from fieldmap.read.elevation.grid import HIGHEST_M, LOWEST_M
from fieldmap.read.place import horizontal, is_usable

MARGIN_M = 3000.0  # from ridge to ridge of small valleys (common practice, no source)
MOST_CELLS = 9_000_000
METRES_PER_DEGREE = 111_000.0


@dataclass(frozen=True)
class Heights:
    """Heights in metres, NaN where none is known.

    Attributes
    ----------
    unit_taken
        Whether metres were taken since the grid is one of metres, and the file says no
        unit of heights.
    """

    values: npt.NDArray[np.float32]
    transform: Affine
    crs: pyproj.CRS
    unit_taken: bool = False

    def write(self, path: Path) -> None:
        """As a GeoTIFF of our own making, with its unit."""
        rows, cols = self.values.shape
        with rasterio.open(
            path,
            "w",
            driver="GTiff",
            width=cols,
            height=rows,
            count=1,
            dtype="float32",
            crs=self.crs.to_wkt(),
            transform=self.transform,
            nodata=math.nan,
            compress="deflate",
            predictor=3,
            tiled=min(rows, cols) >= 256,
        ) as target:
            target.write(self.values, 1)
            target.units = ("metre",)


def around(bounds: Bounds, margin_m: float) -> Bounds:
    """Bounds in degrees with a margin in metres on every side."""
    west, south, east, north = bounds
    up = margin_m / METRES_PER_DEGREE
    across = up / max(0.05, math.cos(math.radians((south + north) / 2)))
    return west - across, south - up, east + across, north + up


def read_window(
    source: rasterio.DatasetReader,
    name: str,
    bounds: Bounds,
    *,
    crs: pyproj.CRS | None = None,
    height_unit: str | None = None,
    margin_m: float = MARGIN_M,
    must_hold: bool = True,
) -> Heights:
    """Heights around bounds in degrees, as far as the grid reaches and memory allows.

    Parameters
    ----------
    source
        The grid of heights, open for reading.
    name
        Of the file, for messages.
    bounds
        West, south, east, north of the plots [degrees].
    crs
        CRS of a grid that does not name its own; None where the user gave none.
    height_unit
        "m" or "ft" for a grid that does not say it; None where the user gave none.
    margin_m
        Ground around the bounds that is read too; less of it where that is too many
        cells.
    must_hold
        Whether the middle of the bounds must lie on the grid; not of one tile of several.

    Raises
    ------
    SiteError
        When the grid lies elsewhere, has no CRS, unit or heights of land.
    """
    _check_kept(source, name)
    own, unit, taken = _what_it_says(source, name, crs, height_unit)
    wanted = _window(source, own, bounds, margin_m)
    while wanted.width * wanted.height > MOST_CELLS and margin_m > 50:
        margin_m *= 0.8
        wanted = _window(source, own, bounds, margin_m)
    if min(wanted.width, wanted.height) < 2 or (
        must_hold and not _holds(source, own, bounds)
    ):
        raise SiteError(_elsewhere(source, own, name, bounds))
    band = source.read(1, window=wanted, masked=True)
    with np.errstate(invalid="ignore", over="ignore"):
        values = band.astype(np.float64).filled(np.nan)
        values = (values * source.scales[0] + source.offsets[0]) * unit
    values[(values < LOWEST_M) | (values > HIGHEST_M)] = np.nan
    if not np.isfinite(values).any():
        raise SiteError(
            problem(
                "{file} knows no height at the plots; get another elevation.", file=name
            )
        )
    transform = source.transform * Affine.translation(wanted.col_off, wanted.row_off)
    return Heights(values.astype(np.float32), transform, own, taken)


def _check_kept(source: rasterio.DatasetReader, name: str) -> None:
    """Raise SiteError of a picture, of no place, large blocks and what leads elsewhere."""
    if not has_place(source.transform):
        raise SiteError(
            problem(
                "{file} does not say where on earth it lies (it has no origin and no cell"
                " size); export it again as a georeferenced GeoTIFF.",
                file=name,
            )
        )
    rows, cols = source.block_shapes[0]
    if source.colorinterp[0] == ColorInterp.palette or "complex" in source.dtypes[0]:
        raise SiteError(
            problem(
                "{file} is a picture; get the heights it was drawn from.", file=name
            )
        )
    leads_out = "OVERVIEW_FILE" in source.tags(ns="OVERVIEWS")
    if leads_out or rows * cols * 8 > MOST_BYTES_OF_BLOCK:
        raise SiteError(
            problem(
                "{file} is kept in blocks that take too much memory, or leads to another"
                " file; save it in tiles (gdal_translate -co TILED=YES).",
                file=name,
            )
        )


def _what_it_says(
    source: rasterio.DatasetReader,
    name: str,
    crs: pyproj.CRS | None,
    height_unit: str | None,
) -> tuple[pyproj.CRS, float, bool]:
    """CRS, metres per unit of height, and whether metres were taken."""
    if source.count != 1:
        raise SiteError(
            problem(
                "{file} has {count} bands; an elevation has one, of heights.",
                file=name,
                count=source.count,
            )
        )
    try:
        whole = pyproj.CRS.from_wkt(source.crs.to_wkt()) if source.crs else crs
    except ProjError:
        whole = None
    if whole is None:
        raise SiteError(
            problem(
                "{file} does not say its coordinate system; give it with --crs, for example"
                " --crs EPSG:25830.",
                file=name,
            )
        )
    if not is_usable(whole):
        raise SiteError(
            problem(
                "{file}: its coordinate system ({crs}) cannot be used.",
                file=name,
                crs=whole.name[:200],
            )
        )
    unit = source.units[0] or _vertical_unit(whole)
    return horizontal(whole), *_unit(unit, whole, name, height_unit)


def _vertical_unit(crs: pyproj.CRS) -> str | None:
    return next((a.unit_name for a in crs.axis_info if a.direction == "up"), None)


def _unit(
    unit: str | None, crs: pyproj.CRS, name: str, height_unit: str | None
) -> tuple[float, bool]:
    """Metres per unit of height, and whether metres were taken from the grid's own."""
    if unit:
        factor = metres_per_named_unit(unit)
        if factor is None:
            raise SiteError(
                problem(
                    "{file} says its heights are in {unit!r}, which fieldmap cannot read;"
                    " convert it to metres or feet.",
                    file=name,
                    unit=unit[:60],
                )
            )
        return factor, False
    if height_unit is not None:
        return (FOOT_M if height_unit == "ft" else 1.0), False
    if is_in_metres(crs):
        return 1.0, True
    raise SiteError(
        problem(
            "{file} does not say whether its heights are metres or feet; give it with"
            " --height-unit m or --height-unit ft.",
            file=name,
        )
    )


def _window(source: Any, crs: pyproj.CRS, bounds: Bounds, margin_m: float) -> Window:
    """Rows and columns around bounds in degrees; none where the grid lies elsewhere."""
    there = transformer(WGS84, crs).transform_bounds(*around(bounds, margin_m))
    if not all(map(math.isfinite, there)):
        return Window(0, 0, 0, 0)
    west, south, east, north = there
    corners = [
        ~source.transform * corner
        for corner in ((west, south), (west, north), (east, south), (east, north))
    ]
    cols, rows = zip(*corners, strict=True)
    left, top = max(0, math.floor(min(cols))), max(0, math.floor(min(rows)))
    right = min(source.width, math.ceil(max(cols)))
    bottom = min(source.height, math.ceil(max(rows)))
    return Window(left, top, max(0, right - left), max(0, bottom - top))


def _holds(source: Any, crs: pyproj.CRS, bounds: Bounds) -> bool:
    """Whether the middle of bounds lies on the grid."""
    west, south, east, north = bounds
    place = transformer(WGS84, crs).transform((west + east) / 2, (south + north) / 2)
    if not all(map(math.isfinite, place)):
        return False
    col, row = ~source.transform * place
    return bool(0 <= col <= source.width and 0 <= row <= source.height)


def _elsewhere(source: Any, crs: pyproj.CRS, name: str, bounds: Bounds) -> Any:
    west, south, east, north = bounds
    there = transformer(crs, WGS84).transform_bounds(*source.bounds)
    said = {
        "file": name,
        "latitude": (south + north) / 2,
        "longitude": (west + east) / 2,
        "south": there[1],
        "north": there[3],
        "west": there[0],
        "east": there[2],
    }
    swapped: Sequence[float] = (south, west, north, east)
    if max(map(abs, (west, east))) <= 90 and _holds(source, crs, tuple(swapped)):  # type: ignore[arg-type]
        return problem(
            "the plots lie at latitude {latitude:.4f}, longitude {longitude:.4f}, and"
            " {file} at the same numbers the other way round: latitude and longitude of"
            " the outline, or of --at, look swapped. Correct --at, or export the outline"
            " again.",
            **said,
        )
    return problem(
        "the plots lie at latitude {latitude:.4f}, longitude {longitude:.4f}, and {file}"
        " covers latitude {south:.4f} to {north:.4f}, longitude {west:.4f} to"
        " {east:.4f}; take the elevation of the place, or correct the CRS.",
        **said,
    )
