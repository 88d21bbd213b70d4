"""Beds in the order of planting, with all that is known of each, and the risk behind."""

from collections import Counter
from collections.abc import Callable, Sequence
from math import isnan
from typing import TypeAlias

from fieldmap.decide import daylight
from fieldmap.decide.calendar import in_tunnels
from fieldmap.decide.calendar.planting_dates import Dates
from fieldmap.decide.ranking import RankedBed
from fieldmap.decide.ranking.groups import GROUPS
from fieldmap.plan import Plan
from fieldmap.show.map.tables.table import (
    Columns,
    Row,
    Table,
    cells,
    laid_out,
    row_id,
    table,
)
from fieldmap.show.text.decide.crop_plan import of_bed
from fieldmap.show.text.language import translated
from fieldmap.show.text.map import beds as words
from fieldmap.show.text.map.cold_air import night
from fieldmap.show.text.map.labels import label
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase, say_all
from layers import sunlight
from layers.cover import COVERS
from layers.odds import risk_over_years

YEARS_SHOWN = 5  # over which a risk is shown
Numbered: TypeAlias = "tuple[int, RankedBed]"  # with its number in the plan


def beds(plan: Plan) -> Table:
    """Beds in the order of planting."""
    site, settings, units = plan.site, plan.site.settings, plan.site.settings.units
    spring, summer = site.spring_month, site.summer_month
    by_station = site.station_cell is not None
    groups = Counter(bed.earliness.group for bed in plan.beds)
    columns: Columns[Numbered] = {
        "bed": lambda one: one[1].bed.name,
        "planting": lambda one: words.planted(
            one[1].earliness.group, len(plan.beds), groups[one[1].earliness.group]
        ),
    }
    if plan.crop_plan.is_known:
        columns["grows_here"] = lambda one: (
            of_bed(plan.crop_plan, one[1].bed.name, units) or "–"
        )
    if plan.dates.known:
        columns["out_from"] = lambda one: _out_from(plan.dates, one[0])
    columns["still_night"] = lambda one: night(
        one[1].offset_c, units, by_station=by_station
    )
    columns["sun"] = lambda one: words.sun(one[1].light, spring)
    if settings.sun.day is not None:
        spells = plan.sun_spells
        on_the_day = phrase(
            "sun_on_day", day=(settings.sun.day.month, settings.sun.day.day)
        )
        columns[on_the_day] = lambda one: words.spells(spells[one[1].bed.name])
    short = daylight.short_days(site.latitude)
    if short is not None:
        between = phrase(
            "sun_in_short_days", first_day=short.first, last_day=short.last
        )
        columns[between] = lambda one: phrase(
            "short_day_sun",
            sun_hours=daylight.half_hours(short.mean_hours(one[1].light.direct_hours)),
        )
    sky = plan.analysis.light.sky
    columns["tomatoes"] = lambda one: _tomatoes(one[1], summer, sky)
    columns["ground"] = lambda one: words.ground(
        one[1].slope_percent, one[1].lie.faces_deg, one[1].lie.along_percent, units
    )
    if settings.wind.prevailing_from_deg is not None:
        columns["prevailing_wind"] = lambda one: words.wind_left(one[1].wind_share)
    columns["rain_water"] = lambda one: words.rain_water(one[1].water_share)
    columns["holds_longest"] = _place([bed.ranks.late for bed in plan.beds])
    columns["needs_shade"] = _place([bed.ranks.shade for bed in plan.beds])
    columns["cool"] = _place([bed.ranks.cool for bed in plan.beds])
    columns["why"] = lambda one: " ".join(say_all(one[1].reasons, units))
    rows = (
        Row(
            row_id("bed", one[0]),
            cells(columns, one),
        )
        for one in _in_order(plan.beds)
    )
    return laid_out("beds", columns, rows, about_dates(plan.dates))


def _in_order(ranked: Sequence[RankedBed]) -> list[Numbered]:
    return sorted(
        enumerate(ranked),
        key=lambda one: (
            GROUPS.index(one[1].earliness.group),
            one[1].ranks.early,
            one[0],
        ),
    )


def _place(ranks: Sequence[int]) -> Callable[[Numbered], str]:
    """The place of a bed in an order, from the rank of each bed."""
    alike = Counter(ranks)
    return lambda one: words.place(ranks[one[0]], len(ranks), alike[ranks[one[0]]])


