"""Heights that cold air and rain water run over, and what drains in from beyond them."""

import math
from collections.abc import Iterable
from typing import NamedTuple

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import shapely
from rasterio.transform import from_origin
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.cold_air.open_water import open_water, shows_level_ground
from fieldmap.cache import Arrays, Store
from fieldmap.model.fact import Fact
from fieldmap.model.raster import Bounds, Raster, Window
from fieldmap.model.site import Site, cells_in
from layers import drainage
from layers._grid import block_means

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

# Cells of the flow; doubled until there are no more than this (choices: the pattern
# is alike at 5 and 10 m, and a run stays a matter of seconds).
CELL_M = 5.0
MOST_CELLS = 160_000
# What is known around the plots and around all that drains onto them takes part, as
# what lies below decides how far the air backs up (a choice).
AROUND_PLOTS_M = 400.0
AROUND_CATCHMENT_M = 100.0
# Wider, coarser heights are used up to this far from the plots (a choice, which bounds
# the work).
WIDE_REACH_M = 2000.0
# Less ground than this at the edge of what is known sends nothing worth a word.
EDGE_FROM_M = 30.0


class FlowGround(NamedTuple):
    """The ground that drains onto the plots, and around them.

    Attributes
    ----------
    heights_m
        Means of blocks of the elevation, wider heights around.
    water
        (rows, cols): wide water, onto which cold air runs off.
    wetness
        `drainage.cold_air_wetness` of the land.
    cut
        What drains onto the plots from beyond it, if anything: the eighths of the
        compass that it comes from, and how much farther the elevation should reach
        there, as far again as it does. Another kind of fact where it does reach, but
        farther than air is let run from.
    ends_near
        The known ground ends nearer to the plots than air is followed, so that a place
        where air would back up may lie beyond.
    """

    heights_m: Raster
    water: Flags
    wetness: Raster
    cut: Fact | None
    ends_near: bool = False

    @property
    def land_m(self) -> Raster:
        """Heights without those of wide water."""
        heights_m = self.heights_m.values
        return self.heights_m.with_values(np.where(self.water, np.nan, heights_m))


class Heights(NamedTuple):
    """Heights of the ground: fine ones, and coarser ones that reach farther, or None."""

    fine: Raster
    wide: Raster | None


def flow_ground(site: Site, fine: Raster, store: Store | None = None) -> FlowGround:
    """Ground of a site that air and water run over, cut to what matters.

    Parameters
    ----------
    site
        Its plots, surroundings, station and wider elevation.
    fine
        Heights on the cells of the site's elevation [m].
    store
        Where ways of water are taken from and kept; None computes them.
    """
    others = []
    if site.station_cell is not None:
        station = shapely.Point(site.elevation.middle_of(*site.station_cell))
        others.append(station.buffer(2 * max(CELL_M, fine.cell_size_m)))
    heights = Heights(fine, site.wide_elevation)
    plots = list(site.plots.geometry)
    around = ground_around(heights, plots, site.surroundings, others, store)
    gives = _upstream(around.heights_m, plots, store)
    cut = _drains_in(around.heights_m, gives, plots, heights.wide, site.convergence_deg)
    return around._replace(cut=cut)


