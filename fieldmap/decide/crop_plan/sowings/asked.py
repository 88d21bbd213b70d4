"""What is asked for by metres, plants or weeks, as sowings with a size and a time."""

import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from fieldmap.decide.crop_plan.demand import Claim, claim, seasons_of
from fieldmap.decide.crop_plan.growing_windows import AUTUMN
from fieldmap.decide.crop_plan.model import GrowingWindow
from fieldmap.decide.crop_plan.sowings import amounts
from fieldmap.model.crops import Crop
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import DAYS, SeasonYear
from fieldmap.model.settings import Beds, CropChoice

SUCCESSION = "succession"
# What is picked at once feeds as many weeks as leave half of its time ready as slack, for
# years that are earlier or later than usual (a choice).
SLACK_SHARE = 0.5


class Sowing(NamedTuple):
    """A part of a crop that begins together.

    Attributes
    ----------
    number
        Place of the crop among the dates.
    season
        That of its growing windows, or `SUCCESSION`.
    bed_m, row_m
        Metres of bed, or of row, that are wanted; None where the other, or what is
        wanted in a week, says it.
    a_week
        Wanted in each week, of what bears until frost.
    picked
        First and last day for which it is wanted; None for any.
    is_again
        Whether it follows from the first sowing and is not asked for itself.
    claim
        On beds inside walk-in tunnels.
    """

    number: int
    crop: Crop
    season: str
    losses: float
    bed_m: float | None = None
    row_m: float | None = None
    a_week: float | None = None
    picked: tuple[int, int] | None = None
    is_again: bool = False
    claim: Claim = Claim.NONE

    @property
    def family(self) -> str:
        """Of the crop; empty where it is not known."""
        return "" if self.crop.family is None else self.crop.family.value

    @property
    def slack_days(self) -> int:
        """Days by which it is wanted ripe before the first week for which it is meant."""
        ready = self.crop.harvest_days
        if self.picked is None or ready is None or not self.crop.is_picked_once:
            return 0
        # Half of the slack before its weeks and half after: years are early as well as late.
        return max(ready - 7 * weeks_fed(self.crop), 0) // 2

    def length_m(self, rows: int, window: GrowingWindow) -> float:
        """Metres of bed that it takes in a number of rows."""
        if self.bed_m is not None:
            return amounts.in_steps(self.bed_m)
        row_m = self.row_m
        if row_m is None:
            assert self.a_week is not None
            weeks = (window.to_day - window.harvest_day + 1) / 7
            wanted = self.a_week * weeks
            row_m = amounts.row_m_for_harvest(self.crop, wanted, self.losses)
        return amounts.in_steps(row_m / rows)


