"""The choices of a site, as frozen checked records (`site.toml`).

Defaults stand here for choices only, never for a fact about the place.
"""

import re
from collections.abc import Iterator, Mapping
from datetime import date
from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from fieldmap.errors import Problem, problem, refuse_first
from fieldmap.model.settings.base import (
    Bearing,
    Choices,
    CoverKind,
    CropClass,
    Fabric,
    Film,
    FromDirection,
    Listed,
    ShadeCloth,
    Units,
)
from fieldmap.model.settings.wanted import AMOUNTS, CropChoice

# Where others take these from.
__all__ = [
    "AMOUNTS",
    "Choices",
    "CoverKind",
    "CropChoice",
    "CropClass",
    "Fabric",
    "Film",
    "Listed",
    "ShadeCloth",
    "Units",
]


class Files(Choices):
    """Names of the input files, relative to the site folder."""

    plots: str = "plots.geojson"
    surroundings: str = "surroundings.geojson"
    elevation: str = "elevation.tif"
    weather: str = "weather.csv"
    thermometers: str = "thermometers.csv"  # read by `observe` alone
    happened: str = "happened.csv"  # a plan reads minutes of work alone
    wide_elevation: str | None = None  # coarser heights of the hills around
    skyline: str | None = None  # measured: azimuth and elevation in degrees
    typical_year: str | None = None  # TMY3, TM2 or EPW: cloud as it is
    crops: str = "crops.toml"  # the grower's own crops and changes, if there
    last_year: str = "last_year.csv"  # what stood on the beds, if there
    beds: str = "beds.geojson"  # those that stay as they are, if there
    past_beds: str = "past_beds.geojson"  # on which ground history happened, if there
    marks: str = "marks.geojson"  # what the grower saw on the ground, if there
    words: str = "words.toml"  # words of learners' sheets in other languages, if there


class Ground(Choices):
    """What the grower knows of the elevation model."""

    height_unit: Literal["m", "ft"] | None = None  # only where the file does not say
    elevation_error_m: Annotated[float, Field(gt=0, le=50)] | None = None
    smoothing_m: Annotated[float, Field(ge=0, le=100)] = 5.0


MonthMean = Annotated[float, Field(ge=0, le=60, allow_inf_nan=False)]
Months = Annotated[Listed[MonthMean], Field(min_length=12, max_length=12)]


class Sun(Choices):
    """How light is computed; monthly means of level ground, January first, add cloud."""

    sky_light: Literal["isotropic", "hay-davies"] = "isotropic"
    day: date | None = None  # hours of sun on each bed are given for this day
    global_mj_m2_day: Months | None = None
    diffuse_mj_m2_day: Months | None = None

    def faults(self) -> Iterator[Problem]:
        """Means come together, and what is diffuse is part of the whole."""
        if (self.global_mj_m2_day is None) != (self.diffuse_mj_m2_day is None):
            yield problem("give global_mj_m2_day and diffuse_mj_m2_day together")
        for whole, part in zip(
            self.global_mj_m2_day or (), self.diffuse_mj_m2_day or (), strict=True
        ):
            if part > whole:
                yield problem(
                    "diffuse_mj_m2_day {part:g} is more than global_mj_m2_day {whole:g}",
                    part=part,
                    whole=whole,
                )


class Calendar(Choices):
    """The year of the list by week."""

    # Any day of its first week; None: the season-year after the weather record.
    starts: date | None = None

    def faults(self) -> Iterator[Problem]:
        """It is of these times."""
        if self.starts is not None and not 2000 <= self.starts.year <= 2100:
            yield problem(
                "starts is {starts}; a day of 2000 to 2100 is right", **dict(self)
            )


METRES_PER_FOOT = 0.3048


def _feet_as_metres(told: Any) -> Any:
    """A table whose elevation_ft, if it has one, is its elevation_m."""
    if not isinstance(told, dict) or "elevation_ft" not in told:
        return told
    feet = told["elevation_ft"]
    if "elevation_m" in told:
        refuse_first([problem("give elevation_m or elevation_ft, not both")])
    if type(feet) not in (int, float):
        wrong = problem("elevation_ft is {value!r}; it must be a number", value=feet)
        refuse_first([wrong])
    table = {key: value for key, value in told.items() if key != "elevation_ft"}
    return table | {"elevation_m": feet * METRES_PER_FOOT}


