"""Ground and a bearing -> rows of beds, counted along and up from a middle.

Numbers only: who the ground belongs to and what beds are called is for others.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely
from scipy import sparse
from scipy.sparse import csgraph
from shapely.geometry.base import BaseGeometry

from fieldmap.model.settings import Beds
from layers import strips

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.intp]

# Strips that miss a millimetre of ground are whole; more is a real notch.
NOTCH_M = 0.001
# Where the first bed starts, tried over one bed and path from either side.
STARTS_TRIED = 12
# Neighbours of one block lie beside each other over most of the longer one's length.
BESIDE_SHARE = 0.5
# What breaks fewer rows than these (a tree, a pole) begins no block (a choice).
FEWEST_ROWS = 5


class Frame(NamedTuple):
    """Where along and up are on the ground: up is left as one looks along."""

    middle: Floats
    along: Floats
    up: Floats

    def to_ground(self, along_m: Floats, up_m: Floats) -> Floats:
        """Easting and northing: (..., 2)."""
        there: Floats = (
            self.middle
            + along_m[..., np.newaxis] * self.along
            + up_m[..., np.newaxis] * self.up
        )
        return there


class Rows(NamedTuple):
    """Beds: one row each.

    Attributes
    ----------
    row
        Which strip it lies in, counted upwards.
    group
        Which strips lie between the same drive lanes.
    bay
        Which bay it lies in, counted along.
    start, end
        Along [m].
    low
        Lower edge, up [m].
    """

    row: Whole
    group: Whole
    bay: Whole
    start: Floats
    end: Floats
    low: Floats

    @property
    def length_m(self) -> Floats:
        """Of each bed."""
        return self.end - self.start


class Clear(NamedTuple):
    """Clear lengths of strips, headlands taken off, for several patterns of strips.

    Attributes
    ----------
    pattern
        Which set of strips, counted from 0.
    row, group, start, end, low
        As in `Rows`.
    """

    pattern: Whole
    row: Whole
    group: Whole
    start: Floats
    end: Floats
    low: Floats

    def of(self, pattern: int) -> "Clear":
        """Those of one pattern."""
        mine = self.pattern == pattern
        return Clear(*(column[mine] for column in self))


def frame(middle: tuple[float, float], grid_deg: float) -> Frame:
    """The frame of a bearing from grid north about a point."""
    angle = np.radians(grid_deg)
    east, north = np.sin(angle), np.cos(angle)
    return Frame(np.array(middle), np.array([east, north]), np.array([-north, east]))


def edges(ground: BaseGeometry, about: Frame) -> Floats:
    """Both ends of every edge of all rings: (n, 2 ends, along and up)."""
    rings = shapely.get_rings(shapely.get_parts(ground))
    corners, ring = shapely.get_coordinates(rings, return_index=True)
    away = corners - about.middle
    turned = np.stack([away @ about.along, away @ about.up], axis=1)
    both = np.stack([turned[:-1], turned[1:]], axis=1)
    return np.asarray(both[ring[:-1] == ring[1:]])


def clear(outline: Floats, choices: Beds, tried: int = STARTS_TRIED) -> Clear:
    """Clear lengths of the strips of every start that is tried, headlands taken off.

    Parameters
    ----------
    outline
        (edges, 2 ends, 2) along and up of the ground's edges [m], as `edges` gives
        them; may be empty.
    choices
        Widths of beds, paths and lanes, the headland and the shortest bed.
    tried
        Starts tried over a bed and path; a beginning flush with either side and one
        that leaves both sides alike are tried in any case, the last of these first.

    Returns
    -------
    Clear
        By pattern, strip and along it; none shorter than the shortest bed.
    """
    patterns = list(_patterns(outline, choices, tried)) if len(outline) else []
    if not patterns:
        none, number = np.empty(0), np.empty(0, np.intp)
        return Clear(number, number, number, none, none, none)
    lows = np.concatenate(patterns)
    which = np.repeat(np.arange(len(patterns)), [len(each) for each in patterns])
    row = np.concatenate([np.arange(len(each)) for each in patterns])
    group = np.concatenate([_groups(each, choices) for each in patterns])
    # All patterns in one call, whose strips must rise; `order` leads back.
    order = np.argsort(lows, kind="stable")
    spans = strips.clear(
        outline, lows[order] + NOTCH_M, lows[order] + choices.width_m - NOTCH_M
    )
    start, end = spans.start + choices.headland_m, spans.end - choices.headland_m
    long = end - start >= choices.shortest_m
    strip, start, end = order[spans.strip[long]], start[long], end[long]
    rank = np.lexsort((start, strip))  # strips are numbered pattern by pattern
    strip, start, end = strip[rank], start[rank], end[rank]
    return Clear(which[strip], row[strip], group[strip], start, end, lows[strip])


def _offsets(count: int, choices: Beds) -> Floats:
    """Lower edges of strips from that of the first, drive lanes between blocks."""
    number = np.arange(count)
    from_first = number * (choices.width_m + choices.path_m)
    if choices.beds_per_block is not None:
        more = choices.lane_m - choices.path_m
        from_first = from_first + number // choices.beds_per_block * more
    return np.asarray(from_first, float)


def _patterns(outline: Floats, choices: Beds, tried: int) -> Iterator[Floats]:
    """Lower edges of all strips for every start; none where not one fits."""
    width_m = choices.width_m
    first, last = float(outline[..., 1].min()), float(outline[..., 1].max())
    room_m = last - first - width_m + NOTCH_M
    if room_m < 0:
        return
    pitch_m = width_m + choices.path_m
    every = _offsets(int(room_m / pitch_m) + 2, choices)
    most = every[every <= room_m]
    # First, as of patterns that plant alike the first is kept.
    yield first + (last - first - width_m - most[-1]) / 2 + most
    for step in np.arange(max(tried, 1)) * pitch_m / max(tried, 1):
        fitting = every[every <= room_m - step]
        if len(fitting):
            yield first + step + fitting
            # From the other side too: a plot turned half round gets the same beds.
            yield (last - width_m - step - fitting)[::-1]


def _groups(pattern: Floats, choices: Beds) -> Whole:
    """Which strips lie between the same drive lanes."""
    pitch_m = choices.width_m + choices.path_m
    begins = np.diff(pattern, prepend=pattern[:1]) > pitch_m + NOTCH_M
    return np.asarray(np.cumsum(begins))


def blocks(rows: Rows) -> Whole:
    """The number of the block that each bed belongs to.

    A block is beds side by side in one bay: where one strip goes on as two, two as one,
    or with less than half in common, a new one begins, unless that lasts under five
    rows.
    """
    near = _beside(rows)
    length_m = rows.length_m
    above = Counter(one for one, _, _ in near)
    below = Counter(other for _, other, _ in near)
    pairs = [
        (one, other)
        for one, other, shared_m in near
        if above[one] == below[other] == 1
        and shared_m >= BESIDE_SHARE * max(length_m[one], length_m[other])
    ]
    chain = _joined(pairs, len(length_m))
    # Beds of a chain that is too short go to all their neighbours.
    few = np.bincount(chain)[chain] < FEWEST_ROWS
    pairs += [(one, other) for one, other, _ in near if few[one] or few[other]]
    return _joined(pairs, len(length_m))


def _joined(pairs: Sequence[tuple[int, int]], count: int) -> Whole:
    """The group that each thing belongs to, counted in the order of their first things."""
    if not count:
        return np.empty(0, np.intp)
    ends = np.array(pairs, np.intp).reshape(-1, 2).T
    graph = sparse.coo_array((np.ones(len(pairs)), tuple(ends)), shape=(count, count))
    return np.asarray(csgraph.connected_components(graph, directed=False)[1], np.intp)


def _beside(rows: Rows) -> list[tuple[int, int, float]]:
    """Pairs of beds in neighbouring strips of a bay that lie beside each other.

    With the length over which they do.
    """
    at_row: dict[int, list[int]] = {}
    for at, row in enumerate(rows.row.tolist()):
        at_row.setdefault(row, []).append(at)
    start, end = rows.start, rows.end
    place = list(zip(rows.group.tolist(), rows.bay.tolist(), strict=True))
    found = []
    for row, here in at_row.items():
        for other in at_row.get(row + 1, []):
            for one in here:
                shared = min(end[one], end[other]) - max(start[one], start[other])
                if shared > 0 and place[one] == place[other]:
                    found.append((one, other, float(shared)))
    return found
