"""What is wanted: a number of beds of a crop in a part of the year."""

from collections.abc import Sequence
from enum import IntEnum
from typing import NamedTuple

from fieldmap.decide.crop_plan.bed_classes import BedClass
from fieldmap.decide.crop_plan.growing_windows import (
    AUTUMN,
    SPRING,
    SUMMER,
    WINTER,
    grows_again,
    is_for_autumn,
)
from fieldmap.decide.crop_plan.model import GrowingWindow
from fieldmap.model.crops import Crop
from fieldmap.model.settings import CropChoice

# What is best in no more light than this is a leaf; one that is soon done does well under
# film early and late in the year (common practice, no source).
LEAF_MOL, SOON_DONE_DAYS = 12.0, 28


class Claim(IntEnum):
    """What a crop may ask of beds inside walk-in tunnels.

    Attributes
    ----------
    NONE
        It stands outdoors: one with hoops wins little, and holds the bed for long.
    AFTER
        It stands there while nothing does that comes first.
    FIRST
        It comes before all others.
    """

    NONE = 0
    AFTER = 1
    FIRST = 2


def claim(crop: Crop, choice: CropChoice) -> Claim:
    """As the grower says; else first what bears until frost, then quick leaves."""
    if choice.in_tunnels is not None:
        return Claim.FIRST if choice.in_tunnels else Claim.NONE
    ready_days = crop.harvest_days
    if ready_days is None:
        return Claim.FIRST
    is_quick_leaf = crop.best_light_mol.low <= LEAF_MOL and ready_days <= SOON_DONE_DAYS
    return Claim.AFTER if is_quick_leaf else Claim.NONE


class Demand(NamedTuple):
    """A number of beds of one crop in one part of the year.

    Attributes
    ----------
    number
        Place of the crop among the dates.
    is_again
        A second sowing that follows from the first: it gives way to all others.
    earns
        Money from a metre of it over that of the crop that earns most, 0 to 1; 0 where
        money does not count.
    claim
        On beds inside walk-in tunnels.
    """

    number: int
    crop: Crop
    season: str
    beds: int
    is_again: bool
    earns: float = 0.0
    claim: Claim = Claim.AFTER

    @property
    def family(self) -> str:
        """Of the crop; empty where it is not known."""
        return "" if self.crop.family is None else self.crop.family.value

    def may_have(self, beds: BedClass) -> bool:
        """Whether it has a claim on some beds: walk-in tunnels are not open to all."""
        return self.claim is not Claim.NONE or not beds.in_tunnel


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
    """Every placement that could meet every demand on every class of beds.

    Attributes
    ----------
    crowded
        Demands without a placement, which had one if no sowings on parts of beds were
        there.
    """

    classes: Sequence[BedClass]
    demands: Sequence[Demand]
    placements: Sequence[Placement]
    crowded: frozenset[int] = frozenset()

    def family(self, placement: Placement) -> str:
        """Of the crop that is placed; empty where it is not known."""
        return self.demands[placement.demand].family


def seasons_of(choice: CropChoice, crop: Crop) -> tuple[str, ...]:
    """Parts of the year in which a crop is wanted, those that are asked for first."""
    if crop.autumn_soil_c is not None:
        return (WINTER,)
    # It bears until frost, so there is no second sowing for autumn.
    if crop.harvest_days is None:
        return (SUMMER,)
    if choice.seasons is None:
        if is_for_autumn(crop):
            return (AUTUMN,)
        return (SPRING, AUTUMN) if grows_again(crop) else (SPRING,)
    return tuple(each for each in (SPRING, AUTUMN, WINTER) if each in choice.seasons)


def demands(
    wanted: Sequence[CropChoice], crops: Sequence[Crop], earns: Sequence[float]
) -> tuple[Demand, ...]:
    """Whole beds of wanted crops by part of the year, first sowings before second ones.

    Of a crop without an amount one bed is wanted.

    Parameters
    ----------
    wanted
        What the grower wants of each crop. What is wanted by metres, plants or weeks is
        left out.
    crops
        The crops, in the same order.
    earns
        For each crop its money from a metre over the most of any, 0-1, see
        `sowings.income`.
    """
    found = [
        Demand(
            number,
            crop,
            season,
            choice.beds or 1,
            choice.seasons is None and season == AUTUMN and grows_again(crop),
            earns[number],
            claim(crop, choice),
        )
        for number, (choice, crop) in enumerate(zip(wanted, crops, strict=True))
        if choice.metres is None and choice.plants is None and choice.harvest is None
        for season in seasons_of(choice, crop)
    ]
    return tuple(sorted(found, key=lambda demand: demand.is_again))
