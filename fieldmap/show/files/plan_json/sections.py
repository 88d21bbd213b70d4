"""Sections of `plan.json` that hold more than the rows of a table."""

import math
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from operator import attrgetter
from typing import Any

import geopandas as gpd

from fieldmap.analyse import wind
from fieldmap.analyse.cold_air import pockets
from fieldmap.decide.calendar.direct_sun import Spells
from fieldmap.decide.calendar.planting_dates import Dates, how
from fieldmap.decide.calendar.published_rule import Comparison
from fieldmap.decide.crop_plan import CropPlan
from fieldmap.decide.crop_plan.model import CoverUsage
from fieldmap.decide.daylight import ShortDays
from fieldmap.decide.layout.bearings import Candidate
from fieldmap.decide.layout.choose import Layout
from fieldmap.decide.marks import MarkComparison
from fieldmap.decide.materials import Materials
from fieldmap.decide.materials.sheets import Sheet
from fieldmap.decide.materials.watering import Watering
from fieldmap.decide.ranking import RankedBed
from fieldmap.decide.tunnels import TunnelSet
from fieldmap.decide.tunnels.light import Curve
from fieldmap.decide.weekly_jobs.venting import Venting
from fieldmap.decide.what_if import BedEffect, Effect
from fieldmap.model.season_year import DAYS, SeasonYear
from fieldmap.show.files.plan_json.nested import nested, statement
from fieldmap.show.files.tables import (
    Column,
    attributes,
    low_central_high,
    month_day,
    plain,
    tunnels,
)
from fieldmap.show.files.tables import beds as bed_table
from fieldmap.show.files.tables import crop_plan as crop_plan_table
from fieldmap.show.files.tables import dates as date_table
from fieldmap.show.files.tables import materials as material_table
from fieldmap.show.text.decide import layout as layout_text
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import say
from layers import sunlight

Record = dict[str, Any]

# What beds have beside the columns of beds.csv: by month, January first.
BED_LIGHT: tuple[Column[RankedBed], ...] = (
    Column("direct_hours", lambda it: it.light.direct_hours, 1),
    Column("morning_share", lambda it: it.light.morning_share, 2),
    Column(
        "light_integral_mol_m2_day",
        lambda it: [
            sunlight.daily_light_integral_mol(mj) for mj in it.light.sun_mj_m2_day
        ],
        1,
    ),
)
TUNNEL_LIGHT: tuple[Column[Curve], ...] = (
    *attributes("tunnel"),
    Column("first_month", lambda it: it.months[0]),
    Column("last_month", lambda it: it.months[1]),
    *attributes("open_mol_m2_day", digits=1),
    *attributes("bearing_deg"),
    *attributes("low_percent", "central_percent", "high_percent", digits=1),
)
# What low tunnels have beside the columns of the workbook.
HOOP = (
    *attributes("length_m", "span_m", "height_m", digits=2),
    Column("cover_pieces_m", lambda it: it.pieces_m, 2),
)
ROOFS = (
    *attributes("tunnel"),
    *attributes("area_m2", digits=1),
    *attributes("litres_per_25_mm", digits=0),
    *attributes("peak_l_s", digits=2),
)
MONTH_OF_WATER = (
    *attributes("month"),
    *attributes("reference_mm_day", digits=2),
    *attributes("litres_day", "film_litres_day", digits=0),
)
PIPES = (
    *attributes("beds", "lines", "tap"),
    *attributes("drip_m", "header_m", "main_m", digits=1),
)
TUNNEL_WATER = (
    *attributes("tunnel", "month"),
    *attributes("area_m2", "litres_day", digits=0),
)
COVERS: tuple[Column[CoverUsage], ...] = (
    *attributes("kind"),
    *attributes("owned_m", "too_narrow_m", "most_used_m", digits=1),
    Column("unused_m", lambda it: it.idle_m, 1),
    Column("used_m_by_week", lambda it: it.used_m, 1),
    *attributes("days_per_metre", digits=1),
    Column("to_buy_m", lambda it: it.buy_m, 1),
    Column("to_buy_days_per_metre", lambda it: it.buy_days_per_metre, 1),
)
CANDIDATE: tuple[Column[Candidate], ...] = (
    Column("bearing_deg", lambda it: plain(it.bearing_deg, 2) % 180.0),
    *attributes("kind"),
    *attributes("area_m2", digits=1),
    *attributes("beds"),
    Column("short_beds", lambda it: it.short),
    *attributes("along_percent", "across_percent", digits=2),
    Column("too_steep_share", lambda it: it.over_share, 3),
)
PLOT = (
    *attributes("name"),
    Column("area_m2", lambda it: it.geometry.area, 1),
    *attributes("ground", "soil", "wet_in_march"),
)
COLD_POCKET = (
    *attributes("name"),
    *attributes("depth_m", digits=2),
    *attributes("area_m2", digits=1),
    Column("behind", lambda it: it.behind or None),
    Column("goes_on_beyond_the_map", lambda it: bool(it.cut_off)),
    Column("offset_c", attrgetter(*pockets.OFFSETS), 1, low_central_high("{}")),
)
BED_EFFECT: tuple[Column[BedEffect], ...] = (
    Column("name", lambda it: it.bed),
    *attributes("cold_air_m", digits=2),
    Column("offset_c", lambda it: it.offset_c, 1, low_central_high("{}")),
    *attributes("days_earlier", digits=0),
    *attributes("spring_light_percent", digits=1),
    Column(
        "wind_share",
        lambda it: [it.wind_share[each] for each in wind.WINDS],
        2,
        {each: each for each in wind.WINDS},
    ),
)


