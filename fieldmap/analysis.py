"""Site -> Analysis: the one place where the layers meet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from rasterio import features

from fieldmap import surroundings as around
from fieldmap import words
from layers import coldair, drainage, horizon, sunlight, terrain

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy.typing as npt

    from fieldmap.cache import Store
    from fieldmap.raster import Raster
    from fieldmap.site import Site

    Progress = Callable[[str], None]
    Window = tuple[slice, slice]

# Ground shown around the plots, and the reach of a crown's shade that is followed.
SHOWN_AROUND_M = 60.0
CROWN_REACH_M = 150.0
# Sectors of the skyline: sharp things near the plots need more than hills do.
SECTORS_OPEN = 36
SECTORS_WITH_OBSTACLES = 72
# The sun of any common year serves; this one is kept so that results stay the same.
SUN_YEAR = 2025
# A place is compared with the ground within this radius, if there is so much of it.
WIDEST_RADIUS_M = 300.0
# Shallower hollows are noise, where the site does not say how far heights may be out.
HOLLOW_FROM_M = 0.3


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
    sun_mj_m2_day, direct_hours
        (12, rows, cols), January first: light on the ground, hours of direct sun.
    level_sun_mj_m2_day
        (12, rows, cols): light on a level surface there, whatever the ground's slope.
    cold_air_m
        Depth of cold air on a clear calm night.
    offset_c
        (3, rows, cols): low, central, high.
    sky
        "clear sky" or "typical sky": what the sun was computed for.
    remarks
        Plain sentences about what could not be known.
    """

    elevation_m: Raster
    smooth_m: Raster
    slope_deg: Raster
    aspect_deg: Raster
    sky_view: Raster
    sun_mj_m2_day: Raster
    direct_hours: Raster
    level_sun_mj_m2_day: Raster
    cold_air_m: Raster
    offset_c: Raster
    sky: str
    remarks: tuple[str, ...]


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

    smooth = wide.with_values(
        terrain.smoothed(
            wide.values, wide.cell_size_m, site.settings.ground.smoothing_m
        )
    )
    sun = _sun(site, smooth, window, store, progress)
    cold = _cold_air(site, smooth, store, progress)
    return Analysis(
        elevation_m=ground,
        smooth_m=smooth.clip(window),
        slope_deg=ground.with_values(slope_deg),
        aspect_deg=ground.with_values((aspect_deg + site.convergence_deg) % 360.0),
        sky_view=ground.with_values(sun["sky_view"]),
        sun_mj_m2_day=ground.with_values(sun["sun_mj_m2_day"]),
        direct_hours=ground.with_values(sun["direct_hours"]),
        level_sun_mj_m2_day=ground.with_values(sun["level_sun_mj_m2_day"]),
        cold_air_m=ground.with_values(cold["cold_air_m"][window]),
        offset_c=ground.with_values(cold["offset_c"][(slice(None), *window)]),
        sky="clear sky",
        remarks=tuple(str(remark) for remark in cold["remarks"]),
    )


def _shown_bounds(site: Site) -> tuple[float, float, float, float]:
    west, south, east, north = site.plots.total_bounds
    around_m = SHOWN_AROUND_M
    return west - around_m, south - around_m, east + around_m, north + around_m


def _sun(
    site: Site, smooth: Raster, window: Window, store: Store, progress: Progress
) -> dict[str, npt.NDArray[np.floating[Any]]]:
    """Sky view, light and hours of direct sun on the shown ground."""
    solid = around.solid_surface_m(smooth, site.surroundings)
    crowns = around.crowns(smooth, site.surroundings, southern=site.southern)
    has_obstacles = bool(crowns) or not np.array_equal(
        solid.values, smooth.values, equal_nan=True
    )
    sectors = SECTORS_WITH_OBSTACLES if has_obstacles else SECTORS_OPEN
    east, north = (
        side[window] for side in terrain.gradient(smooth.values, smooth.cell_size_m)
    )
    height_m = float(np.nanmedian(smooth.values[window]))
    inputs = {
        "ground": smooth.values,
        "solid": solid.values,
        **{
            f"crown {number}": np.stack([crown.bottom_m, crown.top_m])
            for number, crown in enumerate(crowns)
        },
        "transmission": [crown.transmission for crown in crowns],
        "cell": smooth.cell_size_m,
        "window": [[part.start, part.stop] for part in window],
        "sectors": sectors,
        "place": [site.latitude, site.longitude, site.convergence_deg, height_m],
    }

    def compute() -> dict[str, npt.NDArray[np.floating[Any]]]:
        progress("skyline of every cell")
        horizon_deg = horizon.angles_deg(
            smooth.values, solid.values, smooth.cell_size_m, sectors, window
        )
        sky_view = horizon.sky_view_tilted(horizon_deg, east, north)
        bands = [
            sunlight.Crown(
                *horizon.crown_angles_deg(
                    smooth.values,
                    crown.bottom_m,
                    crown.top_m,
                    smooth.cell_size_m,
                    sectors,
                    CROWN_REACH_M,
                    window,
                ),
                crown.transmission,
            )
            for crown in crowns
        ]
        progress("sun of twelve months")
        place = sunlight.Place(
            site.latitude, site.longitude, height_m, site.convergence_deg
        )
        table = sunlight.sun_table(place, sectors, SUN_YEAR)
        light = sunlight.by_month(
            table, east, north, horizon_deg, sky_view, crowns=bands
        )
        level = 0.0 * east
        on_level = sunlight.by_month(
            table,
            level,
            level,
            horizon_deg,
            horizon.sky_view(horizon_deg),
            crowns=bands,
        )
        return {
            "sky_view": sky_view,
            "sun_mj_m2_day": light.total_mj_m2_day,
            "direct_hours": light.direct_hours,
            "level_sun_mj_m2_day": on_level.total_mj_m2_day,
        }

    return store.reuse("sun", inputs, compute)


