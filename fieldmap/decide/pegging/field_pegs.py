"""One field: its bays and tunnels in walking order, its knotted lines, its checks."""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from shapely.geometry import Polygon

from fieldmap.decide.layout.beds import LEVEL, Bed
from fieldmap.decide.pegging.bay_pegs import peg_bay
from fieldmap.decide.pegging.bays import Run, pieces, runs, sections
from fieldmap.decide.pegging.crew import Crew
from fieldmap.decide.pegging.model import (
    At,
    Bay,
    Check,
    FieldPegs,
    Landmark,
    Peg,
    TunnelPegs,
)
from fieldmap.decide.pegging.tape import Ground

# Knots of two bays this near to each other are one line's.
KNOTS_M = 0.012
EVERY_BED = 4


class Tunnel(NamedTuple):
    """A walk-in tunnel to be pegged.

    Attributes
    ----------
    bow_m
        Between two bows.
    """

    name: str
    outline: Polygon
    length_m: float
    width_m: float
    bearing_deg: float
    bow_m: float


class Place(NamedTuple):
    """A field, and from where one walks into it."""

    name: str
    plot: str
    start: At


def peg_field(
    place: Place,
    beds: Sequence[Bed],
    tunnels: Sequence[Tunnel],
    ground: Ground,
    landmarks: Sequence[Landmark],
    convergence_deg: float,
) -> FieldPegs:
    """Everything that is pegged in a field: pegs, checks, bays, knotted lines and tunnels.

    Parameters
    ----------
    place
        The field, and from where one walks into it.
    beds
        Beds to be pegged; may be none.
    tunnels
        Walk-in tunnels to be pegged; may be none.
    ground
        The ground as a crew with a tape meets it.
    landmarks
        Things that can be found on the ground, the surest first.
    convergence_deg
        Bearing of grid north, clockwise from true north.
    """
    crew = Crew(ground, landmarks, convergence_deg)
    bays: list[Bay] = []
    lines: list[list[float]] = []
    left = runs(beds, place.start)
    # What no tape reaches at first may be reached from pegs that came later.
    for _ in range(2):
        again = []
        for run in left:
            rows = _rows(crew, run)
            if rows is None:
                again.append(run)
            else:
                bays.append(_bay(run, rows, ground, lines))
        left = again
    untied = [bed.name for run in left for bed in run.beds]
    stand = list(_tunnels(crew, tunnels, place, untied))
    return FieldPegs(
        place.name,
        place.plot,
        place.start,
        steps=(*_found(crew), *crew.steps),
        bays=tuple(bays),
        lines_m=tuple(tuple(line) for line in lines),
        tunnels=tuple(stand),
        untied=tuple(untied),
        uphill_deg=_uphill_deg(crew, ground),
        landmarks=tuple(_used(crew.steps)),
    )


def _rows(
    crew: Crew, run: Run, *, both_edges: bool = False
) -> tuple[tuple[int, ...], ...] | None:
    """Numbers of the pegs along each line across a bay."""
    rows: list[tuple[int, ...]] = []
    for piece in pieces(run, crew.ground.tape_m):
        pegged = peg_bay(crew, piece, both_edges=both_edges)
        if pegged is None:
            return None
        rows += pegged if not rows else pegged[1:]
    return tuple(rows)


# ------------------------------------------------------------------ lines with knots
def _bay(
    run: Run,
    rows: tuple[tuple[int, ...], ...],
    ground: Ground,
    lines: list[list[float]],
) -> Bay:
    first = sections(pieces(run, ground.tape_m)[0], ground.tape_m)
    names = tuple(bed.name for bed in run.beds)
    bed = run.beds[0]
    return Bay(
        names,
        rows,
        first,
        bed.length_m,
        bed.width_m,
        run.pitch_m - bed.width_m if len(names) > 1 else 0.0,
        _line(_knots(run, first, ground), lines),
        run.hand,
        names[EVERY_BED - 1 :: EVERY_BED],
    )


def _knots(run: Run, first: Sequence[int], ground: Ground) -> list[float]:
    """First edges of the beds of a section, the mean of all sections at both ends."""
    count = max(np.diff([*first, len(run.beds)]))
    found: list[list[float]] = [[] for _ in range(count)]
    for corners in (run.near, run.far):
        for begin, end in itertools.pairwise([*first, len(run.beds)]):
            origin = _at(corners[begin, 0])
            for number in range(end - begin):
                place = _at(corners[begin + number, 0])
                found[number].append(ground.length_m(origin, place) if number else 0.0)
    return [float(np.mean(each)) for each in found]


