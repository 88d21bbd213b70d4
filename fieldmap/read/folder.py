"""A site folder to a `Site`, or to every problem in it at once."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING, NamedTuple, TypeVar

from fieldmap.errors import FieldmapError, SiteError
from fieldmap.model.observed import FILE as OBSERVED_FILE
from fieldmap.model.settings import Files, Settings
from fieldmap.model.site import Site, WeatherRecord
from fieldmap.read import place
from fieldmap.read.crops import choose, packaged_crops, read_crops
from fieldmap.read.elevation.files import (
    ElevationFile,
    check_covers,
    check_no_holes,
    open_elevation,
)
from fieldmap.read.elevation.grid import read_elevation
from fieldmap.read.last_year import read_last_year
from fieldmap.read.observed import read_observed
from fieldmap.read.outlines.files import Outlines, flat_crs
from fieldmap.read.outlines.marks import place_marks, read_marks
from fieldmap.read.outlines.own_beds import place_beds, read_beds
from fieldmap.read.outlines.plots import read_plots
from fieldmap.read.outlines.surroundings import none_told, read_surroundings, widened
from fieldmap.read.outlines.what_if import imagine
from fieldmap.read.settings import FILE as CHOICES_FILE
from fieldmap.read.settings import draft_choices
from fieldmap.read.sky import read_skyline, read_typical_year
from fieldmap.read.weather import stations
from fieldmap.read.weather.files import read_weather
from fieldmap.read.wording import either, nearest, quoted
from fieldmap.show.text import language
from fieldmap.show.text.language import _

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from pathlib import Path

    import geopandas as gpd

    from fieldmap.model.crops import Crop
    from fieldmap.model.observed import Observed
    from fieldmap.model.raster import Raster
    from fieldmap.model.settings import Station
    from fieldmap.model.site import Alternative, Mark, OwnBed, Stood, TypicalYear

Read = TypeVar("Read")

# Farther off, a station's weather is that of another region (common practice).
FARTHEST_STATION_KM = 300.0
# Nearer than this, a place told twice is one: files round to 0.01°, maps to a few metres.
SAME_PLACE_KM = 2.0
SAME_HEIGHT_M = 20.0
# Under this, one year in ten has not been seen once.
FEW_YEARS = 10
DAYS_A_YEAR = 365.25
# Files that belong to another, by its ending; each may change what is read.
_BESIDE = {
    ".shp": (".shx", ".dbf", ".prj", ".cpg"),
    ".tif": (".tfw", ".prj", ".tif.aux.xml", ".tif.msk"),
    ".tiff": (".tfw", ".prj", ".tiff.aux.xml", ".tiff.msk"),
}


class _Ground(NamedTuple):
    """Plots and elevation in the working CRS."""

    plots: gpd.GeoDataFrame
    elevation: Raster
    longitude: float
    latitude: float
    remarks: tuple[str, ...]


def read_site(folder: Path) -> Site:
    """Read and check everything in a site folder.

    Raises
    ------
    SiteError
        With one sentence for every problem in any of the files.
    """
    if not folder.is_dir():
        raise SiteError(
            _("{folder} is a file; name a folder that holds {choices}.").format(
                folder=folder, choices=CHOICES_FILE
            )
            if folder.exists()
            else _(
                "{folder} does not exist; name a folder that holds {choices}."
            ).format(folder=folder, choices=CHOICES_FILE)
        )
    draft, problems = draft_choices(folder)
    if draft is None:
        raise SiteError(problems)
    with language.spoken(draft.spoken):
        # Once more, so that mistakes in the choices are told in their language too.
        return _read_all(folder, *draft_choices(folder))


def _read_all(folder: Path, settings: Settings | None, problems: list[str]) -> Site:
    """The site by its choices; what is wrong with them is told with all else."""
    if settings is None:
        raise SiteError(problems)
    files = settings.files
    reader = _Reader(folder, problems)
    plots = reader.read(files.plots, read_plots)
    around = _read_around(reader, files.surroundings)
    heights = reader.read(files.elevation, open_elevation, settings.ground.height_unit)
    records = {
        name: reader.read(name, read_weather)
        for name in (files.weather, *(each.weather for each in settings.other_stations))
    }
    skyline = reader.read_named(files.skyline, read_skyline)
    typical = reader.read_named(files.typical_year, read_typical_year)
    far = reader.read_named(
        files.wide_elevation, open_elevation, settings.ground.height_unit
    )
    drawn = reader.read_named(files.beds, read_beds)
    marked = _read_marks(reader, files.marks)
    known = _read_crops(reader, settings)
    crops = None if known is None else reader.attempt(choose, settings.crops, known)
    last_year = _read_last_year(reader, files.last_year, known)
    wide = None
    ground, things, on_station = None, None, None
    if plots is not None and heights is not None:
        ground = reader.attempt(_on_one_ground, plots, heights, files.plots)
    settings, place_told = _placed(reader, settings, records, ground)
    weather = records.get(settings.files.weather)
    if plots is not None:
        on_station = reader.attempt(_check_station, settings.station, plots)
    if far is not None and ground is not None:
        wide = reader.attempt(_wide, far, ground)
    if around is not None and ground is not None:
        things = reader.attempt(_around, around, ground, files.surroundings)
    own_beds = _own_beds(reader, drawn, ground, files)
    marks = _marks(reader, marked, ground, files)
    observed = reader.attempt(read_observed, folder)
    alternatives: tuple[Alternative, ...] | None = ()
    if things is not None and ground is not None:
        alternatives = reader.attempt(
            imagine, settings.what_if, things.frame, settings.units
        )
    if problems or not (plots and weather and ground and things and crops):
        raise SiteError(problems)
    return Site(
        folder=folder,
        settings=settings,
        plots=ground.plots,
        surroundings=things.frame,
        elevation=ground.elevation,
        weather=weather,
        latitude=ground.latitude,
        longitude=ground.longitude,
        time_zone=place.time_zone(ground.longitude, ground.latitude),
        convergence_deg=place.convergence_deg(
            ground.elevation.crs, ground.longitude, ground.latitude
        ),
        input_hashes=input_hashes(
            folder, (CHOICES_FILE, OBSERVED_FILE, *_names(settings))
        ),
        remarks=(
            *plots.remarks,
            *(drawn.remarks if drawn is not None else ()),
            *(marked.remarks if marked is not None else ()),
            *ground.remarks,
            *things.remarks,
            *place_told,
            *(on_station or ()),
            *weather.remarks,
            *_typical_remarks(typical, ground, files.typical_year),
            *_what_is_not_told(settings, weather),
            *_not_yet_learnt(folder, files.thermometers, observed),
        ),
        wide_elevation=wide,
        skyline=skyline,
        typical_year=typical,
        crops=crops,
        observed=observed,
        alternatives=alternatives or (),
        last_year=last_year or (),
        own_beds=own_beds,
        marks=marks,
    )


def _names(settings: Settings) -> tuple[str, ...]:
    files = settings.files
    unread = ("thermometers", "happened")  # by a plan
    named = [name for key, name in files if name is not None and key not in unread]
    return tuple(
        dict.fromkeys([*named, *(each.weather for each in settings.other_stations)])
    )


class _Reader:
    """Reads the files of one folder and keeps what is wrong with each."""

    def __init__(self, folder: Path, problems: list[str]) -> None:
        self.folder = folder
        self.problems = problems

    def read(
        self, name: str, reader: Callable[..., Read], *given: object
    ) -> Read | None:
        """One file through its reader, None where it is missing or wrong."""
        path = self.folder / name
        if not path.is_file():
            self.problems.append(_missing(self.folder, name))
            return None
        return self.attempt(reader, path, name, *given)

    def read_named(
        self, name: str | None, reader: Callable[..., Read], *given: object
    ) -> Read | None:
        """A file that a site may do without, None where `site.toml` names none."""
        return None if name is None else self.read(name, reader, *given)

    def attempt(self, step: Callable[..., Read], *given: object) -> Read | None:
        """What a step gives, None where it fails; its problems are kept."""
        try:
            return step(*given)
        except FieldmapError as error:
            self.problems += error.problems
            return None


def _missing(folder: Path, name: str) -> str:
    path = folder / name
    if path.is_dir():
        return _("{name} is a folder; name a file under [files] in {choices}.").format(
            name=name, choices=CHOICES_FILE
        )
    here = sorted(other.name for other in folder.iterdir() if other.is_file())
    near = nearest(name, here)
    if near is None:
        near = next((other for other in here if other.startswith(path.stem)), None)
    perhaps = _(" (did you mean {near}?)").format(near=quoted(near)) if near else ""
    return _(
        "{name} is missing from {folder}; put it there, or name another file under"
        " [files] in {choices}{perhaps}."
    ).format(name=name, folder=folder, choices=CHOICES_FILE, perhaps=perhaps)


def _read_around(reader: _Reader, name: str) -> Outlines | None:
    """Surroundings, of which there may be none unless `site.toml` names a file."""
    absent = not (reader.folder / name).exists()
    if absent and name == Files().surroundings:
        nothing = none_told(place.WGS84)
        remark = _(
            "There is no {name}: no hedge, tree or building is reckoned with."
        ).format(name=name)
        return Outlines(nothing, (remark,))
    return reader.read(name, read_surroundings)


def _read_crops(reader: _Reader, settings: Settings) -> Mapping[str, Crop] | None:
    """All crops that are known; a file of the grower's own there may be or not."""
    name = settings.files.crops
    known: Mapping[str, Crop] | None = packaged_crops()
    if name != Files().crops or (reader.folder / name).exists():
        known = reader.read(name, read_crops)
    return known


