"""Sheets for the crew: for each block what to peg, cut, build and do."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

from fieldmap import materials, stakes, words
from fieldmap.sheets import plans, signs
from fieldmap.sheets.paper import (
    INNER_MM,
    Block,
    Cautions,
    Heading,
    NewPage,
    Paper,
    Points,
    Steps,
    Table,
    Text,
    cautions,
)
from layers.cover import COVERS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldmap.beds import Bed
    from fieldmap.plan import Plan

WEEKS = 5  # this month's
ORDER = (
    "Have buried lines marked. Walk the ground with the owner.",
    "Find the first corner by phone. Peg the rest by tape, held level.",
    "Prove each corner square by its diagonal before the next peg.",
    "Loosen and shape the beds. Lay drip lines before any film.",
    "Set hoops: legs deep in firm soil. Cap every stake.",
    "Pull cloth or film on a calm, warm morning. Never in wind.",
    "Weigh the edges down all along, tie both ends.",
    "Hang this sheet in the shed, with the bundle labels.",
)


def blocks(plan: Plan, paper: Paper) -> tuple[Block, ...]:
    """One part for each block of beds."""
    parts: list[Block] = []
    for name, beds in of_blocks(plan):
        parts += [NewPage(f"Block {name}: {beds[0].plot}")] if parts else []
        parts += _part(plan, name, beds, paper)
    if not parts:
        return (Text("No bed is planned, so there is nothing to peg."),)
    return (*parts, *_shop(plan))


def of_blocks(plan: Plan) -> Iterator[tuple[str, list[Bed]]]:
    """Blocks by their letters, with their beds in order."""
    beds = [each.bed for each in plan.beds]
    for name, here in itertools.groupby(beds, lambda bed: bed.block):
        yield name, list(here)


def _part(plan: Plan, name: str, beds: list[Bed], paper: Paper) -> list[Block]:
    units = plan.site.settings.units
    width_mm = INNER_MM[paper][0]
    return [
        plans.block(plan, beds, (width_mm, 130.0)).drawing(
            f"A plan of block {name} with its beds by name.",
            f"Beds {beds[0].name} to {beds[-1].name}. The arrow points to true north.",
        ),
        Text(_shape(beds, units)),
        *_peg_it(plan, name),
        *_hoops(plan, beds),
        Heading("Order of work"),
        Steps(ORDER),
        Heading("The first weeks"),
        Points(_weeks(plan)),
        mind(),
    ]


def _shape(beds: list[Bed], units: words.Units) -> str:
    """What all beds of a block share."""
    widths = words.listed(
        list(dict.fromkeys(words.short_length(bed.width_m, units) for bed in beds))
    )
    ways = words.listed(
        list(
            dict.fromkeys(
                f"{words.axis(bed.bearing_deg)} ({bed.bearing_deg:.0f}°)"
                for bed in beds
            )
        )
    )
    return f"{len(beds)} beds, {widths} wide. They run {ways}."


def _peg_it(plan: Plan, block: str) -> list[Block]:
    """One tape, one baseline, and where each bed begins."""
    units = plan.site.settings.units
    line = next((one for one in plan.pegs.baselines if one.block == block), None)
    if line is None:  # these beds lie there already
        return []
    told = [words.pipe(m, units) for m in (line.length_m, line.out_m, line.diagonal_m)]
    rows = tuple(
        (
            row.of,
            f"{words.pipe(row.near_m, units)} – {words.pipe(row.far_m, units)}",
            words.pipe(row.out_m, units),
            words.pipe(row.length_m, units),
        )
        for row in stakes.peg_it(plan.pegs, block)
    )
    return [
        Heading("Peg it"),
        Text(
            f"Lay a tape of {told[0]} from 0 to the {words.direction(line.bearing_deg)}. "
            f"Square out to its {line.side} at 0 measure {told[1]}: from there to the far "
            f"end of the tape it must be {told[2]}. "
            f"{stakes.SQUARE} {stakes.PHONE}"
        ),
        Table(
            ("Bed", "On the tape", "Out", "Length"), rows, (0.8, 2.4, 1.3, 1.3)
        ).in_two(),
    ]


def _hoops(plan: Plan, beds: list[Bed]) -> list[Block]:
    """Bundles for the beds of a block that get hoops."""
    units = plan.site.settings.units
    names = {bed.name for bed in beds}
    rows = tuple(
        (
            each.bed,
            words.cover(COVERS[each.kind].name),
            f"{each.hoops} of {words.pipe(each.cut_m, units)}",
            words.pipe(each.spacing_m, units),
            words.short_length(each.leg_m, units),
            f"{words.pipe(each.cover_width_m, units)} by "
            f"{words.pipe(each.cover_length_m, units)}",
            str(each.anchors or "bury the edges"),
        )
        for each in plan.materials.low_tunnels
        if each.bed in names
    )
    if not rows:
        return []
    return [
        Heading("Hoops and covers"),
        Text(
            "Tie the hoops of each bed into a bundle, with the name of the bed on it."
        ),
        Table(
            (
                "Bed",
                "Cover",
                "Hoops",
                "Apart",
                "In the ground",
                "Cover to cut",
                "Weights",
            ),
            rows,
            (0.7, 1.5, 1.6, 0.9, 1.0, 2.0, 1.0),
        ),
    ]


def _shop(plan: Plan) -> list[Block]:
    """What to buy and how to cut it."""
    units = plan.site.settings.units
    rows = tuple(
        (
            line.what,
            ("about " if line.rough else "") + _amount(line.need, line.unit, units),
            _amount(line.on_hand, line.unit, units),
            _amount(line.buy, line.unit, units),
        )
        for line in plan.materials.lines
    )
    if not rows:
        return []
    return [
        NewPage("To buy and to cut"),
        Table(
            ("What", "Needed", "There already", "To buy"), rows, (3.0, 1.6, 1.2, 1.2)
        ),
        Heading("How to cut"),
        Points(
            tuple(materials.cut_words(plan.materials, units)) or ("Nothing to cut.",)
        ),
        Heading("Mind"),
        Points(plan.materials.remarks),
    ]


def _amount(amount: float, unit: str, units: words.Units) -> str:
    if unit == "m":
        return words.length(round(amount), units)
    if unit == "m²":
        return words.area(round(amount), units)
    return f"{amount:,.0f}"


def _weeks(plan: Plan) -> tuple[str, ...]:
    said = []
    for week in plan.work.weeks[:WEEKS]:
        day = words.day(week.start.month, week.start.day)
        said.append(f"Week of {day}: {' '.join(week.jobs)}")
    return tuple(said) or ("Nothing yet: go by the weather.",)


def mind() -> Cautions:
    """What can hurt someone while this is built."""
    return cautions(
        "Mind",
        (
            (
                "Buried lines: call the locator before any post or stake. It does not mark "
                "private water, power, septic tanks or drains: ask the owner.",
                signs.BURIED,
            ),
            (
                "Overhead lines: keep the longest pipe away, plus the legal distance. The "
                "line's owner decides. Carry pipes flat.",
                signs.WIRES,
            ),
            ("Cap every stake and hoop end that stands up.", signs.STAKES),
            (
                "Wear eye protection when you cut or bend hoops and pull film.",
                signs.EYES,
            ),
            (
                "Before wind, close and lash every door and side, or take the film off the "
                "day before. Never pull film in wind.",
                signs.WIND,
            ),
            ("Never go in under a load of snow.", signs.SNOW),
            (
                "A closed tunnel in sun overheats people and plants. Open in time.",
                signs.HEAT,
            ),
            (
                "No unvented heater and no engine in a closed tunnel: the fumes kill.",
                signs.FUMES,
            ),
        ),
    )
