"""Plots and the cells of an elevation file around them, on a square, north-up, metric grid."""

import math
from dataclasses import dataclass
from typing import NamedTuple

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import pyproj
from affine import Affine
from rasterio.windows import Window
from scipy.ndimage import map_coordinates
from shapely.geometry import Polygon, box

from fieldmap.errors import SiteError, site_error
from fieldmap.model.coordinates import in_crs, transformer
from fieldmap.model.fact import Fact
from fieldmap.model.raster import Bounds, Raster
from fieldmap.model.site import COARSE_FROM_M, NO_BEDS_FROM_M
from fieldmap.read import place
from fieldmap.read.elevation.files import (
    ElevationFile,
    check_covers,
    check_no_holes,
    opened,
)
from fieldmap.read.elevation.gaps import check_no_cliffs, without_small_gaps
from fieldmap.read.outlines.files import Outlines
from fieldmap.read.wording import in_short

# Lowest land -430 m (Dead Sea), highest 8849 m, both from memory: what lies beyond is
# a mark for "missing" that the file does not declare.
LOWEST_M, HIGHEST_M = -500.0, 9000.0
# Farther ground is left unread: a 350 m hill at 20 km stands 1° above level.
FARTHEST_M = 20_000.0
# 3 km by 3 km at 1 m, 72 MB of heights: what a laptop can still work through.
MOST_CELLS = 9_000_000
# As fine square cells in another CRS, over cells that are read: 2 where a grid is turned
# by 45 degrees, more where its cells are far from square.
_MOST_AS_FINE = 2.5
_THINNEST = (
    1000  # times as long as wide; a degree at 89° north is 57 times as high as wide
)
_ROWS_AT_ONCE = 256  # keeps the coordinates of a large grid out of memory
_SQUARE = 1e-6  # relative difference of a cell's sides that is rounding, not shape


@dataclass(frozen=True)
class Ground:
    """Plots and elevation in the working CRS, and the plots' middle in degrees."""

    plots: gpd.GeoDataFrame
    elevation: Raster
    longitude: float
    latitude: float
    remarks: tuple[Fact, ...]


def read_ground(plots: Outlines, heights: ElevationFile) -> Ground:
    """Plots and the elevation around them.

    Raises
    ------
    SiteError
        When a plot lies outside the elevation or over a hole in it, or heights fall
        off as no ground does.
    """
    check_covers(heights, plots)
    longitude, latitude = place.middle(plots.frame)
    drawn_in = place.horizontal(plots.frame.crs)
    crs = place.working_crs(heights.crs, drawn_in, longitude, latitude)
    placed = in_crs(plots.frame, crs)
    elevation, remarks = read_elevation(heights, placed, crs)
    check_no_holes(elevation, placed, heights.file)
    check_no_cliffs(elevation, heights.file)
    elevation, filled = without_small_gaps(elevation)
    remarks = (*heights.remarks, *remarks, *filled, *_coarse(elevation.cell_size_m))
    return Ground(placed, elevation, longitude, latitude, remarks)


def _coarse(every_m: float) -> tuple[Fact, ...]:
    """What heights so far apart cannot say."""
    if every_m < COARSE_FROM_M:
        return ()
    kind = "coarse_heights" if every_m < NO_BEDS_FROM_M else "very_coarse_heights"
    return (Fact(kind, every_m=every_m),)


def read_wide(far: ElevationFile, ground: Ground) -> Raster:
    """The wider elevation in the working CRS.

    Raises
    ------
    SiteError
        When it does not reach beyond the fine elevation, or falls off as no ground does.
    """
    wide, _remarks = read_elevation(far, ground.plots, ground.elevation.crs)
    check_no_cliffs(wide, far.file)
    if box(*ground.elevation.bounds).covers(box(*wide.bounds)):
        raise far.file.site_error(
            "{file} does not reach farther than the elevation of the plots; leave it"
            " out of [files], or give a file of a larger area."
        )
    return wide


