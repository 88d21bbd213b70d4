"""The choices of a site, as frozen checked records (`site.toml`).

Defaults stand here for choices only, never for a fact about the place.
"""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

Metres = Annotated[float, Field(gt=0, le=1000, allow_inf_nan=False)]
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
    wide_elevation: str | None = None  # coarser heights of the hills around
    skyline: str | None = None  # measured: azimuth and elevation in degrees
    typical_year: str | None = None  # TMY3, TM2 or EPW: cloud as it is


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
        if (self.global_mj_m2_day is None) != (self.diffuse_mj_m2_day is None):
            raise ValueError("give global_mj_m2_day and diffuse_mj_m2_day together")
        for whole, part in zip(
            self.global_mj_m2_day or (), self.diffuse_mj_m2_day or (), strict=True
        ):
            if part > whole:
                raise ValueError(
                    f"diffuse_mj_m2_day {part:g} is more than global_mj_m2_day {whole:g}"
                )
        return self


class Station(Choices):
    """Where the weather record was kept."""

    latitude: Annotated[float, Field(ge=-90, le=90)]
    longitude: Annotated[float, Field(ge=-180, le=180)]
    elevation_m: Annotated[float, Field(ge=-500, le=6000)]


class Wind(Choices):
    """Directions the wind comes from, degrees clockwise from true north."""

    prevailing_from_deg: FromDirection | None = None
    storm_from_deg: FromDirection | None = None
    summer_breeze_from_deg: FromDirection | None = None


class Beds(Choices):
    """How beds are pegged."""

    bed_width_m: Annotated[float, Field(ge=0.3, le=5)] = 0.75
    path_width_m: Annotated[float, Field(ge=0.2, le=5)] = 0.45
    headland_m: Annotated[float, Field(ge=0, le=20)] = 1.5
    setback_m: Annotated[float, Field(ge=0, le=50)] = 1.0
    shortest_m: Annotated[float, Field(gt=0, le=200)] = 4.0
    bearing_deg: Bearing | None = None


class TunnelSize(Choices):
    """One size of walk-in tunnel and how many of it are wanted."""

    length_m: Annotated[float, Field(ge=3, le=200)]
    width_m: Annotated[float, Field(ge=2, le=15)]
    height_m: Annotated[float, Field(ge=1.5, le=7)]
    count: Annotated[int, Field(ge=1, le=50)] = 1


class Settings(Choices):
    """All of `site.toml`."""

    name: Annotated[str, Field(min_length=1, max_length=200)]
    files: Files = Files()
    ground: Ground = Ground()
    station: Station | None = None
    wind: Wind = Wind()
    sun: Sun = Sun()
    beds: Beds = Beds()
    # TOML knows lists only, which a strict tuple would refuse; its tables stay strict.
    tunnels: Annotated[tuple[TunnelSize, ...], Field(strict=False)] = ()
    units: Literal["metric", "us"] = "metric"
