"""How much of the open wind is left behind what stands around."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fieldmap.analyse import obstacle_grids as around
from fieldmap.model.fact import Fact
from fieldmap.model.raster import within
from layers import shelter

if TYPE_CHECKING:
    import numpy.typing as npt

    from fieldmap.cache import Store
    from fieldmap.model.fact import Progress
    from fieldmap.model.raster import Raster, Window
    from fieldmap.model.site import Site

# The winds of `site.toml`, in the order of `Analysis.wind_share`.
WINDS = ("prevailing", "storm", "summer_breeze")
# Farther off than this even a wood is left out (a choice; it bounds the work).
FARTHEST_M = 600.0


def shares(
    site: Site, smooth: Raster, window: Window, store: Store, progress: Progress
) -> npt.NDArray[np.float64]:
    """Share of the open wind at each shown cell, (winds, rows, cols).

    NaN throughout for a wind whose direction `site.toml` does not tell.
    """
    grown = _with_upwind(site, smooth, window)
    ground = smooth.clip(grown)
    height_m, density = around.wind_barriers(ground, site.surroundings)
    inside = within(window, grown)
    from_deg = [getattr(site.settings.wind, f"{wind}_from_deg") for wind in WINDS]
    inputs = {
        "height": height_m,
        "density": density,
        "cell": ground.cell_size_m,
        "from": from_deg,
        "window": [[part.start, part.stop] for part in inside],
        "convergence": site.convergence_deg,
    }

    def compute() -> dict[str, npt.NDArray[np.float64]]:
        progress(Fact("step_wind"))
        share = np.full((len(WINDS), *ground.clip(inside).shape), np.nan)
        for number, true_deg in enumerate(from_deg):
            if true_deg is not None:
                share[number] = shelter.share_of_open_wind(
                    height_m,
                    density,
                    ground.cell_size_m,
                    (true_deg - site.convergence_deg) % 360.0,
                )[inside]
        return {"share": share}

    return store.reuse("wind", inputs, compute)["share"]


def _with_upwind(site: Site, smooth: Raster, window: Window) -> Window:
    """The shown cells and the ground around them from which things give shelter."""
    heights_m = site.surroundings["height_m"].dropna()
    tallest_m = float(heights_m.max()) if len(heights_m) else 0.0
    around_m = min(FARTHEST_M, shelter.REACH_HEIGHTS * tallest_m)
    west, south, east, north = smooth.clip(window).bounds
    return smooth.window(
        (west - around_m, south - around_m, east + around_m, north + around_m)
    )
