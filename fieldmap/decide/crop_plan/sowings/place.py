"""Sowings onto parts of beds, one after the other, side by side from the gate end on."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from fieldmap.decide.crop_plan.bed_classes import BedClass, LitBed
from fieldmap.decide.crop_plan.cover_stock import CoverStock
from fieldmap.decide.crop_plan.milp import Use
from fieldmap.decide.crop_plan.model import BedPart, GrowingWindow
from fieldmap.decide.crop_plan.sowings.amounts import rows_on
from fieldmap.decide.crop_plan.sowings.asked import Sowing
from fieldmap.decide.crop_plan.sowings.room import Piece, Room
from fieldmap.model.season_year import WEEKS

# A sowing is shared among beds only in pieces of at least this (a choice).
LEAST_PIECE_M = 2.0
NO_BED_FREE, NO_COVER_FREE = "no_bed_free", "no_cover_free"
NO_COVER_OR_HANDS_FREE = "no_cover_or_hands_free"

Claims = Sequence[Sequence[int]]
Windows = Callable[[Sowing, int], Sequence[GrowingWindow]]


class Placed(NamedTuple):
    """A sowing, or a piece of one, on a part of a bed.

    Attributes
    ----------
    sowing, bed
        Their places among the sowings and the beds.
    share
        Of what the sowing asks for.
    """

    sowing: int
    bed: int
    window: GrowingWindow
    part: BedPart
    rows: int
    share: float


@dataclass
class _Ground:
    """What is free while sowings are placed.

    Attributes
    ----------
    used
        Of each scarce thing, by week.
    """

    beds: Sequence[LitBed]
    classes: Sequence[BedClass]
    stock: CoverStock
    rooms: Mapping[int, Room]
    used: dict[str, list[float]] = field(default_factory=dict)

    def has(self, window: GrowingWindow, length_m: float, here: BedClass) -> bool:
        """Whether the covers of a window, and hands for them, are free."""
        limits = self.stock.limits()
        wanted: dict[tuple[str, int], float] = {}
        for use in self._uses(window, length_m, here):
            for week in range(use.weeks[0], use.weeks[1] + 1):
                wanted[use.of, week] = wanted.get((use.of, week), 0.0) + use.amount
        return all(
            self._weeks(of)[week] + amount <= limits.get(of, float("inf")) + 1e-9
            for (of, week), amount in wanted.items()
        )

    def take(self, window: GrowingWindow, length_m: float, here: BedClass) -> None:
        """Take the covers of a window."""
        for use in self._uses(window, length_m, here):
            weeks = self._weeks(use.of)
            for week in range(use.weeks[0], use.weeks[1] + 1):
                weeks[week] += use.amount

    def _uses(
        self, window: GrowingWindow, length_m: float, here: BedClass
    ) -> Iterator[Use]:
        return self.stock.uses(
            window.covers, length_m, here.width_m, inside=here.in_tunnel
        )

    def _weeks(self, of: str) -> list[float]:
        return self.used.setdefault(of, [0.0] * WEEKS)


class PlacedAll(NamedTuple):
    """All that found room, and what it takes.

    Attributes
    ----------
    placed
        In the order of the sowings.
    used
        Of each scarce thing, by week.
    rooms
        Beds that bear some of it, by their places.
    """

    placed: tuple[Placed, ...]
    used: Mapping[str, Sequence[float]]
    rooms: Mapping[int, Room]


def place(
    asked: Sequence[Sowing],
    windows: Windows,
    beds: Sequence[LitBed],
    classes: Sequence[BedClass],
    stock: CoverStock,
    claims: Callable[[Sowing], Claims],
) -> PlacedAll:
    """Each sowing on the first bed that has room for it, on several where none has.

    Beds that bear some sowing already come before those that bear none; what would
    follow its own family goes elsewhere where it can.

    Parameters
    ----------
    asked
        Sowings, those that choose first in front.
    windows
        Sowing and place of a class -> its windows there, of which the first is the
        best.
    beds
        All beds, with their lengths.
    classes
        Beds that are alike; beds in no class bear nothing.
    stock
        Covers and hands, of which no week may use more than there is.
    claims
        Sowing -> beds, by their places, on which it has its first claim, its second and
        so on; those of each in the order in which it takes them.
    """
    of_bed = {at: each for each in classes for at in each.beds}
    number = {id(each): at for at, each in enumerate(classes)}
    rooms = {at: Room(beds[at].bed.length_m, of_bed[at].families) for at in of_bed}
    ground = _Ground(beds, classes, stock, rooms)
    found: list[Placed] = []
    for at, sowing in enumerate(asked):
        ways = {
            key: windows(sowing, number[key])
            for key in dict.fromkeys(
                id(of_bed[bed]) for claim in claims(sowing) for bed in claim
            )
        }
        left = 1.0
        while left > 1e-6:
            best = _best(sowing, left, claims(sowing), of_bed, ways, ground)
            if best is None:
                break
            found.append(best._replace(sowing=at))
            left -= best.share
            _take(best, sowing, of_bed[best.bed], ground)
    opened = {bed: room for bed, room in rooms.items() if room.is_open}
    return PlacedAll(tuple(found), ground.used, opened)


def _take(placed: Placed, sowing: Sowing, here: BedClass, ground: _Ground) -> None:
    piece = Piece(placed.part, placed.window.held, sowing.family)
    ground.rooms[placed.bed].take(piece)
    ground.take(placed.window, placed.part.length_m, here)


def _best(
    sowing: Sowing,
    left: float,
    claims: Claims,
    of_bed: Mapping[int, BedClass],
    ways: Mapping[int, Sequence[GrowingWindow]],
    ground: _Ground,
) -> Placed | None:
    """Where all that is left of a sowing goes, or else its largest piece.

    Beds of an earlier claim are used up before those of a later one.
    """
    after_itself: list[Placed] = []
    for beds in claims:
        largest: Placed | None = None
        # The first way that takes all of it is the best; a piece only where none does.
        for placed in _in_turn(sowing, left, beds, of_bed, ways, ground):
            held = placed.window.held
            room = ground.rooms[placed.bed]
            if room.follows_itself(placed.part, held, sowing.family):
                after_itself.append(placed)
            elif placed.share >= left - 1e-6:
                return placed
            elif largest is None or placed.share > largest.share + 1e-6:
                largest = placed
        if largest is not None:
            return largest
    return max(after_itself, key=lambda placed: round(placed.share, 6), default=None)


def _in_turn(
    sowing: Sowing,
    left: float,
    beds: Sequence[int],
    of_bed: Mapping[int, BedClass],
    ways: Mapping[int, Sequence[GrowingWindow]],
    ground: _Ground,
) -> Iterator[Placed]:
    """All ways to lay what is left: the best window first, then beds in use already."""
    # Beds in use first, so that others stay whole for crops by the bed.
    opened = [bed for bed in beds if ground.rooms[bed].is_open]
    new = [bed for bed in beds if not ground.rooms[bed].is_open]
    most = max((len(ways[id(of_bed[bed])]) for bed in beds), default=0)
    # Window by window: a better one on a new bed goes before a worse one on a used bed.
    for which in range(most):
        for bed in (*opened, *new):
            here = of_bed[bed]
            if which >= len(ways[id(here)]):
                continue
            window = ways[id(here)][which]
            for placed in _on_bed(sowing, left, bed, here, window, ground):
                if ground.has(window, placed.part.length_m, here):
                    yield placed


def _on_bed(
    sowing: Sowing,
    left: float,
    bed: int,
    here: BedClass,
    window: GrowingWindow,
    ground: _Ground,
) -> Iterator[Placed]:
    """Ways to lay what is left on one bed: all of it, or the longest piece that is free."""
    spacing = sowing.crop.spacing
    rows = 1
    if spacing is not None:
        rows = rows_on(here.width_m, here.path_within_m, spacing.rows_m)
    whole_m = sowing.length_m(rows, window)
    wanted_m = round(whole_m * left, 6)
    room = ground.rooms[bed]
    for part in room.parts(wanted_m, window.held):
        yield Placed(0, bed, window, part, rows, left)
    # A piece of the longest stretch, so that a sowing is cut into few.
    longest = max(
        room.free(window.held),
        key=lambda stretch: stretch.length_m,
        default=BedPart(0.0, 0.0),
    )
    if LEAST_PIECE_M <= longest.length_m < wanted_m:
        yield Placed(0, bed, window, longest, rows, longest.length_m / whole_m)
