"""What to buy for low and walk-in tunnels, less what is there."""

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.materials import cutting
from fieldmap.decide.materials.cover_size import arc_m, is_film
from fieldmap.decide.materials.hoop_ground import storms
from fieldmap.decide.materials.low_tunnels import low_tunnel
from fieldmap.decide.materials.model import Line, LowTunnel, Materials, Need, Roof
from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.errors import PlanError, problem
from fieldmap.model import settings
from fieldmap.model.fact import Fact
from layers import hoop

BOW_SPACING_M = 1.2
PURLINS = 3
CARRIED_KG = 1000.0  # above it buried edges or rope are proposed (a choice)
RUNOFF = 0.95  # of rain on film (rational method; common practice)
# Units of items; covers are counted in metres.
PIECES = ("pipe", "stake", "bag", "stone", "tie", "clip", "bow", "ground_post")
UNITS = dict.fromkeys(PIECES, "pieces") | {
    "ridge_cord": "m",
    "purlin": "m",
    "tunnel_film": "m²",
}


def make(
    choices: settings.Materials,
    owned: Sequence[settings.Cover],
    beds: Sequence[Bed],
    tunnels: Sequence[TunnelPlace],
    hoop_covers: Mapping[str, str],
    used_m: Mapping[str, float],
    *,
    storm_from_deg: float | None = None,
) -> Materials:
    """The whole list.

    Parameters
    ----------
    hoop_covers
        Bed -> the kind of cover that its hoops are built for; none for a bare bed.
    used_m
        Kind of cover -> length that lies out in the week that wants most.

    Raises
    ------
    PlanError
        When a hoop is longer than a stock length.
    """
    low = []
    for bed in beds:
        if bed.name in hoop_covers:
            kind = hoop_covers[bed.name]
            widths_m = tuple(each.width_m for each in owned if each.kind == kind)
            widths_m = widths_m or choices.roll_widths_m
            low.append(low_tunnel(bed, kind, choices, widths_m))
    patterns = _cut(low, choices)
    needs = [
        *_low_needs(low, used_m, sum(each.times for each in patterns), choices.anchor),
        *_walk_in_needs([each.size for each in tunnels]),
    ]
    return Materials(
        low_tunnels=tuple(low),
        lines=tuple(_line(need, choices, owned) for need in needs),
        cutting=patterns,
        stock_m=choices.pipe_length_m,
        roofs=tuple(_roof(each.name, each.size, choices.rain_mm_h) for each in tunnels),
        rain_mm_h=choices.rain_mm_h,
        remarks=(
            *_in_turn(low, used_m),
            *_remarks(choices, low, has_tunnels=bool(tunnels)),
            *storms(beds, [each.bed for each in low], storm_from_deg),
        ),
    )


def _cut(
    low: Sequence[LowTunnel], choices: settings.Materials
) -> tuple[cutting.Pattern, ...]:
    pieces = Counter[float]()
    for each in low:
        pieces[round(each.cut_m, 2)] += each.hoops
    try:
        return cutting.cut(pieces, choices.pipe_length_m, choices.saw_m)
    except ValueError as error:
        raise PlanError(
            problem(
                "site.toml, [materials]: {problem}; give a longer pipe_length_m, or a "
                "lower hoop_height_m",
                problem=error.args[0],
            )
        ) from error


def _low_needs(
    low: Sequence[LowTunnel], used_m: Mapping[str, float], pipes: int, anchor: str
) -> Iterator[Need]:
    """Of all low tunnels; of a cover as much as its fullest week wants."""
    if not low:
        return
    yield Need("pipe", float(pipes))
    yield Need("stake", 2.0 * len(low))
    if anchor != "trench":
        weights = float(sum(each.anchors for each in low))
        yield Need("bag" if anchor == "bags" else "stone", weights)
    yield Need("tie", 4.0 * len(low))
    under_film_m = sum(each.cover_length_m for each in low if is_film(each.kind))
    if under_film_m:
        yield Need("ridge_cord", math.ceil(under_film_m))
    yield Need("clip", 2.0 * sum(each.hoops for each in low))
    # What more would win stands with what goes where; it is no part of this plan.
    for kind, most_m in used_m.items():
        # A cover that is joined from several widths takes as many lengths of roll.
        joins = max((each.joins for each in low if each.kind == kind), default=0)
        if most_m:
            yield Need(kind, math.ceil(most_m * (1 + joins) - 1e-9))


