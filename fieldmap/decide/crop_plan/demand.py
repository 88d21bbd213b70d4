"""What is wanted: a number of beds of a crop in a part of the year."""

from collections.abc import Sequence
from typing import NamedTuple

from fieldmap.decide.crop_plan.bed_classes import BedClass
from fieldmap.decide.crop_plan.growing_windows import (
    AUTUMN,
    SPRING,
    SUMMER,
    grows_again,
    harvest_days,
)
from fieldmap.decide.crop_plan.model import GrowingWindow
from fieldmap.model.crops import Crop
from fieldmap.model.settings import CropChoice


class Demand(NamedTuple):
    """A number of beds of one crop in one part of the year.

    Attributes
    ----------
    number
        Place of the crop among the dates.
    is_again
        A second sowing that follows from the first: it gives way to all others.
    """

    number: int
    crop: Crop
    season: str
    beds: int
    is_again: bool

    @property
    def family(self) -> str:
        """Of the crop; empty where it is not known."""
        return "" if self.crop.family is None else self.crop.family.value


class Placement(NamedTuple):
    """One bed of a class in one window, to meet a part of a demand.

    Attributes
    ----------
    demand, bed_class
        Their places in `Candidates`.
    place_days
        Days of season that beds of the class win, against the worst for the demand.
    same_family
        The family of last year, where it is the crop's own; else empty.
    """

    demand: int
    bed_class: int
    window: GrowingWindow
    place_days: float
    same_family: str


class Candidates(NamedTuple):
    """Every placement that could meet every demand on every class of beds."""

    classes: Sequence[BedClass]
    demands: Sequence[Demand]
    placements: Sequence[Placement]

    def family(self, placement: Placement) -> str:
        """Of the crop that is placed; empty where it is not known."""
        return self.demands[placement.demand].family


def demands(
    wanted: Sequence[CropChoice], crops: Sequence[Crop], bed_count: int
) -> tuple[Demand, ...]:
    """The wanted crops by part of the year, first sowings before second ones.

    Crops without a number of beds share what the others leave.
    """
    open_ended = sum(choice.beds is None for choice in wanted)
    left = bed_count - sum(choice.beds or 0 for choice in wanted)
    share = max(left // open_ended, 1) if open_ended else 0
    found = []
    for number, (choice, crop) in enumerate(zip(wanted, crops, strict=True)):
        if crop.autumn_soil_c is not None:  # stands there in the year after
            continue
        again = choice.seasons is None
        seasons: tuple[str, ...] = choice.seasons or (SPRING, AUTUMN)
        if harvest_days(crop) is None:
            seasons = (SUMMER,)
        elif again and not grows_again(crop):
            seasons = (SPRING,)
        found += [
            Demand(
                number, crop, season, choice.beds or share, again and season == AUTUMN
            )
            for season in (SUMMER, SPRING, AUTUMN)
            if season in seasons
        ]
    return tuple(sorted(found, key=lambda demand: demand.is_again))
