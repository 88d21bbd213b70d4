"""Layers as cloud-optimised GeoTIFF, with unit and description in each band."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import rasterio.errors
from rasterio.io import MemoryFile
from rasterio.shutil import copy

from fieldmap import words

if TYPE_CHECKING:
    from pathlib import Path

    from fieldmap.plan import Plan
    from fieldmap.raster import Raster

WRITE_ERRORS = (rasterio.errors.RasterioError,)


def write(plan: Plan, folder: Path) -> None:
    """Write every layer of a plan: float32, NaN missing, zstd level 1."""
    analysis = plan.analysis
    sun = [f"{analysis.sky} light on the ground, {month}" for month in words.MONTHS]
    cold = [
        f"offset on a clear calm night, {which}"
        for which in ("low (coldest plausible)", "central", "high")
    ]
    slope = ["angle above level"]
    aspect = ["downhill bearing, clockwise from true north; missing where level"]
    _write(analysis.slope_deg, folder / "slope_deg.tif", "degree", slope)
    _write(analysis.aspect_deg, folder / "aspect_deg.tif", "degree", aspect)
    _write(
        analysis.sky_view, folder / "sky_view.tif", "1", ["visible share of the sky"]
    )
    _write(analysis.sun_mj_m2_day, folder / "sun_mj_m2_day.tif", "MJ m-2 day-1", sun)
    depth = ["depth of cold air on a clear calm night"]
    _write(analysis.cold_air_m, folder / "cold_air_m.tif", "metre", depth)
    _write(analysis.offset_c, folder / "offset_c.tif", "degree Celsius", cold)


def _write(raster: Raster, path: Path, unit: str, descriptions: list[str]) -> None:
    values = raster.values.reshape(-1, *raster.shape).astype(np.float32)
    rows, cols = raster.shape
    with MemoryFile() as memory:
        with memory.open(
            driver="GTiff",
            count=len(values),
            height=rows,
            width=cols,
            dtype="float32",
            crs=raster.crs,
            transform=raster.transform,
            nodata=np.nan,
        ) as dataset:
            dataset.write(values)
            dataset.descriptions = descriptions
            dataset.units = [unit] * len(values)
        with memory.open() as dataset:
            copy(
                dataset,
                path,
                driver="COG",
                compress="ZSTD",
                level=1,
                predictor="YES",
                blocksize=256,
                num_threads=2,
            )
