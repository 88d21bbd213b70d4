"""The questions how steep it is, and where rain water gathers."""

from collections.abc import Iterable, Mapping, Sequence

import numpy as np
from shapely.geometry.base import BaseGeometry

from fieldmap.decide.ranking import RankedBed, steepest
from fieldmap.model.raster import Raster
from fieldmap.show.layer_styles import WETNESS
from fieldmap.show.map.data.ground_lines import (
    SAME_PERCENT,
    STEEPEST,
    WET,
    around_steepest,
    around_wet,
)
from fieldmap.show.map.questions.view import (
    Ground,
    Picture,
    RampLegend,
    Run,
    Swatch,
    Tick,
    View,
    answer,
    ends_of_runs,
    linear_ticks,
)
from fieldmap.show.text import names, quantities
from fieldmap.show.text.map import answers as words
from fieldmap.show.text.map.classes import water_class
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase

STEEP, WATER = "fall", "wet"  # ramps
STEEP_ENDS = (10.0, 20.0, 30.0, 50.0, 100.0)
MOST_OF_A_BED = 0.5  # from which it counts as one on which water gathers
PART_OF_A_BED = 0.05  # from which the table of beds names a part


def steep(
    fall_percent: Raster,
    finest_m: float,
    beds: Sequence[RankedBed],
    plots: Mapping[str, BaseGeometry],
    units: Units,
    more: Sequence[str],
) -> View:
    """The fall of the ground, by plot, and where on the plots it falls most.

    Parameters
    ----------
    fall_percent
        Grade of the smoothed ground [%]; NaN where it is not known.
    finest_m
        Length of the finest roughness that these grades still show [m].
    beds
        The beds in the order of the plan.
    plots
        Outlines by name, on the grid of `fall_percent`.
    units
        "metric" or "us", for falls and lengths.
    more
        Sentences that are folded away under the answer.
    """
    falls = steepest.by_plot(beds)
    known = fall_percent.values[np.isfinite(fall_percent.values)]
    most = float(np.percentile(known, 98)) if known.size else 0.0
    end = next((each for each in STEEP_ENDS if each >= most), STEEP_ENDS[-1])
    ticks = [
        (each, quantities.fall(each, units)) for each in np.arange(0, end + 1, end / 5)
    ]
    is_outlined = not around_steepest(fall_percent, plots.values()).is_empty
    return View(
        answer=_steep_answer(falls, steepest.spot(fall_percent, plots), units),
        picture=Picture(
            ground=Ground(
                STEEP,
                fall_percent.with_values(np.clip(fall_percent.values / end, 0, 1)),
            ),
            extras=(STEEPEST,) if is_outlined else (),
            plots=tuple((plot, quantities.fall(fall, units)) for plot, fall in falls),
        ),
        swatches=(Swatch("steepest", phrase("steep_here")),) if is_outlined else (),
        ramp=RampLegend(STEEP, linear_ticks(0.0, end, ticks)),
        note=phrase("steep_note", units, seen_m=finest_m),
        more=tuple(more),
    )


def _steep_answer(
    falls: Sequence[tuple[str, float]], spot: tuple[str, float], units: Units
) -> tuple[Run, ...]:
    known = [each for each in falls if np.isfinite(each[1])]
    if not known:
        return answer(phrase("not_known"))
    most, least = (
        max(known, key=lambda each: each[1]),
        min(known, key=lambda each: each[1]),
    )
    alike = most[1] - least[1] < SAME_PERCENT
    # The darkest ground is named, where it is not that of the steepest beds.
    elsewhere = spot[0] not in ("", most[0]) and not alike
    stands_out = elsewhere or spot[1] - most[1] >= SAME_PERCENT
    said = phrase("steep_spot", units, plot=spot[0], fall=spot[1]) if stands_out else ""
    if alike:
        return answer(phrase("steep_alike", units, fall=most[1]), said)
    return answer(
        phrase("steep_plot", units, plot=most[0], fall=most[1]),
        said,
        phrase("steep_least", units, plot=least[0], fall=least[1]),
    )


def water(
    wetness: Raster,
    beds: Sequence[RankedBed],
    plots: Iterable[BaseGeometry],
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
    plots
        Outlines of the plots, on the grid of `wetness`.
    puddles_in
        Plots on which the grower saw some: what was seen is said before what was computed.
    more
        Sentences that are folded away under the answer.
    """
    kind, wet = _wet(beds)
    gathers = _water_gathers(kind, wet, beds)
    said = [gathers or phrase("water_none"), phrase("water_note")]
    if puddles_in:
        seen = phrase("water_seen", plots=names.listed(puddles_in))
        found = gathers or phrase("water_by_shape")
        said = [phrase("in_two_lines", first=seen, second=found)]
    is_outlined = not around_wet(wetness, plots).is_empty
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
            extras=("marks-water", *((WET,) if is_outlined else ())),
            named=ends_of_runs(wet),
        ),
        swatches=(Swatch("wet", phrase("water_here")),) if is_outlined else (),
        ramp=RampLegend(
            WATER,
            tuple(
                Tick((value - low) / (high - low), "", water_class(number))
                for number, value in enumerate(middles)
            ),
        ),
        more=tuple(more),
    )


def _wet(beds: Sequence[RankedBed]) -> tuple[str, list[int]]:
    """Beds by number on which rain water gathers, else on parts of which; with its text."""
    for kind, least in (("water_beds", MOST_OF_A_BED), ("water_parts", PART_OF_A_BED)):
        wet = [at for at, bed in enumerate(beds) if bed.water_share >= least]
        if wet:
            return kind, wet
    return "water_none", []


def _water_gathers(kind: str, wet: Sequence[int], beds: Sequence[RankedBed]) -> str:
    """On which beds rain water gathers; empty where on none."""
    if not wet:
        return ""
    order = [bed.bed.name for bed in beds]
    return words.counted(
        kind,
        len(wet),
        plots=names.listed(list(dict.fromkeys(beds[at].bed.plot for at in wet))),
        beds=names.some([order[at] for at in wet]),
    )
