"""Two pages for the landowner: what is proposed, what it looks like, what is agreed."""

from collections.abc import Iterable, Iterator, Sequence

import geopandas as gpd

from fieldmap.decide.crop_plan.model import Stay
from fieldmap.decide.ranking import RankedBed
from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.decide.what_if import Effect
from fieldmap.show.print import paper
from fieldmap.show.print.site_plan import SitePlan
from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, translated
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import fill, say, say_all
from fieldmap.show.text.site.analysis import named_pockets

WORDS, REASONS, COLD, THINGS, SEASONS, TALK, CAUTIONS = (
    texts("fieldmap.show.text.print.landowner", table)
    for table in ("sheet", "reasons", "cold", "things", "seasons", "talk", "cautions")
)
MOST_POCKETS = 4
LEAST_COLD_M2 = 10.0  # of a plot in a pocket, for it to be named
# Of the season-year: 10 April, 19 July, 10 October and 20 January, or half a year on
# in the south.
SEASON_DAYS = (100, 200, 283, 20)
MOST_CHANGES = 4


def blocks(
    beds: Sequence[RankedBed],
    drawn: SitePlan,
    pockets: gpd.GeoDataFrame,
    years: tuple[int, int] | None,
    stays: Sequence[Stay],
    effects: Sequence[Effect],
    width_mm: float,
) -> tuple[paper.Block, ...]:
    """The two pages; `years` are those of the record from which dates come."""
    first = [each.bed.plot for each in beds if each.ranks.early == 1]
    reasons = _reasons(
        first if len(first) < len(beds) else (),
        _cold_places(named_pockets(pockets)[:MOST_POCKETS], drawn.plots),
        drawn.tunnels,
        years,
        drawn.units,
    )
    return (
        *_proposal(drawn, tuple(reasons), width_mm),
        paper.NewPage(),
        paper.Heading(_("Through the year")),
        paper.Drawings(_seasons(drawn, stays, width_mm), across=4),
        paper.Heading(_("To talk about")),
        paper.Points(tuple(_to_talk_about(drawn))),
        *_changes(effects, drawn.units),
        paper.cautions(_("What we mind"), CAUTIONS),
        paper.Heading(_("Agreed")),
        paper.Lines(translated(WORDS["agreed"])),
    )


def _proposal(
    drawn: SitePlan, reasons: tuple[str, ...], width_mm: float
) -> tuple[paper.Block, ...]:
    """What is proposed, why, and what comes onto the ground."""
    units, beds = drawn.units, len(drawn.beds)
    planted_m2 = round(sum((bed.area_m2 for bed in drawn.beds), 0.0), 0)
    lead = fill(
        WORDS["lead"],
        units,
        number=beds,
        ground_m2=round(float(drawn.plots.geometry.area.sum()), 0),
        planted_m2=planted_m2,
        built=fill(WORDS["built"], units, number=len(drawn.tunnels)),
    )
    things = (
        _thing("beds", units, number=beds, area_m2=planted_m2),
        *(
            _thing("tunnel", units, tunnel=each.name, **dict(each.size))
            for each in drawn.tunnels
        ),
        _thing("hoops", units),
        (_(THINGS["water"]), ""),
        _thing("old", units),
    )
    return (
        paper.Text(lead),
        drawn.whole((width_mm, 122.0)).drawing(_(WORDS["plan"]), _(WORDS["plan_key"])),
        paper.Heading(_("Why just so")),
        paper.Points(reasons or (_(REASONS["none"]),)),
        paper.Heading(_(WORDS["stays"])),
        paper.Text(_(WORDS["fill_in"])),
        paper.Table(
            translated(WORDS["agreement"]),
            tuple((*row, "", "", "") for row in things),
            (3.2, 2.4, 1.6, 2.0, 1.4),
        ),
    )


def _thing(kind: str, units: Units, **values: object) -> tuple[str, ...]:
    """What comes onto the ground, and how much of it."""
    return tuple(fill(text, units, **values) for text in THINGS[kind])


def _reasons(
    first_plots: Iterable[str],
    cold_places: Sequence[str],
    tunnels: Iterable[TunnelPlace],
    years: tuple[int, int] | None,
    units: Units,
) -> Iterator[str]:
    """Why just so; `years` are those of the record from which dates come."""
    first = list(dict.fromkeys(first_plots))
    if first:
        yield fill(REASONS["first"], units, plots=first)
    if cold_places:
        yield fill(REASONS["cold"], units, places=cold_places)
    for each in tunnels:
        reasons = " ".join(say_all(each.reasons[:2], units))
        yield fill(REASONS["tunnel"], units, tunnel=each.name, reasons=reasons)
    if years is not None:
        yield fill(REASONS["record"], units, first=years[0], last=years[1])


def _cold_places(pockets: gpd.GeoDataFrame, plots: gpd.GeoDataFrame) -> list[str]:
    """Where cold air collects, by names that the plan shows or everybody there knows."""
    found = []
    for pocket, behind in zip(pockets.geometry, pockets["behind"], strict=True):
        shared_m2 = plots.geometry.intersection(pocket).area
        inside = names.listed(list(plots["name"][shared_m2 >= LEAST_COLD_M2]))
        key = ("behind" if behind else "low") + ("_in" if inside else "")
        found.append(_(COLD[key]).format(thing=behind, plots=inside))
    return list(dict.fromkeys(found))


def _to_talk_about(drawn: SitePlan) -> Iterator[str]:
    """What has no answer yet."""
    kinds, units = list(drawn.surroundings["kind"]), drawn.units
    yield fill(TALK["water"], units, number=kinds.count("water point"))
    roof_m2 = sum(each.size.length_m * each.size.width_m for each in drawn.tunnels)
    if roof_m2:
        gallons = roof_m2 * quantities.FEET_PER_METRE**2 * 0.623  # of an inch of rain
        litres = roof_m2 * 25  # a millimetre of rain on a square metre is a litre
        yield fill(
            TALK[f"roof_{units}"],
            units,
            gallons=f"{gallons:,.0f}",
            litres=f"{litres:,.0f}",
        )
    yield fill(TALK["access"], units, number=kinds.count("gate"))
    yield from translated((TALK["permit"], TALK["neighbours"]))


def _seasons(
    drawn: SitePlan, stays: Sequence[Stay], width_mm: float
) -> tuple[paper.Drawing, ...]:
    """What one sees in the middle of each season, covers as the plan lays them."""
    room_mm = width_mm / 4 - 4, 70.0
    drawings = []
    for day, says, caption in zip(
        SEASON_DAYS, SEASONS["plans"], SEASONS["keys"], strict=True
    ):
        covered = {
            stay.bed: use.kind
            for stay in stays
            for use in stay.covers
            if use.from_day <= day <= use.to_day
        }
        green = {stay.bed for stay in stays if stay.from_day <= day <= stay.to_day}
        seen = fill(
            SEASONS["covered" if covered else "bare"],
            drawn.units,
            number=len(covered) or len(green),
            crops=len(green),
            beds=len(drawn.beds),
        )
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
        paper.Heading(_(WORDS["changes"])),
        paper.Text(_(WORDS["your_word"])),
        paper.Points(
            tuple(
                f"{effect.name}: {say(effect.facts[0], units)}"
                for effect in effects[:MOST_CHANGES]
            )
        ),
    )
