"""Two pages for the landowner: what is proposed, what it looks like, what is agreed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldmap.show.print import plans, signs
from fieldmap.show.print.paper import (
    INNER_MM,
    Block,
    Cautions,
    Drawing,
    Drawings,
    Heading,
    Lines,
    NewPage,
    Paper,
    Points,
    Table,
    Text,
    cautions,
)
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _, later, plural
from fieldmap.show.text.sentence import say, say_all

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldmap.plan import Plan

# What is drawn and said, and the day of the season-year: 10 April, 19 July, 10 October
# and 20 January, or half a year on in the south.
SEASONS = (
    (later("The plots in spring."), later("Spring. {seen}"), 100),
    (later("The plots in high summer."), later("High summer. {seen}"), 200),
    (later("The plots in autumn."), later("Autumn. {seen}"), 283),
    (later("The plots in winter."), later("Winter. {seen}"), 20),
)


def blocks(plan: Plan, paper: Paper) -> tuple[Block, ...]:
    """The two pages."""
    width_mm = INNER_MM[paper][0]
    return (
        Text(_lead(plan)),
        plans.whole(plan, (width_mm, 122.0)).drawing(
            _("A plan of the plots with beds, tunnels and what stands around."),
            _(
                "Thick lines: your ground. Narrow strips: beds. Hatched boxes with a T: "
                "walk-in tunnels, which one can stand in."
            ),
        ),
        Heading(_("Why just so")),
        Points(_why(plan)),
        Heading(_("What stays, and what goes")),
        Text(_("Fill in together. A line that is left empty is not agreed.")),
        Table(
            (
                _("What"),
                _("How much"),
                _("Stays until"),
                _("Who takes it away"),
                _("By when"),
            ),
            tuple((*row, "", "", "") for row in _things(plan)),
            (3.2, 2.4, 1.6, 2.0, 1.4),
        ),
        NewPage(),
        Heading(_("Through the year")),
        Drawings(_seasons(plan, width_mm), across=4),
        Heading(_("To talk about")),
        Points(_to_talk_about(plan)),
        *_changes(plan),
        _minded(),
        Heading(_("Agreed")),
        Lines(
            (
                _("This holds from, and until:"),
                _("Landowner, date:"),
                _("Grower, date:"),
            )
        ),
    )


def _minded() -> Cautions:
    """What can hurt someone, and what is done about it."""
    return cautions(
        _("What we mind"),
        (
            (
                _(
                    "Before any post goes in, we have buried lines located, and ask you "
                    "about private water, power, septic tank and drains: locators do not "
                    "mark those."
                ),
                signs.BURIED,
            ),
            (
                _(
                    "No tunnel and no long pipe near overhead lines. Their owner decides "
                    "how near."
                ),
                signs.WIRES,
            ),
            (
                _(
                    "Storm and snow: tunnels go up by their maker's plan and the local "
                    "code. Film comes off or is lashed before a gale, and before snow."
                ),
                signs.WIND,
            ),
            (
                _(
                    "Tunnels are not places to live in or to heat with an open flame. They "
                    "are opened on sunny days."
                ),
                signs.FUMES,
            ),
        ),
    )


def _lead(plan: Plan) -> str:
    units = plan.site.settings.units
    ground = quantities.area(round(float(plan.site.plots.geometry.area.sum())), units)
    planted = quantities.area(round(sum(each.bed.area_m2 for each in plan.beds)), units)
    tunnels = len(plan.tunnels)
    built = (
        plural(
            "One walk-in tunnel is planned.",
            "{number} walk-in tunnels are planned.",
            tunnels,
        )
        if tunnels
        else _("No walk-in tunnel is planned.")
    )
    return plural(
        "We would like to grow vegetables on {ground} of your ground. {planted} of it would "
        "be planted, in {number} narrow bed. Low hoops with cloth or clear film over them "
        "keep frost off in spring and autumn, and shade cloth keeps beds cool in summer. "
        "{built} Beds are made by hand; hoops, cloth and tunnels can be taken away again.",
        "We would like to grow vegetables on {ground} of your ground. {planted} of it would "
        "be planted, in {number} narrow beds with paths between. Low hoops with cloth or "
        "clear film over them keep frost off in spring and autumn, and shade cloth keeps "
        "beds cool in summer. {built} Beds are made by hand; hoops, cloth and tunnels can "
        "be taken away again.",
        len(plan.beds),
        ground=ground,
        planted=planted,
        built=built,
    )


def _why(plan: Plan) -> tuple[str, ...]:
    """What the reckoning said, in a few lines."""
    said = []
    earliest = [each for each in plan.beds if each.ranks.early == 1]
    if earliest and len(earliest) < len(plan.beds):
        names = quantities.listed(
            list(dict.fromkeys(each.bed.plot for each in earliest))
        )
        said.append(
            _("The ground that can be planted first lies in: {plots}.").format(
                plots=names
            )
        )
    if len(plan.cold_pockets):
        names = quantities.listed([str(name) for name in plan.cold_pockets["name"]][:4])
        said.append(
            _(
                "On still nights cold air collects in these places: {places}. Tender "
                "plants keep out of them."
            ).format(places=names)
        )
    said += [
        _("Tunnel {tunnel}: {reasons}").format(
            tunnel=each.name,
            reasons=" ".join(say_all(each.reasons[:2], plan.site.settings.units)),
        )
        for each in plan.tunnels
    ]
    if plan.dates.known:
        first, last = plan.site.weather.years
        said.append(
            _(
                "The dates we work with come from the weather record of {first} to {last}. "
                "They are odds, and no promise."
            ).format(first=first, last=last)
        )
    return tuple(said) or (_("No place stands out on this ground."),)


def _things(plan: Plan) -> tuple[tuple[str, str], ...]:
    units = plan.site.settings.units
    beds = sum(each.bed.area_m2 for each in plan.beds)
    planted = plural(
        "{number} bed, {area}",
        "{number} beds, {area}",
        len(plan.beds),
        area=quantities.area(round(beds), units),
    )
    rows = [(_("Beds and paths"), planted)]
    rows += [
        (
            _("Walk-in tunnel {tunnel}").format(tunnel=each.name),
            _("{length} long, {width} wide, {height} tall").format(
                length=quantities.length(each.length_m, units),
                width=quantities.length(each.width_m, units),
                height=quantities.length(each.height_m, units),
            ),
        )
        for each in plan.tunnels
    ]
    rows += [
        (
            _("Low hoops, cloth and film, pegs and bags"),
            _("out of sight when not in use"),
        ),
        (_("Water pipe and taps"), ""),
        (_("Old film and worn cloth"), _("taken away, never burnt or buried")),
    ]
    return tuple(rows)


def _seasons(plan: Plan, width_mm: float) -> tuple[Drawing, ...]:
    """What one sees in the middle of each season, covers as the plan lays them."""
    room = width_mm / 4 - 4, 70.0
    drawings = []
    for says, caption, day in SEASONS:
        covered = {
            stay.bed: use.kind
            for stay in plan.crop_plan.stays
            for use in stay.covers
            if use.from_day <= day <= use.to_day
        }
        drawn = plans.whole(plan, room, covered, names=False)
        drawings.append(
            drawn.drawing(_(says), _(caption).format(seen=_seen(plan, covered, day)))
        )
    return tuple(drawings)


def _seen(plan: Plan, covered: Mapping[str, str], day: int) -> str:
    """How many beds carry a crop, and how many of them a cover."""
    green = {
        stay.bed for stay in plan.crop_plan.stays if stay.from_day <= day <= stay.to_day
    }
    beds = str(len(plan.beds))
    if not covered:
        return plural(
            "{number} of {beds} beds carries a crop; none is covered.",
            "{number} of {beds} beds carry a crop; none is covered.",
            len(green),
            beds=beds,
        )
    return plural(
        "{crops} of {beds} beds carry a crop; {number} lies under cloth or film.",
        "{crops} of {beds} beds carry a crop; {number} lie under cloth or film.",
        len(covered),
        crops=str(len(green)),
        beds=beds,
    )


def _to_talk_about(plan: Plan) -> tuple[str, ...]:
    units = plan.site.settings.units
    things = plan.site.surroundings
    kinds = list(things["kind"])
    roof_m2 = sum(each.length_m * each.width_m for each in plan.tunnels)
    said = [_water(kinds.count("water point"))]
    if roof_m2:
        # A millimetre of rain on a square metre is a litre.
        litres = f"{roof_m2 * 25:,.0f}"
        gallons = f"{roof_m2 * quantities.FEET_PER_METRE**2 * 0.623:,.0f}"
        said.append(
            _(
                "Roof water: the tunnels shed {gallons} gallons of every inch. Where may "
                "it run?"
            ).format(gallons=gallons)
            if units == "us"
            else _(
                "Roof water: the tunnels shed {litres} litres of every 25 mm of rain. "
                "Where may it run?"
            ).format(litres=litres)
        )
    return (
        *said,
        _access(kinds.count("gate")),
        _(
            "Permit: ask the local office whether a tunnel needs one, and how far it must "
            "keep from the boundary. Insurance: whose cover holds for people, tunnel and "
            "crops?"
        ),
        _(
            "Neighbours: film glints and rattles; spray may drift over from fields near by. "
            "Tell them before it is built."
        ),
    )


def _water(points: int) -> str:
    if not points:
        return _(
            "Water: no water point is on the map. How much may be drawn, from when to "
            "when, and who pays?"
        )
    return plural(
        "Water: one water point is on the map. How much may be drawn, from when to when, "
        "and who pays?",
        "Water: {number} water points are on the map. How much may be drawn, from when to "
        "when, and who pays?",
        points,
    )


def _access(gates: int) -> str:
    if not gates:
        return _(
            "Access: no gate is on the map. Which way, at what hours, with what vehicle?"
        )
    return plural(
        "Access: one gate is on the map. Which way, at what hours, with what vehicle?",
        "Access: {number} gates are on the map. Which way, at what hours, with what "
        "vehicle?",
        gates,
    )


def _changes(plan: Plan) -> tuple[Block, ...]:
    """Changes around that were reckoned: nothing is done without the owner's word."""
    if not plan.what_ifs:
        return ()
    units = plan.site.settings.units
    return (
        Heading(_("Changes around that we looked into")),
        Text(
            _(
                "Nothing of this is done without your word, and that of neighbours below."
            )
        ),
        Points(
            tuple(
                f"{outcome.name}: {say(outcome.facts[0], units)}"
                for outcome in plan.what_ifs[:4]
            )
        ),
    )
