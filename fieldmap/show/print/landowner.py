"""Two pages for the landowner: what is proposed, what it looks like, what is agreed."""

from collections.abc import Sequence

from fieldmap.decide.crop_plan.model import Stay
from fieldmap.decide.what_if import Effect
from fieldmap.plan import Plan
from fieldmap.show.print import paper
from fieldmap.show.print.cautions import cautions
from fieldmap.show.print.site_plan import SitePlan
from fieldmap.show.text.language import _, translated
from fieldmap.show.text.print import landowner as words
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import say
from fieldmap.show.text.site.analysis import named_pockets

# Of the season-year: 10 April, 19 July, 10 October and 20 January, or half a year on
# in the south.
SEASON_DAYS = (100, 200, 283, 20)
MOST_CHANGES = 4


def blocks(plan: Plan, drawn: SitePlan, width_mm: float) -> tuple[paper.Block, ...]:
    """The two pages."""
    first = [each.bed.plot for each in plan.beds if each.ranks.early == 1]
    reasons = words.reasons(
        first if len(first) < len(plan.beds) else (),
        list(named_pockets(plan.cold_pockets)["name"]),
        plan.tunnels,
        plan.site.weather.years if plan.dates.known else None,
        drawn.units,
    )
    return (
        *_proposal(drawn, tuple(reasons), width_mm),
        paper.NewPage(),
        paper.Heading(_("Through the year")),
        paper.Drawings(_seasons(drawn, plan.crop_plan.stays, width_mm), across=4),
        paper.Heading(_("To talk about")),
        paper.Points(_to_talk_about(drawn)),
        *_changes(plan.what_ifs, drawn.units),
        cautions(_("What we mind"), words.CAUTIONS),
        paper.Heading(_("Agreed")),
        paper.Lines(translated(words.AGREED)),
    )


def _proposal(
    drawn: SitePlan, reasons: tuple[str, ...], width_mm: float
) -> tuple[paper.Block, ...]:
    """What is proposed, why, and what comes onto the ground."""
    areas_m2 = [bed.area_m2 for bed in drawn.beds]
    ground_m2 = float(drawn.plots.geometry.area.sum())
    things = words.things(areas_m2, drawn.tunnels, drawn.units)
    return (
        paper.Text(words.lead(ground_m2, areas_m2, len(drawn.tunnels), drawn.units)),
        drawn.whole((width_mm, 122.0)).drawing(_(words.PLAN), _(words.PLAN_KEY)),
        paper.Heading(_("Why just so")),
        paper.Points(reasons or (_(words.NOTHING_STANDS_OUT),)),
        paper.Heading(_(words.WHAT_STAYS)),
        paper.Text(_(words.FILL_IN)),
        paper.Table(
            translated(words.AGREEMENT),
            tuple((*row, "", "", "") for row in things),
            (3.2, 2.4, 1.6, 2.0, 1.4),
        ),
    )


def _to_talk_about(drawn: SitePlan) -> tuple[str, ...]:
    kinds = list(drawn.surroundings["kind"])
    roof_m2 = sum(each.size.length_m * each.size.width_m for each in drawn.tunnels)
    water_points, gates = kinds.count("water point"), kinds.count("gate")
    return tuple(words.to_talk_about(water_points, gates, roof_m2, drawn.units))


def _seasons(
    drawn: SitePlan, stays: Sequence[Stay], width_mm: float
) -> tuple[paper.Drawing, ...]:
    """What one sees in the middle of each season, covers as the plan lays them."""
    room_mm = width_mm / 4 - 4, 70.0
    drawings = []
    for day, (says, caption) in zip(SEASON_DAYS, words.SEASONS, strict=True):
        covered = {
            stay.bed: use.kind
            for stay in stays
            for use in stay.covers
            if use.from_day <= day <= use.to_day
        }
        green = {stay.bed for stay in stays if stay.from_day <= day <= stay.to_day}
        seen = words.seen(len(drawn.beds), len(green), len(covered))
        drawings.append(
            drawn.whole(room_mm, covered, names=False).drawing(
                _(says), _(caption).format(seen=seen)
            )
        )
    return tuple(drawings)


def _changes(effects: Sequence[Effect], units: Units) -> tuple[paper.Block, ...]:
    """Changes around that were computed: nothing is done without the owner's word."""
    if not effects:
        return ()
    return (
        paper.Heading(_(words.CHANGES)),
        paper.Text(_(words.YOUR_WORD)),
        paper.Points(
            tuple(
                f"{effect.name}: {say(effect.facts[0], units)}"
                for effect in effects[:MOST_CHANGES]
            )
        ),
    )
