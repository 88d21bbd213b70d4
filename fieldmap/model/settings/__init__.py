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
from fieldmap.model.settings.of_region import OfRegion
from fieldmap.model.settings.wanted import AMOUNTS, CropChoice
from fieldmap.model.settings.what_if import Addition, Gap, WhatIf

# Where others take these from.
__all__ = [
    "AMOUNTS",
    "LEAST_HOOP_M",
    "Addition",
    "Choices",
    "CoverKind",
    "CropChoice",
    "CropClass",
    "Fabric",
    "Film",
    "Gap",
    "Listed",
    "ShadeCloth",
    "Units",
    "WhatIf",
]

LEAST_HOOP_M = 0.2


class Files(Choices):
    """Names of the input files, relative to the site folder."""

    plots: str = "plots.geojson"
    """Outlines of the ground that may be planted."""
    surroundings: str = "surroundings.geojson"
    """Trees, hedges, buildings, water points, gates and lines; may be missing."""
    elevation: str = "elevation.tif"
    """Heights of the ground, as a GeoTIFF file."""
    weather: str = "weather.csv"
    """Lowest and highest temperature of each day at the weather station; may be
    missing."""
    thermometers: str = "thermometers.csv"
    """Lowest temperature of each night at your own thermometers. Only
    `fieldmap observe` reads it."""
    happened: str = "happened.csv"
    """What happened on the beds: plantings, losses and lows. A plan uses only the
    minutes of work in it."""
    wide_elevation: str | None = None
    """Less detailed heights of the hills around the site."""
    skyline: str | None = None
    """The skyline as you measured it at the site."""
    typical_year: str | None = None
    """A typical year of weather, hour by hour and with its clouds: a TMY3, TM2 or EPW
    file."""
    crops: str = "crops.toml"
    """Your own crops, and your changes to the crops that fieldmap knows; may be
    missing."""
    last_year: str = "last_year.csv"
    """What stood on the beds last year; may be missing."""
    beds: str = "beds.geojson"
    """Beds that the plan must not move; may be missing."""
    past_beds: str = "past_beds.geojson"
    """Where earlier beds were, written by `fieldmap keep`; may be missing."""
    marks: str = "marks.geojson"
    """What you saw on the ground; may be missing."""
    words: str = "words.toml"
    """Your own words for the learners' sheets in other languages; may be missing."""


class Ground(Choices):
    """What the grower knows of the elevation model."""

    height_unit: Literal["m", "ft"] | None = None
    """Unit of the heights, if the file does not state it."""
    elevation_error_m: Annotated[float, Field(gt=0, le=50)] | None = None
    """How wrong the heights may be. Without this key, the kind of file decides."""
    smoothing_m: Annotated[float, Field(ge=0, le=100)] = 5.0
    """Ground is smoothed over this distance before its slope is measured, so that
    small bumps do not count."""


MonthMean = Annotated[float, Field(ge=0, le=60, allow_inf_nan=False)]
Months = Annotated[Listed[MonthMean], Field(min_length=12, max_length=12)]


class Light(Choices):
    """How light is computed; monthly means of level ground, January first, add cloud."""

    sky_light: Literal["isotropic", "hay-davies"] = "isotropic"
    """How light comes from the sky. isotropic: the same from all of the sky.
    hay-davies: brighter around the sun."""
    global_mj_m2_day: Months | None = None
    """Mean light on level ground in each month, January first. With these numbers,
    the plan counts clouds."""
    diffuse_mj_m2_day: Months | None = None
    """The part of global_mj_m2_day that comes from the sky and not straight from the
    sun."""

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


class Sun(Light):
    """How light is computed, and for which day."""

    day: date | None = None
    """The plan also shows the hours of sun on each bed for this day."""


class Calendar(Choices):
    """The year of the list by week."""

    starts: date | None = None
    """A day in the first week of the list by week. The list covers twelve months.
    Without this key, it begins on the day of planning."""

    def faults(self) -> Iterator[Problem]:
        """It is of these times."""
        if self.starts is not None and not 2000 <= self.starts.year <= 2100:
            yield problem(
                "starts is {starts}; write a day from 2000 to 2100", **dict(self)
            )