def outlined(columns: Iterable[Column[Any]], found: gpd.GeoDataFrame) -> list[Record]:
    """Outlined pieces of ground: plots, cold pockets."""
    # Missing text is NaN in a table and null in JSON.
    rows = found.astype(object).where(found.notna(), None).itertuples(index=False)
    return [nested(columns, each, "metric") for each in rows]


def crops(dates: Dates) -> list[Record]:
    """Crops that have dates, with the dates of the station itself."""

    def on(days: tuple[float, float]) -> list[str | None]:
        return [month_day(dates.season.date(day)) for day in days]

    return [
        {
            "name": crop.name,
            "class": crop.crop_class.value,
            "start": how(crop),
            "risk": risk,
            "autumn_risk": dates.autumn_risk,
            "published_rule": rule and _rule(rule, dates.season),
            "station": {
                "limit_c": odds.limits_c[0],
                "autumn_limit_c": odds.limits_c[1],
                "years": list(odds.years),
                "counted": on(odds.counted),
                "by_theory": on(odds.by_theory),
            },
        }
        for crop, risk, odds, rule in zip(
            dates.crops, dates.risks, dates.station, dates.published, strict=True
        )
    ]


def _rule(compared: Comparison, season: SeasonYear) -> Record:
    """A published rule beside our date, both at the station."""
    first, last = compared.window(season)
    later, by_risk = (
        each if math.isfinite(each) else math.nan
        for each in (compared.later_days, compared.days_by_risk)
    )
    return {
        "first": month_day(first),
        "last": month_day(last),
        "here": month_day(season.early_date(compared.start.day)),
        "held_by": compared.start.held_by,
        "limit_c": compared.limit_c,
        "days_after_rule": plain(later, 1),
        "days_by_risk": plain(by_risk, 1),
    }


def beds(
    ranked: Sequence[RankedBed],
    dates: Dates,
    short: ShortDays | None,
    day: date | None,
    spells: Mapping[str, Spells],
    units: Units,
) -> list[Record]:
    """Beds with light by month, sun on the chosen day, and dates by crop and cover.

    Parameters
    ----------
    ranked
        The beds in the order of the plan, each with its ranks and its light by month.
    dates
        Planting dates of the same beds, in the same order.
    short
        Part of the year with short days; None where no days are short.
    day
        Day for which the site asks the hours of sun; None where it asks for none.
    spells
        From when to when each bed is in direct sun on that day, by name of the bed.
        Only read where there is such a day.
    units
        "metric" or "us", for sentences; numbers stay metric.
    """
    names = [each.bed.name for each in ranked]
    return [
        nested(bed_table.COLUMNS, each, units)
        | nested(BED_LIGHT, each, units)
        | {
            "short_day_sun_hours": short
            and plain(short.mean_hours(each.light.direct_hours), 1),
            "sun_on_day": day
            and {
                "date": day.isoformat(),
                "spells": [list(spell) for spell in spells[each.bed.name]],
            },
            "dates": [nested(date_table.COLUMNS[1:], row, units) for row in rows],
        }
        for each, rows in zip(ranked, date_table.by_bed(dates, names), strict=True)
    ]


def layout(found: Layout, units: Units) -> Record:
    """Which way beds run, what they come to with tunnels, and what else would do."""
    return nested(attributes("plot", "part", "parts", "blocks"), found, units) | {
        "beds": len(found.beds),
        "area_m2": plain(found.area_m2, 1),
        "too_steep": list(found.too_steep),
        "bearings_compared": found.compared,
        "chosen": nested(CANDIDATE, found.kept, units),
        "runner_up": found.other and nested(CANDIDATE, found.other, units),
        "reasons": layout_text.reasons(found, units),
        "runner_up_text": layout_text.runner_up(found, units),
    }


