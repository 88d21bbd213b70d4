"""Why a crop got fewer beds than wanted, and what else must be said of the fit."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from fieldmap.decide.calendar.planting_dates import Dates
from fieldmap.decide.crop_plan.bed_classes import BedClass, FloorBed, LitBed
from fieldmap.decide.crop_plan.demand import Candidates, Demand, Placement
from fieldmap.decide.crop_plan.growing_windows import AUTUMN, WINTER, why_no_winter
from fieldmap.decide.crop_plan.model import GreenManure, Stay, following
from fieldmap.decide.crop_plan.sowings import fallow
from fieldmap.decide.crop_plan.sowings.asked import Sowing
from fieldmap.decide.layout.beds import Bed
from fieldmap.model.crops import Crop
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import DAYS, SeasonYear
from fieldmap.model.settings import AMOUNTS, CropChoice
from fieldmap.model.site import Stood

Whole = npt.NDArray[np.int64]
Span = tuple[int, int]

# So long a bed inside lies free before it is worth saying: radishes or salad leaves take
# as much (common practice, no source).
FREE_DAYS = 42


def why_empty(
    wanted: Sequence[CropChoice],
    beds: Sequence[LitBed],
    dates: Dates,
    tended: frozenset[int] | None = None,
) -> Fact | None:
    """Why what goes where cannot be known; None where it can.

    Parameters
    ----------
    wanted
        Crops that the grower wants.
    beds
        All beds, outdoors and in tunnels, in the order of the dates.
    dates
        Early and late dates of the beds.
    tended
        Places of the beds that hands are enough for; None where nothing limits them.
    """
    if not wanted:
        return Fact("no_crops_named")
    if not beds:
        return Fact("no_beds_for_crops")
    if not dates.known:
        return Fact("no_dates_for_crops")
    known = ~(np.isnan(dates.early[1]) | np.isnan(dates.late[1])).any(axis=(0, 1))
    if tended is not None:
        if not tended:
            return Fact("hands_for_no_bed")
        known &= np.isin(np.arange(len(known)), list(tended))
    return None if known.any() else Fact("no_bed_dates_for_crops")


def short(
    counts: Whole, candidates: Candidates, hands_minutes: float | None
) -> Iterator[Fact]:
    """Each demand that is not met in full, and why.

    Parameters
    ----------
    counts
        (placements,) beds that take each placement.
    candidates
        What was wanted, and every way to meet it.
    hands_minutes
        Minutes that hands have in the morning; None where not known.
    """
    got = np.zeros(len(candidates.demands), int)
    for placement, count in zip(candidates.placements, counts, strict=True):
        got[placement.demand] += count
    for at, demand in enumerate(candidates.demands):
        here = [each for each in candidates.placements if each.demand == at]
        # Nobody asked for a second sowing: that it never fits is no news.
        if got[at] >= demand.beds or (demand.is_again and not here):
            continue
        crop = demand.crop.name
        yield Fact(
            "crop_short",
            crop=Fact("crop_for_autumn", crop=crop)
            if demand.season == AUTUMN
            else crop,
            got=int(got[at]),
            number=demand.beds,
            why=Fact("no_bed_free")
            if at in candidates.crowded
            else _why(here, hands_minutes) or _never(demand, candidates.classes),
        )


def _why(here: Sequence[Placement], hands_minutes: float | None) -> Fact | None:
    if not here:
        return None
    # It would grow bare, so beds are what it lacks.
    if any(not placement.window.covers for placement in here):
        return Fact("no_bed_free")
    kinds = (use.kind for placement in here for use in placement.window.covers)
    kind = "no_cover_free" if hands_minutes is None else "no_cover_or_hands_free"
    return Fact(kind, covers=tuple(dict.fromkeys(kinds)))


def _never(demand: Demand, classes: Sequence[BedClass]) -> Fact:
    """Never warm enough, or how long the longest time on any bed that it may have is."""
    classes = [each for each in classes if demand.may_have(each)]
    if not classes:
        return Fact("no_bed_free")
    if demand.season == WINTER:
        return Fact(why_no_winter(demand.crop, demand.number, classes))
    spans = [
        min(np.ceil(each.late[demand.number].max()) - 1, DAYS)
        - np.ceil(each.early[demand.number].min())
        for each in classes
    ]
    if np.isnan(spans).all():
        return Fact("dates_of_crop_not_known")
    spans = [each for each in spans if not np.isnan(each)]
    if not np.isfinite(max(spans)):
        return Fact("never_warm_enough")
    return Fact("too_few_days", number=round(max(0.0, *spans)))


def assumptions(
    candidates: Candidates, wanted: Sequence[CropChoice], asked: Sequence[Sowing]
) -> Iterator[Fact]:
    """What was taken for granted.

    Parameters
    ----------
    candidates
        Crops by whole beds, and where they may go.
    wanted
        Crops as site.toml names them.
    asked
        What is wanted by metres, plants or weeks.
    """
    yield Fact("crop_plan_caution")
    possible = {placement.demand for placement in candidates.placements}
    again = [
        demand.crop.name
        for at, demand in enumerate(candidates.demands)
        if demand.is_again and at in possible
    ]
    again += dict.fromkeys(each.crop.name for each in asked if each.is_again)
    if again:
        yield Fact("second_sowings", crops=again)
    open_ended = [
        each.name
        for each in wanted
        if all(getattr(each, key) is None for key in AMOUNTS)
    ]
    if open_ended:
        yield Fact("crops_without_amount", crops=open_ended)


def inside(
    floor: Sequence[FloorBed], stays: Sequence[Stay], season: SeasonYear
) -> Iterator[Fact]:
    """Beds inside walk-in tunnels, and when they stand free long enough for another crop.

    Parameters
    ----------
    floor
        Beds inside, in their order.
    stays
        Crops on all beds. The plan is that of every year: what goes on into the next one
        stands on the same days of this one.
    season
        Which day of the year is its first.
    """
    if floor:
        yield Fact("beds_in_tunnels", beds=[each.bed.name for each in floor])
    beds: dict[Span, list[str]] = {}
    for each in floor:
        here = [stay for stay in stays if stay.bed == each.bed.name]
        for free in _free(here):
            beds.setdefault(free, []).append(each.bed.name)
    for (first, last), names in sorted(beds.items()):
        if last - first + 1 >= DAYS:
            yield Fact("tunnel_beds_never_used", beds=names)
            continue
        yield Fact(
            "tunnel_beds_free",
            beds=names,
            first=season.month_day_of_any_year(first),
            last=season.month_day_of_any_year(last),
        )


def _free(stays: Sequence[Stay]) -> Iterator[Span]:
    """First and last day of each long time in which no metre of a bed bears a crop.

    The last may lie in the year after.
    """
    used = sorted(
        (min([stay.from_day, *(use.from_day for use in stay.covers)]), stay.to_day)
        for stay in stays
    )
    if not used:
        yield 1, DAYS
        return
    (first, until), *others = used
    # What stands on from the year before ends some first gaps.
    until = max(until, *(to_day - DAYS for _from_day, to_day in used))
    # The year closes with the first stay of the next one.
    for from_day, to_day in (*others, (first + DAYS, 0)):
        if from_day - until - 1 >= FREE_DAYS:
            yield until + 1, from_day - 1
        until = max(until, to_day)


class InGrass(NamedTuple):
    """Beds that lie in grass: those that hands are not enough for, and what no crop wants.

    Attributes
    ----------
    worked
        All others.
    """

    untended: tuple[Bed, ...]
    resting: tuple[Bed, ...]
    worked: tuple[LitBed, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Of all of them."""
        return tuple(bed.name for bed in (*self.untended, *self.resting))

    @property
    def outdoors(self) -> tuple[LitBed, ...]:
        """Beds that are worked and rained on: only there is anything sown for the soil.

        Inside, it would have to be watered (common practice, no source).
        """
        return tuple(each for each in self.worked if not isinstance(each, FloorBed))


