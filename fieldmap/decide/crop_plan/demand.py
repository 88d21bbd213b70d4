"""What is wanted: so many beds of a crop in a part of the year."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from fieldmap.decide.crop_plan import growing_windows

if TYPE_CHECKING:
    from fieldmap.decide.calendar.planting_dates import Dates
    from fieldmap.decide.crop_plan.growing_windows import Stay
    from fieldmap.model.crops import Crop
    from fieldmap.model.site import Site


class Wish(NamedTuple):
    """So many beds of one crop in one part of the year.

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


class Choice(NamedTuple):
    """One way to grant one bed of a wish.

    Attributes
    ----------
    wish, bed_class
        Their places.
    place_days
        Days of season that beds of the class win, against the worst for the wish.
    same_family
        The family of last year, where it is the crop's own; else empty.
    """

    wish: int
    bed_class: int
    stay: Stay
    place_days: float
    same_family: str


def wishes_of(site: Site, dates: Dates, count: int) -> tuple[Wish, ...]:
    """The crops of a site by part of the year, first sowings before second ones.

    Crops without a number of beds share what the others leave.

    Parameters
    ----------
    count
        Of beds.
    """
    told = site.settings.crops
    open_ended = sum(choice.beds is None for choice in told)
    left = count - sum(choice.beds or 0 for choice in told)
    share = max(left // open_ended, 1) if open_ended else 0
    found = []
    for number, (choice, crop) in enumerate(zip(told, dates.crops, strict=True)):
        beds = choice.beds or share
        if growing_windows.harvest_days(crop) is None:
            found.append(
                Wish(number, crop, growing_windows.SUMMER, beds, is_again=False)
            )
            continue
        seasons = choice.seasons or ("spring", "autumn")
        again = choice.seasons is None
        if "spring" in seasons:
            found.append(
                Wish(number, crop, growing_windows.SPRING, beds, is_again=False)
            )
        if "autumn" in seasons and (
            choice.seasons or growing_windows.grows_again(crop)
        ):
            found.append(
                Wish(number, crop, growing_windows.AUTUMN, beds, is_again=again)
            )
    return tuple(sorted(found, key=lambda wish: wish.is_again))
