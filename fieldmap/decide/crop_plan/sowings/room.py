"""Room on beds: which metres of which beds are free in which weeks."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from fieldmap.decide.crop_plan.model import BedPart
from fieldmap.model.season_year import WEEKS

ROUNDING = 1e-6


class Piece(NamedTuple):
    """A part of a bed that is taken from one week to another, both within."""

    part: BedPart
    weeks: tuple[int, int]
    family: str

    def meets(self, weeks: tuple[int, int]) -> bool:
        """Whether it is there in any of some weeks, this year or the next."""
        return any(
            self.weeks[0] <= weeks[1] + later and weeks[0] + later <= self.weeks[1]
            for later in (-WEEKS, 0, WEEKS)
        )

    def lies_over(self, part: BedPart) -> bool:
        """Whether it shares ground with another part of its bed."""
        return (
            self.part.start_m < part.end_m - ROUNDING
            and part.start_m < self.part.end_m - ROUNDING
        )


class Room:
    """One bed, and the pieces of it that are taken."""

    def __init__(self, length_m: float, last_year: frozenset[str]) -> None:
        """A bed that is all free.

        Parameters
        ----------
        last_year
            Families that stood there last year.
        """
        self.length_m = length_m
        self.last_year = last_year
        self.pieces: list[Piece] = []

    @property
    def is_open(self) -> bool:
        """Whether anything of it is taken."""
        return bool(self.pieces)

    def take(self, piece: Piece) -> None:
        """Take a piece."""
        self.pieces.append(piece)

    def free(self, weeks: tuple[int, int]) -> Iterator[BedPart]:
        """Stretches that are free in all of some weeks, from the gate end on."""
        start_m = 0.0
        taken = (piece.part for piece in self.pieces if piece.meets(weeks))
        # The end of the bed closes the last stretch as a taken part would.
        for part in (*sorted(taken), BedPart(self.length_m, 0.0)):
            if part.start_m > start_m + ROUNDING:
                yield BedPart(start_m, part.start_m - start_m)
            start_m = max(start_m, part.end_m)

    def parts(self, length_m: float, weeks: tuple[int, int]) -> Iterator[BedPart]:
        """Ways to lay a length: against either end of what is free, or of what stood."""
        # Against what stood or stands, so that metres that come free together stay together.
        edges = {
            edge_m
            for piece in self.pieces
            for edge_m in (piece.part.start_m, piece.part.end_m)
        }
        for stretch in self.free(weeks):
            last_m = stretch.end_m - length_m
            if last_m < stretch.start_m - ROUNDING:
                continue
            starts = {stretch.start_m, *(e for e in edges if stretch.start_m < e)}
            yield from (
                BedPart(start_m, length_m)
                for start_m in sorted(starts)
                if start_m <= last_m + ROUNDING
            )

    def follows_itself(
        self, part: BedPart, weeks: tuple[int, int], family: str
    ) -> bool:
        """Whether one family would follow itself on any metre of a part.

        Last year's counts where nothing stood before this year.

        Parameters
        ----------
        part
            The part of the bed.
        weeks
            First and last week in which it would be taken, both within.
        family
            Family of the crop; for "", not known, nothing follows itself this year.
        """
        return self._follows_this_year(part, weeks, family) or self.follows_last_year(
            part, weeks, family
        )

    def follows_last_year(
        self, part: BedPart, weeks: tuple[int, int], family: str
    ) -> bool:
        """Whether the family of last year would be the last before it on some metre.

        Parameters
        ----------
        part
            The part of the bed.
        weeks
            First and last week in which it would be taken, both within.
        family
            Family of the crop.
        """
        before, _ = self._around(part, weeks)
        return family in self.last_year and not _covers(before, part)

    def takes_whole(self, weeks: tuple[int, int], family: str) -> bool:
        """Whether all of it is free in some weeks, for a family that nothing near is of."""
        if any(piece.meets(weeks) for piece in self.pieces):
            return False
        return not self._follows_this_year(self.whole, weeks, family)

    @property
    def whole(self) -> BedPart:
        """All of it."""
        return BedPart(0.0, self.length_m)

    def _follows_this_year(
        self, part: BedPart, weeks: tuple[int, int], family: str
    ) -> bool:
        if not family:
            return False
        same = _next_to(*self._around(part, weeks), part)
        return any(piece.family == family for piece in same)

    def _around(
        self, part: BedPart, weeks: tuple[int, int]
    ) -> tuple[list[Piece], list[Piece]]:
        """Pieces on some metre of a part, before and after some weeks."""
        there = [piece for piece in self.pieces if piece.lies_over(part)]
        return (
            [piece for piece in there if piece.weeks[1] < weeks[0]],
            [piece for piece in there if piece.weeks[0] > weeks[1]],
        )


def _next_to(
    before: Sequence[Piece], after: Sequence[Piece], part: BedPart
) -> Iterator[Piece]:
    """Pieces that come right before or right after on some metre of a part."""
    for piece in before:
        between = [other for other in before if other.weeks[0] > piece.weeks[1]]
        if not _covers(between, _shared(piece.part, part)):
            yield piece
    for piece in after:
        between = [other for other in after if other.weeks[1] < piece.weeks[0]]
        if not _covers(between, _shared(piece.part, part)):
            yield piece


def _shared(one: BedPart, other: BedPart) -> BedPart:
    start_m = max(one.start_m, other.start_m)
    return BedPart(start_m, min(one.end_m, other.end_m) - start_m)


def _covers(pieces: Sequence[Piece], part: BedPart) -> bool:
    """Whether pieces together lie over all of a part."""
    reached_m = part.start_m
    for piece in sorted(pieces):
        if piece.part.start_m > reached_m + ROUNDING:
            return False
        reached_m = max(reached_m, piece.part.end_m)
    return reached_m >= part.end_m - ROUNDING
