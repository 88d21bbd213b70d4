"""Clear lengths of parallel strips over ground that is known by its edges.

For the edges of a polygon with holes, however many strips are asked for at once: each
edge is met only with the strips that it runs through.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Whole = npt.NDArray[np.intp]


class Spans(NamedTuple):
    """Clear lengths: one row each, by strip and then along it.

    Attributes
    ----------
    strip
        Number of the strip.
    start, end
        Along the strip [m].
    """

    strip: Whole
    start: Array
    end: Array


def clear(edges: Array, low: Array, high: Array) -> Spans:
    """The lengths of strips over which their whole width lies inside.

    Where no edge runs through a strip it is inside throughout or not at all, so the
    ends of a clear length are where the last edge leaves it and the next one enters.

    Parameters
    ----------
    edges
        (n, 2 ends, 2) of all rings, holes too: along the strips, across them [m].
    low, high
        (strips,) across, both rising; strips may overlap.

    Returns
    -------
    Spans
        Without those of no length.

    Raises
    ------
    ValueError
        When strips do not rise.

    Examples
    --------
    A strip over a square of 10 m from which the upper left corner is cut off:

    >>> ring = np.array([(0, 0), (10, 0), (10, 10), (4, 10), (0, 6), (0, 0)], float)
    >>> clear(np.stack([ring[:-1], ring[1:]], 1), np.array([7.0]), np.array([8.0]))
    Spans(strip=array([0]), start=array([2.]), end=array([10.]))
    """
    if (np.diff(low) < 0).any() or (np.diff(high) < 0).any():
        raise ValueError("strips must be given in rising order")
    edge, strip = _met(edges, low, high)
    (x0, y0), (x1, y1) = edges[edge, 0].T, edges[edge, 1].T
    bottom, top = low[strip], high[strip]
    level = y0 == y1
    run = np.divide(x1 - x0, y1 - y0, out=np.zeros_like(x0), where=~level)
    # A level edge keeps its own ends; any other is cut where it leaves the strip.
    one, other = (
        np.where(level, x, x0 + (np.clip(y, bottom, top) - y0) * run)
        for x, y in ((x0, y0), (x1, y1))
    )
    middle = (bottom + top) / 2
    crosses = (y0 > middle) != (y1 > middle)
    return _between(strip, np.minimum(one, other), np.maximum(one, other), crosses)


def _met(edges: Array, low: Array, high: Array) -> tuple[Whole, Whole]:
    """Every pair of an edge and a strip that it runs through."""
    ends = edges[..., 1]
    first = np.searchsorted(high, ends.min(axis=1), side="right")
    last = np.searchsorted(low, ends.max(axis=1), side="left")
    counts = np.maximum(last - first, 0)
    edge = np.repeat(np.arange(len(edges)), counts)
    before = np.repeat(np.cumsum(counts) - counts, counts)
    return edge, np.arange(counts.sum()) - before + first[edge]


def _between(
    strip: Whole, start: Array, end: Array, crosses: npt.NDArray[np.bool_]
) -> Spans:
    """What lies between edges and inside: an odd number of them on its left."""
    if not len(strip):
        return Spans(strip, start, end)
    order = np.lexsort((end, start, strip))
    strip, start, end = strip[order], start[order], end[order]
    # Strips laid end to end, so that one running maximum serves all.
    apart = (end.max() - start.min() + 1.0) * (strip - strip[0])
    reached = np.maximum.accumulate(end + apart)
    begins = np.ones(len(strip), bool)
    begins[1:] = (start + apart)[1:] > reached[:-1]
    at = np.flatnonzero(begins)
    strip, start, end = strip[at], start[at], np.maximum.reduceat(end, at)
    # Every ring crosses a strip an even number of times: no need to begin anew.
    inside = np.cumsum(np.add.reduceat(crosses[order].astype(np.intp), at)) % 2 == 1
    clear_ = inside[:-1] & (strip[:-1] == strip[1:]) & (start[1:] > end[:-1])
    return Spans(strip[:-1][clear_], end[:-1][clear_], start[1:][clear_])
