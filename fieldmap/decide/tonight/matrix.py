"""The same advice for several lows side by side: crops by plot, as it hangs on a wall."""

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from typing import NamedTuple

import pandas as pd

from fieldmap.decide.tonight.advice import (
    Advice,
    Held,
    PlotAdvice,
    Row,
    UsedCover,
    Verdict,
)
from fieldmap.decide.tonight.answer import Odds
from fieldmap.decide.tonight.evenings import Evenings, Spell
from fieldmap.decide.tonight.forecast import Forecast, celsius
from fieldmap.decide.tonight.standing import Keeps
from fieldmap.decide.tonight.work import NightHours
from fieldmap.model.settings import Units

# Lows in the units of the site, the warmest first.
LOWS_ON_WALL = {"metric": (4, 2, 0, -2, -4, -6), "us": (40, 36, 32, 28, 24, 20)}
# A sheet is made for the evening of these weeks on which most wants a cover (a choice).
WEEKS_AHEAD = timedelta(weeks=6)


class Laid(NamedTuple):
    """One kind of cover over some beds of a crop.

    Attributes
    ----------
    parts_m
        Beds of which only a part is covered, from where to where from the gate end.
    """

    kind: str
    cover_m: float
    beds: tuple[str, ...]
    is_all: bool
    odds: Odds
    parts_m: tuple[tuple[str, float, float], ...] = ()


class Cell(NamedTuple):
    """A crop of a plot at one low.

    Attributes
    ----------
    verdict
        Of those that are not covered, the first of "short", "lost", "odds", "leave" that
        any has; "cover" where all are.
    """

    verdict: Verdict
    laid: tuple[Laid, ...]


class Line(NamedTuple):
    """A crop of a plot, or several that are left alike, at every low.

    Attributes
    ----------
    keeps
        Of each crop, why it wants no cover on any of its beds here; "" where it may.
    """

    crops: tuple[str, ...]
    keeps: tuple[Keeps, ...]
    beds: tuple[str, ...]
    cells: tuple[Cell, ...]


class Block(NamedTuple):
    """A plot.

    Attributes
    ----------
    gate_m
        To its first planted bed; NaN without a gate.
    colder_c
        How much colder than the forecast its coldest planted bed likely is.
    """

    plot: str
    gate_m: float
    colder_c: float
    lines: tuple[Line, ...]


class Matrix(NamedTuple):
    """All of the sheet, for clear and calm nights.

    Attributes
    ----------
    day, until
        The first and the last evening on which the same stands, as hard and as old in
        weeks: the sheet holds for these and no others.
    lows
        In the units of the site.
    covers, held, minutes
        For each low.
    night
        Of those evenings the one on which work has to be done the earliest.
    plan_order
        As `EveningRound.plan_order`.
    has_tunnels
        Whether walk-in tunnels stand or are planned.
    """

    day: date
    until: date
    lows: tuple[int, ...]
    blocks: tuple[Block, ...]
    covers: tuple[tuple[UsedCover, ...], ...]
    held: tuple[Held, ...]
    minutes: tuple[int, ...]
    night: NightHours
    plan_order: tuple[str, ...]
    has_tunnels: bool = False


def matrix(
    evenings: Evenings, starts: date, coldest_c: Sequence[float], units: Units
) -> Matrix | None:
    """The sheet from a day on; None where nothing stands in the twelve months after it.

    Parameters
    ----------
    evenings
        What any evening's advice is made from.
    starts
        First of the twelve months' evenings.
    coldest_c
        Coldest low of the record in each month [°C], January first; −∞ where it has
        none.
    units
        Units of the site, in which lows are whole.
    """
    spell = _spell(evenings, starts, coldest_c, units)
    if spell is None:
        return None
    lows = LOWS_ON_WALL[units]
    forecasts = [_still(low, units) for low in lows]
    advices = tuple(evenings.advise_spell(spell, forecasts))
    return Matrix(
        spell.stand.day,
        spell.until,
        lows,
        tuple(_blocks(advices)),
        tuple(each.covers for each in advices),
        tuple(each.held for each in advices),
        tuple(each.minutes for each in advices),
        spell.shortest,
        evenings.round_.plan_order,
        evenings.round_.has_tunnels,
    )


