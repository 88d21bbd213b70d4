"""Sheets for the crew: for each block what to peg, cut, build and do."""

import itertools
from collections.abc import Iterable, Iterator, Sequence

from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.materials import Materials
from fieldmap.decide.stakes import tape_rows
from fieldmap.show.print import paper
from fieldmap.show.print.cautions import cautions
from fieldmap.show.print.site_plan import SitePlan
from fieldmap.show.text import quantities
from fieldmap.show.text.decide import materials
from fieldmap.show.text.decide.stakes import PHONE, SQUARE
from fieldmap.show.text.decide.weekly_jobs import Week
from fieldmap.show.text.language import _, translated
from fieldmap.show.text.print import crew as words
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import say_all

WEEKS = 5  # this month's


def blocks(
    drawn: SitePlan, bought: Materials, weeks: Sequence[Week], width_mm: float
) -> tuple[paper.Block, ...]:
    """One part for each block of beds."""
    parts: list[paper.Block] = []
    for name, beds in of_blocks(drawn.beds):
        parts += [paper.NewPage(words.title(name, beds[0].plot))] if parts else []
        parts += [
            *_layout(drawn, name, beds, width_mm),
            *_hoops(beds, bought, drawn.units),
            paper.Heading(_("Order of work")),
            paper.Steps(translated(words.ORDER_OF_WORK)),
            paper.Heading(_("The first weeks")),
            paper.Points(_weeks(weeks)),
            cautions(_("Mind"), words.CAUTIONS),
        ]
    if not parts:
        return (paper.Text(_(words.NOTHING_TO_PEG)),)
    return (*parts, *_shopping(bought, drawn.units))


def title(beds: Iterable[Bed]) -> str:
    """Title of the first part."""
    name, first = next(of_blocks(beds), ("", []))
    return words.title(name, first[0].plot) if first else _("For the crew")


def of_blocks(beds: Iterable[Bed]) -> Iterator[tuple[str, list[Bed]]]:
    """Blocks by their letters, with their beds in order."""
    for name, here in itertools.groupby(beds, lambda bed: bed.block):
        yield name, list(here)


def _layout(
    drawn: SitePlan, block: str, beds: Sequence[Bed], width_mm: float
) -> list[paper.Block]:
    """Where the beds lie: one tape, one baseline, and where each bed begins."""
    units = drawn.units
    parts: list[paper.Block] = [
        drawn.block(beds, (width_mm, 130.0)).drawing(
            _(words.BLOCK_PLAN).format(block=block),
            _(words.BLOCK_KEY).format(first=beds[0].name, last=beds[-1].name),
        ),
        paper.Text(words.shape(beds, units)),
    ]
    line = drawn.baseline(block)
    if line is None:  # these beds lie there already
        return parts
    how = (words.tape(line, units), *translated((SQUARE, PHONE)))
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
        paper.Text(" ".join(how)),
        paper.Table(head, rows, (0.8, 2.4, 1.3, 1.3)).in_two(),
    ]


def _hoops(beds: Iterable[Bed], bought: Materials, units: Units) -> list[paper.Block]:
    """Bundles for the beds of a block that get hoops."""
    names = {bed.name for bed in beds}
    rows = tuple(
        words.hoops(low, units) for low in bought.low_tunnels if low.bed in names
    )
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
        paper.Text(_(words.BUNDLES)),
        paper.Table(head, rows, (0.7, 1.5, 1.6, 0.9, 1.0, 2.0, 1.0)),
    ]


def _shopping(bought: Materials, units: Units) -> list[paper.Block]:
    """What to buy and how to cut it."""
    rows = tuple(words.to_buy(line, units) for line in bought.lines)
    if not rows:
        return []
    head = (_("What"), _("Needed"), _("There already"), _("To buy"))
    return [
        paper.NewPage(_(words.SHOPPING)),
        paper.Table(head, rows, (3.0, 1.6, 1.2, 1.2)),
        paper.Heading(_("How to cut")),
        paper.Points(
            tuple(materials.cutting_list(bought, units)) or (_("Nothing to cut."),)
        ),
        paper.Heading(_("Mind")),
        paper.Points(tuple(say_all(bought.remarks, units))),
    ]


def _weeks(weeks: Sequence[Week]) -> tuple[str, ...]:
    said = [
        _("Week of {day}: {jobs}").format(
            day=quantities.day(week.start.month, week.start.day),
            jobs=" ".join(week.jobs),
        )
        for week in weeks[:WEEKS]
    ]
    return tuple(said) or (_(words.NO_JOBS),)
