"""An outline that was walked with a phone, corrected by lengths taped from post to post.

A phone is metres off at each corner. Three taped lengths between three corners fix their
shape: the outline is stretched until its lengths are those, evenly where that is enough
(a similarity), else differently each way (an affine map), by least squares.
"""

import itertools
from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import LineString, Polygon

from fieldmap.decide.pegging.landmarks import corners
from fieldmap.decide.pegging.model import At

Floats = npt.NDArray[np.float64]
# An even stretch is enough when no length is then more off than this [m] (a choice).
EVEN_M = 0.10
# How often the tape is laid along one length at the most (a choice).
TAPES = 4
# A stretch beyond this is no phone's error but a slip (a choice).
MOST_STRETCH = 0.25


class Pair(NamedTuple):
    """Two corners by the names that `site.toml` calls them by."""

    first: str
    second: str


class Correction(NamedTuple):
    """A stretch about a place.

    Attributes
    ----------
    matrix
        (2, 2) symmetric: a taped way is the matrix times the walked one.
    worst_m
        By how much a length still differs.
    """

    matrix: Floats
    worst_m: float

    @property
    def stretch(self) -> tuple[float, float]:
        """The least and the most of any way: 1 where nothing changes."""
        least, most = np.linalg.eigvalsh(self.matrix).tolist()
        return float(least), float(most)

    def of(self, outline: Polygon) -> Polygon:
        """An outline, stretched about its centroid."""
        middle = np.array(outline.centroid.coords[0])
        moved: Polygon = shapely.transform(
            outline, lambda at: middle + (at - middle) @ self.matrix
        )
        return moved


def names(plot: str, outline: Polygon) -> dict[str, At]:
    """Corners of a plot by their names.

    Examples
    --------
    >>> list(names("Shelf", shapely.box(0, 0, 20, 10)))
    ['Shelf south-east', 'Shelf north-east', 'Shelf north-west', 'Shelf south-west']
    """
    return {
        " ".join([plot, each.side, *([str(each.nth)] if each.nth > 1 else [])]): each.at
        for each in corners("plot corner", plot, outline)
    }


def wanted(plot: str, outline: Polygon, tape_m: float) -> list[Pair]:
    """The three lengths to tape: the largest triangle of corners within a few tapes.

    A phone is as many metres off over a short way as over a long one, so a long one says
    more of the plot. What is longer than the tape is taped in goes along a string. Where
    no three corners are so near each other it is the largest with the shortest longest
    side. There are no lengths where the outline has under three corners that can be
    found.

    Parameters
    ----------
    plot
        Name of the plot, by which its corners are called.
    outline
        The outline as walked, in the site's CRS.
    tape_m
        Length of the tape.
    """
    places = names(plot, outline)
    best: tuple[tuple[float, float], tuple[str, ...]] | None = None
    inside = outline.buffer(0.05)
    for three in itertools.combinations(places, 3):
        at = [places[name] for name in three]
        sides = [LineString(pair) for pair in itertools.combinations(at, 2)]
        if not all(inside.covers(side) for side in sides):
            continue
        longest_m = max(side.length for side in sides)
        # Sides that a tape spans, with some to spare for the slope, are all as good.
        rank = max(longest_m, 0.95 * TAPES * tape_m), -Polygon(at).area
        if best is None or rank < best[0]:
            best = (rank, three)
    return (
        []
        if best is None
        else [Pair(*each) for each in itertools.combinations(best[1], 2)]
    )


def correction(ways: Floats, taped_m: Floats) -> Correction | None:
    """The stretch that gives walked ways their taped lengths; None where none can.

    Parameters
    ----------
    ways
        (n, 2) from corner to corner as walked, three or more in different directions.
    taped_m
        (n,) on the map: what a tape reads, less what the slope adds.
    """
    walked_m = np.hypot(*ways.T)
    even = float(walked_m @ taped_m / (walked_m @ walked_m))
    off_m = np.abs(even * walked_m - taped_m)
    if off_m.max() <= EVEN_M:
        return _sane(Correction(even * np.eye(2), float(off_m.max())))
    # |M v|² = vᵀ G v with G = M²: linear in the three numbers of G.
    east, north = ways.T
    rows = np.column_stack([east**2, 2 * east * north, north**2])
    (a, b, c), *_ = np.linalg.lstsq(rows, taped_m**2, rcond=None)
    values, vectors = np.linalg.eigh(np.array([[a, b], [b, c]]))
    if values.min() <= 0:
        return None
    matrix = vectors @ np.diag(np.sqrt(values)) @ vectors.T
    off_m = np.abs(np.hypot(*(ways @ matrix).T) - taped_m)
    return _sane(Correction(matrix, float(off_m.max())))


def _sane(found: Correction) -> Correction | None:
    least, most = found.stretch
    return found if max(1 - least, most - 1) <= MOST_STRETCH else None


def correction_of(
    plot: str,
    outline: Polygon,
    pairs: Sequence[Pair],
    taped_m: Mapping[frozenset[str], float],
    share_on_map: Callable[[At, At], float],
) -> Correction | None:
    """The correction of a plot by its taped lengths; None where no stretch fits them.

    Parameters
    ----------
    plot
        Name of the plot, by which its corners are called.
    outline
        The outline as walked, in the site's CRS.
    pairs
        Corners between which lengths were taped, three pairs or more.
    taped_m
        Names of both corners -> taped length; all of `pairs` are there.
    share_on_map
        Two places -> share of a length along the ground between them that it has on the
        map, 0-1.
    """
    places = names(plot, outline)
    ends = [(places[pair.first], places[pair.second]) for pair in pairs]
    lengths = [
        taped_m[frozenset(pair)] * share_on_map(*end)
        for pair, end in zip(pairs, ends, strict=True)
    ]
    return correction(np.array([np.subtract(b, a) for a, b in ends]), np.array(lengths))
