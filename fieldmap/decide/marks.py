"""What the grower saw on the ground beside what was computed of it."""

from collections.abc import Sequence
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.fields import Analysis
from fieldmap.decide.ranking.by_night import SAME_LIGHT
from fieldmap.model.fact import Fact
from fieldmap.model.site import (
    PUDDLES,
    SNOW_LEAVES_FIRST,
    WHITE_AT_DAWN,
    Mark,
    cells_in,
    marked_cells,
)

Floats = npt.NDArray[np.float64]

Answer = Literal["agrees", "disagrees", "unclear"]

# Ground on which it is that much more so counts as more (choices: half the step that
# people are shown; 1 of the wetness index is three times the water).
MORE_C, MORE_WETNESS = 0.25, 1.0
MOST = 0.5


class MarkComparison(NamedTuple):
    """A mark, whether the computed fields agree with it, and all that is said of it."""

    mark: Mark
    answer: Answer
    fact: Fact


def compare(
    marks: Sequence[Mark],
    analysis: Analysis,
    plots: Sequence[BaseGeometry],
    spring_month: int,
) -> tuple[MarkComparison, ...]:
    """Each mark beside the fields computed without it, in the order of the marks.

    It agrees where half of the plots or more, off all marks of that kind, is less so by
    a margin; it disagrees where half or more is more so.

    Parameters
    ----------
    marks
        What the grower saw on the ground, and where.
    analysis
        The computed ground, cold air, light and wetness.
    plots
        Outlines of the plots, on which a mark is compared with the rest.
    spring_month
        Month of spring, 0 for January, whose light says where snow leaves first.
    """
    ground = analysis.terrain.elevation_m
    on_plots = cells_in(plots, ground)
    return tuple(
        _compared(
            mark,
            analysis,
            # Another mark of the kind is not the rest: it was seen to be alike.
            on_plots & ~marked_cells(marks, ground, mark.seen),
            spring_month,
        )
        for mark in marks
    )


def _compared(
    mark: Mark, analysis: Analysis, rest: npt.NDArray[np.bool_], spring_month: int
) -> MarkComparison:
    """A mark beside the rest of the plots."""
    # Without the mark, which the plan has learnt from: else it would agree with itself.
    values, margin = _computed(analysis, mark.seen, spring_month)
    known = ~np.isnan(values)
    here = cells_in([mark.outline], analysis.terrain.elevation_m) & known
    others = rest & known
    answer: Answer = "unclear"
    if here.any() and others.any():
        apart = values[here].mean() - values[others]
        if np.mean(apart >= margin) >= MOST:
            answer = "agrees"
        elif np.mean(apart <= -margin) >= MOST:
            answer = "disagrees"
    colder_c = 0.0  # what the plan makes of the mark, beyond the dates of beds
    if mark.seen == WHITE_AT_DAWN and here.any():
        colder_c = float(analysis.cold_air.seen_c.values[here].mean())
    fact = Fact(
        "mark",
        name=mark.name,
        seen=mark.seen,
        compared=answer if others.any() else "covers all",
        offset_c=colder_c,
    )
    return MarkComparison(mark, answer, fact)


def _computed(analysis: Analysis, seen: str, spring_month: int) -> tuple[Floats, float]:
    """What was computed of one kind of thing seen, more is more so; and its margin."""
    if seen == WHITE_AT_DAWN:
        cold_air = analysis.cold_air
        # What marks took off is given back; turned round, so that more is colder.
        return cold_air.seen_c.values - cold_air.offset_c.values[1], MORE_C
    if seen == SNOW_LEAVES_FIRST:
        light = analysis.light.sun_mj_m2_day.values[spring_month]
        return light, SAME_LIGHT * float(np.nanmedian(light))
    wetness = analysis.wetness_index.values
    return wetness if seen == PUDDLES else -wetness, MORE_WETNESS
