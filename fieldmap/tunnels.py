"""Places for walk-in tunnels, with bearings and reasons.

Light under the cover is not computed here: a place is chosen by the fall of the ground,
the winter light that reaches it, the cold air that lies there, and the room.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from shapely import affinity
from shapely.geometry import box

from fieldmap import words
from fieldmap.beds import grid_bearing_deg
from fieldmap.offset import OffsetRange

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt
    from shapely.geometry import Polygon
    from shapely.geometry.base import BaseGeometry

    from fieldmap.analysis import Analysis
    from fieldmap.settings import TunnelSize
    from fieldmap.site import Site

    Floats = npt.NDArray[np.floating]

# Room to build and to walk round a tunnel (common practice, no source).
WORKING_SPACE_M = 1.5
# Between walk-in tunnels, so that snow can be cleared (common practice, no source).
SNOW_GAP_M = 3.0
# Falls that a frame takes without grading: along up to 3-5 %, across 1-2 % (from memory
# of common advice). They flag a place, they do not exclude it.
ALONG_LIMIT_PERCENT = 5.0
ACROSS_LIMIT_PERCENT = 2.0
# Kept clear of what stands or lies around (common practice, no source): one tree
# height from trees; the longest pipe of a frame, 6 m, and 3 m beside overhead lines
# (the line's owner decides); room to work beside the rest.
PIPE_AND_CLEARANCE_M = 9.0
CLEAR_M = {
    "building": 3.0,
    "hedge": 2.0,
    "wall": 1.5,
    "fence": 1.5,
    "bank": 1.5,
    "water": 5.0,
    "water point": 1.0,
    "gate": 4.0,
    "road": 2.0,
    "keep off": 0.5,
    "overhead line": PIPE_AND_CLEARANCE_M,
}
# The search: steps of places and bearings, and points looked at under a tunnel.
STEP_M = 2.0
BEARING_STEP_DEG = 10.0
POINTS_ALONG, POINTS_ACROSS = 9, 5
# What counts as no real difference between two places.
SAME_LIGHT = 0.03
SAME_OFFSET_C = 0.25
SAME_FALL_PERCENT = 0.5
# Light that crosses a film, its frame and its dirt on both sides of a tunnel, about 0.8
# each time (common practice, no source).
FILM_TWICE = 0.64
LOWEST_NOON_SUN_DEG = 10.0  # below it a shadow is too long to keep clear of


@dataclass(frozen=True)
class TunnelPlace:
    """Where one walk-in tunnel can stand and which way it points.

    Attributes
    ----------
    outline
        The covered rectangle, in the site's CRS.
    bearing_deg
        Of the ridge, clockwise from true north, 0 to under 180.
    winter_sun_mj_m2_day
        Light on a level surface there, uncovered, in the three darkest months.
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
    offset_c: OffsetRange
    winter_sun_mj_m2_day: float
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class _Candidates:
    """Every place that has room: one row each."""

    plot: npt.NDArray[np.intp]
    centre: Floats  # (n, 2) easting, northing
    bearing_deg: Floats  # from grid north
    along_percent: Floats
    across_percent: Floats
    offset_c: Floats  # (n, 3)
    sun: Floats

    def take(self, rows: npt.NDArray[np.intp] | npt.NDArray[np.bool_]) -> _Candidates:
        return _Candidates(
            self.plot[rows],
            self.centre[rows],
            self.bearing_deg[rows],
            self.along_percent[rows],
            self.across_percent[rows],
            self.offset_c[rows],
            self.sun[rows],
        )

    def __len__(self) -> int:
        return len(self.plot)


