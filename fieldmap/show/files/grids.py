"""Layers as cloud-optimised GeoTIFF, with unit and description in each band."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import rasterio.errors
from rasterio.io import MemoryFile
from rasterio.shutil import copy

from fieldmap.analyse import wind
from fieldmap.show.text import quantities
from layers import sunlight

if TYPE_CHECKING:
    from pathlib import Path

    from fieldmap.model.raster import Raster
    from fieldmap.plan import Plan

WRITE_ERRORS = (rasterio.errors.RasterioError,)


def write(plan: Plan, folder: Path) -> None:
    """Write every layer of a plan: float32, NaN missing, zstd level 1."""
    analysis = plan.analysis
    sky = analysis.light.sky
    light = "MJ m-2 day-1"
    cold = [
        f"offset on a clear calm night, {which}"
        for which in ("low (coldest plausible)", "central", "high")
    ]
    aspect = ["downhill bearing, clockwise from true north; missing where level"]
    integral = analysis.light.sun_mj_m2_day.with_values(
        sunlight.daily_light_integral_mol(analysis.light.sun_mj_m2_day.values)
    )
    band = f"{100 * sunlight.LIGHT_INTEGRAL_BAND:.0f} %"
    for name, raster, unit, descriptions in (
        ("slope_deg", analysis.terrain.slope_deg, "degree", ["angle above level"]),
        ("aspect_deg", analysis.terrain.aspect_deg, "degree", aspect),
        ("sky_view", analysis.light.sky_view, "1", ["visible share of the sky"]),
        ("sun_mj_m2_day", analysis.light.sun_mj_m2_day, light, _months(f"{sky} light")),
        (
            "sun_beam_mj_m2_day",
            analysis.light.beam_mj_m2_day,
            light,
            _months(f"{sky} beam"),
        ),
        (
            "sun_sky_mj_m2_day",
            analysis.light.sky_mj_m2_day,
            light,
            _months(f"{sky} sky light"),
        ),
        (
            "sun_reflected_mj_m2_day",
            analysis.light.reflected_mj_m2_day,
            light,
            _months(f"{sky} light from the ground around"),
        ),
        (
            "sun_hours",
            analysis.light.direct_hours,
            "hour day-1",
            _months("hours of direct sun on a clear day"),
        ),
        (
            "sun_morning_share",
            analysis.light.morning_share,
            "1",
            _months("part of the beam before solar noon"),
        ),
        (
            "light_integral_mol_m2_day",
            integral,
            "mol m-2 day-1",
            _months(f"{sky} daily light integral, give or take {band}"),
        ),
        (
            "cold_air_m",
            analysis.cold_air.depth_m,
            "metre",
            ["depth of cold air on a clear calm night"],
        ),
        ("offset_c", analysis.cold_air.offset_c, "degree Celsius", cold),
        (
            "hollow_depth_m",
            analysis.cold_air.hollow_depth_m,
            "metre",
            ["depth of hollows under their spill"],
        ),
        (
            "cold_pool_class",
            analysis.cold_air.cold_pool_class,
            "1",
            ["by shape: 1 collects cold air, 0 no signal, -1 does not"],
        ),
        (
            "wetness_index",
            analysis.wetness_index,
            "1",
            ["how much rain water gathers for how slowly it runs off, ln m"],
        ),
        (
            "wind_share",
            analysis.wind_share,
            "1",
            [f"share of the open wind left, {name}" for name in wind.WINDS],
        ),
    ):
        _write(raster, folder / f"{name}.tif", unit, descriptions)


def _months(what: str) -> list[str]:
    return [f"{what}, {month}" for month in quantities.MONTHS]


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
