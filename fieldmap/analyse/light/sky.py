"""Light on the ground, month by month: the sky over the plots, cut by the skyline."""

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from fieldmap.analyse.light.sun import clear_table
from fieldmap.cache import Arrays, Store
from fieldmap.model.fact import Fact, Progress
from fieldmap.model.raster import Raster
from fieldmap.model.settings import Light
from fieldmap.model.site import Site, TypicalYear
from layers import horizon, sunlight
from layers._grid import Grid

# The sun of any common year serves; this one is kept so that results stay the same.
SUN_YEAR = 2025


@dataclass(frozen=True)
class Sky:
    """The sky over the plots: all that light hangs on, ground and skyline apart.

    Attributes
    ----------
    typical_year
        Cloud as it is at the place; None where only `sun` may say something of it.
    """

    place: sunlight.Place
    sun: Light
    typical_year: TypicalYear | None

    @property
    def name(self) -> Literal["clear sky", "typical sky"]:
        """What the light is of, for every sheet."""
        means = self.sun.global_mj_m2_day
        is_clear = self.typical_year is None and means is None
        return "clear sky" if is_clear else "typical sky"

    def inputs(self) -> dict[str, Any]:
        """All of it, for a store."""
        sky = {name: getattr(self.sun, name) for name in Light.model_fields}
        inputs: dict[str, Any] = {"place": vars(self.place), "sky": sky}
        if self.typical_year is not None:
            year = self.typical_year
            place = [year.latitude, year.longitude, year.elevation_m]
            inputs |= {"typical": year.hours.to_numpy(), "typical place": place}
        return inputs

    def table(self, sectors: int) -> sunlight.SunTable:
        """Light by direction and month: of clear skies, or with the cloud there."""
        clear = clear_table(self.place, sectors, SUN_YEAR, self.sun.sky_light)
        if self.typical_year is not None:
            return sunlight.typical(clear, *cloud_ratios(self.typical_year))
        if self.sun.global_mj_m2_day is None or self.sun.diffuse_mj_m2_day is None:
            return clear
        whole = np.array(self.sun.global_mj_m2_day)
        part = np.array(self.sun.diffuse_mj_m2_day)
        clear_beam = clear.global_mj_m2_day - clear.sky_mj_m2_day
        return sunlight.typical(
            clear, _ratio(whole - part, clear_beam), _ratio(part, clear.sky_mj_m2_day)
        )


def cloud_ratios(
    year: TypicalYear,
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Beam and sky light of a typical year over those of clear skies there, (12,) each."""
    there = sunlight.Place(year.latitude, year.longitude, year.elevation_m, 0.0)
    # Of level ground, so any sectors serve; the fewest are the quickest to add up.
    clear = clear_table(there, 4, SUN_YEAR, "isotropic")
    return sunlight.monthly_ratios(year.hours, clear)


def sky_over(site: Site, smooth: Raster) -> Sky:
    """The sky over the plots of a site.

    Parameters
    ----------
    smooth
        Shown ground, whose middle height is that of the place.
    """
    height_m = float(np.nanmedian(smooth.values))
    place = sunlight.Place(
        site.latitude, site.longitude, height_m, site.convergence_deg
    )
    return Sky(place, site.settings.sun, site.typical_year)


def by_month(
    sky: Sky,
    rise: tuple[Grid, Grid],
    skyline_deg: Raster,
    store: Store,
    progress: Progress,
) -> Arrays:
    """Light of the ground without what stands on it.

    Parameters
    ----------
    sky
        Sun and cloud over the plots.
    rise
        Of the smoothed ground to the east and north [m/m], (rows, cols) each on the
        shown cells; NaN where missing.
    skyline_deg
        (sectors, rows, cols): what the ground hides [degrees above level], on the same
        cells.
    store
        Where unchanged results are taken from.
    progress
        Is called with the step where light must be computed.

    Returns
    -------
    dict
        By the names of `LightFields`, the beam in two halves, before and after noon.
    """
    east, north = rise
    hills_deg = skyline_deg.values
    inputs = {"slopes": np.stack(rise), **sky.inputs(), "skyline": hills_deg}

    def compute() -> Arrays:
        progress(Fact("step_sun"))
        sky_view = horizon.sky_view_tilted(hills_deg, east, north)
        table = sky.table(len(hills_deg))
        on_ground = sunlight.by_month(table, east, north, hills_deg, sky_view)
        level, level_view = 0.0 * east, horizon.sky_view(hills_deg)
        on_level = sunlight.by_month(table, level, level, hills_deg, level_view)
        beam = on_ground.beam_mj_m2_day
        morning = np.where(beam > 0, beam * on_ground.morning_share, beam)
        return {
            "sky_view": sky_view,
            "morning_mj_m2_day": np.asarray(morning, np.float32),
            "afternoon_mj_m2_day": np.asarray(beam - morning, np.float32),
            "sky_mj_m2_day": np.asarray(on_ground.sky_mj_m2_day),
            "reflected_mj_m2_day": np.asarray(on_ground.reflected_mj_m2_day),
            "direct_hours": np.asarray(on_ground.direct_hours),
            "level_sun_mj_m2_day": np.asarray(on_level.total_mj_m2_day),
        }

    return store.reuse("light", inputs, compute)


def _ratio(
    typical: npt.NDArray[np.float64], clear: npt.NDArray[np.float64]
) -> npt.NDArray[np.float64]:
    """Month by month; 0 in months that have no such light at all."""
    return np.divide(typical, clear, out=np.zeros(12), where=clear > 0)
