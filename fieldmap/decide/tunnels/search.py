"""Every place and bearing at which a tunnel has room, and what lies under each."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.fields import Analysis
from fieldmap.cache import Arrays, Store
from fieldmap.decide.layout.beds import long_side_deg
from fieldmap.decide.tunnels import room, under_tunnels
from fieldmap.model.fact import Fact, Progress
from fieldmap.model.raster import Raster
from fieldmap.model.settings import TunnelSize
from fieldmap.model.site import Site
from layers import footprint

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.intp]

# The search: steps of places and bearings.
STEP_M = 0.5
BEARING_STEP_DEG = 5.0
# Of neighbouring places of one bearing the best is kept: they hardly differ.
CELL_M = 4.0
# Falls that a frame takes without grading: along up to 3-5 %, across 1-2 % (from memory
# of common advice). They flag a place, they do not exclude it.
ALONG_LIMIT_PERCENT = 5.0
ACROSS_LIMIT_PERCENT = 2.0
# So much of the ground under a tunnel may look like a step: a molehill, or a mistake of
# the heights (a choice).
STEP_SHARE = 0.01


@dataclass(frozen=True)
class Candidates:
    """Places with room for one size: one row each.

    Attributes
    ----------
    plot
        Number of the plot.
    centre
        (n, 2) easting, northing.
    bearing_deg
        From grid north, 0 to under 180.
    along_percent, across_percent
        Grade of the ground, without sign.
    earth_m3
        To cut, and to fill with it, for a level pad.
    offset_c, cold_c
        Likely offset on a clear calm night, and at worst.
    sun
        MJ/m² a day on level ground in the three darkest months, uncovered.
    wet_share
        Of the ground underneath that is clay, wet in March or where water gathers.
    rain_m2
        Ground above that drains onto the place, about.
    storm_share
        Of the open storm wind; 1 where its direction is not given.
    compared
        Places and bearings with room, of which these were kept.
    """

    plot: Whole
    centre: Floats
    bearing_deg: Floats
    along_percent: Floats
    across_percent: Floats
    earth_m3: Floats
    offset_c: Floats
    cold_c: Floats
    sun: Floats
    wet_share: Floats
    rain_m2: Floats
    storm_share: Floats
    compared: int

    def take(self, rows: Whole | npt.NDArray[np.bool_]) -> Candidates:
        """Some of them."""
        return replace(self, **{name: getattr(self, name)[rows] for name in COLUMNS})

    def __len__(self) -> int:
        return len(self.plot)

    @property
    def over_percent(self) -> Floats:
        """By how much the ground falls more than a frame takes."""
        across = np.maximum(self.across_percent - ACROSS_LIMIT_PERCENT, 0.0)
        return across + np.maximum(self.along_percent - ALONG_LIMIT_PERCENT, 0.0)


COLUMNS = tuple(name for name in Candidates.__dataclass_fields__ if name != "compared")


class Directions(NamedTuple):
    """What a ridge is compared with, from grid north; None where a wind is not given."""

    beds_deg: tuple[float, ...]  # of each plot
    storm_deg: float | None = None
    breeze_deg: float | None = None


def directions(site: Site) -> Directions:
    """Of a site's beds and winds."""
    beds_deg = []
    for plot, outline in enumerate(site.plots.geometry):
        own_deg = site.bed_bearing_deg(plot)
        beds_deg.append(
            long_side_deg(outline)
            if own_deg is None
            else (own_deg - site.convergence_deg) % 180.0
        )
    wind = site.settings.wind
    winds_deg = (
        None if deg is None else deg - site.convergence_deg
        for deg in (wind.storm_from_deg, wind.summer_breeze_from_deg)
    )
    return Directions(tuple(beds_deg), *winds_deg)


def bearings_deg(along_deg: float) -> list[float]:
    """Those that are tried on a plot: every 5°, along its beds and square to them."""
    steps = np.arange(0.0, 180.0, BEARING_STEP_DEG)
    # Beds that are kept in a file have their bearing to some ten-thousandths.
    along_deg = round(along_deg, 2)
    beside = [along_deg % 180.0, (along_deg + 90.0) % 180.0]
    return [float(each) for each in np.unique(np.append(steps, beside))]


