"""All that is known of one place for a tunnel, and why it stands there."""

import itertools
from collections.abc import Iterator
from dataclasses import replace

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import shapely
from rasterio import features
from shapely import affinity
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.fields import Analysis
from fieldmap.analyse.wind import WINDS
from fieldmap.decide.layout.bays import walk
from fieldmap.decide.layout.bearings import apart_deg
from fieldmap.decide.layout.beds import seen_from, true_deg
from fieldmap.decide.tunnels import room, search
from fieldmap.decide.tunnels.criteria import (
    END_ON_DEG,
    SQUARE_TO_BREEZE_DEG,
    Criteria,
    way_m,
)
from fieldmap.decide.tunnels.model import (
    Access,
    Found,
    GroundUnder,
    LightThere,
    RainFromAbove,
    TunnelPlace,
    WindThere,
)
from fieldmap.decide.tunnels.search import Candidates
from fieldmap.decide.tunnels.standing import working_space
from fieldmap.decide.tunnels.under_tunnels import dark_months
from fieldmap.model.estimate import Estimate, rounded_c
from fieldmap.model.fact import Fact
from fieldmap.model.raster import Raster
from fieldmap.model.season_year import SeasonYear
from fieldmap.model.settings import TunnelSize, Wind
from fieldmap.model.site import Site
from layers import drainage

Floats = npt.NDArray[np.float64]

POINT_M = 0.5  # between the points that are looked at under a tunnel
WATER_M2 = 200.0  # more ground than this above a tunnel sends water worth a ditch
WET_PERCENT = 5.0  # of the ground underneath, from which on it is said (a choice)
LONG_WAY_M = 100.0  # a way is said to be long (a choice)
FACES_FROM_DEG = 22.5  # a side turned less from downhill than this gets no water
OFF_POSTS_M = 0.5  # of a drain
LOWEST_OFF_ZENITH_DEG = 85.0  # a sun lower than this at noon shades without an end
SHELTERED = 0.95  # with so much of the open wind or more nothing shelters


def describe(
    site: Site,
    analysis: Analysis,
    size: TunnelSize,
    found: Found,
    row: int,
    name: str,
) -> TunnelPlace:
    """All that is known of a place, the row of those that were found for its size.

    Parameters
    ----------
    site
        The site: its plots, surroundings, winds and season.
    analysis
        The computed ground, light, cold air and wind.
    size
        Size of the tunnel.
    found
        Places with room for this size, and their amounts.
    row
        Row of the place in `found`.
    name
        Name to give to the place, as "T1".
    """
    candidates = found.candidates
    grid_deg = float(candidates.bearing_deg[row])
    centre = candidates.centre[row]
    plot = int(candidates.plot[row])
    start = walk.entry(site.surroundings, site.plots.geometry.iloc[plot])
    covered = affinity.translate(room.footprint(size, grid_deg, 0.0), *centre)
    outline = seen_from(start, covered)
    easting, northing, along_m = _points(size, centre, grid_deg)
    heights_m = analysis.terrain.smooth_m.interpolate(easting, northing)
    offsets_c = analysis.cold_air.offset_c.sample(easting, northing).mean(axis=-1)
    bearing_deg = true_deg(grid_deg, site.convergence_deg)
    place = TunnelPlace(
        name=name,
        plot=str(site.plots["name"].iloc[plot]),
        outline=outline,
        size=size,
        bearing_deg=bearing_deg,
        ground=GroundUnder(
            along_percent=float(candidates.along_percent[row]),
            across_percent=float(candidates.across_percent[row]),
            level_pad_m3=_pads_m3(heights_m, along_m, size),
            sloping_pad_m3=_pads_m3(_without_fall(heights_m, along_m), along_m, size),
        ),
        light=_light(analysis, easting, northing, site.season),
        offset_c=Estimate(*map(float, offsets_c)),
        access=access(site.surroundings, centre[np.newaxis])[0],
        rain=_rain(analysis.terrain.smooth_m, outline, grid_deg, size),
        wind=WindThere(
            _storm_share(analysis, easting, northing),
            _off_breeze(grid_deg, site.settings.wind, site.convergence_deg),
        ),
        line_m=_line_m(site.surroundings, outline),
        taken_m2=float(
            working_space(outline).intersection(site.plots.geometry.iloc[plot]).area
        ),
    )
    # What is shown is exact; the search knows it about.
    exact = Criteria(*found.amounts[row].tolist())._replace(
        rain_m2=place.rain.from_m2, earth_m3=place.ground.level_pad_m3
    )
    place = replace(place, criteria=exact)
    storm_from_deg = site.settings.wind.storm_from_deg
    why = _reasons(place, candidates, storm_from_deg, site.convergence_deg)
    return replace(place, reasons=tuple(why))


