"""Hoops, covers, weights and pipe: lengths, numbers, what to buy and how to cut it.

Figures without a source are common practice; where they differ the safer one is taken.
"""

from __future__ import annotations

import math
from collections import Counter
from typing import TYPE_CHECKING, NamedTuple

from fieldmap.decide.materials import cutting
from fieldmap.decide.materials.cover_size import arc_m, cover_size, is_film, rolls
from fieldmap.decide.materials.model import Line, LowTunnel, Materials, Roof
from fieldmap.errors import PlanError
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _, later, plural
from layers import hoop
from layers.cover import COVERS

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from fieldmap.decide.crop_plan import CropPlan
    from fieldmap.decide.ranking import RankedBed
    from fieldmap.decide.tunnels import TunnelPlace
    from fieldmap.model.settings import Materials as Choices
    from fieldmap.model.site import Site

__all__ = ["ITEMS", "Line", "LowTunnel", "Materials", "Roof", "make"]

# All common practice, no source.
FABRIC_SPACING_M, FILM_SPACING_M = 1.5, 1.0
FABRIC_LEG_M, FILM_LEG_M = 0.16, 0.30
WIND_PLANNED_M_S = 15.0  # a fresh gale's gusts; beyond it film comes off the day before
WIDEST_GAP_M = 1.5
STONE_KG = 10.0
# Of a walk-in tunnel, orders of magnitude.
BOW_SPACING_M = 1.2
PURLINS = 3
ITEMS = {
    "pipe": (later("pipe, stock lengths"), "pieces"),
    "stake": (later("end stakes, capped"), "pieces"),
    "bag": (later("bags of sand or gravel, if every bed keeps its own"), "pieces"),
    "stone": (later("stones, if every bed keeps its own"), "pieces"),
    "tie": (later("ties for gathered ends"), "pieces"),
    "clip": (later("clips, two on each hoop"), "pieces"),
    "ridge_cord": (later("cord along the ridge under film, ends tied down"), "m"),
    "bow": (later("bows of walk-in tunnels"), "pieces"),
    "ground_post": (later("ground posts of walk-in tunnels"), "pieces"),
    "purlin": (later("purlin pipe of walk-in tunnels"), "m"),
    "tunnel_film": (later("film for walk-in tunnels, ends within"), "m²"),
}
RUNOFF = 0.95  # of rain on film (rational method; common practice)


def make(
    site: Site,
    beds: Sequence[RankedBed],
    tunnels: Sequence[TunnelPlace],
    plan: CropPlan,
) -> Materials:
    """The whole list.

    Raises
    ------
    PlanError
        When a hoop is longer than a stock length.
    """
    choices = site.settings.materials
    kinds = plan.hoop_covers
    low = tuple(
        _low_tunnel(
            ranked,
            kinds[ranked.bed.name],
            choices,
            _widths(site, kinds[ranked.bed.name]),
        )
        for ranked in beds
        if ranked.bed.name in kinds
    )
    pieces = Counter[float]()
    for each in low:
        pieces[round(each.cut_m, 2)] += each.hoops
    try:
        patterns = cutting.cut(pieces, choices.pipe_length_m, choices.saw_m)
    except ValueError as error:
        raise PlanError(
            _(
                "site.toml, [materials]: {problem}; give a longer pipe_length_m, or a "
                "lower hoop_height_m"
            ).format(problem=error)
        ) from error
    needs = [*_low_needs(low, plan, len(patterns), choices), *_walk_in_needs(tunnels)]
    return Materials(
        low_tunnels=low,
        lines=tuple(_line(need, site) for need in needs),
        cutting=cutting.together(patterns),
        stock_m=choices.pipe_length_m,
        roofs=tuple(_roof(each, choices.rain_mm_h) for each in tunnels),
        rain_mm_h=choices.rain_mm_h,
        remarks=tuple(_remarks(site, low, tunnels)),
    )


def _widths(site: Site, kind: str) -> tuple[float, ...]:
    """Widths of rolls of a kind: those that are owned, else those on sale."""
    owned = tuple(c.width_m for c in site.settings.covers if c.kind == kind)
    return owned or site.settings.materials.roll_widths_m