def _cold_air(
    site: Site, smooth: Raster, store: Store, progress: Progress
) -> dict[str, npt.NDArray[Any]]:
    """Depth of cold air and offset on the whole elevation, with remarks."""
    cell_size_m = smooth.cell_size_m
    error_m = site.settings.ground.elevation_error_m
    shallow_m = HOLLOW_FROM_M if error_m is None else error_m
    plots = _plot_cells(site, smooth)
    radius_m = min(WIDEST_RADIUS_M, max(site.margin_m, cell_size_m))
    reference = np.zeros(smooth.shape, bool)
    if site.station_cell is None:
        reference |= plots
    else:
        reference[site.station_cell] = True

    def compute() -> dict[str, npt.NDArray[Any]]:
        progress("hollows and cold air")
        hollow_m = drainage.hollow_depth_m(smooth.values)
        hollow_m[hollow_m < shallow_m] = 0.0
        zeta_m = terrain.height_above_median_m(smooth.values, cell_size_m, radius_m)
        offset_c = coldair.stopgap_offset_c(zeta_m, hollow_m, reference)
        tells = coldair.tells_something(
            smooth.values, hollow_m, cell_size_m, radius_m, shallow_m
        )
        offset_c[:, ~tells & ~np.isnan(zeta_m)] = 0.0
        return {"cold_air_m": hollow_m, "offset_c": offset_c, "tells": tells}

    cold = store.reuse(
        "cold_air",
        {
            "ground": smooth.values,
            "cell": cell_size_m,
            "reference": reference,
            "radius": radius_m,
            "shallow": shallow_m,
        },
        compute,
    )
    return cold | {"remarks": _cold_air_remarks(site, radius_m, cold["tells"][plots])}


def _cold_air_remarks(
    site: Site, radius_m: float, tells: npt.NDArray[np.bool_]
) -> npt.NDArray[np.str_]:
    """What the elevation or the site could not say about cold air."""
    remarks = []
    if radius_m < WIDEST_RADIUS_M:
        remarks.append(
            "Cold air was judged from the ground within "
            f"{words.length(radius_m, site.settings.units)} of each place, since the "
            "elevation ends there: cold air that comes from farther up is not seen."
        )
    if site.settings.ground.elevation_error_m is None:
        remarks.append(
            "site.toml does not say how far the heights may be out "
            f"(elevation_error_m in [ground]); hollows under {HOLLOW_FROM_M:g} m are "
            "left out."
        )
    if not tells.all():
        remarks.append(
            f"On {1 - tells.mean():.0%} of the plots the ground is too level to say "
            "which place is colder; it is shown as no difference."
        )
    if site.station_cell is None:
        remarks.append(
            "The weather station stands off the elevation: places are compared with "
            "the middle of the plots, and how the plots as a whole compare with the "
            "station is not known."
        )
    return np.array(remarks, dtype=np.str_)


def _plot_cells(site: Site, raster: Raster) -> npt.NDArray[np.bool_]:
    """Cells whose middle lies in a plot; for tiny plots the cells they touch."""
    for all_touched in (False, True):
        inside = features.geometry_mask(
            site.plots.geometry,
            raster.shape,
            raster.transform,
            all_touched=all_touched,
            invert=True,
        )
        if inside.any():
            break
    return np.asarray(inside)