def in_grass(
    beds: Sequence[LitBed], tended: frozenset[int] | None, stays: Sequence[Stay]
) -> InGrass:
    """Beds on which nothing is grown; those inside tunnels are not left to grass.

    Parameters
    ----------
    beds
        All of them.
    tended
        Places of those that hands are enough for; None for all.
    stays
        Crops on them.
    """
    bear = {stay.bed for stay in stays}
    left = () if tended is None else set(range(len(beds))) - tended
    untended = tuple(each for at, each in enumerate(beds) if at in left)
    worked = tuple(
        each
        for at, each in enumerate(beds)
        if at not in left and (each.bed.name in bear or isinstance(each, FloorBed))
    )
    busy = {each.bed.name for each in (*untended, *worked)}
    return InGrass(
        tuple(each.bed for each in untended),
        tuple(each.bed for each in beds if each.bed.name not in busy),
        worked,
    )


def about_grass(beds: Sequence[LitBed], grass: InGrass) -> Iterator[Fact]:
    """What hands are not enough for, and what no crop wants.

    Parameters
    ----------
    beds
        All of them.
    grass
        Of them, as `in_grass` gives it.
    """
    if grass.untended:
        total_m = sum(each.bed.length_m for each in beds)
        left_m = sum(bed.length_m for bed in grass.untended)
        names = [bed.name for bed in grass.untended]
        yield Fact(
            "beds_untended", tended_m=total_m - left_m, left_m=left_m, beds=names
        )
    if grass.resting:
        yield Fact("beds_resting", beds=[bed.name for bed in grass.resting])


