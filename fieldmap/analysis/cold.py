"""Where cold air lies around the plots, and what it is worth."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from rasterio import features
from rasterio.transform import from_origin

from fieldmap import words
from fieldmap.analysis.light import SUN_YEAR
from fieldmap.site import NEAR_M, rising_at_the_edge
from layers import coldair, drainage, horizon, sunlight, terrain
from layers._grid import block_means

if TYPE_CHECKING:
    import numpy.typing as npt

    from fieldmap.analysis import Progress
    from fieldmap.cache import Store
    from fieldmap.raster import Raster
    from fieldmap.site import Site

# A place is compared with the ground within this radius, if there is so much of it.
WIDEST_RADIUS_M = 300.0
# Cells of the flow, and sectors of the sky that its production sees.
FLOW_CELL_M = 5.0
FLOW_SECTORS = 16
WHOLE = (slice(None), slice(None))
# What holds cold air back, unless it stands on clear stems.
BARRIERS = ("hedge", "wall", "fence", "building", "trees")
LOW_STEM_M = 0.5
MAKE_NO_COLD_AIR = ("water", "road", "building")
SHORTEST_NIGHT_H = 1.0  # shorter ones make no layer worth a name (a choice)
# Day of the year of the last freeze where the record has none: 1 May, 1 November (a
# choice, no source; it sets the length of the night, nothing else).
USUAL_FREEZE_DAY = {False: 121, True: 305}
# Shallower hollows are noise, where the site does not say how far heights may be out.
HOLLOW_FROM_M = 0.3


@dataclass(frozen=True)
class ColdAir:
    """Cold air of a clear calm night on the whole elevation.

    Attributes
    ----------
    depth_m
        (rows, cols).
    offset_c
        (3, rows, cols): low, central, high.
    """

    depth_m: npt.NDArray[np.float64]
    offset_c: npt.NDArray[np.float64]
    remarks: tuple[str, ...]


def air(site: Site, smooth: Raster, store: Store, progress: Progress) -> ColdAir:
    """Depth of cold air and offset on the whole elevation, with remarks.

    Where the elevation reaches far enough the air is let run through a night; else the
    hollows and the relative height must do.
    """
    reference = _reference(site, smooth)
    error_m = site.settings.ground.elevation_error_m
    shallow_m = HOLLOW_FROM_M if error_m is None else error_m
    radius_m = min(WIDEST_RADIUS_M, max(site.margin_m, smooth.cell_size_m))
    coarse = _coarser(smooth)
    night_h = _night_h(site)
    share, barriers = _production_share(site, coarse), _barriers(site, coarse)
    flows = site.margin_m >= NEAR_M and night_h >= SHORTEST_NIGHT_H
    inputs = {
        "ground": smooth.values,
        "cell": smooth.cell_size_m,
        "reference": reference,
        "radius": radius_m,
        "shallow": shallow_m,
        "flows": flows,
        "night": night_h,
        "share": share,
        "east": np.stack([barriers.east_sill_m, barriers.east_covered]),
        "north": np.stack([barriers.north_sill_m, barriers.north_covered]),
    }

    def compute() -> dict[str, npt.NDArray[Any]]:
        hollow_m = drainage.hollow_depth_m(smooth.values)
        hollow_m[hollow_m < shallow_m] = 0.0
        tells = coldair.tells_something(
            smooth.values, hollow_m, smooth.cell_size_m, radius_m, shallow_m
        )
        if flows:
            progress("cold air of a still night")
            watched = _plot_cells(site, coarse)
            night = coldair.Night(night_h, watched=watched)
            sky_view = horizon.sky_view(
                horizon.angles_deg(
                    coarse.values,
                    coarse.values,
                    coarse.cell_size_m,
                    FLOW_SECTORS,
                    WHOLE,
                )
            )
            run = coldair.drain(
                coarse.values,
                coarse.cell_size_m,
                np.where(np.isnan(sky_view), 0.0, sky_view) * share,
                night,
                barriers=barriers,
            )
            depth_m = _read_at(coarse.with_values(run.depth_m), smooth)
            hours, steady = run.hours, run.ended_by == "steady"
            offset_c = coldair.depth_offset_c(
                depth_m, coldair.reference_median(depth_m, reference)
            )
        else:
            progress("hollows and relative height")
            depth_m, hours, steady = hollow_m, 0.0, True
            zeta_m = terrain.height_above_median_m(
                smooth.values, smooth.cell_size_m, radius_m
            )
            offset_c = coldair.stopgap_offset_c(zeta_m, hollow_m, reference)
        offset_c[:, ~tells & ~np.isnan(depth_m)] = 0.0
        return {
            "depth_m": depth_m,
            "offset_c": offset_c,
            "tells": tells,
            "ended": np.array([hours, steady]),
        }

    found = store.reuse("cold_air", inputs, compute)
    plots = _plot_cells(site, smooth)
    how = _how_it_ran(*found["ended"]) if flows else _how_it_stood(site, radius_m)
    return ColdAir(
        found["depth_m"],
        found["offset_c"],
        (how, *_remarks(site, found["tells"][plots])),
    )


def _reference(site: Site, raster: Raster) -> npt.NDArray[np.bool_]:
    """Cells that the others are compared with: the station's, else those of the plots."""
    if site.station_cell is None:
        return _plot_cells(site, raster)
    reference = np.zeros(raster.shape, bool)
    reference[site.station_cell] = True
    return reference