def place(site: Site, analysis: Analysis) -> tuple[list[TunnelPlace], list[str]]:
    """A place for each wanted tunnel, the largest first, and what could not be placed.

    Returns
    -------
    places, warnings
        Places do not overlap and keep the gap that sun and snow need.
    """
    sizes = sorted(
        (size for size in site.settings.tunnels for _ in range(size.count)),
        key=lambda size: -size.length_m * size.width_m,
    )
    taken: list[BaseGeometry] = []
    places: list[TunnelPlace] = []
    warnings: list[str] = []
    for size in sizes:
        candidates = _candidates(site, analysis, size, taken)
        if not len(candidates):
            what = f"{size.length_m:g} × {size.width_m:g} m"
            warnings.append(
                f"No plot has room for a walk-in tunnel of {what} with its working "
                "space and clearances."
            )
            continue
        best = _best(candidates, site)
        place_ = _describe(best, candidates, size, f"T{len(places) + 1}", site)
        places.append(place_)
        taken.append(place_.outline.buffer(gap_m(size.height_m, site.latitude)))
    return places, warnings


def gap_m(height_m: float, latitude: float) -> float:
    """Room that a tunnel needs around it: for snow, and for its noon shadow in winter.

    Examples
    --------
    >>> gap_m(3.0, 40.0)
    6.0
    """
    noon_deg = max(90.0 - abs(latitude) - 23.44, LOWEST_NOON_SUN_DEG)
    return float(max(SNOW_GAP_M, height_m / np.tan(np.radians(noon_deg))))


def kept_off(surroundings: gpd.GeoDataFrame) -> list[BaseGeometry]:
    """Ground that no tunnel may stand on: what is around, with its clearance."""
    clear_m = [
        height_m if kind in ("tree", "trees") else CLEAR_M[kind]
        for kind, height_m in zip(
            surroundings["kind"], surroundings["height_m"], strict=True
        )
    ]
    return list(surroundings.geometry.buffer(clear_m))


def working_space(place_: TunnelPlace) -> BaseGeometry:
    """The ground a tunnel takes from beds."""
    return place_.outline.buffer(WORKING_SPACE_M, join_style="mitre")


def standing(site: Site, places: Sequence[TunnelPlace]) -> Site:
    """The site with its tunnels among the surroundings, where they dim the beds' light.

    A tunnel is taken as a box of its height that lets `FILM_TWICE` of the light through.
    """
    if not places:
        return site
    things = gpd.GeoDataFrame(
        [
            {
                "name": place_.name,
                "kind": "fence",
                "height_m": place_.height_m,
                "porosity": FILM_TWICE,
                "clear_stem_m": 0.0,
                "leaf": "none",
                "geometry": place_.outline,
            }
            for place_ in places
        ],
        geometry="geometry",
        crs=site.crs,
    )
    around = (
        things if site.surroundings.empty else pd.concat([site.surroundings, things])
    )
    return replace(site, surroundings=around)


def _candidates(
    site: Site, analysis: Analysis, size: TunnelSize, taken: Sequence[BaseGeometry]
) -> _Candidates:
    off = shapely.union_all([*kept_off(site.surroundings), *taken])
    setback_m = site.settings.beds.setback_m
    found = []
    for number, outline in enumerate(site.plots.geometry):
        free = outline.buffer(-setback_m, join_style="mitre").difference(off)
        steps = np.arange(0.0, 180.0, BEARING_STEP_DEG)
        along_beds_deg = _bed_bearing_deg(site, number)
        for bearing_deg in np.unique(np.append(steps, along_beds_deg)):
            centres = _centres_with_room(free, size, float(bearing_deg))
            if len(centres):
                found.append(
                    _look(analysis, size, number, centres, float(bearing_deg), site)
                )
    if not found:
        none = np.empty(0)
        return _Candidates(
            np.empty(0, np.intp), none.reshape(0, 2), none, none, none, none, none
        )
    return _Candidates(
        *(
            np.concatenate([getattr(part, name) for part in found])
            for name in _Candidates.__dataclass_fields__
        )
    )


def _footprint(size: TunnelSize, bearing_deg: float, around_m: float) -> Polygon:
    """The rectangle of a tunnel about the origin, widened by working space."""
    half_across, half_along = size.width_m / 2 + around_m, size.length_m / 2 + around_m
    upright = box(-half_across, -half_along, half_across, half_along)
    return affinity.rotate(upright, -bearing_deg, origin=(0, 0))


