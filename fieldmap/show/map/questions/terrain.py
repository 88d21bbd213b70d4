"""The questions how steep it is, and where rain water gathers."""

from collections.abc import Sequence

import numpy as np

from fieldmap.decide.ranking import RankedBed
from fieldmap.model.raster import Raster
from fieldmap.show.layer_styles import WETNESS
from fieldmap.show.map.questions.view import (
    Ground,
    Picture,
    RampLegend,
    Run,
    Tick,
    View,
    answer,
    linear_ticks,
)
from fieldmap.show.text import names, quantities
from fieldmap.show.text.map import answers as words
from fieldmap.show.text.map.classes import water_class
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase

STEEP, WATER = "fall", "wet"
SAME_PERCENT = 2.0  # falls of plots that differ less are alike (a choice)
STEEP_ENDS = (10.0, 20.0, 30.0, 50.0, 100.0)
MOST_OF_A_BED = 0.5  # from which it counts as one on which water gathers
PART_OF_A_BED = 0.05  # from which the table of beds names a part


def steep(
    fall_percent: Raster,
    finest_m: float,
    beds: Sequence[RankedBed],
    units: Units,
    more: Sequence[str],
) -> View:
    """The fall of the ground, by plot.

    Parameters
    ----------
    fall_percent
        Grade of the smoothed ground [%]; NaN where it is not known.
    finest_m
        Length of the finest roughness that these grades still show [m].
    beds
        The beds in the order of the plan.
    units
        "metric" or "us", for falls and lengths.
    more
        Sentences that are folded away under the answer.
    """
    falls = _falls(beds)
    known = fall_percent.values[np.isfinite(fall_percent.values)]
    most = float(np.percentile(known, 98)) if known.size else 0.0
    end = next((each for each in STEEP_ENDS if each >= most), STEEP_ENDS[-1])
    ticks = [
        (each, quantities.fall(each, units)) for each in np.arange(0, end + 1, end / 5)
    ]
    return View(
        answer=_steep_answer(falls, units),
        picture=Picture(
            ground=Ground(
                STEEP,
                fall_percent.with_values(np.clip(fall_percent.values / end, 0, 1)),
            ),
            plots=tuple((plot, quantities.fall(fall, units)) for plot, fall in falls),
        ),
        ramp=RampLegend(STEEP, linear_ticks(0.0, end, ticks)),
        note=phrase("steep_note", units, seen_m=finest_m),
        more=tuple(more),
    )


def _falls(beds: Sequence[RankedBed]) -> list[tuple[str, float]]:
    """The fall of the middle bed of each plot."""
    return [
        (
            plot,
            float(
                np.median([bed.slope_percent for bed in beds if bed.bed.plot == plot])
            ),
        )
        for plot in dict.fromkeys(bed.bed.plot for bed in beds)
    ]


def _steep_answer(falls: Sequence[tuple[str, float]], units: Units) -> tuple[Run, ...]:
    known = [each for each in falls if np.isfinite(each[1])]
    if not known:
        return answer(phrase("not_known"))
    most, least = (
        max(known, key=lambda each: each[1]),
        min(known, key=lambda each: each[1]),
    )
    if most[1] - least[1] < SAME_PERCENT:
        return answer(phrase("steep_alike", units, fall=most[1]))
    return answer(
        phrase("steep_plot", units, plot=most[0], fall=most[1]),
        phrase("steep_least", units, plot=least[0], fall=least[1]),
    )


def water(
    wetness: Raster,
    beds: Sequence[RankedBed],
    puddles_in: Sequence[str],
    more: Sequence[str],
) -> View:
    """Ground by how slowly rain runs off, from dry to wet.

    Parameters
    ----------
    wetness
        Wetness index of the ground [ln m]; NaN where it is not known.
    beds
        The beds in the order of the plan.
    puddles_in
        Plots on which the grower saw some: what was seen is said before what was computed.
    more
        Sentences that are folded away under the answer.
    """
    wet = [bed for bed in beds if bed.water_share >= MOST_OF_A_BED]
    gathers = _water_gathers(beds)
    said = [gathers or phrase("water_none"), phrase("water_note")]
    if puddles_in:
        seen = phrase("water_seen", plots=names.listed(puddles_in))
        said = [seen, gathers or phrase("water_by_shape")]
    low, high = WETNESS.edges[1] - 2.0, WETNESS.edges[-1] + 1.0
    at = np.clip((wetness.values - low) / (high - low), 0, 1)
    middles = [(low + WETNESS.edges[1]) / 2]
    middles += [
        (a + b) / 2
        for a, b in zip(WETNESS.edges[1:], (*WETNESS.edges[2:], high), strict=True)
    ]
    return View(
        answer=answer(*said),
        picture=Picture(
            ground=Ground(WATER, wetness.with_values(at)),
            extras=("marks-water",),
            outlined=tuple(
                number
                for number, bed in enumerate(beds)
                if bed.water_share >= MOST_OF_A_BED
            )
            if 2 * len(wet) <= len(beds)
            else (),
        ),
        ramp=RampLegend(
            WATER,
            tuple(
                Tick((value - low) / (high - low), "", water_class(number))
                for number, value in enumerate(middles)
            ),
        ),
        more=tuple(more),
    )


def _water_gathers(beds: Sequence[RankedBed]) -> str:
    """On which beds, else on parts of which, rain water gathers; empty where on none."""
    for kind, least in (("water_beds", MOST_OF_A_BED), ("water_parts", PART_OF_A_BED)):
        wet = [bed for bed in beds if bed.water_share >= least]
        if wet:
            plots = list(dict.fromkeys(bed.bed.plot for bed in wet))
            return words.counted(kind, len(wet), plots=names.listed(plots))
    return ""
