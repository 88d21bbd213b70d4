"""The question where cold air lies on a still night."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from fieldmap.decide.ranking import RankedBed
from fieldmap.model.estimate import STEP_C, rounded_c
from fieldmap.model.raster import Raster
from fieldmap.show.map.questions.view import (
    Ground,
    Picture,
    RampLegend,
    Run,
    Swatch,
    Tick,
    View,
    answer,
)
from fieldmap.show.text import names, quantities
from fieldmap.show.text.language import _, written
from fieldmap.show.text.map.questions import THAN
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase

RAMP = "cold"
LEAST_C = 1.0  # at the dark end of the ramp, so that small differences look small


class OfPlot(NamedTuple):
    """How much colder the beds of a plot are [°C]: least and most likely, and at worst."""

    plot: str
    least_c: float
    most_c: float
    worst_c: float


class Shown(NamedTuple):
    """In which words cold is said.

    Attributes
    ----------
    air_ran
        Cold air was let run over this ground.
    """

    units: Units
    by_station: bool
    air_ran: bool

    @property
    def than(self) -> str:
        """What places are compared with."""
        return _(THAN["station" if self.by_station else "plots"])

    def colder(self, degrees_c: float) -> str:
        """How much colder, in the steps that people are shown."""
        return quantities.difference(-degrees_c, self.units)


def view(
    offset_c: Raster,
    beds: Sequence[RankedBed],
    shown: Shown,
    extras: Sequence[str],
    more: Sequence[str],
) -> View:
    """How much colder ground is likely to be; plots with their likely and worst.

    Parameters
    ----------
    offset_c
        (3, rows, cols) low, central and high offset on a clear calm night [°C]; NaN
        where the ground is not known.
    beds
        The beds in the order of the plan.
    shown
        Units, what offsets are against, and whether the flow of cold air was computed.
    extras
        Sets of things to draw beside cold pockets and marks.
    more
        Sentences that are folded away under the answer.
    """
    plots = list(of_plots(beds))
    ground, darkest_c = on_ramp(offset_c), darkest(offset_c)
    legend = _legend(offset_c, darkest_c, shown)
    return View(
        answer=_answer(plots, shown),
        picture=Picture(
            ground=ground._replace(
                lines={
                    tick.at: shown.colder(tick.at * darkest_c)
                    for tick in legend.ticks
                    if tick.at > 0
                }
            ),
            extras=("pockets", "marks-cold", *extras),
            plots=tuple((each.plot, _under_name(each, shown)) for each in plots),
        ),
        ramp=legend,
        swatches=tuple(
            Swatch(kind, phrase(f"{kind}_here"))
            for kind, is_drawn in (("air", "flow" in extras), ("pocket", shown.air_ran))
            if is_drawn
        ),
        note=phrase("cold_note" if shown.air_ran else "cold_not_known"),
        more=tuple(more),
    )


def of_plots(beds: Sequence[RankedBed]) -> Iterator[OfPlot]:
    """The plots in the order of their beds, by the cold of these."""
    for plot in dict.fromkeys(bed.bed.plot for bed in beds):
        offsets = [bed.offset_c for bed in beds if bed.bed.plot == plot]
        known = [each for each in offsets if np.isfinite(each.central)]
        if known:
            likely = [-each.central for each in known]
            yield OfPlot(
                plot, min(likely), max(likely), max(-each.low for each in known)
            )


def on_ramp(offset_c: Raster) -> Ground:
    """Likely cold as places on the ramp."""
    place = np.clip(-offset_c.values[1] / darkest(offset_c), 0.0, 1.0)
    return Ground(RAMP, offset_c.with_values(place))


def darkest(offset_c: Raster) -> float:
    """The end of the ramp [°C]: what one place in fifty is colder than, in whole steps."""
    cold_c = -offset_c.values[1]
    known = cold_c[np.isfinite(cold_c)]
    most = float(np.percentile(known, 98)) if known.size else 0.0
    return max(LEAST_C, float(np.ceil(most / STEP_C) * STEP_C))


def _answer(plots: Sequence[OfPlot], shown: Shown) -> tuple[Run, ...]:
    if not plots:
        return answer(phrase("cold_not_known"))
    coldest = max(plots, key=lambda each: (each.most_c, each.worst_c))
    if rounded_c(coldest.most_c) <= 0:
        worst = max(plots, key=lambda each: each.worst_c)
        if rounded_c(worst.worst_c) <= 0:
            return answer(phrase("cold_none"))
        return answer(
            phrase("cold_none"),
            phrase(
                "cold_worst",
                plot=worst.plot,
                worst=shown.colder(worst.worst_c),
                than=shown.than,
            ),
        )
    least = [each.plot for each in plots if rounded_c(each.most_c) <= 0]
    return answer(
        phrase(
            "cold_plot",
            plot=coldest.plot,
            likely=_likely(coldest, shown),
            than=shown.than,
            worst=_degrees(coldest.worst_c, shown),
        ),
        phrase("cold_least", number=len(least), plots=names.listed(least))
        if least
        else "",
    )


def _likely(plot: OfPlot, shown: Shown) -> str:
    """Likely cold of the beds of a plot, as a range where they differ."""
    low_c, high_c = rounded_c(plot.least_c), rounded_c(plot.most_c)
    if low_c == high_c:
        return shown.colder(high_c)
    low = written(max(0.0, low_c) * (1.8 if shown.units == "us" else 1.0))
    return phrase("from_to_colder", low=low, high=_degrees(high_c, shown))


def _degrees(size_c: float, shown: Shown) -> str:
    return quantities.degrees(rounded_c(size_c), shown.units)


def _under_name(plot: OfPlot, shown: Shown) -> str:
    if rounded_c(plot.most_c) <= 0:
        return phrase("no_colder")
    return _likely(plot, shown)


def _legend(offset_c: Raster, darkest_c: float, shown: Shown) -> RampLegend:
    """What is likely at the left, what such places are at worst at the right."""
    low_c, likely_c = -offset_c.values[0], -offset_c.values[1]
    ticks = []
    for value_c in np.arange(0.0, darkest_c + STEP_C / 2, STEP_C):
        here = np.abs(likely_c - value_c) <= STEP_C / 2
        worst = low_c[here & np.isfinite(low_c)]
        ticks.append(
            Tick(
                float(value_c / darkest_c),
                quantities.degrees(float(value_c), shown.units),
                _degrees(float(np.median(worst)), shown) if worst.size else "",
            )
        )
    every = -(-len(ticks) // 8)
    heads = (phrase("likely_head"), phrase("worst_head"))
    return RampLegend(RAMP, tuple(ticks[::every]), heads=heads)
