"""The page around the map: questions, answers, tables, in one file."""

import itertools
import json
import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from markupsafe import Markup

from fieldmap.decide.calendar.in_tunnels import door_months
from fieldmap.decide.calendar.planting_dates import how
from fieldmap.decide.weekly_jobs import last_day
from fieldmap.model.fact import Fact
from fieldmap.model.settings import Map
from fieldmap.plan import Plan
from fieldmap.show import html, layer_styles
from fieldmap.show.map import folium_map, still
from fieldmap.show.map.data import script_data
from fieldmap.show.map.offline import POLICY, inlined, sealed
from fieldmap.show.map.questions import Question, questions
from fieldmap.show.map.tables import all_tables
from fieldmap.show.text.decide import crop_plan, door_card, weekly_jobs
from fieldmap.show.text.language import _, date_in_words, month_name
from fieldmap.show.text.map import labels, signs
from fieldmap.show.text.map.questions import with_name
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase, say_all
from fieldmap.show.text.site import open_questions

# Light in units that few know by heart.
LIGHT_IN_BRACKETS = re.compile(r"(\([^()]*(?:MJ|mol)/m²[^()]*\))")


def map_html(plan: Plan) -> str:
    """One page with the map of a plan and everything that it needs inside.

    The same plan gives the same text. The page asks no network for anything, and its
    policy forbids the browser to, but for pictures of the one host that a site may name,
    and these only once a box is ticked. Names from files are shown as text, whatever they
    hold.

    Parameters
    ----------
    plan
        As made from a site. Missing cells are left clear.

    Returns
    -------
    str
        HTML, UTF-8.
    """
    settings = plan.site.settings
    shown = questions(plan)
    data = script_data(plan)
    by_beds, by_cold_air = still.pictures(plan)
    still_open, others = open_questions.split(
        (*plan.warnings, *plan.analysis.remarks, *plan.site.remarks)
    )
    page = html.page(
        "map/page.html",
        POLICY,
        title=phrase("page_title", site=settings.name),
        site=settings.name,
        lead=labels.contents(len(plan.site.plots), len(plan.beds), len(plan.tunnels)),
        layer_css=layer_styles.css(),
        figure=folium_map.map_parts(plan.analysis.terrain.smooth_m, shown),
        data=_safe_json(data),
        say=data["say"],
        films=data["films"],
        questions=shown,
        with_name=with_name,
        beside=_beside(shown),
        month=plan.site.spring_month,
        months=[month_name(month) for month in range(1, 13)],
        weeks=_weeks(weekly_jobs.weeks(plan.weekly_jobs, settings.units)),
        about_weeks=weekly_jobs.groups(plan.weekly_jobs)
        + weekly_jobs.remarks(plan.weekly_jobs, settings.units),
        what_where=_weeks(
            (week.start, week.sentences)
            for week in crop_plan.weeks(
                plan.crop_plan,
                [bed.bed.name for bed in plan.beds],
                {crop.name: how(crop) for crop in plan.dates.crops},
                plan.weekly_jobs.starts,
                settings.units,
            )
        ),
        about_what_where=crop_plan.about(
            plan.crop_plan, settings.covers, settings.units
        ),
        door=door_card.sentences(
            door_months(plan.site.weather.days["tmax_c"]), settings.units
        ),
        tables=tuple(all_tables(plan)),
        quiet=quiet,
        signs=_signs(data),
        open_questions=_once(still_open, settings.units),
        warnings=_once(others, settings.units),
        version=plan.made_with.get("version", ""),
        season=None
        if plan.today is None
        else _season(plan.today, plan.weekly_jobs.starts),
        still=by_beds,
        cold_still=by_cold_air,
        north=_("N"),
        background=_background(settings.map),
    )
    return sealed(inlined(page), settings.map.background_host)


def _season(made: date, starts: date) -> dict[str, str]:
    """Until when the plan is for its season, and what the page says from then on."""
    until, made_day = last_day(starts), date_in_words(made)
    return {
        "until": until.isoformat(),
        "over": phrase("too_old", made=made_day, ended=date_in_words(until)),
        "made": phrase("made_on_day", day=made_day),
    }


def _background(chosen: Map) -> dict[str, Any] | None:
    """What the box for pictures from the internet works with, if the site wants it."""
    if chosen.background_tiles is None:
        return None
    return {
        "tiles": chosen.background_tiles,
        "finest_zoom": chosen.background_finest_zoom,
        "credit": chosen.background_credit,
        "label": phrase("background_label"),
        "failed": phrase("background_failed"),
    }


def _beside(shown: Sequence[Question]) -> list[tuple[str, int, str]]:
    """What can be set beside a map: the question, which of its pictures, both in words.

    The sun stands there once: its month is chosen apart.
    """
    choices = []
    for question in shown:
        if question.key == "sun":
            choices.append((question.key, 0, question.text))
        elif question.key != "materials":
            choices += [
                (question.key, at, with_name(question.text, name))
                for at, name in enumerate(question.names)
            ]
    return choices


def _weeks(
    weeks: Iterable[tuple[date, Sequence[str]]],
) -> list[tuple[str, Sequence[str]]]:
    """Each week in words, with what is said of it."""
    return [
        (phrase("week_of", day=date_in_words(start)), sentences)
        for start, sentences in weeks
    ]


def _signs(data: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Signs that are on this map, with their words."""
    drawn = itertools.chain(data["features"], *data["changes"])
    present = {feature["properties"]["sign"] for feature in drawn}
    return [
        (kind.replace(" ", "-"), signs.kind(kind))
        for kind in signs.KINDS
        if kind.replace(" ", "-") in present
    ]


def _once(facts: Iterable[Fact], units: Units) -> list[str]:
    """Every caution and everything that could not be known, once."""
    return list(dict.fromkeys(say_all(facts, units)))


def quiet(cell: str) -> Markup:
    """A cell whose light in brackets, hard to picture, is set small.

    Examples
    --------
    >>> print(quiet("9 h a day (14.2 MJ/m²) <b>"))
    9 h a day <small>(14.2 MJ/m²)</small> &lt;b&gt;
    """
    parts = LIGHT_IN_BRACKETS.split(cell)
    return Markup("").join(
        Markup("<small>{}</small>").format(part) if at % 2 else part
        for at, part in enumerate(parts)
    )


def _safe_json(data: dict[str, Any]) -> Markup:
    """JSON that can neither end nor open a script, whatever names it holds."""
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    for letter in "<>&\u2028\u2029":
        text = text.replace(letter, f"\\u{ord(letter):04x}")
    return Markup(text)
