"""Several weather stations: which of them stands nearest, in distance and in height."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from fieldmap.errors import SiteError
from fieldmap.model.settings import Station
from fieldmap.read import place
from fieldmap.read.wording import quoted
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldmap.model.settings import Settings
    from fieldmap.model.site import WeatherRecord

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

    def sentence(self, units: quantities.Units) -> str:
        """Where it stands, seen from the plots."""
        height = quantities.length(round(abs(self.higher_m)), units)
        distance = quantities.distance(self.km, units)
        return (
            _("{file} ({distance} off, {height} higher)").format(
                file=self.file, distance=distance, height=height
            )
            if self.higher_m > 0
            else _("{file} ({distance} off, {height} lower)").format(
                file=self.file, distance=distance, height=height
            )
        )


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
        _(
            "{choices}: two weather stations have the same file, {name}; give "
            "each its own."
        ).format(choices=CHOICES_FILE, name=quoted(name))
        for name in dict.fromkeys(names)
        if names.count(name) > 1
    ]
    order = []
    for file, told in _places(settings).items():
        where = told or records[file].station
        if where is None:
            problems.append(
                _(
                    "{choices}: where the weather of {file} was kept is not "
                    "told, so it cannot be compared; give its latitude, longitude and "
                    "elevation_m."
                ).format(choices=CHOICES_FILE, file=quoted(file))
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


def _why(order: list[Away], units: quantities.Units) -> str:
    return _(
        "Of {count} weather stations {nearest} is taken, as the "
        "nearest: {distance} off count like "
        "{height} of height. The next is "
        "{next}. To have it otherwise, leave the other out of "
        "{choices}."
    ).format(
        count=len(order),
        nearest=order[0].sentence(units),
        distance=quantities.distance(KM_AS_MUCH_AS, units),
        height=quantities.length(METRES, units),
        next=order[1].sentence(units),
        choices=CHOICES_FILE,
    )
