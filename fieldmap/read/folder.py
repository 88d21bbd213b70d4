"""A site folder to a `Site`, or to every problem in it at once."""

from collections.abc import Callable, Collection, Iterator, Mapping
from functools import partial
from math import isnan
from pathlib import Path
from typing import Concatenate, NamedTuple, ParamSpec, TypeVar

from fieldmap.errors import FieldmapError, Problem, SiteError, site_error
from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.crops import Crop
from fieldmap.model.fact import Fact
from fieldmap.model.field_log import Worked
from fieldmap.model.observed import FILE as OBSERVED_FILE
from fieldmap.model.observed import Observed
from fieldmap.model.settings import Files, Settings, Station
from fieldmap.model.settings.of_region import OfRegion
from fieldmap.model.site import (
    LeftAside,
    MeasuredSkyline,
    OwnWords,
    Site,
    Stood,
    TypicalYear,
    WeatherRecord,
)
from fieldmap.read import door, place, sky
from fieldmap.read.crops import choose, packaged_crops, read_crops
from fieldmap.read.door import ASIDE_FILE, CHOICES_FILE, SiteFile
from fieldmap.read.elevation.files import ElevationFile, open_elevation
from fieldmap.read.elevation.grid import Ground, read_ground, read_wide
from fieldmap.read.field_log import read_worked
from fieldmap.read.history.last_year import read_last_year
from fieldmap.read.observed import read_observed
from fieldmap.read.outlines.files import Outlines
from fieldmap.read.outlines.marks import place_marks, read_marks
from fieldmap.read.outlines.own_beds import place_beds, read_beds
from fieldmap.read.outlines.past_beds import place_past_beds, read_past_beds
from fieldmap.read.outlines.plots import read_plots
from fieldmap.read.outlines.surroundings import (
    no_surroundings,
    on_ground,
    place_aside,
    read_aside,
    read_surroundings,
)
from fieldmap.read.outlines.taped import Taped, correct
from fieldmap.read.outlines.what_if import imagine
from fieldmap.read.settings import draft_choices
from fieldmap.read.weather import stations
from fieldmap.read.weather.files import read_weather
from fieldmap.read.words import read_words

First = TypeVar("First")
Rest = ParamSpec("Rest")
Read = TypeVar("Read")

# Under this, one year in ten has not been seen once.
FEW_YEARS = 10
DAYS_A_YEAR = 365.25


class _Inputs(NamedTuple):
    """What the files say, each for itself; None where one is wrong or not there."""

    plots: Outlines | None
    around: Outlines | None
    heights: ElevationFile | None
    wide_heights: ElevationFile | None
    records: Mapping[str, WeatherRecord | None]
    skyline: MeasuredSkyline | None
    typical_year: TypicalYear | None
    drawn: Outlines | None
    past: Outlines | None
    marked: Outlines | None
    aside: Outlines | None
    observed: Observed | None
    crops: tuple[Crop, ...] | None = None
    last_year: tuple[Stood, ...] | None = None
    worked: tuple[Worked, ...] | None = None
    own_words: tuple[OwnWords, ...] | None = None


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
    door.check_folder(folder)
    if not folder.is_dir():
        what = {"folder": folder, "choices": CHOICES_FILE}
        if folder.exists():
            raise site_error(
                "{folder} is a file; name a folder that holds {choices}.", **what
            )
        raise site_error(
            "{folder} does not exist; name a folder that holds {choices}, or make one"
            " with fieldmap start.",
            **what,
        )
    settings, problems = draft_choices(folder, languages)
    if settings is None:
        raise SiteError(problems)
    reader = _Reader(folder, problems)
    inputs = reader.inputs(settings)
    ground = None
    if inputs.heights is not None:
        ground = reader.attempt(read_ground, inputs.plots, inputs.heights)
    settings, remarks = reader.with_station(settings, inputs, ground)
    if ground is None:
        raise SiteError(problems)
    return reader.site(settings, inputs, ground, remarks)


