"""Where rain water gathers, by the shape of the ground."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fieldmap.analyse import cold_air_flow
from fieldmap.model.fact import Fact
from layers import drainage

if TYPE_CHECKING:
    import numpy.typing as npt

    from fieldmap.analyse.cold_air_flow import Night
    from fieldmap.cache import Store
    from fieldmap.model.raster import Raster, Window
    from fieldmap.model.site import Site

    Floats = npt.NDArray[np.float64]

# From this wetness index on ground is told as a place where water gathers: what drains
# through a metre of contour comes to 220 m on a grade of one in a hundred (a choice, no
# source; soil and drains decide as much).
GATHERS_FROM = 10.0
DRY_BELOW = 8.0


def wetness_index(
    site: Site, smooth: Raster, window: Window, night: Night | None, store: Store
) -> tuple[Floats, list[Fact]]:
    """Wetness index on the shown cells, and a remark where it cannot be whole.

    On the ground that cold air runs over too; water from beyond is not counted.

    Parameters
    ----------
    night
        Whose ground, and what drains onto it from beyond, are known already; None
        where no air was let run.
    """
    if night is None:
        coarse = cold_air_flow.ground(site, smooth)
        cut = cold_air_flow.beyond(site, coarse)
    else:
        coarse, cut = night.ground, night.cut

    def compute() -> dict[str, npt.NDArray[np.generic]]:
        return {"index": drainage.wetness_index(coarse.values, coarse.cell_size_m)}

    inputs = {"ground": coarse.values, "cell": coarse.cell_size_m}
    index = store.reuse("wetness", inputs, compute)["index"]
    shown = cold_air_flow.read_at(coarse.with_values(index), smooth.clip(window))
    return shown, [] if cut is None else [Fact("water_from_beyond")]


def gathers(index: Raster) -> Raster:
    """1 where water gathers, 0 elsewhere, NaN where not known."""
    wet = index.values >= GATHERS_FROM
    return index.with_values(np.where(np.isnan(index.values), np.nan, wet))
