"""Beds in the order of planting, with all that is known of each."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, TypeAlias

from fieldmap.decide.ranking import GROUPS
from fieldmap.show.layer_styles import GROUP_COLOURS
from fieldmap.show.map.tables.table import Column, Row, Table, cells, headings, row_id
from fieldmap.show.text.crop_plan import of_bed
from fieldmap.show.text.language import month_name, translated
from fieldmap.show.text.map import beds as words
from fieldmap.show.text.map.cold_air import night
from fieldmap.show.text.map.headings import heading
from fieldmap.show.text.map.labels import label
from fieldmap.show.text.sentence import say_all
from layers import sunlight

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from datetime import date

    from fieldmap.decide.calendar.direct_sun import Spells
    from fieldmap.decide.calendar.planting_dates import Dates
    from fieldmap.decide.crop_plan import CropPlan
    from fieldmap.decide.ranking import RankedBed
    from fieldmap.plan import Plan
    from fieldmap.show.text.quantities import Units

Numbered: TypeAlias = "tuple[int, RankedBed]"  # with its number in the plan


def table(plan: Plan) -> Table:
    """Beds in the order of planting."""
    settings, site = plan.site.settings, plan.site
    by_station = site.station_cell is not None
    columns: list[Column[Numbered]] = [
        *_planting(plan.beds, plan.crop_plan, plan.dates),
        Column(
            heading("still_night"),
            lambda one: night(one[1].offset_c, settings.units, by_station=by_station),
        ),
        Column(heading("sun"), lambda one: _sun(one[1], site.spring_month)),
        *_sun_on(settings.sun.day, plan.sun_spells),
        Column(
            heading("tomatoes"),
            lambda one: _tomatoes(one[1], site.summer_month, plan.analysis.light.sky),
        ),
        *_ground(settings.units, wind=settings.wind.prevailing_from_deg is not None),
        _place("holds_longest", [bed.late_rank for bed in plan.beds]),
        _place("needs_shade", [bed.shade_rank for bed in plan.beds]),
        _place("cool", [bed.cool_rank for bed in plan.beds]),
        Column(
            heading("why"),
            lambda one: " ".join(say_all(one[1].reasons, settings.units)),
        ),
    ]
    order = sorted(
        enumerate(plan.beds),
        key=lambda one: (GROUPS.index(one[1].early_group), one[1].early_rank, one[0]),
    )
    return Table(
        "beds",
        label("beds"),
        headings(columns),
        tuple(
            Row(
                row_id("bed", number),
                cells(columns, (number, bed)),
                GROUP_COLOURS.get(bed.early_group, ""),
            )
            for number, bed in order
        ),
        label("no_beds"),
        about_dates(plan.dates),
    )


def _planting(
    beds: Sequence[RankedBed], crop_plan: CropPlan, dates: Dates
) -> Iterator[Column[Numbered]]:
    """When a bed is planted and with what, as far as that is known."""
    yield Column(heading("bed"), lambda one: one[1].bed.name)
    alike = Counter(bed.early_group for bed in beds)
    yield Column(
        heading("planting"),
        lambda one: words.planted(
            one[1].early_group, len(beds), alike[one[1].early_group]
        ),
    )
    if crop_plan.is_known:
        yield Column(
            heading("grows_here"),
            lambda one: of_bed(crop_plan, one[1].bed.name) or "–",
        )
    if dates.are_told:
        yield Column(heading("out_from"), lambda one: _out_from(dates, one[0]))


def _sun_on(
    day: date | None, spells: Mapping[str, Spells]
) -> Iterator[Column[Numbered]]:
    """The hours of one day, where the site names a day."""
    if day is not None:
        yield Column(
            words.sun_on(day), lambda one: words.spells(spells[one[1].bed.name])
        )


def _ground(units: Units, *, wind: bool) -> Iterator[Column[Numbered]]:
    """The lie of the ground, the wind where its direction is known, and rain water."""
    yield Column(
        heading("ground"),
        lambda one: words.ground(
            one[1].slope_percent, one[1].faces_deg, one[1].along_percent, units
        ),
    )
    if wind:
        yield Column(heading("wind"), lambda one: words.wind_left(one[1].wind_share))
    yield Column(
        heading("rain_water"), lambda one: words.rain_water(one[1].water_share)
    )


def _place(key: str, ranks: Sequence[int]) -> Column[Numbered]:
    """Places in an order, from the rank of each bed."""
    alike = Counter(ranks)
    return Column(
        heading(key),
        lambda one: words.place(ranks[one[0]], len(ranks), alike[ranks[one[0]]]),
    )


def _out_from(dates: Dates, number: int) -> str:
    """A line for each crop, without a cover."""
    return "\n".join(
        words.out_from(
            crop.name,
            [dates.season.early_date(day) for day in dates.early_of(number, k)],
        )
        for k, crop in enumerate(dates.crops)
    )


def _sun(bed: RankedBed, month: int) -> str:
    return words.sun(
        bed.direct_hours[month],
        bed.sun_mj_m2_day[month],
        month_name(month + 1),
        bed.morning_share[month],
    )


def _tomatoes(bed: RankedBed, month: int, sky: str) -> str:
    """Light enough for tomatoes in the warmest month: yes, just, or no."""
    mol = float(sunlight.daily_light_integral_mol(bed.sun_mj_m2_day[month]))
    return words.tomatoes(mol, sunlight.LIGHT_INTEGRAL_BAND, month_name(month + 1), sky)


def about_dates(dates: Dates) -> tuple[str, ...]:
    """The risk behind the dates, and the question behind the risk."""
    if not dates.are_told:
        return ()
    by_risk: dict[float, list[str]] = {}
    for crop, risk in zip(dates.crops, dates.risks, strict=True):
        by_risk.setdefault(risk, []).append(crop.name)
    return (
        *(words.risk(risk, crops) for risk, crops in by_risk.items()),
        *translated(words.ABOUT_DATES),
    )