def search(
    site: Site,
    analysis: Analysis,
    sizes: list[TunnelSize],
    store: Store,
    progress: Progress,
) -> list[Candidates]:
    """Every place and bearing with room for each size, the best of each few metres.

    Parameters
    ----------
    site
        The site: its plots, surroundings, beds' bearings and season.
    analysis
        The computed ground, light, cold air and wind.
    sizes
        Sizes of tunnel to search for.
    store
        Keeps what was found for the same inputs, to use it again.
    progress
        Is called with each plot as its search begins.

    Returns
    -------
    found
        In the order of `sizes`; without rows for a size that has room nowhere.
    """
    free = room.free_ground(
        site.plots.geometry, site.surroundings, site.settings.beds.setback_m
    )
    tried_deg = [bearings_deg(each) for each in directions(site).beds_deg]
    wet = under_tunnels.wet_ground(site.plots, site.seen, analysis.water_gathers)
    error_m = site.settings.ground.elevation_error_m
    grids = under_tunnels.grids(analysis, site.season, wet, error_m)
    plan_m = [(size.length_m, size.width_m, size.positions) for size in sizes]
    inputs = {
        "grids": grids.values,
        "place": [*grids.bounds, grids.cell_size_m],
        "free": [shapely.to_wkb(each, hex=True) for each in free],
        "bearings": tried_deg,
        "sizes": plan_m,
    }

    def compute() -> Arrays:
        parts: list[list[Candidates]] = [[] for _ in sizes]
        changing = under_tunnels.Changing.of(grids.values)
        searched = grids.with_values(grids.values[list(changing.bands)])
        for plot, ground in enumerate(free):
            if ground.is_empty:
                continue
            progress(Fact("step_tunnel_room", plot=site.plots["name"].iloc[plot]))
            for bearing_deg in tried_deg[plot]:
                on = searched, changing
                here = _at_bearing(on, ground, bearing_deg, sizes, plot)
                for number, candidates in here:
                    parts[number].append(candidates)
        return _stored(list(map(_joined, parts)))

    found = store.reuse("tunnels", inputs, compute)
    return [_restored(found, number) for number in range(len(sizes))]


def _stored(every: list[Candidates]) -> Arrays:
    return {
        f"{number} {name}": np.asarray(values)
        for number, candidates in enumerate(every)
        for name, values in vars(candidates).items()
    }


def _restored(found: Arrays, number: int) -> Candidates:
    return Candidates(
        **{name: found[f"{number} {name}"] for name in COLUMNS},
        compared=int(found[f"{number} compared"]),
    )


def _at_bearing(
    searched: tuple[Raster, under_tunnels.Changing],
    free: BaseGeometry,
    bearing_deg: float,
    sizes: list[TunnelSize],
    plot: int,
) -> Iterator[tuple[int, Candidates]]:
    """Places of one plot and bearing for each size, by its number, that has some."""
    hull = shapely.get_coordinates(shapely.convex_hull(free))
    lattice = footprint.lattice(hull, bearing_deg, STEP_M)
    grids, changing = searched
    sums = None
    for number, size in enumerate(sizes):
        has_room = room.has_room(free, size, lattice)
        if has_room.any():
            # The costly part: once for all sizes, and only where one has room.
            if sums is None:
                sums = footprint.summed(on_lattice(grids, lattice), lattice.spacing_m)
            on = lattice, sums, changing
            yield number, _found(on, has_room, size, plot)


def on_lattice(grids: Raster, lattice: footprint.Lattice) -> Floats:
    """Values of grids at the points of a lattice."""
    east, north = lattice.points()
    size_m = grids.cell_size_m
    col = (east - grids.transform.c) / size_m - 0.5
    row = (grids.transform.f - north) / size_m - 0.5
    return footprint.sampled(grids.values, col, row)


