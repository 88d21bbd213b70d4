"""How far the known ground reaches, and what more of it could change."""

import geopandas as gpd
import numpy as np
import numpy.typing as npt

from fieldmap.analyse.cold_air import flow, ground
from fieldmap.analyse.cold_air.flow import Night
from fieldmap.cache import Store
from fieldmap.model.fact import Fact
from fieldmap.model.raster import Raster
from fieldmap.model.site import cells_in
from layers import coldness

Floats = npt.NDArray[np.float64]

CENTRAL = 1  # of the pairs of weights
MOVED_PERCENTILE = 90.0  # of the plots' cells, by how far they move (a choice)


def moved(
    night: Night,
    plots: gpd.GeoDataFrame,
    surroundings: gpd.GeoDataFrame,
    store: Store,
) -> Fact | None:
    """By how much offsets on the plots move if only half as much ground is known.

    None where nothing drains in from beyond the known ground and it reaches as far as
    air is followed.

    Parameters
    ----------
    night
        A night that was run, with the ground it ran over.
    plots
        As `Site.plots`.
    surroundings
        As `Site.surroundings`.
    store
        Where the run over less ground is taken from.
    """
    here = night.ground
    if here.cut is None and not here.ends_near:
        return None
    west, south, east, north = plots.total_bounds.tolist()
    nearer = ground.half_as_wide(here, (west, south, east, north))
    around = plots, surroundings
    depth_m = flow.central_run(nearer, *around, night.length_h, store).depth_m
    on_plots = cells_in(plots.geometry, depth_m)
    places = depth_m.middle_of(*np.nonzero(on_plots))
    now_c = _over_middle_c(night.depth_m, here.wetness, places)
    then_c = _over_middle_c(depth_m, nearer.wetness, places)
    by_c = np.nanpercentile(np.abs(then_c - now_c), MOVED_PERCENTILE)
    return Fact("moves_with_reach", degrees_c=round(float(by_c), 1))


def _over_middle_c(
    depth_m: Raster, wetness: Raster, places: tuple[Floats, Floats]
) -> Floats:
    """How much colder than the median of them places are, by the likeliest weights."""
    colder_c = coldness.coldness_c(
        depth_m.carried_on().interpolate(*places),
        wetness.carried_on().interpolate(*places),
    )[CENTRAL]
    return np.asarray(colder_c - np.nanmedian(colder_c))
