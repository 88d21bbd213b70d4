"""One of several places that are compared: a site, a plot, or a place after a change."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import shapely

from fieldmap.analyse import wind
from fieldmap.decide.calendar import soil_warming
from fieldmap.decide.calendar.planting_dates import Dates
from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.materials import Materials
from fieldmap.decide.ranking import RankedBed
from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.model.estimate import Estimate
from fieldmap.model.season_year import SeasonYear
from fieldmap.model.site import DRIES_FIRST, PUDDLES
from fieldmap.plan import Plan

Floats = npt.NDArray[np.float64]

DARKEST, BRIGHTEST = 12, 7  # months of the north


class CandidateDates(NamedTuple):
    """Dates on the middle bed, without a cover.

    Attributes
    ----------
    early_days, late_days
        (draws,) of the reference crop.
    hardy_early_days
        By hardy crop.
    """

    reference_crop: str
    early_days: Floats
    late_days: Floats
    hardy_early_days: Mapping[str, Estimate]


@dataclass(frozen=True)
class Candidate:
    """What is compared of a place.

    Attributes
    ----------
    name
        None for a place as it is, beside its changes.
    sky
        For which its light holds.
    bed_names
        Those of the beds that count.
    dates
        None where none are known, or there is no bed.
    numbers
        By the kind of their row, which ends in their unit; NaN where not known.
    deepest_bed
        On which the cold air is deepest, "" where its depth is not known.
    """

    name: str | None
    season: SeasonYear
    sky: str
    bed_names: tuple[str, ...]
    dates: CandidateDates | None
    numbers: Mapping[str, float]
    deepest_bed: str


def of_plan(plan: Plan, name: str | None, plots: Sequence[str]) -> Candidate:
    """The plots of a plan that count, as one candidate.

    Parameters
    ----------
    plan
        A finished plan.
    name
        What the candidate is called; None for a place as it is, beside its changes.
    plots
        Names of the plots that count.
    """
    site, means, season = plan.site, plan.means, plan.site.season
    chosen = [k for k, ranked in enumerate(plan.beds) if ranked.bed.plot in plots]
    ranked = [plan.beds[k] for k in chosen]
    beds = [each.bed for each in ranked]
    names = tuple(bed.name for bed in beds)
    depth_m = means.cold_air_m[chosen] if means.is_flow_known else np.array([])
    prevailing = means.wind_share[wind.WINDS.index("prevailing"), chosen]
    given_wet = site.plots["wet_in_march"][site.plots["name"].isin(plots)]
    is_wet_known = any(isinstance(wet, bool | np.bool_) for wet in given_wet)
    is_wet_known |= not site.seen(PUDDLES, DRIES_FIRST).is_empty
    wet = (
        soil_warming.wet_in_march(site.plots, site.seen, beds) if is_wet_known else None
    )
    return Candidate(
        name=name,
        season=season,
        sky=plan.analysis.light.sky,
        bed_names=names,
        dates=_dates(plan.dates, chosen) if plan.dates.known and beds else None,
        numbers={
            "growing_area_m2": sum(bed.area_m2 for bed in beds),
            "winter_light_mj_m2_day": _light(ranked, season.month_index(DARKEST)),
            "summer_light_mj_m2_day": _light(ranked, season.month_index(BRIGHTEST)),
            "pocket_percent": _pocket_percent(beds, plan.cold_pockets),
            "open_wind_percent": 100 * _mean(prevailing),
            "slope_percent": _middle([each.slope_percent for each in ranked]),
            "wet_percent": np.nan if wet is None else _percent_of_area(beds, wet),
            "water_percent": _percent_of_area(
                beds, [one.water_share for one in ranked]
            ),
            "cold_air_m": float(depth_m.max()) if depth_m.size else float("nan"),
            **_tunnels([place for place in plan.tunnels if place.plot in plots]),
            **_materials(plan.materials, names),
        },
        deepest_bed=names[int(np.argmax(depth_m))] if depth_m.size else "",
    )


def _dates(dates: Dates, chosen: Sequence[int]) -> CandidateDates:
    with np.errstate(invalid="ignore"):
        early, late = (
            np.median(days[chosen], axis=0)
            for days in (dates.early_draws, dates.late_draws)
        )
        hardy = {
            crop.name: Estimate(*np.median(dates.early[:, k, 0][:, chosen], axis=1))
            for k, crop in enumerate(dates.crops)
            if crop.crop_class.value == "hardy"
        }
    return CandidateDates(dates.reference_crop, early, late, hardy)


def _light(ranked: Sequence[RankedBed], month_index: int) -> float:
    return _mean([each.light.sun_mj_m2_day[month_index] for each in ranked])


def _mean(values: Sequence[float] | Floats) -> float:
    return float(np.mean(values)) if len(values) else float("nan")


def _middle(values: Sequence[float]) -> float:
    return float(np.median(values)) if values else float("nan")


def _percent_of_area(
    beds: Sequence[Bed], shares: Sequence[float] | npt.NDArray[np.bool_]
) -> float:
    areas = np.array([bed.area_m2 for bed in beds])
    return float(100 * np.array(shares) @ areas / areas.sum()) if beds else float("nan")


def _pocket_percent(beds: Sequence[Bed], pockets: gpd.GeoDataFrame) -> float:
    if not beds:
        return float("nan")
    ground = shapely.union_all([bed.outline for bed in beds])
    cold = shapely.union_all(list(pockets.geometry))
    return float(100 * ground.intersection(cold).area / ground.area)


def _tunnels(places: Sequence[TunnelPlace]) -> dict[str, float]:
    return {
        "tunnel_places": len(places),
        "tunnel_area_m2": sum(
            each.size.length_m * each.size.width_m for each in places
        ),
    }


def _materials(materials: Materials, bed_names: Sequence[str]) -> dict[str, float]:
    low = [each for each in materials.low_tunnels if each.bed in bed_names]
    return {
        "hoops": sum(each.hoops for each in low),
        "cover_m": sum(each.cover_length_m for each in low),
        "cost": float("nan") if materials.cost is None else materials.cost,
    }
