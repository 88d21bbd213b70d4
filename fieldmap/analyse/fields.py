"""What the ground does to sun, cold air and water, as rasters on one grid."""

from dataclasses import dataclass

from fieldmap.analyse import water
from fieldmap.analyse.cold_air.flow import Night
from fieldmap.analyse.light.shade import Shade
from fieldmap.cache import Arrays
from fieldmap.model.fact import Fact
from fieldmap.model.raster import Raster


@dataclass(frozen=True)
class TerrainFields:
    """The shape of the ground.

    Attributes
    ----------
    elevation_m, smooth_m
        Ground height as read, and smoothed to the stated scale.
    east, north
        Rise of the smoothed ground [m/m], towards grid east and grid north.
    slope_deg, aspect_deg
        Plain Horn on the given grid; aspect from true north, NaN where it
        slopes less than 0.5°.
    """

    elevation_m: Raster
    smooth_m: Raster
    east: Raster
    north: Raster
    slope_deg: Raster
    aspect_deg: Raster


@dataclass(frozen=True)
class LightFields:
    """Sun and sky on the ground, (12, rows, cols) by month, January first.

    Attributes
    ----------
    sky_view
        (rows, cols): visible share of the sky on the tilted ground, 0-1,
        cosine-weighted; behind leaves by what they let through, mean of the year.
    beam_mj_m2_day, sky_mj_m2_day, reflected_mj_m2_day
        Light on the ground straight from the sun, from the sky, and from the ground
        and the things around.
    direct_hours
        Hours a day with the sun on the ground, were it clear.
    morning_share
        Part of the beam that comes before solar noon; NaN without.
    level_sun_mj_m2_day
        Light on a level surface there, whatever the ground's slope.
    shade
        What stands there, how the ground lies and how high the hills stand, for the
        light of beds and single points.
    open_light
        Light without what stands there, as `light.by_month` gives it.
    sky
        "clear sky" or "typical sky": what the light was computed for.
    """

    sky_view: Raster
    beam_mj_m2_day: Raster
    sky_mj_m2_day: Raster
    reflected_mj_m2_day: Raster
    direct_hours: Raster
    morning_share: Raster
    level_sun_mj_m2_day: Raster
    shade: Shade
    open_light: Arrays
    sky: str

    @property
    def sun_mj_m2_day(self) -> Raster:
        """All light on the ground."""
        return self.beam_mj_m2_day.with_values(
            self.beam_mj_m2_day.values
            + self.sky_mj_m2_day.values
            + self.reflected_mj_m2_day.values
        )


@dataclass(frozen=True)
class ColdAirFields:
    """Cold air of a clear calm night.

    Attributes
    ----------
    depth_m
        (rows, cols): depth of the cold layer.
    answers_c
        (answers, rows, cols): offset by each run of the flow and, within a run, each
        pair of weights (low, central, high); by weights alone without a flow; by the
        ends of the factor that thermometers gave.
    central_answer
        Number of the likeliest answer.
    offset_c
        (3, rows, cols): low, central, high: 8 of 10 places like these lie between low
        and high. Wider than the answers by what terrain does not tell.
    reference_c
        How cold the reference is, by run and weights, on the scale of `coldness`.
    astray_c
        (rows, cols): standard deviation of what terrain does not tell between a place
        and the reference.
    night
        The flow of the cold air, None where none was computed.
    has_signal
        (rows, cols): where the ground says anything about cold air.
    seen_c
        How much colder ground that was seen white at dawn is taken; in all offsets.
        NaN where they are.
    hollow_depth_m, cold_pool_class
        What the ground's shape alone says: depth under the spill; 1 collects cold air,
        0 no signal, -1 does not.
    """

    depth_m: Raster
    answers_c: Raster
    central_answer: int
    offset_c: Raster
    reference_c: tuple[float, ...]
    astray_c: Raster
    night: Night | None
    seen_c: Raster
    has_signal: Raster
    hollow_depth_m: Raster
    cold_pool_class: Raster


@dataclass(frozen=True)
class Analysis:
    """What the ground does to sun, cold air, water and wind.

    Attributes
    ----------
    wetness_index
        How much rain water gathers and how slowly it runs off.
    wind_share
        (winds, rows, cols): share of the open wind that is left, in the order of
        `wind.WINDS`; NaN for a wind that the site does not give.
    remarks
        What could not be known.
    """

    terrain: TerrainFields
    light: LightFields
    cold_air: ColdAirFields
    wetness_index: Raster
    wind_share: Raster
    remarks: tuple[Fact, ...]

    @property
    def water_gathers(self) -> Raster:
        """1 where rain water gathers, by the shape of the ground, else 0."""
        return water.gathers(self.wetness_index)
