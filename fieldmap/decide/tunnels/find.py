"""Places for all wanted tunnels, the largest first, by up to three goals."""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.fields import Analysis
from fieldmap.cache import Store
from fieldmap.decide.tunnels import rank, room, search
from fieldmap.decide.tunnels.describe import access, describe, ways_m
from fieldmap.decide.tunnels.model import SiteOption, TunnelPlace, TunnelSites
from fieldmap.decide.tunnels.search import Candidates
from fieldmap.decide.tunnels.tunnel_sets import tunnel_sets
from fieldmap.model.fact import Fact, Progress
from fieldmap.model.settings import TunnelSize
from fieldmap.model.site import Site


def find(
    site: Site, analysis: Analysis, store: Store, progress: Progress
) -> TunnelSites:
    """Sets of places for all wanted tunnels, and the places that no other beats.

    Places of one set do not overlap and keep the gap that snow and shade need.
    """
    wanted = sorted(
        (size for size in site.settings.tunnels for _copy in range(size.count)),
        key=lambda size: -size.length_m * size.width_m,
    )
    if not wanted:
        return TunnelSites()
    kinds = list(dict.fromkeys(wanted))
    searched = search.search(site, analysis, kinds, store, progress)
    found = dict(zip(kinds, searched, strict=True))
    by_goal = {
        goal: _placed(site, analysis, wanted, found, goal) for goal in rank.GOALS
    }
    (_, without), *_others = by_goal.values()
    return TunnelSites(
        sets=tunnel_sets({goal: places for goal, (places, _) in by_goal.items()}),
        nondominated=tuple(
            option
            for number, size in enumerate(site.settings.tunnels)
            for option in _nondominated(site, number, found[size])
        ),
        warnings=tuple(_no_room(wanted, without)),
    )


def _placed(
    site: Site,
    analysis: Analysis,
    wanted: Sequence[TunnelSize],
    found: Mapping[TunnelSize, Candidates],
    goal: str,
) -> tuple[list[TunnelPlace], list[TunnelSize]]:
    """One place after another by a goal, and the sizes that found none."""
    directions = search.directions(site)
    tallest_m = max(size.height_m for size in wanted)
    taken: BaseGeometry = shapely.Point()
    places: list[TunnelPlace] = []
    without = []
    for size in wanted:
        left = found[size].take(search.clear_of(found[size], size, taken))
        if not len(left):
            without.append(size)
            continue
        row = rank.best(left, directions, goal)
        name = f"T{len(places) + 1}"
        places.append(describe(site, analysis, size, left, row, name))
        around = room.around(
            places[-1].outline,
            (size.height_m, tallest_m),
            room.months_of_use(size, site.season),
            site.latitude,
            site.convergence_deg,
        )
        taken = shapely.union_all([taken, around])
    return places, without


def _no_room(
    wanted: Sequence[TunnelSize], without: Sequence[TunnelSize]
) -> Iterator[Fact]:
    """Each size of which not all have room."""
    for size in dict.fromkeys(without):
        placed = wanted.count(size) - without.count(size)
        yield Fact(
            "room_for_some_tunnels" if placed else "no_room_for_tunnel",
            placed=placed,
            wanted=wanted.count(size),
            length_m=size.length_m,
            width_m=size.width_m,
        )


def _nondominated(
    site: Site, number: int, candidates: Candidates
) -> Iterator[SiteOption]:
    total_m = np.nan_to_num(ways_m(site.surroundings, candidates.centre)).sum(axis=0)
    rows = rank.nondominated(candidates, total_m)
    ways = access(site.surroundings, candidates.centre[rows])
    for row, way in zip(rows, ways, strict=True):
        bearing_deg = candidates.bearing_deg[row] + site.convergence_deg
        yield SiteOption(
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
            access=way,
        )
