"""Skyline and light around the plots, by month and for one day."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from scipy import ndimage

from fieldmap.analyse import obstacle_grids as around
from fieldmap.model.fact import Fact
from layers import horizon, sunlight

if TYPE_CHECKING:
    import numpy.typing as npt

    from fieldmap.cache import Arrays, Store
    from fieldmap.model.fact import Progress
    from fieldmap.model.raster import Raster, Window
    from fieldmap.model.site import MeasuredSkyline, Site
    from layers._grid import Grid

    Cube = npt.NDArray[np.float32]

# The reach of a crown's shade that is followed (a choice): a tree of 26 m throws it in a
# sun of 10°.
CROWN_REACH_M = 150.0
# Sectors of the skyline: sharp things near the plots need more than hills do.
SECTORS_OPEN = 36
SECTORS_WITH_OBSTACLES = 72
# Half precision is 0.01° at 20°, under what the ground can tell.
HALF = np.float16
# The sun of any common year serves; this one is kept so that results stay the same.
SUN_YEAR = 2025
PARTS = (
    "beam_mj_m2_day",
    "sky_mj_m2_day",
    "reflected_mj_m2_day",
    "direct_hours",
    "morning_share",
)


@dataclass(frozen=True)
class Skyline:
    """What stands above level around each shown cell, by sector from grid north.

    Attributes
    ----------
    solid_deg
        (sectors, rows, cols): hills, buildings, walls.
    crowns
        What lets a part of the light through.
    """

    solid_deg: Cube
    crowns: tuple[sunlight.Crown, ...]


def skyline(
    site: Site, smooth: Raster, window: Window, store: Store, progress: Progress
) -> Skyline:
    """Skyline of the shown cells from the ground, what stands on it, and afar."""
    solid = around.solid_surface_m(smooth, site.surroundings)
    crowns = around.crowns(smooth, site.surroundings, southern=site.southern)
    has_obstacles = bool(crowns) or not np.array_equal(
        solid.values, smooth.values, equal_nan=True
    )
    sectors = SECTORS_WITH_OBSTACLES if has_obstacles else SECTORS_OPEN
    inputs: dict[str, Any] = {
        "ground": smooth.values,
        "solid": solid.values,
        "cell": smooth.cell_size_m,
        "window": [[part.start, part.stop] for part in window],
        "sectors": sectors,
        "convergence": site.convergence_deg,
    }
    if site.wide_elevation is not None:
        inputs["wide"] = site.wide_elevation.values
        inputs["wide place"] = list(site.wide_elevation.bounds)
    if site.skyline is not None:
        inputs["measured"] = np.stack(
            [site.skyline.azimuth_deg, site.skyline.elevation_deg]
        )

    def compute() -> Arrays:
        progress(Fact("step_skyline"))
        cell_m = smooth.cell_size_m
        solid_deg = horizon.angles_deg(
            smooth.values, solid.values, cell_m, sectors, window
        )
        if site.wide_elevation is not None:
            far_deg = _far_deg(site.wide_elevation, smooth, sectors, window)
            np.fmax(solid_deg, far_deg, out=solid_deg)
        if site.skyline is not None:
            measured_deg = _measured_deg(site.skyline, sectors, site.convergence_deg)
            np.maximum(solid_deg, measured_deg[:, None, None], out=solid_deg)
        return {"solid": solid_deg.astype(HALF)}

    found = store.reuse("skyline", inputs, compute)
    return Skyline(
        found["solid"].astype(np.float32),
        tuple(
            _crown(crown, smooth, sectors, window, store.within(f"crown-{number}"))
            for number, crown in enumerate(crowns)
        ),
    )


def _crown(
    crown: around.Crowns, smooth: Raster, sectors: int, window: Window, store: Store
) -> sunlight.Crown:
    """Crowns of one kind against the sky of every cell."""
    inputs = {
        "ground": smooth.values,
        "crown": np.stack([crown.bottom_m, crown.top_m]),
        "cell": smooth.cell_size_m,
        "window": [[part.start, part.stop] for part in window],
        "sectors": sectors,
    }

    def compute() -> Arrays:
        bottom_deg, top_deg = horizon.crown_angles_deg(
            smooth.values,
            crown.bottom_m,
            crown.top_m,
            smooth.cell_size_m,
            sectors,
            CROWN_REACH_M,
            window,
        )
        return {"bottom": bottom_deg.astype(HALF), "top": top_deg.astype(HALF)}

    found = store.reuse("skyline", inputs, compute)
    return sunlight.Crown(
        found["bottom"].astype(np.float32),
        found["top"].astype(np.float32),
        crown.transmission,
    )


def _far_deg(wide: Raster, near: Raster, sectors: int, window: Window) -> Cube:
    """Skyline that the wider ground makes, beyond the reach of the fine ground.

    Looked at from the wide cells around the plots, with the fine ground taken away so
    that coarse cells near by hide nothing, and read between them in straight lines.
    """
    west, south, east, north = near.bounds
    rows, cols = wide.window((west, south, east, north))
    beyond = wide.values.copy()
    beyond[rows, cols] = np.nan
    shown = near.clip(window)
    around_m = 2 * wide.cell_size_m
    west, south, east, north = shown.bounds
    seen = wide.window(
        (west - around_m, south - around_m, east + around_m, north + around_m)
    )
    coarse_deg = horizon.angles_deg(
        wide.values, beyond, wide.cell_size_m, sectors, seen
    )
    place = wide.clip(seen)
    col, row = np.meshgrid(*(np.arange(size) for size in shown.shape[::-1]))
    easting = shown.transform.c + (col + 0.5) * shown.cell_size_m
    northing = shown.transform.f - (row + 0.5) * shown.cell_size_m
    at = [
        (place.transform.f - northing) / place.cell_size_m - 0.5,
        (easting - place.transform.c) / place.cell_size_m - 0.5,
    ]
    return np.stack(
        [
            ndimage.map_coordinates(angles, at, order=1, mode="nearest")
            for angles in np.nan_to_num(coarse_deg)  # no wide ground hides nothing
        ]
    ).astype(np.float32)


def _measured_deg(
    measured: MeasuredSkyline, sectors: int, convergence_deg: float
) -> Cube:
    """A measured skyline at the sectors' middles, in straight lines between azimuths."""
    true_deg = horizon.sector_azimuths_deg(sectors) + convergence_deg
    return np.interp(
        true_deg, measured.azimuth_deg, measured.elevation_deg, period=360.0
    ).astype(np.float32)