def _found(
    on: tuple[footprint.Lattice, footprint.Sums, under_tunnels.Changing],
    has_room: npt.NDArray[np.bool_],
    size: TunnelSize,
    plot: int,
) -> Candidates:
    """Places of one plot, bearing and size, the best of each few metres."""
    lattice, sums, changing = on
    at = np.argwhere(has_room)
    there = footprint.under(sums, at, (size.ground_m, size.width_m))
    under = changing.under(there.means)
    level = np.isfinite(there.means).all(axis=0) & (under.step <= STEP_SHARE)
    forward, right = lattice.axes
    along_m, across_m = lattice.along_m[at[:, 0]], lattice.across_m[at[:, 1]]
    centre = along_m[:, np.newaxis] * forward + across_m[:, np.newaxis] * right
    every = Candidates(
        plot=np.full(len(at), plot),
        centre=centre,
        bearing_deg=np.full(len(at), lattice.bearing_deg),
        along_percent=100.0 * np.abs(there.along),
        across_percent=100.0 * np.abs(there.across),
        earth_m3=_earth_m3(there, size),
        offset_c=under.offset_c,
        cold_c=under.cold_c,
        sun=under.sun,
        wet_share=under.wet,
        rain_m2=_rain_m2(there, under.catchment_m, size),
        storm_share=under.storm_share,
        compared=int(np.count_nonzero(level)),
    ).take(level)
    return every.take(_best_of_cells(every))


def _earth_m3(there: footprint.Under, size: TunnelSize) -> Floats:
    """For level pads, one for each position of a tunnel that is moved."""
    pad_m3 = footprint.earth_moved_m3(
        there.along, there.across, size.length_m, size.width_m
    )
    return np.asarray(size.positions * pad_m3)


def _rain_m2(there: footprint.Under, catchment_m: Floats, size: TunnelSize) -> Floats:
    """Ground above that drains onto places on planes.

    The mean of what drains through a metre of contour, times how wide the place lies
    across the fall, less what falls on the place itself on the way to its middle.
    """
    fall = np.hypot(there.along, there.across)
    across_fall_m = np.divide(
        size.ground_m * np.abs(there.across) + size.width_m * np.abs(there.along),
        fall,
        out=np.full_like(fall, size.ground_m),
        where=fall > 1e-9,
    )
    own_m2 = size.ground_m * size.width_m
    return np.asarray(np.maximum(catchment_m * across_fall_m - own_m2 / 2, 0.0))


def _best_of_cells(every: Candidates) -> Whole:
    """The place that moves least earth in each square of a few metres."""
    if not len(every):
        return np.empty(0, np.intp)
    east, north = np.floor(every.centre / CELL_M).astype(np.int64).T
    cell = (east - east.min()) * (np.ptp(north) + 1) + north - north.min()
    return footprint.least_of_cells(cell, np.round(every.earth_m3, 2))


def _joined(parts: list[Candidates]) -> Candidates:
    empty = dict.fromkeys(COLUMNS, np.empty(0)) | {
        "plot": np.empty(0, np.intp),
        "centre": np.empty((0, 2)),
    }
    columns: dict[str, Any] = {
        name: np.concatenate([none, *(getattr(part, name) for part in parts)])
        for name, none in empty.items()
    }
    return Candidates(**columns, compared=sum(part.compared for part in parts))


def clear_of(
    candidates: Candidates, size: TunnelSize, taken: BaseGeometry
) -> npt.NDArray[np.bool_]:
    """Which tunnels keep clear of ground that is taken.

    Parameters
    ----------
    candidates
        Places with room, one row each.
    size
        Size of the tunnel, in all its positions.
    taken
        Ground that is taken, as by other tunnels and the gap around them; may be empty.

    Returns
    -------
    clear
        (candidates,).
    """
    if taken.is_empty:
        return np.ones(len(candidates), bool)
    shapely.prepare(taken)
    half_m = np.array([size.ground_m, size.width_m]) / 2
    gap_m = np.full(len(candidates), np.inf)
    west, south, east, north = shapely.buffer(taken, np.hypot(*half_m)).bounds
    within = (
        (candidates.centre > (west, south)) & (candidates.centre < (east, north))
    ).all(axis=1)
    near_points = shapely.points(candidates.centre[within])
    gap_m[within] = shapely.distance(near_points, taken)
    clear: npt.NDArray[np.bool_] = np.asarray(gap_m > np.hypot(*half_m))
    # Nearer than half the short side a tunnel overlaps whichever way it points, farther
    # than half its diagonal it never does: only between is its outline asked.
    near = np.flatnonzero(~clear & (gap_m >= half_m.min()))
    for at in near:
        upright = room.footprint(size, float(candidates.bearing_deg[at]), 0.0)
        outline = affinity.translate(upright, *candidates.centre[at])
        clear[at] = not shapely.intersects(taken, outline)
    return clear
