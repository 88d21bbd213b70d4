"""Where to drive stakes: one tape along one baseline for each block, and its diagonal."""

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely
from pyproj import CRS, Transformer

from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.model.coordinates import WGS84, transformer

Floats = npt.NDArray[np.float64]


class Stake(NamedTuple):
    """One stake.

    Attributes
    ----------
    block
        Of beds, or a tunnel's name.
    of
        The bed or tunnel.
    what
        "tape" for the baseline: 1 its start, 2 its far end, 3 square out from its start,
        where the diagonal from 2 ends. "corner" of a bed or tunnel, "end" of a tunnel's
        centre line, "middle" for the ends of a bed's, "hoop" on a bed's.
    along_m, out_m
        Tape along the block's baseline, from its first corner, and square out from it.
    """

    block: str
    of: str
    what: str
    number: int
    easting: float
    northing: float
    longitude: float
    latitude: float
    along_m: float
    out_m: float


class Baseline(NamedTuple):
    """The line that a block's tape lies on.

    Attributes
    ----------
    start, end
        (easting, northing) of the first corner and the far end of the tape.
    bearing_deg
        From true north.
    length_m, out_m
        Of the tape, and how far the stakes lie out from it at most.
    side
        "left" or "right", on which they lie as one looks along the tape.
    """

    block: str
    start: tuple[float, float]
    end: tuple[float, float]
    bearing_deg: float
    length_m: float
    out_m: float
    side: str

    @property
    def diagonal_m(self) -> float:
        """From the tape's far end to the farthest stake square out from its start."""
        return float(np.hypot(self.length_m, self.out_m))


class Staking(NamedTuple):
    """All stakes of a plan, block by block."""

    stakes: tuple[Stake, ...]
    baselines: tuple[Baseline, ...]


def place_stakes(
    crs: CRS,
    convergence_deg: float,
    beds: Sequence[Bed],
    tunnels: Sequence[TunnelPlace],
    hoops: Mapping[str, int],
) -> Staking:
    """Stakes of beds, of hoops on covered beds, and of tunnels.

    Parameters
    ----------
    crs, convergence_deg
        Of the site: its coordinates, and grid north from true north.
    hoops
        Bed -> number of hoops, of the beds that get some.
    """
    to_degrees = transformer(crs, WGS84)
    stakes: list[Stake] = []
    baselines = []
    # Beds that exist already want no stakes.
    for name, here in _blocks([bed for bed in beds if not bed.exists]):
        line = _across(name, np.concatenate([_corners(bed) for bed in here]), here[0])
        baselines.append(_baseline(line, convergence_deg))
        stakes += _of_tape(line, to_degrees)
        for bed in here:
            stakes += _of_bed(line, bed, hoops.get(bed.name, 0), to_degrees)
    for tunnel in tunnels:
        corners = shapely.get_coordinates(tunnel.outline)[:4]
        line = _along(tunnel.name, corners, tunnel.bearing_deg - convergence_deg)
        baselines.append(_baseline(line, convergence_deg))
        stakes += _of_tape(line, to_degrees)
        stakes += _of_tunnel(line, tunnel, corners, to_degrees)
    return Staking(tuple(stakes), tuple(baselines))


def _blocks(beds: Sequence[Bed]) -> Iterator[tuple[str, list[Bed]]]:
    """Beds by the letters that their names begin with, in order."""
    for name in dict.fromkeys(bed.block for bed in beds):
        yield name, [bed for bed in beds if bed.block == name]


class _Line(NamedTuple):
    """A baseline with its unit vectors, as one measures."""

    block: str
    start: Floats
    along: Floats
    out: Floats
    length_m: float
    out_m: float


def _corners(bed: Bed) -> Floats:
    return np.asarray(shapely.get_coordinates(bed.outline)[:4])


def _across(name: str, corners: Floats, first: Bed) -> _Line:
    """Square to the beds along their first ends, so that one tape meets them all."""
    own = _corners(first)
    sides = np.diff(own, axis=0)
    long = sides[int(np.argmax(np.hypot(*sides.T)))]
    out = long / np.hypot(*long)
    return _spanned(name, corners, out)


def _along(name: str, corners: Floats, grid_deg: float) -> _Line:
    """Along one long side."""
    angle = np.radians(grid_deg)
    forward = np.array([np.sin(angle), np.cos(angle)])
    return _spanned(name, corners, np.array([forward[1], -forward[0]]))


