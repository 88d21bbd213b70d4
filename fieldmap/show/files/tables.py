"""The plan for machines (`plan.json`) and the beds for a spreadsheet (`beds.csv`)."""

from __future__ import annotations

import csv
import io
import json
import math
from importlib import resources
from typing import TYPE_CHECKING, Any

from fieldmap.decide.calendar.planting_dates import how
from fieldmap.model.estimate import Estimate
from fieldmap.show.files import rows
from fieldmap.show.text import crop_plan
from fieldmap.show.text import layout as layout_text
from fieldmap.show.text.sentence import say, say_all
from layers import sunlight

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from fieldmap.analyse.climatology import StationOdds
    from fieldmap.decide.calendar.planting_dates import Dates
    from fieldmap.decide.crop_plan import CropPlan, Stay
    from fieldmap.decide.layout.bearings import Candidate
    from fieldmap.decide.layout.choose import Layout
    from fieldmap.decide.materials import Materials
    from fieldmap.decide.ranking import RankedBed
    from fieldmap.decide.tunnels import TunnelPlace
    from fieldmap.decide.what_if import Effect
    from fieldmap.plan import Plan
    from fieldmap.show.text import quantities

FORMAT = 1  # raised when the meaning of a key changes
STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def schema() -> dict[str, Any]:
    """The JSON Schema of `plan.json`."""
    text = (
        resources.files("fieldmap.show.files").joinpath("plan.schema.json").read_text()
    )
    return dict(json.loads(text))


def as_json(document: dict[str, Any]) -> str:
    """Text in stable order; a value that is not a number is refused."""
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def plan_document(plan: Plan) -> dict[str, Any]:
    """The whole plan, with units in key names."""
    site = plan.site
    return {
        "format": FORMAT,
        "site": {
            "name": site.settings.name,
            "latitude": round(site.latitude, 6),
            "longitude": round(site.longitude, 6),
            "time_zone": site.time_zone,
            "crs": site.crs.to_string(),
            "sky": plan.analysis.light.sky,
        },
        "plots": [
            {
                "name": plot.name,
                "area_m2": round(plot.geometry.area, 1),
                "ground": plot.ground,
                "soil": plot.soil,
                "wet_in_march": plot.wet_in_march,
            }
            for plot in _plain_rows(site.plots)
        ],
        "crops": [
            {
                "name": crop.name,
                "class": crop.crop_class.value,
                "start": how(crop),
                "risk": risk,
                "station": _station(plan.dates, odds),
            }
            for crop, risk, odds in zip(
                plan.dates.crops, plan.dates.risks, plan.dates.station, strict=True
            )
        ],
        "beds": [
            _bed(ranked, site.settings.units)
            | _day(plan, ranked)
            | {"dates": _dates(plan, number)}
            for number, ranked in enumerate(plan.beds)
        ],
        "layouts": [_layout(each, site.settings.units) for each in plan.layouts],
        "tunnels": [_tunnel(place, site.settings.units) for place in plan.tunnels],
        "materials": _materials(plan.materials),
        "tunnel_light": [
            {
                "tunnel": curve.tunnel,
                "first_month": curve.months[0],
                "last_month": curve.months[1],
                "open_mol_m2_day": rows.rounded(curve.open_mol_m2_day, 1),
                "bearing_deg": list(curve.bearing_deg),
                **{
                    f"{part}_percent": [
                        rows.rounded(each, 1)
                        for each in getattr(curve, f"{part}_percent")
                    ]
                    for part in ("low", "central", "high")
                },
            }
            for curve in plan.tunnel_light
        ],
        "tunnel_choices": [
            {
                "choice": choice.letter,
                "wish": choice.wish,
                "said": choice.said,
                "tunnels": [
                    _tunnel(place, site.settings.units) for place in choice.places
                ],
            }
            for choice in plan.tunnel_choices
        ],
        "cold_pockets": [
            {
                "name": pocket.name,
                "depth_m": round(pocket.depth_m, 2),
                "area_m2": round(pocket.area_m2, 1),
                "behind": pocket.behind or None,
                "goes_on_beyond_the_map": bool(pocket.cut_off),
                "offset_c": _offset(
                    Estimate(
                        pocket.offset_low_c,
                        pocket.offset_central_c,
                        pocket.offset_high_c,
                    )
                ),
            }
            for pocket in _plain_rows(plan.cold_pockets)
        ],
        "seen": [
            {
                "name": mark.name,
                "seen": mark.seen,
                "reckoned": answer,
                "sentence": say(fact, site.settings.units),
            }
            for mark, answer, fact in plan.marks
        ],
        "what_where": _what_where(plan),
        "weeks": [
            {"starts": week.start.isoformat(), "jobs": list(week.jobs)}
            for week in plan.weekly_jobs.weeks
        ],
        "what_if": [
            _what_if(outcome, site.settings.units) for outcome in plan.what_ifs
        ],
        "warnings": say_all(plan.warnings, site.settings.units),
        "made_with": dict(plan.made_with),
    }


