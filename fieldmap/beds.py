"""A plot and a bearing -> beds: straight, parallel, full width, clear of what stands."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Polygon, box

from fieldmap.errors import PlanError

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    import geopandas as gpd
    import numpy.typing as npt
    from shapely.geometry.base import BaseGeometry

    from fieldmap.raster import Raster
    from fieldmap.settings import Beds

    Edges = npt.NDArray[np.float64]

# Strips that miss a millimetre of ground are whole; more is a real notch.
NOTCH_M = 0.001
# Where the first bed starts, tried over one bed and path; the best is kept.
STARTS_TRIED = 12


@dataclass(frozen=True)
class Bed:
    """A straight strip that is planted.

    Attributes
    ----------
    outline
        A rectangle in the site's CRS.
    bearing_deg
        Of the long side, clockwise from true north, 0 to under 180.
    """

    name: str
    plot: str
    outline: Polygon
    length_m: float
    width_m: float
    bearing_deg: float

    @property
    def area_m2(self) -> float:
        """Planted area."""
        return self.length_m * self.width_m


def long_side_deg(outline: Polygon) -> float:
    """Grid bearing of the long side of the smallest rectangle around an outline.

    Examples
    --------
    >>> long_side_deg(box(0, 0, 30, 10))
    90.0
    """
    corners = shapely.get_coordinates(shapely.oriented_envelope(outline))
    sides = np.diff(corners[:3], axis=0)
    east, north = sides[np.argmax(np.hypot(*sides.T))]
    # Rounded, so that the last bit of a float does not turn 0 into 180.
    return float(np.round(np.degrees(np.arctan2(east, north)), 6) % 180.0)


def grid_bearing_deg(outline: Polygon, choices: Beds, convergence_deg: float) -> float:
    """Bearing of a plot's beds from grid north: as chosen, or else its long side's."""
    if choices.bearing_deg is None:
        return long_side_deg(outline)
    return (choices.bearing_deg - convergence_deg) % 180.0


def fill(
    plot_name: str,
    letter: str,
    outline: Polygon,
    obstacles: Iterable[BaseGeometry],
    choices: Beds,
    convergence_deg: float,
) -> list[Bed]:
    """Beds that fill a plot at the chosen bearing, or else along its long side.

    Parameters
    ----------
    letter
        Begins the names of the beds.
    outline
        Of the plot, in the site's CRS; holes are kept off.
    obstacles
        Ground that no bed may touch, clearance included: see `kept_off`; tunnels.
    choices
        Widths, headland, setback and bearing (true) of the beds.
    convergence_deg
        Grid north from true north: true = grid + convergence.

    Returns
    -------
    list of Bed
        Named by letter and number; bed 1 lies farthest left as one looks along the
        bearing (north of the others, or west). None when no strip is long enough.

    Raises
    ------
    PlanError
        When the setback leaves no ground at all.
    """
    inner = outline.buffer(-choices.setback_m, join_style="mitre")
    if inner.is_empty:
        raise PlanError(
            f"plot {plot_name!r}: a setback of {choices.setback_m:g} m leaves no "
            "ground for beds; make setback_m in [beds] smaller"
        )
    grid_deg = grid_bearing_deg(outline, choices, convergence_deg)
    free = inner.difference(shapely.union_all(list(obstacles)))
    # Turned so that beds run along the first axis and are counted up the second.
    turn_deg = grid_deg - 90.0
    middle = outline.centroid
    turned = affinity.rotate(free, turn_deg, origin=middle)
    strips = sorted(_strips(turned, choices), key=lambda s: (-s.bounds[1], s.bounds[0]))
    true_deg = float(np.round(grid_deg + convergence_deg, 6) % 180.0)
    return [
        Bed(
            name=f"{letter}{number}",
            plot=plot_name,
            outline=affinity.rotate(strip, -turn_deg, origin=middle),
            length_m=strip.bounds[2] - strip.bounds[0],
            width_m=choices.bed_width_m,
            bearing_deg=true_deg,
        )
        for number, strip in enumerate(strips, start=1)
    ]


def _strips(free: BaseGeometry, choices: Beds) -> list[Polygon]:
    """Beds along the first axis for the start that plants most ground."""
    if free.is_empty:
        return []
    edges = _edges(free)
    first, last = free.bounds[1], free.bounds[3]
    pitch_m = choices.bed_width_m + choices.path_width_m
    steps = np.arange(STARTS_TRIED) * pitch_m / STARTS_TRIED
    # From both sides, so that a plot turned half round gets the same beds.
    from_last = first + (last - choices.bed_width_m - first - steps) % pitch_m
    tries = [
        [
            strip
            for low in np.arange(start, last - choices.bed_width_m + NOTCH_M, pitch_m)
            for strip in _clear_lengths(edges, float(low), choices)
        ]
        for start in (*(first + steps), *from_last)
    ]
    # Rounded: equal plantings keep the first start, whatever the last bit says.
    planted = [round(sum(strip.area for strip in strips), 3) for strips in tries]
    return tries[int(np.argmax(planted))]


def _edges(free: BaseGeometry) -> Edges:
    """Both ends of every edge of all rings: (n, 2 ends, 2 coordinates)."""
    rings = shapely.get_rings(shapely.get_parts(free))
    return np.concatenate(
        [
            np.stack([corners[:-1], corners[1:]], axis=1)
            for corners in map(shapely.get_coordinates, rings)
        ]
    )


def _clear_lengths(edges: Edges, low: float, choices: Beds) -> list[Polygon]:
    """The lengths of one strip over which its whole width is free.

    Where no edge runs through the strip it is free throughout or not at all.
    """
    high = low + choices.bed_width_m
    touched = _touched(edges, low + NOTCH_M, high - NOTCH_M)
    beds = []
    for start, end in itertools.pairwise(touched):
        clear = start[1] + choices.headland_m, end[0] - choices.headland_m
        if clear[1] - clear[0] >= choices.shortest_m and _is_free(
            edges, sum(clear) / 2, (low + high) / 2
        ):
            beds.append(box(clear[0], low, clear[1], high))
    return beds


def _touched(edges: Edges, low: float, high: float) -> list[tuple[float, float]]:
    """Where edges run through a strip: merged spans of the first axis, in order."""
    below, above = edges[..., 1].min(axis=1), edges[..., 1].max(axis=1)
    through = edges[(above > low) & (below < high)]
    (x0, y0), (x1, y1) = through[:, 0].T, through[:, 1].T
    run = np.divide(x1 - x0, y1 - y0, out=np.zeros_like(x0), where=y1 != y0)
    # A level edge keeps its own ends; any other is cut where it leaves the strip.
    ends = np.stack(
        [
            np.where(y1 == y0, x, x0 + (np.clip(y, low, high) - y0) * run)
            for x, y in ((x0, y0), (x1, y1))
        ]
    )
    spans: list[tuple[float, float]] = []
    for start, end in sorted(zip(ends.min(0), ends.max(0), strict=True)):
        if spans and start <= spans[-1][1]:
            spans[-1] = spans[-1][0], max(spans[-1][1], end)
        else:
            spans.append((float(start), float(end)))
    return spans


def _is_free(edges: Edges, x: float, y: float) -> bool:
    """Whether a point has an odd number of edges on its left."""
    (x0, y0), (x1, y1) = edges[:, 0].T, edges[:, 1].T
    crossing = (y0 > y) != (y1 > y)
    at = x0[crossing] + (y - y0[crossing]) * (x1 - x0)[crossing] / (y1 - y0)[crossing]
    return bool(np.count_nonzero(at < x) % 2)


def kept_off(surroundings: gpd.GeoDataFrame, setback_m: float) -> list[BaseGeometry]:
    """Ground that no bed may touch: what stands or lies there, with the setback.

    An overhead line is no hindrance to a bed.
    """
    in_the_way = surroundings[surroundings["kind"] != "overhead line"]
    return list(in_the_way.geometry.buffer(setback_m))


@lru_cache(maxsize=20_000)  # every raster is read at the same points of a bed
def points_in(bed: Bed, spacing_m: float) -> npt.NDArray[np.float64]:
    """Evenly spread points inside a bed, no farther apart than asked.

    Returns
    -------
    (n, 2) array
        Easting and northing; each stands for the same area.
    """
    corners = shapely.get_coordinates(bed.outline)[:4]
    origin, first, second = corners[0], corners[1] - corners[0], corners[3] - corners[0]
    along, across = (
        (np.arange(count) + 0.5) / count
        for count in (
            max(1, int(np.ceil(np.hypot(*side) / spacing_m)))
            for side in (first, second)
        )
    )
    shares = np.stack(np.meshgrid(along, across), axis=-1).reshape(-1, 2)
    return np.asarray(origin + shares @ np.stack([first, second]))


def bed_means(raster: Raster, beds: Sequence[Bed]) -> npt.NDArray[np.float64]:
    """Mean of a raster over each bed: (beds,), or (bands, beds).

    Each bed is read at points half a cell apart or closer, in straight lines between
    the middles of cells, so that neighbours do not differ by how cells happen to lie. A
    bed beside a missing cell is NaN.
    """
    points = [points_in(bed, raster.cell_size_m / 2) for bed in beds]
    counts = np.array([len(each) for each in points])
    values = raster.interpolate(*np.concatenate(points).T)
    starts = np.concatenate([[0], np.cumsum(counts)[:-1]])
    return np.asarray(np.add.reduceat(values, starts, axis=-1) / counts)


def letter(number: int) -> str:
    """The letter of a plot by its place in the file, counted from 0.

    Examples
    --------
    >>> letter(0), letter(25), letter(26)
    ('A', 'Z', 'AA')
    """
    rest, last = divmod(number, 26)
    return (letter(rest - 1) if rest else "") + chr(ord("A") + last)
