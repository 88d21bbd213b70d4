"""What covers do through the year, and what hands they take."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldmap.decide.crop_plan.cover_stock import (
    open_minutes,
    opened_weeks,
)
from fieldmap.decide.crop_plan.model import CoverAccount, Turn
from fieldmap.decide.materials.cover_size import GATHERED_M
from fieldmap.model.season_year import WEEKS, week_of
from layers.cover import COVERS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from fieldmap.decide.crop_plan.cover_stock import Supplies
    from fieldmap.decide.crop_plan.model import CoverUse

LEAST_BUY_M = 5.0  # a gap that is smaller is none (a choice)


def covers(
    turns: Sequence[Turn],
    without_end: Sequence[Turn],
    lengths_m: Mapping[str, float],
    supplies: Supplies,
) -> tuple[CoverAccount, ...]:
    """One account for each kind that is owned, used or worth buying.

    Parameters
    ----------
    without_end
        What would go where if every cover were there in any length.
    lengths_m
        Of beds, by name.
    """
    owned = dict.fromkeys(cover.kind for cover in supplies.covers)
    wanted = dict.fromkeys(use.kind for turn in without_end for use in turn.covers)
    accounts = [
        _account(kind, turns, without_end, lengths_m, supplies)
        for kind in dict.fromkeys([*owned, *sorted(wanted)])
        if COVERS[kind].kind != "net"
    ]
    return tuple(each for each in accounts if each.owned_m or each.buy_m)


def _account(
    kind: str,
    turns: Sequence[Turn],
    without_end: Sequence[Turn],
    lengths_m: Mapping[str, float],
    supplies: Supplies,
) -> CoverAccount:
    used_m, won = _use(kind, turns, lengths_m)
    dreamt_m, more = _use(kind, without_end, lengths_m)
    usable_m = supplies.usable_m(kind)
    gap_m = max(max(dreamt_m) - usable_m, 0.0)
    buys = gap_m >= LEAST_BUY_M and more > won
    return CoverAccount(
        kind=kind,
        owned_m=supplies.owned_m(kind),
        too_narrow_m=supplies.owned_m(kind) - usable_m,
        used_m=tuple(used_m),
        days_per_metre=won / max(used_m) if max(used_m) else 0.0,
        buy_m=gap_m if buys else 0.0,
        buy_days_per_metre=(more - won) / gap_m if buys else 0.0,
    )


def _of_kind(kind: str, turns: Sequence[Turn]) -> Iterator[tuple[Turn, CoverUse]]:
    for turn in turns:
        for use in turn.covers:
            if use.kind == kind:
                yield turn, use


def _use(
    kind: str, turns: Sequence[Turn], lengths_m: Mapping[str, float]
) -> tuple[list[float], float]:
    """Metres by week, and days won times metres of bed."""
    used_m, won = [0.0] * WEEKS, 0.0
    for turn, use in _of_kind(kind, turns):
        won += use.days * lengths_m[turn.bed]
        for week in range(week_of(use.from_day), week_of(use.to_day) + 1):
            used_m[week] += lengths_m[turn.bed] + GATHERED_M
    return used_m, won


def minutes(
    turns: Sequence[Turn], lengths_m: Mapping[str, float], supplies: Supplies
) -> tuple[float, ...]:
    """Minutes of opening on a morning of each week; closing takes as many."""
    found = [0.0] * WEEKS
    for turn in turns:
        for use in turn.covers:
            weeks = week_of(use.from_day), week_of(use.to_day)
            for week in opened_weeks(supplies.opened[use.kind], weeks):
                found[week] += open_minutes(lengths_m[turn.bed])
    return tuple(found)
