"""Sheets for the crew: for each block what to peg, cut, build and do."""

import itertools
from collections.abc import Iterable, Iterator, Sequence

from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.materials import Materials
from fieldmap.decide.materials.model import Line, LowTunnel
from fieldmap.decide.stakes import tape_rows
from fieldmap.show.print import paper
from fieldmap.show.print.site_plan import SitePlan
from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.decide import materials
from fieldmap.show.text.decide.stakes import PHONE, SQUARE
from fieldmap.show.text.decide.weekly_jobs import Week
from fieldmap.show.text.language import _, translated
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import fill, say_all

WORDS = texts("fieldmap.show.text.print.crew", "sheet")
TAPE = texts("fieldmap.show.text.print.crew", "tape")
CAUTIONS = texts("fieldmap.show.text.print.crew", "cautions")
WEEKS = 5  # this month's


def blocks(
    drawn: SitePlan, bought: Materials, weeks: Sequence[Week], width_mm: float
) -> tuple[paper.Block, ...]:
    """One part for each block of beds."""
    parts: list[paper.Block] = []
    for name, beds in of_blocks(drawn.beds):
        parts += [paper.NewPage(_part(name, beds))] if parts else []
        parts += [
            *_layout(drawn, name, beds, width_mm),
            *_hoops(beds, bought, drawn.units),
            paper.Heading(_("Order of work")),
            paper.Steps(translated(WORDS["order_of_work"])),
            paper.Heading(_("The first weeks")),
            paper.Points(_weeks(weeks, drawn.units)),
            paper.cautions(_("Mind"), CAUTIONS),
        ]
    if not parts:
        return (paper.Text(_(WORDS["nothing_to_peg"])),)
    return (*parts, *_shopping(bought, drawn.units))


def title(beds: Iterable[Bed]) -> str:
    """Title of the first part."""
    first = next(of_blocks(beds), None)
    return _part(*first) if first else _("For the crew")


def _part(block: str, beds: Sequence[Bed]) -> str:
    return _(WORDS["part"]).format(block=block, plot=beds[0].plot)


def of_blocks(beds: Iterable[Bed]) -> Iterator[tuple[str, list[Bed]]]:
    """Blocks by their letters, with their beds in order."""
    for name, here in itertools.groupby(beds, lambda bed: bed.block_name):
        yield name, list(here)


def _layout(
    drawn: SitePlan, block: str, beds: Sequence[Bed], width_mm: float
) -> list[paper.Block]:
    """Where the beds lie: one tape, one baseline, and where each bed begins."""
    units = drawn.units
    parts: list[paper.Block] = [
        drawn.block(beds, (width_mm, 130.0)).drawing(
            fill(WORDS["plan"], units, block=block),
            fill(WORDS["plan_key"], units, first=beds[0].name, last=beds[-1].name),
        ),
        paper.Text(_shape(beds, units)),
    ]
    line = drawn.baseline(block)
    if line is None:  # these beds lie there already
        return parts
    tape = fill(
        TAPE[line.side],
        units,
        tape_m=line.length_m,
        way=line.bearing_deg,
        out_m=line.out_m,
        diagonal_m=line.diagonal_m,
    )
    rows = tuple(
        (
            row.of,
            f"{quantities.pipe(row.near_m, units)} – {quantities.pipe(row.far_m, units)}",
            quantities.pipe(row.out_m, units),
            quantities.pipe(row.length_m, units),
        )
        for row in tape_rows(drawn.stakes.stakes, block)
    )
    head = (_("Bed"), _("On the tape"), _("Out"), _("Length"))
    return [
        *parts,
        paper.Heading(_("Peg it")),
        paper.Text(" ".join((tape, *translated((SQUARE, PHONE))))),
        paper.Table(head, rows, (0.8, 2.4, 1.3, 1.3)).in_two(),
    ]


def _shape(beds: Sequence[Bed], units: Units) -> str:
    """What all beds of a block share."""
    widths = dict.fromkeys(_width(bed, units) for bed in beds)
    ways = dict.fromkeys(
        f"{quantities.axis(bed.bearing_deg)} ({bed.bearing_deg:.0f}°)" for bed in beds
    )
    return fill(
        WORDS["shape"], units, number=len(beds), widths=list(widths), ways=list(ways)
    )


def _width(bed: Bed, units: Units) -> str:
    """Of a bed from peg to peg, and of the path within where it is two strips."""
    if not bed.path_within_m:
        return quantities.short_length(bed.width_m, units)
    return fill(WORDS["strips"], units, width_m=bed.width_m, within_m=bed.path_within_m)


def _hoops(beds: Iterable[Bed], bought: Materials, units: Units) -> list[paper.Block]:
    """Bundles for the beds of a block that get hoops."""
    here = {bed.name for bed in beds}
    rows = tuple(_hoops_of(low, units) for low in bought.low_tunnels if low.bed in here)
    if not rows:
        return []
    head = (
        _("Bed"),
        _("Cover"),
        _("Hoops"),
        _("Apart"),
        _("In the ground"),
        _("Cover to cut"),
        _("Weights"),
    )
    return [
        paper.Heading(_("Hoops and covers")),
        paper.Text(_(WORDS["bundles"])),
        paper.Table(head, rows, (0.7, 1.5, 1.6, 0.9, 1.0, 2.0, 1.0)),
    ]


def _hoops_of(low: LowTunnel, units: Units) -> tuple[str, ...]:
    """The hoops and the cover of one bed, as a row."""
    return (
        low.bed,
        names.cover_name(low.kind),
        fill(WORDS["hoops"], units, number=low.hoops, length_m=low.cut_m),
        quantities.pipe(low.spacing_m, units),
        quantities.short_length(low.leg_m, units),
        fill(
            WORDS["cover"],
            units,
            width_m=low.cover_width_m,
            length_m=low.cover_length_m,
        ),
        fill(WORDS["weights"], units, number=low.anchors, weight_kg=low.anchor_kg)
        if low.anchors
        else _(WORDS["bury"]),
    )


def _shopping(bought: Materials, units: Units) -> list[paper.Block]:
    """What to buy and how to cut it."""
    rows = tuple(_to_buy(line, units) for line in bought.lines)
    if not rows:
        return []
    head = (_("What"), _("Needed"), _("There already"), _("To buy"))
    return [
        paper.NewPage(_(WORDS["shopping"])),
        paper.Table(head, rows, (3.0, 1.6, 1.2, 1.2)),
        paper.Heading(_("How to cut")),
        paper.Points(
            tuple(materials.cutting_list(bought, units)) or (_("Nothing to cut."),)
        ),
        paper.Heading(_("Mind")),
        paper.Points(tuple(say_all(bought.remarks, units))),
    ]


def _weeks(weeks: Sequence[Week], units: Units) -> tuple[str, ...]:
    said = [
        fill(
            WORDS["week"],
            units,
            day=(week.start.month, week.start.day),
            jobs=" ".join(week.jobs),
        )
        for week in weeks[:WEEKS]
    ]
    return tuple(said) or (_(WORDS["no_jobs"]),)


def _to_buy(line: Line, units: Units) -> tuple[str, ...]:
    """A row of the shopping list."""
    need, on_hand, buy = (
        _amount(amount, line.unit, units)
        for amount in (line.need, line.on_hand, line.buy)
    )
    if line.rough:
        need = fill(WORDS["about"], units, amount=need)
    return materials.item(line.item), need, on_hand, buy


def _amount(amount: float, unit: str, units: Units) -> str:
    if unit == "m":
        return quantities.whole_length(amount, units)
    if unit == "m²":
        return quantities.area(round(amount), units)
    return f"{amount:,.0f}"