class Station(Choices):
    """Where the weather record was kept."""

    latitude: Annotated[float, Field(ge=-90, le=90)]
    longitude: Annotated[float, Field(ge=-180, le=180)]
    elevation_m: Annotated[float, Field(ge=-500, le=6000)]

    @model_validator(mode="before")
    @classmethod
    def _in_metres(cls, told: Any) -> Any:
        return _feet_as_metres(told)


class StationFile(Choices):
    """One more weather station: its file and, if that does not say, its place."""

    weather: str
    latitude: Annotated[float, Field(ge=-90, le=90)] | None = None
    longitude: Annotated[float, Field(ge=-180, le=180)] | None = None
    elevation_m: Annotated[float, Field(ge=-500, le=6000)] | None = None

    @model_validator(mode="before")
    @classmethod
    def _in_metres(cls, told: Any) -> Any:
        return _feet_as_metres(told)

    def faults(self) -> Iterator[Problem]:
        """Its place is whole or not told."""
        parts = (self.latitude, self.longitude, self.elevation_m)
        if len({part is None for part in parts}) > 1:
            yield problem("give latitude, longitude and elevation_m together")


class Wind(Choices):
    """Directions the wind comes from, degrees clockwise from true north."""

    prevailing_from_deg: FromDirection | None = None
    storm_from_deg: FromDirection | None = None
    summer_breeze_from_deg: FromDirection | None = None


METRES_PER_INCH = 0.0254
# Widths may be told in inches instead, in a key of its own.
INCHES = {"bed_width_in": "bed_width_m", "path_width_in": "path_width_m"}


def _faults_of_inches(inches: str, table: Mapping[str, Any]) -> Iterator[Problem]:
    metres = INCHES[inches]
    told = {"inches": inches, "metres": metres, "value": table[inches]}
    if metres in table:
        yield problem("give {metres} or {inches}, not both", **told)
    if type(table[inches]) not in (int, float):
        yield problem("{inches} is {value!r}; it must be a number", **told)
    low, high = (30 if metres == "bed_width_m" else 20) / 2.54, 500 / 2.54
    if not low <= table[inches] <= high:
        yield problem(
            "{inches} is {value:g}; it must be {low:.0f} to {high:.0f}",
            **told,
            low=low,
            high=high,
        )


Work = Literal["hand", "two_wheel_tractor", "tractor"]
# What a way of working asks of the ground where no key says otherwise; those of "hand"
# are the defaults below (common practice, no source).
WAYS: Mapping[str, Mapping[str, float]] = {
    "hand": {},
    "two_wheel_tractor": {"headland_m": 2.5, "steepest_percent": 25.0},
    "tractor": {
        "bed_width_m": 1.2,
        "path_width_m": 0.5,
        "headland_m": 6.0,
        "drive_lane_m": 4.0,
        "steepest_percent": 15.0,
    },
}
# Fall across a bed over which a machine may roll over (common practice, no source);
# where work is by hand, that of a two-wheel tractor which may come all the same.
ROLL_OVER_PERCENT: Mapping[str, float] = {
    "hand": 15.0,
    "two_wheel_tractor": 15.0,
    "tractor": 12.0,
}

BedLength = Annotated[float, Field(ge=2, le=100)]


