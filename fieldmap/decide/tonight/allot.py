"""Covers as they are owned go to the beds for which each metre of them saves most."""

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from fieldmap.decide.materials.cover_size import GATHERED_M, TOUCH_M, cover_size
from fieldmap.decide.materials.sheets import width_over_m
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
    bed
        Place of its bed in the plan.
    width_m, length_m
        Of the bed, and of what is planted of it.
    growth_weeks
        That are lost with the crop.
    lies
        Kind of the cover that lies over it already; "" for none.
    start_m
        From the gate end of the bed to what is planted of it.
    """

    place: int
    bed: int
    width_m: float
    length_m: float
    growth_weeks: int
    options: tuple[Option, ...]
    lies: str = ""
    start_m: float = 0.0


class Piece(NamedTuple):
    """What is laid over a crop.

    Attributes
    ----------
    bed_m, cover_m
        Metres of bed that are covered, and of cover that it takes with gathered ends; of
        a pair each of the two. Of a sheet over several beds the first has its metres and
        the others none.
    sheet
        Number of the sheet over several beds; None where it lies over one.
    """

    kind: str
    odds: Odds
    bed_m: float
    cover_m: float
    sheet: int | None = None


class _Try(NamedTuple):
    """A cover over one bed, or a whole piece over neighbours.

    Attributes
    ----------
    options
        One for each want, all of one kind.
    piece
        Width and length of the whole piece over several; None for one bed.
    """

    wants: tuple[Want, ...]
    options: tuple[Option, ...]
    piece: tuple[float, float] | None = None

    @property
    def order(self) -> tuple[float, float, bool, int]:
        first, kind = self.wants[0], self.options[0].kind
        return (
            -round(saved_weeks(self.wants, self.options), 6),
            by_worth(kind),
            kind != first.lies,
            min(want.place for want in self.wants),
        )


def allot(
    wants: Sequence[Want],
    owned: Sequence[Cover],
    hoops: Materials,
    paths_m: Sequence[float | None] = (),
) -> dict[int, Piece]:
    """By place: what is laid there, until the last metre is used.

    What saves most goes first: share of the crop that the cover saves, times the weeks of
    growth in it, for each metre of cover. Of covers that save as much the least warm one
    serves, and where a cover lies already it stays; then the order of the walk decides. A
    piece that may not be cut lies over one bed, or over neighbours with the paths between
    them where it is wide enough.

    Parameters
    ----------
    wants
        Crops that a cover would serve, each with the covers that better its odds.
    owned
        Covers as they are owned.
    hoops
        What the grower chose of hoops and edges, which covers must reach over.
    paths_m
        Path from each bed of the plan to the next [m], None where that is no neighbour,
        as `sheets.paths_between` gives it; empty where no neighbours count.
    """
    stock = _Stock(owned, hoops)
    tries = [
        _Try((want,), (option,)) for want in wants for option in want.options
    ] + list(_over_neighbours(wants, owned, hoops, paths_m))
    tries.sort(key=lambda each: each.order)
    found: dict[int, Piece] = {}
    # A cover that reaches over all of a bed goes before the last metres of another.
    for least_share in (1.0, 0.0):
        for each in tries:
            if not any(want.place in found for want in each.wants):
                found |= _laid(each, stock, least_share)
    return found


def _laid(each: _Try, stock: "_Stock", least_share: float) -> dict[int, Piece]:
    """What a try comes to; nothing where its cover is not there any more."""
    kind, (first, *_others) = each.options[0].kind, each.wants
    if each.piece is None:
        bed_m = stock.take(kind, first, least_share)
        if not bed_m:
            return {}
        piece = Piece(kind, each.options[0].odds, bed_m, bed_m + GATHERED_M)
        return {first.place: piece}
    if not stock.take_whole(kind, *each.piece):
        return {}
    length_m = _along_m(each.wants) + GATHERED_M
    return {
        want.place: Piece(
            kind,
            option.odds,
            want.length_m,
            length_m if want is first else 0.0,
            first.place,
        )
        for want, option in zip(each.wants, each.options, strict=True)
    }


def saved_weeks(wants: Sequence[Want], options: Sequence[Option]) -> float:
    """Weeks of growth on a metre of bed that a metre of cover saves.

    Examples
    --------
    Half of 9 weeks on 20 m of bed, under 22.5 m of cover:

    >>> option = Option("light_fabric", "likely", 0.5)
    >>> saved_weeks([Want(0, 0, 0.75, 20.0, 9, (option,))], [option])
    4.0
    """
    saved = sum(
        option.saved_share * want.growth_weeks * want.length_m
        for want, option in zip(wants, options, strict=True)
    )
    cover_m = _along_m(wants) + GATHERED_M
    return saved / (len(parts_of(options[0].kind)) * cover_m)


def _along_m(wants: Sequence[Want]) -> float:
    """Length of bed that one cover lies along, over parts that may begin apart."""
    last_m = max(want.start_m + want.length_m for want in wants)
    return last_m - min(want.start_m for want in wants)


# ------------------------------------------------------------------ wide pieces
def _over_neighbours(
    wants: Sequence[Want],
    owned: Sequence[Cover],
    hoops: Materials,
    paths_m: Sequence[float | None],
) -> Iterator[_Try]:
    """Each kind of whole piece over two neighbours and more, from each bed on."""
    by_bed: dict[int, Want] = {}
    for (
        want
    ) in wants:  # of two crops on one bed the first; a sheet lies over whole beds
        by_bed.setdefault(want.bed, want)
    pieces = {
        (piece.kind, piece.width_m, piece.length_m)
        for piece in owned
        if not piece.may_cut
    }
    for kind, width_m, length_m in sorted(pieces):
        of_kind: Mapping[int, tuple[Want, Option]] = {
            bed: (want, option)
            for bed, want in by_bed.items()
            for option in want.options
            if option.kind == kind and want.length_m + GATHERED_M <= length_m + TOUCH_M
        }
        for first in sorted(of_kind):
            for run in _runs(first, of_kind, paths_m):
                widths_m = [of_kind[bed][0].width_m for bed in run]
                between_m = [paths_m[bed] or 0.0 for bed in run[:-1]]
                _full_m, least_m = width_over_m(kind, widths_m, between_m, hoops)
                its_wants, options = zip(*(of_kind[bed] for bed in run), strict=True)
                reaches = _along_m(its_wants) + GATHERED_M <= length_m + TOUCH_M
                if width_m < least_m - TOUCH_M or not reaches:
                    break
                yield _Try(its_wants, options, (width_m, length_m))


def _runs(
    first: int, beds: Mapping[int, object], paths_m: Sequence[float | None]
) -> Iterator[list[int]]:
    """A bed with its next neighbour, with its next two, and so on."""
    run = [first]
    while run[-1] < len(paths_m) and paths_m[run[-1]] is not None:
        if run[-1] + 1 not in beds:
            return
        run = [*run, run[-1] + 1]
        yield run


# ------------------------------------------------------------------ what is left
class _Roll:
    """Metres that are left of one cover; of a whole piece all or none."""

    def __init__(self, owned: Cover) -> None:
        self.kind, self.width_m = str(owned.kind), owned.width_m
        self.length_m = self.left_m = owned.length_m
        self.may_cut = owned.may_cut


class _Stock:
    """All covers, the narrowest first, so that wide ones are kept for wide beds."""

    def __init__(self, owned: Sequence[Cover], hoops: Materials) -> None:
        self.hoops = hoops
        by_size = sorted(owned, key=lambda each: (each.width_m, each.length_m))
        self.rolls = [_Roll(each) for each in by_size]
        self._wide: dict[tuple[str, float], list[_Roll]] = {}

    def take_whole(self, kind: str, width_m: float, length_m: float) -> bool:
        """A whole piece of a size, if one is left."""
        for roll in self.rolls:
            size = (roll.kind, roll.width_m, roll.left_m, roll.may_cut)
            if size == (kind, width_m, length_m, False):
                roll.left_m = 0.0
                return True
        return False

    def take(self, kind: str, want: Want, least_share: float) -> float:
        """Metres of bed that are covered, of at least a share of it; 0 for none."""
        of_parts = [self._from(part, want) for part in parts_of(kind)]
        if not all(of_parts):
            return 0.0
        reach_m = min(sum(roll.left_m for roll in rolls) for rolls in of_parts)
        bed_m = min(want.length_m, reach_m - GATHERED_M)
        least_m = max(min(want.length_m, LEAST_M), least_share * want.length_m)
        if bed_m < least_m - TOUCH_M:
            return 0.0
        for rolls in of_parts:
            needed_m = bed_m + GATHERED_M
            for roll in rolls:
                used_m = min(roll.left_m, needed_m)
                roll.left_m = roll.left_m - used_m if roll.may_cut else 0.0
                needed_m -= used_m
        return bed_m

    def _from(self, kind: str, want: Want) -> list[_Roll]:
        """What one bed is covered from: lengths that may be cut, else one whole piece."""
        rolls = [roll for roll in self._wide_enough(kind, want.width_m) if roll.left_m]
        if not rolls:
            return []
        needed_m = want.length_m + GATHERED_M - TOUCH_M
        # A cut length takes no more than it needs; a whole piece lies out all of it.
        lengths = [roll for roll in rolls if roll.may_cut]
        if sum(roll.left_m for roll in lengths) >= needed_m:
            return lengths
        whole = [roll for roll in rolls if not roll.may_cut]
        enough = [roll for roll in whole if roll.left_m >= needed_m]
        if enough:
            return enough[:1]
        longest = max(whole, key=lambda roll: roll.left_m, default=None)
        if longest and longest.left_m > sum(roll.left_m for roll in lengths):
            return [longest]
        return lengths

    def _wide_enough(self, kind: str, bed_width_m: float) -> list[_Roll]:
        """Of a kind, those that reach over a bed, used up or not; beds have few widths."""
        found = self._wide.get((kind, bed_width_m))
        if found is None:
            least_m = cover_size(kind, bed_width_m, 0.0, self.hoops).least_width_m
            found = self._wide[kind, bed_width_m] = [
                roll
                for roll in self.rolls
                if roll.kind == kind and roll.width_m >= least_m - TOUCH_M
            ]
        return found
