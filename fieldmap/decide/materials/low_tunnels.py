"""Hoops, cover and weights of one bed."""

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence

from fieldmap.decide.layout.beds import Bed, Stretch, joined
from fieldmap.decide.materials.cover_size import (
    GATHERED_M,
    TOUCH_M,
    arc_m,
    cover_size,
    is_clipped,
    is_film,
    rolls,
)
from fieldmap.decide.materials.model import Gear, LowTunnel, WideSheet
from fieldmap.model.settings import Materials
from layers import hoop

# All common practice, no source.
FABRIC_SPACING_M, FILM_SPACING_M = 1.5, 1.0
WIND_PLANNED_M_S = 15.0  # a fresh gale's gusts; beyond it film comes off the day before
WIDEST_GAP_M = 1.5
STONE_KG = 10.0
STAKES, TIES = 2, 4  # of a cover whose ends are gathered
CLIPS = 2  # on each hoop of a cover that nothing else holds


def low_tunnel(
    bed: Bed,
    kind: str,
    choices: Materials,
    roll_widths_m: Sequence[float],
    parts_m: Sequence[Stretch],
    under: WideSheet | None = None,
    stretches_m: tuple[Stretch, ...] = (),
) -> LowTunnel:
    """Hoops, cover and weights of a bed, as the grower chose them.

    Parameters
    ----------
    bed
        The bed; in a walk-in tunnel, out of the wind, it gets no weights.
    kind
        Kind of cover, in the names of `layers.cover`.
    choices
        What the grower chose of hoops and anchors.
    roll_widths_m
        Widths of the rolls that are owned or on sale, at least one.
    parts_m
        What lies under covers at once, cover by cover, from the gate end of the bed.
    under
        The whole piece that lies over it, where it is not cut from a roll; else None.
    stretches_m
        Parts of the bed that are covered, from its gate end; empty for all of it.
    """
    length_m = math.fsum(last - first for first, last in joined(parts_m, TOUCH_M))
    between_m = spacing_m(kind, choices)
    size = cover_size(kind, bed.width_m, length_m, choices)
    gap_m, weight_kg = (0.0, 0.0) if bed.tunnel else anchor(kind, bed.width_m, choices)
    made = LowTunnel(
        bed=bed.name,
        kind=kind,
        length_m=length_m,
        span_m=bed.width_m,
        height_m=choices.hoop_height_m,
        hoops_m=hoop_places_m(parts_m, between_m),
        spacing_m=between_m,
        leg_m=choices.leg_m,
        cut_m=cut_m(bed.width_m, choices.hoop_height_m, choices),
        laid_m=tuple(sorted(parts_m)),
        **rolls(size, roll_widths_m)._asdict(),
        anchors=weights_around([(length_m, gap_m)]),
        anchor_gap_m=gap_m,
        anchor_kg=weight_kg,
        lets_go_m_s=hoop.letting_go_m_s(gap_m, bed.width_m, weight_kg)
        if gap_m
        else None,
        under=under,
        tunnel=bed.tunnel,
        stretches_m=stretches_m,
    )
    return made._replace(gear=gear(kind, length_m, [made]))


def hoop_places_m(parts_m: Iterable[Stretch], spacing_m: float) -> tuple[float, ...]:
    """Where hoops stand along a bed, from the end that its parts are measured from [m].

    A hoop at each end of each cover, and as many between as the spacing asks. Where two
    covers meet, one hoop carries both.

    Parameters
    ----------
    parts_m
        Of the bed under covers, cover by cover; they may touch or overlap.
    spacing_m
        Greatest distance from hoop to hoop under a cover.

    Examples
    --------
    >>> hoop_places_m([(3.0, 5.0), (0.0, 3.0), (20.0, 22.0)], 1.5)
    (0.0, 1.5, 3.0, 4.0, 5.0, 20.0, 21.0, 22.0)
    """
    parts = list(parts_m)
    found: list[float] = []
    for first_m, last_m in joined(parts, TOUCH_M):
        ends = (m for part in parts for m in part if first_m <= m <= last_m)
        found.append(first_m)
        for start_m, end_m in itertools.pairwise(_apart(ends)):
            gaps = hoop.hoop_count(end_m - start_m, spacing_m) - 1
            found += [
                start_m + (end_m - start_m) * at / gaps for at in range(1, gaps + 1)
            ]
    return tuple(found)


