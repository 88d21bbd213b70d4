"""Where a class stops on this ground, and what the plan says there: each from its facts."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any, NamedTuple

import geopandas as gpd
import numpy as np
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.cold_air.barriers import Barrier
from fieldmap.analyse.cold_air.flow_lines import FlowLine
from fieldmap.decide.layout.bays.walk import entry
from fieldmap.decide.ranking import RankedBed
from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.model.estimate import rounded_c
from fieldmap.model.season_year import SeasonYear
from fieldmap.show.print.ground.ground_facts import First

MOST = 6
# Less more sun than that is not felt by a finger; less ground that gathers water is not
# seen; a wall farther from the plots is no part of the walk (choices).
MORE_SUN, WET_SHARE, STEEP_PERCENT = 0.05, 0.2, 3.0
WALL_WITHIN_M, APART_M = 60.0, 20.0
At = tuple[float, float]


@dataclass(frozen=True)
class Stop:
    """One stop.

    Attributes
    ----------
    kind
        Of `stops` in walk.toml.
    say
        Which of the answers of that kind holds.
    """

    kind: str
    at: At
    say: str = "say"
    values: dict[str, Any] = field(default_factory=dict)


class Walked(NamedTuple):
    """What a walk is made from.

    Attributes
    ----------
    start
        Where one comes in, and what that is called.
    """

    start: tuple[At, str]
    beds: Sequence[RankedBed]
    first: First
    tunnels: Sequence[TunnelPlace]
    barriers: Sequence[Barrier]
    flow_lines: Sequence[FlowLine]
    plots: gpd.GeoDataFrame
    surroundings: gpd.GeoDataFrame
    season: SeasonYear


def entry_of(surroundings: gpd.GeoDataFrame, outline: BaseGeometry) -> tuple[At, str]:
    """Where one comes in: the gate nearest to a plot, by its name, else the way in."""
    gates = surroundings[surroundings["kind"] == "gate"]
    if gates.empty:
        at = entry(surroundings, outline)
        return (float(at.x), float(at.y)), ""
    number = int(np.argmin(gates.distance(outline)))
    middle, name = gates.geometry.iloc[number].centroid, gates["name"].iloc[number]
    return (float(middle.x), float(middle.y)), name if isinstance(name, str) else ""


def stops(the: Walked) -> list[Stop]:
    """The gate, then up to five others in the order of a short way from it."""
    if not the.beds:
        return []
    found = [_gate(the)]
    for made in (_cold, _sun, _barrier, _water, _tunnel, _slope, _wall):
        found += list(made(the))[: MOST - len(found)]
    return _in_order(found)


def _in_order(found: Sequence[Stop]) -> list[Stop]:
    """From each stop to the nearest one left."""
    walked, left = [found[0]], list(found[1:])
    while left:
        here = walked[-1].at
        nearest = min(
            left, key=lambda stop: (round(_way_m(here, stop.at), 2), stop.kind)
        )
        left.remove(nearest)
        walked.append(nearest)
    return walked


def way_m(walked: Sequence[Stop]) -> float:
    """Straight from stop to stop."""
    return sum(_way_m(one.at, other.at) for one, other in pairwise(walked))


def _way_m(one: At, other: At) -> float:
    return float(np.hypot(one[0] - other[0], one[1] - other[1]))


def middle_of(bed: RankedBed) -> At:
    """Easting and northing of the middle of a bed."""
    middle = bed.bed.outline.centroid
    return float(middle.x), float(middle.y)


def coldest(beds: Sequence[RankedBed]) -> RankedBed:
    """The bed that is likely coldest on a still night."""
    return min(beds, key=lambda bed: bed.offset_c.central)


def wettest(beds: Sequence[RankedBed]) -> RankedBed | None:
    """The bed on most of which water gathers; None where that is on hardly any."""
    found = max(beds, key=lambda bed: np.nan_to_num(bed.water_share))
    return found if found.water_share >= WET_SHARE else None


def _gate(the: Walked) -> Stop:
    at, place = the.start
    first = the.first
    values: dict[str, Any] = {"place": place, "plots": list(first.plots)}
    if not first.plots:
        return Stop("gate", at, "say_alike", values)
    days = 0 if first.days_later is None else round(first.days_later)
    if days < 1:
        return Stop("gate", at, "say_first", values)
    return Stop("gate", at, "say", values | {"last": first.last_plot, "days": days})


def _cold(the: Walked) -> Iterator[Stop]:
    bed = coldest(the.beds)
    alike = not rounded_c(bed.offset_c.central)
    months = {
        "first": the.season.local_month(10),
        "last": the.season.local_month(5),
    }
    values = {"bed": bed.bed.name, "offset": bed.offset_c, **months}
    yield Stop("cold", middle_of(bed), "say_alike" if alike else "say", values)


def _sun(the: Walked) -> Iterator[Stop]:
    """The two beds of one plot whose light differs most in April, October in the south."""
    month = the.season.local_month(4)
    best: tuple[float, RankedBed, RankedBed] | None = None
    for plot in dict.fromkeys(each.bed.plot for each in the.beds):
        beds = [each for each in the.beds if each.bed.plot == plot]
        light = [each.light.sun_mj_m2_day[month - 1] for each in beds]
        sunny, shady = int(np.argmax(light)), int(np.argmin(light))
        more = light[sunny] / light[shady] - 1.0 if light[shady] else 0.0
        if best is None or more > best[0]:
            best = more, beds[sunny], beds[shady]
    if best is None or best[0] < MORE_SUN:
        return
    more, sunny_bed, shady_bed = best
    values = {
        "plot": sunny_bed.bed.plot,
        "sunny": sunny_bed.bed.name,
        "shady": shady_bed.bed.name,
        "percent": round(100 * more),
        "month": month,
    }
    yield Stop("sun", middle_of(sunny_bed), "say", values)


def _barrier(the: Walked) -> Iterator[Stop]:
    """Things behind which cold air is colder, as far as people are shown; two at most."""
    shown = {each.name: each for each in the.barriers if rounded_c(-each.colder_c)}
    ordered = sorted(shown.values(), key=lambda each: (-each.colder_c, each.name))
    for each in ordered[:2]:
        place = each.edge.interpolate(0.5, normalized=True)
        values = {
            "thing": each.name,
            "kind": each.kind,
            "side_deg": each.side_deg,
            "colder_c": each.colder_c,
        }
        yield Stop("barrier", (float(place.x), float(place.y)), "say", values)


def _tunnel(the: Walked) -> Iterator[Stop]:
    for place in the.tunnels[:1]:
        middle = place.outline.centroid
        values = {
            "tunnel": place.name,
            "along_percent": place.ground.along_percent,
            "to_deg": place.rain.to_deg,
        }
        yield Stop("tunnel", (float(middle.x), float(middle.y)), "say", values)


def _water(the: Walked) -> Iterator[Stop]:
    """A wet bed that is not where the class stops for the cold."""
    cold = middle_of(coldest(the.beds))
    wet = [each for each in the.beds if each.water_share >= WET_SHARE]
    far = [each for each in wet if _way_m(cold, middle_of(each)) > APART_M]
    if far:
        bed = max(far, key=lambda each: each.water_share)
        values = {"bed": bed.bed.name, "percent": round(100 * bed.water_share)}
        yield Stop("water", middle_of(bed), "say", values)


def _slope(the: Walked) -> Iterator[Stop]:
    """The steepest bed, where one sees that it is steep."""
    bed = max(the.beds, key=lambda each: np.nan_to_num(each.slope_percent))
    if bed.slope_percent >= STEEP_PERCENT:
        values = {"bed": bed.bed.name, "slope_percent": bed.slope_percent}
        yield Stop("slope", middle_of(bed), "say", values)


def _wall(the: Walked) -> Iterator[Stop]:
    things = the.surroundings
    shown = [stop.values["thing"] for stop in _barrier(the)]
    walls = things[things["kind"].isin(("building", "wall"))]
    walls = walls[~walls["name"].isin(shown)]
    ground = the.plots.union_all()
    near = walls[walls.distance(ground) <= WALL_WITHIN_M]
    if near.empty:
        return
    number = int(np.argmin(near.distance(ground)))
    middle = near.geometry.iloc[number].centroid
    name, kind = near["name"].iloc[number], near["kind"].iloc[number]
    values = {"thing": name if isinstance(name, str) else "", "kind": kind}
    yield Stop("wall", (float(middle.x), float(middle.y)), "say", values)
