"""What to buy for low and walk-in tunnels, less what is there."""

import math
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence

from fieldmap.decide.layout.beds import Bed, Stretch
from fieldmap.decide.materials import cutting
from fieldmap.decide.materials.at_once import (
    AtOnce,
    at_once,
    gear_of,
    parts_by_week,
    stretches_m,
)
from fieldmap.decide.materials.cover_size import arc_m, is_clipped, is_film
from fieldmap.decide.materials.hoop_ground import storms
from fieldmap.decide.materials.low_tunnels import (
    cut_m,
    hoop_places_m,
    low_tunnel,
    spacing_m,
    weights_around,
)
from fieldmap.decide.materials.model import (
    Line,
    LowTunnel,
    Materials,
    Need,
    Roof,
    WideSheet,
    barrow_trips,
)
from fieldmap.decide.materials.sheets import Sheet, out_by_week_m
from fieldmap.decide.materials.tunnel_covers import (
    NONE_INSIDE,
    TunnelCovers,
    TunnelShade,
)
from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.errors import PlanError, problem
from fieldmap.model import settings
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import WEEKS
from layers import hoop

BOW_SPACING_M = 1.2
PURLINS = 3
CARRIED_KG = 1000.0  # above it buried edges or rope are proposed (a choice)
# A hoop that is lower by a few centimetres serves as well, and is worth the change where
# it saves a tenth of the pipes (choices).
LOWER_CM, WORTH_SHARE = (1, 2, 3, 4, 5), 0.1
RUNOFF = 0.95  # of rain on film (rational method; common practice)
# Units of items; covers are counted in metres.
PIECES = ("pipe", "stake", "bag", "stone", "tie", "clip", "bow", "ground_post")
UNITS = dict.fromkeys(PIECES, "pieces") | {
    "ridge_cord": "m",
    "rope": "m",
    "purlin": "m",
    "tunnel_film": "m²",
}


def make(
    choices: settings.Materials,
    owned: Sequence[settings.Cover],
    beds: Sequence[Bed],
    tunnels: Sequence[TunnelPlace],
    sheets: Sequence[Sheet],
    *,
    inside: TunnelCovers = NONE_INSIDE,
    storm_from_deg: float | None = None,
) -> Materials:
    """What to buy, cut and lead away for low and walk-in tunnels, less what is there.

    Parameters
    ----------
    choices
        What the grower chose of hoops, anchors, pipe and rolls, has on hand and pays.
    owned
        Pieces of cover that are owned.
    beds
        All beds, in the order by which sheets count them.
    tunnels
        Walk-in tunnels where they stand.
    sheets
        Which covers lie over which beds, and when.
    inside
        What goes over walk-in tunnels, and what is said of fabric in them.
    storm_from_deg
        Where the storm wind comes from, clockwise from true north; None where it is not
        given.

    Raises
    ------
    PlanError
        When a hoop is longer than a stock length.
    """
    lengths_m = {place: bed.length_m for place, bed in enumerate(beds)}
    low = _low_tunnels(choices, owned, beds, sheets)
    out = at_once(low, sheets, lengths_m)
    built = tuple(low.values())
    patterns = _cut(out.hoops, choices)
    pipes = _pipes(patterns)
    needs = [
        *_low_needs(out, pipes, choices.anchor),
        *_cover_needs(sheets, inside),
        *_rope(inside.shades),
        *_walk_in_needs([each.size for each in tunnels]),
    ]
    return Materials(
        low_tunnels=built,
        lines=tuple(_line(need, choices, owned) for need in needs),
        cutting=patterns,
        stock_m=choices.pipe_length_m,
        roofs=tuple(_roof(each.name, each.size, choices.rain_mm_h) for each in tunnels),
        rain_mm_h=choices.rain_mm_h,
        remarks=(
            *_in_turn(sheets, inside.by_week_m()),
            *_hoops_in_turn(built, out),
            *_lower_hoops(built, out, choices, pipes),
            *_kept_whole(sheets, owned),
            *inside.facts(),
            *_remarks(choices, built, out, has_tunnels=bool(tunnels)),
            *storms(
                beds, [each.bed for each in built if not each.tunnel], storm_from_deg
            ),
        ),
        inside=inside,
    )