def read_elevation(
    elevation: ElevationFile, plots: gpd.GeoDataFrame, working_crs: pyproj.CRS
) -> tuple[Raster, tuple[Fact, ...]]:
    """Ground heights around the plots in the working CRS, and remarks.

    The file's own cells are kept where they are square and its CRS is the working one
    (south-up rows are turned over); else heights are interpolated bilinearly onto square
    cells of the same size on the ground.

    Parameters
    ----------
    elevation
        The file, checked but for its heights.
    plots
        Outlines in the working CRS; heights around them are read.
    working_crs
        Metric CRS of the site.

    Returns
    -------
    heights
        The raster [m], NaN where missing, and remarks on what was left out.

    Raises
    ------
    SiteError
        When heights cannot be read, none is known, or some are no heights of land.
    """
    margin_m = _margin_that_fits(elevation, plots, working_crs)
    window = _window(elevation, plots.total_bounds, working_crs, margin_m)
    if window.width < 1 or window.height < 1:
        raise elevation.file.site_error(
            "{file} does not reach the plots; give the heights of this place, or"
            " correct its CRS."
        )
    heights = heights_m(elevation, window)
    _check_any(heights, elevation)
    transform = _transform_of(elevation, window)
    remarks: tuple[Fact, ...] = ()
    if margin_m < FARTHEST_M:
        said = {"elevation": elevation.file.name, "margin_m": margin_m}
        remarks = (Fact("elevation_too_large", **said),)
    if elevation.crs == working_crs:
        kept = kept_cells(heights, transform)
        if kept is not None:
            return Raster(*kept, working_crs), remarks
    cells = _square_cells(elevation, window, plots.total_bounds, working_crs, margin_m)
    if cells.number > _MOST_AS_FINE * MOST_CELLS or _too_thin(transform):
        raise elevation.file.site_error(
            "{file} has cells {wide:.3g} wide and {high:.3g} high in units of its CRS,"
            " too far from square; correct its transform, or give an elevation with"
            " square cells.",
            wide=math.hypot(transform.a, transform.d),
            high=math.hypot(transform.b, transform.e),
        )
    return _reprojected(heights, transform, elevation.crs, cells, working_crs), remarks


def _margin_that_fits(
    elevation: ElevationFile, plots: gpd.GeoDataFrame, crs: pyproj.CRS
) -> float:
    """Metres around the plots that may be read without taking too many cells."""
    margin_m, bounds = FARTHEST_M, plots.total_bounds
    while margin_m > 1.0:
        window = _window(elevation, bounds, crs, margin_m)
        if window.width * window.height <= MOST_CELLS:
            cells = _square_cells(elevation, window, bounds, crs, margin_m)
            if cells.number <= _MOST_AS_FINE * MOST_CELLS:
                return margin_m
        margin_m *= 0.9  # so that a fifth of what could be read is lost at most
    return 0.0


class _Cells(NamedTuple):
    """A square, north-up grid; its first row and column, counted from 0 of its CRS."""

    size_m: float
    first_col: float
    first_row: float
    cols: float
    rows: float

    @property
    def number(self) -> float:
        """Of cells; endless where the CRS cannot place them."""
        return self.cols * self.rows if all(map(math.isfinite, self)) else math.inf


def _transform_of(elevation: ElevationFile, window: Window) -> Affine:
    return elevation.transform * Affine.translation(window.col_off, window.row_off)


def _too_thin(transform: Affine) -> bool:
    """Whether cells are so far from square that one side of them must be wrong."""
    wide = math.hypot(transform.a, transform.d)
    high = math.hypot(transform.b, transform.e)
    return max(wide, high) > _THINNEST * min(wide, high)


def _square_cells(
    elevation: ElevationFile,
    window: Window,
    plot_bounds: Bounds,
    working_crs: pyproj.CRS,
    margin_m: float,
) -> _Cells:
    """Cells as fine as those of a window, over it and not beyond the margin."""
    transform = _transform_of(elevation, window)
    to_working = transformer(elevation.crs, working_crs)
    corners = ((0, 0), (window.width, 0), (window.width, window.height))
    outline = Polygon([transform * corner for corner in (*corners, (0, window.height))])
    read = to_working.transform_bounds(*outline.bounds)
    west, south, east, north = plot_bounds
    wanted = (west - margin_m, south - margin_m, east + margin_m, north + margin_m)
    size_m = _ground_cell_m(transform, plot_bounds, to_working)
    west, south = np.floor(np.maximum(read[:2], wanted[:2]) / size_m)
    east, north = np.ceil(np.minimum(read[2:], wanted[2:]) / size_m)
    return _Cells(size_m, west, north, max(east - west, 0.0), max(north - south, 0.0))


def _window(
    elevation: ElevationFile, bounds: Bounds, crs: pyproj.CRS, margin_m: float
) -> Window:
    """Rows and columns of the file within a margin of metric bounds."""
    west, south, east, north = bounds
    to_file = transformer(crs, elevation.crs)
    around = to_file.transform_bounds(
        west - margin_m, south - margin_m, east + margin_m, north + margin_m
    )
    to_cells = ~elevation.transform
    corners = [to_cells * corner for corner in box(*around).exterior.coords]
    cols, rows = zip(*corners, strict=True)
    first_col, first_row = max(0, math.floor(min(cols))), max(0, math.floor(min(rows)))
    last_col = min(elevation.cols, math.ceil(max(cols)))
    last_row = min(elevation.rows, math.ceil(max(rows)))
    wide, high = max(0, last_col - first_col), max(0, last_row - first_row)
    return Window(first_col, first_row, wide, high)


