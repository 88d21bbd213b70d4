"""Analysis -> what each bed gets of it: means by exact shares, worked out once."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse import zonal_means
from fieldmap.analyse.fields import Analysis, LightFields
from fieldmap.analyse.light import shade
from fieldmap.cache import Arrays, Store
from fieldmap.model.raster import Bounds, Raster
from fieldmap.model.site import cells_in

Floats = npt.NDArray[np.float64]
LIGHT = ("sun_mj_m2_day", "direct_hours", "morning_share")


@dataclass(frozen=True)
class BedMeans:
    """Means of the fields of an analysis over beds; the last axis is (beds,).

    NaN for a bed that lies on missing ground, be it with a corner.

    Attributes
    ----------
    place_m
        (beds, 2) east and north of the middle of each bed.
    height_m, slope_deg
        Of the smoothed ground; of the ground as it is.
    east, north
        Rise of the smoothed ground [m/m].
    sun_mj_m2_day, direct_hours, morning_share
        (12, beds), as `LightFields` has them.
    answers_c, central_answer, offset_c, cold_air_m
        (answers, beds), its likeliest, (3, beds) and (beds,): as `ColdAirFields`.
    water_share
        Share of a bed on which rain water gathers.
    wind_share
        (winds, beds), in the order of `wind.WINDS`.
    middle_height_m
        Median height of the plots.
    open_sun_mj_m2_day
        (12,) light of level ground at the most open of the shown cells.
    is_flow_known
        Whether cold air was let run.
    """

    place_m: Floats
    height_m: Floats
    slope_deg: Floats
    east: Floats
    north: Floats
    sun_mj_m2_day: Floats
    direct_hours: Floats
    morning_share: Floats
    answers_c: Floats
    central_answer: int
    offset_c: Floats
    cold_air_m: Floats
    water_share: Floats
    wind_share: Floats
    middle_height_m: float
    open_sun_mj_m2_day: Floats
    is_flow_known: bool


def bed_means(
    analysis: Analysis,
    beds: Sequence[BaseGeometry],
    plots: Sequence[BaseGeometry],
    store: Store,
    kept: tuple[BedMeans, Bounds] | None = None,
) -> BedMeans:
    """Means over the outlines of beds, and what they are compared with on the plots.

    Parameters
    ----------
    analysis
        Fields on the shown cells.
    beds
        Outlines in the site's CRS.
    plots
        Outlines in the site's CRS, for the height that beds are compared with.
    store
        Where the light of the same beds is taken from.
    kept
        Means of the same beds with other things around, and the bounds that these
        reach: of beds outside, the light is kept. None computes all of it.
    """

    def means(raster: Raster) -> Floats:
        return zonal_means.means(raster, beds)

    ground, light, air = analysis.terrain, analysis.light, analysis.cold_air
    if kept is None:
        lit = _light(light, beds, store)
        open_sun = np.nanmax(light.level_sun_mj_m2_day.values, axis=(1, 2))
    else:
        lit = _lit_anew(light, beds, store, *kept)
        open_sun = kept[0].open_sun_mj_m2_day
    on_plots = ground.smooth_m.values[cells_in(plots, ground.smooth_m)]
    return BedMeans(
        place_m=shapely.get_coordinates(shapely.centroid(list(beds))),
        height_m=means(ground.smooth_m),
        slope_deg=means(ground.slope_deg),
        east=means(ground.east),
        north=means(ground.north),
        **lit,
        answers_c=means(air.answers_c),
        central_answer=air.central_answer,
        offset_c=means(air.offset_c),
        cold_air_m=means(air.depth_m),
        water_share=means(analysis.water_gathers),
        wind_share=means(analysis.wind_share),
        middle_height_m=float(np.nanmedian(on_plots)),
        open_sun_mj_m2_day=open_sun,
        is_flow_known=air.night is not None,
    )


def _lit_anew(
    light: LightFields,
    beds: Sequence[BaseGeometry],
    store: Store,
    now: BedMeans,
    reach: Bounds,
) -> Arrays:
    """The same light but of the beds within reach; that of cells is not read."""
    lit = {name: getattr(now, name).copy() for name in LIGHT}
    near = np.flatnonzero(shapely.intersects(list(beds), shapely.box(*reach))).tolist()
    if near:
        anew = _dimmed(light, [beds[at] for at in near], store)
        for name in LIGHT:
            lit[name][..., near] = anew[name]
    return lit


def _light(light: LightFields, beds: Sequence[BaseGeometry], store: Store) -> Arrays:
    """Light on beds; beside things that stand, from points of the beds themselves."""
    if not light.shade.exists:
        return {name: zonal_means.means(getattr(light, name), beds) for name in LIGHT}
    return _dimmed(light, beds, store)


def _dimmed(light: LightFields, beds: Sequence[BaseGeometry], store: Store) -> Arrays:
    """Light of open ground on beds, less what things take from points of the beds."""
    cells = light.sky_view
    open_light = {
        name: zonal_means.means(cells.with_values(values), beds)
        for name, values in light.open_light.items()
    }
    found = shade.dimmed(open_light, shade.on_beds(light.shade, beds, store))
    parts = ("beam_mj_m2_day", "sky_mj_m2_day", "reflected_mj_m2_day")
    found["sun_mj_m2_day"] = np.sum([found[part] for part in parts], axis=0)
    return {name: found[name] for name in LIGHT}