def _centres_with_room(
    free: BaseGeometry, size: TunnelSize, bearing_deg: float
) -> Floats:
    if free.is_empty:
        return np.empty((0, 2))
    west, south, east, north = free.bounds
    # On whole steps of the CRS, so that a moved outline does not move every place.
    eastings = np.arange(np.ceil(west / STEP_M), np.floor(east / STEP_M) + 1) * STEP_M
    northings = (
        np.arange(np.ceil(south / STEP_M), np.floor(north / STEP_M) + 1) * STEP_M
    )
    centres = np.stack(np.meshgrid(eastings, northings), axis=-1).reshape(-1, 2)
    core = free.buffer(-(size.width_m / 2))
    shapely.prepare(core)
    centres = centres[shapely.contains_xy(core, *centres.T)]
    corners = shapely.get_coordinates(_footprint(size, bearing_deg, WORKING_SPACE_M))
    footprints = shapely.polygons(centres[:, None, :] + corners[None, :, :])
    shapely.prepare(free)
    return np.asarray(centres[shapely.contains(free, footprints)])


def _look(
    analysis: Analysis,
    size: TunnelSize,
    plot: int,
    centres: Floats,
    bearing_deg: float,
    site: Site,
) -> _Candidates:
    """What the grids say under each of several places of one bearing."""
    angle = np.radians(bearing_deg)
    forward = np.array([np.sin(angle), np.cos(angle)])
    right = np.array([np.cos(angle), -np.sin(angle)])
    along = (np.arange(POINTS_ALONG) + 0.5) / POINTS_ALONG * size.length_m
    across = (np.arange(POINTS_ACROSS) + 0.5) / POINTS_ACROSS * size.width_m
    s, t = np.meshgrid(along - size.length_m / 2, across - size.width_m / 2)
    points = centres[:, None, :] + s.reshape(-1, 1) * forward + t.reshape(-1, 1) * right
    easting, northing = points[..., 0], points[..., 1]
    # The plane of least squares: its points are symmetric, so the sums part.
    height_m = analysis.smooth_m.interpolate(easting, northing)
    winter = _dark_months(southern=site.southern)
    sun = analysis.level_sun_mj_m2_day.sample(easting, northing)[winter]
    return _Candidates(
        plot=np.full(len(centres), plot),
        centre=centres,
        bearing_deg=np.full(len(centres), bearing_deg),
        along_percent=100 * np.abs(height_m @ s.ravel()) / (s**2).sum(),
        across_percent=100 * np.abs(height_m @ t.ravel()) / (t**2).sum(),
        offset_c=analysis.offset_c.sample(easting, northing).mean(axis=2).T,
        sun=sun.mean(axis=(0, 2)),
    )


def _dark_months(*, southern: bool) -> list[int]:
    return [4, 5, 6] if southern else [10, 11, 0]


def _best(candidates: _Candidates, site: Site) -> _Candidates:
    """The one place left when each question in turn keeps what does not differ.

    Fall within limits, winter light, cold air, fall, lying with the beds, storm wind.
    """
    left = candidates.take(~np.isnan(candidates.sun))
    over = np.maximum(left.across_percent - ACROSS_LIMIT_PERCENT, 0) + np.maximum(
        left.along_percent - ALONG_LIMIT_PERCENT, 0
    )
    left = left.take(over <= over.min() + SAME_FALL_PERCENT / 2)
    left = left.take(left.sun >= (1 - SAME_LIGHT) * left.sun.max())
    warmth = left.offset_c[:, 1]
    left = left.take(warmth >= warmth.max() - SAME_OFFSET_C)
    fall = left.across_percent + left.along_percent / 2
    left = left.take(fall <= fall.min() + SAME_FALL_PERCENT)
    askew = _askew(left, site)
    left = left.take(askew <= askew.min() + 1e-6)
    left = left.take(_off_storm(left, site) <= _off_storm(left, site).min() + 1e-6)
    fall = left.across_percent + left.along_percent / 2
    return left.take(np.lexsort((*left.centre.T, np.round(fall, 2)))[:1])


