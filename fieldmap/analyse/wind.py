"""How much of the open wind is left behind what stands around."""

from collections.abc import Sequence

import geopandas as gpd
import numpy as np

from fieldmap.analyse.light import standing_things
from fieldmap.cache import Arrays, Store
from fieldmap.model.fact import Fact, Progress
from fieldmap.model.raster import Raster, Window, grown, within
from fieldmap.model.settings import Wind
from layers import shelter

# The winds of `site.toml`, in the order of `Analysis.wind_share`.
WINDS = ("prevailing", "storm", "summer_breeze")
# Farther off than this even a wood is left out (a choice; it bounds the work).
FARTHEST_M = 600.0


def bearings_deg(wind: Wind, convergence_deg: float) -> list[float | None]:
    """Where each of the winds comes from, from grid north; None where not given."""
    given = [getattr(wind, f"{name}_from_deg") for name in WINDS]
    return [None if deg is None else (deg - convergence_deg) % 360.0 for deg in given]


def shares(
    smooth: Raster,
    window: Window,
    surroundings: gpd.GeoDataFrame,
    from_deg: Sequence[float | None],
    store: Store,
    progress: Progress,
) -> Raster:
    """Share of the open wind at each shown cell, (winds, rows, cols).

    NaN throughout for a wind that is not given.

    Parameters
    ----------
    from_deg
        Bearing of each wind from grid north.
    """
    shown = smooth.clip(window)
    # Things give shelter from afar: the ground around the shown cells counts too.
    heights_m = surroundings["height_m"].dropna()
    tallest_m = float(heights_m.max()) if len(heights_m) else 0.0
    around_m = min(FARTHEST_M, shelter.REACH_HEIGHTS * tallest_m)
    wider = smooth.window(grown(shown.bounds, around_m))
    inside = within(window, wider)
    height_m, density = standing_things.wind_barriers(smooth.clip(wider), surroundings)
    inputs = {
        "height": height_m,
        "density": density,
        "cell": smooth.cell_size_m,
        "from": list(from_deg),
        "window": [[part.start, part.stop] for part in inside],
    }

    def compute() -> Arrays:
        progress(Fact("step_wind"))
        share = np.full((len(WINDS), *shown.shape), np.nan)
        for number, bearing_deg in enumerate(from_deg):
            if bearing_deg is not None:
                share[number] = shelter.share_of_open_wind(
                    height_m, density, smooth.cell_size_m, bearing_deg
                )[inside]
        return {"share": share}

    return shown.with_values(store.reuse("wind", inputs, compute)["share"])
