"""What lies and stands out at once: hoops, weights, stakes and ties go from bed to bed."""

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from fieldmap.decide.layout.beds import Stretch, joined
from fieldmap.decide.materials.cover_size import TOUCH_M, is_clipped, is_film
from fieldmap.decide.materials.low_tunnels import weights_around
from fieldmap.decide.materials.model import LowTunnel
from fieldmap.decide.materials.sheets import Sheet
from fieldmap.model.season_year import WEEKS
from layers import hoop

Weeks = list[float]

HOOPS_AHEAD_WEEKS = 1  # that hoops are set before a cover (common practice, no source)
STAKES, TIES = 2, 4  # of a cover whose ends are gathered
CLIPS = 2  # on each hoop of a cover that nothing else holds


class AtOnce(NamedTuple):
    """The most of each thing that one week of the year wants.

    Attributes
    ----------
    hoops
        By length of pipe; each length in its own fullest week.
    hoops_of_all
        All lengths together, in the week that wants most.
    weights, stakes, ties, clips
        Pieces.
    ridge_cord_m
        Along all hoops under film.
    """

    hoops: Mapping[float, int]
    hoops_of_all: int
    weights: int
    stakes: int
    ties: int
    clips: int
    ridge_cord_m: float


def at_once(low: Mapping[int, LowTunnel], sheets: Sequence[Sheet]) -> AtOnce:
    """What is wanted in the fullest week, of each thing.

    Cloth that is clipped has open ends. Inside walk-in tunnels no wind is: there covers
    take hoops and clips alone.

    Parameters
    ----------
    low
        By the place of the bed.
    """
    weights, stakes, ties = Counter[int](), Counter[int](), Counter[int]()
    clips = Counter[int]()
    cord_m = [0.0] * WEEKS
    for sheet in sheets:
        over = [low[place] for place in sheet.places]
        clipped = is_clipped(sheet.kind) or bool(over[0].tunnel)
        for week in range(sheet.weeks[0], sheet.weeks[1] + 1):
            if clipped:
                clips[week] += CLIPS * _hoops_under(sheet, over)
                continue
            weights[week] += _weights(sheet, over)
            gathered = len(sheet.places) == 1
            stakes[week] += STAKES if gathered else 0
            ties[week] += TIES if gathered else 0
            if is_film(sheet.kind):
                cord_m[week] += sheet.length_m * len(sheet.places)
    by_length, together = _hoops(low, sheets)
    return AtOnce(
        hoops={length: max(weeks.values()) for length, weeks in by_length.items()},
        hoops_of_all=_most(together.values()),
        weights=_most(weights.values()),
        stakes=_most(stakes.values()),
        ties=_most(ties.values()),
        clips=_most(clips.values()),
        ridge_cord_m=math.ceil(max(cord_m) - 1e-9),
    )


def _most(numbers: Iterable[int]) -> int:
    return max(numbers, default=0)


def _weights(sheet: Sheet, over: Sequence[LowTunnel]) -> int:
    sides = [(sheet.along_m, low.anchor_gap_m) for low in over]
    return weights_around(sides, sheet.width_m)


def _hoops_under(sheet: Sheet, over: Sequence[LowTunnel]) -> int:
    return sum(hoop.hoop_count(sheet.along_m, low.spacing_m) for low in over)


def covered_m(sheets: Iterable[Sheet], beds: Mapping[int, float]) -> dict[int, Weeks]:
    """Length of each bed, by its place, that has hoops in each week.

    Parts of a bed under one kind of cover lie side by side; two kinds lie over the same
    part. Hoops are set a week before the cover.

    Parameters
    ----------
    beds
        Their lengths [m].
    """
    by_kind: dict[tuple[int, str], Weeks] = {}
    for sheet in sheets:
        first = max(sheet.weeks[0] - HOOPS_AHEAD_WEEKS, 0)
        for place in sheet.places:
            here = by_kind.setdefault((place, sheet.kind), [0.0] * WEEKS)
            for week in range(first, sheet.weeks[1] + 1):
                here[week] = min(here[week] + sheet.along_m, beds[place])
    found: dict[int, Weeks] = {}
    for (place, _kind), weeks in by_kind.items():
        before = found.get(place, [0.0] * WEEKS)
        found[place] = [max(pair) for pair in zip(before, weeks, strict=True)]
    return found


def stretches_m(
    sheets: Iterable[Sheet], place: int, bed_m: float
) -> tuple[Stretch, ...]:
    """Parts of a bed that lie under a cover in some week, those that touch as one.

    Parameters
    ----------
    place
        Of the bed in the list of beds.
    bed_m
        Its length [m].

    Returns
    -------
    Where each part starts and ends, from the gate end [m]; empty where all is covered.
    """
    over = (each for each in sheets if place in each.places)
    ends = ((each.start_m, min(each.start_m + each.along_m, bed_m)) for each in over)
    found = joined(ends, TOUCH_M)
    is_all = len(found) == 1 and found[0][1] - found[0][0] >= bed_m - TOUCH_M
    return () if is_all else tuple(found)


def _hoops(
    low: Mapping[int, LowTunnel], sheets: Sequence[Sheet]
) -> tuple[dict[float, Counter[int]], Counter[int]]:
    """Hoops that stand in each week, by length of pipe and all together."""
    lengths_m = {place: each.length_m for place, each in low.items()}
    standing = [
        (low[place].cut_m, week, hoop.hoop_count(length_m, low[place].spacing_m))
        for place, weeks in covered_m(sheets, lengths_m).items()
        for week, length_m in enumerate(weeks)
        if length_m
    ]
    by_length: dict[float, Counter[int]] = {}
    together = Counter[int]()
    for cut_m, week, hoops in standing:
        by_length.setdefault(round(cut_m, 2), Counter())[week] += hoops
        together[week] += hoops
    return by_length, together