def heights_m(elevation: ElevationFile, window: Window) -> npt.NDArray[np.float64]:
    """Heights of a window in metres, NaN where the file says none.

    Raises
    ------
    SiteError
        When the file is damaged or some are no heights of land.
    """
    try:
        with opened(elevation.file) as source:
            band = source.read(1, window=window, masked=True)
            scale, offset = source.scales[0], source.offsets[0]
    except SiteError as error:
        raise site_error(
            "{elevation} breaks off or is damaged ({error}); copy it again.",
            elevation=elevation.file.name,
            error=in_short(error.__cause__ or error),
        ) from error
    with np.errstate(invalid="ignore", over="ignore"):  # any bits; refused below
        heights: npt.NDArray[np.float64] = band.astype(np.float64).filled(np.nan)
        heights = (heights * scale + offset) * elevation.metres_per_unit
    _check_heights(heights, elevation)
    return heights


def _check_any(heights: npt.NDArray[np.float64], elevation: ElevationFile) -> None:
    if np.isnan(heights).all():
        raise site_error(
            "{elevation} knows no height at the plots: all {count} cells"
            " there are missing; get another elevation file.",
            elevation=elevation.file.name,
            count=heights.size,
        )


def _check_heights(heights: npt.NDArray[np.float64], elevation: ElevationFile) -> None:
    known = np.isfinite(heights)
    beyond = known & ((heights < LOWEST_M) | (heights > HIGHEST_M))
    beyond |= np.isinf(heights)
    if beyond.any():
        raise site_error(
            "{elevation}: {count} cells hold heights such as"
            " {value:g}, which no land has; if it stands for missing, declare it as the"
            " no-data value (gdal_edit.py -a_nodata {value:g} {elevation}).",
            elevation=elevation.file.name,
            count=np.count_nonzero(beyond),
            value=heights[beyond][0] / elevation.metres_per_unit,
        )


def kept_cells(
    heights: npt.NDArray[np.float64], transform: Affine
) -> tuple[npt.NDArray[np.float64], Affine] | None:
    """The same cells with row 0 in the north, None where they are not square."""
    across, down = transform.a, transform.e
    turned = abs(transform.b) + abs(transform.d) > _SQUARE * abs(across)
    if turned or across <= 0 or abs(abs(down) - across) > _SQUARE * across:
        return None
    north = transform.f
    if down > 0:
        heights, north = heights[::-1].copy(), north + down * heights.shape[0]
    return heights, Affine(across, 0.0, transform.c, 0.0, -across, north)


def _reprojected(
    heights: npt.NDArray[np.float64],
    transform: Affine,
    crs: pyproj.CRS,
    cells: _Cells,
    working_crs: pyproj.CRS,
) -> Raster:
    """Heights on square cells of the working CRS."""
    size_m, first_col, first_row, cols, rows = cells
    target = Affine(size_m, 0.0, first_col * size_m, 0.0, -size_m, first_row * size_m)
    to_working = transformer(crs, working_crs)
    shape = int(rows), int(cols)
    values = _interpolated(heights, ~transform, target, shape, to_working)
    return _trimmed(Raster(values, target, working_crs))


def _interpolated(
    heights: npt.NDArray[np.float64],
    to_cells: Affine,
    target: Affine,
    shape: tuple[int, int],
    to_working: pyproj.Transformer,
) -> npt.NDArray[np.float64]:
    """Heights at the middle of each target cell, from the four cells around it.

    Where one of the four is missing, so is the height: nothing is carried into a hole
    or past the edge. GDAL's warp is not used, since it fills half a cell of each hole,
    places cells to an eighth of a cell only, and in rasterio 1.4 may leave the no-data
    value among the heights (its issue 3320).
    """
    values = np.empty(shape)
    for first in range(0, shape[0], _ROWS_AT_ONCE):
        last = min(first + _ROWS_AT_ONCE, shape[0])
        rows, cols = np.mgrid[first:last, 0 : shape[1]]
        east, north = target * (cols + 0.5, rows + 0.5)
        across, down = to_working.transform(east, north, direction="INVERSE")
        col, row = to_cells * (across, down)
        values[first:last] = map_coordinates(
            heights, (row - 0.5, col - 0.5), order=1, cval=np.nan
        )
    return values


def _ground_cell_m(
    transform: Affine, plot_bounds: Bounds, to_working: pyproj.Transformer
) -> float:
    """Side of a square as large as the file's cell at the plots, to three digits."""
    west, south, east, north = plot_bounds
    there = to_working.transform(
        (west + east) / 2, (south + north) / 2, direction="INVERSE"
    )
    col, row = ~transform * there
    points = [
        transform * place for place in ((col, row), (col + 1, row), (col, row + 1))
    ]
    (e0, n0), (e1, n1), (e2, n2) = (to_working.transform(*point) for point in points)
    area_m2 = abs((e1 - e0) * (n2 - n0) - (e2 - e0) * (n1 - n0))
    return float(f"{math.sqrt(area_m2):.3g}")


def _trimmed(raster: Raster) -> Raster:
    """Without the outer rows and columns in which nothing is known."""
    known = np.isfinite(raster.values)
    rows, cols = np.flatnonzero(known.any(axis=1)), np.flatnonzero(known.any(axis=0))
    if len(rows) == 0:
        return raster
    return raster.clip((slice(rows[0], rows[-1] + 1), slice(cols[0], cols[-1] + 1)))
