"""One sheet for a new plot: what to find out before one signs, and what the plan knows."""

import itertools
from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import NamedTuple

import geopandas as gpd

from fieldmap.decide.layout import cautions
from fieldmap.decide.materials import fence
from fieldmap.decide.materials.model import Line
from fieldmap.decide.ranking import RankedBed
from fieldmap.model.surroundings import PIPE_AND_CLEARANCE_M
from fieldmap.show.print import paper
from fieldmap.show.print.ground.ground_facts import ColdPlace, First, surest_first
from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, month_name, translated
from fieldmap.show.text.map.labels import label
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import fill

WORDS = texts("fieldmap.show.text.print.before_you_sign", "sheet")
COLD = texts("fieldmap.show.text.print.landowner", "cold")
TITLES = texts("fieldmap.show.text.print.sheets", "titles")
TUNNEL_PARTS = ("bow", "ground_post", "purlin", "tunnel_film")
YEARS = (3, 5, 10)
HOURS_OF_WATER = 6.0  # of a day, in which one waters (a choice)
MOST_GATES = 3
HOLES_MM = (
    96.0  # width of what stands beside the soil test, in which one plot has a column
)
HOLES_BESIDE_PLOTS_MM = 82.0  # the same, where several plots have one
# Of the soil test; more or longer names leave no room to write in (choices).
MOST_PLOTS, LONGEST_WORD = 4, 9


class Known(NamedTuple):
    """What the plan fills in.

    Attributes
    ----------
    water_l_day
        By month, in a week without rain; empty where that is not worked out.
    lines
        Of the shopping list, with their costs.
    in_grass
        Plots on which nothing is made this year.
    """

    site: str
    plots: gpd.GeoDataFrame
    surroundings: gpd.GeoDataFrame
    beds: Sequence[RankedBed]
    first: First
    cold: Sequence[ColdPlace]
    water_l_day: Mapping[int, float]
    lines: Sequence[Line]
    in_grass: Collection[str] = ()


def blocks(known: Known, units: Units) -> tuple[paper.Block, ...]:
    """The sheet."""
    plots = names.listed([str(name) for name in known.plots["name"]])
    site = " ".join(known.site.split())
    called = site if plots == site else f"{site}: {plots}"
    line = _(WORDS["line"]).format(site_and_plots=called)
    return (
        paper.Head(_(TITLES["before_you_sign"]), (line,)),
        paper.Heading(_(WORDS["says"])),
        paper.Points(tuple(_says(known, units))),
        *_ground(known.beds, [str(name) for name in known.plots["name"]]),
        *_water(known.water_l_day, units),
        *_lease(known.lines),
        *_fence(known, units),
        *_access(known, units),
        paper.Text(_(WORDS["caution"])),
    )


def _says(known: Known, units: Units) -> Iterator[str]:
    """What the map says, in three sentences; of no bed, that none fits."""
    yield _order(known) if known.beds else label("no_beds")
    beds = [ranked.bed for ranked in known.beds]
    if known.cold:
        place = known.cold[0]
        which = ("behind" if place.behind else "low") + ("_in" if place.plots else "")
        where = _(COLD[which]).format(
            thing=place.behind, plots=names.listed(place.plots)
        )
        in_it = len({bed for each in known.cold for bed in each.beds})
        said = _(WORDS["cold" if beds else "cold_without_beds"])
        yield said.format(place=where, number=in_it, all=len(beds))
    else:
        yield _(WORDS["no_cold"])
    if beds:
        yield _falls(known.beds, units)


def _order(known: Known) -> str:
    first = known.first
    if not first.plots:
        return _(WORDS["no_order" if len(known.plots) > 1 else "no_order_of_one"])
    plots = names.listed(first.plots)
    if not first.last_plot or first.days_later is None:
        return _(WORDS["first_alone"]).format(plots=plots)
    return _(WORDS["first"]).format(
        plots=plots, last=first.last_plot, days=f"{first.days_later:.0f}"
    )


