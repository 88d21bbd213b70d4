"""What stands on the beds on one evening: by the field log as far as it goes, else the plan."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta
from math import inf
from typing import Literal, NamedTuple

import pandas as pd

from fieldmap.decide.calendar import growth
from fieldmap.decide.crop_plan.model import (
    BedPart,
    CropPlan,
    Stay,
    with_days_left,
)
from fieldmap.model.crops import Crop
from fieldmap.model.estimate import Estimate
from fieldmap.model.field_log import Happened
from fieldmap.model.season_year import DAYS, SeasonYear
from layers.cover import COVERS

# Common practice, no source: seedlings are soft for two and a half weeks once they are up,
# plants that were not hardened for two, and leaves harden for winter in six.
SEEDLING_DAYS, SOFT_DAYS, HARDENED_DAYS = 18, 14, 42
# A seed or tuber is in the soil for so long, where no night of spring harms it, if it is
# not known how long its seedlings take (likewise).
UP_DAYS = 10.0
# Months of the north in which leaves that stand through the winter are hard (likewise).
HARD_MONTHS = (11, 12, 1, 2, 3)
ONE_YEAR = timedelta(365)
SUNDAY = 6  # as `date.weekday` counts

Keeps = Literal["", "seed", "root", "hardened"]


class Standing(NamedTuple):
    """One crop on a bed, or on a part of it, on one evening.

    Attributes
    ----------
    growth_weeks
        That are lost with it, in the tray and on the bed: whole ones up to Monday, so
        that a week has one order.
    limit_c
        At the screen, at which it is harmed now; high is the safest.
    keeps
        Why it wants no cover: a seed or a root in the soil, or leaves that are hardened
        for winter.
    cover
        That lies over it by the plan; "" for none.
    part_m
        Of the bed, from its end towards the gate; to infinity for all of it.
    is_ripe
        Whether some of it can be picked by Sunday, so that a week has one list; not,
        where nobody knows how long it takes.
    """

    bed: str
    crop: str
    growth_weeks: int
    limit_c: Estimate
    keeps: Keeps = ""
    cover: str = ""
    part_m: tuple[float, float] = (0.0, inf)
    is_ripe: bool = False


class Stand(NamedTuple):
    """All that stands on an evening.

    Attributes
    ----------
    log_until
        Last day of the field log, up to which it was taken; None where the plan was.
    is_known
        Whether there is a plan or a log for it at all.
    """

    day: date
    standing: tuple[Standing, ...]
    log_until: date | None = None
    is_known: bool = True


# Crop -> days from sowing on each day of the season-year until something is to be seen.
UpDays = Mapping[str, Sequence[float]]


class Flowers(NamedTuple):
    """When flowers may open at the soonest.

    Attributes
    ----------
    days
        As `flower_days` gives them; crops that it does not have are taken to be in flower
        once they are no seedlings.
    tunnels
        Beds in walk-in tunnels, where it is warmer than `days` are for: there all crops
        are taken so.
    """

    days: UpDays
    tunnels: frozenset[str] = frozenset()


NO_FLOWERS = Flowers({})


def up_days(
    crops: Iterable[Crop], days: pd.DataFrame, season: SeasonYear
) -> dict[str, tuple[float, ...]]:
    """Days until seedlings of each crop are up, by the day of sowing in the season-year.

    In open ground: under covers and in tunnels they are sooner. Crops of which it is not
    known are left out, as all are without a record of daily `tmin_c` and `tmax_c`.

    Parameters
    ----------
    crops
        Those of the site.
    days
        As `WeatherRecord.days`, by date; empty where there is no record.
    season
        Which season-year the days of sowing are counted in.
    """
    if days.empty:
        return {}
    soil_c = growth.soil_of_usual_year_c(growth.usual_mean_c(days, season))
    return {
        crop.name: tuple(growth.days_until_up(soil_c, crop.emergence).tolist())
        for crop in crops
        if crop.emergence is not None
    }


def flower_days(
    crops: Iterable[Crop], days: pd.DataFrame, season: SeasonYear
) -> dict[str, tuple[float, ...]]:
    """Days until each crop may flower at the soonest, by the day of sowing.

    Those crops only that stand less in flower; none without a record.

    Parameters
    ----------
    crops
        Those of the site.
    days
        As `WeatherRecord.days`, by date; empty where there is no record.
    season
        Which season-year the days of sowing are counted in.
    """
    if days.empty:
        return {}
    usual_c = growth.usual_mean_c(days, season)
    known = {crop.name: growth.days_until_flower(crop, usual_c) for crop in crops}
    return {
        name: tuple(until.tolist())
        for name, until in known.items()
        if until is not None
    }


def stand(
    day: date,
    crop_plan: CropPlan,
    crops: Iterable[Crop],
    log: Sequence[Happened],
    soft: frozenset[str] = frozenset(),
    up: UpDays | None = None,
    flowers: Flowers = NO_FLOWERS,
) -> Stand:
    """What stands on the evening of a day.

    A log with a planting in the season-year of the day holds up to its last line: what
    the plan began by then counts only if the log has it. What the plan begins later is
    taken from the plan, on beds that the log does not hold.

    Parameters
    ----------
    day
        The day whose evening it is.
    crop_plan
        What goes where; where nothing is, the log alone counts.
    crops
        Crops that may stand there; lines and stays of others are left out.
    log
        Lines of the field log, on today's beds; those after `day` are left out.
    soft
        Crops that are set out without having been hardened.
    up
        As `up_days` gives them; `UP_DAYS` for crops that it does not have.
    flowers
        When flowers may open, which stand less than leaves.
    """
    by_name = {crop.name: crop for crop in crops}
    season = crop_plan.season
    lines = [line for line in log if line.day <= day]
    begins = season_begins(day, season)
    kept = any(line.what == "planted" and line.day >= begins for line in lines)
    until = max((line.day for line in lines), default=None) if kept else None
    known = [line for line in lines if line.crop in by_name]
    planted = list(_by_log(day, known, by_name, season)) if kept else []
    taken = {bed for bed, *_ in planted}
    number = season.day_of(day.month, day.day)
    logged = -inf if until is None else season.day_of(until.month, until.day)
    # Covers lie by the plan, whatever the log has planted under them.
    lying = {
        stay.bed: cover for stay in crop_plan.stays if (cover := _lying(stay, number))
    }
    evening = Evening(day, season, soft, up or {}, flowers)
    found = [
        _standing(by_name[crop], bed, (day - began).days, evening)._replace(
            cover=lying.get(bed, "")
        )
        for bed, crop, began in planted
    ]
    for stay, last in with_days_left(crop_plan.stays):
        at = _day_of_stay(stay, number, last)
        if at is None or stay.crop not in by_name or stay.bed in taken:
            continue
        days = at - stay.from_day
        # Begun after the last line of the log: what is older is there only if it is logged.
        if number - days > logged:
            ripe_days = stay.harvest_day - stay.from_day
            crop = by_name[stay.crop]
            one = _standing(crop, stay.bed, days, evening, ripe_days)
            part = stay.part or BedPart(0.0, inf)
            part_m = part.start_m, part.end_m
            found.append(one._replace(part_m=part_m, cover=_lying(stay, at)))
    return Stand(
        day,
        tuple(found),
        until,
        is_known=kept or crop_plan.is_known,
    )


def season_begins(day: date, season: SeasonYear) -> date:
    """First day of the season-year of a day."""
    year = day.year - (day.month < season.first_month)
    return date(year, season.first_month, 1)


def _day_of_stay(stay: Stay, number: int, left_until: int) -> int | None:
    """A day of any year by the numbers of a stay; None where it does not stand then.

    Parameters
    ----------
    left_until
        Last day on which it stands from the winter before; 0 for none.
    """
    if stay.from_day <= number <= stay.to_day:
        return number
    return number + DAYS if number <= left_until else None


def _lying(stay: Stay, number: int) -> str:
    """The cover that warms a stay and lies over it on a day; "" for none."""
    lie = (
        use.kind
        for use in stay.covers
        if use.from_day <= number <= use.to_day and COVERS[use.kind].gain_c.central > 0
    )
    return next(lie, "")


# ------------------------------------------------------------------ where it is from
def _by_log(
    day: date, lines: Sequence[Happened], crops: Mapping[str, Crop], season: SeasonYear
) -> Iterator[tuple[str, str, date]]:
    """Bed, crop and first day of what was planted and is not gone.

    What is planted on a later day takes the place of what stood there.
    """
    begins = season_begins(day, season)
    stands: dict[str, dict[str, date]] = {}
    for line in sorted(lines, key=lambda each: (each.day, each.line)):
        here = stands.setdefault(line.bed, {})
        if line.what == "planted":
            for crop in [crop for crop, began in here.items() if began < line.day]:
                del here[crop]
            here[line.crop] = line.day
        # "held" is its last day: it stands that evening.
        elif line.what == "lost" or (line.what == "held" and line.day < day):
            here.pop(line.crop, None)
    for bed, here in stands.items():
        for crop, began in here.items():
            through = crops[crop].overwinters and day - began < ONE_YEAR
            if began >= begins or through:
                yield bed, crop, began


# ------------------------------------------------------------------ what harms it
class Evening(NamedTuple):
    """What of an evening is the same for all crops."""

    day: date
    season: SeasonYear
    soft: frozenset[str]
    up: UpDays
    flowers: Flowers

    def up_days(self, crop: Crop, stood_days: int) -> float:
        """From sowing until it was seen, of what has stood for so long; 0 if set out."""
        if crop.is_set_out:
            return 0.0
        if crop.name not in self.up:
            return UP_DAYS
        return self.up[crop.name][self._begun(stood_days) - 1]

    def may_flower(self, crop: Crop, bed: str, stood_days: int) -> bool:
        """Whether flowers may be open on what has stood for so long."""
        opens = self.flowers.days.get(crop.name)
        if opens is None or bed in self.flowers.tunnels:
            return True
        return stood_days >= opens[self._begun(stood_days) - 1]

    def _begun(self, stood_days: int) -> int:
        """Day of the season-year on which that began which has stood for so long."""
        began = self.day - timedelta(stood_days)
        return self.season.day_of(began.month, began.day)

    @property
    def is_winter(self) -> bool:
        """Whether leaves that stand through the winter are hard."""
        months = [self.season.local_month(month) for month in HARD_MONTHS]
        return self.day.month in months


def _standing(
    crop: Crop, bed: str, days: int, evening: Evening, ripe_days: float | None = None
) -> Standing:
    """A crop that has stood on a bed for some days."""
    if ripe_days is None:
        to_ripe = crop.days_to_maturity
        ripe_days = inf if to_ripe is None else growth.days_on_bed(crop, to_ripe)[0]
    limit, keeps = _limit(
        crop,
        days,
        up_days=evening.up_days(crop, days),
        is_soft=crop.name in evening.soft,
        is_ripe=days >= ripe_days,
        may_flower=evening.may_flower(crop, bed, days),
        is_winter=evening.is_winter,
    )
    grown_days = crop.tray_days + days - evening.day.weekday()
    # At least one: what was sown this week is worth something too.
    weeks = max(grown_days // 7, 1)
    is_ripe = days + SUNDAY - evening.day.weekday() >= ripe_days
    return Standing(bed, crop.name, weeks, limit, keeps, is_ripe=is_ripe)


def _limit(
    crop: Crop,
    stood_days: int,
    *,
    up_days: float,
    is_soft: bool,
    is_ripe: bool,
    may_flower: bool,
    is_winter: bool,
) -> tuple[Estimate, Keeps]:
    """What harms a crop that has stood so long, and why it may want no cover."""
    late = crop.late_c
    young_days = SOFT_DAYS if crop.is_set_out else up_days + SEEDLING_DAYS
    if stood_days < young_days:
        keeps: Keeps = "seed" if stood_days < up_days else ""
        return crop.early_damage_c(soft=is_soft).screen_c, keeps
    if late is None:
        limit = crop.damage_c if may_flower else crop.leaf_damage_c
        return limit.screen_c, ""
    if late.of == "root":
        return late.screen_c, "root"
    if crop.overwinters:
        is_hard = is_winter and stood_days >= HARDENED_DAYS
        return (late.screen_c, "hardened") if is_hard else (crop.damage_c.screen_c, "")
    return (late if is_ripe else crop.damage_c).screen_c, ""
