"""The plan for machines (`plan.json`): sections by name, units in the keys.

Its keys and those of the format before are set out in `docs/reference/plan_json.md`.
"""

import json
from importlib import resources
from typing import Any

from fieldmap.decide import daylight
from fieldmap.plan import Plan
from fieldmap.show.files.plan_json import sections
from fieldmap.show.files.plan_json.nested import nested, statement
from fieldmap.show.files.tables import month_day, tunnels
from fieldmap.show.text.decide import crop_plan, weekly_jobs
from fieldmap.show.text.decide.care import watering
from fieldmap.show.text.site.analysis import named_pockets

FORMAT = 2  # raised when the meaning of a key changes


def schema() -> dict[str, Any]:
    """The JSON Schema of `plan.json`."""
    text = resources.files(__package__).joinpath("schema.json").read_text("utf-8")
    return dict(json.loads(text))


def text(document: dict[str, Any]) -> str:
    """Text in stable order, one line a record; a value that is not a number is refused."""
    parts = (f" {_LINE(name)}: {_lines(value)}" for name, value in document.items())
    return "{\n" + ",\n".join(parts) + "\n}\n"


_LINE = json.JSONEncoder(ensure_ascii=False, allow_nan=False).encode


def _lines(value: Any) -> str:
    """A list with a line for each of its values, anything else on one line."""
    if not (isinstance(value, list) and value):
        return _LINE(value)
    return "[\n  " + ",\n  ".join(map(_LINE, value)) + "\n ]"


def document(plan: Plan) -> dict[str, Any]:
    """The whole plan."""
    site, units = plan.site, plan.site.settings.units
    day, short = site.settings.sun.day, daylight.short_days(site.latitude)
    return {
        "format": FORMAT,
        "site": {
            "name": site.settings.name,
            "latitude": round(site.latitude, 6),
            "longitude": round(site.longitude, 6),
            "time_zone": site.time_zone,
            "crs": site.crs.to_string(),
            "sky": plan.analysis.light.sky,
            "short_days": short and [month_day(short.first), month_day(short.last)],
        },
        "plots": sections.outlined(sections.PLOT, site.plots),
        "crops": sections.crops(plan.dates),
        "beds": sections.beds(
            plan.beds, plan.dates, short, day, plan.sun_spells, units
        ),
        "layouts": [sections.layout(each, units) for each in plan.layouts],
        "tunnels": [nested(tunnels.COLUMNS, each, units) for each in plan.tunnels],
        "materials": sections.materials(plan.materials, units),
        "tunnel_light": [
            nested(sections.TUNNEL_LIGHT, each, units) for each in plan.tunnel_light
        ],
        "tunnel_choices": [
            sections.tunnel_choice(each, units) for each in plan.tunnel_choices
        ],
        "cold_pockets": sections.outlined(
            sections.COLD_POCKET, named_pockets(plan.cold_pockets)
        ),
        "marks": [sections.mark(each, units) for each in plan.marks],
        "crop_plan": sections.crop_plan(
            plan.crop_plan,
            [
                *(bed.bed.name for bed in plan.beds),
                *(bed.name for bed in plan.crop_plan.floor),
            ],
            crop_plan.about(plan.crop_plan, site.settings.covers, units),
            units,
        ),
        "watering": sections.watering(
            plan.watering, watering.about(plan.watering, units), units
        ),
        "venting": [sections.venting(each) for each in plan.venting],
        "weekly_jobs": [
            {"starts": each.start.isoformat(), "jobs": list(each.jobs)}
            for each in weekly_jobs.weeks(plan.weekly_jobs, units)
        ],
        "what_ifs": [sections.what_if(each, units) for each in plan.what_ifs],
        "warnings": [statement(each, units) for each in plan.warnings],
        "made_with": dict(plan.made_with),
    }