def tunnel_choice(choice: TunnelSet, units: Units) -> Record:
    """A set of places for all wanted tunnels."""
    return {
        "choice": choice.letter,
        "goal": choice.goal,
        "text": say(choice.comparison, units),
        "tunnels": [nested(tunnels.COLUMNS, each, units) for each in choice.places],
    }


def materials(found: Materials, units: Units) -> Record:
    """What to buy and cut."""
    return {
        "low_tunnels": [
            nested((*material_table.LOW_TUNNEL_COLUMNS, *HOOP), each, units)
            for each in found.low_tunnels
        ],
        "lines": [
            nested(material_table.COLUMNS, each, units) | {"rough": each.rough}
            for each in found.lines
        ],
        "cutting": [
            {
                "times": each.times,
                "pieces": [{"length_m": m, "count": n} for m, n in each.pieces],
                "rest_m": each.rest_m,
            }
            for each in found.cutting
        ],
        "stock_m": found.stock_m,
        "roofs": [nested(ROOFS, each, units) for each in found.roofs],
        "rain_mm_h": found.rain_mm_h,
        "remarks": [statement(each, units) for each in found.remarks],
    }


def watering(found: Watering, sentences: Iterable[str], units: Units) -> Record:
    """Litres by month, and pipes.

    Parameters
    ----------
    found
        Litres by month of beds and tunnels, with the pipes; no pipes where it has None.
    sentences
        What people read about it, already in their language.
    units
        "metric" or "us"; the numbers here are metric either way.
    """
    return {
        "months": [nested(MONTH_OF_WATER, month, units) for month in found.months],
        "pipes": None if found.pipes is None else nested(PIPES, found.pipes, units),
        "tunnels": [nested(TUNNEL_WATER, each, units) for each in found.tunnels],
        "sentences": list(sentences),
    }


def venting(found: Venting) -> Record:
    """Weeks of the season-year, from 0, in which a closed cover overheats."""
    return {
        "name": found.name,
        "cover": found.kind,
        "surely_weeks": list(found.surely),
        "maybe_weeks": list(found.maybe),
        "lift_c": dict(
            zip(("low", "central", "high"), plain(found.lift_c, 1), strict=True)
        ),
    }


def mark(comparison: MarkComparison, units: Units) -> Record:
    """What the grower saw, beside what was computed."""
    shown = nested(attributes("mark.name", "mark.seen", "answer"), comparison, units)
    return shown | {"statement": statement(comparison.fact, units)}


def crop_plan(
    found: CropPlan, beds: Sequence[str], sentences: Iterable[str], units: Units
) -> Record:
    """What goes where through the year; no stays where that is not known.

    Parameters
    ----------
    found
        Stays of crops, green manures, covers, and work by week.
    beds
        Names of all, in order.
    sentences
        What people read about it, already in their language.
    units
        "metric" or "us"; the numbers here are metric either way.
    """
    columns = crop_plan_table.columns(found.month_day)
    covers = crop_plan_table.cover_columns(found.month_day)
    green = crop_plan_table.green_columns(found.month_day)
    return {
        "stays": [
            nested(columns, stay, units)
            | {"covers": [nested(covers, use, units) for use in stay.covers]}
            for stay in found.stays
        ],
        "green_manures": [nested(green, each, units) for each in found.green],
        "untended": list(found.untended),
        "covers": [nested(COVERS, account, units) for account in found.covers],
        "sheets": [_sheet(each, beds, found) for each in found.sheets],
        "opening_minutes_by_week": plain(found.minutes, 1),
        "hands_minutes": found.hands_minutes,
        "sentences": list(sentences),
    }


def _sheet(sheet: Sheet, beds: Sequence[str], found: CropPlan) -> Record:
    """A piece of cover over its beds."""
    days = 7 * sheet.weeks[0] + 1, min(7 * sheet.weeks[1] + 7, DAYS)
    first, last = (month_day(found.month_day(day)) for day in days)
    return {
        "kind": sheet.kind,
        "piece": sheet.piece + 1,
        "beds": [beds[place] for place in sheet.places],
        "from": first,
        "to": last,
        "width_m": plain(sheet.width_m, 2),
        "length_m": plain(sheet.length_m, 2),
        "kept_whole": sheet.is_whole,
    }


def what_if(outcome: Effect, units: Units) -> Record:
    """A change of the surroundings, beside the place as it is."""
    return {
        "name": outcome.name,
        "changes": [say(each, units) for each in outcome.changes],
        "beds": [nested(BED_EFFECT, change, units) for change in outcome.beds],
        "statements": [statement(each, units) for each in outcome.facts],
    }
