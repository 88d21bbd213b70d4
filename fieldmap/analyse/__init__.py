"""A site -> fields on one grid: sun, cold air, water and wind on the ground of its plots.

A `Site` as `read` makes it comes in, with a store of earlier results; an `Analysis` goes
out, rasters of one grid around the plots, and what could not be known as facts. This is
the one place where the layers meet, and this module is its table of contents.
`bed_means` reads the fields under beds; `climatology` makes dates of a weather record.
"""

from dataclasses import replace
from typing import NamedTuple

import geopandas as gpd
import numpy as np

from fieldmap.analyse import water, wind
from fieldmap.analyse.cold_air import offset
from fieldmap.analyse.cold_air.ground import FlowGround, flow_ground
from fieldmap.analyse.fields import Analysis, LightFields, TerrainFields
from fieldmap.analyse.light import shade
from fieldmap.analyse.light import sky as skies
from fieldmap.analyse.light.shade import Shade
from fieldmap.analyse.light.skyline import skyline_deg
from fieldmap.analyse.light.standing_things import StandingThings, standing_things
from fieldmap.analyse.near_ground import with_near_ground
from fieldmap.cache import Store
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact, Progress
from fieldmap.model.raster import Bounds, Raster, Window, common, grown, within
from fieldmap.model.site import Site
from layers import terrain
from layers._grid import Grid

LEVEL_UNDER_DEG = 0.5  # which way such ground faces means nothing (a choice)
SHOWN_AROUND_M = 60.0  # ground shown around the plots


class Ground(NamedTuple):
    """The ground of a site, which everything else is computed on.

    Attributes
    ----------
    site
        The site with heights as close as they are needed, see `with_near_ground`.
    smooth
        All known ground as sun, beds and tunnels see it.
    runs_over
        What cold air and rain water run over.
    """

    site: Site
    smooth: Raster
    runs_over: FlowGround


def ground_of(site: Site, store: Store) -> Ground:
    """The ground of a site.

    Parameters
    ----------
    site
        Everything that was read, in one metric CRS.
    store
        Where unchanged results are taken from.
    """
    site = with_near_ground(site)
    smooth = _smoothed(site.elevation, site.settings.ground.smoothing_m)
    return Ground(site, smooth, flow_ground(site, smooth, store))


def analyse(site: Site, store: Store, progress: Progress) -> Analysis:
    """The fields of a site on its ground; see `fields_on`."""
    return fields_on(ground_of(site, store), store, progress)


def fields_on(known: Ground, store: Store, progress: Progress) -> Analysis:
    """Terrain, skyline, sun, cold air, water and wind around the plots of a site.

    Parameters
    ----------
    known
        The site and its ground, as `ground_of` gives them.
    store
        Where unchanged results are taken from.
    progress
        Is called with each step as it begins.

    Returns
    -------
    analysis
        Fields on the shown cells: the plots and the ground around them; NaN where the
        elevation is missing.
    """
    site, smooth, runs_over = known
    window = _shown(site.elevation, site.plots)
    ground, shown = site.elevation.clip(window), smooth.clip(window)
    # Of the whole ground, then cut: a gradient has no value on the outermost ring.
    east, north = (
        ground.with_values(side[window])
        for side in terrain.gradient(smooth.values, smooth.cell_size_m)
    )
    slope_deg, aspect_deg = _slope_and_aspect_deg(site.elevation, window)
    hills_deg = skyline_deg(site, smooth, window, store, progress)
    sky = skies.sky_over(site, shown)
    things = standing_things(site.surroundings, southern=site.season.southern)
    stands = Shade(things, smooth, east, north, hills_deg, sky)
    cold_air, remarks = offset.cold_air(
        site, smooth, window, runs_over, store, progress
    )
    return Analysis(
        terrain=TerrainFields(
            elevation_m=ground,
            smooth_m=shown,
            east=east,
            north=north,
            slope_deg=ground.with_values(slope_deg),
            aspect_deg=ground.with_values((aspect_deg + site.convergence_deg) % 360.0),
        ),
        light=_lit(stands, store, progress),
        cold_air=cold_air,
        wetness_index=water.wetness_index(runs_over.heights_m, shown, store),
        wind_share=wind_around(site, smooth, site.surroundings, store, progress),
        remarks=(
            *([Fact("light_of_clear_sky")] if sky.name == "clear sky" else []),
            *remarks,
            *([] if runs_over.cut is None else [Fact("water_from_beyond")]),
        ),
    )


def wind_around(
    site: Site,
    smooth: Raster,
    surroundings: gpd.GeoDataFrame,
    store: Store,
    progress: Progress,
) -> Raster:
    """Share of the open wind on the shown cells of a site, see `wind.shares`.

    Parameters
    ----------
    site
        The site, whose own surroundings are not read.
    smooth
        All of its smoothed ground.
    surroundings
        What stands around.
    store
        Where unchanged results are taken from.
    progress
        Is called with the step where shelter must be computed.
    """
    winds_deg = wind.bearings_deg(site.settings.wind, site.convergence_deg)
    window = _shown(smooth, site.plots)
    return wind.shares(smooth, window, surroundings, winds_deg, store, progress)


