"""Which piece of cover lies over which beds, pieces being as the grower owns them.

A piece that may be cut gives each bed its own length. One that is kept whole lies over
one bed, or over neighbours side by side with the paths between them: hoops carry it over
each bed, weights hold it down in each path.
"""

import itertools
from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

import numpy as np
import shapely

from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.materials.cover_size import (
    GATHERED_M,
    TOUCH_M,
    cover_size,
    is_wide_enough,
    rolls,
)
from fieldmap.model.season_year import WEEKS
from fieldmap.model.settings import Cover, Materials

# Wider than that and fabric between two beds is a sail, no path (a choice).
WIDEST_PATH_M = 1.5
# Beds under one sheet get and lose it together: their weeks may differ by so much.
SAME_WEEKS = 1
# Of their length, by which middles of neighbours may lie farther apart than those of beds
# with their ends in line (a choice).
SIDE_BY_SIDE = 0.1


class Covered(NamedTuple):
    """A bed that wants a cover from one week of the season-year to another, both within.

    Attributes
    ----------
    place
        Of the bed in the list of beds.
    length_m
        Of the bed, or of that part of it which is covered.
    start_m
        From the gate end of the bed to that part.
    """

    place: int
    length_m: float
    width_m: float
    kind: str
    weeks: tuple[int, int]
    start_m: float = 0.0

    @property
    def end_m(self) -> float:
        """From the gate end of the bed to where it ends."""
        return self.start_m + self.length_m


Waiting = dict[tuple[str, int], list[Covered]]  # by kind and place, in turn


class Sheet(NamedTuple):
    """One length of cover that lies out over one bed, or over several side by side.

    Attributes
    ----------
    piece
        Place of the piece among the covers that are owned.
    places
        Of its beds in the list of beds.
    width_m, length_m
        Of cover that lies out, edges and ends included; what a whole piece is longer is
        rolled up at its end.
    is_whole
        Whether the piece is left uncut.
    start_m
        From the gate end of the beds to the cover.
    """

    kind: str
    piece: int
    places: tuple[int, ...]
    weeks: tuple[int, int]
    width_m: float
    length_m: float
    is_whole: bool
    start_m: float = 0.0

    @property
    def along_m(self) -> float:
        """Length of bed under it, without its gathered ends."""
        return self.length_m - GATHERED_M


class Laid(NamedTuple):
    """Sheets that lie out through the year, and what found no piece."""

    sheets: tuple[Sheet, ...]
    left: tuple[Covered, ...]


def paths_between(beds: Sequence[Bed]) -> tuple[float | None, ...]:
    """Path from each bed to the next of the list; None where that is no neighbour of it.

    Neighbours lie side by side on one plot, a path apart.
    """
    found: list[float | None] = []
    outlines = np.array([bed.outline for bed in beds], object)
    centres = shapely.centroid(outlines)
    apart_m = shapely.distance(outlines[:-1], outlines[1:]).tolist()
    middles_m = shapely.distance(centres[:-1], centres[1:]).tolist()
    pairs = zip(itertools.pairwise(beds), apart_m, middles_m, strict=True)
    for (one, other), path_m, middle_m in pairs:
        # Side by side middles are half of both widths and the path apart; of beds end to
        # end, or that only overlap a little, they are farther.
        square_m = (one.width_m + other.width_m) / 2 + path_m
        beside = abs(middle_m - square_m) <= SIDE_BY_SIDE * one.length_m
        near = one.plot == other.plot and path_m <= WIDEST_PATH_M
        found.append(path_m if near and beside else None)
    return (*found, None)


def width_over_m(
    kind: str, widths_m: Sequence[float], paths_m: Sequence[float], hoops: Materials
) -> tuple[float, float]:
    """Width of one sheet over beds side by side [m], with full edges and narrowest.

    The bends of all hoops, the paths between them, and an edge on either side.

    Parameters
    ----------
    kind
        Kind of cover, in the names of `layers.cover`.
    widths_m
        Width of each bed, at least one.
    paths_m
        Path between each bed and the next: one less than there are beds.
    hoops
        What the grower chose: bend and height of hoops, and how edges are held.
    """
    sizes = [cover_size(kind, width_m, 0.0, hoops) for width_m in widths_m]
    edges_m = sizes[0].width_m - sizes[0].over_m
    spared_m = sizes[0].width_m - sizes[0].least_width_m
    width_m = sum(size.over_m for size in sizes) + sum(paths_m) + edges_m
    return width_m, width_m - spared_m


