"""Site -> Analysis: the one place where the layers meet.

This module reads like a table of contents; `light` and `cold` hold its two chapters.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from fieldmap.analysis import cold, flow, light, water, wind
from fieldmap.raster import common, within
from layers import terrain

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from fieldmap.cache import Store
    from fieldmap.raster import Bounds, Raster, Window
    from fieldmap.site import Site
    from layers._grid import Grid

    Progress = Callable[[str], None]

SHOWN_AROUND_M = 60.0  # ground shown around the plots


@dataclass(frozen=True)
class Analysis:
    """What the ground does to sun and cold, on one grid around the plots.

    Attributes
    ----------
    elevation_m, smooth_m
        Ground height as read, and smoothed to the stated scale.
    slope_deg, aspect_deg
        Plain Horn on the given grid; aspect from true north, NaN where level.
    sky_view
        Visible share of the sky on the tilted ground, 0-1, cosine-weighted.
    beam_mj_m2_day, sky_mj_m2_day, reflected_mj_m2_day
        (12, rows, cols), January first: light on the ground straight from the sun, from
        the sky, and from the ground around.
    direct_hours
        (12, rows, cols): hours a day with the sun on the ground, were it clear.
    morning_share
        (12, rows, cols): part of the beam that comes before solar noon; NaN without.
    level_sun_mj_m2_day
        (12, rows, cols): light on a level surface there, whatever the ground's slope.
    skyline
        What one would see all round from each cell, for the hours of a single day.
    cold_air_m
        Depth of cold air on a clear calm night.
    offset_answers_c
        (runs x rates, rows, cols): offset by each run of the flow and each rate.
    central_answer
        Number of the likeliest answer.
    offset_c
        (3, rows, cols): low, central, high of them.
    reference_m
        Depth of cold air at the reference, by run; empty where none was let run.
    night
        The flow of the cold air, None where none was let run.
    seen_c
        How much colder ground that was seen white at dawn is taken; in all offsets.
        NaN where they are.
    hollow_depth_m, cold_pool_class
        What the ground's shape alone says: depth under the spill; 1 collects cold air,
        0 no signal, -1 does not.
    wetness_index
        How much rain water gathers for how slowly it runs off.
    wind_share
        (winds, rows, cols): share of the open wind that is left, in the order of
        `wind.WINDS`; NaN for a wind that the site does not tell of.
    sky
        "clear sky" or "typical sky": what the light was computed for.
    remarks
        Plain sentences about what could not be known.
    """

    elevation_m: Raster
    smooth_m: Raster
    slope_deg: Raster
    aspect_deg: Raster
    sky_view: Raster
    beam_mj_m2_day: Raster
    sky_mj_m2_day: Raster
    reflected_mj_m2_day: Raster
    direct_hours: Raster
    morning_share: Raster
    level_sun_mj_m2_day: Raster
    skyline: light.Skyline
    cold_air_m: Raster
    offset_answers_c: Raster
    central_answer: int
    offset_c: Raster
    reference_m: tuple[float, ...]
    night: flow.Night | None
    seen_c: Raster
    hollow_depth_m: Raster
    cold_pool_class: Raster
    wetness_index: Raster
    wind_share: Raster
    sky: str
    remarks: tuple[str, ...]

    @property
    def water_gathers(self) -> Raster:
        """1 where rain water gathers, by the shape of the ground, else 0."""
        return water.gathers(self.wetness_index)

    @property
    def sun_mj_m2_day(self) -> Raster:
        """All light on the ground, (12, rows, cols)."""
        return self.beam_mj_m2_day.with_values(
            self.beam_mj_m2_day.values
            + self.sky_mj_m2_day.values
            + self.reflected_mj_m2_day.values
        )


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
    skyline = light.skyline(site, smooth, window, store, progress)
    place = light.place_of(site, smooth.clip(window))
    sun = light.by_month(site, smooth, window, skyline, place, store, progress)
    air = cold.air(site, smooth, window, store, progress)
    reckoned_c = air.offset_c[1]
    air = cold.moved(site, air, cold.seen_c(site, ground.with_values(air.offset_c)))
    seen_c = air.offset_c[1] - reckoned_c  # within what offsets may be
    shape = cold.by_shape(site, smooth, window, store)
    wetness, water_told = water.wetness_index(site, smooth, window, air.night, store)
    wind_share = wind.shares(site, smooth, window, store, progress)
    return Analysis(
        elevation_m=ground,
        smooth_m=smooth.clip(window),
        slope_deg=ground.with_values(slope_deg),
        aspect_deg=ground.with_values((aspect_deg + site.convergence_deg) % 360.0),
        **_rasters(ground, sun),
        skyline=skyline,
        **_air(ground, air),
        seen_c=ground.with_values(seen_c),
        **_rasters(ground, shape),
        wetness_index=ground.with_values(wetness),
        wind_share=ground.with_values(wind_share),
        sky=light.sky_name(site),
        remarks=(
            *light.remarks(site),
            *air.remarks,
            *water_told,
        ),
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
    place = light.place_of(site, analysis.smooth_m)
    sun = light.by_month(site, smooth, window, skyline, place, store, progress)
    return replace(analysis, skyline=skyline, **_rasters(analysis.elevation_m, sun))


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
    ground = analysis.elevation_m
    if analysis.night is not None:
        air = cold.air_beside(
            site,
            smooth,
            window,
            analysis.night,
            analysis.reference_m,
            store,
            progress,
        )
        air = cold.moved(site, air, analysis.seen_c.values)
        analysis = replace(analysis, **_air(ground, air))
    shares = wind.shares(site, smooth, window, store, progress)
    analysis = replace(analysis, wind_share=ground.with_values(shares))
    part = common(window, smooth.window(reach))
    if part is None:
        return analysis
    skyline = light.skyline(with_tunnels, smooth, part, store, progress)
    place = light.place_of(site, analysis.smooth_m)
    sun = light.by_month(with_tunnels, smooth, part, skyline, place, store, progress)
    at = (..., *within(part, window))
    rasters: dict[str, Any] = {}
    for name, values in sun.items():
        patched = getattr(analysis, name).values.copy()
        patched[at] = values
        rasters[name] = ground.with_values(patched)
    return replace(analysis, **rasters)


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


def _air(ground: Raster, air: cold.ColdAir) -> dict[str, Any]:
    """What an analysis holds of the cold air."""
    return {
        "cold_air_m": ground.with_values(air.depth_m),
        "offset_answers_c": ground.with_values(air.answers_c),
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