def with_more_around(
    analysis: Analysis,
    things: StandingThings,
    reach: Bounds,
    store: Store,
    progress: Progress,
) -> Analysis:
    """The same ground with more standing on it: light anew within reach, cold air kept.

    Parameters
    ----------
    analysis
        Of the ground as it was.
    things
        All that stands there, such as tunnels that were placed since.
    reach
        West, south, east, north in the site's CRS: outside it what is new casts no
        shade, and light is kept.
    store
        Where unchanged results are taken from.
    progress
        Is called with each step as it begins.
    """
    return replace(
        analysis, light=_lit_anew(analysis.light, things, reach, store, progress)
    )


def with_other_surroundings(
    analysis: Analysis,
    site: Site,
    things: StandingThings,
    store: Store,
    progress: Progress,
) -> Analysis:
    """The same ground with other things around, in all that beds get of it.

    Cold air is compared with the reference as it is now, so that two analyses can be
    laid side by side. Where no air was let run, cold air stays as it is. Of light only
    what stands there is changed, from which that of beds follows: nobody is shown that
    of cells as it would be.

    Parameters
    ----------
    analysis
        Of the place as it is.
    site
        The site with the other surroundings.
    things
        What stands there then, with the tunnels that were placed, which shade and do no
        more.
    store
        Where unchanged results are taken from.
    progress
        Is called with each step as it begins.
    """
    shown, cold_air, lit = analysis.terrain.smooth_m, analysis.cold_air, analysis.light
    smooth = lit.shade.ground
    if cold_air.night is not None:
        cold_air = offset.with_other_surroundings(
            cold_air, cold_air.night, site, shown, store, progress
        )
    wind_share = wind_around(site, smooth, site.surroundings, store, progress)
    lit = replace(lit, shade=replace(lit.shade, things=things))
    return replace(analysis, cold_air=cold_air, wind_share=wind_share, light=lit)


def likeliest_with_other_surroundings(
    analysis: Analysis,
    around: tuple[gpd.GeoDataFrame, gpd.GeoDataFrame],
    things: StandingThings,
    factor: Estimate | None,
    store: Store,
) -> Analysis:
    """As `with_other_surroundings`, but what beds get of it likeliest, and no more.

    For who waits for it: cold air is that of the central run, and wind is as it was.

    Parameters
    ----------
    analysis
        Of the place as it is.
    around
        The plots, and the other surroundings.
    things
        The other surroundings with the tunnels that were placed, as they shade.
    factor
        By which thermometers on the spot multiply offsets; None without such a
        measurement.
    store
        Where unchanged results are taken from.
    """
    cold_air = analysis.cold_air
    if cold_air.night is not None:
        shown = analysis.terrain.smooth_m
        cold_air = offset.likeliest_with_other_surroundings(
            cold_air, cold_air.night, around, shown, factor, store
        )
    lit = replace(analysis.light, shade=replace(analysis.light.shade, things=things))
    return replace(analysis, cold_air=cold_air, light=lit)


def _lit(stands: Shade, store: Store, progress: Progress) -> LightFields:
    """Light on the shown cells, of open ground and beside what stands on it."""
    cells, rise = stands.east, (stands.east.values, stands.north.values)
    open_light = skies.by_month(stands.sky, rise, stands.skyline_deg, store, progress)
    dimmed = shade.dimmed(open_light, shade.on_cells(stands, cells, store, progress))
    return LightFields(
        **{name: cells.with_values(values) for name, values in dimmed.items()},
        shade=stands,
        open_light=open_light,
        sky=stands.sky.name,
    )


def _lit_anew(
    lit: LightFields,
    things: StandingThings,
    reach: Bounds,
    store: Store,
    progress: Progress,
) -> LightFields:
    """The light with what stands there now, worked out within reach of what is new."""
    lit = replace(lit, shade=replace(lit.shade, things=things))
    cells = lit.shade.east
    whole = slice(0, cells.shape[0]), slice(0, cells.shape[1])
    at = common(whole, cells.window(reach))
    if at is None:
        return lit
    kept = shade.on_cells(lit.shade, cells.clip(at), store, progress)
    open_light = {name: each[(..., *at)] for name, each in lit.open_light.items()}
    rasters = {}
    for name, values in shade.dimmed(open_light, kept).items():
        raster = getattr(lit, name)
        patched = raster.values.copy()  # the light before is still asked for
        patched[(..., *at)] = values
        rasters[name] = raster.with_values(patched)
    return replace(lit, **rasters)


def _slope_and_aspect_deg(wide: Raster, window: Window) -> tuple[Grid, Grid]:
    """Of the cells of a window, by the cells around it too; aspect from grid north."""
    rows, cols = (
        slice(max(0, part.start - 1), min(size, part.stop + 1))
        for part, size in zip(window, wide.shape, strict=True)
    )
    at = within(window, (rows, cols))
    slope_deg, aspect_deg = terrain.slope_and_aspect_deg(
        wide.values[rows, cols], wide.cell_size_m
    )
    aspect_deg[slope_deg < LEVEL_UNDER_DEG] = np.nan
    return slope_deg[at], aspect_deg[at]


def _smoothed(elevation: Raster, scale_m: float) -> Raster:
    """Ground of sun, beds and tunnels."""
    return elevation.with_values(
        terrain.smoothed(elevation.values, elevation.cell_size_m, scale_m)
    )


def _shown(elevation: Raster, plots: gpd.GeoDataFrame) -> Window:
    """Cells of the elevation that are shown: the plots and the ground around them."""
    return elevation.window(grown(plots.total_bounds, SHOWN_AROUND_M))
