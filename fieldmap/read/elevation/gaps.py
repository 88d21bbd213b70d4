"""Gaps in heights that are small enough to fill, and cliffs that are gaps in disguise."""

import numpy as np
import numpy.typing as npt
from scipy import ndimage, sparse
from scipy.sparse.linalg import spsolve

from fieldmap.errors import SiteError
from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.fact import Fact
from fieldmap.model.raster import Raster
from fieldmap.read.door import SiteFile

Flags = npt.NDArray[np.bool_]

# A larger gap may hide a hill; it stays missing (a choice: 50 m by 50 m).
LARGEST_GAP_M2 = 2500.0
# Neighbouring cells that differ by so much, and more steeply than any slope of a farm, are
# a height beside a mark for "missing" that the file does not declare (a choice).
CLIFF_M, CLIFF_GRADE = 100.0, 3.0
_ROWS_AT_ONCE = 256
_BESIDE = ((-1, 0), (1, 0), (0, -1), (0, 1))


def without_small_gaps(raster: Raster) -> tuple[Raster, tuple[Fact, ...]]:
    """Heights with small gaps filled, and a remark on them.

    A cell of a gap is the mean of its four neighbours, so that ground goes on as it lies
    around the gap. Gaps that reach the border stay.
    """
    missing = np.isnan(raster.values)
    if not missing.any():
        return raster, ()
    label, count = ndimage.label(missing, structure=np.ones((3, 3)))
    cells = np.bincount(label[missing], minlength=count + 1)
    small = cells * raster.cell_size_m**2 <= LARGEST_GAP_M2
    small[0] = False
    rim = [label[0], label[-1], label[:, 0], label[:, -1]]
    small[np.unique(np.concatenate(rim))] = False
    if not small.any():
        return raster, ()
    found = {
        "number": int(np.count_nonzero(small)),
        "area_m2": float(cells[small].max()) * raster.cell_size_m**2,
    }
    values = raster.values.copy()
    values[small[label]] = _carried_over(values, small[label])
    return raster.with_values(values), (Fact("small_gaps_filled", **found),)


def _carried_over(
    heights_m: npt.NDArray[np.float64], gap: Flags
) -> npt.NDArray[np.float64]:
    """Heights of the cells of gaps, each the mean of its four neighbours."""
    number = np.full(gap.shape, -1, np.int32)
    number[gap] = np.arange(np.count_nonzero(gap))
    row, col = np.nonzero(gap)
    known = np.zeros(len(row))
    pairs = []
    for down, right in _BESIDE:
        beside = number[row + down, col + right]
        inside = beside >= 0
        pairs.append(np.stack([number[row, col][inside], beside[inside]]))
        known[~inside] += heights_m[row + down, col + right][~inside]
    here, there = np.concatenate(pairs, axis=1)
    size = (len(row), len(row))
    links = sparse.coo_matrix((-np.ones(len(here)), (here, there)), shape=size)
    matrix = (links + 4.0 * sparse.identity(len(row))).tocsc()
    return np.asarray(spsolve(matrix, known)).reshape(-1)


def check_no_cliffs(raster: Raster, file: SiteFile) -> None:
    """Raise SiteError where neighbouring cells differ as no ground does."""
    highest_m = max(CLIFF_M, CLIFF_GRADE * raster.cell_size_m)
    for axis in (0, 1):
        cell = _steepest(raster.values, axis, highest_m)
        if cell is None:
            continue
        row, col = cell
        beside = (row + (axis == 0), col + (axis == 1))
        low_m, high_m = sorted((raster.values[row, col], raster.values[beside]))
        place = raster.middle_of(float(row), float(col))
        longitude, latitude = transformer(raster.crs, WGS84).transform(*place)
        raise SiteError(
            file.problem(
                "{file}: heights of {low:g} m and {high:g} m lie side by side around"
                " latitude {latitude:.5f}, longitude {longitude:.5f}; if {low:g}"
                " stands for missing, declare it as the no-data value"
                " (gdal_edit.py -a_nodata {low:g} {file}); cut a real cliff off.",
                low=round(float(low_m), 2),
                high=round(float(high_m), 2),
                latitude=latitude,
                longitude=longitude,
            )
        )


def _steepest(
    heights_m: npt.NDArray[np.float64], axis: int, least_m: float
) -> tuple[int, int] | None:
    """The first cell of the largest step along an axis; None where all are smaller.

    Few rows at a time, so that the steps of a large grid take little memory.
    """
    found, largest_m = None, least_m
    for first in range(0, len(heights_m) - (axis == 0), _ROWS_AT_ONCE):
        rows = heights_m[first : first + _ROWS_AT_ONCE + (axis == 0)]
        step_m = np.abs(np.diff(rows, axis=axis))
        here_m = np.nanmax(step_m, initial=0.0)
        if here_m > largest_m or (found is None and here_m >= least_m):
            row, col = np.unravel_index(int(np.nanargmax(step_m)), step_m.shape)
            found, largest_m = (first + int(row), int(col)), here_m
    return found