class Beds(Choices):
    """How beds are laid out."""

    work: Work = "hand"
    bed_width_m: Annotated[float, Field(ge=0.3, le=5)] = 0.75
    path_width_m: Annotated[float, Field(ge=0.2, le=5)] = 0.45
    headland_m: Annotated[float, Field(ge=0, le=20)] = 1.5
    setback_m: Annotated[float, Field(ge=0, le=50)] = 1.0
    shortest_m: Annotated[float, Field(gt=0, le=200)] = 4.0
    # Of all beds, along the ground.
    length_m: BedLength | None = None
    second_length_m: BedLength | None = None
    # Each row as long as its ground.
    any_length: bool = False
    tape_m: Annotated[float, Field(ge=10, le=100)] = 30.0
    roll_m: Annotated[float, Field(ge=10, le=2000)] = 100.0
    beds_per_block: Annotated[int, Field(ge=1, le=5000)] | None = None
    # Between blocks side by side; 3 m let a small truck through (common practice, no
    # source).
    drive_lane_m: Annotated[float, Field(ge=0.2, le=30)] = 3.0
    # Ground that falls more gets no bed.
    steepest_percent: Annotated[float, Field(ge=2, le=200)] = 30.0
    bearing_deg: Bearing | None = None
    # Edges and bags of a cover take about 30 cm of path each side (common practice, no
    # source).
    covered: bool = False
    covered_path_m: Annotated[float, Field(ge=0.2, le=5)] = 0.6
    # Two make a bed of two strips with a path of usual width within.
    under_one_hoop: Annotated[int, Field(ge=1, le=2)] = 1
    tall_crops: bool = False

    @model_validator(mode="before")
    @classmethod
    def _metres_by_way_of_working(cls, told: Any) -> Any:
        if not isinstance(told, dict):
            return told
        work = told.get("work")
        table = dict(told)
        for inches in sorted(INCHES.keys() & table.keys()):
            refuse_first(_faults_of_inches(inches, table))
            table[INCHES[inches]] = table.pop(inches) * METRES_PER_INCH
        return {**WAYS.get(work, {}), **table} if isinstance(work, str) else table

    def faults(self) -> Iterator[Problem]:
        """Lengths agree."""
        if self.any_length and self.length_m is not None:
            yield problem("give length_m or any_length = true, not both")
        if self.length_m is not None and self.length_m < self.shortest_m:
            yield problem(
                "length_m {length_m:g} is less than shortest_m {shortest_m:g}",
                **dict(self),
            )
        if self.second_length_m is not None and not (
            self.length_m is not None
            and self.shortest_m <= self.second_length_m < self.length_m
        ):
            yield problem(
                "second_length_m is {second_length_m:g}; it needs a length_m that is "
                "longer, and must not be less than shortest_m {shortest_m:g}",
                **dict(self),
            )

    @property
    def path_within_m(self) -> float:
        """Between the two strips of a bed under one hoop; 0 where it has one."""
        return self.path_width_m if self.under_one_hoop == 2 else 0.0

    @property
    def width_m(self) -> float:
        """Of a bed as it is pegged, the path between its strips within."""
        return self.under_one_hoop * self.bed_width_m + self.path_within_m

    @property
    def path_m(self) -> float:
        """Between beds that lie side by side, with what covers take of it."""
        if self.covered or self.under_one_hoop == 2:
            return max(self.path_width_m, self.covered_path_m)
        return self.path_width_m

    @property
    def lane_m(self) -> float:
        """Between blocks side by side; never less than a path."""
        return max(self.drive_lane_m, self.path_m)

    @property
    def across_m(self) -> float:
        """Path across between the ends of two bays: one headland for both, or a path."""
        return max(self.headland_m, self.path_m)


class TapedLength(Choices):
    """A length that was taped from post to post, along the ground."""

    between: Annotated[Listed[str], Field(min_length=2, max_length=2)]
    length_m: Annotated[float, Field(ge=1, le=1000)]

    def faults(self) -> Iterator[Problem]:
        """It has two ends."""
        if self.between[0] == self.between[1]:
            yield problem("between names {name!r} twice", name=self.between[0])


class Pegging(Choices):
    """How outlines were drawn, and what corrects them before anything is pegged."""

    # "walked": with a phone, metres out at each corner.
    outline: Literal["surveyed", "walked"] = "surveyed"
    taped: Listed[TapedLength] = ()


class TunnelSize(Choices):
    """One size of walk-in tunnel and how many of it are wanted."""

    length_m: Annotated[float, Field(ge=3, le=200)]
    width_m: Annotated[float, Field(ge=2, le=15)]
    height_m: Annotated[float, Field(ge=1.5, le=7)]
    count: Annotated[int, Field(ge=1, le=50)] = 1
    # Months of use; None: all but the three darkest.
    first_month: Annotated[int, Field(ge=1, le=12)] | None = None
    last_month: Annotated[int, Field(ge=1, le=12)] | None = None
    # On low hoops over the beds inside, on cold nights.
    inner_fabric: Fabric | None = None
    # With cloth over the film in months that are too hot for its crop.
    shaded: bool = False
    # End to end, between which it is moved along its length through the year.
    positions: Annotated[int, Field(ge=1, le=3)] = 1

    @property
    def ground_m(self) -> float:
        """Length of the ground of all its positions."""
        return self.positions * self.length_m


class Hands(Choices):
    """Who is there to open covers, and how much ground they can tend."""

    minutes_in_the_morning: Annotated[float, Field(ge=0, le=6000)] | None = None
    # Of bed through the year; what is left lies in green manure. None: all there is.
    tended_m: Annotated[float, Field(ge=1, le=1_000_000)] | None = None


Risk = Annotated[float, Field(ge=0.01, le=0.5)]


