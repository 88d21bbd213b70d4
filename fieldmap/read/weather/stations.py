"""Where the weather was recorded, and which of several stations stands nearest."""

from collections.abc import Mapping
from typing import NamedTuple

from fieldmap.errors import SiteError, problem
from fieldmap.model.fact import Fact
from fieldmap.model.settings import METRES_PER_FOOT, Settings, Station
from fieldmap.model.site import LAPSE_C_PER_M, WeatherRecord
from fieldmap.read import place
from fieldmap.read.door import CHOICES_FILE
from fieldmap.read.wording import quoted

# Farther off, a station's weather is that of another region (common practice).
FARTHEST_STATION_KM = 300.0
# Nearer than this, a place given twice is one: files round to 0.01°, maps to a few metres.
SAME_PLACE_KM = 2.0
SAME_HEIGHT_M = 20.0
# Heights on maps and in coarse elevations are off by less; so much is a quarter of a
# degree (choices).
OFF_GROUND_M = 50.0
# Higher or lower than this, a station's air is nearly a degree off (a choice).
FAR_UP_M = 150.0
SURELY_NEARER = (
    0.25  # of how far off a height is, where it is likely in feet (a choice)
)
# This distance counts as much as this difference in height: in 100 m the
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

    @property
    def fact(self) -> Fact:
        """Where it stands, seen from the plots."""
        kind = "station_higher" if self.higher_m > 0 else "station_lower"
        height_m = float(round(abs(self.higher_m)))
        return Fact(kind, file=self.file, distance_km=self.km, height_m=height_m)


def choose(
    settings: Settings,
    records: Mapping[str, WeatherRecord],
    longitude: float,
    latitude: float,
    height_m: float,
) -> tuple[Settings, tuple[Fact, ...]]:
    """Settings with the nearest of all stations, and why it is.

    Parameters
    ----------
    settings
        Choices with the places of two or more stations.
    records
        By file name.
    longitude, latitude, height_m
        Of the plots' middle.

    Raises
    ------
    SiteError
        When the place of a station is not given, or two stations have the same file.
    """
    names = [settings.files.weather, *(o.weather for o in settings.other_stations)]
    problems = [
        problem(
            "{choices}: two weather stations have the same file, {name}; give "
            "each its own.",
            choices=CHOICES_FILE,
            name=quoted(name),
        )
        for name in dict.fromkeys(names)
        if names.count(name) > 1
    ]
    order = []
    for file, given in _places(settings).items():
        where = given or records[file].station
        if where is None:
            problems.append(
                problem(
                    "{choices}: where the weather of {file} was kept is not "
                    "given, so it cannot be compared; give its latitude, longitude and "
                    "elevation_m.",
                    choices=CHOICES_FILE,
                    file=quoted(file),
                )
            )
            continue
        km = place.distance_km(longitude, latitude, where.longitude, where.latitude)
        order.append(Away(file, where, km, where.elevation_m - height_m))
    if problems:
        raise SiteError(problems)
    order.sort(key=lambda away: (away.far, away.file))
    nearest, following = order[:2]
    files = settings.files.model_copy(update={"weather": nearest.file})
    why = Fact(
        "nearest_station",
        count=len(order),
        nearest=nearest.fact,
        distance_km=KM_AS_MUCH_AS,
        height_m=METRES,
        next=following.fact,
        choices=CHOICES_FILE,
    )
    update = {"station": nearest.station, "files": files}
    return settings.model_copy(update=update), (why,)


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


def with_station(
    settings: Settings, weather: WeatherRecord | None
) -> tuple[Settings, tuple[Fact, ...]]:
    """Settings with the place that the record itself states, where they have none."""
    stated = None if weather is None else weather.station
    if stated is None:
        return settings, ()
    own = settings.station
    said = Fact(
        "record_tells_place",
        file=settings.files.weather,
        latitude=stated.latitude,
        longitude=stated.longitude,
        height_m=stated.elevation_m,
    )
    if own is None:
        taken = Fact("station_taken", said=said, choices=CHOICES_FILE)
        return settings.model_copy(update={"station": stated}), (taken,)
    away_km = place.distance_km(
        own.longitude, own.latitude, stated.longitude, stated.latitude
    )
    higher_m = own.elevation_m - stated.elevation_m
    if away_km < SAME_PLACE_KM and abs(higher_m) < SAME_HEIGHT_M:
        return settings, ()
    kept = Fact(
        "station_kept_higher" if higher_m > 0 else "station_kept_lower",
        said=said,
        choices=CHOICES_FILE,
        away_km=away_km,
        height_m=abs(higher_m),
    )
    return settings, (kept,)


def check_place(
    station: Station | None, longitude: float, latitude: float
) -> tuple[Fact, ...]:
    """Remarks on the station's place, seen from the plots' middle.

    Parameters
    ----------
    station
        The weather station; None where its place is not known, and then there is no
        remark.
    longitude, latitude
        Of the plots' middle [degrees].

    Raises
    ------
    SiteError
        When it is far off and would be near with latitude and longitude swapped.
    """
    if station is None:
        return ()
    away_km = place.distance_km(
        longitude, latitude, station.longitude, station.latitude
    )
    if away_km <= FARTHEST_STATION_KM:
        return ()
    where = {
        "choices": CHOICES_FILE,
        "station_latitude": station.latitude,
        "station_longitude": station.longitude,
        "away_km": away_km,
        "latitude": latitude,
        "longitude": longitude,
    }
    if _is_near_when_swapped(station, longitude, latitude):
        said = problem(
            "{choices}: the [station] at latitude {station_latitude:g}, longitude"
            " {station_longitude:g} is {away_km:.0f} km from the plots (latitude"
            " {latitude:.3f}, longitude {longitude:.3f})",
            **where,
        )
        raise SiteError(
            problem("{said}; its latitude and longitude look swapped.", said=said)
        )
    return (Fact("station_far_off", said=Fact("station_place", **where)),)


def check_height(
    station: Station | None, there_m: float | None, plots_m: float
) -> tuple[Fact, ...]:
    """Remarks on the station's height, which moves every date.

    Parameters
    ----------
    station
        The weather station; None where its place is not known, and then there is no
        remark.
    there_m
        Height of the known ground where the station stands; None where that is not
        known.
    plots_m
        Height of the plots' middle.
    """
    if station is None:
        return ()
    ground_m, most_m = plots_m, FAR_UP_M
    if there_m is not None:
        ground_m, most_m = there_m, OFF_GROUND_M
    off_m = abs(station.elevation_m - ground_m)
    if not off_m > most_m:
        return ()
    in_feet_off_m = abs(station.elevation_m * METRES_PER_FOOT - ground_m)
    is_feet = in_feet_off_m < most_m and in_feet_off_m < SURELY_NEARER * off_m
    off_ground = "station_plots_far_up" if there_m is None else "station_off_ground"
    return (
        Fact(
            "station_height_in_feet" if is_feet else off_ground,
            choices=CHOICES_FILE,
            written=round(station.elevation_m, 1),
            station_m=station.elevation_m,
            ground_m=ground_m,
            over_c=LAPSE_C_PER_M * (plots_m - station.elevation_m),
        ),
    )


def _is_near_when_swapped(station: Station, longitude: float, latitude: float) -> bool:
    if abs(station.longitude) > 90:
        return False
    away_km = place.distance_km(
        longitude, latitude, station.latitude, station.longitude
    )
    return away_km <= FARTHEST_STATION_KM