def _points(
    size: TunnelSize, centre: Floats, bearing_deg: float
) -> tuple[Floats, Floats, Floats]:
    """Easting, northing and place along the ridge of points spread evenly underneath."""
    counts = [max(2, round(side / POINT_M)) for side in (size.ground_m, size.width_m)]
    along, across = (
        ((np.arange(count) + 0.5) / count - 0.5) * side
        for count, side in zip(counts, (size.ground_m, size.width_m), strict=True)
    )
    s, t = (each.ravel() for each in np.meshgrid(along, across))
    angle = np.radians(bearing_deg)
    east = centre[0] + s * np.sin(angle) + t * np.cos(angle)
    north = centre[1] + s * np.cos(angle) - t * np.sin(angle)
    return east, north, s


def _pads_m3(heights_m: Floats, along_m: Floats, size: TunnelSize) -> float:
    """Earth to cut for a pad at each position of a tunnel, all together."""
    at = np.floor((along_m + size.ground_m / 2) / size.length_m)
    area_m2 = size.length_m * size.width_m
    return sum(_cut_m3(heights_m[at == number], area_m2) for number in np.unique(at))


def _cut_m3(heights_m: Floats, area_m2: float) -> float:
    """Earth to cut for a pad at the middle height, which fills what lies lower."""
    return float(np.maximum(heights_m - heights_m.mean(), 0.0).mean() * area_m2)


def _without_fall(heights_m: Floats, along_m: Floats) -> Floats:
    """Heights less the even fall along the ridge, which a sloping pad keeps."""
    # Least squares: points lie evenly on both sides of the middle, so no mean is taken off.
    rise = float(heights_m @ along_m / (along_m @ along_m))
    return np.asarray(heights_m - rise * along_m)


def _light(
    analysis: Analysis, easting: Floats, northing: Floats, season: SeasonYear
) -> LightThere:
    sun = analysis.light.level_sun_mj_m2_day.sample(easting, northing).mean(axis=-1)
    spring = [season.month_index(month) for month in (3, 4, 5)]
    return LightThere(float(sun[dark_months(season)].mean()), float(sun[spring].mean()))


def _rain(
    ground: Raster, outline: shapely.Polygon, grid_deg: float, size: TunnelSize
) -> RainFromAbove:
    """Ground above that drains through a place, and what leads its water round it."""
    here = features.geometry_mask(
        [outline], ground.shape, ground.transform, invert=True, all_touched=True
    )
    above = drainage.upstream(ground.values.astype(np.float64), here) & ~here
    middle = outline.centroid
    east, north = (
        ground.interpolate([middle.x + 5 * x], [middle.y + 5 * y])[0]
        - ground.interpolate([middle.x - 5 * x], [middle.y - 5 * y])[0]
        for x, y in ((1, 0), (0, 1))
    )
    downhill_deg = float(np.degrees(np.arctan2(-east, -north)) % 360.0)
    from_m2 = float(above.sum()) * ground.cell_size_m**2
    needed = drain_m(size, downhill_deg - grid_deg) if from_m2 >= WATER_M2 else 0.0
    return RainFromAbove(from_m2, downhill_deg, needed)


def drain_m(size: TunnelSize, downhill_off_deg: float) -> float:
    """Length of a drain along the sides that face uphill.

    Parameters
    ----------
    downhill_off_deg
        Between downhill and the ridge.

    Examples
    --------
    >>> size = TunnelSize(length_m=20.0, width_m=6.0, height_m=3.0)
    >>> drain_m(size, 90.0), drain_m(size, 10.0), drain_m(size, 225.0)
    (20.0, 6.0, 26.0)
    """
    angle = np.radians(downhill_off_deg)
    faces = np.sin(np.radians(FACES_FROM_DEG))
    long_side = size.ground_m * (abs(np.sin(angle)) > faces)
    end = size.width_m * (abs(np.cos(angle)) > faces)
    return float(long_side + end)


def drain_line(place: TunnelPlace) -> BaseGeometry:
    """Where its drain runs: along the sides that face uphill, off the posts."""
    corners = shapely.get_coordinates(shapely.oriented_envelope(place.outline))
    middle = corners[:4].mean(axis=0)
    to = np.radians(place.rain.to_deg)
    uphill = -np.array([np.sin(to), np.cos(to)])
    sides = []
    for ends in itertools.pairwise(corners):
        out = np.mean(ends, axis=0) - middle
        out /= np.hypot(*out)
        if out @ uphill > np.sin(np.radians(FACES_FROM_DEG)):
            sides.append(LineString(np.array(ends) + OFF_POSTS_M * out))
    return shapely.union_all(sides)


