"""What the crew reads: what to peg, cut, build and do."""

from collections.abc import Sequence

from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.materials.model import Line, LowTunnel
from fieldmap.decide.stakes import Baseline
from fieldmap.show.text import quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.decide.materials import item
from fieldmap.show.text.language import _, later, plural
from fieldmap.show.text.names import cover_name, listed
from fieldmap.show.text.quantities import Units

NOTHING_TO_PEG = later("No bed is planned, so there is nothing to peg.")
BLOCK_PLAN = later("A plan of block {block} with its beds by name.")
BLOCK_KEY = later("Beds {first} to {last}. The arrow points to true north.")
BUNDLES = later(
    "Tie the hoops of each bed into a bundle, with the name of the bed on it."
)
SHOPPING = later("To buy and to cut")
NO_JOBS = later("Nothing yet: go by the weather.")
ORDER_OF_WORK = (
    later("Have buried lines marked. Walk the ground with the owner."),
    later("Find the first corner by phone. Peg the rest by tape, held level."),
    later("Prove each corner square by its diagonal before the next peg."),
    later("Loosen and shape the beds. Lay drip lines before any film."),
    later("Set hoops: legs deep in firm soil. Cap every stake."),
    later("Pull cloth or film on a calm, warm morning. Never in wind."),
    later("Weigh the edges down all along, tie both ends."),
    later("Hang this sheet in the shed, with the bundle labels."),
)
# By the sign beside them.
CAUTIONS = texts(__name__, "cautions")


def title(block: str, plot: str) -> str:
    """Title of the part of a block."""
    return _("Block {block}: {plot}").format(block=block, plot=plot)


def shape(beds: Sequence[Bed], units: Units) -> str:
    """What all beds of a block share."""
    widths = dict.fromkeys(_width(bed, units) for bed in beds)
    ways = dict.fromkeys(
        f"{quantities.axis(bed.bearing_deg)} ({bed.bearing_deg:.0f}°)" for bed in beds
    )
    return plural(
        "{number} bed, {widths} wide. It runs {ways}.",
        "{number} beds, {widths} wide. They run {ways}.",
        len(beds),
        widths=listed(list(widths)),
        ways=listed(list(ways)),
    )


def _width(bed: Bed, units: Units) -> str:
    """Of a bed from peg to peg, and of the path within where it is two strips."""
    width = quantities.short_length(bed.width_m, units)
    if not bed.path_within_m:
        return width
    return _("{width} (two strips, a path of {within} between)").format(
        width=width, within=quantities.short_length(bed.path_within_m, units)
    )


def tape(line: Baseline, units: Units) -> str:
    """How the tape of a block lies, and its diagonal."""
    text = (
        _(
            "Lay a tape of {tape} from 0 to the {way}. Square out to its left at 0 measure "
            "{out}: from there to the far end of the tape it must be {diagonal}."
        )
        if line.side == "left"
        else _(
            "Lay a tape of {tape} from 0 to the {way}. Square out to its right at 0 "
            "measure {out}: from there to the far end of the tape it must be {diagonal}."
        )
    )
    return text.format(
        tape=quantities.pipe(line.length_m, units),
        way=quantities.direction(line.bearing_deg),
        out=quantities.pipe(line.out_m, units),
        diagonal=quantities.pipe(line.diagonal_m, units),
    )


def hoops(low: LowTunnel, units: Units) -> tuple[str, ...]:
    """A row of the table of hoops and covers."""
    return (
        low.bed,
        cover_name(low.kind),
        _("{number} of {length}").format(
            number=low.hoops, length=quantities.pipe(low.cut_m, units)
        ),
        quantities.pipe(low.spacing_m, units),
        quantities.short_length(low.leg_m, units),
        _("{width} by {length}").format(
            width=quantities.pipe(low.cover_width_m, units),
            length=quantities.pipe(low.cover_length_m, units),
        ),
        str(low.anchors or _("bury the edges")),
    )


def to_buy(line: Line, units: Units) -> tuple[str, ...]:
    """A row of the shopping list."""
    need, on_hand, buy = (
        _amount(amount, line.unit, units)
        for amount in (line.need, line.on_hand, line.buy)
    )
    if line.rough:
        need = _("about {amount}").format(amount=need)
    return item(line.item), need, on_hand, buy


def _amount(amount: float, unit: str, units: Units) -> str:
    if unit == "m":
        return quantities.length(round(amount), units)
    if unit == "m²":
        return quantities.area(round(amount), units)
    return f"{amount:,.0f}"
