"""Changes of the surroundings that a grower thinks of."""

from typing import Annotated, Literal

from pydantic import Field

from fieldmap.model.settings.base import Choices, Listed

Longitude = Annotated[float, Field(ge=-180, le=180, allow_inf_nan=False)]
Latitude = Annotated[float, Field(ge=-90, le=90, allow_inf_nan=False)]
Place = Annotated[tuple[Longitude, Latitude], Field(strict=False)]


class Gap(Choices):
    """An opening made in something that stands."""

    of: str
    """Name of the thing that gets a gap."""
    width_m: Annotated[float, Field(gt=0, le=200)]
    """Width of the gap."""
    longitude: Longitude
    """A place on the thing."""
    latitude: Latitude
    """A place on the thing."""


class Addition(Choices):
    """Something new that stands along a line."""

    kind: Literal["hedge", "trees", "wall", "fence", "bank"]
    """What is added."""
    name: Annotated[str, Field(min_length=1, max_length=200)]
    """What it is called."""
    height_m: Annotated[float, Field(gt=0, le=150)]
    """Its height."""
    width_m: Annotated[float, Field(gt=0, le=200)]
    """Its width across the line."""
    porosity: Annotated[float, Field(ge=0, le=1)] | None = None
    """Share of gaps for the air; required as for surroundings of this kind."""
    clear_stem_m: Annotated[float, Field(ge=0, le=100)] | None = None
    """Height of the lowest leaves; required as for surroundings of this kind."""
    leaf: Literal["deciduous", "evergreen", "none"] | None = None
    """Its leaves; required as for surroundings of this kind."""
    line: Annotated[
        tuple[Place, ...], Field(strict=False, min_length=2, max_length=2000)
    ]
    """The line along which it stands, as pairs of longitude and latitude."""


class WhatIf(Choices):
    """A change of the surroundings that the grower thinks of."""

    name: Annotated[str, Field(min_length=1, max_length=200)]
    """What the change is called."""
    take_away: Listed[str] = ()
    """Names of surroundings that are removed."""
    gaps: Listed[Gap] = ()
    """Openings in things that stand."""
    additions: Listed[Addition] = ()
    """New things along a line."""
