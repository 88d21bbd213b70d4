"""What is known of a place for a tunnel, and of sets of places for all of them."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from shapely.geometry import Polygon

from fieldmap.decide.tunnels.criteria import Criteria
from fieldmap.decide.tunnels.search import Candidates
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.settings import TunnelSize

UNKNOWN = Criteria(*(0.0,) * len(Criteria._fields))


class GroundUnder(NamedTuple):
    """Fall of the ground, and earth to cut, and to fill with it.

    Attributes
    ----------
    level_pad_m3, sloping_pad_m3
        For a level pad, and for one that keeps the fall along the ridge.
    """

    along_percent: float
    across_percent: float
    level_pad_m3: float
    sloping_pad_m3: float


class LightThere(NamedTuple):
    """Light on a level surface, uncovered.

    Attributes
    ----------
    winter_mj_m2_day, spring_mj_m2_day
        In the three darkest months, and in the three from March (September in the
        south).
    """

    winter_mj_m2_day: float
    spring_mj_m2_day: float


class Access(NamedTuple):
    """Straight way from the middle; None where no gate or water point is on the map."""

    gate_m: float | None
    water_m: float | None

    @property
    def total_m(self) -> float:
        """Both ways together, as far as they are known."""
        return (self.gate_m or 0.0) + (self.water_m or 0.0)


class RainFromAbove(NamedTuple):
    """Ground above that drains onto the place, and what leads its water round it.

    Attributes
    ----------
    to_deg
        Grid bearing that water leaves in.
    drain_m
        Along the sides that face uphill; 0 where little water comes.
    """

    from_m2: float
    to_deg: float
    drain_m: float


class WindThere(NamedTuple):
    """Wind at the place.

    Attributes
    ----------
    storm_share
        Of the open storm wind; None where its direction is not given.
    off_breeze_deg
        Between the way the sides face and the summer breeze; None where not given.
    """

    storm_share: float | None
    off_breeze_deg: float | None


@dataclass(frozen=True)
class TunnelPlace:
    """Where one walk-in tunnel can stand and which way it points.

    Attributes
    ----------
    outline
        The covered rectangle, in the site's CRS, with its end towards the gate first; of
        a tunnel that is moved the ground of all its positions.
    bearing_deg
        Of the ridge, clockwise from true north, 0 to under 180.
    taken_m2
        Of the plot, working space included.
    line_m
        To the nearest overhead line; None where none is on the map.
    criteria
        What it was compared by.
    """

    name: str
    plot: str
    outline: Polygon
    size: TunnelSize
    bearing_deg: float
    ground: GroundUnder
    light: LightThere
    offset_c: Estimate
    access: Access
    rain: RainFromAbove
    wind: WindThere
    taken_m2: float
    line_m: float | None = None
    criteria: Criteria = UNKNOWN
    reasons: tuple[Fact, ...] = ()


class Found(NamedTuple):
    """Places with room for a size, and their `Criteria`, (places, criteria)."""

    candidates: Candidates
    amounts: npt.NDArray[np.float64]


class TunnelSet(NamedTuple):
    """Places for all tunnels that are wanted, by one goal.

    Attributes
    ----------
    letter
        "A" is made for what the grower asks for first.
    goal
        A key of `rank.FIRST`.
    comparison
        What it gives and what it gives up.
    """

    letter: str
    goal: str
    places: tuple[TunnelPlace, ...]
    comparison: Fact


class SiteOption(NamedTuple):
    """A place that no other beats, for the files; `size` is its place in `site.toml`."""

    size: int
    plot: str
    easting: float
    northing: float
    bearing_deg: float
    along_percent: float
    across_percent: float
    winter_sun_mj_m2_day: float
    offset_c: float
    access: Access
    criteria: Criteria


@dataclass(frozen=True)
class TunnelSites:
    """All that the search gave.

    Attributes
    ----------
    sets
        Two or three truly different ones where there are such; empty where no tunnel
        is wanted or has room.
    nondominated
        Places that no other beats, by size.
    warnings
        What could not be placed.
    """

    sets: tuple[TunnelSet, ...] = ()
    nondominated: tuple[SiteOption, ...] = ()
    warnings: tuple[Fact, ...] = ()
