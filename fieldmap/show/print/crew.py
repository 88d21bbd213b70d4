"""Sheets for the crew: for each block what to peg, cut, build and do."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

from fieldmap.decide.stakes import tape_rows
from fieldmap.show.print import plans, signs
from fieldmap.show.print.paper import (
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
from fieldmap.show.text import materials, quantities
from fieldmap.show.text.language import _, later, plural, translated
from fieldmap.show.text.sentence import say_all
from fieldmap.show.text.stakes import PHONE, SQUARE
from layers.cover import COVERS

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from fieldmap.decide.layout.beds import Bed
    from fieldmap.decide.stakes import Baseline
    from fieldmap.plan import Plan

WEEKS = 5  # this month's
ORDER = (
    later("Have buried lines marked. Walk the ground with the owner."),
    later("Find the first corner by phone. Peg the rest by tape, held level."),
    later("Prove each corner square by its diagonal before the next peg."),
    later("Loosen and shape the beds. Lay drip lines before any film."),
    later("Set hoops: legs deep in firm soil. Cap every stake."),
    later("Pull cloth or film on a calm, warm morning. Never in wind."),
    later("Weigh the edges down all along, tie both ends."),
    later("Hang this sheet in the shed, with the bundle labels."),
)


def blocks(plan: Plan, paper: Paper) -> tuple[Block, ...]:
    """One part for each block of beds."""
    parts: list[Block] = []
    for name, beds in of_blocks(plan):
        parts += [NewPage(title(name, beds))] if parts else []
        parts += _part(plan, name, beds, paper)
    if not parts:
        return (Text(_("No bed is planned, so there is nothing to peg.")),)
    return (*parts, *_shop(plan))


def title(block: str, beds: Sequence[Bed]) -> str:
    """Title of the part of a block."""
    return _("Block {block}: {plot}").format(block=block, plot=beds[0].plot)


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
            _("A plan of block {block} with its beds by name.").format(block=name),
            _("Beds {first} to {last}. The arrow points to true north.").format(
                first=beds[0].name, last=beds[-1].name
            ),
        ),
        Text(_shape(beds, units)),
        *_peg_it(plan, name),
        *_hoops(plan, beds),
        Heading(_("Order of work")),
        Steps(translated(ORDER)),
        Heading(_("The first weeks")),
        Points(_weeks(plan)),
        mind(),
    ]


def _shape(beds: list[Bed], units: quantities.Units) -> str:
    """What all beds of a block share."""
    widths = quantities.listed(list(dict.fromkeys(_width(bed, units) for bed in beds)))
    ways = quantities.listed(
        list(
            dict.fromkeys(
                f"{quantities.axis(bed.bearing_deg)} ({bed.bearing_deg:.0f}°)"
                for bed in beds
            )
        )
    )
    return plural(
        "{number} bed, {widths} wide. It runs {ways}.",
        "{number} beds, {widths} wide. They run {ways}.",
        len(beds),
        widths=widths,
        ways=ways,
    )


def _width(bed: Bed, units: quantities.Units) -> str:
    """Of a bed from peg to peg, and of the path within where it is two strips."""
    width = quantities.short_length(bed.width_m, units)
    if not bed.path_within_m:
        return width
    return _("{width} (two strips, a path of {within} between)").format(
        width=width, within=quantities.short_length(bed.path_within_m, units)
    )


def _peg_it(plan: Plan, block: str) -> list[Block]:
    """One tape, one baseline, and where each bed begins."""
    units = plan.site.settings.units
    line = next((one for one in plan.stakes.baselines if one.block == block), None)
    if line is None:  # these beds lie there already
        return []
    rows = tuple(
        (
            row.of,
            f"{quantities.pipe(row.near_m, units)} – {quantities.pipe(row.far_m, units)}",
            quantities.pipe(row.out_m, units),
            quantities.pipe(row.length_m, units),
        )
        for row in tape_rows(plan.stakes.stakes, block)
    )
    return [
        Heading(_("Peg it")),
        Text(" ".join((_tape(line, units), *translated((SQUARE, PHONE))))),
        Table(
            (_("Bed"), _("On the tape"), _("Out"), _("Length")),
            rows,
            (0.8, 2.4, 1.3, 1.3),
        ).in_two(),
    ]


def _tape(line: Baseline, units: quantities.Units) -> str:
    said = (
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
    return said.format(
        tape=quantities.pipe(line.length_m, units),
        way=quantities.direction(line.bearing_deg),
        out=quantities.pipe(line.out_m, units),
        diagonal=quantities.pipe(line.diagonal_m, units),
    )


def _hoops(plan: Plan, beds: list[Bed]) -> list[Block]:
    """Bundles for the beds of a block that get hoops."""
    units = plan.site.settings.units
    names = {bed.name for bed in beds}
    rows = tuple(
        (
            low.bed,
            quantities.cover(COVERS[low.kind].name),
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
        for low in plan.materials.low_tunnels
        if low.bed in names
    )
    if not rows:
        return []
    return [
        Heading(_("Hoops and covers")),
        Text(
            _(
                "Tie the hoops of each bed into a bundle, with the name of the bed on it."
            )
        ),
        Table(
            (
                _("Bed"),
                _("Cover"),
                _("Hoops"),
                _("Apart"),
                _("In the ground"),
                _("Cover to cut"),
                _("Weights"),
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
            materials.item(line.item),
            _("about {amount}").format(amount=_amount(line.need, line.unit, units))
            if line.rough
            else _amount(line.need, line.unit, units),
            _amount(line.on_hand, line.unit, units),
            _amount(line.buy, line.unit, units),
        )
        for line in plan.materials.lines
    )
    if not rows:
        return []
    return [
        NewPage(_("To buy and to cut")),
        Table(
            (_("What"), _("Needed"), _("There already"), _("To buy")),
            rows,
            (3.0, 1.6, 1.2, 1.2),
        ),
        Heading(_("How to cut")),
        Points(
            tuple(materials.cutting_list(plan.materials, units))
            or (_("Nothing to cut."),)
        ),
        Heading(_("Mind")),
        Points(tuple(say_all(plan.materials.remarks, units))),
    ]


def _amount(amount: float, unit: str, units: quantities.Units) -> str:
    if unit == "m":
        return quantities.length(round(amount), units)
    if unit == "m²":
        return quantities.area(round(amount), units)
    return f"{amount:,.0f}"


def _weeks(plan: Plan) -> tuple[str, ...]:
    said = []
    for week in plan.weekly_jobs.weeks[:WEEKS]:
        day = quantities.day(week.start.month, week.start.day)
        said.append(
            _("Week of {day}: {jobs}").format(day=day, jobs=" ".join(week.jobs))
        )
    return tuple(said) or (_("Nothing yet: go by the weather."),)


def mind() -> Cautions:
    """What can hurt someone while this is built."""
    return cautions(
        _("Mind"),
        (
            (
                _(
                    "Buried lines: call the locator before any post or stake. It does not "
                    "mark private water, power, septic tanks or drains: ask the owner."
                ),
                signs.BURIED,
            ),
            (
                _(
                    "Overhead lines: keep the longest pipe away, plus the legal distance. "
                    "The line's owner decides. Carry pipes flat."
                ),
                signs.WIRES,
            ),
            (_("Cap every stake and hoop end that stands up."), signs.STAKES),
            (
                _("Wear eye protection when you cut or bend hoops and pull film."),
                signs.EYES,
            ),
            (
                _(
                    "Before wind, close and lash every door and side, or take the film off "
                    "the day before. Never pull film in wind."
                ),
                signs.WIND,
            ),
            (_("Never go in under a load of snow."), signs.SNOW),
            (
                _("A closed tunnel in sun overheats people and plants. Open in time."),
                signs.HEAT,
            ),
            (
                _(
                    "No unvented heater and no engine in a closed tunnel: the fumes kill."
                ),
                signs.FUMES,
            ),
        ),
    )
