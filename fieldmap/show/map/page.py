"""The page around the map: questions, answers, tables, in one file."""

from __future__ import annotations

import json
import re
from importlib import resources
from typing import TYPE_CHECKING, Any

import jinja2
import numpy as np
import shapely
from branca.element import Figure, MacroElement
from folium.raster_layers import ImageOverlay
from folium.template import Template
from markupsafe import Markup
from pyproj import Transformer

from fieldmap.decide import daylight, weekly_jobs
from fieldmap.decide.calendar.planting_dates import how
from fieldmap.model.offset import STEP_C, rounded_c
from fieldmap.show.map import (
    evenings,
    film,
    grids,
    shapes,
    shopping,
    still,
    tables,
    views,
)
from fieldmap.show.map.offline import (
    POLICY,
    OfflineMap,
    inlined,
    number_elements,
    sealed,
)
from fieldmap.show.map.overlay import relief
from fieldmap.show.text import crop_plan, door_card, language
from fieldmap.show.text import map as words
from fieldmap.show.text import quantities as numbers
from fieldmap.show.text.language import _, month_name
from fieldmap.show.text.sentence import say_all

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldmap.analyse.fields import Analysis
    from fieldmap.plan import Plan
    from fieldmap.show.map.overlay import LatLonBounds, Overlay
    from fieldmap.show.map.views import View

# Light in units that few know by heart.
LIGHT_IN_BRACKETS = re.compile(r"(\([^()]*(?:MJ|mol)/m²[^()]*\))")
MOST_ZOOM = 23
# What a finger reads, to this step: no finer than the numbers deserve.
DEPTH_STEP_M = 0.1
FALL_STEP_PERCENT = 1.0
HOURS_STEP = 0.5
LIGHT_STEP_MJ_M2 = 0.1


class Parts(MacroElement):  # type: ignore[misc]  # branca ships no types
    """Hands folium's map, its ground and its pictures to the page's own script."""

    _template = Template(
        """
        {% macro script(this, kwargs) %}
            var fieldmapParts = {
                map: {{ this.map_name }},
                ground: {{ this.ground.get_name() }},
                pictures: {
                    {%- for key, layers in this.pictures.items() %}
                    "{{ key }}": [{% for layer in layers -%}
                        {{ layer.get_name() if layer else "null" }},
                    {%- endfor %}],
                    {%- endfor %}
                },
            };
        {% endmacro %}
        """
    )

    def __init__(
        self, ground: ImageOverlay, pictures: dict[str, list[ImageOverlay | None]]
    ) -> None:
        super().__init__()
        self._name = "Parts"
        self.ground = ground
        self.pictures = pictures

    @property
    def map_name(self) -> str:
        """Name of the map in the page's scripts."""
        return str(self._parent.get_name())


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
    asked = views.views(plan)
    data = _data(plan)
    figure = Figure()
    _folium_map(plan, asked).add_to(figure)
    number_elements(figure)
    for child in figure._children.values():  # as Figure.render does
        child.render()
    page = (
        _environment()
        .get_template("page.html")
        .render(
            policy=POLICY,
            head=Markup(figure.header.render()),
            map=Markup(figure.html.render()),
            folium_script=Markup(figure.script.render()),
            style=Markup(_style(plan)),
            program=Markup(_text_of("map.js")),
            data=_safe_json(data),
            films=data["films"],
            plan=plan,
            title=words.title(plan.site.settings.name),
            lead=words.lead(len(plan.site.plots), len(plan.beds), len(plan.tunnels)),
            views=asked,
            about=words.asked,
            beside=_beside(asked),
            month=plan.site.spring_month,
            months=[month_name(month) for month in range(1, 13)],
            weeks=[
                {"name": words.week(week.start), "jobs": week.jobs}
                for week in plan.weekly_jobs.weeks
            ],
            what_where=_what_where(plan),
            about_what_where=crop_plan.about(
                plan.crop_plan, plan.site.settings.covers, plan.site.settings.units
            ),
            door=door_card.sentences(plan.site),
            tables=(
                tables.tunnels(plan),
                tables.pockets(plan),
                tables.beds(plan),
                tables.layout(plan),
                *tables.tunnel_light(plan),
                *tables.what_ifs(plan),
                evenings.table(plan),
                *shopping.tables(plan),
                *tables.station(plan),
            ),
            signs=_signs(plan),
            warnings=_warnings(plan),
            version=plan.made_with.get("version", ""),
            still=still.picture(plan),
            cold_still=still.cold_picture(plan),
            say=data["say"],
            north=_("N"),
            background=_background(plan),
            language=language.current(),
        )
    )
    return sealed(inlined(page), plan.site.settings.map.background_host)