def noon_shadow(
    place: TunnelPlace, latitude: float, month: int, convergence_deg: float
) -> BaseGeometry:
    """Ground that it shades at noon in the middle of a month (0: January), level ground.

    The declination of the sun is Cooper's (1969), good to half a degree; empty where the
    sun does not rise at noon.

    Parameters
    ----------
    place
        The tunnel: its outline and its height.
    latitude
        Latitude of the place [°], negative in the south.
    month
        Month, 0 for January.
    convergence_deg
        Bearing of grid north, clockwise from true north.
    """
    day = (month + 0.5) * 365 / 12
    declination_deg = 23.45 * np.sin(2 * np.pi * (284 + day) / 365)
    off_zenith_deg = latitude - declination_deg  # to the south where it is positive
    if abs(off_zenith_deg) >= LOWEST_OFF_ZENITH_DEG:
        return Polygon()
    long_m = place.size.height_m * np.tan(np.radians(off_zenith_deg))
    north = np.radians(convergence_deg)  # true north lies left of grid north
    away = -np.sin(north) * long_m, np.cos(north) * long_m
    moved = affinity.translate(place.outline, *away)
    return place.outline.union(moved).convex_hull.difference(place.outline)


def _line_m(surroundings: gpd.GeoDataFrame, outline: shapely.Polygon) -> float | None:
    """To the nearest overhead line; None where none is on the map."""
    lines = surroundings.geometry[surroundings["kind"] == "overhead line"]
    return None if lines.empty else float(lines.distance(outline).min())


def access(surroundings: gpd.GeoDataFrame, centres: Floats) -> list[Access]:
    """Straight ways from each place to the nearest gate and water point."""
    ways_m = np.stack(
        [way_m(surroundings, centres, kind) for kind in ("gate", "water point")]
    )
    return [
        Access(*(None if np.isnan(each) else each for each in both))
        for both in ways_m.T.tolist()
    ]


def _storm_share(analysis: Analysis, easting: Floats, northing: Floats) -> float | None:
    """Share of the open storm wind; None where its direction is not given."""
    band = WINDS.index("storm")
    share = float(analysis.wind_share.sample(easting, northing)[band].mean())
    return None if np.isnan(share) else share


def _off_breeze(grid_deg: float, wind: Wind, convergence_deg: float) -> float | None:
    """Angle between the sides' face and the summer breeze; None where it is not given."""
    breeze_deg = wind.summer_breeze_from_deg
    if breeze_deg is None:
        return None
    return 90.0 - apart_deg(grid_deg + convergence_deg, breeze_deg)


def _reasons(
    place: TunnelPlace,
    candidates: Candidates,
    storm_from_deg: float | None,
    convergence_deg: float,
) -> Iterator[Fact]:
    """Why it stands there among the others with room, and what to do there."""
    ground, winter = place.ground, place.light.winter_mj_m2_day
    warmer_c = place.offset_c.central - float(np.nanmedian(candidates.offset_c))
    yield Fact("tunnel_slope", along=ground.along_percent, across=ground.across_percent)
    brightest = float(np.nanmax(candidates.sun))
    if brightest > 0:
        percent = round(100 * min(winter / brightest, 1.0))
        if percent == 100:
            yield Fact("tunnel_most_winter_light")
        else:
            yield Fact("tunnel_winter_light", percent=percent)
    yield from _ground(place, convergence_deg)
    yield from _around(place)
    yield from _wind(place.bearing_deg, place.wind, storm_from_deg)
    if rounded_c(warmer_c) == 0:
        yield Fact("tunnel_still_nights_alike")
    else:
        yield Fact("tunnel_still_nights_differ", difference_c=warmer_c)
    yield Fact(
        "tunnel_earth", level_m3=ground.level_pad_m3, sloping_m3=ground.sloping_pad_m3
    )
    if place.size.positions > 1:
        yield Fact(
            "tunnel_is_moved",
            positions=place.size.positions,
            length_m=place.size.length_m,
        )
    yield Fact("tunnel_room", number=candidates.compared)


def _ground(place: TunnelPlace, convergence_deg: float) -> Iterator[Fact]:
    """What is steep or wet."""
    ground, rain = place.ground, place.rain
    if (
        ground.along_percent > search.ALONG_LIMIT_PERCENT
        or ground.across_percent > search.ACROSS_LIMIT_PERCENT
    ):
        yield Fact("tunnel_ground_steep")
    if place.criteria.wet_percent >= WET_PERCENT:
        yield Fact("tunnel_on_wet_ground", percent=round(place.criteria.wet_percent))
    if rain.drain_m:
        yield Fact(
            "tunnel_rain",
            ground_m2=round(rain.from_m2, -1),
            way_to_deg=rain.to_deg + convergence_deg,
            drain_m=rain.drain_m,
        )


def _around(place: TunnelPlace) -> Iterator[Fact]:
    """What is far or near."""
    ways_m = place.access._asdict()
    is_long = max(each or 0.0 for each in ways_m.values()) > LONG_WAY_M
    yield Fact("tunnel_long_way" if is_long else "tunnel_way", **ways_m)
    if place.line_m is not None and place.criteria.line_m > 0:
        yield Fact("tunnel_near_line", distance_m=place.line_m)


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