def most_beds(
    kind: str, piece_width_m: float, width_m: float, path_m: float, hoops: Materials
) -> int:
    """Number of beds alike, a path apart, that a piece of cover reaches over; 0 for none.

    Parameters
    ----------
    kind
        Kind of cover, in the names of `layers.cover`.
    piece_width_m
        Width of the piece.
    width_m
        Width of each bed.
    path_m
        Width of the path between two beds.
    hoops
        What the grower chose: bend and height of hoops, and how edges are held.
    """
    least_m = cover_size(kind, width_m, 0.0, hoops).least_width_m
    over_m = cover_size(kind, width_m, 0.0, hoops).over_m
    if piece_width_m < least_m - TOUCH_M:
        return 0
    return 1 + int((piece_width_m - least_m + TOUCH_M) / (over_m + path_m))


def lay(
    wanted: Iterable[Covered],
    paths_m: Sequence[float | None],
    owned: Sequence[Cover],
    hoops: Materials,
) -> Laid:
    """A piece for every bed that wants one, as far as they go.

    A whole piece goes where it reaches over most neighbours; a single bed gets a length
    that may be cut first, and a whole piece of its own only where there is no other. Of
    pieces that do as well the narrowest is taken, then the first. A whole piece that lies
    over a bed stays on, and is drawn along, for what else wants it there.

    Parameters
    ----------
    wanted
        Beds, or parts of beds, that want a cover, and when.
    paths_m
        Path from each bed to the next of the list [m], None where that is no neighbour,
        as `paths_between` gives it.
    owned
        Pieces of cover that are owned.
    hoops
        What the grower chose: bend and height of hoops, and how edges are held.
    """
    left: list[Covered] = []
    in_turn = sorted(wanted, key=lambda each: (each.weeks[0], each.place))
    open_to: Waiting = {}
    for each in in_turn:
        open_to.setdefault((each.kind, each.place), []).append(each)
    stock = _Stock(owned, hoops)
    for first in in_turn:
        # A sheet over its neighbours may leave the bed itself to the next one.
        while first in open_to[first.kind, first.place]:
            run = [] if stock.is_under(first) else _run(first, open_to, paths_m)
            sheet = stock.sheet_over(run, paths_m) if run else None
            if run and sheet is None:
                left.append(first)
            for each in run[: len(sheet.places)] if sheet else [first]:
                open_to[each.kind, each.place].remove(each)
    return Laid(tuple(stock.sheets), tuple(left))


def _run(
    first: Covered, others: Waiting, paths_m: Sequence[float | None]
) -> list[Covered]:
    """Neighbours of a bed that want the same in the same weeks, and the bed itself."""

    def like(place: int) -> Covered | None:
        there = others.get((first.kind, place), ())
        return next((each for each in there if _together(each, first)), None)

    run = deque([first])
    low = high = first.place
    while (beside := like(low - 1)) is not None and paths_m[low - 1] is not None:
        run.appendleft(beside)
        low -= 1
    while (beside := like(high + 1)) is not None and paths_m[high] is not None:
        run.append(beside)
        high += 1
    return list(run)


def _together(one: Covered, other: Covered) -> bool:
    """Whether two beds get and lose a cover at once."""
    return all(
        abs(here - there) <= SAME_WEEKS
        for here, there in zip(one.weeks, other.weeks, strict=True)
    )


