"""Two pages for the landowner: what is proposed, what it looks like, what is agreed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldmap import words
from fieldmap.alternatives import sentences as what_if_sentences
from fieldmap.sheets import plans, signs
from fieldmap.sheets.paper import (
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
    cautions,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldmap.plan import Plan

# Days of the season-year: 10 April, 19 July, 10 October and 20 January, or half a year
# on in the south.
SEASONS = {"Spring": 100, "High summer": 200, "Autumn": 283, "Winter": 20}


def blocks(plan: Plan, paper: Paper) -> tuple[Block, ...]:
    """The two pages."""
    width_mm = INNER_MM[paper][0]
    return (
        Text(_lead(plan)),
        plans.whole(plan, (width_mm, 100.0)).drawing(
            "A plan of the plots with beds, tunnels and what stands around.",
            "Thick lines: your ground. Narrow strips: beds. Hatched boxes with a T: "
            "walk-in tunnels, which one can stand in.",
        ),
        Heading("Why just so"),
        Points(_why(plan)),
        Heading("What stays, and what goes"),
        Text(
            "Fill in together. A line that is left empty is not agreed.",
        ),
        Table(
            ("What", "How much", "Stays until", "Who takes it away", "By when"),
            tuple((*row, "", "", "") for row in _things(plan)),
            (3.2, 2.4, 1.6, 2.0, 1.4),
        ),
        NewPage(),
        Heading("Through the year"),
        Drawings(_seasons(plan, width_mm), across=4),
        Heading("To talk about"),
        Points(_to_talk_about(plan)),
        *_changes(plan),
        cautions(
            "What we mind",
            (
                (
                    "Before any post goes in, we have buried lines located, and ask you "
                    "about private water, power, septic tank and drains: locators do not "
                    "mark those.",
                    signs.BURIED,
                ),
                (
                    "No tunnel and no long pipe near overhead lines. Their owner decides "
                    "how near.",
                    signs.WIRES,
                ),
                (
                    "Storm and snow: tunnels go up by their maker's plan and the local "
                    "code. Film comes off or is lashed before a gale, and before snow.",
                    signs.WIND,
                ),
                (
                    "Tunnels are not places to live in or to heat with an open flame. "
                    "They are opened on sunny days.",
                    signs.FUMES,
                ),
            ),
        ),
        Heading("Agreed"),
        Lines(
            (
                "This holds from, and until:",
                "Landowner, date:",
                "Grower, date:",
            )
        ),
    )


def _lead(plan: Plan) -> str:
    units = plan.site.settings.units
    ground = words.area(round(float(plan.site.plots.geometry.area.sum())), units)
    planted = words.area(round(sum(each.bed.area_m2 for each in plan.beds)), units)
    tunnels = len(plan.tunnels)
    built = {
        0: "No walk-in tunnel is planned.",
        1: "One walk-in tunnel is planned.",
    }.get(tunnels, f"{tunnels} walk-in tunnels are planned.")
    return (
        f"We would like to grow vegetables on {ground} of your ground. {planted} of it "
        f"would be planted, in {len(plan.beds)} narrow beds with paths between. Low hoops "
        "with cloth or clear film over them keep frost off in spring and autumn, and "
        f"shade cloth keeps beds cool in summer. {built} Beds are made by hand; hoops, "
        "cloth and tunnels can be taken away again."
    )


def _why(plan: Plan) -> tuple[str, ...]:
    """What the reckoning said, in a few lines."""
    said = []
    first = [each for each in plan.beds if each.early_rank == 1]
    if first and len(first) < len(plan.beds):
        names = words.listed(list(dict.fromkeys(each.bed.plot for each in first)))
        said.append(f"The ground that can be planted first lies in: {names}.")
    if len(plan.pockets):
        names = words.listed([str(name) for name in plan.pockets["name"]][:4])
        said.append(
            f"On still nights cold air collects in these places: {names}. Tender plants "
            "keep out of them."
        )
    said += [
        f"Tunnel {each.name}: {' '.join(each.reasons[:2])}" for each in plan.tunnels
    ]
    if plan.dates.are_told:
        said.append(
            "The dates we work with come from the weather record "
            f"of {plan.site.weather.years[0]} to {plan.site.weather.years[1]}. They are "
            "odds, and no promise."
        )
    return tuple(said) or ("No place stands out on this ground.",)


def _things(plan: Plan) -> tuple[tuple[str, str], ...]:
    units = plan.site.settings.units
    beds = sum(each.bed.area_m2 for each in plan.beds)
    rows = [
        ("Beds and paths", f"{len(plan.beds)} beds, {words.area(round(beds), units)}")
    ]
    rows += [
        (
            f"Walk-in tunnel {each.name}",
            f"{words.length(each.length_m, units)} long, "
            f"{words.length(each.width_m, units)} wide, "
            f"{words.length(each.height_m, units)} tall",
        )
        for each in plan.tunnels
    ]
    rows += [
        ("Low hoops, cloth and film, pegs and bags", "out of sight when not in use"),
        ("Water pipe and taps", ""),
        ("Old film and worn cloth", "taken away, never burnt or buried"),
    ]
    return tuple(rows)


def _seasons(plan: Plan, width_mm: float) -> tuple[Drawing, ...]:
    """What one sees in the middle of each season, covers as the plan lays them."""
    room = width_mm / 4 - 4, 70.0
    drawings = []
    for season, day in SEASONS.items():
        covered = {
            turn.bed: use.kind
            for turn in plan.turns.turns
            for use in turn.covers
            if use.from_day <= day <= use.to_day
        }
        drawn = plans.whole(plan, room, covered, names=False)
        drawings.append(
            drawn.drawing(
                f"The plots in {season.lower()}.",
                f"{season}. {_seen(plan, covered, day)}",
            )
        )
    return tuple(drawings)


def _seen(plan: Plan, covered: Mapping[str, str], day: int) -> str:
    """How many beds carry a crop, and how many of them a cover."""
    green = {
        turn.bed for turn in plan.turns.turns if turn.from_day <= day <= turn.to_day
    }
    crops = f"{len(green)} of {len(plan.beds)} beds carry a crop"
    if not covered:
        return f"{crops}; none is covered."
    return f"{crops}; {len(covered)} lie under cloth or film."


def _to_talk_about(plan: Plan) -> tuple[str, ...]:
    units = plan.site.settings.units
    things = plan.site.surroundings
    kinds = list(things["kind"])
    roof_m2 = sum(each.length_m * each.width_m for each in plan.tunnels)
    said = [
        f"Water: {_count(kinds, 'water point')}. How much may be drawn, from when to "
        "when, and who pays?"
    ]
    if roof_m2:
        # A millimetre of rain on a square metre is a litre.
        rain = f"{roof_m2 * 25:,.0f} litres of every 25 mm of rain"
        if units == "us":
            rain = f"{roof_m2 * words.FEET_PER_METRE**2 * 0.623:,.0f} gallons of every inch"
        said.append(f"Roof water: the tunnels shed {rain}. Where may it run?")
    return (
        *said,
        f"Access: {_count(kinds, 'gate')}. Which way, at what hours, with what vehicle?",
        "Permit: ask the local office whether a tunnel needs one, and how far it must "
        "keep from the boundary. Insurance: whose cover holds for people, tunnel and "
        "crops?",
        "Neighbours: film glints and rattles; spray may drift over from fields near by. "
        "Tell them before it is built.",
    )


def _count(kinds: list[str], kind: str) -> str:
    number = kinds.count(kind)
    if number == 0:
        return f"no {kind} is on the map"
    return (
        f"one {kind} is on the map"
        if number == 1
        else f"{number} {kind}s are on the map"
    )


def _changes(plan: Plan) -> tuple[Block, ...]:
    """Changes around that were reckoned: nothing is done without the owner's word."""
    if not plan.alternatives:
        return ()
    units = plan.site.settings.units
    return (
        Heading("Changes around that we looked into"),
        Text(
            "Nothing of this is done without your word, and that of neighbours below."
        ),
        Points(
            tuple(
                f"{outcome.name}: {what_if_sentences(outcome, units)[0]}"
                for outcome in plan.alternatives[:4]
            )
        ),
    )
