"""The exact skyline of a bilinear surface, ray by ray: slow, and the measure of error.

Along a ray the surface of one patch is a quadratic of the distance, so the steepest
rise in it stands in closed form. Rays count from the first grid line they cross, as
every bilinear skyline does; double precision; no curvature.
"""

import math

import numba
import numpy as np

_SNAP = 1e-9


def exact_deg(elevation_m, cell_size_m, sectors):
    """Skyline angles [degrees] (sectors, rows, cols), at least 0."""
    rise = np.empty((sectors, *elevation_m.shape))
    for sector in range(sectors):
        ray = _ray(elevation_m.shape, sector, sectors)
        _trace(elevation_m, *ray, rise[sector])
    return np.degrees(np.arctan(rise / cell_size_m))


def exact_at_deg(elevation_m, cell_size_m, sectors, cells):
    """Skyline angles [degrees] (sectors, cells) of some cells, (2, cells) of them."""
    rise = np.empty((sectors, cells.shape[1]))
    for sector in range(sectors):
        ray = _ray(elevation_m.shape, sector, sectors)
        _trace_some(elevation_m, cells, *ray, rise[sector])
    return np.degrees(np.arctan(rise / cell_size_m))


def _ray(shape, sector, sectors):
    """Direction of a ray and the distances [cells] at which it crosses grid lines."""
    azimuth = 2 * math.pi * sector / sectors
    south, east = round(-math.cos(azimuth), 15), round(math.sin(azimuth), 15)
    lines = [np.arange(1, max(shape)) / abs(part) for part in (south, east) if part]
    # A line along which the ray all but runs is never reached.
    crossings = np.concatenate(lines)
    crossings = crossings[crossings < 2 * max(shape)]
    return south, east, np.unique(np.round(crossings, 9))


@numba.njit(cache=True)
def _place(offset):
    """Whole cells and share of one of an offset."""
    cell = math.floor(offset + _SNAP)
    share = offset - cell
    return cell, 0.0 if share < 1e-7 else share


@numba.njit(cache=True)
def _height(z, row, col, south, east):
    """Bilinear height at an offset from a cell, NaN beyond the grid."""
    down, down_share = _place(south)
    right, right_share = _place(east)
    top, left = row + down, col + right
    bottom = top + (1 if down_share > 0 else 0)
    far = left + (1 if right_share > 0 else 0)
    if top < 0 or left < 0 or bottom >= z.shape[0] or far >= z.shape[1]:
        return math.nan
    upper = z[top, left] * (1 - right_share) + z[top, far] * right_share
    lower = z[bottom, left] * (1 - right_share) + z[bottom, far] * right_share
    return upper * (1 - down_share) + lower * down_share


@numba.njit(cache=True)
def _steepest_within(eye, span, start, middle, end):
    """Steepest rise inside a patch from its three heights, 0 when at an end."""
    begin, stop = span
    half = 0.5 * (stop - begin)
    centre = begin + half
    bend = (start - 2 * middle + end) / (2 * half * half)
    if bend == 0:
        return 0.0
    slope = (end - start) / (2 * half) - 2 * bend * centre
    base = middle - slope * centre - bend * centre * centre - eye
    if base / bend <= 0:
        return 0.0
    at = math.sqrt(base / bend)
    return base / at + slope + bend * at if begin < at < stop else 0.0


@numba.njit(cache=True)
def _steepest(z, row, col, south, east, crossings):
    """Steepest rise along one ray, at least 0."""
    eye = z[row, col]
    best = 0.0
    before = math.nan
    for number in range(crossings.size):
        at = crossings[number]
        here = _height(z, row, col, at * south, at * east)
        if math.isnan(here):
            break
        best = max(best, (here - eye) / at)
        if number > 0:
            last = crossings[number - 1]
            half = 0.5 * (last + at)
            middle = _height(z, row, col, half * south, half * east)
            span = (last, at)
            best = max(best, _steepest_within(eye, span, before, middle, here))
        before = here
    return best


@numba.njit(cache=True, parallel=True)
def _trace(z, south, east, crossings, rise):
    for row in numba.prange(z.shape[0]):
        for col in range(z.shape[1]):
            rise[row, col] = _steepest(z, row, col, south, east, crossings)


@numba.njit(cache=True, parallel=True)
def _trace_some(z, cells, south, east, crossings, rise):
    for i in numba.prange(cells.shape[1]):
        rise[i] = _steepest(z, cells[0, i], cells[1, i], south, east, crossings)
