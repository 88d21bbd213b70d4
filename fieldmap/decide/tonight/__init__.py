"""Tonight: from the forecast low at the station to what is covered of what stands there.

What stands on the beds comes from the field log or the plan; covers that are owned go
where each metre saves most, until the last one; the walk begins at the gate.
"""

import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import NamedTuple

from fieldmap.decide.tonight.advice import (
    Advice,
    Harmed,
    PlotAdvice,
    Row,
    Task,
    UsedCover,
    Verdict,
)
from fieldmap.decide.tonight.allot import Piece, Want, allot
from fieldmap.decide.tonight.answer import WARMING, Bare, Outlook, outlook, parts_of
from fieldmap.decide.tonight.dusk import Dusk
from fieldmap.decide.tonight.evening_round import EveningRound, Stop
from fieldmap.decide.tonight.forecast import Forecast
from fieldmap.decide.tonight.held import held
from fieldmap.decide.tonight.standing import Stand, Standing
from fieldmap.decide.tonight.work import NightHours, minutes_for_two
from fieldmap.model.fact import Fact
from layers.cover import COVERS

__all__ = ["Advice", "Task", "Walk", "advise"]


class Met(NamedTuple):
    """A crop as it is met on the walk.

    Attributes
    ----------
    covers
        That may be used for it there; none for what keeps by itself.
    """

    stop: Stop
    standing: Standing
    covers: tuple[str, ...]


class Walk(NamedTuple):
    """The round of an evening, whatever its forecast.

    Attributes
    ----------
    round_
        Beds in walking order, and what is owned: the same on every evening.
    stand
        What stands on the beds this evening.
    met
        Each crop, in walking order.
    """

    round_: EveningRound
    stand: Stand
    met: tuple[Met, ...]

    @classmethod
    def over(cls, round_: EveningRound, stand: Stand) -> "Walk":
        """The round over what stands on an evening."""
        on_bed: dict[str, list[Standing]] = {}
        for each in stand.standing:
            on_bed.setdefault(each.bed, []).append(each)
        met = (
            Met(stop, each, _usable(stop, each, round_.covers_of))
            for stop in round_.stops
            for each in on_bed.get(stop.ranked.bed.name, ())
        )
        return cls(round_, stand, tuple(met))


def _usable(
    stop: Stop, standing: Standing, covers_of: Mapping[str, tuple[str, ...]]
) -> tuple[str, ...]:
    """Covers for a crop: inside a tunnel its film is over it, and fabric alone goes in."""
    covers = () if standing.keeps else covers_of[standing.crop]
    if not stop.tunnel:
        return covers
    return tuple(kind for kind in covers if COVERS[kind].kind == "fabric")


def advise(
    walk: Walk, forecast: Forecast, night: NightHours, dusk: Dusk | None = None
) -> Advice:
    """What to cover tonight, with what, what to leave, and what cannot be saved.

    For the decision the coldest plausible offset, the least worth of a cover and the
    safest limit of the crop count; what is likely stands beside it. Nights that are not
    clear and calm take the bed's height, what is left of its offset and what covers are
    worth on windy nights. A windy night has no list.

    Parameters
    ----------
    walk
        What one meets on the round of this evening.
    forecast
        Low at the station, sky and wind of the night.
    night
        Sunset and sunrise, by which work is done and harm begins.
    dusk
        Air at the station two hours after sunset; None where nobody knows it.
    """
    round_, stand, _met = walk
    facts, met = _in_the_air(walk, forecast)
    rows = _rows(round_, met, is_still=forecast.is_still)
    covered = [row for row in rows if row.piece is not None]
    minutes = _minutes(round_, covered)
    return Advice(
        forecast,
        stand,
        round_.of_station,
        tuple(facts),
        plots=tuple(_by_plot(rows)),
        covers=tuple(_used(round_, covered)),
        held=held(covered, round_.hoops, round_.paths_m),
        minutes=minutes,
        done_by=night.done_by,
        begin_by=night.begin_by(minutes),
        harmed=tuple(_harmed(rows, night, dusk)) if forecast.is_still else (),
        dusk=dusk,
        has_tunnels=round_.has_tunnels,
        plan_order=round_.plan_order,
    )


def _in_the_air(
    walk: Walk, forecast: Forecast
) -> tuple[list[Fact], list[tuple[Met, Bare]]]:
    """What is said of all beds, and what one meets of which there is a list, and its air."""
    round_, stand, met = walk
    if forecast.wind == "windy":
        return list(_in_wind(round_, stand, forecast)), []
    air_on = round_.airs(forecast)
    airs = [(each, air_on[each.stop.place]) for each in met]
    unknown = [each.standing.bed for each, bare in airs if math.isnan(bare.worst_c)]
    facts = [Fact("tonight_unknown_beds", beds=unknown)] if unknown else []
    return facts, [one for one in airs if not math.isnan(one[1].worst_c)]


def _in_wind(round_: EveningRound, stand: Stand, forecast: Forecast) -> Iterator[Fact]:
    """Air on all beds alike, and what it harms of what stands there."""
    air_c = forecast.low_c + round_.reference_c
    up = [each for each in stand.standing if each.keeps != "seed"]
    harmed = [each for each in up if air_c <= each.limit_c.central]
    ripe = [each for each in harmed if each.is_ripe]
    yield Fact("tonight_windy_air", air_c=air_c)
    if harmed:
        yield Fact("tonight_harmed", crops=_crops(harmed))
        if ripe:
            yield Fact("tonight_pick", crops=_crops(ripe))
    elif stand.standing:
        yield Fact("tonight_no_harm")


