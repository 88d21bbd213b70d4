"""Places for all wanted tunnels, the largest first, by what they are for first."""

from collections.abc import Iterator, Mapping, Sequence

import geopandas as gpd
import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.fields import Analysis
from fieldmap.cache import Store
from fieldmap.decide.tunnels import criteria, light, rank, room, search
from fieldmap.decide.tunnels.criteria import Criteria
from fieldmap.decide.tunnels.describe import access, describe
from fieldmap.decide.tunnels.model import Found, SiteOption, TunnelPlace, TunnelSites
from fieldmap.decide.tunnels.tunnel_sets import tunnel_sets
from fieldmap.model.fact import Fact, Progress
from fieldmap.model.settings import TunnelSize
from fieldmap.model.site import Site

FIRST_UNASKED = "early"  # where the grower does not say what tunnels are for first


def find(
    site: Site, analysis: Analysis, store: Store, progress: Progress
) -> TunnelSites:
    """Sets of places for all wanted tunnels, and the places that no other beats.

    Places of one set do not overlap and keep the gap that snow and machines need.
    """
    wanted = sorted(
        (size for size in site.settings.tunnels for _copy in range(size.count)),
        key=lambda size: -size.ground_m * size.width_m,
    )
    if not wanted:
        return TunnelSites()
    kinds = list(dict.fromkeys(wanted))
    searched = search.search(site, analysis, kinds, store, progress)
    # Of a bent plot the middle may lie outside, and the ground there unknown.
    inside = max(site.plots.geometry, key=lambda each: each.area).representative_point()
    judge = criteria.Judge(search.directions(site), site.surroundings)
    found = {}
    for size, each in zip(kinds, searched, strict=True):
        spot = light.Spot(f"{size.width_m:g}_{size.height_m:g}", size, inside)
        curve = light.curve(site, analysis, spot, store)
        turned = curve.percent(each.bearing_deg + site.convergence_deg)
        found[size] = Found(each, judge.amounts(each, size, turned))
    asked = site.settings.tunnels_first
    goals = sorted(rank.FIRST, key=lambda goal: goal != (asked or FIRST_UNASKED))
    by_goal = {goal: _placed(site, analysis, wanted, found, goal) for goal in goals}
    (_, without), *_others = by_goal.values()
    return TunnelSites(
        sets=tunnel_sets(
            {goal: places for goal, (places, _) in by_goal.items()},
            is_asked=asked is not None,
        ),
        nondominated=tuple(
            option
            for number, size in enumerate(site.settings.tunnels)
            for option in _nondominated(
                (number, list(site.plots["name"])),
                found[size],
                site.surroundings,
                site.convergence_deg,
            )
        ),
        warnings=tuple(_no_room(wanted, without)),
    )


def _placed(
    site: Site,
    analysis: Analysis,
    wanted: Sequence[TunnelSize],
    found: Mapping[TunnelSize, Found],
    goal: str,
) -> tuple[list[TunnelPlace], list[TunnelSize]]:
    """One place after another for a goal, and the sizes that found none."""
    taken: BaseGeometry = shapely.Point()
    places: list[TunnelPlace] = []
    without = []
    for size in wanted:
        candidates, amounts = found[size]
        left = np.flatnonzero(search.clear_of(candidates, size, taken))
        if not len(left):
            without.append(size)
            continue
        row = int(left[rank.best(amounts[left], candidates.centre[left], goal)])
        name = f"T{len(places) + 1}"
        places.append(describe(site, analysis, size, found[size], row, name))
        around = places[-1].outline.buffer(room.SNOW_GAP_M)
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
    size_and_plots: tuple[int, Sequence[str]],
    found: Found,
    surroundings: gpd.GeoDataFrame,
    convergence_deg: float,
) -> Iterator[SiteOption]:
    number, plots = size_and_plots
    candidates, amounts = found
    rows = rank.nondominated(amounts, candidates.centre, candidates.bearing_deg)
    ways = access(surroundings, candidates.centre[rows])
    for row, way in zip(rows, ways, strict=True):
        bearing_deg = candidates.bearing_deg[row] + convergence_deg
        yield SiteOption(
            size=number,
            plot=str(plots[candidates.plot[row]]),
            easting=float(candidates.centre[row, 0]),
            northing=float(candidates.centre[row, 1]),
            bearing_deg=float(np.round(bearing_deg, 6) % 180.0),
            along_percent=float(candidates.along_percent[row]),
            across_percent=float(candidates.across_percent[row]),
            winter_sun_mj_m2_day=float(candidates.sun[row]),
            offset_c=float(candidates.offset_c[row]),
            access=way,
            criteria=Criteria(*amounts[row].tolist()),
        )
