"""Sheets for the crew: how to peg each field, then what to cut, build and do."""

from collections.abc import Mapping, Sequence

from fieldmap.decide.materials import Materials
from fieldmap.decide.materials.model import Line, LowTunnel
from fieldmap.model.fact import Fact
from fieldmap.show.print import paper
from fieldmap.show.print.ground.site_plan import SitePlan
from fieldmap.show.print.pegs import peg_sheet, to_tape
from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.decide import materials
from fieldmap.show.text.decide.weekly_jobs import Week
from fieldmap.show.text.language import _, translated, written
from fieldmap.show.text.map.materials import cover_to_cut, pieces_to_cut, roof
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import fill, say

WORDS = texts("fieldmap.show.text.print.crew", "sheet")
REMARKS = texts("fieldmap.show.text.print.crew", "remarks")
TUNNELS = texts("fieldmap.show.text.print.crew", "tunnels")
GUSTS = texts("fieldmap.show.text.print.crew", "gusts")
CAUTIONS = texts("fieldmap.show.text.print.crew", "cautions")
PEGGED = 2  # steps of the order of work until all is pegged
# Gusts that sway small trees: half as strong again as a fresh breeze, the mean wind of
# 29 to 38 km/h in which small trees in leaf sway (Beaufort scale, from memory).
TREES_SWAY_M_S = 11.0
WEEKS = 5  # this month's
# Remarks on materials that are read where one builds, not where one buys.
BUILT = (
    *("weights_hold", "weights_are_heavy", "edges_buried"),
    *("low_tunnels_storm_unknown", "low_tunnels_across_storm"),
    "low_tunnels_along_storm",
)
IN_TABLE = "low_tunnels_stand"  # what the table of hoops and covers says already


def blocks(
    drawn: SitePlan,
    bought: Materials,
    weeks: Sequence[Week],
    tape_m: float,
) -> tuple[paper.Block, ...]:
    """A pegging sheet for each field, then what holds for all of them, once.

    Parameters
    ----------
    drawn
        What drawings of the ground show, with the pegs of each field.
    bought
        Hoops, covers and the shopping list.
    weeks
        Jobs by week from the first on; the first few are printed.
    tape_m
        Length of the crew's longest tape [m].
    """
    gaps_m = {low.bed: low.spacing_m for low in bought.low_tunnels}
    parts = _fields(drawn, gaps_m, tape_m)
    if not parts:
        parts += [paper.Text(_(WORDS["nothing_to_peg"]))]
    return (
        *parts,
        paper.NewPage(_(WORDS["build"])),
        paper.Heading(_("Order of work")),
        paper.Steps(_order(drawn)),
        paper.Heading(_("The first weeks")),
        paper.Points(_weeks(weeks, drawn.units)),
        _cautions(bought, drawn.units),
        *_while_building(bought, drawn.units),
        *_shopping(bought, drawn),
    )


def _order(drawn: SitePlan) -> tuple[str, ...]:
    """What is done first, with the tunnels where any are planned."""
    order = list(translated(WORDS["order_of_work"]))
    waiting = [
        fill(WORDS["waiting"], drawn.units, plot=plot, number=number)
        for plot, number in drawn.stakes.waiting
    ]
    order[PEGGED - 1] = " ".join([order[PEGGED - 1], *waiting])
    if not drawn.tunnels:
        return tuple(order)
    has_drains = any(each.rain.drain_m for each in drawn.tunnels)
    tunnels = _(TUNNELS["drains" if has_drains else "frames"])
    return (*order[:PEGGED], tunnels, *order[PEGGED:])


def _cautions(bought: Materials, units: Units) -> paper.Cautions:
    """What can hurt, with the gust in which the weakest low tunnel still holds."""
    held = [each.holds_to_m_s for each in bought.low_tunnels]
    least = min((each for each in held if each is not None), default=None)
    box = paper.cautions(_("Take care"), CAUTIONS)
    if least is None:
        return box
    said = _(GUSTS["wind"]).format(
        gust=quantities.careful_gust(least, units),
        seen=_(GUSTS["trees" if least >= TREES_SWAY_M_S else "twigs"]),
    )
    wind = list(CAUTIONS).index("wind")
    items = (*box.items[:wind], paper.caution("wind", said), *box.items[wind + 1 :])
    return paper.Cautions(box.head, items)


