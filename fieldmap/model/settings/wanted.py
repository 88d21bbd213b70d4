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
    """How many whole beds of the crop you want. Without any amount, one bed."""
    metres: Annotated[float, Field(ge=0.5, le=100_000)] | None = None
    """What length of bed you want with the crop."""
    plants: Annotated[int, Field(ge=1, le=1_000_000)] | None = None
    """How many plants you want."""
    harvest: HarvestFromText | None = None
    """How much you want to harvest: heads, kg or lb a week, between two days or months.
    """
    losses_percent: Annotated[float, Field(ge=0, le=80)] = 15.0
    """Share of the plants that you sow or plant but never harvest (common practice, no
    source)."""
    price: Annotated[float, Field(gt=0, le=1e6)] | None = None
    """Price of one head or kilogram, in your money. Without this key, the plan does not
    count money for this crop."""
    ready_days: Annotated[int, Field(ge=1, le=200)] | None = None
    """Days from the first harvest to the last. Without this key, the usual number for
    the crop."""
    covers: Listed[CoverKind] | None = None
    """Covers that the crop may get. Without this key, any cover that helps. With an empty
    list, no cover."""
    seasons: Listed[Literal["spring", "autumn", "winter"]] | None = None
    """When the crop grows; winter means until spring. Without this key, in spring, and
    again for autumn if it can be sown twice. Corn salad, leeks, parsnips, swedes and
    Brussels sprouts grow for autumn only."""
    in_tunnels: bool | None = None
    """true: the crop comes first in walk-in tunnels. false: it never grows there. Without
    this key, crops that need warmth until frost come first. Leafy crops get the weeks
    that are left."""
    transplants: Literal["hardened", "soft"] = "hardened"
    """How plants are when you plant them out: hardened off, or soft from a warm house.
    Frost harms soft plants sooner."""

    def faults(self) -> Iterator[Problem]:
        """It has a season, and one amount."""
        if self.seasons == ():
            yield problem(
                'seasons is empty; write ["spring"], ["autumn"] or both, or delete the line'
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