def _falls(beds: Sequence[RankedBed], units: Units) -> str:
    falls = sorted(bed.slope_percent for bed in beds)
    return _(WORDS["falls"]).format(
        least=quantities.ground(falls[0], units),
        most=quantities.ground(falls[-1], units),
        area=quantities.area(sum(bed.bed.area_m2 for bed in beds), units),
        number=len(beds),
    )


def _ground(beds: Sequence[RankedBed], plots: Sequence[str]) -> Iterator[paper.Block]:
    """Two holes beside a soil test, then herbicide."""
    several = len(plots) > 1 and _have_columns(plots)
    left_mm = HOLES_BESIDE_PLOTS_MM if several else HOLES_MM
    yield paper.Beside(tuple(_holes(beds)), tuple(_soil(plots)), left_mm)
    yield paper.Heading(_(WORDS["spray"]))
    yield paper.Lines(translated(WORDS["spray_ask"]))
    yield paper.Text(_(WORDS["spray_test"]))


def _holes(beds: Sequence[RankedBed]) -> Iterator[paper.Block]:
    yield paper.Heading(_(WORDS["holes"]))
    yield paper.Text(_hole_where(beds))
    yield _to_fill_in(translated(WORDS["hole_head"]), WORDS["hole_rows"])


def _hole_where(beds: Sequence[RankedBed]) -> str:
    """At the first bed to be planted and at the last, else at both ends of the list.

    Of beds that share a place, at the one that is most surely first, or least. Without two
    beds, anywhere: who digs is warned of pipes and cables all the same.
    """
    if len(beds) < 2:
        return _(WORDS["hole_where_apart"])
    first = surest_first(beds)
    last = max(beds, key=lambda it: (it.ranks.early, -it.earliness.among_first_share))
    if first.ranks.early < last.ranks.early:
        return _(WORDS["hole_where"]).format(first=first.bed.name, last=last.bed.name)
    ends = {"first": beds[0].bed.name, "last": beds[-1].bed.name}
    return _(WORDS["hole_where_alike"]).format(**ends)


def _have_columns(plots: Sequence[str]) -> bool:
    """Whether the soil of each plot has a column of its own under the plot's name."""
    longest = max(len(word) for name in plots for word in name.split())
    return len(plots) <= MOST_PLOTS and longest <= LONGEST_WORD


def _soil(plots: Sequence[str]) -> Iterator[paper.Block]:
    """A test of the soil of each plot."""
    yield paper.Heading(_(WORDS["soil"]))
    if len(plots) == 1:
        yield paper.Text(_(WORDS["soil_how_of_one"]))
        heads = [_(WORDS["soil_found"])]
    elif _have_columns(plots):
        yield paper.Text(_(WORDS["soil_how"]))
        heads = list(plots)
    else:
        yield paper.Text(f"{_(WORDS['soil_how'])} {_(WORDS['soil_copy'])}")
        heads = [_(WORDS["soil_found"])]
    yield _to_fill_in([*heads, _(WORDS["soil_limit"])], WORDS["soil_rows"])


def _to_fill_in(heads: Sequence[str], rows: Sequence[str]) -> paper.Table:
    """A table of which only the first column is written."""
    blank = ("",) * len(heads)
    said = tuple((row, *blank) for row in translated(rows))
    first = 0.5 if len(heads) == 2 else 0.3
    each = (1.0 - first) / len(heads)
    return paper.Table(("", *heads), said, (first, *(each for _head in heads)))


def _water(litres: Mapping[int, float], units: Units) -> Iterator[paper.Block]:
    yield paper.Heading(_(WORDS["water"]))
    if any(litres.values()):
        month = max(litres, key=lambda each: litres[each])
        need = litres[month]
        yield paper.Text(
            _(WORDS["water_need"]).format(
                litres=quantities.water(need, units),
                month=month_name(month),
                flow=_("{amount} a minute").format(
                    amount=quantities.water(need / (60.0 * HOURS_OF_WATER), units)
                ),
            )
        )
    else:
        yield paper.Text(_(WORDS["water_unknown"]))
    yield paper.Lines(translated(WORDS["water_ask"]))