METRES_PER_FOOT = 0.3048


def _feet_as_metres(given: Any) -> Any:
    """A table whose elevation_ft, if it has one, is its elevation_m."""
    if not isinstance(given, dict) or "elevation_ft" not in given:
        return given
    feet = given["elevation_ft"]
    if "elevation_m" in given:
        refuse_first([problem("give elevation_m or elevation_ft, not both")])
    if type(feet) not in (int, float):
        wrong = problem("elevation_ft is {value!r}; it must be a number", value=feet)
        refuse_first([wrong])
    table = {key: value for key, value in given.items() if key != "elevation_ft"}
    return table | {"elevation_m": feet * METRES_PER_FOOT}


class Station(Choices):
    """Where the weather record was kept."""

    latitude: Annotated[float, Field(ge=-90, le=90)]
    """Latitude of the weather station; north is positive."""
    longitude: Annotated[float, Field(ge=-180, le=180)]
    """Longitude of the weather station; east is positive."""
    elevation_m: Annotated[float, Field(ge=-500, le=6000)]
    """Height of the station above the sea; or `elevation_ft`, in feet."""

    @model_validator(mode="before")
    @classmethod
    def _in_metres(cls, given: Any) -> Any:
        return _feet_as_metres(given)


class StationFile(Choices):
    """One more weather station: its file and, if that does not say, its place."""

    weather: str
    """File with this station's record of each day."""
    latitude: Annotated[float, Field(ge=-90, le=90)] | None = None
    """Latitude of this station, if its file does not state it."""
    longitude: Annotated[float, Field(ge=-180, le=180)] | None = None
    """Longitude of this station, if its file does not state it."""
    elevation_m: Annotated[float, Field(ge=-500, le=6000)] | None = None
    """Height of this station above the sea, if its file does not state it; or
    `elevation_ft`, in feet."""

    @model_validator(mode="before")
    @classmethod
    def _in_metres(cls, given: Any) -> Any:
        return _feet_as_metres(given)

    def faults(self) -> Iterator[Problem]:
        """Its place is given whole or not at all."""
        parts = (self.latitude, self.longitude, self.elevation_m)
        if len({part is None for part in parts}) > 1:
            yield problem("give latitude, longitude and elevation_m together")


class Wind(Choices):
    """Directions the wind comes from, degrees clockwise from true north."""

    prevailing_from_deg: FromDirection | None = None
    """Direction from which the wind comes most often, clockwise from true north."""
    storm_from_deg: FromDirection | None = None
    """Direction from which storms come."""
    summer_breeze_from_deg: FromDirection | None = None
    """Direction from which the summer breeze comes."""


METRES_PER_INCH = 0.0254
# Widths may be given in inches instead, in a key of its own.
INCHES = {"bed_width_in": "bed_width_m", "path_width_in": "path_width_m"}


