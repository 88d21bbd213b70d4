"""A plot's ground and a bearing -> beds: straight, parallel, full width, in blocks."""

import itertools
import string
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from fieldmap.decide.layout import rows
from fieldmap.decide.layout.rows import Frame, Rows
from fieldmap.errors import PlanError, problem
from fieldmap.model.settings import Beds

Floats = npt.NDArray[np.float64]

LEVEL = 0.005  # rise per metre under which ground is shown as level
# Small letters of blocks: none that is read as a number (l, i, o).
BLOCK_LETTERS = "".join(
    each for each in string.ascii_lowercase[1:] if each not in "ilo"
)


@dataclass(frozen=True)
class Bed:
    """A straight strip that is planted.

    Attributes
    ----------
    outline
        A rectangle in the site's CRS.
    bearing_deg
        Of the long side, clockwise from true north, 0 to under 180.
    exists
        Whether it lies there already, as the grower drew it.
    path_within_m
        Between the two strips of a bed under one hoop, part of its width; else 0.
    """

    name: str
    plot: str
    outline: Polygon
    length_m: float
    width_m: float
    bearing_deg: float
    exists: bool = False
    path_within_m: float = 0.0

    @property
    def block(self) -> str:
        """What it belongs to: the letters of its name, or its plot where it exists."""
        return self.plot if self.exists else self.name.rstrip(string.digits)

    @property
    def area_m2(self) -> float:
        """Planted area."""
        return self.length_m * (self.width_m - self.path_within_m)


def long_side_deg(outline: Polygon) -> float:
    """Grid bearing of the long side of the smallest rectangle around an outline.

    Examples
    --------
    >>> long_side_deg(shapely.box(0, 0, 30, 10))
    90.0
    """
    corners = shapely.get_coordinates(shapely.oriented_envelope(outline))
    sides = np.diff(corners[:3], axis=0)
    east, north = sides[np.argmax(np.hypot(*sides.T))]
    # Rounded, so that the last bit of a float does not turn 0 into 180.
    return float(np.round(np.degrees(np.arctan2(east, north)), 6) % 180.0)


def within_setback(plot_name: str, outline: Polygon, choices: Beds) -> BaseGeometry:
    """A plot within its keep-clear strip.

    Raises
    ------
    PlanError
        When that strip leaves no ground at all.
    """
    inner = outline.buffer(-choices.setback_m, join_style="mitre")
    if inner.is_empty:
        raise PlanError(
            problem(
                "plot {plot!r}: a setback of {setback} m leaves no ground for beds; make "
                "setback_m in [beds] smaller",
                plot=plot_name,
                setback=f"{choices.setback_m:g}",
            )
        )
    return inner


@dataclass(frozen=True)
class Block:
    """Beds side by side, in the order in which they are counted.

    Attributes
    ----------
    grid_deg
        Bearing of the beds from grid north.
    corners
        (beds, 4, 2) easting and northing.
    length_m, width_m, path_within_m
        Of each bed; of all of them.
    part
        Number of the ground that they fill.
    """

    grid_deg: float
    corners: npt.NDArray[np.float64]
    length_m: npt.NDArray[np.float64]
    width_m: float
    path_within_m: float
    part: int

    @property
    def middle(self) -> npt.NDArray[np.float64]:
        """Of the planted ground."""
        middles = self.corners.mean(axis=1)
        return np.asarray(np.average(middles, axis=0, weights=self.length_m))


