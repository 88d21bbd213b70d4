"""What to buy and cut, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldmap.show.text import names, quantities
from fieldmap.show.text.language import _, later, plural
from layers.cover import COVERS

if TYPE_CHECKING:
    from fieldmap.decide.materials.cutting import Pattern
    from fieldmap.decide.materials.model import Materials
    from fieldmap.show.text.quantities import Units
    from fieldmap.show.text.sentence import Sentence

ITEMS = {
    "pipe": later("pipe, stock lengths"),
    "stake": later("end stakes, capped"),
    "bag": later("bags of sand or gravel, if every bed keeps its own"),
    "stone": later("stones, if every bed keeps its own"),
    "tie": later("ties for gathered ends"),
    "clip": later("clips, two on each hoop"),
    "ridge_cord": later("cord along the ridge under film, ends tied down"),
    "bow": later("bows of walk-in tunnels"),
    "ground_post": later("ground posts of walk-in tunnels"),
    "purlin": later("purlin pipe of walk-in tunnels"),
    "tunnel_film": later("film for walk-in tunnels, ends within"),
}


def item(name: str) -> str:
    """What a line of the list is about: an item, or a kind of cover."""
    return _(ITEMS[name]) if name in ITEMS else names.cover(COVERS[name].name)


def cutting_list(materials: Materials, units: Units) -> list[str]:
    """How many stock lengths are cut into which pieces."""
    stock = quantities.length(materials.stock_m, units)
    return [_cut(pattern, stock, units) for pattern in materials.cutting]


def _cut(pattern: Pattern, stock: str, units: Units) -> str:
    parts = [
        _("{count} of {length}").format(count=count, length=quantities.pipe(m, units))
        for m, count in pattern.pieces
    ]
    return plural(
        "From {number} length of {stock} cut {parts} each; {rest} is left of each.",
        "From {number} lengths of {stock} cut {parts} each; {rest} is left of each.",
        pattern.times,
        stock=stock,
        parts=names.listed(parts),
        rest=quantities.pipe(pattern.rest_m, units),
    )


SENTENCES: dict[str, Sentence] = {
    "no_hoops_counted": later(
        "No bed gets a cover in this plan, so no hoops are counted: name crops and "
        "covers in site.toml."
    ),
    "weights_let_go": later(
        "Weights as counted let a closed cover go at about {speed}, give or take a "
        "quarter, and sooner with one end open. Beyond that bury the edges, rope the "
        "cover across, or take it off the day before."
    ),
    "edges_buried": later(
        "Edges are buried a hand deep in a trench on both sides: the firmest way, and "
        "the slowest to open."
    ),
    "walk_in_rough": later(
        "What is counted for walk-in tunnels is an order of magnitude: bows every "
        "{spacing}, {purlins} purlins. The maker's plan has the numbers; wind and "
        "snow are for the maker's engineer and the local code."
    ),
    "peak_flow": later(
        "Peak flow is that of a downpour of {rain} an hour; take the figure of your "
        "local rain tables. Lead it to where it harms nobody, and not onto the next "
        "tunnel."
    ),
}
