"""A grid of values with its place on the ground."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt
import pyproj
from affine import Affine
from rasterio.transform import from_origin
from scipy import ndimage

Bounds = tuple[float, float, float, float]  # west, south, east, north
Window = tuple[slice, slice]  # rows and columns
HAIR = 0.01  # of a cell: what sums of lengths may stray


def grown(bounds: Iterable[float], by_m: float) -> Bounds:
    """Bounds with so much more ground on every side."""
    west, south, east, north = bounds
    return west - by_m, south - by_m, east + by_m, north + by_m


def within(inner: Window, outer: Window) -> Window:
    """Rows and columns of a window, counted from another that holds it."""
    rows, cols = (
        slice(one.start - other.start, one.stop - other.start)
        for one, other in zip(inner, outer, strict=True)
    )
    return rows, cols


def common(one: Window, other: Window) -> Window | None:
    """Rows and columns of both windows, None where they do not meet."""
    rows, cols = (
        slice(max(a.start, b.start), min(a.stop, b.stop))
        for a, b in zip(one, other, strict=True)
    )
    if rows.start >= rows.stop or cols.start >= cols.stop:
        return None
    return rows, cols


@dataclass(frozen=True)
class Raster:
    """Values on square, north-up cells in a metric CRS; NaN is missing.

    Attributes
    ----------
    values
        (rows, cols) or (bands, rows, cols), row 0 in the north.
    transform
        From (col, row) of cell corners to (easting, northing) in metres.
    crs
        A projected CRS in metres.
    """

    values: npt.NDArray[Any]
    transform: Affine
    crs: pyproj.CRS

    @property
    def cell_size_m(self) -> float:
        """Side of a cell."""
        return float(self.transform.a)

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        rows, cols = self.values.shape[-2:]
        return int(rows), int(cols)

    @property
    def bounds(self) -> Bounds:
        """West, south, east and north edge of the outermost cells."""
        rows, cols = self.shape
        west, north = self.transform.c, self.transform.f
        size = self.cell_size_m
        return west, north - rows * size, west + cols * size, north

    def with_values(self, values: npt.NDArray[Any]) -> Raster:
        """Other values on the same cells."""
        if values.shape[-2:] != self.shape:
            raise ValueError(
                f"values of shape {values.shape} do not fit cells {self.shape}"
            )
        return replace(self, values=values)

    def window(self, bounds: Bounds) -> Window:
        """Rows and columns of the cells that touch `bounds`, cut to this raster.

        Without a cell where none does.

        Examples
        --------
        >>> cells = Raster(
        ...     np.zeros((3, 4)), from_origin(0, 30, 10, 10), pyproj.CRS(32632)
        ... )
        >>> cells.window((15, 12, 25, 99)), cells.window((-90, 0, -60, 30))[1]
        ((slice(0, 2, None), slice(1, 3, None)), slice(0, 0, None))
        """
        west, south, east, north = bounds
        size = self.cell_size_m
        rows, cols = self.shape
        first_col = max(0, int(np.floor((west - self.transform.c) / size)))
        last_col = min(cols, int(np.ceil((east - self.transform.c) / size)))
        first_row = max(0, int(np.floor((self.transform.f - north) / size)))
        last_row = min(rows, int(np.ceil((self.transform.f - south) / size)))
        # A stop below 0 would be counted from the far end.
        last_row, last_col = max(first_row, last_row), max(first_col, last_col)
        return slice(first_row, last_row), slice(first_col, last_col)

    def window_on(self, bounds: Bounds) -> Window:
        """Rows and columns of bounds that lie on edges of cells, to a hair either way."""
        return self.window(grown(bounds, -HAIR * self.cell_size_m))

    def clip(self, window: Window) -> Raster:
        """The cells of a window of rows and columns."""
        rows, cols = window
        west = self.transform.c + cols.start * self.cell_size_m
        north = self.transform.f - rows.start * self.cell_size_m
        return replace(
            self,
            values=self.values[..., rows, cols],
            transform=from_origin(west, north, self.cell_size_m, self.cell_size_m),
        )

    def known(self, but: Bounds | None = None) -> Raster:
        """Without the outer rows and columns in which nothing is known.

        Parameters
        ----------
        but
            Bounds whose cells stay all the same.

        Returns
        -------
        part
            All of it where nothing is known.

        Examples
        --------
        >>> values = np.array([[np.nan, 1.0], [np.nan, np.nan], [np.nan, 2.0]])
        >>> north_east = Raster(values, from_origin(0, 30, 10, 10), pyproj.CRS(32632))
        >>> north_east.known().bounds, north_east.known((0, 0, 10, 10)).bounds
        ((10.0, 0.0, 20.0, 30.0), (0.0, 0.0, 20.0, 30.0))
        """
        is_kept = np.isfinite(self.values).reshape(-1, *self.shape).any(axis=0)
        if but is not None:
            is_kept[self.window(but)] = True
        if not is_kept.any():
            return self
        rows, cols = (
            slice(int(found[0]), int(found[-1]) + 1)
            for found in (np.flatnonzero(is_kept.any(axis=axis)) for axis in (1, 0))
        )
        return self.clip((rows, cols))

    def cell_of(
        self, easting: npt.ArrayLike, northing: npt.ArrayLike
    ) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
        """Row and column of the cell that holds each point (may lie outside)."""
        size = self.cell_size_m
        col = np.floor((np.asarray(easting) - self.transform.c) / size).astype(np.intp)
        row = np.floor((self.transform.f - np.asarray(northing)) / size).astype(np.intp)
        return row, col

    def middle_of(self, row: Any, col: Any) -> tuple[Any, Any]:
        """Easting and northing of the middle of cells, by row and column."""
        size = self.cell_size_m
        return (
            self.transform.c + (col + 0.5) * size,
            self.transform.f - (row + 0.5) * size,
        )

    @property
    def middles(self) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
        """Easting and northing of the middles of all cells, (rows, cols) each."""
        rows, cols = self.shape
        easting, northing = self.middle_of(np.arange(rows), np.arange(cols))
        east, north = np.meshgrid(easting, northing)
        return east, north

    def sample(
        self, easting: npt.ArrayLike, northing: npt.ArrayLike
    ) -> npt.NDArray[Any]:
        """Value of the cell under each point, NaN outside; bands come first."""
        row, col = self.cell_of(easting, northing)
        rows, cols = self.shape
        inside = (row >= 0) & (row < rows) & (col >= 0) & (col < cols)
        values = self.values[..., np.clip(row, 0, rows - 1), np.clip(col, 0, cols - 1)]
        return np.where(inside, values, np.nan)

    def interpolate(
        self, easting: npt.ArrayLike, northing: npt.ArrayLike
    ) -> npt.NDArray[Any]:
        """Value at each point, in straight lines between the middles of cells.

        Bands come first. NaN where a cell beside the point is missing or outside.
        """
        size = self.cell_size_m
        col = (np.asarray(easting) - self.transform.c) / size - 0.5
        row = (self.transform.f - np.asarray(northing)) / size - 0.5
        bands = self.values.reshape(-1, *self.shape)
        read = [
            ndimage.map_coordinates(band, [row, col], order=1, cval=np.nan)
            for band in bands
        ]
        return np.stack(read) if self.values.ndim == 3 else read[0]

    def carried_on(self) -> Raster:
        """Missing cells with the value of the nearest known one; bands miss alike."""
        missing = np.isnan(self.values if self.values.ndim == 2 else self.values[0])
        if not missing.any() or missing.all():
            return self
        row, col = ndimage.distance_transform_edt(
            missing, return_distances=False, return_indices=True
        )
        return self.with_values(self.values[..., row, col])

    def read_on(self, fine: Raster) -> npt.NDArray[Any]:
        """Values at the middles of finer cells, in straight lines; NaN off both."""
        return np.where(np.isnan(fine.values), np.nan, self.interpolate(*fine.middles))
