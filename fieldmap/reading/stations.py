"""Several weather stations: which of them stands nearest, in distance and in height."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from fieldmap import words
from fieldmap.errors import SiteError
from fieldmap.reading import place
from fieldmap.reading.sentences import quoted
from fieldmap.settings import Station

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldmap.settings import Settings
    from fieldmap.site import WeatherRecord

CHOICES_FILE = "site.toml"
# So many kilometres off count as much as so many metres higher or lower: in 100 m the
# air is about half a degree colder (a choice, no source).
KM_AS_MUCH_AS, METRES = 10.0, 100.0


class Away(NamedTuple):
    """A station and how far off it stands."""

    file: str
    station: Station
    km: float
    higher_m: float

    @property
    def far(self) -> float:
        """Distance and height in one number; the least is nearest."""
        return self.km / KM_AS_MUCH_AS + abs(self.higher_m) / METRES

    def sentence(self, units: words.Units) -> str:
        """Where it stands, seen from the plots."""
        side = "higher" if self.higher_m > 0 else "lower"
        height = words.length(round(abs(self.higher_m)), units)
        return f"{self.file} ({words.distance(self.km, units)} off, {height} {side})"


def choose(
    settings: Settings,
    records: Mapping[str, WeatherRecord],
    longitude: float,
    latitude: float,
    height_m: float,
) -> tuple[Settings, tuple[str, ...]]:
    """Settings with the nearest of all stations, and why it is.

    Parameters
    ----------
    records
        By file name.
    longitude, latitude, height_m
        Of the plots' middle.

    Raises
    ------
    SiteError
        When the place of a station is not told.
    """
    names = [settings.files.weather, *(o.weather for o in settings.other_stations)]
    problems = [
        f"{CHOICES_FILE}: two weather stations have the same file, {quoted(name)}; give "
        "each its own."
        for name in dict.fromkeys(names)
        if names.count(name) > 1
    ]
    order = []
    for file, told in _places(settings).items():
        where = told or records[file].station
        if where is None:
            problems.append(
                f"{CHOICES_FILE}: where the weather of {quoted(file)} was kept is not "
                "told, so it cannot be compared; give its latitude, longitude and "
                "elevation_m."
            )
            continue
        km = place.distance_km(longitude, latitude, where.longitude, where.latitude)
        order.append(Away(file, where, km, where.elevation_m - height_m))
    if problems:
        raise SiteError(problems)
    order.sort(key=lambda away: (away.far, away.file))
    chosen = order[0]
    return (
        settings.model_copy(
            update={
                "station": chosen.station,
                "files": settings.files.model_copy(update={"weather": chosen.file}),
            }
        ),
        (_why(order, settings.units),),
    )


def _places(settings: Settings) -> dict[str, Station | None]:
    """Where each station stands by `site.toml`, by file name."""
    places = {settings.files.weather: settings.station}
    for each in settings.other_stations:
        parts = (each.latitude, each.longitude, each.elevation_m)
        latitude, longitude, elevation_m = parts
        if latitude is None or longitude is None or elevation_m is None:
            places[each.weather] = None
        else:
            places[each.weather] = Station(
                latitude=latitude, longitude=longitude, elevation_m=elevation_m
            )
    return places


def _why(order: list[Away], units: words.Units) -> str:
    return (
        f"Of {len(order)} weather stations {order[0].sentence(units)} is taken, as the "
        f"nearest: {words.distance(KM_AS_MUCH_AS, units)} off count like "
        f"{words.length(METRES, units)} of height. The next is "
        f"{order[1].sentence(units)}. To have it otherwise, leave the other out of "
        f"{CHOICES_FILE}."
    )
