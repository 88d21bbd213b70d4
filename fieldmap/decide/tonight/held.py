"""Hoops, weights and clips of the covers of one evening."""

from collections.abc import Iterable, Sequence

from fieldmap.decide.materials.low_tunnels import (
    CLIPS,
    anchor,
    spacing_m,
    weights_around,
)
from fieldmap.decide.materials.sheets import width_over_m
from fieldmap.decide.tonight.advice import Held, Row
from fieldmap.model.settings import Materials
from layers import hoop


def held(
    covered: Iterable[Row], choices: Materials, paths_m: Sequence[float | None]
) -> Held:
    """What all covers of an evening lie over and are held down by.

    Counted as for what is bought: hoops under all that is covered, and weights along its
    edges. Inside walk-in tunnels no wind is: there covers are clipped to the hoops.

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
    for row in covered:
        piece = row.piece
        assert piece is not None
        # A sheet over several beds bears the number of its first row.
        one = ("row", len(under)) if piece.sheet is None else ("sheet", piece.sheet)
        under.setdefault(one, []).append(row)
    covers = [_of_cover(rows, choices, paths_m) for rows in under.values()]
    return Held(
        sum(each.hoops for each in covers),
        sum(each.weights for each in covers),
        max((each.weight_kg for each in covers), default=0.0),
        sum(each.clips for each in covers),
    )


def _of_cover(
    rows: Sequence[Row], choices: Materials, paths_m: Sequence[float | None]
) -> Held:
    """Of one cover over a bed, or over neighbours, which are met in any order."""
    rows = sorted(rows, key=lambda row: row.stop.place)
    pieces = [row.piece for row in rows if row.piece is not None]
    kind, beds = pieces[0].kind, [row.stop.ranked.bed for row in rows]
    hoops = sum(hoop.hoop_count(it.bed_m, spacing_m(kind, choices)) for it in pieces)
    if rows[0].stop.tunnel:
        return Held(hoops, 0, 0.0, CLIPS * hoops)
    holds = [anchor(kind, bed.width_m, choices) for bed in beds]
    between_m = [paths_m[row.stop.place] or 0.0 for row in rows[:-1]]
    widths_m = [bed.width_m for bed in beds]
    over_m, _least_m = width_over_m(kind, widths_m, between_m, choices)
    along = [(it.bed_m, gap_m) for it, (gap_m, _kg) in zip(pieces, holds, strict=True)]
    return Held(hoops, weights_around(along, over_m), holds[0][1], 0)
