"""Sets of places that are truly different, and what each gives and gives up."""

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from fieldmap.decide.layout.bearings import apart_deg
from fieldmap.decide.tunnels.criteria import SAME, Criteria
from fieldmap.decide.tunnels.model import TunnelPlace, TunnelSet
from fieldmap.model.fact import Fact

Places = Sequence[TunnelPlace]

LETTERS = "ABC"
# Two sets are other places when a tunnel of theirs stands so far off, or turns so much.
APART_M = 10.0
TURNED_DEG = 15.0
# What of these the set of each goal must give, or it is not shown.
GIVES: Mapping[str, tuple[str, ...]] = {
    "early": ("dark_points", "cold_c", "wet_percent"),
    "storm-safe": ("storm_deg", "storm_percent", "line_m"),
    "near": ("way_m",),
}
# Counted for all tunnels of a set together; of the others the mean counts.
TOGETHER = ("rain_m2", "earth_m3", "way_m")
# A share of what blows in the open: a difference of two shares would read as a share.
SHARE = "storm_percent"


class Gain(NamedTuple):
    """What a set gives over another; less than 0 is given up.

    Attributes
    ----------
    of
        Name of the criterion.
    amount
        By how much less it is here.
    there
        How much it is in the other set, where both are said; None elsewhere.
    """

    of: str
    amount: float
    there: float | None = None

    @property
    def fact(self) -> Fact:
        """How it is said: "less_earth_m3", or "more_earth_m3" of what is given up."""
        kind = "less" if self.amount > 0 else "more"
        if self.there is not None:
            return Fact(
                f"{kind}_{self.of}",
                here_percent=self.there - self.amount,
                there_percent=self.there,
            )
        _, unit = self.of.rsplit("_", 1)
        amount = round(abs(self.amount), -1 if unit == "m2" else 1)
        return Fact(f"{kind}_{self.of}", **{f"amount_{unit}": amount})


def tunnel_sets(
    by_goal: Mapping[str, Places], *, is_asked: bool
) -> tuple[TunnelSet, ...]:
    """The set for what is asked first, and those that truly differ and give something.

    Parameters
    ----------
    by_goal
        Places for each goal, what is asked first before the others.
    is_asked
        Whether the grower said what tunnels are for first.
    """
    (first_goal, first), *others = by_goal.items()
    if not first:
        return ()
    asked = "tunnel_set_first" if is_asked else "tunnel_set_first_unasked"
    comparison = Fact(asked, goal=_said(first_goal))
    kept: list[tuple[str, Places, Fact]] = [(first_goal, first, comparison)]
    for goal, places in others:
        # Sets are compared tunnel by tunnel.
        if len(places) != len(first):
            continue
        found = list(gains(places, first))
        is_other = all(_differ(places, earlier) for _goal, earlier, _fact in kept)
        if is_other and any(
            each.of in GIVES[goal] for each in found if each.amount > 0
        ):
            kept.append((goal, places, _comparison(goal, found)))
    return tuple(
        TunnelSet(letter, goal, tuple(places), comparison)
        for letter, (goal, places, comparison) in zip(LETTERS, kept, strict=False)
    )


def _differ(some: Places, others: Places) -> bool:
    return any(
        one.outline.centroid.distance(other.outline.centroid) > APART_M
        or apart_deg(one.bearing_deg, other.bearing_deg) > TURNED_DEG
        for one, other in zip(some, others, strict=True)
    )


def gains(places: Places, first: Places) -> Iterator[Gain]:
    """What a set gives or gives up beside the first, where that is a real difference."""
    here, there = (np.array([each.criteria for each in of]) for of in (places, first))
    for at, name in enumerate(Criteria._fields):
        less = (there - here)[:, at]
        amount = float(less.sum() if name in TOGETHER else less.mean())
        if abs(amount) > SAME[at]:
            of_first = float(there[:, at].mean()) if name == SHARE else None
            yield Gain(name, amount, of_first)


def _comparison(goal: str, found: Sequence[Gain]) -> Fact:
    gives = [each.fact for each in found if each.amount > 0]
    gives_up = [each.fact for each in found if each.amount <= 0]
    kind = "tunnel_set_gives_up" if gives_up else "tunnel_set_gives_up_nothing"
    return Fact(kind, goal=_said(goal), gives=gives, gives_up=gives_up)


def _said(goal: str) -> Fact:
    return Fact(f"tunnels_first_{goal.replace('-', '_')}")