class Risks(Choices):
    """Share of years in which frost may take a crop: of spring by class, and of autumn.

    The defaults are a choice: 1 year in 10 where plants die and are dear to raise, 1 in
    2 where seed is cheap and sown again (common practice, no source).
    """

    hardy: Risk = 0.5
    half_hardy: Risk = 0.2
    tender: Risk = 0.1
    warm_loving: Risk = 0.1
    # In autumn plants stand and bear already: the median year for all of them.
    autumn: Risk = 0.5

    def of(self, crop_class: CropClass) -> float:
        """The risk taken with crops of a class, 0-1."""
        risk: float = getattr(self, crop_class)
        return risk


class Cover(Choices):
    """One piece of cover that is owned."""

    kind: CoverKind
    width_m: Annotated[float, Field(ge=0.5, le=20)]
    length_m: Annotated[float, Field(gt=0, le=20000)]
    age_years: Annotated[float, Field(ge=0, le=30)] | None = None
    # A piece stays as it is unless the grower says that it may be cut.
    may_cut: bool = False


HoopPart = Literal["pipe", "stake", "bag", "stone", "tie", "clip", "ridge_cord", "rope"]
TunnelPart = Literal["bow", "ground_post", "purlin", "tunnel_film"]
Item = Literal[HoopPart, TunnelPart, CoverKind]


class OnHand(Choices):
    """Something that need not be bought, in the unit of the list."""

    item: Item
    amount: Annotated[float, Field(gt=0, le=1e6)]


class Price(Choices):
    """What one unit of an item costs, in the grower's money."""

    item: Item
    each: Annotated[float, Field(gt=0, le=1e6)]


class Materials(Choices):
    """Hoops, pipe and weights; the defaults are common practice, no source."""

    hoop_bend: Literal["half ellipse", "circular arc", "catenary"] = "half ellipse"
    hoop_height_m: Annotated[float, Field(ge=0.2, le=1.5)] = 0.5
    # None: 1.5 m under fabric, 1 m under film.
    hoop_spacing_m: Annotated[float, Field(ge=0.3, le=3)] | None = None
    # In the ground, each end: 25 to 30 cm hold in loose beds.
    leg_m: Annotated[float, Field(ge=0.05, le=1)] = 0.3
    pipe_length_m: Annotated[float, Field(gt=0, le=30)] = 6.0
    saw_m: Annotated[float, Field(ge=0, le=0.02)] = 0.003
    # Widths of rolls on sale, beside those that are owned.
    roll_widths_m: Annotated[
        Listed[Annotated[float, Field(gt=0.3, le=20)]], Field(min_length=1)
    ] = (1.6, 2.2, 3.2, 4.2)
    anchor: Literal["bags", "stones", "trench"] = "bags"
    bag_kg: Annotated[float, Field(ge=1, le=50)] = 10.0
    rain_mm_h: Annotated[float, Field(ge=5, le=500)] = 50.0  # a downpour
    on_hand: Listed[OnHand] = ()
    prices: Listed[Price] = ()


SheetName = Literal[
    "landowner",
    "before_you_sign",
    "crew",
    "tunnel_door",
    "tonight",
    "dawn_walk",
    "walk",
    "build",
]
FOR_LEARNERS = ("dawn_walk", "walk", "build")  # have room for two languages
Codes = Annotated[Listed[str], Field(min_length=1, max_length=2)]


class Sheets(Choices):
    """How sheets are printed."""

    # None: A4 on metric sites, US Letter on others.
    paper: Literal["a4", "letter"] | None = None
    # By sheet, where it is not in the site's language; two stand side by side.
    languages: Mapping[SheetName, Codes] = {}


# An address of one host, with an optional port: nothing that could end or widen the rule
# by which the page lets the browser ask that host and no other.
TILE_ADDRESS = re.compile(
    r"(?P<host>https://[A-Za-z0-9]([A-Za-z0-9.-]*[A-Za-z0-9])?(:\d{1,5})?)"
    r"/[A-Za-z0-9/._~%!$&()*+,;=:@?{}-]*"
)
TILE_PLACES = ("{z}", "{x}", "{y}")


def _faults_of_tiles(address: str) -> Iterator[Problem]:
    """Why pictures cannot be asked of one host by an address, and of no other."""
    shown = {"address": repr(address[:200]), "parts": ", ".join(TILE_PLACES)}
    if not address.startswith("https://"):
        yield problem(
            "background_tiles is {address}; it must begin with https://", **shown
        )
    if sorted(re.findall(r"\{[^{}]*\}|[{}]", address)) != sorted(TILE_PLACES):
        yield problem(
            "background_tiles is {address}; it must hold {parts}, each once, and no "
            "other braces",
            **shown,
        )
    if not TILE_ADDRESS.fullmatch(address):
        yield problem(
            "background_tiles is {address}; it must be the plain address of one host, "
            "without spaces, quotes or a password, and with {parts} after the host",
            **shown,
        )