def _background(plan: Plan) -> dict[str, Any] | None:
    """What the box for pictures from the internet works with, if the site wants it."""
    chosen = plan.site.settings.map
    if chosen.background_tiles is None:
        return None
    return {
        "tiles": chosen.background_tiles,
        "finest_zoom": chosen.background_finest_zoom,
        "credit": chosen.background_credit,
        "label": words.background_label(),
        "failed": words.background_failed(),
        "program": Markup(_text_of("background.js")),
    }


def _beside(asked: tuple[View, ...]) -> list[tuple[str, int, str]]:
    """What can be set beside a map: the question, which of its pictures, both in words.

    The sun stands there once: its month is chosen apart.
    """
    choices = []
    for view in asked:
        if view.key == "sun":
            choices.append((view.key, 0, view.question))
        elif view.key != "materials":
            choices += [
                (view.key, at, words.asked(view.question, name))
                for at, name in enumerate(view.names)
            ]
    return choices


def _what_where(plan: Plan) -> list[dict[str, Any]]:
    """What goes where by week."""
    by_week = crop_plan.weeks(
        plan.crop_plan,
        [bed.bed.name for bed in plan.beds],
        {crop.name: how(crop) for crop in plan.dates.crops},
        weekly_jobs.first_day(plan.site),
    )
    return [
        {"name": words.week(week.start), "sentences": week.sentences}
        for week in by_week
    ]


def _folium_map(plan: Plan, asked: tuple[View, ...]) -> OfflineMap:
    ground = relief(plan.analysis.terrain.smooth_m)
    (south, west), (north, east) = ground.bounds
    shown = OfflineMap(
        location=[(south + north) / 2, (west + east) / 2],
        zoom_start=16,
        tiles=None,
        max_zoom=MOST_ZOOM,
        zoom_snap=0.25,
        zoom_control=False,
        attribution_control=False,
    )
    under = _image(ground, "relief", show=True)
    under.add_to(shown)
    layers: dict[str, list[ImageOverlay | None]] = {}
    for view in asked:
        layers[view.key] = [
            _image(picture.overlay, "colours", show=False) if picture.overlay else None
            for picture in view.pictures
        ]
        for layer in filter(None, layers[view.key]):
            layer.add_to(shown)
    Parts(under, layers).add_to(shown)
    return shown


def _image(overlay: Overlay, look: str, *, show: bool) -> ImageOverlay:
    return ImageOverlay(
        overlay.uri,
        bounds=[list(corner) for corner in overlay.bounds],
        class_name=look,
        show=show,
        pixelated=False,  # folium's style for it is in our own style sheet
        control=False,
    )


def _data(plan: Plan) -> dict[str, Any]:
    """What the page's script works with."""
    units = plan.site.settings.units
    us = units == "us"
    analysis = plan.analysis
    return {
        "features": shapes.features(plan),
        "drains": shapes.drains(plan),
        "changes": shapes.changes(plan),
        "choices": shapes.other_choices(plan),
        "films": film.films(plan),
        "tonight": evenings.lists(plan),
        "view": _view(plan),
        "edge": relief_bounds(analysis),
        "place": grids.place(grids.thinned(analysis.terrain.elevation_m)),
        "readings": list(_readings(plan)),
        "spring": plan.site.spring_month,
        "summer": plan.site.summer_month,
        "say": words.texts(),
        "units": {
            "us": us,
            "length": [words.foot(), numbers.FEET_PER_METRE, 0]
            if us
            else ["m", 1.0, 1],
            "area": [words.square_foot(), numbers.FEET_PER_METRE**2]
            if us
            else ["m²", 1.0],
        },
    }


def relief_bounds(analysis: Analysis) -> LatLonBounds:
    """South-west and north-east corners of the grid."""
    to_degrees = Transformer.from_crs(
        analysis.terrain.elevation_m.crs, "EPSG:4326", always_xy=True
    )
    west, south, east, north = to_degrees.transform_bounds(
        *analysis.terrain.elevation_m.bounds
    )
    return (south, west), (north, east)


def _view(plan: Plan) -> LatLonBounds:
    """What the map shows first: the plots and what is planned on them."""
    outlines = [*plan.site.plots.geometry, *(place.outline for place in plan.tunnels)]
    to_degrees = Transformer.from_crs(plan.site.crs, "EPSG:4326", always_xy=True)
    west, south, east, north = to_degrees.transform_bounds(
        *shapely.total_bounds(outlines).tolist()
    )
    return (south, west), (north, east)


