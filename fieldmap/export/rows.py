"""Beds and tunnels as flat rows for tables: one value a column, units in the name."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fieldmap import words

if TYPE_CHECKING:
    from fieldmap.offset import OffsetRange
    from fieldmap.ranking import RankedBed
    from fieldmap.tunnels import TunnelPlace

_SUN_COLUMNS = tuple(f"sun_{month.lower()}_mj_m2_day" for month in words.MONTHS)
_OFFSET_COLUMNS = ("offset_low_c", "offset_central_c", "offset_high_c")
BED_COLUMNS = (
    "name",
    "plot",
    "area_m2",
    "length_m",
    "width_m",
    "bearing_deg",
    "slope_percent",
    *_OFFSET_COLUMNS,
    *_SUN_COLUMNS,
    "early_rank",
    "late_rank",
    "shade_rank",
    "early_group",
    "reasons",
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
    "reasons",
)


def rounded(value: float, digits: int) -> float:
    """A number with so many digits that never reads as minus zero."""
    return round(value, digits) + 0.0


def offset(offset_c: OffsetRange) -> tuple[float, ...]:
    """Low, central and high in steps of 0.1 °C."""
    return tuple(rounded(value, 1) for value in offset_c)


def bed(ranked: RankedBed) -> dict[str, Any]:
    """The values of BED_COLUMNS."""
    bed_ = ranked.bed
    sun = (rounded(value, 2) for value in ranked.sun_mj_m2_day)
    return {
        "name": bed_.name,
        "plot": bed_.plot,
        "area_m2": rounded(bed_.area_m2, 2),
        "length_m": rounded(bed_.length_m, 2),
        "width_m": rounded(bed_.width_m, 3),
        "bearing_deg": rounded(bed_.bearing_deg, 2),
        "slope_percent": rounded(ranked.slope_percent, 1),
        **dict(zip(_OFFSET_COLUMNS, offset(ranked.offset_c), strict=True)),
        **dict(zip(_SUN_COLUMNS, sun, strict=True)),
        "early_rank": ranked.early_rank,
        "late_rank": ranked.late_rank,
        "shade_rank": ranked.shade_rank,
        "early_group": ranked.early_group,
        "reasons": " ".join(ranked.reasons),
    }


def tunnel(place: TunnelPlace) -> dict[str, Any]:
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
        "reasons": " ".join(place.reasons),
    }
