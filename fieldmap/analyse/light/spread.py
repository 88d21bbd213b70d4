"""Where points stand in cells and on beds: closer together where a thing is near.

Light beside a thing changes over lengths of the kind that the thing is away, so points
stand as far apart as that asks for.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from fieldmap.model.raster import Raster

Floats = npt.NDArray[np.float64]
Single = npt.NDArray[np.float32]
Whole = npt.NDArray[np.intp]

# Points in cells stand so far apart, in shares of how far the nearest thing is, but no
# closer than the first length and no farther than a cell (choices).
OF_DISTANCE, FINEST_M = 0.5, 0.5
# The same along and across beds, which are cut in pieces along their longest way
# (choices): light close to a hedge changes within half a metre.
PIECE_M = 4.0
ALONG_OF_DISTANCE, ALONG_M = 0.25, 1.0
ACROSS_OF_DISTANCE, ACROSS_M = 0.125, 0.25


@dataclass(frozen=True)
class Points:
    """Points that stand for cells or beds.

    Attributes
    ----------
    places
        (points, 2): easting and northing [m], those of one cell or bed one after another.
    of
        (points,): number of their cell or bed.
    weight
        (points,): their part in its mean.
    """

    places: Floats
    of: Whole
    weight: Floats

    @classmethod
    def sorted(cls, places: Floats, of: Whole, weight: Floats) -> "Points":
        """Points in the order of what they stand for, weights adding up to one.

        Parameters
        ----------
        places
            (points, 2): easting and northing [m], in any order.
        of
            (points,): number of the cell or bed of each.
        weight
            (points,): how much each counts beside the others of its cell or bed.
        """
        order = np.argsort(of, kind="stable")
        whole = np.bincount(of, weight)
        return cls(places[order], of[order], (weight / whole[of])[order])

    def means(self, values: Floats | Single) -> Floats:
        """Means over (..., points) of each cell or bed; everyone has a point."""
        first = np.flatnonzero(np.diff(self.of, prepend=-1))
        parts = values * self.weight.astype(values.dtype)
        return np.asarray(np.add.reduceat(parts, first, axis=-1), np.float64)


@dataclass(frozen=True)
class _Pieces:
    """Rectangles: (pieces, 2) middles and two sides, and what they are pieces of.

    Those of one cell or bed are of one size, so each counts as much.
    """

    middle: Floats
    along: Floats
    across: Floats
    of: Whole

    def points(self, along_m: Floats, across_m: Floats) -> Points:
        """Even points in every piece, no farther apart than these lengths."""
        counts = np.stack(
            [
                np.ceil(np.maximum(np.hypot(*side.T) / apart_m - 1e-9, 1)).astype(int)
                for side, apart_m in ((self.along, along_m), (self.across, across_m))
            ]
        )
        weight = 1.0 / counts.prod(axis=0)
        places, pieces = [np.empty((0, 2))], [np.empty(0, np.intp)]
        for count in np.unique(counts, axis=1).T:
            at = np.flatnonzero((counts == count[:, None]).all(axis=0))
            u, v = ((np.arange(n) + 0.5) / n - 0.5 for n in count)
            u, v = np.repeat(u, len(v)), np.tile(v, len(u))
            found = self.middle[at][:, None] + u[:, None] * self.along[at][:, None]
            found = found + v[:, None] * self.across[at][:, None]
            places.append(found.reshape(-1, 2))
            pieces.append(np.repeat(at, len(u)))
        piece = np.concatenate(pieces)
        return Points.sorted(np.concatenate(places), self.of[piece], weight[piece])


def in_cells(cells: Raster, sides: Floats) -> Points:
    """Points within cells, numbered row by row; see `on_outlines`."""
    size_m = cells.cell_size_m
    middle = np.stack([each.ravel() for each in cells.middles], axis=1)
    # From this far on, spacing is a cell whatever the distance, and most cells lie there.
    enough_m = size_m / OF_DISTANCE + size_m / 2
    away_m = np.maximum(away_from(sides, middle, enough_m) - size_m / 2, 0.0)
    spacing_m = np.clip(OF_DISTANCE * away_m, min(FINEST_M, size_m), size_m)
    east, north = np.zeros((2, len(middle), 2))
    east[:, 0] = north[:, 1] = size_m
    pieces = _Pieces(middle, east, north, np.arange(len(middle)))
    return pieces.points(spacing_m, spacing_m)


def on_outlines(outlines: Sequence[BaseGeometry], sides: Floats) -> Points:
    """Points on outlines, along and across their longest ways.

    Parameters
    ----------
    sides
        (sides, 4): ends of the sides of things.
    """
    pieces = _pieces_of(outlines)
    half_m = np.hypot(*pieces.along.T) / 2
    away_m = np.maximum(away_from(sides, pieces.middle) - half_m, 0.0)
    points = pieces.points(
        np.maximum(ALONG_OF_DISTANCE * away_m, ALONG_M),
        np.maximum(ACROSS_OF_DISTANCE * away_m, ACROSS_M),
    )
    shapes = np.array(outlines, object)
    shapely.prepare(shapes)
    inside = shapely.intersects_xy(shapes[points.of], *points.places.T)
    bare = np.setdiff1d(np.arange(len(outlines)), points.of[inside])
    some = shapely.get_coordinates(shapely.point_on_surface(shapes[bare]))
    return Points.sorted(
        np.concatenate([points.places[inside], some]),
        np.concatenate([points.of[inside], bare]),
        np.concatenate([points.weight[inside], np.ones(len(bare))]),
    )


def away_from(sides: Floats, places: Floats, farthest_m: float | None = None) -> Floats:
    """How far the nearest of the sides of things is from places.

    Infinite where there is none, or none within a distance beyond which it is not asked.
    """
    away_m = np.full(len(places), np.inf)
    if not len(sides):
        return away_m
    tree = shapely.STRtree(
        [shapely.LineString(each) for each in sides.reshape(-1, 2, 2)]
    )
    (place, _side), found_m = tree.query_nearest(
        shapely.points(places),
        max_distance=farthest_m,
        return_distance=True,
        all_matches=False,
    )
    away_m[place] = found_m
    return away_m


def _pieces_of(outlines: Sequence[BaseGeometry]) -> _Pieces:
    """The narrowest frames of outlines, cut along their longest ways."""
    found = []
    for number, outline in enumerate(outlines):
        frame = outline.minimum_rotated_rectangle
        if frame.geom_type != "Polygon":
            continue
        corner, end, _, other, _ = shapely.get_coordinates(frame)
        if np.hypot(*(end - corner)) < np.hypot(*(other - corner)):
            end, other = other, end
        along, across = end - corner, other - corner
        count = int(np.ceil(np.hypot(*along) / PIECE_M - 1e-9))
        u = (np.arange(count)[:, None] + 0.5) / count
        middle = corner + u * along + 0.5 * across
        rest = np.broadcast_to([*along / count, *across, number], (count, 5))
        found.append(np.hstack([middle, rest]))
    pieces = np.concatenate([np.empty((0, 7)), *found])
    parts = pieces[:, :2], pieces[:, 2:4], pieces[:, 4:6]
    return _Pieces(*parts, pieces[:, 6].astype(np.intp))