def _readings(plan: Plan) -> Iterator[dict[str, Any]]:
    """Grids for the finger, in the order they are read out.

    `key` is the question they belong to and `at` which of its pictures: the month of
    the sun, 0 for cold air as it is and 1 and up for the changes.
    """
    units = plan.site.settings.units
    changed = [outcome.analysis for outcome in plan.what_ifs]
    for at, analysis in enumerate((plan.analysis, *changed)):
        yield from _cold_readings(analysis, units, at)
    now_m = grids.thinned(plan.analysis.cold_air.depth_m).values
    for at, analysis in enumerate(changed):
        deeper = grids.thinned(analysis.cold_air.depth_m).values - now_m
        packed = grids.reading(
            deeper, DEPTH_STEP_M, lambda metres: words.depth_change(metres, units)
        )
        yield {"key": "what-if", "at": at, "lead": "", **packed}
    fall = grids.thinned(views.percent(plan.analysis)).values
    packed = grids.reading(
        fall, FALL_STEP_PERCENT, lambda percent: words.fall(percent, units)
    )
    yield {"key": "steep", "at": 0, "lead": "", **packed}
    wetness = grids.thinned(plan.analysis.wetness_index).values
    wet = np.searchsorted(views.WETNESS[1:], wetness, side="right").astype(float)
    wet[np.isnan(wetness)] = np.nan
    packed = grids.reading(wet, 1.0, lambda at: words.water_class(int(at)))
    yield {"key": "water", "at": 0, "lead": "", **packed}
    yield from _sun_readings(plan.analysis)


def _cold_readings(
    analysis: Analysis, units: numbers.Units, at: int
) -> Iterator[dict[str, Any]]:
    """How deep cold air lies, and how cold it likely and at worst is."""
    depth = grids.thinned(analysis.cold_air.depth_m).values
    offset_c = grids.thinned(analysis.cold_air.offset_c).values
    low, central, _ = np.vectorize(rounded_c, otypes=[float])(np.nan_to_num(offset_c))
    unknown = np.isnan(offset_c)
    central[unknown[1]] = np.nan
    low[unknown[0]] = np.nan
    for packed in (
        grids.reading(
            depth, DEPTH_STEP_M, lambda metres: words.cold_air(metres, units)
        ),
        grids.reading(central, STEP_C, lambda offset: words.likely(offset, units)),
        grids.reading(low, STEP_C, lambda offset: words.at_worst(offset, units)),
    ):
        yield {"key": "cold", "at": at, "lead": "", **packed}


def _sun_readings(analysis: Analysis) -> Iterator[dict[str, Any]]:
    """Hours, half of the day and light of each month."""
    hours = grids.thinned(analysis.light.direct_hours).values
    share = grids.thinned(analysis.light.morning_share).values
    half = np.vectorize(daylight.sunnier_half, otypes=[float])(
        np.nan_to_num(share, nan=0.5)
    )
    half[np.isnan(share)] = np.nan
    light = grids.thinned(analysis.light.sun_mj_m2_day).values
    for month in range(12):
        lead = words.in_month(month_name(month + 1))
        for packed in (
            grids.reading(hours[month], HOURS_STEP, words.hours),
            grids.reading(half[month], 1.0, words.half_day),
            grids.reading(light[month], LIGHT_STEP_MJ_M2, words.light),
        ):
            yield {"key": "sun", "at": month, "lead": lead, **packed}


def _signs(plan: Plan) -> list[tuple[str, str]]:
    """Signs that are on this map, with their words."""
    present = ["plot"]
    present += ["bed"] if plan.beds else []
    present += ["tunnel"] if plan.tunnels else []
    present += ["pocket"] if len(plan.cold_pockets) else []
    present += ["mark"] if plan.marks else []
    kinds = set(plan.site.surroundings["kind"])
    present += [kind for kind in words.KINDS if kind in kinds]
    changed = {sign for each in plan.what_ifs for sign in each.ground}
    present += [sign for sign in ("gone", "new") if sign in changed]
    return [(kind.replace(" ", "-"), words.kind(kind)) for kind in present]


def _warnings(plan: Plan) -> list[str]:
    """Every caution and everything that could not be known, once."""
    facts = (*plan.warnings, *plan.analysis.remarks, *plan.site.remarks)
    return list(dict.fromkeys(say_all(facts, plan.site.settings.units)))


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


def _style(plan: Plan) -> str:
    """Styles of the page, turned where lines run from right to left."""
    turned = _text_of("rtl.css") if language.current().right_to_left else ""
    backed = _text_of("background.css") if _background(plan) else ""
    return _text_of("page.css") + turned + backed


def _text_of(name: str) -> str:
    return (resources.files("fieldmap.show.map") / name).read_text("utf-8")


def _environment() -> jinja2.Environment:
    environment = jinja2.Environment(
        autoescape=True,
        loader=jinja2.FunctionLoader(_text_of),
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=jinja2.StrictUndefined,
    )
    environment.filters["quiet"] = quiet
    return environment