def _bed_bearing_deg(site: Site, plot: int) -> float:
    outline = site.plots.geometry.iloc[plot]
    return grid_bearing_deg(outline, site.settings.beds, site.convergence_deg)


def _askew(candidates: _Candidates, site: Site) -> Floats:
    """Angle between ridge and beds; 0 along or square to them, where few are lost."""
    beds_deg = np.array([_bed_bearing_deg(site, n) for n in range(len(site.plots))])
    turned = np.abs(candidates.bearing_deg - beds_deg[candidates.plot]) % 90.0
    return np.asarray(np.minimum(turned, 90.0 - turned))


def _off_storm(candidates: _Candidates, site: Site) -> Floats:
    """Angle between ridge and storm wind; 0 where no storm wind is known."""
    storm_from_deg = site.settings.wind.storm_from_deg
    if storm_from_deg is None:
        return np.zeros(len(candidates))
    true_deg = candidates.bearing_deg + site.convergence_deg
    turned = np.abs(true_deg - storm_from_deg) % 180.0
    return np.asarray(np.minimum(turned, 180.0 - turned))


def _describe(
    best: _Candidates,
    candidates: _Candidates,
    size: TunnelSize,
    name: str,
    site: Site,
) -> TunnelPlace:
    grid_deg = float(best.bearing_deg[0])
    along, across = float(best.along_percent[0]), float(best.across_percent[0])
    low, central, high = (float(value) for value in best.offset_c[0])
    place_ = TunnelPlace(
        name=name,
        plot=str(site.plots["name"].iloc[int(best.plot[0])]),
        outline=affinity.translate(_footprint(size, grid_deg, 0.0), *best.centre[0]),
        length_m=size.length_m,
        width_m=size.width_m,
        height_m=size.height_m,
        bearing_deg=float(np.round(grid_deg + site.convergence_deg, 6) % 180.0),
        slope_along_percent=along,
        slope_across_percent=across,
        offset_c=OffsetRange(low, central, high),
        winter_sun_mj_m2_day=float(best.sun[0]),
        reasons=(),
    )
    return _with_reasons(place_, candidates, site)


def _falls(percent: float, units: words.Units) -> str:
    """A grade as part of a sentence."""
    fall = words.fall(percent, units)
    return f"is {fall}" if fall == "level" else fall


def _with_reasons(
    place_: TunnelPlace, candidates: _Candidates, site: Site
) -> TunnelPlace:
    units = site.settings.units
    along, across = place_.slope_along_percent, place_.slope_across_percent
    light = 100 * place_.winter_sun_mj_m2_day / float(np.nanmax(candidates.sun))
    warmth = place_.offset_c.central - float(np.nanmedian(candidates.offset_c[:, 1]))
    reasons = [
        f"The ground under it {_falls(along, units)} along its length and "
        f"{_falls(across, units)} across.",
        f"In the dark months it gets {light:.0f} % of the light of the best place "
        "with room for it.",
        "On a still night the air here is likely "
        f"{words.difference(warmth, units)} than at the other places with room.",
        f"Room: chosen from {len(candidates):,} places and bearings that keep clear "
        "of everything around.",
    ]
    if along > ALONG_LIMIT_PERCENT or across > ACROSS_LIMIT_PERCENT:
        reasons.append(
            "The ground falls more than a frame takes as it is: it needs grading, or "
            "a maker who builds for slopes."
        )
    if site.settings.wind.storm_from_deg is None:
        reasons.append("Wind was left out: site.toml names no storm wind.")
    else:
        storm = words.direction(site.settings.wind.storm_from_deg)
        reasons.append(
            "Of the bearings that fit as well and go with the beds, this one turns its "
            f"end most towards the storm wind from the {storm}."
        )
    return replace(place_, reasons=tuple(reasons))