def _spanned(name: str, corners: Floats, out: Floats) -> _Line:
    """The line square to a direction behind all corners, from its most western end.

    On the side from which all stakes lie out; ends in the west, or the south.
    """
    along = np.array([out[1], -out[0]])
    if (along[0], along[1]) < (0.0, 0.0):
        along = -along
    s, t = corners @ along, corners @ out
    start = s.min() * along + t.min() * out
    return _Line(name, start, along, out, float(np.ptp(s)), float(np.ptp(t)))


def _baseline(line: _Line, convergence_deg: float) -> Baseline:
    end = line.start + line.length_m * line.along
    bearing = np.degrees(np.arctan2(*line.along)) + convergence_deg
    left = line.along[0] * line.out[1] - line.along[1] * line.out[0]
    return Baseline(
        line.block,
        (float(line.start[0]), float(line.start[1])),
        (float(end[0]), float(end[1])),
        float(bearing % 360.0),
        line.length_m,
        line.out_m,
        "left" if left > 0 else "right",
    )


def _of_tape(line: _Line, to_degrees: Transformer) -> Iterator[Stake]:
    """The three points that lay the tape and prove its corner; beds need not touch them."""
    far = line.start + line.length_m * line.along
    square = line.start + line.out_m * line.out
    points = (line.start, far, square)
    yield from _several(line, line.block, "tape", points, to_degrees)


def _of_bed(
    line: _Line, bed: Bed, hoops: int, to_degrees: Transformer
) -> Iterator[Stake]:
    """Its corners as tape and eye meet them, then its middle line, then its hoops."""
    corners = _in_order(line, _corners(bed))
    near, far = corners[:2].mean(axis=0), corners[2:].mean(axis=0)
    yield from _several(line, bed.name, "corner", corners, to_degrees)
    yield from _several(line, bed.name, "middle", (near, far), to_degrees)
    if hoops >= 2:
        there = np.linspace(near, far, hoops)
        yield from _several(line, bed.name, "hoop", there, to_degrees)


def _of_tunnel(
    line: _Line, tunnel: TunnelPlace, corners: Floats, to_degrees: Transformer
) -> Iterator[Stake]:
    corners = _in_order(line, corners)
    ends = corners[[0, 1]] / 2 + corners[[2, 3]] / 2
    yield from _several(line, tunnel.name, "corner", corners, to_degrees)
    yield from _several(line, tunnel.name, "end", ends, to_degrees)


def _in_order(line: _Line, corners: Floats) -> Floats:
    """Out from the tape, and along it."""
    along, out = corners @ line.along, corners @ line.out
    return corners[np.lexsort((np.round(along, 6), np.round(out, 6)))]


def _several(
    line: _Line, of: str, what: str, points: Iterable[Floats], to_degrees: Transformer
) -> Iterator[Stake]:
    for number, at in enumerate(points, start=1):
        yield _stake(line, of, what, number, at, to_degrees)


def _stake(
    line: _Line, of: str, what: str, number: int, at: Floats, to_degrees: Transformer
) -> Stake:
    longitude, latitude = to_degrees.transform(*at)
    away = at - line.start
    return Stake(
        line.block,
        of,
        what,
        number,
        float(at[0]),
        float(at[1]),
        float(longitude),
        float(latitude),
        round(float(away @ line.along), 6) + 0.0,
        round(float(away @ line.out), 6) + 0.0,
    )


class TapeRow(NamedTuple):
    """Where one bed or tunnel is staked along its block's tape.

    Attributes
    ----------
    near_m, far_m
        Tape at its two edges.
    out_m
        Square out from the tape, where it begins.
    """

    of: str
    near_m: float
    far_m: float
    out_m: float
    length_m: float


def tape_rows(stakes: Sequence[Stake], block: str) -> list[TapeRow]:
    """The rows of a block, in the order of its beds."""
    rows = []
    mine = [s for s in stakes if s.block == block and s.what == "corner"]
    for name, here in itertools.groupby(mine, lambda stake: stake.of):
        first, second, third, *_ = here
        edges = sorted((first.along_m, second.along_m))
        length_m = third.out_m - first.out_m
        rows.append(TapeRow(name, edges[0], edges[1], first.out_m, length_m))
    return rows