def by_month(
    site: Site,
    rise: tuple[Grid, Grid],
    sky: Skyline,
    place: sunlight.Place,
    store: Store,
    progress: Progress,
) -> dict[str, npt.NDArray[Any]]:
    """Sky view, parts of the light, hours of sun, and light on a level surface.

    Parameters
    ----------
    rise
        Of the smoothed ground to the east and north, on the shown cells.
    """
    east, north = rise
    inputs = {
        "slopes": np.stack([east, north]),
        "solid": sky.solid_deg,
        **under_sky(site, place),
    }
    for number, crown in enumerate(sky.crowns):
        inputs[f"crown {number}"] = np.stack([crown.bottom_deg, crown.top_deg])
        inputs[f"transmission {number}"] = list(crown.transmission)

    def compute() -> dict[str, npt.NDArray[Any]]:
        progress(Fact("step_sun"))
        sky_view = horizon.sky_view_tilted(sky.solid_deg, east, north)
        table = _table(site, place, len(sky.solid_deg))
        on_ground = sunlight.by_month(
            table, east, north, sky.solid_deg, sky_view, crowns=sky.crowns
        )
        level = 0.0 * east
        level_view = horizon.sky_view(sky.solid_deg)
        on_level = sunlight.by_month(
            table, level, level, sky.solid_deg, level_view, crowns=sky.crowns
        )
        parts = {name: np.asarray(getattr(on_ground, name)) for name in PARTS}
        return parts | {
            "sky_view": sky_view,
            "level_sun_mj_m2_day": on_level.total_mj_m2_day,
        }

    return store.reuse("light", inputs, compute)


def under_sky(site: Site, place: sunlight.Place) -> dict[str, Any]:
    """What the light that comes to a place hangs on, skyline apart, for a store."""
    typical = site.typical_year
    return {
        "place": [place.latitude_deg, place.longitude_deg, place.elevation_m],
        "convergence": place.convergence_deg,
        "sky": site.settings.sun.model_dump(mode="json", exclude={"day"}),
        "typical": [] if typical is None else typical.hours.to_numpy(),
        "typical place": []
        if typical is None
        else [typical.latitude, typical.longitude, typical.elevation_m],
    }


def place_of(site: Site, smooth: Raster) -> sunlight.Place:
    """The plots as a place under the sun."""
    return sunlight.Place(
        site.latitude,
        site.longitude,
        float(np.nanmedian(smooth.values)),
        site.convergence_deg,
    )


def _table(site: Site, place: sunlight.Place, sectors: int) -> sunlight.SunTable:
    """Light by direction and month: of clear skies, or with the cloud of the place."""
    clear = _clear_table(place, sectors, site.settings.sun.sky_light)
    means = site.settings.sun
    if site.typical_year is not None:
        year = site.typical_year
        there = sunlight.Place(year.latitude, year.longitude, year.elevation_m, 0.0)
        return sunlight.typical(clear, *sunlight.monthly_ratios(year.hours, there))
    if means.global_mj_m2_day is None or means.diffuse_mj_m2_day is None:
        return clear
    whole, part = np.array(means.global_mj_m2_day), np.array(means.diffuse_mj_m2_day)
    clear_beam = clear.global_mj_m2_day - clear.sky_mj_m2_day
    return sunlight.typical(
        clear, _ratio(whole - part, clear_beam), _ratio(part, clear.sky_mj_m2_day)
    )


@cache
def _clear_table(
    place: sunlight.Place, sectors: int, sky_light: Literal["isotropic", "hay-davies"]
) -> sunlight.SunTable:
    """Of clear skies; asked for with and without tunnels, and for each what if."""
    return sunlight.sun_table(place, sectors, SUN_YEAR, sky_light)


def _ratio(
    typical: npt.NDArray[np.float64], clear: npt.NDArray[np.float64]
) -> npt.NDArray[np.float64]:
    """Month by month; 0 in months that have no such light at all."""
    return np.divide(typical, clear, out=np.zeros(12), where=clear > 0)


def sky_name(site: Site) -> str:
    """What the light is of, for every sheet."""
    means = site.settings.sun.global_mj_m2_day
    is_clear = site.typical_year is None and means is None
    return "clear sky" if is_clear else "typical sky"


def remarks(site: Site) -> list[Fact]:
    """What the site could not say about the sky."""
    return [Fact("light_of_clear_sky")] if sky_name(site) == "clear sky" else []
