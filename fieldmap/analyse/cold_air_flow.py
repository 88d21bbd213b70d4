"""One still night: the ground that cold air runs over, what it meets, and three runs."""

from __future__ import annotations

import math
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from rasterio import features
from rasterio.transform import from_origin

from fieldmap.analyse.light import SUN_YEAR
from fieldmap.model.fact import Fact
from fieldmap.model.site import NEAR_M, plot_cells
from layers import coldair, drainage, horizon, sunlight
from layers._grid import block_means

if TYPE_CHECKING:
    import numpy.typing as npt

    from fieldmap.cache import Store
    from fieldmap.model.fact import Progress
    from fieldmap.model.raster import Raster, Window
    from fieldmap.model.site import Site

    Floats = npt.NDArray[np.float64]

# Cells of the flow; doubled until there are no more than so many (choices: the pattern
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
SECTORS = 16  # of the sky that the production of cold air sees
WHOLE = (slice(None), slice(None))
# What holds cold air back, unless it stands on clear stems.
BARRIERS = ("hedge", "wall", "fence", "building", "trees", "bank")
LOW_STEM_M = 0.5
MAKE_NO_COLD_AIR = ("water", "road", "building")
SHORTEST_NIGHT_H = 1.0  # shorter ones make no layer worth a name (a choice)
# Day of the year of the last freeze where the record has none: 1 May, 1 November (a
# choice, no source; it sets the length of the night, nothing else).
USUAL_FREEZE_DAY = {False: 121, True: 305}
# The three runs that carry what is not known of the flow; the middle one is shown.
RUNS = (coldair.THIN, coldair.CENTRAL, coldair.DEEP)
SHOWN = RUNS.index(coldair.CENTRAL)
# Hours after sunset that are kept of the run that is shown: closer at first, as the
# air on a slope comes to rest within the hour.
FRAMES_H = (
    *(minutes / 60 for minutes in (2, 4, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50)),
    *(1, 1.25, 1.5, 1.75, 2, 2.5, 3, 3.5),
    *(float(hour) for hour in range(4, 15)),
)
# Less ground than this at the edge of what is known sends nothing worth a word.
EDGE_FROM_M = 30.0


@dataclass(frozen=True)
class Night:
    """Cold air of a clear calm night on the cells of the flow.

    Attributes
    ----------
    depths_m
        Raster of (runs, rows, cols): a thin, the central and a deep layer at the end.
    east_m2_s, north_m2_s
        Flux of the central run.
    frames_m
        (frames, rows, cols) depth of the central run at `frames_h` after sunset.
    ground
        Heights that the air ran over.
    cut
        What drains onto the plots from beyond that ground, if anything.
    steady
        Whether the air on the plots had come to rest, at `hours` after sunset.
    """

    depths_m: Raster
    east_m2_s: Floats
    north_m2_s: Floats
    frames_m: npt.NDArray[np.float32]
    frames_h: tuple[float, ...]
    hours: float
    steady: bool
    ground: Raster
    cut: Fact | None

    @property
    def depth_m(self) -> Raster:
        """Depth in the central run."""
        return self.depths_m.with_values(self.depths_m.values[SHOWN])


def is_possible(site: Site) -> bool:
    """Whether enough ground is known, and the night long enough, for air to run."""
    return site.margin_m >= NEAR_M and night_h(site) >= SHORTEST_NIGHT_H


def ground(site: Site, fine: Raster) -> Raster:
    """Heights that the air runs over: means of blocks of fine cells, wide ones around.

    Cut to what matters: the plots, all that drains onto them, and the ground near both.

    Parameters
    ----------
    fine
        Ground on the cells of the site's elevation.
    """
    side = max(1, round(CELL_M / fine.cell_size_m))
    known = _among_wide(site, _blocks(fine, side))
    known = known.clip(_window_that_matters(site, known))
    while known.values.size > MOST_CELLS:
        known = _blocks(known, 2)
    return known


