"""Tonight: from the forecast low at the station to the beds that want a cover.

Which crop stands on which bed is not known, so every crop is answered for every bed, plot
after plot, in the order in which one walks.
"""

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from fieldmap.decide.ranking import RankedBed
from fieldmap.decide.tonight.answer import (
    PAIR,
    PAIR_OF,
    WARMING,
    Answer,
    Bare,
    Sign,
    answer,
    sign,
    usable,
)
from fieldmap.decide.tonight.evening_round import EveningRound
from fieldmap.decide.tonight.forecast import Forecast, Sky, Wind, celsius
from fieldmap.model.fact import Fact
from fieldmap.model.settings import Units

# Whole lows for which lists are made beforehand: what is warmer harms nothing that is
# grown outdoors, what is colder no cover is likely to keep off (choices).
LOWS = {"metric": (10, -12), "us": (50, 10)}


class BedRun(NamedTuple):
    """Neighbouring beds of one plot with the same answer."""

    beds: tuple[str, ...]
    answer: Answer


class CropLine(NamedTuple):
    """Crops with the same answers on all beds of a plot."""

    crops: tuple[str, ...]
    runs: tuple[BedRun, ...]


class PlotAdvice(NamedTuple):
    """One stop of the round: the beds of a plot, and the crops that want a hand.

    Attributes
    ----------
    worst_c
        Air on its coldest bed at worst.
    likely_c
        Likely air on its coldest and on its warmest bed.
    """

    plot: str
    beds: tuple[str, ...]
    worst_c: float
    likely_c: tuple[float, float]
    lines: tuple[CropLine, ...]


@dataclass(frozen=True)
class Advice:
    """What to cover on one night.

    Attributes
    ----------
    of_station
        How it stands to the plots.
    of_beds
        Those of whose ground nothing is known, and crops that can be left on all.
    of_covers
        Where they end, and what the list does not know.
    plots
        In walking order; empty where no crop wants a hand, and on a windy night.
    signs
        What each bed is drawn as, by name; without beds of which nothing is known, and
        empty on a windy night.
    """

    forecast: Forecast
    of_station: tuple[Fact, ...]
    of_beds: tuple[Fact, ...]
    of_covers: tuple[Fact, ...]
    plots: tuple[PlotAdvice, ...] = ()
    signs: Mapping[str, Sign] = field(default_factory=dict)


def advise(round_: EveningRound, forecast: Forecast) -> Advice:
    """What to cover tonight, with what, what to leave, and what cannot be saved.

    For the decision the coldest plausible offset, the least worth of a cover and the
    safest limit of the crop count; what is likely stands beside it. Nights that are
    not clear and calm take the bed's height alone and the least worth of covers, and
    have no range.
    """
    every = list(zip(round_.beds, round_.bare(forecast), strict=True))
    known = [(ranked, air) for ranked, air in every if not math.isnan(air.worst_c)]
    unknown = [r.bed.name for r, air in every if math.isnan(air.worst_c)]
    of_beds = [Fact("tonight_unknown_beds", beds=unknown)] if unknown else []
    if forecast.wind == "windy" or not known:
        is_windy = forecast.wind == "windy"
        why = _windy(round_, forecast) if is_windy else [Fact("tonight_no_beds")]
        return Advice(forecast, round_.of_station, tuple(of_beds), tuple(why))
    beds, air = [ranked for ranked, _air in known], [air for _ranked, air in known]
    answers = _answers(round_, air, is_still=forecast.is_still)
    # Beds with the same air have the same answers: one of them stands for all.
    of_air = {
        each: [here[at] for here in answers.values()]
        for each, at in {each: at for at, each in enumerate(air)}.items()
    }
    signs = {each: sign(here) for each, here in of_air.items()}
    covers = {each: {one.cover for one in here} for each, here in of_air.items()}
    named = [
        (ranked.bed.length_m, covers[each])
        for ranked, each in zip(beds, air, strict=True)
    ]
    safe = [
        crop
        for crop, here in answers.items()
        if all(each.verdict == "leave" for each in here)
    ]
    if safe:
        of_beds.append(Fact("tonight_safe_crops", crops=safe))
    at_risk = {crop: here for crop, here in answers.items() if crop not in safe}
    if not at_risk:
        of_beds.append(Fact("tonight_nothing_to_cover"))
    return Advice(
        forecast,
        round_.of_station,
        tuple(of_beds),
        tuple(_of_covers(round_.owned_m, named)) if at_risk else (),
        plots=tuple(_by_plot(beds, air, at_risk)) if at_risk else (),
        signs={
            ranked.bed.name: signs[each] for ranked, each in zip(beds, air, strict=True)
        },
    )


