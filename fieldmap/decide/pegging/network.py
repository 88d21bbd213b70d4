"""How well pegs are known that hang on each other: errors carried on, to first order.

Each place has a covariance with every other, so pegs that share a fault keep their shape.
A tape of length d errs by reading and by slack; a string by how straight it is.
"""

import itertools
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from fieldmap.decide.pegging.model import At

Floats = npt.NDArray[np.float64]

# One reading, rounding to a centimetre within; pull and sag, uniform from 0 to 1 in
# 1,000, of which this is the standard deviation; a string beside its line (choices).
READING_M, SLACK, STRING_M = 0.0105, 0.00029, 0.005
# Two tapes cross well between these (common practice, no source).
CROSSING_DEG = 45.0, 135.0


# Pegs that are known so nearly alike are alike.
ALIKE_M = 0.01


class Fix(NamedTuple):
    """Two known places from which tapes meet at a third, and how well it is known."""

    first: int
    second: int
    off_m: float


class Carried(NamedTuple):
    """How a peg moves with the few places it hangs on.

    Attributes
    ----------
    places
        Which; the same may come twice.
    moves
        (2, 2 * places) metres by metre of each.
    """

    places: tuple[int, ...]
    moves: Floats

    @property
    def slots(self) -> npt.NDArray[np.int64]:
        """Rows of the places in a covariance."""
        return (2 * np.array(self.places, int)[:, None] + [0, 1]).ravel()


FIXED = Carried((), np.zeros((2, 0)))


def tape_error_m(length_m: float) -> float:
    """Standard deviation of a taped length."""
    return float(np.hypot(READING_M, SLACK * length_m))


class Network:
    """Places by their index, with the covariance of all of them [m²]."""

    def __init__(self) -> None:
        self.at: list[At] = []
        # Doubled when it is full: a large field has thousands of pegs.
        self._room: Floats = np.zeros((16, 16))

    def add_landmark(self, at: At, error_m: float) -> int:
        """A thing that the map has within so much, standard deviation."""
        return self._append(at, FIXED, error_m**2 * np.eye(2))

    def add_taped(self, at: At, first: int, second: int) -> int:
        """Index of a new peg where two tapes meet.

        Parameters
        ----------
        at
            Place of the peg, easting and northing [m].
        first, second
            Indices of the places that the tapes come from, not in one line with the
            peg.
        """
        carried, own = self._taped(at, first, second)
        return self._append(at, carried, own)

    def add_on_string(self, at: At, start: int, end: int, taped_from: int) -> int:
        """Index of a new peg on a string, taped from a place on it.

        Across the string it is as well known as the ends, by its share of the way; along
        the string as the place it is taped from.

        Parameters
        ----------
        at
            Place of the peg, easting and northing [m], on the string.
        start, end
            Indices of the places between which the string is pulled.
        taped_from
            Index of the place from which the peg is taped, on the string.
        """
        along, length_m = self._unit(start, end)
        across = np.array([-along[1], along[0]])
        share = float((np.subtract(at, self.at[start]) @ along) / length_m)
        beside = np.outer(across, across)
        moves = (1 - share) * beside, share * beside, np.outer(along, along)
        carried = Carried((start, end, taped_from), np.hstack(moves))
        _, taped_m = self._unit(taped_from, at)
        own = tape_error_m(taped_m) ** 2 * np.outer(along, along)
        own += STRING_M**2 * np.outer(across, across)
        return self._append(at, carried, own)

    def off_m(self, place: int) -> float:
        """Standard deviation of a place in its worst direction."""
        slots = slice(2 * place, 2 * place + 2)
        return _worst_m(self._room[slots, slots])

    def best_fix(self, at: At, candidates: Sequence[int]) -> Fix | None:
        """The two of some places from which a peg is known best; None where none cross.

        Differences under a centimetre do not count: the earlier pair is taken.
        """
        best: Fix | None = None
        for first, second in itertools.combinations(candidates, 2):
            if not self.crosses_well(at, first, second):
                continue
            carried, own = self._taped(at, first, second)
            off_m = _worst_m(self._of(carried) + own)
            found = Fix(first, second, off_m)
            if best is None or found.off_m < best.off_m - ALIKE_M:
                best = found
        return best

    def crosses_well(self, at: At, first: int, second: int) -> bool:
        """Whether tapes from two places meet at a good angle.

        Parameters
        ----------
        at
            Where the tapes meet, easting and northing [m]. Within 0.3 m of either place
            they do not cross well.
        first, second
            Indices of the places that the tapes come from.
        """
        one, one_m = self._unit(first, at)
        other, other_m = self._unit(second, at)
        if min(one_m, other_m) < 0.3:
            return False
        angle_deg = np.degrees(np.arccos(np.clip(one @ other, -1.0, 1.0)))
        return bool(CROSSING_DEG[0] <= angle_deg <= CROSSING_DEG[1])

    # ------------------------------------------------------------- the arithmetic
    def _taped(self, at: At, first: int, second: int) -> tuple[Carried, Floats]:
        """How a peg moves with both places, and its own covariance.

        For unit vectors u towards the peg, u·dp = u·dq + e for each tape from q: two
        equations for dp.
        """
        one, one_m = self._unit(first, at)
        other, other_m = self._unit(second, at)
        solve = np.linalg.inv(np.stack([one, other]))
        moves = np.outer(solve[:, 0], one), np.outer(solve[:, 1], other)
        carried = Carried((first, second), np.hstack(moves))
        errors = np.array([tape_error_m(one_m), tape_error_m(other_m)]) ** 2
        return carried, solve @ np.diag(errors) @ solve.T

    def _unit(self, start: int, end: int | At) -> tuple[Floats, float]:
        to = self.at[end] if isinstance(end, int) else end
        way = np.subtract(to, self.at[start])
        length_m = float(np.hypot(*way))
        return way / max(length_m, 1e-9), length_m

    def _of(self, carried: Carried) -> Floats:
        """Covariance of what moves with some places."""
        slots = carried.slots
        moves = carried.moves
        return np.asarray(moves @ self._room[np.ix_(slots, slots)] @ moves.T)

    def _append(self, at: At, carried: Carried, own: Floats) -> int:
        used = 2 * len(self.at)
        if used == len(self._room):
            self._room = np.pad(self._room, (0, used))
        new = slice(used, used + 2)
        shared = carried.moves @ self._room[carried.slots, :used]
        self._room[new, :used], self._room[:used, new] = shared, shared.T
        self._room[new, new] = self._of(carried) + own
        self.at.append(at)
        return len(self.at) - 1


def _worst_m(covariance: Floats) -> float:
    """Root of the larger eigenvalue of a symmetric 2 x 2 matrix."""
    mean = (covariance[0, 0] + covariance[1, 1]) / 2
    half = np.hypot((covariance[0, 0] - covariance[1, 1]) / 2, covariance[0, 1])
    return float(np.sqrt(max(mean + half, 0.0)))
