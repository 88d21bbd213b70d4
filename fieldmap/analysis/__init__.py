"""Site -> Analysis: the one place where the layers meet.

This module reads like a table of contents; `light` and `cold` hold its two chapters.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from fieldmap.analysis import cold, light
from layers import terrain

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldmap.cache import Store
    from fieldmap.raster import Bounds, Raster
    from fieldmap.site import Site

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
    offset_c
        (3, rows, cols): low, central, high.
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
    offset_c: Raster
    sky: str
    remarks: tuple[str, ...]

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
    east, north = terrain.gradient(wide.values, wide.cell_size_m)
    slope_deg = terrain.slope_deg(east, north)[window]
    aspect_deg = terrain.aspect_deg(east, north)[window]

    smooth = _smoothed(site)
    skyline = light.skyline(site, smooth, window, store, progress)
    sun = light.by_month(site, smooth, window, skyline, store, progress)
    air = cold.air(site, smooth, store, progress)
    return Analysis(
        elevation_m=ground,
        smooth_m=smooth.clip(window),
        slope_deg=ground.with_values(slope_deg),
        aspect_deg=ground.with_values((aspect_deg + site.convergence_deg) % 360.0),
        **{name: ground.with_values(values) for name, values in sun.items()},
        skyline=skyline,
        cold_air_m=ground.with_values(air.depth_m[window]),
        offset_c=ground.with_values(air.offset_c[(slice(None), *window)]),
        sky=light.sky_name(site),
        remarks=(*light.remarks(site), *air.remarks),
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
    sun = light.by_month(site, smooth, window, skyline, store, progress)
    ground = analysis.elevation_m
    rasters: dict[str, Any] = {
        name: ground.with_values(values) for name, values in sun.items()
    }
    return replace(analysis, skyline=skyline, **rasters)


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
