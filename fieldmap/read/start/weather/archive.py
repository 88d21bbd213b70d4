"""Nearest stations of the GHCN-Daily archive, by its own lists.

The lists are of fixed width, by the archive's readme.txt (sections IV and VII):
ghcnd-stations.txt has the identifier in columns 1-11, latitude 13-20, longitude 22-30,
height 32-37 and name 42-71; ghcnd-inventory.txt the identifier in 1-11, element 32-35,
first year 37-40 and last year 42-45.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from fieldmap.errors import Problem, SiteError, problem
from fieldmap.model.site import WeatherRecord
from fieldmap.read.elevation.grid import HIGHEST_M
from fieldmap.read.place import distance_km
from fieldmap.read.weather.stations import KM_AS_MUCH_AS, METRES

FARTHEST_KM = 150.0
FEWEST_YEARS = 10
ENDED_YEARS_AGO = 5  # a record that ended longer ago is of another climate (a choice)
NEEDED = ("TMIN", "TMAX")
UNKNOWN_HEIGHT = -900.0  # -999.9 in the list
# Identifiers become names of files and parts of addresses.
_ID = re.compile(r"[A-Z]{2}[A-Z0-9_-]{9}", re.ASCII)
MOST_BYTES_OF_LIST = 80_000_000
MOST_BYTES_OF_RECORD = 40_000_000
# Two records whose nights differ by more, once their heights are allowed for, are of
# different ground, and both are kept (a choice, no source).
DISAGREE_C = 1.0
COOLER_C_PER_M = 0.0065  # the standard atmosphere


@dataclass(frozen=True)
class ListedStation:
    """A station of the archive and how far off it stands."""

    id: str
    name: str
    latitude: float
    longitude: float
    elevation_m: float
    km: float
    higher_m: float
    years: tuple[int, int] = (0, 0)

    @property
    def far(self) -> float:
        """Distance and height in one number, as for stations of a site."""
        return self.km / KM_AS_MUCH_AS + abs(self.higher_m) / METRES


def nearest(
    stations: str,
    inventory: str,
    place: tuple[float, float, float],
    this_year: int,
    most: int = 4,
) -> list[ListedStation]:
    """Stations with long records of lows and highs up to now, the nearest first.

    Parameters
    ----------
    stations, inventory
        The texts of the archive's two lists.
    place
        Longitude, latitude and height of the plots' middle [m].
    this_year
        The year of today; records that ended long before it do not count.
    most
        How many stations to give at most.

    Raises
    ------
    SiteError
        When there is none within `FARTHEST_KM`, or a list is of another form.
    """
    longitude, latitude, height_m = place
    near = {each.id: each for each in _near(stations, longitude, latitude, height_m)}
    years = _years(inventory, near)
    found = []
    for station, spans in years.items():
        if len(spans) < len(NEEDED):
            continue
        first = max(span[0] for span in spans.values())
        last = min(span[1] for span in spans.values())
        if last - first + 1 >= FEWEST_YEARS and this_year - last <= ENDED_YEARS_AGO:
            one = near[station]
            found.append(ListedStation(**{**vars(one), "years": (first, last)}))
    if not found:
        raise SiteError(
            problem(
                "no station of the archive within {km:.0f} km has {years} years of lows"
                " and highs up to now; ask the national weather service for a daily"
                " record and name its file.",
                km=FARTHEST_KM,
                years=FEWEST_YEARS,
            )
        )
    return sorted(found, key=lambda each: (each.far, each.id))[:most]


def _near(
    stations: str, longitude: float, latitude: float, height_m: float
) -> Iterator[ListedStation]:
    """Stations of the list that are not too far off."""
    lines = [line for line in stations.splitlines() if len(line) >= 41]
    reach_deg = FARTHEST_KM / 111.0
    across_deg = reach_deg / max(0.05, float(np.cos(np.radians(latitude))))
    for line in lines:
        try:
            north, east = float(line[12:20]), float(line[21:30])
            up_m = float(line[31:37])
        except ValueError:
            raise SiteError(_other_form("ghcnd-stations.txt", line)) from None
        if not _ID.fullmatch(line[:11]):
            raise SiteError(_other_form("ghcnd-stations.txt", line))
        around = abs((east - longitude + 180.0) % 360.0 - 180.0)
        if abs(north - latitude) > reach_deg or around > across_deg:
            continue
        km = distance_km(longitude, latitude, east, north)
        if km <= FARTHEST_KM and UNKNOWN_HEIGHT < up_m < HIGHEST_M:
            name = " ".join(line[41:71].split())
            yield ListedStation(line[:11], name, north, east, up_m, km, up_m - height_m)


def _years(
    inventory: str, wanted: Mapping[str, ListedStation]
) -> dict[str, dict[str, tuple[int, int]]]:
    """First and last year of lows and of highs, by station."""
    found: dict[str, dict[str, tuple[int, int]]] = {}
    for line in inventory.splitlines():
        if line[:11] not in wanted or line[31:35] not in NEEDED:
            continue
        try:
            span = int(line[36:40]), int(line[41:45])
        except ValueError:
            raise SiteError(_other_form("ghcnd-inventory.txt", line)) from None
        found.setdefault(line[:11], {})[line[31:35]] = span
    return found


def _other_form(name: str, line: str) -> Problem:
    return problem(
        "{file} has a form that fieldmap does not know ({line!r}); download a"
        " station's file yourself and name it.",
        file=name,
        line=line[:60],
    )


def differ_by_c(
    one: tuple[WeatherRecord, float], other: tuple[WeatherRecord, float]
) -> float | None:
    """How much colder the nights of the other are on days of both, heights allowed for.

    Parameters
    ----------
    one, other
        Records and the heights of their stations [m].

    Returns
    -------
    float
        Mean difference of minima [°C], one less other; None under a year of days of both.
    """
    apart = (one[0].days["tmin_c"] - other[0].days["tmin_c"]).dropna()
    if len(apart) < 365:
        return None
    by_height = -COOLER_C_PER_M * (one[1] - other[1])
    return float(apart.mean() - by_height)