def beyond(site: Site, coarse: Raster) -> Fact | None:
    """What drains onto the plots from beyond the known ground, if anything.

    Returns
    -------
    Fact
        The eighths of the compass that it comes from, seen from the plots, and how much
        farther the elevation should reach there: as far again as it does. Another kind
        where it does reach, but farther than air is let run from.
    """
    gives = drainage.upstream(coarse.values, plot_cells(site, coarse))
    missing = np.pad(np.isnan(coarse.values), 1, constant_values=True)
    beside = (
        missing[:-2, 1:-1] | missing[2:, 1:-1] | missing[1:-1, :-2] | missing[1:-1, 2:]
    )
    row, col = np.nonzero(gives & beside)
    size_m = coarse.cell_size_m
    centre = site.plots.union_all().centroid
    east = coarse.transform.c + (col + 0.5) * size_m - centre.x
    north = coarse.transform.f - (row + 0.5) * size_m - centre.y
    eighth = nearest_eighth(np.degrees(np.arctan2(east, north)) + site.convergence_deg)
    wide = np.bincount(eighth, minlength=8) * size_m >= EDGE_FROM_M
    if not wide.any():
        return None
    bearings_deg = (45.0 * np.flatnonzero(wide)).tolist()
    there = wide[eighth]
    if _is_known_beyond(site, coarse, row[there], col[there]):
        return Fact(
            "drains_in_from_afar", distance_m=WIDE_REACH_M, bearings_deg=bearings_deg
        )
    farthest_m = float(np.hypot(east, north)[there].max())
    return Fact(
        "drains_in_over_the_edge",
        distance_m=100.0 * math.ceil(farthest_m / 100.0),
        bearings_deg=bearings_deg,
    )


def nearest_eighth(bearing_deg: npt.ArrayLike) -> npt.NDArray[np.intp]:
    """The nearest of eight compass directions: 0 is north, 2 is east.

    Examples
    --------
    >>> nearest_eighth([350.0, 100.0, -45.0]).tolist()
    [0, 2, 7]
    """
    return np.round(np.asarray(bearing_deg) / 45.0).astype(np.intp) % 8


def _is_known_beyond(
    site: Site, coarse: Raster, row: npt.NDArray[np.intp], col: npt.NDArray[np.intp]
) -> bool:
    """Whether the wider elevation goes on beyond all of these cells."""
    if site.wide_elevation is None:
        return False
    rows, cols = coarse.shape
    down = (row == rows - 1) * 1.0 - (row == 0)
    right = (col == cols - 1) * 1.0 - (col == 0)
    at_rim = (down != 0) | (right != 0)  # or it is a hole within
    size_m = coarse.cell_size_m
    east = coarse.transform.c + (col + 0.5 + 2 * right) * size_m
    north = coarse.transform.f - (row + 0.5 + 2 * down) * size_m
    heights_m = site.wide_elevation.interpolate(east, north)
    return bool((at_rim & np.isfinite(heights_m)).all())


