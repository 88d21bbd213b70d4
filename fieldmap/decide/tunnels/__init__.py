"""Places for walk-in tunnels: every place with room is looked at, choices are told.

Light under the cover is not computed here: places are chosen by the fall of the ground,
the winter light that reaches it, the cold air that lies there, and the room.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from fieldmap.decide.tunnels import facts, rank, room, search
from fieldmap.decide.tunnels.model import Choice, Found, TunnelPlace, Unbeaten
from fieldmap.decide.tunnels.room import PIPE_AND_CLEARANCE_M, WORKING_SPACE_M
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from shapely.geometry.base import BaseGeometry

    from fieldmap.analyse.fields import Analysis
    from fieldmap.cache import Store
    from fieldmap.decide.tunnels.search import Candidates
    from fieldmap.model.fact import Progress
    from fieldmap.model.settings import TunnelSize
    from fieldmap.model.site import Site

__all__ = [
    "PIPE_AND_CLEARANCE_M",
    "WORKING_SPACE_M",
    "Choice",
    "Found",
    "TunnelPlace",
    "Unbeaten",
    "find",
    "standing",
    "working_space",
]

LETTERS = "ABC"
# Two sets are other places when a tunnel of theirs stands so far off, or turns so much.
APART_M = 10.0
SAME_WATER_M2 = 500.0  # of ground above, by which no set is told apart
TURNED_DEG = 15.0
# What each wish must give, or it is no choice.
GIVES = {"least earth": "earth", "most light": "light", "warmest": "warmth"}
# Light that crosses a film, its frame and its dirt on both sides of a tunnel, about 0.8
# each time (common practice, no source).
FILM_TWICE = 0.64


def find(site: Site, analysis: Analysis, store: Store, progress: Progress) -> Found:
    """Places for all wanted tunnels, the largest first, by up to three wishes.

    Places of one choice do not overlap and keep the gap that snow and shade need.
    """
    wanted = sorted(
        (size for size in site.settings.tunnels for _copy in range(size.count)),
        key=lambda size: -size.length_m * size.width_m,
    )
    if not wanted:
        return Found((), (), ())
    kinds = list(dict.fromkeys(wanted))
    searched = search.search(site, analysis, kinds, store, progress)
    found = dict(zip(kinds, searched, strict=True))
    sets = []
    warnings: list[str] = []
    for wish in rank.WISHES:
        places, without = _placed(site, analysis, wanted, found, wish)
        if wish == next(iter(rank.WISHES)):
            warnings = _no_room(wanted, without, site.settings.units)
        sets.append((wish, places))
    unbeaten = [
        each
        for number, size in enumerate(site.settings.tunnels)
        for each in _unbeaten(site, number, found[size])
    ]
    return Found(_choices(site, sets), tuple(unbeaten), tuple(warnings))


def _placed(
    site: Site,
    analysis: Analysis,
    wanted: Sequence[TunnelSize],
    found: dict[TunnelSize, Candidates],
    wish: str,
) -> tuple[list[TunnelPlace], list[TunnelSize]]:
    """One place after another by a wish, and the sizes that found none."""
    tallest_m = max(size.height_m for size in wanted)
    taken: BaseGeometry = shapely.Point()
    places: list[TunnelPlace] = []
    without = []
    for size in wanted:
        left = found[size].take(search.clear_of(found[size], size, taken))
        if not len(left):
            without.append(size)
            continue
        row = rank.best(left, site, wish)
        name = f"T{len(places) + 1}"
        places.append(facts.describe(site, analysis, size, left, row, name))
        around = room.around(places[-1].outline, size, site, tallest_m)
        taken = shapely.union_all([taken, around])
    return places, without


def _no_room(
    wanted: Sequence[TunnelSize], without: Sequence[TunnelSize], units: quantities.Units
) -> list[str]:
    """A sentence for each size of which not all have room."""
    said = []
    for size in dict.fromkeys(without):
        placed = wanted.count(size) - without.count(size)
        many = (
            _(
                "Only {placed} of {wanted} walk-in tunnels of {length} by {width} have "
                "room with working space and clearances."
            )
            if placed
            else _(
                "No plot has room for a walk-in tunnel of {length} by {width} with "
                "working space and clearances."
            )
        )
        said.append(
            many.format(
                placed=placed,
                wanted=wanted.count(size),
                length=quantities.length(size.length_m, units),
                width=quantities.length(size.width_m, units),
            )
        )
    return said


def _choices(
    site: Site, sets: Sequence[tuple[str, list[TunnelPlace]]]
) -> tuple[Choice, ...]:
    """The usual set, and those that are truly different and give what they are for."""
    (first_wish, usual), *others = sets
    if not usual:
        return ()
    kept = [(first_wish, usual)]
    for wish, places in others:
        if len(places) != len(usual):
            continue
        is_other = all(_differ(places, earlier) for _wish, earlier in kept)
        if is_other and GIVES[wish] in _gains(places, usual, site)[0]:
            kept.append((wish, places))
    return tuple(
        Choice(letter, wish, tuple(places), _said(places, usual, site))
        for letter, (wish, places) in zip(LETTERS, kept, strict=False)
    )


def _differ(some: Sequence[TunnelPlace], others: Sequence[TunnelPlace]) -> bool:
    if len(some) != len(others):
        return True
    for one, other in zip(some, others, strict=True):
        turned = abs(one.bearing_deg - other.bearing_deg) % 180.0
        if (
            one.outline.centroid.distance(other.outline.centroid) > APART_M
            or min(turned, 180.0 - turned) > TURNED_DEG
        ):
            return True
    return False


def _gains(
    places: Sequence[TunnelPlace], usual: Sequence[TunnelPlace], site: Site
) -> tuple[dict[str, str], dict[str, str]]:
    """What a set gives over the usual one, and what it gives up, by what it is of."""
    units = site.settings.units
    better: dict[str, str] = {}
    worse: dict[str, str] = {}

    def tell(key: str, gain: float, least: float, said: tuple[str, str]) -> None:
        if abs(gain) >= least:
            (better if gain > 0 else worse)[key] = said[0] if gain > 0 else said[1]

    def mean(measure: Callable[[TunnelPlace], float]) -> tuple[float, float]:
        here, there = ([measure(one) for one in each] for each in (places, usual))
        return float(np.mean(here)), float(np.mean(there))

    light, usual_light = mean(lambda one: one.winter_sun_mj_m2_day)
    more = light / usual_light - 1.0
    told = f"{abs(100 * more):.0f}"
    tell(
        "light",
        more,
        rank.SAME_LIGHT,
        (
            _("{percent} % more winter light").format(percent=told),
            _("{percent} % less winter light").format(percent=told),
        ),
    )
    warmth, usual_warmth = mean(lambda one: one.offset_c.central)
    warmer = warmth - usual_warmth
    said = _("still nights {difference}").format(
        difference=quantities.difference(warmer, units)
    )
    tell("warmth", warmer, rank.SAME_OFFSET_C, (said, said))
    earth, usual_earth = mean(lambda one: one.earth_level_m3)
    less_m3 = (usual_earth - earth) * len(places)
    amount = quantities.volume(abs(less_m3), units)
    tell(
        "earth",
        less_m3,
        rank.SAME_EARTH_M3,
        (
            _("{amount} less earth to cut for level pads").format(amount=amount),
            _("{amount} more earth to cut for level pads").format(amount=amount),
        ),
    )
    way, usual_way = mean(lambda one: (one.to_gate_m or 0.0) + (one.to_water_m or 0.0))
    nearer_m = (usual_way - way) * len(places)
    ways = quantities.length(round(abs(nearer_m)), units)
    tell(
        "way",
        nearer_m,
        rank.SAME_WAY_M,
        (
            _("{length} less way to gate and water, all ways together").format(
                length=ways
            ),
            _("{length} more way to gate and water, all ways together").format(
                length=ways
            ),
        ),
    )
    water, usual_water = mean(lambda one: one.water_from_m2)
    drier_m2 = (usual_water - water) * len(places)
    ground = quantities.area(round(abs(drier_m2), -1), units)
    tell(
        "water",
        drier_m2,
        SAME_WATER_M2,
        (
            _("rain of {area} less to lead round it").format(area=ground),
            _("rain of {area} more to lead round it").format(area=ground),
        ),
    )
    return better, worse


def _said(
    places: Sequence[TunnelPlace], usual: Sequence[TunnelPlace], site: Site
) -> str:
    if places is usual:
        return _(
            "What fits best all in all: ground that falls little first, then winter "
            "light, then warmth on still nights."
        )
    better, worse = _gains(places, usual, site)
    gives = quantities.listed(list(better.values()))
    if not worse:
        return _(
            "Beside A it gives {gives}; it gives up nothing in light, warmth, earth, way "
            "and water."
        ).format(gives=gives)
    return _("Beside A it gives {gives}; it gives up {gives_up}.").format(
        gives=gives, gives_up=quantities.listed(list(worse.values()))
    )


def _unbeaten(site: Site, number: int, candidates: Candidates) -> Iterator[Unbeaten]:
    ways = [
        facts.way_m(site, kind, candidates.centre) for kind in ("gate", "water point")
    ]
    total = np.array(
        [sum(part or 0.0 for part in both) for both in zip(*ways, strict=True)]
    )
    for row in rank.unbeaten(candidates, total):
        bearing_deg = candidates.bearing_deg[row] + site.convergence_deg
        yield Unbeaten(
            size=number,
            plot=str(site.plots["name"].iloc[int(candidates.plot[row])]),
            easting=float(candidates.centre[row, 0]),
            northing=float(candidates.centre[row, 1]),
            bearing_deg=float(np.round(bearing_deg, 6) % 180.0),
            along_percent=float(candidates.along_percent[row]),
            across_percent=float(candidates.across_percent[row]),
            earth_m3=float(candidates.earth_m3[row]),
            winter_sun_mj_m2_day=float(candidates.sun[row]),
            offset_c=float(candidates.offset_c[row]),
            to_gate_m=ways[0][row],
            to_water_m=ways[1][row],
        )


def working_space(place_: TunnelPlace) -> BaseGeometry:
    """The ground a tunnel takes from beds."""
    return place_.outline.buffer(WORKING_SPACE_M, join_style="mitre")


def standing(site: Site, places: Sequence[TunnelPlace]) -> Site:
    """The site with its tunnels among the surroundings, where they dim the beds' light.

    A tunnel is taken as a box of its height that lets `FILM_TWICE` of the light through.
    """
    if not places:
        return site
    things = gpd.GeoDataFrame(
        [
            {
                "name": place_.name,
                "kind": "fence",
                "height_m": place_.height_m,
                "porosity": FILM_TWICE,
                "clear_stem_m": 0.0,
                "leaf": "none",
                "geometry": place_.outline,
            }
            for place_ in places
        ],
        geometry="geometry",
        crs=site.crs,
    )
    around = (
        things if site.surroundings.empty else pd.concat([site.surroundings, things])
    )
    return replace(site, surroundings=around)
