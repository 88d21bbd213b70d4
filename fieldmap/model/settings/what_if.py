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
    """Name of the hedge, wall or other thing that gets the gap."""
    width_m: Annotated[float, Field(gt=0, le=200)]
    """Width of the gap."""
    longitude: Longitude
    """Longitude of the middle of the gap."""
    latitude: Latitude
    """Latitude of the middle of the gap."""


class Addition(Choices):
    """Something new that stands along a line."""

    kind: Literal["hedge", "trees", "wall", "fence", "bank"]
    """What is added."""
    name: Annotated[str, Field(min_length=1, max_length=200)]
    """Name that you give to it."""
    height_m: Annotated[float, Field(gt=0, le=150)]
    """Its height."""
    width_m: Annotated[float, Field(gt=0, le=200)]
    """Its width, measured across the line."""
    porosity: Annotated[float, Field(ge=0, le=1)] | None = None
    """Share of it that is gaps, through which air passes. It is required where
    surroundings of this kind need it."""
    clear_stem_m: Annotated[float, Field(ge=0, le=100)] | None = None
    """Height of the lowest leaves. It is required where surroundings of this kind need
    it."""
    leaf: Literal["deciduous", "evergreen", "none"] | None = None
    """Kind of leaves. It is required where surroundings of this kind need it."""
    line: Annotated[
        tuple[Place, ...], Field(strict=False, min_length=2, max_length=2000)
    ]
    """Line along which it stands: pairs of longitude and latitude."""


class WhatIf(Choices):
    """A change of the surroundings that the grower thinks of."""

    name: Annotated[str, Field(min_length=1, max_length=200)]
    """Name of the change."""
    take_away: Listed[str] = ()
    """Names of the surroundings that you would remove."""
    gaps: Listed[Gap] = ()
    """Openings in hedges, walls and other things that are there now."""
    additions: Listed[Addition] = ()
    """New things that you would plant or build along a line."""
