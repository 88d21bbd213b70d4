"""A site folder to a `Site`, or to every problem in it at once."""

from collections.abc import Callable, Collection, Iterator, Mapping
from functools import partial
from pathlib import Path
from typing import NamedTuple, ParamSpec, TypeVar

import geopandas as gpd

from fieldmap.errors import FieldmapError, Problem, SiteError, site_error
from fieldmap.model.coordinates import WGS84
from fieldmap.model.crops import Crop
from fieldmap.model.fact import Fact
from fieldmap.model.observed import FILE as OBSERVED_FILE
from fieldmap.model.observed import Observed
from fieldmap.model.raster import Raster
from fieldmap.model.settings import Files, Settings
from fieldmap.model.site import (
    Alternative,
    Mark,
    MeasuredSkyline,
    OwnBed,
    Site,
    Stood,
    TypicalYear,
    WeatherRecord,
)
from fieldmap.read import door, place, sky
from fieldmap.read.crops import choose, packaged_crops, read_crops
from fieldmap.read.door import CHOICES_FILE, SiteFile
from fieldmap.read.elevation.files import (
    ElevationFile,
    check_covers,
    check_no_holes,
    open_elevation,
)
from fieldmap.read.elevation.grid import read_elevation
from fieldmap.read.last_year import read_last_year
from fieldmap.read.observed import read_observed
from fieldmap.read.outlines.files import Outlines
from fieldmap.read.outlines.marks import place_marks, read_marks
from fieldmap.read.outlines.own_beds import place_beds, read_beds
from fieldmap.read.outlines.plots import read_plots
from fieldmap.read.outlines.surroundings import (
    none_told,
    on_ground,
    read_surroundings,
)
from fieldmap.read.outlines.what_if import imagine
from fieldmap.read.settings import draft_choices
from fieldmap.read.weather import stations
from fieldmap.read.weather.files import read_weather

Given = ParamSpec("Given")
Read = TypeVar("Read")

# Under this, one year in ten has not been seen once.
FEW_YEARS = 10
DAYS_A_YEAR = 365.25


class _Ground(NamedTuple):
    """Plots and elevation in the working CRS, and the plots' middle in degrees."""

    plots: gpd.GeoDataFrame
    elevation: Raster
    longitude: float
    latitude: float
    remarks: tuple[Fact, ...]


class _Inputs(NamedTuple):
    """What the files say, each for itself; None where one is wrong or not there."""

    plots: Outlines | None
    around: Outlines | None
    heights: ElevationFile | None
    wide_heights: ElevationFile | None
    records: Mapping[str, WeatherRecord | None]
    skyline: MeasuredSkyline | None
    typical: TypicalYear | None
    drawn: Outlines | None
    marked: Outlines | None
    observed: Observed | None
    crops: tuple[Crop, ...] | None = None
    last_year: tuple[Stood, ...] | None = None


class _Placed(NamedTuple):
    """What lies on the ground of the site; None where that could not be told."""

    wide: Raster | None
    things: Outlines | None
    own_beds: tuple[OwnBed, ...]
    marks: tuple[Mark, ...]
    alternatives: tuple[Alternative, ...]


def read_site(folder: Path, languages: Collection[str] = ()) -> Site:
    """Read and check everything in a site folder.

    Parameters
    ----------
    languages
        Codes of those that there are; none where any will do.

    Raises
    ------
    SiteError
        With one sentence for every problem in any of the files.
    """
    if not folder.is_dir():
        what = {"folder": folder, "choices": CHOICES_FILE}
        if folder.exists():
            raise site_error(
                "{folder} is a file; name a folder that holds {choices}.", **what
            )
        raise site_error(
            "{folder} does not exist; name a folder that holds {choices}.", **what
        )
    settings, problems = draft_choices(folder, languages)
    if settings is None:
        raise SiteError(problems)
    reader = _Reader(folder, problems)
    inputs = reader.inputs(settings)
    ground = None
    if inputs.plots is not None and inputs.heights is not None:
        ground = reader.attempt(
            _on_one_ground, inputs.plots, inputs.heights, settings.files.plots
        )
    settings = reader.with_station(settings, inputs, ground)
    if ground is None:
        raise SiteError(problems)
    return _site(reader, settings, inputs, ground)


