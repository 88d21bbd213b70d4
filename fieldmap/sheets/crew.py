"""Sheets for the crew: for each block what to peg, cut, build and do."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

from fieldmap import words
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
    return tuple(parts) or (Text("No bed is planned, so there is nothing to peg."),)


def of_blocks(plan: Plan) -> Iterator[tuple[str, list[Bed]]]:
    """Blocks by their letters, with their beds in order."""
    beds = [each.bed for each in plan.beds]
    for name, here in itertools.groupby(
        beds, lambda bed: bed.name.rstrip("0123456789")
    ):
        yield name, list(here)


def _part(plan: Plan, name: str, beds: list[Bed], paper: Paper) -> list[Block]:
    units = plan.site.settings.units
    width_mm = INNER_MM[paper][0]
    return [
        plans.block(plan, beds, (width_mm, 130.0)).drawing(
            f"A plan of block {name} with its beds by name.",
            f"Beds {beds[0].name} to {beds[-1].name}. The arrow points to true north.",
        ),
        Heading("Beds"),
        Text(_shape(beds, units)),
        Table(("Bed", "Length"), tuple(_alike(beds, units)), (1.5, 1.0)).in_two(),
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


def _alike(beds: list[Bed], units: words.Units) -> Iterator[tuple[str, str]]:
    """Beds in a row that are cut alike, joined, and their length."""
    for told, here in itertools.groupby(
        beds, lambda bed: words.length(bed.length_m, units)
    ):
        names = [bed.name for bed in here]
        run = names[0] if len(names) == 1 else f"{names[0]} to {names[-1]}"
        yield run, told


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
