"""What has to be bought, cut and led away."""

import math
from dataclasses import dataclass
from typing import Literal, NamedTuple

from fieldmap.decide.layout.beds import Stretch
from fieldmap.decide.materials.cover_size import GATHERED_M, is_clipped
from fieldmap.decide.materials.cutting import Pattern
from fieldmap.decide.materials.tunnel_covers import NONE_INSIDE, TunnelCovers
from fieldmap.model.fact import Fact

# Of the force of wind on a cover (the uplift coefficient is known to about a quarter).
FORCE_UNCERTAIN = 0.25

WEIGHTS = ("bag", "stone")  # items that hold edges down
BARROW_KG = 50.0  # that one person wheels over a field (a choice)


class WideSheet(NamedTuple):
    """A piece of cover that is left whole, as it lies over one bed or several.

    Attributes
    ----------
    beds
        Under it, side by side.
    width_m, length_m
        Of the piece that is owned.
    """

    beds: tuple[str, ...]
    width_m: float
    length_m: float


class Gear(NamedTuple):
    """What pieces of cover that lie out at once take besides hoops.

    Attributes
    ----------
    weights, stakes, ties, clips
        Pieces.
    cord_m
        Along the tops of the hoops, under film.
    """

    weights: int = 0
    stakes: int = 0
    ties: int = 0
    clips: int = 0
    cord_m: float = 0.0


class LowTunnel(NamedTuple):
    """Hoops and cover of one bed.

    Attributes
    ----------
    kind
        Of the cover, in the names of `layers.cover`; the one that asks most of hoops
        where a bed gets several through the year.
    length_m
        Of the bed, or of as much of it as is covered at once.
    hoops_m
        Where hoops stand in the week with most of them, from the gate end of the bed.
    leg_m
        Of each hoop, in the ground.
    cut_m
        Length of pipe for one hoop.
    cover_width_m
        Of the cloth or film, edges included.
    laid_m
        Which parts of the bed its pieces lie over at once, from the gate end; parts have
        a piece each.
    roll_width_m
        Of the narrowest roll that reaches over, of those owned, or else on sale.
    joins
        Seams along the bed where no roll is wide enough.
    anchors
        Bags or stones along both edges of each piece, or where a wide sheet dips into the
        paths beside the bed; 0 where edges are buried or clipped.
    anchor_gap_m
        Between them.
    anchor_kg
        Of one; 0 where edges are buried or clipped.
    lets_go_m_s
        Gust at which the edges let the cover go, its force give or take a quarter; None
        where they are buried or clipped.
    stretches_m
        Of the bed that are covered through the year, from its gate end; empty where all of
        it is.
    under
        The piece that lies over it uncut; None where the bed has a length of its own.
    tunnel
        Walk-in tunnel in which it stands, out of the wind; empty outdoors.
    gear
        Of the pieces over it that lie out at once, each as a whole: with the ends and the
        other beds of a wide sheet.
    """

    bed: str
    kind: str
    length_m: float
    span_m: float
    height_m: float
    hoops_m: tuple[float, ...]
    spacing_m: float
    leg_m: float
    cut_m: float
    cover_width_m: float
    laid_m: tuple[Stretch, ...]
    roll_width_m: float
    joins: int
    anchors: int
    anchor_gap_m: float
    anchor_kg: float
    lets_go_m_s: float | None
    under: WideSheet | None = None
    tunnel: str = ""
    stretches_m: tuple[Stretch, ...] = ()
    gear: Gear = Gear()

    @property
    def hoops(self) -> int:
        """Most that stand on the bed at once."""
        return len(self.hoops_m)

    @property
    def wide_beds(self) -> int:
        """Under one piece that lies over several; 0 where the bed has pieces of its own."""
        beds = len(self.under.beds) if self.under else 0
        return beds if beds > 1 else 0

    @property
    def pieces_m(self) -> tuple[float, ...]:
        """Lengths of its pieces, gathered ends included, the longest first."""
        lengths_m = (last - first + GATHERED_M for first, last in self.laid_m)
        return tuple(sorted(lengths_m, reverse=True))

    @property
    def cover_length_m(self) -> float:
        """Of all its pieces."""
        return sum(self.pieces_m)

    @property
    def held_by(self) -> Literal["weights", "clips", "trench"]:
        """What holds the edges of the cover."""
        if self.anchors:
            return "weights"
        return "clips" if is_clipped(self.kind) or self.tunnel else "trench"

    @property
    def holds_to_m_s(self) -> float | None:
        """Gust that the weights hold at the cautious end; None where edges are buried.

        With a quarter more force than computed: 1 / √1.25 of the speed.
        """
        if self.lets_go_m_s is None:
            return None
        return self.lets_go_m_s / math.sqrt(1.0 + FORCE_UNCERTAIN)

    @property
    def waste_m2(self) -> float:
        """Cloth that the roll gives beyond what is needed, the lap of seams included."""
        whole_m = self.roll_width_m * (1 + self.joins)
        return (whole_m - self.cover_width_m) * self.cover_length_m


def barrow_trips(number: int, weight_kg: float) -> tuple[int, int]:
    """Trips with a wheelbarrow for some weights, and how many go into it at a time.

    Examples
    --------
    >>> barrow_trips(184, 10.0), barrow_trips(3, 60.0)
    ((37, 5), (3, 1))
    """
    at_a_time = max(1, int(BARROW_KG // weight_kg))
    return math.ceil(number / at_a_time), at_a_time


class Need(NamedTuple):
    """How much of an item, and whether it is an order of magnitude."""

    item: str
    amount: float
    rough: bool = False


class Line(NamedTuple):
    """One line of the list for the shop.

    Attributes
    ----------
    item
        A key of `shopping_list.UNITS`, or a kind of cover.
    need, on_hand, buy
        In `unit`.
    rough
        An order of magnitude; the maker's plan has the number.
    cost
        None where no price was given.
    """

    item: str
    unit: str
    need: float
    on_hand: float
    buy: float
    rough: bool
    cost: float | None


class Roof(NamedTuple):
    """Rain off one walk-in tunnel."""

    tunnel: str
    area_m2: float
    litres_per_25_mm: float
    peak_l_s: float


@dataclass(frozen=True)
class Materials:
    """Everything that the plan needs in the way of pipe, cloth and weights.

    Attributes
    ----------
    cutting
        How the hoops are cut from stock lengths.
    stock_m
        One stock length.
    inside
        What goes over walk-in tunnels, and what is said of fabric in them.
    """

    low_tunnels: tuple[LowTunnel, ...]
    lines: tuple[Line, ...]
    cutting: tuple[Pattern, ...]
    stock_m: float
    roofs: tuple[Roof, ...]
    rain_mm_h: float
    remarks: tuple[Fact, ...]
    inside: TunnelCovers = NONE_INSIDE

    @property
    def weights(self) -> int:
        """Weights in all that hold covers down, those at hand among them."""
        return sum(int(line.need) for line in self.lines if line.item in WEIGHTS)

    @property
    def goes_in_turn(self) -> bool:
        """Whether hoops and covers go from bed to bed, so that fewer are needed."""
        kinds = {fact.kind for fact in self.remarks}
        covers = kinds & {"cover_in_turn", "cover_in_turn_on_beds"}
        return bool(covers) and "hoops_in_turn" in kinds

    @property
    def cost(self) -> float | None:
        """Of all that is bought, where every line has a price; None where one has not."""
        costs = [line.cost for line in self.lines if line.buy]
        if not costs or any(cost is None for cost in costs):
            return None
        return sum(cost for cost in costs if cost is not None)