def _read_last_year(
    reader: _Reader, name: str, known: Mapping[str, Crop] | None
) -> tuple[Stood, ...] | None:
    """What stood on the beds; nothing where no file tells it."""
    absent = not (reader.folder / name).exists()
    if absent and name == Files().last_year:
        return ()
    return reader.read(
        name, read_last_year, packaged_crops() if known is None else known
    )


def _read_marks(reader: _Reader, name: str) -> Outlines | None:
    """What the grower saw on the ground; nothing where no file tells it."""
    if name == Files().marks and not (reader.folder / name).exists():
        return None
    return reader.read(name, read_marks)


def _marks(
    reader: _Reader, drawn: Outlines | None, ground: _Ground | None, files: Files
) -> tuple[Mark, ...]:
    """What the grower saw, on the ground of the site."""
    if drawn is None or ground is None:
        return ()
    placed = reader.attempt(place_marks, drawn, ground.plots, files.marks, files.plots)
    return placed or ()


def _own_beds(
    reader: _Reader, drawn: Outlines | None, ground: _Ground | None, files: Files
) -> tuple[OwnBed, ...]:
    """Beds that exist already, on their plots; none where no file tells them."""
    if drawn is None or ground is None:
        return ()
    placed = reader.attempt(place_beds, drawn, ground.plots, files.beds, files.plots)
    return placed or ()


