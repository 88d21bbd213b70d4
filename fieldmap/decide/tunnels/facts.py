"""What is told of one place for a tunnel, and why it stands there."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from rasterio import features
from shapely import affinity

from fieldmap.analyse import wind
from fieldmap.decide.tunnels import room, search
from fieldmap.decide.tunnels.model import TunnelPlace
from fieldmap.model.estimate import Estimate
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _
from layers import drainage

if TYPE_CHECKING:
    import numpy.typing as npt

    from fieldmap.analyse.fields import Analysis
    from fieldmap.decide.tunnels.search import Candidates
    from fieldmap.model.settings import TunnelSize
    from fieldmap.model.site import Site

    Floats = npt.NDArray[np.float64]

POINT_M = 0.5  # between the points that are looked at under a tunnel
SQUARE_TO_BREEZE_DEG = 30.0  # so near to square, side vents catch the breeze (a choice)
END_ON_DEG = 30.0  # so near to the ridge a wind comes end on (a choice)
WATER_M2 = 200.0  # more ground than this above a tunnel sends water worth a ditch


def describe(
    site: Site,
    analysis: Analysis,
    size: TunnelSize,
    candidates: Candidates,
    row: int,
    name: str,
) -> TunnelPlace:
    """All that is known of a place."""
    grid_deg = float(candidates.bearing_deg[row])
    centre = candidates.centre[row]
    outline = affinity.translate(room.footprint(size, grid_deg, 0.0), *centre)
    easting, northing, along_m = _points(size, centre, grid_deg)
    heights_m = analysis.terrain.smooth_m.interpolate(easting, northing)
    area_m2 = size.length_m * size.width_m
    winter = search.dark_months(site.season)
    spring = [(site.spring_month + step) % 12 for step in range(3)]
    sun = analysis.light.level_sun_mj_m2_day.sample(easting, northing).mean(axis=-1)
    low, central, high = analysis.cold_air.offset_c.sample(easting, northing).mean(
        axis=-1
    )
    plot = int(candidates.plot[row])
    taken = outline.buffer(room.WORKING_SPACE_M, join_style="mitre")
    from_m2, way = _water(analysis, outline)
    place_ = TunnelPlace(
        name=name,
        plot=str(site.plots["name"].iloc[plot]),
        outline=outline,
        length_m=size.length_m,
        width_m=size.width_m,
        height_m=size.height_m,
        bearing_deg=float(np.round(grid_deg + site.convergence_deg, 6) % 180.0),
        slope_along_percent=float(candidates.along_percent[row]),
        slope_across_percent=float(candidates.across_percent[row]),
        offset_c=Estimate(float(low), float(central), float(high)),
        winter_sun_mj_m2_day=float(sun[winter].mean()),
        spring_sun_mj_m2_day=float(sun[spring].mean()),
        earth_level_m3=_cut_m3(heights_m, area_m2),
        earth_sloping_m3=_cut_m3(_without_fall(heights_m, along_m), area_m2),
        water_from_m2=from_m2,
        water_to=way,
        to_gate_m=way_m(site, "gate", centre[np.newaxis])[0],
        to_water_m=way_m(site, "water point", centre[np.newaxis])[0],
        taken_m2=float(taken.intersection(site.plots.geometry.iloc[plot]).area),
        storm_share=_share(analysis, easting, northing, "storm"),
        off_breeze_deg=_off_breeze(site, grid_deg),
        reasons=(),
    )
    return place_.because(_reasons(place_, candidates, site))


def _points(
    size: TunnelSize, centre: Floats, bearing_deg: float
) -> tuple[Floats, Floats, Floats]:
    """Easting, northing and place along the ridge of points spread evenly underneath."""
    counts = [max(2, round(side / POINT_M)) for side in (size.length_m, size.width_m)]
    along, across = (
        ((np.arange(count) + 0.5) / count - 0.5) * side
        for count, side in zip(counts, (size.length_m, size.width_m), strict=True)
    )
    s, t = (each.ravel() for each in np.meshgrid(along, across))
    angle = np.radians(bearing_deg)
    east = centre[0] + s * np.sin(angle) + t * np.cos(angle)
    north = centre[1] + s * np.cos(angle) - t * np.sin(angle)
    return east, north, s


def _cut_m3(heights_m: Floats, area_m2: float) -> float:
    """Earth to cut for a pad at the middle height, which fills what lies lower."""
    return float(np.maximum(heights_m - heights_m.mean(), 0.0).mean() * area_m2)


def _without_fall(heights_m: Floats, along_m: Floats) -> Floats:
    """Heights less the even fall along the ridge, which a sloping pad keeps."""
    rise = float(heights_m @ along_m / (along_m @ along_m))
    return np.asarray(heights_m - rise * along_m)


def _water(analysis: Analysis, outline: shapely.Polygon) -> tuple[float, float]:
    """Ground above that drains through a place [m²], and the grid bearing downhill."""
    ground = analysis.terrain.smooth_m
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
    downhill = float(np.degrees(np.arctan2(-east, -north)) % 360.0)
    return float(above.sum()) * ground.cell_size_m**2, downhill


def way_m(site: Site, kind: str, centres: Floats) -> list[float | None]:
    """Straight way to the nearest gate or water point; None where there is none."""
    things = site.surroundings.geometry[site.surroundings["kind"] == kind]
    if not len(things):
        return [None] * len(centres)
    union = shapely.union_all(list(things))
    gone = np.asarray(shapely.distance(shapely.points(centres), union))
    return [float(each) for each in gone]


def _share(
    analysis: Analysis, easting: Floats, northing: Floats, name: str
) -> float | None:
    """Share of an open wind; None where its direction is not told."""
    band = wind.WINDS.index(name)
    share = float(analysis.wind_share.sample(easting, northing)[band].mean())
    return None if np.isnan(share) else share


def _off_breeze(site: Site, grid_deg: float) -> float | None:
    """Angle between the sides' face and the summer breeze; None where it is not told."""
    breeze_deg = site.settings.wind.summer_breeze_from_deg
    if breeze_deg is None:
        return None
    turned = abs(grid_deg + site.convergence_deg - breeze_deg) % 180.0
    return float(90.0 - min(turned, 180.0 - turned))