class Map(Choices):
    """Pictures from the internet that the map may show behind what was computed."""

    background_tiles: str | None = None  # address, with the places of TILE_PLACES
    background_credit: str | None = None  # who made them, as their owner asks
    background_finest_zoom: Annotated[int, Field(ge=1, le=23)] = 19

    def faults(self) -> Iterator[Problem]:
        """Address and credit go together."""
        if self.background_tiles is not None:
            yield from _faults_of_tiles(self.background_tiles)
        elif self.background_credit is not None:
            yield problem("background_credit is there without background_tiles")
        if self.background_credit is None and self.background_tiles is not None:
            yield problem(
                "background_tiles needs a line background_credit that says who made "
                "the pictures, as their owner asks"
            )

    @property
    def background_host(self) -> str | None:
        """Of whom the pictures are asked, as a browser's rules name it."""
        found = TILE_ADDRESS.fullmatch(self.background_tiles or "")
        return found["host"] if found else None


Longitude = Annotated[float, Field(ge=-180, le=180, allow_inf_nan=False)]
Latitude = Annotated[float, Field(ge=-90, le=90, allow_inf_nan=False)]
Place = Annotated[tuple[Longitude, Latitude], Field(strict=False)]


class Gap(Choices):
    """An opening made in something that stands."""

    of: str
    width_m: Annotated[float, Field(gt=0, le=200)]
    longitude: Longitude
    latitude: Latitude


class Addition(Choices):
    """Something new that stands along a line."""

    kind: Literal["hedge", "trees", "wall", "fence", "bank"]
    name: Annotated[str, Field(min_length=1, max_length=200)]
    height_m: Annotated[float, Field(gt=0, le=150)]
    width_m: Annotated[float, Field(gt=0, le=200)]
    porosity: Annotated[float, Field(ge=0, le=1)] | None = None
    clear_stem_m: Annotated[float, Field(ge=0, le=100)] | None = None
    leaf: Literal["deciduous", "evergreen", "none"] | None = None
    line: Annotated[
        tuple[Place, ...], Field(strict=False, min_length=2, max_length=2000)
    ]


class WhatIf(Choices):
    """A change of the surroundings that the grower thinks of."""

    name: Annotated[str, Field(min_length=1, max_length=200)]
    take_away: Listed[str] = ()
    gaps: Listed[Gap] = ()
    additions: Listed[Addition] = ()


class Settings(Choices):
    """All of `site.toml`."""

    name: Annotated[str, Field(min_length=1, max_length=200)]
    files: Files = Files()
    ground: Ground = Ground()
    station: Station | None = None
    other_stations: Listed[StationFile] = ()
    wind: Wind = Wind()
    sun: Sun = Sun()
    calendar: Calendar = Calendar()
    beds: Beds = Beds()
    pegging: Pegging = Pegging()
    tunnels: Listed[TunnelSize] = ()
    tunnel_choice: Literal["A", "B", "C"] = "A"
    # What walk-in tunnels are for first of all; None: not answered, early is taken.
    tunnels_first: Literal["early", "storm-safe", "near"] | None = None
    crops: Listed[CropChoice] = ()
    # Whose dates put beds in order; None: the first tender or warm-loving one.
    order_for: str | None = None
    risk: Risks = Risks()
    covers: Listed[Cover] = ()
    materials: Materials = Materials()
    sheets: Sheets = Sheets()
    map: Map = Map()
    hands: Hands = Hands()
    what_if: Annotated[Listed[WhatIf], Field(max_length=20)] = ()
    units: Units = "metric"
    language: str = "en"  # ISO 639-1; whether there is one is seen where it is shown

    def faults(self) -> Iterator[Problem]:
        """Order is for a crop that is wanted."""
        if self.order_for is not None and self.ordering is None:
            names = [crop.name.strip() for crop in self.crops]
            yield problem(
                "order_for is {name!r}; it names one of the crops of [[crops]]: {crops}",
                name=self.order_for,
                crops=", ".join(names) or problem("there are none"),
            )

    @property
    def ordering(self) -> int | None:
        """Number of the crop whose dates put beds in order, None where none is named."""
        if self.order_for is None:
            return None
        named = [crop.name.strip().casefold() for crop in self.crops]
        wanted = self.order_for.strip().casefold()
        return named.index(wanted) if wanted in named else None