def _on_one_ground(plots: Outlines, heights: ElevationFile, plots_file: str) -> _Ground:
    """Plots and elevation in the working CRS.

    Raises
    ------
    SiteError
        When a plot lies outside the elevation or over a hole in it.
    """
    check_covers(heights, plots.frame, plots_file)
    longitude, latitude = place.middle(plots.frame)
    crs = place.working_crs(heights.crs, flat_crs(plots.frame), longitude, latitude)
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
        raise SiteError(
            _(
                "{file} reaches no farther than the elevation of the plots; leave it"
                " out of [files], or give a wider one."
            ).format(file=far.file)
        )
    return wide


def _typical_remarks(
    typical: TypicalYear | None, ground: _Ground, file: str | None
) -> tuple[str, ...]:
    """A remark on a typical year that was kept far away."""
    if typical is None:
        return ()
    away_km = place.distance_km(
        ground.longitude, ground.latitude, typical.longitude, typical.latitude
    )
    if away_km <= FARTHEST_STATION_KM:
        return ()
    return (
        _(
            "{file} was kept {away_km:.0f} km from the plots: its cloud may differ."
        ).format(file=file, away_km=away_km),
    )


def _around(around: Outlines, ground: _Ground, file: str) -> Outlines:
    """Surroundings in the working CRS, widened, with a remark on those far away.

    Raises
    ------
    SiteError
        When all of them lie outside the elevation: then it is their place that is wrong.
    """
    if around.frame.empty:
        return Outlines(around.frame.to_crs(ground.elevation.crs), around.remarks)
    placed = widened(around.frame.to_crs(ground.elevation.crs))
    west, south, east, north = ground.elevation.bounds
    near = placed.cx[west:east, south:north]
    if near.empty:
        raise SiteError(
            _(
                "{file}: none of the {all} shapes lies on the elevation around the"
                " plots; check their CRS, and that longitude comes before latitude."
            ).format(file=file, all=len(placed))
        )
    remarks = list(around.remarks)
    if len(near) < len(placed):
        remarks.append(
            _(
                "{file}: {outside} of {all} shapes lie outside the"
                " elevation and have no effect."
            ).format(file=file, outside=len(placed) - len(near), all=len(placed))
        )
    return Outlines(placed, tuple(remarks))


