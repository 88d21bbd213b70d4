"""By how much the soil of a bed is ahead of the air, or behind it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely
from geopandas import GeoDataFrame
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.bed_means import BedMeans
from fieldmap.decide.layout.beds import Bed
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import DAYS, SeasonYear, daily_of_months
from fieldmap.model.site import DRIES_FIRST, PUDDLES, SEEN_IS_RIGHT, SNOW_LEAVES_FIRST
from layers import evidence, warmth

Floats = npt.NDArray[np.float64]
Seen = Callable[[str], BaseGeometry]

# Days by which soil that holds water warms later (common practice, no source).
CLAY_DAYS, WET_DAYS = 7.0, 10.0
# Days of the season-year between which a lead of the sun is read: March to May.
FROM_DAY, TO_DAY = 60, 150
MOST_DAYS_LED = 30.0  # near midwinter and midsummer a lead is no measure (a choice)
# Where light changes less with the season there is no spring to speak of (a choice).
LEAST_SWING = 0.05
# A bed lies where something was seen from this share of its ground on.
HALF = 0.5
# Middle of the days between which a lead is read; one standard deviation of what is not
# known of a bed's soil, as days: twice it is the lag of wet ground (a choice).
MID_SPRING_DAY = 105
SPREAD_DAYS = 5.0


@dataclass(frozen=True)
class Ground:
    """What sun and soil do to beds.

    Attributes
    ----------
    led
        (beds, 365): days by which the sun of a bed leads that of open level ground, by
        the day of the season-year.
    lag_days
        (beds,): days by which soil that is clay, or wet in March, comes later.
    seen_days
        (beds,): days by which soil is taken to come earlier where snow was seen to
        leave first, or the ground to dry first; 0 elsewhere.
    """

    led: Floats
    lag_days: Floats
    seen_days: Floats
    worked_from: Floats | float = -np.inf

    def days_led(self, day: Floats) -> Floats:
        """Lead of each bed about its day of the season-year, (beds,)."""
        read = np.where(np.isfinite(day), day, FROM_DAY)
        at = np.clip(read, FROM_DAY, TO_DAY).astype(np.intp) - 1
        return np.asarray(self.led[np.arange(len(at)), at])


def of_beds(
    plots: GeoDataFrame,
    seen: Seen,
    season: SeasonYear,
    means: BedMeans,
    beds: Sequence[Bed],
) -> Ground:
    """What the sun and the soil of each bed do.

    Parameters
    ----------
    plots
        One row for each plot: `name`, `soil`, `wet_in_march` and `first_worked` (month
        and day, or None).
    seen
        Kind of thing seen -> all ground on which it was seen (`Site.seen`).
    season
        The year of growing, in which days are numbered.
    means
        What the beds get of the computed ground, in the order of `beds`: here their
        light.
    beds
        The beds, each with the name of its plot and its outline.
    """
    soils = dict(zip(plots["name"], plots["soil"], strict=True))
    clay = [soils.get(bed.plot) == "clay" for bed in beds]
    # Clay that is wet is wet ground: the two lags are not summed.
    lag_days = np.maximum(
        np.where(clay, CLAY_DAYS, 0.0),
        np.where(wet_in_march(plots, seen, beds), WET_DAYS, 0.0),
    )
    # Of the cells that are shown the most open one stands for open level ground.
    led = _days_led(means.sun_mj_m2_day.T, means.open_sun_mj_m2_day)
    known = Ground(
        season.from_january(led),
        lag_days,
        np.zeros(len(beds)),
        worked_from(plots, season, beds),
    )
    dries = _lies_in(beds, seen(DRIES_FIRST)) & ~_on_wet_plots(plots, beds)
    is_early = _lies_in(beds, seen(SNOW_LEAVES_FIRST)) | dries
    return replace(known, seen_days=_seen_days(is_early, known))


def worked_from(plots: GeoDataFrame, season: SeasonYear, beds: Sequence[Bed]) -> Floats:
    """Day of the season-year from which each bed's plot can be worked.

    Parameters
    ----------
    plots
        One row for each plot: `name` and `first_worked` (month and day, or None).
    season
        The year of growing, in which days are numbered.
    beds
        The beds, each with the name of its plot.

    Returns
    -------
    days
        (beds,) day numbers, in the order of `beds`; -∞ where not known.
    """
    days = dict(zip(plots["name"], plots["first_worked"], strict=True))
    first_worked = [days.get(bed.plot) for bed in beds]
    return np.array(
        [-np.inf if day is None else season.day_of(*day) for day in first_worked]
    )


def wet_in_march(
    plots: GeoDataFrame, seen: Seen, beds: Sequence[Bed]
) -> npt.NDArray[np.bool_]:
    """Beds that the grower knows as wet in March: what was seen there, else the plot's.

    Parameters
    ----------
    plots
        One row for each plot: `name` and `wet_in_march`, which is neither True nor
        False where the grower does not say; then it counts as not wet.
    seen
        Kind of thing seen -> all ground on which it was seen (`Site.seen`): here
        puddles, and ground that dries first.
    beds
        The beds, each with the name of its plot and its outline.

    Returns
    -------
    wet
        (beds,), in the order of `beds`.
    """
    dries = _lies_in(beds, seen(DRIES_FIRST))
    return np.asarray(
        _lies_in(beds, seen(PUDDLES)) | (_on_wet_plots(plots, beds) & ~dries)
    )


def _on_wet_plots(plots: GeoDataFrame, beds: Sequence[Bed]) -> npt.NDArray[np.bool_]:
    """Beds on plots that are said to be wet in March."""
    is_wet = dict(zip(plots["name"], plots["wet_in_march"], strict=True))
    return np.array([is_wet.get(bed.plot) is True for bed in beds], bool)


def _lies_in(beds: Sequence[Bed], ground: BaseGeometry) -> npt.NDArray[np.bool_]:
    """Beds of which half or more lies there."""
    outlines = np.array([bed.outline for bed in beds], object)
    if ground.is_empty:
        return np.zeros(len(outlines), bool)
    shared = shapely.area(shapely.intersection(outlines, ground))
    return np.asarray(shared >= HALF * shapely.area(outlines))


def _seen_days(is_early: npt.NDArray[np.bool_], known: Ground) -> Floats:
    """Days by which beds are earlier by what was seen, against the middle of the others.

    A bed that dries first on a plot that is known as wet has lost that lag already.
    """
    if not is_early.any() or is_early.all():
        return np.zeros(len(is_early))
    behind = known.lag_days - warmth.SOIL_DAYS_PER_SUN_DAY[1] * known.days_led(
        np.full(len(is_early), float(MID_SPRING_DAY))
    )
    moved = evidence.moved_below(
        behind, SPREAD_DAYS, float(np.median(behind[~is_early])), SEEN_IS_RIGHT
    )
    return np.where(is_early, -moved, 0.0)


def _days_led(bed_months: Floats, level_months: Floats) -> Floats:
    """Lead of each bed on each day of the calendar year, (beds, 365).

    The light of level ground is taken as one wave a year, which rises all spring; that
    of a bed is a share of it, month by month.
    """
    # A lead wants light that rises all the way, which straight lines between months of a
    # cloudy place need not do.
    wave = np.fft.rfft(level_months)[:2] / 12
    # Months are given for their middles, half a month after the year begins.
    turn = 2 * np.pi * (np.arange(DAYS) / DAYS - 0.5 / 12)
    level = wave[0].real + 2 * np.real(wave[1] * np.exp(1j * turn))
    if np.ptp(level) < LEAST_SWING * level.mean():
        return np.zeros((len(bed_months), DAYS))
    share = np.divide(
        bed_months,
        level_months,
        out=np.ones_like(bed_months),
        where=level_months > 0,
    )
    daily = daily_of_months(share, np.arange(DAYS))
    led = warmth.sun_days_led(daily * level, level)
    # From midsummer to midwinter there is no lead, and no crop waits for soil to warm.
    return np.clip(np.nan_to_num(led), -MOST_DAYS_LED, MOST_DAYS_LED)


def reason(lag_days: float, seen_days: float) -> Fact | None:
    """Why the soil of a bed is late or early; None if it is not."""
    if seen_days >= lag_days and round(seen_days):
        return Fact("soil_seen_early", number=round(seen_days))
    if not lag_days:
        return None
    return Fact("soil_wet" if lag_days == WET_DAYS else "soil_clay", days=lag_days)


def remarks(ground: Ground) -> list[Fact]:
    """What was added for soils, and taken off for what was seen on them."""
    kinds = ((CLAY_DAYS, "soil_days_on_clay"), (WET_DAYS, "soil_days_where_wet"))
    added = [
        Fact(kind, days=days) for days, kind in kinds if (ground.lag_days == days).any()
    ]
    most = round(float(ground.seen_days.max(initial=0.0)))
    return [
        *([Fact("dates_soil_later", said=added)] if added else []),
        *([Fact("dates_soil_seen_early", number=most)] if most else []),
    ]
