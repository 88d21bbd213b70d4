"""A site: what was read from one folder, and what must hold of it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pyproj
import shapely
from scipy import ndimage

from fieldmap import words

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    import geopandas as gpd
    import numpy.typing as npt
    import pandas as pd

    from fieldmap.raster import Raster
    from fieldmap.settings import Settings

# What may stand or lie around a plot. Those that have a height cast shade and, but for
# single trees and overhead lines, stand in the way of cold air.
STANDING = ("building", "hedge", "tree", "trees", "wall", "fence")
LYING = ("water", "water point", "gate", "overhead line", "road", "keep off")
KINDS = STANDING + LYING
LEAVES = ("deciduous", "evergreen", "none")
# Ground that must be known around the plots before anything can be said about the air
# that drains onto them: a barn of 10 m still stands 6° high at 100 m.
NEAR_M = 100.0
# Relief that says anything about cold air (a choice, no source), and the last part of a
# line of sight in which a highest point means that the ground was still rising.
RELIEF_M = 3.0
LAST_PART = 0.1
RAYS = 24
SOILS = ("sand", "loam", "clay")
GROUNDS = ("grass", "arable", "bare", "wood", "sealed")


@dataclass(frozen=True)
class WeatherRecord:
    """Daily minima and maxima at a station.

    Attributes
    ----------
    days
        One row a day, index `date` (a gapless DatetimeIndex), columns `tmin_c`,
        `tmax_c` and, where recorded, `wind_m_s`, `precipitation_mm`; NaN is missing.
    left_out
        One sentence for each reading that was left out, and why.
    """

    days: pd.DataFrame
    left_out: tuple[str, ...] = ()

    @property
    def years(self) -> tuple[int, int]:
        """First and last year."""
        return int(self.days.index[0].year), int(self.days.index[-1].year)


@dataclass(frozen=True)
class MeasuredSkyline:
    """A skyline as measured on the spot.

    Attributes
    ----------
    azimuth_deg, elevation_deg
        Clockwise from true north, rising from 0 to under 360; above level.
    """

    azimuth_deg: npt.NDArray[np.float64]
    elevation_deg: npt.NDArray[np.float64]


@dataclass(frozen=True)
class TypicalYear:
    """An hourly year with cloud as it is at a place.

    Attributes
    ----------
    hours
        Columns `ghi`, `dni`, `dhi` [W/m²], means of the hour around each time of the
        index, which carries its time zone.
    """

    hours: pd.DataFrame
    latitude: float
    longitude: float
    elevation_m: float


@dataclass(frozen=True)
class Site:
    """Everything a plan is made from, in one metric CRS.

    Attributes
    ----------
    plots
        Polygons with `name`, and `ground`, `soil` (text or None), `wet_in_march`
        (True, False or None).
    surroundings
        Polygons (lines and points widened by `width_m`, but for gates, water points
        and overhead lines) with `name`, `kind`, `height_m`, `porosity`,
        `clear_stem_m`, `leaf`.
    elevation
        Ground height in metres; its CRS is that of the site.
    latitude, longitude
        Of the plots' middle, degrees.
    convergence_deg
        Grid north from true north at the plots, clockwise: true = grid + convergence.
    input_hashes
        sha256 of every file read, by its name in the folder.
    wide_elevation
        Coarser heights that reach farther, in the same CRS.
    """

    folder: Path
    settings: Settings
    plots: gpd.GeoDataFrame
    surroundings: gpd.GeoDataFrame
    elevation: Raster
    weather: WeatherRecord
    latitude: float
    longitude: float
    time_zone: str
    convergence_deg: float
    input_hashes: Mapping[str, str]
    remarks: tuple[str, ...] = ()
    wide_elevation: Raster | None = None
    skyline: MeasuredSkyline | None = None
    typical_year: TypicalYear | None = None

    @property
    def crs(self) -> pyproj.CRS:
        """The working CRS."""
        return self.elevation.crs

    @property
    def southern(self) -> bool:
        """Whether the seasons are those of the southern hemisphere."""
        return self.latitude < 0

    @property
    def station_cell(self) -> tuple[int, int] | None:
        """Row and column of the weather station, None where it is off the elevation."""
        station = self.settings.station
        if station is None:
            return None
        to_site = pyproj.Transformer.from_crs(4326, self.crs, always_xy=True)
        east, north = to_site.transform(station.longitude, station.latitude)
        if not np.isfinite(self.elevation.sample([east], [north])[0]):
            return None
        row, col = self.elevation.cell_of([east], [north])
        return int(row[0]), int(col[0])

    @property
    def margin_m(self) -> float:
        """Elevation around the plots, to its edge or the nearest missing cell."""
        raster = self.elevation
        missing = np.pad(np.isnan(raster.values), 1, constant_values=True)
        distance_m = ndimage.distance_transform_edt(~missing)[1:-1, 1:-1]
        corners = shapely.get_coordinates(
            self.plots.geometry.segmentize(raster.cell_size_m)
        )
        row, col = raster.cell_of(*corners.T)
        rows, cols = raster.shape
        cells = distance_m[np.clip(row, 0, rows - 1), np.clip(col, 0, cols - 1)]
        return float((cells.min() - 0.5) * raster.cell_size_m)


def rising_at_the_edge(site: Site) -> list[str]:
    """Directions in which the highest ground seen from the plots' middle is the last.

    Along each of 24 lines the ground counts up to the first missing cell; a line whose
    highest point stands less than 3 m above the plots sends no air down to them.
    """
    ground = site.elevation
    centre = site.plots.union_all().centroid
    rows, cols = ground.shape
    reach = np.arange(0.0, math.hypot(rows, cols)) * ground.cell_size_m
    found = set()
    for bearing_deg in np.arange(RAYS) * 360.0 / RAYS:
        bearing = math.radians(bearing_deg)
        heights_m = ground.sample(
            centre.x + reach * math.sin(bearing), centre.y + reach * math.cos(bearing)
        )
        missing = np.flatnonzero(np.isnan(heights_m))
        seen_m = heights_m[: missing[0]] if len(missing) else heights_m
        if len(seen_m) < 2:
            continue
        top = int(np.argmax(seen_m))
        late = top >= (1.0 - LAST_PART) * (len(seen_m) - 1)
        if late and seen_m[top] - seen_m[0] >= RELIEF_M:
            found.add(words.direction(bearing_deg + site.convergence_deg))
    return [direction for direction in words.DIRECTIONS if direction in found]