class _Reader:
    """Reads the files of one folder; what is wrong and worth saying is kept."""

    def __init__(self, folder: Path, problems: list[Problem | str]) -> None:
        self.folder = folder
        self.problems = problems
        self.remarks: tuple[Fact, ...] = ()

    def attempt(
        self,
        step: Callable[Given, Read],
        *given: Given.args,
        **named: Given.kwargs,
    ) -> Read | None:
        """What a step gives, None where it fails; its problems are kept."""
        try:
            return step(*given, **named)
        except FieldmapError as error:
            self.problems += error.problems
            return None

    def read(
        self, name: str | None, most_bytes: int, reader: Callable[[SiteFile], Read]
    ) -> Read | None:
        """A file through its reader, None where none is named or it is wrong."""
        if name is None:
            return None
        opened = self.attempt(door.open_file, self.folder, name, most_bytes)
        return None if opened is None else self.attempt(reader, opened)

    def table(
        self, name: str | None, reader: Callable[[SiteFile], Read]
    ) -> Read | None:
        """A text file."""
        return self.read(name, door.MOST_BYTES_OF_TABLE, reader)

    def outlines(
        self, name: str | None, reader: Callable[[SiteFile], Outlines]
    ) -> Outlines | None:
        """A file of outlines."""
        return self.read(name, door.MOST_BYTES_OF_OUTLINES, reader)

    def heights(self, name: str | None, unit: str | None) -> ElevationFile | None:
        """A file of heights."""
        reader = partial(open_elevation, height_unit=unit)
        return self.read(name, door.MOST_BYTES_OF_GRID, reader)

    def is_told(self, key: str, name: str) -> bool:
        """Whether a file is there, or must be, since it is named otherwise than usual."""
        usual = Files.model_fields[key].default
        return bool(name != usual) or door.is_there(self.folder, name)

    def inputs(self, settings: Settings) -> _Inputs:
        """Every file by itself."""
        files, unit = settings.files, settings.ground.height_unit
        plots = self.outlines(files.plots, read_plots)
        around: Outlines | None = Outlines(
            none_told(WGS84), (Fact("no_surroundings", name=files.surroundings),)
        )
        if self.is_told("surroundings", files.surroundings):
            around = self.outlines(files.surroundings, read_surroundings)
        stations_named = (each.weather for each in settings.other_stations)
        is_marked = self.is_told("marks", files.marks)
        inputs = _Inputs(
            plots=plots,
            around=around,
            heights=self.heights(files.elevation, unit),
            wide_heights=self.heights(files.wide_elevation, unit),
            records={
                name: self.table(name, read_weather)
                for name in (files.weather, *stations_named)
            },
            skyline=self.table(files.skyline, sky.read_skyline),
            typical=self.table(files.typical_year, sky.read_typical_year),
            drawn=self.outlines(files.beds, read_beds),
            marked=self.outlines(files.marks, read_marks) if is_marked else None,
            observed=self.attempt(read_observed, self.folder),
        )
        known = self._crops(files.crops)
        last_year = self._last_year(files.last_year, known)
        if known is None:
            return inputs._replace(last_year=last_year)
        crops = self.attempt(choose, settings.crops, known)
        return inputs._replace(last_year=last_year, crops=crops)

    def _crops(self, name: str) -> Mapping[str, Crop] | None:
        """All crops that are known; a file of the grower's own there may be or not."""
        if not self.is_told("crops", name):
            return packaged_crops()
        return self.read(name, door.MOST_BYTES_OF_TOML, read_crops)

    def _last_year(
        self, name: str, known: Mapping[str, Crop] | None
    ) -> tuple[Stood, ...] | None:
        """What stood on the beds, where a file tells it."""
        if not self.is_told("last_year", name):
            return ()
        crops = packaged_crops() if known is None else known
        return self.table(name, lambda file: read_last_year(file, crops))

    def with_station(
        self, settings: Settings, inputs: _Inputs, ground: _Ground | None
    ) -> Settings:
        """Settings with the station whose weather is used; what to say of it is kept."""
        records, found = inputs.records, None
        known = {name: record for name, record in records.items() if record is not None}
        if not settings.other_stations:
            found = stations.with_station(settings, records[settings.files.weather])
        elif ground is not None and len(known) == len(records):
            middle = ground.plots.union_all().representative_point()
            height_m = float(ground.elevation.sample([middle.x], [middle.y])[0])
            where = ground.longitude, ground.latitude
            found = self.attempt(stations.choose, settings, known, *where, height_m)
        settings, told = (settings, ()) if found is None else found
        seen = None
        if inputs.plots is not None:
            where = place.middle(inputs.plots.frame)
            seen = self.attempt(stations.check_place, settings.station, *where)
        self.remarks = (*told, *(seen or ()))
        return settings

    def placed(self, settings: Settings, inputs: _Inputs, ground: _Ground) -> _Placed:
        """All inputs on one ground."""
        files = settings.files
        wide = things = alternatives = None
        own_beds: tuple[OwnBed, ...] | None = ()
        marks: tuple[Mark, ...] | None = ()
        if inputs.wide_heights is not None:
            wide = self.attempt(_wide, inputs.wide_heights, ground)
        if inputs.around is not None:
            things = self.attempt(
                on_ground, inputs.around, ground.elevation, files.surroundings
            )
        if inputs.drawn is not None and files.beds is not None:
            own_beds = self.attempt(
                place_beds, inputs.drawn, ground.plots, files.beds, files.plots
            )
        if inputs.marked is not None:
            marks = self.attempt(
                place_marks, inputs.marked, ground.plots, files.marks, files.plots
            )
        if things is not None:
            alternatives = self.attempt(
                imagine, settings.what_if, things.frame, settings.units
            )
        return _Placed(wide, things, own_beds or (), marks or (), alternatives or ())