def _falls(percent: float, units: quantities.Units) -> str:
    """A grade as part of a sentence."""
    fall = quantities.fall(percent, units)
    return _("is level") if fall == _("level") else fall


def _reasons(
    place_: TunnelPlace, candidates: Candidates, site: Site
) -> tuple[str, ...]:
    units = site.settings.units
    along, across = place_.slope_along_percent, place_.slope_across_percent
    light = 100 * place_.winter_sun_mj_m2_day / float(np.nanmax(candidates.sun))
    warmth = place_.offset_c.central - float(np.nanmedian(candidates.offset_c))
    reasons = [
        _("The ground under it {along} along its length and {across} across.").format(
            along=_falls(along, units), across=_falls(across, units)
        ),
        _(
            "In the dark months it gets {percent} % of the light of the best place with "
            "room for it."
        ).format(percent=f"{min(light, 100.0):.0f}"),
        _(
            "On a still night the air here is likely {difference}, beside the other "
            "places with room."
        ).format(difference=quantities.difference(warmth, units)),
        _earth(place_, units),
        _(
            "Room: chosen from {number} places and bearings that keep clear of "
            "everything around."
        ).format(number=f"{candidates.looked_at:,}"),
    ]
    if along > search.ALONG_LIMIT_PERCENT or across > search.ACROSS_LIMIT_PERCENT:
        reasons.append(
            _(
                "The ground falls more than a frame takes as it is: it needs grading, or "
                "a maker who builds for slopes."
            )
        )
    reasons += _water_words(place_, site)
    reasons += _wind_words(place_, site)
    return tuple(reasons)


def _earth(place_: TunnelPlace, units: quantities.Units) -> str:
    level = quantities.volume(place_.earth_level_m3, units)
    sloping = quantities.volume(place_.earth_sloping_m3, units)
    return _(
        "A level pad cuts {level} of earth and fills as much with it; one that keeps "
        "the fall along the ridge {sloping}."
    ).format(level=level, sloping=sloping)


def _water_words(place_: TunnelPlace, site: Site) -> list[str]:
    if place_.water_from_m2 < WATER_M2:
        return []
    ground = quantities.area(round(place_.water_from_m2, -1), site.settings.units)
    way = quantities.direction(place_.water_to + site.convergence_deg)
    return [
        _(
            "Rain of {ground} above runs onto it: lead it round, and off to the {way}, "
            "not onto a neighbour."
        ).format(ground=ground, way=way)
    ]


def _wind_words(place_: TunnelPlace, site: Site) -> list[str]:
    said = []
    if site.settings.wind.storm_from_deg is None:
        said.append(_("Wind was left out: site.toml names no storm wind."))
    else:
        storm = quantities.direction(site.settings.wind.storm_from_deg)
        turned = abs(place_.bearing_deg - site.settings.wind.storm_from_deg) % 180.0
        off_deg = min(turned, 180.0 - turned)
        struck = (
            _("Its end is turned towards the storm wind from the {storm}.")
            if off_deg <= END_ON_DEG
            else _(
                "The storm wind from the {storm} strikes its side, {angle}° off the "
                "ridge: slope, light and beds decided, so brace it for that."
            )
        )
        said.append(struck.format(storm=storm, angle=f"{off_deg:.0f}"))
        if place_.storm_share is not None and place_.storm_share < 0.95:
            said.append(
                _(
                    "What stands around leaves {percent} % of that wind in the open."
                ).format(percent=f"{100 * place_.storm_share:.0f}")
            )
    if place_.off_breeze_deg is not None:
        catches = place_.off_breeze_deg <= SQUARE_TO_BREEZE_DEG
        said.append(
            _("Its sides face the summer breeze, so side vents catch it.")
            if catches
            else _(
                "The summer breeze comes along it rather than across: open both ends "
                "too."
            )
        )
    return said
