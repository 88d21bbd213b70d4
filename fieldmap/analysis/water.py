"""Where rain water gathers, by the shape of the ground."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fieldmap.analysis import flow
from fieldmap.language import _
from layers import drainage

if TYPE_CHECKING:
    import numpy.typing as npt

    from fieldmap.cache import Store
    from fieldmap.raster import Raster, Window
    from fieldmap.site import Site

    Floats = npt.NDArray[np.float64]

# From this wetness index on ground is told as a place where water gathers: what drains
# through a metre of contour comes to 220 m on a grade of one in a hundred (a choice, no
# source; soil and drains decide as much).
GATHERS_FROM = 10.0
DRY_BELOW = 8.0


def wetness_index(site: Site, smooth: Raster, window: Window, store: Store) -> Floats:
    """Wetness index on the shown cells, of the ground that cold air runs over too.

    Water from beyond the known ground is not counted.
    """
    coarse = flow.ground(site, smooth)

    def compute() -> dict[str, npt.NDArray[np.generic]]:
        return {"index": drainage.wetness_index(coarse.values, coarse.cell_size_m)}

    inputs = {"ground": coarse.values, "cell": coarse.cell_size_m}
    index = store.reuse("wetness", inputs, compute)["index"]
    return flow.read_at(coarse.with_values(index), smooth.clip(window))


def gathers(index: Raster) -> Raster:
    """1 where water gathers, 0 elsewhere, NaN where not known."""
    wet = index.values >= GATHERS_FROM
    return index.with_values(np.where(np.isnan(index.values), np.nan, wet))


def remarks(site: Site, smooth: Raster) -> list[str]:
    """A sentence where water comes onto the plots from beyond the known ground."""
    if flow.beyond(site, flow.ground(site, smooth)) is None:
        return []
    return [
        _(
            "Rain water that runs onto the plots from beyond the known ground is not "
            "counted: it may gather on more ground than is shown."
        )
    ]