def run(
    site: Site, coarse: Raster, cut: Fact | None, store: Store, progress: Progress
) -> Night:
    """Let cold air form, run and lie through a clear calm night, three times.

    Parameters
    ----------
    coarse, cut
        From `ground` and `beyond`; what stands around changes neither.
    """
    share, barriers = _production_share(site, coarse), _barriers(site, coarse)
    length_h = night_h(site)
    watched = plot_cells(site, coarse)
    inputs = {
        "ground": coarse.values,
        "cell": coarse.cell_size_m,
        "night": length_h,
        "share": share,
        "watched": watched,
        "east": np.stack([barriers.east_sill_m, barriers.east_covered]),
        "north": np.stack([barriers.north_sill_m, barriers.north_covered]),
    }

    def one(flow: coldair.Flow, production: Floats) -> coldair.ColdAir:
        kept = FRAMES_H if flow is RUNS[SHOWN] else ()
        night = coldair.Night(
            length_h, tuple(hour for hour in kept if hour < length_h), watched
        )
        return coldair.drain(
            coarse.values, coarse.cell_size_m, production, night, flow, barriers
        )

    def compute() -> dict[str, npt.NDArray[Any]]:
        progress(Fact("step_cold_air"))
        skyline_deg = horizon.angles_deg(
            coarse.values, coarse.values, coarse.cell_size_m, SECTORS, WHOLE
        )
        sky_view = horizon.sky_view(skyline_deg)
        production = np.where(np.isnan(sky_view), 0.0, sky_view) * share
        with ThreadPoolExecutor() as pool:
            runs = list(pool.map(lambda flow: one(flow, production), RUNS))
        shown = runs[SHOWN]
        return {
            "depths_m": np.stack([each.depth_m for each in runs]).astype(np.float32),
            "flux": np.stack([shown.east_m2_s, shown.north_m2_s]),
            "frames_m": shown.frames_m,
            "ended": np.array([shown.hours, shown.ended_by == "steady"]),
        }

    found = store.reuse("flow", inputs, compute)
    hours, steady = found["ended"]
    return Night(
        depths_m=coarse.with_values(found["depths_m"].astype(np.float64)),
        east_m2_s=found["flux"][0],
        north_m2_s=found["flux"][1],
        frames_m=found["frames_m"],
        frames_h=FRAMES_H[: len(found["frames_m"])],
        hours=float(hours),
        steady=bool(steady),
        ground=coarse,
        cut=cut,
    )


def read_at(coarse: Raster, fine: Raster) -> Floats:
    """Coarse values at the middles of fine cells, in straight lines; NaN off both."""
    rows, cols = fine.shape
    easting = fine.transform.c + (np.arange(cols) + 0.5) * fine.cell_size_m
    northing = fine.transform.f - (np.arange(rows) + 0.5) * fine.cell_size_m
    read = coarse.interpolate(*np.meshgrid(easting, northing))
    return np.where(np.isnan(fine.values), np.nan, read)


def night_h(site: Site) -> float:
    """Hours from sunset to sunrise about the mean last freeze of spring."""
    lows = site.weather.days["tmin_c"]
    month = np.array([day.month for day in lows.index])
    spring = lows[(month >= 7) == site.southern]
    last = (
        spring[spring <= 0]
        .groupby(lambda day: day.year)
        .apply(lambda year: year.index[-1])
    )
    days = [day.day_of_year for day in last] or [USUAL_FREEZE_DAY[site.southern]]
    day = date(SUN_YEAR, 1, 1) + timedelta(days=round(float(np.mean(days))) - 1)
    place = sunlight.Place(site.latitude, site.longitude, 0.0, 0.0)
    path = sunlight.sun_path([day], place)
    return float(np.count_nonzero(path.altitude_deg <= 0) * path.step_hours)


def _blocks(raster: Raster, side: int) -> Raster:
    """Means of square blocks of `side` cells."""
    size_m = raster.cell_size_m * side
    return type(raster)(
        block_means(raster.values, side),
        from_origin(raster.transform.c, raster.transform.f, size_m, size_m),
        raster.crs,
    )


def _among_wide(site: Site, coarse: Raster) -> Raster:
    """The coarse ground with the wider elevation around it, its step taken off.

    Two elevation models rarely agree in height: the median difference where both are
    known is taken from the wide one, or the air would run over a cliff at the seam.
    """
    wide = site.wide_elevation
    if wide is None:
        return coarse
    size_m = coarse.cell_size_m
    west, south, east, north = site.plots.total_bounds
    beyond_m = WIDE_REACH_M
    wanted = (west - beyond_m, south - beyond_m, east + beyond_m, north + beyond_m)
    limits = [
        max(wanted[0], wide.bounds[0]),
        max(wanted[1], wide.bounds[1]),
        min(wanted[2], wide.bounds[2]),
        min(wanted[3], wide.bounds[3]),
    ]
    here = coarse.bounds
    more = [
        max(0, math.floor(gap / size_m))
        for gap in (
            here[0] - limits[0],
            here[1] - limits[1],
            limits[2] - here[2],
            limits[3] - here[3],
        )
    ]
    around = ((more[3], more[1]), (more[0], more[2]))
    grown = type(coarse)(
        np.pad(coarse.values, around, constant_values=np.nan),
        from_origin(
            here[0] - more[0] * size_m, here[3] + more[3] * size_m, *2 * (size_m,)
        ),
        coarse.crs,
    )
    everywhere = grown.with_values(np.zeros(grown.values.shape))
    wide_m = read_at(wide, everywhere)
    both = ~np.isnan(grown.values) & ~np.isnan(wide_m)
    step_m = float(np.median((wide_m - grown.values)[both])) if both.any() else 0.0
    return grown.with_values(
        np.where(np.isnan(grown.values), wide_m - step_m, grown.values)
    )