def _plain_rows(table: Any) -> Any:
    # Missing text is NaN in a table and null in JSON.
    return table.astype(object).where(table.notna(), None).itertuples(index=False)


def _offset(offset_c: Estimate) -> dict[str, float]:
    return dict(zip(Estimate._fields, rows.offset(offset_c), strict=True))


def _nested(
    row: dict[str, Any], thing: RankedBed | TunnelPlace, units: quantities.Units
) -> dict[str, Any]:
    """A flat row with its offsets and reasons as records of their own."""
    flat = {key: value for key, value in row.items() if not key.startswith("offset_")}
    return flat | {
        "offset_c": _offset(thing.offset_c),
        "reasons": say_all(thing.reasons, units),
    }


def _bed(ranked: RankedBed, units: quantities.Units) -> dict[str, Any]:
    row = rows.bed(ranked, units)
    sun = [row.pop(key) for key in list(row) if key.startswith("sun_")]
    return _nested(row, ranked, units) | {
        "sun_mj_m2_day": sun,
        "direct_hours": [rows.rounded(value, 1) for value in ranked.direct_hours],
        "morning_share": [
            None if math.isnan(value) else rows.rounded(value, 2)
            for value in ranked.morning_share
        ],
        "light_integral_mol_m2_day": [
            rows.rounded(float(sunlight.daily_light_integral_mol(value)), 1)
            for value in ranked.sun_mj_m2_day
        ],
    }


def _day(plan: Plan, ranked: RankedBed) -> dict[str, Any]:
    """When the bed is in direct sun on the chosen day, by the clock of the place."""
    day = plan.site.settings.sun.day
    if day is None:
        return {"sun_on_day": None}
    spells = [list(spell) for spell in plan.sun_spells[ranked.bed.name]]
    return {"sun_on_day": {"date": day.isoformat(), "spells": spells}}


def _dates(plan: Plan, number: int) -> list[dict[str, Any]]:
    """Early and late dates of a bed by crop and cover; none where none are told."""
    name = plan.beds[number].bed.name
    return [
        {
            "crop": row["crop"],
            "cover": row["cover"],
            "early": _span(row, "early"),
            "late": _span(row, "late"),
            "grows_until": row["grows_until"],
            "last_sowing": _span(row, "last_sowing"),
            "risk": row["risk"],
        }
        for row in rows.bed_dates(plan.dates, name, number)
    ]


def _materials(found: Materials) -> dict[str, Any]:
    return {
        "low_tunnels": [each._asdict() for each in found.low_tunnels],
        "lines": [each._asdict() for each in found.lines],
        "cutting": [
            {
                "times": each.times,
                "pieces": [{"length_m": m, "count": n} for m, n in each.pieces],
                "rest_m": each.rest_m,
            }
            for each in found.cutting
        ],
        "stock_m": found.stock_m,
        "roofs": [each._asdict() for each in found.roofs],
        "rain_mm_h": found.rain_mm_h,
        "remarks": list(found.remarks),
    }


def _station(dates: Dates, odds: StationOdds) -> dict[str, Any]:
    return {
        "limit_c": odds.limit_c,
        "years": list(odds.years),
        "counted": rows.station_days(dates, odds.counted),
        "by_theory": rows.station_days(dates, odds.by_theory),
    }


def _span(row: dict[str, Any], kind: str) -> dict[str, Any]:
    return {part: row[f"{kind}_{part}"] for part in ("low", "central", "high")}


def _what_where(plan: Plan) -> dict[str, Any]:
    """What goes where through the year; no stays where that is not known."""
    year = plan.crop_plan
    return {
        "turns": [rows.stay(year, stay) | _covers(year, stay) for stay in year.stays],
        "covers": [
            {
                "kind": one.kind,
                "owned_m": rows.rounded(one.owned_m, 1),
                "too_narrow_m": rows.rounded(one.too_narrow_m, 1),
                "most_used_m": rows.rounded(one.most_used_m, 1),
                "unused_m": rows.rounded(one.idle_m, 1),
                "used_m_by_week": [rows.rounded(length, 1) for length in one.used_m],
                "days_per_metre": rows.rounded(one.days_per_metre, 1),
                "to_buy_m": rows.rounded(one.buy_m, 1),
                "to_buy_days_per_metre": rows.rounded(one.buy_days_per_metre, 1),
            }
            for one in year.covers
        ],
        "opening_minutes_by_week": [rows.rounded(each, 1) for each in year.minutes],
        "minutes_in_the_morning": year.hands_minutes,
        "sentences": [
            *crop_plan.about(year, plan.site.settings.covers, plan.site.settings.units)
        ],
    }