def _apart(places_m: Iterable[float]) -> Iterator[float]:
    """Places in order, those that touch as one."""
    last_m = -math.inf
    for place_m in sorted(places_m):
        if place_m > last_m + TOUCH_M:
            yield place_m
            last_m = place_m


def gear(
    kind: str, along_m: float, over: Sequence[LowTunnel], width_m: float = 0.0
) -> Gear:
    """What one piece of cover takes besides hoops.

    Cloth that is clipped has open ends. Inside walk-in tunnels no wind is: there covers
    are clipped to the hoops. The ends of a piece over several beds lie flat.

    Parameters
    ----------
    kind
        Kind of cover, in the names of `layers.cover`.
    along_m
        Length of bed under it, without its ends.
    over
        The beds under it, at least one.
    width_m
        Of a piece that lies over several beds.
    """
    if is_clipped(kind) or over[0].tunnel:
        return Gear(clips=sum(clips(along_m, low.spacing_m) for low in over))
    is_gathered = len(over) == 1
    return Gear(
        weights=weights_around([(along_m, low.anchor_gap_m) for low in over], width_m),
        stakes=STAKES if is_gathered else 0,
        ties=TIES if is_gathered else 0,
        cord_m=(along_m + GATHERED_M) * len(over) if is_film(kind) else 0.0,
    )


def clips(along_m: float, spacing_m: float) -> int:
    """Of one cover over one bed, that nothing else holds.

    Parameters
    ----------
    along_m
        Length of bed under it, without its ends.
    spacing_m
        From hoop to hoop.
    """
    return CLIPS * hoop.hoop_count(along_m, spacing_m)


def together(each: Iterable[Gear]) -> Gear:
    """Of several pieces that lie out at once.

    Examples
    --------
    >>> together([Gear(8, 2, 4), Gear(6, 2, 4)])
    Gear(weights=14, stakes=4, ties=8, clips=0, cord_m=0.0)
    """
    found = list(each)
    return Gear(
        weights=sum(it.weights for it in found),
        stakes=sum(it.stakes for it in found),
        ties=sum(it.ties for it in found),
        clips=sum(it.clips for it in found),
        cord_m=math.fsum(it.cord_m for it in found),
    )


def cut_m(span_m: float, height_m: float, choices: Materials) -> float:
    """Length of pipe for one hoop, both legs in the ground, up to the next centimetre.

    Parameters
    ----------
    span_m
        Width of the bed.
    height_m
        Of the crown above the ground.
    choices
        What the grower chose of bend and legs.
    """
    over_m = arc_m(choices.hoop_bend, span_m, height_m)
    return math.ceil(100 * (over_m + 2 * choices.leg_m) - 1e-9) / 100


def spacing_m(kind: str, choices: Materials) -> float:
    """From hoop to hoop under a kind of cover, unless the grower chose it."""
    usual_m = FILM_SPACING_M if is_film(kind) else FABRIC_SPACING_M
    return choices.hoop_spacing_m or usual_m


def weights_around(beds: Sequence[tuple[float, float]], width_m: float = 0.0) -> int:
    """Weights along both sides of each bed, and along the ends of a wide sheet.

    Between two beds a path has the weights of both: each bed pulls with half its uplift.
    The ends of a cover over one bed are gathered and tied.

    Parameters
    ----------
    beds
        Of each bed under the cover its covered length and the gap between weights [m],
        0 for no weights; at least one bed.
    width_m
        Of a sheet that lies over several beds.
    """
    sides = sum(2 * anchors_along(length_m, gap_m) for length_m, gap_m in beds)
    return sides + (2 * anchors_along(width_m, beds[0][1]) if len(beds) > 1 else 0)


def anchors_along(length_m: float, gap_m: float) -> int:
    """Weights along one edge, one at each end; 0 where there are none."""
    return math.ceil(length_m / gap_m - 1e-9) + 1 if gap_m else 0


def anchor(kind: str, width_m: float, choices: Materials) -> tuple[float, float]:
    """Gap between weights on an edge [m], and the mass of one [kg].

    Both are 0 where edges go into a trench, and for shade cloth, which is clipped.
    """
    if choices.anchor == "trench" or is_clipped(kind):
        return 0.0, 0.0
    weight_kg = choices.bag_kg if choices.anchor == "bags" else STONE_KG
    gap_m = hoop.bag_spacing_m(WIND_PLANNED_M_S, width_m, weight_kg)
    return round(min(gap_m, WIDEST_GAP_M), 2), weight_kg