def _placed(
    reader: _Reader,
    settings: Settings,
    records: Mapping[str, WeatherRecord | None],
    ground: _Ground | None,
) -> tuple[Settings, tuple[str, ...]]:
    """Settings with the station whose weather is used, and what to say of it."""
    if not settings.other_stations:
        return _with_station(settings, records[settings.files.weather])
    known = {name: record for name, record in records.items() if record is not None}
    if ground is None or len(known) < len(records):
        return settings, ()
    middle = ground.plots.union_all().representative_point()
    height_m = float(ground.elevation.sample([middle.x], [middle.y])[0])
    found = reader.attempt(
        stations.choose, settings, known, ground.longitude, ground.latitude, height_m
    )
    return (settings, ()) if found is None else found


def _with_station(
    settings: Settings, weather: WeatherRecord | None
) -> tuple[Settings, tuple[str, ...]]:
    """Settings with the place that the record itself tells, where they have none."""
    told = None if weather is None else weather.station
    if told is None:
        return settings, ()
    file, own = settings.files.weather, settings.station
    said = _(
        "{file} was kept at latitude {latitude:g}, longitude {longitude:g},"
        " {height_m:g} m high, as it says itself"
    ).format(
        file=file,
        latitude=told.latitude,
        longitude=told.longitude,
        height_m=told.elevation_m,
    )
    if own is None:
        remark = _("{said}; that is taken, since {choices} has no [station].").format(
            said=said, choices=CHOICES_FILE
        )
        return settings.model_copy(update={"station": told}), (remark,)
    away_km = place.distance_km(
        own.longitude, own.latitude, told.longitude, told.latitude
    )
    higher_m = own.elevation_m - told.elevation_m
    if away_km < SAME_PLACE_KM and abs(higher_m) < SAME_HEIGHT_M:
        return settings, ()
    remark = (
        _(
            "{said}; the [station] of {choices} is {away_km:.1f} km from there and"
            " {height:.0f} m higher, and is kept."
        ).format(said=said, choices=CHOICES_FILE, away_km=away_km, height=abs(higher_m))
        if higher_m > 0
        else _(
            "{said}; the [station] of {choices} is {away_km:.1f} km from there and"
            " {height:.0f} m lower, and is kept."
        ).format(said=said, choices=CHOICES_FILE, away_km=away_km, height=abs(higher_m))
    )
    return settings, (remark,)


