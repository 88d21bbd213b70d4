"""What a metre of bed of each crop earns, beside the one that earns most."""

from collections.abc import Iterator, Sequence
from statistics import median

from fieldmap.decide.crop_plan.sowings import amounts
from fieldmap.model.crops import Crop
from fieldmap.model.fact import Fact
from fieldmap.model.settings import Beds, CropChoice

TEN_METRES = 10.0  # so that whole plants hardly round


def per_metre(choice: CropChoice, crop: Crop, beds: Beds) -> float | None:
    """Money from a metre of bed, at the middle of its usual yield and after losses.

    None where it has no price, or its spacing or yield is not known.

    Parameters
    ----------
    choice
        What the grower wants of the crop: its price for a head or kg, and losses.
    crop
        The crop: its spacing and its usual yield.
    beds
        Widths of usual beds, by which rows are counted.
    """
    if choice.price is None or crop.spacing is None:
        return None
    rows = amounts.rows_on(beds.width_m, beds.path_within_m, crop.spacing.rows_m)
    found = amounts.of_length(crop, rows, TEN_METRES, choice.losses_percent / 100)
    if found is None or found.low is None or found.high is None:
        return None
    return choice.price * (found.low + found.high) / 2 / TEN_METRES


def shares(earned: Sequence[float | None]) -> tuple[float, ...]:
    """Each crop's money over that of the one that earns most, 0 to 1.

    A crop whose money is not known counts as the middle of those known; where none is, all
    are 0, and money decides nothing.

    Examples
    --------
    >>> shares([8.0, None, 2.0]), shares([None, None])
    ((1.0, 0.625, 0.25), (0.0, 0.0))
    """
    known = [each for each in earned if each is not None]
    if not known:
        return (0.0,) * len(earned)
    # Neither first nor last: the plan must not guess what it sells for.
    middle = median(known)
    return tuple((middle if each is None else each) / max(known) for each in earned)


def earned_per_metre(
    wanted: Sequence[CropChoice], crops: Sequence[Crop], beds: Beds
) -> list[float | None]:
    """Money from a metre of bed of each wanted crop; None where it is not known.

    Parameters
    ----------
    wanted
        What the grower wants of each crop.
    crops
        The crops, in the same order.
    beds
        Widths of usual beds, by which rows are counted.
    """
    return [
        per_metre(choice, crop, beds)
        for choice, crop in zip(wanted, crops, strict=True)
    ]


def remarks(
    wanted: Sequence[CropChoice], earned: Sequence[float | None]
) -> Iterator[Fact]:
    """That money counts, and for which crops it is not known."""
    if all(each is None for each in earned):
        return
    best = max(
        (each, choice.name)
        for each, choice in zip(earned, wanted, strict=True)
        if each is not None
    )
    yield Fact("money_is_weighed", crop=best[1])
    unknown = [
        choice.name for each, choice in zip(earned, wanted, strict=True) if each is None
    ]
    if unknown:
        yield Fact("money_not_known", crops=unknown)
