"""Records of the nearest stations, fetched, read and set beside each other."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fieldmap.errors import SiteError
from fieldmap.model.fact import Fact
from fieldmap.model.site import WeatherRecord
from fieldmap.read.door import SiteFile
from fieldmap.read.start.net.web import Web
from fieldmap.read.start.weather import archive
from fieldmap.read.start.weather.archive import ListedStation
from fieldmap.read.weather.files import read_weather


@dataclass(frozen=True)
class Fetched:
    """A station's file as the archive has it."""

    station: ListedStation
    address: str
    text: bytes
    record: WeatherRecord


def nearest_records(
    service: dict[str, Any],
    place: tuple[float, float, float],
    this_year: int,
    web: Web,
    aside: Path,
) -> tuple[list[Fetched], list[Fact]]:
    """The nearest station's record, and the next one where the two disagree.

    Parameters
    ----------
    service
        Of `sources.toml`.
    place
        Longitude, latitude and height of the plots' middle [m].
    this_year
        The year of today; records that ended long before it do not count.
    web
        What fetches.
    aside
        An empty folder.

    Raises
    ------
    SiteError
        When the archive cannot be reached, or has no usable record near by.
    """
    lists = [
        web.whole(service[key], archive.MOST_BYTES_OF_LIST).decode("latin-1")
        for key in ("stations", "inventory")
    ]
    stations = archive.nearest(lists[0], lists[1], place, this_year)
    found: list[Fetched] = []
    refused: list[SiteError] = []
    for station in stations:
        try:
            found.append(_fetched(service, station, web, aside))
        except SiteError as error:
            refused.append(error)
        if len(found) == 2:
            break
    if not found:
        raise refused[0]
    if len(found) == 1:
        return found, [_taken(found[0])]
    one, other = found
    apart_c = archive.differ_by_c(
        (one.record, one.station.elevation_m), (other.record, other.station.elevation_m)
    )
    if apart_c is None or abs(apart_c) < archive.DISAGREE_C:
        return [one], [_taken(one)]
    said = Fact(
        "start_stations_disagree",
        name=one.station.name,
        other=other.station.name,
        degrees_c=abs(apart_c),
        colder=(one if apart_c < 0 else other).station.name,
    )
    return found, [_taken(one), said]


def _fetched(
    service: dict[str, Any], station: ListedStation, web: Web, aside: Path
) -> Fetched:
    address = service["record"].format(station=station.id)
    text = web.whole(address, archive.MOST_BYTES_OF_RECORD)
    path = aside / f"{station.id}.csv"
    path.write_bytes(text)
    return Fetched(station, address, text, read_weather(SiteFile(path, path.name)))


def _taken(one: Fetched) -> Fact:
    station = one.station
    return Fact(
        "start_station_higher" if station.higher_m > 0 else "start_station_lower",
        name=station.name,
        distance_km=station.km,
        height_m=float(abs(round(station.higher_m))),
        first=station.years[0],
        last=station.years[1],
    )