def _check_station(station: Station | None, plots: Outlines) -> tuple[str, ...]:
    """Remarks on the station's place.

    Raises
    ------
    SiteError
        When it is far off and would be near with latitude and longitude swapped.
    """
    if station is None:
        return ()
    longitude, latitude = place.middle(plots.frame)
    away_km = place.distance_km(
        longitude, latitude, station.longitude, station.latitude
    )
    if away_km <= FARTHEST_STATION_KM:
        return ()
    said = _(
        "{choices}: the [station] at latitude {station_latitude:g}, longitude"
        " {station_longitude:g} is {away_km:.0f} km from the plots (latitude"
        " {latitude:.3f}, longitude {longitude:.3f})"
    ).format(
        choices=CHOICES_FILE,
        station_latitude=station.latitude,
        station_longitude=station.longitude,
        away_km=away_km,
        latitude=latitude,
        longitude=longitude,
    )
    if _near_when_swapped(station, longitude, latitude):
        raise SiteError(
            _("{said}; its latitude and longitude look swapped.").format(said=said)
        )
    return (_("{said}; its weather may be that of another region.").format(said=said),)


def _near_when_swapped(station: Station, longitude: float, latitude: float) -> bool:
    if abs(station.longitude) > 90:
        return False
    away_km = place.distance_km(
        longitude, latitude, station.latitude, station.longitude
    )
    return away_km <= FARTHEST_STATION_KM


def _what_is_not_told(settings: Settings, weather: WeatherRecord) -> list[str]:
    """Facts that the grower could add, and what is left out without them."""
    remarks = []
    if settings.station is None:
        remarks.append(
            _(
                "{choices} has no [station]: where and how high the weather was"
                " recorded is not known."
            ).format(choices=CHOICES_FILE)
        )
    absent = [key for key, value in settings.wind if value is None]
    if absent:
        remarks.append(
            _("{choices} tells no {right} under [wind]: that wind is left out.").format(
                choices=CHOICES_FILE, right=either(absent)
            )
        )
    years = len(weather.days) / DAYS_A_YEAR
    if years < FEW_YEARS:
        remarks.append(
            _(
                "{file} spans {years:.1f} years: under {few_years} years"
                " say little about rare frosts."
            ).format(file=settings.files.weather, years=years, few_years=FEW_YEARS)
        )
    return remarks


def _not_yet_learnt(
    folder: Path, thermometers: str, observed: Observed | None
) -> list[str]:
    """Readings that `fieldmap observe` has not seen as they are now."""
    hashes = input_hashes(folder, (thermometers,))
    if observed is None or hashes.get(thermometers) == observed.readings_sha256:
        return []
    return [
        _(
            "{thermometers} is not the one that {observed} was learnt from; run"
            " `fieldmap observe` again, or delete that file."
        ).format(thermometers=thermometers, observed=OBSERVED_FILE)
    ]


def input_hashes(folder: Path, names: Iterable[str]) -> dict[str, str]:
    """The sha256 of each file and of those that belong to it, by name in the folder."""
    hashes = {}
    for name in names:
        path = folder / name
        endings = _BESIDE.get(path.suffix.lower(), ())
        # Endings may be written large, as some programs do.
        belonging = {f"{path.stem}{ending}".lower() for ending in endings}
        beside = sorted(
            other for other in path.parent.iterdir() if other.name.lower() in belonging
        )
        for file in (path, *beside):
            if file.is_file():
                with file.open("rb") as opened:
                    digest = hashlib.file_digest(opened, "sha256").hexdigest()
                hashes[file.relative_to(folder).as_posix()] = digest
    return hashes
