"""What covers do through the year, and what hands they take."""

from collections.abc import Container, Iterator, Mapping, Sequence
from typing import NamedTuple

from fieldmap.decide.crop_plan.cover_stock import (
    CoverStock,
    open_minutes,
)
from fieldmap.decide.crop_plan.model import CoverUsage, CoverUse, CropPlan, Stay
from fieldmap.decide.layout.beds import Bed, joined
from fieldmap.decide.materials.cover_size import GATHERED_M
from fieldmap.decide.materials.sheets import Covered, Laid, out_by_week_m
from fieldmap.decide.materials.tunnel_covers import TunnelShade
from fieldmap.model.season_year import WEEKS, week_of
from layers.cover import COVERS

WEEK_DAYS = 7  # in which a cover may lie rolled up beside its bed (a choice)
LEAST_BUY_M = 5.0  # a gap that is smaller is none (a choice)
BedSize = tuple[int, float, float]  # place among the beds, length and width


def covered(stays: Sequence[Stay], sizes: Mapping[str, BedSize]) -> list[Covered]:
    """Beds that want covers, and when."""
    return [
        Covered(
            place,
            stay.length_m(bed_m),
            width_m,
            use.kind,
            (week_of(use.from_day), week_of(use.to_day)),
            0.0 if stay.part is None else stay.part.start_m,
        )
        for stay in stays
        for place, bed_m, width_m in (sizes[stay.bed],)
        for use in stay.covers
    ]


def usage(
    stays: Sequence[Stay],
    laid: Laid,
    unlimited: Sequence[Stay],
    more: Laid,
    lengths_m: Mapping[str, float],
    stock: CoverStock,
) -> tuple[CoverUsage, ...]:
    """One entry for each kind that is owned, used or worth buying.

    Parameters
    ----------
    stays
        What goes where.
    laid
        Pieces over the beds of `stays`.
    unlimited
        What would go where if every cover were there in any length.
    more
        Pieces over the beds of `unlimited`, and what found none.
    lengths_m
        Name of a bed -> its length.
    stock
        Covers that are owned.
    """
    owned = dict.fromkeys(cover.kind for cover in stock.covers)
    wanted = {use.kind for stay in unlimited for use in stay.covers}
    entries = []
    for kind in dict.fromkeys([*owned, *sorted(wanted)]):
        # A net against insects wins no days, whatever it is worth.
        if COVERS[kind].kind == "net":
            continue
        won = _days_won(kind, stays, lengths_m)
        gain = _days_won(kind, unlimited, lengths_m) - won
        entries.append(_of_kind(kind, won, laid, gain, more, stock))
    return tuple(each for each in entries if each.owned_m or each.buy_m)


def _of_kind(
    kind: str, won: float, laid: Laid, gain: float, more: Laid, stock: CoverStock
) -> CoverUsage:
    used_m = out_by_week_m(each for each in laid.sheets if each.kind == kind)
    # The week that lacks most: what is bought for it serves all others.
    lacks_m = max(_lacking_m(kind, more.left))
    buys = lacks_m >= LEAST_BUY_M and gain > 0
    return CoverUsage(
        kind=kind,
        owned_m=stock.owned_m(kind),
        too_narrow_m=stock.owned_m(kind) - stock.usable_m(kind),
        used_m=tuple(used_m),
        days_per_metre=won / max(used_m) if max(used_m) else 0.0,
        buy_m=lacks_m if buys else 0.0,
        buy_days_per_metre=gain / lacks_m if buys else 0.0,
    )


def reached_m(kind: str, laid: Laid, beds: Sequence[Bed]) -> float:
    """Length of bed under pieces in the week that leaves some out, where it is least.

    Gathered ends included, bed by bed, as the solver counts.

    Parameters
    ----------
    kind
        Kind of cover, of which some bed is left without a piece.
    laid
        Pieces over beds, and what found none.
    beds
        All beds, in the order by which sheets count them.
    """
    reached = [0.0] * WEEKS
    for sheet in laid.sheets:
        if sheet.kind == kind:
            # A sheet over beds of unequal length is as long as the longest, and one over
            # a part of a bed no longer than the part.
            here_m = sum(
                min(beds[at].length_m, sheet.along_m) + GATHERED_M
                for at in sheet.places
            )
            for week in range(sheet.weeks[0], sheet.weeks[1] + 1):
                reached[week] += here_m
    lacking = _lacking_m(kind, laid.left)
    return min(m for m, lacks in zip(reached, lacking, strict=True) if lacks)


