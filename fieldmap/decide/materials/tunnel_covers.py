"""Shade cloth roped over the film of walk-in tunnels, and fabric on low hoops inside.

Fabric inside is a cover of the crop plan like any other; what is worked out here is the
cloth over the film, and what is said of both. Sizes, spacings and what is left free are
common practice, no source.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple, Protocol

import pandas as pd

from fieldmap.decide.calendar import shade_need
from fieldmap.decide.layout.beds import Bed, joined
from fieldmap.decide.materials.cover_size import arc_m
from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.model.crops import Crop
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import DAYS, NORTH, WEEKS, SeasonYear, week_of
from fieldmap.model.settings import Settings, TunnelSize
from layers import hoop

# All common practice, no source. A cloth ends above the side vents, and is roped across
# from side to side.
VENT_M, ROPE_SPACING_M, ROPE_END_M = 1.2, 2.0, 1.0
LAP_M = 0.1  # of two widths of cloth
# Air of a vented tunnel in sun over that outside.
VENTED_LIFT_C = 4.0
LEAST_DAYS = 7  # for which cloth is not worth pulling up (a choice)


class UsesCover(Protocol):
    """A cover over a stay, from one day to another, both within."""

    @property
    def kind(self) -> str:
        """In the names of `layers.cover`."""
        ...

    @property
    def from_day(self) -> int:
        """First day."""
        ...

    @property
    def to_day(self) -> int:
        """Last day."""
        ...


class Stands(Protocol):
    """A crop's time on a bed inside a tunnel."""

    @property
    def crop(self) -> str:
        """Its name."""
        ...

    @property
    def bed(self) -> str:
        """Of the bed."""
        ...

    @property
    def from_day(self) -> int:
        """Sown or set out."""
        ...

    @property
    def harvest_day(self) -> int:
        """First harvest."""
        ...

    @property
    def to_day(self) -> int:
        """Last harvest."""
        ...

    @property
    def covers(self) -> Sequence[UsesCover]:
        """Over it on low hoops."""
        ...

    def length_m(self, bed_m: float) -> float:
        """Of the bed that it takes."""
        ...


class Within(NamedTuple):
    """What is known of one walk-in tunnel.

    Attributes
    ----------
    floor_mj_m2_day
        Light on its floor by month, January first.
    bed_m
        Length of its beds.
    stays
        On them.
    """

    place: TunnelPlace
    floor_mj_m2_day: Sequence[float]
    bed_m: float
    stays: Sequence[Stands]


def within(
    places: Sequence[TunnelPlace],
    floor_mj_m2_day: Sequence[Sequence[float]],
    floor: Sequence[Bed],
    stays: Sequence[Stands],
) -> list[Within]:
    """Each tunnel with what stands in it; none where nothing stands anywhere.

    Parameters
    ----------
    places
        Walk-in tunnels where they stand.
    floor_mj_m2_day
        For each tunnel the light on its floor by month [MJ/m² a day], January first.
    floor
        Beds inside tunnels.
    stays
        Stays on all beds, indoors and outdoors.
    """
    if not stays:
        return []
    found = []
    for place, light in zip(places, floor_mj_m2_day, strict=True):
        beds_m = {bed.name: bed.length_m for bed in floor if bed.tunnel == place.name}
        there = [stay for stay in stays if stay.bed in beds_m]
        found.append(Within(place, light, max(beds_m.values(), default=0.0), there))
    return found


class TunnelShade(NamedTuple):
    """Cloth over the film of one tunnel.

    Attributes
    ----------
    from_day, to_day
        First and last day on which it hangs.
    widths, width_m, length_m
        Widths of roll side by side, with laps; the width of one, and its length.
    ropes, rope_m
        Across the top, from the ground to the ground; length of one.
    """

    tunnel: str
    kind: str
    crop: str
    from_day: int
    to_day: int
    widths: int
    width_m: float
    length_m: float
    ropes: int
    rope_m: float

    @property
    def cloth_m(self) -> float:
        """Length of roll."""
        return self.widths * self.length_m


class TunnelCovers(NamedTuple):
    """What goes over all walk-in tunnels, and what is said of that and of fabric inside.

    Attributes
    ----------
    inside
        Facts about fabric inside, and about what was asked for and is of no use.
    """

    shades: tuple[TunnelShade, ...] = ()
    season: SeasonYear = NORTH
    inside: tuple[Fact, ...] = ()

    def facts(self) -> Iterator[Fact]:
        """What each tunnel gets, from when to when, and how."""
        for shade in self.shades:
            values = shade._asdict() | {"cloth_m": shade.cloth_m, "cover": shade.kind}
            values["span"] = _span(self.season, shade.from_day, shade.to_day)
            del values["from_day"], values["to_day"], values["kind"]
            yield Fact("tunnel_shade", **values)
        yield from self.inside
        if any(fact.kind == "inner_fabric" for fact in self.inside):
            yield Fact("inner_fabric_opened")
        if self.shades:
            yield Fact("tunnel_shade_from_ground")

    def by_week_m(self) -> dict[str, list[float]]:
        """By kind, the length of cloth that hangs in each week."""
        found: dict[str, list[float]] = {}
        for each in self.shades:
            weeks = found.setdefault(each.kind, [0.0] * WEEKS)
            for week in range(week_of(each.from_day), week_of(each.to_day) + 1):
                weeks[week] += each.cloth_m
        return found


NONE_INSIDE = TunnelCovers()


