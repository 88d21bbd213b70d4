"""Where cold air lies around the plots, and what it is worth."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from rasterio import features

from fieldmap import words
from layers import coldair, drainage, terrain

if TYPE_CHECKING:
    import numpy.typing as npt

    from fieldmap.analysis import Progress
    from fieldmap.cache import Store
    from fieldmap.raster import Raster
    from fieldmap.site import Site

# A place is compared with the ground within this radius, if there is so much of it.
WIDEST_RADIUS_M = 300.0
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
    return ColdAir(
        cold["cold_air_m"],
        cold["offset_c"],
        tuple(_remarks(site, radius_m, cold["tells"][plots])),
    )


def _remarks(site: Site, radius_m: float, tells: npt.NDArray[np.bool_]) -> list[str]:
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