def _windy(round_: EveningRound, forecast: Forecast) -> list[Fact]:
    """Air on all beds alike, and the crops that it harms."""
    air_c = forecast.low_c + round_.reference_c
    harmed = [
        crop.name
        for crop, _covers in round_.crops
        if air_c <= crop.standing_damage_c.screen_c.central
    ]
    harm = Fact("tonight_harmed", crops=harmed) if harmed else Fact("tonight_no_harm")
    return [Fact("tonight_windy_air", air_c=air_c), harm]


def _answers(
    round_: EveningRound, air: Sequence[Bare], *, is_still: bool
) -> dict[str, list[Answer]]:
    """For each crop, what to do on each bed."""
    answers = {}
    for crop, covers in round_.crops:
        of_air = {
            each: answer(crop, each, covers, is_still=is_still)
            for each in dict.fromkeys(air)
        }
        answers[crop.name] = [of_air[each] for each in air]
    return answers


def _by_plot(
    beds: Sequence[RankedBed],
    air: Sequence[Bare],
    at_risk: Mapping[str, Sequence[Answer]],
) -> list[PlotAdvice]:
    """Plot by plot the crops that want a hand; those with the same answers together."""
    plots = []
    places = enumerate(beds)
    for plot, group in itertools.groupby(places, lambda pair: pair[1].bed.plot):
        here = [(at, ranked.bed.name) for at, ranked in group]
        lines: dict[tuple[BedRun, ...], list[str]] = {}
        for crop, answers in at_risk.items():
            runs = _runs([(name, answers[at]) for at, name in here])
            lines.setdefault(runs, []).append(crop)
        likely_c = [air[at].likely_c for at, _name in here]
        plots.append(
            PlotAdvice(
                plot,
                tuple(name for _at, name in here),
                min(air[at].worst_c for at, _name in here),
                (min(likely_c), max(likely_c)),
                tuple(CropLine(tuple(crops), runs) for runs, crops in lines.items()),
            )
        )
    return plots


def _runs(answers: Sequence[tuple[str, Answer]]) -> tuple[BedRun, ...]:
    """Runs of neighbouring beds with one answer."""
    runs = itertools.groupby(answers, key=lambda pair: pair[1])
    return tuple(
        BedRun(tuple(name for name, _answer in run), given) for given, run in runs
    )


def _of_covers(
    owned_m: Mapping[str, float], named: Sequence[tuple[float, set[str | None]]]
) -> Iterator[Fact]:
    """What the list does not know, and covers of which less is owned than is named.

    Parameters
    ----------
    named
        Length of each bed, and the covers that the answers name for it.
    """
    yield Fact("tonight_unknown_crops")
    if not usable(owned_m, None):
        yield Fact("tonight_no_cover")
    for kind in WARMING:
        have_m = owned_m.get(kind, 0)
        uses = {kind, PAIR} if kind in PAIR_OF else {kind}
        need_m = sum(length_m for length_m, covers in named if covers & uses)
        if 0 < have_m < need_m:
            need_m = float(round(need_m))
            yield Fact("tonight_short_cover", have_m=have_m, cover=kind, need_m=need_m)


# ------------------------------------------------------------------ any evening
class Evening(NamedTuple):
    """The advice for one low, as it is read off a sheet or a page.

    Attributes
    ----------
    low
        Whole degrees in the units of the site.
    """

    low: int
    advice: Advice


def evenings(
    round_: EveningRound, sky: Sky, wind: Wind, units: Units
) -> tuple[Evening, ...]:
    """The advice for every whole low that one may hear, the warmest first."""
    warmest, coldest = LOWS[units]
    return tuple(
        Evening(low, advise(round_, Forecast(celsius(low, units), sky, wind)))
        for low in range(warmest, coldest - 1, -1)
    )


def spans(every: Sequence[Evening]) -> list[tuple[Evening, Evening]]:
    """First and last of neighbouring lows with the same advice.

    The temperatures of each plot do not count.
    """

    def asked(each: Evening) -> list[object]:
        advice = each.advice
        plots = [(here.plot, here.lines) for here in advice.plots]
        return [advice.of_beds, advice.of_covers, plots]

    runs = [list(run) for _, run in itertools.groupby(every, asked)]
    return [(run[0], run[-1]) for run in runs]