def _low_tunnels(
    choices: settings.Materials,
    owned: Sequence[settings.Cover],
    beds: Sequence[Bed],
    sheets: Sequence[Sheet],
) -> dict[int, LowTunnel]:
    """By place of the bed: hoops for the cover of the year that asks most of them."""
    # Hoops are counted once: what stands for film serves fabric and cloth as well.
    over: dict[int, Sheet] = {}
    for sheet in sheets:
        for place in sheet.places:
            before = over.get(place)
            if before is None or _asks(sheet.kind) > _asks(before.kind):
                over[place] = sheet
    lengths_m = {place: beds[place].length_m for place in over}
    parts = parts_by_week(sheets, lengths_m)
    found = {}
    for place in sorted(over):
        sheet = over[place]
        widths_m = tuple(each.width_m for each in owned if each.kind == sheet.kind)
        under = None
        if sheet.is_whole:
            piece = owned[sheet.piece]
            names = tuple(beds[at].name for at in sheet.places)
            under = WideSheet(names, piece.width_m, piece.length_m)
        found[place] = low_tunnel(
            *(beds[place], sheet.kind, choices, widths_m or choices.roll_widths_m),
            _most_hoops(parts[place], spacing_m(sheet.kind, choices)),
            under,
            stretches_m(sheets, place, lengths_m[place]),
        )
    return {
        place: _laid(place, found, _pieces(sheets, place, each.kind))
        for place, each in found.items()
    }


def _most_hoops(
    by_week: Iterable[Sequence[Stretch]], spacing_m: float
) -> Sequence[Stretch]:
    """Parts of a bed under covers in the first week with most hoops."""
    return max(by_week, key=lambda parts_m: len(hoop_places_m(parts_m, spacing_m)))


def _pieces(sheets: Sequence[Sheet], place: int, kind: str) -> list[Sheet]:
    """Covers of a kind over a bed in the week with most metres of them, from the gate end on."""
    here = [each for each in sheets if place in each.places and each.kind == kind]
    by_week = (
        [each for each in here if each.weeks[0] <= week <= each.weeks[1]]
        for week in range(WEEKS)
    )
    most = max(by_week, key=lambda out: sum(each.length_m for each in out))
    return sorted(most, key=lambda each: each.start_m)


def _laid(
    place: int, low: Mapping[int, LowTunnel], pieces: Sequence[Sheet]
) -> LowTunnel:
    """A low tunnel with the pieces that lie over it at once, and what these take."""
    gap_m = low[place].anchor_gap_m
    return low[place]._replace(
        laid_m=tuple((each.start_m, each.start_m + each.along_m) for each in pieces),
        anchors=sum(weights_around([(each.along_m, gap_m)]) for each in pieces),
        gear=gear_of(pieces, low),
    )


def _asks(kind: str) -> int:
    """What a cover asks of hoops: cloth that is clipped least, film most."""
    return 0 if is_clipped(kind) else 2 if is_film(kind) else 1


def _cut(
    hoops: Mapping[float, int], choices: settings.Materials
) -> tuple[cutting.Pattern, ...]:
    try:
        return cutting.cut(hoops, choices.pipe_length_m, choices.saw_m)
    except ValueError as error:
        raise PlanError(
            problem(
                "site.toml, [materials]: {problem}; give a longer pipe_length_m, or a "
                "lower hoop_height_m",
                problem=error.args[0],
            )
        ) from error


def _pipes(patterns: Sequence[cutting.Pattern]) -> int:
    return sum(each.times for each in patterns)


def _lower_hoops(
    low: Sequence[LowTunnel], out: AtOnce, choices: settings.Materials, pipes: int
) -> Iterator[Fact]:
    """Hoops a little lower, of which more come from each pipe."""
    # The least lowering that gives as few pipes is named: a lower one gains nothing more.
    fewest, best_m = pipes, None
    for lower_cm in LOWER_CM:
        height_m = round(choices.hoop_height_m - lower_cm / 100, 2)
        if height_m < settings.LEAST_HOOP_M:
            break
        now_m = {each.cut_m: cut_m(each.span_m, height_m, choices) for each in low}
        hoops: dict[float, int] = {}
        for length_m, number in out.hoops.items():
            hoops[now_m[length_m]] = hoops.get(now_m[length_m], 0) + number
        needed = _pipes(_cut(hoops, choices))
        if needed < fewest:
            fewest, best_m = needed, height_m
    if best_m is not None and pipes - fewest >= WORTH_SHARE * pipes:
        yield Fact(
            "lower_hoops_fit",
            height_m=choices.hoop_height_m,
            lower_m=best_m,
            pipes=pipes,
            pipes_if_lower=fewest,
            in_site_toml=f"{best_m:g}",
        )


