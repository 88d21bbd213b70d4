"""The grower's questions, and what the map shows for each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from fieldmap import words as numbers
from fieldmap.webmap import words
from fieldmap.webmap.colours import GROUP_COLOURS, ramp
from fieldmap.webmap.overlay import Overlay, classes

if TYPE_CHECKING:
    from collections.abc import Callable

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
        "sun": tuple(_sun(plan.analysis, month) for month in range(12)),
        "shade": (_shade(plan),),
        "steep": (_steep(plan),),
        "tunnels": (_tunnels(plan),),
    }
    return tuple(
        View(key, words.QUESTIONS[key], shown) for key, shown in pictures.items()
    )


def percent(slope_deg: Raster) -> Raster:
    """Slope as a grade."""
    return slope_deg.with_values(100.0 * np.tan(np.radians(slope_deg.values)))


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
    depth = plan.analysis.cold_air_m
    shown, per_metre = (
        (DEPTHS_FT, numbers.FEET_PER_METRE) if units == "us" else (DEPTHS_M, 1.0)
    )
    central = plan.analysis.offset_c.values[1]
    edges = np.asarray(shown) / per_metre

    def meaning(number: int, last: int, cells: npt.NDArray[np.bool_]) -> str:
        high = None if number == last else shown[number + 1]
        return words.depth_class(shown[number], high, _middle(central[cells]), units)

    return _classed(depth, edges, ("magma", 0.92, 0.12), words.cold_sentence(), meaning)


def _sun(analysis: Analysis, month: int) -> Picture:
    return _light(
        analysis.sun_mj_m2_day.with_values(analysis.sun_mj_m2_day.values[month]),
        analysis.direct_hours.values[month],
        "cividis",
        words.sun_sentence(numbers.MONTHS[month], analysis.sky),
    )


def _shade(plan: Plan) -> Picture:
    months = SUMMER[plan.site.southern]
    analysis = plan.analysis
    take = list(months)
    return _light(
        analysis.sun_mj_m2_day.with_values(analysis.sun_mj_m2_day.values[take].mean(0)),
        analysis.direct_hours.values[take].mean(0),
        "inferno",
        words.shade_sentence([numbers.MONTHS[month] for month in months], analysis.sky),
    )


def _light(
    sun: Raster, hours: npt.NDArray[np.floating], palette: str, sentence: str
) -> Picture:
    most = float(np.nanmax(sun.values)) if np.isfinite(sun.values).any() else 1.0
    least, high = (
        np.nanpercentile(sun.values, (2, 100)).tolist()
        if np.isfinite(sun.values).any()
        else (0.0, most)
    )
    finest = max((high - least) / SUN_CLASSES, FINEST_SUN_SHARE * most)
    step = next(step for step in NICE_STEPS if step >= finest or step == NICE_STEPS[-1])
    lowest = np.floor(least / step) * step
    edges = np.arange(lowest, max(high, lowest + step / 2), step).round(6)

    def meaning(number: int, last: int, cells: npt.NDArray[np.bool_]) -> str:
        upper = None if number == last else float(edges[number + 1])
        lower = None if number == 0 < last and lowest > 0 else float(edges[number])
        return words.sun_class(lower, upper, _middle(hours[cells]))

    # The few cells in deeper shade than the second percentile join the lowest class.
    lifted = sun.with_values(np.maximum(sun.values, lowest))
    return _classed(lifted, edges, (palette, 0.0, 1.0), sentence, meaning)


def _steep(plan: Plan) -> Picture:
    units = plan.site.settings.units
    return _classed(
        percent(plan.analysis.slope_deg),
        np.asarray(FALLS_PERCENT, float),
        ("viridis", 1.0, 0.0),
        words.steep_sentence(
            numbers.length(plan.analysis.slope_deg.cell_size_m, units)
        ),
        lambda number, _last, _cells: words.fall_class(FALLS_PERCENT[number], units),
    )


def _tunnels(plan: Plan) -> Picture:
    units = plan.site.settings.units
    return _classed(
        percent(plan.analysis.slope_deg),
        np.asarray(TUNNEL_FALLS_PERCENT, float),
        ("cividis", 0.95, 0.25),
        words.tunnels_sentence(),
        lambda number, _last, _cells: words.tunnel_ground(
            number, TUNNEL_FALLS_PERCENT[number], units
        ),
    )


def _classed(
    raster: Raster,
    edges: npt.NDArray[np.float64],
    palette: tuple[str, float, float],
    sentence: str,
    meaning: Callable[[int, int, npt.NDArray[np.bool_]], str],
) -> Picture:
    """Colour the classes from the lowest to the highest that has a cell."""
    number = np.searchsorted(edges, raster.values, side="right") - 1
    number[~np.isfinite(raster.values)] = -1
    last = int(number.max(initial=-1))
    if last < 0:
        return Picture(sentence, ())
    colours = ramp(palette[0], max(last + 1, 3), *palette[1:])
    if last < 2:  # two of three colours, the far ones
        colours = [colours[0], colours[-1]][: last + 1]
    legend = tuple(
        Swatch(colour, meaning(at, last, number == at))
        for at, colour in enumerate(colours)
        if (number == at).any()
    )
    return Picture(
        sentence, legend, classes(raster, edges[: last + 1].tolist(), colours)
    )


def _middle(values: npt.NDArray[np.floating]) -> float:
    """Median of what is known."""
    known = values[np.isfinite(values)]
    return float(np.median(known)) if known.size else 0.0
