"""Water for what goes where, from the record and the places of beds and taps."""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import pandas as pd
from shapely.geometry import Point

from fieldmap.analyse.climatology import STATION_WIND_M
from fieldmap.decide.crop_plan import CropPlan, Stay
from fieldmap.decide.crop_plan.model import with_days_left
from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.materials.cover_size import is_film
from fieldmap.decide.materials.watering import crop_water
from fieldmap.decide.materials.watering.model import MonthOfWater, TunnelWater, Watering
from fieldmap.decide.materials.watering.pipes import pipes
from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.model.crops import Crop
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import WEEKS, week_of
from layers import nights

NO_WATER = Watering()


class Here(NamedTuple):
    """Where water is wanted.

    Attributes
    ----------
    light_mj_m2_day
        On level ground with the cloud of the place, January first; None where not known.
    taps
        Water points by name.
    """

    latitude_deg: float
    elevation_m: float
    light_mj_m2_day: npt.ArrayLike | None
    taps: Sequence[tuple[str, Point]]


def taps(surroundings: gpd.GeoDataFrame) -> list[tuple[str, Point]]:
    """Water points of the map, by name."""
    points = surroundings[surroundings["kind"] == "water point"]
    return [
        (str(name), outline.centroid)
        for name, outline in zip(points["name"], points.geometry, strict=True)
    ]


def plan_water(
    stays: CropPlan,
    beds: Sequence[Bed],
    crops: Sequence[Crop],
    tunnels: Sequence[TunnelPlace],
    days: pd.DataFrame,
    here: Here,
) -> Watering:
    """Litres by month and metres of pipe; nothing without a record.

    Parameters
    ----------
    stays
        What stands on which bed, from when to when, under which covers.
    beds
        All beds, outdoors and in tunnels.
    crops
        Crops of the stays, by whose coefficient they drink.
    tunnels
        Walk-in tunnels where they stand.
    days
        Daily record with `tmin_c` and `tmax_c` [°C], and `wind_m_s` where it was
        measured; empty for none.
    here
        Place on earth, light and water points.
    """
    if days.empty:
        return NO_WATER
    reference = crop_water.reference_mm_day(
        _climate(days, here), here.latitude_deg, here.elevation_m
    )
    coefficients = {crop.name: crop_water.coefficient(crop) for crop in crops}
    open_air, film = _by_month(stays, {bed.name: bed for bed in beds}, coefficients)
    months = tuple(
        MonthOfWater(
            at + 1,
            float(reference[at]),
            crop_water.litres_day(open_air[at], 1.0, float(reference[at])),
            crop_water.litres_day(film[at], 1.0, float(reference[at])),
        )
        for at in range(12)
        if np.isfinite(reference[at])
    )
    planted = [bed for bed in beds if bed.name in stays.by_bed]
    return Watering(
        months=months,
        pipes=pipes(planted, here.taps),
        tunnels=tuple(_of_tunnel(each, months) for each in tunnels) if months else (),
        remarks=_remarks(days, here, has_film=bool(film.any()) or bool(tunnels)),
    )


def _climate(days: pd.DataFrame, here: Here) -> crop_water.Climate:
    months = {name: crop_water.by_month(days[name]) for name in ("tmin_c", "tmax_c")}
    wind = np.full(12, np.nan)
    if "wind_m_s" in days:
        wind = np.asarray(
            nights.wind_at_2_m(crop_water.by_month(days["wind_m_s"]), STATION_WIND_M)
        )
    light = here.light_mj_m2_day
    return crop_water.Climate(
        months["tmin_c"],
        months["tmax_c"],
        wind,
        None if light is None else np.asarray(light, float),
    )


def _by_month(
    stays: CropPlan, beds: Mapping[str, Bed], coefficients: Mapping[str, float]
) -> tuple[np.ndarray, np.ndarray]:
    """Area times coefficient by month: of all that stands, and of what is under film."""
    every, film = [0.0] * WEEKS, [0.0] * WEEKS
    inside = {bed.name for bed in stays.floor}
    for stay, last in with_days_left(stays.stays):
        bed = beds[stay.bed]
        width_m = bed.width_m - bed.path_within_m
        amount = (
            stay.length_m(bed.length_m)
            * width_m
            * coefficients.get(stay.crop, crop_water.OTHERS)
        )
        stands = {
            *_weeks(stay.from_day, stay.to_day),
            *_weeks(1, last),
        }
        for week in stands:
            every[week] += amount
        for week in stands if stay.bed in inside else _under_film(stay):
            film[week] += amount
    # A week counts for the month in which it begins.
    months = [stays.month_day(7 * week + 1)[0] for week in range(WEEKS)]
    return crop_water.of_months(every, months), crop_water.of_months(film, months)


def _under_film(stay: Stay) -> set[int]:
    """Weeks in which no rain reaches a stay outdoors."""
    spans = [(use.from_day, use.to_day) for use in stay.covers if is_film(use.kind)]
    return {week for first, last in spans for week in _weeks(first, last)}


def _weeks(first: int, last: int) -> range:
    """In which some days of the season-year lie; none where the last is before the first."""
    return range(week_of(first), week_of(last) + 1) if last >= first else range(0)


def _of_tunnel(place: TunnelPlace, months: Sequence[MonthOfWater]) -> TunnelWater:
    most = max(months, key=lambda each: each.reference_mm_day)
    area_m2 = place.size.length_m * place.size.width_m
    litres = crop_water.litres_day(area_m2, crop_water.OTHERS, most.reference_mm_day)
    return TunnelWater(place.name, area_m2, most.month, litres)


def _remarks(days: pd.DataFrame, here: Here, *, has_film: bool) -> tuple[Fact, ...]:
    assumed = [
        *([] if here.light_mj_m2_day is not None else [Fact("water_by_swing")]),
        *([] if "wind_m_s" in days else [Fact("water_by_usual_wind")]),
        *([] if here.taps else [Fact("no_water_point")]),
        *([Fact("film_sheds_rain")] if has_film else []),
    ]
    return (Fact("water_is_rough"), *assumed)