def _out_from(dates: Dates, number: int) -> str:
    """A line for each crop, without a cover."""
    lines = []
    for k, crop in enumerate(dates.crops):
        early = dates.early_of(number, k)
        if isnan(early.central):
            lines.append(phrase("crop_out_not_known", crop=crop.name))
        else:
            days = map(dates.season.early_date, early)
            lines.append(words.out_from(crop.name, days))
    return "\n".join(lines)


def within_tunnel(dates: Dates, number: int, name: str, units: Units) -> Table:
    """Dates inside a tunnel by crop, beside those in the open on its ground.

    Parameters
    ----------
    dates
        Planting dates in the tunnels: in the open on their ground, under film, and
        under fabric inside.
    number
        Number of the tunnel in the plan, from 0.
    name
        Name of the tunnel, for the title.
    units
        "metric" or "us", for the degrees in the note.
    """
    season = dates.season
    gain_c = COVERS[in_tunnels.FILM].gain_c

    def span(crop: int, cover: int) -> str:
        early = dates.early_of(number, crop, cover)
        if isnan(early.central):
            return phrase("not_known")
        first = season.early_date(early.central)
        if first is None:
            return phrase("not_warm_enough")
        last = season.late_date(dates.late_of(number, crop, cover).central)
        if last is None:
            return phrase("from_day", first_day=first)
        return phrase("from_day_to_frost", first_day=first, last_day=last)

    columns: Columns[int] = {
        "crop": lambda crop: dates.crops[crop].name,
        "open_there": lambda crop: span(crop, 0),
        "under_film": lambda crop: span(crop, 1),
        "fabric_inside": lambda crop: span(crop, 2),
    }
    return table(
        f"tunnel-dates-{number}",
        columns,
        range(len(dates.crops)),
        [
            phrase(
                "tunnel_dates_note",
                units,
                degrees_c=gain_c.central,
                most_c=gain_c.high,
            )
        ],
        title=phrase("tunnel_dates", tunnel=name),
    )


def _tomatoes(bed: RankedBed, month: int, sky: str) -> str:
    """Light enough for tomatoes in the warmest month: yes, just, or no."""
    mol = float(sunlight.daily_light_integral_mol(bed.light.sun_mj_m2_day[month]))
    return words.tomatoes(mol, sunlight.LIGHT_INTEGRAL_BAND, month + 1, sky)


def about_dates(dates: Dates) -> list[str]:
    """The risk behind the dates, and the question behind the risk."""
    if not dates.known:
        return []
    by_risk: dict[float, list[str]] = {}
    for crop, risk in zip(dates.crops, dates.risks, strict=True):
        if crop.autumn_soil_c is None:  # what is planted in autumn waits for no frost
            by_risk.setdefault(risk, []).append(crop.name)
    risks = [
        phrase("risk_taken", crops=crops, odds=risk) for risk, crops in by_risk.items()
    ]
    return [*risks, *translated(words.ABOUT_DATES)]


def station(dates: Dates, units: Units) -> Table:
    """The weather station's last and first frost for each crop, counted and by theory."""

    def day(number: int, season: int, *, by_theory: bool) -> str:
        odds = dates.station[number]
        days = odds.by_theory if by_theory else odds.counted
        return words.frost_day(dates.season.date(days[season]))

    def rule(number: int, part: str) -> str:
        compared = dates.published[number]
        fact = None if compared is None else compared.fact(dates.season)
        return "–" if fact is None else phrase(part, units, **fact.values)

    columns: Columns[int] = {
        "crop": lambda k: dates.crops[k].name,
        "harmed_at": lambda k: words.harmed_at(dates.station[k].limits_c, units),
        "spring_counted": lambda k: day(k, 0, by_theory=False),
        "spring_theory": lambda k: day(k, 0, by_theory=True),
        "autumn_counted": lambda k: day(k, 1, by_theory=False),
        "autumn_theory": lambda k: day(k, 1, by_theory=True),
    }
    if any(dates.published):
        columns |= {
            "rule": lambda k: rule(k, "rule_window"),
            "rule_here": lambda k: rule(k, "rule_here"),
            "rule_because": lambda k: rule(k, "rule_because"),
        }
    over_years = [
        words.over_years(risk, YEARS_SHOWN, risk_over_years(risk, YEARS_SHOWN))
        for risk in sorted(set(dates.risks))
    ]
    notes = [label("station_note"), *over_years]
    if any(dates.published):
        notes.append(label("rule_note"))
    return table("station", columns, range(len(dates.crops)), notes)