def _window_that_matters(site: Site, coarse: Raster) -> Window:
    """Cells near the plots, the station, and all that drains onto the plots."""
    plots = plot_cells(site, coarse)
    row, col = np.nonzero(drainage.upstream(coarse.values, plots))
    size_m = coarse.cell_size_m
    left, top = coarse.transform.c, coarse.transform.f
    catchment = shapely.box(
        left + col.min() * size_m - AROUND_CATCHMENT_M,
        top - (row.max() + 1) * size_m - AROUND_CATCHMENT_M,
        left + (col.max() + 1) * size_m + AROUND_CATCHMENT_M,
        top - row.min() * size_m + AROUND_CATCHMENT_M,
    )
    near = shapely.box(*site.plots.total_bounds).buffer(AROUND_PLOTS_M)
    matters = [catchment, near]
    if site.station_cell is not None:
        row_, col_ = site.station_cell
        fine = site.elevation
        matters.append(
            shapely.Point(
                fine.transform.c + (col_ + 0.5) * fine.cell_size_m,
                fine.transform.f - (row_ + 0.5) * fine.cell_size_m,
            ).buffer(2 * size_m)
        )
    west, south, east, north = shapely.total_bounds(matters).tolist()
    return coarse.window((west, south, east, north))


def _production_share(site: Site, coarse: Raster) -> Floats:
    """1 on open ground, 0 over water and sealed ground (VDI 3787-5, from memory)."""
    around, plots = site.surroundings, site.plots
    warm = [
        *around.geometry[around["kind"].isin(MAKE_NO_COLD_AIR)],
        *plots.geometry[plots["ground"] == "sealed"],
    ]
    if not warm:
        return np.ones(coarse.shape)
    return np.asarray(
        features.rasterize(
            [(outline, 0.0) for outline in warm],
            out_shape=coarse.shape,
            transform=coarse.transform,
            fill=1.0,
            dtype="float64",
        )
    )


def sill_m(height_m: float, porosity: float) -> float:
    """Height that the air must rise over, of a thing of this height and these gaps."""
    return height_m * (1.0 - (0.0 if math.isnan(porosity) else porosity))


def in_the_way(site: Site) -> Any:
    """Surroundings that hold cold air back: under a clear stem it runs through."""
    around = site.surroundings
    low_stem = around["clear_stem_m"].fillna(0.0) < LOW_STEM_M
    return around[around["kind"].isin(BARRIERS) & low_stem]


def _barriers(site: Site, coarse: Raster) -> coldair.Barriers:
    """Outlines of what cold air must rise over."""
    things = in_the_way(site)
    pieces, sills = [np.empty((0, 4))], [np.empty(0)]
    origin = np.array([coarse.transform.c, coarse.transform.f])
    for outline, height_m, porosity in zip(
        things.geometry, things["height_m"], things["porosity"], strict=True
    ):
        for ring in shapely.get_rings(shapely.get_parts(outline)):
            corners = (shapely.get_coordinates(ring) - origin) * (1.0, -1.0)
            pieces.append(np.hstack([corners[:-1], corners[1:]]))
            sills.append(np.full(len(corners) - 1, sill_m(height_m, porosity)))
    return coldair.barriers_along(
        np.concatenate(pieces), np.concatenate(sills), coarse.shape, coarse.cell_size_m
    )
