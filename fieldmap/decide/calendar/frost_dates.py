"""Last frost of spring and first of autumn on each bed, under each cover, at a risk."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from fieldmap.analyse.climatology import FEWEST_YEARS, SAME_C, Record
from fieldmap.decide.calendar.bed_temperatures import (
    CLEAR_STEP_C,
    OTHER_STEP_C,
    Shifts,
    grid_c,
)
from fieldmap.decide.calendar.monte_carlo import Draws
from fieldmap.model.crops import Crop, DamageTemperature
from layers import freeze, odds, scatter
from layers.nights import MIXED, STILL, WINDY

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.intp]


class _Freezes(NamedTuple):
    """Freezes of one half of the year by kind of night and step of a shift.

    Attributes
    ----------
    still
        (years, levels, offsets, bases): as `layers.scatter` has them.
    other
        (kinds of night, shifts, years): of mixed and of windy nights.
    known
        (years,): those that the record vouches for.
    """

    still: scatter.Days
    other: Floats
    known: npt.NDArray[np.bool_]


def frost_dates(
    record: Record,
    shifts: Shifts,
    limit: DamageTemperature,
    risk: float,
    draws: Draws,
    *,
    is_autumn: bool,
) -> Floats:
    """Day of the season-year after spring's last freeze, or before autumn's first.

    (draws, covers, beds). A year's last freeze is the latest one of its still, its
    mixed and its windy nights. That of still nights strays with them: each year of a
    draw takes one of its equally likely dates.

    Parameters
    ----------
    record
        Weather record of the station: its night minima by kind of night.
    shifts
        What is added to those minima on each bed, under each cover, in each draw.
    limit
        The temperature that does the damage: at the screen on still nights, as the
        source gives it on others.
    risk
        Share of years in which the freeze may come later in spring, or sooner in
        autumn; above 0 and below 1. Under `FEWEST_YEARS` known years the safe side of
        the range for the next year is taken.
    draws
        Draws of what is not known: here the years, and which date each takes.
    is_autumn
        Whether the first freeze of autumn is meant; else the last of spring.

    Raises
    ------
    ValueError
        When the risk is not above 0 and below 1, where years are known.
    """
    table = _freezes(record, shifts, limit, is_autumn=is_autumn)
    level = draws.in_autumn if is_autumn else draws.in_spring
    # Odds of a few years lie too far apart to be read off the years themselves.
    at_risk = _at_risk if table.known.sum() >= FEWEST_YEARS else _safe_side
    days = np.empty((*shifts.base.shape, len(shifts.height)))
    for draw, years in enumerate(draws.years):
        at, back = shifts.places[draw]
        yearly = freeze.of_all_kinds(
            table.still,
            table.other,
            at,
            _taken(table.known, years),
            level[draw],
            is_first=is_autumn,
        )
        days[draw] = at_risk(yearly, risk, is_autumn=is_autumn)[back]
    return days


def frost_free_days(
    record: Record,
    shifts: Shifts,
    limit: DamageTemperature,
    risks: Sequence[float],
    draws: Draws,
) -> Floats:
    """Days from the last freeze of spring to the first of autumn, at least, at risks.

    (risks, draws, covers, beds). Both freezes are of one year of a draw, so that a short
    season counts once, and not as a late spring and an early autumn of their own.

    Parameters
    ----------
    record
        Weather record of the station: its night minima by kind of night.
    shifts
        What is added to those minima on each bed, under each cover, in each draw.
    limit
        The temperature that ends the season: at the screen on still nights, as the
        source gives it on others.
    risks
        Shares of years, at most 0.5, whose season is shorter. Under `FEWEST_YEARS`
        known years the safe side of the range for the next year is taken.
    draws
        Draws of what is not known: here the years, and which dates each takes.

    Returns
    -------
    days
        NaN for beds on unknown ground, and everywhere with fewer than two known years.

    Raises
    ------
    ValueError
        When a risk is not above 0 and below 1, where years are known.
    """
    halves = [_freezes(record, shifts, limit, is_autumn=each) for each in (False, True)]
    known = halves[0].known & halves[1].known
    is_enough = known.sum() >= FEWEST_YEARS
    at_risk = odds.safe_before if is_enough else _shortest_of_few_years
    days = np.full((len(risks), *shifts.base.shape, len(shifts.height)), np.nan)
    if known.sum() < 2:
        return days
    for draw, years in enumerate(draws.years):
        at, back = shifts.places[draw]
        taken = _taken(known, years)
        last, first = (
            freeze.of_all_kinds(
                table.still, table.other, at, taken, level[draw], is_first=is_first
            )
            for table, level, is_first in zip(
                halves, (draws.in_spring, draws.in_autumn), (False, True), strict=True
            )
        )
        yearly = freeze.season_days(last, first)
        for number, risk in enumerate(risks):
            days[number, draw] = at_risk(yearly, risk)[back]
    days[..., shifts.unknown] = np.nan
    return days


def _shortest_of_few_years(yearly: Floats, risk: float) -> Floats:
    return _of_few_years(yearly, risk)[0]


def _freezes(
    record: Record, shifts: Shifts, limit: DamageTemperature, *, is_autumn: bool
) -> _Freezes:
    """Those of a limit in spring or in autumn, for all that comes up on beds."""
    # A night is a freeze where its minimum and its shift come to the limit or less, so one
    # record is asked at limits less shifts, and not one record for each bed.
    reach, clear_limit_c = shifts.reach, limit.screen_c.central
    limits_c = clear_limit_c - grid_c(*reach.base, CLEAR_STEP_C)
    still = record.still_freezes(limits_c, reach.law, shifts.used, is_autumn=is_autumn)
    limits_c = limit.value - grid_c(*reach.other, OTHER_STEP_C)
    half = int(is_autumn)
    mixed, windy = (record.freezes(limits_c, kind)[half] for kind in (MIXED, WINDY))
    # Years count by the warmest limit that is at stake, that of still nights.
    known = record.known(clear_limit_c)[half]
    return _Freezes(still, _by_year(mixed, windy), known)


def _by_year(mixed: Floats, windy: Floats) -> Floats:
    """Both as one, (2, shifts, years), with shifts side by side."""
    return np.swapaxes(np.stack([mixed.T, windy.T]), 1, 2)


def _taken(known: npt.NDArray[np.bool_], years: Whole) -> Whole:
    """The known years of a draw; all known ones where the draw has too few for odds."""
    taken = years[known[years]]
    if int(known.sum()) < FEWEST_YEARS or len(taken) < FEWEST_YEARS:
        return np.flatnonzero(known)
    return taken


def _at_risk(yearly: Floats, risk: float, *, is_autumn: bool) -> Floats:
    """Date after the last freezes of years, or before the first, at a risk."""
    return (odds.safe_before if is_autumn else odds.safe_after)(yearly, risk)


def _safe_side(yearly: Floats, risk: float, *, is_autumn: bool) -> Floats:
    """The same of years too few for odds: the safe side of the range."""
    low, high = _of_few_years(yearly, risk)
    return low if is_autumn else high


def _of_few_years(yearly: Floats, risk: float) -> tuple[Floats, Floats]:
    """Low and high of the next year's date; the years' own ends with a single freeze."""
    # No range without a spread: the date stays unknown.
    if yearly.shape[-1] < 2:
        return np.full(len(yearly), np.nan), np.full(len(yearly), np.nan)
    low, high = odds.few_years_range(yearly, risk)
    return (
        np.where(np.isnan(low), yearly.min(axis=-1), low),
        np.where(np.isnan(high), yearly.max(axis=-1), high),
    )


def winters(record: Record, shifts: Shifts, crop: Crop) -> Floats:
    """Share of winters whose coldest night a crop left standing survives, (covers, beds).

    Of whole winters from midsummer to midsummer, with the middle of all draws; NaN where
    no winter is known.

    Parameters
    ----------
    record
        Weather record of the station, with the coldest night of each winter by kind.
    shifts
        What is added to its minima on each bed, under each cover; the median of the
        draws counts.
    crop
        The crop, with the temperature that ends it: of a root in the soil, or of leaves
        that cold has hardened.
    """
    known = ~np.isnan(record.coldest_of_winters(STILL))
    if not known.any():
        return np.full((shifts.base.shape[1], len(shifts.height)), np.nan)
    # Offsets and the reference vary together: the middle of their sum, not of each.
    still = CLEAR_STEP_C * np.median(
        shifts.base[:, :, np.newaxis] + shifts.offset[:, np.newaxis], axis=0
    )
    left = np.median(
        [shifts.left(draw, offset) for draw, offset in enumerate(shifts.offset)], axis=0
    )
    gains = (np.median(each, axis=0) for each in (shifts.mixed_gain, shifts.windy_gain))
    mixed, windy = (gain[:, np.newaxis] + shifts.height for gain in gains)
    shift_c = {
        STILL: still,
        MIXED: OTHER_STEP_C * (mixed + left),
        WINDY: OTHER_STEP_C * windy,
    }
    limit = crop.late_damage_c
    lives = True
    for kind, shift in shift_c.items():
        coldest_c = record.coldest_of_winters(kind)
        limit_c = limit.screen_c.central if kind == STILL else limit.value
        lives = lives & (coldest_c + shift[..., np.newaxis] > limit_c + SAME_C)
    return np.asarray(np.mean(np.asarray(lives)[..., known], axis=-1))