def coldest_by_month(tmin_c: pd.Series) -> tuple[float, ...]:
    """The coldest low of a record in each month, January first; −∞ where it has none.

    Examples
    --------
    >>> days = pd.date_range("2020-01-31", periods=2)
    >>> coldest_by_month(pd.Series([-3.0, 1.0], days))[:3]
    (-3.0, 1.0, -inf)
    """
    found = tmin_c.dropna()
    least = found.groupby(pd.DatetimeIndex(found.index).month).min()
    return tuple(float(least.get(month, -math.inf)) for month in range(1, 13))


def _still(low: int, units: Units) -> Forecast:
    return Forecast(celsius(low, units), "clear", "calm")


# ------------------------------------------------------------------ for which evening
def _spell(
    evenings: Evenings, starts: date, coldest_c: Sequence[float], units: Units
) -> Spell | None:
    """Of the next evenings on which anything may want a cover, those with most of it.

    Where nothing ever does, the first on which anything stands.
    """
    found: Spell | None = None
    most, last_day = 0, date.max
    for spell in evenings.spells(starts):
        if spell.stand.day > last_day:
            break
        wanted = _wanted(evenings, spell, coldest_c, units)
        # Weeks count from the first evening on which anything wants a cover at all.
        if wanted and not most:
            last_day = spell.stand.day + WEEKS_AHEAD
        if found is None or wanted > most:
            found, most = spell, wanted
    return found


def _wanted(
    evenings: Evenings, spell: Spell, coldest_c: Sequence[float], units: Units
) -> int:
    """Most crops on beds that want a cover at a low that this month has seen."""
    known_c = coldest_c[spell.stand.day.month - 1]
    nights = [_still(low, units) for low in LOWS_ON_WALL[units]]
    seen = [night for night in nights if night.low_c >= known_c]
    counts = [
        sum(row.verdict in ("cover", "short") for row in advice.rows)
        for advice in evenings.advise_spell(spell, seen)
    ]
    return max(counts, default=0)


# ------------------------------------------------------------------ crops by plot
def _blocks(advices: Sequence[Advice]) -> Iterator[Block]:
    """Every advice has the same plots and rows, each with its own answers."""
    for plots in zip(*(advice.plots for advice in advices), strict=True):
        first: PlotAdvice = plots[0]
        low_c = advices[0].forecast.low_c
        yield Block(
            first.plot,
            first.rows[0].stop.gate_m,
            low_c - first.likely_c[0],
            tuple(_lines([plot.rows for plot in plots])),
        )


def _lines(by_low: Sequence[Sequence[Row]]) -> Iterator[Line]:
    """A line for each crop, apart inside a tunnel; those never covered and alike share one."""
    # Inside a tunnel a crop has air and covers of its own.
    crops: dict[tuple[str, str], list[tuple[Row, ...]]] = {}
    for rows in zip(*by_low, strict=True):
        here = rows[0].standing.crop, rows[0].stop.tunnel
        crops.setdefault(here, []).append(rows)
    merged: dict[object, Line] = {}
    for (crop, tunnel), its_rows in crops.items():
        cells = tuple(_cell(rows) for rows in zip(*its_rows, strict=True))
        beds = tuple(rows[0].standing.bed for rows in its_rows)
        is_covered = any(cell.laid for cell in cells)
        key: object = (tunnel, crop if is_covered else cells)
        before = merged.get(key, Line((), (), (), cells))
        reasons = {rows[0].standing.keeps for rows in its_rows}
        keeps = reasons.pop() if len(reasons) == 1 else ""
        merged[key] = Line(
            (*before.crops, crop),
            (*before.keeps, keeps),
            (*before.beds, *beds),
            cells,
        )
    yield from merged.values()


def _cell(rows: Sequence[Row]) -> Cell:
    verdicts: tuple[Verdict, ...] = ("short", "lost", "odds", "leave", "cover")
    found = next(each for each in verdicts if any(r.verdict == each for r in rows))
    return Cell(found, tuple(_laid(rows)))


def _laid(rows: Iterable[Row]) -> Iterator[Laid]:
    every = list(rows)
    covered = sorted(
        (row for row in every if row.piece is not None), key=_kind_and_odds
    )
    for (kind, odds), group in itertools.groupby(covered, _kind_and_odds):
        same = list(group)
        yield Laid(
            kind,
            sum(row.piece.cover_m for row in same if row.piece),
            tuple(row.standing.bed for row in same),
            len(same) == len(every) and not any(row.is_in_part for row in same),
            odds,
            tuple((row.standing.bed, *row.part_m) for row in same if row.part_m),
        )


def _kind_and_odds(row: Row) -> tuple[str, Odds]:
    assert row.piece is not None
    return row.piece.kind, row.piece.odds
