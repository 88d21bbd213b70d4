"""What covers do through the year, and what hands they take."""

from collections.abc import Mapping, Sequence

from fieldmap.decide.crop_plan.cover_stock import (
    CoverStock,
    open_minutes,
    opened_weeks,
)
from fieldmap.decide.crop_plan.model import CoverUsage, Stay
from fieldmap.decide.materials.cover_size import GATHERED_M
from fieldmap.model.season_year import WEEKS, week_of
from layers.cover import COVERS

LEAST_BUY_M = 5.0  # a gap that is smaller is none (a choice)


def usage(
    stays: Sequence[Stay],
    unlimited: Sequence[Stay],
    lengths_m: Mapping[str, float],
    stock: CoverStock,
) -> tuple[CoverUsage, ...]:
    """One entry for each kind that is owned, used or worth buying.

    Parameters
    ----------
    unlimited
        What would go where if every cover were there in any length.
    lengths_m
        Of beds, by name.
    """
    owned = dict.fromkeys(cover.kind for cover in stock.covers)
    wanted = {use.kind for stay in unlimited for use in stay.covers}
    entries = [
        _of_kind(kind, stays, unlimited, lengths_m, stock)
        for kind in dict.fromkeys([*owned, *sorted(wanted)])
        if COVERS[kind].kind != "net"
    ]
    return tuple(each for each in entries if each.owned_m or each.buy_m)


def _of_kind(
    kind: str,
    stays: Sequence[Stay],
    unlimited: Sequence[Stay],
    lengths_m: Mapping[str, float],
    stock: CoverStock,
) -> CoverUsage:
    used_m, won = _use(kind, stays, lengths_m)
    unlimited_m, more = _use(kind, unlimited, lengths_m)
    usable_m = stock.usable_m(kind)
    gap_m = max(max(unlimited_m) - usable_m, 0.0)
    buys = gap_m >= LEAST_BUY_M and more > won
    return CoverUsage(
        kind=kind,
        owned_m=stock.owned_m(kind),
        too_narrow_m=stock.owned_m(kind) - usable_m,
        used_m=tuple(used_m),
        days_per_metre=won / max(used_m) if max(used_m) else 0.0,
        buy_m=gap_m if buys else 0.0,
        buy_days_per_metre=(more - won) / gap_m if buys else 0.0,
    )


def _use(
    kind: str, stays: Sequence[Stay], lengths_m: Mapping[str, float]
) -> tuple[list[float], float]:
    """Metres by week, and days won times metres of bed."""
    used_m, won = [0.0] * WEEKS, 0.0
    for stay in stays:
        for use in stay.covers:
            if use.kind != kind:
                continue
            won += use.days * lengths_m[stay.bed]
            for week in range(week_of(use.from_day), week_of(use.to_day) + 1):
                used_m[week] += lengths_m[stay.bed] + GATHERED_M
    return used_m, won


def minutes(
    stays: Sequence[Stay], lengths_m: Mapping[str, float], stock: CoverStock
) -> tuple[float, ...]:
    """Minutes of opening on a morning of each week; closing takes as many."""
    found = [0.0] * WEEKS
    for stay in stays:
        for use in stay.covers:
            weeks = week_of(use.from_day), week_of(use.to_day)
            for week in opened_weeks(stock.opened[use.kind], weeks):
                found[week] += open_minutes(lengths_m[stay.bed])
    return tuple(found)