def _while_building(bought: Materials, units: Units) -> list[paper.Block]:
    """What holds covers down, and against which wind."""
    said = tuple(_remark(fact, units) for fact in bought.remarks if fact.kind in BUILT)
    return [paper.Heading(_(WORDS["outside"])), paper.Points(said)] if said else []


def _hoops(bought: Materials, drawn: SitePlan) -> list[paper.Block]:
    """Bundles for the beds that get hoops."""
    units, order = drawn.units, [bed.name for bed in drawn.beds]
    alike: dict[tuple[str, ...], list[LowTunnel]] = {}
    for low in bought.low_tunnels:
        alike.setdefault(_hoops_of(low, units), []).append(low)
    rows = tuple((_beds_of(lows, units, order), *row) for row, lows in alike.items())
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
        paper.Table(head, rows, (2.1, 1.4, 1.2, 1.0, 0.8, 1.6, 1.3)),
    ]


def _beds_of(lows: Sequence[LowTunnel], units: Units, order: Sequence[str]) -> str:
    """Beds of one row, and which part of those that are covered in part."""
    parts = [(low.bed, *ends) for low in lows for ends in low.stretches_m]
    return names.on_each_bed([low.bed for low in lows], parts, units, order)


def _hoops_of(low: LowTunnel, units: Units) -> tuple[str, ...]:
    """The hoops and the cover of one bed, as a row without its name."""
    return (
        names.cover_name(low.kind),
        fill(WORDS["hoops"], units, number=low.hoops, length_m=low.cut_m),
        quantities.pipe(low.spacing_m, units),
        quantities.short_length(low.leg_m, units),
        _cover_of(low, units),
        _held_by(low, units),
    )


def _cover_of(low: LowTunnel, units: Units) -> str:
    return (cover_to_cut if low.under is not None else pieces_to_cut)(low, units)


def _held_by(low: LowTunnel, units: Units) -> str:
    if low.gear.weights:
        said = WORDS["weights_of_piece" if low.wide_beds else "weights"]
        values = {"number": low.gear.weights, "weight_kg": low.anchor_kg}
        return fill(said, units, **values)
    return _(WORDS["clip" if low.held_by == "clips" else "bury"])


def _shopping(bought: Materials, drawn: SitePlan) -> list[paper.Block]:
    """What to buy, how to cut it, and what each bed gets of it."""
    units = drawn.units
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
        *_hoops(bought, drawn),
        paper.Heading(_("Take care")),
        paper.Points(
            (
                *(
                    _remark(fact, units)
                    for fact in bought.remarks
                    if fact.kind not in (IN_TABLE, *BUILT)
                ),
                *(roof(each, units) for each in bought.roofs),
            )
        ),
    ]


def _remark(fact: Fact, units: Units) -> str:
    """What is noted about materials, in words for those who do not see site.toml."""
    text = REMARKS.get(fact.kind)
    return say(fact, units) if text is None else fill(text, units, **fact.values)


def _fields(
    drawn: SitePlan, gaps_m: Mapping[str, float], tape_m: float
) -> list[paper.Block]:
    """Each field on its own page: its pegs, or what must be taped before they are set."""
    parts: list[paper.Block] = []
    for field in drawn.stakes.fields:
        parts += [paper.NewPage()] if parts else []
        if field.wanted:
            parts += to_tape.blocks(drawn, field)
            continue
        here = [name for bay in field.bays for name in bay.beds if name in gaps_m]
        gaps = [gaps_m[name] for name in here]
        parts.append(peg_sheet.sheet(drawn, field, tape_m, gaps))
    return parts


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
        need, buy = (fill(WORDS["about"], units, amount=each) for each in (need, buy))
    return materials.item(line.item), need, on_hand, buy


def _amount(amount: float, unit: str, units: Units) -> str:
    if unit == "m":
        return quantities.whole_length(amount, units)
    if unit == "m²":
        return quantities.area(round(amount), units)
    return written(amount, ",.0f")
