"""Hollows of the ground, and the way water takes downhill over it.

Neighbours are the eight cells around a cell. The border of the grid, and every cell
beside a missing one, is an outlet: what lies beyond is not known, so nothing is held
back there. Take elevation with a margin around the ground that matters.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from layers import _downhill
from layers._downhill import Ways
from layers._grid import Grid, check_cell_size, check_grid, check_same_shape

Mask = npt.NDArray[np.bool_]

LEAST_GRADE = 0.001  # below which heights say nothing of how water runs (a choice)
# The same for cold air, how far its index is blended and how far the ground goes on
# beyond the border: choices that keep noise of some centimetres out of it.
COLD_LEAST_GRADE, SMOOTHED_M, RING_CELLS = 0.01, 15.0, 3


@dataclass(frozen=True)
class Hollows:
    """Connected hollows, numbered 1, 2, … in `label`; entry k - 1 describes hollow k.

    Attributes
    ----------
    label
        (rows, cols) int32; 0 outside every hollow and where missing.
    depth_m
        Greatest depth under the spill.
    spill_m
        Height at which the hollow runs over.
    area_m2, volume_m3
        Of the hollow filled to its spill.
    deepest
        (hollows, 2) row and column of the (first) deepest cell.
    """

    label: npt.NDArray[np.int32]
    depth_m: npt.NDArray[np.float64]
    spill_m: npt.NDArray[np.float64]
    area_m2: npt.NDArray[np.float64]
    volume_m3: npt.NDArray[np.float64]
    deepest: npt.NDArray[np.intp]


def filled_m(elevation_m: Grid) -> Grid:
    """Height of the ground with every hollow filled to its spill.

    The lowest surface that lies nowhere under the ground and from which water leaves
    by a path that never rises: per cell, the least height that a path over the eight
    neighbours must climb on its way to an outlet.

    Parameters
    ----------
    elevation_m
        (rows, cols). Missing cells stay missing; cells beside them are outlets, as is
        the border.

    Returns
    -------
    filled
        [m], same shape; every value is one of the heights given.

    Notes
    -----
    What it computes is the fill of Barnes, Lehman & Mulla 2014, Computers &
    Geosciences 62:117-127; how (raster scans, then a queue) follows the hybrid
    greyscale reconstruction of Vincent 1993, IEEE Trans. Image Process. 2:176-201, with
    scans repeated as long as they still do most of the work.

    Examples
    --------
    >>> cup = np.array([[5.0, 5, 5, 5], [5, 1, 2, 4], [5, 5, 5, 5]])
    >>> filled_m(cup)[1].tolist()
    [5.0, 4.0, 4.0, 4.0]
    """
    ground = check_grid(elevation_m, "elevation_m")
    missing = np.isnan(ground)
    filled = _filled_within_walls(ground)[1:-1, 1:-1].copy()
    filled[missing] = np.nan
    return filled


def hollow_depth_m(elevation_m: Grid) -> Grid:
    """Depth of the ground under the spill of the hollow it lies in; 0 outside hollows.

    Parameters
    ----------
    elevation_m
        (rows, cols); NaN stays NaN. Outlets as in `filled_m`.

    Examples
    --------
    >>> cup = np.array([[5.0, 5, 5, 5], [5, 1, 2, 4], [5, 5, 5, 5]])
    >>> hollow_depth_m(cup)[1].tolist()
    [0.0, 3.0, 2.0, 0.0]
    """
    return filled_m(elevation_m) - check_grid(elevation_m, "elevation_m")


def hollows(elevation_m: Grid, cell_size_m: float) -> Hollows:
    """Tell the hollows apart, each with its depth, spill, area and volume.

    Cells under a spill that touch, also by a corner, are one hollow; they always share
    one spill.

    Parameters
    ----------
    elevation_m
        (rows, cols); missing cells belong to no hollow.
    cell_size_m
        Side of a cell.

    Raises
    ------
    ValueError
        When the grid is not two-dimensional or the cell size not positive.

    Examples
    --------
    >>> cup = np.array([[5.0, 5, 5, 5], [5, 1, 2, 4], [5, 5, 5, 5]])
    >>> found = hollows(cup, 10.0)
    >>> found.spill_m.tolist(), found.area_m2.tolist(), found.volume_m3.tolist()
    ([4.0], [200.0], [500.0])
    """
    check_cell_size(cell_size_m)
    ground = check_grid(elevation_m, "elevation_m")
    filled = filled_m(ground)
    depth = np.where(np.isnan(ground), 0.0, filled - ground)
    label, count = ndimage.label(depth > 0, structure=np.ones((3, 3)))
    cell_m2 = np.full(label.size, cell_size_m**2)
    volume_m3 = depth.ravel() * cell_m2
    numbers = np.arange(1, count + 1)
    deepest = np.array(
        ndimage.maximum_position(depth, label, numbers), dtype=np.intp
    ).reshape(count, 2)
    row, col = deepest.T
    return Hollows(
        label=label.astype(np.int32),
        depth_m=depth[row, col],
        spill_m=filled[row, col],
        area_m2=_sums(cell_m2, label, count),
        volume_m3=_sums(volume_m3, label, count),
        deepest=deepest,
    )


def _sums(
    values: npt.NDArray[np.float64], label: npt.NDArray[np.int32], count: int
) -> npt.NDArray[np.float64]:
    """Sum of the values of every label from 1 to `count`."""
    sums = np.bincount(label.ravel(), values, minlength=count + 1)[1:]
    return sums.astype(np.float64)


def catchment_m2(elevation_m: Grid, cell_size_m: float) -> Grid:
    """Area that drains through a cell, its own included, by steepest descent.

    Every cell hands all its water to the one of its eight neighbours that lies lowest
    per metre of way over the filled ground (ties: a fixed order). Over the level fill
    of a hollow the water takes the fewest steps to the spill; at an outlet that has no
    lower neighbour it leaves the grid.

    Parameters
    ----------
    elevation_m
        (rows, cols); NaN stays NaN.
    cell_size_m
        Side of a cell.

    Returns
    -------
    catchment
        [m²], same shape, at least one cell.

    Raises
    ------
    ValueError
        When the grid is not two-dimensional or the cell size not positive.

    Notes
    -----
    O'Callaghan & Mark 1984, Comput. Vision Graph. 28:323-344 ("D8").

    Examples
    --------
    >>> slope = np.array([[3.0, 3], [2, 2], [1, 1]])
    >>> catchment_m2(slope, 10.0)[:, 0].tolist()
    [100.0, 200.0, 300.0]
    """
    check_cell_size(cell_size_m)
    ground = check_grid(elevation_m, "elevation_m")
    catchment: Grid = (
        _downhill.gathered(_ways(ground, _filled_within_walls(ground)))[1:-1, 1:-1]
        * cell_size_m**2
    )
    catchment[np.isnan(ground)] = np.nan
    return catchment


def wetness_index(
    elevation_m: Grid,
    cell_size_m: float,
    known_filled_m: Grid | None = None,
    arrives_m2: Grid | None = None,
) -> Grid:
    """How much water gathers on a cell for how slowly it runs off there.

    The logarithm of the ground that drains through a metre of contour [m] over the
    grade. Water spreads: a cell shares it among all its lower neighbours by the drop to
    each and the contour across; over the level fill of a hollow it takes the fewest
    steps to the spill, and all cells of the hollow have the greatest index of them, as
    water stands there. A grade under `LEAST_GRADE` counts as that.

    Parameters
    ----------
    elevation_m
        (rows, cols); NaN stays NaN. What lies beyond the grid sends no water.
    cell_size_m
        Side of a cell.
    known_filled_m
        The same ground with its hollows filled, of a part of a larger grid whose hollows
        reach beyond it; None fills them here.
    arrives_m2
        Ground beyond the grid whose water arrives at each cell, see `arriving_m2`; None
        for none.

    Returns
    -------
    index
        [ln m], same shape; higher is wetter. It compares places of one grid and is no
        measure of water.

    Raises
    ------
    ValueError
        When the grid is not two-dimensional or the cell size not positive.

    Notes
    -----
    Beven & Kirkby 1979, Hydrol. Sci. Bull. 24:43-69; spread as in Quinn, Beven,
    Chevallier & Planchon 1991, Hydrol. Process. 5:59-79.

    Examples
    --------
    >>> slope = np.repeat([[3.0], [2.0], [1.0]], 5, axis=1)
    >>> print(f"{wetness_index(slope, 10.0)[1, 2]:.3f}, {np.log(20 / 0.1):.3f}")
    5.298, 5.298
    """
    index, filled = _index(
        elevation_m, cell_size_m, LEAST_GRADE, known_filled_m, arrives_m2
    )
    ground = check_grid(elevation_m, "elevation_m")
    stands = filled > ground
    label, count = ndimage.label(stands, structure=np.ones((3, 3)))
    wettest = ndimage.maximum(index, label, np.arange(1, count + 1))
    index[stands] = np.asarray(wettest)[label[stands] - 1]
    return index


def cold_air_wetness(
    elevation_m: Grid,
    cell_size_m: float,
    known_filled_m: Grid | None = None,
    arrives_m2: Grid | None = None,
) -> Grid:
    """Wetness index as the cold of still nights goes with it, without its noise.

    As `wetness_index`, but for three things: a grade counts as `COLD_LEAST_GRADE` at
    least; hollows are no exception; and the ground goes on for three cells beyond the
    border as it ends there, after which neighbours within `SMOOTHED_M` are blended, so
    that heights some centimetres out make no difference between beds.

    Parameters
    ----------
    elevation_m
        (rows, cols); NaN stays NaN and is no part of what is blended.
    cell_size_m
        Side of a cell.
    known_filled_m, arrives_m2
        As in `wetness_index`.

    Returns
    -------
    index
        [ln m], same shape; only differences within one grid mean anything, and they
        are about the same on cells of 5 to 30 m.

    Raises
    ------
    ValueError
        When the grid is not two-dimensional or the cell size not positive.

    Examples
    --------
    >>> slope = np.repeat(np.arange(30.0, 0, -1)[:, None], 9, axis=1)
    >>> index = cold_air_wetness(slope, 10.0)
    >>> bool((np.diff(index[:, 4]) > 0).all()), float(np.ptp(index[15]).round(9))
    (True, 0.0)
    """
    ground = check_grid(elevation_m, "elevation_m")
    ring = [min(RING_CELLS, size - 1) for size in ground.shape]
    width = [(cells, cells) for cells in ring]
    around = np.pad(ground, width, "reflect", reflect_type="odd")
    if known_filled_m is not None:
        known_filled_m = np.pad(known_filled_m, width, "reflect", reflect_type="odd")
        # Turned over at the border, each by itself, it may come to lie under the ground.
        known_filled_m = np.fmax(known_filled_m, around)
    if arrives_m2 is not None:
        arrives_m2 = np.pad(arrives_m2, width)
    index, _ = _index(around, cell_size_m, COLD_LEAST_GRADE, known_filled_m, arrives_m2)
    rows, cols = (
        slice(cells, cells + n) for cells, n in zip(ring, ground.shape, strict=True)
    )
    return _blended(index[rows, cols], SMOOTHED_M / cell_size_m)


def _index(
    elevation_m: Grid,
    cell_size_m: float,
    least_grade: float,
    known_filled_m: Grid | None,
    arrives_m2: Grid | None,
) -> tuple[Grid, Grid]:
    """Index of water spreading over the filled ground, and that ground."""
    check_cell_size(cell_size_m)
    ground = check_grid(elevation_m, "elevation_m")
    if known_filled_m is None:
        filled = _filled_within_walls(ground)
    else:
        check_same_shape(elevation_m=ground, known_filled_m=known_filled_m)
        known = np.where(np.isnan(ground), np.inf, known_filled_m)
        filled = np.pad(known, 1, constant_values=np.inf)
    rain = np.ones(filled.shape)
    if arrives_m2 is not None:
        check_same_shape(elevation_m=ground, arrives_m2=arrives_m2)
        rain[1:-1, 1:-1] += arrives_m2 / cell_size_m**2
    through, fall_m = _downhill.spread(filled, rain)
    across_m = np.maximum(fall_m, least_grade * cell_size_m)
    index: Grid = np.log(through * cell_size_m**2 / across_m)[1:-1, 1:-1].copy()
    index[np.isnan(ground)] = np.nan
    return index, filled[1:-1, 1:-1]


def _blended(values: Grid, sigma_cells: float) -> Grid:
    """Gaussian mean of what is known, NaN where it is not."""
    known = ~np.isnan(values)
    total, weight = (
        ndimage.gaussian_filter(part, sigma_cells, mode="nearest")
        for part in (np.where(known, values, 0.0), known.astype(np.float64))
    )
    return np.where(known, total / np.where(known, weight, 1.0), np.nan)


def arriving_m2(
    elevation_m: Grid, cell_size_m: float, part: tuple[slice, slice]
) -> Grid:
    """Ground outside a part of the grid whose water enters it, by where it does.

    Parameters
    ----------
    elevation_m, cell_size_m
        As for `catchment_m2`, whose ways are followed.
    part
        Rows and columns.

    Returns
    -------
    arrives
        [m²], of the shape of the part; 0 off its rim. Water that leaves the part and
        comes back is counted each time that it enters.

    Raises
    ------
    ValueError
        When the grid is not two-dimensional or the cell size not positive.

    Examples
    --------
    >>> slope = np.array([[4.0, 4], [3, 3], [2, 2], [1, 1]])
    >>> arriving_m2(slope, 10.0, (slice(2, 4), slice(0, 2))).tolist()
    [[200.0, 200.0], [0.0, 0.0]]
    """
    check_cell_size(cell_size_m)
    ground = check_grid(elevation_m, "elevation_m")
    way = _ways(ground, _filled_within_walls(ground))
    through = _downhill.gathered(way)
    inside = np.zeros(way.shape, np.bool_)
    inside[1:-1, 1:-1][part] = True
    row, col = np.nonzero(~inside & (way < _downhill.LEAVES))
    step = way[row, col]
    to = row + _downhill.ROW_STEP[step], col + _downhill.COL_STEP[step]
    enters = inside[to]
    arrives = np.zeros(way.shape)
    np.add.at(arrives, (to[0][enters], to[1][enters]), through[row, col][enters])
    arrives[1:-1, 1:-1][np.isnan(ground)] = 0.0
    return np.asarray(arrives[1:-1, 1:-1][part] * cell_size_m**2)


def upstream(elevation_m: Grid, place: Mask) -> Mask:
    """Cells whose water runs through a place, the place itself included.

    Parameters
    ----------
    elevation_m
        (rows, cols), as for `catchment_m2`, whose ways are followed.
    place
        (rows, cols).

    Returns
    -------
    upstream
        (rows, cols); False where the elevation is missing, but for the place.

    Raises
    ------
    ValueError
        When the grid is not two-dimensional or the shapes differ.

    Examples
    --------
    >>> slope = np.array([[3.0, 3], [2, 2], [1, 1]])
    >>> upstream(slope, slope == np.array([9.0, 2.0]))[:, 1].tolist()
    [True, True, False]
    """
    ground = check_grid(elevation_m, "elevation_m")
    if place.shape != ground.shape:
        raise ValueError(f"place must have shape {ground.shape}, got {place.shape}")
    way = _ways(ground, _filled_within_walls(ground))
    runs_through = np.full(way.shape, _downhill.UNKNOWN)
    runs_through[1:-1, 1:-1][np.isnan(ground)] = False
    runs_through[1:-1, 1:-1][place] = True
    _downhill.follow(way, runs_through)
    return np.asarray(runs_through[1:-1, 1:-1] == 1)


def _ways(ground: Grid, filled: Grid) -> Ways:
    """Way of the water out of every cell, within a ring of cells that have none."""
    missing = np.isnan(ground)
    way = np.full(filled.shape, _downhill.NOWHERE)
    _downhill.point_down(filled, way)
    way[1:-1, 1:-1][missing] = _downhill.LEAVES
    _downhill.point_over_level_ground(filled, way)
    return way


def _filled_within_walls(ground: Grid) -> Grid:
    """Filled ground with a ring of infinite height, which missing cells have too."""
    # Padding keeps the order of a turned grid; the loops want rows one after another.
    walled = np.ascontiguousarray(np.pad(ground, 1, constant_values=np.inf))
    missing = np.isnan(ground)
    if missing.any():
        walled[1:-1, 1:-1][missing] = np.inf
    surface = np.empty(walled.shape)
    _downhill.open_outlets(walled, surface)
    _downhill.lower_to_spill(walled, surface)
    return surface
