"""Why a tunnel stands at a place, and what to do there."""

from collections.abc import Iterator

import numpy as np

from fieldmap.decide.layout.bearings import apart_deg
from fieldmap.decide.tunnels import search
from fieldmap.decide.tunnels.model import GroundUnder, TunnelPlace, WindThere
from fieldmap.decide.tunnels.search import Candidates
from fieldmap.model.fact import Fact

SQUARE_TO_BREEZE_DEG = 30.0  # so near to square, side vents catch the breeze (a choice)
END_ON_DEG = 30.0  # so near to the ridge a wind comes end on (a choice)
WATER_M2 = 200.0  # more ground than this above a tunnel sends water worth a ditch
SHELTERED = 0.95  # with so much of the open wind or more nothing shelters


def reasons(
    place: TunnelPlace,
    candidates: Candidates,
    storm_from_deg: float | None,
    convergence_deg: float,
) -> Iterator[Fact]:
    """Of a place among the others with room."""
    ground, winter = place.ground, place.light.winter_mj_m2_day
    warmer_c = place.offset_c.central - float(np.nanmedian(candidates.offset_c))
    yield Fact("tunnel_slope", along=ground.along_percent, across=ground.across_percent)
    light = winter / float(np.nanmax(candidates.sun))
    yield Fact("tunnel_winter_light", percent=round(100 * min(light, 1.0)))
    yield Fact("tunnel_still_night", difference_c=warmer_c)
    yield Fact(
        "tunnel_earth", level_m3=ground.level_pad_m3, sloping_m3=ground.sloping_pad_m3
    )
    yield Fact("tunnel_room", number=candidates.compared)
    if _is_steep(ground):
        yield Fact("tunnel_ground_steep")
    if place.rain.from_m2 >= WATER_M2:
        to_deg = place.rain.to_deg + convergence_deg
        yield Fact(
            "tunnel_rain", ground_m2=round(place.rain.from_m2, -1), way_to_deg=to_deg
        )
    yield from _wind(place.bearing_deg, place.wind, storm_from_deg)


def _is_steep(ground: GroundUnder) -> bool:
    return (
        ground.along_percent > search.ALONG_LIMIT_PERCENT
        or ground.across_percent > search.ACROSS_LIMIT_PERCENT
    )


def _wind(
    bearing_deg: float, wind: WindThere, storm_from_deg: float | None
) -> Iterator[Fact]:
    if storm_from_deg is None:
        yield Fact("no_storm_wind_given")
    else:
        off_deg = apart_deg(bearing_deg, storm_from_deg)
        kind = (
            "tunnel_end_to_storm" if off_deg <= END_ON_DEG else "tunnel_side_to_storm"
        )
        yield Fact(kind, storm_from_deg=storm_from_deg, angle=round(off_deg))
        if wind.storm_share is not None and wind.storm_share < SHELTERED:
            yield Fact("tunnel_sheltered", percent=round(100 * wind.storm_share))
    if wind.off_breeze_deg is not None:
        catches = wind.off_breeze_deg <= SQUARE_TO_BREEZE_DEG
        yield Fact("tunnel_faces_breeze" if catches else "tunnel_along_breeze")
