"""Frame and film of walk-in tunnels as orders of magnitude, and the rain off them."""

import math
from collections.abc import Iterator, Sequence

from fieldmap.decide.materials.cover_size import arc_m
from fieldmap.decide.materials.model import Need, Roof
from fieldmap.model.settings import TunnelSize
from layers import hoop

BOW_SPACING_M = 1.2
PURLINS = 3
RUNOFF = 0.95  # of rain on film (rational method; common practice)


def walk_in_needs(sizes: Sequence[TunnelSize]) -> Iterator[Need]:
    """Of all walk-in tunnels; the makers' plans have the numbers."""
    if not sizes:
        return
    bows = sum(hoop.hoop_count(each.length_m, BOW_SPACING_M) for each in sizes)
    yield Need("bow", float(bows), rough=True)
    yield Need("ground_post", 2.0 * bows, rough=True)
    purlins_m = sum(PURLINS * each.length_m for each in sizes)
    yield Need("purlin", float(purlins_m), rough=True)
    yield Need("tunnel_film", math.ceil(sum(map(_film_m2, sizes))), rough=True)


def _film_m2(size: TunnelSize) -> float:
    """Half a metre into the ground on each side, a metre beyond each end, both ends."""
    over_m = arc_m("half ellipse", size.width_m, size.height_m)
    ends_m2 = 2 * math.pi / 4 * size.width_m * size.height_m
    return (over_m + 1.0) * (size.length_m + 2.0) + ends_m2


def roof(tunnel: str, size: TunnelSize, rain_mm_h: float) -> Roof:
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
