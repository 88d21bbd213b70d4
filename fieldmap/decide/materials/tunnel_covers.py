"""Fabric on low hoops inside walk-in tunnels, and shade cloth roped over their film.

Sizes, spacings and what is left free are common practice, no source.
"""

import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
import pandas as pd

from fieldmap.decide.calendar import shade_need
from fieldmap.decide.calendar.planting_dates import Dates
from fieldmap.decide.materials.cover_size import arc_m
from fieldmap.decide.tunnels import END_M, TunnelPlace, floor_bed_count
from fieldmap.model.crops import Crop
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import DAYS, NORTH, WEEKS, SeasonYear, week_of
from fieldmap.model.settings import Settings, TunnelSize
from layers import hoop

INNER_EDGE_M, INNER_END_M = 0.1, 0.25  # of fabric on the ground, out of the wind
INNER_SPACING_M = 1.5
READY_DAYS = 7  # fabric lies ready before the first cold night
# A cloth ends above the side vents, and is roped across from side to side.
VENT_M, ROPE_SPACING_M, ROPE_END_M = 1.2, 2.0, 1.0
LAP_M = 0.1  # of two widths of cloth
# Air of a vented tunnel in sun over that outside.
VENTED_LIFT_C = 4.0
FILM, FABRIC_INSIDE = 1, 2  # places in `in_tunnels.COVERS`
WORTH_DAYS = 7.0  # fabric that wins less is not worth its hoops (a choice)
SUMMER_CLASSES = ("tender", "warm_loving")


class ColdSpan(NamedTuple):
    """First and last day on which a crop wants fabric inside, on cold nights."""

    first: int
    last: int
    crop: str


class InnerFabric(NamedTuple):
    """Fabric on low hoops over the beds inside one tunnel.

    Attributes
    ----------
    spans
        In spring and in autumn, by the crop for which it wins most days.
    beds, length_m
        Beds side by side on the floor, and their length.
    strip_width_m, strip_length_m
        Of the fabric over one bed.
    hoops, cut_m
        Of all beds, and the pipe of one.
    """

    tunnel: str
    kind: str
    spans: tuple[ColdSpan, ...]
    beds: int
    length_m: float
    strip_width_m: float
    strip_length_m: float
    hoops: int
    cut_m: float

    @property
    def fabric_m(self) -> float:
        """Length of all strips together."""
        return self.beds * self.strip_length_m


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
    """What goes into and over all walk-in tunnels.

    Attributes
    ----------
    unwanted
        Facts about what was asked for and is of no use.
    """

    inner: tuple[InnerFabric, ...] = ()
    shades: tuple[TunnelShade, ...] = ()
    season: SeasonYear = NORTH
    unwanted: tuple[Fact, ...] = ()

    def facts(self) -> Iterator[Fact]:
        """What each tunnel gets, from when to when, and how."""
        for inner in self.inner:
            told = inner._asdict() | {"fabric_m": inner.fabric_m, "cover": inner.kind}
            told["spans"] = [
                Fact("cold_span", crop=crop, span=self._span(first, last))
                for first, last, crop in inner.spans
            ]
            del told["kind"]
            yield Fact("inner_fabric", **told)
        for shade in self.shades:
            told = shade._asdict() | {"cloth_m": shade.cloth_m, "cover": shade.kind}
            told["span"] = self._span(shade.from_day, shade.to_day)
            del told["from_day"], told["to_day"], told["kind"]
            yield Fact("tunnel_shade", **told)
        yield from self.unwanted
        if self.inner:
            yield Fact("inner_fabric_opened")
        if self.shades:
            yield Fact("tunnel_shade_from_ground")

    def _span(self, first: int, last: int) -> Fact:
        days = self.season.month_day(first), self.season.month_day(last)
        return Fact("day_span", first_day=days[0], last_day=days[1])

    def by_week_m(self) -> dict[str, list[float]]:
        """By kind, the length that is out in each week."""
        found: dict[str, list[float]] = {}
        uses = [
            *(
                (each.kind, span[:2], each.fabric_m)
                for each in self.inner
                for span in each.spans
            ),
            *(
                (each.kind, (each.from_day, each.to_day), each.cloth_m)
                for each in self.shades
            ),
        ]
        for kind, (first, last), length_m in uses:
            weeks = found.setdefault(kind, [0.0] * WEEKS)
            for week in range(week_of(first), week_of(last) + 1):
                weeks[week] += length_m
        return found


NONE_INSIDE = TunnelCovers()