class _Stock:
    """Pieces, the weeks in which they lie out already, and as which sheets."""

    def __init__(self, owned: Sequence[Cover], hoops: Materials) -> None:
        self.owned, self.hoops = owned, hoops
        self.out_m = [[0.0] * WEEKS for _ in owned]
        self.sheets: list[Sheet] = []
        self._whole_over: dict[tuple[str, int], list[int]] = {}

    def is_under(self, bed: Covered) -> bool:
        """Whether a whole piece over the same bed reaches over it too; it then does."""
        for number in self._whole_over.get((bed.kind, bed.place), ()):
            sheet = self.sheets[number]
            if not (
                bed.weeks[0] <= sheet.weeks[1] + SAME_WEEKS
                and sheet.weeks[0] <= bed.weeks[1] + SAME_WEEKS
            ):
                continue
            wider = self._drawn_along(sheet, bed)
            # Its own metres are not in its way while it is asked for longer.
            self._put(sheet, -sheet.length_m)
            if wider is not None and self._is_free(sheet.piece, wider.weeks):
                self.sheets[number] = wider
                self._take(wider)
                return True
            self._take(sheet)
        return False

    def _drawn_along(self, sheet: Sheet, bed: Covered) -> Sheet | None:
        """A sheet over its own part of a bed and another; None where it is too short."""
        start_m = min(sheet.start_m, bed.start_m)
        end_m = max(sheet.start_m + sheet.along_m, bed.end_m)
        length_m = end_m - start_m + GATHERED_M
        if length_m > self.owned[sheet.piece].length_m + TOUCH_M:
            return None
        weeks = min(sheet.weeks[0], bed.weeks[0]), max(sheet.weeks[1], bed.weeks[1])
        return sheet._replace(start_m=start_m, length_m=length_m, weeks=weeks)

    def sheet_over(
        self, run: Sequence[Covered], paths_m: Sequence[float | None]
    ) -> Sheet | None:
        """A sheet over the first beds of a run, over most of them; None for none."""
        first = run[0]
        narrow_first = sorted(
            (at for at, each in enumerate(self.owned) if each.kind == first.kind),
            key=lambda at: (self.owned[at].width_m, at),
        )
        whole = [
            sheet
            for at in narrow_first
            if not self.owned[at].may_cut
            for sheet in self._whole(at, run, paths_m)
        ]
        widest = max(whole, key=lambda sheet: len(sheet.places), default=None)
        if widest is None or len(widest.places) == 1:
            cut = [at for at in narrow_first if self.owned[at].may_cut]
            found = next(self._cut(cut, first), None)
            widest = found or widest
        if widest is not None:
            self._take(widest)
            for place in widest.places if widest.is_whole else ():
                over = self._whole_over.setdefault((widest.kind, place), [])
                over.append(len(self.sheets))
            self.sheets.append(widest)
        return widest

    def _whole(
        self, at: int, run: Sequence[Covered], paths_m: Sequence[float | None]
    ) -> Iterator[Sheet]:
        """A piece over as many beds of a run as it reaches over, where it is free."""
        piece = self.owned[at]
        for count in range(len(run), 0, -1):
            here = run[:count]
            between = [paths_m[each.place] or 0.0 for each in here[:-1]]
            widths_m = [each.width_m for each in here]
            full_m, least_m = width_over_m(piece.kind, widths_m, between, self.hoops)
            start_m = min(each.start_m for each in here)
            length_m = max(each.end_m for each in here) - start_m + GATHERED_M
            weeks = (
                min(each.weeks[0] for each in here),
                max(each.weeks[1] for each in here),
            )
            fits = piece.width_m >= least_m - TOUCH_M
            if (
                fits
                and length_m <= piece.length_m + TOUCH_M
                and self._is_free(at, weeks)
            ):
                places = tuple(each.place for each in here)
                width_m = min(full_m, piece.width_m)
                size = (width_m, length_m)
                laid = Sheet(piece.kind, at, places, weeks, *size, is_whole=True)
                yield laid._replace(start_m=start_m)
                return

    def _cut(self, pieces: Sequence[int], bed: Covered) -> Iterator[Sheet]:
        """A length for one bed from each piece that has it to spare."""
        size = cover_size(bed.kind, bed.width_m, bed.length_m, self.hoops)
        for at in pieces:
            piece = self.owned[at]
            if not is_wide_enough(piece.width_m, size):
                continue
            out_m = max(self.out_m[at][bed.weeks[0] : bed.weeks[1] + 1])
            if out_m + size.length_m <= piece.length_m + TOUCH_M:
                width_m = rolls(size, (piece.width_m,)).cover_width_m
                places = (bed.place,)
                made = (width_m, size.length_m)
                laid = Sheet(bed.kind, at, places, bed.weeks, *made, is_whole=False)
                yield laid._replace(start_m=bed.start_m)

    def _is_free(self, at: int, weeks: tuple[int, int]) -> bool:
        return all(m < TOUCH_M for m in self.out_m[at][weeks[0] : weeks[1] + 1])

    def _take(self, sheet: Sheet) -> None:
        self._put(sheet, sheet.length_m)

    def _put(self, sheet: Sheet, length_m: float) -> None:
        for week in range(sheet.weeks[0], sheet.weeks[1] + 1):
            self.out_m[sheet.piece][week] += length_m


def out_by_week_m(sheets: Iterable[Sheet]) -> list[float]:
    """Length of cover that lies out in each week; one sheet over many beds counts once."""
    found = [0.0] * WEEKS
    for sheet in sheets:
        for week in range(sheet.weeks[0], sheet.weeks[1] + 1):
            found[week] += sheet.length_m
    return found
