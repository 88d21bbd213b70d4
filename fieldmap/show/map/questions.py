"""The grower's questions, and what the map shows for each."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import numpy.typing as npt
from rasterio.features import geometry_mask
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.cold_air.barriers import Barrier
from fieldmap.analyse.cold_air.flow_lines import FlowLine
from fieldmap.analyse.fields import Analysis, LightFields, TerrainFields
from fieldmap.decide import what_if
from fieldmap.decide.ranking import RankedBed
from fieldmap.decide.tunnels import TunnelSet
from fieldmap.decide.what_if import Effect
from fieldmap.model.raster import Raster
from fieldmap.plan import Plan
from fieldmap.show.layer_styles import (
    CHANGES_C,
    COLDER_C,
    FALLS_PERCENT,
    GROUP_COLOURS,
    SHADE_SHARES,
    SUN_SHARES,
    TUNNEL_FALLS_PERCENT,
    WETNESS,
    Classes,
)
from fieldmap.show.map.classed import (
    Picture,
    Swatch,
    classed,
    colder_c,
    shares_of_sun,
)
from fieldmap.show.text.language import _, month_name
from fieldmap.show.text.map import classes as meanings
from fieldmap.show.text.map import cold_air, labels, signs, tonight
from fieldmap.show.text.map import questions as words
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase, say, say_all


@dataclass(frozen=True)
class Question:
    """A question with one picture, or one for each of several names."""

    key: str
    text: str
    pictures: tuple[Picture, ...]
    names: tuple[str, ...]


def questions(plan: Plan) -> tuple[Question, ...]:
    """All questions in their order, but for those that nothing answers here."""
    settings, analysis = plan.site.settings, plan.analysis
    units = settings.units
    on_plots = _on_plots(analysis.terrain.smooth_m, plan.site.plots.geometry)
    fall_percent = percent(analysis.terrain)
    pictures: dict[str, tuple[Picture, ...]] = {
        "early": (
            _early(
                [bed.earliness.group for bed in plan.beds],
                words.early(air_ran=analysis.cold_air.night is not None),
            ),
        ),
        "tonight": (_tonight(),),
        "cold": tuple(
            _cold_nights(
                (analysis, plan.flow_lines, plan.cold_air_barriers),
                plan.what_ifs,
                units,
                by_station=plan.site.station_cell is not None,
            )
        ),
        "what-if": tuple(_what_if(each, analysis, units) for each in plan.what_ifs),
        "sun": tuple(
            _light(analysis.light, month, on_plots, SUN_SHARES, words.sun)
            for month in range(12)
        ),
        # By the light of the month that the order of beds and the weekly list go by.
        "shade": (
            _light(
                analysis.light,
                plan.site.summer_month,
                on_plots,
                SHADE_SHARES,
                partial(words.shade, no_difference=not first_for_shade(plan.beds)),
            ),
        ),
        "steep": (
            _steep(
                fall_percent,
                # The finest roughness that slopes still show.
                max(settings.ground.smoothing_m, fall_percent.cell_size_m),
                units,
            ),
        ),
        "water": (_water(analysis.wetness_index),),
        "tunnels": (
            _tunnels(fall_percent, plan.tunnel_choices, settings.tunnel_choice, units),
        ),
        "materials": (Picture(words.explained("materials")),),
    }
    changes = tuple(outcome.name for outcome in plan.what_ifs)
    names = {
        "sun": tuple(month_name(month) for month in range(1, 13)),
        "cold": (labels.label("as_it_is") if changes else "", *changes),
        "what-if": changes,
    }
    return tuple(
        Question(key, _(words.QUESTIONS[key]), shown, names.get(key, ("",)))
        for key, shown in pictures.items()
        if shown
    )


def first_for_shade(beds: Sequence[RankedBed]) -> frozenset[int]:
    """Beds, by number, that come first for shade cloth: none where most are alike."""
    first = [number for number, bed in enumerate(beds) if bed.ranks.shade == 1]
    return frozenset(first if 2 * len(first) <= len(beds) else ())


def percent(terrain: TerrainFields) -> Raster:
    """Grade of the smoothed ground, as beds and tunnels have it: roughness left out."""
    rise = np.hypot(terrain.east.values, terrain.north.values)
    return terrain.smooth_m.with_values(100.0 * rise)


def _on_plots(grid: Raster, outlines: Iterable[BaseGeometry]) -> npt.NDArray[np.bool_]:
    return np.asarray(
        geometry_mask(
            outlines,
            out_shape=grid.shape,
            transform=grid.transform,
            invert=True,
            all_touched=True,
        )
    )


def _early(groups: Sequence[str], sentence: str) -> Picture:
    return Picture(
        sentence,
        tuple(
            Swatch(
                colour, meanings.bed_group(name, groups.count(name)), name.split()[0]
            )
            for name, colour in GROUP_COLOURS.items()
            if name in groups
        ),
    )


def _tonight() -> Picture:
    """Every sign that a bed can have; the page shows those of the night it lists."""
    return Picture(
        words.explained("tonight"),
        tuple(
            Swatch("", _(text), f"tonight-{sign}")
            for sign, text in tonight.SIGN_LABELS.items()
        ),
    )


def _signs(drawn: Iterable[str]) -> Iterator[Swatch]:
    for sign in drawn:
        yield Swatch("", signs.kind(sign), sign)


def _cold_nights(
    now: tuple[Analysis, Sequence[FlowLine], Sequence[Barrier]],
    changed: Iterable[Effect],
    units: Units,
    *,
    by_station: bool,
) -> Iterator[Picture]:
    """The place as it is, with its lines of air and what holds it; after each change."""
    analysis, flow_lines, barriers = now
    sentence = words.cold(
        by_station=by_station,
        air_ran=analysis.cold_air.night is not None,
    )
    yield _cold(
        analysis,
        sentence,
        units,
        ["drain"] if flow_lines else [],
        tuple(cold_air.barrier(one, units) for one in barriers),
    )
    caution = (say(what_if.CAUTION, units),)
    for each in changed:
        yield _cold(each.analysis, sentence, units, each.ground, caution)


def _cold(
    analysis: Analysis,
    sentence: str,
    units: Units,
    drawn: Iterable[str],
    notes: tuple[str, ...],
) -> Picture:
    """How much colder places are, and the signs that are drawn over them."""
    picture = classed(
        colder_c(analysis.cold_air.offset_c),
        COLDER_C,
        sentence,
        lambda low, high, _cells: meanings.colder_class(low or 0.0, high, units),
    )
    return replace(picture, legend=(*picture.legend, *_signs(drawn)), notes=notes)


def _what_if(effect: Effect, now: Analysis, units: Units) -> Picture:
    """How much colder or less cold places would be, and what that does."""
    before = colder_c(now.cold_air.offset_c)
    after = colder_c(effect.analysis.cold_air.offset_c)
    change_c = before.with_values(after.values - before.values)
    least_c = min(edge for edge in CHANGES_C.edges if edge > 0)
    change_c.values[np.abs(change_c.values) < least_c] = np.nan
    picture = classed(
        change_c,
        CHANGES_C,
        "",
        lambda low, high, _cells: meanings.change_class(low, high, units),
    )
    return replace(
        picture,
        sentence=words.what_if(
            say_all(effect.changes, units),
            air_ran=now.cold_air.night is not None,
            seen=bool(picture.legend),
        ),
        legend=(*picture.legend, *_signs(effect.ground)),
        notes=tuple(say_all([*effect.facts, what_if.CAUTION], units)),
    )


def _light(
    light: LightFields,
    month: int,
    on_plots: npt.NDArray[np.bool_],
    style: Classes,
    sentence: Callable[..., str],
) -> Picture:
    """The light of a month; `sentence` is asked for in its words and those of the sky."""
    month_mj_m2 = light.sun_mj_m2_day.with_values(light.sun_mj_m2_day.values[month])
    hours = light.direct_hours.values[month]
    about = partial(sentence, month_name(month + 1), sky=light.sky)
    return shares_of_sun(month_mj_m2, hours, on_plots, style, about)


def _steep(fall_percent: Raster, finest_m: float, units: Units) -> Picture:
    return classed(
        fall_percent,
        FALLS_PERCENT,
        phrase("steep_explained", units, seen_m=finest_m),
        lambda low, _high, _cells: meanings.fall_class(low, units),
    )


def _water(wetness: Raster) -> Picture:
    return classed(
        wetness,
        WETNESS,
        words.explained("water"),
        lambda low, _high, _cells: meanings.water_class(WETNESS.edges.index(low or 0)),
    )


def _tunnels(
    fall_percent: Raster, choices: Sequence[TunnelSet], taken: str, units: Units
) -> Picture:
    edges = TUNNEL_FALLS_PERCENT.edges
    picture = classed(
        fall_percent,
        TUNNEL_FALLS_PERCENT,
        words.explained("tunnels"),
        lambda low, _high, _cells: meanings.tunnel_class(
            edges.index(low or 0.0), low, units
        ),
    )
    others = (each.letter.lower() for each in choices if each.letter != taken)
    return replace(
        picture,
        legend=(*picture.legend, *_signs(f"choice-{letter}" for letter in others)),
        notes=tuple(
            phrase(
                "tunnel_choice_taken" if each.letter == taken else "tunnel_choice",
                units,
                letter=each.letter,
                said=each.comparison,
            )
            for each in choices
        ),
    )