def _lease(lines: Sequence[Line]) -> Iterator[paper.Block]:
    """What each year of a lease has to bear of the tunnels."""
    yield paper.Heading(_(WORDS["lease"]))
    parts = [line for line in lines if line.item in TUNNEL_PARTS]
    costs = [line.cost for line in parts if line.cost is not None]
    if parts and len(costs) == len(parts):
        cost = sum(costs)
        yield paper.Text(_(WORDS["lease_cost"]).format(cost=f"{cost:.0f}"))
        head = tuple(_(WORDS["lease_years"]).format(number=each) for each in YEARS)
        row = tuple(f"{cost / each:.0f}" for each in YEARS)
        yield paper.Table(head, (row,), (1 / 3,) * 3)
    elif parts:
        yield paper.Text(_(WORDS["lease_no_cost"]))
    yield paper.Lines(translated(WORDS["lease_ask"]))


def _fence(known: Known, units: Units) -> Iterator[paper.Block]:
    later = [str(name) for name in known.plots["name"] if name in known.in_grass]
    found = fence.of_plots(known.plots, known.surroundings, later)
    yield paper.Heading(_(WORDS["fence"]))
    yield paper.Table(
        translated(WORDS["fence_head"]),
        tuple(
            (
                each.plot,
                quantities.length(float(round(each.length_m)), units),
                str(each.posts),
                str(each.corner_posts),
                str(each.gates),
            )
            for each in found
        ),
        (0.3, 0.2, 0.15, 0.2, 0.15),
    )
    note = fill(
        WORDS["fence_note"],
        units,
        height_m=fence.HEIGHT_M,
        gap_m=fence.POST_EVERY_M,
        beyond_m=fence.BEYOND_M,
    )
    waits = [_(WORDS["fence_later"]).format(plots=names.listed(later))] if later else []
    # A plot in grass too: who signs for it must know, though its wire and posts wait.
    lines = _lines_above(known.plots, known.surroundings, units)
    yield paper.Text(" ".join([note, *waits, *lines]))


def _lines_above(
    plots: gpd.GeoDataFrame, surroundings: gpd.GeoDataFrame, units: Units
) -> Iterator[str]:
    """Which fences come near an overhead power line."""
    reach_m = PIPE_AND_CLEARANCE_M + fence.BEYOND_M
    above = cautions.within_reach_of_lines(surroundings, plots.geometry, reach_m)
    near = [str(name) for name in itertools.compress(plots["name"], above)]
    if near:
        yield fill(
            WORDS["fence_line"],
            units,
            plots=names.listed(near),
            clearance_m=PIPE_AND_CLEARANCE_M,
        )


def _access(known: Known, units: Units) -> Iterator[paper.Block]:
    """Gates that are drawn, the nearest first, and what is to be asked."""
    yield paper.Heading(_(WORDS["access"]))
    there = known.surroundings
    said = []
    for gate in there[there["kind"] == "gate"].itertuples():
        away_m = known.plots.geometry.distance(gate.geometry)
        plot = str(known.plots["name"].iloc[int(away_m.to_numpy().argmin())])
        width_m = getattr(gate, "width_m", 0.0)
        wide = fill(WORDS["access_wide"], units, width_m=width_m) if width_m > 0 else ""
        which = "access_gate" if away_m.min() >= 1.0 else "access_gate_at"
        sentence = _(WORDS[which]).format(
            name=gate.name,
            away=quantities.length(float(round(away_m.min())), units),
            plot=plot,
            wide=wide,
        )
        said.append((float(away_m.min()), sentence))
    gates = [sentence for _away, sentence in sorted(said)[:MOST_GATES]]
    yield paper.Points(tuple(gates) or (_(WORDS["access_none"]),))
    yield paper.Lines(translated(WORDS["access_ask"]))