def ground_around(
    heights: Heights,
    plots: Iterable[BaseGeometry],
    surroundings: gpd.GeoDataFrame,
    others: Iterable[BaseGeometry] = (),
    store: Store | None = None,
    *,
    most_cells: int = MOST_CELLS,
    land: Iterable[BaseGeometry] | None = None,
) -> FlowGround:
    """Ground around plots that air runs over, in one grid of fine cells.

    Wider heights go on around the fine ones, of which a halo of 100 m or more around
    the plots keeps their answer within .1 °C (99 of 100 places, on a tile of lidar) of
    that of fine heights all over.

    Parameters
    ----------
    heights
        Fine heights, and coarser ones that reach farther or None [m].
    plots
        Outlines in the CRS of the heights.
    surroundings
        As `Site.surroundings`; of them the water counts.
    others
        Places that must lie on it, such as a station.
    store
        Where ways of water are taken from and kept; None computes them.
    most_cells
        Cells are doubled in size until there are no more than this.
    land
        Shapes that are no water, however level: the plots, unless others are given.
    """
    shapes = list(plots)
    fine, wide = heights
    known = _blocks(fine, max(1, round(CELL_M / fine.cell_size_m)))
    bounds = shapely.total_bounds(shapes)
    if wide is not None:
        known = _among_wide(known, wide, bounds)
    near = shapely.box(*bounds).buffer(AROUND_PLOTS_M)
    ends_near = not shapely.box(*known.bounds).covers(near)
    gives = _upstream(known, shapes, store)
    known = known.clip(_window_that_matters(known, gives, [near, *others]))
    while known.values.size > most_cells:
        known = _blocks(known, 2)
    dry = shapes if land is None else list(land)
    water = open_water(surroundings, dry, known, _shows_level(known, fine, wide))
    land_m = np.where(water, np.nan, known.values)
    wetness = _wetness(land_m, known.cell_size_m, store)
    return FlowGround(known, water, known.with_values(wetness), None, ends_near)


def _upstream(
    heights: Raster, plots: Iterable[BaseGeometry], store: Store | None
) -> Flags:
    """Cells that drain onto plots."""
    ground_m, place = heights.values, cells_in(plots, heights)

    def compute() -> Arrays:
        return {"gives": drainage.upstream(ground_m, place)}

    inputs = {"ground": ground_m, "place": place}
    found = compute() if store is None else store.reuse("upstream", inputs, compute)
    return found["gives"]


def _wetness(land_m: Floats, cell_m: float, store: Store | None) -> Floats:
    """`drainage.cold_air_wetness`, which takes a while."""

    def compute() -> Arrays:
        return {"wetness": drainage.cold_air_wetness(land_m, cell_m)}

    inputs = {"land": land_m, "cell": cell_m}
    found = compute() if store is None else store.reuse("flow-wetness", inputs, compute)
    return found["wetness"]


def half_as_wide(ground: FlowGround, plots: Bounds) -> FlowGround:
    """The same ground, known only half as far around the bounds of the plots."""
    outward_m = np.array([-1.0, -1.0, 1.0, 1.0])  # west, south, east, north
    gap_m = outward_m * (np.array(ground.heights_m.bounds) - np.array(plots))
    bounds = np.array(plots) + outward_m * gap_m / 2
    window = ground.heights_m.window((bounds[0], bounds[1], bounds[2], bounds[3]))
    heights, water = ground.heights_m.clip(window), ground.water[window]
    land_m = np.where(water, np.nan, heights.values)
    wetness = drainage.cold_air_wetness(land_m, heights.cell_size_m)
    return FlowGround(heights, water, heights.with_values(wetness), ground.cut)


def _shows_level(known: Raster, fine: Raster, wide: Raster | None) -> Flags:
    """Where the heights of either file tell water from level land."""
    east, north = known.middles
    west_m, south_m, east_m, north_m = fine.bounds
    inside = (east > west_m) & (east < east_m) & (north > south_m) & (north < north_m)
    beyond = wide is not None and shows_level_ground(wide)
    return np.where(inside, shows_level_ground(fine), beyond)


def nearest_eighth(bearing_deg: npt.ArrayLike) -> npt.NDArray[np.intp]:
    """The nearest of eight compass directions: 0 is north, 2 is east.

    Examples
    --------
    >>> nearest_eighth([350.0, 100.0, -45.0]).tolist()
    [0, 2, 7]
    """
    return np.round(np.asarray(bearing_deg) / 45.0).astype(np.intp) % 8


