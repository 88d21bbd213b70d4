"""Sets of places that are truly different, and what each gives and gives up."""

from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from fieldmap.decide.layout.bearings import apart_deg
from fieldmap.decide.tunnels import rank
from fieldmap.decide.tunnels.model import TunnelPlace, TunnelSet
from fieldmap.model.fact import Fact

Places = Sequence[TunnelPlace]

LETTERS = "ABC"
# Two sets are other places when a tunnel of theirs stands so far off, or turns so much.
APART_M = 10.0
TURNED_DEG = 15.0
SAME_WATER_M2 = 500.0  # of ground above, by which no set counts as different
# What the set of each goal must give, or it is not shown.
GIVES = {"least earth": "earth", "most light": "light", "warmest": "warmth"}


class Gain(NamedTuple):
    """What a set gives over the usual one; less than 0 is given up."""

    of: str
    amount: float
    fact: Fact


def tunnel_sets(by_goal: Mapping[str, Places]) -> tuple[TunnelSet, ...]:
    """The usual set, and those that are truly different and give what they are for."""
    (first_goal, usual), *others = by_goal.items()
    if not usual:
        return ()
    kept: list[tuple[str, Places, Fact]] = [
        (first_goal, usual, Fact("usual_tunnel_set"))
    ]
    for goal, places in others:
        if len(places) != len(usual):
            continue
        found = gains(places, usual)
        is_other = all(_differ(places, earlier) for _goal, earlier, _fact in kept)
        if is_other and GIVES[goal] in [each.of for each in found if each.amount > 0]:
            kept.append((goal, places, _comparison(found)))
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


def gains(places: Places, usual: Places) -> list[Gain]:
    """What a set gives or gives up, where that is a real difference."""

    def means(measure: Callable[[TunnelPlace], float]) -> tuple[float, float]:
        """Of the set, and of the usual one."""
        here, there = (np.mean(list(map(measure, of))) for of in (places, usual))
        return float(here), float(there)

    def less(measure: Callable[[TunnelPlace], float]) -> float:
        here, there = means(measure)
        return (there - here) * len(places)

    winter, usual_winter = means(lambda place: place.light.winter_mj_m2_day)
    warmth_c, usual_warmth_c = means(lambda place: place.offset_c.central)
    light, warmer_c = winter / usual_winter - 1.0, warmth_c - usual_warmth_c
    earth_m3 = less(lambda place: place.ground.level_pad_m3)
    way_m = less(lambda place: place.access.total_m)
    rain_m2 = less(lambda place: place.rain.from_m2)
    nights = Fact("nights", difference_c=warmer_c)
    every = [
        (rank.SAME_LIGHT, Gain("light", light, _more_light(light))),
        (rank.SAME_OFFSET_C, Gain("warmth", warmer_c, nights)),
        (rank.SAME_EARTH_M3, _less("earth", earth_m3, amount_m3=abs(earth_m3))),
        (rank.SAME_WAY_M, _less("way", way_m, length_m=abs(round(way_m, 0)))),
        (SAME_WATER_M2, _less("rain", rain_m2, area_m2=abs(round(rain_m2, -1)))),
    ]
    return [gain for least, gain in every if abs(gain.amount) >= least]


def _more_light(more: float) -> Fact:
    kind = "more_light" if more > 0 else "less_light"
    return Fact(kind, percent=round(abs(100 * more)))


def _less(of: str, less: float, **amount: float) -> Gain:
    return Gain(of, less, Fact(f"less_{of}" if less > 0 else f"more_{of}", **amount))


def _comparison(found: Sequence[Gain]) -> Fact:
    gives = [each.fact for each in found if each.amount > 0]
    gives_up = [each.fact for each in found if each.amount <= 0]
    kind = "tunnel_set_gives_up" if gives_up else "tunnel_set_gives_up_nothing"
    return Fact(kind, gives=gives, gives_up=gives_up)
