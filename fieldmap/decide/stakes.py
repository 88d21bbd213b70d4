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
# Of what, which points of it, and where they lie.
_Run = tuple[str, str, Iterable[Floats]]


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
    new = [bed for bed in beds if not bed.exists]  # the others want no stakes
    blocks: list[tuple[_Line, list[_Run]]] = []
    # By the letters that names begin with, in order.
    for name in dict.fromkeys(bed.block_name for bed in new):
        here = [bed for bed in new if bed.block_name == name]
        line = _across(name, here)
        blocks.append(
            (line, [run for bed in here for run in _of_bed(line, bed, hoops)])
        )
    for tunnel in tunnels:
        line = _along(tunnel, tunnel.bearing_deg - convergence_deg)
        blocks.append((line, list(_of_tunnel(line, tunnel))))
    to_degrees = transformer(crs, WGS84)
    return Staking(
        tuple(stake for block in blocks for stake in _driven(*block, to_degrees)),
        tuple(_baseline(line, convergence_deg) for line, _runs in blocks),
    )


class _Line(NamedTuple):
    """A baseline with its unit vectors, as one measures."""

    block: str
    start: Floats
    along: Floats
    out: Floats
    length_m: float
    out_m: float


def _corners(thing: Bed | TunnelPlace) -> Floats:
    return np.asarray(shapely.get_coordinates(thing.outline)[:4])


def _across(name: str, beds: Sequence[Bed]) -> _Line:
    """Square to the beds along their first ends, so that one tape meets them all."""
    sides = np.diff(_corners(beds[0]), axis=0)
    long = sides[int(np.argmax(np.hypot(*sides.T)))]
    corners = np.concatenate([_corners(bed) for bed in beds])
    return _spanned(name, corners, long / np.hypot(*long))


def _along(tunnel: TunnelPlace, grid_deg: float) -> _Line:
    """Along one long side."""
    angle = np.radians(grid_deg)
    out = np.array([np.cos(angle), -np.sin(angle)])
    return _spanned(tunnel.name, _corners(tunnel), out)


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


def _of_bed(line: _Line, bed: Bed, hoops: Mapping[str, int]) -> Iterator[_Run]:
    """Its corners as tape and eye meet them, then its middle line, then its hoops."""
    corners = _in_order(line, _corners(bed))
    near, far = corners[:2].mean(axis=0), corners[2:].mean(axis=0)
    yield bed.name, "corner", corners
    yield bed.name, "middle", (near, far)
    count = hoops.get(bed.name, 0)
    if count >= 2:
        yield bed.name, "hoop", np.linspace(near, far, count)


def _of_tunnel(line: _Line, tunnel: TunnelPlace) -> Iterator[_Run]:
    corners = _in_order(line, _corners(tunnel))
    yield tunnel.name, "corner", corners
    yield tunnel.name, "end", corners[[0, 1]] / 2 + corners[[2, 3]] / 2


def _in_order(line: _Line, corners: Floats) -> Floats:
    """Out from the tape, and along it."""
    along, out = corners @ line.along, corners @ line.out
    return corners[np.lexsort((np.round(along, 6), np.round(out, 6)))]


def _driven(
    line: _Line, runs: Sequence[_Run], to_degrees: Transformer
) -> Iterator[Stake]:
    """The stakes of a block, those of each run counted from 1."""
    # Three points lay the tape and prove its corner; beds need not touch them.
    far, square = line.length_m * line.along, line.out_m * line.out
    tape = line.start + np.array([[0.0, 0.0], far, square])
    for of, what, points in ((line.block, "tape", tape), *runs):
        for number, at in enumerate(points, start=1):
            away = at - line.start
            easting, northing = at.tolist()
            longitude, latitude = to_degrees.transform(easting, northing)
            yield Stake(
                line.block,
                of,
                what,
                number,
                easting,
                northing,
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
        near_m, far_m = sorted((first.along_m, second.along_m))
        length_m = third.out_m - first.out_m
        rows.append(TapeRow(name, near_m, far_m, first.out_m, length_m))
    return rows
