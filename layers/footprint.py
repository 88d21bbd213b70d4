"""Means and planes under rectangles of one bearing, for every place at once.

A grid is sampled on a lattice turned with the bearing; sums over upright rectangles of
that lattice come from a summed table, so a place costs the same however large it is.
The kernels take one thread: those of numba's own pool wait by spinning, which costs three
times what a lattice takes.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from numba import njit

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Lattice:
    """Points in lines along a bearing, `spacing_m` apart.

    Attributes
    ----------
    bearing_deg
        Of the first axis, clockwise from grid north.
    along_m, across_m
        (n,) and (m,) rising: places along the bearing and to the right of it, from the
        origin of the grid's coordinates.
    """

    bearing_deg: float
    spacing_m: float
    along_m: Array
    across_m: Array

    @property
    def axes(self) -> tuple[Array, Array]:
        """Unit vectors (east, north) along the bearing and to the right of it."""
        angle = np.radians(self.bearing_deg)
        sin, cos = np.sin(angle), np.cos(angle)
        return np.array([sin, cos]), np.array([cos, -sin])

    def points(self) -> tuple[Array, Array]:
        """East and north of every point, (along, across) each."""
        forward, right = self.axes
        along, across = self.along_m[:, np.newaxis], self.across_m[np.newaxis, :]
        return (
            along * forward[0] + across * right[0],
            along * forward[1] + across * right[1],
        )


def lattice(corners: npt.ArrayLike, bearing_deg: float, spacing_m: float) -> Lattice:
    """The lattice of a bearing that covers some corners, on whole steps.

    Parameters
    ----------
    corners
        (n, 2) east and north.
    bearing_deg
        Direction of its first axis, clockwise from north.
    spacing_m
        Between points, along and across.

    Raises
    ------
    ValueError
        When the spacing is not above 0.

    Examples
    --------
    >>> found = lattice([[0.0, 0.0], [20.0, 10.0]], 90.0, 5.0)
    >>> found.along_m.tolist(), found.across_m.tolist()
    ([0.0, 5.0, 10.0, 15.0, 20.0], [-10.0, -5.0, 0.0])
    """
    if not spacing_m > 0:
        raise ValueError(f"spacing_m must be over 0, got {spacing_m}")
    empty = Lattice(float(bearing_deg), float(spacing_m), np.empty(0), np.empty(0))
    along, across = (np.asarray(corners, float) @ axis for axis in empty.axes)
    lines = [
        np.arange(np.floor(each.min() / spacing_m), np.ceil(each.max() / spacing_m) + 1)
        * spacing_m
        for each in (along, across)
    ]
    return Lattice(empty.bearing_deg, empty.spacing_m, *lines)


def with_room(
    edges: Array, on: Lattice, size_m: tuple[float, float]
) -> npt.NDArray[np.bool_]:
    """Points of a lattice about which a rectangle lies inside some ground.

    A rectangle lies inside when its middle does and no edge of the ground runs through
    it, or touches it.

    Parameters
    ----------
    edges
        (edges, 2, 2): east and north of both ends of the sides of the ground, those of
        holes too, all rings closed.
    on
        Points to try as its middle.
    size_m
        Of the rectangle, along the bearing and across it.

    Returns
    -------
    room
        (along, across).

    Examples
    --------
    Of a square of 4 m the middle alone holds a square of 3 m:

    >>> corners = np.array([[0.0, 0], [4, 0], [4, 4], [0, 4], [0, 0]])
    >>> square = np.stack([corners[:-1], corners[1:]], axis=1)
    >>> with_room(square, lattice(corners, 0.0, 1.0), (3.0, 3.0)).nonzero()
    (array([2]), array([2]))
    """
    forward, right = on.axes
    turned = np.stack([edges @ right, edges @ forward], axis=-1)
    half = size_m[0] / 2, size_m[1] / 2
    return np.asarray(_with_room(turned, on.along_m, on.across_m, *half))


@njit(cache=True, nogil=True)
def _with_room(
    edges: Array,
    along_m: Array,
    across_m: Array,
    half_along_m: float,
    half_across_m: float,
) -> npt.NDArray[np.bool_]:
    rows, cols = len(along_m), len(across_m)
    room = np.zeros((rows, cols), np.bool_)
    for row in range(rows):
        here_m = along_m[row]
        # By how much more than at the column before: edges passed, rectangles cut.
        passed, cut = np.zeros(cols + 1, np.int64), np.zeros(cols + 1, np.int64)
        for edge in edges:
            if (edge[0, 1] > here_m) != (edge[1, 1] > here_m):
                passed[np.searchsorted(across_m, _across_at(edge, here_m))] += 1
            low_m = max(here_m - half_along_m, min(edge[0, 1], edge[1, 1]))
            high_m = min(here_m + half_along_m, max(edge[0, 1], edge[1, 1]))
            if low_m <= high_m:
                one_m, other_m = _between_m(edge, low_m, high_m)
                first = np.searchsorted(across_m, one_m - half_across_m)
                last = np.searchsorted(across_m, other_m + half_across_m, "right")
                cut[first] += 1
                cut[last] -= 1
        within = running = 0
        for col in range(cols):
            within += passed[col]
            running += cut[col]
            room[row, col] = within % 2 == 1 and running == 0
    return room


@njit(cache=True, nogil=True)
def _across_at(edge: Array, along_m: float) -> float:
    """Where the line of an edge that does not run across is at a place along."""
    part = (along_m - edge[0, 1]) / (edge[1, 1] - edge[0, 1])
    return float(edge[0, 0] + part * (edge[1, 0] - edge[0, 0]))


@njit(cache=True, nogil=True)
def _between_m(edge: Array, low_m: float, high_m: float) -> tuple[float, float]:
    """From where to where across an edge runs between two places along it."""
    one, other = edge[0, 0], edge[1, 0]
    if edge[0, 1] != edge[1, 1]:
        one, other = _across_at(edge, low_m), _across_at(edge, high_m)
    return min(one, other), max(one, other)


def sampled(
    grids: npt.NDArray[np.floating],
    col: npt.NDArray[np.floating],
    row: npt.NDArray[np.floating],
) -> Array:
    """Grids at points, in straight lines between the middles of cells.

    Parameters
    ----------
    grids
        (bands, rows, cols); NaN is missing.
    col, row
        (n, m) places in cells, the middle of the first cell at 0.

    Returns
    -------
    values
        (bands, n, m); NaN outside and beside a missing cell.

    Examples
    --------
    >>> grid = np.array([[[0.0, 10.0], [20.0, 30.0]]])
    >>> sampled(grid, np.array([[0.5]]), np.array([[0.25]])).item()
    10.0
    """
    values: Array = _sampled(
        np.ascontiguousarray(grids, np.float64),
        np.ascontiguousarray(col, np.float64),
        np.ascontiguousarray(row, np.float64),
    )
    return values


@njit(cache=True, nogil=True)
def _sampled(grids: Array, col: Array, row: Array) -> Array:
    bands, rows, cols = grids.shape
    values = np.full((bands, *col.shape), np.nan)
    for i in range(col.shape[0]):
        for j in range(col.shape[1]):
            x, y = col[i, j], row[i, j]
            if not (0 <= x <= cols - 1 and 0 <= y <= rows - 1):
                continue
            left, top = min(int(x), cols - 2), min(int(y), rows - 2)
            right, down = x - left, y - top
            for band in range(bands):
                grid = grids[band]
                upper = grid[top, left] * (1 - right) + grid[top, left + 1] * right
                lower = (
                    grid[top + 1, left] * (1 - right) + grid[top + 1, left + 1] * right
                )
                values[band, i, j] = upper * (1 - down) + lower * down
    return values


@dataclass(frozen=True)
class Under:
    """What lies under rectangles of a lattice.

    Attributes
    ----------
    means
        (bands, places); NaN where a point under the rectangle is missing.
    along, across
        (places,) rise of the plane of least squares through the first band, per metre
        along the bearing and to the right of it.
    """

    means: Array
    along: Array
    across: Array


@dataclass(frozen=True)
class Sums:
    """Summed tables of grids on a lattice; see `summed`."""

    tables: Array
    bands: int
    spacing_m: float


def summed(values: Array, spacing_m: float) -> Sums:
    """Tables from which sums under rectangles are read.

    Parameters
    ----------
    values
        (bands, along, across) on a lattice; the first band is the ground [m]. NaN is
        missing.
    spacing_m
        Between points of the lattice.
    """
    missing = np.isnan(values).any(axis=0)
    bands = len(values)
    shape = values.shape[1:]
    every = np.empty((bands + 4, *shape))
    every[:bands] = values
    # Less the mean height: in sums of heights above the sea a slope has few digits left.
    known = values[0][~missing]
    every[bands] = values[0] - (known.mean() if known.size else 0.0)
    every[bands + 1] = every[bands] * (np.arange(shape[0]) * spacing_m)[:, np.newaxis]
    every[bands + 2] = every[bands] * (np.arange(shape[1]) * spacing_m)
    every[bands + 3] = missing
    every[:-1, missing] = 0.0
    tables = np.zeros((bands + 4, shape[0] + 1, shape[1] + 1))
    _sum_up(every, tables)
    return Sums(tables, bands, spacing_m)


@njit(cache=True, nogil=True)
def _sum_up(every: Array, tables: Array) -> None:
    bands, rows, cols = every.shape
    for band in range(bands):
        for row in range(rows):
            line = 0.0
            for col in range(cols):
                line += every[band, row, col]
                tables[band, row + 1, col + 1] = tables[band, row, col + 1] + line


def under(sums: Sums, at: npt.NDArray[np.intp], size_m: tuple[float, float]) -> Under:
    """Means of all bands and the plane of the first under rectangles.

    Parameters
    ----------
    sums
        Summed tables of the bands, from `summed`.
    at
        (places, 2) numbers of the lattice points in the rectangles' middles.
    size_m
        Along the bearing and across it.

    Raises
    ------
    ValueError
        When a rectangle is smaller than two points either way.

    Examples
    --------
    On a plane that rises 3 m in 100 along the bearing and falls 1 m across it:

    >>> found = lattice([[0.0, 0.0], [30.0, 30.0]], 0.0, 1.0)
    >>> ground = 0.03 * found.along_m[:, np.newaxis] - 0.01 * found.across_m
    >>> lies = under(summed(ground[np.newaxis], 1.0), np.array([[15, 15]]), (20.0, 6.0))
    >>> lies.along.round(6).item(), lies.across.round(6).item()
    (0.03, -0.01)
    """
    spacing_m, bands = sums.spacing_m, sums.bands
    half = np.array(size_m, float) / 2 / spacing_m
    if not (half >= 1).all():
        raise ValueError(f"size_m must be two spacings or more, got {size_m}")
    boxed = _boxed(sums.tables, np.ascontiguousarray(at, np.int64), half[0], half[1])
    # Differences of sums keep a hair of rounding, which is no missing point.
    boxed[:, boxed[-1] > 1e-6] = np.nan
    means = boxed[:-1] / (4 * half[0] * half[1])
    spread = [_spread(each) * spacing_m**2 for each in half]
    middle = means[bands]
    return Under(
        means=means[:bands],
        along=(means[bands + 1] - middle * at[:, 0] * spacing_m) / spread[0],
        across=(means[bands + 2] - middle * at[:, 1] * spacing_m) / spread[1],
    )


def _spread(half: float) -> float:
    """Mean square of the places of points in a stretch about one of them, in spacings.

    Each stands for a little square, of which those at the ends count in part.
    """
    places = np.arange(-np.ceil(half), np.ceil(half) + 1)
    parts = np.minimum(places + 0.5, half) - np.maximum(places - 0.5, -half)
    weights = np.clip(parts, 0.0, 1.0)
    return float((weights * places**2).sum() / weights.sum())


@njit(cache=True, nogil=True)
def _boxed(
    sums: Array, at: npt.NDArray[np.int64], half_along: float, half_across: float
) -> Array:
    """Sums over rectangles; parts of points at the rim count in part."""
    bands, rows, cols = sums.shape
    boxed = np.empty((bands, len(at)))
    for place in range(len(at)):
        # A point stands for the square about it, whose middle lies half a step on.
        top, bottom = at[place, 0] + 0.5 - half_along, at[place, 0] + 0.5 + half_along
        left, right = at[place, 1] + 0.5 - half_across, at[place, 1] + 0.5 + half_across
        inside = top >= 0 and left >= 0 and bottom <= rows - 1 and right <= cols - 1
        for band in range(bands):
            if not inside:
                boxed[band, place] = np.nan
                continue
            boxed[band, place] = (
                _between(sums[band], bottom, right)
                - _between(sums[band], top, right)
                - _between(sums[band], bottom, left)
                + _between(sums[band], top, left)
            )
    return boxed


@njit(cache=True, nogil=True)
def _between(table: Array, row: float, col: float) -> float:
    """A summed table between its whole places."""
    top = min(int(row), table.shape[0] - 2)
    left = min(int(col), table.shape[1] - 2)
    down, right = row - top, col - left
    upper = table[top, left] * (1 - right) + table[top, left + 1] * right
    lower = table[top + 1, left] * (1 - right) + table[top + 1, left + 1] * right
    return float(upper * (1 - down) + lower * down)


def least_of_cells(
    cell: npt.NDArray[np.integer], amount: Array
) -> npt.NDArray[np.intp]:
    """Row of the least amount in each cell, the first of equal ones, by cell.

    Parameters
    ----------
    cell
        (n,) numbers from 0.
    amount
        (n,) without NaN.

    Examples
    --------
    >>> least_of_cells(np.array([2, 0, 2, 0]), np.array([5.0, 1.0, 3.0, 1.0])).tolist()
    [1, 2]
    """
    if not len(cell):
        return np.empty(0, np.intp)
    rows = _least(np.ascontiguousarray(cell, np.int64), np.ascontiguousarray(amount))
    return np.asarray(rows[rows >= 0])


@njit(cache=True, nogil=True)
def _least(cell: npt.NDArray[np.int64], amount: Array) -> npt.NDArray[np.int64]:
    rows = np.full(cell.max() + 1, -1)
    for row in range(len(cell)):
        before = rows[cell[row]]
        if before < 0 or amount[row] < amount[before]:
            rows[cell[row]] = row
    return rows


def earth_moved_m3(
    along: npt.ArrayLike, across: npt.ArrayLike, length_m: float, width_m: float
) -> Array:
    """Earth to cut, and to fill with it, for a level pad at the middle height of a plane.

    The mean of |x + y| over even x and y in ±p and ±q, p the larger, is p/2 + q²/(6 p);
    half of it is cut and half filled. Across a slope alone that is slope·w²/8 for each
    metre of length.

    Parameters
    ----------
    along, across
        Rise per metre along the length and across it, any sign.
    length_m, width_m
        Of the pad.

    Examples
    --------
    >>> earth_moved_m3(0.0, 0.1, 20.0, 6.0).item()
    9.0
    """
    p, q = np.abs(along) * length_m / 2, np.abs(across) * width_m / 2
    longer, shorter = np.maximum(p, q), np.minimum(p, q)
    ratio = np.divide(
        shorter**2, 6 * longer, out=np.zeros_like(longer * 1.0), where=longer > 0
    )
    return np.asarray(length_m * width_m * (longer / 2 + ratio) / 2)
