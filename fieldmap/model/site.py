"""A site: what was read from one folder, and what must hold of it."""

import math
import re
import string
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NamedTuple, Self

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import pandas as pd
import pyproj
import shapely
from rasterio import features
from scipy import ndimage
from scipy.spatial import cKDTree
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.crops import Crop
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.field_log import PastBed, Worked
from fieldmap.model.observed import Observed, Range
from fieldmap.model.raster import Raster
from fieldmap.model.season_year import SeasonYear
from fieldmap.model.settings import Settings, Station

# Fall of temperature with height on nights that are not clear and calm (-7 to -4 °C/km,
# from memory).
LAPSE_C_PER_M = -0.0055
# Ground that must be known around the plots before anything can be said about the air
# that drains onto them: a barn of 10 m still stands 6° high at 100 m.
NEAR_M = 100.0
# Heights farther apart than this are coarse: the ground between them is interpolated.
# From so far apart on, hollows and cold air of single beds fall between them (choices).
COARSE_FROM_M = 2.5
NO_BEDS_FROM_M = 12.0
SOILS = ("sand", "loam", "clay")
GROUNDS = ("grass", "arable", "bare", "wood", "sealed")
# What a grower may have seen on a piece of ground.
WHITE_AT_DAWN, SNOW_LEAVES_FIRST = "white at dawn", "snow leaves first"
PUDDLES, DRIES_FIRST = "puddles in March", "dries first"
SEEN = (WHITE_AT_DAWN, SNOW_LEAVES_FIRST, PUDDLES, DRIES_FIRST)
# Chance that what was seen is so every year, and not of that one day (a choice, no
# source).
SEEN_IS_RIGHT = 0.8
SHORT_NAME = re.compile("[A-Z]{1,2}")


