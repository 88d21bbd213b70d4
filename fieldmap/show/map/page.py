"""The page around the map: questions, answers, tables, in one file."""

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from functools import partial
from typing import Any, NamedTuple

from markupsafe import Markup

from fieldmap.decide.calendar.in_tunnels import door_months
from fieldmap.decide.calendar.planting_dates import how
from fieldmap.decide.crop_plan import CropPlan
from fieldmap.decide.weekly_jobs import Schedule, last_day
from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.fact import Fact
from fieldmap.model.raster import Raster
from fieldmap.model.settings import Map, Settings
from fieldmap.plan import Plan
from fieldmap.show import html, layer_styles
from fieldmap.show.kept import drawn
from fieldmap.show.map import fonts, scene, scripts, still
from fieldmap.show.map.data.script import Parts, script_data, tonight
from fieldmap.show.map.offline import POLICY, inlined, sealed
from fieldmap.show.map.questions import Asked
from fieldmap.show.map.questions.light import seasons
from fieldmap.show.map.tables import all_tables
from fieldmap.show.text import names
from fieldmap.show.text.decide import crop_plan, door_card, weekly_jobs
from fieldmap.show.text.language import date_in_words, unbroken
from fieldmap.show.text.map import answers, labels
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase, say_all
from fieldmap.show.text.site import before_you_rely, open_questions

# Of the page: title, its id, sentences, and weeks with theirs.
Listed = tuple[str, str, Sequence[str], Sequence[tuple[str, Sequence[str]]]]


def map_html(
    plan: Plan, tonight_lists: Callable[[], Mapping[str, Any]] | None = None
) -> str:
    """One page with the map of a plan and everything that it needs inside.

    The same plan gives the same text. The page asks no network for anything, and its
    policy forbids the browser to, but for pictures of the one host that a site may name,
    and these only once a box is ticked. Names from files are shown as text, whatever they
    hold.

    Parameters
    ----------
    plan
        As made from a site. Missing cells are left clear.
    tonight_lists
        Gives what `tonight` gives, where it is being made beside the page.

    Returns
    -------
    str
        HTML, UTF-8.
    """
    settings = plan.site.settings
    asked = Asked(plan)
    shown = asked.questions
    tables = tuple(all_tables(plan))
    place = scene.scene(plan)
    still_pictures = still.of_questions(still.scenery(plan), shown, settings.units)
    lists = tonight_lists or partial(tonight, plan)
    data = script_data(plan, Parts(asked, tables, lists))
    background = _background(settings.map)
    page = html.page(
        "map/page.html",
        POLICY,
        title=phrase("page_title", site=settings.name),
        site=settings.name,
        look_css=fonts.css() + layer_styles.css_looks(),
        figure=map_parts(plan.analysis.terrain.smooth_m),
        scene=html.safe_json(place),
        data=Markup(unbroken(html.safe_json(data))),
        say=data["say"],
        film=data["film"],
        seasons=seasons(plan.site.season),
        questions=shown,
        all_questions=phrase(
            "all_questions", number=len(shown), count=answers.count(len(shown))
        ),
        tables=[(table.id, table.heading) for table in tables],
        lists=tuple(
            _lists(
                (plan.crop_plan, [bed.bed.name for bed in plan.beds]),
                {crop.name: how(crop) for crop in plan.dates.crops},
                plan.weekly_jobs,
                door_months(plan.site.weather.days["tmax_c"]),
                settings,
            )
        ),
        first_read=tuple(
            _first_read(
                (*plan.warnings, *plan.analysis.remarks, *plan.site.remarks),
                settings.units,
            )
        ),
        glossary=names.alphabetical(names.glossary()),
        version=plan.made_with.get("version", ""),
        season=None
        if plan.today is None
        else _season(plan.today, plan.weekly_jobs.starts),
        still=still_pictures,
        in_stills=still.IN_STILLS,
        ramp_titles=answers.ramp_titles(),
        background=background,
        scripts=(*scripts.DRAWING, *scripts.PAGE),
    )
    return sealed(inlined(page), settings.map.background_host)


class MapParts(NamedTuple):
    """The map as parts of a page."""

    head: str
    body: str
    script: str


def map_parts(ground: Raster) -> MapParts:
    """The map around some ground as folium makes it: texts of head, body and script."""
    west, south, east, north = ground.bounds
    longitude, latitude = transformer(ground.crs, WGS84).transform(
        (west + east) / 2, (south + north) / 2
    )

    def draw() -> bytes:
        from fieldmap.show.map.folium_map import rendered

        return json.dumps(rendered(latitude, longitude)).encode()

    return MapParts(
        *json.loads(drawn("map parts", {"at": [latitude, longitude]}, draw))
    )


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


class FirstRead(NamedTuple):
    """What is read first below the map: sentences under headings, "" for none."""

    heading: str
    id: str
    groups: Sequence[tuple[str, Sequence[str]]]


def _first_read(every: Sequence[Fact], units: Units) -> Iterable[FirstRead]:
    """What to know before one relies on the map, and questions that stay open.

    How numbers were worked out is left to plan.json.
    """
    still_open, others = open_questions.split(
        fact for fact in every if fact.kind not in open_questions.WORKED_OUT
    )
    if others:
        groups = [
            (heading, _once(facts, units))
            for _key, heading, facts in before_you_rely.grouped(others)
        ]
        yield FirstRead(labels.label("warnings"), "warnings", groups)
    if still_open:
        missing = [("", _once(still_open, units))]
        yield FirstRead(labels.label("open_questions"), "open-questions", missing)


def _lists(
    planned_on: tuple[CropPlan, Sequence[str]],
    starts: Mapping[str, str],
    schedule: Schedule,
    months: Sequence[tuple[int, int]],
    settings: Settings,
) -> Iterable[Listed]:
    """What goes where and what to do, week by week; the card for the tunnel door."""
    plan, beds = planned_on
    planned = crop_plan.weeks(plan, beds, starts, schedule.starts, settings.units)
    about = crop_plan.about(plan, settings.covers, settings.units)
    where = _weeks((week.start, week.sentences) for week in planned)
    yield labels.label("what_where"), "what-where", about, where
    jobs = weekly_jobs.groups(schedule)
    jobs += weekly_jobs.remarks(schedule, settings.units)
    weeks = _weeks(weekly_jobs.weeks(schedule, settings.units))
    yield labels.label("weeks"), "weeks", jobs, weeks
    door = door_card.sentences(months, settings.units)
    yield labels.label("door"), "door", door, ()


def _weeks(
    weeks: Iterable[tuple[date, Sequence[str]]],
) -> list[tuple[str, Sequence[str]]]:
    """Each week in words, with what is said of it."""
    return [
        (phrase("week_of", day=date_in_words(start)), sentences)
        for start, sentences in weeks
    ]


def _once(facts: Iterable[Fact], units: Units) -> list[str]:
    """Every caution and everything that could not be known, once."""
    return list(dict.fromkeys(say_all(facts, units)))
