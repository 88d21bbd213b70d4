"""What goes where: stays of crops on beds, and what covers do for them."""

import itertools
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple, TypeVar

from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.materials.sheets import Sheet
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import DAYS, NORTH, WEEKS, SeasonYear, week_of


@dataclass(frozen=True)
class CoverUse:
    """A cover over a bed from one day of the season-year to another, both within.

    Attributes
    ----------
    days
        Of season that it wins for the crop, each on a metre of bed for a metre of bed.
    """

    kind: str
    from_day: int
    to_day: int
    days: float


@dataclass(frozen=True)
class GrowingWindow:
    """A span in which a crop can stand on a bed.

    Attributes
    ----------
    season
        "spring", "summer" (until frost), "autumn", "winter" (until the spring after) or
        "succession" (for some weeks' harvest).
    from_day, harvest_day, to_day
        Sown or set out, first and last harvest: day numbers of the season-year; those
        beyond its end lie in the year after.
    covers
        In order of their days.
    slackens_day
        From which a crop that bears until frost bears less; None where it does not.
    """

    season: str
    from_day: int
    harvest_day: int
    to_day: int
    covers: tuple[CoverUse, ...]
    slackens_day: int | None = field(default=None, kw_only=True)

    @property
    def held(self) -> tuple[int, int]:
        """First and last week in which the bed is taken, covers ahead included.

        Weeks of the year after are counted on, and are those of this one again: the plan
        is that of every year.
        """
        first = min([self.from_day, *(use.from_day for use in self.covers)])
        if self.to_day > DAYS:
            return week_of(first), WEEKS + week_of(self.to_day - DAYS)
        return week_of(first), week_of(self.to_day)

    @property
    def days_by_cover(self) -> float:
        """Days of season that its covers win."""
        return sum(use.days for use in self.covers)


class BedPart(NamedTuple):
    """A part of a bed, measured from its end towards the gate."""

    start_m: float
    length_m: float

    @property
    def end_m(self) -> float:
        """Where it ends, from the same end."""
        return self.start_m + self.length_m


class Amounts(NamedTuple):
    """What goes into the ground, and what may come of it.

    Attributes
    ----------
    rows
        Side by side on the bed.
    plants
        That stand once all are up and thinned.
    seeds
        To sow, in place or in trays; None where that is not known.
    unit
        "head" or "kg".
    low, high
        Of its unit, after usual losses; None where that is not known.
    """

    rows: int
    plants: int
    seeds: int | None
    unit: str
    low: float | None
    high: float | None


@dataclass(frozen=True)
class Stay(GrowingWindow):
    """The time of one crop on one bed, or on a part of it.

    Attributes
    ----------
    days_by_place
        Days of season that this bed wins, against the bed that is worst for it.
    family_of_last_year
        The family that stands there for the second year running; empty if none does.
    part
        None for the whole bed.
    amounts
        None where the crop's spacing is not known.
    picked
        First and last day for which this sowing is meant; None for all of its harvest.
    """

    bed: str
    crop: str
    days_by_place: float
    family_of_last_year: str = ""
    part: BedPart | None = field(default=None, kw_only=True)
    amounts: Amounts | None = field(default=None, kw_only=True)
    picked: tuple[int, int] | None = field(default=None, kw_only=True)

    def length_m(self, bed_m: float) -> float:
        """Of the bed that it takes, all of which is so long."""
        return bed_m if self.part is None else self.part.length_m


def share_ground(one: Stay, other: Stay) -> bool:
    """Whether two stays on one bed have metres of it in common."""
    if one.part is None or other.part is None:
        return True
    return one.part.start_m < other.part.end_m and other.part.start_m < one.part.end_m


def following(stays: Sequence[Stay]) -> Iterator[tuple[Stay, Stay]]:
    """Stays of which one comes right after the other on some metre of one bed.

    Parameters
    ----------
    stays
        By bed, then by day.
    """
    for _, same in itertools.groupby(stays, lambda stay: stay.bed):
        there = list(same)
        for number, after in enumerate(there):
            before = [
                stay
                for stay in there[:number]
                if share_ground(stay, after) and stay.to_day < after.from_day
            ]
            if before:
                yield max(before, key=lambda stay: stay.to_day), after


def left_from_winter(stays: Sequence[Stay]) -> Iterator[tuple[Stay, int]]:
    """What stands from the winter before, and the last day of this year on which it does.

    The plan is that of every year, so what goes on into the next one stands on the same
    days of this one: until it is done, or the next crop takes its metres.
    """
    by_bed: dict[str, list[Stay]] = {}
    for stay in stays:
        by_bed.setdefault(stay.bed, []).append(stay)
    for stay in stays:
        if stay.to_day <= DAYS:
            continue
        next_day = min(
            min([each.from_day, *(use.from_day for use in each.covers)])
            for each in by_bed[stay.bed]
            if share_ground(each, stay)
        )
        last = min(stay.to_day - DAYS, next_day - 1)
        if last >= 1:
            yield stay, last


def with_days_left(stays: Sequence[Stay]) -> Iterator[tuple[Stay, int]]:
    """Each stay with its day of `left_from_winter`, 0 where it is not of the winter before."""
    left = {id(stay): last for stay, last in left_from_winter(stays)}
    for stay in stays:
        yield stay, left.get(id(stay), 0)


