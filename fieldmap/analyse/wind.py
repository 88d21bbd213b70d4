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
# How much of the leaves of deciduous things stands in each of them: over the year; in
# gales none, as most come when trees are bare (common practice, no source); all.
LEAVES = (
    standing_things.LEAVES_OVER_THE_YEAR,
    standing_things.LEAVES_WHEN_BARE,
    1.0,
)
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
    smooth
        Grid of all known ground; its values are not read.
    window
        Rows and columns of the shown cells in it.
    surroundings
        As `Site.surroundings`.
    from_deg
        Bearing that each wind comes from, clockwise from grid north; None for a wind
        that is not given.
    store
        Where unchanged results are taken from.
    progress
        Is called with the step where shelter must be computed.
    """
    shown = smooth.clip(window)
    # Things give shelter from afar: the ground around the shown cells counts too.
    heights_m = surroundings["height_m"].dropna()
    tallest_m = float(heights_m.max()) if len(heights_m) else 0.0
    around_m = min(FARTHEST_M, shelter.REACH_HEIGHTS * tallest_m)
    wider = smooth.window(grown(shown.bounds, around_m))
    inside = within(window, wider)
    barriers = [
        standing_things.wind_barriers(smooth.clip(wider), surroundings, leaves)
        for leaves in LEAVES
    ]
    inputs = {
        "barriers": np.array(barriers),
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
                    *barriers[number], smooth.cell_size_m, bearing_deg
                )[inside]
        return {"share": share}

    return shown.with_values(store.reuse("wind", inputs, compute)["share"])
