"""Site -> Analysis: the one place where the layers meet.

This module reads like a table of contents; `light` and `cold` hold its two chapters.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from fieldmap.analyse import cold_air, light, water, wind
from fieldmap.analyse.fields import (
    Analysis,
    ColdAirFields,
    LightFields,
    TerrainFields,
)
from fieldmap.model.raster import common, within
from layers import terrain

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldmap.cache import Store
    from fieldmap.model.fact import Progress
    from fieldmap.model.raster import Bounds, Raster, Window
    from fieldmap.model.site import Site
    from layers._grid import Grid


SHOWN_AROUND_M = 60.0  # ground shown around the plots


def analyse(site: Site, store: Store, progress: Progress) -> Analysis:
    """Terrain, skyline, sun and cold air around the plots of a site.

    Parameters
    ----------
    store
        Where unchanged results are taken from.
    progress
        Told each step in plain words.
    """
    wide = site.elevation
    window = wide.window(_shown_bounds(site))
    ground = wide.clip(window)
    slope_deg, aspect_deg = _slope_and_aspect_deg(wide, window)
    smooth = _smoothed(site)
    # Of the whole ground, then cut: a gradient has no value on the outermost ring.
    east, north = (
        side[window] for side in terrain.gradient(smooth.values, smooth.cell_size_m)
    )
    skyline = light.skyline(site, smooth, window, store, progress)
    place = light.place_of(site, smooth.clip(window))
    sun = light.by_month(site, (east, north), skyline, place, store, progress)
    air = cold_air.air(site, smooth, window, store, progress)
    central_c = air.offset_c[1]
    air = cold_air.moved(
        site, air, cold_air.seen_c(site, ground.with_values(air.offset_c))
    )
    seen_c = air.offset_c[1] - central_c  # within what offsets may be
    shape = cold_air.by_shape(site, smooth, window, store)
    wetness, water_remarks = water.wetness_index(site, smooth, window, air.night, store)
    wind_share = wind.shares(site, smooth, window, store, progress)
    return Analysis(
        terrain=TerrainFields(
            elevation_m=ground,
            smooth_m=smooth.clip(window),
            east=ground.with_values(east),
            north=ground.with_values(north),
            slope_deg=ground.with_values(slope_deg),
            aspect_deg=ground.with_values((aspect_deg + site.convergence_deg) % 360.0),
        ),
        light=LightFields(
            **_rasters(ground, sun), skyline=skyline, sky=light.sky_name(site)
        ),
        cold_air=ColdAirFields(
            **_air(ground, air),
            seen_c=ground.with_values(seen_c),
            **_rasters(ground, shape),
        ),
        wetness_index=ground.with_values(wetness),
        wind_share=ground.with_values(wind_share),
        remarks=(*light.remarks(site), *air.remarks, *water_remarks),
    )


def with_more_around(
    analysis: Analysis, site: Site, store: Store, progress: Progress
) -> Analysis:
    """The same ground with more standing on it: skyline and light anew, cold air kept.

    Parameters
    ----------
    site
        The site with all its surroundings, such as tunnels that were placed since.
    """
    smooth = _smoothed(site)
    window = smooth.window(_shown_bounds(site))
    skyline = light.skyline(site, smooth, window, store, progress)
    place = light.place_of(site, analysis.terrain.smooth_m)
    rise = analysis.terrain.east.values, analysis.terrain.north.values
    sun = light.by_month(site, rise, skyline, place, store, progress)
    rasters = _rasters(analysis.terrain.elevation_m, sun)
    return replace(analysis, light=replace(analysis.light, skyline=skyline, **rasters))


def with_other_surroundings(
    analysis: Analysis,
    site: Site,
    with_tunnels: Site,
    reach: Bounds,
    store: Store,
    progress: Progress,
) -> Analysis:
    """The same ground with other things around: cold air anew, light where they reach.

    Cold air is compared with the reference as it is now, so that two analyses can be
    laid side by side. Where no air was let run, cold air stays as it is.

    Parameters
    ----------
    site
        The site with the other surroundings.
    with_tunnels
        The same with the tunnels that were placed, which shade and do no more.
    reach
        Outside it the change casts no shade and light is kept.
    """
    smooth = _smoothed(site)
    window = smooth.window(_shown_bounds(site))
    ground = analysis.terrain.elevation_m
    now = analysis.cold_air
    if now.night is not None:
        air = cold_air.air_beside(
            site,
            smooth,
            window,
            now.night,
            now.reference_m,
            store,
            progress,
        )
        air = cold_air.moved(site, air, now.seen_c.values)
        analysis = replace(analysis, cold_air=replace(now, **_air(ground, air)))
    shares = wind.shares(site, smooth, window, store, progress)
    analysis = replace(analysis, wind_share=ground.with_values(shares))
    part = common(window, smooth.window(reach))
    if part is None:
        return analysis
    skyline = light.skyline(with_tunnels, smooth, part, store, progress)
    place = light.place_of(site, analysis.terrain.smooth_m)
    rows, cols = within(part, window)
    known = analysis.terrain
    rise = known.east.values[rows, cols], known.north.values[rows, cols]
    sun = light.by_month(with_tunnels, rise, skyline, place, store, progress)
    rasters: dict[str, Any] = {}
    for name, values in sun.items():
        patched = getattr(analysis.light, name).values.copy()
        patched[..., rows, cols] = values
        rasters[name] = ground.with_values(patched)
    return replace(analysis, light=replace(analysis.light, **rasters))


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
    return slope_deg[at], aspect_deg[at]


def _rasters(ground: Raster, values: Mapping[str, Any]) -> dict[str, Any]:
    """Values by name as rasters on the cells of `ground`."""
    return {name: ground.with_values(each) for name, each in values.items()}


def _air(ground: Raster, air: cold_air.ColdAir) -> dict[str, Any]:
    """What an analysis holds of the cold air."""
    return {
        "depth_m": ground.with_values(air.depth_m),
        "answers_c": ground.with_values(air.answers_c),
        "central_answer": air.central_answer,
        "offset_c": ground.with_values(air.offset_c),
        "reference_m": air.reference_m,
        "night": air.night,
    }


def _smoothed(site: Site) -> Raster:
    """Ground of sun, beds and tunnels."""
    elevation = site.elevation
    return elevation.with_values(
        terrain.smoothed(
            elevation.values,
            elevation.cell_size_m,
            site.settings.ground.smoothing_m,
        )
    )


def _shown_bounds(site: Site) -> Bounds:
    west, south, east, north = site.plots.total_bounds
    around_m = SHOWN_AROUND_M
    return west - around_m, south - around_m, east + around_m, north + around_m
