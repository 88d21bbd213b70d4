"""What all tables of `site.toml` share: how they are checked, and the kinds in them."""

from collections.abc import Iterator
from typing import Annotated, Literal, Self, TypeVar

from pydantic import BaseModel, ConfigDict, Field, model_validator

from fieldmap.errors import Problem, refuse_first

Units = Literal["metric", "us"]
CropClass = Literal["hardy", "half_hardy", "tender", "warm_loving"]
Fabric = Literal["light_fabric", "medium_fabric", "heavy_fabric"]
Film = Literal["slitted_film", "clear_film"]
ShadeCloth = Literal["shade_30", "shade_40", "shade_50"]
CoverKind = Literal["insect_net", Fabric, Film, ShadeCloth]

_Each = TypeVar("_Each")
# TOML knows lists only, which a strict tuple would refuse; what is in it stays strict.
# Nobody writes as many by hand; each what-if is a plan of its own.
Listed = Annotated[tuple[_Each, ...], Field(strict=False, max_length=200)]
Bearing = Annotated[float, Field(ge=0, lt=180, allow_inf_nan=False)]
FromDirection = Annotated[float, Field(ge=0, lt=360, allow_inf_nan=False)]


class Choices(BaseModel):
    """A table of `site.toml`: unknown keys and wrong types are refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)

    def faults(self) -> Iterator[Problem]:
        """What of its values cannot be together."""
        yield from ()

    @model_validator(mode="after")
    def _has_no_fault(self) -> Self:
        refuse_first(self.faults())
        return self