def _faults_of_inches(inches: str, table: Mapping[str, Any]) -> Iterator[Problem]:
    metres = INCHES[inches]
    values = {"inches": inches, "metres": metres, "value": table[inches]}
    if metres in table:
        yield problem("give {metres} or {inches}, not both", **values)
    if type(table[inches]) not in (int, float):
        yield problem("{inches} is {value!r}; it must be a number", **values)
    low, high = (30 if metres == "bed_width_m" else 20) / 2.54, 500 / 2.54
    if not low <= table[inches] <= high:
        yield problem(
            "{inches} is {value:g}; it must be {low:.0f} to {high:.0f}",
            **values,
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
    """How you work the beds: by hand, or with a tractor. If you leave out the
    widths of beds, paths, turning strips or lanes, or the steepest ground, this key
    sets them."""
    bed_width_m: Annotated[float, Field(ge=0.3, le=5)] = 0.75
    """Width of a bed; or `bed_width_in`, in inches."""
    path_width_m: Annotated[float, Field(ge=0.2, le=5)] = 0.45
    """Width of the path between beds; or `path_width_in`, in inches."""
    headland_m: Annotated[float, Field(ge=0, le=20)] = 1.5
    """Width of the turning strip at the ends of beds, and of the path between two rows
    of beds end to end."""
    setback_m: Annotated[float, Field(ge=0, le=50)] = 1.0
    """Width of the keep-clear strip inside the outline and around trees, buildings and
    other things."""
    shortest_m: Annotated[float, Field(gt=0, le=200)] = 4.0
    """Shortest bed."""
    length_m: BedLength | None = None
    """Length of all beds, along the ground. Without this key, the plan chooses a length
    that suits the ground, the tape and the roll."""
    second_length_m: BedLength | None = None
    """The only other length that beds may have. Without this key, the plan uses as few
    lengths as possible."""
    any_length: bool = False
    """true: each row is as long as its ground allows. Then leave out length_m."""
    tape_m: Annotated[float, Field(ge=10, le=100)] = 30.0
    """Length of your longest tape. The plan asks for no longer measurement. Without
    length_m, it makes no longer bed."""
    roll_m: Annotated[float, Field(ge=10, le=2000)] = 100.0
    """Length of the rolls from which you cut covers."""
    beds_per_block: Annotated[int, Field(ge=1, le=5000)] | None = None
    """Largest number of beds side by side between two drive lanes. Without this key,
    any number."""
    drive_lane_m: Annotated[float, Field(ge=0.2, le=30)] = 3.0
    """Width of a lane between blocks. A small truck needs about 3 m (common practice,
    no source)."""
    steepest_percent: Annotated[float, Field(ge=2, le=200)] = 30.0
    """Ground steeper than this gets no bed."""
    bearing_deg: Bearing | None = None
    """Direction of the beds, clockwise from true north. Without this key, the plan
    chooses a direction for each plot."""
    covered: bool = False
    """true: paths are wide enough for the edges of covers (covered_path_m)."""
    covered_path_m: Annotated[float, Field(ge=0.2, le=5)] = 0.6
    """Width of a path beside covered beds. The edges of the covers and their bags take
    about 30 cm on each side (common practice, no source)."""
    under_one_hoop: Annotated[int, Field(ge=1, le=2)] = 1
    """Strips under one hoop. With 2, a bed is two strips with a path between them, and
    each hoop spans both."""
    tall_crops: bool = False
    """true: rows run from north to south where the ground allows it."""

    @model_validator(mode="before")
    @classmethod
    def _metres_by_way_of_working(cls, given: Any) -> Any:
        if not isinstance(given, dict):
            return given
        work = given.get("work")
        table = dict(given)
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
    """Names of the two posts."""
    length_m: Annotated[float, Field(ge=1, le=1000)]
    """Length of the tape from post to post, along the ground."""

    def faults(self) -> Iterator[Problem]:
        """It has two ends."""
        if self.between[0] == self.between[1]:
            yield problem("between names {name!r} twice", name=self.between[0])


class Pegging(Choices):
    """How outlines were drawn, and what corrects them before anything is pegged."""

    outline: Literal["surveyed", "walked"] = "surveyed"
    """How you got the outline. A walked outline can be wrong by metres at each corner.
    So measure three lengths with a tape in each plot before you peg anything."""
    taped: Listed[TapedLength] = ()
    """Lengths that you measured with a tape, from post to post."""


class TunnelSize(Choices):
    """One size of walk-in tunnel and how many of it are wanted."""

    length_m: Annotated[float, Field(ge=3, le=200)]
    """Length of the tunnel."""
    width_m: Annotated[float, Field(ge=2, le=15)]
    """Width of the tunnel."""
    height_m: Annotated[float, Field(ge=1.5, le=7)]
    """Height of its ridge."""
    count: Annotated[int, Field(ge=1, le=50)] = 1
    """How many of this size."""
    first_month: Annotated[int, Field(ge=1, le=12)] | None = None
    """First month of use. Without this key, all months except the three darkest."""
    last_month: Annotated[int, Field(ge=1, le=12)] | None = None
    """Last month of use."""
    inner_fabric: Fabric | None = None
    """Fabric that you put on low hoops over the beds inside on cold nights. Without
    this key, none."""
    shaded: bool = False
    """true: shade cloth lies over the film in months that are too hot for the crop."""
    positions: Annotated[int, Field(ge=1, le=3)] = 1
    """Number of places, end to end, where a tunnel that you move stands during the
    year."""

    @property
    def ground_m(self) -> float:
        """Length of the ground of all its positions."""
        return self.positions * self.length_m


class Hands(Choices):
    """Who is there to open covers, and how much ground they can tend."""

    minutes_in_the_morning: Annotated[float, Field(ge=0, le=6000)] | None = None
    """Minutes that you have to open covers in the morning. Without this key, there is
    no limit."""
    tended_m: Annotated[float, Field(ge=1, le=1_000_000)] | None = None
    """Length of bed that you can care for in a year. The other beds get green manure.
    Without this key, all beds get crops."""


Risk = Annotated[float, Field(ge=0.01, le=0.5)]


class Risks(Choices):
    """Share of years in which frost may take a crop: of spring by class, and of autumn.

    The defaults are a choice: 1 year in 10 where plants die and are dear to raise, 1 in
    2 where seed is cheap and sown again (common practice, no source).
    """

    hardy: Risk = 0.5
    """Share of springs in which frost may take hardy crops."""
    half_hardy: Risk = 0.2
    """Share of springs in which frost may take half-hardy crops."""
    tender: Risk = 0.1
    """Share of springs in which frost may take tender crops."""
    warm_loving: Risk = 0.1
    """Share of springs in which frost may take warm-loving crops."""
    autumn: Risk = 0.5
    """Share of autumns in which frost may come before the late date of a crop. It may be
    high, because the plants already bear by then."""

    def of(self, crop_class: CropClass) -> float:
        """The risk taken with crops of a class, 0-1."""
        risk: float = getattr(self, crop_class)
        return risk


class Cover(Choices):
    """One piece of cover that is owned."""

    kind: CoverKind
    """Kind of cover."""
    width_m: Annotated[float, Field(ge=0.5, le=20)]
    """Width of the piece."""
    length_m: Annotated[float, Field(gt=0, le=20000)]
    """Length of the piece."""
    age_years: Annotated[float, Field(ge=0, le=30)] | None = None
    """Age of the piece, if you know it."""
    may_cut: bool = False
    """true: the piece may be cut. false: it stays whole, over one bed or several."""


HoopPart = Literal["pipe", "stake", "bag", "stone", "tie", "clip", "ridge_cord", "rope"]
TunnelPart = Literal["bow", "ground_post", "purlin", "tunnel_film"]
Item = Literal[HoopPart, TunnelPart, CoverKind]


class OnHand(Choices):
    """Something that need not be bought, in the unit of the list."""

    item: Item
    """What you have."""
    amount: Annotated[float, Field(gt=0, le=1e6)]
    """How much you have, in the unit of the list of materials."""


class Price(Choices):
    """What one unit of an item costs, in the grower's money."""

    item: Item
    """What you know the price of."""
    each: Annotated[float, Field(gt=0, le=1e6)]
    """Price of one unit, in your money. The list of materials names the unit."""


class Materials(Choices):
    """Hoops, pipe and weights; the defaults are common practice, no source."""

    hoop_bend: Literal["half ellipse", "circular arc", "catenary"] = "half ellipse"
    """Shape of the hoops. half ellipse: you bend the pipe as you push it into the ground.
    circular arc: you bend it on a jig. catenary: the shape of a hanging chain, upside
    down."""
    hoop_height_m: Annotated[float, Field(ge=LEAST_HOOP_M, le=1.5)] = 0.5
    """Height of the hoops over the bed."""
    hoop_spacing_m: Annotated[float, Field(ge=0.3, le=3)] | None = None
    """Distance from hoop to hoop. Without this key, 1.5 m under fabric and 1 m under
    film."""
    leg_m: Annotated[float, Field(ge=0.05, le=1)] = 0.3
    """Length of each leg of a hoop in the ground. In loose beds, 25 to 30 cm is enough
    to hold."""
    pipe_length_m: Annotated[float, Field(gt=0, le=30)] = 6.0
    """Length of the pipes that you can buy."""
    saw_m: Annotated[float, Field(ge=0, le=0.02)] = 0.003
    """Length of pipe that each saw cut removes."""
    roll_widths_m: Annotated[
        Listed[Annotated[float, Field(gt=0.3, le=20)]], Field(min_length=1)
    ] = (1.6, 2.2, 3.2, 4.2)
    """Widths of roll that you can buy. The plan uses them for kinds of cover that you do
    not own."""
    anchor: Literal["bags", "stones", "trench"] = "bags"
    """What holds the edges of covers."""
    bag_kg: Annotated[float, Field(ge=1, le=50)] = 10.0
    """Weight of a full bag."""
    rain_mm_h: Annotated[float, Field(ge=5, le=500)] = 50.0
    """How hard it rains in a downpour. It decides how much water runs off a roof."""
    on_hand: Listed[OnHand] = ()
    """Things that you have and need not buy."""
    prices: Listed[Price] = ()
    """Prices that you know."""


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

    paper: Literal["a4", "letter"] | None = None
    """Paper of the sheets. Without this key, A4 if units is metric, and US Letter if it
    is us."""
    languages: Mapping[SheetName, Codes] = {}
    """Language of a sheet, if it is not the language of the site. Sheets for learners
    (build, walk, dawn_walk) can have two languages."""


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
    """Pictures from the internet that map and page may show behind what was computed."""

    background_tiles: str | None = None
    """Address of pictures from the internet, with {z}, {x} and {y} in it. The map and the
    page of `fieldmap open` may show these pictures behind the ground."""
    background_credit: str | None = None
    """Text that says who made the pictures, in the words that their owner asks for."""
    background_finest_zoom: Annotated[int, Field(ge=1, le=23)] = 19
    """Highest zoom number that the pictures have."""

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


class Settings(Choices):
    """All of `site.toml`."""

    name: Annotated[str, Field(min_length=1, max_length=200)]
    """Name of the site."""
    files: Files = Files()
    """Names of the input files in this folder."""
    ground: Ground = Ground()
    """What you know of the elevation model."""
    station: Station | None = None
    """Where the weather station stands. Give all three keys, or leave out the table."""
    other_stations: Listed[StationFile] = ()
    """One block for each further weather station. The plan uses the nearest station."""
    wind: Wind = Wind()
    """Where the wind comes from. Leave out what you do not know."""
    sun: Sun = Sun()
    """How the plan works out light."""
    calendar: Calendar = Calendar()
    """When the list by week begins."""
    beds: Beds = Beds()
    """How beds are laid out."""
    pegging: Pegging = Pegging()
    """How you got the outlines, and the lengths that correct them before you peg."""
    tunnels: Listed[TunnelSize] = ()
    """One block for each size of walk-in tunnel."""
    tunnel_choice: Literal["A", "B", "C"] = "A"
    """Which set of places for tunnels the plan uses."""
    tunnels_first: Literal["early", "storm-safe", "near"] | None = None
    """What matters most for tunnels. early: early crops. storm-safe: shelter from storms.
    near: a short way to gate and water. Without this key, early."""
    crops: Listed[CropChoice] = ()
    """One block for each crop that you want. Without any block, the plan shows dates for
    four classes of crops."""
    order_for: str | None = None
    """One of your crops. The plan puts beds in order by the dates of this crop. Without
    this key, it uses your first tender or warm-loving crop."""
    risk: Risks = Risks()
    """Share of years in which frost may take a crop. Write 1 year in 5 as 0.2."""
    covers: Listed[Cover] = ()
    """One block for each piece of cover that you own."""
    materials: Materials = Materials()
    """Hoops, pipe and weights."""
    sheets: Sheets = Sheets()
    """How sheets are printed."""
    map: Map = Map()
    """Pictures from the internet behind the map, only if you want them."""
    hands: Hands = Hands()
    """How much time you have to open covers, and how much ground you can care for."""
    what_if: Annotated[Listed[WhatIf], Field(max_length=20)] = ()
    """One block for each change of the surroundings that you want to try."""
    region: OfRegion | None = None
    """The region that the site is part of; `fieldmap region` writes this table."""
    units: Units = "metric"
    """Units on the map and the sheets: metric, or us for feet and °F."""
    language: str = "en"
    """Language of the map and the sheets: en for English, or es for Spanish."""

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