def lay_blocks(
    parts: Sequence[tuple[BaseGeometry, float]], outline: Polygon, choices: Beds
) -> list[Block]:
    """Blocks of beds on parts of a plot, each at its own bearing from grid north.

    Returns
    -------
    list of Block
        By how far their middle lies from the north-west corner of the upright
        rectangle around the plot.
    """
    centre = outline.centroid
    found = []
    for part, (ground, grid_deg) in enumerate(parts):
        frame = rows.frame((centre.x, centre.y), grid_deg)
        every = rows.lay(rows.edges(ground, frame), choices)
        cut, block = rows.blocks(every, choices)
        for each in range(int(block.max(initial=-1)) + 1):
            mine = rows.Rows(*(column[block == each] for column in cut))
            found.append(_block(mine, frame, grid_deg, choices, part))
    west, _, _, north = outline.bounds
    return sorted(
        found,
        key=lambda each: round(float(np.hypot(*(each.middle - (west, north)))), 3),
    )


def _block(
    mine: Rows, frame: Frame, grid_deg: float, choices: Beds, part: int
) -> Block:
    """Counted from the end of the first row that lies nearest the north-west."""
    width_m = choices.width_m
    north_west = np.array([-1.0, 1.0])
    down = -1.0 if frame.up @ north_west >= -1e-9 else 1.0
    back = -1.0 if frame.along @ north_west > 1e-9 else 1.0
    order = np.lexsort((back * mine.start, down * mine.low))
    start, end, low = mine.start[order], mine.end[order], mine.low[order]
    along = np.stack([start, end, end, start], axis=1)
    up = np.stack([low, low, low + width_m, low + width_m], axis=1)
    return Block(
        grid_deg,
        frame.to_ground(along, up),
        end - start,
        width_m,
        choices.path_within_m,
        part,
    )


def name_beds(
    plot_name: str, letter: str, blocks: Sequence[Block], convergence_deg: float
) -> list[Bed]:
    """The beds of a plot by name: letters of the block, number in it.

    The first block has the letter of the plot alone (A1), the others a small letter
    after it (Ab1): b to z without i, l, o and the plot's own. Bed 1 lies on the side
    towards the north-west, its neighbours count on; of several in one row the one
    nearest the north-west comes first.
    """
    return [
        Bed(
            name=f"{name}{number}",
            plot=plot_name,
            outline=Polygon(corners),
            length_m=float(length_m),
            width_m=block.width_m,
            bearing_deg=float(np.round(block.grid_deg + convergence_deg, 6) % 180.0),
            path_within_m=block.path_within_m,
        )
        for name, block in zip(block_names(letter, len(blocks)), blocks, strict=True)
        for number, (corners, length_m) in enumerate(
            zip(block.corners, block.length_m, strict=True), start=1
        )
    ]


def block_names(letter: str, count: int) -> list[str]:
    """What the names of a plot's beds begin with, block by block.

    Examples
    --------
    >>> block_names("B", 3)
    ['B', 'Bc', 'Bd']
    """
    own = [each for each in BLOCK_LETTERS if each != letter[0].lower()]
    longer = (
        letter + "".join(each)
        for length in itertools.count(1)
        for each in itertools.product(own, repeat=length)
    )
    return [letter, *itertools.islice(longer, max(count - 1, 0))][:count]


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


class Lie(NamedTuple):
    """How a bed lies on the ground.

    Attributes
    ----------
    along_percent, across_percent
        Fall along the long side and across it, without a sign.
    faces_deg
        Direction in which the ground falls, from true north; NaN where it is level.
    """

    along_percent: float
    across_percent: float
    faces_deg: float


def lies(
    east: Floats, north: Floats, beds: Sequence[Bed], convergence_deg: float
) -> list[Lie]:
    """How beds lie on the smoothed ground, by the means of its rise over each."""
    angle = np.radians([bed.bearing_deg - convergence_deg for bed in beds])
    along = east * np.sin(angle) + north * np.cos(angle)
    across = east * np.cos(angle) - north * np.sin(angle)
    falls_deg = (np.degrees(np.arctan2(-east, -north)) + convergence_deg) % 360.0
    level = np.hypot(east, north) < LEVEL
    columns = (
        100 * np.abs(along),
        100 * np.abs(across),
        np.where(level, np.nan, falls_deg),
    )
    return [Lie(*values) for values in np.stack(columns, axis=1).tolist()]