def _drains_in(
    heights: Raster,
    gives: Flags,
    plots: Iterable[BaseGeometry],
    wide: Raster | None,
    convergence_deg: float,
) -> Fact | None:
    """What drains onto the plots from beyond the known ground, if anything."""
    missing = np.pad(np.isnan(heights.values), 1, constant_values=True)
    beside = (
        missing[:-2, 1:-1] | missing[2:, 1:-1] | missing[1:-1, :-2] | missing[1:-1, 2:]
    )
    row, col = np.nonzero(gives & beside)
    centre = shapely.union_all(list(plots)).centroid
    easting, northing = heights.middle_of(row, col)
    east, north = easting - centre.x, northing - centre.y
    eighth = nearest_eighth(np.degrees(np.arctan2(east, north)) + convergence_deg)
    counts = np.bincount(eighth, minlength=8)
    enough = counts * heights.cell_size_m >= EDGE_FROM_M
    if not enough.any():
        return None
    bearings_deg = (45.0 * np.flatnonzero(enough)).tolist()
    there = enough[eighth]
    if wide is not None and _goes_on(wide, heights, row[there], col[there]):
        return Fact(
            "drains_in_from_afar", distance_m=WIDE_REACH_M, bearings_deg=bearings_deg
        )
    farthest_m = float(np.hypot(east, north)[there].max())
    return Fact(
        "drains_in_over_the_edge",
        distance_m=100.0 * math.ceil(farthest_m / 100.0),
        bearings_deg=bearings_deg,
    )


def _goes_on(
    wide: Raster, heights: Raster, row: npt.NDArray[np.intp], col: npt.NDArray[np.intp]
) -> bool:
    """Whether the wider elevation goes on beyond all of these cells."""
    rows, cols = heights.shape
    down = (row == rows - 1) * 1.0 - (row == 0)
    right = (col == cols - 1) * 1.0 - (col == 0)
    at_rim = (down != 0) | (right != 0)  # or it is a hole within
    beyond = wide.interpolate(*heights.middle_of(row + 2 * down, col + 2 * right))
    return bool((at_rim & np.isfinite(beyond)).all())


def _blocks(raster: Raster, side: int) -> Raster:
    """Means of square blocks of `side` cells."""
    size_m = raster.cell_size_m * side
    return type(raster)(
        block_means(raster.values, side),
        from_origin(raster.transform.c, raster.transform.f, size_m, size_m),
        raster.crs,
    )


def _among_wide(
    coarse: Raster, wide: Raster, plots: Bounds | npt.NDArray[np.float64]
) -> Raster:
    """The coarse ground with the wider elevation around it, its step taken off.

    Two elevation models rarely agree in height: the median difference where both are
    known is taken from the wide one, or the air would run over a cliff at the seam.
    """
    size_m, here = coarse.cell_size_m, coarse.bounds
    outward = np.array([-1.0, -1.0, 1.0, 1.0])  # west, south, east, north
    limits = np.minimum(outward * plots + WIDE_REACH_M, outward * wide.bounds)
    gap_m = limits - outward * here
    west, south, east, north = np.maximum(0, np.floor(gap_m / size_m)).astype(int)
    grown = type(coarse)(
        np.pad(coarse.values, ((north, south), (west, east)), constant_values=np.nan),
        from_origin(here[0] - west * size_m, here[3] + north * size_m, size_m, size_m),
        coarse.crs,
    )
    wide_m = wide.interpolate(*grown.middles)
    step_m = wide_m - grown.values
    known = ~np.isnan(step_m)
    seam_m = float(np.median(step_m[known])) if known.any() else 0.0
    return grown.with_values(
        np.where(np.isnan(grown.values), wide_m - seam_m, grown.values)
    )


def _window_that_matters(
    coarse: Raster, gives: Flags, others: list[BaseGeometry]
) -> Window:
    """Cells of all that drains onto the plots, and of other places that matter."""
    row, col = np.nonzero(gives)
    size_m = coarse.cell_size_m
    left, top = coarse.transform.c, coarse.transform.f
    catchment = shapely.box(
        left + col.min() * size_m - AROUND_CATCHMENT_M,
        top - (row.max() + 1) * size_m - AROUND_CATCHMENT_M,
        left + (col.max() + 1) * size_m + AROUND_CATCHMENT_M,
        top - row.min() * size_m + AROUND_CATCHMENT_M,
    )
    west, south, east, north = shapely.total_bounds([catchment, *others]).tolist()
    return coarse.window((west, south, east, north))
