"""What a grid holds under one outline: means, shares and percentiles by exact area."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse import zonal_means
from fieldmap.model.raster import Raster

Floats = npt.NDArray[np.float64]

# Of a parcel that must be known of a layer to say anything of it (a choice): a pond or a
# roof without heights hides no field, half a field hides all of it.
LEAST_KNOWN_SHARE = 0.9


@dataclass(frozen=True)
class Zone:
    """Cells of one grid under one outline.

    What is said of a layer is of its known cells, where these are at least
    `LEAST_KNOWN_SHARE` of the outline; else it is NaN.

    Attributes
    ----------
    cells
        (cells,) flat numbers of those that the outline touches.
    share
        (cells,) of the outline's area that lies in each; under 1 in all where it reaches
        beyond the grid.
    """

    cells: npt.NDArray[np.intp]
    share: Floats

    @classmethod
    def under(cls, outline: BaseGeometry, grid: Raster) -> "Zone":
        """The cells of a grid that an outline touches."""
        found = zonal_means.shares((outline,), grid.transform, grid.shape)
        weights = found.weights.toarray()[0] * found.inside[0]
        return cls(found.cells, weights)

    def values(self, grid: npt.NDArray[np.floating]) -> Floats:
        """Those of a band (rows, cols), or of several, in the cells."""
        return np.asarray(
            grid.reshape(*grid.shape[:-2], -1)[..., self.cells], np.float64
        )

    def known_share(self, values: Floats) -> float:
        """Share of the outline on which values, (cells,), are known."""
        return float(self.share[~np.isnan(values)].sum())

    def _known(self, values: Floats) -> tuple[Floats, Floats] | None:
        """Known values with their weights, which add up to 1."""
        is_known = ~np.isnan(values)
        share = self.share[is_known]
        if share.sum() < LEAST_KNOWN_SHARE:
            return None
        return values[is_known], share / share.sum()

    def mean(self, values: Floats) -> float:
        """Mean of (cells,) by area."""
        known = self._known(values)
        return float("nan") if known is None else float(known[0] @ known[1])

    def part(self, values: Floats, *, below: float) -> float:
        """Part of the area, 0 to 1, with a value below a limit."""
        known = self._known(values)
        if known is None:
            return float("nan")
        return float(known[1][known[0] < below].sum())

    def percentiles(self, values: Floats, parts: Sequence[float]) -> Floats:
        """Values that these parts of the area lie below, rising parts of 0 to 1.

        A cell stands for the middle of its own part of the area in order; between two
        the value is drawn in a straight line.
        """
        known = self._known(values)
        if known is None:
            return np.full(len(parts), np.nan)
        order = np.argsort(known[0], kind="stable")
        weight = known[1][order]
        return np.interp(parts, np.cumsum(weight) - weight / 2, known[0][order])