def weeks_fed(crop: Crop) -> int:
    """Weeks in a row that one sowing is meant for, of a crop that is done some time.

    Examples
    --------
    >>> from fieldmap.read.crops import packaged_crops
    >>> [weeks_fed(packaged_crops()[name]) for name in ("lettuce", "carrot", "kale")]
    [1, 2, 8]
    """
    ready = crop.harvest_days
    assert ready is not None
    share = SLACK_SHARE if crop.is_picked_once else 1.0
    return max(int(ready * share) // 7, 1)


def sowings(
    wanted: Sequence[CropChoice], crops: Sequence[Crop], season: SeasonYear
) -> tuple[Sowing, ...]:
    """All sowings that are asked for by metres, plants or weeks.

    Those that come first in tunnels go first; then those for weeks, week by week, as each
    of them has one time; second sowings come last.

    Parameters
    ----------
    wanted
        What the grower wants of each crop. What is wanted by whole beds is left out.
    crops
        The crops, in the same order.
    season
        The year of growing, in which days are numbered.
    """
    found: list[Sowing] = []
    for number, (choice, crop) in enumerate(zip(wanted, crops, strict=True)):
        if not is_in_parts(choice):
            continue
        if choice.harvest is not None:
            some = _by_week(number, crop, choice, season)
        else:
            some = _by_size(number, crop, choice)
        asks = claim(crop, choice)
        found += [each._replace(claim=asks) for each in some]
    return tuple(sorted(found, key=_turn))


def is_in_parts(choice: CropChoice) -> bool:
    """Whether it is wanted by weeks, metres or plants, and not by whole beds."""
    amounts = choice.harvest, choice.metres, choice.plants
    return any(each is not None for each in amounts)


def meant(
    wanted: Sequence[CropChoice],
    crops: Sequence[Crop],
    season: SeasonYear,
    beds: Beds,
) -> Iterator[Fact]:
    """What amounts by plants and weeks mean in metres of usual bed.

    Parameters
    ----------
    wanted
        What the grower wants of each crop.
    crops
        The crops, in the same order; one without a known spacing is left out.
    season
        The year of growing, in which days are numbered.
    beds
        Widths of usual beds and paths.
    """
    asked = sowings(wanted, crops, season)
    for number, (choice, crop) in enumerate(zip(wanted, crops, strict=True)):
        mine = [each for each in asked if each.number == number and not each.is_again]
        if not mine or crop.spacing is None or choice.metres is not None:
            continue
        # Before it is known on which beds it lies, the usual width must do.
        rows = amounts.rows_on(beds.width_m, beds.path_within_m, crop.spacing.rows_m)
        span = mine[0].picked or (1, DAYS)
        always = GrowingWindow(SUCCESSION, 1, *span, ())
        lengths_m = [each.length_m(rows, always) for each in mine]
        kind = "by_week" if mine[0].row_m is not None else "until_frost"
        yield Fact(
            f"asked_{kind if choice.harvest is not None else 'by_plants'}",
            crop=crop.name,
            number=len(mine),
            each_m=max(lengths_m),
            total_m=sum(lengths_m),
            rows=rows,
        )


def _turn(sowing: Sowing) -> tuple[bool, bool, bool, tuple[int, int]]:
    return (
        sowing.is_again,
        sowing.claim is not Claim.FIRST,
        sowing.picked is None,
        sowing.picked or (0, 0),
    )


def _by_size(number: int, crop: Crop, choice: CropChoice) -> Iterator[Sowing]:
    losses = choice.losses_percent / 100
    seasons = seasons_of(choice, crop)
    for season in seasons:
        plants = choice.plants
        yield Sowing(
            *(number, crop, season, losses),
            bed_m=choice.metres,
            row_m=None if plants is None else amounts.row_m_for_plants(crop, plants),
            is_again=choice.seasons is None and season == AUTUMN and len(seasons) > 1,
        )


def harvest_span(choice: CropChoice, season: SeasonYear) -> tuple[int, int]:
    """First and last day of the weeks that are wanted; the last may lie in the next year."""
    assert choice.harvest is not None
    first, last = (
        season.day_of(*day) for day in (choice.harvest.first, choice.harvest.last)
    )
    return first, last + DAYS if last < first else last


def _by_week(
    number: int, crop: Crop, choice: CropChoice, season: SeasonYear
) -> Iterator[Sowing]:
    assert choice.harvest is not None
    losses, amount = choice.losses_percent / 100, choice.harvest.amount
    first, last = harvest_span(choice, season)
    if crop.harvest_days is None:
        yield Sowing(
            *(number, crop, SUCCESSION, losses), a_week=amount, picked=(first, last)
        )
        return
    weeks = weeks_fed(crop)
    for begins in range(first, last + 1, 7 * weeks):
        ends = min(begins + 7 * weeks - 1, last)
        # What is picked bit by bit bears no faster for being wanted for fewer weeks.
        fed = math.ceil((ends - begins + 1) / 7) if crop.is_picked_once else weeks
        yield Sowing(
            *(number, crop, SUCCESSION, losses),
            row_m=amounts.row_m_for_harvest(crop, amount * fed, losses),
            picked=(begins, ends),
        )