@dataclass(frozen=True)
class WeatherRecord:
    """Daily minima and maxima at a station.

    Attributes
    ----------
    days
        One row a day, index `date` (a gapless DatetimeIndex), columns `tmin_c`,
        `tmax_c` and, where recorded, `wind_m_s`, `precipitation_mm`; NaN is missing.
        No row where there is no record.
    left_out
        Each reading that was left out, and why.
    remarks
        What else the reader should know of it.
    station
        Where it was kept, as the file itself says; None where it does not.
    typical
        Whether it is a made-up typical year, from which no odds follow.
    """

    days: pd.DataFrame
    left_out: tuple[Fact, ...] = ()
    remarks: tuple[Fact, ...] = ()
    station: Station | None = None
    typical: bool = False

    @classmethod
    def none(cls) -> Self:
        """Of a site that has none."""
        nothing = pd.DatetimeIndex([], name="date")
        return cls(pd.DataFrame({"tmin_c": [], "tmax_c": []}, nothing, dtype=float))

    @property
    def is_there(self) -> bool:
        """Whether there is any day."""
        return not self.days.empty

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
    air_c
        [°C] at those times, to half an hour; NaN is missing.
    """

    hours: pd.DataFrame
    air_c: pd.Series
    latitude: float
    longitude: float
    elevation_m: float


@dataclass(frozen=True)
class Alternative:
    """Surroundings as they might be.

    Attributes
    ----------
    surroundings
        All of them after the change, as `Site.surroundings`.
    changed
        Outline of all that would go or come.
    height_m
        Of the tallest thing that would go or come.
    changes
        What is done: "gap_made", "thing_taken_away", "thing_added".
    """

    name: str
    surroundings: gpd.GeoDataFrame
    changed: BaseGeometry
    height_m: float
    changes: tuple[Fact, ...]


@dataclass(frozen=True)
class Stood:
    """What stood on a bed last year; the family is None where it is not known."""

    bed: str
    crop: str
    family: str | None


class PlotToLay(NamedTuple):
    """A plot that gets new beds, with their bearing from true north where it is fixed."""

    name: str
    outline: Polygon
    bearing_deg: float | None


@dataclass(frozen=True)
class OwnBed:
    """A bed that stays: the smallest rectangle around what was drawn or kept.

    Attributes
    ----------
    pegged
        Whether it lies there already; else it was planned and kept.
    path_within_m
        Between the two strips of a bed under one hoop; else 0.
    length_m
        Along the ground, of one that was planned and kept.
    """

    name: str
    plot: str
    outline: Polygon
    pegged: bool = True
    path_within_m: float = 0.0
    length_m: float | None = None


# Words of the sheets for learners that a trainer may give in any language, and how long
# one may be that still stands on one line of its frame.
LEARNERS_WORDS = (
    *("hoop", "leg", "cover", "bag", "bed", "path"),
    *("stake", "knot", "stick", "gust", "pull", "open"),
)
LONGEST_WORD = 30


class OwnWords(NamedTuple):
    """Words of the sheets for learners in a language of their own.

    Attributes
    ----------
    language
        As the trainer calls it.
    words
        By `LEARNERS_WORDS`; those that are not there are written in by hand.
    """

    language: str
    words: Mapping[str, str]


@dataclass(frozen=True)
class LeftAside:
    """Something that was drawn and is not known well enough to be planned with.

    Attributes
    ----------
    name, kind
        None where not given; a kind is one of `surroundings.KINDS`.
    outline
        As it was drawn, in the site's CRS.
    """

    name: str | None
    kind: str | None
    outline: BaseGeometry


@dataclass(frozen=True)
class Mark:
    """A place where the grower saw something, by name.

    Attributes
    ----------
    seen
        One of `SEEN`.
    outline
        In the site's CRS; in several pieces perhaps.
    """

    name: str
    seen: str
    outline: BaseGeometry


@dataclass(frozen=True)
class Site:
    """Everything a plan is made from, in one metric CRS.

    Attributes
    ----------
    plots
        Polygons with `name`, and `ground`, `soil` (text or None), `wet_in_march`
        (True, False or None), `bearing_deg` of its beds from true north (None where
        it is not fixed).
    surroundings
        Polygons (lines and points widened by `width_m`, but for gates, posts, water points
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
    observed
        What thermometers on the spot have taught; None before.
    alternatives
        Changes of the surroundings that the grower thinks of.
    crops
        Those wanted, in the order of `settings.crops`; where none is named, one
        `ClassDefault` for each class.
    last_year
        What stood on the beds, as the grower says.
    worked
        How long work took, from the field log.
    own_beds
        Those that stay as they are.
    past_beds
        On which ground lines of history files happened.
    marks
        What the grower has seen on the ground.
    aside
        What stands around and is not counted, for not all is known of it.
    untaped
        Plots that were walked with a phone and whose lengths nobody has taped yet.
    own_words
        Of the sheets for learners, a record for each language.
    heights_every_m
        How far apart the given heights are, where the elevation was interpolated
        between them.
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
    remarks: tuple[Fact, ...] = ()
    wide_elevation: Raster | None = None
    skyline: MeasuredSkyline | None = None
    typical_year: TypicalYear | None = None
    crops: tuple[Crop, ...] = ()
    observed: Observed | None = None
    alternatives: tuple[Alternative, ...] = ()
    last_year: tuple[Stood, ...] = ()
    worked: tuple[Worked, ...] = ()
    own_beds: tuple[OwnBed, ...] = ()
    past_beds: tuple[PastBed, ...] = ()
    marks: tuple[Mark, ...] = ()
    aside: tuple[LeftAside, ...] = ()
    heights_every_m: float | None = None
    untaped: frozenset[str] = frozenset()
    own_words: tuple[OwnWords, ...] = ()

    @property
    def cold_air_of_beds_known(self) -> bool:
        """Whether heights stand close enough to tell the cold air of single beds."""
        apart_m = self.heights_every_m or self.elevation.cell_size_m
        return apart_m < NO_BEDS_FROM_M

    @property
    def without_what_ifs(self) -> Self:
        """All that is there, whatever changes of it are asked about, wherever it was read."""
        return replace(
            self,
            folder=Path(),
            settings=self.settings.model_copy(update={"what_if": ()}),
            alternatives=(),
            input_hashes={},
        )

    def seen(self, *kinds: str) -> BaseGeometry:
        """All ground on which one of these things was seen."""
        return shapely.union_all(
            [mark.outline for mark in self.marks if mark.seen in kinds]
        )

    @property
    def plots_with_beds(self) -> frozenset[str]:
        """Names of the plots whose beds exist already."""
        return frozenset(bed.plot for bed in self.own_beds)

    def bed_bearing_deg(self, plot: int) -> float | None:
        """Bearing of a plot's beds from true north, None where it is not fixed.

        Its own goes before that of all plots.
        """
        if "bearing_deg" in self.plots:
            own = self.plots["bearing_deg"].iloc[plot]
            if own is not None and not np.isnan(own):
                return float(own)
        return self.settings.beds.bearing_deg

    @property
    def plots_to_lay(self) -> list[PlotToLay]:
        """Plots that get new beds."""
        return [
            PlotToLay(str(name), outline, self.bed_bearing_deg(number))
            for number, (name, outline) in enumerate(
                zip(self.plots["name"], self.plots.geometry, strict=True)
            )
            if name not in self.plots_with_beds
        ]

    @property
    def crs(self) -> pyproj.CRS:
        """The working CRS."""
        return self.elevation.crs

    @property
    def has_cloud(self) -> bool:
        """Whether its light has the cloud of the place, and is not that of clear days."""
        return self.typical_year is not None or bool(self.settings.sun.global_mj_m2_day)

    @property
    def season(self) -> SeasonYear:
        """The year of growing of its hemisphere."""
        return SeasonYear(southern=self.latitude < 0)

    @property
    def spring_month(self) -> int:
        """The month whose sun decides on early beds: March, September; January is 0."""
        return self.season.month_index(3)

    @property
    def summer_month(self) -> int:
        """The month of most light and heat: July, January; January is 0."""
        return self.season.month_index(7)

    @property
    def offset_factor(self) -> Estimate | None:
        """By what thermometers on the spot multiply offsets, if they do."""
        found = None if self.observed is None else self.observed.offset_factor
        return None if found is None else Estimate(found.low, found.central, found.high)

    @property
    def bias_c(self) -> Range | None:
        """How the reference runs against the station on still nights, if that is known."""
        return None if self.observed is None else self.observed.bias_c

    @property
    def station_cell(self) -> tuple[int, int] | None:
        """Row and column of the weather station, None where it is off the elevation."""
        station = self.settings.station
        if station is None:
            return None
        to_site = transformer(WGS84, self.crs)
        east, north = to_site.transform(station.longitude, station.latitude)
        if not np.isfinite(self.elevation.sample([east], [north])[0]):
            return None
        row, col = self.elevation.cell_of([east], [north])
        return int(row[0]), int(col[0])

    @property
    def margin_m(self) -> float:
        """Elevation around the plots, to its edge or the nearest missing cell."""
        return self._way_to_m(np.isnan(self.elevation.values))

    @property
    def edge_m(self) -> float:
        """Elevation around the plots, to its outer edge; holes within do not count."""
        missing = np.pad(np.isnan(self.elevation.values), 1, constant_values=True)
        label, _ = ndimage.label(missing)
        return self._way_to_m((label == label[0, 0])[1:-1, 1:-1])

    def _way_to_m(self, cells: npt.NDArray[np.bool_]) -> float:
        """From the plots to the nearest of some cells of the elevation, or to its edge."""
        raster = self.elevation
        corners = shapely.get_coordinates(
            self.plots.geometry.segmentize(raster.cell_size_m)
        )
        row, col = raster.cell_of(*corners.T)
        rows, cols = raster.shape
        row, col = np.clip(row, 0, rows - 1), np.clip(col, 0, cols - 1)
        to_edge = min(*(row + 1), *(rows - row), *(col + 1), *(cols - col))
        nearest = min(float(to_edge), _cells_to(cells, np.stack([row, col], axis=1)))
        return (nearest - 0.5) * raster.cell_size_m


def _cells_to(cells: npt.NDArray[np.bool_], places: npt.NDArray[np.intp]) -> float:
    """Distance from any of some places to the nearest of some cells [cells].

    The nearest has a neighbour that is none of them, so only such cells are searched;
    infinite where there is no cell.
    """
    if cells[*places.T].any():
        return 0.0
    within = ndimage.binary_erosion(cells, border_value=1)
    outer = np.argwhere(cells & ~within)
    if not len(outer):
        return math.inf
    distance, _nearest = cKDTree(outer).query(np.unique(places, axis=0))
    return float(distance.min())


def marked_cells(
    marks: Iterable[Mark], raster: Raster, seen: str
) -> npt.NDArray[np.bool_]:
    """Cells of all marks of a kind, each mark for itself.

    Parameters
    ----------
    marks
        What the grower has seen, in the CRS of the raster.
    raster
        Grid of the cells; its values are not read.
    seen
        The kind that counts, one of `SEEN`.

    Returns
    -------
    inside
        (rows, cols): True where the middle of a cell lies in such a mark.
    """
    inside = np.zeros(raster.shape, bool)
    for mark in marks:
        if mark.seen == seen:
            inside |= cells_in([mark.outline], raster)
    return inside


def cells_in(outlines: Iterable[BaseGeometry], raster: Raster) -> npt.NDArray[np.bool_]:
    """Cells whose middle lies in one of them; for tiny ones the cells they touch."""
    shapes = list(outlines)
    for all_touched in (False, True):
        inside = features.geometry_mask(
            shapes,
            raster.shape,
            raster.transform,
            all_touched=all_touched,
            invert=True,
        )
        if inside.any():
            break
    return np.asarray(inside)


def field_names(plots: Sequence[str]) -> list[str]:
    """What the beds of each plot begin with: its own name if short, else a letter.

    Letters go by the place in the file, doubled from the 27th on; names are used where
    all plots have one of one or two letters, none of them twice.

    Examples
    --------
    >>> field_names(["Top Field", "Shelf"]), field_names(["N", "SE"])
    (['A', 'B'], ['N', 'SE'])
    >>> field_names(["plot"] * 28)[25:]
    ['Z', 'AA', 'BB']
    """
    own = [str(name).strip().upper() for name in plots]
    if len(set(own)) == len(own) and all(SHORT_NAME.fullmatch(each) for each in own):
        return own
    return [
        (number // 26 + 1) * string.ascii_uppercase[number % 26]
        for number in range(len(own))
    ]
