"""Pegging sheets: one for each field, one for each walk-in tunnel's frame."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import wrap
from typing import NamedTuple

from shapely.geometry.base import BaseGeometry

from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.layout.cautions import near_overhead_lines, of_beds
from fieldmap.decide.pegging.model import Bay, Check, FieldPegs, Peg, TunnelPegs
from fieldmap.show.print import paper
from fieldmap.show.print.ground import key
from fieldmap.show.print.ground.site_plan import SitePlan
from fieldmap.show.print.paper import (
    Drawing,
    Part,
    PegSheet,
    Step,
    parts,
)
from fieldmap.show.print.pegs import columns as in_columns
from fieldmap.show.print.pegs import knots, peg_drawing
from fieldmap.show.print.pegs.tape_drawing import TapeDrawing
from fieldmap.show.text import names
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.decide import pegging
from fieldmap.show.text.language import _
from fieldmap.show.text.quantities import Units, length
from fieldmap.show.text.sentence import fill, say

WORDS = texts("fieldmap.show.text.print.pegs", "sheet")
TUNNEL = texts("fieldmap.show.text.print.pegs", "tunnel")
NARROW_MM, TALL_MM, WIDE_MM = 112.0, 165.0, 105.0
LESS_MM = 126.0
# Steps that fit beside a tall drawing (more go on below a lower one), and the width of two
# columns.
BESIDE, TWO_COLUMNS_MM = 11, 112.0
# Below it steps stand in three columns, few of them in two; what head and foot take of a
# page, and a breath of a further one.
COLUMNS, FEW, REST_MM, REST_OF_NEXT_MM = 3, 9, 56.0, 13.0
KEY_MM = 2 * key.ROW_MM  # beneath a drawing that fills its page
# Above a gauge; how much lower a drawing may be for the foot to stand on its page.
GAUGE_GAP_MM, LOWER_BY_MM, LOWER_FOR_KEY_MM, MOST_LOWER_MM = 2.0, 4, 12, 40
TOO_CAREFUL_MM = 5.0  # heights of a page come out lower than they are worked out
# The words at the foot: letters in a line, a line, what is around them; and how much of
# them has room below a drawing that fills its page.
FOOT_LETTERS, FOOT_LINE_MM, AROUND_FOOT_MM, LOW_FOOT_MM = 112, 4.4, 4.0, 39.0
# What is said before the first step: letters in a line, and what is around them.
FIRST_LETTERS, AROUND_FIRST_MM = 112, 2.0


def bold(number: str) -> str:
    """A number that is set bold, between two marks."""
    return f"\x02{number}\x03"


def sheet(
    drawn: SitePlan, field: FieldPegs, tape_m: float, hoop_gaps_m: Sequence[float]
) -> PegSheet:
    """The sheet of one field.

    Parameters
    ----------
    drawn
        What drawings of the ground show.
    field
        How the field is pegged.
    tape_m
        Length of the crew's longest tape [m].
    hoop_gaps_m
        Between hoops on its beds, where any get some.
    """
    units = drawn.units
    named = {name for bay in field.bays for name in bay.beds}
    beds = [bed for bed in drawn.beds if bed.name in named]
    pegs, jobs = [*_pegs(field, units)], [*_jobs(field, units)]
    for tunnel in field.tunnels:
        jobs += tunnel_steps(tunnel, units)
    steps = [*pegs, *jobs]
    gauges = tuple(_gauges(field, hoop_gaps_m, drawn.width_mm, units))
    said = (
        *_of_lines_above(drawn, beds),
        _(WORDS["checks"]).format(limits=pegging.limits(units)),
        f"{_(pegging.WORDS['ground'])} {_(WORDS['side'])}",
        _(WORDS["cap"]),
    )
    first = _(WORDS["first"])
    laid = _Layout(drawn, field, beds, steps, len(jobs))
    page, explained = laid.with_key(_first_mm(first), _foot_mm(said), gauges)
    gauges = (*explained, *gauges)
    return PegSheet(
        fill(WORDS["title"], units, plot=field.plot, number=len(beds)),
        (_sizes(field.bays, units), pegging.example(units)),
        _outfit(field, tape_m, units),
        paper.caution("", first),
        page.drawing.drawing(fill(WORDS["says"], units, plot=field.plot)),
        page.columns,
        tuple(steps[: page.beside]),
        page.below,
        page.across,
        gauges,
        said,
        foot_first=page.begins_below,
    )


class _Layout:
    """Drawing and steps of one field on a page, as large as the page lets them be."""

    def __init__(
        self,
        drawn: SitePlan,
        field: FieldPegs,
        beds: Sequence[Bed],
        steps: Sequence[Step],
        jobs: int,
    ) -> None:
        self.drawn, self.field, self.beds = drawn, field, beds
        self.steps, self.jobs = steps, jobs
        self.around = list(_around(drawn, field))
        self.signs = list(peg_drawing.signs(field, beds, self.around))
        self.is_wide = peg_drawing.is_wide(field, beds)
        self.is_crowded = peg_drawing.is_crowded(field)

    def with_key(
        self, first_mm: float, words_mm: float, gauges: Sequence[Drawing]
    ) -> tuple[_SetOut, tuple[Drawing, ...]]:
        """The page, and its key where that is no part of the drawing.

        Parameters
        ----------
        first_mm, words_mm
            Height of what is said before the first step, and at the foot.
        gauges
            Lines and sticks above the foot.
        """
        page_mm = self.drawn.height_mm - first_mm
        if self.is_crowded:
            lower_mm = KEY_MM + max(0.0, words_mm - LOW_FOOT_MM)
            return self._set_out(page_mm, lower_mm), ()
        # Over the whole width, since a drawing beside steps is narrow.
        key_of = key.drawing(self.signs, self.drawn.width_mm, _(WORDS["signs"]))
        page = self._set_out(page_mm, 0.0)
        if len(page.below) > 1:
            return page, (key_of,)
        # A page of its own for a few lines would be left at home.
        foot_mm = words_mm + sum(each.height_mm + GAUGE_GAP_MM for each in gauges)
        room_mm = page_mm - paper.HEAD_MM - foot_mm
        key_mm = key_of.height_mm + GAUGE_GAP_MM
        explained = self._one_page(page_mm, room_mm - key_mm, LOWER_FOR_KEY_MM)
        if explained is not None:
            return explained, (key_of,)
        return self._one_page(page_mm, room_mm, MOST_LOWER_MM) or page, ()

    def _one_page(
        self, page_mm: float, room_mm: float, most_lower_mm: int
    ) -> _SetOut | None:
        """The page with the highest drawing for which all of it is one page."""
        whole = self._set_out(page_mm, 0.0)
        if whole.taken_mm <= room_mm:
            return whole
        # Fewer steps stand beside a lower drawing.
        lower = (
            self._set_out(page_mm, lower_mm)
            for lower_mm in range(LOWER_BY_MM, most_lower_mm + 1, LOWER_BY_MM)
        )
        fits = (each for each in lower if each.taken_mm <= room_mm + TOO_CAREFUL_MM)
        return next(fits, None)

    def _set_out(self, page_mm: float, lower_mm: float) -> _SetOut:
        """The page with a drawing that is lower by that."""
        wide, crowded = self.is_wide, self.is_crowded
        across_mm, high_mm = _room_mm(
            len(self.steps), self.drawn.width_mm, page_mm, wide=wide, crowded=crowded
        )
        drawing = peg_drawing.draw(
            self.field,
            self.beds,
            self.around,
            (across_mm, high_mm - lower_mm),
            self.drawn.convergence_deg,
            self.drawn.units,
        )
        if crowded:
            drawing.explain(self.signs)
        steps = self.steps, self.jobs
        return _set_out(
            drawing, self.drawn, page_mm, *steps, wide=wide, crowded=crowded
        )


def _first_mm(first: str) -> float:
    """Height of what is said before the first step."""
    return AROUND_FIRST_MM + FOOT_LINE_MM * len(wrap(first, FIRST_LETTERS))


def _foot_mm(said: Sequence[str]) -> float:
    """Height of the words at the foot, which differ in length from language to language."""
    lines = sum(len(wrap(each, FOOT_LETTERS)) for each in said)
    return AROUND_FOOT_MM + FOOT_LINE_MM * lines


def _of_lines_above(drawn: SitePlan, beds: Sequence[Bed]) -> Iterator[str]:
    """What a crew must know of power lines over the beds of its field."""
    near = near_overhead_lines(drawn.surroundings, beds)
    for fact in of_beds(beds, near, [False] * len(beds)):
        yield say(fact, drawn.units)


def _room_mm(
    steps: int, width_mm: float, page_mm: float, *, wide: bool, crowded: bool
) -> tuple[float, float]:
    """Room for a drawing: a page of its own where pegs would hide each other."""
    if crowded:
        return width_mm, page_mm - REST_MM
    if wide:
        return width_mm, WIDE_MM
    return NARROW_MM, TALL_MM if steps <= BESIDE else LESS_MM


class _SetOut(NamedTuple):
    """Where the steps of a sheet stand.

    Attributes
    ----------
    beside, columns
        How many of the first steps stand beside the drawing, in how many columns.
    below, across
        The others: in columns under it by page, then over the whole width.
    begins_below
        Whether those below begin a page of their own.
    """

    drawing: TapeDrawing
    beside: int
    columns: int
    below: tuple[tuple[in_columns.Column, ...], ...]
    across: tuple[Step, ...]
    begins_below: bool
    width_mm: float

    @property
    def taken_mm(self) -> float:
        """Height of the drawing and of the columns under it on its page [mm]."""
        if not self.below or self.begins_below:
            return self.drawing.height_mm
        columns = self.below[0]
        each_mm = in_columns.width_mm(self.width_mm, len(columns))
        return self.drawing.height_mm + max(
            sum(in_columns.height_mm(step, each_mm) for step in column)
            for column in columns
        )


def _set_out(
    drawing: TapeDrawing,
    drawn: SitePlan,
    page_mm: float,
    steps: Sequence[Step],
    jobs: int,
    *,
    wide: bool,
    crowded: bool,
) -> _SetOut:
    """Steps around a drawing; the last of them are jobs."""
    left_mm = drawn.width_mm - drawing.width_mm - in_columns.GUTTER_MM
    beside, columns = 0, 1
    if not wide:
        columns = 2 if not crowded and left_mm > TWO_COLUMNS_MM else 1
        column_mm = in_columns.width_mm(left_mm, columns)
        beside = in_columns.fit(steps, drawing.height_mm, column_mm, columns)
    room_mm = page_mm - REST_MM - drawing.height_mm
    below, across = _below(steps[beside:], jobs, room_mm, drawn)
    begins = bool(below) and room_mm < in_columns.LEAST_MM
    return _SetOut(drawing, beside, columns, below, across, begins, drawn.width_mm)


def _below(
    steps: Sequence[Step], jobs: int, room_mm: float, drawn: SitePlan
) -> tuple[tuple[tuple[in_columns.Column, ...], ...], tuple[Step, ...]]:
    """Steps below a drawing in columns by page; the jobs across where they fill pages."""
    across, width_mm = COLUMNS if len(steps) > FEW else 2, drawn.width_mm
    rooms_mm = room_mm, drawn.height_mm - REST_OF_NEXT_MM
    pages = tuple(in_columns.by_page(steps, rooms_mm, width_mm, across))
    if len(pages) < 2:
        return pages, ()
    pegs = len(steps) - min(jobs, len(steps))
    return (
        tuple(in_columns.by_page(steps[:pegs], rooms_mm, width_mm, COLUMNS)),
        tuple(steps[pegs:]),
    )


def _around(drawn: SitePlan, field: FieldPegs) -> Iterator[tuple[str, BaseGeometry]]:
    things = drawn.surroundings
    yield from zip(things["kind"], things.geometry, strict=True)
    plots = drawn.plots
    for name, outline in zip(plots["name"], plots.geometry, strict=True):
        if str(name) == field.plot:
            yield "plot", outline


def _sizes(bays: Sequence[Bay], units: Units) -> str:
    """How long and wide beds and paths are, once for all that are alike."""

    def listed(values: Iterator[float]) -> str:
        lengths = [pegging.length(value, units) for value in values]
        return names.either(list(dict.fromkeys(lengths)))

    if not bays:
        return ""
    return _(WORDS["sizes"]).format(
        width=listed(bay.bed_m for bay in bays),
        length=listed(bay.length_m for bay in bays),
        path=listed(bay.path_m for bay in bays if bay.path_m) or "–",
    )


def _outfit(field: FieldPegs, tape_m: float, units: Units) -> tuple[str, ...]:
    """People and tools, and how many pegs."""
    return (
        _(WORDS["people"]).format(tape=length(tape_m, units)),
        _(WORDS["tools"]),
        _(WORDS["pegs"]).format(number=field.pegs_to_bring),
    )


# ------------------------------------------------------------------ steps
def _pegs(field: FieldPegs, units: Units) -> Iterator[Step]:
    """Each peg and each check, in the order of the work."""
    for steps in _together(field.steps):
        pegs = [step for step in steps if isinstance(step, Peg)]
        many = len(steps) > 1 or (pegs and pegs[0].role == "mark")
        text = (
            pegging.row(pegs, units, bold)
            if many
            else pegging.step(steps[0], units, bold)
        )
        mark, number = ("peg", str(pegs[0].number)) if pegs else ("check", "")
        yield Step(mark, number, parts(text))


def _together(steps: Sequence[Peg | Check]) -> Iterator[list[Peg | Check]]:
    """Steps that are one: pegs in a row on one string."""
    row: list[Peg | Check] = []
    for step in steps:
        if row and not _goes_on(row[-1], step):
            yield row
            row = []
        row.append(step)
    if row:
        yield row


def _goes_on(before: Peg | Check, step: Peg | Check) -> bool:
    if isinstance(before, Check) or isinstance(step, Check):
        return False
    same = (step.role, step.string) == (before.role, before.string)
    return step.string is not None and same


def _jobs(field: FieldPegs, units: Units) -> Iterator[Step]:
    """Lines with knots, strings and lengths."""
    alike: dict[str, list[Bay]] = {}
    for bay in field.bays:
        alike.setdefault(_ends(bay, field, units), []).append(bay)
    for text, bays in alike.items():
        yield Step("job", "", parts("\n".join([text, *map(_of_bay, bays)])))
    strings: list[str] = []
    for bay in _by_length(field.bays):
        checked = names.some(list(bay.checked) or [bay.beds[-1]])
        long = pegging.length(bay.length_m, units, bold)
        key = "strings_too" if strings else "strings"
        strings.append(_(WORDS[key]).format(beds=checked, length=long))
    helpers = field.not_at_corners
    if strings and helpers:
        pegs = names.listed([str(peg) for peg in helpers])
        out = fill(WORDS["pull_out"], units, number=len(helpers), pegs=pegs)
        strings[-1] = f"{strings[-1]} {out}"
    yield from (Step("job", "", parts(text)) for text in strings)
    if field.untied:
        text = fill(WORDS["untied"], units, beds=names.some(list(field.untied)))
        yield Step("check", "", (Part(text),))


def _ends(bay: Bay, field: FieldPegs, units: Units) -> str:
    """How the pegs at the ends of its beds are set."""
    alone = len(bay.rows[0]) == 1
    knots = "knots" if len(field.lines_m) == 1 else "knots_of_many"
    return _(WORDS[f"alone_{bay.hand}" if alone else knots]).format(
        line=bay.line + 1,
        width=pegging.length(bay.bed_m, units, bold),
    )


def _of_bay(bay: Bay) -> str:
    """Its beds, and from which peg to which the line is pulled, or one looks."""
    near, far = (" → ".join(map(str, row)) for row in (bay.rows[0], bay.rows[-1]))
    key = "bay_of_one" if len(bay.rows[0]) == 1 else "bay"
    return _(WORDS[key]).format(beds=names.run(bay.beds), near=near, far=far)


def _by_length(bays: Sequence[Bay]) -> list[Bay]:
    """Bays of one length as one, with the beds of all that are measured again."""
    found: dict[float, Bay] = {}
    for bay in bays:
        key = round(bay.length_m, 2)
        if key in found:
            both = (*found[key].checked, *bay.checked)
            found[key] = Bay(**{**vars(found[key]), "checked": both})
        else:
            found[key] = bay
    return list(found.values())


# ------------------------------------------------------------------ gauges
def _gauges(
    field: FieldPegs, hoop_gaps_m: Sequence[float], width_mm: float, units: Units
) -> Iterator[Drawing]:
    """Each knotted line, and the stick."""
    for number, marks in enumerate(field.lines_m, start=1):
        if len(marks) > 1:
            nth = "" if len(field.lines_m) == 1 else f" {number}"
            yield knots.line(_(WORDS["line"]) + nth, marks, width_mm, units)
    if field.bays:
        # One bed alone has no path beside it.
        first = next((bay for bay in field.bays if bay.path_m), field.bays[0])
        marks_m = [(first.bed_m, _(WORDS["bed"]))]
        if first.path_m:
            marks_m.append((first.bed_m + first.path_m, _(WORDS["bed_and_path"])))
        marks_m += [
            (gap_m, _(WORDS["hoop_gap"])) for gap_m in dict.fromkeys(hoop_gaps_m)
        ]
        yield knots.stick(_(WORDS["stick"]), sorted(marks_m), width_mm, units)


# ------------------------------------------------------------------ tunnels
def tunnel_steps(tunnel: TunnelPegs, units: Units) -> list[Step]:
    """What follows the corners of a tunnel: centre line, bows, lengths."""
    first, far, across, beside = tunnel.corners
    gap_m = tunnel.bows_m[1]
    places = {
        "first": first,
        "far": far,
        "across": across,
        "beside": beside,
        "half": pegging.length(tunnel.width_m / 2, units, bold),
        "gap": pegging.length(gap_m, units, bold),
        "bows": len(tunnel.bows_m),
        "drop": pegging.length(abs(tunnel.drop_m), units, bold),
        "name": tunnel.name,
    }
    falls = (
        "level"
        if abs(tunnel.drop_m) < 0.03
        else ("falls" if tunnel.drop_m > 0 else "rises")
    )
    return [
        Step("job", "", parts(_(TUNNEL[key]).format(**places)))
        for key in ("bows", "centre", falls)
    ]
