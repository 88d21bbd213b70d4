"""Tiles as files: written whole, with the key of all that they were made of."""

import io
import os
import uuid
import zipfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import rasterio
import rasterio.errors
from rasterio.io import MemoryFile
from rasterio.windows import Window

from fieldmap.cache import Arrays
from fieldmap.model.raster import Raster
from fieldmap.model.raster import Window as Cells
from fieldmap.region.tiles import Layer

KEY = "FIELDMAP_KEY"
MISSING = 65535  # where values are whole numbers
# One thread, so that workers take the cores that they were given; level 1 is fast.
PACKED = {"compress": "ZSTD", "level": 1, "predictor": "YES", "num_threads": 1}


def write(path: Path, raster: Raster, layer: Layer, key: str) -> None:
    """Write a tile as a cloud-optimised GeoTIFF with overviews, whole or not at all.

    Parameters
    ----------
    path
        Of the tile's file; its folder is made where it is missing.
    raster
        Values of the tile, (rows, cols) or (bands, rows, cols), in the unit of the
        layer; NaN where missing.
    layer
        Says the unit, and in which steps values are kept.
    key
        Of all that the tile was made of; it is written into the file.

    Raises
    ------
    ValueError
        When a layer is kept in steps, and a value is below 0 or beyond the last step.
    """
    write_whole(path, _tiff(raster, layer, key))


def write_whole(path: Path, content: bytes) -> None:
    """Write beside, then rename: nobody ever sees a part of it."""
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_name(f".{path.name}.{uuid.uuid4().hex}.part")
    try:
        with beside.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


def key_of(path: Path) -> str | None:
    """The key of a file that lies there; None where none does, or none of ours."""
    if path.suffix == ".npz":
        kept = read_arrays(path, [KEY])
        return str(kept[KEY]) if kept else None
    try:
        with rasterio.open(path, driver="GTiff") as source:
            found: str | None = source.tags().get(KEY)
            return found
    except (rasterio.errors.RasterioError, OSError):
        return None


def read(path: Path, window: Cells, layer: Layer) -> npt.NDArray[np.float64]:
    """Values of some cells of a tile, (bands, rows, cols); NaN is missing.

    Parameters
    ----------
    path
        Of the tile's file; it must be there.
    window
        Rows and columns within the tile.
    layer
        Says in which steps values are kept.
    """
    rows, cols = window
    there = Window(
        cols.start, rows.start, cols.stop - cols.start, rows.stop - rows.start
    )
    with rasterio.open(path, driver="GTiff") as source:
        kept = source.read(window=there)
    if layer.step is None:
        return np.asarray(kept, np.float64)
    return np.where(kept == MISSING, np.nan, kept * layer.step)


def write_arrays(path: Path, arrays: Arrays, key: str) -> None:
    """Write arrays by name with a key, whole or not at all.

    Parameters
    ----------
    path
        Of the file; its folder is made where it is missing.
    arrays
        By name.
    key
        Of all that they were made of; it is written into the file.
    """
    content = io.BytesIO()
    np.savez(content, **arrays, **{KEY: np.array(key)})  # type: ignore[arg-type]
    write_whole(path, content.getvalue())


def read_arrays(path: Path, names: Sequence[str]) -> Arrays | None:
    """Some of what `write_arrays` wrote; None where it did not write all of them."""
    try:
        with np.load(path, allow_pickle=False) as kept:
            return {name: kept[name] for name in names}
    except (OSError, ValueError, zipfile.BadZipFile, EOFError, KeyError):
        return None


def _tiff(raster: Raster, layer: Layer, key: str) -> bytes:
    values = raster.values.reshape(-1, *raster.shape)
    rows, cols = raster.shape
    whole = layer.step is not None
    kept = _in_steps(values, layer.step) if layer.step else values.astype(np.float32)
    how: dict[str, Any] = {
        "driver": "COG",
        "count": len(kept),
        "height": rows,
        "width": cols,
        "dtype": kept.dtype,
        "crs": raster.crs.to_wkt(),
        "transform": raster.transform,
        "nodata": MISSING if whole else np.nan,
        "blocksize": 256,
        # A mean of bearings is none.
        "overview_resampling": "nearest" if layer.name == "aspect_deg" else "average",
        **PACKED,
    }
    with MemoryFile() as made:
        with made.open(**how) as dataset:
            dataset.write(kept)
            dataset.units = [layer.unit] * len(kept)
            dataset.update_tags(**{KEY: key})
            if layer.bands:
                dataset.descriptions = layer.bands
            if layer.step is not None:
                dataset.scales = [layer.step] * len(kept)
        return bytes(made.getbuffer())


def _in_steps(values: npt.NDArray[Any], step: float) -> npt.NDArray[np.uint16]:
    missing = np.isnan(values)
    steps = np.round(np.where(missing, 0.0, values) / step)
    if steps.min(initial=0) < 0 or steps.max(initial=0) >= MISSING:
        raise ValueError(f"values from 0 to {step * MISSING} can be kept")
    return np.where(missing, MISSING, steps).astype(np.uint16)