def _low_tunnel(
    ranked: RankedBed, kind: str, choices: Choices, widths: Sequence[float]
) -> LowTunnel:
    bed = ranked.bed
    film = is_film(kind)
    usual_m = FILM_SPACING_M if film else FABRIC_SPACING_M
    spacing_m = choices.hoop_spacing_m or usual_m
    leg_m = choices.leg_m or (FILM_LEG_M if film else FABRIC_LEG_M)
    over_m = arc_m(choices.hoop_bend, bed.width_m, choices.hoop_height_m)
    size = cover_size(kind, bed.width_m, bed.length_m, choices)
    used = rolls(size, widths)
    gap_m, weight_kg = _anchor(bed.width_m, choices)
    both_edges = 2 * (math.ceil(bed.length_m / gap_m - 1e-9) + 1) if gap_m else 0
    return LowTunnel(
        bed=bed.name,
        kind=kind,
        length_m=bed.length_m,
        span_m=bed.width_m,
        height_m=choices.hoop_height_m,
        hoops=hoop.hoop_count(bed.length_m, spacing_m),
        spacing_m=spacing_m,
        leg_m=leg_m,
        cut_m=math.ceil(100 * (over_m + 2 * leg_m) - 1e-9) / 100,
        cover_width_m=used.cover_width_m,
        cover_length_m=size.length_m,
        roll_width_m=used.roll_width_m,
        joins=used.joins,
        anchors=both_edges,
        anchor_gap_m=gap_m,
        lets_go_m_s=hoop.letting_go_m_s(gap_m, bed.width_m, weight_kg)
        if gap_m
        else None,
    )


def _anchor(width_m: float, choices: Choices) -> tuple[float, float]:
    """Gap between weights on an edge, 0 for a trench, and the mass of one."""
    if choices.anchor == "trench":
        return 0.0, 0.0
    weight_kg = choices.bag_kg if choices.anchor == "bags" else STONE_KG
    gap_m = hoop.bag_spacing_m(WIND_PLANNED_M_S, width_m, weight_kg)
    return round(min(gap_m, WIDEST_GAP_M), 2), weight_kg


class _Need(NamedTuple):
    """How much of an item, and whether it is an order of magnitude."""

    item: str
    amount: float
    rough: bool


def _low_needs(
    low: Sequence[LowTunnel], plan: CropPlan, pipes: int, choices: Choices
) -> Iterator[_Need]:
    """Of all low tunnels; of a cover as much as its fullest week wants."""
    if not low:
        return
    yield _Need("pipe", float(pipes), rough=False)
    yield _Need("stake", 2.0 * len(low), rough=False)
    weights = {"bags": "bag", "stones": "stone"}.get(choices.anchor)
    if weights:
        yield _Need(weights, float(sum(each.anchors for each in low)), rough=False)
    yield _Need("tie", 4.0 * len(low), rough=False)
    under_film_m = sum(each.cover_length_m for each in low if is_film(each.kind))
    if under_film_m:
        yield _Need("ridge_cord", math.ceil(under_film_m), rough=False)
    yield _Need("clip", 2.0 * sum(each.hoops for each in low), rough=False)
    for account in plan.covers:
        # What more would win stands with what goes where; it is no part of this plan.
        # A cover that is joined from several widths takes as many lengths of roll.
        joins = max(
            (each.joins for each in low if each.kind == account.kind), default=0
        )
        wanted_m = account.most_used_m * (1 + joins)
        if wanted_m:
            yield _Need(account.kind, math.ceil(wanted_m - 1e-9), rough=False)


def _walk_in_needs(tunnels: Sequence[TunnelPlace]) -> Iterator[_Need]:
    """Of all walk-in tunnels, as orders of magnitude."""
    if not tunnels:
        return
    bows = [hoop.hoop_count(each.length_m, BOW_SPACING_M) for each in tunnels]
    yield _Need("bow", float(sum(bows)), rough=True)
    yield _Need("ground_post", 2.0 * sum(bows), rough=True)
    yield _Need(
        "purlin", float(sum(PURLINS * each.length_m for each in tunnels)), rough=True
    )
    film_m2 = 0.0
    for each in tunnels:
        over_m = arc_m("half ellipse", each.width_m, each.height_m)
        ends_m2 = 2 * math.pi / 4 * each.width_m * each.height_m
        film_m2 += (over_m + 1.0) * (each.length_m + 2.0) + ends_m2
    yield _Need("tunnel_film", math.ceil(film_m2), rough=True)


