"""The grower's questions, and what the map shows for each."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from rasterio.features import geometry_mask

from fieldmap import words as numbers
from fieldmap.webmap import words
from fieldmap.webmap.colours import GROUP_COLOURS, ramp
from fieldmap.webmap.overlay import Overlay, classes
from layers import terrain

if TYPE_CHECKING:
    from collections.abc import Iterator

    import numpy.typing as npt

    from fieldmap.analysis import Analysis
    from fieldmap.plan import Plan
    from fieldmap.raster import Raster

# Edges of classes. Depths are round numbers in the unit that is read.
DEPTHS_M = (0.1, 0.5, 1, 2, 3, 5, 10, 20, 40)
DEPTHS_FT = (0.3, 1.5, 3, 6, 10, 15, 30, 60, 120)
FALLS_PERCENT = (0, 1, 2, 5, 10, 15, 25, 40)
# Common advice, no firm source: across up to 2 %, along up to 5 % before grading.
TUNNEL_FALLS_PERCENT = (0, 2, 5)
# A month's light is cut into about so many classes, but never finer than this share of
# its most: finer differences are below what the sky model can tell.
SUN_CLASSES = 6
FINEST_SUN_SHARE = 0.04
NICE_STEPS = (0.1, 0.2, 0.5, 1, 2, 5)
SUMMER = {False: (5, 6, 7), True: (11, 0, 1)}  # January is 0; key: southern
SPRING_MONTH = {False: 2, True: 8}


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


@dataclass(frozen=True)
class View:
    """A question with one picture, or twelve, January first."""

    key: str
    question: str
    pictures: tuple[Picture, ...]

    @property
    def by_month(self) -> bool:
        """Whether the month can be chosen."""
        return len(self.pictures) > 1


def spring_month(plan: Plan) -> int:
    """The month whose sun decides on early beds: March, in the south September."""
    return SPRING_MONTH[plan.site.southern]


def views(plan: Plan) -> tuple[View, ...]:
    """All questions in the order they are asked."""
    pictures = {
        "early": (_early(plan),),
        "cold": (_cold(plan),),
        "sun": tuple(_sun(plan)),
        "shade": (_shade(plan),),
        "steep": (_steep(plan),),
        "tunnels": (_tunnels(plan),),
    }
    return tuple(
        View(key, words.QUESTIONS[key], shown) for key, shown in pictures.items()
    )


def percent(analysis: Analysis) -> Raster:
    """Grade of the smoothed ground, as beds and tunnels are told: roughness left out."""
    smooth = analysis.smooth_m
    rise = terrain.gradient(smooth.values.astype(np.float64), smooth.cell_size_m)
    return smooth.with_values(100.0 * np.hypot(*rise))


def _seen_m(plan: Plan) -> float:
    """The finest roughness that slopes still show."""
    return max(
        plan.site.settings.ground.smoothing_m, plan.analysis.smooth_m.cell_size_m
    )


def _early(plan: Plan) -> Picture:
    groups = [bed.early_group for bed in plan.beds]
    return Picture(
        words.early_sentence(),
        tuple(
            Swatch(colour, words.group(name, groups.count(name)), name.split()[0])
            for name, colour in GROUP_COLOURS.items()
            if name in groups
        ),
    )


def _cold(plan: Plan) -> Picture:
    units = plan.site.settings.units
    us = units == "us"
    edges = np.asarray(DEPTHS_FT) / numbers.FEET_PER_METRE if us else DEPTHS_M
    central = plan.analysis.offset_c.values[1]
    return _classed(
        plan.analysis.cold_air_m,
        np.asarray(edges, float),
        ("PuBu", 0.3, 1.0),
        words.cold_sentence(),
        lambda low, high, cells: words.depth_class(
            low, high, _middle(central[cells]), units
        ),
    )


def _sun(plan: Plan) -> Iterator[Picture]:
    light = plan.analysis.sun_mj_m2_day
    hours = plan.analysis.direct_hours.values
    on_plots = _on_plots(plan)
    for month, name in enumerate(numbers.MONTHS):
        yield _classed(
            light.with_values(light.values[month]),
            _sun_edges(light.values[month][on_plots]),
            ("YlGnBu", 0.9, 0.08),
            words.sun_sentence(name, plan.analysis.sky),
            _sun_meaning(hours[month]),
        )


def _shade(plan: Plan) -> Picture:
    months = list(SUMMER[plan.site.southern])
    light = plan.analysis.sun_mj_m2_day
    mean = light.with_values(light.values[months].mean(0))
    return _classed(
        mean,
        _sun_edges(mean.values[_on_plots(plan)]),
        ("YlOrRd", 0.05, 0.7),
        words.shade_sentence(
            [numbers.MONTHS[month] for month in months],
            plan.analysis.sky,
            no_difference=all(bed.shade_rank == 1 for bed in plan.beds),
        ),
        _sun_meaning(plan.analysis.direct_hours.values[months].mean(0)),
    )


def _on_plots(plan: Plan) -> npt.NDArray[np.bool_]:
    grid = plan.analysis.smooth_m
    return np.asarray(
        geometry_mask(
            plan.site.plots.geometry,
            out_shape=grid.shape,
            transform=grid.transform,
            invert=True,
            all_touched=True,
        )
    )


def _sun_edges(light: npt.NDArray[np.floating]) -> npt.NDArray[np.float64]:
    """Edges of classes that tell the ground of the plots apart.

    The lowest class is open below and the highest above, for the ground around.
    """
    known = light[np.isfinite(light)]
    if not known.size:
        return np.zeros(1)
    low, high = np.percentile(known, (2, 98)).tolist()
    finest = max((high - low) / SUN_CLASSES, FINEST_SUN_SHARE * high)
    step = next((step for step in NICE_STEPS if step >= finest), NICE_STEPS[-1])
    first = np.floor(low / step) + 1
    last = max(np.ceil(high / step) - 1, first)
    inner = np.arange(first, last + 1) * step
    return np.concatenate([[0.0], inner]).round(6)


def _sun_meaning(hours: npt.NDArray[np.floating]) -> Meaning:
    def meaning(
        low: float | None, high: float | None, cells: npt.NDArray[np.bool_]
    ) -> str:
        return words.sun_class(low, high, _middle(hours[cells]))

    return meaning


def _steep(plan: Plan) -> Picture:
    units = plan.site.settings.units
    return _classed(
        percent(plan.analysis),
        np.asarray(FALLS_PERCENT, float),
        ("YlOrBr", 0.02, 0.85),
        words.steep_sentence(numbers.length(_seen_m(plan), units)),
        lambda low, _high, _cells: words.fall_class(low, units),
    )


def _tunnels(plan: Plan) -> Picture:
    units = plan.site.settings.units
    return _classed(
        percent(plan.analysis),
        np.asarray(TUNNEL_FALLS_PERCENT, float),
        ("YlOrBr", 0.05, 0.6),
        words.tunnels_sentence(),
        lambda low, high, _cells: words.tunnel_ground(low, high, units),
    )


def _classed(
    raster: Raster,
    edges: npt.NDArray[np.float64],
    palette: tuple[str, float, float],
    sentence: str,
    meaning: Meaning,
) -> Picture:
    """Colour the classes from the lowest to the highest that has a cell.

    `meaning` is given the lower edge of a class (None where that is 0), the upper edge
    (None for the last), and its cells.
    """
    number = np.searchsorted(edges, raster.values, side="right") - 1
    number[~np.isfinite(raster.values)] = -1
    last = int(number.max(initial=-1))
    if last < 0:
        return Picture(sentence, ())
    colours = ramp(palette[0], max(last + 1, 3), *palette[1:])
    if last < 2:  # the outer of three colours, or the first
        colours = [colours[0], colours[-1]][: last + 1]
    legend = tuple(
        Swatch(
            colour,
            meaning(
                float(edges[at]) or None,
                float(edges[at + 1]) if at < last else None,
                number == at,
            ),
        )
        for at, colour in enumerate(colours)
        if (number == at).any()
    )
    overlay = classes(raster, edges[: last + 1].tolist(), colours)
    return Picture(sentence, legend, overlay)


def _middle(values: npt.NDArray[np.floating]) -> float:
    """Median of what is known."""
    known = values[np.isfinite(values)]
    return float(np.median(known)) if known.size else 0.0
