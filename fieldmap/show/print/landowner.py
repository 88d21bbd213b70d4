"""Two pages for the landowner: what is proposed, what it looks like, what is agreed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldmap.show.print.cautions import cautions
from fieldmap.show.print.paper import (
    INNER_MM,
    Block,
    Drawing,
    Drawings,
    Heading,
    Lines,
    NewPage,
    Paper,
    Points,
    Table,
    Text,
)
from fieldmap.show.text.analysis import named_pockets
from fieldmap.show.text.language import _, translated
from fieldmap.show.text.print import landowner as words
from fieldmap.show.text.sentence import say

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldmap.decide.crop_plan.model import Stay
    from fieldmap.decide.what_if import Effect
    from fieldmap.plan import Plan
    from fieldmap.show.print.site_plan import SitePlan
    from fieldmap.show.text.quantities import Units

# Of the season-year: 10 April, 19 July, 10 October and 20 January, or half a year on
# in the south.
SEASON_DAYS = (100, 200, 283, 20)
MOST_CHANGES = 4


def blocks(plan: Plan, drawn: SitePlan, paper: Paper) -> tuple[Block, ...]:
    """The two pages."""
    units = drawn.units
    width_mm = INNER_MM[paper][0]
    areas_m2 = [bed.area_m2 for bed in drawn.beds]
    ground_m2 = float(drawn.plots.geometry.area.sum())
    kinds = list(drawn.surroundings["kind"])
    roof_m2 = sum(each.size.length_m * each.size.width_m for each in plan.tunnels)
    return (
        Text(words.lead(ground_m2, areas_m2, len(plan.tunnels), units)),
        drawn.whole((width_mm, 122.0)).drawing(_(words.PLAN), _(words.PLAN_KEY)),
        Heading(_("Why just so")),
        Points(_reasons(plan)),
        Heading(_(words.WHAT_STAYS)),
        Text(_(words.FILL_IN)),
        Table(
            (
                _("What"),
                _("How much"),
                _("Stays until"),
                _("Who takes it away"),
                _("By when"),
            ),
            tuple(
                (*row, "", "", "")
                for row in words.things(areas_m2, plan.tunnels, units)
            ),
            (3.2, 2.4, 1.6, 2.0, 1.4),
        ),
        NewPage(),
        Heading(_("Through the year")),
        Drawings(_seasons(drawn, plan.crop_plan.stays, width_mm), across=4),
        Heading(_("To talk about")),
        Points(
            tuple(
                words.to_talk_about(
                    kinds.count("water point"), kinds.count("gate"), roof_m2, units
                )
            )
        ),
        *_changes(plan.what_ifs, units),
        cautions(_("What we mind"), words.CAUTIONS),
        Heading(_("Agreed")),
        Lines(translated(words.AGREED)),
    )


def _reasons(plan: Plan) -> tuple[str, ...]:
    """What the plan found, in a few lines."""
    first = [each.bed.plot for each in plan.beds if each.ranks.early == 1]
    said = words.reasons(
        first if len(first) < len(plan.beds) else (),
        [str(name) for name in named_pockets(plan.cold_pockets)["name"]],
        plan.tunnels,
        plan.site.weather.years if plan.dates.known else None,
        plan.site.settings.units,
    )
    return tuple(said) or (_(words.NOTHING_STANDS_OUT),)


def _seasons(
    drawn: SitePlan, stays: Sequence[Stay], width_mm: float
) -> tuple[Drawing, ...]:
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


def _changes(effects: Sequence[Effect], units: Units) -> tuple[Block, ...]:
    """Changes around that were computed: nothing is done without the owner's word."""
    if not effects:
        return ()
    return (
        Heading(_(words.CHANGES)),
        Text(_(words.YOUR_WORD)),
        Points(
            tuple(
                f"{effect.name}: {say(effect.facts[0], units)}"
                for effect in effects[:MOST_CHANGES]
            )
        ),
    )
