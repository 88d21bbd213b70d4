"""Places for all wanted tunnels, the largest first, by what they are for first."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import geopandas as gpd
import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.fields import Analysis
from fieldmap.cache import Store
from fieldmap.decide.layout.beds import true_deg
from fieldmap.decide.tunnels import criteria, light, rank, room, search
from fieldmap.decide.tunnels.criteria import Criteria
from fieldmap.decide.tunnels.describe import access, describe
from fieldmap.decide.tunnels.model import Found, SiteOption, TunnelPlace, TunnelSites
from fieldmap.decide.tunnels.standing import with_own_beds, working_space
from fieldmap.decide.tunnels.tunnel_sets import LETTERS, tunnel_sets
from fieldmap.model.fact import Fact, Progress
from fieldmap.model.settings import Settings, TunnelSize
from fieldmap.model.site import Site

ROUNDED_M = 0.01  # beds that are kept in a file are rounded by less
FIRST_UNASKED = "early"  # where the grower does not say what tunnels are for first


def find(
    site: Site, analysis: Analysis, store: Store, progress: Progress
) -> TunnelSites:
    """Sets of places for all wanted tunnels, and the places that no other beats.

    Places of one set do not overlap and keep the gap that snow and machines need. They
    keep off beds that lie there already. Those that are only kept were laid around
    tunnels: so places are looked for as if they were not there, and beside them only
    where the choice of the grower would stand on one.

    Parameters
    ----------
    site
        The site: its plots, surroundings, own beds, winds and the tunnels that are
        wanted.
    analysis
        The computed ground, light, cold air and wind.
    store
        Keeps what was searched and computed, to use it again.
    progress
        Is called with each step as it begins.
    """
    lie_there = [bed for bed in site.own_beds if bed.pegged]
    if lie_there:
        others = tuple(bed for bed in site.own_beds if not bed.pegged)
        around = with_own_beds(site.surroundings, lie_there)
        off_them = replace(site, surroundings=around, own_beds=others)
        return find(off_them, analysis, store, progress)
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
    sites = TunnelSites(
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
    if not site.own_beds:
        return sites
    lying = shapely.union_all([bed.outline for bed in site.own_beds])
    beside = _off_beds(sites, lying, site.settings, site.convergence_deg)
    if beside is not None:
        return beside
    around = with_own_beds(site.surroundings, site.own_beds)
    off_beds = replace(site, surroundings=around, own_beds=())
    return find(off_beds, analysis, store, progress)


def _off_beds(
    found: TunnelSites, lying: BaseGeometry, settings: Settings, convergence_deg: float
) -> TunnelSites | None:
    """What keeps off beds that stay; None where the grower's choice does not.

    The first set is there in any case: others are compared with it.
    """
    clear = {
        each.letter
        for each in found.sets
        if all(_keeps_off(lying, place.outline) for place in each.places)
    }
    if settings.tunnel_choice not in clear:
        return None
    return replace(
        found,
        sets=tuple(each for each in found.sets if each.letter in {LETTERS[0], *clear}),
        nondominated=tuple(
            each
            for each in found.nondominated
            if _keeps_off(
                lying,
                _outline(each, settings.tunnels[each.size], convergence_deg),
            )
        ),
    )


def _keeps_off(beds: BaseGeometry, outline: Polygon) -> bool:
    """Whether a tunnel and its working space touch no bed."""
    return not working_space(outline).buffer(-ROUNDED_M).intersects(beds)


def _outline(option: SiteOption, size: TunnelSize, convergence_deg: float) -> Polygon:
    upright = room.footprint(size, option.bearing_deg - convergence_deg, 0.0)
    return affinity.translate(upright, option.easting, option.northing)


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
        yield SiteOption(
            size=number,
            plot=str(plots[candidates.plot[row]]),
            easting=float(candidates.centre[row, 0]),
            northing=float(candidates.centre[row, 1]),
            bearing_deg=true_deg(candidates.bearing_deg[row], convergence_deg),
            along_percent=float(candidates.along_percent[row]),
            across_percent=float(candidates.across_percent[row]),
            winter_sun_mj_m2_day=float(candidates.sun[row]),
            offset_c=float(candidates.offset_c[row]),
            access=way,
            criteria=Criteria(*amounts[row].tolist()),
        )
