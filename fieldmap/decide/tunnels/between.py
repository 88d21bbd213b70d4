"""What walk-in tunnels take from each other's light, and the gap that would not."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from fieldmap.analyse.fields import LightFields
from fieldmap.analyse.light import shade
from fieldmap.analyse.light.standing_things import standing_things
from fieldmap.decide.tunnels.model import TunnelPlace
from fieldmap.decide.tunnels.standing import as_surroundings
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import SeasonYear

Floats = npt.NDArray[np.float64]

SOLSTICE_DEG = 23.44  # how far the sun stands from the equator on 21 December and June
SAID_FROM_PERCENT = 1.0  # of the light of a month
SECTORS = 180


def noon_gap_m(height_m: float, bearing_deg: float, latitude: float) -> float | None:
    """Gap between facing sides [m] that lets the noon sun of the shortest day in.

    The ridge throws a shadow of height / tan(noon sun), away from the equator; across
    parallel ridges it reaches that times the sine of their angle to north. None where
    the sun does not rise that noon.

    Parameters
    ----------
    height_m
        Height of the tunnel nearer to the equator.
    bearing_deg
        Bearing of both ridges, from true north.
    latitude
        Latitude of the place [°], negative in the south.

    Examples
    --------
    At 45° the sun stands 21.56° high, and a ridge of 3 m reaches 7.59 m:

    >>> round(noon_gap_m(3.0, 90.0, 45.0), 2), noon_gap_m(3.0, 90.0, 70.0)
    (7.59, None)
    """
    sun_deg = 90.0 - abs(latitude) - SOLSTICE_DEG
    if sun_deg <= 0:
        return None
    reach_m = height_m / np.tan(np.radians(sun_deg))
    return float(reach_m * abs(np.sin(np.radians(bearing_deg))))


class Sky(NamedTuple):
    """The open light before tunnels stand, and where on earth it is."""

    light: LightFields
    season: SeasonYear
    latitude: float


def shade_between(sky: Sky, places: Sequence[TunnelPlace]) -> list[tuple[Fact, ...]]:
    """For each tunnel what the others of its set take from its light, if anything."""
    return [
        tuple(
            fact
            for other in places
            if other is not place
            for fact in _taken(sky, place, other)
        )
        for place in places
    ]


def _taken(sky: Sky, place: TunnelPlace, other: TunnelPlace) -> Iterator[Fact]:
    lost = lost_percent(sky, place, other)
    if not lost.max() >= SAID_FROM_PERCENT:
        return
    months = [
        Fact("light_lost_in", month=month, percent=round(each))
        for month, each in enumerate(lost.tolist(), start=1)
        if each >= SAID_FROM_PERCENT
    ]
    gap_m = noon_gap_m(other.size.height_m, place.bearing_deg, sky.latitude)
    yield Fact(
        "tunnel_shaded" if gap_m is not None else "tunnel_shaded_without_noon_sun",
        other=other.name,
        gap_m=place.outline.distance(other.outline),
        noon_gap_m=gap_m,
        shortest_day=(sky.season.local_month(12), 21),
        months=months,
    )


def lost_percent(sky: Sky, place: TunnelPlace, other: TunnelPlace) -> Floats:
    """Share of the light on the open floor that another tunnel takes, (12,) [%].

    January first. The other is a box that lets `standing.FILM_TWICE` of the light through.

    Parameters
    ----------
    sky
        The open light before tunnels stand, and where on earth it is.
    place
        The tunnel whose floor is looked at.
    other
        The tunnel that stands in its light.
    """
    open_mj = sky.light.level_sun_mj_m2_day
    standing = as_surroundings([other], open_mj.crs)
    things = standing_things(standing, southern=sky.season.southern)
    # What already stands around takes its part in any case: here the other tunnel alone.
    alone = replace(sky.light.shade, things=things)
    points = _on_floor(place)
    level = shade.PARTS.index("level")
    kept = alone.kept_at(points, SECTORS)[level].mean(axis=1)
    light = open_mj.sample(*points.T).mean(axis=1)
    dark = np.zeros(12)
    return np.asarray(100.0 * np.divide(kept, light, out=dark, where=light > 0))


def _on_floor(place: TunnelPlace) -> Floats:
    """Points spread evenly on the floor: ten along, four across."""
    middle = place.outline.centroid
    corners = np.array(place.outline.exterior.coords)[:4]
    sides = np.diff(corners[:3], axis=0)
    long, short = sorted(sides, key=lambda side: -np.hypot(*side))
    along, across = ((np.arange(count) + 0.5) / count - 0.5 for count in (10, 4))
    s, t = (each.ravel() for each in np.meshgrid(along, across))
    return np.asarray(
        (middle.x, middle.y) + s[:, np.newaxis] * long + t[:, np.newaxis] * short
    )
