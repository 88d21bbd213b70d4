"""Beds to bays: runs of beds side by side whose ends lie on two lines."""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely

from fieldmap.decide.layout.bearings import apart_deg
from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.pegging.model import At

Floats = npt.NDArray[np.float64]

# Beds of a bay: one end in line to this, lengths and paths alike to this, bearings to
# this. On uneven ground beds of one length differ by more on the map.
ENDS_M, LENGTHS_M, PATHS_M, BEARING_DEG = 0.12, 0.06, 0.08, 0.2

# A bed may be so long, as a share of the tape; a longer one is cut into pieces of this.
LONGEST, CUT = 0.99, 0.8
SECTION = 0.5  # of a tape, a section of a wide bay


@dataclass(frozen=True)
class Run:
    """Beds side by side, seen from their end towards the gate.

    Attributes
    ----------
    beds
        From the side of the gate on.
    near, far
        (beds, 2, 2) both corners of each bed at either end, the first edge first.
    hand
        Where the next bed lies as one looks from the near end to the far one.
    """

    beds: tuple[Bed, ...]
    near: Floats
    far: Floats
    hand: str

    @property
    def pitch_m(self) -> float:
        """From one bed's first edge to that of the next; one bed: its width."""
        if len(self.beds) == 1:
            return self.beds[0].width_m
        return float(np.hypot(*(self.near[-1, 0] - self.near[0, 0]))) / (
            len(self.beds) - 1
        )

    def edge(self, end: str, bed: int) -> At:
        """Where a section begins; the last edge of all where there is no such bed."""
        corners = self.near if end == "near" else self.far
        at = corners[bed, 0] if bed < len(self.beds) else corners[-1, 1]
        return float(at[0]), float(at[1])


def runs(beds: Sequence[Bed], start: At) -> list[Run]:
    """Bays of a field in walking order: by their beds' numbers where these have some.

    Else the nearest to the gate is first, and each next one is that which begins nearest
    to where the last one began.

    Parameters
    ----------
    start
        The gate.
    """
    left = [run for beds_alike in _alike(beds) for run in _runs(beds_alike, start)]
    # Beds of the plan are numbered as one walks; tunnels and beds that were kept are not.
    if all(bed.number for bed in beds):
        return sorted(left, key=lambda run: min((b.block, b.number) for b in run.beds))
    found: list[Run] = []
    here = np.array(start)
    while left:
        nearest = min(
            left, key=lambda run: (round(_way_m(run, here), 2), run.beds[0].name)
        )
        left.remove(nearest)
        found.append(nearest)
        here = nearest.near[0, 0]
    return found


def _way_m(run: Run, here: Floats) -> float:
    return float(np.hypot(*(run.near[0, 0] - here)))


def _alike(beds: Sequence[Bed]) -> list[list[Bed]]:
    """Beds of one bearing and width, in the order of the first of each kind."""
    groups: list[list[Bed]] = []
    for bed in beds:
        for group in groups:
            turn_deg = apart_deg(group[0].bearing_deg, bed.bearing_deg)
            is_as_wide = abs(group[0].width_m - bed.width_m) < 0.01
            if turn_deg <= BEARING_DEG and is_as_wide:
                group.append(bed)
                break
        else:
            groups.append([bed])
    return groups


def _runs(beds: Sequence[Bed], start: At) -> Iterator[Run]:
    """Bays of beds of one bearing."""
    corners = np.stack([shapely.get_coordinates(bed.outline)[:4] for bed in beds])
    sides = np.diff(corners[0][:3], axis=0)
    long = sides[int(np.argmax(np.hypot(*sides.T)))]
    along = long / np.hypot(*long)
    across = np.array([along[1], -along[0]])
    away = corners - np.array(start)
    ends = np.sort(away @ along, axis=1)
    # Whether the gate lies before the beds or behind them, bay by bay.
    low, high = ends[:, :2].mean(axis=1), ends[:, 2:].mean(axis=1)
    side = (away @ across).mean(axis=1)
    left = sorted(range(len(beds)), key=lambda at: (side[at], low[at]))
    while left:
        run = [left.pop(0)]
        for at in list(left):
            if _follows(beds, run, at, (low, high, side)):
                run.append(at)
                left.remove(at)
        yield _run([beds[at] for at in run], corners[run], along, across, start)


