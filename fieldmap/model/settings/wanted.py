"""A crop that is wanted, and how much of it."""

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from fieldmap.errors import Problem, problem
from fieldmap.model.settings.base import Choices, CoverKind, Listed
from fieldmap.model.settings.harvest import HarvestFromText

AMOUNTS = ("beds", "metres", "plants", "harvest")


class CropChoice(Choices):
    """A crop that is wanted."""

    name: str
    """Name of the crop."""
    beds: Annotated[int, Field(ge=1, le=5000)] | None = None
    """How much of it, as whole beds. Without any amount, one bed."""
    metres: Annotated[float, Field(ge=0.5, le=100_000)] | None = None
    """How much of it, as length of bed."""
    plants: Annotated[int, Field(ge=1, le=1_000_000)] | None = None
    """How much of it, as plants."""
    harvest: HarvestFromText | None = None
    """How much of it, as heads, kg or lb a week between two days or months."""
    losses_percent: Annotated[float, Field(ge=0, le=80)] = 15.0
    """What is sown or set out and never picked (common practice, no source)."""
    price: Annotated[float, Field(gt=0, le=1e6)] | None = None
    """What a head or a kilogram is sold for, in your money. Without it, money does not
    count for this crop."""
    ready_days: Annotated[int, Field(ge=1, le=200)] | None = None
    """Days from its first harvest to its last. Without it, as usual for the crop."""
    covers: Listed[CoverKind] | None = None
    """Covers it may get. Without it, any that helps; an empty list: none."""
    seasons: Listed[Literal["spring", "autumn", "winter"]] | None = None
    """When it stands; winter: until spring. Without it, in spring, and again for autumn
    where it can be sown twice."""
    in_tunnels: bool | None = None
    """true: first on beds inside walk-in tunnels; false: never there. Without it, crops
    that want warmth until frost first, then leaves in the weeks that are left."""
    transplants: Literal["hardened", "soft"] = "hardened"
    """How plants are set out: hardened off, or soft from a warm house, so that frost
    harms them sooner."""

    def faults(self) -> Iterator[Problem]:
        """It has a season, and one amount."""
        if self.seasons == ():
            yield problem(
                'seasons is empty; ["spring"], ["autumn"] or both is right, or no such line'
            )
        amounts = [key for key in AMOUNTS if getattr(self, key) is not None]
        if len(amounts) > 1:
            yield problem(
                "{first} and {second} both say how much; give one of them",
                first=amounts[0],
                second=amounts[1],
            )
        if self.harvest is not None and self.seasons is not None:
            yield problem("harvest says from when to when; leave out seasons")