def _line(knots: list[float], lines: list[list[float]]) -> int:
    """The number of the line that has these knots; a new one where none has."""
    for number, line in enumerate(lines):
        # A line may be longer than a bay is wide, so only the knots of both count.
        if all(abs(a - b) <= KNOTS_M for a, b in zip(knots, line, strict=False)):
            line.extend(knots[len(line) :])
            return number
    lines.append(knots)
    return len(lines) - 1


def _at(corner: np.ndarray) -> At:
    return float(corner[0]), float(corner[1])


# ------------------------------------------------------------------ walk-in tunnels
def _tunnels(
    crew: Crew, tunnels: Sequence[Tunnel], place: Place, untied: list[str]
) -> Iterator[TunnelPegs]:
    """Each tunnel as a bay of one bed, as long and wide by tape as its frame."""
    for tunnel in tunnels:
        stands = Bed(
            tunnel.name,
            place.plot,
            tunnel.outline,
            tunnel.length_m,
            tunnel.width_m,
            tunnel.bearing_deg,
        )
        run = _to_tape(runs([stands], place.start)[0], crew.ground, tunnel)
        rows = _rows(crew, run, both_edges=True)
        if rows is None:
            untied.append(tunnel.name)
            continue
        near, far = rows[0], rows[-1]
        yield TunnelPegs(
            tunnel.name,
            (near[0], far[0], far[-1], near[-1]),
            tunnel.length_m,
            tunnel.width_m,
            _bows_m(tunnel.length_m, tunnel.bow_m),
            _drop_m(run, crew.ground),
        )


def _to_tape(run: Run, ground: Ground, tunnel: Tunnel) -> Run:
    """Corners moved on the map until sides and ends have their length by tape."""
    near = run.near.copy()
    wide_m = ground.length_m(_at(near[0, 0]), _at(near[0, 1]))
    near[0, 1] = near[0, 0] + (near[0, 1] - near[0, 0]) * tunnel.width_m / wide_m
    far = run.far - run.near + near
    for side in (0, 1):
        long_m = ground.length_m(_at(near[0, side]), _at(far[0, side]))
        way = far[0, side] - near[0, side]
        far[0, side] = near[0, side] + way * tunnel.length_m / long_m
    return replace(run, near=near, far=far)


def _bows_m(length_m: float, bow_m: float) -> tuple[float, ...]:
    """Bows from end to end, evenly, no farther apart than asked.

    >>> _bows_m(6.0, 1.5)
    (0.0, 1.5, 3.0, 4.5, 6.0)
    """
    gaps = max(1, int(np.ceil(length_m / bow_m - 1e-9)))
    return tuple(float(each) for each in np.linspace(0.0, length_m, gaps + 1))


def _drop_m(run: Run, ground: Ground) -> float:
    """From the middle of the near end to that of the far one."""
    ends = [corners[0].mean(axis=0) for corners in (run.near, run.far)]
    near, far = (
        ground.heights(np.array([end[0]]), np.array([end[1]]))[0] for end in ends
    )
    return float(near - far)


def _uphill_deg(crew: Crew, ground: Ground) -> float | None:
    """Where the ground rises to, by the plane through all pegs and landmarks."""
    at = np.array([crew.at(known) for known in crew.known])
    rise = ground.heights(at[:, 0], at[:, 1]) if len(at) else np.empty(0)
    known = np.isfinite(rise)
    if known.sum() < 3:
        return None
    away = np.column_stack([at[known] - at[known].mean(axis=0), np.ones(known.sum())])
    (east, north, _), *_ = np.linalg.lstsq(away, rise[known], rcond=None)
    if np.hypot(east, north) < LEVEL:
        return None
    return float(np.degrees(np.arctan2(east, north)) % 360.0)


# ------------------------------------------------------------------ landmarks
def _used(steps: Sequence[Peg | Check]) -> Iterator[Landmark]:
    """Landmarks that pegs hang on or are proved by, each once."""
    found: dict[Landmark, None] = {}
    for step in steps:
        if isinstance(step, Check):
            ends: tuple[Landmark | int, ...] = (step.start, step.end)
        else:
            string = (step.string.start, step.string.end) if step.string else ()
            ends = (*(tie.of for tie in step.ties), *string)
        found |= {end: None for end in ends if isinstance(end, Landmark)}
    return iter(found)


def _found(crew: Crew) -> list[Check]:
    """Before anything is pegged: whether two landmarks are where the map has them."""
    used = list(_used(crew.steps))
    for start in used:
        for end in (*used, *crew.landmarks):
            check = None if end is start else crew.between(start, end)
            if check is not None:
                return [check]
    return []
