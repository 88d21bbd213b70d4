"""Light on the floor of a tunnel where it stands, for every way it could point."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.fields import Analysis
from fieldmap.analyse.light import sun
from fieldmap.analyse.light.shade import Shade
from fieldmap.analyse.light.sky import SUN_YEAR, cloud_ratios, sky_over
from fieldmap.cache import Arrays, Store
from fieldmap.decide.tunnels import room
from fieldmap.decide.tunnels.criteria import SAME
from fieldmap.decide.tunnels.model import TunnelPlace
from fieldmap.model.fact import Fact
from fieldmap.model.settings import Sun, TunnelSize
from fieldmap.model.site import Site, TypicalYear
from layers import cover, sunlight

Floats = npt.NDArray[np.float64]

EVERY_DAYS, STEP_MINUTES = 5, 10.0
BEARINGS_DEG = tuple(float(step) for step in range(0, 180, 5))
# Bearings that differ by fewer points of the open light count as equal (a choice).
DECIDES_FROM_POINTS = SAME.dark_points
JOULES_PER_HOUR = 3600.0


@dataclass(frozen=True)
class Curve:
    """Light on the floor over the season of use, by bearing of the ridge.

    Attributes
    ----------
    tunnel
        Name of the place.
    months
        First and last month of use.
    open_mol_m2_day
        On open level ground there, behind its skyline, with the cloud of the place.
    bearing_deg
        From true north.
    low_percent, central_percent, high_percent
        Of the open light, see `layers.cover.FloorLight`.
    """

    tunnel: str
    months: tuple[int, int]
    open_mol_m2_day: float
    bearing_deg: tuple[float, ...]
    low_percent: tuple[float, ...]
    central_percent: tuple[float, ...]
    high_percent: tuple[float, ...]

    @property
    def difference_points(self) -> float:
        """Best less worst bearing, in points of the open light."""
        return max(self.central_percent) - min(self.central_percent)

    @property
    def best_deg(self) -> float:
        """The bearing with most light."""
        return self.bearing_deg[int(np.argmax(self.central_percent))]

    def at(self, bearing_deg: float) -> float:
        """Per cent of the open light at a bearing, between those computed."""
        return float(self.percent(np.array(bearing_deg)))

    def percent(self, bearing_deg: Floats) -> Floats:
        """Per cent of the open light at bearings, between those computed."""
        return np.asarray(
            np.interp(bearing_deg, self.bearing_deg, self.central_percent, period=180.0)
        )


class Spot(NamedTuple):
    """Where a tunnel of a size could stand, by some name."""

    name: str
    size: TunnelSize
    outline: BaseGeometry


def curve(
    site: Site, analysis: Analysis, place: TunnelPlace | Spot, store: Store
) -> Curve:
    """Light on the floor of a tunnel under one clear film, for every bearing.

    Parameters
    ----------
    site
        The site: its place on earth, season and record of sun.
    analysis
        The computed ground and light there: skyline, sky view and what stands around.
    place
        A tunnel where it stands, or a spot where one of a size could. Of its outline
        the middle counts.
    store
        Keeps the curve under the name of the place, to use it again.
    """
    name, size = place.name, place.size
    months = room.months_of_use(size, site.season)
    over = sky_over(site, analysis.terrain.smooth_m)
    sky = _sky_over(analysis, place.outline.centroid)
    inputs: dict[str, Any] = {
        "months": months,
        "vault": [size.width_m, size.height_m],
        **sky.inputs(),
    }

    def compute() -> Arrays:
        cloud = site.typical_year or site.settings.sun
        light = _open_light(over.place, sky, months, cloud)
        floor = cover.floor_light_by_bearing(
            light,
            np.array(BEARINGS_DEG),
            cover.Vault(size.width_m, size.height_m),
            cover.Film(),
        )
        percent = [floor.low_percent, floor.central_percent, floor.high_percent]
        return {"open": np.array(light.total), "percent": np.stack(percent)}

    found = store.reuse(f"tunnel_light_{name}", inputs, compute)
    low, central, high = (tuple(each) for each in found["percent"].tolist())
    return Curve(name, months, float(found["open"]), BEARINGS_DEG, low, central, high)


class _Sky(NamedTuple):
    """What one sees of the sky from the middle of a place."""

    shade: Shade
    middle: Floats
    skyline_deg: npt.NDArray[np.float32]
    view: float

    def inputs(self) -> dict[str, Any]:
        """All of it, for a store."""
        hidden = {"middle": self.middle, "skyline": self.skyline_deg, "view": self.view}
        return {**self.shade.inputs(), **hidden}

    def passing(self, path: sunlight.SunPath) -> Floats:
        """Part of the beam that comes past hills and through leaves at each time."""
        turn_deg = self.shade.sky.place.convergence_deg
        over = sunlight.in_direct_sun(path, self.skyline_deg, turn_deg)
        passing: Floats = (over * self.shade.passing(self.middle, path))[0]
        return passing


def _sky_over(analysis: Analysis, middle: Point) -> _Sky:
    light = analysis.light
    hills_deg = light.shade.skyline_deg.sample([middle.x], [middle.y])
    view = float(light.sky_view.sample([middle.x], [middle.y])[0])
    return _Sky(
        light.shade,
        np.array([[middle.x, middle.y]]),
        hills_deg.astype(np.float32),
        view,
    )


def _open_light(
    here: sunlight.Place,
    over: _Sky,
    months: tuple[int, int],
    cloud: TypicalYear | Sun,
) -> cover.OpenLight:
    """Light of the season on open level ground at a place [mol/m² a day]."""
    path, sky = sun.clear_sky(_every_few_days(), here, STEP_MINUTES, "isotropic")
    up = np.maximum(np.sin(np.radians(path.altitude_deg)), 0.0)
    beam_w, sky_w = sky.dni_w_m2 * up, sky.dhi_w_m2
    # Clouds take more of the beam than of the sky, so each has its own share.
    beam_ratio, sky_ratio = _cloud(cloud, path, beam_w, sky_w)
    # Months of use alone: what a tunnel loses while it stands empty costs nothing.
    of_season = np.isin(path.month, months_of(months))
    days = path.days[months_of(months)].sum()
    per_step = path.step_hours * JOULES_PER_HOUR / 1e6 / days
    beam = beam_w * beam_ratio[path.month] * of_season * per_step
    beam = beam * over.passing(path)
    whole_sky = float((sky_w * sky_ratio[path.month] * of_season).sum()) * per_step
    mol = sunlight.MOL_PER_MJ
    return cover.OpenLight(
        altitude_deg=path.altitude_deg,
        azimuth_deg=path.azimuth_deg,
        beam=beam * mol,
        sky=whole_sky * over.view * mol,
    )


def _every_few_days() -> list[date]:
    # The middle one of each five days stands for them.
    first = date(SUN_YEAR, 1, 3)
    return [first + timedelta(days=step) for step in range(0, 365, EVERY_DAYS)]


def months_of(span: tuple[int, int]) -> list[int]:
    """Months from the first to the last, January being 0, across New Year too."""
    first, last = span[0] - 1, span[1] - 1
    return [(first + step) % 12 for step in range((last - first) % 12 + 1)]


def _cloud(
    known: TypicalYear | Sun, path: sunlight.SunPath, beam_w: Floats, sky_w: Floats
) -> tuple[Floats, Floats]:
    """Typical over clear, month by month, for beam and sky; ones where not known."""
    if isinstance(known, TypicalYear):
        return cloud_ratios(known)
    if known.global_mj_m2_day is None or known.diffuse_mj_m2_day is None:
        return np.ones(12), np.ones(12)
    hour_mj = path.step_hours * JOULES_PER_HOUR / 1e6
    clear = [
        np.bincount(path.month, watts, minlength=12) * hour_mj / path.days
        for watts in (beam_w, sky_w)
    ]
    whole, diffuse = np.array(known.global_mj_m2_day), np.array(known.diffuse_mj_m2_day)
    ratios = [
        np.divide(typical, light, out=np.zeros(12), where=light > 0)
        for typical, light in zip((whole - diffuse, diffuse), clear, strict=True)
    ]
    return ratios[0], ratios[1]


def verdict(found: Curve, bearing_deg: float) -> Fact:
    """Whether light decides which way a tunnel points, and if not, what does."""
    percent = found.at(bearing_deg)
    light = Fact(
        "tunnel_floor_light",
        percent=round(percent),
        first=found.months[0],
        last=found.months[1],
    )
    points, lost = found.difference_points, max(found.central_percent) - percent
    if points < DECIDES_FROM_POINTS:
        return Fact("tunnel_light_does_not_decide", light=light, number=round(points))
    if lost < 1.0:
        return Fact("tunnel_light_best", light=light)
    return Fact(
        "tunnel_light_better",
        light=light,
        number=round(lost),
        bearing=found.best_deg,
    )
