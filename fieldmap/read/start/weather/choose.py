"""Records and typical years of a site: named files, else those of open archives."""

import re
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from pydantic import ValidationError

from fieldmap.errors import SiteError, problem
from fieldmap.model.fact import Fact
from fieldmap.model.raster import Bounds
from fieldmap.model.settings import Files, Station
from fieldmap.read import door
from fieldmap.read.door import SiteFile
from fieldmap.read.sky import read_typical_year
from fieldmap.read.start import folder as site_folder
from fieldmap.read.start.elevation import choose
from fieldmap.read.start.given import Given
from fieldmap.read.start.made import Made
from fieldmap.read.start.sources import tables
from fieldmap.read.start.weather.fetch import nearest_records
from fieldmap.read.weather.files import read_weather
from fieldmap.read.wording import METRES_PER_FOOT

NAMES = Files()
TYPICAL_YEAR = "typical_year"
_NUMBER = r"(-?\d{1,4}(?:\.\d{1,8})?)"
_PLACE = re.compile(rf"{_NUMBER}[, ]+{_NUMBER}[, ]+{_NUMBER} ?(m|ft)?")


def gather(
    given: Given, files: dict[Any, list[SiteFile]], bounds: Bounds, made: Made
) -> None:
    """Records that are named; else those of the nearest stations, if they may be fetched.

    Parameters
    ----------
    given
        What the user asked for.
    files
        Named files by what they are.
    bounds
        West, south, east, north of the plots [degrees].
    made
        What will be written; the records are added to it.

    Raises
    ------
    SiteError
        When a named file cannot be used, or two weather records are named.
    """
    for file in files.get("typical year", []):
        read_typical_year(file)  # or a sentence says why not
        name = TYPICAL_YEAR + file.ending
        made.files[name] = file.path.read_bytes()
        made.choices = site_folder.with_file_named(made.choices, TYPICAL_YEAR, name)
        made.facts.append(Fact("start_typical_year_is", file=name))
    if given.web is not None and not _has_year(made.choices):
        _fetched_year(given, bounds, made)
    records = files.get("weather", [])
    if len(records) > 1:
        raise SiteError(
            problem("you named {count} weather records; name one.", count=len(records))
        )
    if records:
        record = read_weather(records[0])  # or a sentence says why not
        made.files[NAMES.weather] = records[0].path.read_bytes()
        made.facts.append(Fact("start_weather_is", file=NAMES.weather))
        if record.station is None:
            _ask_station(given, records[0].name, made)
    elif given.web is not None and not door.is_there(given.folder, NAMES.weather):
        _fetched_weather(given, bounds, made)


def _ask_station(given: Given, file: str, made: Made) -> None:
    """Where a record was kept that does not say so, if the user knows it."""
    if not site_folder.has_no_station(made.choices):
        return
    for _again in range(3):
        answer = given.ask(Fact("start_ask_station", file=file))
        if not answer:
            return
        station = station_in(answer)
        if station is not None:
            made.choices = site_folder.with_station(made.choices, station)
            return


def station_in(answer: str) -> Station | None:
    """Latitude, longitude and height of an answer; None where it cannot be understood.

    >>> station_in("44.02, -74.21, 500 ft")
    Station(latitude=44.02, longitude=-74.21, elevation_m=152.4)
    >>> station_in("at the school"), station_in("144.02, -74.21, 172")
    (None, None)
    """
    found = _PLACE.fullmatch(answer.strip().casefold())
    if found is None:
        return None
    latitude, longitude, height = map(float, found.groups()[:3])
    height_m = height * METRES_PER_FOOT if found[4] == "ft" else height
    try:
        return Station(
            latitude=latitude, longitude=longitude, elevation_m=round(height_m, 1)
        )
    except ValidationError:
        return None


def _has_year(choices: str) -> bool:
    """Whether the choices give its cloud already."""
    keys = ("typical_year", "global_mj_m2_day")
    return any(re.search(rf"^[ \t]*{key}[ \t]*=", choices, re.M) for key in keys)


def _fetched_year(given: Given, bounds: Bounds, made: Made) -> None:
    """A typical year of the place for its cloud; without one light is of a clear sky."""
    (service,) = tables()["typical_year"]
    west, south, east, north = bounds
    address = service["address"].format(
        latitude=(south + north) / 2, longitude=(west + east) / 2
    )
    name = f"{TYPICAL_YEAR}.epw"
    if given.web is None or door.is_there(given.folder, name):
        return
    try:
        content = given.web.whole(address, door.MOST_BYTES_OF_TABLE)
        with TemporaryDirectory() as aside:
            path = Path(aside) / name
            path.write_bytes(content)
            read_typical_year(SiteFile(path, name))
    except SiteError as error:
        made.facts.append(
            Fact("start_source_failed", name=service["name"], why=str(error))
        )
        return
    made.choices = site_folder.with_file_named(made.choices, TYPICAL_YEAR, name)
    credit = service["name"], service["licence"], service["credit"]
    made.take(name, content, credit, [address])
    made.facts.append(Fact("start_typical_year_is", file=name))


def _fetched_weather(given: Given, bounds: Bounds, made: Made) -> None:
    """Records of the nearest stations; without them all but dates is still planned."""
    (service,) = tables()["weather"]
    web = given.web
    if web is None:
        return
    west, south, east, north = bounds
    place = (west + east) / 2, (south + north) / 2, _height_m(made, given, bounds)
    try:
        with TemporaryDirectory() as aside:
            found, said = nearest_records(
                service, place, given.now.year, web, Path(aside)
            )
    except SiteError as error:
        made.facts.append(
            Fact("start_source_failed", name=service["name"], why=str(error))
        )
        return
    made.facts += said
    credit = service["name"], service["licence"], service["credit"]
    for number, one in enumerate(found):
        name = NAMES.weather if number == 0 else f"weather_{one.station.id}.csv"
        made.take(name, one.text, credit, [one.address])
        if number:
            where = one.station.latitude, one.station.longitude, one.station.elevation_m
            made.choices = site_folder.other_station(made.choices, name, where)


def _height_m(made: Made, given: Given, bounds: Bounds) -> float:
    """Of the plots' middle; 0 where no heights are known."""
    content = made.files.get(NAMES.elevation)
    with TemporaryDirectory() as aside:
        path = Path(aside) / NAMES.elevation
        if content is not None:
            path.write_bytes(content)
        elif door.is_there(given.folder, NAMES.elevation):
            path = (given.folder / NAMES.elevation).resolve()
        else:
            return 0.0
        found = choose.from_file(SiteFile(path, path.name), bounds, None, "m").heights
    if found is None:
        return 0.0
    return choose.middle_m(found, bounds)
