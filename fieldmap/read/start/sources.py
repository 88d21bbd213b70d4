"""Open services that are known, and which of them serve a place."""

import math
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, Literal

from fieldmap.model.raster import Bounds
from fieldmap.read.place import time_zone

Kind = Literal["tiles", "index", "hand"]


@dataclass(frozen=True)
class Service:
    """One open elevation.

    Attributes
    ----------
    countries
        Codes of ISO 3166; none: the world.
    address
        Of a tile, of the catalogue, or of the page where a person gets the file.
    corner
        Of a tile, by which it is called.
    ends
        How the names of the wanted files of a catalogue end.
    """

    name: str
    countries: tuple[str, ...]
    every_m: float
    kind: Kind
    address: str
    licence: str
    credit: str
    cannot: str
    corner: str = ""
    ends: str = ".tif"
    margin_m: float = 3000.0
    height_unit: str | None = None

    def tiles(self, bounds: Bounds) -> Iterator[str]:
        """Addresses of all tiles of a degree that bounds in degrees touch."""
        west, south, east, north = bounds
        for lat in range(math.floor(south), math.ceil(north)):
            for lon in range(math.floor(west), math.ceil(east)):
                yield self._tile(lat, lon)

    def _tile(self, south: int, west: int) -> str:
        lat = south + 1 if self.corner.startswith("north") else south
        ns, ew = "s" if lat < 0 else "n", "w" if west < 0 else "e"
        said = {"ns": ns, "ew": ew, "NS": ns.upper(), "EW": ew.upper()}
        return self.address.format(lat=abs(lat), lon=abs(west), **said)

    def catalogue(self, bounds: Bounds) -> str:
        """Address at which a catalogue is asked for what lies in bounds."""
        west, south, east, north = bounds
        return self.address.format(west=west, south=south, east=east, north=north)


@cache
def tables() -> Mapping[str, Any]:
    """All of `sources.toml`."""
    text = resources.files("fieldmap").joinpath("sources.toml").read_text("utf-8")
    return tomllib.loads(text)


@cache
def _countries() -> Mapping[str, str]:
    """Country of each time zone, by the list that comes with the zones."""
    table = resources.files("tzdata.zoneinfo").joinpath("zone.tab").read_text("utf-8")
    rows = (line.split("\t") for line in table.splitlines() if line[:1] != "#")
    return {row[2]: row[0] for row in rows}


def country(longitude: float, latitude: float) -> str | None:
    """Code of the country of a place by its time zone, None where that says none.

    >>> country(-74.25, 44.05), country(15.26, 46.06)
    ('US', 'SI')
    """
    return _countries().get(time_zone(longitude, latitude))


def services(longitude: float, latitude: float) -> tuple[Service, ...]:
    """Elevations of a place, those that can be read from first, and the finest of them.

    >>> [each.name for each in services(15.26, 46.06)]
    ['Copernicus GLO-30']
    """
    here = country(longitude, latitude)
    known = [
        Service(**{**entry, "countries": tuple(entry["countries"])})
        for entry in tables()["elevation"]
    ]
    serving = [each for each in known if here in each.countries or not each.countries]
    return tuple(sorted(serving, key=lambda each: (each.kind == "hand", each.every_m)))
