"""The grower's questions, and what the map shows for each."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from rasterio.features import geometry_mask

from fieldmap.analyse.water import DRY_BELOW, GATHERS_FROM
from fieldmap.decide import what_if
from fieldmap.show.colours import GROUP_COLOURS, ramp
from fieldmap.show.map.overlay import Overlay, classes
from fieldmap.show.text import map
from fieldmap.show.text import quantities as numbers
from fieldmap.show.text.language import _, month_name
from layers import terrain

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    import numpy.typing as npt

    from fieldmap.analyse.fields import Analysis
    from fieldmap.model.raster import Raster
    from fieldmap.plan import Plan

# Edges of classes. Depths are round numbers in the unit that is read.
DEPTHS_M = (0.1, 0.5, 1.0, 2.0, 4.0, 8.0, 16.0)
DEPTHS_FT = (0.3, 1.5, 3.0, 6.0, 12.0, 25.0, 50.0)
DEPTH_COLOURS = ramp("PuBu", (0.15, 0.32, 0.47, 0.61, 0.75, 0.88, 1.0))
FALLS_PERCENT = (0.0, 1.0, 2.0, 5.0, 10.0, 15.0, 25.0, 40.0)
FALL_COLOURS = ramp("YlOrBr", np.linspace(0.02, 0.9, len(FALLS_PERCENT)))
# Index from which water gathers, and most of all (choices).
WETNESS = (0.0, DRY_BELOW, GATHERS_FROM, GATHERS_FROM + 2.0)
WATER_COLOURS = ramp("GnBu", (0.08, 0.4, 0.7, 1.0))
# Common advice, no firm source: across up to 2 %, along up to 5 % before grading.
TUNNEL_FALLS_PERCENT = (0.0, 2.0, 5.0)
TUNNEL_COLOURS = ramp("YlOrBr", (0.03, 0.28, 0.5))
# Light as a share of the sunniest ground of the plots, and how bright it is drawn:
# small differences look small.
SUN_SHARES = (0.0, 0.5, 0.7, 0.8, 0.9, 0.95)
SUN_BRIGHTNESS = np.array((0.0, 0.25, 0.5, 0.68, 0.84, 1.0))
SUN_COLOURS = ramp("YlGnBu", 0.92 - 0.82 * SUN_BRIGHTNESS)
SHADE_COLOURS = ramp("YlOrRd", 0.03 + 0.42 * SUN_BRIGHTNESS)
SUNNIEST_PERCENTILE = 98  # single bright cells do not count
# Change of depth: shallower is brown, deeper violet; what hardly changes stays clear.
CHANGES_M = (-np.inf, -2.0, -1.0, -0.5, -0.2, 0.2, 0.5, 1.0, 2.0)
CHANGE_COLOURS = (
    *ramp("BrBG", (0.05, 0.15, 0.25, 0.35)),
    "#ffffff",  # never drawn
    *ramp("PuOr", (0.65, 0.75, 0.87, 1.0)),
)


# Lower and upper edge of a class (None where open) and its cells -> words.
Meaning = Callable[[float | None, float | None, "npt.NDArray[np.bool_]"], str]


class Swatch(NamedTuple):
    """A colour of the legend and what it means."""

    colour: str
    text: str
    pattern: str = ""


@dataclass(frozen=True)
class Picture:
    """What the map shows at one time: colours on the ground and their meaning."""

    sentence: str
    legend: tuple[Swatch, ...]
    overlay: Overlay | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class View:
    """A question with one picture, or one for each of several names."""

    key: str
    question: str
    pictures: tuple[Picture, ...]
    names: tuple[str, ...]


def views(plan: Plan) -> tuple[View, ...]:
    """All questions in the order they are asked."""
    pictures = {
        "early": (_early(plan),),
        "tonight": (_tonight(),),
        "cold": (_cold(plan), *_cold_changed(plan)),
        "what-if": tuple(_what_if(plan)),
        "sun": tuple(_sun(plan)),
        "shade": (_shade(plan),),
        "steep": (_steep(plan),),
        "water": (_water(plan),),
        "tunnels": (_tunnels(plan),),
        "materials": (Picture(map.materials_sentence(), ()),),
    }
    changes = tuple(outcome.name for outcome in plan.what_ifs)
    names = {
        "sun": tuple(month_name(month) for month in range(1, 13)),
        "cold": (map.text("as_it_is") if changes else "", *changes),
        "what-if": changes,
    }
    return tuple(
        View(key, _(map.QUESTIONS[key]), shown, names.get(key, ("",)))
        for key, shown in pictures.items()
        if shown
    )


def first_for_shade(plan: Plan) -> frozenset[int]:
    """Beds, by number, that come first for shade cloth: none where most are alike."""
    first = [number for number, bed in enumerate(plan.beds) if bed.shade_rank == 1]
    return frozenset(first if 2 * len(first) <= len(plan.beds) else ())


def percent(analysis: Analysis) -> Raster:
    """Grade of the smoothed ground, as beds and tunnels are told: roughness left out."""
    smooth = analysis.terrain.smooth_m
    rise = terrain.gradient(smooth.values.astype(np.float64), smooth.cell_size_m)
    return smooth.with_values(100.0 * np.hypot(*rise))


def _seen_m(plan: Plan) -> float:
    """The finest roughness that slopes still show."""
    return max(
        plan.site.settings.ground.smoothing_m,
        plan.analysis.terrain.smooth_m.cell_size_m,
    )


def _early(plan: Plan) -> Picture:
    groups = [bed.early_group for bed in plan.beds]
    return Picture(
        map.early_sentence(),
        tuple(
            Swatch(colour, map.group(name, groups.count(name)), name.split()[0])
            for name, colour in GROUP_COLOURS.items()
            if name in groups
        ),
    )


def _tonight() -> Picture:
    """Every sign that a bed can have; the page shows those of the night it tells."""
    return Picture(
        map.tonight_sentence(),
        tuple(
            Swatch("", _(said), f"tonight-{sign}")
            for sign, said in map.SIGNS_TONIGHT.items()
        ),
    )


def depth_edges_m(units: numbers.Units) -> npt.NDArray[np.float64]:
    """Lower edges of the classes of depth, round in the unit that is read."""
    if units == "us":
        return np.asarray(DEPTHS_FT) / numbers.FEET_PER_METRE
    return np.asarray(DEPTHS_M)


def _cold(plan: Plan) -> Picture:
    units = plan.site.settings.units
    picture = _depths(plan.analysis, units)
    ways = (Swatch("", map.kind("drain"), "drain"),) if plan.flow_lines else ()
    return replace(
        picture,
        legend=(*picture.legend, *ways),
        notes=tuple(map.dam(dam, units) for dam in plan.cold_air_barriers),
    )


def _cold_changed(plan: Plan) -> Iterator[Picture]:
    """How deep cold air would lie after each change."""
    units = plan.site.settings.units
    for outcome in plan.what_ifs:
        picture = _depths(outcome.analysis, units)
        yield replace(
            picture,
            legend=(*picture.legend, *_signs(outcome.ground)),
            notes=(_(what_if.CAUTION),),
        )


def _depths(analysis: Analysis, units: numbers.Units) -> Picture:
    central = analysis.cold_air.offset_c.values[1]
    return _classed(
        analysis.cold_air.depth_m,
        depth_edges_m(units),
        DEPTH_COLOURS,
        map.cold_sentence(),
        lambda low, high, cells: map.depth_class(
            low, high, _middle(central[cells]), units
        ),
    )


def _what_if(plan: Plan) -> Iterator[Picture]:
    """How much deeper or shallower cold air would lie, and what that does."""
    units = plan.site.settings.units
    us = units == "us"
    now_m = plan.analysis.cold_air.depth_m
    for outcome in plan.what_ifs:
        change_m = now_m.with_values(
            outcome.analysis.cold_air.depth_m.values - now_m.values
        )
        hardly = np.abs(change_m.values) < CHANGES_M[5]
        change_m.values[hardly] = np.nan
        picture = _classed(
            change_m,
            np.asarray(CHANGES_M),
            CHANGE_COLOURS,
            map.what_if_sentence(outcome.changes),
            lambda low, high, _cells: map.change_class(low, high, us=us),
        )
        told = (*what_if.sentences(outcome, units), outcome.below)
        yield replace(
            picture,
            legend=(*picture.legend, *_signs(outcome.ground)),
            notes=(*told, _(what_if.CAUTION)),
        )


def _signs(drawn: Iterable[str]) -> Iterator[Swatch]:
    for sign in drawn:
        yield Swatch("", map.kind(sign), sign)


def _sun(plan: Plan) -> Iterator[Picture]:
    light = plan.analysis.light.sun_mj_m2_day
    hours = plan.analysis.light.direct_hours.values
    on_plots = _on_plots(plan)
    for month in range(12):
        yield _shares(
            light.with_values(light.values[month]),
            hours[month],
            on_plots,
            SUN_COLOURS,
            partial(
                map.sun_sentence, month_name(month + 1), sky=plan.analysis.light.sky
            ),
        )


def _shade(plan: Plan) -> Picture:
    """By the light of the month that the order of beds and the weekly list go by."""
    month = plan.site.summer_month
    light = plan.analysis.light.sun_mj_m2_day
    return _shares(
        light.with_values(light.values[month]),
        plan.analysis.light.direct_hours.values[month],
        _on_plots(plan),
        SHADE_COLOURS,
        partial(
            map.shade_sentence,
            month_name(month + 1),
            sky=plan.analysis.light.sky,
            no_difference=not first_for_shade(plan),
        ),
    )


def _shares(
    light: Raster,
    hours: npt.NDArray[np.floating],
    on_plots: npt.NDArray[np.bool_],
    colours: Sequence[str],
    sentence: Callable[[float, float], str],
) -> Picture:
    """Light as shares of that of the sunniest ground of the plots.

    `sentence` is given the light of that ground and its hours of direct sun.
    """
    known = light.values[on_plots & np.isfinite(light.values)]
    most = float(np.percentile(known, SUNNIEST_PERCENTILE)) if known.size else 0.0
    if most <= 0:  # a polar night, or nothing computed
        return Picture(sentence(0.0, 0.0), ())
    bright = on_plots & (light.values >= SUN_SHARES[-1] * most)
    shares = light.with_values(light.values / most)
    picture = _classed(
        shares,
        np.asarray(SUN_SHARES),
        colours,
        sentence(most, _middle(hours[bright])),
        lambda low, high, cells: map.sun_class(low, high, _middle(hours[cells])),
    )
    if _rises(shares, hours):
        return picture
    # Hours that fall while light rises confuse: a slope towards the sun gets more
    # light in the same hours.
    bare = _classed(
        shares,
        np.asarray(SUN_SHARES),
        colours,
        picture.sentence,
        lambda low, high, _cells: map.sun_class(low, high),
    )
    return replace(bare, notes=(map.text("hours_apart"),))


def _rises(shares: Raster, hours: npt.NDArray[np.floating]) -> bool:
    """Whether the hours that are told of each class of light never fall."""
    number = np.searchsorted(SUN_SHARES, shares.values, side="right") - 1
    number[~np.isfinite(shares.values)] = -1
    told = [
        map.half_hours(_middle(hours[number == at]))
        for at in range(len(SUN_SHARES))
        if (number == at).any()
    ]
    return all(low <= high for low, high in itertools.pairwise(told))


def _on_plots(plan: Plan) -> npt.NDArray[np.bool_]:
    grid = plan.analysis.terrain.smooth_m
    return np.asarray(
        geometry_mask(
            plan.site.plots.geometry,
            out_shape=grid.shape,
            transform=grid.transform,
            invert=True,
            all_touched=True,
        )
    )


def _steep(plan: Plan) -> Picture:
    units = plan.site.settings.units
    return _classed(
        percent(plan.analysis),
        np.asarray(FALLS_PERCENT),
        FALL_COLOURS,
        map.steep_sentence(numbers.length(_seen_m(plan), units)),
        lambda low, _high, _cells: map.fall_class(low, units),
    )


def _water(plan: Plan) -> Picture:
    return _classed(
        plan.analysis.wetness_index,
        np.asarray(WETNESS),
        WATER_COLOURS,
        map.water_sentence(),
        lambda low, _high, _cells: map.water_class(
            0 if low is None else WETNESS.index(low)
        ),
    )


def _tunnels(plan: Plan) -> Picture:
    units = plan.site.settings.units
    picture = _classed(
        percent(plan.analysis),
        np.asarray(TUNNEL_FALLS_PERCENT),
        TUNNEL_COLOURS,
        map.tunnels_sentence(),
        lambda low, _high, _cells: map.tunnel_ground(
            TUNNEL_FALLS_PERCENT.index(low or 0.0), low, units
        ),
    )
    taken = plan.site.settings.tunnel_choice
    others = [each.letter for each in plan.tunnel_choices if each.letter != taken]
    signs = [f"choice-{letter.lower()}" for letter in others]
    return replace(
        picture,
        legend=(
            *picture.legend,
            *_signs(signs),
        ),
        notes=tuple(
            map.tunnel_choice(each.letter, each.said, taken=each.letter == taken)
            for each in plan.tunnel_choices
        ),
    )


def _classed(
    raster: Raster,
    edges: npt.NDArray[np.float64],
    colours: Sequence[str],
    sentence: str,
    meaning: Meaning,
) -> Picture:
    """Colour each class that has a cell, and say what it means.

    `meaning` is given the lower edge of a class (None where that is 0), the upper edge
    (None for the last of all), and its cells.
    """
    number = np.searchsorted(edges, raster.values, side="right") - 1
    number[~np.isfinite(raster.values)] = -1
    legend = tuple(
        Swatch(
            colour,
            meaning(
                float(edges[at]) or None,
                float(edges[at + 1]) if at + 1 < len(edges) else None,
                number == at,
            ),
        )
        for at, colour in enumerate(colours)
        if (number == at).any()
    )
    overlay = classes(raster, edges.tolist(), colours) if legend else None
    return Picture(sentence, legend, overlay)


def _middle(values: npt.NDArray[np.floating]) -> float:
    """Median of what is known."""
    known = values[np.isfinite(values)]
    return float(np.median(known)) if known.size else 0.0