def plan_covers(
    settings: Settings,
    places: Sequence[TunnelPlace],
    within: Dates,
    floor_mj_m2_day: Sequence[Sequence[float]],
    tmax_c: pd.Series,
    season: SeasonYear,
) -> TunnelCovers:
    """What each tunnel whose size asks for it gets.

    Parameters
    ----------
    within
        Dates inside the tunnels, under `in_tunnels.COVERS`.
    floor_mj_m2_day
        By tunnel: light on its floor by month, January first.
    """
    if not within.known:
        return NONE_INSIDE
    inner, shades, unwanted = [], [], []
    for at, place in enumerate(places):
        if place.size.inner_fabric is not None:
            spans = tuple(_cold_spans(within, at))
            found = inner_fabric(place.name, place.size, spans, settings)
            inner += [] if found is None else [found]
            unwanted += [] if spans else [Fact("tunnel_no_fabric", tunnel=place.name)]
        if place.size.shaded:
            light = floor_mj_m2_day[at]
            shade = _shade(place, within.crops, light, tmax_c, season, settings)
            shades += [] if shade is None else [shade]
            unwanted += [] if shade else [Fact("tunnel_no_shade", tunnel=place.name)]
    return TunnelCovers(tuple(inner), tuple(shades), season, tuple(unwanted))


def _cold_spans(within: Dates, tunnel: int) -> Iterator[ColdSpan]:
    """Days on which fabric inside does what film alone does not, in spring and autumn.

    Of all crops that for which it wins most days; none where that is under the week
    that a cover must win to be worth the work.
    """
    early, late = (
        np.ceil(days[1, :, :, tunnel]) for days in (within.early, within.late)
    )
    names = [each.name for each in within.crops]
    for days, first, last in (
        (early, FABRIC_INSIDE, FILM),
        (late, FILM, FABRIC_INSIDE),
    ):
        with np.errstate(invalid="ignore"):  # what never comes wins nothing
            won = days[:, last] - days[:, first]
        won[~np.isfinite(won)] = 0.0
        crop = int(np.argmax(won))
        if won[crop] < WORTH_DAYS:
            continue
        ahead = 0 if first == FABRIC_INSIDE else READY_DAYS
        begins = max(days[crop, first] - ahead, 1)
        yield ColdSpan(int(begins), int(min(days[crop, last] - 1, DAYS)), names[crop])


def inner_fabric(
    tunnel: str,
    size: TunnelSize,
    spans: tuple[ColdSpan, ...],
    settings: Settings,
) -> InnerFabric | None:
    """Fabric over as many beds as lie side by side on the floor; None for none."""
    beds, hoops = settings.beds, settings.materials
    number = floor_bed_count(size, beds)
    length_m = size.length_m - 2 * END_M
    if size.inner_fabric is None or not (number and spans):
        return None
    over_m = arc_m(hoops.hoop_bend, beds.bed_width_m, hoops.hoop_height_m)
    return InnerFabric(
        tunnel=tunnel,
        kind=size.inner_fabric,
        spans=spans,
        beds=number,
        length_m=length_m,
        strip_width_m=over_m + 2 * INNER_EDGE_M,
        strip_length_m=length_m + 2 * INNER_END_M,
        hoops=number * hoop.hoop_count(length_m, INNER_SPACING_M),
        cut_m=math.ceil(100 * (over_m + 2 * hoops.leg_m) - 1e-9) / 100,
    )


def _shade(
    place: TunnelPlace,
    crops: Sequence[Crop],
    floor_mj_m2_day: Sequence[float],
    tmax_c: pd.Series,
    season: SeasonYear,
    settings: Settings,
) -> TunnelShade | None:
    """Cloth over a tunnel in the months too hot for the first of its crops that wants it.

    Its crops of the hot months are those that frost kills; None where none wants shade.
    """
    owned = [each.kind for each in settings.covers if each.kind in shade_need.ON_SALE]
    for crop in crops:
        if crop.crop_class.value not in SUMMER_CLASSES:
            continue
        wanted = shade_need.need(
            crop, tmax_c + VENTED_LIFT_C, floor_mj_m2_day, owned, season=season
        )
        if wanted.kind is None or wanted.months is None:
            continue
        first, last = wanted.months
        ends = season.day_of(last) + int(shade_need.MONTH_DAYS[last - 1]) - 1
        rolls_m = [each.width_m for each in settings.covers if each.kind == wanted.kind]
        return shade_over(
            place.name,
            place.size,
            (wanted.kind, crop.name),
            (season.day_of(first), ends),
            max(rolls_m or settings.materials.roll_widths_m),
        )
    return None


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
    what
        Kind of cloth, and the crop under it.
    """
    over_m = arc_m("half ellipse", size.width_m, size.height_m)
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
