"""The questions where the sun is, and which beds need shade in summer."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from fieldmap.analyse.fields import LightFields
from fieldmap.decide import daylight
from fieldmap.decide.crop_plan.cover_use import PlannedShade
from fieldmap.decide.ranking import RankedBed
from fieldmap.decide.ranking.by_night import has_less_light
from fieldmap.model.season_year import SeasonYear
from fieldmap.show.map.questions.view import (
    BedPatterns,
    Ground,
    Picture,
    RampLegend,
    Run,
    Swatch,
    View,
    answer,
    ends_of_runs,
    linear_ticks,
    shade_over,
)
from fieldmap.show.text import names
from fieldmap.show.text.language import month_name
from fieldmap.show.text.map import answers as words
from fieldmap.show.text.map import spots
from fieldmap.show.text.map.labels import label
from fieldmap.show.text.sentence import phrase

RAMP = "light"
# Months of the north by what their light is for.
SEASONS = {
    "light_for_planting": (2, 3, 4, 5),
    "light_in_summer": (6, 7, 8),
    "light_in_autumn": (9, 10),
    "light_in_winter": (11, 12, 1),
}
SUNNIEST_PERCENTILE = 98  # single bright cells do not count
LEAST_SPAN = 0.2  # of a ramp, so that small differences look small


class PlotSun(NamedTuple):
    """Light and hours of direct sun of the middle bed of a plot in a month.

    Attributes
    ----------
    share
        Of the light of the sunniest ground, as the colours are.
    """

    plot: str
    share: float
    hours: float

    @property
    def percent(self) -> int:
        """The share as it is said; single bright cells do not count."""
        return min(100, round(100 * self.share))

    @property
    def said(self) -> str:
        """Light and hours under the name of the plot."""
        return phrase(
            "sun_of_plot",
            percent=self.percent,
            hours=daylight.half_hours(self.hours),
        )


def sun(
    light: LightFields, beds: Sequence[RankedBed], month: int, more: Sequence[str]
) -> View:
    """The light of a month (0: January) as a share of the sunniest ground.

    Parameters
    ----------
    light
        Light of the place by month; NaN where the ground is not known.
    beds
        The beds in the order of the plan.
    month
        0 for January to 11.
    more
        Sentences that are folded away under the answer.
    """
    mj_m2 = light.sun_mj_m2_day.values[month]
    plots = _plots(beds, month, sunniest(mj_m2))
    ground, legend = _shares(light, mj_m2)
    return View(
        name=month_name(month + 1),
        answer=_sun_answer(plots, month) if beds else answer(label("no_beds")),
        picture=Picture(
            ground=ground,
            extras=("marks-sun",),
            plots=tuple((each.plot, each.said) for each in plots),
        ),
        ramp=legend,
        note=phrase("sun_note"),
        more=tuple(more),
    )


def seasons(year: SeasonYear) -> list[tuple[str, list[int]]]:
    """What the light of each part of a year is for, and its months from January, 0."""
    return [
        (phrase(kind), [year.month_index(month) for month in months])
        for kind, months in SEASONS.items()
    ]


def _plots(
    beds: Sequence[RankedBed], month: int, sunniest_mj_m2: float
) -> list[PlotSun]:
    if not sunniest_mj_m2 > 0:
        return []
    found = []
    for plot in dict.fromkeys(bed.bed.plot for bed in beds):
        here = [bed.light for bed in beds if bed.bed.plot == plot]
        mj_m2 = float(np.median([each.sun_mj_m2_day[month] for each in here]))
        hours = float(np.median([each.direct_hours[month] for each in here]))
        found.append(PlotSun(plot, mj_m2 / sunniest_mj_m2, hours))
    return [each for each in found if np.isfinite(each.share)]


def _sun_answer(plots: Sequence[PlotSun], month: int) -> tuple[Run, ...]:
    """Light as the colours show it, and its hours."""
    if not any(each.share > 0 for each in plots):
        return answer(phrase("sun_none", month=month + 1))
    most = max(plots, key=lambda each: each.share)
    least = min(plots, key=lambda each: each.share)
    alike = [each for each in plots if not has_less_light(each.share, most.share)]
    first = [each.plot for each in alike]
    light = _share_said(min(each.percent for each in alike), most.percent)
    said = {"light": light, "hours": spots.hours_of_all([each.hours for each in alike])}
    if len(first) == len(plots):
        return answer(phrase("sun_alike", month=month + 1, **said))
    return answer(
        phrase(
            "sun_plot",
            number=len(first),
            month=month + 1,
            plots=names.listed(first),
            **said,
        ),
        phrase(
            "sun_least",
            plot=least.plot,
            percent=least.percent,
            hours=spots.hours(least.hours),
        ),
    )


def _share_said(low: int, high: int) -> str:
    """A share of light in percent, or from one to the other."""
    if low == high:
        return phrase("share_of_light", percent=high)
    return phrase("share_from_to", low=low, high=high)


def sunniest(mj_m2: np.ndarray) -> float:
    """Light of the sunniest ground, but for single bright cells; 0 where none is known.

    Parameters
    ----------
    mj_m2
        Light on the ground [MJ/m²]; NaN where it is not known.
    """
    known = mj_m2[np.isfinite(mj_m2)]
    return float(np.percentile(known, SUNNIEST_PERCENTILE)) if known.size else 0.0


def of_sunniest(mj_m2: np.ndarray) -> np.ndarray:
    """Light as a share of that of the sunniest ground.

    Parameters
    ----------
    mj_m2
        Light on the ground [MJ/m²]; NaN where it is not known.

    Returns
    -------
    share
        Up to a little over 1; NaN where light is not known, or where no ground has any.
    """
    most = sunniest(mj_m2)
    return mj_m2 / most if most > 0 else np.full(mj_m2.shape, np.nan)


def _shares(
    light: LightFields, mj_m2: np.ndarray
) -> tuple[Ground | None, RampLegend | None]:
    share = of_sunniest(mj_m2)
    if not np.isfinite(share).any():
        return None, None
    low = min(1 - LEAST_SPAN, np.floor(10 * float(np.nanpercentile(share, 5))) / 10)
    low = max(0.0, float(low))
    at = np.clip((share - low) / (1 - low), 0, 1)
    percents = range(0, 101, 5 if low >= 0.6 else 10)
    # Darker ground has the colour of the dark end.
    ends = "share_or_less" if np.nanmin(share) < low else "share_of_light"
    kinds = {round(100 * low): ends}
    ticks = linear_ticks(
        low,
        1.0,
        [
            (each / 100, phrase(kinds.get(each, "share_of_light"), percent=each))
            for each in percents
        ],
    )
    # Bright ground is at the light end of the ramp.
    return (
        Ground(RAMP, light.sun_mj_m2_day.with_values(at)),
        RampLegend(RAMP, ticks, rises=True),
    )


def shade(
    light: LightFields,
    beds: Sequence[RankedBed],
    month: int,
    first: frozenset[int],
    planned: PlannedShade,
    more: Sequence[str],
) -> View:
    """Beds that the plan shades; else those that come first, by the light of high summer.

    Parameters
    ----------
    light
        Light of the place by month; NaN where the ground is not known.
    beds
        The beds in the order of the plan.
    month
        Month of high summer, 0 for January to 11.
    first
        Beds by number that come first for shade cloth, see `first_for_shade`; empty for
        none.
    planned
        Where the plan has shade cloth; nothing where it plans none.
    more
        Sentences that are folded away under the answer.
    """
    if planned.beds:
        first = frozenset(
            at for at, bed in enumerate(beds) if bed.bed.name in planned.beds
        )
    # Where beds are hatched that only need cloth first, a tunnel would seem one of them.
    is_planned = bool(planned.beds or (planned.tunnels and not first))
    over = planned.tunnels if is_planned else ()
    mj_m2 = light.sun_mj_m2_day.values[month]
    ground, legend = _shares(light, mj_m2)
    return View(
        answer=answer(*_shade_answer(beds, month, first, planned)),
        picture=Picture(
            BedPatterns(tuple("mesh" if at in first else "" for at in range(len(beds))))
            if first  # else lines alone, so that the colours under them show
            else None,
            ground=ground,
            outlined=tuple(sorted(first)),
            extras=(
                *(("tunnel-names",) if planned.tunnels else ()),
                *map(shade_over, over),
            ),
            plots=tuple(
                (each.plot, each.said) for each in _plots(beds, month, sunniest(mj_m2))
            ),
            named=ends_of_runs(first) if planned.beds else (),
        ),
        ramp=legend,
        swatches=(
            Swatch("mesh", phrase("shade_here" if is_planned else "shade_first")),
        )
        if first or over
        else (),
        note=phrase("sun_note"),
        more=(*_without_cloth(beds, planned), *more),
    )


def _without_cloth(beds: Sequence[RankedBed], planned: PlannedShade) -> Iterator[str]:
    """Where the same crops have no cloth, crop by crop."""
    order = [bed.bed.name for bed in beds]
    for crop, bare in planned.without:
        yield phrase("shade_without", crop=crop, beds=names.runs_of_beds(bare, order))


def _shade_answer(
    beds: Sequence[RankedBed], month: int, first: frozenset[int], planned: PlannedShade
) -> list[str]:
    """What to shade, in sentences; the first answers."""
    tunnels = ""
    if planned.tunnels:
        tunnels = phrase(
            "shade_planned_tunnels",
            number=len(planned.tunnels),
            tunnels=names.listed(planned.tunnels),
        )
    if planned.beds:
        lead = phrase(
            "shade_planned",
            crops=names.listed([names.crop(each) for each in planned.crops]),
            beds=names.runs_of_beds(planned.beds, [bed.bed.name for bed in beds]),
        )
        first_day, last_day = planned.days
        said = phrase("shade_planned_days", first=first_day, last=last_day)
        return [lead, tunnels, said]
    plots = list(dict.fromkeys(beds[at].bed.plot for at in sorted(first)))
    lead = (
        words.counted("shade_beds", len(first), plots=names.listed(plots))
        if first
        else phrase("shade_none")
    )
    return [lead, phrase("shade_crops", month=month + 1), tunnels]


def first_for_shade(beds: Sequence[RankedBed]) -> frozenset[int]:
    """Beds, by number, that come first for shade cloth: none where most are alike."""
    first = [number for number, bed in enumerate(beds) if bed.ranks.shade == 1]
    return frozenset(first if 2 * len(first) <= len(beds) else ())