def _follows(
    beds: Sequence[Bed], run: list[int], at: int, places: tuple[Floats, Floats, Floats]
) -> bool:
    """Whether a bed goes on with a run: an end in line, and the same path between."""
    low, high, side = places
    last, width_m = run[-1], beds[at].width_m
    ends_m = abs(low[at] - low[last]), abs(high[at] - high[last])
    # One end in line is enough: where the ground bulges beds differ at the other.
    if min(ends_m) > ENDS_M or abs(beds[at].length_m - beds[last].length_m) > LENGTHS_M:
        return False
    gap_m = side[at] - side[last]
    if len(run) == 1:
        return bool(width_m < gap_m < 2.0 * width_m + 1.5)
    return bool(abs(gap_m - (side[run[1]] - side[run[0]])) < PATHS_M)


def _run(
    beds: list[Bed], corners: Floats, along: Floats, across: Floats, start: At
) -> Run:
    """The run as one sees it from the gate: by its numbers where beds have some."""
    middle = corners.mean(axis=(0, 1)) - np.array(start)
    ahead = middle @ along
    aside = middle @ across
    if all(bed.number for bed in beds):
        # The first two corners are the end towards the gate (`Bed.outline`).
        ahead = (
            corners[:, 2:].mean(axis=(0, 1)) - corners[:, :2].mean(axis=(0, 1))
        ) @ along
        numbers = np.array([bed.number for bed in beds])
        places = corners.mean(axis=1)
        if len(beds) > 1:
            aside = (places[numbers.argmax()] - places[numbers.argmin()]) @ across
    if ahead < 0:
        along = -along
    # With the gate straight ahead neither side is nearer: then the western one is first.
    if aside < 0 or (abs(aside) < 1e-6 and across[0] < 0):
        across = -across
    order = np.argsort(corners.mean(axis=1) @ across)
    ends = []
    for each in corners[order]:
        s, t = each @ along, each @ across
        # Two corners at either end, and of each end the first edge first.
        by_end = np.lexsort((t, np.round(s, 3) > np.median(s)))
        ends.append(each[by_end].reshape(2, 2, 2))
    near_far = np.array(ends)
    turn = along[0] * across[1] - along[1] * across[0]
    return Run(
        tuple(beds[at] for at in order),
        near_far[:, 0],
        near_far[:, 1],
        "left" if turn > 0 else "right",
    )


def is_wide(run: Run, tape_m: float) -> bool:
    """Whether a bay is pegged from a string along either end.

    It is where it is wider than long, or no tape spans its diagonal.
    """
    length_m, width_m = run.beds[0].length_m, run.pitch_m * len(run.beds)
    diagonal_m = float(np.hypot(length_m, width_m))
    return width_m > length_m or diagonal_m > LONGEST * tape_m


def sections(run: Run, tape_m: float) -> tuple[int, ...]:
    """Which bed begins each section: one, or of a wide bay as wide as half a tape."""
    count = len(run.beds)
    if not is_wide(run, tape_m):
        return (0,)
    most = max(1, int(SECTION * tape_m / run.pitch_m + 1e-9))
    each = -(-count // -(-count // most))
    return tuple(range(0, count, each))


def pieces(run: Run, tape_m: float) -> list[Run]:
    """A bay cut across where its beds are longer than a tape, the near piece first."""
    length_m = max(bed.length_m for bed in run.beds)
    count = (
        1 if length_m <= LONGEST * tape_m else int(np.ceil(length_m / (CUT * tape_m)))
    )
    cuts = [
        run.near + (run.far - run.near) * share
        for share in np.linspace(0, 1, count + 1)
    ]
    beds = tuple(replace(bed, length_m=bed.length_m / count) for bed in run.beds)
    return [
        Run(beds if count > 1 else run.beds, near, far, run.hand)
        for near, far in itertools.pairwise(cuts)
    ]