def _in_turn(low: Sequence[LowTunnel], used_m: Mapping[str, float]) -> Iterator[Fact]:
    """Covers that go from bed to bed, so that less is needed than their beds add up to."""
    for kind, most_m in used_m.items():
        beds_m = sum(each.cover_length_m for each in low if each.kind == kind)
        if 0 < most_m < beds_m - 1:  # less is rounding
            yield Fact("cover_in_turn", cover=kind, length_m=most_m, beds_m=beds_m)


def _walk_in_needs(sizes: Sequence[settings.TunnelSize]) -> Iterator[Need]:
    """Of all walk-in tunnels; the makers' plans have the numbers."""
    if not sizes:
        return
    bows = sum(hoop.hoop_count(each.length_m, BOW_SPACING_M) for each in sizes)
    yield Need("bow", float(bows), rough=True)
    yield Need("ground_post", 2.0 * bows, rough=True)
    purlins_m = sum(PURLINS * each.length_m for each in sizes)
    yield Need("purlin", float(purlins_m), rough=True)
    yield Need("tunnel_film", math.ceil(sum(map(_film_m2, sizes))), rough=True)


def _film_m2(size: settings.TunnelSize) -> float:
    """Half a metre into the ground on each side, a metre beyond each end, both ends."""
    over_m = arc_m("half ellipse", size.width_m, size.height_m)
    ends_m2 = 2 * math.pi / 4 * size.width_m * size.height_m
    return (over_m + 1.0) * (size.length_m + 2.0) + ends_m2


def _roof(tunnel: str, size: settings.TunnelSize, rain_mm_h: float) -> Roof:
    """A millimetre of rain on a square metre is a litre; peak by the rational method."""
    area_m2 = size.length_m * size.width_m
    return Roof(tunnel, area_m2, 25.0 * area_m2, peak_l_s(area_m2, rain_mm_h))


def peak_l_s(area_m2: float, rain_mm_h: float) -> float:
    """Flow off a roof in a downpour: runoff × intensity × area (rational method).

    Examples
    --------
    >>> round(peak_l_s(211.7, 50.0), 2)
    2.79
    """
    return RUNOFF * rain_mm_h * area_m2 / 3600.0


def _anchoring(low: Sequence[LowTunnel]) -> Iterator[Fact]:
    """Mass and spacing of weights, what is carried, and the gust that they hold."""
    total_kg = sum(each.anchors_kg for each in low)
    yield Fact(
        "weights_hold",
        number=sum(each.anchors for each in low),
        weight_kg=low[0].anchor_kg,
        gap_m=min(each.anchor_gap_m for each in low),
        total_kg=total_kg,
        speed_m_s=min(each.holds_to_m_s or math.inf for each in low),
    )
    if total_kg > CARRIED_KG:
        yield Fact("weights_are_heavy", total_kg=total_kg)


def _line(
    need: Need, choices: settings.Materials, owned: Sequence[settings.Cover]
) -> Line:
    on_hand = sum(each.length_m for each in owned if each.kind == need.item)
    on_hand += sum(each.amount for each in choices.on_hand if each.item == need.item)
    buy = max(need.amount - on_hand, 0.0)
    price = next((p.each for p in choices.prices if p.item == need.item), None)
    return Line(
        item=need.item,
        unit=UNITS.get(need.item, "m"),
        need=need.amount,
        on_hand=on_hand,
        buy=buy,
        rough=need.rough,
        cost=None if price is None else round(price * buy, 2),
    )


def _remarks(
    choices: settings.Materials, low: Sequence[LowTunnel], *, has_tunnels: bool
) -> Iterator[Fact]:
    if not low:
        yield Fact("no_hoops_counted")
    if choices.anchor != "trench" and low:
        yield from _anchoring(low)
    if choices.anchor == "trench" and low:
        yield Fact("edges_buried")
    if has_tunnels:
        yield Fact("walk_in_rough", spacing_m=BOW_SPACING_M, purlins=PURLINS)
        yield Fact("peak_flow", rain_mm=choices.rain_mm_h)