def _site(
    reader: _Reader, settings: Settings, inputs: _Inputs, ground: _Ground
) -> Site:
    """The site, else all that is wrong with it."""
    placed = reader.placed(settings, inputs, ground)
    weather = inputs.records.get(settings.files.weather)
    plots, things = inputs.plots, placed.things
    if reader.problems or not (plots and weather and things and inputs.crops):
        raise SiteError(reader.problems)
    drawn = [each for each in (plots, inputs.drawn, inputs.marked) if each is not None]
    where = ground.longitude, ground.latitude
    return Site(
        folder=reader.folder,
        settings=settings,
        plots=ground.plots,
        surroundings=things.frame,
        elevation=ground.elevation,
        weather=weather,
        latitude=ground.latitude,
        longitude=ground.longitude,
        time_zone=place.time_zone(*where),
        convergence_deg=place.convergence_deg(ground.elevation.crs, *where),
        input_hashes=door.input_hashes(
            reader.folder, (CHOICES_FILE, OBSERVED_FILE, *_names(settings))
        ),
        remarks=(
            *(remark for each in drawn for remark in each.remarks),
            *ground.remarks,
            *things.remarks,
            *reader.remarks,
            *weather.remarks,
            *sky.remarks(inputs.typical, settings.files.typical_year or "", *where),
            *_what_is_not_told(settings, weather),
            *_not_yet_learnt(
                reader.folder, settings.files.thermometers, inputs.observed
            ),
        ),
        wide_elevation=placed.wide,
        skyline=inputs.skyline,
        typical_year=inputs.typical,
        crops=inputs.crops,
        observed=inputs.observed,
        alternatives=placed.alternatives,
        last_year=inputs.last_year or (),
        own_beds=placed.own_beds,
        marks=placed.marks,
    )


def _names(settings: Settings) -> tuple[str, ...]:
    """Names of the files that a plan reads."""
    unread = ("thermometers", "happened")
    named = [
        name for key, name in settings.files if name is not None and key not in unread
    ]
    return tuple(
        dict.fromkeys([*named, *(each.weather for each in settings.other_stations)])
    )


def _on_one_ground(plots: Outlines, heights: ElevationFile, plots_file: str) -> _Ground:
    """Plots and elevation in the working CRS.

    Raises
    ------
    SiteError
        When a plot lies outside the elevation or over a hole in it.
    """
    check_covers(heights, plots.frame, plots_file)
    longitude, latitude = place.middle(plots.frame)
    drawn_in = place.horizontal(plots.frame.crs)
    crs = place.working_crs(heights.crs, drawn_in, longitude, latitude)
    placed = plots.frame.to_crs(crs)
    elevation, remarks = read_elevation(heights, placed, crs)
    check_no_holes(elevation, placed, heights.file)
    return _Ground(placed, elevation, longitude, latitude, remarks)


def _wide(far: ElevationFile, ground: _Ground) -> Raster:
    """The wider elevation in the working CRS.

    Raises
    ------
    SiteError
        When it does not reach beyond the fine elevation.
    """
    wide, _remarks = read_elevation(far, ground.plots, ground.elevation.crs)
    fine_west, fine_south, fine_east, fine_north = ground.elevation.bounds
    west, south, east, north = wide.bounds
    if not (
        west < fine_west or south < fine_south or east > fine_east or north > fine_north
    ):
        raise site_error(
            "{file} reaches no farther than the elevation of the plots; leave it"
            " out of [files], or give a wider one.",
            file=far.file,
        )
    return wide


def _what_is_not_told(settings: Settings, weather: WeatherRecord) -> Iterator[Fact]:
    """Facts that the grower could add, and what is left out without them."""
    if settings.station is None:
        yield Fact("no_station", choices=CHOICES_FILE)
    absent = [key for key, value in settings.wind if value is None]
    if absent:
        yield Fact("wind_not_told", choices=CHOICES_FILE, right=absent)
    years = len(weather.days) / DAYS_A_YEAR
    if years < FEW_YEARS:
        file = settings.files.weather
        yield Fact("few_years", file=file, years=years, few_years=FEW_YEARS)


def _not_yet_learnt(
    folder: Path, thermometers: str, observed: Observed | None
) -> Iterator[Fact]:
    """Readings that `fieldmap observe` has not seen as they are now."""
    hashes = door.input_hashes(folder, (thermometers,))
    if observed is not None and hashes.get(thermometers) != observed.readings_sha256:
        yield Fact("not_yet_learnt", thermometers=thermometers, observed=OBSERVED_FILE)
