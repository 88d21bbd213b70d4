"""The choices of a site, as frozen checked records (`site.toml`).

Defaults stand here for choices only, never for a fact about the place.
"""

from __future__ import annotations

import re
from datetime import date
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from fieldmap.errors import problem, require

Units = Literal["metric", "us"]
CropClass = Literal["hardy", "half_hardy", "tender", "warm_loving"]
CoverKind = Literal[
    "insect_net",
    "light_fabric",
    "medium_fabric",
    "heavy_fabric",
    "slitted_film",
    "clear_film",
    "shade_30",
    "shade_40",
    "shade_50",
]

Bearing = Annotated[float, Field(ge=0, lt=180, allow_inf_nan=False)]
FromDirection = Annotated[float, Field(ge=0, lt=360, allow_inf_nan=False)]


class Choices(BaseModel):
    """A table of `site.toml`: unknown keys and wrong types are refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)


class Files(Choices):
    """Names of the input files, relative to the site folder."""

    plots: str = "plots.geojson"
    surroundings: str = "surroundings.geojson"
    elevation: str = "elevation.tif"
    weather: str = "weather.csv"
    thermometers: str = "thermometers.csv"  # read by `observe` alone
    happened: str = "happened.csv"  # read by `review` alone
    wide_elevation: str | None = None  # coarser heights of the hills around
    skyline: str | None = None  # measured: azimuth and elevation in degrees
    typical_year: str | None = None  # TMY3, TM2 or EPW: cloud as it is
    crops: str = "crops.toml"  # the grower's own crops and changes, if there
    last_year: str = "last_year.csv"  # what stood on the beds, if there
    beds: str | None = None  # those that exist already
    marks: str = "marks.geojson"  # what the grower saw on the ground, if there


class Ground(Choices):
    """What the grower knows of the elevation model."""

    height_unit: Literal["m", "ft"] | None = None  # only where the file does not say
    elevation_error_m: Annotated[float, Field(gt=0, le=50)] | None = None
    smoothing_m: Annotated[float, Field(ge=0, le=100)] = 5.0


Months = Annotated[
    tuple[Annotated[float, Field(ge=0, le=60, allow_inf_nan=False)], ...],
    Field(min_length=12, max_length=12, strict=False),
]


class Sun(Choices):
    """How light is reckoned; monthly means of level ground, January first, add cloud."""

    sky_light: Literal["isotropic", "hay-davies"] = "isotropic"
    day: date | None = None  # hours of sun on each bed are told for this day
    global_mj_m2_day: Months | None = None
    diffuse_mj_m2_day: Months | None = None

    @model_validator(mode="after")
    def _means_come_together(self) -> Sun:
        require(
            (self.global_mj_m2_day is None) == (self.diffuse_mj_m2_day is None),
            problem("give global_mj_m2_day and diffuse_mj_m2_day together"),
        )
        for whole, part in zip(
            self.global_mj_m2_day or (), self.diffuse_mj_m2_day or (), strict=True
        ):
            require(
                part <= whole,
                problem(
                    "diffuse_mj_m2_day {part:g} is more than global_mj_m2_day {whole:g}",
                    part=part,
                    whole=whole,
                ),
            )
        return self


class Calendar(Choices):
    """The year of the list by week."""

    # Any day of its first week; None: the season-year after the weather record.
    starts: date | None = None

    @model_validator(mode="after")
    def _is_of_these_times(self) -> Calendar:
        require(
            self.starts is None or 2000 <= self.starts.year <= 2100,
            problem("starts is {starts}; a day of 2000 to 2100 is right", **dict(self)),
        )
        return self


class Station(Choices):
    """Where the weather record was kept."""

    latitude: Annotated[float, Field(ge=-90, le=90)]
    longitude: Annotated[float, Field(ge=-180, le=180)]
    elevation_m: Annotated[float, Field(ge=-500, le=6000)]


class StationFile(Choices):
    """One more weather station: its file and, if that does not say, its place."""

    weather: str
    latitude: Annotated[float, Field(ge=-90, le=90)] | None = None
    longitude: Annotated[float, Field(ge=-180, le=180)] | None = None
    elevation_m: Annotated[float, Field(ge=-500, le=6000)] | None = None

    @model_validator(mode="after")
    def _place_is_whole(self) -> StationFile:
        parts = (self.latitude, self.longitude, self.elevation_m)
        require(
            len({part is None for part in parts}) == 1,
            problem("give latitude, longitude and elevation_m together"),
        )
        return self


class Wind(Choices):
    """Directions the wind comes from, degrees clockwise from true north."""

    prevailing_from_deg: FromDirection | None = None
    storm_from_deg: FromDirection | None = None
    summer_breeze_from_deg: FromDirection | None = None


METRES_PER_INCH = 0.0254
# Widths may be told in inches instead, in a key of its own.
INCHES = {"bed_width_in": "bed_width_m", "path_width_in": "path_width_m"}


class Beds(Choices):
    """How beds are pegged."""

    bed_width_m: Annotated[float, Field(ge=0.3, le=5)] = 0.75
    path_width_m: Annotated[float, Field(ge=0.2, le=5)] = 0.45
    headland_m: Annotated[float, Field(ge=0, le=20)] = 1.5
    setback_m: Annotated[float, Field(ge=0, le=50)] = 1.0
    shortest_m: Annotated[float, Field(gt=0, le=200)] = 4.0
    longest_m: Annotated[float, Field(ge=2, le=2000)] | None = None
    most_per_block: Annotated[int, Field(ge=1, le=5000)] | None = None
    # Between blocks; wide enough for a small truck (common practice, no source).
    drive_lane_m: Annotated[float, Field(ge=0.2, le=30)] = 3.0
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
    def _inches_are_metres(cls, told: Any) -> Any:
        if not isinstance(told, dict):
            return told
        table = dict(told)
        for inches in sorted(INCHES.keys() & table.keys()):
            metres, value = INCHES[inches], table.pop(inches)
            require(
                metres not in table,
                problem(
                    "give {metres} or {inches}, not both", metres=metres, inches=inches
                ),
            )
            require(
                isinstance(value, int | float) and not isinstance(value, bool),
                problem(
                    "{inches} is {value!r}; it must be a number",
                    inches=inches,
                    value=value,
                ),
            )
            low, high = (30 if metres == "bed_width_m" else 20) / 2.54, 500 / 2.54
            require(
                low <= value <= high,
                problem(
                    "{inches} is {value:g}; it must be {low:.0f} to {high:.0f}",
                    inches=inches,
                    value=value,
                    low=low,
                    high=high,
                ),
            )
            table[metres] = value * METRES_PER_INCH
        return table

    @model_validator(mode="after")
    def _lengths_agree(self) -> Beds:
        require(
            self.longest_m is None or self.longest_m >= self.shortest_m,
            problem(
                "longest_m {longest_m:g} is less than shortest_m {shortest_m:g}",
                **dict(self),
            ),
        )
        return self

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
        """Between blocks; never less than a path."""
        return max(self.drive_lane_m, self.path_m)


class TunnelSize(Choices):
    """One size of walk-in tunnel and how many of it are wanted."""

    length_m: Annotated[float, Field(ge=3, le=200)]
    width_m: Annotated[float, Field(ge=2, le=15)]
    height_m: Annotated[float, Field(ge=1.5, le=7)]
    count: Annotated[int, Field(ge=1, le=50)] = 1
    # Months of use; None: all but the three darkest.
    first_month: Annotated[int, Field(ge=1, le=12)] | None = None
    last_month: Annotated[int, Field(ge=1, le=12)] | None = None


class CropChoice(Choices):
    """A crop that is wanted."""

    name: str
    beds: Annotated[int, Field(ge=1, le=5000)] | None = None
    # None: whatever cover helps. An empty list: none.
    covers: Annotated[tuple[CoverKind, ...] | None, Field(strict=False)] = None
    # None: in spring, and again for autumn where the crop can be sown twice.
    seasons: Annotated[
        tuple[Literal["spring", "autumn"], ...] | None, Field(strict=False)
    ] = None

    @model_validator(mode="after")
    def _has_a_season(self) -> CropChoice:
        require(
            self.seasons != (),
            problem(
                'seasons is empty; ["spring"], ["autumn"] or both is right, or no such line'
            ),
        )
        return self


class Hands(Choices):
    """Who is there to open covers."""

    minutes_in_the_morning: Annotated[float, Field(ge=0, le=6000)] | None = None


Risk = Annotated[float, Field(ge=0.01, le=0.5)]


class Risks(Choices):
    """Share of years in which frost may take a crop of each class.

    The defaults are a choice: 1 year in 10 where plants die and are dear to raise, 1 in
    2 where seed is cheap and sown again (common practice, no source).
    """

    hardy: Risk = 0.5
    half_hardy: Risk = 0.2
    tender: Risk = 0.1
    warm_loving: Risk = 0.1

    def of(self, crop_class: CropClass) -> float:
        """The risk taken with crops of a class, 0-1."""
        risk: float = getattr(self, crop_class)
        return risk


class Cover(Choices):
    """One kind of cover that is owned."""

    kind: CoverKind
    width_m: Annotated[float, Field(ge=0.5, le=20)]
    length_m: Annotated[float, Field(gt=0, le=20000)]
    age_years: Annotated[float, Field(ge=0, le=30)] | None = None


Item = Literal[
    "pipe",
    "stake",
    "bag",
    "stone",
    "tie",
    "clip",
    "ridge_cord",
    "bow",
    "ground_post",
    "purlin",
    "tunnel_film",
    "insect_net",
    "light_fabric",
    "medium_fabric",
    "heavy_fabric",
    "slitted_film",
    "clear_film",
    "shade_30",
    "shade_40",
    "shade_50",
]


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
    # In the ground, each end. None: 16 cm under fabric, 30 cm under film.
    leg_m: Annotated[float, Field(ge=0.05, le=1)] | None = None
    pipe_length_m: Annotated[float, Field(gt=0, le=30)] = 6.0
    saw_m: Annotated[float, Field(ge=0, le=0.02)] = 0.003
    # Widths of rolls on sale, beside those that are owned.
    roll_widths_m: Annotated[
        tuple[Annotated[float, Field(gt=0.3, le=20)], ...], Field(strict=False)
    ] = (1.6, 2.2, 3.2, 4.2)
    anchor: Literal["bags", "stones", "trench"] = "bags"
    bag_kg: Annotated[float, Field(ge=1, le=50)] = 10.0
    rain_mm_h: Annotated[float, Field(ge=5, le=500)] = 50.0  # a downpour
    on_hand: Annotated[tuple[OnHand, ...], Field(strict=False)] = ()
    prices: Annotated[tuple[Price, ...], Field(strict=False)] = ()


class Sheets(Choices):
    """How sheets are printed."""

    # None: A4 on metric sites, US Letter on others.
    paper: Literal["a4", "letter"] | None = None


# An address of one host, with an optional port: nothing that could end or widen the rule
# by which the page lets the browser ask that host and no other.
TILE_ADDRESS = re.compile(
    r"(?P<host>https://[A-Za-z0-9]([A-Za-z0-9.-]*[A-Za-z0-9])?(:\d{1,5})?)"
    r"/[A-Za-z0-9/._~%!$&()*+,;=:@?{}-]*"
)
TILE_PLACES = ("{z}", "{x}", "{y}")


def _check_tile_address(address: str) -> None:
    """Raise ValueError unless pictures can be asked of one host by it, and of no other."""
    shown = {"address": repr(address[:200]), "parts": ", ".join(TILE_PLACES)}
    require(
        address.startswith("https://"),
        problem("background_tiles is {address}; it must begin with https://", **shown),
    )
    require(
        sorted(re.findall(r"\{[^{}]*\}|[{}]", address)) == sorted(TILE_PLACES),
        problem(
            "background_tiles is {address}; it must hold {parts}, each once, and no "
            "other braces",
            **shown,
        ),
    )
    require(
        TILE_ADDRESS.fullmatch(address),
        problem(
            "background_tiles is {address}; it must be the plain address of one host, "
            "without spaces, quotes or a password, and with {parts} after the host",
            **shown,
        ),
    )


class Map(Choices):
    """Pictures from the internet that the map may show behind what was computed."""

    background_tiles: str | None = None  # address, with the places of TILE_PLACES
    background_credit: str | None = None  # who made them, as their owner asks
    background_finest_zoom: Annotated[int, Field(ge=1, le=23)] = 19

    @model_validator(mode="after")
    def _address_and_credit_go_together(self) -> Map:
        if self.background_tiles is not None:
            _check_tile_address(self.background_tiles)
        require(
            self.background_credit is None or self.background_tiles is not None,
            problem("background_credit is there without background_tiles"),
        )
        require(
            self.background_tiles is None or self.background_credit is not None,
            problem(
                "background_tiles needs a line background_credit that says who made "
                "the pictures, as their owner asks"
            ),
        )
        return self

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
    line: Annotated[tuple[Place, ...], Field(min_length=2, strict=False)]


class WhatIf(Choices):
    """A change of the surroundings that the grower thinks of."""

    name: Annotated[str, Field(min_length=1, max_length=200)]
    take_away: Annotated[tuple[str, ...], Field(strict=False)] = ()
    gaps: Annotated[tuple[Gap, ...], Field(strict=False)] = ()
    additions: Annotated[tuple[Addition, ...], Field(strict=False)] = ()


class Settings(Choices):
    """All of `site.toml`."""

    name: Annotated[str, Field(min_length=1, max_length=200)]
    files: Files = Files()
    ground: Ground = Ground()
    station: Station | None = None
    other_stations: Annotated[tuple[StationFile, ...], Field(strict=False)] = ()
    wind: Wind = Wind()
    sun: Sun = Sun()
    calendar: Calendar = Calendar()
    beds: Beds = Beds()
    # TOML knows lists only, which a strict tuple would refuse; its tables stay strict.
    tunnels: Annotated[tuple[TunnelSize, ...], Field(strict=False)] = ()
    tunnel_choice: Literal["A", "B", "C"] = "A"
    crops: Annotated[tuple[CropChoice, ...], Field(strict=False)] = ()
    # Whose dates put beds in order; None: the first tender or warm-loving one.
    order_for: str | None = None
    risk: Risks = Risks()
    covers: Annotated[tuple[Cover, ...], Field(strict=False)] = ()
    materials: Materials = Materials()
    sheets: Sheets = Sheets()
    map: Map = Map()
    hands: Hands = Hands()
    what_if: Annotated[tuple[WhatIf, ...], Field(strict=False)] = ()
    units: Units = "metric"
    language: str = "en"  # ISO 639-1; whether there is one is seen where it is shown

    @model_validator(mode="after")
    def _order_is_for_a_crop_that_is_wanted(self) -> Settings:
        names = [crop.name.strip() for crop in self.crops]
        require(
            self.order_for is None or self.ordering is not None,
            problem(
                "order_for is {name!r}; it names one of the crops of [[crops]]: {crops}",
                name=self.order_for,
                crops=", ".join(names) or problem("there are none"),
            ),
        )
        return self

    @property
    def ordering(self) -> int | None:
        """Number of the crop whose dates put beds in order, None where none is named."""
        if self.order_for is None:
            return None
        named = [crop.name.strip().casefold() for crop in self.crops]
        wanted = self.order_for.strip().casefold()
        return named.index(wanted) if wanted in named else None
