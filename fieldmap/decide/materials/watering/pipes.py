"""Metres of drip, of headers along bed ends, and of pipe from the tap."""

from collections.abc import Sequence

import numpy as np
import shapely
from scipy.sparse.csgraph import minimum_spanning_tree
from shapely.geometry import LineString, MultiPoint, Point
from shapely.geometry.base import BaseGeometry

from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.materials.sheets import paths_between
from fieldmap.decide.materials.watering.model import Pipes

# Between lines of drip on one bed, which wets as far on a loam (common practice, no
# source).
LINE_SPACING_M = 0.35
ONE_END_M = 0.5  # of header for a bed alone in its block


def lines_on(bed: Bed) -> int:
    """Lines side by side on a bed, at least one."""
    return max(round((bed.width_m - bed.path_within_m) / LINE_SPACING_M), 1)


def pipes(beds: Sequence[Bed], taps: Sequence[tuple[str, Point]]) -> Pipes | None:
    """What waters beds; None without beds.

    Headers run along those ends of beds side by side that lie nearer to the tap, and
    pipe joins headers and the nearest tap by the shortest net of straight ways.
    """
    if not beds:
        return None
    points = MultiPoint([point for _, point in taps]) if taps else None
    headers = [_header(here, points) for here in _blocks(beds)]
    tap, main_m = "", None
    if points is not None:
        main_m = _net_m([points, *headers])
        tap = min(taps, key=lambda each: min(each[1].distance(h) for h in headers))[0]
    return Pipes(
        beds=len(beds),
        lines=sum(map(lines_on, beds)),
        drip_m=sum(lines_on(bed) * bed.length_m for bed in beds),
        header_m=sum(max(header.length, ONE_END_M) for header in headers),
        main_m=main_m,
        tap=tap,
    )


def _blocks(beds: Sequence[Bed]) -> list[list[Bed]]:
    """Beds that one header serves: those of a block, else neighbours side by side.

    Beds that were kept or drawn, and those in walk-in tunnels, have no blocks.
    """
    found: dict[str | int, list[Bed]] = {}
    block: str | int = 0
    for at, (bed, path_m) in enumerate(
        zip(beds, [None, *paths_between(beds)[:-1]], strict=True)
    ):
        if bed.block:
            block = bed.block_name
        elif path_m is None or beds[at - 1].block:
            block = at
        found.setdefault(block, []).append(bed)
    return list(found.values())


def _header(beds: Sequence[Bed], towards: BaseGeometry | None) -> BaseGeometry:
    """A line through the middles of bed ends, in the order in which they lie."""
    there = beds[0].outline.centroid if towards is None else towards
    near = sorted(
        (min(_ends(bed), key=lambda end: end.distance(there)) for bed in beds),
        key=lambda end: (end.x, end.y),
    )
    if len(near) == 1:
        return near[0]
    spread = np.ptp(shapely.get_coordinates(near), axis=0)
    if spread[1] > spread[0]:
        near.sort(key=lambda end: (end.y, end.x))
    return LineString(near)


def _ends(bed: Bed) -> list[Point]:
    """Middles of the two short sides."""
    corners = shapely.get_coordinates(shapely.oriented_envelope(bed.outline))[:4]
    sides = [(corners[at], corners[(at + 1) % 4]) for at in range(4)]
    short = sorted(sides, key=lambda side: float(np.hypot(*(side[1] - side[0]))))[:2]
    return [Point((one + other) / 2) for one, other in short]


def _net_m(things: Sequence[BaseGeometry]) -> float:
    """Length of the shortest net that joins all of them."""
    apart = np.array([[one.distance(other) for other in things] for one in things])
    # A way of no length is none to the solver: things that touch are a hair apart.
    apart = np.where(apart > 0, apart, 1e-6)
    np.fill_diagonal(apart, 0.0)
    return float(minimum_spanning_tree(apart).sum())