def as_they_stand(stays: Sequence[Stay]) -> tuple[Stay, ...]:
    """Stays that end where the next crop of the year after takes their metres.

    Days beyond the year are those of `left_from_winter`; covers end with the crop.
    """
    return tuple(
        _until(stay, DAYS + last) if stay.to_day > DAYS else stay
        for stay, last in with_days_left(stays)
    )


def _until(stay: Stay, day: int) -> Stay:
    """A stay that ends with a day, at the latest."""
    covers = (
        replace(use, to_day=min(use.to_day, day))
        for use in stay.covers
        if use.from_day <= day
    )
    return replace(stay, to_day=min(stay.to_day, day), covers=tuple(covers))


@dataclass(frozen=True)
class GreenManure:
    """What is sown for the soil, from one day to another, both within.

    Attributes
    ----------
    to_day
        Of what stands through the winter in the year after.
    part
        None for the whole bed.
    """

    bed: str
    kind: str
    from_day: int
    to_day: int
    part: BedPart | None = None


@dataclass(frozen=True)
class CoverUsage:
    """What one kind of cover does through the year.

    Attributes
    ----------
    owned_m, used_m
        Length that is owned; length in use by week, gathered ends included.
    too_narrow_m
        Part of what is owned that does not reach over the hoops of any bed.
    days_per_metre
        Days of season that one metre of the length used wins on a metre of bed; 0 where
        none is used.
    buy_m, buy_days_per_metre
        Length that would still be of use, and what each metre of it would win.
    """

    kind: str
    owned_m: float
    too_narrow_m: float
    used_m: tuple[float, ...]
    days_per_metre: float
    buy_m: float
    buy_days_per_metre: float

    @property
    def most_used_m(self) -> float:
        """Length in use in the week that wants most."""
        return max(self.used_m, default=0.0)

    @property
    def idle_m(self) -> float:
        """Length that is owned and wide enough, and that no week uses."""
        return max(self.owned_m - self.too_narrow_m - self.most_used_m, 0.0)


OnBed = TypeVar("OnBed", Stay, GreenManure)


def _by_bed(there: Iterable[OnBed]) -> dict[str, tuple[OnBed, ...]]:
    found: dict[str, list[OnBed]] = {}
    for each in there:
        found.setdefault(each.bed, []).append(each)
    return {bed: tuple(here) for bed, here in found.items()}


@dataclass(frozen=True)
class CropPlan:
    """What goes where; nothing where that is not known, with the reason in `remarks`.

    Attributes
    ----------
    stays
        By bed, in the order of the beds, and by day within a bed.
    covers
        In the order of `site.toml`, then those that are not owned.
    sheets
        Which piece lies over which beds from when to when.
    floor
        Beds inside walk-in tunnels: in a list of beds they come after the others.
    minutes
        By week: minutes that covers take each morning they must be opened, and as many
        in the evening.
    hands_minutes
        Those there are in the morning, if known.
    harvests
        What was asked for by metres, plants or weeks, and the sowings that answer it.
    short
        Which crops got less than wanted, and why.
    green
        What is sown for the soil where no crop stands.
    untended
        Beds that hands are not enough for, then those that no crop wants, by name: they
        lie in grass and clover.
    remarks
        What was assumed, or why there is nothing.
    season
        The year of growing, in which days are numbered.
    """

    stays: tuple[Stay, ...] = ()
    covers: tuple[CoverUsage, ...] = ()
    sheets: tuple[Sheet, ...] = ()
    floor: tuple[Bed, ...] = ()
    minutes: tuple[float, ...] = ()
    hands_minutes: float | None = None
    harvests: tuple[Fact, ...] = ()
    short: tuple[Fact, ...] = ()
    green: tuple[GreenManure, ...] = ()
    untended: tuple[str, ...] = ()
    remarks: tuple[Fact, ...] = ()
    season: SeasonYear = NORTH
    by_bed: Mapping[str, tuple[Stay, ...]] = field(init=False, repr=False)
    green_by_bed: Mapping[str, tuple[GreenManure, ...]] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        """Sort stays and green manures into beds once."""
        object.__setattr__(self, "by_bed", _by_bed(self.stays))
        object.__setattr__(self, "green_by_bed", _by_bed(self.green))

    @property
    def is_known(self) -> bool:
        """Whether anything is placed."""
        return bool(self.stays)

    def stays_on(self, beds: Container[str]) -> tuple[Stay, ...]:
        """Stays on some beds, such as those outdoors that a map shows."""
        return tuple(stay for stay in self.stays if stay.bed in beds)

    def standing_on(self, beds: Container[str]) -> tuple[Stay, ...]:
        """As `stays_on`, each to the last day on which it stands (`as_they_stand`)."""
        return tuple(stay for stay in as_they_stand(self.stays) if stay.bed in beds)

    def plots_in_grass(
        self, beds: Iterable[Bed], built_on: Container[str]
    ) -> dict[str, int]:
        """Plots of which all beds lie in grass, with the number of their beds.

        Nothing is made there this year, so that nothing is pegged or fenced.

        Parameters
        ----------
        beds
            All beds outdoors.
        built_on
            Plots on which a walk-in tunnel stands.
        """
        in_grass, by_plot = set(self.untended), dict[str, list[bool]]()
        for bed in beds:
            by_plot.setdefault(bed.plot, []).append(bed.name in in_grass)
        return {
            plot: len(here)
            for plot, here in by_plot.items()
            if all(here) and plot not in built_on
        }

    def month_day(self, day: float) -> tuple[int, int]:
        """Month and day of a day number; those beyond the year lie in the next."""
        return self.season.month_day_of_any_year(day)
