"""What of the ground, air and wind matters under a tunnel, as bands of one raster."""

from collections.abc import Callable
from typing import NamedTuple

import geopandas as gpd
import numpy as np
import numpy.typing as npt
from rasterio import features
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.fields import Analysis, TerrainFields
from fieldmap.analyse.wind import WINDS
from fieldmap.model.raster import Raster
from fieldmap.model.season_year import SeasonYear
from fieldmap.model.site import DRIES_FIRST, PUDDLES
from layers import drainage, terrain

Floats = npt.NDArray[np.float64]
Seen = Callable[[str], BaseGeometry]

# Ground as read that rises so much more than the smoothed ground is a step, as of a
# terrace: about 40 cm between neighbouring metres (a choice).
STEP_GRADE = 0.20
# The error of a grade by Horn's operator for one of the heights, √12 / 8, and how many
# of these errors are no step.
ERROR_OF_GRADE, ERRORS = 0.433, 3.0


class Under(NamedTuple):
    """Bands of `grids`, and means of them under places.

    Attributes
    ----------
    height_m
        Of the smoothed ground.
    offset_c, cold_c
        Likely, and at worst.
    sun
        MJ/m² a day on level ground in the three darkest months.
    wet, step
        1 where the ground is wet, and where it has a step; else 0.
    catchment_m
        Ground that drains through a metre of contour [m].
    storm_share
        Of the open storm wind; 1 where its direction is not given.
    """

    height_m: Floats
    offset_c: Floats
    cold_c: Floats
    sun: Floats
    wet: Floats
    step: Floats
    catchment_m: Floats
    storm_share: Floats


class Changing(NamedTuple):
    """The bands of `grids` that are not the same everywhere, which alone are searched.

    Attributes
    ----------
    bands
        Which of `Under` they are, the height always among them.
    level
        One value of each band of `Under`; it holds everywhere where a band is left out.
    """

    bands: tuple[int, ...]
    level: Under

    @classmethod
    def of(cls, values: Floats) -> "Changing":
        """Of all bands, (bands, rows, cols); a band with missing cells is kept."""
        changes = [at for at, band in enumerate(values) if np.ptp(band) != 0]
        return cls(tuple(sorted({0, *changes})), Under(*values[:, 0, 0]))

    def under(self, means: Floats) -> Under:
        """All bands again, of means of those that change, (bands, places)."""
        every = np.tile(np.array(self.level)[:, np.newaxis], means.shape[1])
        every[list(self.bands)] = means
        return Under(*every)


def dark_months(season: SeasonYear) -> list[int]:
    """The three darkest months, January being 0."""
    return [season.month_index(month) for month in (11, 12, 1)]


def grids(
    analysis: Analysis, season: SeasonYear, wet: Raster, error_m: float | None
) -> Raster:
    """The bands of `Under`, (bands, rows, cols).

    Parameters
    ----------
    analysis
        The computed ground, light, cold air, water and wind.
    season
        The year of growing, for its darkest months.
    wet
        1 where the ground is wet, else 0, as `wet_ground` gives it.
    error_m
        Error of the heights, as the grower states it; None where nobody does.
    """
    smooth, winter = analysis.terrain.smooth_m, dark_months(season)
    cold_c, likely_c, _ = analysis.cold_air.offset_c.values
    storm = analysis.wind_share.values[WINDS.index("storm")]
    heights_m = smooth.values.astype(np.float64)
    catchment_m2 = drainage.catchment_m2(heights_m, smooth.cell_size_m)
    bands = Under(
        height_m=smooth.values,
        offset_c=likely_c,
        cold_c=cold_c,
        sun=analysis.light.level_sun_mj_m2_day.values[winter].mean(axis=0),
        wet=wet.values,
        step=steps(analysis.terrain, error_m).values,
        catchment_m=catchment_m2 / smooth.cell_size_m,
        storm_share=np.where(np.isnan(storm), 1.0, storm),
    )
    return smooth.with_values(np.stack(bands))


def steps(ground: TerrainFields, error_m: float | None) -> Raster:
    """1 where the ground as read has a step that smoothing hides, else 0.

    Parameters
    ----------
    error_m
        Of the heights, as the grower states it; None where nobody does.
    """
    raw = ground.elevation_m
    east, north = terrain.gradient(raw.values.astype(np.float64), raw.cell_size_m)
    rougher = np.hypot(east - ground.east.values, north - ground.north.values)
    noise = ERRORS * ERROR_OF_GRADE * (error_m or 0.0) / raw.cell_size_m
    return raw.with_values((rougher > max(STEP_GRADE, noise)).astype(np.float64))


def wet_ground(plots: gpd.GeoDataFrame, seen: Seen, gathers: Raster) -> Raster:
    """1 where the grower says clay, wet in March or puddles, or where water gathers.

    What the grower saw dry first is not wet, but for puddles seen there.

    Parameters
    ----------
    plots
        With `soil` and `wet_in_march`.
    seen
        All ground on which some thing was seen (`Site.seen`).
    gathers
        1 where rain water gathers by the shape of the ground.
    """
    heavy = (plots["soil"] == "clay") | (plots["wet_in_march"] == True)  # noqa: E712
    seen_dry, seen_wet = seen(DRIES_FIRST), seen(PUDDLES)
    wet = gathers.values == 1.0
    # In this order: what was seen counts more than soil, and puddles most.
    for outlines, is_wet in (
        (list(plots.geometry[heavy]), True),
        ([seen_dry], False),
        ([seen_wet], True),
    ):
        shapes = [each for each in outlines if not each.is_empty]
        if shapes:
            inside = features.geometry_mask(
                shapes, gathers.shape, gathers.transform, invert=True
            )
            wet[inside] = is_wet
    return gathers.with_values(wet.astype(np.float64))