def plan_covers(
    settings: Settings,
    tunnels: Sequence[Within],
    crops: Sequence[Crop],
    tmax_c: pd.Series,
    season: SeasonYear,
    idle_m: Mapping[str, float],
) -> TunnelCovers:
    """What each tunnel whose size asks for it gets, by what stands in it.

    Parameters
    ----------
    settings
        What the grower owns and chose: covers, and rolls on sale.
    tunnels
        Each tunnel with the light on its floor and what stands in it.
    crops
        Crops of all stays.
    tmax_c
        Daily maxima of the record, of the air outside [°C], by date; NaN for days that
        are not known.
    season
        The year of growing, in which days are numbered.
    idle_m
        By kind that is owned, the length that no week uses.
    """
    by_name = {crop.name: crop for crop in crops}
    shades, inside = [], []
    for each in tunnels:
        name, size = each.place.name, each.place.size
        if size.inner_fabric is not None:
            inside.append(_inner(each, size.inner_fabric, season, idle_m))
        if size.shaded:
            shade = _shade(each, by_name, tmax_c, season, settings)
            shades += [] if shade is None else [shade]
            inside += [] if shade else [Fact("tunnel_no_shade", tunnel=name)]
    return TunnelCovers(tuple(shades), season, tuple(inside))


def _span(season: SeasonYear, first: int, last: int) -> Fact:
    days = season.month_day_of_any_year(first), season.month_day_of_any_year(last)
    return Fact("day_span", first_day=days[0], last_day=days[1])


def _inner(
    within: Within, kind: str, season: SeasonYear, idle_m: Mapping[str, float]
) -> Fact:
    """From when to when fabric lies inside, and over which crops; or why it does not."""
    name = within.place.name
    spans = dict.fromkeys(
        (use.from_day, use.to_day, stay.crop)
        for stay in within.stays
        for use in stay.covers
        if use.kind == kind
    )
    if spans:
        said = [
            Fact("cold_span", crop=crop, span=_span(season, first, last))
            for first, last, crop in sorted(spans)
        ]
        return Fact("inner_fabric", tunnel=name, cover=kind, spans=said)
    if kind not in idle_m:
        return Fact("tunnel_fabric_not_owned", tunnel=name, cover=kind)
    # A bed's length that lies idle all year could have lain here.
    is_free = idle_m[kind] >= within.bed_m
    why = "tunnel_fabric_gains_little" if is_free else "tunnel_fabric_in_use"
    return Fact(why, tunnel=name, cover=kind)


def _shade(
    within: Within,
    crops: Mapping[str, Crop],
    tmax_c: pd.Series,
    season: SeasonYear,
    settings: Settings,
) -> TunnelShade | None:
    """Cloth over a tunnel while what stands in it is too hot and has too much light.

    By the crop that wants it on most metres for most days; None where none does.
    """
    owned = [each.kind for each in settings.covers if each.kind in shade_need.ON_SALE]
    spans: dict[tuple[str, str], list[tuple[int, int, float]]] = {}
    for stay in within.stays:
        crop = crops[stay.crop]
        wanted = shade_need.need(
            crop,
            tmax_c + VENTED_LIFT_C,
            within.floor_mj_m2_day,
            owned,
            season=season,
        )
        if wanted.kind is None or wanted.months is None:
            continue
        first, last = _while_it_stands(crop, stay, wanted.months, season)
        if last - first + 1 >= LEAST_DAYS:
            metres = stay.length_m(within.bed_m)
            spans.setdefault((crop.name, wanted.kind), []).append((first, last, metres))
    if not spans:
        return None
    name, kind = max(spans, key=lambda key: sum(_metre_days(*e) for e in spans[key]))
    days = spans[name, kind]
    rolls_m = [each.width_m for each in settings.covers if each.kind == kind]
    return shade_over(
        within.place.name,
        within.place.size,
        (kind, name),
        (min(each[0] for each in days), max(each[1] for each in days)),
        max(rolls_m or settings.materials.roll_widths_m),
    )


def _metre_days(first: int, last: int, length_m: float) -> float:
    return (last - first + 1) * length_m


def _while_it_stands(
    crop: Crop, stay: Stands, months: tuple[int, int], season: SeasonYear
) -> tuple[int, int]:
    """First and last day of hot months on which a crop wants shade, both within."""
    on, off = season.day_of(months[0]), season.day_of(months[1])
    off += int(shade_need.MONTH_DAYS[months[1] - 1]) - 1
    # Near the equator hot months may go on where the season-year begins anew.
    hot = [(on, off)] if on <= off else joined([(on, DAYS), (1, off)], touch=1)
    begins, ends = shade_need.stage_days(
        crop, stay.from_day, stay.harvest_day, stay.to_day
    )
    spans = [(max(first, begins), min(last, ends, DAYS)) for first, last in hot]
    return max(spans, key=lambda span: span[1] - span[0])


def shade_over(
    tunnel: str,
    size: TunnelSize,
    what: tuple[str, str],
    days: tuple[int, int],
    roll_m: float,
) -> TunnelShade:
    """Cloth over the top of a tunnel down to its side vents, and ropes across it.

    Parameters
    ----------
    tunnel
        Name of the tunnel.
    size
        Its size.
    what
        Kind of cloth, and the crop under it.
    days
        First and last day on which it hangs, as day numbers of the season-year.
    roll_m
        Width of one roll of cloth.
    """
    over_m = arc_m("half ellipse", size.width_m, size.height_m)
    # Of a low tunnel little is left between the vents: at least half its width is shaded.
    cloth_m = max(over_m - 2 * VENT_M, size.width_m / 2)
    more = max(cloth_m - roll_m, 0.0) / (roll_m - LAP_M)
    return TunnelShade(
        tunnel,
        *what,
        *days,
        widths=1 + math.ceil(more - 1e-9),
        width_m=roll_m,
        length_m=size.length_m,
        ropes=hoop.hoop_count(size.length_m, ROPE_SPACING_M),
        rope_m=float(math.ceil(over_m + 2 * ROPE_END_M - 1e-9)),
    )