def _coarser(raster: Raster) -> Raster:
    """Means of square blocks of cells, of about the flow's cell size."""
    side = max(1, round(FLOW_CELL_M / raster.cell_size_m))
    size_m = raster.cell_size_m * side
    return type(raster)(
        block_means(raster.values, side),
        from_origin(raster.transform.c, raster.transform.f, size_m, size_m),
        raster.crs,
    )


def _read_at(coarse: Raster, fine: Raster) -> npt.NDArray[np.float64]:
    """Coarse values at the middles of fine cells, in straight lines; NaN off both."""
    rows, cols = fine.shape
    easting = fine.transform.c + (np.arange(cols) + 0.5) * fine.cell_size_m
    northing = fine.transform.f - (np.arange(rows) + 0.5) * fine.cell_size_m
    read = coarse.interpolate(*np.meshgrid(easting, northing))
    return np.where(np.isnan(fine.values), np.nan, read)


def _production_share(site: Site, coarse: Raster) -> npt.NDArray[np.float64]:
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


def _barriers(site: Site, coarse: Raster) -> coldair.Barriers:
    """Outlines of what cold air must rise over; under a clear stem it runs through."""
    around = site.surroundings
    low_stem = around["clear_stem_m"].fillna(0.0) < LOW_STEM_M
    in_the_way = around[around["kind"].isin(BARRIERS) & low_stem]
    pieces, sills = [np.empty((0, 4))], [np.empty(0)]
    origin = np.array([coarse.transform.c, coarse.transform.f])
    for outline, height_m, porosity in zip(
        in_the_way.geometry,
        in_the_way["height_m"],
        in_the_way["porosity"].fillna(0.0),
        strict=True,
    ):
        for ring in shapely.get_rings(shapely.get_parts(outline)):
            corners = (shapely.get_coordinates(ring) - origin) * (1.0, -1.0)
            pieces.append(np.hstack([corners[:-1], corners[1:]]))
            sills.append(np.full(len(corners) - 1, height_m * (1.0 - porosity)))
    return coldair.barriers_along(
        np.concatenate(pieces), np.concatenate(sills), coarse.shape, coarse.cell_size_m
    )


def _night_h(site: Site) -> float:
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


def _how_it_ran(hours: float, steady: float) -> str:
    if steady:
        return (
            "Cold air of a clear, calm night was let run over the ground as far as it is "
            f"known; on the plots it came to rest {hours:.1f} hours after sunset."
        )
    return (
        "Cold air of a clear, calm night was let run over the ground as far as it is "
        f"known; on the plots it was still rising at sunrise, after {hours:.1f} hours."
    )


def _how_it_stood(site: Site, radius_m: float) -> str:
    return (
        "The elevation reaches too little beyond the plots, or the night is too short "
        "there, to let cold air run. "
        "Cold air was judged from hollows and from the height of each place within "
        f"{words.length(radius_m, site.settings.units)}; what comes from farther up is "
        "not seen."
    )


def _remarks(site: Site, tells: npt.NDArray[np.bool_]) -> list[str]:
    """What the elevation or the site could not say about cold air."""
    remarks = []
    rising = rising_at_the_edge(site)
    if rising:
        remarks.append(
            f"The ground still rises where the elevation ends ({', '.join(rising)}): cold "
            "air from beyond is not counted; a larger elevation would show it."
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
    if site.settings.station is not None and site.station_cell is None:
        remarks.append(
            "The weather station stands off the elevation: places are compared with "
            "the middle of the plots, and how the plots as a whole compare with the "
            "station is not known."
        )
    return remarks


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
