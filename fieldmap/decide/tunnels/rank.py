"""Which place is best for a goal, and which places no other beats."""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from fieldmap.decide.tunnels.search import Candidates, Directions

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.intp]

# What counts as no real difference between two places (choices).
SAME_LIGHT = 0.03
SAME_OFFSET_C = 0.25
SAME_FALL_PERCENT = 0.5
SAME_EARTH_M3 = 5.0
SAME_WAY_M = 25.0
MOST_KEPT = 200  # places that no other beats, in the files, of each size


class _Question(NamedTuple):
    """Something that a place should have little of, and what difference counts."""

    measure: Callable[[Candidates, Directions], Floats]
    same: float


def _fall(candidates: Candidates, _: Directions) -> Floats:
    return candidates.across_percent + candidates.along_percent / 2


def _darkness(candidates: Candidates, _: Directions) -> Floats:
    return np.asarray(-candidates.sun / candidates.sun.max())


def askew_deg(candidates: Candidates, directions: Directions) -> Floats:
    """Angle between ridge and beds; 0 along or square to them, where few are lost."""
    beds_deg = np.array(directions.beds_deg)
    turned = np.abs(candidates.bearing_deg - beds_deg[candidates.plot]) % 90.0
    return np.asarray(np.minimum(turned, 90.0 - turned))


def off_storm_deg(candidates: Candidates, directions: Directions) -> Floats:
    """Angle between ridge and storm wind; 0 where no storm wind is known."""
    if directions.storm_deg is None:
        return np.zeros(len(candidates))
    turned = np.abs(candidates.bearing_deg - directions.storm_deg) % 180.0
    return np.asarray(np.minimum(turned, 180.0 - turned))


_FITS = _Question(lambda candidates, _: candidates.over_percent, SAME_FALL_PERCENT / 2)
_LIGHT = _Question(_darkness, SAME_LIGHT)
_WARMTH = _Question(lambda candidates, _: -candidates.offset_c, SAME_OFFSET_C)
_LEVEL = _Question(_fall, SAME_FALL_PERCENT)
_ALONG_BEDS = _Question(askew_deg, 1e-6)
_STORM = _Question(off_storm_deg, 1e-6)
_EARTH = _Question(lambda candidates, _: candidates.earth_m3, 0.5)
_LAST = (_LEVEL, _ALONG_BEDS, _STORM)
# What is asked, in turn; each keeps the places that do not differ from the best.
GOALS: dict[str, tuple[_Question, ...]] = {
    "all in all": (_FITS, _LIGHT, _WARMTH, *_LAST),
    "least earth": (_EARTH, _LIGHT, _WARMTH, _ALONG_BEDS, _STORM),
    "most light": (_LIGHT._replace(same=0.005), _FITS, _WARMTH, *_LAST),
    "warmest": (_WARMTH._replace(same=0.05), _FITS, _LIGHT, *_LAST),
}


def best(candidates: Candidates, directions: Directions, goal: str) -> int:
    """Row of the one place left when each question in turn keeps what does not differ."""
    rows = np.arange(len(candidates))
    for question in GOALS[goal]:
        left = candidates.take(rows)
        amount = question.measure(left, directions)
        rows = rows[amount <= amount.min() + question.same]
    left = candidates.take(rows)
    fall = np.round(_fall(left, directions), 2)
    return int(rows[np.lexsort((*np.round(left.centre.T, 2), fall))[0]])


def nondominated(candidates: Candidates, way_m: Floats) -> Whole:
    """Rows of places that no other beats in earth, light, warmth and way, all in steps.

    Of places alike in all four the one that moves least earth stands for the rest. The
    best by earth come first, and no more than `MOST_KEPT` are kept.
    """
    if not len(candidates):
        return np.empty(0, np.intp)
    steps = np.stack(
        [
            np.floor(candidates.earth_m3 / SAME_EARTH_M3),
            np.floor((1 - candidates.sun / candidates.sun.max()) / SAME_LIGHT),
            np.floor((candidates.offset_c.max() - candidates.offset_c) / SAME_OFFSET_C),
            np.floor(way_m / SAME_WAY_M),
        ],
        axis=1,
    ).astype(np.int64)
    order = np.lexsort(
        (*np.round(candidates.centre.T, 2), candidates.bearing_deg, candidates.earth_m3)
    )
    _, first = np.unique(steps[order], axis=0, return_index=True)
    rows = order[first]
    kept = steps[rows]
    beaten = [
        ((kept <= mine).all(axis=1) & (kept < mine).any(axis=1)).any() for mine in kept
    ]
    rows = rows[~np.array(beaten)]
    ranked = rows[np.lexsort((rows, np.round(candidates.earth_m3[rows], 3)))]
    return np.asarray(ranked[:MOST_KEPT])