def in_winter(
    beds: Sequence[LitBed],
    stays: Sequence[Stay],
    green: Sequence[GreenManure],
) -> Iterator[Fact]:
    """Beds of which some metres bear nothing over winter, and gaps that are left.

    Parameters
    ----------
    beds
        That do not lie in grass.
    stays
        Crops on them.
    green
        What is sown for the soil.
    """
    there: dict[str, list[Stay | GreenManure]] = {}
    for stay in stays:
        there.setdefault(stay.bed, []).append(stay)
    for sown in green:
        there.setdefault(sown.bed, []).append(sown)
    bare = [
        each.bed.name
        for each in beds
        if fallow.bare_in_winter(each.bed.length_m, there.get(each.bed.name, ()))
    ]
    if bare:
        yield Fact("beds_bare_in_winter", beds=bare)
    if green:
        yield Fact("short_gaps_left")


def families(
    stays: Sequence[Stay], crops: Sequence[Crop], last_year: Sequence[Stood]
) -> Iterator[Fact]:
    """Crops that follow their own family, from last year or within the year.

    Parameters
    ----------
    stays
        What goes where, by bed, then by day.
    crops
        Crops of the stays, with their families where known.
    last_year
        What stood on beds last year; a line without a family is named.
    """
    by_crop: dict[tuple[str, str], list[str]] = {}
    for stay in stays:
        if stay.family_of_last_year:
            key = stay.crop, stay.family_of_last_year
            by_crop.setdefault(key, []).append(stay.bed)
    for (crop, family), beds in by_crop.items():
        yield Fact("same_family_again", crop=crop, family=family, beds=beds)
    unknown = list(dict.fromkeys(each.crop for each in last_year if not each.family))
    if unknown:
        yield Fact("families_unknown", crops=unknown)
    of_crop = {crop.name: crop.family.value for crop in crops if crop.family}
    found: dict[tuple[str, str], list[str]] = {}
    for before, after in following(stays):
        # Two that are not known are no pair: "" is not None.
        if of_crop.get(before.crop, "") == of_crop.get(after.crop):
            found.setdefault((after.crop, before.crop), []).append(after.bed)
    for (later_crop, crop), beds in found.items():
        yield Fact("family_follows_itself", after=later_crop, before=crop, beds=beds)