class _Reader:
    """Reads the files of one folder; what is wrong with them is kept."""

    def __init__(self, folder: Path, problems: list[Problem | str]) -> None:
        self.folder = folder
        self.problems = problems

    def attempt(
        self,
        step: Callable[Concatenate[First, Rest], Read],
        given: First | None,
        *rest: Rest.args,
        **named: Rest.kwargs,
    ) -> Read | None:
        """What a step makes of what is given; None, its problems kept, where it fails.

        None too where nothing is given, since an earlier step has failed.
        """
        if given is None:
            return None
        try:
            return step(given, *rest, **named)
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
        return self.attempt(reader, opened)

    def if_there(self, key: str, name: str) -> str | None:
        """The name of a file that may be left out, None where it is.

        One that is named otherwise than usual must be there.
        """
        usual = Files.model_fields[key].default
        return name if name != usual or door.is_there(self.folder, name) else None

    def record(self, name: str, *, alone: bool) -> WeatherRecord | None:
        """Of a station; no record where a single one is left out, and not misspelt."""
        near = door.near_name(self.folder, name) or ""
        is_left_out = alone and self.if_there("weather", name) is None
        if is_left_out and not near.endswith(".csv"):
            return WeatherRecord.none()
        return self.read(name, door.MOST_BYTES_OF_TABLE, read_weather)

    def inputs(self, settings: Settings) -> _Inputs:
        """Every file by itself."""
        files, station_files = settings.files, _weather_files(settings)
        of_table, of_outlines = door.MOST_BYTES_OF_TABLE, door.MOST_BYTES_OF_OUTLINES
        heights = partial(open_elevation, height_unit=settings.ground.height_unit)
        plots = self.read(files.plots, of_outlines, read_plots)
        around = self.if_there("surroundings", files.surroundings)
        nothing = SiteFile(self.folder / files.surroundings, files.surroundings)
        marks = self.if_there("marks", files.marks)
        aside = ASIDE_FILE if door.is_there(self.folder, ASIDE_FILE) else None
        inputs = _Inputs(
            plots=plots,
            around=self.read(around, of_outlines, read_surroundings)
            if around
            else no_surroundings(nothing),
            heights=self.read(files.elevation, door.MOST_BYTES_OF_GRID, heights),
            wide_heights=self.read(
                files.wide_elevation, door.MOST_BYTES_OF_GRID, heights
            ),
            records={
                name: self.record(name, alone=len(station_files) == 1)
                for name in station_files
            },
            skyline=self.read(files.skyline, of_table, sky.read_skyline),
            typical_year=self.read(files.typical_year, of_table, sky.read_typical_year),
            drawn=self.read(self.if_there("beds", files.beds), of_outlines, read_beds),
            past=self.read(
                self.if_there("past_beds", files.past_beds), of_outlines, read_past_beds
            ),
            marked=self.read(marks, of_outlines, read_marks),
            aside=self.read(aside, of_outlines, read_aside),
            observed=self.attempt(read_observed, self.folder),
        )
        known: Mapping[str, Crop] | None = packaged_crops()
        if own_crops := self.if_there("crops", files.crops):
            known = self.read(own_crops, door.MOST_BYTES_OF_TOML, read_crops)
        last_year = self.read(
            self.if_there("last_year", files.last_year),
            of_table,
            partial(read_last_year, crops=known or packaged_crops()),
        )
        crops = self.attempt(lambda known: choose(settings.crops, known), known)
        words = self.if_there("words", files.words)
        return inputs._replace(
            last_year=last_year,
            worked=self.read(
                self.if_there("happened", files.happened), of_table, read_worked
            ),
            crops=crops,
            own_words=self.read(words, door.MOST_BYTES_OF_TOML, read_words),
        )

    def with_station(
        self, settings: Settings, inputs: _Inputs, ground: Ground | None
    ) -> tuple[Settings, tuple[Fact, ...]]:
        """Settings with the station whose weather is used, and what to say of it."""
        records, found = inputs.records, None
        known = {name: record for name, record in records.items() if record is not None}
        if not settings.other_stations:
            found = stations.with_station(settings, records[settings.files.weather])
        elif ground is not None and len(known) == len(records):
            where = ground.longitude, ground.latitude
            height_m = _height_of_plots_m(ground)
            found = self.attempt(stations.choose, settings, known, *where, height_m)
        settings, remarks = found or (settings, ())
        seen = None
        if inputs.plots is not None:
            where = place.middle(inputs.plots.frame)
            seen = self.attempt(stations.check_place, settings.station, *where)
        if ground is not None and seen == ():
            seen = _of_height(settings.station, ground)
        return settings, (*remarks, *(seen or ()))

    def site(
        self,
        settings: Settings,
        inputs: _Inputs,
        ground: Ground,
        about_station: tuple[Fact, ...],
    ) -> Site:
        """The site, else all that is wrong with it."""
        files, elevation = settings.files, ground.elevation
        wide = self.attempt(read_wide, inputs.wide_heights, ground)
        things = self.attempt(on_ground, inputs.around, elevation)
        taped = self.attempt(correct, ground.plots, settings, elevation)
        plots = ground.plots if taped is None else taped.plots
        own_beds = self.attempt(place_beds, inputs.drawn, plots, files.plots)
        past = self.attempt(place_past_beds, inputs.past, elevation.crs)
        marks = self.attempt(place_marks, inputs.marked, plots, files.plots)
        aside = self.attempt(place_aside, inputs.aside, elevation) or ()
        around = None if things is None else things.frame
        alternatives = self.attempt(
            lambda around: imagine(settings.what_if, around, settings.units), around
        )
        weather = inputs.records.get(files.weather)
        if self.problems or not (weather and things and inputs.crops and taped):
            raise SiteError(self.problems)
        where = ground.longitude, ground.latitude
        return Site(
            folder=self.folder,
            settings=settings,
            plots=plots,
            surroundings=things.frame,
            elevation=elevation,
            weather=weather,
            latitude=ground.latitude,
            longitude=ground.longitude,
            time_zone=place.time_zone(*where),
            convergence_deg=place.convergence_deg(elevation.crs, *where),
            input_hashes=door.input_hashes(self.folder, names_of_inputs(settings)),
            remarks=(
                *(*_remarks_on_outlines(inputs), *ground.remarks),
                *(inputs.wide_heights.remarks if inputs.wide_heights else ()),
                *_remarks_around(taped, things, aside),
                *(*about_station, *weather.remarks),
                *sky.remarks(inputs.typical_year, files.typical_year or "", *where),
                *_of_choices(settings, weather),
                *_not_yet_learnt(self.folder, files.thermometers, inputs.observed),
            ),
            wide_elevation=wide,
            skyline=inputs.skyline,
            typical_year=inputs.typical_year,
            crops=inputs.crops,
            observed=inputs.observed,
            alternatives=alternatives or (),
            last_year=inputs.last_year or (),
            worked=inputs.worked or (),
            own_beds=own_beds or (),
            past_beds=past or (),
            marks=marks or (),
            aside=aside,
            untaped=taped.untaped,
            own_words=inputs.own_words or (),
        )


