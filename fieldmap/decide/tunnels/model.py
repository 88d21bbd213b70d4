"""What a place for a tunnel, and a choice of places for all of them, hold."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from shapely.geometry import Polygon

    from fieldmap.model.estimate import Estimate


@dataclass(frozen=True)
class TunnelPlace:
    """Where one walk-in tunnel can stand and which way it points.

    Attributes
    ----------
    outline
        The covered rectangle, in the site's CRS.
    bearing_deg
        Of the ridge, clockwise from true north, 0 to under 180.
    winter_sun_mj_m2_day, spring_sun_mj_m2_day
        Light on a level surface there, uncovered, in the three darkest months and in
        the three from March (September in the south).
    earth_level_m3, earth_sloping_m3
        To cut, and to fill with it, for a level pad, and for one that keeps the fall
        along the ridge.
    water_from_m2, water_to
        Ground above that drains onto it, and the grid bearing that water leaves in.
    to_gate_m, to_water_m
        Straight way from the middle; None where no gate or water point is on the map.
    taken_m2
        Of the plot, working space included.
    storm_share
        Of the open storm wind; None where its direction is not told.
    off_breeze_deg
        Between the way the sides face and the summer breeze; None where not told.
    """

    name: str
    plot: str
    outline: Polygon
    length_m: float
    width_m: float
    height_m: float
    bearing_deg: float
    slope_along_percent: float
    slope_across_percent: float
    offset_c: Estimate
    winter_sun_mj_m2_day: float
    spring_sun_mj_m2_day: float
    earth_level_m3: float
    earth_sloping_m3: float
    water_from_m2: float
    water_to: float
    to_gate_m: float | None
    to_water_m: float | None
    taken_m2: float
    storm_share: float | None
    off_breeze_deg: float | None
    reasons: tuple[str, ...]

    def because(self, reasons: tuple[str, ...]) -> TunnelPlace:
        """The same with reasons."""
        return replace(self, reasons=reasons)


class Choice(NamedTuple):
    """Places for all tunnels that are wanted, by one wish.

    Attributes
    ----------
    letter
        "A" is made with nothing but the usual order of questions.
    wish
        A key of `order.WISHES`.
    said
        One sentence: what it gives and what it gives up.
    """

    letter: str
    wish: str
    places: tuple[TunnelPlace, ...]
    said: str


class Unbeaten(NamedTuple):
    """A place that no other beats, for the files."""

    size: int
    plot: str
    easting: float
    northing: float
    bearing_deg: float
    along_percent: float
    across_percent: float
    earth_m3: float
    winter_sun_mj_m2_day: float
    offset_c: float
    to_gate_m: float | None
    to_water_m: float | None


@dataclass(frozen=True)
class Found:
    """All that the search found.

    Attributes
    ----------
    choices
        Two or three truly different ones where there are such; empty where no tunnel
        is wanted or has room.
    unbeaten
        Places that no other beats, by size.
    warnings
        What could not be placed.
    """

    choices: tuple[Choice, ...]
    unbeaten: tuple[Unbeaten, ...]
    warnings: tuple[str, ...]
