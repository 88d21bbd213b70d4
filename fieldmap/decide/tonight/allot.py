"""Covers as they are owned go to the beds for which each metre of them saves most."""

from collections.abc import Sequence
from typing import NamedTuple

from fieldmap.decide.materials.cover_size import GATHERED_M, TOUCH_M, cover_size
from fieldmap.decide.tonight.answer import Odds, Option, by_worth, parts_of
from fieldmap.model.settings import Cover, Materials

LEAST_M = (
    5.0  # of a bed under the last of a cover; less is not worth the walk (a choice)
)


class Want(NamedTuple):
    """A crop that a cover would serve.

    Attributes
    ----------
    place
        In walking order.
    width_m, length_m
        Of the bed, and of what is planted of it.
    growth_weeks
        That are lost with the crop.
    lies
        Kind of the cover that lies over it already; "" for none.
    """

    place: int
    width_m: float
    length_m: float
    growth_weeks: int
    options: tuple[Option, ...]
    lies: str = ""


class Piece(NamedTuple):
    """What is laid over a crop.

    Attributes
    ----------
    bed_m, cover_m
        Metres of bed that are covered, and of cover that it takes with gathered ends;
        of a pair each of the two.
    """

    kind: str
    odds: Odds
    bed_m: float
    cover_m: float


def allot(
    wants: Sequence[Want], owned: Sequence[Cover], hoops: Materials
) -> dict[int, Piece]:
    """By place: what is laid there, until the last metre is used.

    What saves most goes first: share of the crop that the cover saves, times the weeks of
    growth in it, for each metre of cover. Of covers that save as much the least warm one
    serves, and where a cover lies already it stays; then the order of the walk decides.
    """
    stock = _Stock(owned, hoops)
    tries = sorted(
        ((want, option) for want in wants for option in want.options),
        key=lambda pair: _order(*pair),
    )
    found: dict[int, Piece] = {}
    # A cover that reaches over all of a bed goes before the last metres of another.
    for least_share in (1.0, 0.0):
        for want, option in tries:
            if want.place not in found:
                bed_m = stock.take(option.kind, want, least_share)
                if bed_m:
                    cover_m = bed_m + GATHERED_M
                    piece = Piece(option.kind, option.odds, bed_m, cover_m)
                    found[want.place] = piece
    return found


def _order(want: Want, option: Option) -> tuple[float, float, bool, int]:
    return (
        -round(saved_weeks(want, option), 6),
        by_worth(option.kind),
        option.kind != want.lies,
        want.place,
    )


def saved_weeks(want: Want, option: Option) -> float:
    """Weeks of growth on a metre of bed that a metre of cover saves.

    Examples
    --------
    Half of 9 weeks on 20 m of bed, under 22.5 m of cover:

    >>> option = Option("light_fabric", "likely", 0.5)
    >>> round(saved_weeks(Want(0, 0.75, 20.0, 9, (option,)), option), 2)
    4.0
    """
    covers = len(parts_of(option.kind))
    cover_m = covers * (want.length_m + GATHERED_M)
    return option.saved_share * want.growth_weeks * want.length_m / cover_m


class _Roll:
    """Metres that are left of one cover."""

    def __init__(self, owned: Cover) -> None:
        self.kind, self.width_m, self.left_m = (
            owned.kind,
            owned.width_m,
            owned.length_m,
        )


class _Stock:
    """All covers, the narrowest first, so that wide ones are kept for wide beds."""

    def __init__(self, owned: Sequence[Cover], hoops: Materials) -> None:
        self.hoops = hoops
        self.rolls = [_Roll(each) for each in sorted(owned, key=lambda it: it.width_m)]

    def take(self, kind: str, want: Want, least_share: float) -> float:
        """Metres of bed that are covered, of at least a share of it; 0 for none."""
        of_parts = [self._reaching(part, want.width_m) for part in parts_of(kind)]
        reach_m = min(sum(roll.left_m for roll in rolls) for rolls in of_parts)
        bed_m = min(want.length_m, reach_m - GATHERED_M)
        least_m = max(min(want.length_m, LEAST_M), least_share * want.length_m)
        if bed_m < least_m - TOUCH_M:
            return 0.0
        for rolls in of_parts:
            needed_m = bed_m + GATHERED_M
            for roll in rolls:
                used_m = min(roll.left_m, needed_m)
                roll.left_m -= used_m
                needed_m -= used_m
        return bed_m

    def _reaching(self, kind: str, width_m: float) -> list[_Roll]:
        least_m = _least_width_m(kind, width_m, self.hoops)
        return [
            roll
            for roll in self.rolls
            if roll.kind == kind and roll.width_m >= least_m - TOUCH_M
        ]


def _least_width_m(kind: str, width_m: float, hoops: Materials) -> float:
    return cover_size(kind, width_m, 0.0, hoops).least_width_m
