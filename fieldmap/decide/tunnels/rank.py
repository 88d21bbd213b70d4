"""Which place is taken for what tunnels are for first, and which no other beats.

There is no score. What the grower asks for first is asked first, then the rest in turn;
each keeps the places that are not really worse than the best. Then the place gives way
to one that is not really worse in anything and really better in something.
"""

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from fieldmap.decide.tunnels.criteria import SAME, Criteria
from layers import pareto

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.intp]

MOST_KEPT = 200  # places that no other beats, in the files, of each size
MOST_STEPS = 10  # from one place to a better one
# What is asked first by each answer of `tunnels_first`.
FIRST: Mapping[str, tuple[str, ...]] = {
    "early": ("dark_points", "steep_percent", "cold_c", "wet_percent"),
    "storm-safe": ("storm_deg", "storm_percent", "line_m", "steep_percent"),
    "near": ("way_m", "steep_percent", "wet_percent", "line_m"),
}
# Then everything in this turn.
THEN = (
    *("steep_percent", "line_m", "wet_percent", "cold_c", "rain_m2", "earth_m3"),
    *("dark_points", "way_m", "storm_deg", "askew_deg", "storm_percent", "breeze_deg"),
)
SAME_AMOUNTS = np.array(SAME)


def best(amounts: Floats, centre: Floats, goal: str) -> int:
    """Row of the place for a goal.

    Parameters
    ----------
    amounts
        (places, criteria), at least one place.
    centre
        (places, 2) easting and northing [m], which decide between places alike in
        everything.
    goal
        A key of `FIRST`.
    """
    rows = np.arange(len(amounts))
    for name in (*FIRST[goal], *THEN):
        at = Criteria._fields.index(name)
        amount = amounts[rows, at]
        rows = rows[amount <= amount.min() + SAME_AMOUNTS[at]]
    return _bettered(amounts, centre, goal, _first_of(amounts, centre, rows))


def _first_of(amounts: Floats, centre: Floats, rows: Whole) -> int:
    """Of places alike the one with least earth, then that most with the beds."""
    earth, askew = (
        np.round(amounts[rows, Criteria._fields.index(name)], 2)
        for name in ("earth_m3", "askew_deg")
    )
    keys = (*np.round(centre[rows].T, 2), askew, earth)
    return int(rows[np.lexsort(keys)[0]])


def _bettered(amounts: Floats, centre: Floats, goal: str, row: int) -> int:
    """A place that is not really worse than this in anything and beaten by no such.

    In what the goal asks first of all it is not really worse than the best of all.
    """
    first = Criteria._fields.index(FIRST[goal][0])
    limits = amounts[row] + SAME_AMOUNTS
    limits[first] = amounts[:, first].min() + SAME_AMOUNTS[first]
    alike = np.flatnonzero((amounts <= limits).all(axis=1))
    for _step in range(MOST_STEPS):
        gains = _gains(amounts[alike], amounts[row])
        if not gains.max():
            break
        row = _first_of(amounts, centre, alike[gains == gains.max()])
    return row


def _gains(amounts: Floats, one: Floats) -> Whole:
    """In how many criteria places are really better than one; 0 if worse in any."""
    better = (amounts < one - SAME_AMOUNTS).sum(axis=1)
    worse = (amounts > one + SAME_AMOUNTS).any(axis=1)
    return np.where(worse, 0, better)


def nondominated(amounts: Floats, centre: Floats, bearing_deg: Floats) -> Whole:
    """Rows of places that no other beats, all in steps of `SAME` above the least.

    Of places alike in every step the one that moves least earth stands for the rest. The
    best by earth come first, and no more than `MOST_KEPT` are kept.

    Parameters
    ----------
    amounts
        (places, criteria) amounts in the order of `Criteria`, less being better.
    centre
        (places, 2) easting and northing [m]; puts places in order that move the same
        earth at one bearing.
    bearing_deg
        (places,) bearing of the ridge from grid north; puts places in order that move
        the same earth.
    """
    if not len(amounts):
        return np.empty(0, np.intp)
    earth = amounts[:, Criteria._fields.index("earth_m3")]
    # In steps of what is a real difference, or nearly every place would be unbeaten.
    steps = np.floor((amounts - amounts.min(axis=0)) / SAME_AMOUNTS).astype(np.int64)
    order = np.lexsort((*np.round(centre.T, 2), bearing_deg, earth))
    kept = order[pareto.unbeaten(steps[order])]
    ranked = kept[np.lexsort((kept, np.round(earth[kept], 3)))]
    return np.asarray(ranked[:MOST_KEPT])