def _days_won(
    kind: str, stays: Sequence[Stay], lengths_m: Mapping[str, float]
) -> float:
    """Days won times metres of bed."""
    return sum(
        use.days * stay.length_m(lengths_m[stay.bed])
        for stay in stays
        for use in stay.covers
        if use.kind == kind
    )


def _lacking_m(kind: str, left: Sequence[Covered]) -> list[float]:
    """Length of cover, by week, for beds that no piece is there for."""
    found = [0.0] * WEEKS
    for each in left:
        if each.kind == kind:
            for week in range(each.weeks[0], each.weeks[1] + 1):
                found[week] += each.length_m + GATHERED_M
    return found


def minutes(
    stays: Sequence[Stay],
    lengths_m: Mapping[str, float],
    stock: CoverStock,
    inside: Container[str] = (),
) -> tuple[float, ...]:
    """Minutes of opening on a morning of each week; closing takes as many.

    Parameters
    ----------
    stays
        What goes where, with its covers.
    lengths_m
        Name of a bed -> its length.
    stock
        Says which covers must be opened in which weeks.
    inside
        Names of the beds inside walk-in tunnels.

    Returns
    -------
    minutes
        One for each week of the season-year.
    """
    found = [0.0] * WEEKS
    for stay in stays:
        for use in stay.covers:
            weeks = week_of(use.from_day), week_of(use.to_day)
            for week in stock.opened_in(use.kind, weeks, inside=stay.bed in inside):
                found[week] += open_minutes(stay.length_m(lengths_m[stay.bed]))
    return tuple(found)


def days_out(
    stays: Sequence[Stay], which: Container[tuple[str, str]]
) -> list[tuple[int, int]]:
    """When any of some covers lies out; spans that meet within a week are one.

    Parameters
    ----------
    stays
        Of all crops.
    which
        Bed and kind of each cover.

    Returns
    -------
    First and last day of each span, as day numbers of the season-year.
    """
    days = (
        (use.from_day, use.to_day)
        for stay in stays
        for use in stay.covers
        if (stay.bed, use.kind) in which
    )
    return list(joined(days, WEEK_DAYS))


class PlannedShade(NamedTuple):
    """Where a plan has shade cloth, and for what.

    Attributes
    ----------
    beds
        Names, in the order of the plan.
    crops, tunnels
        Under the cloth on these beds; walk-in tunnels that have cloth over their film.
    days
        Month and day on which the first cloth goes on and the last comes off; empty where
        none is.
    without
        Of the same crops, by crop, the names of the beds on which one stands without
        cloth, in order. The reasons are many: the days there, its light, no room for
        hoops, cloth that is in use.
    """

    beds: tuple[str, ...] = ()
    crops: tuple[str, ...] = ()
    tunnels: tuple[str, ...] = ()
    days: tuple[tuple[int, int], ...] = ()
    without: tuple[tuple[str, tuple[str, ...]], ...] = ()


def planned_shade(
    crop_plan: CropPlan, tunnels: Sequence[TunnelShade], order: Sequence[str]
) -> PlannedShade:
    """Shade cloth of a plan.

    Parameters
    ----------
    crop_plan
        What grows where, with its covers.
    tunnels
        Cloth over walk-in tunnels.
    order
        Names of the beds that the map draws, in order.
    """
    hung = [
        (stay, use)
        for stay in crop_plan.stays
        for use in stay.covers
        if COVERS[use.kind].kind == "shade cloth" and stay.bed in order
    ]
    spans = [(each.from_day, each.to_day) for _stay, each in hung]
    spans += [(each.from_day, each.to_day) for each in tunnels]
    under = {stay.bed for stay, _use in hung}
    crops = tuple(dict.fromkeys(stay.crop for stay, _use in hung))
    return PlannedShade(
        tuple(bed for bed in order if bed in under),
        crops,
        tuple(dict.fromkeys(each.tunnel for each in tunnels)),
        tuple(
            crop_plan.season.month_day_of_any_year(day)
            for day in (min(spans)[0], max(last for _first, last in spans))
        )
        if spans
        else (),
        tuple(_without_cloth(crops, crop_plan.stays, hung, order)),
    )


def _without_cloth(
    crops: Sequence[str],
    stays: Sequence[Stay],
    hung: Sequence[tuple[Stay, CoverUse]],
    order: Sequence[str],
) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Crops with the beds on which they never have cloth, where there are some."""
    shaded = {(stay.crop, stay.bed) for stay, _use in hung}
    bare = {(stay.crop, stay.bed) for stay in stays} - shaded
    for crop in crops:
        beds = tuple(bed for bed in order if (crop, bed) in bare)
        if beds:
            yield crop, beds