def _crops(standing: Iterable[Standing]) -> list[str]:
    return list(dict.fromkeys(each.crop for each in standing))


# ------------------------------------------------------------------ bed by bed
def _rows(
    round_: EveningRound, met: Sequence[tuple[Met, Bare]], *, is_still: bool
) -> list[Row]:
    """What to do with each crop, in walking order."""
    outlooks = [
        outlook(standing.limit_c, bare, covers, standing.cover, is_still=is_still)
        for (_stop, standing, covers), bare in met
    ]
    bare_rows = [
        Row(stop, standing, bare, found.bare, _verdict(standing, found))
        for ((stop, standing, _covers), bare), found in zip(met, outlooks, strict=True)
    ]
    if not any(found.options for found in outlooks):
        return bare_rows  # as on most evenings of a year
    wants = [
        Want(
            place=at,
            bed=row.stop.place,
            width_m=row.stop.ranked.bed.width_m,
            length_m=row.length_m,
            growth_weeks=row.standing.growth_weeks,
            options=found.options,
            lies=row.standing.cover,
            start_m=row.standing.part_m[0],
        )
        for at, (row, found) in enumerate(zip(bare_rows, outlooks, strict=True))
    ]
    pieces = allot(wants, round_.owned, round_.hoops, round_.paths_m)
    return [_laid(row, pieces.get(at)) for at, row in enumerate(bare_rows)]


def _verdict(standing: Standing, found: Outlook) -> Verdict:
    """Without a piece of cover."""
    if (
        standing.keeps == "seed"
        or found.bare == "sure"
        or (standing.keeps and found.bare == "likely")
    ):
        return "leave"
    if found.bare == "likely":
        return "odds"
    return "short" if found.options else "lost"


def _laid(row: Row, piece: Piece | None) -> Row:
    return row if piece is None else row._replace(verdict="cover", piece=piece)


def _by_plot(rows: Iterable[Row]) -> Iterator[PlotAdvice]:
    number = itertools.count(1)
    for plot, group in itertools.groupby(rows, lambda row: row.stop.ranked.bed.plot):
        here = tuple(group)
        likely_c = [row.bare.likely_c for row in here]
        yield PlotAdvice(
            plot,
            min(row.bare.worst_c for row in here),
            (min(likely_c), max(likely_c)),
            tuple(_tasks(here, number)),
            here,
        )


def _tasks(rows: Iterable[Row], number: Iterator[int]) -> Iterator[Task]:
    """Neighbours on the walk with one crop and one cover, or under one sheet, are one."""
    covered = [row for row in rows if row.piece is not None]
    sheets: dict[int, list[Row]] = {}
    for row in covered:
        if row.piece is not None and row.piece.sheet is not None:
            sheets.setdefault(row.piece.sheet, []).append(row)
    for key, group in itertools.groupby(covered, _kept_together):
        sheet = key[0]
        if sheet is None:
            yield Task(next(number), tuple(group))
        elif sheet in sheets:  # met for the first time: all of it is laid now
            yield Task(next(number), tuple(sheets.pop(sheet)))


def _kept_together(row: Row) -> tuple[int | None, object]:
    piece = row.piece
    assert piece is not None
    if piece.sheet is not None:
        return piece.sheet, None
    alone = row.stop.place if row.is_in_part else None
    return None, (row.standing.crop, piece.kind, piece.odds, row.is_closed, alone)


# ------------------------------------------------------------------ the work
def _minutes(round_: EveningRound, covered: Sequence[Row]) -> int:
    """That two people take, the way from the gate and back among them."""
    if not covered:
        return 0
    middles = [round_.middles[row.stop.place] for row in covered]
    between_m = sum(itertools.starmap(math.dist, itertools.pairwise(middles)))
    ends_m = (covered[end].stop.gate_m for end in (0, -1))
    way_m = between_m + sum(0.0 if math.isnan(each) else each for each in ends_m)
    beds = [(row.piece.bed_m, row.is_closed) for row in covered if row.piece]
    return minutes_for_two(beds, way_m)


def _used(round_: EveningRound, covered: Iterable[Row]) -> Iterator[UsedCover]:
    owned_m, used_m = dict.fromkeys(WARMING, 0.0), dict.fromkeys(WARMING, 0.0)
    for cover in round_.owned:
        if cover.kind in owned_m:
            owned_m[cover.kind] += cover.length_m
    for row in covered:
        assert row.piece is not None
        for kind in parts_of(row.piece.kind):
            used_m[kind] += row.piece.cover_m
    for kind in WARMING:
        if owned_m[kind]:
            yield UsedCover(kind, used_m[kind], owned_m[kind])


def _harmed(
    rows: Iterable[Row], night: NightHours, dusk: Dusk | None
) -> Iterator[Harmed]:
    """What comes to harm without a cover in the first half of the night, by the hour."""
    middle = night.middle
    if middle is None or dusk is None:
        return
    found: dict[tuple[datetime, datetime | None, str], list[Row]] = {}
    for row in rows:
        limit_c = row.standing.limit_c.central
        # The coldest dusk and the coldest bed first: the earliest hour that is plausible.
        first = night.harmed_from(dusk.low_c, row.bare.worst_c, limit_c)
        last = night.harmed_from(dusk.high_c, row.bare.likely_c, limit_c)
        if first is not None and first <= middle and not row.standing.keeps:
            found.setdefault((first, last, row.standing.crop), []).append(row)
    for (first, last, _crop), same in sorted(
        found.items(), key=lambda each: each[0][0]
    ):
        yield Harmed(tuple(same), first, last)
