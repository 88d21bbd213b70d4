"""Which cells lie under an outline, and by how much: exact shares for zonal means."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import shapely
from affine import Affine
from exactextract import exact_extract
from exactextract.feature import JSONFeatureSource
from exactextract.raster import NumPyRasterSource
from scipy import sparse
from shapely.geometry import mapping
from shapely.geometry.base import BaseGeometry

from fieldmap.model.raster import Raster

Floats = npt.NDArray[np.float64]

# Shares are kept in single precision by the library: what is missing of a whole outline
# beyond this lies outside the grid.
OUTSIDE_SHARE = 1e-4


@dataclass(frozen=True)
class Shares:
    """Shares of outlines in cells, worked out once and used on any band.

    Attributes
    ----------
    weights
        (outlines, touched cells): share of each outline's area; rows add up to 1.
    cells
        Flat number of each touched cell.
    inside
        (outlines,): share of each that lies in the grid.
    """

    weights: sparse.csr_array
    cells: npt.NDArray[np.intp]
    inside: Floats

    @property
    def beyond(self) -> npt.NDArray[np.bool_]:
        """Which outlines reach beyond the grid, (outlines,)."""
        return np.asarray(self.inside < 1 - OUTSIDE_SHARE)

    def means(self, values: npt.NDArray[np.float64]) -> Floats:
        """Mean of (rows, cols) or (bands, rows, cols) by outline, the last axis.

        NaN where an outline lies on a missing cell, be it with a corner, or reaches
        beyond the grid: what is missing stays missing.
        """
        flat = values.reshape(-1, values.shape[-2] * values.shape[-1])
        touched = np.asarray(flat[:, self.cells], np.float64)
        found = np.asarray(self.weights @ touched.T).T
        found[:, self.beyond] = np.nan
        return np.asarray(found if values.ndim == 3 else found[0])


def means(raster: Raster, outlines: Sequence[BaseGeometry]) -> Floats:
    """Mean of a raster over each outline: (outlines,), or (bands, outlines).

    Every cell counts by the area that it shares with the outline, exactly. NaN where an
    outline lies in part on a missing cell, or beyond the raster.
    """
    return shares(tuple(outlines), raster.transform, raster.shape).means(raster.values)


@lru_cache(maxsize=8)  # every raster of a plan is read under the same beds
def shares(
    outlines: tuple[BaseGeometry, ...], transform: Affine, shape: tuple[int, int]
) -> Shares:
    """Exact shares of outlines in the cells of a north-up grid.

    Parameters
    ----------
    outlines
        In the CRS of the grid.
    transform
        Of the grid, as a `Raster` has it.
    shape
        Rows and columns of the grid.
    """
    rows, size = shape[0], transform.a
    # Near the origin, where single steps of floats are far finer than a millimetre.
    moved = shapely.transform(
        list(outlines), lambda at: at - (transform.c, transform.f - rows * size)
    )
    outline, cell, covered = _covered(moved, shape, size)
    inside_m2 = np.bincount(outline, covered, len(outlines)) * size**2
    cells, column = np.unique(cell, return_inverse=True)
    held = covered > 0
    with np.errstate(invalid="ignore", divide="ignore"):
        weights = covered * size**2 / inside_m2[outline]
    return Shares(
        sparse.csr_array(
            (weights[held], (outline[held], column[held])),
            shape=(len(outlines), len(cells)),
        ),
        cells,
        inside_m2 / shapely.area(moved),
    )


def _covered(
    outlines: Iterable[BaseGeometry], shape: tuple[int, int], size: float
) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp], Floats]:
    """Number of the outline, flat number of the cell and share of it, pair by pair.

    Of a grid whose south-west corner is the origin.
    """
    rows, cols = shape
    if not rows * cols:
        # The library asks how large a cell is, which a grid without one cannot say.
        return np.empty(0, np.intp), np.empty(0, np.intp), np.empty(0)
    grid = NumPyRasterSource(
        np.broadcast_to(np.float32(0), shape),
        xmin=0.0,
        ymin=0.0,
        xmax=cols * size,
        ymax=rows * size,
    )
    features = [
        {"type": "Feature", "properties": {}, "geometry": mapping(each)}
        for each in outlines
    ]
    found = [
        each["properties"]
        for each in exact_extract(
            grid, JSONFeatureSource(features), ["cell_id", "coverage"]
        )
    ]
    none = np.empty(0)
    cell = np.concatenate([*(each["cell_id"] for each in found), none])
    covered = np.concatenate([*(each["coverage"] for each in found), none])
    counts = [len(each["cell_id"]) for each in found]
    outline = np.repeat(np.arange(len(found)), counts)
    return outline, cell.astype(np.intp), covered
