"""What matters of a place for a tunnel: amounts to have little of, each for itself.

Amounts are never added up. Two places differ in one of them only where they are farther
apart in it than `SAME`; all of these are choices.
"""

from typing import NamedTuple

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import shapely

from fieldmap.decide.tunnels.search import Candidates, Directions
from fieldmap.model.settings import TunnelSize
from fieldmap.model.surroundings import CLEARANCE_M

Floats = npt.NDArray[np.float64]


class Criteria(NamedTuple):
    """Of one place, less being better.

    Attributes
    ----------
    dark_points
        Light on the floor that the lightest place and bearing has more, in points of the
        open light.
    steep_percent
        By how much the ground falls more than a frame takes.
    cold_c
        Below the warmest place at worst, on a still night.
    wet_percent
        Of the ground underneath.
    line_m
        By how much an overhead line is nearer than the film is long, with its clearance.
    rain_m2
        Ground above that drains onto it.
    earth_m3
        For a level pad.
    way_m
        To gate and water together, as far as they are known.
    storm_deg, storm_percent
        By how much the ridge is turned from the storm wind beyond `END_ON_DEG`; how much
        of that wind is left.
    breeze_deg
        By how much the sides are turned from the summer breeze beyond
        `SQUARE_TO_BREEZE_DEG`.
    askew_deg
        Between the ridge and the beds, or square to them.
    """

    dark_points: float
    steep_percent: float
    cold_c: float
    wet_percent: float
    line_m: float
    rain_m2: float
    earth_m3: float
    way_m: float
    storm_deg: float
    storm_percent: float
    breeze_deg: float
    askew_deg: float


# Differences up to these are no real differences. Light: as `light.DECIDES_FROM_POINTS`.
SAME = Criteria(3.0, 0.25, 0.25, 20.0, 3.0, 2000.0, 5.0, 25.0, 10.0, 10.0, 10.0, 5.0)
END_ON_DEG = 30.0  # so near to the ridge a wind comes end on
SQUARE_TO_BREEZE_DEG = 30.0  # so near to square, side vents catch the breeze


class Judge(NamedTuple):
    """What places are compared with: beds and winds, and what is around."""

    directions: Directions
    surroundings: gpd.GeoDataFrame

    def amounts(
        self, candidates: Candidates, size: TunnelSize, floor_percent: Floats
    ) -> Floats:
        """Amounts of every candidate, (candidates, criteria) in the order of `Criteria`.

        Parameters
        ----------
        candidates
            Places with room, one row each; without any the answer has no rows.
        size
            Size of the tunnel for which they have room.
        floor_percent
            (candidates,) light on the floor at the bearing of each, in per cent of the
            open light.
        """
        if not len(candidates):
            return np.empty((0, len(Criteria._fields)))
        directions, surroundings = self
        # Where the dark months have no light at all, the bearing alone tells.
        brightest = candidates.sun.max()
        light = floor_percent * (candidates.sun / brightest if brightest > 0 else 1.0)
        ways_m = np.stack(
            [
                way_m(surroundings, candidates.centre, kind)
                for kind in ("gate", "water point")
            ]
        )
        every = {
            "dark_points": light.max() - light,
            "steep_percent": candidates.over_percent,
            "cold_c": candidates.cold_c.max() - candidates.cold_c,
            "wet_percent": 100.0 * candidates.wet_share,
            "line_m": too_near_a_line_m(surroundings, candidates, size),
            "rain_m2": candidates.rain_m2,
            "earth_m3": candidates.earth_m3,
            "way_m": np.nansum(ways_m, axis=0),
            "storm_deg": _beyond(
                turned_deg(candidates.bearing_deg, directions.storm_deg), END_ON_DEG
            ),
            "storm_percent": 100.0 * candidates.storm_share,
            "breeze_deg": _beyond(
                _off_square_deg(candidates.bearing_deg, directions.breeze_deg),
                SQUARE_TO_BREEZE_DEG,
            ),
            "askew_deg": askew_deg(candidates, directions),
        }
        return np.stack([every[name] for name in Criteria._fields], axis=1)


def _beyond(amount: Floats, limit: float) -> Floats:
    return np.asarray(np.maximum(amount - limit, 0.0))


def turned_deg(bearing_deg: Floats, wind_deg: float | None) -> Floats:
    """Angle between ridges and a wind, 0 to 90; 0 where it is not given."""
    if wind_deg is None:
        return np.zeros(len(bearing_deg))
    turned = np.abs(bearing_deg - wind_deg) % 180.0
    return np.asarray(np.minimum(turned, 180.0 - turned))


def _off_square_deg(bearing_deg: Floats, wind_deg: float | None) -> Floats:
    """Angle between the way the sides face and a wind; 0 where it is not given."""
    if wind_deg is None:
        return np.zeros(len(bearing_deg))
    return 90.0 - turned_deg(bearing_deg, wind_deg)


def askew_deg(candidates: Candidates, directions: Directions) -> Floats:
    """Angle between ridge and beds; 0 along or square to them, where few are cut."""
    beds_deg = np.array(directions.beds_deg)
    turned = np.abs(candidates.bearing_deg - beds_deg[candidates.plot]) % 90.0
    return np.asarray(np.minimum(turned, 90.0 - turned))


def way_m(surroundings: gpd.GeoDataFrame, centres: Floats, kind: str) -> Floats:
    """Straight ways from places to the nearest thing of a kind; NaN where none is.

    Parameters
    ----------
    surroundings
        What lies around: `kind` and outline of each thing.
    centres
        (places, 2) easting and northing of the middle of each place [m].
    kind
        Kind of thing, as "gate" or "water point".

    Returns
    -------
    ways
        (places,) in metres.
    """
    things = shapely.union_all(
        list(surroundings.geometry[surroundings["kind"] == kind])
    )
    # To an empty shape every distance is NaN.
    return np.asarray(shapely.distance(shapely.points(centres), things))


def too_near_a_line_m(
    surroundings: gpd.GeoDataFrame, candidates: Candidates, size: TunnelSize
) -> Floats:
    """By how much lines are nearer than the film is long and their clearance; 0 far off.

    A film that is torn off in wind reaches as far as it is long.

    Parameters
    ----------
    surroundings
        What lies around: `kind` and outline of each thing. Only overhead lines count.
    candidates
        Places with room, one row each.
    size
        Size of the tunnel, whose length is that of the film.

    Returns
    -------
    too_near
        (candidates,) in metres; 0 everywhere where no line is on the map.
    """
    reach_m = size.length_m + CLEARANCE_M
    lines = surroundings.geometry[surroundings["kind"] == "overhead line"]
    if lines.empty:
        return np.zeros(len(candidates))
    forward = np.radians(candidates.bearing_deg)
    half = (size.ground_m / 2) * np.stack([np.sin(forward), np.cos(forward)], axis=1)
    ridges = shapely.linestrings(
        np.stack([candidates.centre - half, candidates.centre + half], axis=1)
    )
    gap_m = shapely.distance(ridges, shapely.union_all(list(lines))) - size.width_m / 2
    return np.asarray(np.maximum(reach_m - np.maximum(gap_m, 0.0), 0.0))