def _line(need: _Need, site: Site) -> Line:
    choices, item = site.settings.materials, need.item
    what, unit = ITEMS.get(item, ("", "m"))
    owned_m = sum(c.length_m for c in site.settings.covers if c.kind == item)
    on_hand = owned_m + sum(
        each.amount for each in choices.on_hand if each.item == item
    )
    buy = max(need.amount - on_hand, 0.0)
    price = next((p.each for p in choices.prices if p.item == item), None)
    return Line(
        item,
        _(what) if what else quantities.cover(COVERS[item].name),
        unit,
        need.amount,
        on_hand,
        buy,
        need.rough,
        None if price is None else round(price * buy, 2),
    )


def _roof(place: TunnelPlace, rain_mm_h: float) -> Roof:
    """A millimetre of rain on a square metre is a litre; peak by the rational method."""
    area_m2 = place.length_m * place.width_m
    return Roof(place.name, area_m2, 25.0 * area_m2, peak_l_s(area_m2, rain_mm_h))


def peak_l_s(area_m2: float, rain_mm_h: float) -> float:
    """Flow off a roof in a downpour: runoff × intensity × area (rational method).

    Examples
    --------
    >>> round(peak_l_s(211.7, 50.0), 2)
    2.79
    """
    return RUNOFF * rain_mm_h * area_m2 / 3600.0


def _remarks(
    site: Site, low: Sequence[LowTunnel], tunnels: Iterable[TunnelPlace]
) -> Iterator[str]:
    units = site.settings.units
    if not low:
        yield _(
            "No bed gets a cover in this plan, so no hoops are counted: name crops and "
            "covers in site.toml."
        )
    weighed = sorted({each.lets_go_m_s for each in low if each.lets_go_m_s is not None})
    if weighed:
        speed = quantities.speed(weighed[0], units)
        yield _(
            "Weights as counted let a closed cover go at about {speed}, give or take a "
            "quarter, and sooner with one end open. Beyond that bury the edges, rope the "
            "cover across, or take it off the day before."
        ).format(speed=speed)
    if site.settings.materials.anchor == "trench" and low:
        yield _(
            "Edges are buried a hand deep in a trench on both sides: the firmest way, and "
            "the slowest to open."
        )
    if list(tunnels):
        yield _(
            "What is counted for walk-in tunnels is an order of magnitude: bows every "
            "{spacing}, {purlins} purlins. The maker's plan has the numbers; wind and "
            "snow are for the maker's engineer and the local code."
        ).format(spacing=quantities.length(BOW_SPACING_M, units), purlins=PURLINS)
        yield _(
            "Peak flow is that of a downpour of {rain} an hour; take the figure of your "
            "local rain tables. Lead it to where it harms nobody, and not onto the next "
            "tunnel."
        ).format(rain=quantities.rain(site.settings.materials.rain_mm_h, units))


def cut_words(materials: Materials, units: quantities.Units) -> list[str]:
    """The cutting list in sentences."""
    stock = quantities.length(materials.stock_m, units)
    said = []
    for pattern in materials.cutting:
        parts = quantities.listed(
            [
                _("{count} of {length}").format(
                    count=count, length=quantities.pipe(m, units)
                )
                for m, count in pattern.pieces
            ]
        )
        said.append(
            plural(
                "From {number} length of {stock} cut {parts} each; {rest} is left of "
                "each.",
                "From {number} lengths of {stock} cut {parts} each; {rest} is left of "
                "each.",
                pattern.times,
                stock=stock,
                parts=parts,
                rest=quantities.pipe(pattern.rest_m, units),
            )
        )
    return said


def by_kind(low: Iterable[LowTunnel]) -> Mapping[str, list[LowTunnel]]:
    """Low tunnels by their cover."""
    kinds: dict[str, list[LowTunnel]] = {}
    for each in low:
        kinds.setdefault(each.kind, []).append(each)
    return kinds
