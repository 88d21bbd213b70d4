"""A crop that is wanted, and how much of it."""

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from fieldmap.errors import Problem, problem
from fieldmap.model.settings.base import Choices, CoverKind, Listed
from fieldmap.model.settings.harvest import Told as HarvestTold

AMOUNTS = ("beds", "metres", "plants", "harvest")


class CropChoice(Choices):
    """A crop that is wanted."""

    name: str
    # How much of it: whole beds, metres of bed, plants, or so much a week from when to
    # when. None of them: one bed.
    beds: Annotated[int, Field(ge=1, le=5000)] | None = None
    metres: Annotated[float, Field(ge=0.5, le=100_000)] | None = None
    plants: Annotated[int, Field(ge=1, le=1_000_000)] | None = None
    harvest: HarvestTold | None = None
    # What is sown or set out and never picked (common practice, no source).
    losses_percent: Annotated[float, Field(ge=0, le=80)] = 15.0
    # What a head or a kilogram of it is sold for, in the grower's money. None: money is
    # not weighed for it.
    price: Annotated[float, Field(gt=0, le=1e6)] | None = None
    # From its first harvest to its last; None: as the crop has it.
    ready_days: Annotated[int, Field(ge=1, le=200)] | None = None
    # None: whatever cover helps. An empty list: none.
    covers: Listed[CoverKind] | None = None
    # None: in spring, and again for autumn where the crop can be sown twice. Winter: it
    # stands until spring.
    seasons: Listed[Literal["spring", "autumn", "winter"]] | None = None
    # On beds inside walk-in tunnels: true, before all others; false, never. None: first
    # what wants warmth until frost, then leaves in the weeks that are left.
    in_tunnels: bool | None = None
    # How it is set out, where it is: hardened off, or soft from a warm house.
    transplants: Literal["hardened", "soft"] = "hardened"

    def faults(self) -> Iterator[Problem]:
        """It has a season, and one amount."""
        if self.seasons == ():
            yield problem(
                'seasons is empty; ["spring"], ["autumn"] or both is right, or no such line'
            )
        told = [key for key in AMOUNTS if getattr(self, key) is not None]
        if len(told) > 1:
            yield problem(
                "{first} and {second} both say how much; give one of them",
                first=told[0],
                second=told[1],
            )
        if self.harvest is not None and self.seasons is not None:
            yield problem("harvest says from when to when; leave out seasons")