def _covers(year: CropPlan, stay: Stay) -> dict[str, Any]:
    """A stay's covers as records instead of one text."""
    return {
        "covers": [
            {
                "kind": use.kind,
                "from": rows.month_day(year, use.from_day),
                "to": rows.month_day(year, use.to_day),
                "days_won": rows.rounded(use.days, 1),
            }
            for use in stay.covers
        ]
    }


def _tunnel(place: TunnelPlace, units: quantities.Units) -> dict[str, Any]:
    return _nested(rows.tunnel(place, units), place, units)


def _layout(found: Layout, units: quantities.Units) -> dict[str, Any]:
    """Which way beds run, what they come to with tunnels, and what else would do."""
    return {
        "plot": found.plot,
        "part": found.part,
        "parts": found.parts,
        "blocks": list(found.blocks),
        "beds": len(found.beds),
        "area_m2": rows.rounded(found.area_m2, 1),
        "too_steep": list(found.too_steep),
        "ways_compared": found.compared,
        "chosen": _candidate(found.kept),
        "runner_up": None if found.other is None else _candidate(found.other),
        "reasons": layout_text.reasons(found, units),
        "runner_up_said": layout_text.runner_up(found, units),
    }


def _candidate(way: Candidate) -> dict[str, Any]:
    """One bearing and what it comes to before tunnels are placed."""
    return {
        "bearing_deg": rows.rounded(way.bearing_deg, 2) % 180.0,
        "kind": way.kind,
        "area_m2": rows.rounded(way.area_m2, 1),
        "beds": way.beds,
        "short_beds": way.short,
        "along_percent": rows.rounded(way.along_percent, 2),
        "across_percent": rows.rounded(way.across_percent, 2),
        "too_steep_share": rows.rounded(way.over_share, 3),
    }


def _what_if(outcome: Effect, units: quantities.Units) -> dict[str, Any]:
    return {
        "name": outcome.name,
        "changes": list(outcome.changes),
        "beds": [
            {
                "name": change.bed,
                "cold_air_m": rows.rounded(change.cold_air_m, 2),
                "offset_c": _offset(change.offset_c),
                "days_earlier": None
                if change.days_earlier is None
                else [rows.rounded(days, 0) for days in change.days_earlier],
                "spring_light_percent": rows.rounded(change.spring_light_percent, 1),
                "wind_share": {
                    name: None if math.isnan(share) else rows.rounded(share, 2)
                    for name, share in change.wind_share.items()
                },
            }
            for change in outcome.beds
        ],
        "sentences": say_all(outcome.facts, units),
    }


def beds_csv(plan: Plan) -> str:
    """One line a bed."""
    return csv_text(
        (*rows.BED_COLUMNS, *rows.FIRST_DATE_COLUMNS),
        (
            rows.bed(ranked, plan.site.settings.units)
            | rows.first_dates(plan.dates, number)
            for number, ranked in enumerate(plan.beds)
        ),
    )


def what_where_csv(plan: Plan) -> str:
    """One line for each stay of a crop on a bed; dates are MM-DD."""
    year = plan.crop_plan
    return csv_text(rows.STAY_COLUMNS, (rows.stay(year, each) for each in year.stays))


def dates_csv(plan: Plan) -> str:
    """One line for each bed, crop and cover; dates are MM-DD, empty where none is."""
    return csv_text(
        rows.DATE_COLUMNS,
        (
            row
            for number, ranked in enumerate(plan.beds)
            for row in rows.bed_dates(plan.dates, ranked.bed.name, number)
        ),
    )


def tunnel_choices_csv(plan: Plan) -> str:
    """Places for tunnels that were weighed: by choice, then all that none beats."""
    return csv_text(rows.CHOICE_COLUMNS, rows.tunnel_choices(plan))


def csv_text(columns: Sequence[str], rows_: Iterable[Mapping[str, Any]]) -> str:
    """A table as CSV; text that a spreadsheet would take for a formula is quoted."""
    text = io.StringIO()
    table = csv.DictWriter(text, columns, lineterminator="\n")
    table.writeheader()
    for row in rows_:
        table.writerow({key: harmless(value) for key, value in row.items()})
    return text.getvalue()


def harmless(value: Any) -> Any:
    """Text with an apostrophe before it where it would begin a formula."""
    if isinstance(value, str) and value.startswith(STARTS_A_FORMULA):
        return f"'{value}"
    return value
