"""Beds and tunnels as flat rows for tables: one value a column, units in the name."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from pyproj import Transformer

from fieldmap.model.crops import CLASS_NAMES
from fieldmap.show.text import quantities
from fieldmap.show.text.sentence import say_all

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldmap.decide.calendar.planting_dates import Dates
    from fieldmap.decide.crop_plan import CropPlan, Stay
    from fieldmap.decide.ranking import RankedBed
    from fieldmap.decide.tunnels import TunnelPlace
    from fieldmap.model.estimate import Estimate
    from fieldmap.plan import Plan
    from fieldmap.show.text.quantities import Units

_SUN_COLUMNS = tuple(f"sun_{month.lower()}_mj_m2_day" for month in quantities.MONTHS)
_OFFSET_COLUMNS = ("offset_low_c", "offset_central_c", "offset_high_c")
BED_COLUMNS = (
    "name",
    "plot",
    "area_m2",
    "length_m",
    "width_m",
    "path_within_m",
    "bearing_deg",
    "slope_percent",
    "along_percent",
    "across_percent",
    "faces_deg",
    "water_percent",
    "wind_percent",
    *_OFFSET_COLUMNS,
    *_SUN_COLUMNS,
    "early_rank",
    "late_rank",
    "shade_rank",
    "cool_rank",
    "early_group",
    "among_first_percent",
    "reasons",
)
FIRST_DATE_COLUMNS = tuple(f"early_{name}" for name in CLASS_NAMES)
DATE_COLUMNS = (
    "bed",
    "crop",
    "cover",
    "early_low",
    "early_central",
    "early_high",
    "late_low",
    "late_central",
    "late_high",
    "grows_until",
    "last_sowing_low",
    "last_sowing_central",
    "last_sowing_high",
    "risk",
)
STAY_COLUMNS = (
    "bed",
    "crop",
    "season",
    "from",
    "first_harvest",
    "to",
    "covers",
    "days_by_covers",
    "days_by_place",
    "family_of_last_year",
)
TUNNEL_COLUMNS = (
    "name",
    "plot",
    "length_m",
    "width_m",
    "height_m",
    "bearing_deg",
    "slope_along_percent",
    "slope_across_percent",
    *_OFFSET_COLUMNS,
    "winter_sun_mj_m2_day",
    "spring_sun_mj_m2_day",
    "earth_level_m3",
    "earth_sloping_m3",
    "water_from_m2",
    "to_gate_m",
    "to_water_m",
    "taken_m2",
    "storm_share",
    "reasons",
)
CHOICE_COLUMNS = (
    "choice",
    "name",
    "size_length_m",
    "size_width_m",
    "plot",
    "longitude",
    "latitude",
    "bearing_deg",
    "slope_along_percent",
    "slope_across_percent",
    "earth_m3",
    "winter_sun_mj_m2_day",
    "offset_c",
    "to_gate_m",
    "to_water_m",
)


def rounded(value: float, digits: int) -> float:
    """A number with so many digits that never reads as minus zero."""
    return round(value, digits) + 0.0


def known(value: float, digits: int) -> float | None:
    """A rounded number, None where it is not known."""
    return None if math.isnan(value) else rounded(value, digits)


def offset(offset_c: Estimate) -> tuple[float, ...]:
    """Low, central and high in steps of 0.1 °C."""
    return tuple(rounded(value, 1) for value in offset_c)


def bed(ranked: RankedBed, units: Units) -> dict[str, Any]:
    """The values of BED_COLUMNS."""
    bed_ = ranked.bed
    sun = (rounded(value, 2) for value in ranked.sun_mj_m2_day)
    return {
        "name": bed_.name,
        "plot": bed_.plot,
        "area_m2": rounded(bed_.area_m2, 2),
        "length_m": rounded(bed_.length_m, 2),
        "width_m": rounded(bed_.width_m, 3),
        "path_within_m": rounded(bed_.path_within_m, 3),
        "bearing_deg": rounded(bed_.bearing_deg, 2),
        "slope_percent": rounded(ranked.slope_percent, 1),
        "along_percent": known(ranked.along_percent, 1),
        "across_percent": known(ranked.across_percent, 1),
        "faces_deg": known(ranked.faces_deg, 0),
        "water_percent": known(100 * ranked.water_share, 0),
        "wind_percent": known(100 * ranked.wind_share, 0),
        **dict(zip(_OFFSET_COLUMNS, offset(ranked.offset_c), strict=True)),
        **dict(zip(_SUN_COLUMNS, sun, strict=True)),
        "early_rank": ranked.early_rank,
        "late_rank": ranked.late_rank,
        "shade_rank": ranked.shade_rank,
        "cool_rank": ranked.cool_rank,
        "early_group": ranked.early_group,
        "among_first_percent": known(100 * ranked.among_first_share, 0),
        "reasons": " ".join(say_all(ranked.reasons, units)),
    }


def early(dates: Dates, span: Estimate) -> list[str | None]:
    """Low, central and high of an early date as MM-DD; None where there is none."""
    return [_iso(dates.season.early_date(day)) for day in span]


def late(dates: Dates, span: Estimate) -> list[str | None]:
    """Low, central and high of a late date as MM-DD; None where there is none."""
    return [_iso(dates.season.late_date(day)) for day in span]


def station_days(dates: Dates, days: tuple[float, float]) -> list[str | None]:
    """Last freeze of spring and first of autumn as MM-DD; None where there is none."""
    return [_iso(dates.season.date(day)) for day in days]


def _iso(day: tuple[int, int] | None) -> str | None:
    return None if day is None else f"{day[0]:02d}-{day[1]:02d}"


def first_dates(dates: Dates, bed_number: int) -> dict[str, Any]:
    """The values of FIRST_DATE_COLUMNS: the first central date of each class."""
    found: dict[str, float] = {}
    for number, crop in enumerate(dates.crops):
        column = f"early_{crop.crop_class.value}"
        day = dates.early_of(bed_number, number).central
        found[column] = min(found.get(column, day), day)
    return {
        column: _iso(dates.season.early_date(found[column]))
        if column in found
        else None
        for column in FIRST_DATE_COLUMNS
    }


def bed_dates(dates: Dates, bed_name: str, bed_number: int) -> Iterator[dict[str, Any]]:
    """The values of DATE_COLUMNS for every crop and cover of a bed."""
    for number, crop in enumerate(dates.crops):
        for at, cover in enumerate(dates.covers):
            span = dates.early_of(bed_number, number, at)
            until = dates.late_of(bed_number, number, at)
            sowing = dates.last_sowing[:, number, at, bed_number]
            values = (
                *early(dates, span),
                *late(dates, until),
                _iso(
                    dates.season.late_date(float(dates.grows_until[number, bed_number]))
                ),
                *(_iso(dates.season.date(float(day))) for day in sowing),
                dates.risks[number],
            )
            yield dict(
                zip(DATE_COLUMNS, (bed_name, crop.name, cover, *values), strict=True)
            )


def month_day(plan: CropPlan, day: float) -> str:
    """A day of the season-year as MM-DD."""
    month, day_of_month = plan.month_day(day)
    return f"{month:02d}-{day_of_month:02d}"


def stay(plan: CropPlan, stay: Stay) -> dict[str, Any]:
    """The values of STAY_COLUMNS."""
    return {
        "bed": stay.bed,
        "crop": stay.crop,
        "season": stay.season,
        "from": month_day(plan, stay.from_day),
        "first_harvest": month_day(plan, stay.harvest_day),
        "to": month_day(plan, stay.to_day),
        "covers": "; ".join(
            f"{use.kind} {month_day(plan, use.from_day)} to "
            f"{month_day(plan, use.to_day)}"
            for use in stay.covers
        ),
        "days_by_covers": rounded(stay.days_by_cover, 1),
        "days_by_place": rounded(stay.days_by_place, 1),
        "family_of_last_year": stay.family_of_last_year,
    }


def tunnel(place: TunnelPlace, units: Units) -> dict[str, Any]:
    """The values of TUNNEL_COLUMNS."""
    return {
        "name": place.name,
        "plot": place.plot,
        "length_m": place.length_m,
        "width_m": place.width_m,
        "height_m": place.height_m,
        "bearing_deg": rounded(place.bearing_deg, 2),
        "slope_along_percent": rounded(place.slope_along_percent, 2),
        "slope_across_percent": rounded(place.slope_across_percent, 2),
        **dict(zip(_OFFSET_COLUMNS, offset(place.offset_c), strict=True)),
        "winter_sun_mj_m2_day": rounded(place.winter_sun_mj_m2_day, 2),
        "spring_sun_mj_m2_day": rounded(place.spring_sun_mj_m2_day, 2),
        "earth_level_m3": rounded(place.earth_level_m3, 1),
        "earth_sloping_m3": rounded(place.earth_sloping_m3, 1),
        "water_from_m2": rounded(place.water_from_m2, 0),
        "to_gate_m": _rounded_or_none(place.to_gate_m, 1),
        "to_water_m": _rounded_or_none(place.to_water_m, 1),
        "taken_m2": rounded(place.taken_m2, 1),
        "storm_share": _rounded_or_none(place.storm_share, 2),
        "reasons": " ".join(say_all(place.reasons, units)),
    }


def _rounded_or_none(value: float | None, digits: int) -> float | None:
    return None if value is None else rounded(value, digits)


def tunnel_choices(plan: Plan) -> Iterator[dict[str, Any]]:
    """The values of CHOICE_COLUMNS: the sets by letter, then all that none beats."""
    to_degrees = Transformer.from_crs(plan.site.crs, "EPSG:4326", always_xy=True)
    for choice in plan.tunnel_choices:
        for place in choice.places:
            middle = place.outline.centroid
            yield _choice_row(
                to_degrees,
                (middle.x, middle.y),
                choice=choice.letter,
                name=place.name,
                size_length_m=place.length_m,
                size_width_m=place.width_m,
                plot=place.plot,
                bearing_deg=rounded(place.bearing_deg, 1),
                slope_along_percent=rounded(place.slope_along_percent, 1),
                slope_across_percent=rounded(place.slope_across_percent, 1),
                earth_m3=rounded(place.earth_level_m3, 1),
                winter_sun_mj_m2_day=rounded(place.winter_sun_mj_m2_day, 2),
                offset_c=rounded(place.offset_c.central, 1),
                to_gate_m=_rounded_or_none(place.to_gate_m, 0),
                to_water_m=_rounded_or_none(place.to_water_m, 0),
            )
    for each in plan.unbeaten_tunnels:
        size = plan.site.settings.tunnels[each.size]
        yield _choice_row(
            to_degrees,
            (each.easting, each.northing),
            choice="",
            name="",
            size_length_m=size.length_m,
            size_width_m=size.width_m,
            plot=each.plot,
            bearing_deg=rounded(each.bearing_deg, 1),
            slope_along_percent=rounded(each.along_percent, 1),
            slope_across_percent=rounded(each.across_percent, 1),
            earth_m3=rounded(each.earth_m3, 1),
            winter_sun_mj_m2_day=rounded(each.winter_sun_mj_m2_day, 2),
            offset_c=rounded(each.offset_c, 1),
            to_gate_m=_rounded_or_none(each.to_gate_m, 0),
            to_water_m=_rounded_or_none(each.to_water_m, 0),
        )


def _choice_row(
    to_degrees: Transformer, at: tuple[float, float], **values: Any
) -> dict[str, Any]:
    longitude, latitude = to_degrees.transform(*at)
    return values | {"longitude": round(longitude, 7), "latitude": round(latitude, 7)}
