"""What lies and stands out at once: hoops, weights, stakes and ties go from bed to bed."""

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from fieldmap.decide.layout.beds import Stretch, joined
from fieldmap.decide.materials.cover_size import TOUCH_M
from fieldmap.decide.materials.low_tunnels import (
    STAKES,
    TIES,
    gear,
    hoop_places_m,
    together,
)
from fieldmap.decide.materials.model import Gear, LowTunnel
from fieldmap.decide.materials.sheets import Sheet
from fieldmap.model.season_year import WEEKS

HOOPS_AHEAD_WEEKS = 1  # that hoops are set before a cover (common practice, no source)


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


def at_once(
    low: Mapping[int, LowTunnel], sheets: Sequence[Sheet], beds: Mapping[int, float]
) -> AtOnce:
    """What is wanted in the fullest week, of each thing.

    Parameters
    ----------
    low
        By the place of the bed.
    sheets
        Which covers lie over which beds, and when.
    beds
        Lengths of beds [m], by their places.
    """
    weeks = [gear_of(out, low) for out in _out_by_week(sheets)]
    by_length, of_all = _hoops(low, sheets, beds)
    return AtOnce(
        hoops={length: max(each.values()) for length, each in by_length.items()},
        hoops_of_all=max(of_all.values(), default=0),
        weights=max(each.weights for each in weeks),
        stakes=max(each.stakes for each in weeks),
        ties=max(each.ties for each in weeks),
        clips=max(each.clips for each in weeks),
        ridge_cord_m=math.ceil(max(each.cord_m for each in weeks) - 1e-9),
    )


def _out_by_week(sheets: Iterable[Sheet]) -> list[list[Sheet]]:
    """Those that lie out in each week."""
    by_week: list[list[Sheet]] = [[] for _week in range(WEEKS)]
    for sheet in sheets:
        for week in range(sheet.weeks[0], sheet.weeks[1] + 1):
            by_week[week].append(sheet)
    return by_week


def gear_of(out: Sequence[Sheet], low: Mapping[int, LowTunnel]) -> Gear:
    """What sheets that lie out at once take besides hoops, each over all its beds.

    Where two gathered covers meet, their ends lie over each other: none is tied there.

    Parameters
    ----------
    out
        All that lie out on these beds.
    low
        By the place of the bed.
    """
    of_each = [
        gear(sheet.kind, sheet.along_m, [low[at] for at in sheet.places], sheet.width_m)
        for sheet in out
    ]
    tied = (each for each, its in zip(out, of_each, strict=True) if its.stakes)
    met, all_of_it = _meetings(tied), together(of_each)
    return all_of_it._replace(
        stakes=all_of_it.stakes - met * STAKES, ties=all_of_it.ties - met * TIES
    )


def _meetings(sheets: Iterable[Sheet]) -> int:
    """How often one cover begins where another of its kind ends, on any bed."""
    by_bed: dict[tuple[int, str], list[Stretch]] = {}
    for sheet in sheets:
        part = sheet.start_m, sheet.start_m + sheet.along_m
        by_bed.setdefault((sheet.places[0], sheet.kind), []).append(part)
    return sum(len(parts) - len(joined(parts, TOUCH_M)) for parts in by_bed.values())


def parts_by_week(
    sheets: Iterable[Sheet], beds: Mapping[int, float]
) -> dict[int, list[list[Stretch]]]:
    """Parts of each bed, by its place, over which hoops stand in each week, cover by cover.

    Hoops are set a week before the cover.

    Parameters
    ----------
    beds
        Their lengths [m].

    Returns
    -------
    Where each part starts and ends, from the gate end [m].
    """
    found: dict[int, list[list[Stretch]]] = {}
    for sheet in sheets:
        first = max(sheet.weeks[0] - HOOPS_AHEAD_WEEKS, 0)
        for place in sheet.places:
            weeks = found.setdefault(place, [[] for _week in range(WEEKS)])
            part = _over(sheet, beds[place])
            for week in range(first, sheet.weeks[1] + 1):
                weeks[week].append(part)
    return found


def _over(sheet: Sheet, bed_m: float) -> Stretch:
    """What of a bed lies under a sheet, without what the sheet is longer."""
    return sheet.start_m, min(sheet.start_m + sheet.along_m, bed_m)


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
    ends = (_over(each, bed_m) for each in sheets if place in each.places)
    found = joined(ends, TOUCH_M)
    is_all = len(found) == 1 and found[0][1] - found[0][0] >= bed_m - TOUCH_M
    return () if is_all else tuple(found)


def _hoops(
    low: Mapping[int, LowTunnel],
    sheets: Sequence[Sheet],
    beds: Mapping[int, float],
) -> tuple[dict[float, Counter[int]], Counter[int]]:
    """Hoops that stand in each week, by length of pipe and all together."""
    by_length: dict[float, Counter[int]] = {}
    of_all = Counter[int]()
    for place, weeks in parts_by_week(sheets, beds).items():
        its = low[place]
        # To the centimetre, as pipes are cut: hoops of one length serve beds of one width.
        of_length = by_length.setdefault(round(its.cut_m, 2), Counter())
        for week, parts_m in enumerate(weeks):
            hoops = len(hoop_places_m(parts_m, its.spacing_m))
            of_length[week] += hoops
            of_all[week] += hoops
    return by_length, of_all
