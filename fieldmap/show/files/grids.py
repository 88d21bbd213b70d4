"""Layers as cloud-optimised GeoTIFF, with unit and description in each band."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import rasterio.errors
from rasterio.io import MemoryFile

from fieldmap.analyse import wind
from fieldmap.analyse.fields import Analysis
from fieldmap.model.raster import Raster
from fieldmap.show.kept import drawn
from fieldmap.show.text.files import bands
from fieldmap.show.text.quantities import MONTHS
from layers import sunlight

WRITE_ERRORS = (rasterio.errors.RasterioError,)
COMPRESSION = {"compress": "ZSTD", "level": 1, "predictor": "YES", "num_threads": 2}
LIGHT = "MJ m-2 day-1"


class Grid(NamedTuple):
    """One file: its name, the unit of its values, where they come from, its bands."""

    name: str
    unit: str
    raster: Callable[[Analysis], Raster]
    bands: tuple[str, ...] = ()


def _light_integral(analysis: Analysis) -> Raster:
    sun = analysis.light.sun_mj_m2_day
    return sun.with_values(sunlight.daily_light_integral_mol(sun.values))


GRIDS = (
    Grid("slope_deg", "degree", lambda it: it.terrain.slope_deg),
    Grid("aspect_deg", "degree", lambda it: it.terrain.aspect_deg),
    Grid("sky_view", "1", lambda it: it.light.sky_view),
    Grid("sun_mj_m2_day", LIGHT, lambda it: it.light.sun_mj_m2_day, MONTHS),
    Grid("sun_beam_mj_m2_day", LIGHT, lambda it: it.light.beam_mj_m2_day, MONTHS),
    Grid("sun_sky_mj_m2_day", LIGHT, lambda it: it.light.sky_mj_m2_day, MONTHS),
    Grid(
        "sun_reflected_mj_m2_day",
        LIGHT,
        lambda it: it.light.reflected_mj_m2_day,
        MONTHS,
    ),
    Grid("sun_hours", "hour day-1", lambda it: it.light.direct_hours, MONTHS),
    Grid("sun_morning_share", "1", lambda it: it.light.morning_share, MONTHS),
    Grid("light_integral_mol_m2_day", "mol m-2 day-1", _light_integral, MONTHS),
    Grid("cold_air_m", "metre", lambda it: it.cold_air.depth_m),
    Grid("offset_c", "degree Celsius", lambda it: it.cold_air.offset_c, bands.OFFSETS),
    Grid("hollow_depth_m", "metre", lambda it: it.cold_air.hollow_depth_m),
    Grid("cold_pool_class", "1", lambda it: it.cold_air.cold_pool_class),
    Grid("wetness_index", "1", lambda it: it.wetness_index),
    Grid("wind_share", "1", lambda it: it.wind_share, wind.WINDS),
)


def write(analysis: Analysis, folder: Path) -> None:
    """Write every layer: float32, NaN missing, zstd level 1."""
    folder.mkdir(exist_ok=True)
    for grid in GRIDS:
        said = bands.descriptions(grid.name, grid.bands, analysis.light.sky)
        made = _tiff(grid.raster(analysis), grid.unit, said)
        (folder / f"{grid.name}.tif").write_bytes(made)


def _tiff(raster: Raster, unit: str, descriptions: Sequence[str]) -> bytes:
    """A raster as a file's bytes."""
    values = raster.values.reshape(-1, *raster.shape).astype(np.float32)
    inputs = {
        "values": values,
        "place": [*raster.transform, raster.crs.to_wkt()],
        "said": [unit, *descriptions],
    }
    return drawn("tiff", inputs, lambda: _made(raster, values, unit, descriptions))


def _made(
    raster: Raster,
    values: npt.NDArray[np.float32],
    unit: str,
    descriptions: Sequence[str],
) -> bytes:
    rows, cols = raster.shape
    # In memory first: the library is silent about a disk that fills as it writes.
    with MemoryFile() as made:
        with made.open(
            driver="COG",
            count=len(values),
            height=rows,
            width=cols,
            dtype="float32",
            crs=raster.crs,
            transform=raster.transform,
            nodata=np.nan,
            blocksize=256,
            **COMPRESSION,
        ) as dataset:
            dataset.write(values)
            dataset.descriptions = descriptions
            dataset.units = [unit] * len(values)
        return bytes(made.getbuffer())