def _low_needs(out: AtOnce, pipes: int, anchor: str) -> Iterator[Need]:
    """Of all low tunnels, as much as stands at once."""
    if not out.hoops_of_all:
        return
    yield Need("pipe", float(pipes))
    if out.stakes:
        yield Need("stake", float(out.stakes))
    if out.weights:
        yield Need("bag" if anchor == "bags" else "stone", float(out.weights))
    if out.ties:
        yield Need("tie", float(out.ties))
    if out.ridge_cord_m:
        yield Need("ridge_cord", out.ridge_cord_m)
    if out.clips:
        yield Need("clip", float(out.clips))


def _cover_needs(sheets: Sequence[Sheet], inside: TunnelCovers) -> Iterator[Need]:
    """Of each kind as much as its fullest week wants, on beds and tunnels together.

    What more would win stands with what goes where; it is no part of this plan.
    """
    on_tunnels = inside.by_week_m()
    for kind in dict.fromkeys([*(sheet.kind for sheet in sheets), *on_tunnels]):
        on_beds = out_by_week_m(each for each in sheets if each.kind == kind)
        there = on_tunnels.get(kind, [0.0] * len(on_beds))
        most_m = max(a + b for a, b in zip(on_beds, there, strict=True))
        yield Need(kind, math.ceil(most_m - 1e-9))


def _rope(shades: Sequence[TunnelShade]) -> Iterator[Need]:
    """Across the tops of all tunnels that are shaded."""
    if shades:
        yield Need("rope", float(sum(each.ropes * each.rope_m for each in shades)))


def _in_turn(sheets: Sequence[Sheet], on_tunnels: Container[str]) -> Iterator[Fact]:
    """Covers that go from bed to bed, so that less is needed than their beds add up to."""
    for kind in dict.fromkeys(sheet.kind for sheet in sheets):
        here = [sheet for sheet in sheets if sheet.kind == kind]
        most_m, beds_m = max(out_by_week_m(here)), sum(each.length_m for each in here)
        if most_m < beds_m - 1:  # less is rounding
            said = "cover_in_turn_on_beds" if kind in on_tunnels else "cover_in_turn"
            yield Fact(said, cover=kind, length_m=most_m, beds_m=beds_m)


def _hoops_in_turn(low: Sequence[LowTunnel], out: AtOnce) -> Iterator[Fact]:
    """Hoops that go from bed to bed as well."""
    of_beds = sum(each.hoops for each in low)
    if out.hoops_of_all < of_beds:
        yield Fact("hoops_in_turn", number=out.hoops_of_all, of_beds=of_beds)


def _kept_whole(
    sheets: Sequence[Sheet], owned: Sequence[settings.Cover]
) -> Iterator[Fact]:
    """Pieces that stay as they are, with the most beds that each lies over."""
    for at, piece in enumerate(owned):
        here = [sheet for sheet in sheets if sheet.piece == at and sheet.is_whole]
        if here:
            yield Fact(
                "piece_kept_whole",
                cover=piece.kind,
                width_m=piece.width_m,
                length_m=piece.length_m,
                number=max(len(sheet.places) for sheet in here),
            )


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


def _anchoring(low: Sequence[LowTunnel], number: int) -> Iterator[Fact]:
    """Mass and spacing of weights, what is carried, and the gust that they hold."""
    held = [each for each in low if each.anchor_gap_m]
    if not held:
        return
    weight_kg = held[0].anchor_kg
    total_kg = number * weight_kg
    trips, at_a_time = barrow_trips(number, weight_kg)
    yield Fact(
        "weights_hold",
        number=number,
        weight_kg=weight_kg,
        carried=Fact("weights_carried", number=trips, at_a_time=at_a_time),
        gap_m=min(each.anchor_gap_m for each in held),
        total_kg=total_kg,
        speed_m_s=min(each.holds_to_m_s or math.inf for each in held),
    )
    if total_kg > CARRIED_KG:
        yield Fact("weights_are_heavy", number=number, weight_kg=weight_kg)


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
    choices: settings.Materials,
    low: Sequence[LowTunnel],
    out: AtOnce,
    *,
    has_tunnels: bool,
) -> Iterator[Fact]:
    if not low:
        yield Fact("no_hoops_counted")
    yield from _anchoring(low, out.weights)
    if choices.anchor == "trench" and low:
        yield Fact("edges_buried")
    if has_tunnels:
        yield Fact("walk_in_rough", spacing_m=BOW_SPACING_M, purlins=PURLINS)
        yield Fact("peak_flow", rain_mm=choices.rain_mm_h)
