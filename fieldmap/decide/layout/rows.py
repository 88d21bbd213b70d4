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
    start, end
        Along [m].
    low
        Lower edge, up [m].
    """

    row: Whole
    group: Whole
    start: Floats
    end: Floats
    low: Floats

    @property
    def length_m(self) -> Floats:
        """Of each bed."""
        return self.end - self.start


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


def lay(outline: Floats, choices: Beds, tried: int = STARTS_TRIED) -> Rows:
    """Beds over their clear lengths, for the start that plants most ground.

    Parameters
    ----------
    outline
        As `edges` gives it.
    tried
        Starts tried over a bed and path; a beginning flush with either side and one
        that leaves both sides alike are tried in any case. Equal plantings take the
        first of these: the middle.

    Returns
    -------
    Rows
        By strip and along it; lengths over `longest_m` are not cut yet.
    """
    nothing = np.empty(0)
    none = Rows(np.empty(0, np.intp), np.empty(0, np.intp), nothing, nothing, nothing)
    if not len(outline):
        return none
    patterns = list(_patterns(outline, choices, tried))
    if not patterns:
        return none
    lows = np.concatenate(patterns)
    which = np.repeat(np.arange(len(patterns)), [len(each) for each in patterns])
    order = np.argsort(lows, kind="stable")
    sorted_ = lows[order]
    spans = strips.clear(
        outline, sorted_ + NOTCH_M, sorted_ + choices.width_m - NOTCH_M
    )
    start, end = spans.start + choices.headland_m, spans.end - choices.headland_m
    long = end - start >= choices.shortest_m
    strip, start, end = order[spans.strip[long]], start[long], end[long]
    planted = np.bincount(
        which[strip], planted_m(end - start, choices), minlength=len(patterns)
    )
    # Rounded: equal plantings keep the first start, whatever the last bit says.
    best = int(np.argmax(np.round(planted, 3)))
    mine = which[strip] == best
    strip, start, end = strip[mine], start[mine], end[mine]
    rank = np.lexsort((start, lows[strip]))
    strip, start, end = strip[rank], start[rank], end[rank]
    row = np.searchsorted(np.unique(patterns[best]), lows[strip])
    return Rows(
        row, _groups(lows[strip], patterns[best], choices), start, end, lows[strip]
    )


def _offsets(count: int, choices: Beds) -> Floats:
    """Lower edges of strips from that of the first, drive lanes between blocks."""
    number = np.arange(count)
    from_first = number * (choices.width_m + choices.path_m)
    if choices.most_per_block is not None:
        more = choices.lane_m - choices.path_m
        from_first = from_first + number // choices.most_per_block * more
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
    yield first + (last - first - width_m - most[-1]) / 2 + most
    for step in np.arange(max(tried, 1)) * pitch_m / max(tried, 1):
        fitting = every[every <= room_m - step]
        if len(fitting):
            yield first + step + fitting
            # From the other side too: a plot turned half round gets the same beds.
            yield (last - width_m - step - fitting)[::-1]


def _groups(lows: Floats, pattern: Floats, choices: Beds) -> Whole:
    """Which strips lie between the same drive lanes."""
    pitch_m = choices.width_m + choices.path_m
    lanes = np.flatnonzero(np.diff(pattern) > pitch_m + NOTCH_M)
    return np.asarray(np.searchsorted(pattern[lanes] + NOTCH_M, lows))


def lane_across_m(choices: Beds) -> float:
    """Between the ends of beds that were cut: a drive lane in which one also turns."""
    return max(choices.lane_m, choices.headland_m)


class _Cut(NamedTuple):
    """How lengths are cut by drive lanes.

    Attributes
    ----------
    number, planted_m
        Beds of each length, and what they have of it together.
    """

    number: Whole
    planted_m: Floats


def _cut(length_m: Floats, choices: Beds) -> _Cut:
    """Alike; where those would be too short, full lengths from one end and a rest."""
    if choices.longest_m is None:
        return _Cut(np.ones(len(length_m), np.intp), np.asarray(length_m))
    gap_m = lane_across_m(choices)
    pitch_m = choices.longest_m + gap_m
    alike = np.maximum(np.ceil((length_m + gap_m) / pitch_m - 1e-9), 1)
    alike_m = length_m - (alike - 1) * gap_m
    full, rest_m = np.divmod(length_m, pitch_m)
    has_rest = rest_m >= choices.shortest_m - NOTCH_M
    full_m = full * choices.longest_m + np.minimum(rest_m, choices.longest_m) * has_rest
    too_short = (alike > 1) & (alike_m / alike < choices.shortest_m)
    count = np.where(too_short, full + has_rest, alike)
    return _Cut(count.astype(np.intp), np.where(too_short, full_m, alike_m))


def pieces(length_m: Floats, choices: Beds) -> Whole:
    """Into how many beds a length is cut."""
    return _cut(length_m, choices).number


def planted_m(length_m: Floats, choices: Beds) -> Floats:
    """What is left of lengths when drive lanes cut them."""
    return _cut(length_m, choices).planted_m


def blocks(rows: Rows, choices: Beds) -> tuple[Rows, Whole]:
    """Beds cut to their longest, and the number of the block that each belongs to.

    A block is beds side by side: where one strip goes on as two, two as one, or with
    less than half in common, a new one begins, unless that lasts under five rows.
    """
    block = _chains(rows)
    if choices.longest_m is None:
        return rows, block
    parts = []
    numbers: list[Whole] = []
    count = 0
    for number in np.unique(block):
        mine = Rows(*(column[block == number] for column in rows))
        for bay in _bays(mine, choices):
            parts.append(bay)
            numbers.append(np.full(len(bay.row), count))
            count += 1
    if not parts:
        return rows, block
    cut = Rows(*(np.concatenate(columns) for columns in zip(*parts, strict=True)))
    return cut, np.concatenate(numbers)


def _bays(mine: Rows, choices: Beds) -> Iterator[Rows]:
    """A block cut by as few straight lanes across as leave no bed too long."""
    longest_m = choices.longest_m
    if longest_m is None or mine.length_m.max() <= longest_m + NOTCH_M:
        yield mine
        return
    gap_m = lane_across_m(choices)
    first, last = mine.start.min(), mine.end.max()
    count = int(pieces(np.array([mine.length_m.max()]), choices)[0])
    while True:
        bay_m = (last - first - (count - 1) * gap_m) / count
        if bay_m < choices.shortest_m:  # then full lengths from one end, and a rest
            bay_m = longest_m
            count = int((last - first) / (bay_m + gap_m)) + 1
        found = []
        for number in range(count):
            low = first + number * (bay_m + gap_m)
            start, end = np.maximum(mine.start, low), np.minimum(mine.end, low + bay_m)
            keep = end - start >= choices.shortest_m - NOTCH_M
            part = mine._replace(start=start, end=end)
            found.append(Rows(*(column[keep] for column in part)))
        if all((part.length_m <= longest_m + NOTCH_M).all() for part in found):
            break
        count += 1
    yield from (part for part in found if len(part.row))


def _chains(rows: Rows) -> Whole:
    """The block of each bed before any is cut."""
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
    """Pairs of beds in neighbouring strips of a group that lie beside each other.

    With the length over which they do.
    """
    at_row: dict[int, list[int]] = {}
    for at, row in enumerate(rows.row.tolist()):
        at_row.setdefault(row, []).append(at)
    start, end, group = rows.start, rows.end, rows.group
    found = []
    for row, here in at_row.items():
        for other in at_row.get(row + 1, []):
            for one in here:
                shared = min(end[one], end[other]) - max(start[one], start[other])
                if shared > 0 and group[one] == group[other]:
                    found.append((one, other, float(shared)))
    return found
