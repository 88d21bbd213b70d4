"""Any layer of a region within any bounds, put together from its tiles."""

from pathlib import Path

import numpy as np
from rasterio.transform import from_origin

from fieldmap.model.raster import Bounds, Raster
from fieldmap.model.region import Lattice, Tile
from fieldmap.region import files
from fieldmap.region.tiles import LAYERS, Layer, Place


def window(folder: Path, layer: str, bounds: Bounds) -> Raster:
    """Values of a layer on all of its cells that touch bounds.

    Parameters
    ----------
    folder
        Of the region.
    layer
        One of `tiles.LAYERS`.
    bounds
        In the region's CRS.

    Returns
    -------
    raster
        (rows, cols), or (bands, rows, cols) where the layer has bands; NaN where
        missing, and where no tile lies.

    Raises
    ------
    PlanError
        When the region has no layers yet.
    """
    return read(Place.read(folder), LAYERS[layer], bounds)


def read(place: Place, layer: Layer, bounds: Bounds) -> Raster:
    """As `window`, of a region whose place is known.

    Parameters
    ----------
    place
        Where the region's tiles lie.
    layer
        Which layer is read.
    bounds
        West, south, east, north in the region's CRS.

    Returns
    -------
    raster
        (rows, cols), or (bands, rows, cols) where the layer has bands; NaN where
        missing, and where no tile lies.
    """
    lattice = place.lattice(layer)
    west, south, east, north = _on_cells(lattice, bounds)
    size = lattice.cell_m
    shape = round((north - south) / size), round((east - west) / size)
    bands = max(1, len(layer.bands))
    found = Raster(
        np.full((bands, *shape), np.nan),
        from_origin(west, north, size, size),
        place.crs,
    )
    for tile in lattice.touching(bounds):
        if place.file(layer, tile).is_file():
            _lay_in(place, layer, tile, found)
    return found if layer.bands else found.with_values(found.values[0])


def _on_cells(lattice: Lattice, bounds: Bounds) -> Bounds:
    """Bounds grown to whole cells; a hair over a cell's edge is none of it."""
    size, hair = lattice.cell_m, 1e-6
    low = [
        np.floor((edge - corner) / size + hair) * size + corner
        for edge, corner in zip(
            bounds[:2], (lattice.east_m, lattice.north_m), strict=True
        )
    ]
    high = [
        np.ceil((edge - corner) / size - hair) * size + corner
        for edge, corner in zip(
            bounds[2:], (lattice.east_m, lattice.north_m), strict=True
        )
    ]
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _lay_in(place: Place, layer: Layer, tile: Tile, found: Raster) -> None:
    """Write what a tile holds of them into the cells of a raster."""
    lattice = place.lattice(layer)
    west, _, _, north = lattice.bounds(tile)
    first_col = round((west - found.transform.c) / lattice.cell_m)
    first_row = round((found.transform.f - north) / lattice.cell_m)
    rows, cols = found.shape
    top, bottom = max(0, first_row), min(rows, first_row + lattice.side)
    left, right = max(0, first_col), min(cols, first_col + lattice.side)
    if top >= bottom or left >= right:
        return
    within = (
        slice(top - first_row, bottom - first_row),
        slice(left - first_col, right - first_col),
    )
    found.values[:, top:bottom, left:right] = files.read(
        place.file(layer, tile), within, layer
    )
