"""Hoops, weights and clips of the covers of one evening."""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from fieldmap.decide.materials.low_tunnels import (
    anchor,
    clips,
    hoop_places_m,
    spacing_m,
    weights_around,
)
from fieldmap.decide.materials.sheets import width_over_m
from fieldmap.decide.tonight.advice import Held, Row
from fieldmap.model.settings import Materials


def held(
    covered: Iterable[Row], choices: Materials, paths_m: Sequence[float | None]
) -> Held:
    """What all covers of an evening lie over and are held down by.

    Counted as for what is bought: hoops bed by bed under all that is covered, as close as
    the cover that asks most wants them, and weights along the edges of each cover. Inside
    walk-in tunnels no wind is: there covers are clipped to the hoops.

    Parameters
    ----------
    covered
        Rows with a piece of cover.
    choices
        What the grower chose of hoops and edges.
    paths_m
        From each bed of the plan to the next [m], None where that is no neighbour.
    """
    under: dict[tuple[str, int], list[Row]] = {}
    on_bed: dict[int, list[Row]] = {}
    for row in covered:
        on_bed.setdefault(row.stop.place, []).append(row)
        piece = row.piece
        assert piece is not None
        # A sheet over several beds bears the number of its first row.
        one = ("row", len(under)) if piece.sheet is None else ("sheet", piece.sheet)
        under.setdefault(one, []).append(row)
    covers = [_of_cover(rows, choices, paths_m) for rows in under.values()]
    return Held(
        sum(_hoops(rows, choices) for rows in on_bed.values()),
        sum(each.weights for each in covers),
        max((each.weight_kg for each in covers), default=0.0),
        sum(each.clips for each in covers),
    )


class _Edges(NamedTuple):
    """What holds one cover down."""

    weights: int = 0
    weight_kg: float = 0.0
    clips: int = 0


def _hoops(rows: Iterable[Row], choices: Materials) -> int:
    """Under all covers of one bed."""
    over = [(row.covered_m, row.piece.kind) for row in rows if row.piece is not None]
    gap_m = min(spacing_m(kind, choices) for _part_m, kind in over)
    return len(hoop_places_m([part_m for part_m, _kind in over], gap_m))


def _of_cover(
    rows: Sequence[Row], choices: Materials, paths_m: Sequence[float | None]
) -> _Edges:
    """Of one cover over a bed, or over neighbours, which are met in any order."""
    rows = sorted(rows, key=lambda row: row.stop.place)
    pieces = [row.piece for row in rows if row.piece is not None]
    kind, beds = pieces[0].kind, [row.stop.ranked.bed for row in rows]
    if rows[0].stop.tunnel:
        gap_m = spacing_m(kind, choices)
        return _Edges(clips=sum(clips(it.bed_m, gap_m) for it in pieces))
    holds = [anchor(kind, bed.width_m, choices) for bed in beds]
    between_m = [paths_m[row.stop.place] or 0.0 for row in rows[:-1]]
    widths_m = [bed.width_m for bed in beds]
    over_m, _least_m = width_over_m(kind, widths_m, between_m, choices)
    along = [(it.bed_m, gap_m) for it, (gap_m, _kg) in zip(pieces, holds, strict=True)]
    return _Edges(weights_around(along, over_m), holds[0][1])