def _remarks_around(
    taped: Taped, things: Outlines, aside: tuple[LeftAside, ...]
) -> Iterator[Fact]:
    yield from (*taped.remarks, *things.remarks)
    if aside:
        yield Fact("things_left_aside", number=len(aside), file=ASIDE_FILE)


def _remarks_on_outlines(inputs: _Inputs) -> Iterator[Fact]:
    for each in (inputs.plots, inputs.drawn, inputs.marked):
        yield from each.remarks if each else ()


def _height_of_plots_m(ground: Ground) -> float:
    middle = ground.plots.union_all().representative_point()
    return float(ground.elevation.sample([middle.x], [middle.y])[0])


def _of_height(station: Station | None, ground: Ground) -> tuple[Fact, ...]:
    """Remarks on the station's height against that of the ground."""
    if station is None:
        return ()
    to_site = transformer(WGS84, ground.elevation.crs)
    east, north = to_site.transform(station.longitude, station.latitude)
    there_m = float(ground.elevation.sample([east], [north])[0])
    known_m = None if isnan(there_m) else there_m
    return stations.check_height(station, known_m, _height_of_plots_m(ground))


def _weather_files(settings: Settings) -> list[str]:
    """Names of the files of all stations."""
    return [settings.files.weather, *(each.weather for each in settings.other_stations)]


def names_of_inputs(settings: Settings) -> tuple[str, ...]:
    """Names of the files that a plan reads."""
    unread = ("thermometers",)
    named = [name for key, name in settings.files if name and key not in unread]
    given = [CHOICES_FILE, OBSERVED_FILE, ASIDE_FILE, *named, *_weather_files(settings)]
    return tuple(dict.fromkeys(given))


def _what_is_not_given(settings: Settings, weather: WeatherRecord) -> Iterator[Fact]:
    """Facts that the grower could add, and what is left out without them."""
    if settings.station is None and weather.is_there:
        yield Fact("no_station", choices=CHOICES_FILE)
    absent = [key for key, value in settings.wind if value is None]
    if absent:
        yield Fact("no_wind_direction", choices=CHOICES_FILE, right=absent)
    years = len(weather.days) / DAYS_A_YEAR
    if weather.is_there and years < FEW_YEARS:
        file = settings.files.weather
        yield Fact("few_years", file=file, years=years, few_years=FEW_YEARS)


def _of_choices(settings: Settings, weather: WeatherRecord) -> Iterator[Fact]:
    yield from _what_is_not_given(settings, weather)
    yield from _of_region(settings.region)


def _of_region(region: OfRegion | None) -> Iterator[Fact]:
    """How this place lies in the region of which it is a parcel."""
    if region is not None:
        yield Fact(
            "part_of_region",
            region=region.name,
            low_c=region.offset_low_c,
            likely_c=region.offset_c,
            high_c=region.offset_high_c,
        )


def _not_yet_learnt(
    folder: Path, thermometers: str, observed: Observed | None
) -> Iterator[Fact]:
    """Readings that `fieldmap observe` has not seen as they are now."""
    if observed is None:
        return
    hashes = door.input_hashes(folder, (thermometers,))
    if hashes.get(thermometers) != observed.readings_sha256:
        yield Fact("not_yet_learnt", thermometers=thermometers, observed=OBSERVED_FILE)
